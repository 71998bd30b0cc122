"""Outlines in and out of drawings: curves to their chord, layers to walls and fills, round trips, refusals."""

from __future__ import annotations

import io
import json
import math
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from sections import MINERAL, two_cells

from strongback.cli.frame import main
from strongback.errors import InputError, OutlineError, ProjectError
from strongback.materials import material
from strongback.project import read
from strongback.project.bundle import nameless, project_files
from strongback.project.drawing import read_drawing
from strongback.project.drawing_out import write_drawing
from strongback.section import shapes
from strongback.section.analyse import analyse
from strongback.section.outline import area_of, filled
from strongback.section.values import Fill

STEEL = material("steel")


def dxf(path: Path, draw, unit: int = 4) -> Path:
    """A DXF written by the library that reads it for others, so that its own words are read."""
    drawing = ezdxf.new("R2010")
    drawing.header["$INSUNITS"] = unit
    draw(drawing.modelspace())
    stream = io.StringIO()
    drawing.write(stream)
    path.write_text(stream.getvalue(), encoding="utf-8")
    return path


def test_lines_arcs_and_circles_of_a_dxf(tmp_path):
    """A plate with a round end and a bore, its edge in single pieces in any order [mm]."""

    def draw(space):
        space.add_line((0, 0), (60, 0))
        space.add_line((0, 40), (60, 40))
        space.add_arc((60, 20), 20, -90, 90)
        space.add_line((0, 40), (0, 0))
        space.add_circle((60, 20), 8)

    found = read_drawing(dxf(tmp_path / "plate.dxf", draw), "steel", chord=1e-5)
    exact = 60 * 40 + math.pi * 20**2 / 2 - math.pi * 8**2
    assert area_of(found) * 1e6 == pytest.approx(exact, rel=5e-4)
    assert (found.name, [c.name for c in found.cells]) == ("plate", ["inside"])
    coarse = read_drawing(tmp_path / "plate.dxf", "steel", chord=1e-3)
    assert len(coarse.walls[0].ring) < len(found.walls[0].ring)
    # Chords lie within the stated distance of the arc: every middle of a side is no nearer to its centre.
    ring = found.walls[0].ring
    for a, b in zip(ring, [*ring[1:], ring[0]], strict=True):
        middle = math.hypot((a[0] + b[0]) / 2 - 0.06, (a[1] + b[1]) / 2 - 0.02)
        if min(a[0], b[0]) > 0.0601:
            assert 0.02 - 1.01e-5 <= middle <= 0.02 + 1e-9


def test_splines_ellipses_and_bulges(tmp_path):
    """An ellipse pi a b; a polyline with a bulge of 1, which is half a circle."""

    def draw(space):
        space.add_ellipse((0, 0), major_axis=(30, 0), ratio=0.5)

    found = read_drawing(dxf(tmp_path / "ellipse.dxf", draw), "steel", chord=1e-5)
    assert area_of(found) * 1e6 == pytest.approx(math.pi * 30 * 15, rel=1e-3)

    def bulged(space):
        space.add_lwpolyline([(0, 0, 0), (40, 0, 1), (40, 20, 0), (0, 20, 0)], format="xyb", close=True)

    found = read_drawing(dxf(tmp_path / "bulge.dxf", bulged), "steel", chord=1e-5)
    assert area_of(found) * 1e6 == pytest.approx(40 * 20 + math.pi * 10**2 / 2, rel=1e-3)

    def spline(space):  # a spline through points of a circle comes within 0.1 % of its area
        points = [(25 * math.cos(t), 25 * math.sin(t)) for t in (2 * math.pi * k / 24 for k in range(25))]
        space.add_spline(points)

    found = read_drawing(dxf(tmp_path / "spline.dxf", spline), "steel", chord=1e-5)
    assert area_of(found) * 1e6 == pytest.approx(math.pi * 25**2, rel=2e-3)


