"""Engines that solve blocks: this process, threads, processes, or a dask cluster, all by `concurrent.futures.Executor`."""

from __future__ import annotations

import concurrent.futures as futures
import multiprocessing
import os
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Literal, TypeAlias

from strongback.errors import EnvironmentFault

__all__ = ["ENGINES", "Engine", "Serial", "executor"]

Engine: TypeAlias = Literal["serial", "threads", "processes", "dask"]
ENGINES: tuple[Engine, ...] = ("serial", "threads", "processes", "dask")
# A library that starts threads of its own in every worker takes the processors from the others: one worker fell from
# 2.5e5 to 3.6e4 points a second.
PINNED = (
    "OMP_NUM_THREADS",
    "OPENBLAS_NUM_THREADS",
    "MKL_NUM_THREADS",
    "BLIS_NUM_THREADS",
    "VECLIB_MAXIMUM_THREADS",
)
LOOK = 0.5  # how often a worker looks whether its parent is there [s]


class Serial(futures.Executor):
    """Everything here and now."""

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> futures.Future[Any]:
        """Run it, and give its result as a future that is done."""
        found: futures.Future[Any] = futures.Future()
        try:
            found.set_result(fn(*args, **kwargs))
        except Exception as error:
            found.set_exception(error)
        return found


@contextmanager
def executor(engine: Engine, workers: int, scheduler: str = "") -> Iterator[futures.Executor]:
    """An executor of an engine, closed afterwards.

    Parameters
    ----------
    engine : {"serial", "threads", "processes", "dask"}
    workers : int
        Of threads and processes, and of a dask cluster on this computer.
    scheduler : str
        Address of a dask scheduler that runs already; empty for a cluster of its own.

    Yields
    ------
    concurrent.futures.Executor

    Raises
    ------
    EnvironmentFault
        If dask is not installed or its scheduler does not answer.
    """
    if engine == "serial":
        yield Serial()
    elif engine == "threads":
        with futures.ThreadPoolExecutor(workers) as pool:
            yield pool
    elif engine == "processes":
        with _pinned():
            made = futures.ProcessPoolExecutor(
                workers,
                mp_context=multiprocessing.get_context("spawn"),
                initializer=_watch,
                initargs=(os.getpid(),),
            )
            try:
                yield made
            finally:
                made.shutdown(wait=True, cancel_futures=True)
    else:
        with _dask(workers, scheduler) as own:
            yield own


@contextmanager
def _pinned() -> Iterator[None]:
    """One thread for the numerical libraries of the processes that are started, set before they load numpy."""
    before = {name: os.environ.get(name) for name in PINNED}
    os.environ.update(dict.fromkeys(PINNED, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def _watch(parent: int) -> None:
    """End this worker when its parent is gone: it would solve for nobody."""

    def look() -> None:
        while os.getppid() == parent:
            time.sleep(LOOK)
        os._exit(1)

    threading.Thread(target=look, daemon=True).start()


@contextmanager
def _dask(workers: int, scheduler: str) -> Iterator[futures.Executor]:
    try:
        from distributed import Client, LocalCluster
    except ImportError:
        raise EnvironmentFault(
            "the engine dask needs dask.distributed, which is not installed",
            hint="pip install 'strongback[dask]', or use --engine processes",
        ) from None
    with _pinned():
        try:
            cluster = (
                None
                if scheduler
                else LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None)
            )
            client = Client(scheduler or cluster, timeout="15s")
        except (OSError, TimeoutError) as error:
            raise EnvironmentFault(
                f'the scheduler "{scheduler}" does not answer: {error}',
                hint="start it, or check its address; what is in the store stays",
            ) from None
        try:
            yield client.get_executor(pure=False)
        finally:
            client.close()
            if cluster is not None:
                cluster.close()
