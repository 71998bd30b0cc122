"""Cutting force from specific cutting force and chip thickness (Kienzle, VDI-Z 94 (1952) 299).

    F_c = k_c1.1 b h^(1 - m_c),   h in millimetres

with k_c1.1 the specific cutting force at a chip of 1 mm x 1 mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from strongback import checks
from strongback.errors import InputError, MaterialError

__all__ = [
    "KIENZLE",
    "Chip",
    "WorkMaterial",
    "drilling_force",
    "milling_force",
    "turning_force",
    "work_material",
]

MM = 1e3
POINT_ANGLE = math.radians(118.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkMaterial:
    """What is cut.

    Parameters
    ----------
    name : str
    specific_force : float
        k_c1.1 [Pa].
    exponent : float
        m_c [-].
    source : str
    """

    name: str
    specific_force: float
    exponent: float
    source: str


_TABLE = (
    "Kienzle/Victor values as reprinted in German shop handbooks, from memory; 3 % within one table, 20 % between tables "
    "and with rake, wear and speed"
)
_GUESS = "order of shop handbooks, from memory, unconfirmed"
KIENZLE = (
    WorkMaterial(name="steel St50", specific_force=1990e6, exponent=0.26, source=_TABLE),
    WorkMaterial(name="steel St60", specific_force=2110e6, exponent=0.17, source=_TABLE),
    WorkMaterial(name="steel 42CrMo4", specific_force=2500e6, exponent=0.26, source=_TABLE),
    WorkMaterial(name="steel 16MnCr5", specific_force=2100e6, exponent=0.26, source=_TABLE),
    WorkMaterial(name="grey iron GG25", specific_force=1160e6, exponent=0.26, source=_TABLE),
    WorkMaterial(name="aluminium AlMgSi1", specific_force=780e6, exponent=0.23, source=_GUESS),
)
"""Materials by name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chip:
    """A chip and the force that it takes.

    Parameters
    ----------
    width, thickness : float
        [m]; of milling the mean thickness over the cut.
    force : float
        Along the motion of the edge, of one edge, at that thickness [N].
    """

    width: float
    thickness: float
    force: float

    def power(self, speed: float, edges: float = 1.0) -> float:
        """[W] at a cutting speed [m/s] with so many edges in the cut."""
        return self.force * speed * edges


def work_material(name: str) -> WorkMaterial:
    """A material of the table.

    Raises
    ------
    MaterialError
        If it is not there.
    """
    for material in KIENZLE:
        if material.name == name:
            return material
    known = [material.name for material in KIENZLE]
    raise MaterialError(f'no work material is called "{name}"', hint=checks.nearest(name, known, "materials"))


def _chip(material: WorkMaterial, width: float, thickness: float) -> Chip:
    specific = material.specific_force * (thickness * MM) ** -material.exponent
    return Chip(width=width, thickness=thickness, force=specific * width * thickness)


def turning_force(
    material: WorkMaterial, *, depth: float, feed: float, lead_angle: float = math.pi / 2
) -> Chip:
    """Force of a turning tool.

    Parameters
    ----------
    material : WorkMaterial
    depth, feed : float
        Depth of cut, and feed a turn [m].
    lead_angle : float
        Between edge and feed, kappa [rad].

    Examples
    --------
    >>> chip = turning_force(work_material("grey iron GG25"), depth=2e-3, feed=0.2e-3, lead_angle=math.radians(60))
    >>> print(f"{chip.force:.1f} N")
    732.0 N
    """
    for name, value in (("depth", depth), ("feed", feed), ("lead_angle", lead_angle)):
        checks.number("turning", name, value, InputError, above=0.0)
    return _chip(material, depth / math.sin(lead_angle), feed * math.sin(lead_angle))


def milling_force(
    material: WorkMaterial, *, diameter: float, width: float, depth: float, feed: float
) -> Chip:
    """Mean force of one tooth of a cylindrical cutter over its cut.

    Parameters
    ----------
    material : WorkMaterial
    diameter : float
        Of the cutter [m].
    width : float
        Radial width of the cut, a_e [m].
    depth : float
        Axial depth, a_p [m].
    feed : float
        A tooth [m].

    Examples
    --------
    >>> chip = milling_force(
    ...     work_material("aluminium AlMgSi1"), diameter=20e-3, width=8e-3, depth=3e-3, feed=0.08e-3
    ... )
    >>> print(f"{1e6 * chip.thickness:.1f} µm, {chip.force:.0f} N")
    46.7 µm, 221 N
    """
    for name, value in (("diameter", diameter), ("width", width), ("depth", depth), ("feed", feed)):
        checks.number("milling", name, value, InputError, above=0.0)
    if width > diameter:
        raise InputError("milling: width is above the diameter of the cutter", hint="at most a slot")
    angle = math.acos(1.0 - 2.0 * width / diameter)
    return _chip(material, depth, 2.0 * feed * width / (diameter * angle))


def drilling_force(
    material: WorkMaterial, *, diameter: float, feed: float, point: float = POINT_ANGLE
) -> Chip:
    """Force of one of the two edges of a drill; it acts at a quarter of the diameter.

    The torque is force times half the diameter. The thrust is of the order of the force of both edges, half of it from the
    chisel edge (common practice, no source).

    Parameters
    ----------
    material : WorkMaterial
    diameter, feed : float
        Feed a turn [m].
    point : float
        Angle of the point [rad].
    """
    for name, value in (("diameter", diameter), ("feed", feed), ("point", point)):
        checks.number("drilling", name, value, InputError, above=0.0)
    half = 0.5 * point
    return _chip(material, 0.5 * diameter / math.sin(half), 0.5 * feed * math.sin(half))
