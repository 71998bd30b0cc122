"""The arithmetic that comes before any remedy: R = 1 - s (1 - r), and what remains when a part is made rigid.

A part that owns the share s of a deflection, made r times as compliant, leaves R of it. The ceiling of any change of that
part is r = 0. Where forces have one way only R is exact; where they can choose, the part is made stiff in the model and
the loop solved again.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass

from strongback.machine.budget import budget
from strongback.machine.layout import FACTORS
from strongback.machine.loop import assemble
from strongback.machine.values import Joint, Machine, Pull, Support, Vector
from strongback.section.values import SectionStiffness

__all__ = ["Ceiling", "ceilings", "remaining"]

# The part is made this many times stiffer and what it then still gives is taken off: an error of the order of one in
# STIFF squared, and none from rounding as a much larger factor would bring.
STIFF = 1e3


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
    """

    part: str
    share: float
    remains: float


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
    stiffness: Mapping[str, SectionStiffness],
    pull: Pull,
    direction: Vector | None = None,
) -> tuple[Ceiling, ...]:
    """What remains of the deflection of the tool when one part after the other is made rigid.

    Parameters
    ----------
    machine : Machine
    stiffness : mapping of str to SectionStiffness
    pull : Pull
    direction : Vector, optional
        As in `budget`.

    Returns
    -------
    tuple of Ceiling
        The part with the lowest remainder first.
    """
    today = budget(assemble(machine, stiffness), pull, direction)
    found = []
    for part, share in today.by_part():
        stiff = budget(assemble(_stiffened(machine, part), stiffness), pull, today.direction)
        left = stiff.total - sum(row.contribution for row in stiff.rows if row.part == part)
        found.append(Ceiling(part=part, share=share, remains=left / today.total if today.total else 1.0))
    return tuple(sorted(found, key=lambda c: c.remains))


def _stiffened(machine: Machine, part: str) -> Machine:
    """The machine with one member, joint or support as good as rigid."""
    return dataclasses.replace(
        machine,
        members=tuple(
            dataclasses.replace(m, factors=(*m.factors, *((name, STIFF) for name in FACTORS)))
            if m.name == part
            else m
            for m in machine.members
        ),
        joints=tuple(_stiff_joint(j) if j.name == part else j for j in machine.joints),
        supports=tuple(_stiff_support(s) if s.name == part else s for s in machine.supports),
    )


def _stiff_joint(joint: Joint) -> Joint:
    a, b, c, d, e, f = (k * STIFF for k in joint.stiffness)
    return dataclasses.replace(joint, stiffness=(a, b, c, d, e, f))


def _stiff_support(support: Support) -> Support:
    a, b, c, d, e, f = (k * STIFF for k in support.stiffness)
    return dataclasses.replace(support, stiffness=(a, b, c, d, e, f))
