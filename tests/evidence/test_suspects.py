"""The table of compliances and every suspect against the whole machine, solved with that change. All data invented."""

import dataclasses
import math

import numpy as np
import pytest

from strongback import project
from strongback.evidence.model import LoopModel, match, prior_uncertainty
from strongback.evidence.readings import Instrument, Reading
from strongback.evidence.reduce import reduce
from strongback.evidence.robust import every_parameter, judged, prepared
from strongback.evidence.stand_in import OWN
from strongback.machine.loop import assemble
from strongback.machine.parameters import responses, scaled
from strongback.machine.part.kinds import as_beams
from strongback.machine.part.make import parts_of
from strongback.machine.values import GROUND, RIGID
from strongback.project import demo_folder

UM = 1e-6
PLACES = [
    ("sideways", "tool x"),
    ("sideways", "head bar left"),
    ("sideways", "head bar right"),
    ("fore-aft", "tool y"),
    ("fore-aft", "top y"),
    ("jack", "tool z"),
    ("jack", "top y"),
    ("column top sideways", "foot x"),
    ("column top sideways", "top x"),
    ("column top fore-aft", "foot y"),
    ("column top fore-aft", "top y"),
]


def log(machine, values):
    forces = {p.name: float(np.linalg.norm(p.force)) for p in machine.pulls}
    return [
        Reading(pull=p, gauge=g, load=forces[p], loaded=v + e * UM, set_up=str(e))
        for (p, g), v in zip(PLACES, values, strict=True)
        for e in (-1, 0, 1)
    ]


@pytest.fixture(scope="module")
def machine():
    return as_beams(project.read(demo_folder()).machine)


@pytest.fixture(scope="module")
def pairs(machine):
    pulls, gauges = {p.name: p for p in machine.pulls}, {g.name: g for g in machine.gauges}
    return [(pulls[p], gauges[g]) for p, g in PLACES]


@pytest.fixture(scope="module")
def exact(machine, pairs):
    return responses(assemble(machine, parts_of(machine)), pairs)


def made(machine, values):
    measured = reduce(log(machine, values)).measured
    return prepared(machine, parts_of(machine), match(machine, measured), Instrument(), walls=False)


@pytest.fixture(scope="module")
def ready(machine, exact):
    return made(machine, exact)


def suspect(ready, words):
    return next(s for s in ready.suspects if s.words == words)


def value(table):
    """Of every slot, the stiffnesses as stated."""
    return table.sum(axis=2)


def test_table_is_the_machine_and_its_springs(ready, machine, pairs, exact):
    np.testing.assert_allclose(value(ready.base.table)[:, 0], exact, rtol=1e-9, atol=1e-12)
    x = np.random.default_rng(1).normal(size=len(ready.parameters)) * prior_uncertainty(
        machine, ready.parameters
    )
    moved = scaled(machine, dict(zip(ready.parameters, np.exp(x).tolist(), strict=True)))
    there = ready.base.table[:, 0, 0] + ready.base.table[:, 0, 1:] @ np.exp(-x)
    # Three feet of six springs hold the bed 12 times over: to first order there, exact elsewhere.
    np.testing.assert_allclose(there, responses(assemble(moved, parts_of(machine)), pairs), atol=0.3 * UM)


def test_pulls_off_are_pulls_that_stand_elsewhere(ready, machine, pairs, exact):
    for slot, shift in zip((3, 4, 5), np.eye(3), strict=True):
        moved = [
            (
                dataclasses.replace(
                    p, at=tuple(np.add(p.at, 0.002 * shift).tolist()), part=p.part, name=p.name
                ),
                g,
            )
            for p, g in pairs
        ]
        near = dataclasses.replace(machine, pulls=tuple({p.name: p for p, _ in moved}.values()))
        there = responses(assemble(near, parts_of(machine)), moved)
        tool = [i for i, (p, _) in enumerate(pairs) if p.part == "spindle"]
        np.testing.assert_allclose(value(ready.base.table)[tool, slot], (there - exact)[tool], atol=1e-3 * UM)
    turned = [
        (dataclasses.replace(p, force=(0.0, math.radians(1.0) * 200.0, 0.0)), g)
        for p, g in pairs
        if p.name == "sideways"
    ]
    np.testing.assert_allclose(
        value(ready.base.table)[:3, 1], responses(assemble(machine, parts_of(machine)), turned), rtol=1e-9
    )


def changed(pairs, name, **change):
    return [(p, dataclasses.replace(g, **change) if g.name == name else g) for p, g in pairs]


@pytest.mark.parametrize(
    ("words", "name", "change"),
    [
        ('"top y" stood along +X', "top y", {"direction": (1.0, 0.0, 0.0)}),
        ('"tool x" stood along -Z', "tool x", {"direction": (0.0, 0.0, -1.0)}),
        ('the stand of "top x" stood on the bench', "top x", {"reference": GROUND}),
        ('the stand of "tool z" stood on "carriage"', "tool z", {"reference": "carriage"}),
    ],
)
def test_gauges_that_stand_otherwise(ready, machine, pairs, exact, words, name, change):
    found = suspect(ready, words)
    there = responses(assemble(machine, parts_of(machine)), changed(pairs, name, **change))
    np.testing.assert_allclose(value(found.table)[:, 0], there[found.rows], rtol=1e-9, atol=1e-12)
    others = np.setdiff1d(np.arange(len(pairs)), found.rows)
    np.testing.assert_allclose(there[others], exact[others], rtol=1e-12)


