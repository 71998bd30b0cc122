"""Kernel: a length of member with constant section, solved exactly. Arrays in, arrays out, no checks.

The state along the member is y = (u, Q): seven motions u = (ux, uy, us, rx, ry, rs, f) at the origin of the section and the
forces Q = (Vx, Vy, N, Mx, My, T, B) that do work on them. With the section matrix D (8 x 8, see section.values) the
balance of a slice gives y' = Z y with constant Z, so that the exact element follows from exp(Z h): no shape functions,
no mesh error, any coupling between the strains. B' = -T2, T = T1 + T2.
"""

from __future__ import annotations

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

Array = NDArray[np.float64]

GAUSS_POINTS = 10  # integrates products of the states to rounding while DECAY_PER_PIECE holds
DECAY_PER_PIECE = (
    1.5  # longest piece for the exponential, in decay lengths of the warping; longer ones are doubled
)

# Strains e = CHOOSE g - f * W with g = (gamma_x, gamma_y, eps, kappa_x, kappa_y, tau, chi): gamma_w = tau - f.
CHOOSE = np.zeros((8, 7))
CHOOSE[range(6), range(6)] = 1.0
CHOOSE[6, 5] = 1.0
CHOOSE[7, 6] = 1.0
# u' = SLOPE u + g: a turned section carries the point above it sideways.
SLOPE = np.zeros((7, 7))
SLOPE[0, 4] = 1.0
SLOPE[1, 3] = -1.0


def has_warping(D: Array, length: float) -> bool:
    """Whether restrained warping can change the twist of a member by more than one part in a million."""
    GJ, GD, EGamma = D[5, 5], D[6, 6], D[7, 7]
    if EGamma <= 0.0:
        return False
    stiffer = GD / (GJ + GD)  # share of twist that a held end removes over one decay length
    return bool(stiffer * decay_length(D) / length > 1e-6)


def decay_length(D: Array) -> float:
    """Length over which restrained warping dies away [m]: k² = GJ GD / ((GJ + GD) EGamma)."""
    own = np.linalg.inv(np.linalg.inv(D)[np.ix_((5, 6), (5, 6))])
    GJ, GD, EGamma = own[0, 0], own[1, 1], D[7, 7]
    return float(np.sqrt(EGamma * (GJ + GD) / (GJ * GD)))


def without_warping(D: Array) -> Array:
    """Section matrix (8 x 8) in which warping neither stores energy nor holds."""
    plain = D.copy()
    plain[6:, :] = 0.0
    plain[:, 6:] = 0.0
    return plain


def _hamiltonian(D: Array, warping: bool) -> tuple[Array, Array]:
    """Z of y' = Z y, and strains e = R y (8 x 14)."""
    if not warping:
        D = without_warping(D)
    K7 = CHOOSE.T @ D @ CHOOSE
    if not warping:
        K7[6, 6] = 1.0  # keeps the unused row regular; f is not connected
    c = -CHOOSE.T @ D[:, 6]
    flexibility = np.linalg.inv(K7)
    flexibility = 0.5 * (flexibility + flexibility.T)
    if not warping:
        flexibility[6, 6] = 0.0
    upper = SLOPE.copy()
    upper[:, 6] -= flexibility @ c
    lower = np.zeros((7, 7))
    lower[6, 6] = D[6, 6] - c @ flexibility @ c
    Z = np.block([[upper, flexibility], [lower, -upper.T]])
    strains = np.hstack([np.zeros((8, 7)), CHOOSE @ flexibility])
    strains[:, 6] = -CHOOSE @ (flexibility @ c)
    strains[6, 6] -= 1.0
    if not warping:
        strains[6:] = 0.0
    return Z, strains


def _scales(D: Array, h: float) -> Array:
    """Units in which the state of a length h is of order one, (14,)."""
    moment = np.sqrt(D[3, 3] * D[4, 4]) / h
    motion = np.array([h, h, h, 1.0, 1.0, 1.0, 1.0 / h])
    return np.concatenate([motion, moment / motion])


