"""Stiffnesses that may be asked about: their effect on readings, and machines in which they are changed."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

from strongback import checks
from strongback.errors import MachineError
from strongback.machine.budget import BODY, PAD_CONTACT, contributions
from strongback.machine.layout import CONTACT, FACTORS, WALL
from strongback.machine.loop import Loop
from strongback.machine.part.kinds import asked_about
from strongback.machine.solve import gauge_row, pull_load
from strongback.machine.values import COMPONENTS, MECHANISMS, Gauge, Joint, Machine, Member, Pull, Support

__all__ = [
    "Parameter",
    "contribution_of",
    "parameters_of",
    "responses",
    "rows_of",
    "scaled",
    "sensitivities",
]

Array = NDArray[np.float64]
T = TypeVar("T", Joint, Support)
_MEMBER_ROWS = {
    "bending": ("bending about x", "bending about y"),
    "torsion": ("torsion",),
    "shear": ("shear",),
    "axial": ("axial",),
    "warping": ("warping",),
    WALL: (BODY,),
    CONTACT: (PAD_CONTACT,),
}


Kind: TypeAlias = Literal["joint", "support", "member"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """A stiffness of the machine.

    Parameters
    ----------
    kind : {"joint", "support", "member"}
    part : str
        Name of the joint, support or member.
    mechanism : str
        A component such as ``"about x"``; of a beam one of bending, torsion, shear, axial, warping, of a
        body ``"wall"``, all that it gives with its walls, and ``"contact"``, the faces under its pads.
    """

    kind: Kind
    part: str
    mechanism: str

    def __post_init__(self) -> None:
        where = f'stiffness of "{checks.text("stiffness", "part", self.part)}"'
        kind = checks.one_of(where, "kind", self.kind, checks.words_of(Kind))
        words = MECHANISMS if kind == "member" else COMPONENTS
        checks.one_of(where, "mechanism", self.mechanism, words)

    def __str__(self) -> str:
        return f"{self.part}, {self.mechanism}"


def parameters_of(machine: Machine) -> tuple[Parameter, ...]:
    """Every stiffness of a machine that is finite and not free.

    Parameters
    ----------
    machine : Machine
    """
    found = []
    for kind, holder in machine.holders():
        for name, k in zip(COMPONENTS, holder.stiffness, strict=True):
            if 0.0 < k < np.inf:
                found.append(Parameter(kind=kind, part=holder.name, mechanism=name))
    for member in machine.members:
        found += [
            Parameter(kind="member", part=member.name, mechanism=name)
            for name in asked_about(machine, member)
        ]
    return tuple(found)


def responses(loop: Loop, pairs: Sequence[tuple[Pull, Gauge]]) -> Array:
    """Expected reading of a gauge under a pull, pair by pair.

    Parameters
    ----------
    loop : Loop
    pairs : sequence of (Pull, Gauge)

    Returns
    -------
    ndarray, shape (pairs,)
        [m]
    """
    loads, rows = _pairs(loop, pairs)
    return np.diag(loop.read(rows.T, loads)).copy()


def sensitivities(loop: Loop, pairs: Sequence[tuple[Pull, Gauge]], parameters: Sequence[Parameter]) -> Array:
    """Derivative of readings by the logarithm of stiffnesses.

    Parameters
    ----------
    loop : Loop
    pairs : sequence of (Pull, Gauge)
    parameters : sequence of Parameter

    Returns
    -------
    ndarray, shape (pairs, parameters)
        [m]; minus the contribution of that stiffness to that reading.
    """
    loads, rows = _pairs(loop, pairs)
    shares = contributions(loop, loads, rows)
    return (
        np.column_stack([-contribution_of(shares, parameter) for parameter in parameters])
        if parameters
        else np.zeros((len(pairs), 0))
    )


def _pairs(loop: Loop, pairs: Sequence[tuple[Pull, Gauge]]) -> tuple[Array, Array]:
    pulls = {pull: pull_load(loop, pull) for pull, _ in pairs}
    gauges = {gauge: gauge_row(loop, gauge) for _, gauge in pairs}
    return np.column_stack([pulls[p] for p, _ in pairs]), np.column_stack([gauges[g] for _, g in pairs])


def rows_of(parameter: Parameter) -> tuple[str, ...]:
    """Mechanisms of `budget.contributions` that a stiffness stands for.

    Examples
    --------
    >>> rows_of(Parameter(kind="member", part="column", mechanism="bending"))
    ('bending about x', 'bending about y')
    """
    if parameter.kind == "member":
        return _MEMBER_ROWS.get(parameter.mechanism, ())
    return (parameter.mechanism,)


def contribution_of(shares: Mapping[tuple[str, str, str], Array], parameter: Parameter) -> Array:
    """Contribution of one stiffness to readings, from `budget.contributions`.

    Parameters
    ----------
    shares : mapping of (kind, part, mechanism) to ndarray of shape (pairs,)
    parameter : Parameter

    Returns
    -------
    ndarray, shape (pairs,)
        [m]

    Raises
    ------
    MachineError
        If there is no such stiffness.
    """
    found = [
        shares[k] for name in rows_of(parameter) if (k := (parameter.kind, parameter.part, name)) in shares
    ]
    if not found:
        raise MachineError(f"no stiffness is called {parameter}", hint="a free component has none")
    return np.asarray(np.sum(found, axis=0))


def scaled(machine: Machine, factors: Mapping[Parameter, float]) -> Machine:
    """A machine with some stiffnesses multiplied.

    Parameters
    ----------
    machine : Machine
    factors : mapping of Parameter to float
        Above 0.

    Returns
    -------
    Machine

    Raises
    ------
    MachineError
        If there is no such stiffness.
    """
    for parameter in factors:
        _refuse_unknown(machine, parameter)
    return dataclasses.replace(
        machine,
        joints=tuple(_scaled_springs(j, "joint", factors) for j in machine.joints),
        supports=tuple(_scaled_springs(s, "support", factors) for s in machine.supports),
        members=tuple(_scaled_member(m, factors) for m in machine.members),
    )


def _refuse_unknown(machine: Machine, parameter: Parameter) -> None:
    if parameter.kind == "member":
        known = {(m.name, name) for m in machine.members for name in (*FACTORS, WALL, CONTACT)}
    else:
        known = {
            (h.name, name) for kind, h in machine.holders() for name in COMPONENTS if kind == parameter.kind
        }
    if (parameter.part, parameter.mechanism) not in known:
        raise MachineError(f"no stiffness is called {parameter}")


def _scaled_springs(holder: T, kind: str, factors: Mapping[Parameter, float]) -> T:
    mine = {p.mechanism: f for p, f in factors.items() if p.kind == kind and p.part == holder.name}
    if not mine:
        return holder
    a, b, c, d, e, f = (k * mine.get(name, 1.0) for name, k in zip(COMPONENTS, holder.stiffness, strict=True))
    return dataclasses.replace(holder, stiffness=(a, b, c, d, e, f))


def _scaled_member(member: Member, factors: Mapping[Parameter, float]) -> Member:
    mine = {p.mechanism: f for p, f in factors.items() if p.kind == "member" and p.part == member.name}
    if not mine:
        return member
    old = dict(member.factors)
    merged = {name: old.get(name, 1.0) * mine.get(name, 1.0) for name in {**old, **mine}}
    return dataclasses.replace(member, factors=tuple(merged.items()))
