"""Kernel: the 8 x 8 stiffness of a section from its constants. Arrays in, arrays out, no checks."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Without a secondary-torsion compliance warping follows the twist (Vlasov); this ratio of the secondary to the
# primary torsion stiffness keeps the arithmetic finite and costs 1e-8 in the result.
VLASOV_RATIO = 1e8


def diagonal_shear(kGAx: float, kGAy: float, GJ: float) -> Array:
    """Shear compliance without coupling, secondary torsion as good as rigid."""
    return np.diag([1.0 / kGAx, 1.0 / kGAy, 1.0 / (VLASOV_RATIO * GJ)])


def to_origin(centroid: tuple[float, float], shear_centre: tuple[float, float]) -> Array:
    """Strains at centroid and shear centre from the strains at the origin, (8, 8)."""
    xc, yc = centroid
    xs, ys = shear_centre
    shift = np.eye(8)
    shift[2, 3], shift[2, 4] = yc, -xc  # axial strain where bending does not change it
    shift[0, 5], shift[1, 5] = -ys, xs  # shear of the point about which the section twists
    return shift


def assemble(
    EA: float,
    bending: tuple[float, float, float],
    GJ: float,
    EGamma: float,
    shear_compliance: Array,
    centroid: tuple[float, float],
    shear_centre: tuple[float, float],
) -> Array:
    """Section forces from section strains at the origin, (8, 8)."""
    EIx, EIy, EIxy = bending
    own = np.zeros((8, 8))
    shear = (0, 1, 6)
    own[np.ix_(shear, shear)] = np.linalg.inv(shear_compliance)
    own[2, 2] = EA
    own[3:5, 3:5] = [[EIx, -EIxy], [-EIxy, EIy]]
    own[5, 5] = GJ
    own[7, 7] = EGamma
    shift = to_origin(centroid, shear_centre)
    matrix = shift.T @ own @ shift
    return 0.5 * (matrix + matrix.T)
