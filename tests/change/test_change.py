"""A change as a value: what it puts in, moves and makes again, and fills that vary each by itself."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from machines import small_mill

from strongback.change.effect import state_of
from strongback.change.values import Change, applied
from strongback.errors import MachineError
from strongback.evidence.change import Case, ChangeModel, causes_of, changed_members
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter, responses
from strongback.machine.part.make import parts_of
from strongback.machine.solve import solve
from strongback.machine.surrogate import AS_MEANT, FillState, filled_parts, with_modulus
from strongback.machine.values import Block, PointMass, Span, Travel
from strongback.materials import material
from strongback.section.outline import filled
from strongback.section.shapes import rectangular_tube
from strongback.section.values import Fill

COLUMN = rectangular_tube(material("aluminium"), 0.08, 0.12, 0.004)
ARM = rectangular_tube(material("aluminium"), 0.07, 0.09, 0.004)


def with_fill(outline):
    return filled(outline, {outline.cells[0].name: Fill(material=material("epoxy mineral"))})


@pytest.fixture(scope="module")
def machine():
    """The small mill with tubes for column and arm, invented, and both tubes filled among its sections."""
    mill = small_mill()
    column, arm = mill.members
    return replace(
        mill,
        sections=(("c", COLUMN), ("a", ARM), ("c full", with_fill(COLUMN)), ("a full", with_fill(ARM))),
        members=(
            replace(column, spans=(Span(section="c", length=0.46),)),
            replace(arm, spans=(Span(section="a", length=0.2),)),
        ),
    )


BOTH = Change(sections=(("c", "c full"), ("a", "a full")))


@pytest.fixture(scope="module")
def case(machine):
    meant, parts = applied(machine, BOTH), parts_of(machine)
    fills = filled_parts(machine, meant, parts)
    causes = causes_of(machine, changed_members(machine, meant), filled=fills)
    return Case(machine=machine, meant=meant, parts=parts, filled=fills, causes=causes)


def truth(machine, column, arm):
    """Both members filled, with moduli multiplied, solved by itself."""
    softer = {"c full": with_modulus(with_fill(COLUMN), column), "a full": with_modulus(with_fill(ARM), arm)}
    there = applied(replace(machine, sections=tuple({**dict(machine.sections), **softer}.items())), BOTH)
    return there, parts_of(there)


@pytest.mark.parametrize(("column", "arm"), [(0.4, 0.4), (0.5, 1.0), (1.0, 0.3)])
def test_two_filled_members_vary_each_by_itself(machine, case, column, arm):
    """Readings of a model with two fills are those of the machine solved with both."""
    assert case.filled.names == ("column", "arm")
    names = [cause.name for cause in case.causes]
    assert {"fill modulus, column", "bond, column", "fill modulus, arm", "bond, arm"} <= set(names)
    pairs = [(p, g) for p in machine.pulls for g in machine.gauges]
    model = ChangeModel(case, pairs, pairs, ())
    phi = np.zeros(len(names))
    phi[names.index("fill modulus, column")] = math.log(column)
    phi[names.index("fill modulus, arm")] = math.log(arm)
    expected = responses(assemble(*truth(machine, column, arm)), pairs)
    assert model.readings("after", np.zeros(0), phi) == pytest.approx(expected, rel=1e-3, abs=1e-9)
    states = {
        "column": FillState(log_modulus=math.log(column)),
        "arm": FillState(log_modulus=math.log(arm)),
    }
    loop = assemble(case.meant, case.filled.at(case.meant, states))
    pull = machine.pulls[0]
    exact = solve(assemble(*truth(machine, column, arm)), pull).tool_displacement
    assert solve(loop, pull).tool_displacement == pytest.approx(exact, rel=1e-3, abs=1e-8)
    # Neither fill stands in for the other.
    assert abs(solve(loop, pull).tool_displacement[0] / along_as_meant(case, pull) - 1.0) > 0.005


def along_as_meant(case, pull):
    return solve(assemble(case.meant, case.filled.at(case.meant, {})), pull).tool_displacement[0]


def test_states_that_are_named_are_those_of_the_machine_itself(machine, case):
    before = state_of("before", machine, case.parts)
    after = state_of("after", case.meant, case.filled.at(case.meant, {"arm": AS_MEANT}))
    for state, there in ((before, machine), (after, case.meant)):
        exact = state_of(state.name, there, parts_of(there))
        assert dict(state.along_pull) == pytest.approx(dict(exact.along_pull), rel=1e-9)
    assert all(dict(after.along_pull)[name] < value for name, value in before.along_pull)


def test_members_that_change_are_named(machine):
    assert changed_members(machine, applied(machine, Change(sections=(("a", "a full"),)))) == ("arm",)
    spans = (Span(section="c full", length=0.3), Span(section="c", length=0.16))
    half = applied(machine, Change(spans=(("column", spans),)))
    assert changed_members(machine, half) == ("column",)
    assert half.members[0].spans == spans


def test_parts_are_put_on_and_replaced(machine):
    stiffer = replace(machine.joints[0], stiffness=(2e8, 2e8, 4e8, 2e5, 2e5, 4e5))
    weight = PointMass(name="weight", part="bed", at=(0.0, 0.0, -0.1), mass=20.0)
    block = Block(name="vice", at=(0.0, 0.2, 0.0))
    there = applied(machine, Change(joints=(stiffer,), masses=(weight,), blocks=(block,)))
    assert there.joints == (stiffer, machine.joints[1])
    assert [b.name for b in there.blocks] == ["bed", "vice"]
    assert there.masses == (weight,)


def test_factors_and_travels(machine):
    nod = Parameter(kind="joint", part="base joint", mechanism="about x")
    way = Travel(name="head", parts=("arm",), direction=(0.0, 0.0, 1.0), low=-0.1, high=0.05)
    there = applied(
        replace(machine, travels=(way,)), Change(factors=((nod, 0.5),), travels=(("head", -0.05),))
    )
    assert there.joints[0].stiffness[3] == pytest.approx(0.5 * machine.joints[0].stiffness[3])
    assert there.members[1].start[2] == pytest.approx(machine.members[1].start[2] - 0.05)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (Change(sections=(("x", "c full"),)), 'no member has the section "x"'),
        (Change(sections=(("c", "x"),)), 'no section is called "x"'),
        (Change(spans=(("quill", ()),)), 'there is no member "quill"'),
    ],
)
def test_what_is_not_there_is_named(machine, change, words):
    with pytest.raises(MachineError, match=words):
        applied(machine, change)
