"""Every key and value of a document is found where it stands, and every fault is reported there."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from strongback.errors import ProjectError
from strongback.project import read_text
from strongback.project.document import parse
from strongback.project.source import Faults, Source, nearest

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
GOOD = (HERE / "good.toml").read_text(encoding="utf-8")
FILES = [*sorted(ROOT.glob("examples/*/project.toml")), HERE / "good.toml"]

TRICKY = '''
"a key" = 1 # one
'b.c'.d = "x # no comment"
e.f . g = [ 1, [2, "three"], # comment ]
  { h = 1.5, "i j" = [ ] },
]
k = """a "quoted" text \\""" still
""""
l = \'\'\'raw \\\'\'\'
m = 1979-05-27 07:32:00
[n . "o p"]
q = 0x1F
[[r]]
s = true
[r.t]
u = {}
[[r]]
s = false
[[r.v]]
w = "é"
[[r.v]]
w = inf
'''


def value_at(data, path):
    for part in path:
        data = data[part]
    return data


def leaves(data, path=()):
    items = data.items() if isinstance(data, dict) else enumerate(data)
    for key, value in items:
        yield (*path, key)
        if isinstance(value, dict | list):
            yield from leaves(value, (*path, key))


@pytest.mark.parametrize("text", [TRICKY, *(file.read_text(encoding="utf-8") for file in FILES)])
@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_every_value_is_found_where_it_stands(text, line_end):
    text = text.replace("\n", line_end)
    document = parse(Source(name="x", text=text))
    paths = list(leaves(document.data))
    assert paths
    for path in paths:
        place = document.places[path]
        written = text[place.start : place.end]
        if written.startswith("[") and place.start == place.key and not isinstance(path[-1], int):
            continue  # a heading
        if isinstance(path[-1], int) and written.startswith("[["):
            continue
        if place.start != place.key and "." in re.sub(
            r"""["'].*?["']""", "", text[place.key : place.key_end]
        ):
            continue  # a dotted key stands for each of its tables
        assert tomllib.loads(f"v = {written}")["v"] == value_at(document.data, path), path


def line_of(text, offset):
    return text.count("\n", 0, offset) + 1, offset - (text.rfind("\n", 0, offset) + 1) + 1


PAIRS = list(re.finditer(r"^(\w+) = (.+)$", GOOD, re.MULTILINE))


@pytest.mark.parametrize("pair", PAIRS, ids=[f"{line_of(GOOD, m.start())[0]} {m.group(1)}" for m in PAIRS])
def test_a_value_of_the_wrong_kind_is_marked_where_it_stands(pair):
    text = GOOD[: pair.start(2)] + "1979-05-27" + GOOD[pair.end(2) :]
    with pytest.raises(ProjectError) as caught:
        read_text(text, HERE / "good.toml")
    assert line_of(text, pair.start(2)) in [(f.line, f.column) for f in caught.value.faults]


HEADS = list(re.finditer(r"^\[.*\]$", GOOD, re.MULTILINE))


@pytest.mark.parametrize("head", HEADS, ids=[f"{line_of(GOOD, m.start())[0]} {m.group()}" for m in HEADS])
def test_an_unknown_key_is_marked_where_it_stands(head):
    text = GOOD[: head.end()] + "\n  xyzzy = 1" + GOOD[head.end() :]
    with pytest.raises(ProjectError) as caught:
        read_text(text, HERE / "good.toml")
    line, _ = line_of(text, head.end() + 3)
    (fault,) = [f for f in caught.value.faults if "xyzzy" in f.message]
    assert (fault.line, fault.column, fault.width) == (line, 3, 5)


@pytest.mark.parametrize("pair", PAIRS[::3], ids=[f"{line_of(GOOD, m.start())[0]}" for m in PAIRS[::3]])
def test_a_broken_statement_is_marked_on_its_line(pair):
    text = GOOD[: pair.start(2)] + "= " + GOOD[pair.start(2) :]
    with pytest.raises(ProjectError) as caught:
        read_text(text, HERE / "good.toml")
    assert [(f.line, f.column) for f in caught.value.faults] == [line_of(text, pair.start(2))]


def test_carets_stand_below_the_place():
    faults, source = Faults(), Source(name="a.toml", text="x = 1\n\tyy = 'é' # long\n")
    faults.add(source, source.text.index("'"), "must be a number", "write a number", width=3)
    with pytest.raises(ProjectError) as caught:
        faults.raise_if_any()
    head, line, carets, hint = str(caught.value).splitlines()
    assert head == "a.toml:2:7 must be a number"
    assert line[carets.index("^") :][:3] == "'é'"
    assert carets.count("^") == 3
    assert hint == "   help: write a number"


def test_a_long_line_is_cut_around_the_place():
    faults, source = Faults(), Source(name="a", text="x" * 500 + "HERE" + "y" * 500)
    faults.add(source, 500, "must not be here", width=4)
    with pytest.raises(ProjectError) as caught:
        faults.raise_if_any()
    _, line, carets = str(caught.value).splitlines()
    assert line[carets.index("^") :][:4] == "HERE"
    assert len(line) < 120


def test_many_faults_are_counted():
    faults, source = Faults(), Source(name="a", text="x\n" * 200)
    for i in range(200):
        faults.add(source, 2 * i, f"fault {i}")
    with pytest.raises(ProjectError, match="and 150 more faults") as caught:
        faults.raise_if_any()
    assert len(caught.value.faults) == 200


@pytest.mark.parametrize(
    ("name", "known", "hint"),
    [
        ("Column", ["column", "bed"], 'did you mean "column"?'),
        ("colunm", ["column", "bed"], 'did you mean "column"?'),
        ("spindle", ["column", "bed"], "known: column, bed"),
        ("spindle", [], "known: none"),
        ("zz", [f"part {i}" for i in range(20)], "and 8 more"),
    ],
)
def test_nearest_name(name, known, hint):
    assert hint in nearest(name, known)
