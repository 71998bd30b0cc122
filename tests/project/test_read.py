"""What a project file says arrives as values in SI; geometry is compared with closed forms."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from strongback import units
from strongback.errors import ProjectError
from strongback.machine.values import FREE, RIGID
from strongback.materials import material
from strongback.project import read, read_text
from strongback.project.quantities import _pieces
from strongback.section.outline import area_of
from strongback.section.values import Outline, SectionStiffness

HERE = Path(__file__).parent
GOOD = (HERE / "good.toml").read_text(encoding="utf-8")
ARM = 'shape = "rectangle"\nwidth = "60 mm"\ndepth = "80 mm"'


def machine(*changes, text=GOOD, folder=HERE):
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return read_text(text, folder / "project.toml").machine


def arm(*lines, folder=HERE):
    """The section of the arm, written in other lines."""
    return dict(machine((ARM, "\n".join(lines)), folder=folder).sections)["arm"]


def fault(*changes):
    with pytest.raises(ProjectError) as caught:
        machine(*changes)
    return str(caught.value)


def test_lengths_forces_and_directions_arrive_in_si():
    made = machine()
    assert made.members[0].end == (0.0, 0.0, 0.42)
    assert made.pulls[0].force == (100.0, 0.0, 0.0)
    assert made.gauges[0].direction == (1.0, 0.0, 0.0)
    assert made.joints[0].stiffness == (150e6, 150e6, 150e6, 2e5, 2e5, 2e5)
    assert made.supports[0].stiffness == (RIGID, RIGID, RIGID, 3e5, 3e5, 3e5)
    assert made.supports[0].low[3:] == (1e5, 1e5, 1e5)
    assert made.supports[0].high == (RIGID, RIGID, RIGID, 9e5, 9e5, 9e5)
    assert made.tool.at == (0.0, 0.24, 0.25)


@pytest.mark.parametrize(
    "written",
    ['"0, 0, 16.5354330709 in"', '["0 m", "0 mm", "42 cm"]', '"0 mm, 0 mm, 420 mm"', '"0,0,420mm"'],
)
def test_a_point_in_other_words_is_the_same_point(written):
    made = machine(('end = "0, 0, 420 mm"', f"end = {written}"))
    assert made.members[0].end == pytest.approx((0.0, 0.0, 0.42), abs=1e-12)


def test_a_unit_for_all_lengths_of_a_table():
    made = machine(
        (
            'start = "0, 60, 380 mm"\nend = "0, 240, 380 mm"',
            'unit = "cm"\nstart = [0, 6, 38]\nend = [0, 24, 38]',
        )
    )
    assert made.members[1].start == (0.0, 0.06, 0.38)


def test_a_force_as_three_numbers_and_a_couple():
    made = machine(
        (
            'force = "100 N"\ndirection = "+x"',
            'force = "10, -20, 0.03 kN"\ncouple = "5 N*m"\ndirection = "-z"',
        )
    )
    assert made.pulls[0].force == (1e4, -2e4, 30.0)
    assert made.pulls[0].couple == (0.0, 0.0, -5.0)


def test_a_slanting_direction_is_of_length_one():
    made = machine(('direction = "+x"\nreference', "direction = [3, 0, 4]\nreference"))
    assert made.gauges[0].direction == pytest.approx((0.6, 0.0, 0.8), abs=1e-15)


def test_spans_and_the_rest():
    made = machine(
        (
            'section = "column"\nstart',
            'span = [{ section = "arm", length = "rest" }, { section = "column", length = "120 mm" }]\nstart',
        )
    )
    assert [(s.section, pytest.approx(s.length, abs=1e-15)) for s in made.members[0].spans] == [
        ("arm", 0.3),
        ("column", 0.12),
    ]


def test_components_of_their_own_before_those_for_all():
    made = machine(
        (
            'along = "150 N/um"',
            'along_x = "free"\nalong_z = "rigid"\nalong = { low = "100 N/um", high = "400 N/um" }',
        )
    )
    joint = made.joints[0]
    assert joint.stiffness[:3] == (FREE, pytest.approx(200e6), RIGID)  # the geometric middle of 100 and 400
    assert (joint.low[1], joint.high[1]) == (100e6, 400e6)


def test_axes_of_a_joint_are_right_handed():
    made = machine(('along = "150 N/um"', 'x_axis = "+y"\ny_axis = [0, 0, 2]\nalong = "150 N/um"'))
    assert made.joints[0].axes == ((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))


def test_own_material_stands_before_that_of_the_package():
    row = '[[material]]\nname = "steel"\nE = "200 GPa"\nnu = 0.28\ndensity = "7.9 g/cm^3"\nsource = "certificate"\n\n'
    project = read_text(GOOD.replace("[tool]", row + "[tool]"), HERE / "project.toml")
    assert project.materials["steel"].E == 200e9
    assert project.materials["steel"].density == pytest.approx(7900.0)
    assert project.materials["aluminium"] == material("aluminium")


def test_state_travel_mass_pad_block():
    more = """
