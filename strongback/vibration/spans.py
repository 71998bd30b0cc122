"""Kernel: mass of a length of member, and what swings within it while its ends stand. Arrays in and out, no checks.

A length moves in the exact static shapes of its ends and in bubbles beside them (Craig & Bampton, AIAA J. 6 (1968) 1313),

    N_k(x) = (P_k(x) - P_(k-2)(x)) / sqrt(2 (2k - 1)),   -1 <= x <= 1,   k = 2 .. p,

integrals of Legendre polynomials on each of its seven motions (ux, uy, us, rx, ry, rs, f). Static shapes are in balance, so
that the stiffness has no block between them and the bubbles; the mass has one. f is the amplitude of warping.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.polynomial import legendre
from numpy.typing import NDArray

from strongback.machine.statics import beam

__all__ = ["SpanModes", "span_modes"]

Array = NDArray[np.float64]
LAYERS = (1.5, 3.0, 6.0, 12.0, 24.0)  # decay lengths from an end at which panels of points begin
INERT = 1e-14  # of the largest inverse squared frequency: less is a bubble without mass


@dataclass(frozen=True, slots=True, eq=False)
class SpanModes:
    """A length of member between two places where something is attached.

    Parameters
    ----------
    mass : ndarray, shape (m, m)
        On the motions of the start as a whole (6) and the deformations of the length (n), axes of the member.
    squares : ndarray, shape (b,)
        Squared circular frequencies of the length with its ends held, lowest first [rad²/s²].
    coupling : ndarray, shape (m, b)
        Mass between those motions and the shapes held, each of unit modal mass.
    at : ndarray, shape (g,)
        Points along the length over its length.
    fields : ndarray, shape (g, 7, m)
        Motions there from those of the ends.
    shapes : ndarray, shape (g, 7, b)
        The same of the shapes held.
    top : ndarray, shape (t, b)
        The square of `top @ amplitudes` is twice the strain energy in the two highest degrees.
    """

    mass: Array
    squares: Array
    coupling: Array
    at: Array
    fields: Array
    shapes: Array
    top: Array


def span_modes(D: Array, to_own: Array, h: float, warping: bool, mass: Array, degree: int) -> SpanModes:
    """Mass of a length and its modes with held ends.

    Parameters
    ----------
    D, to_own, h, warping
        As in `strongback.machine.statics.beam.flexibility`.
    mass : ndarray, shape (7, 7)
        Per length on the motions of a section at the origin, the last the amplitude of warping.
    degree : int
        Highest degree of the bubbles.
    """
    C = beam.compliance(D)
    at, weights, panels = _points(beam.decay_length(D) / h if warping else np.inf, degree + 6)
    count = 7 if warping else 6
    fields = _fields(D, C, to_own, h, warping, at, panels)
    values, slopes = _bubbles(at, degree)
    K = _bubble_stiffness(D, C, h, count, weights, values, slopes)
    bubbles = np.einsum("gk,im->gikm", values, np.eye(7, count)).reshape(len(at), 7, -1)
    weighted = np.einsum("g,ij,gjb->gib", h * weights, mass, bubbles, optimize=True)
    M = np.einsum("gia,gib->ab", bubbles, weighted, optimize=True)
    scale = 1.0 / np.sqrt(np.diag(K))
    inverse, V = scipy.linalg.eigh(M * np.outer(scale, scale), K * np.outer(scale, scale))
    kept = np.flatnonzero(inverse > INERT * max(float(inverse[-1]), 1e-300))[::-1]
    V = scale[:, None] * V[:, kept] / np.sqrt(inverse[kept])
    last = np.arange(len(K)) >= len(K) - 2 * count  # the bubbles are in the order of their degrees
    factor = np.linalg.cholesky(K[np.ix_(last, last)])
    own = np.einsum("g,gia,ij,gjb->ab", h * weights, fields, mass, fields, optimize=True)
    found = SpanModes(
        mass=0.5 * (own + own.T),
        squares=1.0 / inverse[kept],
        coupling=np.einsum("gia,gib->ab", fields, weighted, optimize=True) @ V,
        at=at,
        fields=fields,
        shapes=bubbles @ V,
        top=factor.T @ V[last],
    )
    for name in SpanModes.__slots__:
        getattr(found, name).setflags(write=False)
    return found


def _points(reach: float, order: int) -> tuple[Array, Array, tuple[Array, Array]]:
    """Gauss points over 0 to 1 in panels, their weights, and the borders of the panels with integrals up to each point."""
    at, weights, up_to = _rule(order)
    near = [reach * step for step in LAYERS if reach * step < 0.5]
    borders = np.array([0.0, *near, *(1.0 - x for x in reversed(near)), 1.0])
    width = np.diff(borders)
    points = borders[:-1, None] + width[:, None] * at[None, :]
    return points.ravel(), (width[:, None] * weights[None, :]).ravel(), (width, up_to)


@functools.cache
def _rule(order: int) -> tuple[Array, Array, Array]:
    """Gauss points on 0 to 1, weights, and the matrix that integrates from 0 to each point, (order, order)."""
    x, w = legendre.leggauss(order)
    values = legendre.legvander(x, order)
    to_series = (values[:, :order] * w[:, None]).T * (np.arange(order) + 0.5)[:, None]
    integrals = np.zeros((order, order))
    integrals[:, 0] = x + 1.0
    for k in range(1, order):
        integrals[:, k] = (values[:, k + 1] - values[:, k - 1]) / (2 * k + 1)
    return 0.5 * (x + 1.0), 0.5 * w, 0.5 * integrals @ to_series


def _integral(values: Array, panels: tuple[Array, Array], h: float) -> Array:
    """Integral along the length from its start to each point, (g, ...)."""
    width, up_to = panels
    parts = values.reshape(len(width), up_to.shape[1], -1)
    own = np.einsum("p,ij,pjc->pic", h * width, up_to, parts, optimize=True)
    weights = _rule(up_to.shape[1])[1]
    whole = np.einsum("p,j,pjc->pc", h * width, weights, parts, optimize=True)
    before = np.vstack([np.zeros((1, whole.shape[1])), np.cumsum(whole, axis=0)[:-1]])
    return np.asarray((own + before[:, None]).reshape(values.shape))


def _fields(
    D: Array, C: Array, to_own: Array, h: float, warping: bool, at: Array, panels: tuple[Array, Array]
) -> Array:
    """Motions along the length from those of its start as a whole and its deformations, (g, 7, m)."""
    n = 8 if warping else 6
    forces = np.einsum(
        "kg,kin->gin", _basis(beam.decay_length(D) if warping else 0.0, h, at), _forces(C, h, warping)
    )
    strains = np.einsum("ij,gjn->gin", C, forces)
    if not warping:
        strains[:, 6:] = 0.0
    turned = _integral(strains[:, 3:6], panels, h)
    moved = strains[:, :3].copy()
    moved[:, 0] += turned[:, 1]  # ux' = gamma x + ry
    moved[:, 1] -= turned[:, 0]  # uy' = gamma y - rx
    found = np.zeros((len(at), 7, 6 + n))
    found[:, :6, :6] = np.eye(6)
    found[:, 0, 4], found[:, 1, 3] = h * at, -h * at
    flexibility = beam.flexibility(D, to_own, h, warping).sum(axis=0)
    own = np.concatenate([_integral(moved, panels, h), turned, strains[:, 5:6] - strains[:, 6:7]], axis=1)
    found[:, :, 6:] = np.linalg.solve(flexibility, own.reshape(-1, n).T).T.reshape(own.shape)
    if not warping:
        found[:, 6] = 0.0
    return found


def _forces(C: Array, h: float, warping: bool) -> Array:
    """Section forces of each basis function from the forces of the length, (functions, 8, n)."""
    if warping:
        return beam.with_warping(C, h)[0]
    found = beam.linear_forces(h)[:, :, :6].copy()
    found[:, 6:] = 0.0
    return found


def _basis(decay: float, h: float, at: Array) -> Array:
    """1, t and, with warping, phi, phi1, psi, psi1 (see `beam.gram`) at points, (functions, g)."""
    line = np.stack([np.ones_like(at), at])
    if decay == 0.0:
        return line
    k = h / decay
    away = np.stack([1.0 - at, at])
    low, whole = np.exp(-k * (1.0 - away)), -np.expm1(-2.0 * k)
    sine, cosine = low * -np.expm1(-2.0 * k * away) / whole, low * (1.0 + np.exp(-2.0 * k * away)) / whole
    return np.vstack([line, sine.sum(axis=0), sine[1], cosine[1] - cosine[0], cosine[1]])


def _bubbles(at: Array, degree: int) -> tuple[Array, Array]:
    """Bubbles of degrees 2 to p and their slopes over the length, (g, p - 1) each."""
    values = legendre.legvander(2.0 * at - 1.0, degree)
    k = np.arange(2, degree + 1)
    size = np.sqrt(2.0 * (2.0 * k - 1.0))
    # (P_k - P_(k-2))' = (2 k - 1) P_(k-1), and x runs over twice the length.
    return (values[:, 2:] - values[:, :-2]) / size, 2.0 * (2.0 * k - 1.0) * values[:, 1:-1] / size


def _bubble_stiffness(
    D: Array, C: Array, h: float, count: int, weights: Array, values: Array, slopes: Array
) -> Array:
    """Stiffness of the bubbles, in the order (degree, motion)."""
    if count == 7:
        own = D
    else:  # the secondary torque is released
        own = np.zeros((8, 8))
        own[:6, :6] = np.linalg.inv(C[:6, :6])
    along, across = (
        np.zeros((8, count)),
        np.zeros((8, count)),
    )  # strains from slopes and from the motions themselves
    along[range(6), range(6)] = 1.0
    across[0, 4], across[1, 3] = -1.0, 1.0
    if count == 7:
        along[6, 5], along[7, 6], across[6, 6] = 1.0, 1.0, -1.0
    first, both, second = (
        np.einsum("g,gk,gl->kl", h * weights, a, b)
        for a, b in ((slopes / h, slopes / h), (slopes / h, values), (values, values))
    )
    mixed = np.einsum("kl,mn->kmln", both, along.T @ own @ across)
    K = np.einsum("kl,mn->kmln", first, along.T @ own @ along) + mixed + mixed.transpose(2, 3, 0, 1)
    K += np.einsum("kl,mn->kmln", second, across.T @ own @ across)
    size = count * values.shape[1]
    return np.asarray(K.reshape(size, size))
