"""Figures: what they show is what was computed, every axis has a quantity and a unit, labels keep apart."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace

import numpy as np
import pytest
from colours import DICHROMACY, lab, linear
from machines import small_mill, tube_machine
from matplotlib.collections import PathCollection
from matplotlib.colors import to_rgb
from matplotlib.patches import PathPatch, Rectangle
from shapely.geometry import LineString

from strongback import read
from strongback.machine.budget import Budget, BudgetRow, budget
from strongback.machine.loop import assemble
from strongback.machine.part.make import parts_of
from strongback.machine.solve import solve
from strongback.machine.values import Block
from strongback.materials import material
from strongback.project import demo_folder
from strongback.section.outline import filled, from_rings
from strongback.section.shapes import rectangular_tube
from strongback.section.values import Fill, stiffness_from_constants
from strongback.views import style
from strongback.views.budget_plot import budget_figure
from strongback.views.camera import Camera
from strongback.views.machine_plot import machine_figure
from strongback.views.section_plot import principal_axes, profile_figure
from strongback.views.shape import magnification, moved_points
from strongback.views.solids import end_faces, prisms

WIDTHS = (80.0, 160.0)


@pytest.fixture(scope="module")
def loop():
    machine = small_mill()
    return assemble(machine, parts_of(machine))


def texts(figure):
    """All visible texts of a figure with their boxes in pixels."""
    style.png(figure)
    found = list(figure.texts)
    for axes in figure.axes:
        found += axes.texts
    return [(t.get_text(), t.get_window_extent()) for t in found if t.get_text().strip()]


def apart(boxes):
    for i, (a, one) in enumerate(boxes):
        for b, other in boxes[i + 1 :]:
            across = min(one.x1, other.x1) - max(one.x0, other.x0)
            along = min(one.y1, other.y1) - max(one.y0, other.y0)
            assert across <= 1.0 or along <= 1.0, f"{a!r} and {b!r} collide"


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("k", range(3))
def test_labels_of_the_machine_keep_apart_and_on_the_page(loop, k, width):
    figure = machine_figure(loop, solve(loop, loop.machine.pulls[k]), width_mm=width)
    boxes = texts(figure)
    apart(boxes)
    for text, box in boxes:
        assert box.x0 >= 0.0, text
        assert box.x1 <= figure.bbox.x1 + 0.5, text
        assert box.y0 >= 0.0, text
        assert box.y1 <= figure.bbox.y1 + 0.5, text


def test_gauges_are_labelled_with_their_readings(loop):
    deflection = solve(loop, loop.machine.pulls[0])
    said = " ".join(text for text, _ in texts(machine_figure(loop, deflection)))
    for name, reading in deflection.gauges:
        assert name in said
        assert f"{reading * 1e6:+.1f} µm" in said
    factor = magnification(loop.machine, deflection)
    assert f"motion drawn × {factor:,.0f}" in said
    assert "100 N" in said


def test_a_machine_with_many_gauges_keeps_its_labels_apart(loop):
    gauges = tuple(replace(loop.machine.gauges[0], name=f"gauge number {i}") for i in range(14))
    machine = replace(loop.machine, gauges=gauges)
    crowded = assemble(machine, parts_of(machine))
    apart(texts(machine_figure(crowded, solve(crowded, machine.pulls[0]))))


def test_solids_move_as_the_sections_that_carry_them(loop):
    """A cantilever's end face: the drawn corner moves by u + r x arm."""
    deflection = solve(loop, loop.machine.pulls[0])
    motions = {m.part: m for m in deflection.parts}
    for skin in prisms(loop, deflection):
        motion = motions[skin.part]
        arm = skin.points[-1, 0] - motion.points[-1]
        expected = motion.displacement[-1] + np.cross(motion.rotation[-1], arm)
        assert skin.displacement[-1, 0] == pytest.approx(expected, rel=1e-12)


@pytest.fixture(scope="module")
def tubes():
    """Two welded tubes, one of them filled."""
    machine = tube_machine()
    made = assemble(machine, parts_of(machine))
    return made, solve(made, machine.pulls[0])


def painted(figure):
    """Paths of the faces that are drawn, with their colours."""
    (faces,) = [c for c in figure.axes[0].collections if isinstance(c, PathCollection)]
    return list(zip(faces.get_paths(), faces.get_facecolors(), strict=True))


def rings_of(path):
    return path.to_polygons(closed_only=True)


