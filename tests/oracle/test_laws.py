"""The package beside the second statics on a few hundred random machines; `benchmarks/laws.py` takes thousands."""

from __future__ import annotations

import numpy as np
import pytest
from oracle import drawn, exact, measure, package
from oracle.changes import CHANGES

SLOW = pytest.mark.slow


def blocks(count: int, size: int) -> list[range]:
    return [range(first, first + size) for first in range(0, count, size)]


@pytest.mark.parametrize("name", CHANGES)
def test_the_second_statics_does_not_depend_on_the_description(name):
    """Nor do the changes change anything: to a few times the rounding of what is given."""
    for seed in range(6):
        machine = drawn.machine(seed)
        truth = exact.solve(machine)
        there, back = CHANGES[name](machine, np.random.default_rng(seed))
        moved = exact.solve(there)
        answers = package.Answers(tool=moved.tool, gauges=moved.gauges, reactions=moved.reactions)
        assert package.error(back(answers), truth) < 1e-12


@SLOW
@pytest.mark.parametrize("seeds", blocks(200, 25), ids=str)
def test_ordinary_machines(seeds):
    found = measure.ordinary(seeds)
    assert [v for v in found if v.refused or v.error > 1e-8] == []
    assert np.median([v.error for v in found]) < 1e-12


@SLOW
@pytest.mark.parametrize("seeds", blocks(60, 15), ids=str)
def test_harsh_machines_are_right_or_refused(seeds):
    """To 1e-6 where no warning says more; refused only where rounding of what is given may decide more than 1e-7."""
    found = measure.harsh(seeds)
    assert [v for v in found if not v.refused and v.error > max(1e-6, v.stated)] == []
    assert len([v for v in found if v.refused and v.shift <= 1e-7]) <= 1


# Once 319 read a gauge 3e-3 off and stated 1e-7, since two stations 0.15 nm apart were one; the others were refused by a
# bound of the rounding that nothing came near; 45 and 51 were off by 1e-5 with more than half of the digits lost in
# feet nearly in line.
@pytest.mark.parametrize("seed", [45, 51, 264, 319, 328, 341, 348])
def test_what_cancels_in_double_precision_is_told_by_exact_forces(seed):
    (found,) = measure.harsh([seed])
    assert not found.refused
    assert found.error <= 1e-10
    assert found.stated >= found.error
    assert found.stated <= max(1e-6, 20.0 * found.shift)


# Once warned of, by up to 2.5e-5, though right to 1e-13.
@pytest.mark.parametrize("seed", [62, 143, 167, 185])
def test_nothing_is_in_doubt_without_a_reason(seed):
    (found,) = measure.ordinary([seed])
    assert found.error <= found.stated <= 1e-9


@SLOW
def test_compliances_and_budgets_are_right_or_say_how_far_not():
    assert measure.numbers_at_the_tool(range(40)) == []


def test_compliances_and_budgets_are_right_where_feet_stand_nearly_in_line():
    assert measure.numbers_at_the_tool([45, 51]) == []


@SLOW
@pytest.mark.parametrize(
    "name",
    list(CHANGES),
)
def test_nothing_depends_on_the_description(name):
    assert [v for v in measure.unchanged(name, range(15)) if v.refused or v.error > 1e-9] == []


@SLOW
@pytest.mark.parametrize("seeds", blocks(60, 20), ids=str)
def test_parts_that_open_are_in_the_state_that_all_states_allow(seeds):
    found = measure.settled(seeds, (8, 4))
    assert len(found) > 5
    assert [s for s in found if s.said != s.true or s.error > 1e-8] == []


@SLOW
def test_parts_that_open_do_so_in_every_orientation():
    assert [v for v in measure.orientations(range(4), 20) if v.refused or v.error > 1e-9] == []


@SLOW
def test_what_is_left_when_a_part_is_rigid():
    assert [v for v in measure.rigid_parts(range(6)) if v.error > 1e-8] == []


def test_a_machine_that_is_drawn_is_what_it_was():
    """The same seed gives the same machine, and harsh ones reach from feathers to rock."""
    assert drawn.machine(3) == drawn.machine(3)
    assert drawn.machine(3) != drawn.machine(4)
    stiffness = [
        k
        for seed in range(20)
        for j in drawn.machine(seed, drawn.HARSH).joints
        for k in j.stiffness
        if 0 < k < np.inf
    ]
    assert min(stiffness) < 1e-5
    assert max(stiffness) > 1e14
