"""Readings as functions of the stiffnesses of a machine: where measurements and model meet."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from strongback.answer import Telling
from strongback.errors import ReadingsError
from strongback.evidence.cord import slant_errors
from strongback.evidence.readings import Measured
from strongback.machine.budget import contributions
from strongback.machine.layout import CONTACT, WALL
from strongback.machine.loop import Loop, assemble
from strongback.machine.parameters import Parameter, contribution_of, parameters_of, scaled
from strongback.machine.part.kinds import body_names
from strongback.machine.part.values import Parts, contact_over_wall
from strongback.machine.room import motion_word
from strongback.machine.solve import gauge_row, pull_load
from strongback.machine.spread import joint_spreads, known_correlation, known_spreads
from strongback.machine.values import GROUND, Gauge, Machine, Pull

__all__ = [
    "BODY_PRIOR",
    "JOINT_PRIOR",
    "MEMBER_PRIOR",
    "LeftOut",
    "LoopModel",
    "Matched",
    "Pair",
    "default_parameters",
    "in_words",
    "match",
    "prior_covariance",
    "prior_uncertainty",
    "size_of",
]

Array = NDArray[np.float64]
Pair = tuple[Pull, Gauge]
JOINT_PRIOR = math.log(3.0)  # a joint that nobody has measured: within a factor of three
MEMBER_PRIOR = 0.1  # a section that has been drawn and weighed
KEPT = 4
BODY_PRIOR = 0.15  # walls bend as the cube of their thickness: 5 % of it, as rolled or drawn; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A value that the machine cannot predict, and why."""

    ONLY: ClassVar[Telling] = (
        ("pull", "measured.pull"),
        ("gauge", "measured.gauge"),
        ("reason", "reason"),
    )

    measured: Measured
    reason: str
    hint: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Matched:
    """Values with the pull and gauge of the machine that belong to them.

    Parameters
    ----------
    measured : tuple of Measured
    pairs : tuple of (Pull, Gauge)
        The pull scaled to the load of the value.
    left_out : tuple of LeftOut
    notes : tuple of str
    """

    measured: tuple[Measured, ...]
    pairs: tuple[Pair, ...]
    left_out: tuple[LeftOut, ...]
    notes: tuple[str, ...]

    @property
    def slants(self) -> tuple[float, ...]:
        """Standard deviation of the direction of the pull of every value [rad]."""
        return tuple(m.slant for m in self.measured)


def size_of(pull: Pull) -> float:
    """Size of the force of a pull, or of its couple where it has no force [N or N m]."""
    return float(np.linalg.norm(pull.force) or np.linalg.norm(pull.couple))


def at_load(pull: Pull, load: float) -> Pull:
    """The pull with another load [N or N m]."""
    factor = load / size_of(pull)
    fx, fy, fz = (factor * v for v in pull.force)
    cx, cy, cz = (factor * v for v in pull.couple)
    return dataclasses.replace(pull, force=(fx, fy, fz), couple=(cx, cy, cz))


def match(machine: Machine, measured: Iterable[Measured]) -> Matched:
    """Find the pull and the gauge of every value.

    Parameters
    ----------
    machine : Machine
    measured : iterable of Measured

    Returns
    -------
    Matched
        Values of unknown pulls, gauges or parts are left out with the reason.
    """
    pulls = {p.name: p for p in machine.pulls}
    gauges = {g.name: g for g in machine.gauges}
    parts = {GROUND, *(m.name for m in machine.members), *(b.name for b in machine.blocks)}
    kept, pairs, left, notes = [], [], [], []
    for m in measured:
        reason = _unknown(m, pulls, gauges, parts)
        if reason:
            left.append(LeftOut(measured=m, reason=reason[0], hint=reason[1]))
            continue
        gauge = gauges[m.gauge]
        if m.reference and m.reference != gauge.reference:
            notes.append(
                f'"{m.gauge}" under "{m.pull}": the stand was on "{m.reference}", the machine says '
                f'"{gauge.reference}"; the log is followed'
            )
            gauge = dataclasses.replace(gauge, reference=m.reference, stand=None)
        kept.append(m)
        pairs.append((at_load(pulls[m.pull], m.load), gauge))
    return Matched(measured=tuple(kept), pairs=tuple(pairs), left_out=tuple(left), notes=tuple(notes))


def _rows(m: Measured) -> str:
    return f"rows {', '.join(map(str, m.rows))}" if any(m.rows) else f'"{m.gauge}" under "{m.pull}"'


