"""Packing of several grain sizes: the ideal limit, and a linear packing model with loosening and wall effect.

Linear packing model: T. Stovall, F. de Larrard, M. Buil, Linear packing density model of grain mixtures, Powder
Technology 48 (1986) 1-12, in the discrete form of F. de Larrard, Concrete Mixture Proportioning (1999), with its
loosening and wall coefficients (formulas and exponents from memory). With sizes in falling order, y_i the share of the
solid volume and beta_i the solid fraction of each size alone,

    gamma_i = beta_i / [1 - sum_{j<i} (1 - beta_i + b_ij beta_i (1 - 1/beta_j)) y_j
                          - sum_{j>i} (1 - a_ij beta_i/beta_j) y_j]

and the mixture packs to the least gamma_i. With beta as measured (not the densest possible) the result is for the same
compaction.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from strongback.errors import MixError
from strongback.remedies.fill._checks import above_zero, within

__all__ = [
    "Packing",
    "best_shares",
    "furnas",
    "furnas_coarse_share",
    "largest_grain",
    "linear_packing",
    "loosening",
    "random_close",
    "wall_effect",
    "wall_void_fraction",
]

Array = NDArray[np.float64]

random_close = 0.64
"""Solid fraction of equal spheres, random and dense: 0.64 ± 0.02, Berryman, Phys. Rev. A 27 (1983)."""


def furnas(beta: float, sizes: int) -> float:
    """Solid fraction of sizes so different that each fills the room left by the one before: 1 - (1 - beta)^n.

    Parameters
    ----------
    beta : float
        Solid fraction of each size alone [-].
    sizes : int

    Returns
    -------
    float
        [-]. C. C. Furnas, Ind. Eng. Chem. 23 (1931) 1052; formula from memory.

    Examples
    --------
    >>> [round(furnas(0.60, n), 2) for n in (1, 2, 3)]
    [0.6, 0.84, 0.94]
    """
    return 1.0 - (1.0 - beta) ** sizes


def furnas_coarse_share(beta: float) -> float:
    """Share of coarse grains, by grain volume, at the ideal limit of two sizes: 1 / (2 - beta).

    Examples
    --------
    >>> round(furnas_coarse_share(0.60), 2)
    0.71
    """
    return 1.0 / (2.0 - beta)


def loosening(ratio: Array) -> Array:
    """Coefficient a of fine grains that push coarse ones apart; ratio fine to coarse, 0 to 1."""
    return np.asarray(np.sqrt(1.0 - (1.0 - ratio) ** 1.02))


def wall_effect(ratio: Array) -> Array:
    """Coefficient b of fine grains that pack loosely against coarse ones; ratio fine to coarse, 0 to 1."""
    return np.asarray(1.0 - (1.0 - ratio) ** 1.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Packing:
    """Solid fraction of a mixture.

    Parameters
    ----------
    solid_fraction : float
    dominant : int
        Index, as given, of the size that limits it.
    ideal : float
        What sizes that do not disturb each other would reach with the same shares [-].
    """

    solid_fraction: float
    dominant: int
    ideal: float

    @property
    def void_fraction(self) -> float:
        """Room left [-]."""
        return 1.0 - self.solid_fraction


def linear_packing(sizes: Sequence[float], betas: Sequence[float], shares: Sequence[float]) -> Packing:
    """Solid fraction of a mixture of sizes.

    Parameters
    ----------
    sizes : sequence of float
        Mean grain size of each [m].
    betas : sequence of float
        Solid fraction of each alone, 1 - its void fraction [-].
    shares : sequence of float
        Of the solid volume; made to add to 1.

    Returns
    -------
    Packing

    Raises
    ------
    MixError
        If the lists differ in length or hold an impossible value.

    Examples
    --------
    >>> round(linear_packing([4e-3, 4e-3], [0.6, 0.6], [0.5, 0.5]).solid_fraction, 6)
    0.6
    """
    d, beta, y = _checked(sizes, betas, shares)
    order = np.argsort(-d, kind="stable")
    gamma = _gammas(d[order], beta[order], y[order])
    bare = _gammas_ideal(beta[order], y[order])
    least = int(np.argmin(gamma))
    return Packing(
        solid_fraction=float(gamma[least]), dominant=int(order[least]), ideal=float(min(bare.min(), 1.0))
    )


def _checked(
    sizes: Sequence[float], betas: Sequence[float], shares: Sequence[float]
) -> tuple[Array, Array, Array]:
    if not len(sizes) == len(betas) == len(shares) or not sizes:
        raise MixError("sizes, solid fractions and shares differ in number")
    for d, beta, share in zip(sizes, betas, shares, strict=True):
        above_zero("grain size", d, "m")
        within("solid fraction", beta, 0.3, 0.95, "1 minus the void fraction of that size alone")
        within("share", share, 0.0, np.inf)
    y = np.asarray(shares, dtype=float)
    if y.sum() <= 0.0:
        raise MixError("all shares are zero")
    return np.asarray(sizes, dtype=float), np.asarray(betas, dtype=float), y / y.sum()


def _gammas(d: Array, beta: Array, y: Array) -> Array:
    """Solid fraction that each size would allow; sizes in falling order, (sizes,)."""
    ratio = np.minimum(d[:, None], d[None, :]) / np.maximum(d[:, None], d[None, :])
    a, b = loosening(ratio), wall_effect(ratio)
    bi, bj = beta[:, None], beta[None, :]
    coarser = 1.0 - bi + b * bi * (1.0 - 1.0 / bj)
    finer = 1.0 - a * bi / bj
    index = np.arange(len(d))
    taken = np.where(index[None, :] < index[:, None], coarser, finer)
    np.fill_diagonal(taken, 0.0)
    rest = 1.0 - taken @ y
    return np.where(rest > beta, beta / np.maximum(rest, 1e-12), 1.0)


def _gammas_ideal(beta: Array, y: Array) -> Array:
    """The same with sizes so different that neither effect acts."""
    index = np.arange(len(beta))
    taken = np.where(index[None, :] < index[:, None], 1.0 - beta[:, None], 1.0)
    np.fill_diagonal(taken, 0.0)
    rest = 1.0 - taken @ y
    return np.where(rest > beta, beta / np.maximum(rest, 1e-12), 1.0)


def best_shares(sizes: Sequence[float], betas: Sequence[float]) -> tuple[Array, Packing]:
    """Shares that pack densest by the linear packing model.

    Parameters
    ----------
    sizes, betas : sequence of float
        As in `linear_packing`.

    Returns
    -------
    shares : ndarray, shape (sizes,)
        Of the solid volume [-].
    packing : Packing
    """
    n = len(sizes)
    d, beta, _ = _checked(sizes, betas, np.ones(n).tolist())
    order = np.argsort(-d, kind="stable")

    def room(y: Array) -> float:
        return -float(np.min(_gammas(d[order], beta[order], y / y.sum())))

    # The least of smooth functions has edges: several starts and a method without derivatives.
    best: Array = np.full(n, 1.0 / n)
    for start in (np.full(n, 1.0 / n), 0.6 ** np.arange(n), np.eye(n)[int(np.argmax(beta[order]))] + 0.05):
        found = minimize(
            lambda x: room(np.exp(x - x.max())),
            np.log(start),
            method="Nelder-Mead",
            options={"xatol": 1e-6, "fatol": 1e-9, "maxiter": 4000},
        )
        y = np.exp(found.x - found.x.max())
        if room(y) < room(best):
            best = y / y.sum()
    shares = np.empty(n)
    shares[order] = best / best.sum()
    return shares, linear_packing(sizes, betas, shares.tolist())


def largest_grain(narrowest_gap: float, clear_space: float | None = None) -> float:
    """Largest grain that can be poured: a fifth of the narrowest gap, a third of the clear space at a sleeve.

    Parameters
    ----------
    narrowest_gap : float
        Between walls [m].
    clear_space : float, optional
        Between a web and a sleeve [m].

    Returns
    -------
    float
        [m]. Common practice, no source.
    """
    above_zero("narrowest gap", narrowest_gap, "m")
    limit = narrowest_gap / 5.0
    return limit if clear_space is None else min(limit, above_zero("clear space", clear_space, "m") / 3.0)


def wall_void_fraction(void: float, grain: float, volume: float, surface: float) -> float:
    """Void fraction in a cavity whose walls loosen the packing over half a grain diameter.

    In that layer the solid fraction is taken as half of that inside.

    Parameters
    ----------
    void : float
        Of the grains in the open [-].
    grain : float
        Size of the coarsest grains [m].
    volume, surface : float
        Of the cavity [m³, m²].

    Returns
    -------
    float
        [-]. Common practice, no source.
    """
    layer = min(1.0, 0.5 * grain * surface / volume)
    return 1.0 - (1.0 - void) * (1.0 - 0.5 * layer)
