"""Speed of joint variants beside a reference of the same size, in turns: a rank-r update by Cholesky, many at once."""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from machines import small_mill
from oracle import package

from strongback.machine.values import COMPONENTS, Joint, Machine

COUNT = 50_000
TURNS = 5
NO_SLOWER = 0.6  # of the bare reference; what checks and shapes may cost


def with_braces(machine: Machine, count: int) -> Machine:
    """More ways for the forces: springs along one line each, from the bed to column and arm."""
    rng = np.random.default_rng(1)
    braces = []
    for k in range(count):
        axes, _ = np.linalg.qr(rng.normal(size=(3, 3)))
        at = (float(rng.uniform(-0.1, 0.1)), float(rng.uniform(-0.1, 0.1)), float(rng.uniform(0.1, 0.45)))
        rows = tuple((float(a), float(b), float(c)) for a, b, c in axes)
        stiffness = (float(10 ** rng.uniform(6, 7)), 0.0, 0.0, 0.0, 0.0, 0.0)
        joint = Joint(
            name=f"brace {k}",
            parts=("bed", "column"),
            at=at,
            stiffness=stiffness,
            axes=(rows[0], rows[1], rows[2]),
        )
        braces.append(joint)
    return replace(machine, joints=(*machine.joints, *braces))


def components(machine: Machine, count: int) -> list[tuple[str, str]]:
    """Feet and braces first, then the joints that balance alone loads."""
    last = ("base joint", "head joint")
    holders = sorted(machine.holders(), key=lambda h: h[1].name in last)
    every = [
        (h.name, c)
        for _, h in holders
        for c, k in zip(COMPONENTS, h.stiffness, strict=True)
        if 0 < k < np.inf
    ]
    return every[:count]


def reference(
    stiffness: np.ndarray, base: np.ndarray, U: np.ndarray, p: np.ndarray, q: np.ndarray
) -> np.ndarray:
    """r0 + p'dC q - p'dC U (I + U'dC U)⁻¹ U'dC q for many diagonal dC (Woodbury), Cholesky of all in step."""
    n, r = U.shape
    if not np.all(stiffness > 0.0):
        raise ValueError("a stiffness is not above 0")
    change = np.maximum(1.0 / stiffness - base, 0.0)
    pairs = (U[:, :, None] * U[:, None, :]).reshape(n, r * r)
    found = change @ (p * q)
    for first in range(0, len(change), 512):
        dC = change[first : first + 512]
        A = np.ascontiguousarray((dC @ pairs).T).reshape(r, r, -1)
        A[range(r), range(r)] += 1.0
        left, right = (np.ascontiguousarray((dC @ (v[:, None] * U)).T) for v in (p, q))
        for j in range(r):
            inverse = 1.0 / np.sqrt(A[j, j])
            column = A[j + 1 :, j] * inverse
            left[j] *= inverse
            right[j] *= inverse
            for i in range(j + 1, r):
                A[i, j + 1 : i + 1] -= column[i - j - 1] * column[: i - j]
            left[j + 1 :] -= column * left[j]
            right[j + 1 :] -= column * right[j]
        found[first : first + 512] -= np.einsum("rn,rn->n", left, right)
    return found


def in_turns(one: Callable[[], Any], other: Callable[[], Any]) -> tuple[float, float]:
    """Median seconds of two calls, taken in turns after one of each that is not counted."""
    taken: tuple[list[float], list[float]] = ([], [])
    for turn in range(TURNS + 1):
        for times, call in zip(taken, (one, other), strict=True):
            start = time.perf_counter()
            call()
            if turn:
                times.append(time.perf_counter() - start)
    return statistics.median(taken[0]), statistics.median(taken[1])


def measure() -> list[dict[str, Any]]:
    """Variants a second, and how many times the reference's speed that is."""
    rows = []
    for machine, count, r, target in (
        (small_mill(), 12, 3, 1e6),
        (with_braces(small_mill(), 15), 32, 18, 2e5),
    ):
        names = components(machine, count)
        variants, nominal = package.variants(machine, names)
        rng = np.random.default_rng(0)
        stiffness = nominal * 10 ** rng.uniform(-1, 1, (COUNT, count))
        U, p, q = rng.normal(size=(count, r)), rng.normal(size=count), rng.normal(size=count)
        base = 1e-3 / nominal
        mine, plain = in_turns(lambda: variants(stiffness), lambda: reference(stiffness, base, U, p, q))  # noqa: B023
        what = f"joint variants, {count} components, r = {r}, one response"
        rows.append(_row(f"{what}: a second", COUNT / mine, "1/s", target))
        rows.append(_row(f"{what}: times the rank-r update", plain / mine, "-", NO_SLOWER))
    return rows


def _row(name: str, value: float, unit: str, target: float) -> dict[str, Any]:
    return {"name": name, "value": value, "unit": unit, "target": target, "met": bool(value >= target)}


if __name__ == "__main__":
    for row in measure():
        print(
            f"{row['name']:<75} {row['value']:>12,.4g} {row['unit']:<4} target {row['target']:,g}: {row['met']}"
        )
