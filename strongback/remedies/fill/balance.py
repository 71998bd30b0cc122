"""Where the weight goes: centre of mass, tipping, lifting, and the load on what moves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from strongback.errors import MixError
from strongback.machine.values import Machine
from strongback.remedies.fill._checks import not_negative
from strongback.remedies.fill.pour import GRAVITY

__all__ = ["Lump", "Tipping", "centre_of_mass", "lifting_note", "standing", "tipping"]

Array = NDArray[np.float64]
ONE_PERSON = 25.0  # kg; common guidance for a lift close to the body by one person, from memory


@dataclass(frozen=True, slots=True, kw_only=True)
class Lump:
    """A mass and where its centre is [kg, m]."""

    name: str
    mass: float
    at: tuple[float, float, float]


def centre_of_mass(lumps: Sequence[Lump]) -> tuple[float, Array]:
    """Total mass and its centre.

    Returns
    -------
    mass : float
        [kg]
    centre : ndarray, shape (3,)
        [m]
    """
    mass = sum(not_negative(f'mass "{lump.name}"', lump.mass, "kg") for lump in lumps)
    if mass == 0.0:
        raise MixError("no mass to balance")
    return mass, sum((lump.mass * np.asarray(lump.at) for lump in lumps), np.zeros(3)) / mass


@dataclass(frozen=True, slots=True, kw_only=True)
class Tipping:
    """How firmly a machine stands on its feet.

    Parameters
    ----------
    mass : float
        [kg]
    centre : tuple of float
        [m]
    moment : float
        Smallest moment about an edge between feet that holds it down; negative: it falls over [N m].
    edge : tuple of int
        The two feet of that edge.
    sideways : float
        Horizontal force at the centre of mass that would just tip it over that edge [N].
    """

    mass: float
    centre: tuple[float, float, float]
    moment: float
    edge: tuple[int, int]
    sideways: float


def tipping(lumps: Sequence[Lump], feet: Sequence[tuple[float, float]], floor: float = 0.0) -> Tipping:
    """Smallest righting moment of a machine that stands free on its feet.

    Parameters
    ----------
    lumps : sequence of Lump
    feet : sequence of (float, float)
        x and y of each foot [m].
    floor : float
        Height at which the feet stand [m].

    Returns
    -------
    Tipping

    Raises
    ------
    MixError
        If there are fewer than three feet or they stand in one line.
    """
    points = np.asarray(feet, dtype=float)
    if len(points) < 3 or np.linalg.matrix_rank(points - points[0], tol=1e-9) < 2:
        raise MixError("tipping needs three feet that do not stand in one line")
    mass, centre = centre_of_mass(lumps)
    hull = ConvexHull(points)
    # Rows of equations: outward normal and offset of each edge; inside is negative.
    distance = -(hull.equations[:, :2] @ centre[:2] + hull.equations[:, 2])
    least = int(np.argmin(distance))
    moment = mass * GRAVITY * float(distance[least])
    height = float(centre[2]) - floor
    i, j = hull.simplices[least]
    return Tipping(
        mass=mass,
        centre=(float(centre[0]), float(centre[1]), float(centre[2])),
        moment=moment,
        edge=(int(i), int(j)),
        sideways=moment / height if height > 0.0 else math.inf,
    )


def lifting_note(name: str, mass: float) -> str:
    """What a mass means for the person who has to move it."""
    if mass <= ONE_PERSON:
        return f"{name}: {mass:.1f} kg"
    persons = math.ceil(mass / ONE_PERSON)
    return (
        f"{name}: {mass:.1f} kg, a lift for {persons} persons or a hoist; follow local manual-handling rules and the "
        "labels of the lifting gear"
    )


def standing(machine: Machine, mass: float, centre: Array) -> Tipping | None:
    """How firmly a machine stands on its supports, taken as feet that only push.

    Parameters
    ----------
    machine : Machine
    mass : float
        [kg]
    centre : ndarray, shape (3,)
        [m]

    Returns
    -------
    Tipping or None
        None where there are fewer than three supports that do not stand in one line, or nothing has mass.
    """
    points = np.array([support.at for support in machine.supports])
    if mass <= 0.0 or len(points) < 3:
        return None
    if np.linalg.matrix_rank(points[:, :2] - points[0, :2], tol=1e-9) < 2:
        return None
    at = (float(centre[0]), float(centre[1]), float(centre[2]))
    feet = [(float(x), float(y)) for x, y in points[:, :2]]
    return tipping([Lump(name=machine.name, mass=mass, at=at)], feet, floor=float(points[:, 2].min()))
