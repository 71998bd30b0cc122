"""Kernel: flexibility of a length of member whose section warps and slips, exact. Arrays in, arrays out, no checks.

As in `beam` the forces along a length follow from those at its end but for what holds itself in balance: the bimoment and,
for every seam, the axial force Q of the part that slips. With these as p(s), section forces q = q0(s) + S p' + R p, the
compliance C of the section and the stiffness K of the seams (Q' = K s), the least of

    1/2 int (q' C q + p'' K⁻¹ p') ds      gives      a p'' - e p = R'C q0 - S'C q0',
    a = S'C S + diag(0, 1/K),   e = R'C R,

a straight line and, in the directions that make a and e diagonal, two hyperbolic sines each. For one seam without
warping this is the equation of Newmark, Siess & Viest (Proc. SESA 9 (1951) 75). Integrals are taken by Gauss's points on
pieces that follow the boundary layers, to rounding.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from strongback.machine.statics import beam

__all__ = ["Slipping", "deformations", "flexibility", "quadrature", "slipping"]

Array = NDArray[np.float64]
LEAST = 1e-6  # k h of the softest seam told from none
_AT, _WEIGHT = np.polynomial.legendre.leggauss(12)
_AT, _WEIGHT = 0.5 * (_AT + 1.0), 0.5 * _WEIGHT


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slipping:
    """A section that slips, ready for lengths of it.

    Parameters
    ----------
    C : ndarray, shape (8 + slips, 8 + slips)
        Strains, and rates of slip, from forces.
    softness : ndarray, shape (m,)
        1 / K of every inner force; 0 of the bimoment.
    rates, places : ndarray, shape (8 + slips, m)
        S and R: what the rates of inner forces, and they themselves, are in the section.
    """

    C: Array
    softness: Array
    rates: Array
    places: Array

    @property
    def inner(self) -> int:
        """Number of inner forces."""
        return len(self.softness)


def slipping(D: Array, coupling: Array, EA: Array, K: Array) -> Slipping:
    """Prepare a section.

    Parameters
    ----------
    D : ndarray, shape (8, 8)
        Section forces from strains, seams bonded.
    coupling : ndarray, shape (slips, 8)
        Section forces from unit rates of slip.
    EA, K : ndarray, shape (slips,)
        Axial stiffness of what slips, and stiffness of its seam.

    Returns
    -------
    Slipping
    """
    n = len(EA)
    warping = beam.has_warping(D)
    whole = np.zeros((8 + n, 8 + n))
    whole[:8, :8], whole[:8, 8:], whole[8:, :8] = D, coupling.T, coupling
    whole[range(8, 8 + n), range(8, 8 + n)] = EA
    kept = np.flatnonzero(np.diag(whole) > 0.0)
    root = np.sqrt(np.diag(whole)[kept])
    C = np.zeros_like(whole)
    C[np.ix_(kept, kept)] = np.linalg.inv(whole[np.ix_(kept, kept)] / np.outer(root, root)) / np.outer(
        root, root
    )
    m = n + int(warping)
    rates, places = np.zeros((8 + n, m)), np.zeros((8 + n, m))
    softness = np.concatenate([np.zeros(int(warping)), 1.0 / K])
    if warping:
        rates[5, 0], rates[6, 0], places[7, 0] = 1.0, -1.0, 1.0
    for k in range(n):
        places[8 + k, m - n + k] = 1.0
    return Slipping(C=0.5 * (C + C.T), softness=softness, rates=rates, places=places)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Solved:
    """Inner forces along a length, for unit forces at its ends."""

    line: Array  # (2, 8 + slips, N) section forces without inner ones: of 1 and t
    straight: Array  # (2, m, N) straight part of the inner forces
    ends: Array  # (2, m, N) amplitudes of the hyperbolic sines, by mode
    turn: Array  # (m, m) inner forces from modes
    k: Array  # (m,) k h of each mode

    def at(self, section: Slipping, h: float, t: float) -> tuple[Array, Array, Array]:
        """Section forces (8 + slips, N), inner forces and their rates (m, N)."""
        far, near = _sines(self.k, 1.0 - t), _sines(self.k, t)
        p = (
            self.straight[0]
            + t * self.straight[1]
            + self.turn @ (far[0][:, None] * self.ends[0] + near[0][:, None] * self.ends[1])
        )
        rate = (
            self.straight[1] + self.turn @ (near[1][:, None] * self.ends[1] - far[1][:, None] * self.ends[0])
        ) / h
        return self.line[0] + t * self.line[1] + section.places @ p + section.rates @ rate, p, rate


def _sines(k: Array, x: float) -> tuple[Array, Array]:
    """sinh(k x) / sinh(k), and its derivative by x."""
    down = np.exp(-k * (1.0 - x))
    whole = -np.expm1(-2.0 * k)
    return down * -np.expm1(-2.0 * k * x) / whole, k * down * (1.0 + np.exp(-2.0 * k * x)) / whole


def _solved(section: Slipping, h: float) -> _Solved:
    m = section.inner
    N = 6 + 2 * m
    line = np.zeros((2, len(section.C), N))
    line[0, range(6), range(6)] = 1.0
    line[0, 3, 1], line[1, 3, 1] = -h, h  # Mx = Mx(h) + Vy (s - h)
    line[0, 4, 0], line[1, 4, 0] = h, -h  # My = My(h) - Vx (s - h)
    C, S, R = section.C, section.rates, section.places
    a = S.T @ C @ S + np.diag(section.softness)
    e = R.T @ C @ R
    square, turn = scipy.linalg.eigh(e, a)
    straight = np.asarray(-np.linalg.solve(e, np.stack([R.T @ C @ part for part in line])), dtype=np.float64)
    straight[0] += np.linalg.solve(e, S.T @ C @ line[1]) / h
    amounts = np.zeros((2, m, N))  # of inner forces at start and end
    for j in range(m):
        amounts[0, j, 6 + 2 * j] = amounts[1, j, 7 + 2 * j] = 1.0
    amounts[0] -= straight[0]
    amounts[1] -= straight[0] + straight[1]
    k = np.maximum(h * np.sqrt(np.maximum(square, 0.0)), LEAST)
    return _Solved(
        line=line,
        straight=straight,
        ends=np.asarray(np.linalg.solve(turn, amounts), dtype=np.float64),
        turn=turn,
        k=k,
    )


def _points(k: Array) -> tuple[Array, Array]:
    """Points over 0 to 1 and their weights, denser where inner forces die away."""
    steps = (0.75, 1.5, 3.0, 6.0, 12.0, 24.0, 40.0)
    near = sorted({float(step / one) for one in k for step in steps if step / one < 0.5})
    borders = np.array([0.0, *near, 0.5, *(1.0 - x for x in reversed(near)), 1.0])
    width = np.diff(borders)
    return (borders[:-1, None] + width[:, None] * _AT[None, :]).ravel(), (width[:, None] * _WEIGHT).ravel()


def flexibility(section: Slipping, to_own: Array, h: float) -> Array:
    """Exact flexibility of a length of member, by mechanism.

    Parameters
    ----------
    section : Slipping
    to_own : ndarray, shape (8, 8)
        Strains at centroid and shear centre from those at the origin.
    h : float
        Length [m].

    Returns
    -------
    ndarray, shape (10, N, N)
        As `beam.flexibility`; the ninth is the give of the seams, K s² along the length, and the tenth the work of inner
        axial forces on the shift of what slips, which often is the ninth taken back. N = 6 + 2 m forces: six at the end,
        then every inner force at start and end.
    """
    solved = _solved(section, h)
    own = np.eye(len(section.C))
    own[:8, :8] = to_own
    C_own, to_forces = own @ section.C @ own.T, np.linalg.inv(own).T
    N = 6 + 2 * section.inner
    work = np.zeros((10, N, N))
    for t, weight in zip(*_points(solved.k), strict=True):
        q, _, rate = solved.at(section, h, float(t))
        q = to_forces @ q
        strain = C_own @ q
        work[:8] += weight * h * np.einsum("ia,ib->iab", q[:8], strain[:8])
        work[8] += weight * h * (rate.T @ (section.softness[:, None] * rate))
        work[9] += weight * h * (q[8:].T @ strain[8:])
    return np.asarray(0.5 * (work + work.transpose(0, 2, 1)))


def deformations(section: Slipping, to_own: Array, h: float, at: Array) -> Array:
    """Motions of sections in between against the start, from the forces of a length, as `beam.deformations`."""
    solved = _solved(section, h)
    N, m = 6 + 2 * section.inner, section.inner
    found = np.zeros((len(at), 6, N))
    for place, t in zip(found, at, strict=True):
        q, p, _ = solved.at(section, h, float(t))
        ends = np.zeros((N, N))
        ends[:5], ends[5, 5] = q[:5], 1.0
        for j in range(m):
            ends[6 + 2 * j, 6 + 2 * j], ends[7 + 2 * j] = 1.0, p[j]
        place[:] = flexibility(section, to_own, h * float(t)).sum(axis=0)[:6] @ ends
    return found


def quadrature(section: Slipping, h: float) -> tuple[Array, Array]:
    """Points over 0 to 1 and weights that integrate motions along a length."""
    return _points(_solved(section, h).k)
