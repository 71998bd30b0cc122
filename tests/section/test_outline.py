"""Outlines: builders, cells, motions, regions, and the tables of rolled and hollow sections."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from shapely.geometry import Polygon

from strongback.errors import LimitError, OutlineError
from strongback.materials import material
from strongback.section import shapes
from strongback.section.cells import from_strips, hollows, with_cells
from strongback.section.check import check
from strongback.section.outline import (
    area_of,
    emptied,
    filled,
    from_midline,
    from_rings,
    mass_per_length,
    moved,
    regions,
    rounded,
    turned,
)
from strongback.section.values import Cell, Fill, Insert, Outline, Wall

STEEL = material("steel")
ALUMINIUM = material("aluminium 6060")
MM = 1e-3


def box(x0: float, y0: float, x1: float, y1: float) -> list[tuple[float, float]]:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def ring_moments(points: np.ndarray) -> np.ndarray:
    """Green's theorem over a polygon: area, x and y moments, integrals of x², y², x y."""
    x, y = points.T
    xn, yn = np.roll(x, -1), np.roll(y, -1)
    c = x * yn - xn * y
    return np.array(
        [
            c.sum() / 2,
            ((x + xn) * c).sum() / 6,
            ((y + yn) * c).sum() / 6,
            ((x * x + x * xn + xn * xn) * c).sum() / 12,
            ((y * y + y * yn + yn * yn) * c).sum() / 12,
            ((x * yn + 2 * x * y + 2 * xn * yn + xn * y) * c).sum() / 24,
        ]
    )


def central(outline: Outline) -> tuple[float, float, float, float, float]:
    """Area, centroid and second moments about it of one material: A, xc, yc, Ix, Iy."""
    total = np.zeros(6)
    for region in regions(outline):
        for sign, ring in [(1, region.polygon.exterior), *((-1, r) for r in region.polygon.interiors)]:
            moments = ring_moments(np.asarray(ring.coords)[:-1])
            total += sign * math.copysign(1.0, moments[0]) * moments
    area, sx, sy, xx, yy, _ = total
    return area, sx / area, sy / area, yy - sy * sy / area, xx - sx * sx / area


HOLLOW = [
    # width, depth, t, hot finished: A [cm²], I about the axis across the depth [cm⁴], relative tolerance of the table
    ((100, 100, 5, False), (18.36, 271.1), 0.002),  # EN 10219-2
    ((80, 80, 4, False), (11.75, 111.04), 0.002),
    ((40, 60, 3, False), (5.41, 25.38), 0.002),
    ((30, 50, 3, False), (4.21, 12.83), 0.002),
    ((100, 100, 5, True), (18.7, 279.0), 0.003),  # EN 10210-2
    ((50, 50, 5, True), (8.73, 28.9), 0.003),
]


@pytest.mark.parametrize(("sizes", "table", "tolerance"), HOLLOW)
def test_hollow_sections_of_the_standards(
    sizes: tuple[float, float, float, bool], table: tuple[float, float], tolerance: float
) -> None:
    # EN 10219-2 (cold formed: outer radius 2 t, inner t) and EN 10210-2 (hot finished: 1.5 t and 1.0 t, not concentric).
    width, depth, wall, hot = sizes
    made = shapes.hollow_section(STEEL, width * MM, depth * MM, wall * MM, hot_finished=hot)
    area, _, _, second, _ = central(made)
    assert area * 1e4 == pytest.approx(table[0], rel=tolerance)
    assert second * 1e8 == pytest.approx(table[1], rel=tolerance)


ROLLED = [
    # h, b, tf, tw, r [mm]: A [cm²], Iy, Iz [cm⁴]: EN 10365 (Euronorm 19-57, 53-62)
    ("IPE 200", (200, 100, 8.5, 5.6, 12), (28.48, 1943, 142.4)),
    ("IPE 300", (300, 150, 10.7, 7.1, 15), (53.81, 8356, 603.8)),
    ("HE 200 A", (190, 200, 10, 6.5, 18), (53.8, 3692, 1336)),
    ("HE 200 B", (200, 200, 15, 9, 18), (78.1, 5696, 2003)),
]


