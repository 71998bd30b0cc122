"""Balls and rollers under load: the laws that rails, screws and bearings share."""

from __future__ import annotations

import math

from strongback.machine.joints.estimate import positive

__all__ = ["ball_in_grooves", "ball_on_flat", "roller"]

STEEL_PLANE = 210e9 / (1.0 - 0.3**2)  # E / (1 - nu²) of bearing steel [Pa]


def ball_in_grooves(force: float, diameter: float) -> float:
    """Stiffness of a ball between two grooves, 1.5 Q over its approach [N/m].

    Parameters
    ----------
    force : float
        On the ball [N].
    diameter : float
        [m]

    Notes
    -----
    Approach 4.4e-4 (Q²/D)^(1/3) mm with Q in N and D in mm: Harris, Rolling Bearing Analysis, after Palmgren (memory).

    Examples
    --------
    >>> round(ball_in_grooves(20.0, 8e-3) / 1e6, 2)  # N/µm
    18.51
    """
    Q, D = positive("load on a ball", force, "N"), 1e3 * positive("ball diameter", diameter)
    return float(1.5 * Q / (4.4e-4 * (Q**2 / D) ** (1.0 / 3.0) * 1e-3))


def ball_on_flat(force: float, diameter: float, *, across: float = math.inf) -> float:
    """Stiffness of a steel ball against one steel face [N/m].

    Parameters
    ----------
    force, diameter : float
        [N], [m]
    across : float
        Radius of a shaft that it touches from outside, below 0 of a sleeve from inside [m]; flat without.

    Notes
    -----
    Hertz: approach (9 Q² / (16 E² R))^(1/3), E half the plane modulus of the pair, 1/R the geometric mean of the sums of
    curvatures of the two directions.
    """
    ball = positive("ball diameter", diameter) / 2.0
    R = 1.0 / math.sqrt((1.0 / ball) * (1.0 / ball + 1.0 / across))
    E = STEEL_PLANE / 2.0
    approach = (9.0 * positive("load on a ball", force, "N") ** 2 / (16.0 * E**2 * R)) ** (1.0 / 3.0)
    return float(1.5 * force / approach)


def roller(force: float, length: float) -> float:
    """Stiffness of a roller between two races, each with approach 3.84e-5 Q^0.9 / l^0.8 mm (N, mm) [N/m].

    Parameters
    ----------
    force, length : float
        [N], [m]

    Notes
    -----
    Harris, Rolling Bearing Analysis, after Palmgren (memory).
    """
    Q, l = positive("load on a roller", force, "N"), 1e3 * positive("roller length", length)
    return float(Q / (0.9 * 2.0 * 3.84e-5 * Q**0.9 / l**0.8 * 1e-3))
