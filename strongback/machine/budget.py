"""Who causes the deflection: virtual work of a unit load through every mechanism of every part.

With s the forces under the pull and t those under a unit load at the tool in the direction asked for, the deflection is
the sum over members of t' F_i s by mechanism and over joint components of C_k t_k s_k. For a direct compliance (the
pull acts at the tool in that direction) these are the shares of strain energy.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from strongback.answer import HIDDEN, told
from strongback.machine.exact_balance import exactly, pull_wrench, unit_wrench
from strongback.machine.guard import DOUBTFUL, NOTHING, Doubt, doubt_of, imbalances, spread
from strongback.machine.loop import Component, Loop
from strongback.machine.prestate import PLAY, Prestate, play_name
from strongback.machine.room import Operator, motion_word
from strongback.machine.solve import pull_load, tool_rows
from strongback.machine.statics import fixed
from strongback.machine.statics.determinate import Carried
from strongback.machine.statics.elastic import Elastic, Solution
from strongback.machine.turned import turned_pull
from strongback.machine.values import Axes, Joint, Machine, Pull, Support, Vector

__all__ = [
    "BODY",
    "MECHANISMS",
    "PAD_CONTACT",
    "Budget",
    "BudgetRow",
    "budget",
    "component_key",
    "contributions",
    "member_forms",
    "owner_of",
    "part_names",
    "shares",
]

Array = NDArray[np.float64]
MECHANISMS = ("bending about x", "bending about y", "shear", "torsion", "warping", "axial")
SEAM_SLIP = "seam slip"  # what the seams of a beam give
SHIFT = (
    "shift of what slips"  # work of its axial force on its shift: what stretching of it gives, often negative
)
SEAMS = 8  # place of these two behind the strains
BODY = "body"  # all that a member gives that is a body, but for
PAD_CONTACT = "pad contact"  # what the faces under its pads give
_GROUPS = {
    "bending about x": (3,),
    "bending about y": (4,),
    "shear": (0, 1),
    "torsion": (5,),
    "warping": (6, 7),
    "axial": (2,),
}
_SUMS = np.array([[float(i in strains) for i in range(SEAMS)] for strains in _GROUPS.values()])


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetRow:
    """One cause of the deflection.

    Parameters
    ----------
    part : str
        Member, joint or support.
    kind : {"member", "joint", "support", "wall"}
    mechanism : str
        Of a member one of `MECHANISMS`, about its section's axes; of a joint the component; `PAD_CONTACT` of a body.
    contribution : float
        [m]
    share : float
        Of the whole [-].
    motion : str
        Of a joint, its component as the operator sees it: one of `strongback.machine.room.MOTIONS`.

    Examples
    --------
    >>> row = BudgetRow(kind="support", part="foot", mechanism="about y", contribution=4e-6, share=4 / 78)
    >>> round(100 * row.share, 2)  # [%]
    5.13
    """

    part: str
    kind: str
    mechanism: str
    contribution: float = field(metadata=told("contribution_m"))
    share: float
    motion: str = ""

    @property
    def words(self) -> str:
        """The mechanism as one says it."""
        return self.motion or self.mechanism


def owner_of(row: BudgetRow) -> tuple[str, str]:
    """Kind and name of the part behind a row; walls belong to their member.

    Examples
    --------
    >>> owner_of(BudgetRow(kind="support", part="foot", mechanism="about y", contribution=4e-6, share=0.05))
    ('support', 'foot')
    """
    return ("member" if row.kind == "wall" else row.kind, row.part)


def part_names(rows: Sequence[BudgetRow]) -> dict[tuple[str, str], str]:
    """What to call each part of a budget, by kind and name: its name, with its kind where a member has that name, too.

    Examples
    --------
    >>> half = {"part": "post", "mechanism": "m", "contribution": 1.0, "share": 0.5}
    >>> rows = [BudgetRow(kind=kind, **half) for kind in ("member", "joint")]
    >>> part_names(rows)["joint", "post"]
    'post (joint)'
    """
    owners = list(dict.fromkeys(owner_of(row) for row in rows))
    members = {name for kind, name in owners if kind == "member"}
    return {
        (kind, name): f"{name} ({kind})" if kind != "member" and name in members else name
        for kind, name in owners
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """The deflection of the tool in one direction, by cause.

    Parameters
    ----------
    pull : str
    direction : Vector
        Unit vector.
    force : float
        Size of the force, or of the couple where there is no force [N or N m].
    total : float
        Deflection of the tool relative to the work along `direction` [m].
    rows : tuple of BudgetRow
        Largest first; contributions add to `total`.
    error : float
        How far rounding may have moved the rows together, as a fraction of `total`.
    doubt : str
        What to do about it where it is more than one part in a million; else empty.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> found = budget(loop, machine.pulls[0])
    >>> round(found.total * 1e6, 6), len(found.rows)  # 72 + 2 + 4 µm; the other rows are zero
    (78.0, 12)
    """

    pull: str = field(metadata=HIDDEN)
    direction: Vector
    force: float = field(metadata=HIDDEN)
    total: float = field(metadata=told("total_m"))
    rows: tuple[BudgetRow, ...] = field(metadata=told("budget"))
    error: float = field(default=0.0, metadata=told("budget_rounding_error"))
    doubt: str = field(default="", metadata=told("budget_warning"))

    def by_part(self) -> tuple[tuple[str, float], ...]:
        """Share of each part, largest first; a joint or support that is called as a member is, by its name and kind."""
        sums: dict[str, float] = {}
        names = part_names(self.rows)
        for row in self.rows:
            name = names[owner_of(row)]
            sums[name] = sums.get(name, 0.0) + row.share
        return tuple(sorted(sums.items(), key=lambda item: -abs(item[1])))

    def __repr__(self) -> str:
        first = ", ".join(f"{part} {share:.0%}" for part, share in self.by_part()[:3])
        return f"Budget({self.pull!r}: {self.total * 1e6:.4g} µm; {first})"


def contributions(loop: Loop, loads: Array, virtual: Array) -> dict[tuple[str, str, str], Array]:
    """Contribution of every mechanism to the readings `virtual` under `loads`, pair by pair.

    Parameters
    ----------
    loop : Loop
    loads : ndarray, shape (unknowns, pairs)
        Loads on all motions.
    virtual : ndarray, shape (unknowns, pairs)
        Readings as rows on all motions, transposed.

    Returns
    -------
    dict of (kind, part, mechanism) to ndarray of shape (pairs,)
        [m]; they add to the readings. Minus the derivative of a reading by the logarithm of that stiffness.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> from strongback.machine.solve import pull_load, tool_rows
    >>> load = pull_load(loop, machine.pulls[0])[:, None]
    >>> found = contributions(loop, load, tool_rows(loop)[:1].T)
    >>> round(float(found["support", "foot", "about y"][0]) * 1e6, 6)  # [µm]
    4.0
    """
    n = loads.shape[1]
    return shares(loop, *_pairs(loop.state(np.hstack([loads, virtual])), n))


def _pairs(both: Solution, n: int) -> tuple[Array, Array, Array, Array]:
    """Forces of elements under loads and under readings, and the same of joints."""
    return both.elements[:, :n], both.elements[:, n:], both.joints[:, :n], both.joints[:, n:]


def shares(
    loop: Loop, real: Array, virtual: Array, joints: Array, virtual_joints: Array
) -> dict[tuple[str, str, str], Array]:
    """Virtual work of every mechanism, pair by pair.

    Parameters
    ----------
    loop : Loop
    real, virtual : ndarray, shape (element forces, pairs)
        Forces of elements under the loads and under unit loads in place of the readings.
    joints, virtual_joints : ndarray, shape (components, pairs)
        The same of joint components.

    Returns
    -------
    dict of (kind, part, mechanism) to ndarray of shape (pairs,)
        As `contributions`.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> from strongback.machine.solve import pull_load, tool_rows
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> load = loop.state(pull_load(loop, machine.pulls[0])[:, None])
    >>> unit = loop.state(tool_rows(loop)[:1].T)
    >>> found = shares(loop, load.elements, unit.elements, load.joints, unit.joints)
    >>> round(float(found["support", "foot", "about y"][0]) * 1e6, 6)  # [µm]
    4.0
    """
    found = _by_mechanism(
        loop, lambda parts, own: ((parts @ real[own][:, None]) * virtual[own][:, None]).sum(axis=2)
    )
    kinds = {holder.name: kind for kind, holder in loop.machine.holders()}
    work = loop.statics.compliance[:, None] * joints * virtual_joints
    for component, own in zip(loop.components, work, strict=True):
        found[kinds[component.owner], component.owner, component.name] = own
    return found


def member_forms(loop: Loop, left: Array, right: Array) -> dict[tuple[str, str, str], Array]:
    """Virtual work of every mechanism of members between states of forces.

    Parameters
    ----------
    loop : Loop
    left, right : ndarray, shape (element forces, m) and (element forces, n)

    Returns
    -------
    dict of (kind, part, mechanism) to ndarray of shape (m, n)

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> from strongback.machine.solve import pull_load
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> own = loop.state(pull_load(loop, machine.pulls[0])[:, None]).elements
    >>> work = member_forms(loop, own, own)
    >>> round(float(np.ravel(work["member", "post", "shear"])[0]) * 1e6, 6)  # P times 2 µm [µJ]
    200.0
    """
    return _by_mechanism(
        loop, lambda parts, own: left[own][:, None].transpose(0, 1, 3, 2) @ parts @ right[own][:, None]
    )


def component_key(loop: Loop, component: Component) -> tuple[str, str, str]:
    """Kind, part and mechanism of a joint component in a budget.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> [component_key(loop, c) for c in loop.components if c.compliance > 0.0]
    [('support', 'foot', 'about x'), ('support', 'foot', 'about y')]
    """
    supports = {s.name for s in loop.machine.supports}
    return ("support" if component.owner in supports else "joint", component.owner, component.name)


def _by_mechanism(
    loop: Loop, work_of: Callable[[Array, NDArray[np.int64]], Array]
) -> dict[tuple[str, str, str], Array]:
    """Work by mechanism, summed over the elements of each member.

    `work_of` takes the parts of like elements (k, 8, n, n) and the places of their forces (k, n), and gives (k, 8, ...).
    """
    work: dict[str, Array] = {}
    for parts, own, members in loop.alike():
        for member, values in zip(members, work_of(parts, own), strict=True):
            work[member] = work[member] + values if member in work else values
    found: dict[tuple[str, str, str], Array] = {}
    for member in (m.name for m in loop.machine.members):
        by_strain = work[member]
        if member in loop.bodies:
            found[("member", member, BODY)] = by_strain[0]
            if loop.bodies[member].body.has_pads:
                found[("member", member, PAD_CONTACT)] = by_strain[1]
            continue
        sums = np.tensordot(_SUMS, by_strain[:SEAMS], axes=1)
        for mechanism, value in zip(_GROUPS, sums, strict=True):
            found[("member", member, mechanism)] = value
        if len(by_strain) > SEAMS:
            found[("member", member, SEAM_SLIP)] = by_strain[SEAMS]
            found[("member", member, SHIFT)] = by_strain[SEAMS + 1]
    return found


def budget(
    loop: Loop, pull: Pull, direction: Vector | None = None, *, before: Prestate | None = None
) -> Budget:
    """Who causes the deflection of the tool under a pull.

    Parameters
    ----------
    loop : Loop
    pull : Pull
    direction : Vector, optional
        Of the deflection in question. Default: along the force; without one, along the deflection.

    before : Prestate, optional
        What acts beside the pull where a joint has let go or bears across a gap, of this very loop.

    Returns
    -------
    Budget

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))

    Bending P L³/3EI, the foot P L²/k, shear P L/kGA:

    >>> rows = budget(loop, machine.pulls[0]).rows[:3]
    >>> [(row.part, row.mechanism, round(row.contribution * 1e6, 6)) for row in rows]  # [µm]
    [('post', 'bending about y', 72.0), ('foot', 'about y', 4.0), ('post', 'shear', 2.0)]
    """
    load = pull_load(loop, pull)[:, None]
    unit = _direction(loop, pull, direction, load)
    virtual = (unit @ tool_rows(loop)[:3])[:, None]
    pair = np.hstack([load, virtual])
    if before is not None:
        pair[:, 0] += before.load
    both = _solved(loop.statics, loop.statics.carry(pair), before)
    parts, doubt = _sure(loop, pull, unit, both, float(imbalances(loop, pair, both.joints).max()), before)
    total = float(sum(parts.values()))
    return Budget(
        pull=pull.name,
        direction=(float(unit[0]), float(unit[1]), float(unit[2])),
        force=float(np.linalg.norm(pull.force) or np.linalg.norm(pull.couple)),
        total=total,
        rows=_sorted_rows(loop.machine, parts.items(), total),
        error=doubt.error,
        doubt=doubt.words,
    )


def _solved(statics: Elastic, carried: Carried, before: Prestate | None) -> Solution:
    """Of a load, with what stays beside it, and of a reading."""
    if before is None:
        return statics.solve(carried)
    return statics.solve(carried, np.column_stack([before.openings, np.zeros(len(before.openings))]))


def _lost(
    loop: Loop, before: Prestate | None, parts: dict[tuple[str, str, str], Array], both: Solution
) -> dict[tuple[str, str, str], Array]:
    """Contributions with those of gaps."""
    if before is None:
        return parts
    more = {}
    for k in np.flatnonzero(before.openings):
        kind, part, name = component_key(loop, loop.components[k])
        more[kind, part, play_name(name)] = np.array([before.openings[k] * both.joints[k, 1]])
    return parts | more


def _sure(
    loop: Loop, pull: Pull, unit: Array, both: Solution, missing: float, before: Prestate | None
) -> tuple[dict[tuple[str, str, str], float], Doubt]:
    """Contributions, by exact forces where the others leave doubt, and what is left of it."""
    parts = _lost(loop, before, shares(loop, *_pairs(both, 1)), both)
    error, spring = _error(loop.statics, both, parts)
    if not max(error, missing) <= DOUBTFUL:

        def exact(loop: Loop, pull: Pull, unit: Array) -> tuple[Elastic, Solution]:
            reading = unit_wrench(
                loop.machine.tool, loop.machine.work, fixed.fixed(unit), fixed.nothing((3,))
            )
            loads = [*pull_wrench(pull), *(() if before is None else before.wrenches)]
            statics, carried = exactly(loop, loop.statics, [loads, reading])
            return statics, _solved(statics, carried, before)

        def numbers(loop: Loop, R: Array) -> Array:
            found = exact(loop, turned_pull(pull, R), R @ unit)[1]
            return np.concatenate(list(shares(loop, *_pairs(found, 1)).values()))

        statics, both = exact(loop, pull, unit)
        parts = _lost(loop, before, shares(loop, *_pairs(both, 1)), both)
        error, spring = _error(statics, both, parts)
        if before is None:  # what stays beside a pull is told by the deflection that it comes from
            moved = spread(loop, numbers, np.concatenate(list(parts.values())))
            error = np.inf if moved is None else max(error, float(moved.sum()) / _size(parts))
    return {k: float(v[0]) for k, v in parts.items()}, doubt_of(loop, error, spring)


def _size(parts: Mapping[tuple[str, str, str], Array]) -> float:
    """The whole of a budget, or of its rows where they cancel."""
    values = [float(v.sum()) for v in parts.values()]
    whole, rows = abs(sum(values)), sum(abs(v) for v in values)
    return max(whole if whole > NOTHING * rows else rows, 1e-300)


def _error(
    statics: Elastic, both: Solution, parts: Mapping[tuple[str, str, str], Array]
) -> tuple[float, int]:
    """How far rounding may have moved all rows of a budget, as a fraction of the whole, and the worst joint component."""
    v, w, _ = statics.errors(both)
    joints = np.abs(both.joints[:, 1]) * w[:, 0] + np.abs(both.joints[:, 0]) * w[:, 1]
    off = float(joints.sum())
    off += float(np.abs(both.elements[:, 1]) @ v[:, 0] + np.abs(both.elements[:, 0]) @ v[:, 1])
    return off / _size(parts), int(np.argmax(joints)) if len(joints) else 0


def _direction(loop: Loop, pull: Pull, direction: Vector | None, load: Array) -> Array:
    chosen = np.asarray(direction if direction is not None else pull.force, dtype=float)
    if not np.any(chosen):
        chosen = loop.read(tool_rows(loop)[:3], load)[:, 0]
    size = float(np.linalg.norm(chosen))
    return chosen / size if size > 0.0 else np.array([0.0, 0.0, 1.0])


def _sorted_rows(
    machine: Machine, parts: Iterable[tuple[tuple[str, str, str], float]], total: float
) -> tuple[BudgetRow, ...]:
    whole = total if total != 0.0 else 1.0
    holders: dict[tuple[str, str], Joint | Support] = {(k, h.name): h for k, h in machine.holders()}
    rows = [
        BudgetRow(
            part=part,
            kind=kind,
            mechanism=mechanism,
            contribution=value,
            share=value / whole,
            motion=_motion(mechanism, holders[kind, part].axes, machine.operator)
            if kind in ("joint", "support")
            else "",
        )
        for (kind, part, mechanism), value in parts
    ]
    return tuple(sorted(rows, key=lambda row: -abs(row.contribution)))


@functools.lru_cache(maxsize=1024)
def _motion(mechanism: str, axes: Axes, operator: Operator) -> str:
    """A component, or the play in it, as the operator sees it."""
    component = mechanism.removeprefix(PLAY)
    word = motion_word(component, axes, operator)
    return f"{word}, play" if component != mechanism else word
