"""The state that equilibrium chooses under a pull, with all that is said of a machine told of that state.

Joints that open or have play are let go, or bear across their gap, as `contact` finds them; what has let go is left out of
the machine, and its preload and the gaps stay as loads (`prestate`). Budgets and intervals are those of this machine; a
ceiling finds the state anew with its part rigid.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import MechanismError, NotConvergedError
from strongback.machine.budget import Budget, part_names
from strongback.machine.ceiling import Ceiling, with_rigid
from strongback.machine.contact import Laws, OneSided, Settlement, settle_with, settlement
from strongback.machine.exact_balance import Load
from strongback.machine.guard import doubt_of
from strongback.machine.loop import Loop, rebuilt
from strongback.machine.parameters import Parameter
from strongback.machine.prestate import Prestate
from strongback.machine.solve import Deflection, deflection_of, pull_load, solve, tool_rows, with_stations
from strongback.machine.statics import fixed
from strongback.machine.statics.elastic import Elastic
from strongback.machine.values import COMPONENTS, Joint, Machine, Pull, Support
from strongback.machine.variants import component_index

__all__ = ["Chosen", "States", "ceilings_in_state", "choose", "state_words", "without"]

Array = NDArray[np.float64]
States = tuple[tuple[Parameter, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chosen:
    """A machine under a pull, in the state that equilibrium chooses.

    Parameters
    ----------
    pull : Pull
    loop : Loop
        With every component holding.
    deflection : Deflection
        In the chosen state.
    holding : Deflection
        With every component holding, as if none opened or had play.
    states : tuple of (Parameter, str)
        As in `ContactResult`.
    misfits : ndarray, shape (components,)
        Openings of the components of `loop` beyond what their forces make [m or rad].
    machine : Machine
        Without the components that have let go.
    forces : mapping of Parameter to float
        Of those: their preload, used up [N or N m].
    gaps : mapping of Parameter to float
        Misfits of the others [m or rad].
    before : Prestate
        Both in a loop of `machine`.
    """

    pull: Pull
    loop: Loop
    deflection: Deflection
    holding: Deflection
    states: States
    misfits: Array
    machine: Machine
    forces: Mapping[Parameter, float]
    gaps: Mapping[Parameter, float]
    before: Prestate

    @property
    def changed(self) -> bool:
        """Whether any component does not just hold, so that the linear answer is another one."""
        return any(state != "holds" for _, state in self.states)

    @property
    def words(self) -> str:
        """What does not just hold."""
        return state_words(self.states)

    def before_in(self, loop: Loop) -> Prestate:
        """`before` in another loop of `machine`, such as one of beams.

        Parameters
        ----------
        loop : Loop

        Returns
        -------
        Prestate
        """
        return _prestate(loop, self.forces, self.gaps)

    def __repr__(self) -> str:
        return f"Chosen({self.pull.name!r}: {self.words or 'all hold'})"


def state_words(states: States) -> str:
    """What does not just hold, in words; empty where all hold."""
    return "; ".join(f"{parameter}: {state}" for parameter, state in states if state != "holds")


def choose(loop: Loop, pull: Pull, laws: Laws) -> Chosen:
    """Find the state that equilibrium chooses.

    Parameters
    ----------
    loop : Loop
        With every component holding.
    pull : Pull
    laws : mapping of Parameter to OneSided or Play
        Joint or support components.

    Returns
    -------
    Chosen

    Raises
    ------
    MachineError, MechanismError, PrecisionError, NotConvergedError
        As `solve_contact`.
    """
    loop = with_stations(loop, [pull])
    found = settlement(loop, pull, laws)
    doubt = doubt_of(loop, float(found.judged.error[0]), found.judged.springs[0])
    misfits = np.zeros(len(loop.components))
    misfits[[component_index(loop, p) for p in laws]] = found.settled.misfit
    own = dict(zip(laws, (float(d) for d in found.settled.misfit), strict=True))
    gone, bare = _let_go(loop, [p for p, free in zip(laws, found.settled.free, strict=True) if free])
    forces = {p: law.sign * law.preload for p, law in laws.items() if p in gone and isinstance(law, OneSided)}
    gaps = {p: d for p, d in own.items() if p not in gone and d != 0.0}
    return Chosen(
        pull=pull,
        loop=loop,
        deflection=deflection_of(
            loop, pull, found.found[:, 0], found.motions[:, 0], found.state.joints[:, 0], doubt
        ),
        holding=solve(loop, pull),
        states=found.states,
        misfits=misfits,
        machine=bare.machine,
        forces=forces,
        gaps=gaps,
        before=_prestate(bare, forces, gaps),
    )


def _let_go(loop: Loop, free: Sequence[Parameter]) -> tuple[list[Parameter], Loop]:
    """Components that a machine can be without, and the loop of it.

    One that carries nothing and yet is all that holds a part (play across the pull) stays.
    """
    if not free:
        return [], loop
    gone: list[Parameter] = []
    left = loop
    for some in ([list(free)], [[p] for p in free]):
        for more in some:
            try:
                left = rebuilt(without(loop.machine, [*gone, *more]), loop.parts)
            except MechanismError:
                continue
            gone += more
        if gone:
            break
    return gone, left


def without(machine: Machine, gone: Sequence[Parameter]) -> Machine:
    """A machine with some components of joints and supports free.

    Parameters
    ----------
    machine : Machine
    gone : sequence of Parameter

    Returns
    -------
    Machine
    """

    def freed(holder: Joint | Support) -> tuple[float, float, float, float, float, float]:
        mine = {p.mechanism for p in gone if p.part == holder.name}
        x, y, z, rx, ry, rz = (
            0.0 if name in mine else k for name, k in zip(COMPONENTS, holder.stiffness, strict=True)
        )
        return x, y, z, rx, ry, rz

    return dataclasses.replace(
        machine,
        joints=tuple(dataclasses.replace(j, stiffness=freed(j)) for j in machine.joints),
        supports=tuple(dataclasses.replace(s, stiffness=freed(s)) for s in machine.supports),
    )


def ceilings_in_state(state: Chosen, laws: Laws, whole: Budget) -> tuple[Ceiling, ...]:
    """What remains of the deflection when one part after the other is rigid, with the state found anew for each.

    Parameters
    ----------
    state : Chosen
    laws : mapping of Parameter to OneSided or Play
    whole : Budget
        In that state.

    Returns
    -------
    tuple of Ceiling
        The part with the lowest remainder first. Where rigid joints hold each other, so that nobody knows which of them
        opens, the state of today is kept.
    """
    shares = dict(whole.by_part())
    found = []
    for owner, name in part_names(whole.rows).items():
        loop = state.loop
        then = _then(loop, owner, state.pull, laws)
        if then is None:
            left, words = _kept(state, with_rigid(state.before.loop, owner), whole), None
        else:
            left = float(np.asarray(whole.direction) @ then.found[:3, 0])
            words = None if _same(then, state) else (state_words(then.states) or "all hold")
        remains = left / whole.total if whole.total else 1.0
        found.append(Ceiling(part=name, share=shares[name], remains=remains, state=words))
    return tuple(sorted(found, key=lambda c: c.remains))


def _then(loop: Loop, owner: tuple[str, str], pull: Pull, laws: Laws) -> Settlement | None:
    """The state with a part rigid, where it can be told."""
    try:
        return settle_with(loop, with_rigid(loop, owner), pull, laws)
    except (MechanismError, NotConvergedError):
        return None


def _same(one: Settlement, other: Chosen) -> bool:
    return one.states == other.states


def _kept(state: Chosen, statics: Elastic, whole: Budget) -> float:
    """Deflection with other compliances and the state of today [m]."""
    from_pull = pull_load(state.before.loop, state.pull) + state.before.load
    carried = statics.carry(np.column_stack([from_pull, whole.direction @ tool_rows(state.before.loop)[:3]]))
    there = statics.solve(carried.columns(slice(1)), state.before.openings[:, None])
    return float(statics.read(carried.columns(slice(1, None)), there)[0, 0])


def _prestate(loop: Loop, forces: Mapping[Parameter, float], misfits: Mapping[Parameter, float]) -> Prestate:
    """Loads that stay, from the forces of what is not in a loop and the misfits of what is."""
    openings, load = np.zeros(len(loop.components)), np.zeros(loop.size)
    for parameter, misfit in misfits.items():
        openings[component_index(loop, parameter)] = misfit
    holders = {holder.name: holder for _, holder in loop.machine.holders()}
    wrenches: list[Load] = []
    for parameter, force in forces.items():
        if force:
            holder, i = holders[parameter.part], COMPONENTS.index(parameter.mechanism)
            load -= force * _row(loop, holder, i)
            wrenches += _wrenches(holder, i, -force)
    return Prestate(loop=loop, load=load, wrenches=tuple(wrenches), openings=openings)


def _ends(holder: Joint | Support) -> tuple[tuple[str, int, str], ...]:
    """Parts, the sign of their motion in the opening, and the pad."""
    if isinstance(holder, Joint):
        return (holder.parts[0], -1, holder.pad), (holder.parts[1], 1, holder.pad)
    return ((holder.part, 1, ""),)


def _row(loop: Loop, holder: Joint | Support, i: int) -> Array:
    """Opening of a component from all motions, (unknowns,)."""
    first = i // 3 * 3
    moved = sum(
        (sign * loop.motion_of(part, holder.at, pad)[first : first + 3] for part, sign, pad in _ends(holder)),
        np.zeros((3, loop.size)),
    )
    return np.asarray(np.asarray(holder.axes[i % 3]) @ moved)


def _wrenches(holder: Joint | Support, i: int, force: float) -> list[Load]:
    along, none = fixed.fixed(np.asarray(holder.axes[i % 3]) * force), fixed.nothing((3,))
    return [
        Load(
            part=part,
            foot=holder.at,
            at=holder.at,
            force=sign * along if i < 3 else none,
            couple=none if i < 3 else sign * along,
            pad=pad,
        )
        for part, sign, pad in _ends(holder)
    ]
