"""Stress under loads together: closed forms at points, equilibrium along edges, yield ratio as information."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from sections import ALUMINIUM, MINERAL, UNIT, two_cells

from strongback.cli.frame import main
from strongback.errors import OutlineError
from strongback.section import shapes
from strongback.section.outline import filled
from strongback.section.stress import SectionStress, section_stress
from strongback.section.stress_state import Loads, stress_along, stress_at, stress_under
from strongback.section.values import Fill
from strongback.views.stress_plot import along_figure, state_figure


@pytest.fixture(scope="module")
def bar() -> SectionStress:
    return section_stress(shapes.rectangle(UNIT, 0.02, 0.04))


def test_bar_under_everything_at_once(bar):
    """N/A + M y/I + ..., 1.5 V/A (1 - (2y/h)²) for nu = 0 (Zhuravskii): at the middle, at a face and at a corner."""
    A, Ix, Iy = 0.02 * 0.04, 0.02 * 0.04**3 / 12, 0.04 * 0.02**3 / 12
    state = stress_under(bar, Loads(N=1e3, Mx=100.0, My=-20.0, Vy=500.0))
    middle, face, corner, between = stress_at(state, [(0.0, 0.0), (0.0, 0.02), (0.01, 0.02), (0.0, 0.01)])
    assert middle.direct == pytest.approx(1e3 / A)
    assert middle.shear == pytest.approx((0.0, 1.5 * 500.0 / A), abs=0.005 * 1.5 * 500.0 / A)
    assert face.direct == pytest.approx(1e3 / A + 100.0 * 0.02 / Ix)
    assert abs(face.shear[1]) < 0.01 * 1.5 * 500.0 / A
    # My stretches what has smaller x: sigma = -My x/Iy.
    assert corner.direct == pytest.approx(1e3 / A + 100.0 * 0.02 / Ix + 20.0 * 0.01 / Iy)
    assert between.shear[1] == pytest.approx(1.5 * 500.0 / A * 0.75, rel=0.01)
    assert middle.equivalent == pytest.approx(
        math.sqrt(middle.direct**2 + 3.0 * middle.shear[1] ** 2), rel=1e-6
    )
    assert state.largest.at == pytest.approx((0.01, 0.02))
    assert state.yield_ratio(200e6) == pytest.approx(200e6 / corner.direct, rel=1e-3)


def test_torque_and_shear_in_a_box():
    """Thin square box under T and Vy: T/(2 A t) all around (Bredt) and V/(2 h t) times 1.125 in the webs at mid-height,
    where the flanges' share of the first moment counts (S = b t h/2 + 2 t (h/2)²/2, q = V S/(2 I))."""
    a, t = 0.1, 0.001
    found = section_stress(shapes.rectangular_tube(ALUMINIUM, a + t, a + t, t))
    state = stress_under(found, {"T": 100.0, "Vy": 1000.0})
    left, right = stress_at(state, [(-a / 2, 0.0), (a / 2, 0.0)])
    torsion = 100.0 / (2.0 * a * a * t)
    inertia = 2 * t * a**3 / 12 + 2 * a * t * (a / 2) ** 2
    shear = 1000.0 * (a * t * a / 2 + 2 * t * (a / 2) ** 2 / 2) / (2.0 * t * inertia)
    assert right.shear[1] == pytest.approx(shear + torsion, rel=0.01)
    assert left.shear[1] == pytest.approx(shear - torsion, rel=0.02)


def test_bimoment_of_an_i_section():
    """sigma = B omega/Iw at the tips, opposite in the two flanges (Vlasov); sharp IPE 200."""
    h, b, tf, tw = 0.2, 0.1, 0.0085, 0.0056
    found = section_stress(shapes.i_section(ALUMINIUM, h, b, tf, tw))
    iw = tf * b**3 * (h - tf) ** 2 / 24
    y = (h - tf) / 2
    tips = stress_at(stress_under(found, Loads(B=10.0)), [(b / 2, y), (-b / 2, y), (b / 2, -y), (-b / 2, -y)])
    expected = 10.0 * b / 2 * y / iw
    assert [abs(p.direct) for p in tips] == pytest.approx([expected] * 4, rel=0.03)
    assert np.sign([p.direct for p in tips]).tolist() in ([1, -1, -1, 1], [-1, 1, 1, -1])


def test_superposition_and_material(bar):
    """A sum of loads is the sum of their stresses; in a fill the stress is that of its modulus."""
    one, two, both = (
        stress_under(bar, loads)
        for loads in (Loads(N=3.0, T=1.0), Loads(Vx=2.0), Loads(N=3.0, T=1.0, Vx=2.0))
    )
    assert np.allclose(one.direct + two.direct, both.direct)
    assert np.allclose(one.shear + two.shear, both.shear)
    found = section_stress(filled(two_cells(), {"a": Fill(material=MINERAL)}))
    wall, fill = stress_at(stress_under(found, {"N": 1e3}), [(0.002, 0.03), (0.03, 0.03)])
    assert (wall.part.split()[0], fill.part) == ("wall", "fill a")
    assert fill.direct / wall.direct == pytest.approx(MINERAL.E / ALUMINIUM.E, rel=1e-9)