def test_every_wall_of_a_section_is_drawn(tubes):
    """Both tubes span 120 mm but for their motion (some mm as drawn), and each end face has its hollow."""
    figure = machine_figure(*tubes, camera=Camera(turn=0.0, tilt=np.pi / 2 - 1e-6))
    ends = [path for path, _ in painted(figure) if len(rings_of(path)) == 2]
    outer = sorted(float(np.ptp(rings_of(path)[0][:, 0])) for path in ends)
    assert outer[-2:] == pytest.approx([60.0, 60.0], abs=4.0)
    x = np.concatenate([rings_of(path)[0][:, 0] for path in ends])
    assert np.ptp(x) == pytest.approx(120.0, abs=8.0)


def test_a_hollow_looks_dark_and_a_fill_has_its_colour(tubes):
    """From above: behind the end face of the empty tube lies something darker than any face; the fill stands out."""
    figure = machine_figure(*tubes, camera=Camera(turn=0.0, tilt=np.pi / 2 - 1e-6))
    looks = painted(figure)
    fill = to_rgb(style.shade(style.ROLES["fill"], 0.25))
    assert any(colour[:3] == pytest.approx(fill) for _, colour in looks)
    lids = [k for k, (path, _) in enumerate(looks) if len(rings_of(path)) == 2]
    behind = [sum(looks[k - 1][1][:3]) for k in lids if len(rings_of(looks[k - 1][0])) == 1]
    assert min(behind) < 0.6 * min(sum(looks[k][1][:3]) for k in lids)
    assert "fill" in [text.get_text() for text in figure.legends[0].get_texts()]


def test_no_face_that_looks_away_is_drawn(tubes):
    """From above no underside: the lids are drawn once for each region."""
    figure = machine_figure(*tubes, camera=Camera(turn=0.0, tilt=np.pi / 2 - 1e-6))
    lids = [path for path, _ in painted(figure) if len(rings_of(path)) == 2]
    assert len(lids) == 3  # two walls, the fill around its rod


def test_a_point_of_a_block_moves_with_it(loop):
    deflection = solve(loop, loop.machine.pulls[0])
    bed = next(m for m in deflection.parts if m.part == "bed")
    point = np.array([[0.1, 0.2, 0.0]])
    expected = bed.displacement[0] + np.cross(bed.rotation[0], point[0] - bed.points[0])
    assert moved_points(bed, point)[0] == pytest.approx(expected, rel=1e-12)


def test_magnification_is_round_and_shows_the_motion(loop):
    deflection = solve(loop, loop.machine.pulls[0])
    factor = magnification(loop.machine, deflection)
    assert f"{factor:e}"[0] in "125"
    largest = max(np.abs(m.displacement).max() for m in deflection.parts)
    assert 0.02 < factor * largest < 0.12  # of a machine about half a metre tall


def test_a_section_given_by_stiffness_is_drawn_with_its_radii_of_gyration():
    bar = stiffness_from_constants(name="bar", EA=12.0, EIx=4.0, EIy=1.0, GJ=1.0, kGAx=1.0, kGAy=1.0)
    (ring,) = end_faces(bar)[0].rings
    b, h = np.ptp(ring, axis=0)
    assert b**2 / 12.0 == pytest.approx(1.0 / 12.0)  # EIy / EA
    assert h**2 / 12.0 == pytest.approx(4.0 / 12.0)  # EIx / EA


@pytest.mark.parametrize("width", WIDTHS)
def test_bars_of_the_budget_add_to_the_deflection(loop, width):
    machine = loop.machine
    budgets = [budget(loop, pull) for pull in machine.pulls]
    figure = budget_figure(machine, budgets, width_mm=width)
    forces, couples = figure.axes
    assert "µm/N" in forces.get_xlabel()
    assert "µm/(N m)" in couples.get_xlabel()
    for axes, group in ((forces, budgets[:2]), (couples, budgets[2:])):
        for k, one in enumerate(group):
            bars = [p for p in axes.patches if isinstance(p, Rectangle) and abs(p.get_y() + 0.31 - k) < 1e-6]
            drawn = sum(bar.get_width() for bar in bars)
            assert drawn == pytest.approx(one.total / one.force * 1e6, rel=0.01)
    assert [t.get_text() for t in forces.get_yticklabels()] == ["sideways", "jack"]


@pytest.mark.parametrize("width", WIDTHS)
def test_texts_of_the_budget_keep_apart(loop, width):
    budgets = [budget(loop, pull) for pull in loop.machine.pulls]
    apart(texts(budget_figure(loop.machine, budgets, width_mm=width)))


def pieces_of(figure):
    """Bars of a budget from left to right: (part, face colour, pattern) of every piece, row by row."""
    rows = {}
    for axes in figure.axes:
        for patch in axes.patches:
            if isinstance(patch, Rectangle) and patch.get_gid():
                rows.setdefault((id(axes), patch.get_y()), []).append(patch)
    return [
        [
            (str(p.get_gid()).split("|")[0], p.get_facecolor(), p.get_hatch() or "")
            for p in sorted(row, key=lambda p: p.get_x() + 0.5 * p.get_width())
        ]
        for row in rows.values()
    ]


