"""How a fill holds to the wall: the two limits, and partial hold over a length.

Bonded: one section. Sliding: the wall and every fill bend and twist together but slide freely along the member. Each
bends about its own centroid and warps on its own, so that bending and torsion stiffness add; the fill carries no axial
force. Fills shrink, so neither limit is the truth by itself.

Between the limits a slip stiffness per area acts at the interface.

Bending. The slip adds up along the member, so the result depends on a length: Newmark, Siess & Viest, Tests and analysis
of composite beams with incomplete interaction, Proc. SESA 9 (1951) 75. Where the bending varies as a half sine wave of
length L the fill acts with the fraction 1 / (1 + pi² EA / (K L²)) of its axial stiffness, K being the slip stiffness per
length. With that fraction, centroid and bending stiffness follow as for one section.

Torsion. In uniform twist the slip is the same at every station, so that no length enters: the warping problem with a
spring at the interface (`slip`).
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from strongback.section.outline import filled
from strongback.section.values import Cell, Fill, Outline, SectionStiffness, stiffness_from_constants

__all__ = [
    "between",
    "fills_of",
    "interaction",
    "parallel",
    "perimeter",
    "with_bond",
]

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


def perimeter(cell: Cell) -> float:
    """Length of the interface around a cell [m]."""
    return float(Polygon(cell.ring).length)


def interaction(length: float, slip: float, axial: float) -> float:
    """Fraction of its axial stiffness with which a part takes part in bending.

    Parameters
    ----------
    length : float
        Half wave of the bending: twice the height of a cantilever, the span of a supported beam [m].
    slip : float
        Slip stiffness per length of the interface [N/m²].
    axial : float
        EA of the part [N].

    Returns
    -------
    float
        0 for free sliding, 1 for a full bond.

    Notes
    -----
    Newmark, Siess & Viest 1951, for bending that varies as a half sine wave: 1 / (1 + pi² EA / (K L²)).

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


def parallel(
    pieces: list[SectionStiffness], name: str, shares: tuple[float, ...] | None = None
) -> SectionStiffness:
    """Pieces that share deflection and twist, and take part in axial strain by a share each.

    Parameters
    ----------
    pieces : list of SectionStiffness
        The wall first.
    name : str
    shares : tuple of float, optional
        Fraction of its axial stiffness with which each piece takes part; default 1 for the wall and 0 for the others
        (free sliding).

    Returns
    -------
    SectionStiffness
        Bending B = sum of the pieces' own, with the parallel-axis terms of the shares; GJ = sum. The shear centre is the
        mean of theirs weighted by bending stiffness, as a force shares itself out in that ratio; what the pieces bend
        when the section twists about it adds to the warping stiffness.

    Examples
    --------
    >>> bar = stiffness_from_constants(name="a", EA=1.0, EIx=2.0, EIy=2.0, GJ=3.0, kGAx=1.0, kGAy=1.0)
    >>> two = parallel([bar, bar], "two")
    >>> two.GJ, two.EIx, two.EA
    (6.0, 4.0, 1.0)
    """
    taking = np.array(shares if shares is not None else (1.0, *[0.0] * (len(pieces) - 1)))
    axial = taking * np.array([s.EA for s in pieces])
    own = np.array([_bending(s) for s in pieces])
    centroids = np.array([s.centroid for s in pieces])
    centroid = axial @ centroids / axial.sum()
    from_centroid = centroids - centroid
    bending = own.sum(axis=0) + sum(
        a * np.array([[y * y, -x * y], [-x * y, x * x]]) for a, (x, y) in zip(axial, from_centroid)
    )
    centre, EGamma, compliance = _twist_centre(pieces, own)
    mass, mass_centroid, inertia = _mass(pieces)
    return stiffness_from_constants(
        name=name,
        EA=float(axial.sum()),
        EIx=bending[0, 0],
        EIy=bending[1, 1],
        EIxy=-bending[0, 1],
        GJ=sum(s.GJ for s in pieces),
        EGamma=EGamma,
        kGAx=1.0 / compliance[0, 0],
        kGAy=1.0 / compliance[1, 1],
        centroid=_point(centroid),
        shear_centre=_point(centre),
        shear_compliance=compliance,
        mass_per_length=mass,
        mass_centroid=_point(mass_centroid),
        inertia_per_length=inertia,
    )


def _point(values: Array) -> tuple[float, float]:
    return float(values[0]), float(values[1])


