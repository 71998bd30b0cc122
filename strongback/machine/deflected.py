"""How far the tool gives and who causes it: every pull with its budget, ceilings, interval and readings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from strongback.answer import HIDDEN, INLINE, Answer, Telling, Told, told
from strongback.machine.assembled import Assembled
from strongback.machine.budget import Budget, budget
from strongback.machine.cases import solve_cases
from strongback.machine.ceiling import Ceiling, ceilings_of_pulls
from strongback.machine.chosen import Chosen, ceilings_in_state, choose
from strongback.machine.contact import Laws, OneSided, Play
from strongback.machine.feet import bedded_feet
from strongback.machine.forces_under import CaseForces, ForcesIn, Reaction, case_forces, reactions_under
from strongback.machine.loads import LoadCase
from strongback.machine.loop import Loop, rebuilt
from strongback.machine.mesh_error import mesh_errors
from strongback.machine.open_closed import TwistDoubt, open_meets_closed, twist_doubts
from strongback.machine.parameters import Parameter
from strongback.machine.part.kinds import as_beams
from strongback.machine.part.report import PartReport
from strongback.machine.solve import Deflection, ToolMotion, solve_all
from strongback.machine.spread import BudgetSpread, budget_spread, known_spreads
from strongback.machine.values import Machine, Pull, Vector
from strongback.machine.wall_flex import ModelComparison, budget_with_walls, compare_models

__all__ = ["Deflected", "DeflectedPart", "UnderPull", "deflected"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class UnderPull(Told):
    """All that is said of one pull.

    Parameters
    ----------
    deflection : Deflection
    budget : Budget
    ceilings : tuple of Ceiling
    spread : BudgetSpread, optional
        Interval from the ranges of the joints; None where none has a range.
    models : ModelComparison, optional
        Beams beside bodies, where the machine has a body.
    mesh_error : float, optional
        By which the meshes of the bodies may be off along the budget [m].
    bedded : float, optional
        Deflection along the budget if feet on bolts were bedded all over [m].
    chosen : Chosen, optional
        Where joints that open or have play are stated: the state that all of this is of.
    """

    TOLD: ClassVar[Telling] = (
        ("total_95_m?", "interval"),
        ("state?", "state_rows"),
        ("every_joint_holding?", "holding"),
    )

    deflection: Deflection = field(metadata=INLINE)
    budget: Budget = field(metadata=INLINE)
    ceilings: tuple[Ceiling, ...] = ()
    spread: BudgetSpread | None = field(default=None, metadata=HIDDEN)
    models: ModelComparison | None = field(default=None, metadata=told(absent=True))
    mesh_error: float | None = field(default=None, metadata=told("mesh_error_m", absent=True))
    bedded: float | None = field(default=None, metadata=told("feet_bedded_m", absent=True))
    chosen: Chosen | None = field(default=None, metadata=HIDDEN)

    @property
    def pull(self) -> Pull:
        """The pull."""
        return self.deflection.pull

    @property
    def total(self) -> float:
        """Motion of the tool against the work along the pull [m]."""
        return self.budget.total

    @property
    def state_rows(self) -> list[dict[str, str]] | None:
        """What every component that opens or has play does."""
        if self.chosen is None:
            return None
        return [{"part": p.part, "component": p.mechanism, "state": word} for p, word in self.chosen.states]

    @property
    def holding(self) -> ToolMotion | None:
        """The tool if every joint held, where joints that open or have play are stated."""
        return None if self.chosen is None else self.chosen.holding.tool

    @property
    def interval(self) -> tuple[float, float] | None:
        """What the ranges of the joints leave open of `total`, 95 % [m]."""
        return None if self.spread is None else (self.spread.total[0], self.spread.total[2])

    def __repr__(self) -> str:
        first = ", ".join(f"{part} {share:.0%}" for part, share in self.budget.by_part()[:2])
        return f"UnderPull({self.pull.name!r}: {1e6 * self.total:.4g} µm; {first})"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DeflectedPart:
    """A member: what it is solved as, and the forces along it.

    Parameters
    ----------
    report : PartReport
    forces : tuple of CaseForces
        One a pull; of a body there are none.
    """

    report: PartReport = field(metadata=INLINE)
    forces: tuple[CaseForces, ...] = field(metadata=HIDDEN)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class Deflected(Answer):
    """How far the tool gives under every pull, and who causes it.

    Parameters
    ----------
    machine : Machine
    loop : Loop
        In which it was solved.
    parts : tuple of DeflectedPart
        Members, with what their walls change.
    pulls : tuple of UnderPull
    reactions : tuple of Reaction
        Of the ground, under every pull.

    Examples
    --------
    >>> import strongback as sb
    >>> from strongback.machine.sample import post
    >>> found = sb.deflect(post())
    >>> [row.part for row in found["sideways"].budget.rows[:2]]
    ['post', 'foot']
    """

    TOLD: ClassVar[Telling] = (("members", "members"), ("open_meets_closed?", "twist_doubts"))

    machine: Machine = field(metadata=told(of="name"))
    loop: Loop = field(metadata=HIDDEN)
    parts: tuple[DeflectedPart, ...]
    pulls: tuple[UnderPull, ...]
    reactions: tuple[Reaction, ...]

    @property
    def twist_doubts(self) -> tuple[TwistDoubt, ...] | None:
        """Members of which an open length meets a closed one: what that may add; None where there is none."""
        found = twist_doubts(open_meets_closed(self.machine), [one.budget for one in self.pulls])
        return found or None

    @property
    def reports(self) -> tuple[PartReport, ...]:
        """What each member is solved as."""
        return tuple(part.report for part in self.parts)

    @property
    def members(self) -> tuple[ForcesIn, ...]:
        """Forces along every member that is a beam, under every pull."""
        return tuple(
            ForcesIn(name=one.report.kind.name, forces=one.forces) for one in self.parts if one.forces
        )

    def __getitem__(self, pull: str) -> UnderPull:
        """What is said of the pull of a name.

        Raises
        ------
        KeyError
        """
        return {one.pull.name: one for one in self.pulls}[pull]

    def __repr__(self) -> str:
        first = [f"{one.pull.name} {1e6 * one.total:.4g} µm" for one in self.pulls[:3]]
        more = f" and {len(self.pulls) - 3} more" if len(self.pulls) > 3 else ""
        return f"Deflected({self.machine.name!r}: {', '.join(first)}{more})"


def deflected(
    ready: Assembled, pulls: Sequence[Pull], laws: Mapping[Parameter, OneSided | Play] | None = None
) -> Deflected:
    """How far the tool gives under some pulls, and who causes it.

    Parameters
    ----------
    ready : Assembled
    pulls : sequence of Pull
    laws : mapping of Parameter to OneSided or Play, optional
        Components of joints and supports that open or have play: all is then of the state that equilibrium chooses under
        each pull.

    Returns
    -------
    Deflected

    Examples
    --------
    >>> from strongback.machine.assembled import assembled
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> found = deflected(assembled(machine), machine.pulls)
    >>> round(float(found["sideways"].deflection.tool_displacement[0]) * 1e6, 6)  # [µm]
    78.0
    """
    loop = ready.loop
    states = {pull.name: choose(loop, pull, laws) for pull in pulls} if laws else {}
    cases = solve_cases(
        loop,
        [LoadCase(name=pull.name, pulls=(pull,)) for pull in pulls],
        misfits={name: state.misfits for name, state in states.items()},
    )
    return Deflected(
        machine=ready.machine,
        loop=loop,
        parts=tuple(
            DeflectedPart(report=report, forces=case_forces(cases, report.kind.name))
            for report in ready.reports
        ),
        pulls=tuple(_in_state(ready, states[pull.name], laws or {}) for pull in pulls)
        if states
        else tuple(_under(ready, pulls)),
        reactions=reactions_under(cases),
    )


def _under(ready: Assembled, pulls: Sequence[Pull]) -> list[UnderPull]:
    """Deflection, budget, ceilings, interval and bounds of every pull."""
    loop, bodies = ready.loop, ready.has_bodies
    ranged = bool(known_spreads(ready.machine))
    limits = ceilings_of_pulls(ready.machine, ready.parts, pulls)
    each = zip(
        pulls, solve_all(loop, pulls), limits, mesh_errors(loop, pulls), bedded_feet(loop, pulls), strict=True
    )
    found = []
    for pull, deflection, ceilings, error, bedded in each:
        rows = budget_with_walls(ready.beams, loop, pull) if bodies else budget(loop, pull)
        found.append(
            UnderPull(
                deflection=deflection,
                budget=rows,
                ceilings=ceilings,
                spread=budget_spread(ready.machine, ready.parts, pull) if ranged else None,
                models=compare_models(ready.beams, loop, pull) if bodies else None,
                mesh_error=None if error is None else _along(np.abs(rows.direction), error),
                bedded=None if bedded is None else _along(rows.direction, bedded),
            )
        )
    return found


def _in_state(ready: Assembled, state: Chosen, laws: Laws) -> UnderPull:
    """The same of one pull, in the state that equilibrium chooses."""
    if not state.changed:
        (same,) = _under(ready, [state.pull])
        return replace(same, chosen=state)
    pull, loop, machine = state.pull, state.before.loop, state.machine
    direction = None if np.any(pull.force) else _towards(state.deflection)
    models = None
    if ready.has_bodies:
        beams = rebuilt(as_beams(machine), ready.parts)
        before = (state.before_in(beams), state.before)
        rows = budget_with_walls(beams, loop, pull, direction, before=before)
        models = compare_models(beams, loop, pull, direction, before=before)
    else:
        rows = budget(loop, pull, direction, before=state.before)
    ranged = bool(known_spreads(machine))
    (error,), (bedded,) = mesh_errors(loop, [pull]), bedded_feet(loop, [pull])
    return UnderPull(
        deflection=state.deflection,
        budget=rows,
        ceilings=ceilings_in_state(state, laws, rows),
        spread=budget_spread(machine, ready.parts, pull, direction=rows.direction, before=state.before)
        if ranged
        else None,
        models=models,
        mesh_error=None if error is None else _along(np.abs(rows.direction), error),
        bedded=None if bedded is None else _along(rows.direction, bedded),
        chosen=state,
    )


def _towards(found: Deflection) -> Vector:
    """Direction of the motion of the tool."""
    x, y, z = (float(v) for v in found.tool_displacement / np.linalg.norm(found.tool_displacement))
    return x, y, z


def _along(direction: Vector | Array, motion: Array) -> float:
    return float(np.asarray(direction) @ motion)
