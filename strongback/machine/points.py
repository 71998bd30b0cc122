"""Frozen values of what stands at a point of a part: the tool and the work, masses, gauges. Positions in metres in the
axes of the room, as in `strongback.machine.values`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

from strongback import checks

__all__ = ["GROUND", "Gauge", "Place", "PointMass", "Vector"]

POINT = "a point in the axes of the machine, x, y, z [m]"
DIRECTION = "a direction in the axes of the machine, such as (0, 0, 1)"
GROUND = "ground"
Vector: TypeAlias = tuple[float, float, float]


def named(kind: str, name: object) -> str:
    """A value in the words of a message: its kind and its name."""
    return f'{kind} "{checks.text(kind, "name", name)}"'


def placed(value: Any, where: str) -> None:
    """Check the point at which a value stands."""
    checks.frozen(value, at=checks.numbers(where, "at", value.at, 3, hint=POINT))


@dataclass(frozen=True, slots=True, kw_only=True)
class PointMass:
    """A lumped mass: motor, spindle, table.

    Parameters
    ----------
    name, part : str
    at : Vector
        Centre of mass [m].
    mass : float
        [kg]
    inertia : Vector
        About the machine's axes through the centre of mass [kg m²].

    Examples
    --------
    >>> PointMass(name="motor", part="head", at=(0.0, 0.05, 0.5), mass=8.5).mass  # [kg]
    8.5
    """

    name: str
    part: str
    at: Vector
    mass: float
    inertia: Vector = (0.0, 0.0, 0.0)

    def __post_init__(self) -> None:
        where = named("mass", self.name)
        checks.text(where, "part", self.part)
        placed(self, where)
        checks.frozen(
            self,
            mass=checks.number(where, "mass", self.mass, least=0.0),
            inertia=checks.numbers(where, "inertia", self.inertia, 3, hint="about x, y, z [kg m²]"),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A point carried by a part [m].

    Examples
    --------
    >>> Place(part="head", at=(0, -0.3, 0.25)).at
    (0.0, -0.3, 0.25)
    """

    part: str
    at: Vector

    def __post_init__(self) -> None:
        checks.text("place", "part", self.part)
        placed(self, f'place on "{self.part}"')


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """A dial indicator: motion of a point along a direction, relative to the body that carries its stand.

    Parameters
    ----------
    name, part : str
        The part that it touches.
    at : Vector
        Point it touches [m].
    direction : Vector
        Positive reading: motion of the part along this direction.
    reference : str
        Part that carries the stand; `GROUND` for the bench.
    stand : Vector, optional
        Where the stand sits on it; default the point of the part nearest to `at` [m].
    resolution : float
        Smallest step of the scale [m].

    Examples
    --------
    >>> dial = Gauge(name="side", part="column", at=(0.06, 0.0, 0.4), direction=(1.0, 0.0, 0.0), reference="bed")
    >>> dial.resolution  # [m]
    1e-06
    """

    name: str
    part: str
    at: Vector
    direction: Vector
    reference: str = GROUND
    stand: Vector | None = None
    resolution: float = 1e-6

    def __post_init__(self) -> None:
        where = named("gauge", self.name)
        checks.text(where, "part", self.part)
        checks.text(where, "reference", self.reference)
        placed(self, where)
        checks.frozen(
            self,
            direction=checks.numbers(where, "direction", self.direction, 3, hint=DIRECTION),
            resolution=checks.number(where, "resolution", self.resolution, least=0.0),
        )
        if self.stand is not None:
            checks.frozen(self, stand=checks.numbers(where, "stand", self.stand, 3, hint=POINT))
