"""Sections remembered: what comes back from the cache is what was solved."""

from __future__ import annotations

from pathlib import Path

import pytest
from sections import MINERAL, two_cells

from strongback.section.outline import filled
from strongback.section.store import SolvedSection, solved_section
from strongback.section.values import Fill


@pytest.mark.parametrize("bond", ["bonded", "sliding", 1e11])
def test_kept_section_is_the_solved_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, bond: object
) -> None:
    monkeypatch.setenv("STRONGBACK_CACHE", str(tmp_path))
    outline = filled(two_cells(), {"a": Fill(material=MINERAL, bond=bond)})  # type: ignore[arg-type]
    fresh = solved_section(outline, half_wave=0.8)
    kept = solved_section(outline, half_wave=0.8)
    assert not fresh.cached
    assert kept.cached
    for key in SolvedSection.__slots__:
        assert key == "cached" or getattr(kept, key) == getattr(fresh, key)
    assert kept.exact is not None


def test_half_wave_belongs_to_the_key(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STRONGBACK_CACHE", str(tmp_path))
    outline = filled(two_cells(), {"a": Fill(material=MINERAL, bond=1e11)})
    short, long = (solved_section(outline, half_wave=h).stiffness for h in (0.3, 3.0))
    assert short.EIy < long.EIy


def test_torn_file_is_solved_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STRONGBACK_CACHE", str(tmp_path))
    fresh = solved_section(two_cells())
    for file in tmp_path.glob("*.npz"):
        file.write_bytes(file.read_bytes()[:100])
    assert solved_section(two_cells()).stiffness == fresh.stiffness
