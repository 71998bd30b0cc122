"""The cache of dear results: equal inputs, equal names; what is kept comes back to the bit; damage counts as absence."""

from __future__ import annotations

import io
import os
import re
import time
import zipfile
from dataclasses import replace

import numpy as np
import pytest

from strongback import cache
from strongback.machine.body import BodyStiffness, PadSpec, body_stiffness
from strongback.materials import material
from strongback.section.mesh import mesh
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


def test_names_follow_the_libraries(place, monkeypatch):
    names = set()
    for library in (None, "numpy", "scipy", "shapely"):
        with monkeypatch.context() as patched:
            if library:
                patched.setattr(f"{library}.__version__", "0.0.0")
            cache._recipe.cache_clear()
            names.add(cache.key("section", 1.0))
    cache._recipe.cache_clear()
    assert len(names) == 4


def test_arrays_come_back_to_the_bit(place):
    arrays = {"a": np.random.default_rng(0).normal(size=(3, 4)), "names": np.array(["base", "saddle"])}
    cache.save("thing", arrays)
    kept = cache.load("thing", dict)
    assert kept is not None
    assert np.array_equal(kept["a"], arrays["a"])
    assert list(kept["names"]) == ["base", "saddle"]


def test_a_section_is_solved_once(place):
    outline = filled(tube(), {"inside": Fill(material=material("epoxy mineral"))})
    first, second = solved_section(outline), solved_section(outline)
    assert (first.cached, second.cached) == (False, True)
    assert replace(second, cached=False) == first


def npz(**arrays):
    buffer = io.BytesIO()
    np.savez(buffer, **arrays)
    return buffer.getvalue()


def sealed(name, content):
    """A file with the right name and checksum, whatever it holds."""
    return cache.MAGIC + name.encode() + b"\n" + cache._checksum(name, content) + b"\n" + content


def parts(data):
    """Arrays of a kept file."""
    content = data[len(cache.MAGIC) :].split(b"\n", maxsplit=2)[2]
    with np.load(io.BytesIO(content)) as kept:
        return dict(kept)


def changed(by):
    """A kept file whose arrays were changed and sealed again."""
    return lambda path: sealed(path.stem, npz(**by(parts(path.read_bytes()))))


def one_bit(path):
    data = bytearray(path.read_bytes())
    data[-40] ^= 1
    return bytes(data)


def encrypted(path):
    """The flag of an encrypted archive set in both of its headers."""
    content = bytearray(npz(**parts(path.read_bytes())))
    content[6] |= 1
    content[content.rindex(b"PK\x01\x02") + 8] |= 1
    return sealed(path.stem, bytes(content))


def parentheses(path):
    """A header of an array that nests deeper than a parser can go."""
    header = (b"(" * 9_000).ljust(9_100) + b"\n"
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("about.npy", b"\x93NUMPY\x01\x00" + len(header).to_bytes(2, "little") + header)
    return sealed(path.stem, buffer.getvalue())


def plain_array(path):
    buffer = io.BytesIO()
    np.save(buffer, np.zeros(3))
    return sealed(path.stem, buffer.getvalue())


DAMAGE = {
    "empty": (lambda path: b"", "not written by this package"),
    "torn archive": (lambda path: b"PK\x03\x04 torn", "not written by this package"),
    "bare archive": (lambda path: npz(**parts(path.read_bytes())), "not written by this package"),
    "cut": (lambda path: path.read_bytes()[:-1], "checksum"),
    "cut in the head": (lambda path: path.read_bytes()[:30], "cannot be used"),
    "one bit": (one_bit, "checksum"),
    "plain array": (plain_array, "cannot be used"),
    "encrypted": (encrypted, "encrypted"),
    "parentheses": (parentheses, "cannot be used"),
    "code": (changed(lambda a: {**a, "about": np.array([object()])}), "cannot be used"),
    "not a number": (changed(lambda a: {**a, "own matrix": np.full((8, 8), np.nan)}), "not finite"),
    "complex": (changed(lambda a: {**a, "own numbers": a["own numbers"] + 0j}), "not real"),
    "single": (changed(lambda a: {**a, "own numbers": a["own numbers"].astype(np.float32)}), "float32"),
    "shape": (changed(lambda a: {**a, "own matrix": np.zeros((4, 16))}), "(4, 16)"),
    "missing": (changed(lambda a: {k: v for k, v in a.items() if k != "errors"}), "errors"),
}


