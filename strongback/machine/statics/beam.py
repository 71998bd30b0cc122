"""Kernel: flexibility of a length of member with constant section, exact. Arrays in, arrays out, no checks.

The forces along a length follow from those at its end: Vx, Vy, N and T stay, Mx and My change with the shear. Only the
bimoment B(s) is not told by balance. With the section forces q = q0(s) + c B' + d B (T1 = T + B', T2 = -B') and the
compliance C of the section, the least of the complementary energy

    1/2 int q' C q ds      gives      a B'' - e B = d'C q0 - c'C q0',      a = c'C c,   e = d'C d

whose solution is a straight line and two hyperbolic functions, k² = e / a: no series, no mesh, and no limit of k h. A
length has eight forces of its own (six at its end, the bimoment at its start and what the bimoment gains up to its end)
and moves as a whole for nothing. A bimoment that goes through costs k h, one that changes 1 / k h: kept apart, both
keep their digits in a length of a nanometre.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

CLOSED = 1.0  # k h from which integrals are taken in closed form; below, their digits would cancel
_AT, _WEIGHT = np.polynomial.legendre.leggauss(
    12
)  # products of hyperbolic functions over k h < 1: to rounding
_AT, _WEIGHT = 0.5 * (_AT + 1.0), 0.5 * _WEIGHT


def compliance(D: Array) -> Array:
    """Strains from section forces, (8, 8): the inverse of D on the strains that store energy, zero elsewhere."""
    kept = np.flatnonzero(np.diag(D) > 0.0)
    root = np.sqrt(np.diag(D)[kept])
    own = np.linalg.inv(D[np.ix_(kept, kept)] / np.outer(root, root)) / np.outer(root, root)
    found = np.zeros((8, 8))
    found[np.ix_(kept, kept)] = 0.5 * (own + own.T)
    return found


def has_warping(D: Array) -> bool:
    """Whether a section stores energy in its bimoment."""
    return bool(D[7, 7] > 0.0 and D[6, 6] > 0.0)


def decay_length(D: Array) -> float:
    """Length over which restrained warping dies away [m]: k² = GJ GD / ((GJ + GD) EGamma)."""
    C = compliance(D)
    return float(np.sqrt((C[5, 5] - 2.0 * C[5, 6] + C[6, 6]) / C[7, 7]))


def flexibility(D: Array, to_own: Array, h: float, warping: bool) -> Array:
    """Exact flexibility of a length of member, by mechanism.

    Parameters
    ----------
    D : ndarray, shape (8, 8)
        Section forces from strains at the origin.
    to_own : ndarray, shape (8, 8)
        Strains at centroid and shear centre from those at the origin.
    h : float
        Length [m].
    warping : bool
        Whether the bimoment counts; without it the secondary torque is released, that is zero.

    Returns
    -------
    ndarray, shape (8, n, n)
        s' parts[i] s is the complementary virtual work of strain i (at the section's own axes) between two states of
        forces s = (Vx, Vy, N, Mx, My, T) at the end of the length, with warping followed by the bimoment at the start
        and its gain up to the end, shared evenly where strains are coupled. They add to the flexibility, n = 8 or 6.
    """
    C = compliance(D)
    forces, gram = with_warping(C, h) if warping else (linear_forces(h)[:, :, :6], _line_gram())
    C_own = to_own @ C @ to_own.T
    if not warping:
        forces[:, 6:] = 0.0
    own = np.linalg.inv(to_own).T @ forces  # (basis, 8, n)
    weighted = np.tensordot(gram, C_own @ own, axes=1)
    work = h * np.einsum("gia,gib->iab", own, weighted)
    return np.asarray(0.5 * (work + work.transpose(0, 2, 1)))


def linear_forces(h: float) -> Array:
    """Coefficients of 1 and t = s / h in the eight section forces, without bimoment, (2, 8, 8)."""
    forces = np.zeros((2, 8, 8))
    forces[0, range(6), range(6)] = 1.0
    forces[0, 3, 1], forces[1, 3, 1] = -h, h  # Mx = Mx(h) + Vy (s - h)
    forces[0, 4, 0], forces[1, 4, 0] = h, -h  # My = My(h) - Vx (s - h)
    return forces


def _line_gram() -> Array:
    return np.array([[1.0, 0.5], [0.5, 1.0 / 3.0]])


def with_warping(C: Array, h: float) -> tuple[Array, Array]:
    """Section forces in the functions 1, t, phi, phi1, psi, psi1 (6, 8, 8) and the integrals of their products."""
    line = linear_forces(h)
    c = np.zeros(8)
    c[5], c[6] = 1.0, -1.0
    a, e = float(c @ C @ c), float(C[7, 7])
    kh = h * np.sqrt(e / a)
    # Straight part of B from the coupling of warping with the other strains: (1, t) coefficients on the eight forces.
    straight = -(C[7] @ line) / e
    straight[0] += (c @ C @ line[1]) / (h * e)
    ends = np.zeros((2, 8))  # amplitudes of phi and phi1
    ends[0, 6] = ends[1, 7] = 1.0
    ends -= straight
    forces = np.zeros((6, 8, 8))
    forces[:2] = line
    forces[:2, 7] += straight
    forces[2:4, 7] = ends
    rate = kh / h
    slope = np.stack([straight[1] / h, np.zeros(8), np.zeros(8), np.zeros(8), rate * ends[0], rate * ends[1]])
    forces[:, 5] += slope
    forces[:, 6] -= slope
    return forces, gram(kh)


def gram(kh: float) -> Array:
    """Integrals over t = 0 to 1 of products of 1, t, phi, phi1, psi, psi1, (6, 6).

    phi = cosh(kh (t - 1/2)) / cosh(kh / 2) is 1 at both ends, phi1 = sinh(kh t) / sinh kh at the far one only;
    psi and psi1 are their slopes over kh.
    """
    if kh < CLOSED:
        return _gram_by_points(kh)
    th, one = float(np.tanh(0.5 * kh)), 1.0 / kh
    coth = 1.0 / float(np.tanh(kh))
    csch = 2.0 * float(np.exp(-kh)) / (1.0 - float(np.exp(-2.0 * kh)))
    phi1, t_phi1, t_psi1 = th * one, coth * one - one**2, one - th * one**2
    even, odd = th * one + 0.5 * (1.0 - th**2), th * one - 0.5 * (1.0 - th**2)
    G = np.zeros((6, 6))
    G[0] = [1.0, 0.5, 2.0 * phi1, phi1, 0.0, one]
    G[1, 1:] = [1.0 / 3.0, phi1, t_phi1, one - 2.0 * th * one**2, t_psi1]
    G[2, 2:] = [even, 0.5 * even, 0.0, 0.5 * even / th]
    G[3, 3:] = [0.5 * coth * one - 0.5 * csch**2, 0.5 * odd / th, 0.5 * one]
    G[4, 4:] = [odd, 0.5 * odd]
    G[5, 5] = 0.5 * coth * one + 0.5 * csch**2
    return np.triu(G) + np.triu(G, 1).T


def _gram_by_points(kh: float) -> Array:
    middle, near, whole, half = kh * (_AT - 0.5), kh * _AT, np.sinh(kh), np.cosh(0.5 * kh)
    values = np.stack(
        [
            np.ones_like(_AT),
            _AT,
            np.cosh(middle) / half,
            np.sinh(near) / whole,
            np.sinh(middle) / half,
            np.cosh(near) / whole,
        ]
    )
    return np.asarray((values * _WEIGHT) @ values.T)


def deformations(D: Array, to_own: Array, h: float, warping: bool, at: Array) -> Array:
    """Motions of sections in between against the start, from the forces of a length.

    Parameters
    ----------
    D, to_own, h, warping
        As in `flexibility`.
    at : ndarray, shape (points,)
        Distance from the start over h, above 0.

    Returns
    -------
    ndarray, shape (points, 6, n)
        ux, uy, us, rx, ry, rs beyond what the start carries along.
    """
    n = 8 if warping else 6
    forces, kh = linear_forces(h)[:, :, :6], 0.0
    if warping:
        C = compliance(D)
        forces = with_warping(C, h)[0]
        kh = h / decay_length(D)
    found = np.zeros((len(at), 6, n))
    for place, t in zip(found, at, strict=True):
        here = np.tensordot(
            _basis(kh, float(t))[: len(forces)], forces, axes=1
        )  # section forces at t, (8, n)
        ends = np.zeros((n, n))
        ends[:5], ends[5, 5] = here[:5], 1.0
        if warping:
            ends[6, 6], ends[7] = 1.0, here[7]
            ends[7, 6] -= 1.0
        F = flexibility(D, to_own, h * float(t), warping).sum(axis=0)
        place[:] = F[:6] @ ends
    return found


def _basis(kh: float, t: float) -> Array:
    """Values of 1, t, phi, phi1, and zeros for psi, psi1, which no force but the torques has, (6,)."""
    if kh == 0.0:
        return np.array([1.0, t, 0.0, 0.0, 0.0, 0.0])
    far, near = (
        np.exp(-kh * (1.0 - x)) * np.expm1(-2.0 * kh * x) / np.expm1(-2.0 * kh) for x in (1.0 - t, t)
    )
    return np.array([1.0, t, far + near, near, 0.0, 0.0])


def quadrature(D: Array, h: float, warping: bool) -> tuple[Array, Array]:
    """Points over 0 to 1 and weights that integrate motions along a length, denser where warping dies away at its ends."""
    reach = decay_length(D) / h if warping else np.inf
    near = [reach * step for step in (1.5, 3.0, 6.0, 12.0, 24.0) if reach * step < 0.5]
    borders = np.array([0.0, *near, *(1.0 - x for x in reversed(near)), 1.0])
    width = np.diff(borders)
    points = borders[:-1, None] + width[:, None] * _AT[None, :]
    return points.ravel(), (width[:, None] * _WEIGHT[None, :]).ravel()
