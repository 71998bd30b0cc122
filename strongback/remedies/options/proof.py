"""The best set of options, proved over all subsets by branch and bound. Numbers in, sets out: nothing here knows machines.

Compliance under a load f is the largest of 2 f'u - u'K u over all motions u: what stiffens can only lower it. So for a node
with a chosen set S and open options R every completion has a compliance between those of S with all of R and of S alone.
For a reading r that is not along the load, with A and B the compliances at S and at S with R and G = A - B,

    r'Bf + (r'Gf -+ sqrt(r'Gr f'Gf)) / 2

bounds all that lies between, from both sides. A node is dropped when the bound misses a limit or its cost reaches the best.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from strongback.errors import LimitError

__all__ = ["Best", "Problem", "best_set", "enumerated", "nearest_set"]

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Evaluate = Callable[[Mask], Array]
BATCH = 1024
CAP = 20.0  # [s]
SAME = 1e-12  # of a cost or a limit: nearer is equal


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Problem:
    """Options, what they cost, and what is asked of a set of them.

    Parameters
    ----------
    names : tuple of str
    cost, mass : ndarray, shape (options,)
        The least that each adds, shared hours left out: costs >= 0, masses of any sign [kg].
    evaluate : callable
        From sets (n, options) to r'A f, r'A r and f'A f of every target, (n, targets, 3) [m].
    limits : ndarray, shape (targets,)
        Largest size of each reading [m].
    direct : ndarray of bool, shape (targets,)
        Whether the reading is the load times a number above 0, its counterforce included.
    most_mass, most_cost : float
        Limits of the whole set; infinite for none.
    excludes : tuple of (int, int)
        Options that are not chosen together; a set with both may yet be evaluated, for a bound, and is stiffer than each.
    dominates : tuple of (int, int)
        First better than second in everything: without the first the second is not chosen either.
    """

    names: tuple[str, ...]
    cost: Array
    mass: Array
    evaluate: Evaluate
    limits: Array
    direct: Mask
    most_mass: float = np.inf
    most_cost: float = np.inf
    excludes: tuple[tuple[int, int], ...] = ()
    dominates: tuple[tuple[int, int], ...] = ()

    def __post_init__(self) -> None:
        if not (np.all(self.cost >= 0.0) and np.all(np.isfinite(self.mass))):
            raise LimitError("costs of options must be 0 or more, and masses finite numbers")
        if not np.all(self.limits > 0.0):
            raise LimitError("a target must be above 0")


@dataclass(frozen=True, slots=True, kw_only=True)
class Best:
    """The best set of options, and how far that is proved.

    Parameters
    ----------
    names : tuple of str
        Empty where doing nothing is enough, or nothing meets the targets (see `meets`).
    values : tuple of float
        Readings with that set [m].
    cost, mass : float
    meets : bool
        Whether the set meets every limit.
    proved : bool
        Whether no other subset is better.
    nodes : int
        Nodes looked at.
    floor : float
        No set that meets the limits costs less: the cost itself where proved.
    seconds : float
    """

    names: tuple[str, ...]
    values: tuple[float, ...]
    cost: float
    mass: float
    meets: bool
    proved: bool
    nodes: int
    floor: float
    seconds: float = field(compare=False)


@dataclass(slots=True)
class _Found:
    """The best set so far."""

    mask: Mask | None = None
    key: tuple[float, float, tuple[str, ...]] = (np.inf, np.inf, ())

    def offer(self, mask: Mask, key: tuple[float, float, tuple[str, ...]]) -> None:
        if self.mask is None or _before(key, self.key):
            self.mask, self.key = mask.copy(), key


def _before(one: tuple[float, float, tuple[str, ...]], two: tuple[float, float, tuple[str, ...]]) -> bool:
    """Ties: cost, then the worst ratio to its limit, then names."""
    for a, b in zip(one[:2], two[:2], strict=True):
        if a != b and (np.isinf(a) or np.isinf(b) or abs(a - b) > SAME * max(abs(a), abs(b))):
            return a < b
    return one[2] < two[2]


def best_set(problem: Problem, *, cap: float = CAP, start: Best | None = None) -> Best:
    """The least costly set that meets every limit.

    Parameters
    ----------
    problem : Problem
    cap : float
        Longest search [s]; past it the best found is given, not proved, with the floor that is.
    start : Best, optional
        Of another problem with the same limits, such as another geometry: only what costs less is looked for.

    Returns
    -------
    Best
        Of `start` where nothing is better.

    Examples
    --------
    Two springs in series, each of which an option stiffens:

    >>> import numpy as np
    >>> def two(sets):
    ...     c = 1.0 / np.where(sets[:, 0], 3.0, 1.0) + 1.0 / np.where(sets[:, 1], 2.0, 1.0)
    ...     return np.repeat(c[:, None, None], 3, axis=2)
    >>> asked = Problem(
    ...     names=("first", "second"), cost=np.array([5.0, 4.0]), mass=np.zeros(2), evaluate=two,
    ...     limits=np.array([1.4]), direct=np.array([True]),
    ... )
    >>> found = best_set(asked)
    >>> found.names, found.cost, found.proved
    (('first',), 5.0, True)
    """
    return _search(problem, cap, start, by_cost=True)


def nearest_set(problem: Problem, *, cap: float = CAP) -> Best:
    """The set within the limits of mass and cost that comes nearest to the targets: least of the worst ratio to its limit.

    Parameters
    ----------
    problem : Problem
    cap : float
        [s]

    Returns
    -------
    Best
        Its floor is the least ratio of any set [-].
    """
    return _search(problem, cap, None, by_cost=False)


def enumerated(problem: Problem, *, by_cost: bool = True) -> Best:
    """As `best_set` or `nearest_set`, by looking at every subset: for at most 20 options.

    Raises
    ------
    LimitError
        If there are more.
    """
    n = len(problem.names)
    if n > 20:
        raise LimitError(f"{n} options have too many subsets to look at each")
    began = time.perf_counter()
    found = _Found()
    for first in range(0, 1 << n, 1 << 14):
        codes = np.arange(first, min(first + (1 << 14), 1 << n))
        sets = (codes[:, None] >> np.arange(n)) & 1 == 1
        sets = sets[_allowed(problem, sets)]
        ratio = _ratio(problem, problem.evaluate(sets))
        _offer(problem, found, sets, ratio, by_cost)
    return _made(problem, found, by_cost, proved=True, nodes=1 << n, floor=found.key[0], began=began)


def _allowed(problem: Problem, sets: Mask) -> Mask:
    good = sets @ problem.mass <= problem.most_mass * (1.0 + SAME)
    good &= sets @ problem.cost <= problem.most_cost * (1.0 + SAME)
    for i, j in problem.excludes:
        good &= ~(sets[:, i] & sets[:, j])
    return np.asarray(good)


def _ratio(problem: Problem, values: Array) -> Array:
    """Worst reading over its limit, (n,)."""
    return np.asarray((np.abs(values[:, :, 0]) / problem.limits).max(axis=1))


def _offer(problem: Problem, found: _Found, sets: Mask, ratio: Array, by_cost: bool) -> None:
    """Offer the best of some sets."""
    cost = sets @ problem.cost
    if by_cost:
        keep = ratio <= 1.0 + SAME
        sets, ratio, cost = sets[keep], ratio[keep], cost[keep]
        keys = (cost, ratio)
    else:
        keys = (ratio, cost)
    if not len(sets):
        return
    close = keys[0] <= keys[0].min() * (1.0 + 2.0 * SAME)
    close &= keys[0] <= found.key[0] * (1.0 + SAME) if np.isfinite(found.key[0]) else True
    for i in np.flatnonzero(close):
        names = tuple(n for n, on in zip(problem.names, sets[i], strict=True) if on)
        found.offer(sets[i], (float(keys[0][i]), float(keys[1][i]), names))


def _order(problem: Problem) -> NDArray[np.int64]:
    """Options by what they gain alone and what is lost without them, largest first."""
    n = len(problem.names)
    none, each = np.zeros((1, n), dtype=bool), np.eye(n, dtype=bool)
    sets = np.vstack([none, ~none, each, ~each])
    values = np.abs(problem.evaluate(sets)[:, :, 0]) / problem.limits
    gain = (values[0] - values[2 : 2 + n]) + (values[2 + n :] - values[1])
    return np.argsort(-gain.max(axis=1), kind="stable")


def _greedy(problem: Problem, found: _Found, by_cost: bool) -> None:
    """A first good set: most per euro, then without what is not needed."""
    n = len(problem.names)
    mask = np.zeros(n, dtype=bool)
    ratio = float(_ratio(problem, problem.evaluate(mask[None]))[0])
    _offer(problem, found, mask[None], np.array([ratio]), by_cost)
    while not by_cost or ratio > 1.0:
        tries = np.flatnonzero(~mask)
        sets = np.repeat(mask[None], len(tries), axis=0)
        sets[np.arange(len(tries)), tries] = True
        good = _allowed(problem, sets)
        if not good.any():
            break
        sets, tries = sets[good], tries[good]
        found_ratio = _ratio(problem, problem.evaluate(sets))
        worth = (
            (ratio - found_ratio) / np.maximum(problem.cost[tries], 1e-9) if by_cost else ratio - found_ratio
        )
        pick = int(np.argmax(worth))
        if not worth[pick] > 0.0:
            break
        mask, ratio = sets[pick], float(found_ratio[pick])
        _offer(problem, found, mask[None], np.array([ratio]), by_cost)
    if by_cost and ratio <= 1.0:
        for i in sorted(np.flatnonzero(mask), key=lambda k: -problem.cost[k]):
            less = mask.copy()
            less[i] = False
            if _allowed(problem, less[None])[0]:
                own = float(_ratio(problem, problem.evaluate(less[None]))[0])
                if own <= 1.0:
                    mask = less
                    _offer(problem, found, mask[None], np.array([own]), by_cost)


def _lowest(problem: Problem, alone: Array, most: Array) -> Array:
    """Least ratio to its limit that any completion can reach, worst of the targets, (n,)."""
    reading = most[:, :, 0]
    G = alone - most
    spread = np.sqrt(np.maximum(G[:, :, 1], 0.0) * np.maximum(G[:, :, 2], 0.0))
    low = reading + 0.5 * (G[:, :, 0] - spread)
    high = reading + 0.5 * (G[:, :, 0] + spread)
    least = np.where((low <= 0.0) & (high >= 0.0), 0.0, np.minimum(np.abs(low), np.abs(high)))
    least = np.where(problem.direct, np.abs(reading), least)
    return np.asarray((least / problem.limits).max(axis=1))


def _search(problem: Problem, cap: float, start: Best | None, *, by_cost: bool) -> Best:
    began = time.perf_counter()
    n = len(problem.names)
    found = _Found()
    if start is not None and start.meets:
        found.key = (start.cost, np.inf, ())
    _greedy(problem, found, by_cost)
    order = _order(problem) if n else np.zeros(0, dtype=np.int64)
    excluded = np.zeros((n, n), dtype=bool)
    for i, j in problem.excludes:
        excluded[i, j] = excluded[j, i] = True
    worse = np.zeros((n, n), dtype=bool)
    for i, j in problem.dominates:
        worse[i, j] = True
    lighter = np.minimum(problem.mass, 0.0)
    sets, open_ = np.zeros((1, n), dtype=bool), np.ones((1, n), dtype=bool)
    known = problem.evaluate(sets)
    nodes, proved = 0, True
    while len(sets):
        if time.perf_counter() - began > cap:
            proved = False
            break
        batch = slice(max(len(sets) - BATCH, 0), None)
        S, R, alone = sets[batch], open_[batch].copy(), known[batch]
        sets, open_, known = sets[: batch.start], open_[: batch.start], known[: batch.start]
        nodes += len(S)
        R, live = _fitting(problem, S, R, alone, lighter, found, by_cost)
        S, R, alone = S[live], R[live], alone[live]
        if not len(S):
            continue
        bound = _lowest(problem, alone, problem.evaluate(S | R))
        live = bound <= (1.0 + SAME if by_cost else found.key[0] * (1.0 - SAME))
        live &= R.any(axis=1)
        S, R, alone = S[live], R[live], alone[live]
        if not len(S):
            continue
        pick = order[np.argmax(R[:, order], axis=1)]
        rows = np.arange(len(S))
        with_it = S.copy()
        with_it[rows, pick] = True
        left = R.copy()
        left[rows, pick] = False
        taken = problem.evaluate(with_it)
        good = _allowed(problem, with_it)
        _offer(problem, found, with_it[good], _ratio(problem, taken)[good], by_cost)
        # A set of too much mass stays open while something that takes mass away is.
        sets = np.vstack([sets, S, with_it])
        open_ = np.vstack([open_, left & ~worse[pick], left & ~excluded[pick]])
        known = np.concatenate([known, alone, taken])
    floor = found.key[0]
    if not proved:
        cheapest = sets @ problem.cost + np.where(open_, problem.cost, np.inf).min(axis=1, initial=np.inf)
        floor = min(floor, float(cheapest.min(initial=np.inf))) if by_cost else 0.0
    if found.mask is None and start is not None:
        return start
    return _made(problem, found, by_cost, proved=proved, nodes=nodes, floor=floor, began=began)


def _fitting(
    problem: Problem, S: Mask, R: Mask, alone: Array, lighter: Array, found: _Found, by_cost: bool
) -> tuple[Mask, Mask]:
    """Open options that still fit singly in money and mass, and the nodes that are worth going on with."""
    cost, mass = S @ problem.cost, S @ problem.mass
    most = np.full(len(S), problem.most_cost)
    meets = _ratio(problem, alone) <= 1.0
    if by_cost:
        most = np.minimum(most, found.key[0])
    room = np.minimum(most * (1.0 + SAME), np.inf) - cost
    R = R & (problem.cost[None] <= room[:, None])
    less = R @ lighter  # what open options may take away
    spare = problem.most_mass * (1.0 + SAME) - mass - less
    R &= (problem.mass - lighter)[None] <= spare[:, None]
    live = (room >= 0.0) & (spare >= 0.0)
    if by_cost:
        # A set that meets all can only get dearer; what costs nothing may yet make it better.
        enough = meets & (mass <= problem.most_mass * (1.0 + SAME))
        R &= ~enough[:, None] | (problem.cost <= 0.0)[None]
    return R, live


def _made(
    problem: Problem, found: _Found, by_cost: bool, *, proved: bool, nodes: int, floor: float, began: float
) -> Best:
    mask = np.zeros(len(problem.names), dtype=bool) if found.mask is None else found.mask
    values = problem.evaluate(mask[None])
    return Best(
        names=tuple(name for name, on in zip(problem.names, mask, strict=True) if on),
        values=tuple(float(v) for v in values[0, :, 0]),
        cost=float(mask @ problem.cost),
        mass=float(mask @ problem.mass),
        meets=bool(_ratio(problem, values)[0] <= 1.0 + SAME and _allowed(problem, mask[None])[0]),
        proved=proved,
        nodes=nodes,
        floor=float(floor),
        seconds=time.perf_counter() - began,
    )