@pytest.fixture(scope="module")
def demo_budgets():
    machine = read(demo_folder()).machine
    made = assemble(machine, parts_of(machine))
    return machine, [budget(made, pull) for pull in machine.pulls]


@pytest.mark.parametrize("kind", [None, "deuteranopia", "protanopia"])
def test_neighbours_of_a_bar_differ_for_every_eye(demo_budgets, kind):
    """CIE 1976 difference of at least 20 between the pieces of different parts that touch, colour for colour."""
    matrix = np.eye(3) if kind is None else np.array(DICHROMACY[kind])
    bars = pieces_of(budget_figure(*demo_budgets))
    pairs = [(a, b) for bar in bars for a, b in itertools.pairwise(bar) if a[0] != b[0]]
    assert len(pairs) > 20
    for (one, colour, _), (other, beside, _) in pairs:
        far = np.linalg.norm(lab(matrix @ linear(colour[:3])) - lab(matrix @ linear(beside[:3])))
        assert far >= 20.0, f"{one} beside {other}"


def test_no_two_joints_look_alike(demo_budgets):
    machine, budgets = demo_budgets
    bars = pieces_of(budget_figure(machine, budgets))
    joints = {holder.name for _, holder in machine.holders()}
    looks = {}
    for part, colour, hatch in (piece for bar in bars for piece in bar if piece[0] in joints):
        assert looks.setdefault(part, (colour, hatch)) == (colour, hatch)
    assert len(looks) >= 4
    assert len(set(looks.values())) == len(looks)


@pytest.mark.parametrize("width", WIDTHS)
def test_every_entry_of_the_legend_has_a_bar_and_every_bar_an_entry(demo_budgets, width):
    figure = budget_figure(*demo_budgets, width_mm=width)
    named = {text.get_text() for text in figure.legends[0].get_texts()}
    drawn = {part for bar in pieces_of(figure) for part, _, _ in bar}
    assert named == drawn
    style.png(figure)
    widest: dict[str, float] = {}
    for axes in figure.axes:
        for patch in axes.patches:
            if isinstance(patch, Rectangle) and patch.get_gid():
                part = str(patch.get_gid()).split("|")[0]
                widest[part] = max(widest.get(part, 0.0), patch.get_window_extent().width)
    for part, pixels in widest.items():
        assert pixels > 1.0, part


def test_many_small_parts_are_gathered_and_not_lost():
    """Forty equal parts and one whose nine pieces are each too small: the bar has the length of the deflection."""
    rows = [
        BudgetRow(part=f"p{i}", kind="member", mechanism="bending", contribution=1.0, share=0.0)
        for i in range(40)
    ]
    rows += [
        BudgetRow(part="q", kind="member", mechanism=f"m{i}", contribution=5e-2, share=0.0) for i in range(9)
    ]
    whole = sum(row.contribution for row in rows)
    rows = [replace(row, share=row.contribution / whole) for row in rows]
    machine = small_mill()
    machine = replace(
        machine, blocks=tuple(Block(name=r, at=(0.0, 0.0, 0.0)) for r in {row.part for row in rows})
    )
    one = Budget(pull="sideways", force=1.0, direction=(1.0, 0.0, 0.0), total=whole, rows=tuple(rows))
    figure = budget_figure(machine, [one])
    widths = [p.get_width() for p in figure.axes[0].patches if isinstance(p, Rectangle) and p.get_gid()]
    assert sum(widths) == pytest.approx(whole * 1e6, rel=1e-9)


def test_the_interval_is_drawn_where_it_is(demo_budgets):
    machine, budgets = demo_budgets
    spans = {budgets[0].pull: (1e-4, 3e-4)}
    figure = budget_figure(machine, budgets, intervals=spans)
    (whisker,) = [line for line in figure.axes[0].lines if line.get_marker() == "|"]
    assert whisker.get_xdata() == pytest.approx(np.array([1e-4, 3e-4]) / budgets[0].force * 1e6)
    assert "95 % interval" in {text.get_text() for text in figure.legends[0].get_texts()}


