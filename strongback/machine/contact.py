"""Joints that open or have play: a stated non-linear option on top of the linear loop.

A one-sided component carries compression only (a face held down by a preload opens when the load has used it up); a
component with play moves freely within a gap and holds beyond it. In terms of the linear loop, whose components all
hold, a component that does not hold is one with a misfit d that brings its force to the allowed value:

    q = q0 - P d

with the force q of an open component zero (or minus the preload) and the misfit of one that bears on a side of its play
half the gap. Which components hold is a problem of complementarity with one answer (`statics.complementary`): what is
free to move where no force asks it to stays where it is.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar, TypeAlias

import numpy as np
from numpy.typing import NDArray

from strongback.answer import HIDDEN, Telling, Told, told
from strongback.errors import MachineError, MechanismError, NotConvergedError
from strongback.machine.exact_balance import exactly, pull_wrench, reading_wrenches
from strongback.machine.guard import Judged, doubt_of, judged, spread_of_answers
from strongback.machine.loop import Loop, shared_among
from strongback.machine.parameters import Parameter
from strongback.machine.solve import named_readings, pull_load, reading_rows
from strongback.machine.statics.complementary import NOTHING, Loose, Settled, settle
from strongback.machine.statics.determinate import Carried
from strongback.machine.statics.elastic import Elastic, Solution
from strongback.machine.turned import turned_pull
from strongback.machine.values import Pull
from strongback.machine.variants import component_index

__all__ = [
    "ContactResult",
    "Laws",
    "OneSided",
    "Play",
    "Settlement",
    "settle_with",
    "settlement",
    "solve_contact",
]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class OneSided:
    """A component that lets go when its force would exceed the preload in tension.

    Parameters
    ----------
    preload : float
        Standing compression [N or N m], not negative.
    sign : int
        +1 when a positive opening is tension, -1 for the other way. Positive is the second part of a joint away from the
        first along the axis, the part of a support away from the ground: a foot under a machine, z up, opens with +1.
    """

    preload: float = 0.0
    sign: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Play:
    """A component with free motion.

    Parameters
    ----------
    gap : float
        From stop to stop [m or rad].
    """

    gap: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ContactResult(Told):
    """The machine under a pull with joints that open or have play.

    Parameters
    ----------
    tool_displacement, tool_rotation : ndarray, shape (3,)
        Relative to the work [m, rad].
    gauges : tuple of (str, float)
        [m]
    states : tuple of (Parameter, str)
        ``"holds"``, ``"open"``, ``"free"`` or ``"bears"``. One that carries no force and has no opening ``"holds"``: it
        could as well be open.
    steps : int
        Changes of state until it settled.
    error, doubt
        As in `Deflection`.
    """

    TOLD: ClassVar[Telling] = (("states", "state_rows"),)

    tool_displacement: Array = field(metadata=told("displacement_m"))
    tool_rotation: Array = field(metadata=told("rotation_rad"))
    gauges: tuple[tuple[str, float], ...] = field(metadata=told(each=("name", "reading_m")))
    states: tuple[tuple[Parameter, str], ...] = field(metadata=HIDDEN)
    steps: int = field(metadata=HIDDEN)
    error: float = field(default=0.0, metadata=told("rounding_error"))
    doubt: str = field(default="", metadata=told("warning"))

    @property
    def state_rows(self) -> list[dict[str, str]]:
        """`states` as mappings."""
        return [{"part": p.part, "component": p.mechanism, "state": state} for p, state in self.states]


Laws: TypeAlias = Mapping[Parameter, "OneSided | Play"]


def solve_contact(loop: Loop, pull: Pull, laws: Laws) -> ContactResult:
    """Deflection when some joint components open or have play.

    Parameters
    ----------
    loop : Loop
        With every component holding.
    pull : Pull
    laws : mapping of Parameter to OneSided or Play
        Joint or support components.

    Returns
    -------
    ContactResult

    Raises
    ------
    MachineError
        If a component is rigid beside other rigid ones that share its force.
    MechanismError
        If everything that held a part has opened.
    PrecisionError
        As in `solve`.
    NotConvergedError
        If the states do not settle.
    """
    answer = settlement(loop, pull, laws)
    doubt = doubt_of(loop, float(answer.judged.error[0]), answer.judged.springs[0])
    found = answer.found
    return ContactResult(
        tool_displacement=found[:3, 0],
        tool_rotation=found[3:6, 0],
        gauges=named_readings(loop, found[6:, 0]),
        states=answer.states,
        steps=answer.settled.changes,
        error=doubt.error,
        doubt=doubt.words,
    )


def settlement(loop: Loop, pull: Pull, laws: Laws) -> Settlement:
    """The state that equilibrium chooses; by exact forces where the others leave doubt.

    Parameters
    ----------
    loop, pull, laws
        As in `solve_contact`, which raises the same.

    Returns
    -------
    Settlement
    """
    _refuse_shared(loop, loop.statics, list(laws))
    answer = Settlement.of(loop, loop.statics, pull, laws)
    return answer if answer.judged.sure else Settlement.exactly(loop, pull, laws)


def settle_with(loop: Loop, statics: Elastic, pull: Pull, laws: Laws) -> Settlement | None:
    """The state with other compliances, None where what a component carries is then not known.

    Parameters
    ----------
    loop, pull, laws
        As in `solve_contact`.
    statics : Elastic
        `loop.statics` with other compliances.
    """
    shared = {(c.owner, c.name) for c in shared_among(loop.components, statics)}
    if any((p.part, p.mechanism) in shared for p in laws):
        return None
    return Settlement.of(loop, statics, pull, laws)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Settlement:
    """A machine in the state that equilibrium chooses under a pull.

    Parameters
    ----------
    laws : mapping of Parameter to OneSided or Play
    settled : Settled
        Misfits of these, in their order.
    state : Solution
        Forces and deformations.
    found : ndarray, shape (6 + gauges, 1)
        Motions of the tool, then readings.
    motions : ndarray, shape (unknowns, 1)
    judged : Judged
    """

    laws: Laws
    settled: Settled
    state: Solution
    found: Array
    motions: Array
    judged: Judged

    @property
    def states(self) -> tuple[tuple[Parameter, str], ...]:
        """What every component does, in a word; see `ContactResult`."""
        each = zip(self.laws.items(), self.settled.free, strict=True)
        return tuple((p, _word(law, bool(free))) for (p, law), free in each)

    @classmethod
    def of(cls, loop: Loop, statics: Elastic, pull: Pull, laws: Laws) -> Settlement:
        """In double precision, of a loop or of the same with other compliances."""
        carried = statics.carry(np.column_stack([pull_load(loop, pull), reading_rows(loop).T]))
        return cls._from(loop, statics, carried, laws)

    @classmethod
    def exactly(cls, loop: Loop, pull: Pull, laws: Laws) -> Settlement:
        """With exact forces, and with what other roundings of the numbers of the machine do."""

        def numbers(twin: Loop, R: Array) -> Array:
            found = cls._exact(twin, turned_pull(pull, R), laws, R.T)
            return np.vstack([found.found, found.state.joints])

        own = cls._exact(loop, pull, laws)
        spread = spread_of_answers(loop, numbers, own.state, own.found, own.motions)
        return dataclasses.replace(own, judged=own.judged.with_spread(spread))

    @classmethod
    def _exact(cls, loop: Loop, pull: Pull, laws: Laws, axes: Array | None = None) -> Settlement:
        loads = [pull_wrench(pull), *reading_wrenches(loop.machine, axes)]
        return cls._from(loop, *exactly(loop, loop.statics, loads), laws)

    @classmethod
    def _from(cls, loop: Loop, statics: Elastic, carried: Carried, laws: Laws) -> Settlement:
        load, virtual = carried.columns(slice(1)), carried.columns(slice(1, None))
        index = [component_index(loop, p) for p in laws]
        settled = _settled(loop, statics, index, statics.solve(load).joints[:, 0], laws)
        openings = np.zeros((len(loop.components), 1))
        openings[index, 0] = settled.misfit
        state = statics.solve(load, openings)
        found, motions = statics.read(virtual, state), statics.motions(state)
        return cls(
            laws=laws,
            settled=settled,
            state=state,
            found=found,
            motions=motions,
            judged=judged(loop, statics, virtual, state, found, motions),
        )


def _refuse_shared(loop: Loop, statics: Elastic, parameters: list[Parameter]) -> None:
    """Rigid components that hold each other carry nobody knows what: whether one opens cannot be told."""
    shared = {(c.owner, c.name) for c in shared_among(loop.components, statics)}
    for parameter in parameters:
        if (parameter.part, parameter.mechanism) in shared:
            raise MachineError(
                f"{parameter} opens or has play, and is rigid beside others that are: what it carries is not known",
                hint="give it its stiffness",
            )


def _settled(loop: Loop, statics: Elastic, index: list[int], q0: Array, of: Laws) -> Settled:
    """Misfits of the components, found in units in which forces and couples compare."""
    parameters, laws = list(of), list(of.values())
    geometry = statics.geometry
    unit = geometry.joint_unit[index]
    sign = np.array([law.sign if isinstance(law, OneSided) else 1 for law in laws], dtype=float)
    P = -statics.misfits(index).joints[index]
    P = 0.5 * (P + P.T) * np.outer(sign / unit, sign / unit)
    limit = np.array([law.preload if isinstance(law, OneSided) else 0.0 for law in laws]) / unit
    half = np.array([0.5 * law.gap if isinstance(law, Play) else 0.0 for law in laws]) * unit
    high = np.array([0.0 if isinstance(law, Play) else np.inf for law in laws]) + half
    force = sign * q0[index] / unit - limit
    tiny = NOTHING * (float(np.abs(q0 / geometry.joint_unit).max(initial=0.0)) + limit)
    tiny = np.maximum(tiny, 1e-300)
    start = np.where(half > 0.0, half * np.where(np.abs(force) > tiny, np.sign(force), 0.0), 0.0)
    states = sign[:, None] * statics.states.joints[index] / unit[:, None]
    states = states * statics.cut_units[None, :]
    try:
        found = settle(force, P, states, -half, high, start, tiny)
    except Loose as loose:
        culprit = parameters[int(np.argmax(np.abs(loose.motion)))]
        raise MechanismError(
            f"{culprit} has opened and nothing else holds",
            hint="raise its preload or lower the pull",
            part=culprit.part,
            motion=culprit.mechanism,
        ) from None
    if found is None:
        raise NotConvergedError(
            "joints that open or have play did not settle",
            hint="give the joint that chatters a preload, or a smaller gap",
        )
    return dataclasses.replace(found, misfit=found.misfit * sign / unit)


def _word(law: OneSided | Play, free: bool) -> str:
    if isinstance(law, OneSided):
        return "open" if free else "holds"
    return "free" if free else "bears"
