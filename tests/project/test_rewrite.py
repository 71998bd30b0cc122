"""Stiffnesses written back: they read as given, and nothing else changes."""

from __future__ import annotations

import difflib
import math
from pathlib import Path

import pytest

from strongback.errors import InputError
from strongback.machine.values import COMPONENTS
from strongback.project import read_text, with_joint_stiffness

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
GOOD = (HERE / "good.toml").read_text(encoding="utf-8")


def changed_lines(old, new):
    return [
        line
        for line in difflib.ndiff(old.splitlines(keepends=True), new.splitlines(keepends=True))
        if line[0] in "+-"
    ]


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_values_read_back_as_given(line_end, mark):
    text = mark + GOOD.replace("\n", line_end)
    values = {
        ("head", "along x"): (1.234e8, 1e8, 2e8),
        ("base", "about z"): (4.5678e5, 4e5, 5e5),
        ("head", "about y"): (12.5, 10.0, 20.0),
    }
    new = with_joint_stiffness(text, values)
    machine = read_text(new.removeprefix("\ufeff"), HERE / "project.toml").machine
    joint, support = machine.joints[0], machine.supports[0]
    assert (joint.stiffness[0], joint.low[0], joint.high[0]) == pytest.approx((1.234e8, 1e8, 2e8))
    assert joint.stiffness[1:3] == (150e6, 150e6)
    assert (joint.stiffness[4], joint.low[4], joint.high[4]) == pytest.approx((12.5, 10.0, 20.0))
    assert (support.stiffness[5], support.stiffness[4]) == pytest.approx((4.5678e5, 3e5))
    assert all(line.startswith("+ ") for line in changed_lines(text, new))
    assert len(changed_lines(text, new)) == 3
    assert new.count("\r\n") == (new.count("\n") if line_end == "\r\n" else 0)
    assert new.startswith(mark)


@pytest.mark.parametrize(
    "file", sorted(ROOT.glob("examples/*/project.toml")), ids=lambda file: file.parent.name
)
def test_every_component_of_an_example(file):
    text = file.read_text(encoding="utf-8")
    machine = read_text(text, file).machine
    values = {
        (holder.name, component): (1.5 * k, k, 2.0 * k)
        for _, holder in machine.holders()
        for component, k in zip(COMPONENTS, holder.stiffness, strict=True)
        if 0.0 < k < math.inf
    }
    new = with_joint_stiffness(text, values, source='fitted to "readings"')
    again = read_text(new, file).machine
    for (_, old), (_, fresh) in zip(machine.holders(), again.holders(), strict=True):
        ends = (fresh.low or fresh.stiffness, fresh.high or fresh.stiffness)  # a rigid joint has no range
        for k, value, low, high in zip(old.stiffness, fresh.stiffness, *ends, strict=True):
            factors = (1.5, 1.0, 2.0) if 0.0 < k < math.inf else (1.0, 1.0, 1.0)
            assert (value, low, high) == pytest.approx(tuple(f * k for f in factors), rel=1e-5)
        assert fresh.source == (
            'fitted to "readings"' if any(0.0 < k < math.inf for k in old.stiffness) else old.source
        )
    comments = [line.strip() for line in text.splitlines() if line.startswith("#")]
    assert [line.strip() for line in new.splitlines() if line.startswith("#")] == comments


def test_a_value_is_replaced_in_place_and_its_comment_stays():
    text = GOOD.replace('along = "150 N/um"', 'along_x = "1 N/um"   # guess\nalong = "150 N/um"')
    new = with_joint_stiffness(text, {("head", "along x"): (2e6, 2e6, 2e6)})
    assert 'along_x = "2 N/um"   # guess' in new


@pytest.mark.parametrize(
    ("value", "word"), [(math.inf, '"rigid"'), (0.0, '"free"'), (3e3, '"3 N/mm"'), (500.0, '"0.5 N/mm"')]
)
def test_words_and_units(value, word):
    assert f"along_z = {word}" in with_joint_stiffness(GOOD, {("head", "along z"): (value, value, value)})


def test_the_last_line_without_an_end():
    head, rest = GOOD.split("[[joint]]")
    joint, tail = rest.split("\n\n", 1)
    text = head + tail.rstrip() + "\n\n[[joint]]" + joint
    new = with_joint_stiffness(text, {("head", "along x"): (1e6, 5e5, 2e6)})
    assert read_text(new, HERE / "project.toml").machine.joints[0].high[0] == 2e6


@pytest.mark.parametrize(
    ("key", "numbers", "words"),
    [
        (("heads", "along x"), (1.0, 1.0, 1.0), 'did you mean "head"'),
        (("head", "about xx"), (1.0, 1.0, 1.0), 'did you mean "about x"'),
        (("head", "along x"), (-1.0, 1.0, 1.0), "cannot be written"),
        (("head", "along x"), (math.nan, 1.0, 1.0), "cannot be written"),
    ],
)
def test_what_cannot_be_written(key, numbers, words):
    with pytest.raises(InputError, match=words):
        with_joint_stiffness(GOOD, {key: numbers})


def test_a_range_in_keys_of_its_own_is_left_alone():
    text = GOOD.replace('along = "150 N/um"', 'along_x.value = "1 N/um"\nalong = "150 N/um"')
    with pytest.raises(InputError, match="spread over keys"):
        with_joint_stiffness(text, {("head", "along x"): (1e6, 1e6, 1e6)})
