"""Budgets with intervals: what is known of the joints, carried through the loop.

The joint stiffnesses are drawn. In every draw the forces are those that balance gives plus some of each self-stress, so
that the work of any mechanism is a small bilinear form of these amounts, made once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from strongback.errors import MachineError
from strongback.machine.budget import budget, component_key, member_forms
from strongback.machine.loop import Loop, assemble
from strongback.machine.parameters import Parameter, rows_of
from strongback.machine.part.values import Parts
from strongback.machine.prestate import Prestate, play_name
from strongback.machine.solve import pull_load, tool_rows
from strongback.machine.statics.determinate import Carried
from strongback.machine.values import COMPONENTS, Joint, Machine, Pull, Support, Vector
from strongback.machine.variants import component_index

__all__ = [
    "BudgetSpread",
    "RowSpread",
    "budget_spread",
    "joint_spreads",
    "known_correlation",
    "known_spreads",
]

Array = NDArray[np.float64]
NINETY_FIVE = 1.959963984540054


@dataclass(frozen=True, slots=True, kw_only=True)
class RowSpread:
    """A row of the budget with its interval.

    Parameters
    ----------
    part, kind, mechanism : str
        As in `BudgetRow`.
    contribution : tuple of float
        2.5 %, 50 % and 97.5 % of the draws [m].
    share : tuple of float
        The same of the share [-].

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> found = budget_spread(machine, parts_of(machine), machine.pulls[0], draws=256)
    >>> [round(share, 2) for share in found.rows[0].share]  # of the bending of the post
    [0.9, 0.92, 0.94]
    """

    part: str
    kind: str
    mechanism: str
    contribution: tuple[float, float, float]
    share: tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetSpread:
    """A budget with intervals.

    Parameters
    ----------
    pull : str
    total : tuple of float
        2.5 %, 50 % and 97.5 % of the draws [m].
    rows : tuple of RowSpread
        Largest median first.
    parts : tuple of (str, tuple of float)
        Share of each part [-].
    draws : int
        0 for intervals to first order.

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> found = budget_spread(machine, parts_of(machine), machine.pulls[0], draws=256)
    >>> [round(v * 1e6, 1) for v in found.total]  # 74 + 36/k µm, the foot k between 6e6 and 13.5e6 N m/rad
    [76.7, 78.0, 79.9]
    """

    pull: str
    total: tuple[float, float, float]
    rows: tuple[RowSpread, ...]
    parts: tuple[tuple[str, tuple[float, float, float]], ...]
    draws: int

    def __repr__(self) -> str:
        low, middle, high = (1e6 * v for v in self.total)
        return f"BudgetSpread({self.pull!r}: {middle:.4g} µm, 95 % of draws {low:.4g} to {high:.4g})"


def joint_spreads(machine: Machine) -> dict[Parameter, float]:
    """Standard deviation of the logarithm of each joint stiffness that has a range.

    A range is read as an interval of 95 % of a log-normal quantity centred on its geometric middle.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    dict of Parameter to float

    Examples
    --------
    >>> from strongback.machine.sample import post
    >>> found = joint_spreads(post())  # 6e6 to 13.5e6: a factor of 1.5 both ways
    >>> [(p.part, p.mechanism, round(s, 3)) for p, s in found.items()]
    [('foot', 'about x', 0.207), ('foot', 'about y', 0.207)]
    """
    found = {}
    for kind, holder in machine.holders():
        found.update(_spreads(kind, holder))
    return found


def known_spreads(machine: Machine) -> dict[Parameter, float]:
    """As `joint_spreads`, with the factors of members that have a range.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    dict of Parameter to float

    Examples
    --------
    >>> from strongback.machine.sample import post
    >>> len(known_spreads(post()))
    2
    """
    return joint_spreads(machine) | {
        Parameter(kind="member", part=member.name, mechanism=name): _sigma(low, high)
        for member in machine.members
        for name, low, high in member.factor_ranges
        if 0.0 < low < high < np.inf
    }


def known_correlation(machine: Machine, parameters: Sequence[Parameter]) -> Array:
    """Correlation of the logarithms of stiffnesses, as the machine states it.

    Parameters
    ----------
    machine : Machine
    parameters : sequence of Parameter

    Returns
    -------
    ndarray, shape (parameters, parameters)
        Positive semidefinite with ones on its diagonal; what was rounded or left out is made good.

    Examples
    --------
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> known_correlation(machine, list(joint_spreads(machine))).tolist()  # nothing is stated: independent
    [[1.0, 0.0], [0.0, 1.0]]
    """
    place = {str(p): i for i, p in enumerate(parameters)}
    found = np.eye(len(parameters))
    for first, second, value in machine.correlation:
        if first in place and second in place:
            found[place[first], place[second]] = found[place[second], place[first]] = value
    values, vectors = np.linalg.eigh(found)
    if len(values) and values[0] < 0.0:
        found = (vectors * np.maximum(values, 0.0)) @ vectors.T
        size = np.sqrt(np.diag(found))
        found = found / np.outer(size, size)
    return found


def _sigma(low: float, high: float) -> float:
    return float(np.log(high / low) / (2.0 * NINETY_FIVE))


def _spreads(kind: Literal["joint", "support"], holder: Joint | Support) -> dict[Parameter, float]:
    if holder.low is None or holder.high is None:
        return {}
    rows = zip(COMPONENTS, holder.stiffness, holder.low, holder.high, strict=True)
    return {
        Parameter(kind=kind, part=holder.name, mechanism=name): _sigma(low, high)
        for name, k, low, high in rows
        if 0.0 < k < np.inf and 0.0 < low < high < np.inf
    }


def budget_spread(
    machine: Machine,
    parts: Parts,
    pull: Pull,
    *,
    direction: Vector | None = None,
    spreads: Mapping[Parameter, float] | None = None,
    correlation: Array | None = None,
    draws: int = 1024,
    seed: int = 0,
    before: Prestate | None = None,
) -> BudgetSpread:
    """Budget of the deflection of the tool with intervals from what is known of the joints and of factors on members.

    Parameters
    ----------
    machine : Machine
    parts : Parts
        As for `assemble`; the rows of a body are one, called ``body``.
    pull : Pull
    direction : Vector, optional
        Default: along the force.
    spreads : mapping of Parameter to float, optional
        Standard deviation of the logarithm of each stiffness; default from the ranges of joints and
        factors. Joints are exact; a factor on a member divides what it gives, which holds where forces have one way only.
    correlation : ndarray, shape (parameters, parameters), optional
        Of the logarithms, in the order of `spreads`.
    draws : int
    seed : int
    before : Prestate, optional
        What acts beside the pull where a joint has let go or bears across a gap; every draw is in that state, whichever the
        drawn stiffnesses would choose.

    Returns
    -------
    BudgetSpread
        Of a machine that states a correlation to first order: readings fix sums of compliances, and straight lines between
        logarithms leave such sums by more than they are known.

    Raises
    ------
    MachineError
        If nothing has a range.

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> found = budget_spread(machine, parts_of(machine), machine.pulls[0], draws=256)
    >>> round(found.total[1] * 1e6, 1)  # [µm]
    78.0
    """
    known = known_spreads(machine) if spreads is None else dict(spreads)
    if not known:
        raise MachineError("nothing has a range", hint="give joints low and high, or calibrate them")
    if spreads is None and machine.correlation:
        return _linear(
            assemble(machine, parts) if before is None else before.loop, pull, direction, known, before
        )
    factors = np.exp(_draws(np.array(list(known.values())), correlation, draws, seed))
    sprung = np.array([p.kind != "member" for p in known])
    joints = [p for p in known if p.kind != "member"]
    rows, names = _all_budgets(
        assemble(machine, parts) if before is None else before.loop,
        pull,
        direction,
        joints,
        factors[:, sprung],
        before,
    )
    for parameter, factor in zip(known, factors.T, strict=True):
        if parameter.kind == "member":
            mine = [(parameter.kind, parameter.part, row) for row in rows_of(parameter)]
            rows[:, [i for i, name in enumerate(names) if name in mine]] /= factor[:, None]
    return _summary(pull.name, rows, names)


def _linear(
    loop: Loop,
    pull: Pull,
    direction: Vector | None,
    known: Mapping[Parameter, float],
    before: Prestate | None,
) -> BudgetSpread:
    """Intervals to first order from spreads and the correlation of the machine."""
    unit = _unit(loop, pull, direction)
    rows = {
        (row.kind, row.part, row.mechanism): row.contribution
        for row in budget(loop, pull, (float(unit[0]), float(unit[1]), float(unit[2])), before=before).rows
    }
    total = sum(rows.values())
    owner: dict[tuple[str, str, str], int] = {
        (p.kind, p.part, name): i
        for i, p in enumerate(known)
        for name in rows_of(p)
        if (p.kind, p.part, name) in rows
    }
    sigma = np.array(list(known.values()))
    covariance = known_correlation(loop.machine, list(known)) * np.outer(sigma, sigma)
    slopes = {name: np.zeros(len(known)) for name in rows}  # of each row by the logarithms, over the whole
    for key, i in owner.items():
        slopes[key][i] = -rows[key] / total
    whole = np.sum(list(slopes.values()), axis=0)

    def share(names: Sequence[tuple[str, str, str]]) -> tuple[float, float, float]:
        own = sum(rows[n] for n in names) / total
        slope = np.sum([slopes[n] for n in names], axis=0) - own * whole
        half = NINETY_FIVE * _deviation(slope, covariance)
        return own - half, own, own + half

    found = []
    for name, value in rows.items():
        width = NINETY_FIVE * float(sigma[owner[name]]) if name in owner else 0.0
        ends = sorted((value * np.exp(-width), value * np.exp(width)))
        kind, part, mechanism = name
        found.append(
            RowSpread(
                part=part,
                kind=kind,
                mechanism=mechanism,
                contribution=(float(ends[0]), value, float(ends[1])),
                share=share([name]),
            )
        )
    width = NINETY_FIVE * _deviation(whole, covariance)
    by_part = {part: share([n for n in rows if n[1] == part]) for part in dict.fromkeys(n[1] for n in rows)}
    return BudgetSpread(
        pull=pull.name,
        total=(total * float(np.exp(-width)), total, total * float(np.exp(width))),
        rows=tuple(sorted(found, key=lambda row: -abs(row.contribution[1]))),
        parts=tuple(sorted(by_part.items(), key=lambda item: -abs(item[1][1]))),
        draws=0,
    )


def _deviation(slope: Array, covariance: Array) -> float:
    return float(
        np.sqrt(max(float(slope @ covariance @ slope), 0.0))
    )  # rounding may leave a little less than nothing


def _draws(sigma: Array, correlation: Array | None, draws: int, seed: int) -> Array:
    """Logarithms of the factors on the stiffnesses, (draws, parameters)."""
    # A Latin hypercube: every stiffness takes each of its `draws` equally likely slices once (McKay, Beckman & Conover,
    # Technometrics 21, 1979). Importing scipy.stats for a finer sequence would take longer than all else here.
    rng = np.random.default_rng(seed)
    slices = rng.permuted(np.tile(np.arange(draws), (len(sigma), 1)), axis=1).T
    normal = ndtri((slices + rng.uniform(size=slices.shape)) / draws)
    if correlation is not None:
        normal = normal @ np.linalg.cholesky(correlation + 1e-12 * np.eye(len(sigma))).T
    return np.asarray(normal * sigma)


def _all_budgets(
    loop: Loop,
    pull: Pull,
    direction: Vector | None,
    parameters: Sequence[Parameter],
    factors: Array,
    before: Prestate | None,
) -> tuple[Array, list[tuple[str, str, str]]]:
    """Contributions of every mechanism in every draw of joints, (draws, rows)."""
    statics = loop.statics
    compliance = np.tile(statics.compliance, (len(factors), 1))
    compliance[:, [component_index(loop, p) for p in parameters]] /= factors
    virtual_load = _unit(loop, pull, direction) @ tool_rows(loop)[:3]
    load = pull_load(loop, pull) + (0.0 if before is None else before.load)
    carried = statics.carry(np.column_stack([virtual_load, load]))
    gaps = np.zeros(len(loop.components)) if before is None else before.openings
    left, right = (_with_states(loop, carried.columns(slice(i, i + 1))) for i in (0, 1))
    names, forms = [], []  # work of members between (virtual, self-stresses) and (load, self-stresses)
    for name, form in member_forms(loop, left[0], right[0]).items():
        names.append(name)
        forms.append(form)
    members = sum(forms, np.zeros((left[1].shape[1], right[1].shape[1])))
    virtual, real = _amounts(compliance, members, left[1], right[1], gaps)
    rows = [np.einsum("na,ab,nb->n", virtual, form, real, optimize=True) for form in forms]
    p, q = virtual @ left[1].T, real @ right[1].T  # forces of all joint components in every draw
    names += [component_key(loop, c) for c in loop.components]
    open_ = np.flatnonzero(gaps)
    for kind, part, component in (component_key(loop, loop.components[k]) for k in open_):
        names.append((kind, part, play_name(component)))
    return np.column_stack([*rows, compliance * p * q, gaps[open_] * p[:, open_]]), names


def _with_states(loop: Loop, carried: Carried) -> tuple[Array, Array]:
    """Forces of elements and joints in one state and in all self-stresses, a column each."""
    states = loop.statics.states
    elements = loop.statics.whole(np.hstack([carried.elements, states.elements]))
    return elements, np.hstack([carried.joints, states.joints])


def _amounts(
    compliance: Array, members: Array, left: Array, right: Array, gaps: Array
) -> tuple[Array, Array]:
    """How much of each state is there in every draw, of the reading and of the load, (draws, 1 + r) each."""
    ones = np.ones((len(compliance), 1))
    if len(members) == 1:
        return ones, ones
    states = left[:, 1:]
    A = members[1:, 1:] + np.einsum("nc,ci,cj->nij", compliance, states, states, optimize=True)
    virtual = members[:1, 1:] + (compliance * left[:, 0]) @ states
    real = members[1:, 0] + (compliance * right[:, 0] + gaps) @ states
    scale = 1.0 / np.sqrt(np.einsum("nii->ni", A))
    unit = A * scale[:, :, None] * scale[:, None, :]
    both = scale[:, :, None] * np.linalg.solve(unit, np.stack([virtual, real], axis=2) * scale[:, :, None])
    return np.hstack([ones, -both[:, :, 0]]), np.hstack([ones, -both[:, :, 1]])


def _unit(loop: Loop, pull: Pull, direction: Vector | None) -> Array:
    """Direction of the deflection in question, (3,)."""
    unit = np.asarray(direction if direction is not None else pull.force, dtype=float)
    if not np.any(unit):
        unit = loop.read(tool_rows(loop)[:3], pull_load(loop, pull)[:, None])[:, 0]
    return np.asarray(unit / np.linalg.norm(unit))


def _summary(pull: str, rows: Array, names: list[tuple[str, str, str]]) -> BudgetSpread:
    total = rows.sum(axis=1)
    shares = rows / total[:, None]
    by_row = [(_column(a), _column(b)) for a, b in zip(_quantile(rows), _quantile(shares), strict=True)]
    found = [
        RowSpread(
            part=part,
            kind=kind,
            mechanism=mechanism,
            contribution=contribution,
            share=share,
        )
        for (kind, part, mechanism), (contribution, share) in zip(names, by_row, strict=True)
    ]
    parts = {part: np.zeros(len(rows)) for _, part, _ in names}
    for i, (_, part, _) in enumerate(names):
        parts[part] = parts[part] + shares[:, i]
    return BudgetSpread(
        pull=pull,
        total=_quantiles(total),
        rows=tuple(sorted(found, key=lambda row: -abs(row.contribution[1]))),
        parts=tuple(
            sorted(((n, _quantiles(v)) for n, v in parts.items()), key=lambda item: -abs(item[1][1]))
        ),
        draws=len(rows),
    )


def _quantile(values: Array) -> Array:
    """2.5 %, 50 % and 97.5 % of every column, (columns, 3)."""
    return np.asarray(np.quantile(values, (0.025, 0.5, 0.975), axis=0).T)


def _column(values: Array) -> tuple[float, float, float]:
    low, middle, high = values.tolist()
    return low, middle, high


def _quantiles(values: Array) -> tuple[float, float, float]:
    return _column(_quantile(values[:, None])[0])
