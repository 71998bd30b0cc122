"""A round part held in a bore: clamp on a round column, quill, taper, collet, chuck."""

from __future__ import annotations

import math
from typing import Literal

from strongback.errors import MachineError
from strongback.machine.joints.contact import FINISHES, Pair, contact_stiffness, finish_named, plane_modulus
from strongback.machine.joints.estimate import JointStiffness, UsualPlay, between, cite, positive, series
from strongback.machine.values import Six

__all__ = ["clamp_on_round_column", "quill_in_bore", "slip_torque", "tool_in_the_nose"]

OVAL = 0.3  # of the soft end, for hub and tube that go oval (guess)
FRICTION = 0.12
STEEP, COLLET = math.atan(7.0 / 48.0), math.radians(8.0)  # half angles of 7:24 and of a collet's cone
STEEP_SIZES = {
    30: (31.75e-3, 48e-3),
    40: (44.45e-3, 65e-3),
    50: (69.85e-3, 102e-3),
}  # ISO 7388-1, from memory
SLENDER_SIZES = {  # mean diameter, length that fits, taper on the diameter; ISO 296, from memory
    1: (10.5e-3, 50e-3, 0.04988),
    2: (16.0e-3, 60e-3, 0.04995),
    3: (21.6e-3, 76e-3, 0.05020),
    4: (28.4e-3, 97e-3, 0.05194),
}
FRONT = 0.33  # of a taper touches at its soft end
CHUCKS = {  # along [N/m] and about [N m/rad], low and high: common practice, no source
    "drill chuck": ((10e6, 60e6), (5e3, 5e4)),
    "jaw chuck": ((20e6, 100e6), (2e4, 3e5)),
}


def slip_torque(bolts: int, preload: float, diameter: float, *, friction: float = FRICTION) -> float:
    """Torque about a round column at which its clamp slips, about mu pi n F D / 2 [N m].

    Parameters
    ----------
    bolts : int
        Pinch bolts.
    preload : float
        Of one [N].
    diameter : float
        Of the column [m].
    friction : float

    Examples
    --------
    >>> round(slip_torque(2, 30e3, 0.115))
    1301
    """
    return friction * math.pi * bolts * preload * diameter / 2.0


def clamp_on_round_column(
    diameter: float,
    height: float,
    bolts: int,
    preload: float,
    pair: Pair,
    *,
    finish: str = "milled",
    bodies: tuple[bool, bool] = (False, False),
) -> JointStiffness:
    """Head, arm or collar clamped on a round column by pinch bolts, at mid height of the clamp.

    Parameters
    ----------
    diameter : float
        Of the column [m].
    height : float
        Of the clamp [m].
    bolts : int
        Pinch bolts.
    preload : float
        Of one [N].
    pair : tuple of Material
        Of the hub and of the column.
    finish : str
        One of `FINISHES`.
    bodies : tuple of bool
        Whether the hub is a body of the model, whose own give then is not counted; the column's is not counted here.

    Returns
    -------
    JointStiffness
        z along the column. Spread by what nobody has measured: 0.15 to 0.9 of the bore in touch, and hub and tube that go
        oval; a factor of 3 or more either way.

    Raises
    ------
    MachineError
        If a size is not above 0.
    """
    positive("column diameter", diameter)
    positive("clamp height", height)
    positive("bolt preload", preload, "N")
    if bolts < 1:
        raise MachineError("a clamp without pinch bolts", hint="say how many there are")
    chosen = finish_named(finish)
    force = bolts * preload / (diameter * height)
    # On steel or iron the tables hold as they are: a thin hub does not press evenly enough for more.
    low = _sleeve(diameter, height, contact_stiffness(force, chosen.C[1], chosen.m) * 0.15, 0.2, height)
    high = _sleeve(diameter, height, contact_stiffness(2.0 * force, chosen.C[0], chosen.m) * 0.9, 0.8, height)
    if not bodies[0]:
        low, high = (_on_hub(six, diameter, height, pair) for six in (low, high))
    ends = between([OVAL * k for k in low], high, least=3.0)
    return JointStiffness(
        kind="clamp_on_round_column",
        low=ends[0],
        best=ends[1],
        high=ends[2],
        source=cite(
            "ITO-6-2", "STAT", guess="0.15 to 0.9 of the bore in touch, 0.3 for hub and tube that go oval"
        ),
        play=(UsualPlay(component="about z", low=0.0, high=200e-6, when="unclamped: bore minus column"),),
        opens=f"slips about the column at about {slip_torque(bolts, preload, diameter):.3g} N m",
    )


