"""`strongback section --stress` draws; what unlike Poisson's ratios add is said on the sheet and in the data."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from sections import MINERAL, two_cells

from strongback.answer import plain
from strongback.cli.frame import main
from strongback.section.handbook import handbook
from strongback.section.outline import filled
from strongback.section.store import solved_section
from strongback.section.values import Fill
from strongback.views import section_text
from strongback.views.sheet import Block, Sheet


def test_stress_is_drawn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "bar.csv"
    table.write_text("ring,x [mm],y [mm]\nouter,0,0\nouter,20,0\nouter,20,10\nouter,0,10\n", encoding="utf-8")
    words = ["section", "--outline", str(table), "--material", "steel", "--stress", "--out", str(tmp_path)]
    assert main(words) == 0
    assert (tmp_path / "stress-bar.png").stat().st_size > 5_000
    assert "stress-bar.png" in "".join(capsys.readouterr())


def test_stress_is_told_with_place_and_mesh_error(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "strip.csv"
    table.write_text("ring,x [mm],y [mm]\nouter,0,0\nouter,60,0\nouter,60,3\nouter,0,3\n", encoding="utf-8")
    words = ["section", "--outline", str(table), "--material", "steel", "--stress", "--no-figures"]
    assert main(words) == 0
    said = " ".join(capsys.readouterr().out.split())
    # 3 T/(b t²) / (1 - 0.63 t/b) = 5.737 MPa per N m (Timoshenko & Goodier, art. 109)
    assert "torque, warping free shear 5.74 MPa per N m" in said or "shear 5.736 MPa per N m" in said
    assert "Strength is not judged" in said
    assert main([*words, "--json"]) == 0
    stress = json.loads(capsys.readouterr().out)["sections"][0]["stress"]
    assert stress["converged"]
    peak = next(p for p in stress["peaks"] if (p["load"], p["stress"]) == ("T", "shear"))
    assert peak["largest_Pa_per_unit"] == pytest.approx(3.0 / (0.06 * 0.003**2) / (1 - 0.63 / 20), rel=0.005)
    assert peak["unit"] == "N m"
    assert peak["moved"] < 0.02


def shown(blocks: list[Block]) -> str:
    return Sheet(tuple(blocks)).text(80)


def test_poisson_is_told_of_a_filled_section(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STRONGBACK_CACHE", "off")
    outline = filled(two_cells(), {"a": Fill(material=MINERAL)})
    solved = solved_section(outline)
    assert "hold each other sideways" in shown(
        section_text.section_blocks(solved, handbook(outline), outline)
    )
    told = plain(solved)
    assert 1.001 < told["exact"]["EA_N"] / told["bond"]["bonded"]["EA_N"] < 1.006
    alone = solved_section(two_cells())
    assert "sideways" not in shown(section_text.section_blocks(alone, (), two_cells()))
    assert "exact" not in plain(alone)
