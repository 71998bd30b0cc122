"""A column as a body among the stiffnesses that readings determine. The machine is the example tube-mill, invented."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from campaigns import log

from strongback import project
from strongback.evidence.calibrate import calibrate
from strongback.evidence.compare import compare
from strongback.evidence.model import LoopModel, at_load, default_parameters, match
from strongback.evidence.plan import candidates, plan
from strongback.evidence.readings import Instrument
from strongback.evidence.reduce import reduce
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter, responses
from strongback.machine.part.kinds import as_beams
from strongback.machine.part.make import parts_of
from strongback.machine.values import Gauge, Pull
from strongback.project.calibrated import with_calibrated_machine

pytestmark = pytest.mark.slow
EXAMPLE = Path(__file__).parents[2] / "examples" / "tube-mill"
WALLS = Parameter(kind="member", part="column", mechanism="wall")
CONTACT = Parameter(kind="member", part="column", mechanism="contact")
HIDDEN = {
    WALLS: math.log(0.8),
    CONTACT: math.log(0.45),
    Parameter(kind="joint", part="base", mechanism="about x"): math.log(0.5),
    Parameter(kind="joint", part="base", mechanism="about y"): math.log(0.7),
    Parameter(kind="joint", part="base", mechanism="about z"): math.log(1.6),
    Parameter(kind="joint", part="head bolts", mechanism="about x"): math.log(1.3),
}
NAMES = [
    *(("sideways", g) for g in ("tool x", "saddle x", "rear wall", "foot x", "top x", "side wall")),
    *(("fore-aft", g) for g in ("tool y", "tool z", "saddle y", "rear wall", "foot y")),
    *(("jack", g) for g in ("tool y", "tool z", "saddle y", "rear wall", "foot y")),
]
SHARP = Instrument(u_load=1e-6, resolution=1e-12, set_up=1e-10)


@pytest.fixture(scope="module")
def read():
    return project.read(EXAMPLE)


@pytest.fixture(scope="module")
def machine(read):
    """All pulls with 300 N, and one on the bare wall of the column."""
    wall = Pull(name="on the wall", part="column", at=(0.0, 0.0, 0.42), force=(300.0, 0.0, 0.0))
    return replace(read.machine, pulls=(*(at_load(p, 300.0) for p in read.machine.pulls), wall))


@pytest.fixture(scope="module")
def parts(machine):
    return parts_of(machine, contact=True)


def rows(machine, names, values):
    """A log with every stand where the machine has it."""
    stands = {g.name: g.reference for g in machine.gauges}
    return [replace(row, reference=stands[row.gauge]) for row in log(names, values)]


def campaign(machine, parts, names=NAMES):
    pulls, gauges = {p.name: p for p in machine.pulls}, {g.name: g for g in machine.gauges}
    pairs = [(pulls[p], gauges[g]) for p, g in names]
    model = LoopModel.of(machine, parts, pairs, tuple(HIDDEN))
    return reduce(rows(machine, names, model(np.array(list(HIDDEN.values())))[0]), SHARP)


def test_noiseless_readings_give_the_walls_and_the_joints(machine, parts):
    """To 0.1 %."""
    taken = campaign(machine, parts)
    found = calibrate(
        machine,
        parts,
        taken.measured,
        parameters=tuple(HIDDEN),
        instrument=SHARP,
        advise=False,
    )
    told = [p for p in found.parameters if p.value is not None]
    assert len(told) == len(HIDDEN)
    for p, x in zip(found.parameters, HIDDEN.values(), strict=True):
        assert p.value == pytest.approx(p.start * math.exp(x), rel=1e-3), p.name
    assert dict(found.machine.members[0].factors) == pytest.approx({"wall": 0.8, "contact": 0.45}, rel=2e-3)


def test_it_is_written_back_and_read_again(read, machine, parts):
    taken = campaign(machine, parts)
    found = calibrate(
        read.machine,
        parts,
        taken.measured,
        parameters=tuple(HIDDEN),
        instrument=SHARP,
        advise=False,
    )
    text = with_calibrated_machine(read.text, read.machine, found.machine, source="calibrated")
    again = project.read_text(text, read.path).machine
    assert dict(again.members[0].factors) == pytest.approx({"wall": 0.8, "contact": 0.45}, rel=2e-3)
    there = compare(again, parts, taken.measured, parameters=())
    values = np.array([m.value for m in taken.measured])
    assert np.array([row.predicted for row in there.rows]) == pytest.approx(values, rel=2e-3, abs=2e-8)


def test_a_body_has_walls_and_contact_and_a_beam_its_mechanisms(machine):
    def of_column(found):
        return {p.mechanism for p in found if p.kind == "member" and p.part == "column"}

    assert of_column(default_parameters(machine)) == {"wall", "contact"}
    assert of_column(default_parameters(as_beams(machine))) == {"bending", "torsion"}


def test_slopes_of_walls_and_contact_are_those_of_the_readings(machine, parts):
    """Virtual work against a difference of two solutions, gauges on the walls beside the pad among them."""
    pairs = [(p, g) for p in machine.pulls[:3] for g in machine.gauges]
    model = LoopModel.of(machine, parts, pairs, (WALLS, CONTACT))
    at, step = np.array([-0.3, 0.5]), 1e-4
    slopes = model(at)[1]
    for i in range(2):
        move = step * np.eye(2)[i]
        difference = (model(at + move)[0] - model(at - move)[0]) / (2 * step)
        assert slopes[:, i] == pytest.approx(difference, rel=1e-5, abs=1e-12)
        assert np.abs(slopes[:, i]).max() > 1e-6


@pytest.mark.parametrize("factors", [{"wall": 0.7}, {"contact": 0.4}, {"wall": 1.3, "contact": 0.2}])
def test_a_body_told_from_its_family_is_the_body_condensed_anew(machine, parts, factors):
    """Readings to half a percent of the largest, with the factors in the machine and pads of that stiffness condensed."""
    column = replace(machine.members[0], factors=tuple(factors.items()))
    there = replace(machine, members=(column, *machine.members[1:]))
    told = assemble(there, parts)
    anew = assemble(there, parts_of(there))
    pairs = [(p, g) for p in machine.pulls[:3] for g in machine.gauges]
    expected = responses(anew, pairs)
    assert responses(told, pairs) == pytest.approx(expected, abs=5e-3 * np.abs(expected).max(), rel=5e-3)
    plain = responses(assemble(machine, parts), pairs)
    read = np.abs(plain) > 1e-6 * np.abs(plain).max()  # some gauges stand still
    assert np.abs(expected[read] / plain[read] - 1.0).max() > 0.01


def test_a_pull_on_the_bare_wall_is_matched_calibrated_and_planned(machine, parts):
    """Gauges on the body that it pulls among them."""
    wall = Gauge(name="wall", part="column", at=(0.05, 0.0, 0.33), direction=(1.0, 0.0, 0.0), reference="bed")
    more = replace(machine, gauges=(*machine.gauges, wall))
    more_parts = parts_of(more, contact=True)
    names = [*NAMES, ("on the wall", "wall"), ("on the wall", "saddle x"), ("on the wall", "tool x")]
    taken = campaign(more, more_parts, names)
    found = match(more, taken.measured)
    assert not found.left_out
    fitted = calibrate(
        more,
        more_parts,
        taken.measured,
        parameters=tuple(HIDDEN),
        instrument=SHARP,
        advise=False,
    )
    for p, x in zip(fitted.parameters, HIDDEN.values(), strict=True):
        assert p.value == pytest.approx(p.start * math.exp(x), rel=1e-3), p.name
    pairs = candidates(more)
    assert any(pull.name == "on the wall" and gauge.name == "wall" for pull, gauge in pairs)
    assert len(plan(more, more_parts, 4).steps) == 4


def test_slopes_of_a_reading_beside_the_pull_are_those_of_the_reading(machine, parts):
    """What the cut gives by itself is of the walls, and follows their factor."""
    pairs = [(machine.pulls[-1], g) for g in machine.gauges]
    model = LoopModel.of(machine, parts, pairs, (WALLS, CONTACT))
    at, step = np.array([-0.3, 0.5]), 1e-4
    slopes = model(at)[1]
    for i in range(2):
        move = step * np.eye(2)[i]
        difference = (model(at + move)[0] - model(at - move)[0]) / (2 * step)
        assert slopes[:, i] == pytest.approx(difference, rel=1e-5, abs=1e-12)
