"""What a machine stands on: levelling screws, rubber feet, a bench."""

from __future__ import annotations

import math
from typing import Literal

from strongback.errors import MachineError
from strongback.machine.joints.contact import FINISHES, contact_stiffness
from strongback.machine.joints.estimate import (
    STEEL,
    JointStiffness,
    UsualPlay,
    between,
    cite,
    held_to,
    positive,
    series,
)
from strongback.machine.values import FREE

__all__ = ["FLOORS", "beam_in_the_middle", "bench", "levelling_foot_steel", "rubber_foot"]

Floor = Literal["steel", "concrete", "wood"]
FLOORS = ("steel", "concrete", "wood")
CONCRETE = (1.0 / 20.0, 1.0 / 10.0)  # of the contact on steel (Kono et al. 2013: below a tenth; guess)
ACROSS_GRAIN = (300e6, 900e6)  # modulus of wood across the grain [Pa] (EN 338, memory)
ALONG_GRAIN = (8e9, 14e9)
BOARDS = (0.3, 1.0)  # what joints between boards leave
SIDE_SHARE = (0.1, 0.8)  # tangential over normal under a foot
SWAY = {"nailed": (0.02e6, 0.3e6), "welded": (0.2e6, 2e6)}  # of the frame [N/m]; common practice, no source


def levelling_foot_steel(
    core: float, free: float, end: float, weight: float, *, stands_on: Floor = "steel"
) -> JointStiffness:
    """A steel levelling screw that stands, not bolted.

    Parameters
    ----------
    core : float
        Of the thread [m].
    free : float
        Length below the nut [m].
    end : float
        Diameter of its flat end or pad [m].
    weight : float
        On it [N].
    stands_on : {"steel", "concrete", "wood"}

    Returns
    -------
    JointStiffness
        z up; free to tilt.

    Raises
    ------
    MachineError
        If a size is not above 0 or the floor is unknown.

    Examples
    --------
    >>> foot = levelling_foot_steel(8.5e-3, 30e-3, 10e-3, 100.0)
    >>> [round(k[2] / 1e6, 1) for k in (foot.low, foot.best, foot.high)]  # N/µm
    [20.8, 31.1, 46.7]
    """
    for what, value in (("thread", core), ("free length", free), ("end", end)):
        positive(what, value)
    positive("weight on the foot", weight, "N")
    if stands_on not in FLOORS:
        raise MachineError(f'unknown floor "{stands_on}"', hint="known: " + ", ".join(FLOORS))
    rod = STEEL * math.pi * core**2 / 4.0 / (free + end / 2.0)
    bends = STEEL * math.pi * core**4 / 64.0 / free**3
    rows = []
    for i, clamped in enumerate((3.0, 12.0)):
        under = _under(end, weight, stands_on, i)
        side = series(clamped * bends, SIDE_SHARE[i] * under)
        rows.append((side, side, series(rod, under), FREE, FREE, FREE))
    low, best, high = between(rows[0], rows[1], least=1.5)
    rocks = UsualPlay(component="along z", low=0.0, high=100e-6, when="the fourth of four feet rocks")
    return JointStiffness(
        kind="levelling_foot_steel",
        low=low,
        best=best,
        high=high,
        source=cite(
            "ITO-6-2", "KONO-12", "KONO-13", "EN338", "STAT", guess="concrete and wood under the end"
        ),
        play=(rocks,),
        opens=f"lifts at its share of the weight, {weight:.3g} N",
    )


def _under(end: float, weight: float, floor: str, i: int) -> float:
    """Contact under the end at the soft (0) or stiff (1) end [N/m]."""
    if floor == "wood":
        return 2.0 * ACROSS_GRAIN[i] * end / 2.0
    milled, area = FINISHES["milled"], math.pi * end**2 / 4.0
    steel = contact_stiffness(weight / area, milled.C[1 - i], milled.m) * area
    return steel * (CONCRETE[i] if floor == "concrete" else 1.0)


def rubber_foot(
    diameter: float, height: float, *, modulus: tuple[float, float] = (1.5e6, 6e6)
) -> JointStiffness:
    """A bonded rubber foot.

    Parameters
    ----------
    diameter, height : float
        Of the rubber [m].
    modulus : tuple of float
        Lowest and highest Young's modulus [Pa]; 40 to 70 Shore A without (memory).

    Returns
    -------
    JointStiffness
        z up; free to tilt. Up E (1 + 2 S²) A / h with the shape factor S = d / 4h, sideways E A / 3h, under 15 % squeeze.

    Examples
    --------
    >>> foot = rubber_foot(0.03, 0.015)
    >>> [round(k[2] / 1e3) for k in (foot.low, foot.best, foot.high)]  # N/mm
    [106, 212, 424]
    """
    area = math.pi * positive("diameter", diameter) ** 2 / 4.0
    shape = diameter / (4.0 * positive("height", height))
    held_to(modulus, "modulus of the rubber")
    rows = []
    for E in modulus:
        up, side = E * (1.0 + 2.0 * shape**2) * area / height, E / 3.0 * area / height
        rows.append((side, side, up, FREE, FREE, FREE))
    low, best, high = between(rows[0], rows[1], least=1.3)
    return JointStiffness(
        kind="rubber_foot",
        low=low,
        best=best,
        high=high,
        source=cite("GENT", guess="modulus from hardness"),
        notes=("a foot that is not bonded slips at its faces: down to 1 / (1 + 2 S²) of it upright",),
    )


def beam_in_the_middle(E: float, second: float, span: float) -> float:
    """Stiffness of a simple beam loaded in the middle, 48 E I / L³ [N/m].

    Examples
    --------
    >>> round(beam_in_the_middle(12e9, 0.6 * 0.04**3 / 12.0, 1.2) / 1e6, 2)  # a beech top, N/µm
    1.07
    """
    return (
        48.0 * positive("E", E, "Pa") * positive("second moment", second, "m^4") / positive("span", span) ** 3
    )


def bench(
    thickness: float,
    depth: float,
    span: float,
    *,
    material: Literal["wood", "steel"] = "wood",
    frame: Literal["nailed", "welded"] = "nailed",
    second: float | None = None,
) -> JointStiffness:
    """The bench under the machine, which stands in the middle between the legs.

    Parameters
    ----------
    thickness, depth : float
        Of the top [m].
    span : float
        Between the legs [m].
    material : {"wood", "steel"}
    frame : {"nailed", "welded"}
        How its corners are made; bolted counts as nailed.
    second : float, optional
        Second moment of the top with its bars [m⁴]; of the plain top without.

    Returns
    -------
    JointStiffness
        z up, the same sideways for both directions; free to tilt. It moves machine and table together and hardly shows
        between tool and table.
    """
    positive("thickness of the top", thickness)
    positive("depth of the top", depth)
    I = depth * thickness**3 / 12.0 if second is None else second
    E = ALONG_GRAIN if material == "wood" else (STEEL, STEEL)
    boards = BOARDS if material == "wood" and second is None else (1.0, 1.0)
    up = [boards[i] * beam_in_the_middle(E[i], I, span) for i in (0, 1)]
    rows = [(SWAY[frame][i], SWAY[frame][i], up[i], FREE, FREE, FREE) for i in (0, 1)]
    low, best, high = between(rows[0], rows[1], least=2.0)
    return JointStiffness(
        kind="bench",
        low=low,
        best=best,
        high=high,
        source=cite("STAT", "EN338", guess="sway of a frame"),
    )
