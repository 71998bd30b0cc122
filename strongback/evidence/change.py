"""A change that was meant, what may have come with it, and the readings of both stages as functions of all unknowns."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from strongback import checks
from strongback.evidence.cord import slant_errors
from strongback.evidence.model import Pair, loads_and_rows, with_pairs
from strongback.evidence.readings import Measured
from strongback.machine.budget import contributions
from strongback.machine.layout import CONTACT, WALL
from strongback.machine.loop import Loop, assemble
from strongback.machine.parameters import Parameter, contribution_of, scaled
from strongback.machine.part.kinds import body_names
from strongback.machine.part.values import Parts
from strongback.machine.surrogate import FilledParts, FillState
from strongback.machine.values import COMPONENTS, Machine

__all__ = ["Case", "Cause", "ChangeModel", "causes_of", "changed_members"]

Array = NDArray[np.float64]
Kind = Literal["stiffness", "modulus", "bond", "flex", "load"]
FRACTIONS = ("bond", "flex")  # kinds whose variable is a fraction
Stage = Literal["before", "after"]
OF_BODIES = (WALL, CONTACT)  # stiffnesses whose derivatives are taken by differences
STEP = (
    1e-4  # for differences over the modulus and the hold of a fill: well above rounding, well below curvature
)
CHANGE_PRIOR = 0.4  # a stiffness that somebody has put back: within some 40 %
LOAD_PRIOR = 0.02
REACH = math.log(1e3)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """Something that may have changed besides what was meant.

    Parameters
    ----------
    name : str
    kind : {"stiffness", "modulus", "bond", "flex", "load"}
        What its variable is: logarithm of a factor on stiffnesses, on the modulus of the fill, on the load; or the
        fraction of the bond that is lost, of the give of the walls that the fill did not stop.
    prior_u : float
        Standard uncertainty of that variable beforehand.
    parameters : tuple of Parameter
        Stiffnesses that it multiplies.
    low, high : float
        Bounds of the variable.
    fill : str
        The fill whose variable it is; empty for none.
    """

    name: str
    kind: Kind
    prior_u: float
    parameters: tuple[Parameter, ...] = ()
    low: float = -REACH
    high: float = REACH
    fill: str = ""

    def __post_init__(self) -> None:
        where = f'cause "{self.name}"'
        checks.one_of(where, "kind", self.kind, checks.words_of(Kind))
        checks.number(where, "prior_u", self.prior_u, above=0.0)
        checks.number(where, "low", self.low)
        checks.number(where, "high", self.high)

    def shown(self, value: float) -> float:
        """The variable as it is shown: a factor, or a fraction lost."""
        return value if self.kind in FRACTIONS else math.exp(value)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Case:
    """A machine, what was meant to change, and what else may have.

    Parameters
    ----------
    machine : Machine
        Before.
    meant : Machine
        After, as it was meant.
    parts : Parts
        Before.
    filled : FilledParts
        After, with what was filled as it may have come out.
    causes : tuple of Cause
    """

    machine: Machine
    meant: Machine
    parts: Parts
    filled: FilledParts
    causes: tuple[Cause, ...]

    @property
    def members(self) -> tuple[str, ...]:
        """Members that change."""
        return changed_members(self.machine, self.meant)


def changed_members(before: Machine, after: Machine) -> tuple[str, ...]:
    """Members of a machine after a change that were not the same before."""
    old = {m.name: (m, [dict(before.sections).get(s.section) for s in m.spans]) for m in before.members}
    return tuple(
        m.name
        for m in after.members
        if old.get(m.name) != (m, [dict(after.sections).get(s.section) for s in m.spans])
    )


def causes_of(
    machine: Machine,
    changed: Sequence[str],
    *,
    filled: FilledParts | None = None,
    load_prior: float = LOAD_PRIOR,
) -> tuple[Cause, ...]:
    """Causes to consider: the fill, its bond and the walls it holds, or the gain of the section; joints, supports, load.

    Parameters
    ----------
    machine : Machine
    changed : sequence of str
        Members whose section changes.
    filled : FilledParts, optional
        What was filled; each fill has a modulus and a bond of its own.
    load_prior : float
        Relative standard uncertainty of the load after over that before.
    """
    found: list[Cause] = []
    bodies = body_names(machine)
    fills = () if filled is None else filled.names
    for fill in fills:
        found += _causes_of_fill(fill, of=f", {fill}" if len(fills) > 1 else "")
        if filled is not None and any(filled.fills[name] == fill for name in filled.bodies):
            of = f", {fill}" if len(fills) > 1 else ""
            found.append(Cause(name=f"wall flex{of}", kind="flex", prior_u=0.5, low=0.0, high=1.0, fill=fill))
    for member in (m for m in changed if filled is None or m not in filled.fills):
        found += [
            Cause(
                name=f"{member} {mechanism} after the change",
                kind="stiffness",
                prior_u=CHANGE_PRIOR,
                parameters=(Parameter(kind="member", part=member, mechanism=mechanism),),
            )
            for mechanism in ((WALL,) if member in bodies else ("bending", "torsion"))
        ]
    feet: list[Parameter] = []
    for kind, holder in machine.holders():
        own = tuple(
            Parameter(kind=kind, part=holder.name, mechanism=name)
            for name, k in zip(COMPONENTS, holder.stiffness, strict=True)
            if 0.0 < k < math.inf
        )
        own += _contact_of(machine, holder.name, bodies)
        if kind == "support":
            feet += own
        elif own:
            found.append(Cause(name=holder.name, kind="stiffness", prior_u=CHANGE_PRIOR, parameters=own))
    if feet:
        found.append(Cause(name="supports", kind="stiffness", prior_u=CHANGE_PRIOR, parameters=tuple(feet)))
    found.append(Cause(name="load", kind="load", prior_u=load_prior))
    return tuple(found)


def _causes_of_fill(fill: str, of: str) -> list[Cause]:
    return [
        Cause(
            name=f"fill modulus{of}",
            kind="modulus",
            prior_u=CHANGE_PRIOR,
            low=math.log(0.2),
            high=math.log(1.5),
            fill=fill,
        ),
        Cause(name=f"bond{of}", kind="bond", prior_u=0.5, low=0.0, high=1.0, fill=fill),
    ]


def _contact_of(machine: Machine, joint: str, bodies: Sequence[str]) -> tuple[Parameter, ...]:
    """Contact under the pad of a joint, which is made anew with it; where one joint alone bears on the pads of a body."""
    for body in bodies:
        pads = {pad.name for pad in machine.pads if pad.part == body}
        bearing = [j.name for j in machine.joints if j.pad in pads and body in j.parts]
        if bearing == [joint]:
            return (Parameter(kind="member", part=body, mechanism=CONTACT),)
    return ()


class ChangeModel:
    """Readings before and after, and their derivatives, from stiffnesses and causes.

    Parameters
    ----------
    change : Case
    before, after : sequence of (Pull, Gauge)
    parameters : sequence of Parameter
        Stiffnesses that are unknown before the change; they are the same after but for the causes.
    """

    def __init__(
        self, change: Case, before: Sequence[Pair], after: Sequence[Pair], parameters: Sequence[Parameter]
    ) -> None:
        self.change = change
        self.parameters = tuple(parameters)
        self.pairs: dict[Stage, tuple[Pair, ...]] = {"before": tuple(before), "after": tuple(after)}
        self._machines: dict[Stage, Machine] = {
            "before": with_pairs(change.machine, before),
            "after": with_pairs(change.meant, after),
        }
        n, k = len(parameters), len(change.causes)
        self._first: dict[Stage, tuple[Array, Array]] = {}
        for stage in self.pairs:
            loop = self._loop(stage, np.zeros(n), np.zeros(k))
            self._first[stage] = loads_and_rows(loop, self.pairs[stage])

    def __call__(self, z: Array) -> tuple[Array, Array]:
        """Readings of both stages (m,) [m] and derivatives (m, n + k)."""
        n = len(self.parameters)
        first, J_first = self._stage("before", z[:n], np.zeros_like(z[n:]))
        second, J_second = self.after(z[:n], z[n:])
        J_first = np.hstack([J_first, np.zeros((len(first), len(z) - n))])
        return np.concatenate([first, second]), np.vstack([J_first, J_second])

    def after(self, theta: Array, phi: Array) -> tuple[Array, Array]:
        """Readings after the change (m,) and derivatives by stiffnesses and causes (m, n + k)."""
        parts = self._parts("after", theta, phi)
        bare = np.sum(list(parts.values()), axis=0)
        gain = self._gain(phi)
        J = self._parameter_columns("after", theta, phi, parts)
        columns = []
        for j, cause in enumerate(self.change.causes):
            if cause.kind == "load":
                columns.append(bare)
            elif cause.kind == "stiffness" and not any(p.mechanism in OF_BODIES for p in cause.parameters):
                columns.append(-np.sum([contribution_of(parts, p) for p in cause.parameters], axis=0))
            else:
                columns.append(self._difference(theta, phi, j, cause, bare))
        return gain * bare, gain * np.column_stack([*J, *columns])

    def readings(self, stage: Stage, theta: Array, phi: Array) -> Array:
        """Readings of a stage (m,) [m]; causes act after the change only."""
        gain = self._gain(phi) if stage == "after" else 1.0
        return np.asarray(gain * self._bare(stage, theta, phi))

    def value(self, z: Array) -> Array:
        """Readings of both stages (m,) [m]."""
        n = len(self.parameters)
        first = self.readings("before", z[:n], np.zeros_like(z[n:]))
        return np.concatenate([first, self.readings("after", z[:n], z[n:])])

    def slants(self, z: Array, before: Sequence[Measured], after: Sequence[Measured]) -> Array:
        """Errors that pulls off their direction cause, see `cord.slant_errors`; each stage had its own cords."""
        n = len(self.parameters)
        loops = (
            self._loop("before", z[:n], np.zeros_like(z[n:])),
            self._loop("after", z[:n], z[n:]),
        )
        pairs = (self.pairs["before"], self.pairs["after"])
        blocks = [
            slant_errors(loop, own, [m.slant for m in measured], rows)
            for loop, own, measured, (_, rows) in zip(
                loops,
                pairs,
                (before, after),
                (self._ends("before", loops[0]), self._ends("after", loops[1])),
                strict=True,
            )
        ]
        return np.asarray(scipy.linalg.block_diag(*blocks))

    def changed_share(self, stage: Stage, theta: Array) -> Array:
        """What the members whose section changes contribute to the readings of a stage, as meant (m,) [m]."""
        parts = self._parts(stage, theta, np.zeros(len(self.change.causes)))
        mine = [v for (kind, part, _), v in parts.items() if kind == "member" and part in self.change.members]
        return np.asarray(np.sum(mine, axis=0))

    def _stage(self, stage: Stage, theta: Array, phi: Array) -> tuple[Array, Array]:
        parts = self._parts(stage, theta, phi)
        J = self._parameter_columns(stage, theta, phi, parts)
        return np.sum(list(parts.values()), axis=0), np.column_stack(J)

    def _parameter_columns(
        self, stage: Stage, theta: Array, phi: Array, parts: Mapping[tuple[str, str, str], Array]
    ) -> list[Array]:
        """Derivatives by the stiffnesses, without the gain of the load."""
        columns = []
        for i, parameter in enumerate(self.parameters):
            if parameter.mechanism not in OF_BODIES:
                columns.append(-contribution_of(parts, parameter))
                continue
            moved = theta.copy()
            moved[i] += STEP
            columns.append((self._bare(stage, moved, phi) - np.sum(list(parts.values()), axis=0)) / STEP)
        return columns

    def _ends(self, stage: Stage, loop: Loop) -> tuple[Array, Array]:
        """Loads and gauge rows; those on bodies change with the contact under their pads."""
        return loads_and_rows(loop, self.pairs[stage]) if self.change.parts.bodies else self._first[stage]

    def _gain(self, phi: Array) -> float:
        return math.exp(
            sum(float(v) for v, c in zip(phi, self.change.causes, strict=True) if c.kind == "load")
        )

    def _difference(self, theta: Array, phi: Array, j: int, cause: Cause, bare: Array) -> Array:
        """Derivative by a variable of the fill, by a short step within its bounds."""
        step = STEP if phi[j] + STEP <= cause.high else -STEP
        moved = phi.copy()
        moved[j] += step
        return np.asarray((self._bare("after", theta, moved) - bare) / step)

    def _bare(self, stage: Stage, theta: Array, phi: Array) -> Array:
        """Readings without the gain of the load (m,)."""
        loop = self._loop(stage, theta, phi)
        loads, rows = self._ends(stage, loop)
        motions, _ = loop.solve(loads)
        return np.asarray(np.einsum("um,um->m", rows, motions))

    def _parts(self, stage: Stage, theta: Array, phi: Array) -> dict[tuple[str, str, str], Array]:
        loop = self._loop(stage, theta, phi)
        return contributions(loop, *self._ends(stage, loop))

    def _loop(self, stage: Stage, theta: Array, phi: Array) -> Loop:
        factors = dict(zip(self.parameters, np.exp(theta).tolist(), strict=True))
        if stage == "after":
            for cause, value in zip(self.change.causes, phi.tolist(), strict=True):
                if cause.kind == "stiffness":
                    for p in cause.parameters:
                        factors[p] = factors.get(p, 1.0) * math.exp(value)
        there = scaled(self._machines[stage], factors)
        parts = self.change.parts if stage == "before" else self.change.filled.at(there, self._fills(phi))
        return assemble(there, parts, pieces=1)

    def _fills(self, phi: Array) -> dict[str, FillState]:
        """How every fill came out."""
        found: dict[str, FillState] = {}
        meant = self.change.filled.holds
        for cause, value in zip(self.change.causes, phi.tolist(), strict=True):
            state = found.get(cause.fill, FillState())
            if cause.kind == "modulus":
                found[cause.fill] = dataclasses.replace(state, log_modulus=value)
            elif cause.kind == "bond":
                found[cause.fill] = dataclasses.replace(state, hold=abs(meant[cause.fill] - value))
            elif cause.kind == "flex":
                found[cause.fill] = dataclasses.replace(state, flex=value)
        return found
