"""Feet under the bed: three springs each, free to tilt."""

from __future__ import annotations

import math

from strongback.machine.joints.starting import StartingStiffness, positive, spread
from strongback.machine.values import FREE

__all__ = ["rubber_foot", "screw_foot"]


def rubber_foot(
    diameter: float, height: float, *, hardness: tuple[float, float] = (1.5e6, 6e6)
) -> StartingStiffness:
    """Starting stiffness of a bonded rubber foot.

    Parameters
    ----------
    diameter, height : float
        Of the rubber [m].
    hardness : tuple of float
        Lowest and highest Young's modulus of the rubber [Pa]; the default spans 40 to 70 Shore A (from memory).

    Returns
    -------
    StartingStiffness
        z upright. E (1 + 2 S²) A / h upright with the shape factor S = d/4h (Gent & Lindley 1959, from memory), G A / h
        sideways with G = E/3.

    Examples
    --------
    >>> foot = rubber_foot(0.04, 0.02)
    >>> [round(k / 1e3) for k in (foot.low[2], foot.high[2])]  # N/mm
    [141, 565]
    """
    area = math.pi * positive("diameter", diameter) ** 2 / 4.0
    shape = diameter / (4.0 * positive("height", height))
    low, high = ((e / 3.0 * area / height, e * (1.0 + 2.0 * shape**2) * area / height) for e in hardness)
    ends = [(side, side, up, FREE, FREE, FREE) for side, up in (low, high)]
    return StartingStiffness(
        middle=spread(*ends),
        low=ends[0],
        high=ends[1],
        source="rubber in compression with shape factor, Gent & Lindley 1959, from memory",
    )


def screw_foot(diameter: float, length: float, *, E: float = 210e9) -> StartingStiffness:
    """Starting stiffness of a steel levelling screw standing on a hard floor.

    Parameters
    ----------
    diameter : float
        Core of the thread [m].
    length : float
        Free length [m].
    E : float
        [Pa]

    Returns
    -------
    StartingStiffness
        z upright: E A / L in series with the contact at ball and floor, for which a tenth to a half of the stiffness of
        the screw is left (common practice, no source). Sideways: a cantilever 3 E I / L³ (low) to guided 12 E I / L³.
    """
    area = math.pi * positive("diameter", diameter) ** 2 / 4.0
    second = math.pi * diameter**4 / 64.0
    upright = positive("E", E, "Pa") * area / positive("length", length)
    bend = E * second / length**3
    low = (3.0 * bend, 3.0 * bend, 0.1 * upright, FREE, FREE, FREE)
    high = (12.0 * bend, 12.0 * bend, 0.5 * upright, FREE, FREE, FREE)
    source = "screw as a bar and cantilever, elementary; loss at ball and floor: common practice, no source"
    return StartingStiffness(middle=spread(low, high), low=low, high=high, source=source)
