"""Rings of triangles around sharp inner corners: conforming, of the same area, and worth as much as bisection."""

from __future__ import annotations

import numpy as np
import pytest

from strongback.materials import material
from strongback.section import certify
from strongback.section.analyse import analyse
from strongback.section.bounds import torsion_bounds
from strongback.section.mesh import mesh
from strongback.section.outline import from_rings
from strongback.section.refine import graded, inner_corners
from strongback.section.shapes import rectangular_tube
from strongback.section.values import Outline

STEEL = material("steel")


def comb(teeth: int) -> Outline:
    """Teeth of 2 x 25 mm on a back of 5 mm, 2 mm apart."""
    points = [(0.0, 0.0), (4 * teeth - 2, 0.0)]
    for i in reversed(range(teeth)):
        points += [(4 * i + 2, 5), (4 * i + 2, 30), (4 * i, 30), (4 * i, 5)]
    points = [p for p in points if p not in {(0, 5), (4 * teeth - 2, 5)}]
    return from_rings("comb", STEEL, [(x * 1e-3, y * 1e-3) for x, y in points])


def areas(made):
    a, b, c = (made.nodes[made.triangles[:, k]] for k in range(3))
    return 0.5 * ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])


@pytest.mark.parametrize("levels", [1, 3])
def test_rings_keep_the_area_and_fit_together(levels):
    made = mesh(rectangular_tube(STEEL, 0.06, 0.08, 0.004))
    corners = inner_corners(made)
    inside = made.nodes[corners]
    assert len(inside) == 4
    np.testing.assert_allclose(np.abs(inside), [[0.026, 0.036]] * 4, atol=1e-12)
    finer = graded(made, inside, levels)
    assert areas(finer).min() > 0.0
    assert areas(finer).sum() == pytest.approx(areas(made).sum(), rel=1e-12)
    touching = np.isin(made.triangles[:, :3], corners).any(axis=1).sum()
    assert len(finer.triangles) == len(made.triangles) + 2 * levels * touching
    sides = np.sort(finer.triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    middles = finer.triangles[:, 3:].ravel()
    _, first, count = np.unique(sides, axis=0, return_index=True, return_counts=True)
    assert set(count) == {1, 2}
    assert len(np.unique(middles)) == len(first)  # a side has one middle, whichever triangle it is seen from
    perimeter = 2 * (0.06 + 0.08) + 2 * (0.052 + 0.072)
    outer = finer.nodes[sides[first[count == 1]]]
    assert np.linalg.norm(outer[:, 0] - outer[:, 1], axis=1).sum() == pytest.approx(perimeter, rel=1e-12)
    nearest = np.linalg.norm(finer.nodes[:, None] - inside[None], axis=2)
    before = np.linalg.norm(made.nodes[:, None] - inside[None], axis=2)
    assert nearest[nearest > 0].min() == pytest.approx(before[before > 0].min() * 0.5**levels, rel=1e-9)


def test_rings_bring_the_bounds_together():
    """At a corner of 270 degrees the energy of the error falls by 2^(4/3) for each halving; here with more around it."""
    made = mesh(rectangular_tube(STEEL, 0.06, 0.08, 0.004))
    inside = made.nodes[inner_corners(made)]
    gaps = [torsion_bounds(made), *(torsion_bounds(graded(made, inside, k)) for k in (1, 2, 3))]
    held = [float(g.gap.sum()) for g in gaps]
    assert held == sorted(held, reverse=True)
    assert max(g.lower for g in gaps) <= min(g.upper for g in gaps)


def test_convex_corners_and_arcs_get_no_rings():
    bar = from_rings("bar", STEEL, [(0, 0), (0.04, 0), (0.04, 0.02), (0, 0.02)])
    assert len(inner_corners(mesh(bar))) == 0
    soft = rectangular_tube(STEEL, 0.06, 0.08, 0.004, outer_radius=0.006, inner_radius=0.002)
    assert len(inner_corners(mesh(soft))) == 0


def test_a_comb_is_solved_on_few_meshes(monkeypatch):
    """A hundred teeth, 198 inner corners, each of which wants its triangles halved five times."""
    meshes = []
    real = certify.problem
    monkeypatch.setattr(certify, "problem", lambda m: meshes.append(len(m.triangles)) or real(m))
    found = analyse(comb(100))
    assert found.gap <= 1e-3
    assert len(meshes) <= 4
    assert max(meshes) < 28_000
