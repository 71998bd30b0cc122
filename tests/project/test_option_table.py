"""``[[option]]`` tables: read, refused with their place, weighed beside the catalogue."""

from __future__ import annotations

from pathlib import Path

import pytest

import strongback as sb
from strongback.errors import ProjectError
from strongback.project import read
from strongback.project.read import read_text

MILL = Path(__file__).parents[2] / "examples" / "iron-mill"
OWN = """
[[option]]
name = "bonded cover"
sections = { column = "column closed" }
cost = 60
hours = 8
reversible = false
excludes = ["closing plate"]

[[option]]
name = "stiffer quill"
on = ["quill and bearings"]
factor = 1.7
motions = ["about_x", "about_y"]
cost = 75
mass = "-0.5 kg"
"""


def with_text(text, *, lines=False):
    """The iron mill and more text; as a line of sections its column takes a plate on screws."""
    own = read(MILL).text
    if lines:
        own = own.replace('[[member]]\nname = "column"\n', '[[member]]\nname = "column"\nmodel = "beam"\n', 1)
        assert own != read(MILL).text
    return read_text(own + text, MILL / "project.toml")


@pytest.mark.slow
def test_own_options_are_weighed_beside_the_catalogue():
    project = with_text(OWN, lines=True)
    assert [o.name for o in project.extras["option"]] == ["bonded cover", "stiffer quill"]
    found = sb.options(project, pull="sideways", under={"sideways": 75e-6})
    cover, plate = found["bonded cover"].gain[0], found["closing plate"].gain[0]
    assert cover.ratio < plate.ratio  # bonded is more than screws do
    assert found["stiffer quill"].mass == pytest.approx(-0.5)
    assert found["stiffer quill"].gain[0].ratio < 1.0
    assert found.best_set.proved
    assert not {"bonded cover", "closing plate"} <= set(found.best_set.names)


@pytest.mark.parametrize(
    ("line", "new", "words"),
    [
        (
            'sections = { column = "column closed" }',
            'sections = { colum = "column closed" }',
            "no member has",
        ),
        (
            'sections = { column = "column closed" }',
            'sections = { column = "closed" }',
            "no section is called",
        ),
        ('on = ["quill and bearings"]', 'on = ["quil"]', "must be a joint or a support"),
        ("factor = 1.7", "factor = 1", "changes nothing"),
        ('name = "stiffer quill"', 'name = "bonded cover"', "is there twice"),
        ("cost = 75", "cost = -1", "cost"),
    ],
)
def test_faults_of_options_are_named(line, new, words):
    with pytest.raises(ProjectError, match=words):
        with_text(OWN.replace(line, new))
