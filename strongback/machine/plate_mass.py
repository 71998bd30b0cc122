"""Mass of caps, feet and diaphragms: they weigh the same whether their member is solved as a body or as a beam."""

from __future__ import annotations

import numpy as np
import shapely

from strongback.machine.frames import member_axes, member_length
from strongback.machine.plates import EndPlate
from strongback.machine.points import PointMass
from strongback.machine.values import Machine, Member
from strongback.materials import Material
from strongback.section.values import Outline

__all__ = ["plate_masses"]


def plate_masses(machine: Machine) -> tuple[PointMass, ...]:
    """Every cap, foot and diaphragm of a machine as a mass, its inertia that of its rectangle.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    tuple of PointMass
        None for a plate whose size is not known: on a section without an outline.

    Examples
    --------
    A cap of 5 mm aluminium on a tube of 100 mm by 60 mm: 2700 kg/m³ × 0.1 m × 0.06 m × 0.005 m = 0.081 kg.

    >>> from dataclasses import replace
    >>> from strongback.machine.values import GROUND, RIGID, Member, Place, Span, Support
    >>> from strongback.materials import material
    >>> from strongback.section.shapes import rectangular_tube
    >>> metal = replace(material("aluminium"), density=2700.0)
    >>> post = Member(
    ...     name="post", start=(0, 0, 0), end=(0, 0, 0.4), x_axis=(1, 0, 0), spans=(Span(section="t", length=0.4),),
    ...     cap=EndPlate(thickness=0.005, material=metal),
    ... )
    >>> machine = Machine(
    ...     name="post", sections=(("t", rectangular_tube(metal, 0.1, 0.06, 0.004)),), members=(post,),
    ...     supports=(Support(name="foot", part="post", at=(0, 0, 0), stiffness=(RIGID,) * 6),),
    ...     tool=Place(part="post", at=(0, 0, 0.4)), work=Place(part=GROUND, at=(0, 0, 0.4)),
    ... )
    >>> [(m.name, round(m.mass, 6), round(m.at[2], 6)) for m in plate_masses(machine)]
    [('cap of post', 0.081, 0.4025)]
    """
    sections = dict(machine.sections)
    found: list[PointMass] = []
    for member in machine.members:
        found += _of_member(member, [sections[span.section] for span in member.spans])
    return tuple(found)


def _of_member(member: Member, sections: list[object]) -> list[PointMass]:
    found, length = [], member_length(member)
    ends = (("foot", member.foot, sections[0], -0.5), ("cap", member.cap, sections[-1], 0.5))
    for name, plate, section, side in ends:
        area = None if plate is None else _covered(plate, section)
        if plate is not None and area is not None:
            s = (length if side > 0.0 else 0.0) + side * plate.thickness
            found.append(_lump(f"{name} of {member.name}", member, area, plate.thickness, plate.material, s))
    tops = np.cumsum([span.length for span in member.spans])[:-1]
    for number, inner in enumerate(member.diaphragms, start=1):
        section = sections[int(np.searchsorted(tops, inner.at))]
        if isinstance(section, Outline):
            inside = shapely.union_all([shapely.Polygon(c.ring) for c in section.cells if c.fill is None])
            name = f"diaphragm {number} of {member.name}"
            found.append(_lump(name, member, inside, inner.thickness, inner.material, inner.at))
    return [lump for lump in found if lump.mass > 0.0]


def _covered(plate: EndPlate, section: object) -> shapely.Geometry | None:
    """What a plate on an end covers: its rectangle, or all within the outer edge of the walls."""
    if plate.size is not None:
        (x, y), (a, b) = plate.centre, (0.5 * plate.size[0], 0.5 * plate.size[1])
        return shapely.box(x - a, y - b, x + a, y + b)
    if not isinstance(section, Outline):
        return None
    return shapely.union_all([shapely.Polygon(w.ring) for w in section.walls])


def _lump(
    name: str, member: Member, area: shapely.Geometry, thickness: float, material: Material, s: float
) -> PointMass:
    """A plate at a height, with the inertia of the rectangle around it about the machine's axes."""
    axes, mass = member_axes(member), float(material.density * thickness * area.area)
    if not mass > 0.0:
        return PointMass(name=name, part=member.name, at=member.start, mass=0.0)
    low_x, low_y, high_x, high_y = area.bounds
    a, b = high_x - low_x, high_y - low_y
    own = mass / 12.0 * np.diag([b * b + thickness**2, a * a + thickness**2, a * a + b * b])
    turned = np.diag(axes.T @ own @ axes)
    middle = area.centroid
    at = np.asarray(member.start) + axes.T @ np.array([middle.x, middle.y, s])
    x, y, z = (float(v) for v in at)
    return PointMass(
        name=name,
        part=member.name,
        at=(x, y, z),
        mass=mass,
        inertia=(float(turned[0]), float(turned[1]), float(turned[2])),
    )
