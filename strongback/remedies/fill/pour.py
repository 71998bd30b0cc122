"""Pouring: pressure on the walls, their bulge, layers, and what the fill will bury."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar, Literal

from strongback import checks
from strongback.answer import Telling
from strongback.errors import MixError
from strongback.remedies.fill._checks import above_zero, not_negative

__all__ = [
    "GRAVITY",
    "Access",
    "Bulge",
    "Buried",
    "Layers",
    "buried",
    "layers",
    "pour_pressure",
    "wall_bulge",
]

GRAVITY = 9.80665


def pour_pressure(density: float, height: float) -> float:
    """Pressure at the foot of a fresh pour, as of a liquid: rho g h [Pa].

    Examples
    --------
    >>> round(pour_pressure(2300.0, 0.5) / 1e3, 3)
    11.278
    """
    above_zero("density of the mix", density, "kg/m³")
    return density * GRAVITY * not_negative("height of the pour", height, "m")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bulge:
    """How a flat wall gives under the pour.

    Parameters
    ----------
    pressure : float
        [Pa]
    clamped, supported : float
        Deflection in the middle with the edges held against turning, and free to turn [m]; a wall between corners lies
        between the two.
    edge_stress : float
        At a clamped edge [Pa].
    """

    ONLY: ClassVar[Telling] = (
        ("clamped_m", "clamped"),
        ("supported_m", "supported"),
    )

    pressure: float
    clamped: float
    supported: float
    edge_stress: float


def wall_bulge(width: float, thickness: float, E: float, nu: float, pressure: float) -> Bulge:
    """Bulge of a long flat wall.

    Parameters
    ----------
    width : float
        Clear width between the webs or corners that hold it [m].
    thickness : float
        [m]
    E, nu : float
        Of the wall [Pa, -].
    pressure : float
        [Pa]

    Returns
    -------
    Bulge
        p b⁴/(384 D) clamped and 5 p b⁴/(384 D) supported, stress p b²/(2 t²): cylindrical bending, Timoshenko and
        Woinowsky-Krieger, Theory of Plates and Shells.

    Examples
    --------
    >>> found = wall_bulge(0.1, 3e-3, 70e9, 0.33, pour_pressure(2300.0, 0.5))
    >>> round(found.clamped * 1e6, 2), round(found.edge_stress / 1e6, 3)
    (16.62, 6.265)
    """
    above_zero("width of the wall", width, "m")
    above_zero("thickness of the wall", thickness, "m")
    D = E * thickness**3 / (12.0 * (1.0 - nu**2))
    clamped = pressure * width**4 / (384.0 * D)
    return Bulge(
        pressure=pressure,
        clamped=clamped,
        supported=5.0 * clamped,
        edge_stress=0.5 * pressure * (width / thickness) ** 2,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Layers:
    """How a fill is divided.

    Parameters
    ----------
    count : int
    height : float
        Of each [m].
    batches : int
        Mixer loads for each layer.
    minutes_per_batch : float
        Time from mixing to compacted that the pot life leaves, two thirds of it [min].
    wait : float
        From one layer to the next [s].
    total : float
        Of all layers [s].
    """

    count: int
    height: float
    batches: int
    minutes_per_batch: float
    wait: float
    total: float


def layers(height: float, highest: float, mass: float, mixer: float, pot_life: float, wait: float) -> Layers:
    """Divide a pour into layers and mixer loads.

    Parameters
    ----------
    height : float
        Of the whole fill [m].
    highest : float
        Of one layer: what the temperature rise allows [m].
    mass : float
        Of the whole fill [kg].
    mixer : float
        One load [kg].
    pot_life : float
        [s]
    wait : float
        Until the layer below has passed its peak and cooled [s].

    Returns
    -------
    Layers
    """
    for name, value, unit in (
        ("height of the fill", height, "m"),
        ("height of a layer", highest, "m"),
        ("mass of the fill", mass, "kg"),
        ("mixer load", mixer, "kg"),
        ("pot life", pot_life, "s"),
    ):
        above_zero(name, value, unit)
    count = math.ceil(height / highest * (1.0 - 1e-12))
    batches = math.ceil(mass / count / mixer * (1.0 - 1e-12))
    ready = 2.0 / 3.0 * pot_life  # the last third is too stiff to wet the grains; common practice, no source
    return Layers(
        count=count,
        height=height / count,
        batches=batches,
        minutes_per_batch=ready / 60.0,
        wait=wait,
        total=count * batches * ready + (count - 1) * wait,
    )


AccessKind = Literal["bolt", "wire", "screw", "hole", "adjuster"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Access:
    """Something in or at the cells that must stay free.

    Parameters
    ----------
    name : str
    kind : {"bolt", "wire", "screw", "hole", "adjuster"}
    cell : str
        Cell into which it reaches.
    at : float
        Distance along the member from its start [m].
    sleeve : bool
        Whether a sleeve, plug or bore keeps it free.
    """

    name: str
    kind: AccessKind
    cell: str
    at: float
    sleeve: bool = False

    def __post_init__(self) -> None:
        where = f'access "{self.name}"'
        checks.one_of(where, "kind", self.kind, checks.words_of(AccessKind), MixError)
        checks.number(where, "at", self.at, MixError)


@dataclass(frozen=True, slots=True, kw_only=True)
class Buried:
    """What the fill does to something that must stay free, and what to do before."""

    name: str
    blocked: bool
    advice: str


_ADVICE = {
    "bolt": "grease the thread and back the bolt out half a turn after gel, or fit a longer bolt through a sleeve",
    "wire": "pull the wire through a tube that stands out of the fill at both ends",
    "screw": "stand a sleeve with running clearance in the cell before the pour",
    "hole": "plug it from outside with wax or tape and mark it",
    "adjuster": "move it outside, or leave a pocket with a former of wax or foam",
}


def buried(items: Sequence[Access], cells: Sequence[str], low: float, high: float) -> tuple[Buried, ...]:
    """Check what becomes unreachable.

    Parameters
    ----------
    items : sequence of Access
    cells : sequence of str
        Cells that are filled.
    low, high : float
        Between which heights along the member [m].

    Returns
    -------
    tuple of Buried
        One for each item, in the order given.

    Raises
    ------
    MixError
        If the fill ends below where it begins.
    """
    if high <= low:
        raise MixError(f"the fill ends at {high:g} m, not above its beginning at {low:g} m")
    found = []
    for item in items:
        inside = item.cell in cells and low <= item.at <= high
        blocked = inside and not item.sleeve
        advice = (
            _ADVICE[item.kind] if blocked else ("kept free by its sleeve" if inside else "outside the fill")
        )
        found.append(Buried(name=item.name, blocked=blocked, advice=advice))
    return tuple(found)