@pytest.mark.parametrize(("name", "sizes", "table"), ROLLED)
def test_rolled_sections(
    name: str, sizes: tuple[float, float, float, float, float], table: tuple[float, float, float]
) -> None:
    h, b, tf, tw, r = (v * MM for v in sizes)
    area, _, _, major, minor = central(shapes.i_section(STEEL, h, b, tf, tw, r))
    assert area * 1e4 == pytest.approx(table[0], rel=1e-3)
    assert major * 1e8 == pytest.approx(table[1], rel=1e-3)
    assert minor * 1e8 == pytest.approx(table[2], rel=1e-3)


TAPERED = [
    # h, b, tw, tf, r1, r2 [mm]: A [cm²], Iy, Iz [cm⁴], centroid from the back of the web [cm]: EN 10365 / DIN 1026-1
    ("UPN 200", (200, 75, 8.5, 11.5, 11.5, 6), (32.2, 1910, 148, 2.01), 0.004),
    ("UPN 100", (100, 50, 6, 8.5, 8.5, 4.5), (13.5, 206, 29.3, 1.55), 0.006),
]


@pytest.mark.parametrize(("name", "sizes", "table", "tolerance"), TAPERED)
def test_tapered_channels(
    name: str,
    sizes: tuple[float, float, float, float, float, float],
    table: tuple[float, float, float, float],
    tolerance: float,
) -> None:
    area, x, _, major, minor = central(shapes.tapered_channel(STEEL, *(v * MM for v in sizes)))
    found = (area * 1e4, major * 1e8, minor * 1e8, x * 1e2)
    assert found == pytest.approx(table, rel=tolerance)


def test_unequal_angle_about_its_centroid() -> None:
    # Pilkey 2002, Example B.3, p. 441: principal second moments 77.66369 and 16.48228; their sum is Ix + Iy.
    ring = [
        (-0.375, -0.375),
        (5.625, -0.375),
        (5.625, 0.375),
        (0.375, 0.375),
        (0.375, 7.625),
        (-0.375, 7.625),
    ]
    _, _, _, ix, iy = central(from_rings("L", STEEL, ring))
    assert ix + iy == pytest.approx(77.66369 + 16.48228, rel=1e-6)


@pytest.mark.parametrize("radius", [0.5, 2.0, 9.0])
@pytest.mark.parametrize("chord", [1e-2, 1e-3])
def test_arcs_keep_their_area_and_their_tolerance(radius: float, chord: float) -> None:
    ring = np.array(rounded([(x * MM, y * MM) for x, y in box(0, 0, 20, 30)], radius * MM, chord=chord * MM))
    exact = 600.0 - (4.0 - math.pi) * radius**2
    assert Polygon(ring).area * 1e6 == pytest.approx(exact, rel=1e-12)
    corner = ring[(ring[:, 0] > (20 - radius) * MM) & (ring[:, 1] > (30 - radius) * MM)]
    off = np.linalg.norm(corner - np.array([20 - radius, 30 - radius]) * MM, axis=1) - radius * MM
    assert len(corner) >= 1
    assert np.abs(off).max() <= chord * MM


def test_a_radius_that_does_not_fit_is_refused() -> None:
    with pytest.raises(OutlineError, match=r"radius 11 mm at \(0, 0\) mm does not fit the side of 20 mm"):
        rounded([(x * MM, y * MM) for x, y in box(0, 0, 20, 30)], 11 * MM)


def test_tube_from_its_mid_line_is_exact() -> None:
    # 80 x 120 x 4 from the mid-line: 1536 mm² (elementary).
    ring = [(2, 2), (78, 2), (78, 118), (2, 118)]
    made = from_midline("tube", ALUMINIUM, [(x * MM, y * MM) for x, y in ring], 4 * MM, closed=True)
    assert area_of(made) == pytest.approx(1536e-6, rel=1e-12)
    assert [cell.name for cell in made.cells] == ["inside"]
    assert mass_per_length(made) == pytest.approx(1536e-6 * ALUMINIUM.density, rel=1e-12)