def strange_mill():
    """The small mill with names that say nothing and no gauges."""
    names = {"column": "part A", "arm": "part B", "bed": "part C"}

    def named(value, **fields):
        return replace(value, **{k: names.get(v, v) if isinstance(v, str) else v for k, v in fields.items()})

    m = small_mill()
    return replace(
        m,
        members=tuple(named(x, name=x.name) for x in m.members),
        blocks=tuple(named(x, name=x.name) for x in m.blocks),
        joints=tuple(replace(j, parts=tuple(names[p] for p in j.parts)) for j in m.joints),
        supports=tuple(named(s, part=s.part) for s in m.supports),
        pulls=tuple(named(p, part=p.part, against=p.against) for p in m.pulls),
        tool=named(m.tool, part=m.tool.part),
        work=named(m.work, part=m.work.part),
        gauges=(),
        pads=(),
        travels=(),
    )


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("turn", [0.0, 0.6, 1.5])
def test_a_figure_without_gauges_keeps_its_labels_on_the_page(width, turn):
    machine = strange_mill()
    made = assemble(machine, parts_of(machine))
    figure = machine_figure(made, solve(made, machine.pulls[0]), width_mm=width, camera=Camera(turn=turn))
    boxes = texts(figure)
    apart(boxes)
    assert {"X", "Y", "Z", "operator"} <= {text for text, _ in boxes}
    for text, box in boxes:
        assert box.x0 >= 0.0, text
        assert box.x1 <= figure.bbox.x1 + 0.5, text
        assert box.y0 >= 0.0, text
        assert box.y1 <= figure.bbox.y1 + 0.5, text


def test_leaders_do_not_cross(loop):
    figure = machine_figure(loop, solve(loop, loop.machine.pulls[0]), width_mm=80.0)
    leaders = [LineString(line.get_xydata()) for line in figure.axes[0].lines if line.get_linewidth() == 0.4]
    assert len(leaders) == len(loop.machine.gauges)
    for a, b in itertools.combinations(leaders, 2):
        assert not a.crosses(b)


def two_cells():
    outer = [(0, 0), (0.1, 0), (0.1, 0.08), (0, 0.08)]
    cells = {
        "left": [(0.004, 0.004), (0.048, 0.004), (0.048, 0.076), (0.004, 0.076)],
        "right": [(0.052, 0.004), (0.096, 0.004), (0.096, 0.076), (0.052, 0.076)],
    }
    outline = from_rings("two cells", material("aluminium"), outer, cells)
    return filled(outline, {"left": Fill(material=material("epoxy mineral"))})


@pytest.mark.parametrize("width", WIDTHS)
def test_profile_names_cells_and_labels_axes(width):
    figure = profile_figure(two_cells(), width_mm=width)
    (axes,) = figure.axes
    for label in (axes.get_xlabel(), axes.get_ylabel()):
        assert re.search(r"\[mm\]$", label)
    assert {"left", "right"} <= {text for text, _ in texts(figure)}
    apart(texts(figure))


def test_an_empty_cell_is_left_white():
    """The paths of the walls run around their holes the other way; what is drawn has the area of the wall."""
    tube = rectangular_tube(material("steel"), 0.04, 0.06, 0.002)
    figure = profile_figure(tube)
    (patch,) = [p for p in figure.axes[0].patches if isinstance(p, PathPatch)]
    area = sum(
        0.5 * np.sum(ring[:-1, 0] * ring[1:, 1] - ring[1:, 0] * ring[:-1, 1])
        for ring in patch.get_path().to_polygons(closed_only=True)
    )
    assert abs(area) == pytest.approx(40 * 60 - 36 * 56, rel=1e-6)


def test_marks_stand_at_centroid_and_shear_centre():
    section = stiffness_from_constants(
        name="c",
        EA=1e8,
        EIx=2e5,
        EIy=1e5,
        GJ=1e5,
        kGAx=1e7,
        kGAy=1e7,
        centroid=(0.05, 0.04),
        shear_centre=(0.03, 0.04),
    )
    axes = profile_figure(two_cells(), section).axes[0]
    points = {
        line.get_marker(): line.get_xydata()[0]
        for line in axes.lines
        if line.get_marker() not in ("None", None, "")
    }
    assert points["o"] == pytest.approx([50.0, 40.0])
    assert points["X"] == pytest.approx([30.0, 40.0])


def test_principal_axes_diagonalise_bending():
    """Angle 30.0 deg with 30 x 90: tan 2a = 2 EIxy / (EIy - EIx), Gere, Mechanics of Materials, appendix on areas."""
    a = np.deg2rad(30.0)
    I1, I2 = 90.0, 30.0
    Ix = (I1 + I2) / 2 + (I1 - I2) / 2 * np.cos(2 * a)
    Iy = (I1 + I2) / 2 - (I1 - I2) / 2 * np.cos(2 * a)
    Ixy = -(I1 - I2) / 2 * np.sin(2 * a)
    bar = stiffness_from_constants(name="b", EA=1.0, EIx=Ix, EIy=Iy, EIxy=Ixy, GJ=1.0, kGAx=1.0, kGAy=1.0)
    values, axes = principal_axes(bar)
    assert values == pytest.approx([90.0, 30.0])
    assert abs(axes[0] @ [np.cos(a), np.sin(a)]) == pytest.approx(1.0)
