"""Grading curves, and the mixture of bags that comes nearest to one.

P(d) is the share of the grain volume that passes a sieve of opening d.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from strongback.errors import MixError
from strongback.remedies.fill._checks import above_zero, within
from strongback.remedies.fill.bag import Bag

__all__ = [
    "Bag",
    "BlendFit",
    "Curve",
    "andreasen",
    "blend",
    "dinger_funk",
    "fuller",
    "mean_size",
    "passing_of",
]

Array = NDArray[np.float64]
SUM_WEIGHT = 100.0  # makes the shares add to 1 before they are scaled to it exactly
GOOD = 0.03


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curve:
    """A target grading: P(d) between its smallest and largest grain."""

    name: str
    smallest: float
    largest: float
    passing: Callable[[Array], Array] = field(repr=False)

    def __call__(self, d: Array | float) -> Array:
        """Share passing an opening of `d` [m]."""
        size = np.clip(np.asarray(d, dtype=float), self.smallest, self.largest)
        below = np.asarray(d, dtype=float) < self.smallest
        return np.where(below, 0.0, self.passing(size))


def andreasen(largest: float, q: float) -> Curve:
    """P = (d/D)^q. A. H. M. Andreasen, Kolloid-Zeitschrift 50 (1930) 217; q 0.2 to 0.5.

    Examples
    --------
    >>> round(float(andreasen(4e-3, 0.5)(1e-3)), 3)
    0.5
    """
    _sizes(0.0, largest, q)
    return Curve(
        name=f"Andreasen, q = {q:g}", smallest=0.0, largest=largest, passing=lambda d: (d / largest) ** q
    )


def fuller(largest: float) -> Curve:
    """P = (d/D)^0.5. W. B. Fuller, S. E. Thompson, Trans. ASCE 59 (1907) 67."""
    curve = andreasen(largest, 0.5)
    return Curve(name="Fuller", smallest=0.0, largest=largest, passing=curve.passing)


def dinger_funk(smallest: float, largest: float, q: float = 0.37) -> Curve:
    """P = (d^q - d_min^q)/(D^q - d_min^q). D. R. Dinger, J. E. Funk, Interceram 41 (1992) 332; q 0.2 to 0.37.

    Examples
    --------
    >>> curve = dinger_funk(0.063e-3, 4e-3, 0.37)
    >>> [round(float(curve(d * 1e-3)), 2) for d in (2, 1, 0.5, 0.25, 0.125)]
    [0.71, 0.49, 0.32, 0.18, 0.08]
    """
    _sizes(smallest, largest, q)
    above_zero("smallest grain", smallest, "m")
    low, high = smallest**q, largest**q
    return Curve(
        name=f"Dinger-Funk, q = {q:g}",
        smallest=smallest,
        largest=largest,
        passing=lambda d: (d**q - low) / (high - low),
    )


def _sizes(smallest: float, largest: float, q: float) -> None:
    within("largest grain [m]", largest, 1e-6, 0.2, "check the unit")
    within("exponent q of the grading", q, 0.1, 1.0, "0.2 to 0.5 is usual")
    if smallest >= largest:
        raise MixError(f"smallest grain {smallest * 1e3:g} mm is not below the largest, {largest * 1e3:g} mm")


def passing_of(bag: Bag, d: Array) -> Array:
    """Share of a bag that passes openings; straight between its sieves on a scale of log d."""
    return np.interp(
        np.log(d), np.log(bag.sizes), bag.passing, left=0.0 if bag.passing[0] == 0 else bag.passing[0]
    )


def mean_size(bag: Bag) -> float:
    """Size that half of a bag passes [m]."""
    return float(np.exp(np.interp(0.5, bag.passing, np.log(bag.sizes))))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BlendFit:
    """Bags mixed to a grading curve.

    Parameters
    ----------
    target : Curve
    volume_shares, mass_shares : tuple of (str, float)
        By bag [-].
    sizes, passing, wanted : ndarray
        Openings [m], share passing of the mixture, and of the target [-].
    rms, worst : float
        Difference in share passing, root mean square and largest [-].
    warnings : tuple of str
    """

    target: Curve
    volume_shares: tuple[tuple[str, float], ...]
    mass_shares: tuple[tuple[str, float], ...]
    sizes: Array
    passing: Array
    wanted: Array
    rms: float
    worst: float
    warnings: tuple[str, ...]

    def __repr__(self) -> str:
        parts = ", ".join(f"{name} {share:.0%}" for name, share in self.mass_shares)
        return f"BlendFit({self.target.name}: {parts} by mass; rms {self.rms:.1%} passing)"


def blend(bags: Sequence[Bag], target: Curve) -> BlendFit:
    """Shares of bags whose mixture comes nearest to a grading curve, none negative.

    Parameters
    ----------
    bags : sequence of Bag
    target : Curve

    Returns
    -------
    BlendFit

    Raises
    ------
    MixError
        If there is no bag.
    """
    if not bags:
        raise MixError("no bags to mix")
    d = _openings(bags, target)
    matrix = np.column_stack([passing_of(bag, d) for bag in bags])
    wanted = target(d)
    scale = np.sqrt(len(d))
    rows = np.vstack([matrix / scale, SUM_WEIGHT * np.ones(len(bags))])
    shares, _ = nnls(rows, np.append(wanted / scale, SUM_WEIGHT))
    shares = shares / shares.sum()
    mass = shares * np.array([bag.density for bag in bags])
    mass = mass / mass.sum()
    off = matrix @ shares - wanted
    return BlendFit(
        target=target,
        volume_shares=tuple((bag.name, float(y)) for bag, y in zip(bags, shares, strict=True)),
        mass_shares=tuple((bag.name, float(y)) for bag, y in zip(bags, mass, strict=True)),
        sizes=d,
        passing=matrix @ shares,
        wanted=wanted,
        rms=float(np.sqrt(np.mean(off**2))),
        worst=float(np.abs(off).max()),
        warnings=_warnings(bags, shares, off, d),
    )


def _openings(bags: Sequence[Bag], target: Curve) -> Array:
    low = max(target.smallest, 0.5 * min(bag.sizes[0] for bag in bags))
    return np.geomspace(low, target.largest, 60)


def _warnings(bags: Sequence[Bag], shares: Array, off: Array, d: Array) -> tuple[str, ...]:
    found = []
    if np.sqrt(np.mean(off**2)) > GOOD:
        at = int(np.argmax(np.abs(off)))
        want = "more" if off[at] < 0.0 else "less"
        found.append(
            f"the bags miss the target by {np.abs(off).max():.0%} of passing at {d[at] * 1e3:.2g} mm: "
            f"a bag with {want} grains below that size would help"
        )
    idle = [bag.name for bag, share in zip(bags, shares, strict=True) if share < 1e-3]
    if idle:
        found.append("not needed: " + ", ".join(idle))
    return tuple(found)
