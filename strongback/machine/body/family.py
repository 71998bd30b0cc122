"""A body as a function of how stiff the contact under its pads is.

With C the compliance of the interfaces and g how much softer the contact is than meant, C(g) rises and is concave. A thin
wall on a bed of springs gives as a power of the bed between 1/4 and 1 (Hetényi, Beams on Elastic Foundation, 1946), so that
C is smooth in the square root of g: a spline through a few condensed bodies, with the slope that the energy in their
contact gives, holds it to some parts in a thousand. Beyond the last of them it goes on as a straight line in g, which is
exact for a rigid wall.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline, CubicSpline

from strongback.machine.body.rigid import relative_motions
from strongback.machine.body.values import BodyStiffness

__all__ = ["CONTACTS", "BodyFamily", "anchored"]

Array = NDArray[np.float64]
CONTACTS = (0.1, 0.3, 1.0, 3.0, 10.0)  # of the contact stiffness that was meant


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BodyFamily:
    """A body with its pads softer and stiffer than meant.

    Parameters
    ----------
    bodies : mapping of float to BodyStiffness
        By the factor on the contact stiffness; alike in all else. One alone stands for a body without pads.
    meant : float
        Factor on the contact stiffness of the pads that is in the bodies already.
    """

    bodies: Mapping[float, BodyStiffness]
    meant: float = 1.0
    _root: Array = field(init=False, repr=False)
    _curves: tuple[CubicHermiteSpline, CubicSpline] | None = field(init=False, repr=False)

    def __post_init__(self) -> None:
        factors = sorted(self.bodies, reverse=True)
        object.__setattr__(self, "_root", np.sqrt(1.0 / np.array(factors)))
        made = None
        if len(factors) > 1:
            gives = [_give(self.bodies[f]) for f in factors]
            reads = [self.bodies[f].gauges[:, 6:] @ C for f, C in zip(factors, gives, strict=True)]
            slopes = [C @ self.bodies[f].contact[6:, 6:] @ C for f, C in zip(factors, gives, strict=True)]
            by_root = 2.0 * np.array(slopes) / self._root[:, None, None]  # from dC/dln g
            made = (
                CubicHermiteSpline(self._root, np.array(gives), by_root),
                CubicSpline(self._root, np.array(reads)),
            )
        object.__setattr__(self, "_curves", made)

    @property
    def nominal(self) -> BodyStiffness:
        """The body as meant."""
        return self.bodies[1.0]

    @property
    def varies(self) -> bool:
        """Whether the contact under its pads can be changed."""
        return self._curves is not None

    @property
    def names(self) -> tuple[str, ...]:
        """Interfaces."""
        return self.nominal.names

    def at(self, factor: float) -> BodyStiffness:
        """The body with another contact stiffness.

        Parameters
        ----------
        factor : float
            On the contact stiffness of all pads as meant.

        Returns
        -------
        BodyStiffness
            Its shapes and amplitudes, for pictures and stresses, are those of the body as meant.
        """
        body = self.nominal
        if self._curves is None or math.isclose(factor, 1.0, rel_tol=1e-12):
            return body
        C, dC, H, _ = self._values(factor)
        stiff, follow = np.linalg.inv(C), relative_motions(body.points)
        carried = body.gauges - body.gauges[:, 6:] @ follow
        return dataclasses.replace(
            body,
            stiffness=_symmetric(follow.T @ stiff @ follow),
            contact=_symmetric(follow.T @ stiff @ dC @ stiff @ follow),  # dK/dln f = K (dC/dln g) K
            gauges=carried + H @ stiff @ follow,
            coarse=np.zeros((0, 0)),
        )

    def gauge_slopes(self, factor: float) -> Array:
        """Derivative of the gauge rows by the logarithm of the contact stiffness, (3 gauge points, 6 interfaces)."""
        body = self.nominal
        if self._curves is None:
            return np.zeros_like(body.gauges)
        C, dC, H, dH = self._values(factor)
        stiff, follow = np.linalg.inv(C), relative_motions(body.points)
        return np.asarray(-(dH - H @ stiff @ dC) @ stiff @ follow)  # of H K, with ln g = - ln f

    def _values(self, factor: float) -> tuple[Array, Array, Array, Array]:
        """C, dC/dln g, H, dH/dln g: motions of interfaces and gauge points per force on the interfaces."""
        assert self._curves is not None
        g = 1.0 / factor
        (C, dC), (H, dH) = (_at(curve, self._root, g) for curve in self._curves)
        return _symmetric(C), _symmetric(g * dC), H, g * dH


def anchored(fine: BodyStiffness, coarse: BodyStiffness, other: BodyStiffness) -> BodyStiffness:
    """A body from a coarse grid, corrected by one known on both grids: give = fine + other - coarse.

    Parameters
    ----------
    fine, coarse : BodyStiffness
        The known one on both grids.
    other : BodyStiffness
        The other one on the coarse grid, with the same interfaces and gauge points.

    Returns
    -------
    BodyStiffness
        With the fields of `fine`; `fine` itself where `other` is `coarse`.
    """
    if other is coarse:
        return fine
    follow = relative_motions(fine.points)
    bodies = (fine, other, coarse)
    gives = [_give(body) for body in bodies]
    beds = [g @ body.contact[6:, 6:] @ g for g, body in zip(gives, bodies, strict=True)]
    reads = [body.gauges[:, 6:] @ g for g, body in zip(gives, bodies, strict=True)]
    give, bed, read = (rows[0] + rows[1] - rows[2] for rows in (gives, beds, reads))
    stiff = np.linalg.inv(_symmetric(give))
    carried = fine.gauges - fine.gauges[:, 6:] @ follow
    return dataclasses.replace(
        fine,
        stiffness=_symmetric(follow.T @ stiff @ follow),
        contact=_symmetric(follow.T @ stiff @ bed @ stiff @ follow),
        gauges=carried + read @ stiff @ follow,
    )


def _symmetric(matrix: Array) -> Array:
    return np.asarray(0.5 * (matrix + matrix.T))


def _give(body: BodyStiffness) -> Array:
    """Motions of all interfaces but the first per force on them, the first standing still."""
    return np.asarray(np.linalg.inv(body.stiffness[6:, 6:]))


def _at(curve: CubicHermiteSpline | CubicSpline, root: Array, g: float) -> tuple[Array, Array]:
    """Value and derivative by g."""
    x = float(np.sqrt(g))
    low, high = float(root[0]), float(root[-1])
    near = min(max(x, low), high)
    slope = curve(near, 1) / (2.0 * near)
    return curve(near) + slope * (g - near * near), slope