def _unknown(
    m: Measured, pulls: Mapping[str, Pull], gauges: Mapping[str, Gauge], parts: set[str]
) -> tuple[str, str] | None:
    rows = _rows(m)
    if m.pull not in pulls:
        return f'{rows}: the machine has no pull "{m.pull}"', f"it has {', '.join(pulls) or 'none'}"
    if m.gauge not in gauges:
        return f'{rows}: the machine has no gauge "{m.gauge}"', f"it has {', '.join(gauges) or 'none'}"
    if m.reference and m.reference not in parts:
        return (
            f'{rows}: no part is called "{m.reference}"',
            f"the stand sits on one of {', '.join(sorted(parts))}",
        )
    return None


class LoopModel:
    """Expected readings and their derivatives from the logarithms of factors on stiffnesses.

    Parameters
    ----------
    build : callable
        Loop from factors; of the same parts and points whatever the factors.
    pairs : sequence of (Pull, Gauge)
    parameters : sequence of Parameter
    turned : callable, optional
        The same loop with every gauge row on a body moved by its derivative by the logarithm of the contact under its pads;
        where there is no such body, rows and loads are the same for all factors.

    Notes
    -----
    Derivatives are those of virtual work: minus the contribution of a stiffness to a reading. They are exact where
    the factor multiplies the stiffness. All contributions together are the reading. A point on the wall of a body follows
    the pads by how it lies between them, which changes with their contact: that part is added.
    """

    def __init__(
        self,
        build: Callable[[Mapping[Parameter, float]], Loop],
        pairs: Sequence[Pair],
        parameters: Sequence[Parameter],
        turned: Callable[[Loop], Mapping[str, Loop]] | None = None,
    ) -> None:
        self.build = build
        self.pairs = tuple(pairs)
        self.parameters = tuple(parameters)
        self._turned = turned
        self._kept: dict[bytes, Loop] = {}
        loop = build({})
        self._first = loads_and_rows(loop, self.pairs)

    @classmethod
    def of(
        cls,
        machine: Machine,
        parts: Parts,
        pairs: Sequence[Pair],
        parameters: Sequence[Parameter],
    ) -> LoopModel:
        """Model of a machine whose parts are known."""
        ready = with_pairs(machine, pairs)
        plain = assemble(ready, parts, pieces=1)

        def build(factors: Mapping[Parameter, float]) -> Loop:
            return assemble(scaled(ready, factors), parts, like=plain)

        varied = {p.part for p in parameters if p.mechanism in (WALL, CONTACT)} & set(body_names(machine))
        return cls(build, pairs, parameters, turned_loops if varied else None)

    def __call__(self, x: Array) -> tuple[Array, Array]:
        """Readings (m,) [m] and derivatives (m, n) at the logarithms x (n,)."""
        loop = self.loop_at(x)
        loads, rows = self._ends(loop)
        parts = contributions(loop, loads, rows)
        J = [-contribution_of(parts, parameter) for parameter in self.parameters]
        if self._turned is not None:
            self._add_turning(loop, loads, rows, J)
        shape = (len(self.pairs), 0)
        return np.sum(list(parts.values()), axis=0), np.column_stack(J) if J else np.zeros(shape)

    def _add_turning(self, loop: Loop, loads: Array, rows: Array, J: list[Array]) -> None:
        """What the gauge rows and loads on bodies add to the derivatives."""
        assert self._turned is not None
        for part, turned in self._turned(loop).items():
            more = slope_of_ends(loop, turned, self.pairs, (loads, rows))
            for i, parameter in enumerate(self.parameters):
                if (parameter.kind, parameter.part) == ("member", part):
                    J[i] = J[i] + {CONTACT: 1.0, WALL: -1.0}.get(parameter.mechanism, 0.0) * more

    def _ends(self, loop: Loop) -> tuple[Array, Array]:
        return self._first if self._turned is None else loads_and_rows(loop, self.pairs)

    def slants(self, x: Array, angles: Sequence[float]) -> Array:
        """Errors that pulls off their direction by angles [rad] cause at the logarithms x, see `cord.slant_errors`."""
        loop = self.loop_at(x)
        return slant_errors(loop, self.pairs, angles, self._ends(loop)[1])

    def loop_at(self, x: Array) -> Loop:
        """The loop at the logarithms x; the last few are kept."""
        key = x.tobytes()
        if key not in self._kept:
            while len(self._kept) >= KEPT:
                self._kept.pop(next(iter(self._kept)))
            self._kept[key] = self.build(dict(zip(self.parameters, np.exp(x).tolist(), strict=True)))
        return self._kept[key]


def loads_and_rows(loop: Loop, pairs: Sequence[Pair]) -> tuple[Array, Array]:
    """Loads and gauge rows of pairs, (unknowns, pairs) each."""
    return (
        np.column_stack([pull_load(loop, pull) for pull, _ in pairs]),
        np.column_stack([gauge_row(loop, gauge) for _, gauge in pairs]),
    )


