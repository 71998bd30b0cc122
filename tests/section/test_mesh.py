"""Both meshers: what a mesh must be, that they agree, and what keeps the C mesher in its place."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon, box

from strongback.errors import LimitError, MeshError
from strongback.materials import material
from strongback.section import _triangle, shapes
from strongback.section._delaunay import smallest_angles
from strongback.section.bounds import torsion_bounds
from strongback.section.mesh import MesherNotice, mesh
from strongback.section.outline import filled, from_rings, moved, regions, turned
from strongback.section.values import Fill, Insert, Outline, SectionMesh, Wall

STEEL = material("steel")
ALUMINIUM = material("aluminium 6060")
needs_c_mesher = pytest.mark.skipif(not _triangle.available(), reason="no C compiler when it was installed")
Ring = tuple[tuple[float, float], ...]


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Ring:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def five_cells() -> Outline:
    """An invented extrusion 80 x 120 mm: skin 3 mm, webs 2.5 mm, corner radii 4 and 2 mm."""
    half, high, web, cross = 0.037, 0.057, 0.00125, 0.02
    rings = {
        "a": rectangle(-half, -high, -web, -cross - web),
        "b": rectangle(web, -high, half, -cross - web),
        "c": rectangle(-half, -cross + web, half, cross - web),
        "d": rectangle(-half, cross + web, -web, high),
        "e": rectangle(web, cross + web, half, high),
    }
    from strongback.section.outline import rounded

    outer = rounded(rectangle(-0.04, -0.06, 0.04, 0.06), 0.004)
    return from_rings("five cells", ALUMINIUM, outer, {k: rounded(r, 0.002) for k, r in rings.items()})


def closed_channel() -> Outline:
    """A steel channel, a plate that ends on the middle of its flanges' ends, turned so that nothing is round."""
    channel = shapes.channel(STEEL, 0.06, 0.04, 0.004, 0.004).walls[0]
    plate = Wall(name="plate", material=ALUMINIUM, ring=rectangle(0.04, -0.028, 0.045, 0.028))
    return turned(Outline(name="closed", walls=(channel, plate)), 0.3)


def filled_tube() -> Outline:
    bar = Insert(name="bar", ring=rectangle(-0.03, -0.02, -0.02, 0.02), material=STEEL)
    fill = Fill(material=material("aluminium"), bores=(shapes.circle_ring(0.02, 40),), inserts=(bar,))
    return filled(shapes.rectangular_tube(STEEL, 0.08, 0.06, 0.003, inner_radius=0.003), {"inside": fill})


EXAMPLES = {
    "bar": shapes.rectangle(STEEL, 0.04, 0.02),
    "round": shapes.circle(STEEL, 0.05),
    "five cells": five_cells(),
    "five cells, far away": moved(five_cells(), (3.0, -7.0)),
    "slit tube": shapes.slit_tube(STEEL, 0.2, 0.00625, 0.0001),
    "angle": shapes.angle(STEEL, 0.08, 0.05, 0.005),
    "Z": shapes.z_section(STEEL, 0.1, 0.05, 0.002),
    "I": shapes.i_section(STEEL, 0.2, 0.1, 0.0085, 0.0056, 0.012),
    "tapered channel": shapes.tapered_channel(STEEL, 0.2, 0.075, 0.0085, 0.0115, 0.0115, 0.006),
    "two materials": closed_channel(),
    "filled tube": filled_tube(),
    "wall of 0.1 mm": shapes.rectangular_tube(STEEL, 0.05, 0.04, 0.0001),
    "acute corners": from_rings(
        "a", STEEL, ((0.0, 0.0), (0.1, 0.002), (0.1, 0.01), (0.05, 0.05), (0.09, 0.012))
    ),
}
MESHERS = ["built-in", pytest.param("triangle", marks=needs_c_mesher)]


def areas_of(made: SectionMesh) -> np.ndarray:
    p = made.nodes[made.triangles[:, :3]]
    u, v = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    return np.asarray(0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]))


@pytest.mark.parametrize("mesher", MESHERS)
@pytest.mark.parametrize("name", EXAMPLES)
def test_mesh_is_what_it_must_be(name: str, mesher: str) -> None:
    outline = EXAMPLES[name]
    made = mesh(outline, mesher=mesher)  # type: ignore[arg-type]
    areas = areas_of(made)
    reach = np.abs(made.nodes).max()
    noise = 1e-15 * reach * np.ptp(made.nodes, axis=0).max()  # of coordinates far from the origin
    assert made.mesher == mesher
    assert areas.min() > 0.0
    for i, region in enumerate(regions(outline)):
        assert areas[made.region == i].sum() == pytest.approx(region.polygon.area, rel=1e-12, abs=100 * noise)
    ends = made.triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    middles = made.nodes[made.triangles[:, 3:].ravel()]
    np.testing.assert_allclose(middles, made.nodes[ends].mean(axis=1), rtol=0.0, atol=4e-16 * max(reach, 1.0))


