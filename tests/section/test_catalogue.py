"""Catalogue numbers against tables of standards, closed forms and the reference library."""

from __future__ import annotations

import json
import math
import warnings
from dataclasses import replace

import pytest
from sections import ALUMINIUM, MINERAL, UNIT, made_of, two_cells

from strongback.answer import plain
from strongback.cli.frame import main
from strongback.errors import OutlineError
from strongback.materials import material
from strongback.section import shapes
from strongback.section.apart import catalogue_apart, separated
from strongback.section.catalogue import Catalogue, catalogue
from strongback.section.check import check
from strongback.section.outline import filled, moved, turned
from strongback.section.store import solved_section
from strongback.section.values import Fill, Outline
from strongback.views.catalogue_text import catalogue_sheet, catalogue_table
from strongback.views.sheet import Sheet

STEEL = material("steel")


def of(outline: Outline) -> Catalogue:
    return catalogue(outline, solved_section(outline))


def test_ipe_200_of_the_table():
    """EN 10365, IPE 200: 200 x 100 x 8.5 x 5.6, r = 12. It and Iw of the table are formulas, 2 % off the solved section."""
    found = of(shapes.i_section(STEEL, 0.2, 0.1, 0.0085, 0.0056, 0.012))
    assert found.A * 1e4 == pytest.approx(28.48, abs=0.01)  # cm²
    assert found.Ix * 1e8 == pytest.approx(1943.0, abs=0.5)  # cm⁴
    assert found.Iy * 1e8 == pytest.approx(142.4, abs=0.1)
    assert found.W_top * 1e6 == pytest.approx(194.3, abs=0.1)  # cm³
    assert found.W_left * 1e6 == pytest.approx(28.47, abs=0.02)
    assert found.radius(found.Ix) * 1e2 == pytest.approx(8.26, abs=0.005)  # cm
    assert found.radius(found.Iy) * 1e2 == pytest.approx(2.24, abs=0.005)
    assert found.It * 1e8 == pytest.approx(6.98, rel=0.03)
    assert found.Iw * 1e12 == pytest.approx(12990.0, rel=0.025)  # cm⁶
    assert found.angle == 0.0
    assert found.shear_centre == pytest.approx((0.0, 0.0), abs=1e-6)


def test_hollow_section_of_the_table():
    """EN 10210-2, SHS 100 x 100 x 5 hot finished: A 18.7 cm², I 279 cm⁴, W 55.9 cm³, i 3.86 cm, It 439 cm⁴."""
    found = of(shapes.hollow_section(STEEL, 0.1, 0.1, 0.005, hot_finished=True))
    assert found.A * 1e4 == pytest.approx(18.73, abs=0.02)
    assert found.Ix * 1e8 == pytest.approx(279.0, abs=0.5)
    assert found.W_right * 1e6 == pytest.approx(55.9, abs=0.1)
    assert found.radius(found.Iy) * 1e2 == pytest.approx(3.86, abs=0.005)
    assert found.It * 1e8 == pytest.approx(439.0, rel=0.02)  # of the annex's formula for thin walls


