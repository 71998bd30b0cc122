"""Ball carriages on profiled rails, bushings on round rails."""

from __future__ import annotations

import functools
import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import resources
from typing import Literal

from strongback.errors import MachineError
from strongback.machine.joints.balls import ball_in_grooves, ball_on_flat
from strongback.machine.joints.contact import slide_stiffness
from strongback.machine.joints.estimate import (
    JointStiffness,
    UsualPlay,
    between,
    cite,
    held_to,
    positive,
)
from strongback.machine.values import FREE, Six

__all__ = ["PRELOADS", "RailPreload", "profile_rail_carriage", "round_rail"]

RailPreload = Literal["clearance", "light", "medium", "heavy", "unknown"]
PRELOADS = {"light": 0.02, "medium": 0.05, "heavy": 0.08}  # of the load rating
SHARE = (0.35, 0.8)  # what rail, screws and the legs of the carriage leave (guess)
SIDEWAYS = 0.8  # of the stiffness off the rail
WORKING = 100.0  # load at which a carriage with clearance or a bushing is judged [N]
SINE = math.sin(math.pi / 4.0)
UNSURE = 2.5  # factor either way without a known class
LOADED = 10  # balls that share the load of a bushing, over a third of its circumference (guess)
ARC = math.radians(58.0)  # half of that third, a little less than 60 degrees
BUSHING_SHARE = (0.25, 0.7)  # what the seat of a bushing leaves (guess)
PLAIN_SHARE = (0.3, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Carriage:
    ball: float
    balls: int
    rating: float
    length: float
    lever: float


@functools.cache
def _table() -> dict[str, list[dict[str, float]]]:
    text = resources.files("strongback.machine.joints").joinpath("rails.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _carriage(size: float) -> _Carriage:
    rows = {row["size"]: row for row in _table()["carriage"]}
    near = min(rows, key=lambda known: abs(known - 1e3 * size))
    if abs(near - 1e3 * size) > 0.2 * near:
        known = ", ".join(f"{s:g}" for s in rows)
        raise MachineError(
            f"no profiled rail of size {1e3 * size:g} mm", hint=f"width of its head: {known} mm"
        )
    row = rows[near]
    return _Carriage(
        ball=1e-3 * row["ball"],
        balls=int(row["balls"]),
        rating=row["rating"],
        length=1e-3 * row["length"],
        lever=1e-3 * near * 11.0 / 15.0,
    )


def profile_rail_carriage(
    size: float,
    *,
    preload: RailPreload = "unknown",
    places: Sequence[tuple[float, float]] = ((0.0, 0.0),),
    along: tuple[float, float] | None = None,
) -> JointStiffness:
    """Ball carriages on profiled rails, at the origin of their places.

    Parameters
    ----------
    size : float
        Width of the head of the rail [m].
    preload : {"clearance", "light", "medium", "heavy", "unknown"}
        Class; unknown spans clearance to medium.
    places : sequence of tuple of float
        Of the carriages, across and along the rails [m].
    along : tuple of float, optional
        Lowest and highest stiffness along the slide, of screw or belt [N/m]; free without.

    Returns
    -------
    JointStiffness
        x across the rails, y along them, z off them. Errors of carriages of one kind are shared: the range of four is
        that of one.

    Raises
    ------
    MachineError
        If there is no carriage or no such rail.

    Notes
    -----
    Four rows of balls at 45 degrees; with preload P each ball carries P/(2 Z sin 45). With clearance two rows touch, of
    each half the balls, at a working load of 100 N. Rails on machined seats, screwed at every hole: on unmachined profile
    take the low end.

    Examples
    --------
    >>> one = profile_rail_carriage(0.015, preload="light")
    >>> [round(k[2] / 1e6) for k in (one.low, one.best, one.high)]  # off the rail [N/µm]
    [104, 158, 238]
    """
    if not places:
        raise MachineError("rails without carriages", hint="list where the carriages are")
    if along is not None:
        held_to(along, "stiffness along the slide")
    row = _carriage(size)
    classes = ("clearance", "medium") if preload == "unknown" else (preload, preload)
    ends = [
        _table_of(row, SHARE[end] * _off_rail(row, classes[end]), places, along[end] if along else FREE)
        for end in (0, 1)
    ]
    low, best, high = between(ends[0], ends[1], least=UNSURE if preload == "unknown" else 1.5)
    play = UsualPlay(component="along z", low=2e-6, high=10e-6, when="the clearance class")
    return JointStiffness(
        kind="profile_rail_carriage",
        low=low,
        best=best,
        high=high,
        source=cite("HARRIS", "CAT", "HUANG", guess="0.35 to 0.8 left by rail, screws and carriage"),
        play=(play,) if preload in ("clearance", "unknown") else (),
    )


def _off_rail(row: _Carriage, preload: str) -> float:
    """Ideal stiffness of a carriage off its rail [N/m]."""
    if preload == "clearance":
        return row.balls * ball_in_grooves(WORKING / (row.balls * SINE), row.ball) * SINE**2
    if preload not in PRELOADS:
        raise MachineError(
            f'unknown preload class "{preload}"', hint="known: clearance, " + ", ".join(PRELOADS)
        )
    force = PRELOADS[preload] * row.rating / (2.0 * row.balls * SINE)
    return 4.0 * row.balls * ball_in_grooves(force, row.ball) * SINE**2


def _table_of(row: _Carriage, off: float, places: Sequence[tuple[float, float]], along: float) -> Six:
    """Sums over the carriages."""
    side = SIDEWAYS * off
    x2 = sum(x**2 for x, _ in places)
    y2 = sum(y**2 for _, y in places)
    n = len(places)
    own = row.length**2 / 12.0
    return (
        n * side,
        along,
        n * off,
        off * (y2 + n * own),
        off * (x2 + n * row.lever**2),
        side * (y2 + n * own),
    )


def round_rail(
    diameter: float,
    *,
    places: Sequence[tuple[float, float]] = ((0.0, 0.0),),
    bush: Literal["ball", "plain"] = "ball",
    length: float | None = None,
    open_below: bool = False,
    along: tuple[float, float] | None = None,
) -> JointStiffness:
    """Bushings on round rails, at the origin of their places; a rail free between its ends is a member of its own.

    Parameters
    ----------
    diameter : float
        Of the rail [m].
    places : sequence of tuple of float
        Of the bushings, across and along the rails [m].
    bush : {"ball", "plain"}
    length : float, optional
        Of a bushing [m]; the usual one without.
    open_below : bool
        Open bushings on a supported rail: a third when pulled off it, which is the low end.
    along : tuple of float, optional
        [N/m]

    Returns
    -------
    JointStiffness
        x across the rails, y along them, z off them. A bushing tilts on its rail: single ones are free to turn about it.

    Examples
    --------
    >>> one = round_rail(0.016)
    >>> [round(k[2] / 1e6, 1) for k in (one.low, one.best, one.high)]  # N/µm at 100 N
    [10.3, 17.3, 28.9]
    """
    positive("rail diameter", diameter)
    if not places:
        raise MachineError("rails without bushings", hint="list where the bushings are")
    if along is not None:
        held_to(along, "stiffness along the slide")
    row = min(_table()["bushing"], key=lambda r: abs(r["size"] - 1e3 * diameter))
    long = 1e-3 * row["length"] if length is None else positive("length of a bushing", length)
    if bush == "ball":
        ideal = _bushing(diameter, 1e-3 * row["ball"])
        radial = (BUSHING_SHARE[0] * ideal, BUSHING_SHARE[1] * ideal)
    else:
        soft, stiff = (k * diameter * long for k in slide_stiffness(diameter))
        radial = (PLAIN_SHARE[0] * soft, PLAIN_SHARE[1] * stiff)
    rows = []
    for end in (0, 1):
        k = radial[end]
        off = k / 3.0 if open_below and end == 0 else k
        x2, y2 = sum(x**2 for x, _ in places), sum(y**2 for _, y in places)
        n, own = len(places), long**2 / 12.0
        y = along[end] if along else FREE
        rows.append((n * k, y, n * off, off * (y2 + n * own), off * x2, k * (y2 + n * own)))
    low, best, high = between(rows[0], rows[1], least=1.5)
    loose = tuple(
        UsualPlay(component=c, low=5e-6, high=30e-6, when="bushings without preload")
        for c in ("along x", "along z")
    )
    return JointStiffness(
        kind="round_rail",
        low=low,
        best=best,
        high=high,
        source=cite("HERTZ", "CAT", guess="ten balls share the load, 0.25 to 0.7 left by the seat"),
        play=loose,
    )


def _bushing(diameter: float, ball: float) -> float:
    """Ten balls over a third of the circumference that share 100 N, each on shaft and sleeve [N/m]."""
    mean = math.sin(ARC) / ARC  # of the cosine over the arc
    square = 0.5 + math.sin(2.0 * ARC) / (4.0 * ARC)
    force = WORKING / (LOADED * mean)
    shaft = ball_on_flat(force, ball, across=diameter / 2.0)
    sleeve = ball_on_flat(force, ball, across=-(diameter / 2.0 + ball))
    return LOADED * square / (1.0 / shaft + 1.0 / sleeve)