def _bending(section: SectionStiffness) -> Array:
    """Moments (Mx, My) about the own centroid from curvatures, (2, 2)."""
    return np.array([[section.EIx, -section.EIxy], [-section.EIxy, section.EIy]])


def own_shear(section: SectionStiffness) -> Array:
    """Compliance of (Vx, Vy, T2) about the own shear centre, (3, 3)."""
    rows = (0, 1, 6)
    return np.asarray(np.linalg.inv(np.array(section.matrix)[np.ix_(rows, rows)]))


def _twist_centre(pieces: list[SectionStiffness], own: Array) -> tuple[Array, float, Array]:
    """Shear centre, warping stiffness about it and compliance of (Vx, Vy, T2) there.

    The pieces share curvature: (Vy, -Vx) of a piece is its part B_i B⁻¹ of the whole, and twist at the rate tau bends
    piece i by tau' d_i, d_i from the centre to its own.
    """
    total = own.sum(axis=0)
    centres = np.array([s.shear_centre for s in pieces])
    centre = np.linalg.solve(total, np.einsum("ijk,ik->j", own, centres))
    d = centres - centre
    warp = np.array([s.EGamma for s in pieces])
    EGamma = float(warp.sum() + np.einsum("ij,ijk,ik->", d, own, d))
    to_couple = np.array([[0.0, 1.0], [-1.0, 0.0]])  # (Vx, Vy) to (Vy, -Vx)
    compliance = np.zeros((3, 3))
    for s, B, arm, w in zip(pieces, own, d, warp):
        part = np.zeros((3, 3))
        part[:2, :2] = to_couple.T @ B @ np.linalg.solve(total, to_couple)
        if EGamma > 0.0:
            part[:2, 2] = to_couple.T @ (B @ arm) / EGamma
            part[2, 2] = w / EGamma
        compliance += part.T @ own_shear(s) @ part
    if EGamma <= 0.0:
        compliance[2, 2] = min(float(own_shear(s)[2, 2]) for s in pieces)
    return centre, EGamma, compliance


def _mass(pieces: list[SectionStiffness]) -> tuple[float, Array, tuple[float, float, float]]:
    weight = np.array([s.mass_per_length for s in pieces])
    places = np.array([s.mass_centroid for s in pieces])
    mass = float(weight.sum())
    centre = weight @ places / mass if mass > 0.0 else places[0]
    x, y = (places - centre).T
    own = np.array([s.inertia_per_length for s in pieces]).sum(axis=0)
    total = own + np.array([weight @ (y * y), weight @ (x * x), weight @ (x * y)])
    return mass, centre, (float(total[0]), float(total[1]), float(total[2]))


def between(
    base: SectionStiffness, sliding: SectionStiffness, bonded: SectionStiffness, GJ: float
) -> SectionStiffness:
    """A section whose fills slip: bending as in `base`, torsion as given, the rest between the limits.

    Parameters
    ----------
    base : SectionStiffness
        From `parallel` with the shares of the slip.
    sliding, bonded : SectionStiffness
        The limits.
    GJ : float
        Solved with the slip [N m²].

    Returns
    -------
    SectionStiffness
        Warping stiffness, shear centre and shear compliance are an estimate: they lie as far between the limits as GJ.
    """
    span = bonded.GJ - sliding.GJ
    share = min(max((GJ - sliding.GJ) / span, 0.0), 1.0) if span > 1e-9 * bonded.GJ else 1.0

    def mixed(low: object, high: object) -> Array:
        return np.asarray((1.0 - share) * np.asarray(low, float) + share * np.asarray(high, float))

    stiff = mixed(np.linalg.inv(own_shear(sliding)), np.linalg.inv(own_shear(bonded)))
    compliance = np.asarray(np.linalg.inv(stiff))
    return stiffness_from_constants(
        name=base.name,
        EA=base.EA,
        EIx=base.EIx,
        EIy=base.EIy,
        EIxy=base.EIxy,
        GJ=GJ,
        EGamma=float(mixed(sliding.EGamma, bonded.EGamma)),
        kGAx=1.0 / compliance[0, 0],
        kGAy=1.0 / compliance[1, 1],
        centroid=base.centroid,
        shear_centre=_point(mixed(sliding.shear_centre, bonded.shear_centre)),
        shear_compliance=compliance,
        mass_per_length=base.mass_per_length,
        mass_centroid=base.mass_centroid,
        inertia_per_length=base.inertia_per_length,
    )
