"""What if: a sweep over numbers of a project, on any engine, kept in a store that can be taken up again."""

from __future__ import annotations

import hashlib
import os
import tempfile
import time
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from strongback._version import __version__
from strongback.answer import HIDDEN, Answer, told
from strongback.ask.source import Names, chosen_pulls, pick, project_of
from strongback.ask.sweep_block import address, joint_of, solved_block
from strongback.errors import QuestionError
from strongback.machine.values import COMPONENTS
from strongback.project.atomic import write_text
from strongback.project.read import Project
from strongback.remedies.sweeps.engine import ENGINES, Engine
from strongback.remedies.sweeps.run import Progress, blocks_of, run
from strongback.remedies.sweeps.sample import (
    METHODS,
    Method,
    Sensitivity,
    Variable,
    points,
    saltelli,
    sensitivities,
)
from strongback.remedies.sweeps.store import Store, stored_csv

__all__ = ["Planned", "Swept", "exported", "plan_sweep", "sweep"]

Array = NDArray[np.float64]
JOINT_BLOCK = 32_768  # joint-only points that are one task and one transaction
PARENT = 24.0  # bytes of a number on its way: drawn, sent, kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantiles:
    """Spread of a response over a sweep [m].

    Parameters
    ----------
    response : str
    low, middle, high : float
        2.5 %, 50 % and 97.5 %.
    """

    response: str
    low: float = field(metadata=told("low_m"))
    middle: float = field(metadata=told("middle_m"))
    high: float = field(metadata=told("high_m"))


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Planned(Answer):
    """What a sweep would take.

    Parameters
    ----------
    points, blocks : int
    seconds : float
        On one worker, from one point that was solved.
    memory : float
        Of the parent [bytes].
    """

    points: int
    blocks: int
    seconds: float = field(metadata=told("seconds_s"))
    memory: float = field(metadata=told("memory_bytes"))


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Swept(Answer):
    """A sweep that is done.

    Parameters
    ----------
    points : int
    failed : tuple of (int, str)
        Blocks that could not be solved, and why.
    variables, responses : tuple of str
    spread : tuple of Quantiles
    sensitivities : tuple of Sensitivity
        Where they were asked for.
    store : str
        Empty where it was not kept.
    values : ndarray, shape (points, responses)
    """

    points: int
    failed: tuple[tuple[int, str], ...]
    variables: tuple[str, ...]
    responses: tuple[str, ...]
    spread: tuple[Quantiles, ...]
    sensitivities: tuple[Sensitivity, ...]
    store: str
    values: Array = field(metadata=HIDDEN)


def sweep(
    project: str | Path | Project,
    variables: Sequence[Variable],
    *,
    pull: Names = (),
    count: int = 1024,
    method: Method = "sobol",
    sensitivity: bool = False,
    seed: int = 0,
    engine: Engine = "serial",
    workers: int = 0,
    scheduler: str = "",
    store: str | Path | None = None,
    progress: Progress | None = None,
) -> Swept:
    """Motion of the tool along pulls over ranges of numbers of a project.

    Parameters
    ----------
    project : str, Path or Project
    variables : sequence of Variable
        ``joint.<name>.about_x`` and its kin (also ``support.``): a stiffness in N/m or N m/rad; else the place of a number
        in the project file, such as ``section.tube.thickness``, in the unit that it has there.
    pull : str or sequence of str
        Default: every pull with a force.
    count : int
        Points; of a grid the steps of every variable; of sensitivities the points that each of variables + 2 sets has.
    method : {"sobol", "hypercube", "grid"}
    sensitivity : bool
        Whether the points are laid out for variance-based sensitivities.
    seed : int
    engine : {"serial", "threads", "processes", "dask"}
    workers : int
        0 for as many as there are processors.
    scheduler : str
        Address of a dask scheduler that runs already.
    store : str or Path, optional
        File of SQLite; a sweep that was stopped goes on where it was. Without one nothing is kept.
    progress : callable, optional

    Returns
    -------
    Swept

    Raises
    ------
    QuestionError
        If a number, joint, engine or method is not there, or the store holds another sweep.
    LimitError
        If a range is empty.
    EnvironmentFault
        If the store cannot be written, or dask is not there or does not answer.

    Examples
    --------
    The post gives 74 µm by itself and 4 µm by its foot of 9e6 N m/rad, which now is half and twice as stiff:

    >>> from strongback.machine.sample import post
    >>> from strongback.project import read_text
    >>> from strongback.project.write import project_text
    >>> foot = Variable(name="support.foot.about_y", low=4.5e6, high=18e6, log=True)
    >>> found = sweep(read_text(project_text(post()), "project.toml"), [foot], count=3, method="grid")
    >>> [round(1e6 * float(moved), 6) for moved in found.values[:, 0]]
    [82.0, 78.0, 76.0]
    """
    asked = project_of(project)
    pick(engine, ENGINES, "engine")
    x, names, pulls = _laid_out(asked, variables, pull, count, method, sensitivity, seed)
    responses = tuple(f"along {name} [m]" for name in pulls)
    blocks = blocks_of(x, _block_size(names))
    with ExitStack() as stack:
        path = (
            Path(store)
            if store is not None
            else Path(stack.enter_context(tempfile.TemporaryDirectory())) / "sweep"
        )
        about = {
            "project": hashlib.sha256(asked.text.encode()).hexdigest(),
            "strongback": __version__,
            "points": hashlib.sha256(x.tobytes()).hexdigest(),
        }
        kept = stack.enter_context(Store(path, about, names, responses))
        run(
            solved_block,
            (asked.text, str(asked.path.resolve()), names, pulls),
            blocks,
            kept,
            engine=engine,
            workers=workers or os.cpu_count() or 1,
            scheduler=scheduler,
            progress=progress,
        )
        values, failed = kept.values(), kept.errors()
    if failed and len(failed) == len(blocks):
        raise QuestionError(f"no point of the sweep could be solved; the first: {failed[0][1]}")
    good = values[np.all(np.isfinite(values), axis=1)]
    spread = (
        np.quantile(good, (0.025, 0.5, 0.975), axis=0).T if len(good) else np.full((len(pulls), 3), np.nan)
    )
    return Swept(
        points=len(values),
        failed=failed,
        variables=names,
        responses=responses,
        spread=tuple(
            Quantiles(response=name, low=float(a), middle=float(b), high=float(c))
            for name, (a, b, c) in zip(responses, spread, strict=True)
        ),
        sensitivities=sensitivities(tuple(variables), responses, values)
        if sensitivity and not failed
        else (),
        store=str(store or ""),
        values=values,
    )


