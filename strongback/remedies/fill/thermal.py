"""Stress and bow of wall and fill that are bonded and expand differently."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strongback.errors import MixError
from strongback.remedies.fill._checks import above_zero
from strongback.section.values import SectionStiffness

__all__ = [
    "PairStress",
    "bimetal_curvature",
    "bow",
    "bow_per_kelvin",
    "curvature_per_kelvin",
    "interface_pressure",
    "over_range",
    "two_bars",
]


def bimetal_curvature(
    thickness: tuple[float, float], modulus: tuple[float, float], mismatch: float, rise: float
) -> float:
    """Curvature of two bonded strips of equal width.

    Parameters
    ----------
    thickness, modulus : tuple of float
        Of strip 1 and strip 2 [m, Pa].
    mismatch : float
        Expansion of strip 2 minus that of strip 1 [1/K].
    rise : float
        [K]

    Returns
    -------
    float
        [1/m], with strip 1 inside of the bend. S. Timoshenko, J. Opt. Soc. Am. 11 (1925) 233:
        kappa = 6 dalpha dT (1 + m)^2 / (h [3 (1 + m)^2 + (1 + m n)(m^2 + 1/(m n))]), m = t1/t2, n = E1/E2.

    Examples
    --------
    >>> round(bimetal_curvature((0.01, 0.01), (70e9, 70e9), 1.1e-5, 10.0) * 1e-3, 9)
    8.25e-06
    """
    m, n = thickness[0] / thickness[1], modulus[0] / modulus[1]
    h = thickness[0] + thickness[1]
    bottom = 3.0 * (1.0 + m) ** 2 + (1.0 + m * n) * (m**2 + 1.0 / (m * n))
    return 6.0 * mismatch * rise * (1.0 + m) ** 2 / (h * bottom)


def bow(curvature: float, length: float) -> float:
    """Sideways motion of the top of a column held at its foot: kappa L²/2 [m]."""
    return 0.5 * curvature * length**2


def curvature_per_kelvin(
    bare: SectionStiffness, whole: SectionStiffness, mismatch: float
) -> tuple[float, float]:
    """Curvature of a filled section for each kelvin of warming, wall and fill bonded.

    Parameters
    ----------
    bare, whole : SectionStiffness
        Of the section without and with its fill.
    mismatch : float
        Expansion of the fill minus that of the wall [1/K].

    Returns
    -------
    tuple of float
        Second derivative of the displacement along x and y of the section's drawing, along the member [1/(m K)].
        The general case of Timoshenko's two strips: the fill strains against the wall at its own centroid.
    """
    EA = whole.EA - bare.EA
    at = [(whole.EA * c - bare.EA * b) / EA - c for c, b in zip(whole.centroid, bare.centroid, strict=True)]
    force = EA * mismatch
    # Strain along the member at (x, y) is -(x u'' + y v''), so that moments of the free strain give u'' and v''.
    EI = np.array([[whole.EIy, whole.EIxy], [whole.EIxy, whole.EIx]])
    u, v = -np.linalg.solve(EI, force * np.array(at))
    return float(u), float(v)


def bow_per_kelvin(
    curvature: tuple[float, float], length: float, low: float, high: float
) -> tuple[float, float]:
    """Sideways motion of the end of a member held at its start that bends between two stations [m/K].

    Parameters
    ----------
    curvature : tuple of float
        From `curvature_per_kelvin`.
    length, low, high : float
        Of the member, and where the fill begins and ends [m].
    """
    lever = (high - low) * (length - 0.5 * (low + high))
    return curvature[0] * lever, curvature[1] * lever


@dataclass(frozen=True, slots=True, kw_only=True)
class PairStress:
    """Axial stress of wall and fill that keep the same length [Pa]; positive: tension."""

    wall: float
    fill: float


def two_bars(
    E: tuple[float, float], area: tuple[float, float], mismatch: float, rise: float = 1.0
) -> PairStress:
    """Axial stress of a straight filled tube.

    Parameters
    ----------
    E, area : tuple of float
        Of wall and fill [Pa, m²].
    mismatch : float
        Expansion of the wall minus that of the fill [1/K]; with ``rise=1`` the free shrinkage of the fill [-].
    rise : float
        [K]

    Returns
    -------
    PairStress

    Examples
    --------
    >>> found = two_bars((70e9, 30e9), (1900e-6, 8100e-6), 8e-6, 10.0)
    >>> round(found.wall / 1e6, 3), round(found.fill / 1e6, 3)
    (-3.619, 0.849)
    """
    for value in (*E, *area):
        above_zero("stiffness and area of wall and fill", value, "")
    free = mismatch * rise
    stiff = E[0] * area[0] + E[1] * area[1]
    return PairStress(
        wall=-free * E[0] * E[1] * area[1] / stiff,
        fill=free * E[0] * E[1] * area[0] / stiff,
    )


def interface_pressure(
    bore: float,
    outside: float,
    wall: tuple[float, float],
    fill: tuple[float, float],
    mismatch: float,
    rise: float = 1.0,
) -> float:
    """Pressure between a round tube and its fill (Lamé, plane stress).

    Parameters
    ----------
    bore, outside : float
        Diameters of the tube [m].
    wall, fill : tuple of float
        Young's modulus and Poisson's ratio [Pa, -].
    mismatch : float
        Expansion of the fill minus that of the wall [1/K].
    rise : float
        [K]

    Returns
    -------
    float
        Positive: pressed together; negative: the bond is pulled [Pa].

    Raises
    ------
    MixError
        If the bore is not inside the tube.

    Examples
    --------
    >>> round(interface_pressure(0.09, 0.1, (70e9, 0.33), (30e9, 0.2), 8e-6, 10.0) / 1e6, 4)
    0.4777
    """
    if not 0.0 < bore < outside:
        raise MixError(f"bore {bore * 1e3:g} mm does not lie inside a tube of {outside * 1e3:g} mm")
    ring = (outside**2 + bore**2) / (outside**2 - bore**2)
    return mismatch * rise / ((ring + wall[1]) / wall[0] + (1.0 - fill[1]) / fill[0])


def over_range(per_kelvin: float, range_: tuple[float, float], set_at: float) -> tuple[float, float]:
    """Least and greatest of a thermal effect over the temperatures of the workshop.

    Parameters
    ----------
    per_kelvin : float
        Effect of one kelvin of warming.
    range_ : tuple of float
        Coldest and warmest [K].
    set_at : float
        Temperature at which the pair was free of stress [K].
    """
    ends = [per_kelvin * (t - set_at) for t in range_]
    return min(ends), max(ends)
