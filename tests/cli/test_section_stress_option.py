"""`strongback section --stress` draws; what unlike Poisson's ratios add is said on the sheet and in the data."""

from __future__ import annotations

from pathlib import Path

import pytest
from sections import MINERAL, two_cells

from strongback.cli.frame import main
from strongback.section.handbook import handbook
from strongback.section.outline import filled
from strongback.section.store import solved_section
from strongback.section.values import Fill
from strongback.views import section_text


def test_stress_is_drawn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "bar.csv"
    table.write_text("ring,x [mm],y [mm]\nouter,0,0\nouter,20,0\nouter,20,10\nouter,0,10\n", encoding="utf-8")
    words = ["section", "--outline", str(table), "--material", "steel", "--stress", "--out", str(tmp_path)]
    assert main(words) == 0
    assert (tmp_path / "stress-bar.png").stat().st_size > 5_000
    assert "stress-bar.png" in "".join(capsys.readouterr())


def test_poisson_is_told_of_a_filled_section(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STRONGBACK_CACHE", "off")
    outline = filled(two_cells(), {"a": Fill(material=MINERAL)})
    solved = solved_section(outline)
    assert "hold each other sideways" in section_text.sheet(solved, handbook(outline), outline, 80)
    plain = section_text.as_dict(solved, ())
    assert 1.001 < plain["exact"]["EA_N"] / plain["bond"]["bonded"]["EA_N"] < 1.006
    alone = solved_section(two_cells())
    assert "sideways" not in section_text.sheet(alone, (), two_cells(), 80)
    assert "exact" not in section_text.as_dict(alone, ())