def test_units_of_a_dxf(tmp_path):
    def draw(space):
        space.add_lwpolyline([(0, 0), (2, 0), (2, 1), (0, 1)], close=True)

    assert area_of(read_drawing(dxf(tmp_path / "inch.dxf", draw, 1), "steel")) == pytest.approx(2 * 0.0254**2)
    with pytest.raises(ProjectError, match="does not say its unit"):
        read_drawing(dxf(tmp_path / "none.dxf", draw, 0), "steel")
    assert area_of(read_drawing(tmp_path / "none.dxf", "steel", unit="cm")) == pytest.approx(2e-4)


def test_layers_are_walls_and_fills(tmp_path):
    """Two materials by layer; a third layer, dimensions, is left out."""

    def draw(space):
        for layer, x0, y0, x1, y1 in (
            ("TUBE", 0, 0, 80, 60),
            ("TUBE", 4, 4, 76, 56),
            ("CORE", 4, 4, 76, 56),
            ("DIMENSIONS", 0, -20, 80, -10),
        ):
            space.add_lwpolyline(
                [(x0, y0), (x1, y0), (x1, y1), (x0, y1)], close=True, dxfattribs={"layer": layer}
            )

    file = dxf(tmp_path / "filled.dxf", draw)
    layers = {"TUBE": "steel", "CORE": "fill sand mix"}
    own = {"sand mix": MINERAL}
    found = read_drawing(file, layers=layers, own=own)
    assert [w.material.name for w in found.walls] == ["steel"]
    assert found.cells[0].fill == Fill(material=MINERAL)
    expected = filled(shapes.rectangular_tube(STEEL, 0.08, 0.06, 0.004), {"inside": Fill(material=MINERAL)})
    assert analyse(found).stiffness.EIx == pytest.approx(analyse(expected).stiffness.EIx, rel=1e-9)
    with pytest.raises(ProjectError, match=r'no layer "TUBES"\n.*did you mean "TUBE"'):
        read_drawing(file, layers={"TUBES": "steel"})
    with pytest.raises(OutlineError, match="fills no hollow"):
        read_drawing(file, layers={"TUBE": "steel", "DIMENSIONS": "fill steel"})


def test_svg_with_curves_and_colours(tmp_path):
    """A rounded plate in mm, y turned upwards, a hole by its path, a second part by its colour."""
    file = tmp_path / "plate.svg"
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" viewBox="0 0 100 50">'
        '<path fill="#4a6f8a" d="M 0 0 H 60 V 40 H 0 Z M 10 20 A 8 8 0 1 0 26 20 A 8 8 0 1 0 10 20 Z"/>'
        '<rect fill="#ff0000" x="70" y="0" width="20" height="10"/></svg>',
        encoding="utf-8",
    )
    found = read_drawing(file, layers={"#4a6f8a": "steel"}, chord=1e-5)
    assert area_of(found) * 1e6 == pytest.approx(60 * 40 - math.pi * 64, rel=1e-3)
    ys = [y for _, y in found.walls[0].ring]
    assert (min(ys), max(ys)) == pytest.approx((-0.04, 0.0), abs=1e-9)
    red = read_drawing(file, layers={"#ff0000": "aluminium"})
    assert area_of(red) * 1e6 == pytest.approx(200.0, rel=1e-9)
    curve = tmp_path / "curve.svg"
    curve.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">'
        '<path d="M 0 0 L 40 0 Q 60 0 60 20 L 60 60 L 0 60 Z"/></svg>',
        encoding="utf-8",
    )
    # Under a quadratic curve from one side to the other of a corner of 20: a third of the square is cut off... 20²/6.
    assert area_of(read_drawing(curve, "steel", chord=2e-6)) * 1e6 == pytest.approx(3600 - 400 / 6, rel=1e-4)


