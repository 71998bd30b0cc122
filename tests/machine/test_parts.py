"""Parts are handed over whole: what is missing is an error, never another model in silence."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from machines import cantilever

from strongback.errors import MachineError
from strongback.machine.loop import assemble
from strongback.machine.mass import total_mass
from strongback.machine.parameters import Parameter, responses, scaled
from strongback.machine.part.kinds import as_beams, kind_of
from strongback.machine.part.make import parts_of
from strongback.machine.part.values import Parts
from strongback.machine.plates import Diaphragm, EndPlate
from strongback.machine.solve import solve
from strongback.machine.values import (
    GROUND,
    RIGID,
    Block,
    Gauge,
    Joint,
    Machine,
    Member,
    Pad,
    Place,
    Pull,
    Span,
    Support,
)
from strongback.materials import material
from strongback.section.shapes import rectangular_tube
from strongback.section.values import stiffness_from_constants
from strongback.views.parts_text import kinds_words

EI, KGA, LENGTH = 3e4, 2e6, 0.5
HEIGHT = 0.2
BAR = stiffness_from_constants(name="bar", EA=4e7, EIx=EI, EIy=5e4, GJ=2e4, kGAx=KGA, kGAy=KGA)


def with_head() -> Machine:
    """A tube on the ground with a block on a pad on its front wall, invented."""
    side = (0.0, 0.025, 0.15)
    return Machine(
        name="tube with a head",
        sections=(("tube", rectangular_tube(material("aluminium"), 0.06, 0.05, 0.006)),),
        members=(
            Member(
                name="column",
                start=(0.0, 0.0, 0.0),
                end=(0.0, 0.0, HEIGHT),
                x_axis=(1.0, 0.0, 0.0),
                spans=(Span(section="tube", length=HEIGHT),),
                ends=("held", "free"),
                model="body",
            ),
        ),
        blocks=(Block(name="head", at=side),),
        pads=(Pad(name="pad", part="column", at=side, normal=(0.0, 1.0, 0.0), size=(0.04, 0.04)),),
        joints=(Joint(name="slide", parts=("column", "head"), at=side, stiffness=(RIGID,) * 6, pad="pad"),),
        supports=(Support(name="base", part="column", at=(0.0, 0.0, 0.0), stiffness=(RIGID,) * 6),),
        tool=Place(part="head", at=side),
        work=Place(part=GROUND, at=side),
    )


@pytest.mark.parametrize("share", [0.1, 0.34, 0.77])
@pytest.mark.parametrize("where", ["not among its pulls", "among its pulls"])
def test_a_pull_between_the_stations_of_a_cantilever(share, where):
    """Tip under a force at a: F a² (3 L - a) / (6 EI) + F a / kGA (Timoshenko, Strength of Materials, 1930)."""
    machine = cantilever(BAR, LENGTH)
    at = share * LENGTH
    pull = Pull(name="between", part="column", at=(0.0, 0.0, at), force=(0.0, 100.0, 0.0))
    if where == "among its pulls":
        machine = replace(machine, pulls=(*machine.pulls, pull))
    found = solve(assemble(machine, parts_of(machine)), pull)
    expected = 100.0 * (at**2 * (3 * LENGTH - at) / (6 * EI) + at / KGA)
    assert found.tool_displacement[1] == pytest.approx(expected, rel=1e-9)
    assert found.pull == pull
    assert found.imbalance < 1e-9


def test_a_gauge_between_the_stations_is_refused_and_not_guessed():
    tip = Pull(name="tip", part="column", at=(0.0, 0.0, LENGTH), force=(0.0, 100.0, 0.0))
    machine = cantilever(BAR, LENGTH, pulls=[tip])
    gauge = Gauge(name="between", part="column", at=(0.0, 0.0, 0.05), direction=(0.0, 1.0, 0.0))
    loop = assemble(machine, parts_of(machine))
    with pytest.raises(MachineError, match=r'no station on "column" at \(0, 0, 50\) mm'):
        responses(loop, [(machine.pulls[0], gauge)])
    there = replace(machine, gauges=(gauge,))
    assert np.isfinite(responses(assemble(there, parts_of(there)), [(machine.pulls[0], gauge)])).all()


def test_a_body_that_is_missing_is_no_beam():
    machine = with_head()
    parts = parts_of(as_beams(machine))
    with pytest.raises(MachineError, match='"column" is a body, and these parts hold none'):
        assemble(machine, parts)
    assert assemble(as_beams(machine), parts).bodies == {}


@pytest.mark.slow
def test_another_contact_than_was_condensed_is_refused():
    machine = with_head()
    softer = scaled(machine, {Parameter(kind="member", part="column", mechanism="contact"): 0.5})
    with pytest.raises(MachineError, match=r"contact of 2 times what is asked"):
        assemble(softer, parts_of(machine))
    stiffer = scaled(machine, {Parameter(kind="member", part="column", mechanism="wall"): 2.0})
    with pytest.raises(MachineError, match=r"contact of 2 times what is asked"):
        assemble(stiffer, parts_of(machine))


@pytest.mark.slow
def test_a_body_weighs_what_its_beam_weighs():
    machine = with_head()
    parts = parts_of(machine)
    area = 0.06 * 0.05 - 0.048 * 0.038
    mass, centre = total_mass(machine, parts)
    assert (mass, tuple(centre)) == (
        total_mass(as_beams(machine), parts)[0],
        tuple(total_mass(as_beams(machine), parts)[1]),
    )
    assert centre[2] == pytest.approx(0.5 * HEIGHT, rel=1e-9)
    assert mass == pytest.approx(area * HEIGHT * material("aluminium").density, rel=1e-6)


def test_parts_say_what_they_hold():
    parts = parts_of(as_beams(with_head()))
    assert repr(parts) == "Parts(sections: tube; bodies: none)"
    assert isinstance(parts.with_sections({"more": BAR}), Parts)
    assert list(parts.with_sections({"more": BAR}).sections)[-1] == "more"


def test_plates_of_a_beam_are_left_out_and_said() -> None:
    """``auto`` takes a tube without a pad as a beam: its cap and its diaphragm do nothing, but weigh."""
    metal = material("aluminium")
    machine = cantilever(rectangular_tube(metal, 0.08, 0.06, 0.004), 0.4)
    member = replace(
        machine.members[0],
        model="auto",
        cap=EndPlate(thickness=0.005, material=metal),
        diaphragms=(Diaphragm(at=0.1, thickness=0.004, material=metal),),
    )
    kind = kind_of(replace(machine, members=(member,)), member)
    assert not kind.is_body
    assert kind.plates == ("cap", "diaphragms")
    (words,) = kinds_words([kind])
    assert words.startswith(f'cap and diaphragms of "{member.name}" left out: it is a beam')
