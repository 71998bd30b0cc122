"""Error estimates of shear and warping stiffness from the fields of one mesh.

The shear strain of a mesh jumps from element to element; averaged at the nodes, region by region, it is nearer to the
truth, and the energy of the difference estimates that of the error (Zienkiewicz & Zhu, A simple error estimator and
adaptive procedure for practical engineering analysis, Int. J. Numer. Meth. Engng 24 (1987) 337). At re-entrant corners it
sees a third to a half of the error, so it is taken times 4.

The shear compliance is an energy, and so is its error. The error of the warping stiffness is a product of two: with psi
the field of unit secondary torque, EGamma is off by 2 EGamma times the energy product of the errors of omega and psi, at
most 2 EGamma sqrt(gap of GJ) sqrt(error of psi).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from strongback.section import _triangle6 as t6
from strongback.section._problem import Problem
from strongback.section.bounds import TorsionBounds
from strongback.section.stiffness import SectionFields

__all__ = ["relative_errors"]

Array = NDArray[np.float64]
AT_CORNERS = 4.0

# Values at the six nodes of the linear function that fits values at the integration points best, (6, 7).
_CORNERS = np.linalg.lstsq(t6.POINTS, np.eye(len(t6.POINTS)), rcond=None)[0]
_TO_NODES = np.vstack([_CORNERS, 0.5 * (_CORNERS + np.roll(_CORNERS, -1, axis=0))])


def relative_errors(
    p: Problem, fields: SectionFields, bounds: TorsionBounds
) -> tuple[tuple[str, float], ...]:
    """Estimated relative error of EGamma, kGAx and kGAy.

    Parameters
    ----------
    p : Problem
    fields : SectionFields
    bounds : TorsionBounds
        Of the same mesh.

    Returns
    -------
    tuple of (str, float)
    """
    s = fields.stiffness
    warping = 0.0
    if fields.secondary_strain is not None:
        gap = max(bounds.upper - bounds.lower, 0.0)
        warping = 2.0 * math.sqrt(gap * AT_CORNERS * energy_of_error(p, fields.secondary_strain))
    shear = [AT_CORNERS * energy_of_error(p, strain) for strain in fields.shear_strain]
    return ("EGamma", warping), ("kGAx", shear[0] * s.kGAx), ("kGAy", shear[1] * s.kGAy)


def energy_of_error(p: Problem, strain: Array) -> float:
    """Energy of the difference between a strain (m, 7, 2) and its average at the nodes."""
    apart = _averaged(p, strain) - strain
    return p.energy(apart, apart)


def _averaged(p: Problem, strain: Array) -> Array:
    at_nodes = np.einsum("iq,mqc->mic", _TO_NODES, strain)
    # A node between two materials has one value for each.
    kind = np.unique(p.G, return_inverse=True)[1]
    index = p.tri + len(p.nodes) * kind[:, None]
    size = len(p.nodes) * (int(kind.max()) + 1)
    weight = np.broadcast_to(p.areas[:, None], index.shape)
    total = np.maximum(t6.scatter(weight, index, size), np.finfo(float).tiny)
    mean = np.stack([t6.scatter(weight * at_nodes[..., c], index, size) / total for c in range(2)], axis=-1)
    return np.asarray(np.einsum("qi,mic->mqc", t6.SHAPES, mean[index]))
