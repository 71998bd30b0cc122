"""The second opinion: agreement where its theory holds, reasons where not, outlines from and to its geometry."""

from __future__ import annotations

import json
import math

import pytest
from sectionproperties.pre import Material as Their
from sectionproperties.pre.geometry import CompoundGeometry, Geometry
from sectionproperties.pre.library import steel_sections
from sections import ALUMINIUM, MINERAL, made_of, two_cells
from shapely.geometry import MultiPolygon, Polygon, box

from strongback.cli.frame import main
from strongback.errors import MaterialError, OutlineError, UnitError
from strongback.materials import material
from strongback.section import shapes
from strongback.section.analyse import analyse
from strongback.section.outline import area_of, filled
from strongback.section.second_opinion import AGREE, from_geometry, second_opinion, to_geometry
from strongback.section.values import Fill, Outline

STEEL = material("steel")


def test_agreement_where_the_theory_holds():
    found = second_opinion(two_cells(made_of(70e9, 0.33)))
    by_name = {row.quantity: row for row in found.rows}
    assert found.agrees
    for key in ("EA", "EIx", "EIy", "EIxy", "GJ", "shear centre x, Trefftz", "shear centre y, elastic"):
        assert by_name[key].holds
        assert abs(by_name[key].difference) < AGREE
    # GJ is that of a finer solution here, the second one comes from above on the same mesh.
    assert 0.0 <= by_name["GJ"].difference < 1e-3
    assert not by_name["EGamma"].holds
    assert by_name["EGamma"].why == "taken about the elastic shear centre"
    assert by_name["EGamma"].difference > 1e-3
    assert not by_name["kGAx"].holds
    assert abs(by_name["kGAx"].difference) < 3e-3


def test_without_poisson_everything_holds():
    found = second_opinion(two_cells(made_of(70e9, 0.0)))
    assert all(row.holds for row in found.rows)
    assert found.agrees


def test_unlike_materials_are_told_apart():
    """Its torsion of unlike materials is 1 to 2.5 % off the exact circle (sum of G J); the row says why."""
    tube = filled(shapes.round_tube(ALUMINIUM, 0.1, 0.005), {"inside": Fill(material=MINERAL)})
    torsion = next(row for row in second_opinion(tube).rows if row.quantity == "GJ")
    J = [math.pi * d**4 / 32 for d in (0.1, 0.09)]
    exact = ALUMINIUM.G * (J[0] - J[1]) + MINERAL.G * J[1]
    assert torsion.own == pytest.approx(exact, rel=1e-3)
    assert not torsion.holds
    assert "effective Poisson" in torsion.why
    assert torsion.difference > 0.01


