"""Two machined faces held by bolts: from rings under the bolts of a lug that bends to a whole face on half-spaces."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.machine.joints.contact import (
    Finish,
    Pair,
    contact_stiffness,
    finish_named,
    pair_factor,
    plane_modulus,
)
from strongback.machine.joints.estimate import JointStiffness, between, cite, positive, series
from strongback.materials import Material

__all__ = [
    "USUAL_TORQUE",
    "FlangeBolt",
    "angle_brackets",
    "corner_bolts",
    "flange_on_bolts",
    "preload_of",
    "ring_radius",
    "tool_post",
]

Array = NDArray[np.float64]
CONE = math.tan(math.radians(30.0))  # half angle of the pressure cone under a bolt head (Shigley)
HOLE = 0.55  # radius of the clearance hole over the diameter of the bolt
SOFT_SHARE, STIFF_SHARE = 0.2, 0.8  # tangential over normal (Ito 2008, p. 241: mostly comparable; guess)
IN_TOUCH = 0.5  # of a ring, at the soft end (guess)
NUT_FACTOR = 0.2  # T = 0.2 F d, dry to lightly oiled; 0.14 oiled, 0.3 dry (VDI 2230-1, memory)
USUAL_TORQUE = {
    5: 5.0,
    6: 9.0,
    8: 22.0,
    10: 44.0,
    12: 75.0,
    16: 180.0,
}  # [N m] by thread [mm]; common practice
ROUGH = 3.0  # least factor either way without a torque
DONE = {
    "scraped fine": 1.6,
    "scraped": 1.6,
}  # least factor of torqued faces that were fitted; 2 for all others


@dataclass(frozen=True, slots=True, kw_only=True)
class FlangeBolt:
    """A bolt of a flange.

    Parameters
    ----------
    at : tuple of float
        In the face, from its middle [m].
    diameter : float
        Nominal [m].
    preload : float
        [N]
    """

    at: tuple[float, float]
    diameter: float
    preload: float


def preload_of(torque: float, diameter: float) -> float:
    """Pull in a bolt from its tightening torque, F = T / (0.2 d) [N].

    Parameters
    ----------
    torque : float
        [N m]
    diameter : float
        Nominal [m].

    Raises
    ------
    MachineError
        If a value is not above 0.

    Notes
    -----
    VDI 2230 Part 1 (memory): a torque wrench scatters by 25 % either way, a feel by a factor of two; threads in
    aluminium take two thirds.

    Examples
    --------
    >>> round(preload_of(22.0, 8e-3))
    13750
    """
    return positive("torque", torque, "N m") / (NUT_FACTOR * positive("bolt diameter", diameter))


def corner_bolts(size: tuple[float, float], diameter: float, preload: float) -> tuple[FlangeBolt, ...]:
    """Four bolts 1.5 diameters from the edges of a face, where nobody has said better."""
    x, y = (s / 2.0 - 1.5 * diameter for s in size)
    if min(x, y) <= 0.0:
        raise MachineError(
            f"four bolts of {diameter * 1e3:g} mm do not fit the face", hint="say where they are"
        )
    places = ((-x, -y), (x, -y), (x, y), (-x, y))
    return tuple(FlangeBolt(at=place, diameter=diameter, preload=preload) for place in places)


def ring_radius(diameter: float, thickness: float) -> float:
    """Outer radius of the ring that a bolt presses: head 1.5 d wide, cone of 30 degrees through the flange [m]."""
    return 0.75 * diameter + thickness * CONE


def flange_on_bolts(
    size: tuple[float, float],
    bolts: Sequence[FlangeBolt],
    thickness: float,
    pair: Pair,
    *,
    wall_to_bolt: float = 0.0,
    finish: str = "milled",
    torqued: bool = True,
    bodies: tuple[bool, bool] = (False, False),
) -> JointStiffness:
    """Two machined faces held by bolts, at the middle of the face.

    Stiff end: contact over the whole face at its mean pressure, in series with an elastic half-space on either side. Soft
    end: under each bolt a ring of which half is in touch, in series with half-spaces of its size and with the strip of
    flange that bends between the wall and the bolt.

    Parameters
    ----------
    size : tuple of float
        Of the face along x and y [m].
    bolts : sequence of FlangeBolt
    thickness : float
        Of the flange under the heads [m].
    pair : tuple of Material
        Of the flange and of what it stands on.
    wall_to_bolt : float
        From the wall of the column to the middle of a bolt [m]; 0 if the bolts lie inside the walls, or if the flange is
        a part of the model and bends there.
    finish : str
        One of `FINISHES`.
    torqued : bool
        Whether a torque wrench was used; else the range is at least a factor of 3 either way.
    bodies : tuple of bool
        Which side is a body of the model, whose own give then is not counted here.

    Returns
    -------
    JointStiffness
        x, y in the face, z out of it, from the base to the flange.

    Raises
    ------
    MachineError
        If there is no bolt, one lies outside the face, or the finish is unknown.

    Notes
    -----
    Holds for closed faces and small pulls, without shim, paint, gasket or glue. Never narrower than a factor of 2 either
    way, 1.6 for scraped faces with a torque wrench, 3 without.

    Examples
    --------
    >>> from strongback.materials import material
    >>> iron = material("grey iron GJL-250")
    >>> bolts = corner_bolts((0.11, 0.09), 8e-3, 15e3)
    >>> face = flange_on_bolts((0.11, 0.09), bolts, 25e-3, (iron, iron))
    >>> [round(k[3] / 1e6, 1) for k in (face.low, face.best, face.high)]  # nod [N m/µrad]
    [1.7, 3.3, 6.7]
    """
    chosen = _checked(size, bolts, thickness, wall_to_bolt, finish)
    low = _soft(size, bolts, thickness, wall_to_bolt, chosen, pair, bodies)
    high = _stiff(size, bolts, chosen, pair, bodies)
    low = np.minimum(low, high)
    least = DONE.get(finish, 2.0) if torqued else ROUGH
    ends = between(low.tolist(), high.tolist(), least=least)
    guess = "half of the ring in touch, tangential share 0.2 to 0.8, flange strip as a cantilever"
    if finish == "milled":
        guess += ", milled as coarsely scraped"
    return JointStiffness(
        kind="flange_on_bolts",
        low=ends[0],
        best=ends[1],
        high=ends[2],
        source=cite("ITO-6-2", "ITO-225", "ITO-241", "ITO-202", "XIAO-14", "SHIG", "VDI", guess=guess),
        opens=_opens(bolts),
        notes=_notes(bolts, thickness),
    )


def angle_brackets(
    size: tuple[float, float],
    bolts: Sequence[FlangeBolt],
    thickness: float,
    leg: float,
    pair: Pair,
    *,
    finish: str = "milled",
) -> JointStiffness:
    """A part stood on another by angle brackets: their legs bend between the corner and the bolt.

    Parameters
    ----------
    size : tuple of float
        Footprint of the part with its brackets along x and y [m].
    bolts : sequence of FlangeBolt
        Through the lying legs.
    thickness : float
        Of a leg [m].
    leg : float
        From the corner of the bracket to the middle of a bolt [m].
    pair : tuple of Material
        Of the brackets and of what they stand on.
    finish : str

    Returns
    -------
    JointStiffness
        As `flange_on_bolts` with the legs as its strips, a factor of at least 3 either way: common practice, no source.
    """
    made = flange_on_bolts(
        size, bolts, thickness, pair, wall_to_bolt=positive("leg", leg), finish=finish, torqued=False
    )
    source = cite("STAT", "ITO-6-2", guess="a bracket as a flange whose strip is its leg")
    return JointStiffness(
        kind="angle_bracket",
        low=made.low,
        best=made.best,
        high=made.high,
        source=source,
        opens=made.opens,
        notes=made.notes,
    )


def tool_post(
    size: tuple[float, float], diameter: float, preload: float, thickness: float, pair: Pair
) -> JointStiffness:
    """A tool post on one bolt through its middle, of which the base is seldom flat.

    Parameters
    ----------
    size : tuple of float
        Of the base along x and y [m].
    diameter, preload : float
        Of the bolt [m], [N].
    thickness : float
        Of the base under the nut [m].
    pair : tuple of Material
        Of the post and of the slide under it.

    Returns
    -------
    JointStiffness
        x, y in the face, z out of it; a factor of at least 3 either way: common practice, no source.
    """
    bolt = FlangeBolt(at=(0.0, 0.0), diameter=diameter, preload=preload)
    made = flange_on_bolts(size, (bolt,), thickness, pair, torqued=False)
    source = cite("ITO-6-2", "STAT", guess="a post on one bolt as a flange, flat or hollow under its base")
    return JointStiffness(
        kind="tool_post", low=made.low, best=made.best, high=made.high, source=source, notes=made.notes
    )


def _checked(
    size: tuple[float, float],
    bolts: Sequence[FlangeBolt],
    thickness: float,
    wall_to_bolt: float,
    finish: str,
) -> Finish:
    positive("flange thickness", thickness)
    positive("size of the face", min(size))
    if not 0.0 <= wall_to_bolt < math.inf:
        raise MachineError(f"wall to bolt = {wall_to_bolt:g} m must not be below 0")
    if not bolts:
        raise MachineError("a flange without bolts", hint="list where the bolts are")
    for bolt in bolts:
        positive("bolt diameter", bolt.diameter)
        positive("bolt preload", bolt.preload, "N")
        if abs(bolt.at[0]) >= size[0] / 2 or abs(bolt.at[1]) >= size[1] / 2:
            x, y = (1e3 * v for v in bolt.at)
            raise MachineError(
                f"the bolt at ({x:g}, {y:g}) mm lies outside the face", hint="give places from its middle"
            )
    return finish_named(finish)


def _opens(bolts: Sequence[FlangeBolt]) -> str:
    """When the faces part: later than at the preload, by what the plates give back (see `preload`)."""
    least = min(bolt.preload for bolt in bolts)
    return f"parts under a bolt that is pulled by more than its preload of {1e-3 * least:.3g} kN"


def _notes(bolts: Sequence[FlangeBolt], thickness: float) -> tuple[str, ...]:
    found = []
    thickest = max(bolt.diameter for bolt in bolts)
    if thickness < 0.5 * thickest:
        found.append("the flange is thinner than half a bolt: it dishes under the head, which is not counted")
    return tuple(found)


def _soft(
    size: tuple[float, float],
    bolts: Sequence[FlangeBolt],
    thickness: float,
    wall_to_bolt: float,
    finish: Finish,
    pair: Pair,
    bodies: tuple[bool, bool],
) -> Array:
    """Six sums over rings half of which touch."""
    total = np.zeros(6)
    for bolt in bolts:
        x, y = bolt.at
        radius = ring_radius(bolt.diameter, thickness)
        area = _ring(size, bolt, radius)
        contact = pair_factor(pair) * contact_stiffness(bolt.preload / area, finish.C[1], finish.m)
        touch = IN_TOUCH * contact * area
        under = [2.0 * plane_modulus(m) * radius for m, own in zip(pair, bodies, strict=True) if not own]
        strip = _strip(bolts, bolt, thickness, wall_to_bolt, pair[0]) if wall_to_bolt > 0.0 else math.inf
        kn = series(touch, *under, strip)
        kt = series(SOFT_SHARE * touch, *under)
        own = radius**2 / 4.0 if wall_to_bolt == 0.0 else 0.0  # a lug lets its ring turn
        total += (
            kt,
            kt,
            kn,
            kn * (y**2 + own),
            kn * (x**2 + own),
            kt * (x**2 + y**2 + 2.0 * own),
        )
    return total


def _ring(size: tuple[float, float], bolt: FlangeBolt, radius: float) -> float:
    """Area pressed under a bolt, cut at the nearest edge of the face [m²].

    What is beyond the edge goes as the radius there, not as the segment: pressure is highest near the bolt.
    """
    edge = min(size[0] / 2.0 - abs(bolt.at[0]), size[1] / 2.0 - abs(bolt.at[1]))
    left = 0.5 * (1.0 + min(1.0, edge / radius))
    return left * math.pi * (radius**2 - (HOLE * bolt.diameter) ** 2)


def _strip(
    bolts: Sequence[FlangeBolt], bolt: FlangeBolt, thickness: float, reach: float, flange: Material
) -> float:
    """Flange from the wall to a bolt as a cantilever that bends and shears [N/m]."""
    pitch = min((math.dist(bolt.at, o.at) for o in bolts if o.at != bolt.at), default=math.inf)
    width = min(pitch, 2.0 * reach + 2.0 * bolt.diameter)
    second = width * thickness**3 / 12.0
    bends = reach**3 / (3.0 * flange.E * second)
    shears = reach / (5.0 / 6.0 * flange.G * width * thickness)
    return 1.0 / (bends + shears)


def _stiff(
    size: tuple[float, float],
    bolts: Sequence[FlangeBolt],
    finish: Finish,
    pair: Pair,
    bodies: tuple[bool, bool],
) -> Array:
    """Six sums over the whole face, in series with the half-spaces."""
    area = size[0] * size[1]
    about = area * size[1] ** 2 / 12.0, area * size[0] ** 2 / 12.0
    pressure = sum(bolt.preload for bolt in bolts) / area
    kn = pair_factor(pair) * contact_stiffness(pressure, finish.C[0], finish.m)
    kt = STIFF_SHARE * kn
    face = (kt * area, kt * area, kn * area, kn * about[0], kn * about[1], kt * sum(about))
    under = [
        _half_space(material, area, about) for material, own in zip(pair, bodies, strict=True) if not own
    ]
    return np.array([series(k, *(space[i] for space in under)) for i, k in enumerate(face)])


def _half_space(material: Material, area: float, about: tuple[float, float]) -> tuple[float, ...]:
    """Rigid disc on an elastic half-space, its radius that of the circle with the same area or second moment."""
    Es, G, nu = plane_modulus(material), material.G, material.nu
    flat = math.sqrt(area / math.pi)
    nods, rolls = ((4.0 * second / math.pi) ** 0.25 for second in about)
    turns = (2.0 * sum(about) / math.pi) ** 0.25
    across = 8.0 * G * flat / (2.0 - nu)
    return (
        across,
        across,
        2.0 * Es * flat,
        4.0 / 3.0 * Es * nods**3,
        4.0 / 3.0 * Es * rolls**3,
        16.0 / 3.0 * G * turns**3,
    )
