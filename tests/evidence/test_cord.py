"""Pulls that are not quite in their direction: what they do to readings, and to intervals."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from campaigns import FULL, NAMES, log, mill, pairs_of, truth_of

from strongback.evidence.calibrate import calibrate
from strongback.evidence.compare import compare
from strongback.evidence.cord import across, slant_errors
from strongback.evidence.model import LoopModel
from strongback.evidence.plan import plan
from strongback.evidence.readings import Instrument, Reading
from strongback.evidence.reduce import reduce
from strongback.machine.loop import assemble
from strongback.machine.parameters import responses
from strongback.machine.part.make import parts_of
from strongback.machine.values import Pull


@pytest.fixture(scope="module")
def machine():
    return mill()


@pytest.fixture(scope="module")
def parts(machine):
    return parts_of(machine)


@pytest.mark.parametrize("force", [(300.0, 0.0, 0.0), (0.0, -40.0, 0.0), (3.0, -2.0, 7.0)])
def test_directions_across_are_at_right_angles_and_of_the_same_size(force):
    pull = Pull(name="p", part="arm", at=(0.0, 0.0, 0.0), force=force)
    forces = np.array([force, *(p.force for p in across(pull))])
    assert forces @ forces.T == pytest.approx(np.dot(force, force) * np.eye(3), abs=1e-12)


def test_a_couple_has_no_direction_across():
    assert across(Pull(name="c", part="arm", at=(0.0, 0.0, 0.0), couple=(0.0, 0.0, 5.0))) is None


def test_error_of_a_slant_is_the_reading_of_a_turned_pull(machine, parts):
    """Ten degrees off: 17.4 % of the force pulls across (elementary trigonometry), the gauge sees its cross compliance."""
    loop = assemble(machine, parts, pieces=1)
    pairs = pairs_of(machine, [("fore-aft", "tool y"), ("fore-aft", "top y"), ("sideways", "tool x")])
    off = math.radians(10.0)
    errors = slant_errors(loop, pairs, [math.sin(off)] * 3)
    assert errors.shape == (3, 4)
    for i, (pull, gauge) in enumerate(pairs):
        own = errors[i][errors[i] != 0.0]
        for turned, error in zip(across(pull), own, strict=True):
            both = dataclasses.replace(
                pull,
                force=tuple(
                    math.cos(off) * a + math.sin(off) * b
                    for a, b in zip(pull.force, turned.force, strict=True)
                ),
            )
            straight, slanted = responses(loop, [(pull, gauge), (both, gauge)])
            assert slanted - math.cos(off) * straight == pytest.approx(error, rel=1e-9)


def test_a_noted_angle_widens_the_comparison(machine, parts):
    """An angle in the log lies in a plane nobody noted; without one the cord is as straight as stated."""

    def row(angle):
        reading = Reading(pull="jack", gauge="tool y", load=300.0, loaded=50e-6, angle=angle, reference="bed")
        campaign = reduce([reading], Instrument(u_angle=0.0))
        return compare(machine, parts, campaign.measured, parameters=()).rows[0]

    assert row(0.0).u_predicted == 0.0
    pull, gauge = pairs_of(machine, [("jack", "tool y")])[0]
    loop = assemble(machine, parts, pieces=1)
    cross = responses(loop, [(p, gauge) for p in across(pull)])
    assert row(math.radians(10.0)).u_predicted == pytest.approx(
        math.sin(math.radians(10.0)) * math.sqrt(0.5 * float(cross @ cross)), rel=1e-9
    )


def _slanted(machine, parts, logarithms, angles):
    """Readings of the full plan with every pull turned by its own two angles [m]."""
    pairs = pairs_of(machine, FULL)
    turned = []
    for pull, gauge in pairs:
        a, b = angles[pull.name]
        sideways = across(pull)
        force = tuple(
            u + math.sin(a) * v + math.sin(b) * w
            for u, v, w in zip(pull.force, sideways[0].force, sideways[1].force, strict=True)
        )
        turned.append((dataclasses.replace(pull, force=force), gauge))
    return LoopModel.of(machine, parts, turned, NAMES)(logarithms)[0]


def test_intervals_hold_the_truth_with_slanted_cords_and_fail_without_knowing(machine, parts):
    """Three degrees of slant in each plane: known of, 95 % of the intervals hold; taken as straight, far fewer."""
    slant = math.radians(3.0)
    held = {slant: [], 0.0: []}
    for seed in range(25):
        rng = np.random.default_rng(seed)
        truth = np.append(rng.normal(0.0, 1.0, 6), rng.normal(0.0, 0.1, 2))
        angles = {p.name: rng.normal(0.0, slant, 2) for p in machine.pulls}
        rows = log(FULL, _slanted(machine, parts, truth, angles), rng, between=0.3e-6, within=0.2e-6)
        for known, found in held.items():
            instrument = Instrument(u_load=1e-4, u_angle=known)
            fitted = calibrate(
                machine,
                parts,
                reduce(rows, instrument).measured,
                parameters=NAMES,
                instrument=instrument,
                advise=False,
            )
            found += [
                p.low <= p.start * math.exp(x) <= p.high
                for p, x in zip(fitted.parameters, truth, strict=True)
                if p.value is not None
            ]
    assert len(held[slant]) > 100
    assert 0.92 <= np.mean(held[slant]) <= 0.995
    assert np.mean(held[0.0]) < 0.85


def test_straight_cords_change_nothing(machine, parts):
    exact = truth_of(machine, parts, FULL, NAMES, np.zeros(8))
    campaign = reduce(log(FULL, exact), Instrument(u_angle=0.0))
    model = LoopModel.of(machine, parts, pairs_of(machine, FULL), NAMES)
    assert model.slants(np.zeros(8), [m.slant for m in campaign.measured]).shape == (23, 0)


def test_a_plan_trusts_a_reading_less_the_more_its_cord_may_be_off(machine, parts):
    """A jack on a slender column: the cross force of 3 degrees moves the gauge more than its scatter."""
    choices = pairs_of(machine, [("jack", "tool y"), ("jack", "tool z")])
    straight, slanted = (
        plan(
            machine, parts, 2, choices=choices, parameters=NAMES[:1], instrument=Instrument(u_angle=angle)
        ).steps[-1]
        for angle in (0.0, math.radians(3.0))
    )
    assert slanted.gain < 0.9 * straight.gain
