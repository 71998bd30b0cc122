"""Points of a sweep: grids, Latin hypercubes and Sobol' sequences, and designs for variance-based sensitivities."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from strongback import checks
from strongback.errors import LimitError

__all__ = ["METHODS", "Method", "Sensitivity", "Variable", "points", "saltelli", "sensitivities"]

Array = NDArray[np.float64]
Method: TypeAlias = Literal["sobol", "hypercube", "grid"]
METHODS: tuple[Method, ...] = ("sobol", "hypercube", "grid")
MOST_POINTS = 200_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Variable:
    """A number that varies.

    Parameters
    ----------
    name : str
        Where it stands.
    low, high : float
        SI, or in the unit of its file; `low` below `high`.
    log : bool
        Whether its logarithm is spread evenly, as for stiffnesses.
    """

    name: str
    low: float
    high: float
    log: bool = False

    def __post_init__(self) -> None:
        where = f'sweep of "{self.name}"'
        low = checks.number(where, "low", self.low)
        high = checks.number(where, "high", self.high)
        if not low < high:
            raise LimitError(
                f"{where}: from {low:g} to {high:g} is no range", hint="give a lower and a higher value"
            )
        if self.log and not low > 0.0:
            raise LimitError(f"{where}: {low:g} has no logarithm", hint="give values above 0")

    def at(self, share: Array) -> Array:
        """Values at shares of its range, 0 to 1."""
        if self.log:
            return np.asarray(np.exp(np.log(self.low) + share * (np.log(self.high) - np.log(self.low))))
        return np.asarray(self.low + share * (self.high - self.low))


def points(variables: tuple[Variable, ...], method: Method, count: int, seed: int = 0) -> Array:
    """Points of a sweep, (points, variables).

    Parameters
    ----------
    variables : tuple of Variable
    method : {"sobol", "hypercube", "grid"}
        A scrambled Sobol' sequence, a Latin hypercube, or all combinations of as many steps of every variable.
    count : int
        Of a grid, the steps of each variable.
    seed : int

    Returns
    -------
    ndarray
        The same for the same seed, and its first points the same for any count of a sequence.

    Raises
    ------
    LimitError
        If there is no variable, or there would be no point or too many.

    Examples
    --------
    >>> points((Variable(name="a", low=0.0, high=2.0), Variable(name="b", low=1.0, high=3.0)), "grid", 3)[:4].tolist()
    [[0.0, 1.0], [0.0, 2.0], [0.0, 3.0], [1.0, 1.0]]
    """
    if not variables:
        raise LimitError("nothing varies", hint="name a number and its range")
    whole = count ** len(variables) if method == "grid" else count
    if count < 1 or whole > MOST_POINTS:
        raise LimitError(f"{whole:,} points cannot be swept", hint=f"ask for 1 to {MOST_POINTS:,}")
    return _placed(variables, _shares(len(variables), method, count, seed))


def _placed(variables: tuple[Variable, ...], shares: Array) -> Array:
    return np.column_stack([v.at(shares[:, i]) for i, v in enumerate(variables)])


def _shares(dimensions: int, method: Method, count: int, seed: int) -> Array:
    if method == "grid":
        steps = np.linspace(0.0, 1.0, count) if count > 1 else np.array([0.5])
        return np.stack(np.meshgrid(*[steps] * dimensions, indexing="ij"), axis=-1).reshape(-1, dimensions)
    if method == "hypercube":
        return np.asarray(qmc.LatinHypercube(dimensions, rng=np.random.default_rng(seed)).random(count))
    whole = 1 << max(count - 1, 0).bit_length()  # a sequence is balanced in powers of two
    return np.asarray(qmc.Sobol(dimensions, rng=np.random.default_rng(seed)).random(whole)[:count])


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """Share of the variance of a response that a variable causes.

    Parameters
    ----------
    variable, response : str
    first : float
        By itself [-].
    total : float
        With all that it does together with others [-].
    """

    variable: str
    response: str
    first: float
    total: float


def saltelli(variables: tuple[Variable, ...], count: int, seed: int = 0) -> Array:
    """Points for variance-based sensitivities: A, B, and A with a column of B each, (count * (variables + 2), variables).

    Saltelli et al., Comput. Phys. Commun. 181 (2010) 259.

    Parameters
    ----------
    variables : tuple of Variable
    count : int
        A power of two.
    seed : int
    """
    if count < 2 or count & (count - 1):
        raise LimitError(f"{count} points: sensitivities need a power of two", hint="such as 1024")
    d = len(variables)
    both = _shares(2 * d, "sobol", count, seed)
    A, B = both[:, :d], both[:, d:]
    mixed = []
    for i in range(d):
        AB = A.copy()
        AB[:, i] = B[:, i]
        mixed.append(AB)
    return _placed(variables, np.vstack([A, B, *mixed]))


def sensitivities(
    variables: tuple[Variable, ...], responses: tuple[str, ...], values: Array
) -> tuple[Sensitivity, ...]:
    """Sensitivities from the responses at the points of `saltelli`.

    Parameters
    ----------
    variables : tuple of Variable
    responses : tuple of str
    values : ndarray, shape (count * (variables + 2), responses)

    Returns
    -------
    tuple of Sensitivity
        Estimators of Saltelli et al. 2010 (first) and Jansen 1999 (total).
    """
    d = len(variables)
    count = len(values) // (d + 2)
    A, B = values[:count], values[count : 2 * count]
    centre = values[: 2 * count].mean(axis=0)
    variance = np.maximum(values[: 2 * count].var(axis=0), 1e-300)
    found = []
    for i, variable in enumerate(variables):
        AB = values[(2 + i) * count : (3 + i) * count]
        first = ((B - centre) * (AB - A)).mean(axis=0) / variance
        total = 0.5 * ((A - AB) ** 2).mean(axis=0) / variance
        found += [
            Sensitivity(variable=variable.name, response=name, first=float(first[k]), total=float(total[k]))
            for k, name in enumerate(responses)
        ]
    return tuple(found)
