"""The deflection of the tool along its pull, by which every result is compared: one definition for all."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from strongback.machine.loop import Loop
from strongback.machine.solve import Deflection, solve_all
from strongback.machine.values import Pull

__all__ = ["along", "along_pulls"]

Array = NDArray[np.float64]


def along(found: Deflection) -> float:
    """Motion of the tool against the work along the force of its pull, its size under a couple [m].

    Parameters
    ----------
    found : Deflection

    Returns
    -------
    float
        As `Budget.total`.
    """
    return found.along_pull


def along_pulls(loop: Loop, pulls: Sequence[Pull]) -> Array:
    """`along` of several pulls, (pulls,) [m]."""
    return np.array([along(found) for found in solve_all(loop, pulls)])
