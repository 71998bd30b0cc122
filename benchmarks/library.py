"""What a library user needs, held against others: profiles, stresses, frames, load types, files.

    python benchmarks/library.py           table
    python benchmarks/library.py --json    [{name, value, unit, target, met}]

Stiffness of nine profiles of our own: where its theory is the same, against sectionproperties (0.2 %); for unlike
materials, where it is another one, against linear triangles written here. Those come from above; their limit is that of
three meshes, each cut in four (Aitken's).

Stress: equivalent stress under axial force, both shear forces, both moments and torque together, at 250 points, against the
stresses of sectionproperties on a mesh four times as fine, in parts of the largest (2 %). Points keep half a wall or side
away from re-entrant corners, and half a side from those of the chords that are drawn for an arc, on its outside as well:
the stress of a polygon there goes to infinity or to nothing as the mesh gets finer, that of the arc does neither.

Frames: seven, against a second code (`frames.py`). Loads: each type against its closed form (`acting.py`). Files: every
format written and read back (`files.py`). 1e-6 each; glTF has single precision.
"""

from __future__ import annotations

import dataclasses
import json
import math
import os
import sys
import warnings
from typing import Any

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import acting
import files
import numpy as np
import scipy.sparse
import scipy.sparse.linalg
from sectionproperties.analysis.section import Section
from sectionproperties.pre.geometry import Geometry
from sectionproperties.pre.pre import Material as Theirs
from shapely.geometry import box

from strongback.materials import Material, material
from strongback.section import shapes
from strongback.section.analyse import analyse
from strongback.section.cells import from_strips
from strongback.section.mesh import mesh
from strongback.section.outline import filled, from_midline, from_rings, rounded
from strongback.section.refine import refined_everywhere
from strongback.section.second_opinion import AGREE, second_opinion
from strongback.section.stress import beside, section_stress
from strongback.section.stress_state import Loads, stress_at, stress_under
from strongback.section.values import Fill, Outline, SectionMesh

POINTS = 250
STRESS = 0.02
SAME = 1e-6
CHORD_CORNER = math.radians(30.0)  # a corner that turns by less is one of chords for an arc
LOADS = Loads(N=2e3, Vx=400.0, Vy=-700.0, Mx=60.0, My=-40.0, T=35.0)
MM = 1e-3


def ring(*points: tuple[float, float]) -> list[tuple[float, float]]:
    """Points in mm as metres."""
    return [(x * MM, y * MM) for x, y in points]


def profiles() -> dict[str, Outline]:
    """Nine profiles, invented."""
    steel, aluminium, mineral = material("steel"), material("aluminium 6060"), material("mineral casting")
    skew = from_rings(
        "unsymmetric, two cells",
        aluminium,
        ring((0, 0), (110, 6), (96, 70), (10, 58)),
        {"a": ring((6, 6), (52, 8), (50, 54), (14, 51)), "b": ring((57, 9), (101, 12), (91, 63), (55, 56))},
    )
    lips = ring((15, 0), (0, 0), (0, 60), (35, 60), (35, 48))
    rail_corners = ring((0, 0), (70, 0), (70, 12), (44, 12), (40, 50), (52, 50))
    rail_corners += ring((52, 62), (12, 62), (12, 50), (24, 50), (22, 12), (0, 12))
    rail = rounded(rail_corners, [0, 0, 0, 3 * MM, 3 * MM, 0, 0, 0, 0, 3 * MM, 3 * MM, 0])
    bores = {
        f"bore {k}": [(x + 0.02 * k, y + 0.015) for x, y in shapes.circle_ring(0.009)] for k in range(1, 5)
    }
    plate = from_rings("plate with four bores", steel, ring((6, 0), (104, 0), (104, 30), (6, 30)), bores)
    skin = ring((0, 0), (120, 0), (120, 70), (0, 70), (0, 0))
    webs = [(ring((45, 0), (45, 70)), 2 * MM), (ring((80, 0), (95, 70)), 5 * MM)]
    cells = from_strips("three cells, unlike walls", aluminium, [(skin, 3.5 * MM), *webs])
    core = filled(skew, {"a": Fill(material=mineral)})
    return {
        "unsymmetric, two cells": skew,
        "lipped, bent": from_midline("lipped", steel, lips, 2.5 * MM, closed=False, radius=4 * MM),
        "thick angle": shapes.angle(steel, 0.08, 0.05, 0.012),
        "Z": shapes.z_section(steel, 0.06, 0.04, 0.004),
        "rail with fillets": from_rings("rail", steel, rail),
        "plate with four bores": plate,
        "three cells, unlike walls": cells,
        "slit tube": shapes.slit_tube(steel, 0.06, 0.004, 0.002, count=90),
        "two cells, one filled": dataclasses.replace(core, name="filled"),
    }


