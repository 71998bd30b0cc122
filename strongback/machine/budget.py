"""Who causes the deflection: virtual work of a unit load through every mechanism of every part.

With u the motions under the pull and v those under a unit load at the tool in the direction asked for, the deflection is
the sum over members of v' K_i u by mechanism and over joint components of C_k p_k q_k. For a direct compliance (the
pull acts at the tool in that direction) these are the shares of strain energy.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.machine.loop import Loop
from strongback.machine.solve import pull_load, tool_rows
from strongback.machine.values import Pull, Vector

__all__ = ["BODY", "MECHANISMS", "PAD_CONTACT", "Budget", "BudgetRow", "budget", "contributions"]

Array = NDArray[np.float64]
MECHANISMS = ("bending about x", "bending about y", "shear", "torsion", "warping", "axial")
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
    """

    part: str
    kind: str
    mechanism: str
    contribution: float
    share: float


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
    """

    pull: str
    direction: Vector
    force: float
    total: float
    rows: tuple[BudgetRow, ...]

    def by_part(self) -> tuple[tuple[str, float], ...]:
        """Share of each part, largest first."""
        sums: dict[str, float] = {}
        for row in self.rows:
            sums[row.part] = sums.get(row.part, 0.0) + row.share
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
    """
    u, q = loop.solve(loads)
    v, p = loop.solve(virtual)
    return shares_of(loop, (u, q), (v, p))


def shares_of(
    loop: Loop, real: tuple[Array, Array], virtual: tuple[Array, Array]
) -> dict[tuple[str, str, str], Array]:
    """As `contributions`, from motions and joint forces already solved for."""
    found: dict[tuple[str, str, str], Array] = {}
    for member, by_strain in _member_work(loop, real[0], virtual[0]).items():
        if member in loop.bodies:
            found[("member", member, BODY)] = by_strain[0]
            if loop.bodies[member].body.has_pads:
                found[("member", member, PAD_CONTACT)] = by_strain[1]
            continue
        for mechanism, strains in _GROUPS.items():
            found[("member", member, mechanism)] = by_strain[list(strains)].sum(axis=0)
    supports = {s.name for s in loop.machine.supports}
    for component, q, p in zip(loop.components, real[1], virtual[1], strict=True):
        kind = "support" if component.owner in supports else "joint"
        found[(kind, component.owner, component.name)] = component.compliance * q * p
    return found


def _member_work(loop: Loop, u: Array, v: Array) -> dict[str, Array]:
    """Virtual work of each of the eight strains in each member, (8, pairs)."""
    work = {member.name: np.zeros((8, u.shape[1])) for member in loop.machine.members}
    padded_u = np.vstack([u, np.zeros((1, u.shape[1]))])  # row -1: a motion that is held
    padded_v = np.vstack([v, np.zeros((1, v.shape[1]))])
    for element in loop.elements:
        a, b = padded_u[element.columns], padded_v[element.columns]
        own = ((element.parts @ a) * b).sum(axis=1)
        work[element.member][: len(own)] += own
    return work


def budget(loop: Loop, pull: Pull, direction: Vector | None = None) -> Budget:
    """Who causes the deflection of the tool under a pull.

    Parameters
    ----------
    loop : Loop
    pull : Pull
    direction : Vector, optional
        Of the deflection in question. Default: along the force; without one, along the deflection.

    Returns
    -------
    Budget
    """
    load = pull_load(loop, pull)[:, None]
    rows = tool_rows(loop)[:3]
    unit = _direction(loop, pull, direction, load)
    virtual = (unit @ rows)[:, None]
    parts = contributions(loop, load, virtual)
    total = float(sum(values[0] for values in parts.values()))
    return Budget(
        pull=pull.name,
        direction=(float(unit[0]), float(unit[1]), float(unit[2])),
        force=float(np.linalg.norm(pull.force) or np.linalg.norm(pull.couple)),
        total=total,
        rows=_sorted_rows(((k, float(values[0])) for k, values in parts.items()), total),
    )


def _direction(loop: Loop, pull: Pull, direction: Vector | None, load: Array) -> Array:
    chosen = np.asarray(direction if direction is not None else pull.force, dtype=float)
    if not np.any(chosen):
        motions, _ = loop.solve(load)
        chosen = tool_rows(loop)[:3] @ motions[:, 0]
    size = float(np.linalg.norm(chosen))
    return chosen / size if size > 0.0 else np.array([0.0, 0.0, 1.0])


def _sorted_rows(parts: Iterable[tuple[tuple[str, str, str], float]], total: float) -> tuple[BudgetRow, ...]:
    whole = total if total != 0.0 else 1.0
    rows = [
        BudgetRow(part=part, kind=kind, mechanism=mechanism, contribution=value, share=value / whole)
        for (kind, part, mechanism), value in parts
    ]
    return tuple(sorted(rows, key=lambda row: -abs(row.contribution)))
