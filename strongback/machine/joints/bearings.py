"""Spindle bearings: each as its own springs with its seat, and two on a spindle that moves as one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from strongback.errors import MachineError
from strongback.machine.joints.balls import ball_in_grooves, roller
from strongback.machine.joints.estimate import (
    STEEL,
    JointStiffness,
    UsualPlay,
    between,
    cite,
    positive,
    series,
)
from strongback.machine.values import FREE, RIGID, Six

__all__ = [
    "Bearing",
    "BearingKind",
    "Fit",
    "angular_pair",
    "deep_groove",
    "nose_bending",
    "one_bearing",
    "spindle_bearings",
    "taper_pair",
]

BearingKind = Literal["angular pair", "deep groove", "taper"]
Fit = Literal["pressed", "sliding"]
RADIAL_SEAT: dict[Fit, tuple[float, float]] = {"pressed": (300e6, 1000e6), "sliding": (80e6, 300e6)}  # [N/m]
AXIAL_SEAT = (100e6, 500e6)  # shoulder, nut and cover [N/m]; both seats are guesses
KNOWN = (0.7, 1.2)  # of the ideal bearing: preload a third off, balls that do not share alike
FROM_BORE = 3.0  # factor either way when only the bore is known
BY_FEEL = 5e3  # preload set by feel [N per m of bore]
ANGLES = {"angular pair": math.radians(25.0), "deep groove": math.radians(12.0), "taper": math.radians(16.0)}


def angular_pair(preload: float, balls: int, ball: float, angle: float) -> tuple[float, float]:
    """Axial and radial stiffness of a pair of angular contact bearings under axial preload [N/m].

    Parameters
    ----------
    preload : float
        [N]
    balls : int
        In one bearing.
    ball : float
        Diameter [m].
    angle : float
        Of contact [rad].

    Notes
    -----
    Load on a ball F0/(Z sin a); axial 2 Z k sin² a, radial Z k cos² a: sums over the balls at constant angle.

    Examples
    --------
    >>> [round(k / 1e6, 1) for k in angular_pair(100.0, 11, 7.938e-3, math.radians(25.0))]  # N/µm
    [74.3, 170.9]
    """
    k = ball_in_grooves(preload / (balls * math.sin(angle)), ball)
    return 2.0 * balls * k * math.sin(angle) ** 2, balls * k * math.cos(angle) ** 2


def deep_groove(preload: float, balls: int, ball: float) -> tuple[float, float]:
    """Axial and radial stiffness of a deep groove bearing under axial preload, at about 12 degrees [N/m]."""
    angle = ANGLES["deep groove"]
    k = ball_in_grooves(preload / (balls * math.sin(angle)), ball)
    return balls * k * math.sin(angle) ** 2, 0.5 * balls * k * math.cos(angle) ** 2


def taper_pair(preload: float, rollers: int, length: float, angle: float) -> tuple[float, float]:
    """Axial stiffness of a pair of taper roller bearings, and radial stiffness of one of them [N/m]."""
    k = roller(preload / (rollers * math.sin(angle)), length)
    return 2.0 * rollers * k * math.sin(angle) ** 2, 0.5 * rollers * k * math.cos(angle) ** 2


def nose_bending(diameter: float, overhang: float, span: float, *, E: float = STEEL) -> float:
    """Stiffness at the nose of a spindle that bends on two stiff bearings, 3 E I / (a² (s + a)) [N/m].

    Parameters
    ----------
    diameter : float
        Of the spindle, between and before the bearings [m].
    overhang : float
        From the front bearing to the nose face, a [m].
    span : float
        Between the bearings, s [m].
    E : float
        [Pa]

    Examples
    --------
    >>> round(nose_bending(0.03, 0.05, 0.1) / 1e6, 1)  # N/µm
    65.2
    """
    for what, value in (("spindle diameter", diameter), ("overhang", overhang), ("bearing span", span)):
        positive(what, value)
    return 3.0 * E * math.pi * diameter**4 / 64.0 / (overhang**2 * (span + overhang))


@dataclass(frozen=True, slots=True, kw_only=True)
class Bearing:
    """A bearing as one knows it.

    Parameters
    ----------
    kind : {"angular pair", "deep groove", "taper"}
    bore : float
        [m]
    preload : float, optional
        Axial [N]; by feel without, 5 N per mm of bore; 0 for a bearing without preload.
    fit : {"pressed", "sliding"}
        Of its outer ring.
    balls : int, optional
        Or rollers, if counted; from the bore without.
    ball : float, optional
        Diameter of a ball or length of a roller [m].
    angle : float, optional
        Of contact [rad].
    """

    kind: BearingKind
    bore: float
    preload: float | None = None
    fit: Fit = "pressed"
    balls: int | None = None
    ball: float | None = None
    angle: float | None = None

    @property
    def known(self) -> bool:
        """Whether more than the bore is known: preload, and number and size of its balls."""
        return self.preload is not None and self.balls is not None and self.ball is not None


def _ideal(bearing: Bearing) -> tuple[float, float]:
    """Axial and radial stiffness without the seat [N/m]."""
    bore = positive("bore", bearing.bore)
    preload = BY_FEEL * bore if bearing.preload is None else bearing.preload
    if preload == 0.0:
        preload = BY_FEEL * bore / 3.0  # what gravity and belt press; its play stands beside it
    positive("bearing preload", preload, "N")
    angle = ANGLES[bearing.kind] if bearing.angle is None else bearing.angle
    if bearing.kind == "taper":
        length = bore / 3.0 if bearing.ball is None else bearing.ball
        return taper_pair(preload, 19 if bearing.balls is None else bearing.balls, length, angle)
    # Light series: outside diameter about 1.6 d + 15 mm, ball 0.3 of the ring between (catalogues, memory).
    ball = 0.18 * bore + 4.5e-3 if bearing.ball is None else bearing.ball
    fill = 0.83 if bearing.kind == "angular pair" else 0.7
    balls = int(fill * math.pi * (1.3 * bore + 7.5e-3) / ball) if bearing.balls is None else bearing.balls
    if bearing.kind == "deep groove":
        return deep_groove(preload, balls, ball)
    return angular_pair(preload, balls, ball, angle)


def _springs(bearing: Bearing, end: int) -> tuple[float, float]:
    """Axial and radial springs with the seat, at the soft (0) or stiff (1) end."""
    axial, radial = _ideal(bearing)
    share = KNOWN[end]
    seat = RADIAL_SEAT[bearing.fit][end]
    return series(share * axial, AXIAL_SEAT[end]), series(share * radial, seat)


def _checked(bearing: Bearing) -> None:
    if bearing.kind not in ANGLES:
        raise MachineError(f'unknown bearing "{bearing.kind}"', hint="known: " + ", ".join(ANGLES))
    if bearing.fit not in RADIAL_SEAT:
        raise MachineError(f'unknown fit "{bearing.fit}"', hint="known: " + ", ".join(RADIAL_SEAT))


def _least(*bearings: Bearing) -> float:
    return 1.4 if all(bearing.known for bearing in bearings) else FROM_BORE


def _play(*bearings: Bearing) -> tuple[UsualPlay, ...]:
    if all(bearing.preload != 0.0 for bearing in bearings):
        return ()
    when = "a deep groove bearing without preload"
    return tuple(UsualPlay(component=c, low=5e-6, high=20e-6, when=when) for c in ("along x", "along y"))


def _source(*bearings: Bearing) -> str:
    guess = "seats of the rings" + (
        "" if _least(*bearings) < FROM_BORE else ", number and size of balls by bore"
    )
    return cite("HARRIS", "GUAY", "CAT", "STAT", guess=guess)


def one_bearing(bearing: Bearing, *, thrust: bool, held: bool = False) -> JointStiffness:
    """One bearing on a spindle that is a member: two radial springs, and an axial one if it takes the thrust.

    Parameters
    ----------
    bearing : Bearing
    thrust : bool
        Whether it holds the spindle along its axis.
    held : bool
        Whether the drive keeps the spindle from turning, taken at this bearing.

    Returns
    -------
    JointStiffness
        z along the spindle. A bearing is free to tilt.

    Examples
    --------
    >>> known = Bearing(kind="angular pair", bore=0.02, preload=100.0, balls=11, ball=7.938e-3)
    >>> [round(k[0] / 1e6) for k in (lambda b: (b.low, b.best, b.high))(one_bearing(known, thrust=True))]  # radial
    [86, 121, 170]
    """
    _checked(bearing)
    rows = []
    for end in (0, 1):
        axial, radial = _springs(bearing, end)
        rows.append(
            (radial, radial, axial if thrust else FREE, FREE, FREE, RIGID if held else FREE),
        )
    low, best, high = between(rows[0], rows[1], least=_least(bearing))
    return JointStiffness(
        kind="spindle_bearing",
        low=low,
        best=best,
        high=high,
        source=_source(bearing),
        play=_play(bearing),
    )


def spindle_bearings(
    front: Bearing,
    rear: Bearing,
    span: float,
    *,
    overhang: float | None = None,
    diameter: float | None = None,
    thrust: Literal["front", "rear"] = "front",
    held: bool = True,
) -> JointStiffness:
    """A spindle that moves as one in two bearings, with the bending of its shaft.

    Parameters
    ----------
    front, rear : Bearing
        The front one is at the nose.
    span : float
        Between the middles of the bearings [m].
    overhang : float, optional
        From the front bearing to the nose face [m]. With `diameter`: the shaft bends between and before the bearings, and
        the joint is made so much softer in tilt that the nose gives what bearings and shaft together give.
    diameter : float, optional
        Of the spindle [m].
    thrust : {"front", "rear"}
        Bearing that holds the spindle along its axis.
    held : bool
        Whether the drive keeps the spindle from turning.

    Returns
    -------
    JointStiffness
        z along the spindle, towards the nose; `at` is the centre of stiffness, from the front bearing.

    Raises
    ------
    MachineError
        If a size is not above 0, or only one of overhang and diameter is given.

    Notes
    -----
    A spindle that is a member gets `one_bearing` at each: one joint at the centre would let its shaft bend from there.

    Examples
    --------
    >>> angular = Bearing(kind="angular pair", bore=0.02, preload=100.0, balls=11, ball=7.938e-3)
    >>> groove = Bearing(kind="deep groove", bore=0.017, preload=100.0, balls=10, ball=7.94e-3, fit="sliding")
    >>> both = spindle_bearings(angular, groove, 0.1)
    >>> round(both.best[0] / 1e6), round(both.at[2] * 1e3, 1)  # radial [N/µm], behind the front bearing [mm]
    (183, -34.2)
    """
    positive("bearing span", span)
    for bearing in (front, rear):
        _checked(bearing)
    if (overhang is None) != (diameter is None):
        raise MachineError(
            "overhang and diameter of the spindle belong together", hint="give both, or make it a member"
        )
    springs = [(_springs(front, end), _springs(rear, end)) for end in (0, 1)]
    rows = [_two(f, r, span, thrust, held) for f, r in springs]
    f_best, r_best = (math.sqrt(springs[0][i][1] * springs[1][i][1]) for i in (0, 1))
    centre = -span * r_best / (f_best + r_best)
    ends = between(rows[0], rows[1], least=_least(front, rear))
    if overhang is not None and diameter is not None:  # the shaft is known, however little the bearings are
        soft, stiff = (_with_shaft(row, diameter, overhang, span, centre) for row in (ends[0], ends[2]))
        ends = between(soft, stiff)
    return JointStiffness(
        kind="spindle_bearings",
        low=ends[0],
        best=ends[1],
        high=ends[2],
        source=_source(front, rear),
        at=(0.0, 0.0, centre),
        play=_play(front, rear),
    )


def _two(
    front: tuple[float, float],
    rear: tuple[float, float],
    span: float,
    thrust: Literal["front", "rear"],
    held: bool,
) -> Six:
    tilt = front[1] * rear[1] / (front[1] + rear[1]) * span**2
    axial = front[0] if thrust == "front" else rear[0]
    across = front[1] + rear[1]
    return across, across, axial, tilt, tilt, RIGID if held else FREE


def _with_shaft(row: Six, diameter: float, overhang: float, span: float, centre: float) -> Six:
    """The give of the bending shaft at the nose, put into the tilt about the centre of stiffness."""
    arm = overhang - centre
    bending = nose_bending(diameter, overhang, span) * arm**2
    tilt = series(row[3], bending)
    return row[0], row[1], row[2], tilt, tilt, row[5]
