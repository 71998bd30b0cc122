"""Compliance of the tool point: what the machine gives in every direction."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from strongback.machine.loop import Loop
from strongback.machine.solve import tool_rows

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
    rows = tool_rows(loop)
    return loop.read(rows, rows.T)


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