def test_mid_line_of_an_open_wall_is_exact() -> None:
    # Square mitres: area = thickness x length of the mid-line, whatever the bends (elementary).
    line = [(0.0, 0.0), (30 * MM, 0.0), (30 * MM, 50 * MM), (60 * MM, 70 * MM)]
    length = sum(math.dist(a, b) for a, b in itertools.pairwise(line))
    assert area_of(from_midline("z", STEEL, line, 3 * MM, closed=False)) == pytest.approx(
        3 * MM * length, rel=1e-12
    )


def test_concentric_and_separate_radii_of_a_closed_mid_line() -> None:
    ring = [(x * MM, y * MM) for x, y in box(2.5, 2.5, 97.5, 97.5)]
    round_ = from_midline("r", STEEL, ring, 5 * MM, closed=True, radius=7.5 * MM)
    # Concentric arcs: area = t x (mid-line length), as the arc's outer and inner halves balance (elementary).
    length = 4 * (95 - 15) + 2 * math.pi * 7.5
    assert area_of(round_) * 1e6 == pytest.approx(5 * length, rel=2e-4)
    hot = from_midline("h", STEEL, ring, 5 * MM, closed=True, outer_radius=7.5 * MM, inner_radius=5 * MM)
    assert area_of(hot) * 1e4 == pytest.approx(18.7, rel=0.003)  # EN 10210-2


def test_radii_follow_the_bend_of_a_concave_mid_line() -> None:
    # An L-shaped tube: five outward bends and one inward; the radius outside of a bend is on the hollow at the last.
    ring = [(0, 0), (60, 0), (60, 30), (30, 30), (30, 60), (0, 60)]
    made = from_midline(
        "L",
        STEEL,
        [(x * MM, y * MM) for x, y in ring],
        4 * MM,
        closed=True,
        outer_radius=6 * MM,
        inner_radius=2 * MM,
    )
    sharp = from_midline("L", STEEL, [(x * MM, y * MM) for x, y in ring], 4 * MM, closed=True)
    # Each of the six bends loses a corner outside of the bend and gains one inside of it (elementary).
    lost = (1 - math.pi / 4) * 6 * (6**2 - 2**2)
    assert (area_of(sharp) - area_of(made)) * 1e6 == pytest.approx(lost, rel=1e-9)
    check(made)


@pytest.mark.parametrize("thickness", [0.0, -1e-3, math.nan, math.inf])
def test_thickness_must_be_above_zero(thickness: float) -> None:
    with pytest.raises(OutlineError, match="thickness"):
        from_midline("t", STEEL, box(0, 0, 0.1, 0.1), thickness, closed=True)


def test_wall_thicker_than_the_hollow_is_refused() -> None:
    with pytest.raises(OutlineError, match="a wall of 60 mm does not fit the mid-line"):
        from_midline("t", STEEL, box(0, 0, 0.05, 0.05), 0.06, closed=True)


def test_mid_line_that_crosses_itself_is_refused() -> None:
    with pytest.raises(OutlineError, match="mid-line crosses itself"):
        from_midline("t", STEEL, [(0, 0), (0.1, 0.1), (0.1, 0), (0, 0.1)], 0.002, closed=True)


def test_strips_become_walls_and_cells() -> None:
    skin = [*box(1.5 * MM, 1.5 * MM, 78.5 * MM, 58.5 * MM), (1.5 * MM, 1.5 * MM)]
    web = [(40 * MM, 1.5 * MM), (40 * MM, 58.5 * MM)]
    two = from_strips(
        "two", ALUMINIUM, [(skin, 3 * MM), (web, 2.5 * MM)], {"right": (0.06, 0.03), "left": (0.02, 0.03)}
    )
    check(two)
    assert {cell.name for cell in two.cells} == {"left", "right"}
    left = next(cell for cell in two.cells if cell.name == "left")
    assert Polygon(left.ring).centroid.x < 0.04
    # 80 x 60 outside, two hollows of 35.75 x 54 (elementary).
    assert area_of(two) * 1e6 == pytest.approx(80 * 60 - 2 * 35.75 * 54, rel=1e-12)


