"""Where an open length meets a closed one: said where it is so, with what it may add, against own 3D."""

from __future__ import annotations

from dataclasses import replace

import pytest
from oracle import test_bricks

from strongback.answer import plain
from strongback.machine.assembled import assembled
from strongback.machine.deflected import deflected
from strongback.machine.open_closed import STIFFER, Meeting, open_meets_closed
from strongback.machine.plates import Diaphragm
from strongback.machine.values import Span
from strongback.views.deflection_text import sheet
from strongback.views.parts_text import meeting_words

TWO = (Span(section="closed", length=test_bricks.LOW), Span(section="open", length=test_bricks.HIGH))


def bar(spans=TWO, **changed):
    """The channel on a box of the same that is solved in 3D, with outlines."""
    machine = test_bricks.bar()
    return replace(machine, members=(replace(machine.members[0], spans=spans, **changed),))


def test_it_is_seen_where_it_is_and_nowhere_else():
    assert open_meets_closed(bar()) == (
        Meeting(member="bar", at=test_bricks.LOW, open="open", closed="closed"),
    )
    whole = test_bricks.LOW + test_bricks.HIGH
    assert open_meets_closed(bar((Span(section="open", length=whole),))) == ()
    assert open_meets_closed(bar((Span(section="closed", length=whole),))) == ()
    plate = Diaphragm(at=test_bricks.LOW - 0.01, thickness=0.004, material=test_bricks.ALUMINIUM)
    assert open_meets_closed(bar(diaphragms=(plate,))) == ()
    far = replace(plate, at=0.02)
    assert len(open_meets_closed(bar(diaphragms=(far,)))) == 1


def test_the_sentence_has_the_figure_for_the_machine():
    """At the most the twist of the member times 0.31 / 0.69; a pull without twist adds nothing."""
    machine = bar()
    found = deflected(assembled(machine), machine.pulls)
    ((name, most),) = found.twist_doubts[0].adds
    budget = found[name].budget
    twist = sum(r.contribution for r in budget.rows if r.mechanism in ("torsion", "warping"))
    assert most == pytest.approx(abs(twist) * STIFFER[1] / (1.0 - STIFFER[1]))
    (line,) = meeting_words(open_meets_closed(machine), found.twist_doubts)
    assert line.startswith('"bar": beam 17-31 % too stiff in twist where an open span meets a closed one')
    told = "".join(str(block) for block in sheet(found).blocks)
    assert "too stiff in twist" in told
    assert plain(found)["open_meets_closed"][0]["member"] == "bar"


@pytest.mark.slow
def test_the_solid_is_softer_by_what_is_said():
    beam, solid = test_bricks.as_a_beam(), test_bricks.twist(shape_held=False)
    assert STIFFER[0] < 1.0 - beam / solid < STIFFER[1] + 0.01