def test_all_stands_of_a_part(ready, machine, pairs):
    found = suspect(ready, 'all stands on "bed" stood on the bench')
    moved = [(p, dataclasses.replace(g, reference=GROUND) if g.reference == "bed" else g) for p, g in pairs]
    there = responses(assemble(machine, parts_of(machine)), moved)
    np.testing.assert_allclose(value(found.table)[:, 0], there[found.rows], rtol=1e-9, atol=1e-12)
    assert sorted(found.rows) == [i for i, (_, g) in enumerate(pairs) if g.reference == "bed"]


def test_a_point_20_mm_aside(ready, machine, pairs, exact):
    found = suspect(ready, '"tool x" touched elsewhere along Y')
    there = responses(assemble(machine, parts_of(machine)), changed(pairs, "tool x", at=(0.0, -0.170, 0.200)))
    np.testing.assert_allclose(value(found.table)[:, OWN], (there - exact)[found.rows], atol=0.02 * UM)


def test_a_joint_with_play_opens_by_a_unit(ready, machine, exact):
    """Play of the joint moves readings as a softer joint under the force that it carries would, by the same opening."""
    found = suspect(ready, "base nod had play")
    k = next(i for i, p in enumerate(ready.parameters) if str(p) == "base, about x")
    column = ready.base.table[:, 0, 1 + k]
    under = [i for i, (p, _) in enumerate(PLACES) if p == "column top fore-aft"]
    play = value(found.table)[under, OWN]
    np.testing.assert_allclose(
        play / np.linalg.norm(play), np.abs(column[under]) / np.linalg.norm(column[under]), rtol=1e-6
    )


def test_a_joint_taken_as_rigid_is_a_suspect_with_its_own_springs(machine, pairs, exact):
    joints = tuple(
        dataclasses.replace(j, stiffness=(RIGID,) * 6, low=None, high=None) if j.name == "carriage" else j
        for j in machine.joints
    )
    stiff = dataclasses.replace(machine, joints=joints)
    ready = made(stiff, exact)
    found = next(s for s in ready.suspects if s.kind == "joint missing")
    assert found.item == "carriage"
    # Six springs as stiff as the others in the middle, put into the machine.
    known = [k for j in (*stiff.joints, *stiff.supports) for k in zip(range(6), j.stiffness, strict=True)]
    middle = [
        math.exp(np.mean([math.log(k) for i, k in known if (i < 3) == shift and 0.0 < k < math.inf]))
        for shift in (True, False)
    ]
    soft = tuple(middle[0] if i < 3 else middle[1] for i in range(6))
    there = dataclasses.replace(
        stiff,
        joints=tuple(
            dataclasses.replace(j, stiffness=soft) if j.name == "carriage" else j for j in stiff.joints
        ),
    )
    rigid = responses(assemble(stiff, parts_of(stiff)), pairs)
    np.testing.assert_allclose(
        rigid + found.extra.sum(axis=1), responses(assemble(there, parts_of(there)), pairs), rtol=1e-6
    )


# --- whole campaigns --------------------------------------------------------------------------------------------------


def test_a_clean_campaign_has_no_marks(ready):
    found = judged(ready, degrees=22.0)
    assert found.marks == ()
    assert found.group == ()
    assert not found.withheld
    told = [str(p) for p, one in zip(found.parameters, found.determined, strict=True) if one]
    assert {"base, about x", "base, about y"} <= set(told)


def test_a_sign_is_named_and_the_numbers_stay(ready, machine, exact):
    values = [-v if g == "top x" else v for (_, g), v in zip(PLACES, exact, strict=True)]
    clean = judged(ready, degrees=22.0)
    found = judged(ready.with_values(reduce(log(machine, values)).measured), degrees=22.0)
    assert found.marked
    assert found.suspects[0].what == '"top x" were read with the other sign'
    assert found.group[0].probability_then > 0.5
    assert found.examined.probability < 1e-6
    i = next(i for i, p in enumerate(found.parameters) if str(p) == "base, about y")
    assert found.examined.blend.median[i] == pytest.approx(clean.examined.blend.median[i], abs=0.05)


def test_what_is_on_no_list_withholds_the_numbers(ready, machine, exact):
    """Every reading off by its own 20 µm or so."""
    off = 20 * UM * np.random.default_rng(3).choice([-1.0, 1.0], len(exact))
    found = judged(ready.with_values(reduce(log(machine, exact + off)).measured), degrees=22.0)
    assert found.withheld
    assert any("withheld" in mark for mark in found.marks)


def test_a_load_in_kg_is_named(ready, machine, exact):
    found = judged(ready.with_values(reduce(log(machine, exact * 9.81)).measured), degrees=22.0)
    assert "all loads were in kg instead of newton" in [s.what for s in found.group]


def test_the_table_is_made_anew_where_forces_choose_their_way(machine, exact):
    """Readings of a machine far from the stated one: at the end the table foretells the whole machine there."""
    parameters = every_parameter(machine)
    soft = {p: 0.15 if p.part == "base" else 1.0 for p in parameters}
    pairs = made(machine, exact).matched.pairs
    values = responses(assemble(scaled(machine, soft), parts_of(machine)), pairs)
    ready = made(machine, values)
    found = judged(ready, degrees=22.0)
    best = found.examined.best[: len(parameters)]
    model = LoopModel.of(machine, parts_of(machine), pairs, parameters)
    there = ready.at(best).base.table[:, 0]
    np.testing.assert_allclose(there[:, 0] + there[:, 1:] @ np.exp(-best), model(best)[0], rtol=1e-9)
    i = [str(p) for p in parameters].index("base, about x")
    assert found.examined.blend.low[i] < math.log(0.15) < found.examined.blend.high[i]
