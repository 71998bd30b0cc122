"""What acts on a machine beside a pull where joints have let go or bear across a gap: forces and misfits that stay."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.machine.exact_balance import Load
from strongback.machine.loop import Loop

__all__ = ["PLAY", "Prestate", "play_name"]

Array = NDArray[np.float64]
PLAY = "play "  # and the component: mechanism of what is lost in a gap


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prestate:
    """Loads that stay.

    Parameters
    ----------
    loop : Loop
        The machine without the components that have let go.
    load : ndarray, shape (unknowns,)
        Forces of components that have let go: their preload, used up.
    wrenches : tuple of Load
        The same.
    openings : ndarray, shape (components,)
        Misfits of those that are there and do not close: half a gap [m or rad].
    """

    loop: Loop
    load: Array
    wrenches: tuple[Load, ...]
    openings: Array


def play_name(component: str) -> str:
    """Mechanism of what is lost in the gap of a component."""
    return PLAY + component
