"""Changed and random files: a project or a fault of this package, never anything else."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from strongback.errors import InputError, StrongbackError
from strongback.project import read_text
from strongback.project.csvfile import ring_rows
from strongback.project.document import parse
from strongback.project.source import Faults, Source

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
SEEDS = [
    (file, file.read_text(encoding="utf-8"))
    for file in (HERE / "good.toml", *sorted(ROOT.glob("examples/*/project.toml")))
]
TOKENS = st.sampled_from(
    [
        "nan",
        "inf",
        "-1",
        "1e400",
        '"1e300 mm"',
        '"-5 mm"',
        '"0 mm"',
        '"1e-30 mm"',
        '"rigid"',
        '"free"',
        "true",
        "[]",
        "{}",
        '""',
        "'''",
        '"""',
        '"',
        "\\",
        "[",
        "]",
        "{",
        "}",
        "=",
        "\n",
        "[[section]]\n",
        "[[member]]\n",
        "[[section.cell]]\n",
        'like = "column"\n',
        'unit = "m"\n',
        "closed = true\n",
        "radius = 5\n",
        'name = "x"\n',
        '"ground"',
        "[[1, 2], [3, 4], [5, 6]]",
        "1979-05-27",
        "0x1F",
        "é",
        "\x07",
        "\r",
        "#",
        ",",
        ".",
        '"1e308 kN/mm"',
        '"1e-300 N/um"',
        "[1, 2]",
    ]
)
SETTINGS = settings(
    deadline=None, max_examples=300, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


@st.composite
def mutations(draw):
    """A project file with one to six changes."""
    index = draw(st.integers(0, len(SEEDS) - 1))
    file, text = SEEDS[index]
    for _ in range(draw(st.integers(1, 6))):
        at = draw(st.integers(0, len(text)))
        kind = draw(st.sampled_from(["cut", "put", "replace", "value", "copy"]))
        token = draw(TOKENS)
        if kind == "value":
            found = list(re.finditer(r"(?<== )[^\n#]+", text))
            if found:
                match = found[at % len(found)]
                text = text[: match.start()] + token + text[match.end() :]
            continue
        size = draw(st.sampled_from([1, 3, 30, 200]))
        middle = {
            "cut": "",
            "put": token + text[at : at + size],
            "replace": token,
            "copy": 2 * text[at : at + size],
        }[kind]
        text = text[:at] + middle + text[at + size :]
    return file, text


def read_or_refused(text, file):
    try:
        return read_text(text, file)
    except InputError as error:
        return error


@SETTINGS
@given(mutations())
def test_changed_files_are_read_or_refused(mutation):
    file, text = mutation
    found = read_or_refused(text, file)
    assert found.message if isinstance(found, InputError) else found.machine.members


@SETTINGS
@given(st.text(max_size=300))
def test_random_text_is_no_project(text):
    with pytest.raises(StrongbackError):
        read_text(text, HERE / "project.toml")


@SETTINGS
@given(st.text(alphabet="ab.=[]{}\"'#\n \\1,-_", max_size=80))
def test_what_parses_has_a_place_for_every_key(text):
    try:
        document = parse(Source(name="x", text=text))
    except StrongbackError:
        return
    for key in document.data:
        assert (key,) in document.places


ROWS = "ring;x [mm];y [mm];radius [mm]\nouter;0,5;0;2\nouter;60;0;\nouter;60;80;\ninside;5;5;\ninside;9;5;1\n"


@SETTINGS
@given(
    st.integers(0, len(ROWS)),
    st.integers(0, 12),
    st.text(alphabet=';,\t"\n0123456789.e+-[]mn #ring\ufeff', max_size=12),
)
def test_changed_tables_are_read_or_refused(at, size, token):
    faults = Faults()
    rows = ring_rows(Source(name="x.csv", text=ROWS[:at] + token + ROWS[at + size :]), None, faults)
    assert rows or len(faults) or not (ROWS[:at] + token + ROWS[at + size :]).strip()


@st.composite
def rings(draw):
    number = st.one_of(
        st.integers(-50, 50),
        st.floats(-60, 60, allow_nan=False),
        st.sampled_from([0, 1e-9, 1e9, -1e-7, 30, 30.00001]),
    )
    return draw(st.lists(st.lists(number, min_size=2, max_size=3), min_size=0, max_size=12))


@SETTINGS
@given(rings(), rings(), st.sampled_from(["points", "midline"]), st.floats(-2, 40), st.booleans())
def test_random_outlines_are_read_or_refused(outer, inner, kind, size, closed):
    text = (HERE / "good.toml").read_text(encoding="utf-8")
    drawing = f'unit = "mm"\n{kind} = {outer}\nradius = {abs(size)}\n'
    if kind == "midline":
        drawing += f"thickness = {size}\nclosed = {str(closed).lower()}\n"
    if inner:
        drawing += f'[[section.cell]]\nname = "c"\nunit = "mm"\npoints = {inner}\nfill = "epoxy"\n'
    text = text.replace('shape = "rectangle"\nwidth = "60 mm"\ndepth = "80 mm"', drawing)
    found = read_or_refused(text, HERE / "project.toml")
    assert found.message if isinstance(found, InputError) else found.machine.members
