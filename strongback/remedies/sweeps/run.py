"""Run a sweep: blocks out to an engine, results back into the store, each block once, whoever dies in between."""

from __future__ import annotations

import concurrent.futures as futures
import time
from collections.abc import Callable, Iterator
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from strongback.errors import EnvironmentFault, StrongbackError
from strongback.remedies.sweeps.engine import Engine, executor
from strongback.remedies.sweeps.store import Store

__all__ = ["Block", "Progress", "blocks_of", "run"]

Array = NDArray[np.float64]
Progress: TypeAlias = Callable[[float, str], None]
TRIES = 2  # of a block with whom a worker died, the last one alone
AHEAD = 2  # blocks handed out for every worker: the parent's memory does not grow with the sweep


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Block:
    """Points that are solved and kept as one.

    Parameters
    ----------
    number, first : int
    x : ndarray, shape (points, variables)
    """

    number: int
    first: int
    x: Array


def blocks_of(x: Array, size: int) -> list[Block]:
    """Points in blocks; their borders depend on the sweep alone, not on who solves it.

    Parameters
    ----------
    x : ndarray, shape (points, variables)
    size : int
    """
    return [
        Block(number=k, first=first, x=x[first : first + size])
        for k, first in enumerate(range(0, len(x), size))
    ]


def run(
    task: Callable[..., Array],
    given: tuple[Any, ...],
    blocks: list[Block],
    store: Store,
    *,
    engine: Engine = "serial",
    workers: int = 1,
    scheduler: str = "",
    progress: Progress | None = None,
) -> None:
    """Solve what the store does not hold yet.

    Parameters
    ----------
    task : callable
        From `given` and points (n, variables) to responses (n, responses); of a module, so that a worker finds it.
    given : tuple
        What every block needs.
    blocks : list of Block
    store : Store
    engine, workers, scheduler
        As in `executor`.
    progress : callable, optional
        Called with the fraction done and the time that is left.

    Raises
    ------
    EnvironmentFault
        If the store cannot be written or the engine cannot be started. What is in the store stays.
    """
    there = store.done()
    left = [block for block in blocks if block.number not in there]
    began, whole = time.monotonic(), len(left)
    told = progress or _quiet
    tries: dict[int, int] = {}
    while left:
        alone = any(tries.get(block.number, 0) >= TRIES - 1 for block in left[:1])
        try:
            with executor(engine, workers, scheduler) as pool:
                for block, y, error in _solved(pool, task, given, left[:1] if alone else left, workers):
                    store.write(block.number, block.first, block.x, y, error)
                    there.add(block.number)
                    told(*_said(began, whole, whole - sum(b.number not in there for b in left)))
        except _Died as death:
            if alone:
                _refuse_dead(engine, workers, scheduler)
            for block in death.blocks:
                tries[block.number] = tries.get(block.number, 0) + 1
                if tries[block.number] >= TRIES and alone:
                    store.write(
                        block.number, block.first, block.x, _nothing(store, block), "the worker died of it"
                    )
                    there.add(block.number)
        left = [block for block in left if block.number not in there]
        left.sort(key=lambda b: -tries.get(b.number, 0))  # suspects first, one by one


def _refuse_dead(engine: Engine, workers: int, scheduler: str) -> None:
    """Tell a point that kills from workers that cannot even start: then no point is to blame."""
    try:
        with executor(engine, min(workers, 1), scheduler) as pool:
            pool.submit(int).result()
    except BrokenProcessPool:
        raise EnvironmentFault(
            "the workers die as soon as they start",
            hint="a script that starts them needs 'if __name__ == \"__main__\":' around its own work, and may not be moved",
        ) from None


def _quiet(fraction: float, what: str) -> None:
    """No progress."""


def _said(began: float, whole: int, done: int) -> tuple[float, str]:
    share = done / max(whole, 1)
    rest = (time.monotonic() - began) * (1.0 - share) / max(share, 1e-9)
    return share, f"block {done} of {whole}, {rest:.0f} s left"


def _nothing(store: Store, block: Block) -> Array:
    return np.full((len(block.x), len(store.responses)), np.nan)


class _Died(Exception):
    """Workers died while some blocks were out."""

    def __init__(self, blocks: list[Block]) -> None:
        self.blocks = blocks


def _solved(
    pool: futures.Executor,
    task: Callable[..., Array],
    given: tuple[Any, ...],
    blocks: list[Block],
    workers: int,
) -> Iterator[tuple[Block, Array, str]]:
    """Blocks as they are done; never more of them out than the workers need."""
    waiting = iter(blocks)
    out: dict[futures.Future[Any], Block] = {}
    while True:
        try:
            while len(out) < AHEAD * max(workers, 1) and (block := next(waiting, None)) is not None:
                out[pool.submit(_guarded, task, given, block.x)] = block
        except BrokenProcessPool:
            raise _Died([block, *out.values()] if block is not None else list(out.values())) from None
        if not out:
            return
        done, _ = futures.wait(out, return_when=futures.FIRST_COMPLETED)
        for future in done:
            block = out[future]
            try:
                y, error = future.result()
            except Exception as death:
                if isinstance(death, BrokenProcessPool) or type(death).__name__ == "KilledWorker":
                    raise _Died(list(out.values())) from None
                raise
            del out[future]
            yield block, y, error


def _guarded(task: Callable[..., Array], given: tuple[Any, ...], x: Array) -> tuple[Array, str]:
    """Responses, or why there are none: a point that cannot be solved stops nothing."""
    try:
        return np.asarray(task(*given, x), dtype=np.float64), ""
    except (StrongbackError, ArithmeticError, ValueError) as error:
        words = error.message if isinstance(error, StrongbackError) else str(error)
        return np.full((len(x), task_width(given)), np.nan), f"{type(error).__name__}: {words}"


def task_width(given: tuple[Any, ...]) -> int:
    """Number of responses, which every task is given last."""
    return len(given[-1])