@pytest.mark.parametrize("damage", DAMAGE)
def test_a_bad_file_is_found_anew_with_a_notice(place, damage):
    first = solved_section(tube())
    (file,) = place.iterdir()
    good = file.read_bytes()
    spoilt, words = DAMAGE[damage]
    file.write_bytes(spoilt(file))
    with pytest.warns(cache.CacheNotice, match=re.escape(words)):
        again = solved_section(tube())
    assert not again.cached
    assert again.stiffness == first.stiffness
    assert parts(file.read_bytes()).keys() == parts(good).keys()
    assert solved_section(tube()).stiffness == first.stiffness


def test_two_files_that_were_swapped_are_noticed(place):
    other = rectangular_tube(material("aluminium"), 0.05, 0.03, 0.003)
    mine, theirs = solved_section(tube()).stiffness, solved_section(other).stiffness
    one, two = sorted(place.iterdir())
    kept = one.read_bytes()
    one.write_bytes(two.read_bytes())
    two.write_bytes(kept)
    with pytest.warns(cache.CacheNotice, match="another name"):
        found = solved_section(tube()), solved_section(other)
    assert [f.stiffness for f in found] == [mine, theirs]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
@pytest.mark.parametrize("make", [os.mkfifo, os.mkdir, lambda p: os.symlink(os.devnull, p)])
def test_what_is_no_plain_file_is_not_read(place, make):
    solved_section(tube())
    (file,) = place.iterdir()
    file.unlink()
    make(file)
    with pytest.warns(cache.CacheNotice, match="cannot be used"):
        assert not solved_section(tube()).cached


def test_a_huge_file_is_not_read(place, monkeypatch):
    solved_section(tube())
    monkeypatch.setattr(cache, "MAX_BYTES", 1_000)
    with pytest.warns(cache.CacheNotice, match="more than the cache may hold"):
        assert not solved_section(tube()).cached


def test_a_result_that_is_not_finite_is_not_kept(place):
    cache.save("thing", {"a": np.array([1.0, np.nan])})
    assert not place.exists()


def test_nothing_half_written_stays(place):
    cache.save("thing", {"a": np.zeros(3)})
    assert [f.name for f in place.iterdir()] == ["thing.kept"]


def test_what_a_kill_leaves_is_swept(place):
    place.mkdir()
    old, new = place / ".part-old", place / ".part-new"
    for part in (old, new):
        part.write_bytes(b"half")
    os.utime(old, (time.time() - 2 * cache.STALE,) * 2)
    cache.save("thing", {"a": np.zeros(3)})
    assert sorted(f.name for f in place.iterdir()) == [".part-new", "thing.kept"]


def test_turned_off(monkeypatch):
    monkeypatch.setenv("STRONGBACK_CACHE", "off")
    assert cache.folder() is None
    cache.save("thing", {"a": np.zeros(3)})
    assert cache.load("thing", dict) is None


def test_a_folder_that_cannot_be_written_is_no_fault(tmp_path, monkeypatch):
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    monkeypatch.setenv("STRONGBACK_CACHE", str(blocked / "below"))
    assert not solved_section(tube()).cached


@pytest.mark.parametrize(("bound", "most"), [("MAX_FILES", 3), ("MAX_BYTES", 3 * 1_500)])
def test_the_oldest_files_go(place, monkeypatch, bound, most):
    monkeypatch.setattr(cache, bound, most)
    for i in range(6):
        cache.save(f"thing {i}", {"a": np.full(128, float(i))})
        os.utime(place / f"thing {i}.kept", (i, i))
    cache.save("thing 6", {"a": np.full(128, 6.0)})
    left = sorted(f.name for f in place.iterdir())
    assert left == [f"thing {i}.kept" for i in (4, 5, 6)]


def test_a_body_is_checked_against_itself():
    """Every array of a body cut short, of another kind or pointing nowhere is refused; untouched it comes back."""
    section = mesh(tube(), size=0.01)
    pad = PadSpec(name="pad", centre=(0.02, 0.0, 0.1), normal=(1.0, 0.0), size=(0.02, 0.03))
    made = body_stiffness([(section, 0.2)], end="rigid", pads=[pad], growth=0.8, points=[(0.0, 0.015, 0.1)])
    body = made.to_arrays()
    assert BodyStiffness.from_arrays(body).names == ("base", "end", "pad")
    for name, array in body.items():
        kind = array.astype("S8" if array.dtype.kind == "U" else complex)
        shape = array[np.newaxis]
        for bad in (kind, shape):
            with pytest.raises(ValueError, match=r"^\w+ (has shape|holds|points)"):
                BodyStiffness.from_arrays({**body, name: bad})
        with pytest.raises(KeyError):
            BodyStiffness.from_arrays({k: v for k, v in body.items() if k != name})
    for name in ("triangles", "region"):
        with pytest.raises(ValueError, match="points at nothing"):
            BodyStiffness.from_arrays({**body, name: body[name] + 10**6})
