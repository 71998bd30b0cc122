"""Names of output files: one each, inside the folder, whatever a project calls its things."""

import os
import time
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from strongback.cli.frame import main
from strongback.project import demo_folder
from strongback.project.atomic import STALE, write_bytes
from strongback.project.out_names import out_names

HOSTILE = st.one_of(
    st.text(max_size=80),
    st.text(alphabet="aA-/ \\.:\x00ß", max_size=6),
    st.sampled_from(["../../x", "/etc/x", "a b", "a-b", "A B", "a-b-2", "", "..", "CON", "é", "e\u0301"]),
)


@given(st.lists(st.one_of(HOSTILE, st.tuples(HOSTILE, HOSTILE)), max_size=8))
def test_names_differ_and_stay_in_their_folder(keys):
    names = out_names("machine", keys, ".png")
    assert set(names) == set(keys)
    folded = [name.casefold() for name in names.values()]
    assert len(set(folded)) == len(names)
    for name in names.values():
        assert Path(name).name == name
        assert name.startswith("machine-")
        assert name.endswith(".png")
        assert len(os.fsencode(name)) <= 200
        assert name.isprintable()


def test_parts_that_join_to_the_same_text_are_told_apart():
    names = out_names("walls", [("a", "b-c"), ("a-b", "c"), "a b c"], ".png")
    assert list(names.values()) == ["walls-a-b-c.png", "walls-a-b-c-2.png", "walls-a-b-c-3.png"]


def test_a_number_given_to_one_is_not_taken_from_another():
    names = out_names("machine", ["a-2", "a", "A"], ".png")
    assert names == {"a-2": "machine-a-2.png", "a": "machine-a.png", "A": "machine-a-3.png"}


def hostile_project(folder):
    """The demo with names that point out of the folder of figures."""
    for file in demo_folder().iterdir():
        if file.is_file():
            (folder / file.name).write_bytes(file.read_bytes())
    text = (folder / "project.toml").read_text(encoding="utf-8")
    changed = text.replace('name = "before"', 'name = "a/../../../escaped"')
    assert changed != text
    (folder / "project.toml").write_text(changed, encoding="utf-8")


def test_commands_write_nothing_outside_out(tmp_path, monkeypatch, capsys):
    place = tmp_path / "one" / "two" / "project"
    place.mkdir(parents=True)
    hostile_project(place)
    monkeypatch.chdir(place)
    before = set(tmp_path.rglob("*"))
    for command in ("readings", "compare", "calibrate"):
        assert main([command, ".", "--out", "pictures"]) == 0
    new = {p.relative_to(place).as_posix() for p in tmp_path.rglob("*") if p not in before}
    assert new == {
        "pictures",
        "pictures/readings-a-escaped.png",
        "pictures/comparison-a-escaped.png",
        "pictures/calibrated-a-escaped.png",
        "pictures/correlation.png",
    }


def test_what_a_kill_left_beside_a_file_is_swept(tmp_path):
    old, new, other = (tmp_path / name for name in (".a.png.1.part", ".a.png.2.part", ".b.png.1.part"))
    for part in (old, new, other):
        part.write_bytes(b"half")
    for part in (old, other):
        os.utime(part, (time.time() - 2 * STALE,) * 2)
    write_bytes(tmp_path / "a.png", b"whole")
    assert sorted(p.name for p in tmp_path.iterdir()) == [".a.png.2.part", ".b.png.1.part", "a.png"]
