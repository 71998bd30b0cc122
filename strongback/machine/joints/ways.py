"""Sliding ways: dovetail with gib, flat ways with keep plates."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from strongback.errors import MachineError
from strongback.machine.joints.contact import SLIDE_SHARE, slide_stiffness
from strongback.machine.joints.estimate import (
    JointStiffness,
    UsualPlay,
    between,
    cite,
    held_to,
    positive,
    series,
)
from strongback.machine.values import FREE, Six

__all__ = ["Gib", "box_way", "dovetail_way"]

Gib = Literal["strip", "taper", "none"]
GIB_SCREW = (16e6, 24e6)  # a screw of a strip gib with its point, bar and flat [N/m] (guess)
SETTING = (0.5, 2.0)  # for how the gib is set (guess)


def dovetail_way(
    flat: float,
    length: float,
    apart: float,
    *,
    slant: float | None = None,
    angle: float = math.radians(55.0),
    gib: Gib = "strip",
    gib_screws: int = 4,
    vertical: bool = False,
    locked: bool = False,
    along: tuple[float, float] | None = None,
) -> JointStiffness:
    """A dovetail slide with its gib, at the middle of what is engaged.

    Parameters
    ----------
    flat : float
        Width of each of the two flat faces [m].
    length : float
        That stays engaged [m].
    apart : float
        Between the middles of the flats [m].
    slant : float, optional
        Width of a slanting face [m]; 0.6 of the flat without.
    angle : float
        Of the slanting faces from the flat [rad].
    gib : {"strip", "taper", "none"}
        A strip on screws is held by them, a taper bears all along, and without one the far side does not hold.
    gib_screws : int
        Of a strip.
    vertical : bool
        Whether it slides up and down.
    locked : bool
        Whether it is locked while it is pulled.
    along : tuple of float, optional
        Lowest and highest stiffness along the slide, of screw or lock [N/m]; free without.

    Returns
    -------
    JointStiffness
        x across the slide, y along it, z out of the flat faces.

    Raises
    ------
    MachineError
        If a size is not above 0, a way is wider than 400 mm, or the angle is no dovetail's.

    Examples
    --------
    >>> way = dovetail_way(0.025, 0.08, 0.066, slant=0.014, vertical=True)
    >>> [round(k[0] / 1e6) for k in (way.low, way.best, way.high)], way.best[1]  # across [N/µm]; it slides
    ([78, 243, 760], 0.0)
    """
    if not math.radians(30.0) <= angle <= math.radians(75.0):
        raise MachineError(
            f"a dovetail of {math.degrees(angle):g} degrees", hint="from the flat, such as 45 to 60 degrees"
        )
    way = _Way(
        flat=flat,
        length=length,
        apart=apart,
        side=0.6 * flat if slant is None else slant,
        angle=angle,
        gib=gib,
        screws=gib_screws,
        vertical=vertical,
        locked=locked,
        along=along,
    )
    return _stiffness("dovetail_way", way)


def box_way(
    flat: float,
    length: float,
    apart: float,
    *,
    side: float = 12e-3,
    keep_plate: float = 0.0,
    gib: Gib = "strip",
    gib_screws: int = 3,
    vertical: bool = False,
    locked: bool = False,
    along: tuple[float, float] | None = None,
) -> JointStiffness:
    """Flat ways with a side guide and, if adjusted, keep plates; at the middle of what is engaged.

    Parameters
    ----------
    flat, length, apart : float
        As in `dovetail_way` [m].
    side : float
        Height of the side guide [m].
    keep_plate : float
        Width of the keep plates that bear [m]; 0 if they are slack or not there: the slide then lifts at its weight.
    gib : {"strip", "taper", "none"}
        At the side guide.
    gib_screws : int
    vertical, locked : bool
    along : tuple of float, optional
        [N/m]

    Returns
    -------
    JointStiffness
        x across the slide, y along it, z out of the flat faces.
    """
    way = _Way(
        flat=flat,
        length=length,
        apart=apart,
        side=side,
        angle=math.pi / 2.0,
        gib=gib,
        screws=gib_screws,
        vertical=vertical,
        locked=locked,
        along=along,
        keep_plate=keep_plate,
    )
    return _stiffness("box_way", way)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """Sizes of either kind of way."""

    flat: float
    length: float
    apart: float
    side: float
    angle: float
    gib: Gib
    screws: int
    vertical: bool
    locked: bool
    along: tuple[float, float] | None
    keep_plate: float = 0.0

    def face(self, width: float, end: int) -> float:
        """A face of the way along all of its length [N/m]."""
        area = slide_stiffness(width, vertical=self.vertical, locked=self.locked)[end] * SETTING[end]
        return area * width * self.length


def _stiffness(kind: str, way: _Way) -> JointStiffness:
    sizes = (("flat", way.flat), ("length engaged", way.length), ("between the flats", way.apart))
    for what, value in (*sizes, ("side", way.side)):
        positive(what, value)
    if way.along is not None:
        held_to(way.along, "stiffness along the slide")
    low, best, high = between(_one_end(way, 0), _one_end(way, 1))
    loose = UsualPlay(component="along x", low=5e-6, high=50e-6, when="until a worn gib bears")
    lift = UsualPlay(component="along z", low=20e-6, high=100e-6, when="keep plates that do not bear")
    slack = kind == "box_way" and way.keep_plate == 0.0
    return JointStiffness(
        kind=kind,
        low=low,
        best=best,
        high=high,
        source=cite(
            "ITO-6-7",
            "ITO-225",
            "ITO-241",
            guess="0.5 to 2 for the setting of the gib, gib screws as bar and point, 0.1 to 0.4 across",
        ),
        play=(loose, lift) if slack else (loose,),
        opens="lifts at the weight on its flats"
        if slack
        else "opens when the pull exceeds what the gib presses",
    )


def _one_end(way: _Way, end: int) -> Six:
    """The six sums at the soft (0) or stiff (1) end."""
    bed = 2.0 * way.face(way.flat, end)
    if way.keep_plate > 0.0:
        bed += 2.0 * way.face(way.keep_plate, end)
    near = way.face(way.side, end)
    far = {"strip": series(near, way.screws * GIB_SCREW[end]), "taper": near, "none": FREE}[way.gib]
    sides, share = near + far, SLIDE_SHARE[end]
    up, across = math.cos(way.angle) ** 2, math.sin(way.angle) ** 2
    k_x = sides * across + share * bed
    k_z = bed + sides * up
    lever = way.apart**2 / 4.0
    return (
        k_x,
        way.along[end] if way.along else FREE,
        k_z,
        k_z * way.length**2 / 12.0,
        bed * (lever + way.flat**2 / 12.0) + sides * up * lever,
        k_x * way.length**2 / 12.0 + share * bed * lever,
    )
