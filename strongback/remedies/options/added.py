"""Mass of the plates that an option puts on a member: sections do not know them."""

from __future__ import annotations

import math

from shapely.geometry import MultiPolygon, Polygon
from shapely.ops import unary_union

from strongback.machine.plates import Diaphragm, EndPlate
from strongback.machine.values import Machine, Member
from strongback.section.values import Outline

__all__ = ["added_plates"]


def added_plates(before: Machine, after: Machine) -> float:
    """Mass of the caps, feet and diaphragms of a machine that another lacks [kg].

    Parameters
    ----------
    before, after : Machine
    """
    return sum(_plates(after, m) for m in after.members) - sum(_plates(before, m) for m in before.members)


def _plates(machine: Machine, member: Member) -> float:
    plates: list[EndPlate | Diaphragm] = [p for p in (member.cap, member.foot) if p is not None]
    plates += member.diaphragms
    if not plates:
        return 0.0
    section = dict(machine.sections)[member.spans[0].section]
    if not isinstance(section, Outline):
        return 0.0
    walls = unary_union([Polygon(w.ring) for w in section.walls])
    outer = sum(
        Polygon(p.exterior).area for p in (walls.geoms if isinstance(walls, MultiPolygon) else [walls])
    )
    inner = outer - unary_union([Polygon(w.ring, w.holes) for w in section.walls]).area
    found = 0.0
    for plate in plates:
        area = inner if isinstance(plate, Diaphragm) else outer
        if isinstance(plate, EndPlate) and plate.size is not None:
            area = math.prod(plate.size)
        found += area * plate.thickness * plate.material.density
    return found
