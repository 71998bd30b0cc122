"""A stiffness to start from: middle, range and source."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strongback.errors import MachineError
from strongback.machine.values import Six, Vector

__all__ = ["StartingStiffness", "positive", "spread"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StartingStiffness:
    """Six springs with the range in which they are expected.

    Parameters
    ----------
    middle, low, high : Six
        Along x, y, z [N/m], about x, y, z [N m/rad], in the axes of the joint.
    at : Vector
        Where the springs act, from the reference point named by the maker of this value [m].
    source : str
    """

    middle: Six
    low: Six
    high: Six
    source: str
    at: Vector = (0.0, 0.0, 0.0)

    def __repr__(self) -> str:
        rows = ", ".join(
            f"{m:.3g} ({a:.3g} to {b:.3g})" for m, a, b in zip(self.middle, self.low, self.high, strict=True)
        )
        return f"StartingStiffness({rows} N/m, N m/rad; {self.source})"


def positive(what: str, value: float, unit: str = "m") -> float:
    """Refuse a dimension that is not above zero."""
    if not (np.isfinite(value) and value > 0.0):
        raise MachineError(f"{what} = {value:g} {unit} must be above 0")
    return value


def spread(low: Six, high: Six) -> Six:
    """Geometric middle of a range."""
    a, b, c, d, e, f = (float(np.sqrt(x * y)) for x, y in zip(low, high, strict=True))
    return a, b, c, d, e, f
