"""Dirty geometry: refused or repaired with a message that names the ring and the point in mm; never a crash or NaN."""

from __future__ import annotations

import dataclasses
import math
import re

import numpy as np
import pytest

from strongback.cli.frame import main
from strongback.errors import LimitError, OutlineError, StrongbackError
from strongback.materials import material
from strongback.section import shapes
from strongback.section.analyse import analyse
from strongback.section.check import check
from strongback.section.mesh import mesh
from strongback.section.outline import area_of, filled, from_midline, from_rings, moved, rounded
from strongback.section.repair import repaired
from strongback.section.values import Cell, Fill, Insert, Outline, Ring, Wall

STEEL = material("steel")
ALUMINIUM = material("aluminium 6060")


def box(x0: float, y0: float, x1: float, y1: float) -> Ring:
    """Corners in metres from sizes in mm."""
    return tuple((x * 1e-3, y * 1e-3) for x, y in [(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def mm(*points: tuple[float, float]) -> Ring:
    return tuple((x * 1e-3, y * 1e-3) for x, y in points)


def plain(ring: Ring, *holes: Ring) -> Outline:
    return from_rings("p", STEEL, ring, {f"c{i + 1}": hole for i, hole in enumerate(holes)})


def pair(one: Ring, other: Ring) -> Outline:
    walls = [Wall(name=n, material=STEEL, ring=r) for n, r in (("one", one), ("two", other))]
    return Outline(name="p", walls=tuple(walls))


def with_fill(fill: Fill) -> Outline:
    return filled(shapes.rectangular_tube(ALUMINIUM, 0.08, 0.06, 0.003), {"inside": fill})


BOX = box(0, 0, 40, 30)
NAN, INF = math.nan, math.inf
REFUSED = {
    "bow tie": (
        plain(mm((0, 0), (10, 10), (10, 0), (0, 10))),
        r"outer edge of wall: crosses itself at \(5, 5\) mm",
    ),
    "open ring of two points": (plain(mm((0, 0), (10, 0))), r"2 points bound no area"),
    "no points": (plain(()), r"0 points bound no area"),
    "zero area": (plain(mm((0, 0), (10, 0), (20, 0))), r"outer edge of wall: crosses itself|next to no area"),
    "NaN": (plain(mm((0, 0), (10, NAN), (10, 10))), r"a point is not a number: \(10, nan\) mm"),
    "infinite": (plain(mm((0, 0), (10, INF), (10, 10))), r"a point is not a number: \(10, inf\) mm"),
    "forgotten unit": (plain(((0, 0), (4e5, 0), (4e5, 3e5), (0, 3e5))), r"further out than 20 m"),
    "repeated point": (
        plain(mm((0, 0), (10, 0), (10, 0), (10, 10))),
        r"the point \(10, 0\) mm is there twice in a row",
    ),
    "nearly the same point": (
        plain(mm((0, 0), (10, 0), (10, 2e-4), (10, 10))),
        r"the point \(10, 0.0002\) mm is there twice",
    ),
    "touches itself in a corner": (
        plain(mm((0, 0), (10, 0), (5, 5), (10, 10), (0, 10), (5, 5))),
        r"touches itself at \(5, 5\) mm",
    ),
    "touches itself on a side": (
        plain(mm((0, 0), (10, 0), (10, 10), (5, 0), (0, 10))),
        r"crosses itself at \(5, 0\) mm",
    ),
    "sliver": (plain(mm((0, 0), (100, 0), (100, 0.0005), (0, 0.0005))), r"next to no area|there twice"),
    "spike": (
        plain(mm((0, 0), (40, 0), (40, 30), (90, 30.05), (40, 30.1), (0, 30.1))),
        r"a spike of 0.11 degrees at \(90, 30.05\) mm",
    ),
    "neck": (
        plain(
            mm(
                (0, 0),
                (40, 0),
                (40, 30),
                (20.002, 30),
                (20.002, 1),
                (20, 0.004),
                (19.998, 1),
                (19.998, 30),
                (0, 30),
            )
        ),
        r"comes within 0.00\d+ mm of itself|a spike",
    ),
    "hole outside": (plain(BOX, box(50, 5, 60, 10)), r'wall "wall": hollow 1 reaches outside at'),
    "hole across the edge": (plain(BOX, box(30, 5, 60, 10)), r"hollow 1 reaches outside at \((60|50)"),
    "hole that touches": (plain(BOX, box(0, 5, 10, 10)), r"hollow 1 touches the outer edge at \(0, "),
    "hole that touches in a corner": (
        plain(BOX, mm((0, 15), (10, 10), (10, 20))),
        r"hollow 1 touches the outer edge at \(0, 15\) mm",
    ),
    "hole as large as the outer edge": (plain(BOX, BOX), r"hollow 1 touches the outer edge"),
    "wall of a hair": (
        plain(BOX, box(0.005, 5, 10, 10)),
        r"hollow 1 leaves a wall of 0.005 mm to the outer edge",
    ),
    "holes that touch": (
        plain(BOX, box(5, 5, 10, 10), box(10, 5, 15, 10)),
        r"hollow 2 touches hollow 1 at \(10, ",
    ),
    "holes that touch in a point": (
        plain(BOX, box(5, 5, 10, 10), box(10, 10, 15, 15)),
        r"hollow 2 touches hollow 1 at \(10, 10\) mm",
    ),
    "holes that overlap": (
        plain(BOX, box(5, 5, 10, 10), box(8, 5, 15, 10)),
        r"hollow 2 overlaps hollow 1 at",
    ),
    "hole in a hole": (plain(BOX, box(5, 5, 20, 20), box(8, 8, 10, 10)), r"hollow 2 overlaps hollow 1"),
    "walls that overlap": (pair(BOX, box(20, 0, 60, 30)), r'wall "one" and wall "two" overlap at'),
    "walls in point contact": (
        pair(BOX, box(40, 30, 60, 60)),
        r'"one" and wall "two" touch in a single point at \(40, 30\) mm',
    ),
    "walls with a hair between": (pair(BOX, box(40.002, 0, 60, 30)), r"leave a gap of 0.002 mm at \(40"),
    "walls apart": (pair(BOX, box(50, 0, 60, 30)), r'wall "two" at \(55, 15\) mm is joined to nothing'),
    "no wall": (Outline(name="p", walls=()), "has no wall"),
    "cell over a wall": (
        dataclasses.replace(plain(BOX), cells=(Cell(name="c", ring=box(5, 5, 10, 10)),)),
        r'cell "c" and wall "wall" overlap',
    ),
    "two cells of one name": (
        dataclasses.replace(
            plain(BOX, box(5, 5, 10, 10)), cells=2 * (Cell(name="c", ring=box(5, 5, 10, 10)),)
        ),
        r'cell "c" is there twice',
    ),
    "bore outside": (
        with_fill(Fill(material=STEEL, bores=(box(30, 0, 50, 10),))),
        r'cell "inside": bore 1 reaches outside',
    ),
    "bore that touches": (
        with_fill(Fill(material=STEEL, bores=(box(27, 0, 37, 10),))),
        r"bore 1 touches the wall at \(37",
    ),
    "bores that overlap": (
        with_fill(Fill(material=STEEL, bores=(box(0, 0, 10, 10), box(5, 5, 15, 15)))),
        r"bore 2 overlaps bore 1",
    ),
    "insert on a bore": (
        with_fill(
            Fill(
                material=STEEL,
                bores=(box(0, 0, 10, 10),),
                inserts=(Insert(name="bar", ring=box(10, 0, 20, 10), material=STEEL),),
            )
        ),
        r'insert "bar" touches bore 1',
    ),
    "bore of an insert outside of it": (
        with_fill(
            Fill(
                material=STEEL,
                inserts=(Insert(name="bar", ring=box(0, 0, 10, 10), material=STEEL, bore=box(5, 5, 15, 8)),),
            )
        ),
        r'insert "bar": bore 1 reaches outside',
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_refused_with_ring_and_point(name: str) -> None:
    outline, message = REFUSED[name]
    with pytest.raises(OutlineError, match=message):
        check(outline)
    with pytest.raises(OutlineError, match=message):
        mesh(outline)


@pytest.mark.parametrize("name", [n for n, (_, message) in REFUSED.items() if r"mm" in message])
def test_refusals_carry_their_point(name: str) -> None:
    outline, _ = REFUSED[name]
    with pytest.raises(OutlineError) as caught:
        check(outline)
    written = re.search(r"\(([-\d.enaif]+), ([-\d.enaif]+)\) mm", caught.value.message)
    assert caught.value.point is not None
    assert written is not None
    shown = [float(written[1]) * 1e-3, float(written[2]) * 1e-3]
    assert shown == pytest.approx(caught.value.point, rel=1e-5, abs=1e-9, nan_ok=True)


def test_too_many_points() -> None:
    ring = shapes.circle_ring(0.1, 2_001)
    with pytest.raises(
        LimitError, match=r"2,001 points, at most 2,000 .*\n.*allow more: max_points = 2001 in its"
    ):
        check(plain(ring))
    check(dataclasses.replace(plain(ring), max_points=3_000))
    with pytest.raises(OutlineError, match="must be at most 100,000"):
        dataclasses.replace(plain(ring), max_points=200_000)
    # The edge of a cell that is a hollow of its wall is one edge, not two.
    check(plain(shapes.circle_ring(0.1, 1_000), shapes.circle_ring(0.09, 1_000)))


@pytest.mark.parametrize("size", [0.0, -1.0, NAN, INF, 1e-9])
def test_absurd_element_sizes(size: float) -> None:
    with pytest.raises(LimitError, match=r"elements? "):
        mesh(plain(BOX), size=size)


def test_cap_on_triangles_is_kept() -> None:
    with pytest.raises(LimitError, match="at most 500 are made"):
        mesh(plain(BOX), size=1e-3, max_triangles=500)
    with pytest.raises(LimitError, match=r"pieces|at most"):
        mesh(plain(BOX, box(0.02, 0.02, 39.98, 29.98)), max_triangles=500)


REPAIRED = {
    "repeated point": (
        mm((0, 0), (40, 0), (40, 0), (40, 20), (0, 20)),
        "dropped the point (40, 0) mm, the same as its neighbour",
    ),
    "closed twice": (
        mm((0, 0), (40, 0), (40, 20), (0, 20), (0, 0.0005), (0, 0)),
        "the same as its neighbour",
    ),
    "spike of no width": (mm((0, 0), (40, 0), (60, 0), (40, 0), (40, 20), (0, 20)), "a spike of no width"),
}


@pytest.mark.parametrize("name", REPAIRED)
def test_repaired_with_a_note(name: str) -> None:
    ring, note = REPAIRED[name]
    made, notes = repaired(plain(ring))
    assert any(note in found for found in notes)
    assert area_of(made) * 1e6 == pytest.approx(800.0, rel=1e-6)
    assert np.isfinite(mesh(made).nodes).all()


def test_hollow_without_area_is_dropped_with_its_cell() -> None:
    made, notes = repaired(plain(box(0, 0, 40, 20), mm((10, 10), (20, 10), (20, 10))))
    assert made.walls[0].holes == ()
    assert made.cells == ()
    assert "hollow 1 of wall at (10, 10) mm: dropped, it bounds no area" in notes


def test_a_clean_outline_is_left_as_it_is() -> None:
    tube = shapes.rectangular_tube(ALUMINIUM, 0.08, 0.06, 0.003, outer_radius=0.006, inner_radius=0.003)
    assert repaired(tube) == (tube, ())


def test_what_has_no_single_remedy_is_not_repaired() -> None:
    with pytest.raises(OutlineError, match="crosses itself"):
        repaired(REFUSED["bow tie"][0])
    with pytest.raises(OutlineError, match="not a number"):
        repaired(REFUSED["NaN"][0])


def random_rings(rng: np.random.Generator) -> tuple[np.ndarray, list[np.ndarray]]:
    """A polygon of one of six hostile kinds [m], and its hollows."""
    kind, n = int(rng.integers(6)), int(rng.integers(3, 14))
    if kind == 0:
        return rng.uniform(-0.05, 0.05, (n, 2)), []
    angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, n))
    ring = rng.uniform(0.01, 0.05, n)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    if kind == 1:
        return ring, []
    if kind == 2:
        return ring, [ring * rng.uniform(0.2, 1.05) + rng.normal(0.0, 1e-4, 2)]
    if kind == 3:
        return np.round(ring, 3), []
    if kind == 4:
        at = int(rng.integers(n))
        return np.insert(ring, at, ring[at] + rng.normal(0.0, 10.0 ** rng.uniform(-9, -4), 2), axis=0), []
    return ring * np.array([1.0, 10.0 ** rng.uniform(-5.0, 0.0)]), []


def test_two_thousand_rough_points_are_meshed_or_refused() -> None:
    # As many points as are read, every other one a spike of a millimetre: large, but bounded.
    angle = np.linspace(0.0, 2.0 * np.pi, 2_000, endpoint=False)
    radius = 0.05 + 0.001 * np.random.default_rng(0).random(2_000)
    outline = plain(tuple(map(tuple, np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]))))
    made = mesh(outline)
    assert len(made.triangles) < 60_000


@pytest.mark.slow
def test_two_thousand_random_polygons() -> None:
    # Refused by name or meshed exactly; nothing in between.
    rng = np.random.default_rng(20)
    meshed = 0
    for _ in range(2_000):
        ring, holes = random_rings(rng)
        outline = plain(tuple(map(tuple, ring)), *(tuple(map(tuple, hole)) for hole in holes))
        try:
            made = mesh(outline, mesher="built-in", size=float(np.ptp(ring, axis=0).max()))
        except StrongbackError:
            continue
        meshed += 1
        corners = made.nodes[made.triangles[:, :3]]
        u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
        areas = 0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
        assert areas.min() > 0.0
        assert areas.sum() == pytest.approx(area_of(outline), rel=1e-12)
    assert meshed > 800


FOLDED = mm((0, 0), (40, 0), (20, 0), (20, 30))
BAD_BUILDS = {
    "radius not a number": (lambda: rounded(BOX, NAN), "corner radius nan is not a length"),
    "one radius not a number": (lambda: rounded(BOX, [0, 0, NAN, 0]), "is not a length"),
    "radius below 0": (lambda: rounded(BOX, -1e-3), "is not a length"),
    "radius infinite": (lambda: rounded(BOX, INF), "is not a length"),
    "three radii for four corners": (lambda: rounded(BOX, [0, 0, 0]), "3 corner radii for 4 corners"),
    "chord of nothing": (lambda: rounded(BOX, 5e-3, chord=0.0), "chord 0 mm must lie between"),
    "chord not a number": (lambda: rounded(BOX, 5e-3, chord=NAN), "chord nan mm must lie between"),
    "fold with a radius": (lambda: rounded(FOLDED, 1e-3), r"turns back on itself at \(40, 0\) mm"),
    "point far out": (lambda: rounded([(0, 0), (1e300, 0), (0, 1)], 1e-3), "further out than 20 m"),
    "points that nearly coincide": (lambda: rounded([(0, 0), (1e-200, 0), (0, 1)], 0.0), "twice in a row"),
    "last point nearly the first": (lambda: rounded([*BOX, (0, 1e-200)], 1e-3), "twice in a row"),
}
BAD_WALLS = {
    "thickness not a number": ({"thickness": NAN}, "wall thickness nan mm must be above 0"),
    "thickness 1e300": ({"thickness": 1e300}, r"wall thickness 1e\+303 mm must be above 0 and at most 20 m"),
    "thickness infinite": ({"thickness": INF}, "wall thickness inf mm"),
    "radius not a number": ({"radius": NAN}, "corner radius nan mm must be at least 0"),
    "radius below 0": ({"radius": -1e-3}, "corner radius -1 mm must be at least 0"),
    "outer radius not a number": ({"outer_radius": NAN, "closed": True}, "corner radius nan mm"),
    "inner radius 1e300": ({"inner_radius": 1e300, "closed": True}, r"corner radius 1e\+303 mm"),
    "folded with a radius": ({"points": FOLDED, "radius": 1e-3}, r"turns back on itself at \(40, 0\) mm"),
    "folded, closed, with a radius": (
        {"points": FOLDED, "radius": 1e-3, "closed": True},
        r"turns back on itself at \(40, 0\) mm",
    ),
}


@pytest.mark.parametrize("name", BAD_BUILDS)
def test_a_ring_that_cannot_be_drawn_is_refused(name):
    build, words = BAD_BUILDS[name]
    with pytest.raises(OutlineError, match=words):
        build()


@pytest.mark.parametrize("name", BAD_WALLS)
def test_a_wall_that_cannot_be_drawn_is_refused(name):
    given, words = BAD_WALLS[name]
    size = {"points": BOX, "thickness": 2e-3, "closed": False, **given}
    with pytest.raises(OutlineError, match=words):
        from_midline("p", STEEL, **size)


@pytest.mark.parametrize("far", [1.0, 19.0])
def test_where_a_section_is_drawn_changes_nothing_but_its_mesh(far):
    """Up to 300 times its size away: integrals lose the last digits of the coordinates, 4e-15 of 19 m; the bounds of GJ
    still hold each other's value, and shear and warping agree as far as meshes of 0.1 % do."""
    outline = shapes.rectangular_tube(ALUMINIUM, 0.06, 0.08, 0.004)
    here, there = analyse(outline), analyse(moved(outline, (far, -far)))
    for key in ("EA", "EIx", "EIy", "mass_per_length"):
        assert getattr(there.stiffness, key) == pytest.approx(getattr(here.stiffness, key), rel=1e-11)
    assert there.GJ_lower <= here.GJ_upper
    assert here.GJ_lower <= there.GJ_upper
    for key in ("EGamma", "kGAx", "kGAy"):
        assert getattr(there.stiffness, key) == pytest.approx(getattr(here.stiffness, key), rel=1e-3)
    shift = np.subtract(there.stiffness.centroid, here.stiffness.centroid)
    np.testing.assert_allclose(shift, (far, -far), rtol=0, atol=1e-13)
    shift = np.subtract(there.stiffness.shear_centre, here.stiffness.shear_centre)
    np.testing.assert_allclose(shift, (far, -far), rtol=0, atol=1e-5)


def test_far_from_its_origin_is_one_limit(tmp_path, capsys):
    """A table alone, a table of a project and an outline made in Python are refused alike."""
    ring = [(x * 1e-3 + 1200.0, y * 1e-3) for x, y in [(0, 0), (40, 0), (40, 30), (0, 30)]]
    with pytest.raises(OutlineError, match="further out than 20 m"):
        analyse(from_rings("p", STEEL, ring))
    rows = "\n".join(f"outer,{x},{y}" for x, y in ring)
    (tmp_path / "far.csv").write_text(f"ring,x [m],y [m]\n{rows}\n")
    assert main(["section", "--outline", str(tmp_path / "far.csv"), "--material", "steel"]) == 3
    assert "further out than 20 m" in capsys.readouterr().err
