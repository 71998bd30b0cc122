"""How a part would grow if nothing held it: the field of free expansion under a temperature that is linear over it.

A body whose temperature is T0 + g·p takes, free of stress, the displacement

    u = a (T0 p + (g·p) p - g |p|²/2),      turned by  a g × p        (a: coefficient of expansion)

(Boley & Weiner, Theory of Thermal Stresses, 1960, section 9.4: the only temperatures without stress are linear ones; the
field by integrating the strains a (T0 + g·p)). Sections of several materials have self-stresses; their resultants vanish:

    section matrix · strain = integral of E a (T0 + g·p) over the section.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from strongback.errors import MachineError
from strongback.machine.frames import member_axes
from strongback.machine.loads import Warming
from strongback.machine.loop import Loop
from strongback.machine.values import Block, Member, Vector
from strongback.section.outline import Region, regions
from strongback.section.values import Outline, SectionStiffness

__all__ = ["Growth", "growth"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Growth:
    """Free expansion of one part.

    Parameters
    ----------
    part : str
    start : Vector
        Point that stays where it is [m].
    axes : ndarray, shape (3, 3)
        x, y, s of a member, the machine's own of a block; one a row.
    strains : tuple of (float, ndarray of shape (4,))
        Where each span ends [m], and axial strain, bending about x and y [1/m], expansion across.
    gradient : ndarray, shape (2,)
        How the expansion across grows along x and y [1/m].
    """

    part: str
    start: Vector
    axes: Array
    strains: tuple[tuple[float, Array], ...]
    gradient: Array

    def at(self, point: Vector) -> Array:
        """Displacement and rotation of a point in the axes of the machine, (6,)."""
        x, y, s = self.axes @ np.subtract(point, self.start)
        section, turn, across = np.zeros(3), np.zeros(3), 0.0
        low = 0.0
        for high, (eps, kx, ky, a) in self.strains:
            h = min(max(s, 0.0), high) - low
            across = a
            # Along a length of even strain the sections follow a parabola.
            section = (
                section + h * np.array([turn[1], -turn[0], eps]) + 0.5 * h * h * np.array([ky, -kx, 0.0])
            )
            turn = turn + h * np.array([kx, ky, 0.0])
            low += h
            if s <= high:
                break
        r, g = np.array([x, y]), self.gradient
        flat = (across + g @ r) * r - 0.5 * g * (r @ r)
        beyond = s - low  # off the ends, as a rigid arm
        u = section + np.cross(turn, [x, y, beyond]) + np.array([*flat, 0.0])
        return np.concatenate([u @ self.axes, turn @ self.axes])


def growth(loop: Loop, warming: Warming) -> Growth:
    """Free expansion of a part.

    Parameters
    ----------
    loop : Loop
    warming : Warming

    Returns
    -------
    Growth

    Raises
    ------
    MachineError
        If there is no such part, or nothing says how much it expands.
    """
    machine = loop.machine
    for block in machine.blocks:
        if block.name == warming.part:
            return _of_block(block, warming)
    for member in machine.members:
        if member.name == warming.part:
            return _of_member(loop, member, warming)
    raise MachineError(f'warming: no part is called "{warming.part}"')


def _of_block(block: Block, warming: Warming) -> Growth:
    if any(warming.across):
        raise MachineError(
            f'warming of "{block.name}": a block is warm all over',
            hint="leave `across` out, or make it a member",
        )
    if warming.expansion is None:
        raise MachineError(
            f'warming of "{block.name}": a block has no material', hint="give `expansion` [1/K]"
        )
    growing = warming.expansion * warming.rise
    # As a member of no length along Z that grows the same way along and across.
    strain = np.array([growing, 0.0, 0.0, growing])
    return _Even(
        part=block.name, start=block.at, axes=np.eye(3), strains=((0.0, strain),), gradient=np.zeros(2)
    )


class _Even(Growth):
    """A block: it grows from its reference point all ways."""

    __slots__ = ()

    def at(self, point: Vector) -> Array:
        """Displacement and rotation of a point, (6,)."""
        return np.concatenate([self.strains[0][1][0] * np.subtract(point, self.start), np.zeros(3)])


def _of_member(loop: Loop, member: Member, warming: Warming) -> Growth:
    sections = dict(loop.machine.sections)
    strains, at = [], 0.0
    gradient = np.zeros(2)
    for span in member.spans:
        at += span.length
        section = sections[span.section]
        eps, kx, ky, a = _strain(section, loop.parts.sections.get(span.section), warming)
        strains.append((at, np.array([eps, kx, ky, a * warming.rise])))
        gradient = a * np.array(warming.across)
    return Growth(
        part=member.name,
        start=member.start,
        axes=member_axes(member),
        strains=tuple(strains),
        gradient=gradient,
    )


def _strain(
    section: Outline | SectionStiffness, solved: SectionStiffness | None, warming: Warming
) -> tuple[float, float, float, float]:
    """Axial strain, bending about x and y [1/m], and the coefficient by which the section grows across [1/K]."""
    gx, gy = warming.across
    if warming.expansion is not None:
        a = warming.expansion
        return a * warming.rise, a * gy, -a * gx, a
    if isinstance(section, SectionStiffness):
        raise MachineError(
            f'warming of "{warming.part}": section "{section.name}" is given by its stiffness',
            hint="give `expansion` [1/K]",
        )
    pieces = regions(section)
    walls = {piece.material.expansion for piece in pieces if not piece.cell}
    if min(piece.material.expansion for piece in pieces) <= 0.0:
        raise MachineError(
            f'warming of "{warming.part}": not every material of "{section.name}" has its expansion',
            hint="give `expansion` [1/K]",
        )
    every = {piece.material.expansion for piece in pieces}
    if len(every) == 1:
        a = every.pop()
        return a * warming.rise, a * gy, -a * gx, a
    bonds = {cell.fill.bond for cell in section.cells if cell.fill is not None}
    if solved is None or bonds - {"bonded"}:
        raise MachineError(
            f'warming of "{warming.part}": a fill that can slide shares the expansion by an amount that is not known here',
            hint="give `expansion` [1/K] of the whole",
        )
    force = sum((_pushed(piece, warming) for piece in pieces), np.zeros(3))
    forces = np.zeros(8)
    forces[2:5] = force
    strain = np.linalg.solve(np.asarray(solved.matrix), forces)
    return float(strain[2]), float(strain[3]), float(strain[4]), float(np.mean(list(walls)))


def _pushed(piece: Region, warming: Warming) -> Array:
    """Force, and couples about x and y, that would hold a region at its length: integrals of E a T (1, y, -x)."""
    area, sx, sy, sxx, syy, sxy = _moments(piece.polygon)
    T, (gx, gy) = warming.rise, warming.across
    stiff = piece.material.E * piece.material.expansion
    return stiff * np.array(
        [T * area + gx * sx + gy * sy, T * sy + gx * sxy + gy * syy, -(T * sx + gx * sxx + gy * sxy)]
    )


def _moments(polygon: Polygon) -> Array:
    """Integrals of 1, x, y, x², y², xy over a polygon, by Green's theorem on its edges."""
    turned = orient(polygon)
    total = np.zeros(6)
    for ring in (turned.exterior, *turned.interiors):
        p = np.asarray(ring.coords)[:, :2]
        (x, y), (X, Y) = p[:-1].T, p[1:].T
        c = x * Y - X * y
        total += [
            0.5 * c.sum(),
            (c * (x + X)).sum() / 6.0,
            (c * (y + Y)).sum() / 6.0,
            (c * (x * x + x * X + X * X)).sum() / 12.0,
            (c * (y * y + y * Y + Y * Y)).sum() / 12.0,
            (c * (x * Y + 2.0 * x * y + 2.0 * X * Y + X * y)).sum() / 24.0,
        ]
    return total
