"""Shapes by size in the project file, against tables of standards and closed forms; strips; repair as a hint."""

from __future__ import annotations

import pytest

from strongback.errors import ProjectError
from strongback.project.read import read, read_sections
from strongback.section.analyse import analyse
from strongback.section.outline import area_of

HEAD = "format = 2\n\n"


def section(tmp_path, text: str):
    (tmp_path / "project.toml").write_text(
        f'{HEAD}[[section]]\nname = "s"\nmaterial = "steel"\nunit = "mm"\n{text}\n', encoding="utf-8"
    )
    return read_sections(tmp_path)["s"]


def words(tmp_path, text: str) -> str:
    (tmp_path / "project.toml").write_text(
        f'{HEAD}[[section]]\nname = "s"\nmaterial = "steel"\nunit = "mm"\n{text}\n', encoding="utf-8"
    )
    with pytest.raises(ProjectError) as caught:
        read(tmp_path)
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "area", "inertia_x", "inertia_y"),
    [
        # EN 10365: IPE 200, [cm²], [cm⁴].
        (
            'shape = "I"\ndepth = 200\nwidth = 100\nflange = 8.5\nweb = 5.6\nroot_radius = 12',
            28.48,
            1943.0,
            142.4,
        ),
        # DIN 1026-1, U 100: h 100, b 50, s 6, t = r1 = 8.5, r2 = 4.5.
        (
            'shape = "tapered channel"\ndepth = 100\nwidth = 50\nflange = 8.5\nweb = 6\n'
            "root_radius = 8.5\ntoe_radius = 4.5",
            13.5,
            206.0,
            29.3,
        ),
        # EN 10210-2, 100 x 60 x 5 hot finished; EN 10219-2 cold formed.
        (
            'shape = "hollow section"\ndepth = 100\nwidth = 60\nthickness = 5\nfinish = "hot"',
            14.7,
            189.0,
            83.6,
        ),
        (
            'shape = "hollow section"\ndepth = 100\nwidth = 60\nthickness = 5\nfinish = "cold"',
            14.4,
            181.0,
            80.8,
        ),
    ],
)
def test_rolled_shapes_of_the_tables(tmp_path, text, area, inertia_x, inertia_y):
    s = analyse(section(tmp_path, text)).stiffness
    found = (s.EA / 210e9 * 1e4, s.EIx / 210e9 * 1e8, s.EIy / 210e9 * 1e8)
    assert found == pytest.approx((area, inertia_x, inertia_y), rel=6e-3)  # tables have three digits


@pytest.mark.parametrize(
    ("text", "area", "inertia_x"),
    [
        # Sharp corners, parts of rectangles by hand [mm², mm⁴].
        (
            'shape = "channel"\ndepth = 80\nwidth = 40\nflange = 6\nweb = 4',
            2 * 40 * 6 + 68 * 4,
            40 * 80**3 / 12 - 36 * 68**3 / 12,
        ),
        ('shape = "angle"\ndepth = 50\nwidth = 30\nthickness = 5', 50 * 5 + 25 * 5, None),
        (
            'shape = "Z"\ndepth = 60\nwidth = 40\nthickness = 4',
            60 * 4 + 2 * 36 * 4,
            4 * 60**3 / 12 + 2 * (36 * 4 * 28**2 + 36 * 4**3 / 12),
        ),
        ('shape = "slit tube"\ndiameter = 60\nthickness = 3\nslit = 1', 3.14159265 * 57 * 3 - 3, None),
    ],
)
def test_sharp_shapes_by_hand(tmp_path, text, area, inertia_x):
    outline = section(tmp_path, text)
    assert area_of(outline) * 1e6 == pytest.approx(area, rel=1e-3)
    if inertia_x is not None:
        assert analyse(outline).stiffness.EIx / 210e9 * 1e12 == pytest.approx(inertia_x, rel=1e-9)


def test_a_slit_makes_the_tube_soft(tmp_path):
    """Open against closed: J = 2 pi r t³/3 against 2 pi r³ t, a factor 3 (r/t)²."""
    closed = analyse(section(tmp_path, 'shape = "round tube"\ndiameter = 60\nthickness = 3')).stiffness
    slit = analyse(section(tmp_path, 'shape = "slit tube"\ndiameter = 60\nthickness = 3\nslit = 1')).stiffness
    assert closed.GJ / slit.GJ == pytest.approx(3 * (28.5 / 3) ** 2, rel=0.04)


def test_strips_with_their_own_thickness(tmp_path):
    """A box of two cells by middle lines: skin 3 mm, web 2.5 mm, which can be filled by its name."""
    text = (
        "[[section.strip]]\npoints = [[0, 0], [80, 0], [80, 60], [0, 60], [0, 0]]\nthickness = 3\n"
        "[[section.strip]]\npoints = [[40, 0], [40, 60]]\nthickness = 2.5\n"
        '[[section.cell]]\nname = "cell 2"\nfill = "resin-bonded mineral"'
    )
    (tmp_path / "x").mkdir()
    (tmp_path / "project.toml").write_text("", encoding="utf-8")
    outline = section(tmp_path, text.replace("resin-bonded mineral", "steel"))
    assert [cell.name for cell in outline.cells] == ["cell 1", "cell 2"]
    assert outline.cells[1].fill is not None
    empty = 83 * 63 - 77 * 57 + 57 * 2.5
    assert area_of(outline) * 1e6 == pytest.approx(empty + (40 - 1.25 - 1.5) * 57, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('shape = "I"\ndepth = 200\nwidth = 100\nflange = 8.5', "web is missing"),
        ('shape = "I"\ndepth = 20\nwidth = 100\nflange = 12\nweb = 5', "must leave a web"),
        ('shape = "channel"\ndepth = 80\nwidth = 4\nflange = 6\nweb = 4', "must be thinner than the width"),
        ('shape = "angle"\ndepth = 5\nwidth = 30\nthickness = 5', "must be smaller than the legs"),
        ('shape = "slit tube"\ndiameter = 60\nthickness = 3\nslit = 55', "must be smaller than the hollow"),
        ('shape = "hollow section"\ndepth = 80\nwidth = 40\nthickness = 4', "finish is missing"),
        ('shape = "chanel"\ndepth = 80', 'did you mean "channel"'),
        ('shape = "I"\ndepth = 200\nwidth = 60\nflange = 8\nweb = 5\nroot_radius = 40', "corner radius"),
    ],
)
def test_sizes_that_make_no_shape(tmp_path, text, said):
    assert said in words(tmp_path, text)


def test_a_hint_says_which_repair_makes_an_outline_sound(tmp_path):
    """A spike that runs out and straight back has one remedy: the hint names it."""
    spiked = "points = [[0, 0], [40, 0], [40, 30], [90, 30.002], [40, 30.004], [0, 30.004]]"
    said = words(tmp_path, spiked)
    assert "it is sound if you drop the point (90, 30.002) mm, a spike of no width" in " ".join(said.split())
    crossed = words(tmp_path, "points = [[0, 0], [40, 30], [40, 0], [0, 30]]")
    assert "it is sound if" not in crossed