def quill_in_bore(
    diameter: float, length: float, pair: Pair, *, pressure: float | None = None, clamped: bool = True
) -> JointStiffness:
    """A quill in its bore, at the middle of the clamp; the free length below is a member of its own.

    Parameters
    ----------
    diameter, length : float
        Of the quill and of the clamp or guided length [m].
    pair : tuple of Material
        Of the head and of the quill.
    pressure : float, optional
        In the bore [Pa]; unknown without: 0.5 to 3 MPa.
    clamped : bool
        Loose, it is as stiff where it touches, and has play.

    Returns
    -------
    JointStiffness
        z along the quill. As the clamp on a round column, with ground faces, by analogy: common practice, no source.
    """
    positive("quill diameter", diameter)
    positive("guided length", length)
    soft, stiff = (0.5e6, 3e6) if pressure is None else (positive("pressure", pressure, "Pa"),) * 2
    if not clamped:
        soft, stiff = 0.1e6, 0.5e6  # what a side load presses; the play stands beside it
    ground = FINISHES["ground"]
    low = _sleeve(diameter, length, contact_stiffness(soft, ground.C[1], ground.m) * 0.15, 0.1, length)
    high = _sleeve(diameter, length, contact_stiffness(stiff, ground.C[0], ground.m) * 0.6, 0.8, length)
    low, high = (_on_hub(six, diameter, length, pair) for six in (low, high))
    ends = between([OVAL * k for k in low], high, least=3.0)
    loose = tuple(
        UsualPlay(component=c, low=10e-6, high=40e-6, when="loose in its bore")
        for c in ("along x", "along y")
    )
    return JointStiffness(
        kind="quill_in_bore",
        low=ends[0],
        best=ends[1],
        high=ends[2],
        source=cite("STAT", guess="all of it, by analogy with the clamp on a round column"),
        play=() if clamped else loose,
        opens="" if clamped else "slides along the quill: what holds it there is a rack, lever or screw",
    )


def tool_in_the_nose(
    holder: Literal["7:24", "slender taper", "collet", "drill chuck", "jaw chuck"],
    *,
    size: int = 30,
    pull: float = 2500.0,
    shank: float = 8e-3,
    held: float | None = None,
) -> JointStiffness:
    """What holds the tool: a taper drawn in, a collet, a chuck.

    Parameters
    ----------
    holder : str
    size : int
        Of a taper: 30, 40, 50 of the steep 7:24, 1 to 4 of the slender one.
    pull : float
        Of the drawbar or of the nut on the cone [N].
    shank : float
        Diameter in a collet [m].
    held : float, optional
        Length of the shank in the collet [m]; 2.5 diameters without.

    Returns
    -------
    JointStiffness
        z along the spindle; a taper at the middle of its touch. Where a taper touches is not known: a factor of 2.3 along
        to 5 in tilt either way.

    Raises
    ------
    MachineError
        If the size or kind is unknown.
    """
    positive("pull", pull, "N")
    if holder in CHUCKS:
        return _chuck(holder)
    if holder == "collet":
        length = 2.5 * positive("shank", shank) if held is None else positive("length held", held)
        return _collet(shank, length, pull)
    steep = holder == "7:24"
    sizes = sorted(STEEP_SIZES if steep else SLENDER_SIZES)
    if size not in sizes:
        known = ", ".join(str(s) for s in sizes)
        raise MachineError(f"no {holder} of size {size}", hint=f"known: {known}")
    if steep:
        large, length = STEEP_SIZES[size]
        return _taper(large - math.tan(STEEP) * length, length, STEEP, pull)
    mean, length, rate = SLENDER_SIZES[size]
    return _taper(mean, length, math.atan(rate / 2.0), pull)


