"""Lines of every command fit 80 columns, and 60, and no number is parted from its unit."""

import itertools
import re

import pytest

from strongback.cli.frame import COMMANDS, main

CASES = {
    "demo": ["demo"],
    "check": ["check", "demo", "--no-figures"],
    "section": ["section", "demo", "--no-figures"],
    "deflect": ["deflect", "demo", "--no-figures"],
    "map": ["deflect", "demo", "--map", "--no-figures"],
    "loads": ["loads", "demo", "--no-figures"],
    "readings": ["readings", "demo", "--no-figures"],
    "compare": ["compare", "demo", "--no-figures"],
    "calibrate": ["calibrate", "demo", "--no-figures"],
    "plan": ["plan", "demo", "--count", "4", "--no-figures"],
    "explain": ["explain", "demo", "--no-figures"],
    "mix": ["mix", "demo", "--draws", "16", "--no-figures"],
    "export": ["export", "demo", "--pull", "jack", "--to", "x.glb"],
    "words": ["words"],
    "doctor": ["doctor"],
}
UNIT = re.compile(r"(?:µm|mm|N|kN|MPa|GPa|kg|thou|lbf|Hz|%)[/;,.) ]?")


def test_every_command_is_looked_at():
    assert {words[0] for words in CASES.values()} | {"new", "bundle", "options", "sweep", "vibrate"} >= set(
        COMMANDS
    )


@pytest.mark.slow
@pytest.mark.parametrize("columns", [60, 80])
@pytest.mark.parametrize("name", CASES)
def test_lines_fit_and_numbers_keep_their_units(name, columns, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", str(columns))
    assert main(CASES[name]) == 0
    said = capsys.readouterr()
    lines = (said.out + said.err).splitlines()
    assert lines
    whole = [
        line for line in lines if " " in line.strip()
    ]  # a path that is longer than the terminal stays whole
    assert [line for line in whole if len(line) > columns] == []
    for one, other in itertools.pairwise(lines):
        # Under a line of words that ends with a number, none begins with a unit.
        if "  " not in one.strip() and re.search(r"\d$", one):
            assert not UNIT.match(other.lstrip() + " "), (one, other)
