"""Bad input: each a message with place and hint, the documented exit code, no traceback, nothing half-written."""

from __future__ import annotations

import re

import pytest

from strongback.cli.frame import main

HEAD = """
format = 2

[machine]
name = "mill"
"""
GOOD = (
    HEAD
    + """
[[section]]
name = "column"
material = "steel"
unit = "mm"
points = [[0, 0], [60, 0], [60, 80], [0, 80]]

[[member]]
name = "column"
section = "column"
start = "0, 0, 0 mm"
end = "0, 0, 400 mm"
x_axis = "+x"

[[support]]
name = "base"
part = "column"
at = "0, 0, 0 mm"
along = "rigid"
about = "rigid"

[tool]
part = "column"
at = "0, 100, 400 mm"

[work]
part = "ground"
at = "0, 100, 400 mm"

[[pull]]
name = "sideways"
part = "column"
at = "0, 100, 400 mm"
force = "100 N"
direction = "+x"
"""
)
POINTS = "points = [[0, 0], [60, 0], [60, 80], [0, 80]]"
CELL = '[[section.cell]]\nname = "inside"\npoints = {}\n\n[[member]]'


def cell(points):
    return [("[[member]]", CELL.format(points))]


CASES = {
    "self-crossing outline": (
        [(POINTS, "points = [[0, 0], [60, 80], [60, 0], [0, 80]]")],
        "crosses itself",
        3,
    ),
    "open outline": ([(POINTS, "points = [[0, 0], [60, 0]]")], "points", 3),
    "repeated point": (
        [(POINTS, "points = [[0, 0], [60, 0], [60, 0], [60, 80], [0, 80]]")],
        "twice|same|repeat",
        3,
    ),
    "NaN point": ([(POINTS, "points = [[0, 0], [nan, 0], [60, 80], [0, 80]]")], "number|finite", 3),
    "hole outside": (cell("[[100, 10], [120, 10], [120, 30], [100, 30]]"), "outside", 3),
    "hole touching": (cell("[[0, 10], [20, 10], [20, 30], [0, 30]]"), "inside|edge|touch|wall", 3),
    "zero thickness": (
        [(POINTS, 'midline = [[0, 0], [60, 0], [60, 80], [0, 80]]\nclosed = true\nthickness = "0 mm"')],
        "thickness",
        3,
    ),
    "cell named but not there": ([("[[member]]", '[[section.cell]]\nname = "lft"\n\n[[member]]')], "lft", 3),
    "unknown material": ([('"steel"', '"steal"')], "steal.*(\n.*)*steel", 3),
    "unknown unit": ([('"100 N"', '"100 Newtons"')], "Newtons", 3),
    "negative modulus": (
        [
            (
                HEAD,
                HEAD
                + '[[material]]\nname = "m"\nE = "-70 GPa"\nnu = 0.3\ndensity = "2700 kg/m^3"\nsource = "x"\n',
            ),
        ],
        "above 0",
        3,
    ),
    "misspelt key": ([("x_axis", "x_axes")], "did you mean.*x_axis|x_axis", 3),
    "pull at no body": (
        [('part = "column"\nat = "0, 100, 400 mm"\nforce', 'part = "colum"\nat = "0, 100, 400 mm"\nforce')],
        "colum",
        3,
    ),
    "pull at the ground": (
        [('part = "column"\nat = "0, 100, 400 mm"\nforce', 'part = "ground"\nat = "0, 100, 400 mm"\nforce')],
        "ground|pull",
        3,
    ),
    "number without unit": ([('"100 N"', "100")], "unit", 3),
    "no pull": ([(GOOD[GOOD.index("[[pull]]") :], "")], "no pull", 3),
    "not a table": ([(HEAD, HEAD + "= =\n")], "", 3),
    "free to move": (
        [('along = "rigid"', 'along_x = "free"\nalong_y = "rigid"\nalong_z = "rigid"')],
        '"column".*free|free.*"column"',
        4,
    ),
    "free to turn": (
        [('about = "rigid"', 'about_x = "rigid"\nabout_y = "rigid"\nabout_z = "free"')],
        "column",
        4,
    ),
}


def written(folder, changes):
    text = GOOD
    for old, new in changes:
        assert old in text, "the case no longer fits the file"
        text = text.replace(old, new, 1)
    (folder / "project.toml").write_text(text, encoding="utf-8")