@pytest.mark.parametrize("mesher", MESHERS)
@pytest.mark.parametrize("name", EXAMPLES)
def test_sides_on_one_triangle_only_are_the_edge_of_the_section(name: str, mesher: str) -> None:
    # Conforming: whatever is not shared by two triangles lies on the edge, and makes up its whole length.
    outline = EXAMPLES[name]
    made = mesh(outline, mesher=mesher)  # type: ignore[arg-type]
    _, inverse, count = np.unique(made.triangles[:, 3:], return_inverse=True, return_counts=True)
    assert count.max() == 2
    sides = made.triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)[count[inverse.ravel()] == 1]
    length = np.linalg.norm(np.subtract(*made.nodes[sides.T]), axis=1).sum()
    face = shapely.union_all([r.polygon for r in regions(outline)], grid_size=1e-9)
    assert length == pytest.approx(face.length, rel=1e-6)


@pytest.mark.parametrize("name", [n for n in EXAMPLES if n not in ("acute corners", "wall of 0.1 mm")])
def test_built_in_mesher_makes_no_needles(name: str) -> None:
    made = mesh(EXAMPLES[name], mesher="built-in")
    angles = np.degrees(smallest_angles(made.nodes, made.triangles))
    assert angles.min() > 25.9


def test_size_is_kept() -> None:
    made = mesh(shapes.rectangle(STEEL, 0.1, 0.1), size=0.005)
    p = made.nodes[made.triangles[:, :3]]
    sides = np.linalg.norm(p - np.roll(p, 1, axis=1), axis=2)
    assert np.median(sides) == pytest.approx(0.005, rel=0.2)
    assert sides.max() < 2.0 * 0.005


def test_small_sizes_are_kept_too() -> None:
    # About 2.3 triangles to a square of the side; all of them near the size, not at the edge alone.
    made = mesh(shapes.rectangle(STEEL, 0.1, 0.1), size=1e-3)
    assert 15_000 < len(made.triangles) < 35_000
    assert np.sqrt(areas_of(made).max()) < 1e-3


def test_arrays_cannot_be_written() -> None:
    with pytest.raises(ValueError, match="read-only"):
        mesh(EXAMPLES["bar"]).nodes[0] = 0.0


def test_built_in_mesher_makes_no_needles_in_random_outlines() -> None:
    rng = np.random.default_rng(7)
    for _ in range(40):
        made = mesh(random_outline(rng), mesher="built-in")
        assert np.degrees(smallest_angles(made.nodes, made.triangles)).min() > 20.0


def random_outline(rng: np.random.Generator) -> Outline:
    """A profile of one to four parts stuck together, with up to four hollows, in general position [m]."""
    shape = box(0.0, 0.0, *rng.uniform(0.03, 0.1, 2))
    for _ in range(int(rng.integers(0, 4))):
        x, y = rng.uniform(-0.02, 0.06, 2)
        w, h = rng.uniform(0.006, 0.05, 2)
        part = box(x, y, x + w, y + h)
        if part.intersection(shape).area > 1e-5:
            shape = shape.union(part)
    shape = Polygon(shape.exterior)
    holes: list[Polygon] = []
    for _ in range(int(rng.integers(0, 9))):
        x, y = rng.uniform(0.0, 0.08, 2)
        w, h = rng.uniform(0.008, 0.03, 2)
        hole = (
            box(x, y, x + w, y + h) if rng.random() < 0.6 else shapely.Point(x, y).buffer(w / 2, quad_segs=6)
        )
        if shape.buffer(-0.002).contains(hole) and all(hole.distance(other) > 0.0015 for other in holes):
            holes.append(hole)
    rings = {f"c{i}": list(hole.exterior.coords) for i, hole in enumerate(holes[:4])}
    made = from_rings("random", STEEL, list(shape.exterior.coords), rings)
    return turned(made, float(rng.uniform(0.0, np.pi)))


def second_moments(made: SectionMesh) -> np.ndarray:
    """A, and integrals of x, y, x², y², x y, exact for straight triangles."""
    p, areas = made.nodes[made.triangles[:, :3]], areas_of(made)
    m = p.mean(axis=1)
    squares = (np.einsum("tci,tcj->tij", p, p) + 9.0 * np.einsum("ti,tj->tij", m, m)) / 12.0
    total = np.einsum("t,tij->ij", areas, squares)
    return np.array([areas.sum(), *(areas @ m), total[0, 0], total[1, 1], total[0, 1]])


