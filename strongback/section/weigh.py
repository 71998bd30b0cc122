"""An outline against the scale: mass per length computed and weighed, and the wall that would reconcile them."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from typing import ClassVar

import shapely
from scipy.optimize import brentq
from shapely.geometry import Polygon

from strongback.answer import Telling
from strongback.errors import OutlineError
from strongback.section.check import check
from strongback.section.outline import emptied, mass_per_length, ring_from
from strongback.section.values import Outline, Ring

__all__ = ["WeighCheck", "faces_shifted", "weigh_check"]

ALLOWED = 0.02  # common practice, no source: outline and scale agree within 2 %
FARTHEST = 0.5  # of the mean wall thickness: beyond that it is not the wall that is wrong


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighCheck:
    """Mass per length of an empty profile, computed and weighed.

    Parameters
    ----------
    name : str
    computed, measured : float
        [kg/m]
    allowed : float
        Largest relative difference that passes [-].
    mean_wall : float
        Twice the area over the length of all edges [m].
    wall_change : float, optional
        By how much all walls would have to be thicker for the two to agree, each face moving by half of it [m]. None
        where no change of less than half of the mean wall does that.
    """

    ONLY: ClassVar[Telling] = (
        ("computed_kg_per_m", "computed"),
        ("measured_kg_per_m", "measured"),
        ("difference", "difference"),
        ("met", "met"),
        ("wall_change_m", "wall_change"),
    )

    name: str
    computed: float
    measured: float
    allowed: float
    mean_wall: float
    wall_change: float | None

    @property
    def difference(self) -> float:
        """Measured less computed, relative to measured [-]."""
        return 1.0 - self.computed / self.measured

    @property
    def met(self) -> bool:
        """Whether the two agree as nearly as is allowed."""
        return abs(self.difference) <= self.allowed

    @property
    def verdict(self) -> str:
        """What follows from it, in a sentence."""
        if self.met:
            return f"outline and scale agree within {self.allowed:.0%} ({self.difference:+.1%})"
        off = f"the profile weighs {abs(self.difference):.1%} {'more' if self.difference > 0 else 'less'} than its outline"
        if self.wall_change is None:
            return (
                f"{off}: no wall thickness explains that, look for a web left out, the length or the material"
            )
        word = "thicker" if self.wall_change > 0 else "thinner"
        return (
            f"{off}: walls {abs(self.wall_change) * 1e3:.2f} mm {word} than drawn "
            f"({self.mean_wall * 1e3:.2f} mm on average) would explain it, and so would a web left out or other material"
        )


def weigh_check(outline: Outline, measured: float, *, allowed: float = ALLOWED) -> WeighCheck:
    """Compare the mass per length of an outline with the scale.

    Parameters
    ----------
    outline : Outline
        Of the empty profile; fills are left out.
    measured : float
        Mass of a piece over its length [kg/m].
    allowed : float
        Largest relative difference that passes [-].

    Returns
    -------
    WeighCheck

    Raises
    ------
    OutlineError
        If the outline bounds no section or the measured mass is not above 0.

    Examples
    --------
    >>> from strongback.materials import Material
    >>> from strongback.section.shapes import rectangular_tube
    >>> metal = Material(name="metal", E=70e9, nu=0.33, density=2700.0, source="EN 1999-1-1, 3.2.5")
    >>> tube = rectangular_tube(metal, 0.08, 0.12, 0.004)
    >>> weighed = weigh_check(tube, 4.40)
    >>> round(weighed.computed, 3), round(weighed.wall_change * 1e3, 2)
    (4.147, 0.24)
    """
    if not (math.isfinite(measured) and measured > 0.0):
        raise OutlineError(f"a weighed mass of {measured:g} kg/m must be above 0")
    if not (math.isfinite(allowed) and allowed >= 0.0):
        raise OutlineError(f"an allowed difference of {allowed:g} must not be negative")
    empty = emptied(outline)
    check(empty)
    computed = mass_per_length(empty)
    face = shapely.union_all([Polygon(w.ring, w.holes) for w in empty.walls], grid_size=1e-9)
    mean_wall = 2.0 * face.area / face.length
    return WeighCheck(
        name=outline.name,
        computed=computed,
        measured=measured,
        allowed=allowed,
        mean_wall=mean_wall,
        wall_change=_wall_change(face, computed, measured, FARTHEST * mean_wall),
    )


def _wall_change(face: shapely.Geometry, computed: float, measured: float, farthest: float) -> float | None:
    """Change of all walls that makes the mass right, at the mean density of the outline."""
    density = computed / face.area

    def excess(change: float) -> float:
        return float(density * _buffered(face, change / 2.0).area) - measured

    if excess(-farthest) > 0.0 or excess(farthest) < 0.0:
        return None
    return float(brentq(excess, -farthest, farthest, xtol=1e-9))


def _buffered(face: shapely.Geometry, by: float) -> shapely.Geometry:
    return face.buffer(by, join_style="mitre", mitre_limit=3.0)


def faces_shifted(outline: Outline, shift: float) -> Outline:
    """The outline of one wall with all its faces moved outwards: walls thicker by twice the shift.

    Parameters
    ----------
    outline : Outline
        Of one wall, empty.
    shift : float
        Below 0 for thinner walls [m].

    Returns
    -------
    Outline

    Raises
    ------
    OutlineError
        If a wall or a hollow would vanish, or it has several walls or fills.
    """
    if len(outline.walls) != 1 or any(cell.fill is not None for cell in outline.cells):
        raise OutlineError(
            f'outline "{outline.name}": faces can be moved in an empty outline of one wall only'
        )
    wall = outline.walls[0]
    if not math.isfinite(shift):
        raise OutlineError(f"a shift of {shift * 1e3:g} mm is not a number")
    made = dataclasses.replace(
        outline,
        walls=(
            dataclasses.replace(
                wall,
                ring=_moved_out(outline.name, wall.ring, shift),
                holes=tuple(_moved_out(outline.name, hole, -shift) for hole in wall.holes),
            ),
        ),
        cells=tuple(
            dataclasses.replace(c, ring=_moved_out(outline.name, c.ring, -shift)) for c in outline.cells
        ),
    )
    check(made)
    return made


def _moved_out(name: str, ring: Ring, by: float) -> Ring:
    moved = _buffered(Polygon(ring), by)
    if moved.is_empty or moved.geom_type != "Polygon" or len(moved.interiors):
        raise OutlineError(
            f'outline "{name}": nothing is left of a wall or a hollow moved by {by * 1e3:g} mm'
        )
    return ring_from(moved)