def test_along_an_edge(bar):
    """Around the bar under Vy: the parabola on the sides, nothing on top and bottom; distances run around the ring."""
    distance, stress = stress_along(stress_under(bar, {"Vy": 800.0}), shapes._box(0.02, 0.04), count=120)
    assert distance[-1] == pytest.approx(0.12 * (1 - 0.5 / 120))
    for p in stress:
        x, y = p.at
        if abs(abs(x) - 0.01) < 1e-9 and abs(y) < 0.019:
            assert p.shear[1] == pytest.approx(1.5e6 * (1 - (y / 0.02) ** 2), abs=0.015e6)
        elif abs(abs(y) - 0.02) < 1e-9 and abs(x) < 0.009:
            assert abs(p.shear[1]) < 0.015e6


def test_near_a_sharp_corner_it_is_said():
    found = section_stress(shapes.angle(UNIT, 0.04, 0.04, 0.004))
    near, far = stress_at(stress_under(found, {"T": 1.0}), [(0.0039, 0.0039), (0.004, 0.03)])
    assert near.sharp
    assert not far.sharp
    # 3 T/(s t²) with s the length of both legs on the mid-line, their ends left out.
    assert far.shear[1] == pytest.approx(3.0 / (0.076 * 0.004**2), rel=0.06)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda f: stress_under(f, {"Q": 1.0}), 'a name = "Q" must be "N", "Vx"'),
        (lambda f: stress_under(f, {"N": math.nan}), "N = nan must be a finite number"),
        (lambda f: stress_at(stress_under(f, {"N": 1.0}), [(0.03, 0.0)]), r"no material at \(30, 0\) mm"),
        (lambda f: stress_at(stress_under(f, {"N": 1.0}), [0.03]), r"\(x, y\) = 0.03 must be 2 numbers"),
        (lambda f: stress_under(f, {"N": 1.0}).yield_ratio(0.0), "must be above 0"),
    ],
)
def test_refusals(bar, make, words):
    with pytest.raises(OutlineError, match=words):
        make(bar)


def test_a_bimoment_needs_a_section_that_warps():
    tube = section_stress(shapes.round_tube(UNIT, 0.08, 0.003))
    with pytest.raises(OutlineError, match=r"B = 5: this section does not warp"):
        stress_under(tube, {"B": 5.0})


def test_the_command(tmp_path, capsys):
    """The command's numbers are those of Python; figures and the table along an edge are written."""
    table = tmp_path / "bar.csv"
    table.write_text(
        "ring,x [mm],y [mm]\nouter,-10,-20\nouter,10,-20\nouter,10,20\nouter,-10,20\n", encoding="utf-8"
    )
    words = ["section", "--outline", str(table), "--material", "steel", "--out", str(tmp_path)]
    words += [
        "--loads",
        "N = 1 kN, Mx = 100 N*m",
        "--yield",
        "235 MPa",
        "--at",
        "0, 20 mm",
        "--along",
        "outer",
    ]
    assert main(words) == 0
    said = capsys.readouterr().out
    assert "Strength is not judged" in said
    assert "yield strength 235.0 MPa over the largest equivalent stress: 11.7" in said or "11.8" in said
    for name in ("loaded-bar.png", "along-bar.png"):
        assert (tmp_path / name).stat().st_size > 4_000
    head, *rows = (tmp_path / "along-bar.csv").read_text(encoding="utf-8").splitlines()
    assert head.startswith("distance [mm],x [mm],y [mm],direct [MPa]")
    assert len(rows) == 200
    assert main([*words, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["sections"][0]["stress"]["under_loads"]
    assert told["points"][0]["direct_Pa"] == pytest.approx(20e6, rel=1e-6)
    assert told["yield_over_largest"] == pytest.approx(235 / 20, rel=1e-3)
    assert told["strength_judged"] is False
    assert len(told["along"]) == 200


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--at", "0, 0 mm"], "go with --loads"),
        (["--loads", "M = 5 N*m"], "there is no load 'M'"),
        (["--loads", "N 5"], "write such as"),
        (["--loads", "N = 1 kN, N = 2 kN"], "gives N twice"),
        (["--loads", "N = 1 kN", "--along", "inner"], "there is no edge 'inner'"),
        (["--loads", "N = 1 kN", "--at", "5 mm"], "write such as"),
    ],
)
def test_the_command_refuses(tmp_path, capsys, more, words):
    table = tmp_path / "bar.csv"
    table.write_text(
        "ring,x [mm],y [mm]\nouter,-10,-20\nouter,10,-20\nouter,10,20\nouter,-10,20\n", encoding="utf-8"
    )
    assert main(["section", "--outline", str(table), "--material", "steel", "--no-figures", *more]) == 2
    assert words in capsys.readouterr().err


def test_figures(bar):
    """Panels, units and the words that strength is not judged."""
    state = stress_under(bar, Loads(N=1e3, T=5.0))
    figure = state_figure(state, "bar", 235e6)
    titles = [a.get_title(loc="left") or a.get_title() for a in figure.axes]
    assert [t for t in titles if t] == ["direct stress", "shear stress", "equivalent stress"]
    assert "strength is not judged" in figure.get_suptitle()
    assert f"{state.yield_ratio(235e6):.3g}" in figure.get_suptitle()
    distance, stress = stress_along(state, shapes._box(0.02, 0.04), 40)
    lines = along_figure(distance, stress, "outer").axes[0].get_lines()
    assert np.asarray(lines[0].get_ydata()) == pytest.approx([p.direct * 1e-6 for p in stress])