def test_angle_by_hand_and_by_the_reference_library():
    """Principal axes by Mohr's circle; both shear centres, radii and angle against sectionproperties."""
    from sectionproperties.analysis import Section
    from sectionproperties.pre import Material as Other
    from sectionproperties.pre.library import steel_sections

    h, b, t = 0.08, 0.05, 0.012
    third = made_of(2.6, 0.3)
    found = of(shapes.angle(third, h, b, t))
    areas = [(b * t, b / 2, t / 2), (t * (h - t), t / 2, (h + t) / 2)]
    A = sum(a for a, *_ in areas)
    cx, cy = (sum(a * p[k] for a, *p in areas) / A for k in range(2))
    Ixy = sum(a * (x - cx) * (y - cy) for a, x, y in areas)
    Ix = b * t**3 / 12 + t * (h - t) ** 3 / 12 + sum(a * (y - cy) ** 2 for a, _, y in areas)
    Iy = t * b**3 / 12 + (h - t) * t**3 / 12 + sum(a * (x - cx) ** 2 for a, x, _ in areas)
    assert (found.Ix, found.Iy, found.Ixy) == pytest.approx((Ix, Iy, Ixy), rel=1e-9)
    half = math.hypot((Ix - Iy) / 2, Ixy)
    assert (found.I1, found.I2) == pytest.approx(((Ix + Iy) / 2 + half, (Ix + Iy) / 2 - half), rel=1e-9)
    assert math.tan(2 * found.angle) == pytest.approx(-2 * Ixy / (Ix - Iy), rel=1e-9)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        same = Other("third", 2.6, 0.3, 1.0, 1.0, "grey")
        # In mm: areas of triangles in metres are too small for its mesher.
        geometry = steel_sections.angle_section(d=80, b=50, t=12, r_r=0, r_t=0, n_r=1, material=same)
        geometry.create_mesh(mesh_sizes=[4.0])
        section = Section(geometry)
        section.calculate_geometric_properties()
        section.calculate_warping_properties()
    for mine, theirs in (
        (found.elastic_shear_centre, section.get_sc()),
        (found.shear_centre, section.get_sc_t()),
    ):
        assert [v * 1e3 for v in mine] == pytest.approx(list(theirs), abs=0.02)
    assert math.dist(found.shear_centre, found.elastic_shear_centre) > 5e-6
    r11, r22 = section.get_rp()
    assert found.radius(found.I1) * 1e3 == pytest.approx(r11, rel=1e-6)
    assert found.radius(found.I2) * 1e3 == pytest.approx(r22, rel=1e-6)
    # Its angle runs to its axis 11, modulo half a turn.
    apart = math.degrees(found.angle) - section.get_phi()
    assert min(apart % 180.0, -apart % 180.0) == pytest.approx(0.0, abs=1e-6)
    z11p, z11m, z22p, z22m = (abs(v) for v in section.get_ezp(e_ref=2.6))
    assert found.W1 * 1e9 == pytest.approx(min(z11p, z11m), rel=1e-6)
    assert found.W2 * 1e9 == pytest.approx(min(z22p, z22m), rel=1e-6)


def test_numbers_turn_with_the_section():
    """Principal values stay, the angle follows, areas of shear are those of the axes of the drawing."""
    z = shapes.z_section(UNIT, 0.06, 0.04, 0.003)
    plain, tilted = of(z), of(turned(z, math.radians(20.0)))
    for key in ("I1", "I2", "It", "Iw", "W1", "W2", "A"):
        assert getattr(tilted, key) == pytest.approx(getattr(plain, key), rel=2e-3), key
    assert math.degrees(tilted.angle - plain.angle) % 180.0 == pytest.approx(20.0, abs=1e-6)
    assert tilted.polar_radius == pytest.approx(plain.polar_radius, rel=1e-4)


def test_channel_shear_centre_and_polar_radius():
    """Shear centre of a thin channel e = 3 b² t/(h t + 6 b t) from the web (Vlasov); polar radius by Steiner."""
    t = 0.0005
    found = of(shapes.channel(UNIT, 0.1 + t, 0.05 + t / 2, t, t))
    assert t / 2 - found.shear_centre[0] == pytest.approx(3 * 0.05**2 / (0.1 + 6 * 0.05), rel=2e-3)
    assert found.elastic_shear_centre == pytest.approx(found.shear_centre, abs=2e-5)
    apart = found.centroid[0] - found.shear_centre[0]
    assert found.polar_radius**2 == pytest.approx((found.Ix + found.Iy) / found.A + apart**2, rel=1e-9)
    assert found.W_right == pytest.approx(found.Iy / (0.05 + t / 2 - found.centroid[0]), rel=1e-9)
    assert found.W_left == pytest.approx(found.Iy / found.centroid[0], rel=1e-9)


def test_shear_area_of_a_rectangle():
    """5/6 of the area for nu = 0 (Cowper 1966)."""
    found = of(shapes.rectangle(UNIT, 0.02, 0.04))
    assert found.shear_area_x == pytest.approx(5 / 6 * 0.0008, rel=2e-3)
    assert found.shear_area_y == pytest.approx(5 / 6 * 0.0008, rel=2e-3)
    assert found.W_top == pytest.approx(0.02 * 0.04**2 / 6)
    assert found.radius(found.Ix) == pytest.approx(0.04 / math.sqrt(12))


