"""A bolted face: contact springs spread over the area that the bolts press together."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.machine.joints.contact import FINISHES, SOURCE, Finish, contact_stiffness
from strongback.machine.joints.starting import StartingStiffness, positive, spread
from strongback.machine.values import Six

__all__ = ["Bolt", "bolted_face"]

Array = NDArray[np.float64]
CONE = math.tan(math.radians(30.0))  # half angle of the pressure cone under a bolt head (Shigley)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bolt:
    """A bolt of the face.

    Parameters
    ----------
    at : tuple of float
        In the plane of the face [m].
    diameter : float
        Nominal [m].
    preload : float
        [N]
    """

    at: tuple[float, float]
    diameter: float
    preload: float


def bolted_face(
    bolts: tuple[Bolt, ...], plate: float, size: tuple[float, float], *, finish: str = "milled"
) -> StartingStiffness:
    """Starting stiffness of a face bolted down, at the centre of its footprint.

    The faces touch at least where the bolts press, in a ring as wide as the pressure cone through the plate, and at the
    most over the whole footprint; the finish gives the stiffness per area at the pressure there. Both ends of both
    ranges make the range of the joint. The bending of the plate itself is not in it.

    Parameters
    ----------
    bolts : tuple of Bolt
    plate : float
        Thickness under the bolt heads [m].
    size : tuple of float
        Footprint along x and y [m].
    finish : str
        One of `FINISHES`.

    Returns
    -------
    StartingStiffness
        Axes x, y in the face, z normal to it.

    Raises
    ------
    MachineError
        If there is no bolt, one lies outside the footprint, or the finish is unknown.

    Notes
    -----
    Contact: see `contact`. Cone of 30 degrees: Shigley, Mechanical Engineering Design, Sec. 8-5. Faces that open under
    load are softer: the column joint of a boring machine gave half as much again (Ito 2008, Fig. 5-2).
    """
    chosen = _checked(bolts, plate, size, finish)
    force = sum(bolt.preload for bolt in bolts)
    rings = [_ring(bolt, plate) for bolt in bolts]
    ring_area = sum(rings)
    area = size[0] * size[1]
    near = _pattern(np.array([b.at for b in bolts]), np.array(rings), np.sqrt(np.array(rings) / 12.0))
    far = np.array([area, area * size[1] ** 2 / 12.0, area * size[0] ** 2 / 12.0])
    pressed = min(ring_area, area)
    cases = [(near * pressed / ring_area, force / pressed), (far, force / area)]
    low = _at_worst(cases, chosen, max(chosen.C), max(chosen.Ct), min)
    high = _at_worst(cases, chosen, min(chosen.C), min(chosen.Ct), max)
    return StartingStiffness(
        middle=spread(low, high), low=low, high=high, source=f"contact of {finish} faces: {SOURCE}"
    )


def _checked(bolts: tuple[Bolt, ...], plate: float, size: tuple[float, float], finish: str) -> Finish:
    positive("plate thickness", plate)
    positive("footprint", min(size))
    if not bolts:
        raise MachineError("a bolted face without bolts", hint="list where the bolts are")
    if finish not in FINISHES:
        raise MachineError(f'unknown finish "{finish}"', hint="known: " + ", ".join(FINISHES))
    for bolt in bolts:
        positive("bolt diameter", bolt.diameter)
        positive("bolt preload", bolt.preload, "N")
        if abs(bolt.at[0]) > size[0] / 2 or abs(bolt.at[1]) > size[1] / 2:
            x, y = (1e3 * v for v in bolt.at)
            raise MachineError(
                f"the bolt at ({x:g}, {y:g}) mm lies outside the footprint",
                hint="give places from its centre",
            )
    return FINISHES[finish]


def _ring(bolt: Bolt, plate: float) -> float:
    """Area pressed together under one bolt: head 1.5 d wide, cone through the plate, less the hole [m²]."""
    radius = 0.75 * bolt.diameter + plate * CONE
    return math.pi * (radius**2 - (0.55 * bolt.diameter) ** 2)


def _pattern(at: Array, areas: Array, own: Array) -> Array:
    """Area and second moments about x and y of patches, each with its own radius of gyration, (3,)."""
    return np.array(
        [
            areas.sum(),
            (areas * (at[:, 1] ** 2 + own**2)).sum(),
            (areas * (at[:, 0] ** 2 + own**2)).sum(),
        ]
    )


def _at_worst(cases: list[tuple[Array, float]], finish: Finish, C: float, Ct: float, pick: object) -> Six:
    rows = []
    for (area, about_x, about_y), pressure in cases:
        normal = contact_stiffness(pressure, C, finish.m)
        shear = contact_stiffness(pressure, Ct, 0.5)
        rows.append(
            [
                shear * area,
                shear * area,
                normal * area,
                normal * about_x,
                normal * about_y,
                shear * (about_x + about_y),
            ]
        )
    a, b, c, d, e, f = (float(pick(values)) for values in zip(*rows, strict=True))  # type: ignore[operator]
    return a, b, c, d, e, f
