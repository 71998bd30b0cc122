"""Kernel: components that hold on one side only, or beyond a gap. Arrays in, arrays out, no checks.

A component that lets go is one with a misfit d that keeps its force at what it can bear:

    q = q0 - P d,       low <= d <= high,       d at low where q is below its limit, at high where it is above, free between

which is the least of 1/2 d'P d - (q0 - limit)'d within the bounds. P is positive, of the rank that balance gives it: along
what balance leaves free, P d is nothing, and a force there that no bound stops is a mechanism. The least is found by
letting one component go or come at a time; the function falls with every step, and where a step has no length the first
component in order goes (Bland), so that nothing is met twice.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from strongback.machine.statics.choose import GAP, independent

__all__ = ["Loose", "Settled", "settle"]

Array = NDArray[np.float64]
NOTHING = 1e-11  # of the forces at work
ROUNDS = 40  # changes of state a component, on average


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Settled:
    """Which components hold.

    Parameters
    ----------
    misfit : ndarray, shape (k,)
    free : ndarray of bool, shape (k,)
        Neither at the lower nor at the upper bound.
    changes : int
        Of state until it settled.
    """

    misfit: Array
    free: NDArray[np.bool_]
    changes: int


class Loose(Exception):
    """A motion that nothing stops.

    Parameters
    ----------
    motion : ndarray, shape (k,)
        Misfits in it.
    """

    def __init__(self, motion: Array) -> None:
        super().__init__("nothing stops this motion")
        self.motion = motion


def settle(
    force: Array, P: Array, states: Array, low: Array, high: Array, start: Array, tiny: Array
) -> Settled | None:
    """Find the state of components with bounds.

    Parameters
    ----------
    force : ndarray, shape (k,)
        Above its limit where positive, with no misfit.
    P : ndarray, shape (k, k)
    states : ndarray, shape (k, r)
        Their forces in the self-stresses, in units of order one: tells the rank of P.
    low, high : ndarray, shape (k,)
    start : ndarray, shape (k,)
        Misfits to begin with, within the bounds.
    tiny : ndarray, shape (k,)
        Forces smaller than these are none.

    Returns
    -------
    Settled or None
        None if it does not settle.

    Raises
    ------
    Loose
        If the machine comes apart.
    """
    d = start.copy()
    free = (d > low) & (d < high)
    changes, stuck = 0, False
    for _ in range(ROUNDS * (len(d) + 1)):
        left = force - P @ d
        if np.any(free) and np.any(np.abs(left[free]) > tiny[free]):
            step, endless = _step(left, P, states, free, tiny)
            length, stop = _reach(d, step, low, high, endless)
            if stop < 0 and endless:
                raise Loose(step)
            d = d + length * step
            stuck = length <= 0.0
            if stop >= 0:
                d[stop] = high[stop] if step[stop] > 0.0 else low[stop]
                free[stop] = False
                changes += 1
            continue
        wrong = np.where(free, 0.0, np.where(d <= low, left, 0.0))
        wrong = np.where(~free & (d >= high), np.maximum(wrong, -left), wrong)
        wrong = np.where(low == high, 0.0, wrong) / tiny
        candidates = np.flatnonzero(wrong > 1.0)
        if len(candidates) == 0:
            return Settled(misfit=d, free=free, changes=changes)
        free[candidates[0] if stuck else int(np.argmax(wrong))] = True
        changes += 1
    return None


def _step(left: Array, P: Array, states: Array, free: NDArray[np.bool_], tiny: Array) -> tuple[Array, bool]:
    """Step that takes the forces off what is free, and whether nothing elastic is in its way."""
    own = np.flatnonzero(free)
    rows = states[own]
    taken, _ = independent(rows, np.ones(len(own)), min(rows.shape))
    step = np.zeros(len(left))
    # What balance leaves free: combinations of misfits that no self-stress resists.
    outside = scipy.linalg.null_space(rows.T, rcond=GAP) if len(taken) else np.eye(len(own))
    if outside.shape[1]:
        along = outside @ (outside.T @ left[own])
        if np.any(np.abs(along) > tiny[own]):
            step[own] = along
            return step, True
    if len(taken):
        chosen = own[taken]
        root = 1.0 / np.sqrt(np.diag(P)[chosen])
        inner = P[np.ix_(chosen, chosen)] * np.outer(root, root)
        step[chosen] = root * np.linalg.solve(inner, root * left[chosen])
    return step, False


def _reach(d: Array, step: Array, low: Array, high: Array, endless: bool) -> tuple[float, int]:
    """How far the step goes until a bound stops it, and which; -1 if none does."""
    with np.errstate(divide="ignore", invalid="ignore"):
        room = np.where(step > 0.0, (high - d) / step, np.where(step < 0.0, (low - d) / step, np.inf))
    stop = int(np.argmin(room))
    if room[stop] < (np.inf if endless else 1.0):
        return max(float(room[stop]), 0.0), stop
    return 1.0, -1