def element(D: Array, to_own: Array, h: float, warping: bool) -> tuple[Array, Array]:
    """Exact stiffness of a length of member and its parts by mechanism.

    Parameters
    ----------
    D : ndarray, shape (8, 8)
        Section forces from strains at the origin.
    to_own : ndarray, shape (8, 8)
        Strains at centroid and shear centre from those at the origin.
    h : float
        Length [m].
    warping : bool
        Whether f is a motion of its own.

    Returns
    -------
    stiffness : ndarray, shape (14, 14)
        On (u at start, u at end).
    parts : ndarray, shape (8, 14, 14)
        u* parts[i] u is the virtual work of mechanism i, shared evenly between the two states where mechanisms are
        coupled. They add to `stiffness`.
    """
    halvings = 0
    if warping:
        halvings = max(0, int(np.ceil(np.log2(h / (DECAY_PER_PIECE * decay_length(D))))))
    stiffness, parts = _piece(D, to_own, h / 2**halvings, warping)
    for _ in range(halvings):
        stiffness, parts = _doubled(stiffness, parts)
    return stiffness, parts


def _piece(D: Array, to_own: Array, h: float, warping: bool) -> tuple[Array, Array]:
    """`element` for a length over which the warping does not decay far."""
    states, weights = _states(D, h, warping)
    _, strains = _hamiltonian(D, warping)
    stiffness = np.vstack([-states[-2, 7:], states[-1, 7:]])
    at_origin = strains[None] @ states[:-2]
    own = to_own[None] @ at_origin
    forces = np.linalg.inv(to_own).T[None] @ ((D if warping else without_warping(D))[None] @ at_origin)
    work = np.einsum("g,gia,gib->iab", weights, forces, own)
    return 0.5 * (stiffness + stiffness.T), 0.5 * (work + work.transpose(0, 2, 1))


def _states(D: Array, h: float, warping: bool) -> tuple[Array, Array]:
    """State (u, Q) at the integration points, the start and the far end from the motions of both ends; weights [m].

    Returns (points + 2, 14, 14) and (points,).
    """
    Z, _ = _hamiltonian(D, warping)
    unit = _scales(D, h)
    scaled = Z * h / unit[:, None] * unit[None, :]
    points, weights = np.polynomial.legendre.leggauss(GAUSS_POINTS)
    at = np.concatenate([0.5 * (points + 1.0), [0.0, 1.0]])
    grown = scipy.linalg.expm(scaled[None] * at[:, None, None])
    start = _start_state(grown[-1], warping)
    states = unit[None, :, None] * (grown @ start[None]) / np.tile(unit[:7], 2)[None, None, :]
    return states, 0.5 * h * weights


def _doubled(stiffness: Array, parts: Array) -> tuple[Array, Array]:
    """Two equal lengths in a row, the motions between them eliminated."""
    a, b, c, d = stiffness[:7, :7], stiffness[:7, 7:], stiffness[7:, :7], stiffness[7:, 7:]
    middle = -np.linalg.solve(d + a, np.hstack([c, b]))
    recover = np.zeros((21, 14))
    recover[:7, :7] = recover[14:, 7:] = np.eye(7)
    recover[7:14] = middle
    first, second = recover[:14], recover[7:]
    joined = first.T @ stiffness @ first + second.T @ stiffness @ second
    both = first.T @ parts @ first + second.T @ parts @ second
    return 0.5 * (joined + joined.T), both


def _start_state(transfer: Array, warping: bool) -> Array:
    """State at the start from the motions of both ends, in scaled units, (14, 14)."""
    n = 7 if warping else 6
    inverse = np.zeros((7, 7))
    inverse[:n, :n] = np.linalg.inv(transfer[:n, 7 : 7 + n])
    # Without warping the amplitude f is carried along unchanged and takes no force.
    start = np.zeros((14, 14))
    start[:7, :7] = np.eye(7)
    start[7:, :7] = -inverse @ transfer[:7, :7]
    start[7:, 7:] = inverse
    return start


def element_mass(D: Array, per_length: Array, h: float, warping: bool) -> Array:
    """Consistent mass of a length of member on (u at start, u at end), from its static shapes.

    Parameters
    ----------
    D : ndarray, shape (8, 8)
    per_length : ndarray, shape (7, 7)
        Mass on the motions of a section, at the origin.
    h : float
        [m]
    warping : bool

    Returns
    -------
    ndarray, shape (14, 14)
    """
    halvings = 0
    if warping:
        halvings = max(0, int(np.ceil(np.log2(h / (DECAY_PER_PIECE * decay_length(D))))))
    piece = h / 2**halvings
    stiffness, _ = _piece(D, np.eye(8), piece, warping)
    states, weights = _states(D, piece, warping)
    shapes = states[:-2, :7]
    mass: Array = np.asarray(
        np.einsum("g,gia,ij,gjb->ab", weights, shapes, per_length, shapes, optimize=True)
    )
    for _ in range(halvings):
        stiffness, joined = _doubled(stiffness, mass[None])
        mass = joined[0]
    return 0.5 * (mass + mass.T)