def test_geojson_and_wkt(tmp_path):
    wkt = tmp_path / "tube.wkt"
    wkt.write_text("POLYGON ((0 0, 80 0, 80 60, 0 60, 0 0), (4 4, 76 4, 76 56, 4 56, 4 4))", encoding="utf-8")
    found = read_drawing(wkt, "steel", unit="mm")
    assert area_of(found) * 1e6 == pytest.approx(80 * 60 - 72 * 52)
    with pytest.raises(ProjectError, match="does not say its unit"):
        read_drawing(wkt, "steel")
    feature = {
        "type": "Feature",
        "properties": {"layer": "wall"},
        "geometry": {"type": "Polygon", "coordinates": [[[0, 0], [20, 0], [20, 10], [0, 10], [0, 0]]]},
    }
    file = tmp_path / "bar.geojson"
    file.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}), encoding="utf-8")
    assert area_of(read_drawing(file, layers={"wall": "steel"}, unit="mm")) * 1e6 == pytest.approx(200.0)


@pytest.mark.parametrize("suffix", [".dxf", ".svg", ".geojson", ".wkt"])
def test_written_and_read_again(tmp_path, suffix):
    """Every format that is written gives back the same rings, to rounding of the format."""
    outline = two_cells()
    file = write_drawing(outline, tmp_path / f"two{suffix}")
    back = read_drawing(file, outline.walls[0].material, unit=None if suffix in (".dxf", ".svg") else "mm")
    assert area_of(back) == pytest.approx(area_of(outline), rel=1e-9)
    assert [len(w.holes) for w in back.walls] == [len(w.holes) for w in outline.walls]
    assert len(back.cells) == len(outline.cells)
    one, two = analyse(outline).stiffness, analyse(back).stiffness
    assert (two.EIx, two.EIy) == pytest.approx((one.EIx, one.EIy), rel=1e-7)
    if suffix != ".svg":  # an SVG keeps the place, too, but with y about its own zero
        assert two.centroid == pytest.approx(one.centroid, abs=1e-9)


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("open.wkt", "LINESTRING (0 0, 1 1)", "polygons are read"),
        ("bad.wkt", "POLYGON ((0 0, 1 1", "cannot be read"),
        ("bad.geojson", '{"type": "Feature"}', "cannot be read"),
        ("bad.geojson", "[1, 2", "cannot be read"),
        ("bad.dxf", "this is no drawing", "no DXF that can be read"),
        ("bad.svg", "<svg", "no SVG that can be read"),
        ("empty.svg", '<svg xmlns="http://www.w3.org/2000/svg"/>', "holds no line"),
        ("bomb.svg", '<!DOCTYPE svg [<!ENTITY a "aaaa">]><svg>&a;</svg>', "declares entities"),
        ("profile.step", "", "no drawing that is read here"),
    ],
)
def test_files_that_are_no_outline(tmp_path, name, text, words):
    file = tmp_path / name
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=words):
        read_drawing(file, "steel", unit="mm")


def test_a_line_that_does_not_close(tmp_path):
    def draw(space):
        space.add_line((0, 0), (60, 0))
        space.add_line((60, 0), (60, 40))

    with pytest.raises(ProjectError, match=r"runs from \(0, 0\) to \(60, 40\) mm and does not close"):
        read_drawing(dxf(tmp_path / "open.dxf", draw), "steel")
    with pytest.raises(OutlineError, match="chord 0 mm must lie between"):
        read_drawing(tmp_path / "open.dxf", "steel", chord=0.0)


def test_the_command_reads_and_draws(tmp_path, capsys):
    """A DXF in, its numbers told, an SVG out."""

    def draw(space):
        space.add_lwpolyline([(0, 0), (20, 0), (20, 40), (0, 40)], close=True)

    file = dxf(tmp_path / "bar.dxf", draw)
    words = [
        "section",
        "--outline",
        str(file),
        "--material",
        "steel",
        "--json",
        "--draw",
        str(tmp_path / "out.svg"),
    ]
    assert main(words) == 0
    told = json.loads(capsys.readouterr().out)["sections"][0]
    assert told["EIx_N_m2"] == pytest.approx(210e9 * 0.02 * 0.04**3 / 12)
    assert area_of(read_drawing(tmp_path / "out.svg", "steel")) == pytest.approx(8e-4)
    assert (
        main(["section", "--outline", str(file), "--layer", "0=steel", "--chord", "0.1 mm", "--no-figures"])
        == 0
    )
    assert main(["section", "--outline", str(file), "--no-figures"]) == 2