@needs_c_mesher
@pytest.mark.slow
def test_meshers_agree_on_fifty_random_outlines() -> None:
    # Area and second moments to rounding. Of GJ each mesh gives guaranteed bounds: both hold the truth, so they overlap,
    # and the middles differ by less than a quarter of a per cent.
    rng = np.random.default_rng(50)
    for _ in range(50):
        outline = random_outline(rng)
        made = [mesh(outline, mesher=m) for m in ("built-in", "triangle")]
        ours, theirs = (second_moments(m) for m in made)
        np.testing.assert_allclose(ours, theirs, rtol=1e-9, atol=1e-12 * np.abs(ours).max())
        one, two = (torsion_bounds(m) for m in made)
        assert one.lower <= two.upper
        assert two.lower <= one.upper
        middle = [0.5 * (b.lower + b.upper) for b in (one, two)]
        assert middle[0] == pytest.approx(middle[1], rel=0.0025)


def test_without_the_c_mesher_there_is_a_notice(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("strongback.section.mesh.available", lambda: False)
    with pytest.warns(MesherNotice, match="the built-in mesher is used"):
        made = mesh(EXAMPLES["bar"], mesher="triangle")
    assert made.mesher == "built-in"


def task() -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    points = np.array(rectangle(0.0, 0.0, 0.04, 0.02))
    segments = np.array([[0, 1], [1, 2], [2, 3], [3, 0]])
    return points, segments, np.zeros((0, 2)), np.array([[0.02, 0.01]])


CHILDREN = {
    "crashes": ("import os, signal\nos.kill(os.getpid(), signal.SIGSEGV)", "the C mesher failed"),
    "hangs": ("import time\ntime.sleep(60)", "did not end within 1 s"),
    "says nothing": ("", "gave no mesh"),
    "says nonsense": ("import sys\nsys.stdout.write('x' * 1000)", "gave no mesh"),
    "answers NaN": (
        "import sys, io, numpy as np\nb = io.BytesIO()\n"
        "np.savez(b, nodes=np.full((3, 2), np.nan), corners=np.array([[0, 1, 2]]))\nsys.stdout.buffer.write(b.getvalue())",
        "not numbers",
    ),
    "answers more than allowed": (
        "import sys, io, numpy as np\nb = io.BytesIO()\n"
        "np.savez(b, nodes=np.zeros((3, 2)), corners=np.zeros((2000, 3), int))\nsys.stdout.buffer.write(b.getvalue())",
        "2,000 triangles, at most 1,000",
    ),
    "names points it has not": (
        "import sys, io, numpy as np\nb = io.BytesIO()\n"
        "np.savez(b, nodes=np.zeros((3, 2)), corners=np.array([[0, 1, 7]]))\nsys.stdout.buffer.write(b.getvalue())",
        "points that it did not give",
    ),
    "takes all memory": (
        "from strongback.section._triangle_child import bound\nbound(1 << 28, 5)\nx = bytearray(1 << 34)",
        "the C mesher failed",
    ),
}


@pytest.mark.parametrize("name", CHILDREN)
def test_a_child_that_misbehaves_is_an_error_here(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program, message = CHILDREN[name]
    (tmp_path / "child_that_misbehaves.py").write_text(program)
    root = str(Path(_triangle.__file__).parents[2])
    monkeypatch.setenv("PYTHONPATH", f"{tmp_path}:{root}")
    monkeypatch.setattr(_triangle, "MODULE", "child_that_misbehaves")
    monkeypatch.setattr(_triangle, "SECONDS", 1.0 if name == "hangs" else 20.0)
    with pytest.raises((MeshError, LimitError), match=message):
        _triangle.triangulate(*task(), 1e-4, 1_000)


@needs_c_mesher
@pytest.mark.parametrize(
    "spoil", [lambda p: np.vstack([p[:2], p[1:]]), lambda p: p * [1.0, 1e-12], lambda p: p * np.nan]
)
def test_hostile_points_never_get_past_the_child(spoil: object, monkeypatch: pytest.MonkeyPatch) -> None:
    # Repeated points, no height, not numbers: a crash, a hang or nonsense over there, an error or a sound mesh here.
    monkeypatch.setattr(_triangle, "SECONDS", 1.0)
    points, _, holes, seeds = task()
    points = spoil(points)  # type: ignore[operator]
    n = len(points)
    segments = np.column_stack([np.arange(n), np.roll(np.arange(n), -1)])
    try:
        nodes, _ = _triangle.triangulate(points, segments, holes, seeds, 1e-4, 10_000)
    except MeshError:
        return
    assert np.all(np.isfinite(nodes))


def test_importing_the_section_stage_loads_no_mesher() -> None:
    heavy = "{'cytriangle', 'sectionproperties', 'skimage', 'matplotlib'}"
    program = f"import sys, strongback.section.analyse; print(sorted({heavy} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