def turned_loops(loop: Loop) -> dict[str, Loop]:
    """For every body the loop with its gauge rows moved by their derivative by the logarithm of the contact."""
    found = {}
    for name, place in loop.bodies.items():
        member = next(m for m in loop.machine.members if m.name == name)
        family = loop.parts.bodies[name]
        slopes = family.gauge_slopes(contact_over_wall(member) / family.meant)
        body = dataclasses.replace(place.body, gauges=place.body.gauges + slopes)
        bodies = {**loop.bodies, name: dataclasses.replace(place, body=body)}
        found[name] = dataclasses.replace(loop, layout=dataclasses.replace(loop.layout, bodies=bodies))
    return found


def slope_of_ends(loop: Loop, turned: Loop, pairs: Sequence[Pair], ends: tuple[Array, Array]) -> Array:
    """Derivative of readings by moving loads and gauge rows to those of another loop, stiffness as it is (m,)."""
    loads, rows = ends
    more_loads, more_rows = (a - b for a, b in zip(loads_and_rows(turned, pairs), ends, strict=True))
    motions, _ = loop.solve(loads)
    virtual, _ = loop.solve(rows)
    return np.asarray((more_rows * motions).sum(axis=0) + (virtual * more_loads).sum(axis=0))


def with_pairs(machine: Machine, pairs: Sequence[Pair]) -> Machine:
    """The machine with these pulls and gauges added where their points are not yet among its own."""
    pulls = {(p.part, p.at): p for p in (*(p for p, _ in pairs), *machine.pulls)}
    gauges = {(g.part, g.at, g.reference, g.stand): g for g in (*(g for _, g in pairs), *machine.gauges)}
    return dataclasses.replace(
        machine, pulls=_distinct(tuple(pulls.values())), gauges=_distinct_gauges(tuple(gauges.values()))
    )


def _distinct(pulls: tuple[Pull, ...]) -> tuple[Pull, ...]:
    return tuple(dataclasses.replace(p, name=f"{i}") for i, p in enumerate(pulls))


def _distinct_gauges(gauges: tuple[Gauge, ...]) -> tuple[Gauge, ...]:
    return tuple(dataclasses.replace(g, name=f"{i}") for i, g in enumerate(gauges))


def default_parameters(machine: Machine) -> tuple[Parameter, ...]:
    """What a calibration asks about unless told: joints and supports with a range, bending and torsion of members.

    Where no joint has a range, all joint components that are neither free nor rigid. Of a body its walls, and the contact
    under all its pads together.

    Parameters
    ----------
    machine : Machine
    """
    ranged = tuple(joint_spreads(machine))
    every = parameters_of(machine)
    joints = ranged or tuple(p for p in every if p.kind != "member")
    return (
        *joints,
        *(p for p in every if p.kind == "member" and p.mechanism in ("bending", "torsion", WALL, CONTACT)),
    )


def prior_uncertainty(machine: Machine, parameters: Sequence[Parameter]) -> Array:
    """Standard uncertainty of the logarithm of each stiffness before any reading, (n,)."""
    ranges = known_spreads(machine)
    return np.array([ranges.get(p, _unranged(p)) for p in parameters], dtype=float)


def prior_covariance(machine: Machine, parameters: Sequence[Parameter]) -> Array:
    """Covariance of the logarithms of stiffnesses before any reading, (n, n)."""
    u = prior_uncertainty(machine, parameters)
    return np.asarray(known_correlation(machine, parameters) * np.outer(u, u))


def _unranged(parameter: Parameter) -> float:
    if parameter.kind != "member" or parameter.mechanism == CONTACT:
        return JOINT_PRIOR
    return BODY_PRIOR if parameter.mechanism == WALL else MEMBER_PRIOR


def in_words(parameter: Parameter, machine: Machine) -> str:
    """A stiffness as one would say it: of a joint, the motion that the operator sees.

    Parameters
    ----------
    parameter : Parameter
    machine : Machine
        Whose joints have axes of their own.

    Returns
    -------
    str
        Such as ``"base nod"``, ``"column bending"`` or ``"column walls"``.
    """
    if parameter.mechanism == WALL:
        return f"{parameter.part} walls"
    if parameter.mechanism == CONTACT:
        return f"{parameter.part} pad contact"
    if parameter.kind == "member":
        return f"{parameter.part} {parameter.mechanism}"
    axes = next(h.axes for k, h in machine.holders() if (k, h.name) == (parameter.kind, parameter.part))
    return f"{parameter.part} {motion_word(parameter.mechanism, axes, machine.operator)}"


def refuse_nothing(matched: Matched) -> None:
    """Refuse a data set of which the machine knows no reading."""
    if matched.measured:
        return
    reasons = "; ".join(dict.fromkeys(left.reason for left in matched.left_out))
    hint = matched.left_out[0].hint if matched.left_out else "log at least one reading"
    raise ReadingsError(f"no reading can be used{': ' + reasons if reasons else ''}", hint=hint)
