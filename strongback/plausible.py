"""Sizes that no small machine has: said as a warning, never refused, with the slip of a unit that would explain them.

Limits are common practice, no source: they are wide enough that only a slip is outside. Numbers in code are in metres and
newtons; in files every number carries its unit.
"""

from __future__ import annotations

import math

__all__ = ["UnlikelySize", "slip"]

SLIPS = (
    (1000.0, "metres and millimetres"),
    (10.0, "centimetres and millimetres"),
    (25.4, "inches and millimetres"),
    (100.0, "metres and centimetres"),
)


class UnlikelySize(UserWarning):
    """A size that is legal, and most likely a slip of the unit."""


def slip(size: float, low: float, typical: float, high: float) -> str:
    """Which slip of a unit brings a length back between its limits, nearest to what is usual.

    Parameters
    ----------
    size : float
        [m]
    low, typical, high : float
        [m]

    Returns
    -------
    str
        Empty if the size lies between its limits.

    Examples
    --------
    >>> slip(80.0, 0.002, 0.1, 3.0)
    'lengths in code are in metres, and 80 mm are 0.08'
    >>> slip(0.1, 0.002, 0.1, 3.0)
    ''
    """
    if low <= size <= high or not 0.0 < size < math.inf:
        return ""
    meant = [(size / f if size > high else size * f, f, words) for f, words in SLIPS]
    fits = [
        (abs(math.log(value / typical)), value, f, words) for value, f, words in meant if low <= value <= high
    ]
    if not fits:
        return "check its unit"
    _, value, factor, words = min(fits)
    if factor == 1000.0 and size > high:
        return f"lengths in code are in metres, and {size:g} mm are {value:g}"
    return f"{words} mixed up? that would be {value * 1e3:.4g} mm"
