"""What a pull that is not quite in its direction does to readings.

A cord off by a small angle a in some plane pulls across with F a. The reading changes by that force times the compliance of
the gauge for it, which can be many times the loss along the pull, F a² / 2. Which way the cord is off nobody knows, so that
it is an error of mean zero in each of the two directions across; all gauges read under the same pull share it.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from strongback.machine.loop import Loop
from strongback.machine.solve import gauge_row, pull_load
from strongback.machine.values import Gauge, Pull, Vector

__all__ = ["across", "slant_errors"]

Array = NDArray[np.float64]


def across(pull: Pull) -> tuple[Pull, Pull] | None:
    """The pull turned into two directions at right angles to it and to each other; None for a couple.

    Examples
    --------
    >>> first, second = across(Pull(name="sideways", part="arm", at=(0, 0, 0), force=(300.0, 0.0, 0.0)))
    >>> first.force, second.force
    ((0.0, 300.0, 0.0), (0.0, 0.0, 300.0))
    """
    size = float(np.linalg.norm(pull.force))
    if size == 0.0:
        return None
    along = np.asarray(pull.force) / size
    other = np.roll(np.eye(3)[int(np.argmax(np.abs(along)))], 1)
    first = other - (other @ along) * along
    first /= np.linalg.norm(first)
    turned = (first, np.cross(along, first))
    a, b = (dataclasses.replace(pull, force=_vector(size * d), couple=(0.0, 0.0, 0.0)) for d in turned)
    return a, b


def _vector(values: Array) -> Vector:
    x, y, z = (float(v) + 0.0 for v in values)
    return x, y, z


def slant_errors(
    loop: Loop, pairs: Sequence[tuple[Pull, Gauge]], slants: Sequence[float], rows: Array | None = None
) -> Array:
    """Errors of readings that one standard deviation of slant causes.

    Parameters
    ----------
    loop : Loop
    pairs : sequence of (Pull, Gauge)
    slants : sequence of float
        Standard deviation of the angle of the pull in each plane through it, one a pair [rad].
    rows : ndarray, shape (unknowns, pairs), optional
        From `solve.gauge_row`, where they are known already.

    Returns
    -------
    ndarray, shape (pairs, columns)
        [m]; two columns for every pull that may be off its direction. Columns are independent of each other, the rows
        of a column move together.
    """
    columns: dict[tuple[str, int], Array] = {}
    if rows is None:
        rows = np.column_stack([gauge_row(loop, gauge) for _, gauge in pairs])
    solved: dict[Pull, Array | None] = {}
    for i, ((pull, _), slant) in enumerate(zip(pairs, slants, strict=True)):
        if slant <= 0.0:
            continue
        if pull not in solved:
            turned = across(pull)
            solved[pull] = (
                None
                if turned is None
                else loop.solve(np.column_stack([pull_load(loop, p) for p in turned]))[0]
            )
        motions = solved[pull]
        if motions is None:
            continue
        for k in range(2):
            column = columns.setdefault((pull.name, k), np.zeros(len(pairs)))
            column[i] = slant * float(rows[:, i] @ motions[:, k])
    return np.column_stack(list(columns.values())) if columns else np.zeros((len(pairs), 0))
