"""The arithmetic that comes before any remedy: R = 1 - s (1 - r), and what remains when a part is made rigid.

A part that owns the share s of a deflection, made r times as compliant, leaves R of it. The ceiling of any change of that
part is r = 0. Where forces have one way only R is exact; where they can choose, the part is made stiff in the model and
the loop solved again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.machine.budget import Budget, budget, contributions
from strongback.machine.loop import Loop, assemble
from strongback.machine.parameters import every_parameter, scaled
from strongback.machine.part.values import Parts
from strongback.machine.solve import pull_load, tool_rows
from strongback.machine.values import Machine, Pull, Vector

__all__ = ["Ceiling", "ceilings", "ceilings_of_pulls", "remaining"]

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
    """
    loop = assemble(machine, parts)
    today = [budget(loop, p, d) for p, d in zip(pulls, directions or [None] * len(pulls), strict=True)]
    found: list[list[Ceiling]] = [[] for _ in pulls]
    for part in dict.fromkeys(row.part for row in today[0].rows):
        stiff = assemble(_stiffened(machine, part), parts)
        left = _left(stiff, part, pulls, today)
        for k, whole in enumerate(today):
            share = dict(whole.by_part())[part]
            remains = float(left[k]) / whole.total if whole.total else 1.0
            found[k].append(Ceiling(part=part, share=share, remains=remains))
    return [tuple(sorted(rows, key=lambda c: c.remains)) for rows in found]


def _left(stiff: Loop, part: str, pulls: Sequence[Pull], today: Sequence[Budget]) -> NDArray[np.float64]:
    """Deflection under every pull without what the stiffened part itself still gives [m]."""
    loads = np.column_stack([pull_load(stiff, pull) for pull in pulls])
    virtual = (np.array([whole.direction for whole in today]) @ tool_rows(stiff)[:3]).T
    work = contributions(stiff, loads, virtual)
    return np.asarray(sum(values for (_, name, _), values in work.items() if name != part))


def _stiffened(machine: Machine, part: str) -> Machine:
    """The machine with one member, joint or support as good as rigid."""
    own = [p for p in every_parameter(machine) if p.part == part]
    return scaled(machine, dict.fromkeys(own, STIFF))