def test_the_command_puts_both_side_by_side(tmp_path, capsys):
    table = tmp_path / "angle.csv"
    table.write_text(
        "ring,x [mm],y [mm]\nouter,0,0\nouter,50,0\nouter,50,8\nouter,8,8\nouter,8,80\nouter,0,80\n",
        encoding="utf-8",
    )
    words = ["section", "--outline", str(table), "--material", "steel", "--no-figures", "--second-opinion"]
    assert main(words) == 0
    said = capsys.readouterr().out
    assert "where the theory is the same, both agree within 0.2 %" in " ".join(said.split())
    assert "its theory is another one here: another definition once Poisson's ratio is not zero" in " ".join(
        said.split()
    )
    assert main([*words, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["sections"][0]["second_opinion"]
    assert told["agrees"]
    by_name = {row["quantity"]: row for row in told["rows"]}
    assert by_name["EIx"]["own"] == pytest.approx(by_name["EIx"]["second"], rel=1e-9)


def test_to_its_geometry_and_back():
    """Areas, materials and the solved section survive the round trip; units are mm and MPa."""
    outline = filled(two_cells(), {"a": Fill(material=MINERAL)})
    geometry = to_geometry(outline)
    assert isinstance(geometry, CompoundGeometry)
    assert geometry.calculate_area() == pytest.approx(area_of(outline) * 1e6, rel=1e-9)
    assert geometry.geoms[0].material.elastic_modulus == pytest.approx(ALUMINIUM.E * 1e-6)
    back = from_geometry(geometry, "back")
    assert [w.material.E for w in back.walls] == pytest.approx([ALUMINIUM.E, MINERAL.E])
    assert back.walls[1].material.density == pytest.approx(MINERAL.density)
    one, two = analyse(outline).stiffness, analyse(back).stiffness
    assert (two.EIx, two.GJ, two.mass_per_length) == pytest.approx(
        (one.EIx, one.GJ, one.mass_per_length), rel=2e-3
    )
    assert two.EIx == pytest.approx(one.EIx, rel=1e-9)
    alone = to_geometry(shapes.rectangle(STEEL, 0.02, 0.04))
    assert isinstance(alone, Geometry)


def test_from_a_profile_of_its_library():
    """IPE 200 drawn by the other library: 28.48 cm², 1943 cm⁴ (EN 10365)."""
    steel = Their("structural steel", 210e3, 0.3, 355.0, 7.85e-9, "grey")
    ipe = steel_sections.i_section(d=200, b=100, t_f=8.5, t_w=5.6, r=12, n_r=12, material=steel)
    s = analyse(from_geometry(ipe, "IPE 200")).stiffness
    assert s.EA / 210e9 * 1e4 == pytest.approx(28.48, abs=0.03)
    assert s.EIx / 210e9 * 1e8 == pytest.approx(1943.0, abs=2.0)
    assert s.mass_per_length == pytest.approx(22.4, abs=0.1)
    plain = steel_sections.i_section(d=200, b=100, t_f=8.5, t_w=5.6, r=12, n_r=12)
    with pytest.raises(OutlineError, match="no material of its own"):
        from_geometry(plain)
    assert from_geometry(plain, "IPE", STEEL).walls[0].material == STEEL


def test_from_polygons_of_shapely():
    tube = Outline.from_polygon(box(0, 0, 80, 60).difference(box(3, 3, 77, 57)), "steel", unit="mm")
    assert area_of(tube) == pytest.approx((80 * 60 - 74 * 54) * 1e-6)
    assert [c.name for c in tube.cells] == ["inside"]
    assert analyse(tube).stiffness.EIx == pytest.approx(210e9 * (0.08 * 0.06**3 - 0.074 * 0.054**3) / 12)
    inch = Outline.from_polygon(box(0, 0, 2, 1), STEEL, unit="in")
    assert area_of(inch) == pytest.approx(2 * 0.0254**2)
    pair = Outline.from_polygon(MultiPolygon([box(0, 0, 20, 10), box(20, 0, 40, 10)]), ["steel", "aluminium"])
    assert [w.material.name for w in pair.walls] == ["steel", "aluminium"]
    # A polygon in the hollow of another fills it: no empty cell is left.
    core = Outline.from_polygon([box(0, 0, 40, 40).difference(box(5, 5, 35, 35)), box(5, 5, 35, 35)], "steel")
    assert core.cells == ()
    clockwise = Polygon([(0, 0), (0, 60), (80, 60), (80, 0)])
    assert analyse(Outline.from_polygon(clockwise, "steel")).stiffness.EA == pytest.approx(210e9 * 0.0048)
    assert pair.to_polygon("cm").area == pytest.approx(4.0)
    assert Outline.from_polygon(tube.to_polygon(), "steel").walls == tube.walls


@pytest.mark.parametrize(
    ("polygon", "of", "unit", "error", "words"),
    [
        ([(0, 0), (1, 0), (1, 1)], "steel", "mm", OutlineError, "must be a polygon"),
        (Polygon(), "steel", "mm", OutlineError, "a polygon is empty"),
        (box(0, 0, 1, 1), "stell", "mm", MaterialError, 'did you mean "steel"'),
        (box(0, 0, 1, 1), ["steel", "steel"], "mm", OutlineError, "1 polygons, 2 materials"),
        (box(0, 0, 1, 1), "steel", "mn", UnitError, "mn"),
    ],
)
def test_polygons_that_are_none(polygon, of, unit, error, words):
    with pytest.raises(error, match=words):
        Outline.from_polygon(polygon, of, unit=unit)
