"""How a fill holds to the wall: the two limits, and partial hold over a length.

Bonded: one section. Sliding: the wall and every fill bend and twist together but slide freely along the member. Each
bends about its own centroid and warps on its own, so that bending, torsion and shear stiffness add; the fill carries no
axial force, and warping is that of the wall. Fills shrink, so neither limit is the truth by itself.

Between the limits a slip stiffness per area acts at the interface, and the result depends on the length: Newmark, Siess &
Viest, Tests and analysis of composite beams with incomplete interaction, 1951. For a half sine wave of bending the
partial stiffness lies at the fraction 1 / (1 + pi² F / (K L²)) between the limits; twist follows the same law with
the warping displacement as the slip (by analogy).
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from strongback.section.outline import Region, filled, regions
from strongback.section.values import Cell, Fill, Outline, SectionStiffness, stiffness_from_constants

__all__ = ["fills_of", "interaction", "parallel", "partial", "separate_regions", "with_bond"]

Array = NDArray[np.float64]


def fills_of(outline: Outline) -> tuple[Cell, ...]:
    """Cells that are filled."""
    return tuple(cell for cell in outline.cells if cell.fill is not None)


def with_bond(outline: Outline, bond: str) -> Outline:
    """The outline with every fill bonded, or every fill sliding."""
    changes: dict[str, Fill | None] = {
        c.name: dataclasses.replace(c.fill, bond=bond)  # type: ignore[arg-type]
        for c in outline.cells
        if c.fill is not None
    }
    return filled(outline, changes)


def separate_regions(outline: Outline, sliding: frozenset[str]) -> list[list[Region]]:
    """Regions that act as one section each: the wall with what is bonded to it, then every sliding fill."""
    everything = regions(outline)
    groups = [[r for r in everything if r.cell not in sliding]]
    groups += [[r for r in everything if r.cell == name] for name in sorted(sliding)]
    return [group for group in groups if group]


def parallel(wall: SectionStiffness, cores: list[SectionStiffness], name: str) -> SectionStiffness:
    """Wall and cores that share deflection and twist but slide along the member.

    Parameters
    ----------
    wall : SectionStiffness
        Gives the axial stiffness, the centroid, the shear centre and the warping.
    cores : list of SectionStiffness
    name : str

    Returns
    -------
    SectionStiffness

    Examples
    --------
    >>> bar = stiffness_from_constants(name="a", EA=1.0, EIx=2.0, EIy=2.0, GJ=3.0, kGAx=1.0, kGAy=1.0)
    >>> parallel(bar, [bar], "two").GJ
    6.0
    """
    mass = wall.mass_per_length + sum(c.mass_per_length for c in cores)
    both = [wall, *cores]
    centre = (
        np.array([sum(s.mass_per_length * np.array(s.mass_centroid) for s in both)]).ravel() / mass
        if mass
        else np.zeros(2)
    )
    return stiffness_from_constants(
        name=name,
        EA=wall.EA,
        EIx=sum(s.EIx for s in both),
        EIy=sum(s.EIy for s in both),
        EIxy=sum(s.EIxy for s in both),
        GJ=sum(s.GJ for s in both),
        EGamma=wall.EGamma,
        kGAx=sum(s.kGAx for s in both),
        kGAy=sum(s.kGAy for s in both),
        centroid=wall.centroid,
        shear_centre=wall.shear_centre,
        shear_compliance=_shear_in_parallel(wall, cores),
        mass_per_length=mass,
        mass_centroid=(float(centre[0]), float(centre[1])),
        inertia_per_length=_inertia(both, centre),
    )


def _shear_in_parallel(wall: SectionStiffness, cores: list[SectionStiffness]) -> Array:
    """Shear compliance about the wall's shear centre, the cores adding stiffness in x and y."""
    matrix = np.array(wall.matrix)[np.ix_((0, 1, 6), (0, 1, 6))]
    matrix[0, 0] += sum(c.kGAx for c in cores)
    matrix[1, 1] += sum(c.kGAy for c in cores)
    return np.asarray(np.linalg.inv(matrix))