def linear_triangles(made: SectionMesh) -> tuple[float, float, float]:
    """EA, EIx and GJ by three-node triangles on the corners of a mesh: own elements, of the package only the mesh."""
    corners = made.triangles[:, :3]
    p = made.nodes[corners] - made.nodes.mean(axis=0)
    x, y = p[..., 0], p[..., 1]
    b, c = np.roll(y, -1, 1) - np.roll(y, 1, 1), np.roll(x, 1, 1) - np.roll(x, -1, 1)
    area = 0.5 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
    E, G = (np.array([getattr(m, key) for m in made.materials])[made.region] for key in ("E", "G"))
    stiff = (b[:, :, None] * b[:, None] + c[:, :, None] * c[:, None]) * (G / (4.0 * area))[:, None, None]
    xm, ym = x.mean(axis=1), y.mean(axis=1)
    load = 0.5 * G[:, None] * (ym[:, None] * b - xm[:, None] * c)
    size = len(made.nodes)
    rows, columns = np.repeat(corners, 3, 1).ravel(), np.tile(corners, (1, 3)).ravel()
    K = scipy.sparse.coo_matrix((stiff.ravel(), (rows, columns)), shape=(size, size)).tocsc()
    f = np.bincount(corners.ravel(), load.ravel(), minlength=size)
    used = np.unique(corners)[1:]  # one node held
    w = np.zeros(size)
    w[used] = scipy.sparse.linalg.spsolve(K[used][:, used], f[used])
    square = lambda v: ((v**2).sum(axis=1) + 9.0 * v.mean(axis=1) ** 2) / 12.0  # noqa: E731  mean of v² over a triangle
    GJ = float(G * area @ (square(x) + square(y)) - w @ f)
    EA = float(E @ area)
    Sx = float(E * area @ ym)
    return EA, float(E * area @ square(y)) - Sx**2 / EA, GJ


def stiffness_rows(name: str, outline: Outline) -> list[dict[str, Any]]:
    """Largest difference of a profile's stiffnesses from a second one."""
    opinion = second_opinion(outline, tolerance=5e-4)
    same = max(abs(row.difference) for row in opinion.rows if row.holds)
    rows = [row_of(f"{name}: stiffness against sectionproperties", same, AGREE)]
    if any(not row.holds and row.quantity == "GJ" for row in opinion.rows):
        own = analyse(outline, tolerance=2e-4).stiffness
        pairs = zip(limit_of_triangles(outline), (own.EA, own.EIx, own.GJ), strict=True)
        off = max(abs(theirs / ours - 1.0) for theirs, ours in pairs)
        rows.append(row_of(f"{name}: stiffness against own linear triangles", off, AGREE))
    return rows


def limit_of_triangles(outline: Outline) -> list[float]:
    """EA, EIx and GJ to which linear triangles tend: Aitken's limit of three meshes, each cut in four."""
    made = mesh(outline, size=0.006)
    found = []
    for _ in range(3):
        made = refined_everywhere(made)
        found.append(linear_triangles(made))
    return [_aitken(*values) for values in zip(*found, strict=True)]


def _aitken(a: float, b: float, c: float) -> float:
    bend = (a - b) - (b - c)
    return c if abs(bend) <= 1e-9 * abs(c) else c - (b - c) ** 2 / bend


