"""A preloaded bolt and what it clamps: how much of an outer load the bolt feels, and when the faces part.

Until they part, a face is as stiff as its contact (`bolted`); after that the bolt alone holds, and the joint is many times
softer. Between the two lies the load given here.
"""

from __future__ import annotations

import math

from strongback.machine.joints.estimate import positive

__all__ = ["bolt_stiffness", "clamped_stiffness", "parting_load"]

SLOPE = 0.5774  # tan of the half angle of the pressure cone, 30 degrees, as the equation prints it


def clamped_stiffness(modulus: float, diameter: float, grip: float) -> float:
    """Stiffness of two clamped plates of one material under a bolt head and a nut of 1.5 diameters.

    Parameters
    ----------
    modulus : float
        Young's modulus of the plates [Pa].
    diameter : float
        Nominal, of the bolt [m].
    grip : float
        Thickness of both plates together [m].

    Returns
    -------
    float
        [N/m]

    Raises
    ------
    MachineError
        If a value is not above 0.

    Notes
    -----
    Two frusta of 30 degrees in series: Shigley, Mechanical Engineering Design, Eq. 8-22.

    Examples
    --------
    >>> round(clamped_stiffness(210e9, 6e-3, 20e-3) / 1e6, 2)
    1133.79
    """
    for what, value, unit in (
        ("modulus", modulus, "Pa"),
        ("bolt diameter", diameter, "m"),
        ("grip", grip, "m"),
    ):
        positive(what, value, unit)
    ratio = 5.0 * (SLOPE * grip + 0.5 * diameter) / (SLOPE * grip + 2.5 * diameter)
    return SLOPE * math.pi * modulus * diameter / (2.0 * math.log(ratio))


def bolt_stiffness(modulus: float, area: float, grip: float) -> float:
    """Stiffness of a bolt whose thread fills the grip, E A / l [N/m].

    Parameters
    ----------
    modulus : float
        [Pa]
    area : float
        Tensile stress area [m²].
    grip : float
        [m]

    Raises
    ------
    MachineError
        If a value is not above 0.
    """
    for what, value, unit in (("modulus", modulus, "Pa"), ("stress area", area, "m²"), ("grip", grip, "m")):
        positive(what, value, unit)
    return modulus * area / grip


def parting_load(preload: float, bolt: float, clamped: float) -> float:
    """Outer pull on one bolt at which the faces under it part [N]: preload / (1 - C), C = kb / (kb + km).

    Parameters
    ----------
    preload : float
        [N]
    bolt, clamped : float
        Stiffness of the bolt and of what it clamps [N/m].

    Returns
    -------
    float
        [N]

    Raises
    ------
    MachineError
        If a value is not above 0.

    Notes
    -----
    Shigley, Mechanical Engineering Design, Sec. 8-7.

    Examples
    --------
    >>> parting_load(8000.0, 1.0e8, 4.0e8)
    10000.0
    """
    positive("preload", preload, "N")
    positive("bolt stiffness", bolt, "N/m")
    positive("clamped stiffness", clamped, "N/m")
    return preload * (bolt + clamped) / clamped