[state]
gibs = "locked"
[[block]]
name = "table"
at = "0, 0, 0 mm"
[[mass]]
name = "motor"
part = "head arm"
at = "0, 200, 450 mm"
mass = "4.2 kg"
inertia = "0.02, 0.02, 0.01 kg*m^2"
[[pad]]
name = "front"
part = "column"
at = "40, 120, 380 mm"
normal = "+y"
size = "60, 80 mm"
stiffness = "1000 N/mm^3"
[[travel]]
name = "height"
parts = ["head arm"]
direction = "+z"
low = "-100 mm"
high = "3 in"
stays = ["head"]
[[joint]]
name = "table joint"
parts = ["column", "table"]
at = "0, 0, 0 mm"
along = "rigid"
about = "rigid"
"""
    made = machine(text=GOOD + more)
    assert made.state == (("gibs", "locked"),)
    assert made.blocks[0].name == "table"
    assert (made.masses[0].mass, made.masses[0].inertia) == (4.2, (0.02, 0.02, 0.01))
    assert (made.pads[0].stiffness, made.pads[0].size) == (1e12, (0.06, 0.08))
    assert made.travels[0].high == pytest.approx(0.0762)
    assert made.travels[0].stays == ("head",)


def test_member_words():
    made = machine(
        (
            'x_axis = "+x"\n\n[[member]]',
            'x_axis = "+x"\nwarping = ["held", "free"]\nmodel = "body"\n'
            "factor = { wall = 0.8, bending = 1 }\n\n[[member]]",
        )
    )
    member = made.members[0]
    assert (member.ends, member.model, member.factors) == (("held", "free"), "body", (("wall", 0.8),))


# ---- sections ----


def test_an_outline_of_points_with_a_cell():
    column = dict(machine().sections)["column"]
    assert area_of(column) == pytest.approx(80e-3 * 120e-3 - 72e-3 * 112e-3, rel=1e-12)
    assert [cell.name for cell in column.cells] == ["inside"]


def test_rounded_corners_take_away_four_minus_pi():
    section = arm('unit = "mm"', "points = [[0, 0], [60, 0, 10], [60, 80], [0, 80, 0]]", "radius = 5")
    lost = (
        (4 - math.pi) / 4 * (100 + 3 * 25)
    )  # closed form, mm²; the last corner asks for 0 and gets the common radius
    assert area_of(section) * 1e6 == pytest.approx(4800 - lost, abs=0.02)


def test_closed_midline_is_length_times_thickness():
    section = arm(
        'unit = "mm"', "midline = [[0, 0], [56, 0], [56, 76], [0, 76]]", "closed = true", "thickness = 4"
    )
    assert area_of(section) * 1e6 == pytest.approx(2 * (56 + 76) * 4, rel=1e-9)
    assert section.cells[0].name == "inside"


def test_open_midline_of_a_channel():
    section = arm('unit = "mm"', "midline = [[40, 0], [0, 0], [0, 80], [40, 80]]", 'thickness = "5 mm"')
    assert area_of(section) * 1e6 == pytest.approx(5 * (40 + 80 + 40), rel=1e-9)
    assert section.cells == ()


@pytest.mark.parametrize(
    ("lines", "area"),
    [
        (['shape = "circle"', 'diameter = "50 mm"'], math.pi / 4 * 50**2),
        (['shape = "round tube"', 'diameter = "50 mm"', 'thickness = "5 mm"'], math.pi / 4 * (50**2 - 40**2)),
        (
            ['shape = "rectangular tube"', 'width = "60 mm"', 'depth = "80 mm"', 'thickness = "5 mm"'],
            60 * 80 - 50 * 70,
        ),
    ],
)
def test_plain_shapes_have_their_areas(lines, area):
    assert area_of(arm(*lines)) * 1e6 == pytest.approx(area, rel=1e-9)


def test_known_stiffness():
    section = arm(
        "[section.stiffness]",
        'EA = "1e8 N"',
        'EIx = "2e4 N*m^2"',
        'EIy = "1e4 N*m^2"',
        'GJ = "5e3 N*m^2"',
        'kGAx = "1e7 N"',
        'kGAy = "1.2e7 N"',
        'unit = "mm"',
        "centroid = [1, 2]",
        'mass_per_length = "4 kg/m"',
    )
    assert isinstance(section, SectionStiffness)
    assert (section.EIx, section.kGAy, section.centroid, section.mass_per_length) == (
        2e4,
        1.2e7,
        (1e-3, 2e-3),
        4.0,
    )


FILL = '[[section.cell]]\nname = "inside"\nfill = "epoxy mineral"'


def filled(*lines):
    text = GOOD.replace(
        "[[member]]", '[[section]]\nname = "more"\nlike = "column"\n' + "\n".join(lines) + "\n\n[[member]]", 1
    )
    return dict(machine(text=text).sections)["more"]


def test_like_keeps_the_walls_and_fills_the_cell():
    section = filled(FILL)
    assert isinstance(section, Outline)
    assert section.cells[0].fill.material == material("epoxy mineral")
    assert section.cells[0].fill.bond == "bonded"
    assert area_of(section) == pytest.approx(80e-3 * 120e-3)


@pytest.mark.parametrize(("word", "bond"), [('"sliding"', "sliding"), ('"5 N/mm^3"', 5e9)])
def test_bonds(word, bond):
    assert filled(FILL, f"bond = {word}").cells[0].fill.bond == bond


def test_bores_and_inserts():
    section = filled(
        FILL,
        '[[section.cell.bore]]\nat = "20, 60 mm"\ndiameter = "20 mm"',
        '[[section.cell.insert]]\nname = "bar"\nmaterial = "steel"\nat = "55, 60 mm"\ndiameter = "25 mm"\nbore = "15 mm"',
        '[[section.cell.insert]]\nname = "flat"\nmaterial = "steel"\nunit = "mm"',
        "points = [[10, 10], [60, 10], [60, 20], [10, 20]]",
    )
    fill = section.cells[0].fill
    assert [insert.name for insert in fill.inserts] == ["bar", "flat"]
    assert area_of(section) * 1e6 == pytest.approx(9600 - math.pi / 4 * (20**2 + 15**2), rel=1e-6)


WALLS = """unit = "mm"
[[section.wall]]
name = "channel"
material = "aluminium"
points = [[0, 0], [60, 0], [60, 40], [55, 40], [55, 5], [5, 5], [5, 40], [0, 40]]
[[section.wall]]
name = "cover"
material = "steel"
points = [[0, 40], [5, 40], [55, 40], [60, 40], [60, 44], [0, 44]]
[[section.cell]]
name = "between"
points = [[5, 5], [55, 5], [55, 40], [5, 40]]
"""


def test_walls_of_two_materials_that_share_an_edge():
    section = arm(WALLS)
    assert [wall.material.name for wall in section.walls] == ["aluminium", "steel"]
    assert section.walls[0].holes == ()  # the cell lies between the walls
    assert section.cells[0].name == "between"


def test_a_cell_inside_one_of_two_walls_is_its_hole():
    more = '[[section.wall]]\nname = "bar"\nmaterial = "steel"\npoints = [[0, 44], [60, 44], [60, 84], [0, 84]]\n'
    more += '[[section.cell]]\nname = "bore"\npoints = [[20, 54], [40, 54], [40, 74], [20, 74]]'
    section = arm(WALLS.replace("[[section.cell]]", more + "\n[[section.cell]]"))
    assert [len(wall.holes) for wall in section.walls] == [0, 0, 1]


def test_origin_at_the_centroid_weighted_by_stiffness():
    section = arm('origin = "centroid"', WALLS)
    pieces = [(w.material.E, np.array(w.ring)) for w in section.walls]
    moment = sum(E * polygon_moment(ring) for E, ring in pieces)
    assert moment == pytest.approx(np.zeros(2), abs=1e-3)  # N m, out of some 1e7 about a corner


def polygon_moment(ring):
    """Area times centroid of a polygon by the shoelace formula."""
    x, y = ring.T
    x2, y2 = np.roll(ring, -1, axis=0).T
    cross = x * y2 - x2 * y
    return np.array([((x + x2) * cross).sum(), ((y + y2) * cross).sum()]) / 6.0 * np.sign(cross.sum())


def test_origin_at_a_point():
    moved = arm("origin = [10, 20]", 'unit = "mm"', "points = [[10, 20], [70, 20], [70, 100], [10, 100]]")
    assert moved.walls[0].ring[0] == pytest.approx((0.0, 0.0), abs=1e-15)


def test_a_table_of_rings_from_a_spreadsheet(tmp_path):
    rows = "\ufeffring;x [mm];y [mm];radius [mm]\r\nouter;0,0;0;0\r\n;60;0;0\r\n;60;80,0;\r\n;0;80\r\n"
    rows += "inside;5;5\r\n;55;5\r\n;55;75\r\n;5;75\r\n"
    (tmp_path / "arm.csv").write_bytes(rows.encode())
    section = arm('file = "arm.csv"', folder=tmp_path)
    assert area_of(section) * 1e6 == pytest.approx(60 * 80 - 50 * 70, rel=1e-12)


def test_a_radius_for_corners_of_a_table_without_their_own(tmp_path):
    (tmp_path / "arm.csv").write_text(
        "ring,x,y,radius\nouter,0,0,\nouter,60,0,10\nouter,60,80,\nouter,0,80,\n"
    )
    section = arm('file = "arm.csv"', 'unit = "mm"', 'radius = "5 mm"', folder=tmp_path)
    lost = (4 - math.pi) / 4 * (100 + 3 * 25)  # closed form, mm²
    assert area_of(section) * 1e6 == pytest.approx(4800 - lost, abs=0.02)


def test_rings_as_walls(tmp_path):
    rows = (
        "x,y,ring\n0,0,bar\n40,0,bar\n40,40,bar\n0,40,bar\n40,0,plate\n50,0,plate\n50,40,plate\n40,40,plate\n"
    )
    rows += "10,10,bore\n20,10,bore\n20,20,bore\n"
    (tmp_path / "arm.csv").write_text(rows)
    lines = 'file = "arm.csv"\nunit = "mm"\n[[section.wall]]\nname = "a"\nring = "bar"\n'
    lines += '[[section.wall]]\nname = "b"\nring = "plate"\nmaterial = "aluminium"'
    section = arm(lines, folder=tmp_path)
    assert [len(w.holes) for w in section.walls] == [1, 0]
    assert [w.material.name for w in section.walls] == [
        "grey iron GJL-250",
        "aluminium",
    ]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ((ARM, 'like = "column"\norigin = "centre"'), 'must be "drawing", "centroid" or a point'),
        ((ARM, 'unit = "mm"\nmidline = [[0, 0], [10, 10]]'), "thickness is missing"),
        (
            (
                ARM,
                'unit = "mm"\nthickness = 2\nclosed = true\nmidline = [[0, 0], [40, 40], [40, 0], [0, 40]]',
            ),
            "crosses itself",
        ),
        (
            (ARM, 'unit = "mm"\nthickness = 2\nmidline = [[0, 0], [40, 40], [40, 0], [0, 40]]'),
            "overlaps itself",
        ),
        (
            (
                ARM,
                'unit = "mm"\nthickness = 50\nclosed = true\nradius = 3\nmidline = [[0, 0], [40, 0], [40, 40], [0, 40]]',
            ),
            "section",
        ),
        ((ARM, 'shape = "circle"\ndiameter = "30 m"'), "must be at most 20 m"),
        (
            (
                ARM,
                ARM + '\n[[section.cell]]\nname = "a"\nunit = "mm"\npoints = [[1, 1], [2, 1], [2, 2]]\n'
                '[[section.cell]]\nname = "a"',
            ),
            "is there twice",
        ),
        (
            (
                ARM,
                'shape = "rectangular tube"\nthickness = "5 mm"\n'
                + ARM.split("\n", 1)[1]
                + '\n[[section.cell]]\nname = "inside"\nunit = "mm"\npoints = [[0, 0], [1, 0], [1, 1]]',
            ),
            'has a cell "inside" already',
        ),
        (
            ('name = "inside"', 'name = "inside"\nfill = "epoxy"\nbore = [{ at = "40, 60 mm" }]'),
            "give at and diameter, or points",
        ),
        (
            (
                'name = "inside"',
                'name = "inside"\nfill = "epoxy"\nbore = [{ at = "40, 60 mm", points = [[1, 1], [2, 1], [2, 2]] }]',
            ),
            "points give its shape",
        ),
        (
            (
                "[76, 116], [4, 116]]",
                '[76, 116], [4, 116]]\nfill = "epoxy"\n[[section.cell.insert]]\nname = "a"\nmaterial = "steel"\n'
                'at = "40, 60 mm"\ndiameter = "9 mm"\nbore = "9 mm"',
            ),
            "must be smaller than the diameter",
        ),
        ((ARM, '[[section.wall]]\nname = "a"\nmaterial = "steel"'), "one of ring or points"),
        (('material = "grey iron GJL-250"\n', ""), "material is missing"),
        (
            ('along = "150 N/um"', 'along = { value = "rigid", low = "1 N/um" }'),
            "must have both low and high",
        ),
        (('along = "150 N/um"', "along = {}"), "must have a value, or low and high"),
        (('along = "150 N/um"', 'along = { value = "1 N/um", lo = "1 N/um" }'), 'did you mean "low"?'),
        (("[work]", "[[work]]"), "a single table is due"),
        (('"0, 0, 420 mm"', '"0, 0, 420 m"'), "must lie within 100 m"),
        (('"150 N/um"', '"1e20 N/um"'), "that a joint can have"),
        (('"100 N"', '"1e20 N"'), "that a person can apply"),
        (
            (
                "[tool]",
                '[[material]]\nname = "m"\nE = "70e9 GPa"\nnu = 0.3\ndensity = "1 kg/L"\nsource = "x"\n[tool]',
            ),
            "must be below 1e+13 Pa",
        ),
        (
            (
                "[tool]",
                '[[mass]]\nname = "m"\npart = "column"\nat = "0, 0, 0 mm"\nmass = "1 kg"\ninertia = "1, -1, 1 g*cm^2"\n'
                "[tool]",
            ),
            "must not be below 0",
        ),
        (
            (
                "[tool]",
                '[[travel]]\nname = "m"\nparts = ["column"]\ndirection = "+z"\nlow = "3 mm"\nhigh = "2 mm"\n[tool]',
            ),
            "must be above low",
        ),
        (
            (
                "[tool]",
                '[[travel]]\nname = "m"\nparts = ["column"]\ndirection = "+z"\nlow = "0 mm"\nhigh = "2 mm"\n'
                'stays = ["heat"]\n[tool]',
            ),
            "a joint of a part that moves",
        ),
        (
            (
                "[tool]",
                '[[pad]]\nname = "p"\npart = "colum"\nat = "0, 0, 0 mm"\nnormal = "+z"\nsize = "0, 9 mm"\n[tool]',
            ),
            "must be above 0",
        ),
        (("[tool]", "state = 3\n[tool]"), "unknown key"),
        (("[machine]", "state = 3\n[machine]"), "a single table is due"),
        (
            ('force = "100 N"\ndirection = "+x"', 'force = "1, 0, 0 N"\ndirection = "+x"'),
            "is of no use beside three numbers",
        ),
        (
            ('direction = "+x"\nreference', "direction = [0, 0, 0]\nreference"),
            "must be a direction of some length",
        ),
        (('name = "side"', f'name = "{"x" * 81}"'), "must have at most 80 characters"),
        (
            (
                'section = "column"\nstart',
                'span = [{ section = "arm", length = "rest" }, { section = "arm", length = "rest" }]\nstart',
            ),
            "a second time",
        ),
    ],
)
def test_faults_in_words(change, words):
    assert words in fault(change)


def test_a_size_reads_as_it_is_spoken():
    for written in ("120 x 100 mm", "120 mm x 100 mm", "120 × 100 mm", "120, 100 mm"):
        assert _pieces(written, 2)[1] == "100 mm"
        assert units.parse(_pieces(written, 2)[0], "length") == pytest.approx(0.12)


def test_a_decimal_comma_among_coordinates_is_named():
    text = fault(('at = "0, 240, 250 mm"', 'at = "0, 240,5, 250 mm"'))
    assert "write a decimal point, 240.5, not a decimal comma" in text


def test_all_faults_of_all_tables_come_at_once():
    text = fault(
        ("aluminium", "aluminum"),
        ('"60 mm"', '"60"'),
        ('"column", "head arm"', '"column", "head"'),
        ('"+x"\nreference', '"up"\nreference'),
    )
    assert [line.split(":")[1] for line in text.splitlines() if line.startswith("project.toml:")] == [
        "6",
        "18",
        "37",
        "68",
    ]


# ---- the project ----


def test_places_of_what_was_read():
    project = read(HERE / "good.toml")
    assert project.place_of("joint", "head", "along") == "good.toml:39"
    assert project.place_of("joint", "head") == "good.toml:35"
    assert project.place_of("joint", "foot") == ""
    assert repr(project) == "Project('bench mill': 2 members, 0 blocks, 1 joints, 1 pulls, 1 gauges)"
    assert (project.note, project.folder, project.text) == ("", HERE, GOOD)


def test_a_folder_stands_for_its_project_file(tmp_path):
    (tmp_path / "project.toml").write_text(GOOD)
    assert read(str(tmp_path)).path == tmp_path / "project.toml"


def test_a_path_that_is_none():
    with pytest.raises(ProjectError):
        read("a\0b")


def test_the_same_machine_in_inches_is_the_same_machine():
    inch = GOOD
    for mm in ("0, 60, 380", "0, 240, 380", "0, 0, 420", "0, 240, 250"):
        inch = inch.replace(
            f'"{mm} mm"', '"' + ", ".join(f"{float(v) / 25.4:.17g}" for v in mm.split(", ")) + ' in"'
        )
    assert inch != GOOD
    a, b = machine(), machine(text=inch)
    for one, other in zip(a.members, b.members, strict=True):
        assert one.end == pytest.approx(other.end, abs=1e-12)