def test_strips_that_do_not_meet_are_refused() -> None:
    with pytest.raises(OutlineError, match="do not hang together"):
        from_strips("two", STEEL, [([(0, 0), (0.05, 0)], 0.003), ([(0, 0.02), (0.05, 0.02)], 0.003)])


def test_name_in_no_hollow_is_refused() -> None:
    skin = [*box(0, 0, 0.05, 0.05), (0, 0)]
    with pytest.raises(OutlineError, match=r'cell "far" at \(900, 0\) mm lies in no hollow'):
        from_strips("one", STEEL, [(skin, 0.003)], {"far": (0.9, 0.0)})


def test_hollow_between_two_walls_is_found() -> None:
    # A channel and the plate that closes it.
    channel = shapes.channel(STEEL, 0.06, 0.04, 0.004, 0.004).walls[0]
    plate = Wall(name="plate", material=ALUMINIUM, ring=tuple(box(0.04, -0.03, 0.045, 0.03)))
    pair = with_cells(Outline(name="closed", walls=(channel, plate)))
    assert len(hollows(pair.walls)) == 1
    assert Polygon(pair.cells[0].ring).area * 1e6 == pytest.approx(36 * 52, rel=1e-12)
    check(pair)


def test_filled_emptied_and_unknown_cell() -> None:
    tube = shapes.rectangular_tube(ALUMINIUM, 0.08, 0.06, 0.003)
    full = filled(tube, {"inside": Fill(material=STEEL)})
    assert area_of(full) == pytest.approx(0.08 * 0.06, rel=1e-12)
    assert emptied(full) == tube
    with pytest.raises(OutlineError, match=r'no cell "outside"'):
        filled(tube, {"outside": None})


def test_regions_cover_the_cell_once() -> None:
    tube = shapes.rectangular_tube(ALUMINIUM, 0.08, 0.06, 0.003)
    bar = Insert(
        name="bar",
        ring=tuple(box(-0.03, -0.02, -0.01, 0.02)),
        material=STEEL,
        bore=tuple(box(-0.025, -0.01, -0.015, 0.01)),
    )
    full = filled(
        tube, {"inside": Fill(material=STEEL, bores=(tuple(box(0, -0.02, 0.02, 0.02)),), inserts=(bar,))}
    )
    check(full)
    by_part = {region.part: region.polygon.area * 1e6 for region in regions(full)}
    assert by_part["wall wall"] == pytest.approx(80 * 60 - 74 * 54)
    assert by_part["insert bar"] == pytest.approx(20 * 40 - 10 * 20)
    assert by_part["fill inside"] == pytest.approx(74 * 54 - 20 * 40 - 20 * 40)


def test_motion_changes_place_and_nothing_else() -> None:
    made = shapes.tapered_channel(STEEL, 0.2, 0.075, 0.0085, 0.0115, 0.0115, 0.006)
    area, x, y, ix, iy = central(made)
    there = central(turned(moved(made, (0.3, -0.1)), math.pi / 2))
    assert there == pytest.approx((area, 0.1 - y, 0.3 + x, iy, ix), rel=1e-9)
    tube = filled(shapes.rectangular_tube(STEEL, 0.08, 0.06, 0.003), {"inside": Fill(material=ALUMINIUM)})
    check(turned(moved(tube, (1.0, 2.0)), 0.3))


def test_a_million_points_are_refused_early() -> None:
    t = np.linspace(0, 2 * np.pi, 1_000_000, endpoint=False)
    ring = np.column_stack([np.cos(t), np.sin(t)]).tolist()
    with pytest.raises(LimitError, match="1,000,000 points"):
        from_midline("circle", STEEL, ring, 0.01, closed=True)
    with pytest.raises(LimitError, match="1,000,000 points"):
        check(from_rings("circle", STEEL, ring))


def test_cells_keep_their_own_names() -> None:
    tube = shapes.rectangular_tube(ALUMINIUM, 0.08, 0.06, 0.003)
    assert with_cells(tube) == tube
    bare = Outline(name="bare", walls=tube.walls)
    assert with_cells(bare).cells == (Cell(name="cell 1", ring=tube.cells[0].ring),)
