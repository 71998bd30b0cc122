"""Compliance of the tool point: what the machine gives in every direction."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from strongback.machine.balance import machine_size
from strongback.machine.exact_balance import exactly, tool_wrenches
from strongback.machine.guard import DOUBTFUL, NOTHING, doubt_of, imbalances
from strongback.machine.loop import Loop
from strongback.machine.solve import tool_rows
from strongback.machine.statics.determinate import Carried
from strongback.machine.statics.elastic import Elastic

__all__ = ["principal_compliances", "tool_compliance"]

Array = NDArray[np.float64]


def tool_compliance(loop: Loop) -> Array:
    """Motions of the tool relative to the work per force and couple between them.

    Parameters
    ----------
    loop : Loop

    Returns
    -------
    ndarray, shape (6, 6)
        [m/N, rad/N; m/(N m), rad/(N m)], symmetric.

    Raises
    ------
    PrecisionError
        If rounding decides more than a thousandth of it, by exact forces, too.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> C = tool_compliance(loop)
    >>> round(float(C[0, 0]) * 1e6, 6), round(float(C[2, 2]) * 1e9, 6)  # 78 µm per 100 N; L/EA
    (0.78, 2.5)
    """
    carried = loop.statics.carry(tool_rows(loop).T)
    found, forces, error, spring = _compliance(loop, loop.statics, carried)
    if not error <= DOUBTFUL:
        statics, carried = exactly(loop, loop.statics, tool_wrenches(loop.machine))
        found, forces, error, spring = _compliance(loop, statics, carried)
    missing = float(imbalances(loop, tool_rows(loop).T, forces).max(initial=0.0))
    doubt_of(loop, max(error, missing), spring)
    return found


def _compliance(loop: Loop, statics: Elastic, carried: Carried) -> tuple[Array, Array, float, int]:
    """Compliance, forces, how far rounding may have moved it as a fraction of its kind, through which component."""
    state = statics.solve(carried)
    found = statics.read(carried, state)
    of_elements, of_joints, _ = statics.error_parts(carried, state)
    unit = np.repeat([1.0, machine_size(loop.machine)], 3)
    size = np.outer(unit, unit) * np.abs(found)
    off = np.outer(unit, unit) * (of_elements + of_joints.sum(axis=0))
    blocks = [(slice(i, i + 3), slice(k, k + 3)) for i in (0, 3) for k in (0, 3)]
    whole = max(float(size.max()), 1e-300)
    error = 0.0
    for block in blocks:
        own = float(size[block].max())
        error = max(error, float(off[block].max()) / (own if own > NOTHING * whole else whole))
    return found, state.joints, error, int(np.argmax(of_joints.max(axis=(1, 2)))) if len(of_joints) else 0


def principal_compliances(loop: Loop) -> tuple[Array, Array]:
    """Softest, middle and stiffest direction at the tool.

    Parameters
    ----------
    loop : Loop

    Returns
    -------
    compliances : ndarray, shape (3,)
        [m/N], softest first.
    directions : ndarray, shape (3, 3)
        Unit vectors, one a row.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> values, directions = principal_compliances(loop)
    >>> round(float(values[0]) * 1e6, 6), round(float(values[2]) * 1e9, 6)  # sideways, upwards [µm/N, nm/N]
    (0.78, 2.5)
    """
    compliance = tool_compliance(loop)[:3, :3]
    values, vectors = np.linalg.eigh(0.5 * (compliance + compliance.T))
    return values[::-1], vectors[:, ::-1].T
