"""The arithmetic that comes before any remedy: R = 1 - s (1 - r), and what remains when a part is made rigid.

A part that owns the share s of a deflection, made r times as compliant, leaves R of it. The ceiling of any change of that
part is r = 0. Where forces have one way only R is exact; where they can choose, the compliance of the part is set to zero
and the forces find their way anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from strongback.answer import told
from strongback.machine.budget import Budget, budget, component_key, part_names
from strongback.machine.exact_balance import Load, exactly, pull_wrench, unit_wrench
from strongback.machine.guard import DOUBTFUL
from strongback.machine.loop import Loop, assemble
from strongback.machine.part.values import Parts
from strongback.machine.solve import pull_load, tool_rows
from strongback.machine.statics import fixed
from strongback.machine.statics.determinate import Carried
from strongback.machine.statics.elastic import Elastic
from strongback.machine.values import Machine, Pull, Vector

__all__ = ["Ceiling", "ceilings", "ceilings_of_pulls", "left_without", "remaining", "with_rigid"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ceiling:
    """What a change of one part can do at the most.

    Parameters
    ----------
    part : str
    share : float
        Of the deflection today [-].
    remains : float
        Fraction of the deflection that is left when the part is rigid [-].
    state : str, optional
        What joints that open or have play do then, where they do other than today.

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> foot = next(c for c in ceilings(machine, parts_of(machine), machine.pulls[0]) if c.part == "foot")
    >>> round(78 * foot.remains, 6)  # µm of 78 with a rigid foot
    74.0
    """

    part: str
    share: float
    remains: float
    state: str | None = field(default=None, metadata=told("state_then", absent=True))


def remaining(share: float, r: float) -> float:
    """Fraction of a deflection that is left: R = 1 - s (1 - r).

    Parameters
    ----------
    share : float
        Share s of the part [-].
    r : float
        Compliance of the part after the change over that before [-].

    Returns
    -------
    float

    Examples
    --------
    >>> round(remaining(0.8, 0.5), 3)
    0.6
    """
    return 1.0 - share * (1.0 - r)


def ceilings(
    machine: Machine,
    parts: Parts,
    pull: Pull,
    direction: Vector | None = None,
) -> tuple[Ceiling, ...]:
    """What remains of the deflection of the tool when one part after the other is made rigid.

    Parameters
    ----------
    machine : Machine
    parts : Parts
    pull : Pull
    direction : Vector, optional
        As in `budget`.

    Returns
    -------
    tuple of Ceiling
        The part with the lowest remainder first.

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()

    Without the foot 72 + 2 µm of 78 remain, without the post the foot alone:

    >>> found = ceilings(machine, parts_of(machine), machine.pulls[0])
    >>> [(c.part, round(78 * c.remains, 6)) for c in found]
    [('post', 4.0), ('foot', 74.0)]
    """
    return ceilings_of_pulls(machine, parts, [pull], [direction])[0]


def ceilings_of_pulls(
    machine: Machine,
    parts: Parts,
    pulls: Sequence[Pull],
    directions: Sequence[Vector | None] | None = None,
) -> list[tuple[Ceiling, ...]]:
    """As `ceilings`, for several pulls: every part is made rigid once.

    Parameters
    ----------
    machine : Machine
    parts : Parts
    pulls : sequence of Pull
    directions : sequence of Vector or None, optional
        One a pull.

    Returns
    -------
    list of tuple of Ceiling
        One a pull.

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> (found,) = ceilings_of_pulls(machine, parts_of(machine), machine.pulls)
    >>> len(found)
    2
    """
    loop = assemble(machine, parts)
    chosen = list(directions or [None] * len(pulls))
    today = [budget(loop, p, d) for p, d in zip(pulls, chosen, strict=True)]
    if not today:
        return []
    found: list[list[Ceiling]] = [[] for _ in pulls]
    asked = _Asked.of(loop, pulls, today)
    shares = [dict(whole.by_part()) for whole in today]
    for owner, name in part_names(today[0].rows).items():
        left = _left(loop, owner, asked)
        for k, whole in enumerate(today):
            remains = float(left[k]) / whole.total if whole.total else 1.0
            found[k].append(Ceiling(part=name, share=shares[k][name], remains=remains))
    return [tuple(sorted(rows, key=lambda c: c.remains)) for rows in found]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Asked:
    """Loads and the readings along which their deflections are asked for, pair by pair."""

    loads: Array
    virtual: Array
    pulls: tuple[Pull, ...]
    directions: tuple[Vector, ...]
    totals: Array

    @classmethod
    def of(cls, loop: Loop, pulls: Sequence[Pull], today: Sequence[Budget]) -> _Asked:
        return cls(
            loads=np.column_stack([pull_load(loop, pull) for pull in pulls]),
            virtual=(np.array([whole.direction for whole in today]) @ tool_rows(loop)[:3]).T,
            pulls=tuple(pulls),
            directions=tuple(whole.direction for whole in today),
            totals=np.array([abs(whole.total) for whole in today]),
        )

    def wrenches(self, machine: Machine) -> list[list[Load]]:
        """Of all loads, and then of all readings."""
        none = fixed.nothing((3,))
        return [pull_wrench(pull) for pull in self.pulls] + [
            unit_wrench(machine.tool, machine.work, fixed.fixed(np.array(d)), none) for d in self.directions
        ]


def with_rigid(loop: Loop, owner: tuple[str, str]) -> Elastic:
    """The statics of a loop with one part rigid.

    Parameters
    ----------
    loop : Loop
    owner : tuple of str
        Kind and name of the part, as of a row of the budget.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> from strongback.machine.solve import pull_load, tool_rows
    >>> statics = with_rigid(loop, ("support", "foot"))
    >>> state = statics.solve(statics.carry(pull_load(loop, machine.pulls[0])[:, None]))
    >>> round(float(tool_rows(loop)[0] @ statics.motions(state)[:, 0]) * 1e6, 6)  # 72 + 2 of 78 µm
    74.0
    """
    kind, name = owner
    sizes = [len(e.shape) for e in loop.elements]
    mine = [kind == "member" and e.member == name for e in loop.elements]
    joints = [component_key(loop, c)[:2] == owner for c in loop.components]
    return loop.statics.rigid(np.repeat(mine, sizes).astype(bool), np.array(joints, dtype=bool))


def _left(loop: Loop, owner: tuple[str, str], asked: _Asked) -> Array:
    """Deflection under every load with one part rigid [m]."""
    stiff = with_rigid(loop, owner)
    found, off = _read(stiff, stiff.carry(np.hstack([asked.loads, asked.virtual])), len(asked.pulls))
    if not np.all(off <= DOUBTFUL * np.maximum(asked.totals, 1e-300)):
        found, _ = _read(*exactly(loop, stiff, asked.wrenches(loop.machine)), len(asked.pulls))
    return found


def _read(statics: Elastic, carried: Carried, n: int) -> tuple[Array, Array]:
    """Deflections pair by pair, and how far rounding may have moved them [m]."""
    virtual, state = carried.columns(slice(n, None)), statics.solve(carried.columns(slice(n)))
    of_elements, of_joints, _ = statics.error_parts(virtual, state)
    off = of_elements + of_joints.sum(axis=0)
    return np.diag(statics.read(virtual, state)).copy(), np.diag(off)


def left_without(
    loop: Loop, pulls: Sequence[Pull], members: Sequence[str], holders: Sequence[str]
) -> NDArray[np.float64]:
    """Deflection of the tool along each pull with some parts rigid [m].

    Parameters
    ----------
    loop : Loop
    pulls : sequence of Pull
        Each with a force.
    members, holders : sequence of str
        Members, joints and supports that give nothing.

    Returns
    -------
    ndarray, shape (pulls,)

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> round(float(left_without(loop, machine.pulls, [], ["foot"])[0]) * 1e6, 6)  # 72 + 2 of 78 µm
    74.0
    """
    sizes = [len(e.shape) for e in loop.elements]
    mine = np.repeat([e.member in members for e in loop.elements], sizes).astype(bool)
    stiff = loop.statics.rigid(mine, np.array([c.owner in holders for c in loop.components], dtype=bool))
    rows = tool_rows(loop)[:3]
    loads = np.column_stack([pull_load(loop, pull) for pull in pulls])
    units = [np.asarray(pull.force) / np.linalg.norm(pull.force) for pull in pulls]
    virtual = np.column_stack([unit @ rows for unit in units])
    return np.diag(stiff.read(stiff.carry(virtual), stiff.solve(stiff.carry(loads)))).copy()
