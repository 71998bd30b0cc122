"""Guaranteed bounds, refinement, and the order in which they converge."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from sections import ALUMINIUM, MINERAL, UNIT, box, two_cells

from strongback.errors import LimitError
from strongback.section import shapes
from strongback.section.analyse import analyse
from strongback.section.bounds import torsion_bounds
from strongback.section.mesh import mesh, mesh_regions
from strongback.section.outline import filled, from_rings, regions
from strongback.section.refine import pieces, refined, refined_everywhere
from strongback.section.values import Fill, Outline, SectionMesh

SQUARE = 0.1405770149862987  # Saint-Venant's series for the unit square, Timoshenko & Goodier Art. 109


def uniform_square(n: int) -> SectionMesh:
    made = mesh(shapes.rectangle(UNIT, 1.0, 1.0), size=0.7)
    for _ in range(n):
        made = refined_everywhere(made)
    return made


def orders(gaps: list[float]) -> list[float]:
    return [math.log2(a / b) for a, b in itertools.pairwise(gaps)]


def test_smooth_case_converges_with_the_order_of_theory() -> None:
    # Quadratic elements: strains of order h², energies of order h⁴; a solid ellipse as a polygon has corners of almost
    # 180 degrees, so the triangle is used: its warping function is a cubic (Saint-Venant).
    ring = [(0.0, 0.0), (1.0, 0.0), (0.5, math.sqrt(3.0) / 2.0)]
    made = mesh(from_rings("triangle", UNIT, ring), size=0.6)
    exact, upper, lower = math.sqrt(3.0) / 80.0, [], []
    for _ in range(4):
        bounds = torsion_bounds(made)
        upper.append(bounds.upper / exact - 1.0)
        lower.append(1.0 - bounds.lower / exact)
        made = refined_everywhere(made)
    assert all(abs(order - 4.0) < 0.2 for order in orders(upper))
    assert all(abs(order - 4.0) < 0.2 for order in orders(lower))


def test_sharp_inner_corner_converges_slowly_on_uniform_meshes() -> None:
    # At a re-entrant corner of 270 degrees the stress goes as r^(-1/3): the energy converges as h^(4/3), not h⁴
    # (Strang & Fix, An Analysis of the Finite Element Method, 1973, Ch. 8), once the smooth part of the error, of order
    # h⁴, has died away. This is why the mesh is adapted.
    made = mesh(shapes.angle(UNIT, 1.0, 1.0, 0.5), size=0.5)
    gaps = []
    for _ in range(6):
        bounds = torsion_bounds(made)
        gaps.append(bounds.upper - bounds.lower)
        made = refined_everywhere(made)
    assert all(abs(order - 4.0 / 3.0) < 0.2 for order in orders(gaps)[3:])


def test_adapted_meshes_recover_the_order() -> None:
    # In terms of the number of elements an adapted quadratic mesh gives back gap ~ N^-2.
    made, gaps, counts = mesh(shapes.angle(UNIT, 1.0, 1.0, 0.5), size=0.5), [], []
    for _ in range(14):
        bounds = torsion_bounds(made)
        gaps.append(bounds.upper - bounds.lower)
        counts.append(len(made.triangles))
        order = np.argsort(bounds.gap)[::-1]
        marked = np.zeros(len(order), dtype=bool)
        marked[order[: int(np.searchsorted(np.cumsum(bounds.gap[order]), 0.6 * bounds.gap.sum())) + 1]] = True
        made = refined(made, marked)
    slope = np.polyfit(np.log(counts[4:]), np.log(gaps[4:]), 1)[0]
    assert slope < -1.7


def test_bounds_tighten_on_nested_meshes() -> None:
    found = [torsion_bounds(uniform_square(n)) for n in range(3)]
    uppers, lowers = [b.upper for b in found], [b.lower for b in found]
    assert uppers == sorted(uppers, reverse=True)
    assert lowers == sorted(lowers)
    assert lowers[-1] <= SQUARE <= uppers[-1]


@pytest.mark.parametrize("fill", [False, True])
def test_bounds_of_a_coarse_mesh_enclose_those_of_a_fine_one(fill: bool) -> None:
    outline = filled(two_cells(), {"a": Fill(material=MINERAL)}) if fill else two_cells()
    made = mesh(outline)
    coarse = torsion_bounds(made)
    fine = torsion_bounds(refined_everywhere(refined_everywhere(made)))
    assert coarse.lower < fine.lower < fine.upper < coarse.upper


def test_gap_is_the_sum_over_the_elements() -> None:
    bounds = torsion_bounds(uniform_square(1))
    assert np.all(bounds.gap >= 0.0)
    assert bounds.gap.sum() == pytest.approx(bounds.upper - bounds.lower, rel=1e-9)


@pytest.mark.parametrize("tolerance", [1e-2, 1e-3, 1e-4])
def test_gap_asked_for_is_reached(tolerance: float) -> None:
    result = analyse(two_cells(), tolerance=tolerance)
    assert result.GJ_lower < result.stiffness.GJ < result.GJ_upper
    assert 0.0 < result.gap <= tolerance


@pytest.mark.parametrize(
    "outline",
    [
        two_cells(),
        filled(two_cells(), {"a": Fill(material=MINERAL)}),
        shapes.channel(UNIT, 0.1, 0.05, 0.006, 0.003),
        shapes.rectangular_tube(UNIT, 0.1, 0.1, 0.005),
        shapes.i_section(UNIT, 0.2, 0.1, 0.0085, 0.0056, 0.012),
        shapes.angle(UNIT, 0.1, 0.06, 0.008),
    ],
    ids=["two cells", "filled", "channel", "tube", "I", "angle"],
)
@pytest.mark.parametrize("tolerance", [1e-2, 1e-3])
def test_errors_of_the_other_constants_hold(outline: Outline, tolerance: float) -> None:
    # Against a run fifty times finer: the true error lies below the estimate; for shear not far below (for EGamma it is
    # a bound by Schwarz's inequality, and may lie far above).
    coarse, fine = analyse(outline, tolerance=tolerance), analyse(outline, tolerance=2e-5)
    for key, estimate in coarse.errors:
        true = abs(getattr(coarse.stiffness, key) / getattr(fine.stiffness, key) - 1.0)
        assert true <= estimate
        assert key == "EGamma" or estimate <= 6.0 * true


def test_too_few_triangles_is_an_error() -> None:
    with pytest.raises(LimitError, match=r"bounds of GJ .* apart at .* triangles"):
        analyse(two_cells(), tolerance=1e-5, max_triangles=400, size=0.1)


@pytest.mark.parametrize("tolerance", [0.0, 1e-9, 0.5, math.nan])
def test_absurd_tolerance_is_refused(tolerance: float) -> None:
    with pytest.raises(LimitError, match="tolerance"):
        analyse(two_cells(), tolerance=tolerance)


@pytest.mark.parametrize("half_wave", [0.0, -1.0, math.nan, math.inf])
def test_absurd_half_wave_is_refused(half_wave: float) -> None:
    with pytest.raises(LimitError, match="half wave"):
        analyse(two_cells(), half_wave=half_wave)


def test_refinement_conforms_and_keeps_regions() -> None:
    outline = filled(two_cells(), {"a": Fill(material=MINERAL)})
    made = mesh(outline)
    rng = np.random.default_rng(7)
    for _ in range(4):
        before = areas_by_region(made)
        made = refined(made, rng.random(len(made.triangles)) < 0.2)
        assert areas_by_region(made) == pytest.approx(before, rel=1e-12)
        sides = np.sort(made.triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
        _, count = np.unique(sides, axis=0, return_counts=True)
        assert count.max() == 2
        middle = 0.5 * (made.nodes[made.triangles[:, 0]] + made.nodes[made.triangles[:, 1]])
        assert np.allclose(made.nodes[made.triangles[:, 3]], middle, atol=1e-15)


def test_refinement_keeps_the_angles() -> None:
    made = mesh(shapes.angle(UNIT, 1.0, 1.0, 0.5), size=0.5)
    start = smallest_angle(made)
    for _ in range(15):
        near = np.linalg.norm(made.nodes[made.triangles[:, 0]] - 0.5, axis=1)
        made = refined(made, near < np.quantile(near, 0.1))
    # Longest-edge bisection: no angle below half of the smallest one to begin with (Rosenberg & Stenger 1975).
    assert smallest_angle(made) >= 0.5 * start * (1 - 1e-9)


def smallest_angle(made: SectionMesh) -> float:
    p = made.nodes[made.triangles[:, :3]]
    u, v = np.roll(p, -1, axis=1) - p, np.roll(p, 1, axis=1) - p
    cos = (u * v).sum(axis=2) / (np.linalg.norm(u, axis=2) * np.linalg.norm(v, axis=2))
    return float(np.arccos(cos.max()))


def areas_by_region(made: SectionMesh) -> np.ndarray:
    p = made.nodes[made.triangles[:, :3]]
    u, v = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    return np.bincount(made.region, 0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]))


def test_pieces_of_a_mesh() -> None:
    made = mesh(filled(two_cells(), {"a": Fill(material=MINERAL), "b": Fill(material=MINERAL)}))
    fills = pieces(made, made.region > 0)
    assert len(fills) == 2
    assert sum(len(f.triangles) for f in fills) == int((made.region > 0).sum())


def test_walls_that_touch_in_a_point_keep_their_bounds() -> None:
    # Two squares corner to corner: twice the J of a square, no less and no more.
    both = (
        from_rings("a", UNIT, box(0, 0, 1, 1)).walls[0],
        from_rings("b", UNIT, box(1, 1, 2, 2)).walls[0],
    )
    import dataclasses

    pair = Outline(name="pair", walls=(both[0], dataclasses.replace(both[1], name="second")))
    made = mesh_regions(regions(pair), size=0.2)  # an outline like that is refused, a mesh is not
    bounds = torsion_bounds(made)
    assert bounds.lower < bounds.upper
    assert bounds.lower <= 2 * SQUARE


def test_filling_with_the_same_material_gives_the_solid() -> None:
    tube = shapes.rectangular_tube(ALUMINIUM, 0.04, 0.03, 0.004)
    full = analyse(filled(tube, {"inside": Fill(material=ALUMINIUM)}), tolerance=1e-4)
    solid = analyse(shapes.rectangle(ALUMINIUM, 0.04, 0.03), tolerance=1e-4)
    assert full.stiffness.GJ == pytest.approx(solid.stiffness.GJ, rel=1e-4)