def plan_sweep(
    project: str | Path | Project,
    variables: Sequence[Variable],
    *,
    pull: Names = (),
    count: int = 1024,
    method: Method = "sobol",
    sensitivity: bool = False,
) -> Planned:
    """What a sweep would take, from two of its points.

    Parameters
    ----------
    project, variables, pull, count, method, sensitivity
        As in `sweep`.

    Returns
    -------
    Planned

    Examples
    --------
    >>> from strongback.machine.sample import post
    >>> from strongback.project import read_text
    >>> from strongback.project.write import project_text
    >>> foot = Variable(name="support.foot.about_y", low=4.5e6, high=18e6, log=True)
    >>> planned = plan_sweep(read_text(project_text(post()), "project.toml"), [foot], count=100_000)
    >>> planned.points, planned.blocks
    (100000, 4)
    """
    asked = project_of(project)
    x, names, pulls = _laid_out(asked, variables, pull, count, method, sensitivity, 0)
    size = _block_size(names)
    given = (asked.text, str(asked.path.resolve()), names, pulls)
    solved_block(*given, x[:1])  # what is loaded and kept once
    block = x[-min(size, len(x)) :]
    began = time.perf_counter()
    solved_block(*given, block)
    seconds = (time.perf_counter() - began) * len(x) / len(block)
    numbers = len(x) * len(names) + min(len(x), 4 * size) * (len(names) + len(pulls))
    return Planned(points=len(x), blocks=-(-len(x) // size), seconds=seconds, memory=PARENT * numbers)


def _laid_out(
    project: Project,
    variables: Sequence[Variable],
    pull: Names,
    count: int,
    method: Method,
    sensitivity: bool,
    seed: int,
) -> tuple[Array, tuple[str, ...], tuple[str, ...]]:
    """Points, names of variables and of pulls, all of them there."""
    pick(method, METHODS, "method")
    names = tuple(v.name for v in variables)
    if len(set(names)) < len(names):
        raise QuestionError("a number is named twice", hint="give each one range")
    for name in names:
        parameter = joint_of(name)
        if parameter is None:
            address(project, name)
            continue
        known = {h.name: h for kind, h in project.machine.holders() if kind == parameter.kind}
        stiffness = known[pick(parameter.part, list(known), parameter.kind)].stiffness
        if not 0.0 < stiffness[COMPONENTS.index(parameter.mechanism)] < np.inf:
            raise QuestionError(
                f"{parameter} is rigid or free", hint="give it a stiffness in the file, to be varied"
            )
    chosen = chosen_pulls(project.machine, pull)
    pulls = tuple(p.name for p in chosen if np.any(p.force))
    if not pulls:
        raise QuestionError("no pull has a force", hint="a sweep asks for the motion along a force")
    given = tuple(variables)
    x = saltelli(given, count, seed) if sensitivity else points(given, method, count, seed)
    return x, names, pulls


def _block_size(names: tuple[str, ...]) -> int:
    """A block of joint-only points, or one point that has a part of its own."""
    return JOINT_BLOCK if all(joint_of(name) is not None for name in names) else 1


def exported(store: str | Path, table: str | Path) -> None:
    """Write all points of a store as a table of comma-separated values, whole or not at all.

    Parameters
    ----------
    store, table : str or Path

    Raises
    ------
    QuestionError
        If the store is none.

    Examples
    --------
    >>> exported("no-such-store", "table.csv")
    Traceback (most recent call last):
        ...
    strongback.errors.QuestionError: "no-such-store" holds no sweep
       help: name the file that --store was given
    """
    write_text(table, stored_csv(store))