def _taper(mean: float, length: float, angle: float, pull: float) -> JointStiffness:
    ground = FINISHES["ground"]
    pressure = _cone_pressure(mean, length, angle, pull)
    low = _sleeve(
        mean, length * FRONT, contact_stiffness(pressure, ground.C[1], ground.m), 0.2, length * FRONT, angle
    )
    high = _sleeve(mean, length, contact_stiffness(pressure, ground.C[0], ground.m), 0.8, length, angle)
    ends = between(low, high, least=2.0)
    guess = "soft end: the front third touches; friction 0.12"
    return JointStiffness(
        kind="tool_in_the_nose",
        low=ends[0],
        best=ends[1],
        high=ends[2],
        source=cite("ITO-6-2", "STAT", guess=guess),
        opens=f"draws out above {pull:.3g} N, and above that pull over its length in tilt",
    )


def _collet(shank: float, length: float, pull: float) -> JointStiffness:
    ground = FINISHES["ground"]
    pressure = _cone_pressure(shank, length, COLLET, pull)
    # Slots take a tenth of the circumference; at the soft end three tenths of the rest touch, over half the length.
    soft = contact_stiffness(pressure, ground.C[1], ground.m) * 0.9 * 0.3
    stiff = contact_stiffness(pressure, ground.C[0], ground.m) * 0.9
    low = _sleeve(shank, length, soft, 0.2, 0.5 * length, COLLET)
    high = _sleeve(shank, length, stiff, 0.8, 0.9 * length, COLLET)
    ends = between([OVAL * k for k in low], high, least=2.0)
    return JointStiffness(
        kind="tool_in_the_nose",
        low=ends[0],
        best=ends[1],
        high=ends[2],
        source=cite(
            "ITO-6-2", "STAT", guess="share of the shank in touch, 0.3 for the leaves, friction 0.12"
        ),
        opens="the shank turns and creeps out when the nut is not tight",
    )


def _cone_pressure(diameter: float, length: float, angle: float, pull: float) -> float:
    return pull / (math.pi * diameter * length * (math.sin(angle) + FRICTION * math.cos(angle)))


def _chuck(holder: str) -> JointStiffness:
    along, about = CHUCKS[holder]
    low, high = ((along[i],) * 3 + (about[i],) * 3 for i in (0, 1))
    ends = between(low, high)
    return JointStiffness(
        kind="tool_in_the_nose",
        low=ends[0],
        best=ends[1],
        high=ends[2],
        source=cite(guess=f"a {holder}, from experience"),
    )


def _sleeve(
    diameter: float, length: float, normal: float, share: float, gripped: float, angle: float = 0.0
) -> Six:
    """Contact of a given stiffness per area all round a cylinder, or a slender cone.

    The length that touches counts in the sums, the length that is gripped is the lever against tilt.
    """
    area = math.pi * diameter * length
    kt = share * normal
    across, along = 0.5 * (normal + kt) * area, (kt + normal * math.sin(angle) ** 2) * area
    tilt = across * gripped**2 / 12.0 + kt * area * diameter**2 / 8.0
    return across, across, along, tilt, tilt, kt * area * diameter**2 / 4.0


def _on_hub(six: Six, diameter: float, length: float, pair: Pair) -> Six:
    """In series with the hub as a half-space of the size of the bore."""
    Es, r = plane_modulus(pair[0]), length / 2.0
    straight, tilts = 2.0 * Es * r, 4.0 / 3.0 * Es * r**3
    turns = 16.0 / 3.0 * 0.4 * Es * (diameter / 2.0) ** 3  # G near 0.4 E*
    hub = (straight, straight, straight, tilts, tilts, turns)
    a, b, c, d, e, f = (series(k, h) for k, h in zip(six, hub, strict=True))
    return a, b, c, d, e, f
