"""Planning of readings: greedy choice against laws and brute force. Machine invented."""

import math
from dataclasses import replace

import numpy as np
import pytest
from campaigns import NAMES, mill

from strongback.errors import ReadingsError
from strongback.evidence.model import LoopModel, size_of
from strongback.evidence.plan import Cost, candidates, greedy, named, plan, separating
from strongback.evidence.readings import Instrument
from strongback.machine.part.make import parts_of


def test_covariance_after_is_that_of_all_chosen_together():
    rng = np.random.default_rng(1)
    S = rng.normal(size=(30, 4))
    prior = np.diag([1.0, 0.5, 2.0, 0.1])
    chosen, after = greedy(S, prior, range(30), range(30), 6)
    rows = S[[i for i, _, _ in chosen]]
    np.testing.assert_allclose(
        after, np.linalg.inv(np.linalg.inv(prior) + rows.T @ rows), rtol=1e-9, atol=1e-12
    )


def test_gains_add_to_the_fall_of_the_log_determinant():
    rng = np.random.default_rng(2)
    S = rng.normal(size=(20, 3))
    chosen, after = greedy(S, np.eye(3), range(20), range(20), 5)
    assert sum(g for _, g, _ in chosen) == pytest.approx(-0.5 * np.linalg.slogdet(after)[1])


def test_without_costs_the_first_choice_is_the_best_single_reading():
    rng = np.random.default_rng(3)
    S = rng.normal(size=(50, 3))
    chosen, _ = greedy(S, np.eye(3), [0] * 50, [0] * 50, 1, cost=Cost(stand=0.0, pull=0.0))
    dets = [np.linalg.det(np.eye(3) + np.outer(s, s)) for s in S]
    assert chosen[0][0] == int(np.argmax(dets))


def test_target_lowers_its_own_variance_most():
    rng = np.random.default_rng(4)
    S = rng.normal(size=(40, 3))
    target = np.array([1.0, -1.0, 0.0])
    chosen, after = greedy(S, np.eye(3), [0] * 40, [0] * 40, 1, target=target)
    variances = [target @ np.linalg.inv(np.eye(3) + np.outer(s, s)) @ target for s in S]
    assert target @ after @ target == pytest.approx(min(variances))
    assert chosen[0][1] == pytest.approx(-0.5 * math.log(min(variances) / 2.0))


def test_moving_stand_and_pull_costs():
    """Equal gains: everything in place goes first."""
    S = np.ones((3, 1))
    chosen, _ = greedy(S, np.eye(1), ["a", "b", "a"], ["p", "p", "q"], 3, placed=(["a"], ["q"]))
    assert chosen[0][0] == 2
    assert chosen[0][2] == 1.0


def test_no_reading_twice():
    S = np.array([[5.0, 0.0], [0.0, 0.1]])
    chosen, _ = greedy(S, np.eye(2), "ab", "pp", 5)
    assert sorted(i for i, _, _ in chosen) == [0, 1]


@pytest.fixture(scope="module")
def machine():
    return mill()


@pytest.fixture(scope="module")
def twelve(machine):
    return plan(machine, parts_of(machine), 12, parameters=NAMES)


def test_candidates_are_many_and_new(machine):
    found = candidates(machine)
    assert len(found) > 150
    assert len({(p.name, g.name) for p, g in found}) == len(found)
    own = {g.name for g in machine.gauges}
    assert own < {g.name for _, g in found}
    # The mill has a gauge at the top of its column in x already; there is no second one on the same spot.
    spots = [(g.part, g.at, g.direction, g.reference) for p, g in found if p.name == "jack"]
    assert len(set(spots)) == len(spots)


def test_nobody_is_sent_to_the_top_of_a_quill(machine):
    """A quill stands upright, but its upper end is in the head: only columns take rows of gauges and pulls at the top."""
    quill = replace(machine.members[0], name="quill", start=(0.0, 0.25, 0.5), end=(0.0, 0.25, 0.3))
    spans = (replace(quill.spans[0], length=0.2),)
    holder = replace(machine.joints[-1], name="bore", parts=("arm", "quill"), at=(0.0, 0.25, 0.4))
    there = replace(
        machine,
        members=(*machine.members, replace(quill, spans=spans)),
        joints=(*machine.joints, holder),
        tool=replace(machine.tool, part="quill"),
    )
    names = {name for pull, gauge in candidates(there) for name in (pull.name, gauge.name)}
    assert any(n.startswith("column top") for n in names)
    assert not [n for n in names if n.startswith("quill")]


def test_candidates_take_several_loads(machine):
    found = candidates(machine, {"jack": (100.0, 300.0)})
    assert {round(size_of(p)) for p, _ in found if p.name == "jack"} == {100, 300}


def test_plan_learns(twelve):
    assert len(twelve.steps) == 12
    assert (twelve.u_after <= twelve.u_before + 1e-12).all()
    joints = [p.kind == "joint" for p in twelve.parameters]
    assert twelve.u_after[joints].max() < 0.5 * twelve.u_before[joints].max()


def test_expected_readings_and_least_loads(machine, twelve):
    model = LoopModel.of(machine, parts_of(machine), [(s.pull, s.gauge) for s in twelve.steps], ())
    expected, _ = model(np.zeros(0))
    for step, value in zip(twelve.steps, expected, strict=True):
        assert step.expected == pytest.approx(value, rel=1e-9)
        # The structure is linear: at the least load the reading is five steps of the scale.
        assert abs(value) / step.load * step.least_load == pytest.approx(5e-6, rel=1e-9)
        assert step.least_load <= step.load


def test_a_coarse_gauge_leaves_out_what_it_cannot_see(machine):
    finer = {g.name: 1e-9 for _, g in candidates(machine)}
    coarse = plan(machine, parts_of(machine), 1, parameters=NAMES)
    fine = plan(machine, parts_of(machine), 1, parameters=NAMES, instrument=Instrument(resolutions=finer))
    assert fine.too_small < coarse.too_small
    small = [
        (p, g) for p, g in candidates(machine, {p.name: (1e-3,) for p in machine.pulls}) if size_of(p) < 1.0
    ]
    with pytest.raises(ReadingsError, match="no gauge moves by five steps"):
        plan(machine, parts_of(machine), 1, choices=small, parameters=NAMES)


def test_a_target_is_learned_better_than_by_the_general_plan(machine):
    target = np.zeros(len(NAMES))
    target[6] = 1.0
    one = plan(machine, parts_of(machine), 2, parameters=NAMES, target=target)
    general = plan(machine, parts_of(machine), 2, parameters=NAMES)
    assert one.u_after[6] < general.u_after[6]


def test_separating_names_a_reading_or_nothing(machine):
    prior = np.diag(np.full(8, 1.1) ** 2)
    steps = separating(machine, parts_of(machine), NAMES, prior, [(0, 6)])
    assert 'gauge "' in named(steps[0])
    tiny = separating(machine, parts_of(machine), NAMES, prior * 1e-12, [(0, 6)])
    assert tiny == [None]