@pytest.fixture(autouse=True)
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_file_without_a_fault_is_good(here, capsys):
    written(here, [])
    assert main(["deflect", ".", "--no-figures"]) == 0
    assert "sideways" in capsys.readouterr().out


@pytest.mark.parametrize("command", ["check", "deflect"])
@pytest.mark.parametrize("case", CASES)
def test_each_fault_is_refused_with_place_and_code(here, capsys, case, command):
    changes, words, code = CASES[case]
    if case in ("no pull",) and command == "check":
        pytest.skip("a machine without a pull can be checked")
    written(here, changes)
    assert main([command, "."]) == code
    said = capsys.readouterr()
    assert said.out == ""
    assert re.search(words, said.err), said.err
    assert "Traceback" not in said.err
    assert "unexpected" not in said.err
    left = {p.name for p in here.rglob("*") if p.is_file()} - {"project.toml"}
    assert left <= {"outline-at-fault-1.png"}  # the outline with its fault marked, see `check`


FILE_FAULTS = ["unknown material", "unknown unit", "misspelt key", "pull at no body", "number without unit"]


@pytest.mark.parametrize("case", FILE_FAULTS)
def test_a_fault_of_the_file_has_line_column_caret_and_hint(here, capsys, case):
    written(here, CASES[case][0])
    assert main(["check", "."]) == 3
    text = capsys.readouterr().err
    place = re.match(r"project\.toml:(\d+):(\d+) ", text)
    assert place is not None
    line = (here / "project.toml").read_text().splitlines()[int(place.group(1)) - 1]
    assert line in text
    assert "^" in text
    assert "help: " in text


def test_all_faults_at_once_in_file_order(here, capsys):
    written(
        here, [*CASES["unknown material"][0], *CASES["misspelt key"][0], *CASES["number without unit"][0]]
    )
    assert main(["check", "."]) == 3
    lines = [int(n) for n in re.findall(r"^project\.toml:(\d+):", capsys.readouterr().err, re.M)]
    assert len(lines) >= 3
    assert lines == sorted(lines)


@pytest.mark.parametrize(
    "make",
    [
        lambda p: p.joinpath("project.toml").write_bytes(b"\x00\xff\xfe"),
        lambda p: p.joinpath("project.toml").write_bytes(b"a" * 2_000_000),
        lambda p: p.joinpath("project.toml").mkdir(),
        lambda p: None,
    ],
    ids=["not text", "huge", "a folder", "nothing"],
)
def test_a_file_that_is_none(here, capsys, make):
    make(here)
    for command in (["check", "."], ["deflect", "."], ["section", "."], ["export", ".", "--to", "a.vtu"]):
        assert main(command) == 3
        said = capsys.readouterr()
        assert said.out == ""
        assert "project.toml" in said.err
    assert not (here / "a.vtu").exists()


def test_a_place_that_cannot_be_written(here, capsys):
    written(here, [])
    (here / "taken").write_text("a file")
    assert main(["deflect", ".", "--out", "taken"]) == 2  # refused by the option before any work
    assert main(["deflect", ".", "--out", "taken/deeper"]) == 5
    assert main(["export", ".", "--to", "no-folder/a.vtu"]) == 5
    assert "cannot be written" in capsys.readouterr().err


def test_section_tables_that_are_wrong(here, capsys):
    tables = {
        "text": "ring,x [mm],y [mm]\nouter,0,0\nouter,ten,0\nouter,10,10\n",
        "crossing": "ring,x [mm],y [mm]\nouter,0,0\nouter,10,10\nouter,10,0\nouter,0,10\n",
        "empty": "",
        "two points": "ring,x [mm],y [mm]\nouter,0,0\nouter,10,10\n",
        "radius": "ring,x [mm],y [mm],radius [mm]\nouter,0,0,9\nouter,10,0,9\nouter,10,10,0\nouter,0,10,0\n",
    }
    for name, text in tables.items():
        path = here / f"{name}.csv"
        path.write_text(text)
        assert main(["section", "--outline", str(path), "--material", "steel"]) == 3, name
        said = capsys.readouterr()
        assert said.out == ""
        assert "Traceback" not in said.err
