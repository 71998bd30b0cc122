"""When a member is no beam: walls that ring by themselves, and what a body swings between its interfaces."""

from __future__ import annotations

import itertools
import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LinearRing, Point, Polygon

from strongback.machine.frames import member_length
from strongback.machine.layout import BodyPlace
from strongback.machine.part.values import Parts
from strongback.machine.values import Machine, Member
from strongback.section.outline import regions
from strongback.section.values import Outline

__all__ = ["BEAM", "held_frequency", "panel_frequency", "wall_frequency"]

Array = NDArray[np.float64]
BEAM = 0.35
"""Of the frequency of the widest wall: a mode above it bends walls along with the member. At 0.35 a beam is 0.4 % high,
at 0.83 2.6 %, at 1.5 16 %, at 2.4 48 %, measured on free tubes against three-dimensional bodies."""
CLAMPED, STANDING = (
    4.730040744862697,
    1.8751040687119611,
)  # roots of cos x cosh x = 1 and -1, Blevins 1979, Table 8-1


def panel_frequency(width: float, thickness: float, E: float, nu: float, density: float) -> float:
    """Lowest frequency of a long wall that is held along both edges as by hinges [Hz].

    pi/2 t/a² sqrt(E / (12 (1 - nu²) rho)): a strip across the wall (Blevins 1979, Table 11-4, sides without bound).

    Parameters
    ----------
    width : float
        Between the middles of the walls beside it [m].
    thickness, E, nu, density : float
        [m, Pa, -, kg/m³]

    Examples
    --------
    The 120 mm side of an aluminium tube 80 x 120 x 4 mm; as a body the tube rings from 613 Hz:

    >>> print(f"{panel_frequency(0.116, 0.004, 70e9, 0.33, 2700.0):.0f} Hz")
    727 Hz
    """
    return 0.5 * math.pi * thickness / width**2 * math.sqrt(E / (12.0 * (1.0 - nu**2) * density))


def wall_frequency(outline: Outline) -> float:
    """Of the widest flat wall beside an empty cell, its `panel_frequency`; infinite where there is none [Hz].

    A filled cell holds its walls. Round tubes have no flat wall, and open profiles no cell: they are not judged.

    Parameters
    ----------
    outline : Outline
    """
    solid = shapely.union_all([region.polygon for region in regions(outline)])
    outside = [LinearRing(face.exterior) for face in shapely.get_parts(solid)]
    lowest = math.inf
    for cell in outline.cells:
        if cell.fill is not None:
            continue
        ring = np.asarray(Polygon(cell.ring).simplify(1e-6).exterior.coords)
        for a, b in itertools.pairwise(ring):
            width, middle = float(np.linalg.norm(b - a)), Point(0.5 * (a + b))
            thickness = min(float(edge.distance(middle)) for edge in outside)
            wall = min(outline.walls, key=lambda w: Polygon(w.ring, w.holes).distance(middle))
            of = wall.material
            if width > 3.0 * thickness > 0.0 and of.density > 0.0:  # else no wall but a solid
                lowest = min(lowest, panel_frequency(width + thickness, thickness, of.E, of.nu, of.density))
    return lowest


def held_frequency(machine: Machine, member: Member, place: BodyPlace, parts: Parts) -> float:
    """About the lowest frequency of a body while its interfaces stand, never far above it [Hz].

    The lower of its widest wall and of its longest stretch between interfaces or beyond the last: bending and shear of a
    beam put together by Dunkerley's rule, which gives too little.

    Parameters
    ----------
    machine : Machine
    member : Member
    place : BodyPlace
    parts : Parts
    """
    known = dict(machine.sections)
    lowest = math.inf
    for span in member.spans:
        outline = known[span.section]
        if isinstance(outline, Outline):
            lowest = min(lowest, wall_frequency(outline))
    at = np.sort(place.body.points[:, 2])
    length = member_length(member)
    stretches = [(float(b - a), CLAMPED, 2.0) for a, b in itertools.pairwise(at)]
    stretches += [(float(at[0]), STANDING, 4.0), (length - float(at[-1]), STANDING, 4.0)]
    for span in member.spans:
        section = parts.sections.get(span.section)
        if section is None or section.mass_per_length <= 0.0:
            continue
        for size, root, ends in stretches:
            if size <= 1e-6:
                continue
            for EI, kGA in ((section.EIx, section.kGAy), (section.EIy, section.kGAx)):
                bending = (root / size) ** 2 * math.sqrt(EI / section.mass_per_length) / (2.0 * math.pi)
                shear = math.sqrt(kGA / section.mass_per_length) / (ends * size)
                lowest = min(lowest, 1.0 / math.hypot(1.0 / bending, 1.0 / shear))
    return lowest