def test_a_fill_counts_by_its_modulus():
    """Transformed section: the reference is the wall; a modulus over a fill point is weighted by its E."""
    outline = filled(two_cells(), {"a": Fill(material=MINERAL)})
    empty, full = of(two_cells()), of(outline)
    n = MINERAL.E / ALUMINIUM.E
    fill = full.area - empty.area
    assert full.material == ALUMINIUM
    assert full.A == pytest.approx(empty.A + n * fill, rel=1e-9)


def pair(apart: float = 0.1) -> Outline:
    """Two square tubes side by side that nothing joins."""
    tube = shapes.rectangular_tube(STEEL, 0.04, 0.04, 0.003)
    far = moved(tube, (apart, 0.0))
    cells = (*tube.cells, *(replace(c, name="far") for c in far.cells))
    return Outline(name="pair", walls=(*tube.walls, *far.walls), cells=cells)


def test_separate_parts_get_what_exists():
    """Steiner for bending, the sum for torsion, nothing for shear centre and warping, with the statement."""
    with pytest.raises(OutlineError, match="joined to nothing"):
        check(pair())
    parts = separated(pair())
    assert [[c.name for c in p.cells] for p in parts] == [["inside"], ["far"]]
    one, both = of(shapes.rectangular_tube(STEEL, 0.04, 0.04, 0.003)), catalogue_apart(pair())
    assert both.parts == 2
    assert both.A == pytest.approx(2 * one.A)
    assert both.centroid == pytest.approx((0.05, 0.0), abs=1e-12)
    assert both.Ix == pytest.approx(2 * one.Ix)
    assert both.Iy == pytest.approx(2 * (one.Iy + one.A * 0.05**2))
    assert both.It == pytest.approx(2 * one.It, rel=1e-6)
    assert both.W_right == pytest.approx(both.Iy / 0.07)
    assert (both.Iw, both.shear_centre, both.polar_radius, both.shear_area_x) == (None,) * 4
    said = Sheet(tuple(catalogue_sheet(both))).text(80)
    assert "2 separate parts that touch nowhere: EA and EI hold if" in said
    assert "warping constant" not in said
    assert plain(both)["shear_centre_trefftz_mm"] is None
    assert "Iw_mm6" not in plain(both)


def test_the_command_tells_them(tmp_path, capsys):
    """In text and as JSON, the same as the Python call."""
    table = tmp_path / "bar.csv"
    table.write_text("ring,x [mm],y [mm]\nouter,0,0\nouter,20,0\nouter,20,40\nouter,0,40\n", encoding="utf-8")
    words = ["section", "--outline", str(table), "--material", "steel", "--no-figures"]
    assert main(words) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Ix second moment about x 106667 mm⁴" in said
    assert "Trefftz" in said
    assert main([*words, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["sections"][0]["catalogue"]
    bar = of(moved(shapes.rectangle(STEEL, 0.02, 0.04), (0.01, 0.02)))
    assert told["Ix_mm4"] == pytest.approx(20 * 40**3 / 12)
    assert told["It_mm4"] == pytest.approx(bar.It * 1e12, rel=1e-3)
    assert told["centroid_mm"] == pytest.approx([10.0, 20.0])
    assert told["reference_material"] == "steel"
    for key in ("A_mm2", "Iw_mm6", "ix_mm", "W_top_mm3", "shear_centre_elastic_mm", "Asx_mm2", "angle_deg"):
        assert key in told
    assert catalogue_table(bar).csv().count("\n") >= 21


def test_a_round_tube_does_not_warp():
    """Its warping stiffness was printed as 9.96e-34; that is zero, and so is that of the polygon drawn for it."""
    for tube in (shapes.round_tube(STEEL, 0.08, 0.003), shapes.circle(STEEL, 0.03)):
        found = solved_section(tube)
        assert found.stiffness.EGamma == 0.0
        assert dict(found.errors)["EGamma"] == 0.0
        assert of(tube).Iw == 0.0