BASE = """format = 2
[machine]
name = "post"
[[member]]
name = "post"
section = "tube"
start = "0, 0, 0 mm"
end = "0, 0, 400 mm"
x_axis = "+x"
[[support]]
name = "foot"
part = "post"
at = "0, 0, 0 mm"
along_x = "rigid"
along_y = "rigid"
along_z = "rigid"
about_x = "rigid"
about_y = "rigid"
about_z = "rigid"
[tool]
part = "post"
at = "0, 0, 400 mm"
[work]
part = "ground"
at = "0, 0, 400 mm"
"""


def in_project(folder, lines, more=""):
    (folder / "project.toml").write_text(
        f'{BASE}[[section]]\nname = "tube"\n{lines}\n{more}', encoding="utf-8"
    )
    return read(folder)


def tube_with_core(folder):
    def draw(space):
        for layer, x0, y0, x1, y1 in (
            ("TUBE", 0, 0, 80, 60),
            ("TUBE", 4, 4, 76, 56),
            ("CORE", 4, 4, 76, 56),
            ("DIMENSIONS", 0, -20, 80, -10),
        ):
            corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
            space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})

    return dxf(folder / "tube.dxf", draw)


def test_a_section_of_a_project_is_a_drawing(tmp_path):
    """The same outline as by the command, layers to walls and fills, an own material, another bond by its cell."""
    tube_with_core(tmp_path)
    own = '[[material]]\nname = "sand mix"\nE = "9 GPa"\nnu = 0.2\ndensity = "1900 kg/m^3"\nsource = "a guess"\n'
    layers = 'file = "tube.dxf"\nlayers = { TUBE = "steel", CORE = "fill sand mix" }'
    (outline,) = dict(in_project(tmp_path, layers, own).machine.sections).values()
    assert (outline.name, outline.walls[0].material) == ("tube", STEEL)
    assert outline.cells[0].fill.material.E == 9e9
    assert np.ptp(outline.walls[0].ring, axis=0) == pytest.approx([0.08, 0.06])
    cell = '[[section.cell]]\nname = "inside"\nfill = "mineral casting"\nbond = "sliding"\n'
    walls = 'file = "tube.dxf"\nmaterial = "steel"\nlayers = { TUBE = "steel" }'
    (outline,) = dict(in_project(tmp_path, walls, cell).machine.sections).values()
    assert outline.cells[0].fill == Fill(material=material("mineral casting"), bond="sliding")


@pytest.mark.parametrize("ending", ["dxf", "svg", "geojson", "wkt"])
def test_every_kind_of_drawing_is_a_section_of_a_project(tmp_path, ending):
    """What is written is read as what it was: two cells of unlike walls, to a micrometre."""
    outline = two_cells()
    write_drawing(outline, tmp_path / f"two.{ending}")
    unit = 'unit = "mm"\n' if ending in ("geojson", "wkt") else ""
    (found,) = dict(
        in_project(tmp_path, f'file = "two.{ending}"\n{unit}material = "steel"').machine.sections
    ).values()
    there, back = outline.to_polygon().buffer(0.0), found.to_polygon().buffer(0.0)
    assert there.symmetric_difference(back).area < 1e-6 * there.area  # the same place, too
    assert len(found.cells) == len(outline.cells)


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ('file = "tube.dxf"', "material is missing"),
        ('file = "tube.dxf"\nlayers = { TUBES = "steel" }', 'did you mean "TUBE"'),
        ('file = "tube.dxf"\nlayers = { TUBE = "steal" }', 'did you mean "steel"'),
        ('file = "tube.dxf"\nmaterial = "steel"\nouter = "a"', "is for a table of rings"),
        ('file = "tube.dxf"\nmaterial = "steel"\nchord = "20 mm"', "must lie between"),
        ('file = "gone.dxf"\nmaterial = "steel"', "gone.dxf"),
        ('shape = "circle"\ndiameter = "50 mm"\nmaterial = "steel"\nlayers = { A = "steel" }', "layers"),
    ],
)
def test_faults_of_drawings_stand_at_their_key(tmp_path, lines, words):
    tube_with_core(tmp_path)
    with pytest.raises(ProjectError) as caught:
        in_project(tmp_path, lines)
    assert words in str(caught.value)
    assert "project.toml" in str(caught.value)