def stress_row(name: str, outline: Outline, rng: np.random.Generator) -> dict[str, Any]:
    """Largest difference of the equivalent stress at points, in parts of the largest stress there."""
    found = section_stress(outline)
    state = stress_under(found, LOADS)
    fine = refined_everywhere(found.mesh)
    their = their_stress(fine, outline.walls[0].material)
    sharp = np.vstack([found.corners * [1.0, 1.0, 2.0], chord_corners(outline)])
    clear = np.flatnonzero(~beside(fine.nodes, sharp))
    chosen = rng.choice(clear, size=min(POINTS, len(clear)), replace=False)
    mine = np.array([p.equivalent for p in stress_at(state, [tuple(fine.nodes[k]) for k in chosen])])
    off = np.abs(mine - their[chosen]).max() / their[clear].max()
    return row_of(f"{name}: stress at {len(chosen)} points", float(off), STRESS)


def chord_corners(outline: Outline) -> np.ndarray:
    """Corners between the chords of an arc, and half of the shorter side at each, (corners, 3)."""
    rows = []
    for ring in (r for wall in outline.walls for r in (wall.ring, *wall.holes)):
        p = np.asarray(ring)
        back, on = p - np.roll(p, 1, axis=0), np.roll(p, -1, axis=0) - p
        turn = np.arctan2(back[:, 0] * on[:, 1] - back[:, 1] * on[:, 0], np.einsum("ij,ij->i", back, on))
        side = np.minimum(np.linalg.norm(back, axis=1), np.linalg.norm(on, axis=1))
        rows += [(*p[i], 0.5 * side[i]) for i in np.flatnonzero(np.abs(turn) < CHORD_CORNER)]
    return np.array(rows).reshape(-1, 3)


def their_stress(made: SectionMesh, of: Material) -> np.ndarray:
    """Its equivalent stress at the nodes of a mesh, under the same loads about its own centres."""
    grey = Theirs("one", of.E, of.nu, 1.0, of.density, "grey")
    geometry = Geometry(box(0, 0, 1, 1), material=grey)
    geometry.mesh = {
        "vertices": np.array(made.nodes),
        "triangles": np.array(made.triangles)[:, [0, 1, 2, 4, 5, 3]],
        "triangle_attributes": np.array(made.region)[:, None],
    }
    section = Section(geometry)
    section.calculate_geometric_properties()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        section.calculate_warping_properties()
    # Its shear forces act through the elastic centre; ours through Trefftz's: the difference is a torque.
    p = section.section_props
    dx, dy = p.x_st - p.x_se, p.y_st - p.y_se
    torque = LOADS.T + LOADS.Vy * dx - LOADS.Vx * dy
    post = section.calculate_stress(
        n=LOADS.N, vx=LOADS.Vx, vy=LOADS.Vy, mxx=LOADS.Mx, myy=LOADS.My, mzz=torque
    )
    return np.asarray(post.get_stress()[0]["sig_vm"])


def row_of(name: str, value: float, target: float) -> dict[str, Any]:
    """A row of the benchmark, in per cent."""
    good = math.isfinite(value) and value <= target
    return {"name": name, "value": 100 * value, "unit": "%", "target": 100 * target, "met": bool(good)}


def plain_row(name: str, value: float, target: float) -> dict[str, Any]:
    """A row of a relative difference."""
    good = math.isfinite(value) and value <= target
    return {"name": name, "value": value, "unit": "1", "target": target, "met": bool(good)}


def rows() -> list[dict[str, Any]]:
    """All rows."""
    rng = np.random.default_rng(3)
    found = []
    for name, outline in profiles().items():
        found += stiffness_rows(name, outline)
        if all(cell.fill is None for cell in outline.cells):
            found.append(stress_row(name, outline, rng))
    found += [plain_row(name, value, SAME) for name, value in acting.differences()]
    found += [plain_row(name, value, SAME) for name, value in files.differences(profiles())]
    return found


def main() -> None:
    found = rows()
    if "--json" in sys.argv[1:]:
        print(json.dumps(found, indent=1))
        return
    for row in found:
        mark = "met" if row["met"] else "NOT MET"
        unit = " %" if row["unit"] == "%" else ""
        print(f"{row['name']:84s} {row['value']:8.2g}{unit} (at most {row['target']:g}{unit}) {mark}")


if __name__ == "__main__":
    main()
