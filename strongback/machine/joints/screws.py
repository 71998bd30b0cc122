"""What holds a slide along its way: ball screw, trapezoidal screw, belt, rack, lock. All act along the slide only."""

from __future__ import annotations

import math
from typing import Literal

from strongback.machine.joints.balls import ball_in_grooves
from strongback.machine.joints.contact import slide_stiffness
from strongback.machine.joints.estimate import (
    STEEL,
    JointStiffness,
    UsualPlay,
    along_only,
    between,
    cite,
    positive,
    series,
)

__all__ = ["ball_screw", "belt", "lock", "motor_spring", "rack", "trapezoidal_screw"]

NUT_SHARE = (0.5, 0.8)  # of the ideal nut
BEARING, BRACKET = (20e6, 60e6), (30e6, 200e6)  # of a ball screw [N/m] (guess)
THRUST = {  # of a trapezoidal screw [N/m] (guess)
    "collar": (10e6, 60e6),
    "ball thrust washer": (10e6, 60e6),
    "bearing pair": (20e6, 60e6),
}
PLAIN_BRACKET = (20e6, 150e6)
FLANK = math.radians(15.0)
WORKING = 100.0  # load at which a single nut is judged [N]
BELT, RACK, LOCK = (2e6, 20e6), (10e6, 60e6), (30e6, 200e6)  # [N/m]; common practice, no source


def motor_spring(torque: float, lead: float, *, steps: int = 200) -> float:
    """Stiffness along a slide of a stepping motor that holds its screw [N/m].

    Parameters
    ----------
    torque : float
        Holding torque [N m].
    lead : float
        Of the screw [m].
    steps : int
        A turn; a quarter of them is the number of its poles.

    Examples
    --------
    >>> round(motor_spring(1.2, 5e-3) / 1e6, 1)  # N/µm
    94.7
    """
    positive("holding torque", torque, "N m")
    return torque * steps / 4.0 * (2.0 * math.pi / positive("lead", lead)) ** 2


def ball_screw(
    diameter: float,
    lead: float,
    free: float,
    *,
    preload: float = 0.0,
    motor: float = math.inf,
    fixed_both_ends: bool = False,
) -> JointStiffness:
    """A ball screw with nut, support bearings and bracket.

    Parameters
    ----------
    diameter, lead : float
        [m]
    free : float
        From the fixed bearing to the nut [m]; between both bearings if both are fixed.
    preload : float
        Of a double nut [N]; 0 for a single nut with clearance, judged at 100 N.
    motor : float
        Stiffness of what holds the screw from turning, see `motor_spring` [N/m].
    fixed_both_ends : bool

    Returns
    -------
    JointStiffness
        y along the slide.

    Examples
    --------
    >>> screw = ball_screw(16e-3, 5e-3, 0.3)
    >>> [round(k[1] / 1e6, 1) for k in (screw.low, screw.best, screw.high)]  # N/µm
    [9.4, 15.3, 24.9]
    """
    positive("screw diameter", diameter)
    positive("free length", free)
    ball = min(0.635 * positive("lead", lead), 0.2 * diameter)
    core = diameter - 0.976 * ball
    rod = (4.0 if fixed_both_ends else 1.0) * STEEL * math.pi * core**2 / 4.0 / free
    balls = int(3.0 * math.pi * diameter / ball)
    nut = _nut(balls, ball, preload)
    low, high = (series(rod, NUT_SHARE[i] * nut, BEARING[i], BRACKET[i], motor) for i in (0, 1))
    ends = between(along_only(low), along_only(high))
    play = UsualPlay(component="along y", low=5e-6, high=50e-6, when="a single nut, and its bearing")
    return JointStiffness(
        kind="ball_screw",
        low=ends[0],
        best=ends[1],
        high=ends[2],
        source=cite("CAT", "HARRIS", "STAT", guess="bearing 20 to 60 N/µm, bracket 30 to 200 N/µm"),
        play=() if preload > 0.0 else (play,),
    )


def _nut(balls: int, ball: float, preload: float) -> float:
    """Ideal nut, its balls at 45 degrees: all under the working load, or two halves under their preload [N/m]."""
    sine = math.sin(math.pi / 4.0)
    loaded, force = (balls / 2.0, preload) if preload > 0.0 else (float(balls), WORKING)
    return balls * ball_in_grooves(force / (loaded * sine), ball) * sine**2


def trapezoidal_screw(
    diameter: float,
    pitch: float,
    free: float,
    *,
    nut: float | None = None,
    thrust: Literal["collar", "ball thrust washer", "bearing pair"] = "collar",
) -> JointStiffness:
    """A trapezoidal or acme screw and its nut.

    Parameters
    ----------
    diameter, pitch : float
        [m]
    free : float
        From the thrust to the nut [m].
    nut : float, optional
        Length of the nut [m]; 1.5 diameters without.
    thrust : str

    Returns
    -------
    JointStiffness
        y along the slide, while the flanks bear.

    Examples
    --------
    >>> screw = trapezoidal_screw(16e-3, 4e-3, 0.3, nut=24e-3)
    >>> [round(k[1] / 1e6, 1) for k in (screw.low, screw.best, screw.high)]  # N/µm
    [5.2, 10.4, 20.9]
    """
    positive("screw diameter", diameter)
    positive("free length", free)
    long = 1.5 * diameter if nut is None else positive("length of the nut", nut)
    deep = positive("pitch", pitch) / 2.0
    core = diameter - pitch - 0.5e-3  # with the clearance at the root, ISO 2901 (memory)
    rod = STEEL * math.pi * core**2 / 4.0 / free
    flanks = math.pi * (diameter - deep) * deep * long / pitch * math.cos(FLANK) ** 2
    contact = slide_stiffness(deep)
    low, high = (
        series(rod, share * contact[i] * flanks, THRUST[thrust][i], PLAIN_BRACKET[i])
        for i, share in enumerate((0.5, 1.0))
    )
    ends = between(along_only(low), along_only(high))
    play = UsualPlay(
        component="along y", low=20e-6, high=300e-6, when="backlash that neither weight nor gib takes up"
    )
    return JointStiffness(
        kind="trapezoidal_screw",
        low=ends[0],
        best=ends[1],
        high=ends[2],
        source=cite("ITO-6-7", "STAT", guess="a thread as a narrow slideway; thrust and bracket"),
        play=(play,),
    )


def belt() -> JointStiffness:
    """A toothed belt that holds a slide: 2 to 20 N/µm, common practice, no source."""
    return _practice("belt", BELT, "a toothed belt, 2 to 20 N/µm", None)


def rack() -> JointStiffness:
    """A rack and pinion that hold a quill or slide: 10 to 60 N/µm, common practice, no source."""
    play = UsualPlay(component="along y", low=50e-6, high=150e-6, when="backlash of the pinion")
    return _practice("rack", RACK, "rack and pinion, 10 to 60 N/µm", play)


def lock() -> JointStiffness:
    """A locked slide along its way: 30 to 200 N/µm, common practice, no source."""
    return _practice("lock", LOCK, "a lock on a slide, 30 to 200 N/µm", None)


def _practice(kind: str, ends: tuple[float, float], guess: str, play: UsualPlay | None) -> JointStiffness:
    low, best, high = between(along_only(ends[0]), along_only(ends[1]))
    loose = () if play is None else (play,)
    return JointStiffness(kind=kind, low=low, best=best, high=high, source=cite(guess=guess), play=loose)