APART = """[[section]]
name = "rails"
material = "steel"
unit = "mm"
[[section.wall]]
name = "left"
points = [[0, 0], [20, 0], [20, 10], [0, 10]]
[[section.wall]]
name = "right"
points = [[60, 0], [80, 0], [80, 10], [60, 10]]
"""


def test_separate_parts_are_told_where_no_member_is_made_of_them(tmp_path, capsys):
    """EA = 2 E b h; EIy = 2 (E h b³ / 12 + E b h d²) about the common centroid; torsion 2 G b h³ 0.229 (b/h = 2: Timoshenko
    & Goodier, table in art. 109)."""
    post = 'shape = "circle"\ndiameter = "50 mm"\nmaterial = "steel"'
    in_project(tmp_path, post, APART)
    assert main(["check", str(tmp_path), "--no-figures"]) == 0
    capsys.readouterr()
    assert main(["section", str(tmp_path), "--no-figures"]) == 0
    text = capsys.readouterr().out
    assert "2 separate parts that touch nowhere" in text
    assert "centroid (40.00, 5.00) mm" in text
    assert main(["section", str(tmp_path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["sections"][1]["catalogue"]
    E, G, b, h, d = STEEL.E, STEEL.G, 0.02, 0.01, 0.03
    assert told["EA_N"] == pytest.approx(2 * E * b * h, rel=1e-9)
    assert told["EIx_N_m2"] == pytest.approx(2 * E * b * h**3 / 12, rel=1e-9)
    assert told["EIy_N_m2"] == pytest.approx(2 * E * (h * b**3 / 12 + b * h * d**2), rel=1e-9)
    assert told["GJ_N_m2"] == pytest.approx(2 * G * 0.229 * b * h**3, rel=2e-3)
    assert told["centroid_mm"] == pytest.approx([40.0, 5.0])
    assert told["shear_centre_trefftz_mm"] is None


def test_no_member_is_made_of_separate_parts(tmp_path):
    """Neither along all of it nor as a span."""
    text = BASE.replace('section = "tube"', 'section = "rails"') + APART
    (tmp_path / "project.toml").write_text(text, encoding="utf-8")
    with pytest.raises(ProjectError, match="joined to nothing"):
        read(tmp_path)
    spans = text.replace('section = "rails"\n', "").replace(
        "[[support]]", '[[member.span]]\nsection = "rails"\nlength = "rest"\n[[support]]', 1
    )
    (tmp_path / "project.toml").write_text(spans, encoding="utf-8")
    with pytest.raises(ProjectError, match="joined to nothing"):
        read(tmp_path)


def test_a_drawing_is_not_sent_without_names(tmp_path):
    """Who drew it stands in places that nobody looks at."""
    tube_with_core(tmp_path)
    in_project(tmp_path, 'file = "tube.dxf"\nmaterial = "steel"\nlayers = { TUBE = "steel" }')
    files = project_files(tmp_path)
    assert set(files) == {"project.toml", "tube.dxf"}
    with pytest.raises(InputError, match=r"tube\.dxf"):
        nameless(files)
