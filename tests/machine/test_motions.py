"""A joint's components are called by the motion that the operator sees, whatever axes its kind has."""

from __future__ import annotations

from dataclasses import replace

import pytest

from strongback.evidence.model import in_words
from strongback.machine.budget import budget
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter, parameters_of
from strongback.machine.part.make import parts_of
from strongback.project import demo_folder, read


@pytest.fixture(scope="module")
def mill():
    return read(demo_folder()).machine


def test_a_slide_facing_the_operator_yaws_about_its_own_y(mill):
    """Its y runs up the column and its z out of the faces, towards the operator."""
    words = {
        c: in_words(Parameter(kind="joint", part="carriage", mechanism=c), mill)
        for c in ("about y", "about z")
    }
    assert words == {"about y": "carriage yaw", "about z": "carriage side tilt"}
    feet = in_words(Parameter(kind="support", part="left foot", mechanism="along z"), mill)
    assert feet == "left foot up"


def test_every_stiffness_has_a_name_of_its_own(mill):
    names = [in_words(p, mill) for p in parameters_of(mill)]
    assert len(set(names)) == len(names)


def test_budgets_say_the_motion(mill):
    """A sideways pull turns the head about the column (yaw) and tilts it sideways, and never nods it."""
    rows = budget(assemble(mill, parts_of(mill)), mill.pulls[0]).rows
    own = {row.motion: row for row in rows if row.part == "carriage"}
    assert {"yaw", "side tilt", "sideways"} <= set(own)
    assert abs(own["nod"].share) < 1e-6
    assert own["yaw"].words == "yaw"
    member = next(row for row in rows if row.kind == "member")
    assert (member.motion, member.words) == ("", member.mechanism)


def test_words_turn_with_the_operator(mill):
    there = replace(mill, operator="+x")
    nod = Parameter(kind="joint", part="base", mechanism="about x")
    assert (in_words(nod, mill), in_words(nod, there)) == ("base nod", "base side tilt")
