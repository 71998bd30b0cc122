"""The cache of dear results: equal inputs, equal names; what is kept comes back to the bit; damage counts as absence."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from strongback import cache
from strongback.materials import material
from strongback.section.outline import filled
from strongback.section.shapes import rectangular_tube
from strongback.section.store import solved_section
from strongback.section.values import Fill


@pytest.fixture
def place(tmp_path, monkeypatch):
    monkeypatch.setenv("STRONGBACK_CACHE", str(tmp_path / "kept"))
    return tmp_path / "kept"


def tube():
    return rectangular_tube(material("aluminium"), 0.04, 0.03, 0.003)


def test_names_follow_the_input(place):
    first = cache.key("section", tube(), 1e-3)
    assert first == cache.key("section", tube(), 1e-3)
    changed = rectangular_tube(material("aluminium"), 0.04, 0.03, 0.003000000001)
    others = [
        cache.key("section", changed, 1e-3),
        cache.key("section", tube(), 2e-3),
        cache.key("body", tube(), 1e-3),
    ]
    assert len({first, *others}) == 4
    with pytest.raises(TypeError, match="cannot make a key of object"):
        cache.key("section", object())


def test_arrays_come_back_to_the_bit(place):
    arrays = {"a": np.random.default_rng(0).normal(size=(3, 4)), "names": np.array(["base", "saddle"])}
    cache.save("thing", arrays)
    kept = cache.load("thing")
    assert kept is not None
    assert np.array_equal(kept["a"], arrays["a"])
    assert list(kept["names"]) == ["base", "saddle"]


def test_a_section_is_solved_once(place):
    outline = filled(tube(), {"inside": Fill(material=material("epoxy mineral"))})
    first, second = solved_section(outline), solved_section(outline)
    assert (first.cached, second.cached) == (False, True)
    assert replace(second, cached=False) == first


@pytest.mark.parametrize("damage", [b"", b"PK\x03\x04 torn", b"\x00" * 100])
def test_a_torn_file_counts_as_absent(place, damage):
    solved_section(tube())
    for file in place.glob("*.npz"):
        file.write_bytes(damage)
    assert not solved_section(tube()).cached


def test_nothing_half_written_stays(place):
    cache.save("thing", {"a": np.zeros(3)})
    assert [f.name for f in place.iterdir()] == ["thing.npz"]


def test_turned_off(monkeypatch):
    monkeypatch.setenv("STRONGBACK_CACHE", "off")
    assert cache.folder() is None
    cache.save("thing", {"a": np.zeros(3)})
    assert cache.load("thing") is None


def test_a_folder_that_cannot_be_written_is_no_fault(tmp_path, monkeypatch):
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    monkeypatch.setenv("STRONGBACK_CACHE", str(blocked / "below"))
    assert not solved_section(tube()).cached


def test_old_files_go(place, monkeypatch):
    monkeypatch.setattr(cache, "MAX_FILES", 3)
    for i in range(6):
        cache.save(f"thing {i}", {"a": np.full(2, i)})
    assert len(list(place.glob("*.npz"))) == 3