def _inertia(both: list[SectionStiffness], centre: Array) -> tuple[float, float, float]:
    total = np.zeros(3)
    for s in both:
        x, y = np.subtract(s.mass_centroid, centre)
        total += np.array(s.inertia_per_length) + s.mass_per_length * np.array([y * y, x * x, x * y])
    return float(total[0]), float(total[1]), float(total[2])


def interaction(length: float, slip: float, axial: float) -> float:
    """Fraction of the way from sliding to bonded at a finite slip stiffness.

    Parameters
    ----------
    length : float
        Half wave of the bending: twice the height of a cantilever, the span of a supported beam [m].
    slip : float
        Slip stiffness per length of the interface [N/m²].
    axial : float
        EA1 EA2 / (EA1 + EA2) of the two parts [N].

    Returns
    -------
    float
        0 for free sliding, 1 for a full bond.

    Notes
    -----
    Newmark, Siess & Viest 1951, for a sine load: 1 / (1 + pi² axial / (slip length²)).

    Examples
    --------
    >>> interaction(1.0, 0.0, 1e8), round(interaction(1.0, 1e15, 1e8), 5)
    (0.0, 1.0)
    """
    if slip <= 0.0:
        return 0.0
    if math.isinf(slip):
        return 1.0
    return 1.0 / (1.0 + math.pi**2 * axial / (slip * length**2))


def partial(
    bonded: SectionStiffness,
    sliding: SectionStiffness,
    length: float,
    slips: Mapping[str, float],
    axial: Mapping[str, float],
) -> SectionStiffness:
    """A section whose fills hold by a finite slip stiffness, over a length.

    Parameters
    ----------
    bonded, sliding : SectionStiffness
        Its limits.
    length : float
        Half wave of the bending [m].
    slips, axial : mapping of str to float
        Slip stiffness per length [N/m²] and axial term [N] of each cell.

    Returns
    -------
    SectionStiffness
        Between the limits by the mean fraction of its cells, weighted by their axial term.
    """
    weight = sum(axial.values())
    share = sum(axial[c] * interaction(length, slips[c], axial[c]) for c in slips) / weight if weight else 1.0
    return blended(bonded, sliding, share)


def blended(bonded: SectionStiffness, sliding: SectionStiffness, share: float) -> SectionStiffness:
    """A section a fraction of the way from sliding to bonded, by its stiffness."""

    def between(get: Callable[[SectionStiffness], float]) -> float:
        return share * get(bonded) + (1.0 - share) * get(sliding)

    shear = share * _shear_matrix(bonded) + (1.0 - share) * _shear_matrix(sliding)
    return stiffness_from_constants(
        name=bonded.name,
        EA=between(lambda s: s.EA),
        EIx=between(lambda s: s.EIx),
        EIy=between(lambda s: s.EIy),
        EIxy=between(lambda s: s.EIxy),
        GJ=between(lambda s: s.GJ),
        EGamma=between(lambda s: s.EGamma),
        kGAx=between(lambda s: s.kGAx),
        kGAy=between(lambda s: s.kGAy),
        centroid=(between(lambda s: s.centroid[0]), between(lambda s: s.centroid[1])),
        shear_centre=(between(lambda s: s.shear_centre[0]), between(lambda s: s.shear_centre[1])),
        shear_compliance=np.asarray(np.linalg.inv(shear)),
        mass_per_length=bonded.mass_per_length,
        mass_centroid=bonded.mass_centroid,
        inertia_per_length=bonded.inertia_per_length,
    )


def _shear_matrix(section: SectionStiffness) -> Array:
    """Shear stiffness of (gamma_x, gamma_y, gamma_w) about the shear centre, (3, 3)."""
    return np.array(section.matrix)[np.ix_((0, 1, 6), (0, 1, 6))]


def perimeter(cell: Cell) -> float:
    """Length of the interface around a cell [m]."""
    return float(Polygon(cell.ring).length)
