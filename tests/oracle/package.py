"""What the package answers, in the arrays of `exact`: the only place of these tests that calls its statics."""

from __future__ import annotations

import functools
import warnings
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
from oracle.exact import Truth

from strongback.errors import StrongbackError
from strongback.machine.budget import budget
from strongback.machine.ceiling import ceilings
from strongback.machine.chosen import ceilings_in_state, choose
from strongback.machine.compliance import tool_compliance
from strongback.machine.contact import OneSided, Play, solve_contact
from strongback.machine.loop import Loop, assemble
from strongback.machine.parameters import Parameter
from strongback.machine.part.make import parts_of
from strongback.machine.solve import pull_load, solve_all, tool_rows
from strongback.machine.values import COMPONENTS, Machine, Pull
from strongback.machine.variants import joint_variants
from strongback.plausible import UnlikelySize

ZERO = 1e-12  # of the motion of the machine: nothing


@dataclass(frozen=True, kw_only=True)
class Answers:
    """One column a pull; as in `exact.Truth`. `stated` is the error that the package says an answer may have."""

    tool: np.ndarray
    gauges: np.ndarray
    reactions: np.ndarray
    stated: float = 0.0


Call = TypeVar("Call", bound=Callable[..., Any])


def of_any_size(call: Call) -> Call:
    """Machines drawn at random need not be of a likely size."""

    @functools.wraps(call)
    def quietly(*given: Any) -> Any:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", UnlikelySize)
            return call(*given)

    return quietly


@of_any_size
def loop_of(machine: Machine) -> Loop:
    """The machine assembled."""
    return assemble(machine, parts_of(machine))


def answers(machine: Machine) -> Answers:
    """Every pull of a machine."""
    found = solve_all(loop_of(machine), machine.pulls)
    held = len(machine.supports)
    return Answers(
        stated=max(d.error for d in found),
        tool=np.array([[*d.tool_displacement, *d.tool_rotation] for d in found]).T,
        gauges=np.array([[value for _, value in d.gauges] for d in found]).T,
        reactions=np.stack(
            [np.reshape([w for _, w in d.reactions[:held]], (held, 6)) for d in found], axis=2
        ),
    )


def answers_or_refusal(machine: Machine) -> Answers | StrongbackError:
    """The same, or the error that the package raises."""
    try:
        return answers(machine)
    except StrongbackError as error:
        return error


def contact(
    machine: Machine, pull: Pull, laws: Mapping[tuple[str, int], OneSided | Play]
) -> tuple[np.ndarray, list[str]]:
    """Motions of tool and gauges, and the state of every law; as one of `exact.states`."""
    kinds = {holder.name: kind for kind, holder in machine.holders()}
    named = {Parameter(kind=kinds[o], part=o, mechanism=COMPONENTS[i]): law for (o, i), law in laws.items()}
    found = solve_contact(loop_of(machine), pull, named)
    gauges = [value for _, value in found.gauges]
    return np.array([*found.tool_displacement, *found.tool_rotation, *gauges]), [s for _, s in found.states]


@of_any_size
def remains(machine: Machine) -> dict[str, float]:
    """By part: the fraction of the deflection under the first pull that is left when it is rigid."""
    return {c.part: c.remains for c in ceilings(machine, parts_of(machine), machine.pulls[0])}


def _state(machine: Machine, pull: Pull, laws: Mapping[tuple[str, int], OneSided | Play]) -> tuple[Any, Any]:
    """The state that the package chooses, and the laws as it takes them; None where it refuses."""
    kinds = {holder.name: kind for kind, holder in machine.holders()}
    named = {Parameter(kind=kinds[o], part=o, mechanism=COMPONENTS[i]): law for (o, i), law in laws.items()}
    try:
        return choose(loop_of(machine), pull, named), named
    except StrongbackError:
        return None, named


def budget_in_state(
    machine: Machine, pull: Pull, laws: Mapping[tuple[str, int], OneSided | Play], direction: np.ndarray
) -> tuple[float, np.ndarray] | None:
    """Sum of the rows of the budget in the chosen state, and the motion of the tool there."""
    state, _ = _state(machine, pull, laws)
    if state is None:
        return None
    x, y, z = (float(v) for v in direction)
    found = budget(state.before.loop, pull, (x, y, z), before=state.before)
    return sum(row.contribution for row in found.rows), state.deflection.tool_displacement


def remains_in_state(
    machine: Machine, pull: Pull, laws: Mapping[tuple[str, int], OneSided | Play]
) -> dict[str, float]:
    """By part: what is left of the deflection when it is rigid, in a state that the linear answer is not of."""
    state, named = _state(machine, pull, laws)
    if state is None or not state.changed:
        return {}
    whole = budget(state.before.loop, pull, before=state.before)
    return {c.part: c.remains for c in ceilings_in_state(state, named, whole)}


def budget_gap(machine: Machine) -> float:
    """Sum of the budget's rows against its total, as a fraction."""
    found = budget(loop_of(machine), machine.pulls[0])
    return abs(sum(row.contribution for row in found.rows) / found.total - 1.0)


def budget_total(machine: Machine, pull: Pull, direction: np.ndarray) -> tuple[float, float]:
    """Deflection along a direction as the rows of the budget add it up, and how far it may be off."""
    x, y, z = (float(v) for v in direction)
    found = budget(loop_of(machine), pull, (x, y, z))
    return sum(row.contribution for row in found.rows), found.error


def compliance(machine: Machine) -> np.ndarray:
    """Motions of the tool per force and couple, (6, 6)."""
    return tool_compliance(loop_of(machine))


@of_any_size
def variants(
    machine: Machine, names: Sequence[tuple[str, str]]
) -> tuple[Callable[[np.ndarray], np.ndarray], np.ndarray]:
    """Motion of the tool along x under the first pull as a function of joint stiffnesses, and these as they are."""
    holders = {holder.name: (kind, holder) for kind, holder in machine.holders()}
    parameters = [Parameter(kind=holders[o][0], part=o, mechanism=c) for o, c in names]
    nominal = np.array([holders[o][1].stiffness[COMPONENTS.index(c)] for o, c in names])
    loop = loop_of(machine)
    load, virtual = pull_load(loop, machine.pulls[0]), tool_rows(loop)[0]
    return joint_variants(machine, parts_of(machine), parameters, [load], [virtual]), nominal


def error(found: Answers | Truth, truth: Truth, right: Answers | Truth | None = None) -> float:
    """Largest difference of motions, readings and reactions, each kind as a fraction of its largest under the same pull.

    What is zero in truth (a jack that the feet do not feel) is compared with the motion of the machine, or with the pull.
    With `right` the difference is to that instead, in the same units.
    """
    right = right or truth
    pulls = len(truth.machine.pulls)
    force = np.array([np.abs([*p.force, *p.couple]).max() for p in truth.machine.pulls])
    worst = 0.0
    for mine, best, size, zero in (
        (found.tool[:3], right.tool[:3], truth.tool[:3], truth.largest),
        (found.tool[3:], right.tool[3:], truth.tool[3:], truth.largest),
        (found.gauges, right.gauges, truth.gauges, truth.largest),
        (found.reactions, right.reactions, truth.reactions, force),
    ):
        largest = np.abs(size.reshape(-1, pulls)).max(axis=0)
        largest = np.where(largest > ZERO * zero, largest, zero)
        worst = max(worst, float((np.abs(mine - best).reshape(-1, pulls).max(axis=0) / largest).max()))
    return worst
