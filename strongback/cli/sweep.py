"""``strongback sweep``"""

from __future__ import annotations

from pathlib import Path

import click

from strongback.cli.common import (
    answer,
    emit_json,
    json_option,
    load,
    note,
    progress,
    project_argument,
    show,
    subcommand,
)


def _varied(words: str) -> tuple[str, float, float]:
    """``NAME=LOW..HIGH``, of a joint with a unit behind if wanted."""
    from strongback.ask.sweep_block import joint_of
    from strongback.errors import UnitError
    from strongback.units import parse

    name, found, rest = words.rpartition("=")
    low, dots, high = rest.partition("..")
    if not found or not dots:
        raise click.BadParameter(
            f'"{words}"; write "joint.base.about_x=1e5..1e6" or "section.tube.thickness=3..6"'
        )
    number, _, unit = high.strip().partition(" ")
    try:
        if not unit:
            return name.strip(), float(low), float(number)
        parameter = joint_of(name.strip())
        if parameter is None:
            raise click.BadParameter(
                f'"{words}": a number of the file keeps its unit there; leave "{unit}" out'
            )
        what = "stiffness" if parameter.mechanism.startswith("along") else "rotational stiffness"
        return name.strip(), parse(f"{low} {unit}", what), parse(f"{number} {unit}", what)
    except (ValueError, UnitError) as error:
        raise click.BadParameter(f'"{words}": {getattr(error, "message", error)}') from None


@subcommand(
    "sweep",
    "strongback new my-machine",
    'strongback sweep my-machine --vary "joint.base.about_x=1e5..1e6" --points 256 --json',
)
@project_argument
@click.option(
    "--vary",
    multiple=True,
    required=True,
    metavar="NAME=LOW..HIGH",
    help="A joint stiffness (joint.NAME.about_x, in SI or with a unit) or a number of the file (section.NAME.key).",
)
@click.option("--pull", "names", multiple=True, metavar="NAME", help="Only this pull; may be repeated.")
@click.option(
    "--points", type=click.IntRange(min=1), default=1024, show_default=True, help="Of a grid, steps each."
)
@click.option("--method", default="sobol", show_default=True, help="sobol, hypercube or grid.")
@click.option(
    "--sensitivity", is_flag=True, help="Share of each number in the variance; points is a power of two."
)
@click.option("--seed", type=int, default=0, show_default=True)
@click.option("--engine", default="serial", show_default=True, help="serial, threads, processes or dask.")
@click.option("--workers", type=click.IntRange(min=0), default=0, help="0: one a processor.")
@click.option("--scheduler", default="", metavar="ADDRESS", help="Of a dask cluster that runs: tcp://...")
@click.option(
    "--store", type=click.Path(path_type=Path), help="File that keeps the points; a sweep goes on from it."
)
@click.option(
    "--csv", "table", type=click.Path(path_type=Path), help="Write all points of the store as a table."
)
@click.option("--dry-run", is_flag=True, help="Only say how many points, how long and how much memory.")
@json_option
def command(
    project: str,
    vary: tuple[str, ...],
    names: tuple[str, ...],
    points: int,
    method: str,
    sensitivity: bool,
    seed: int,
    engine: str,
    workers: int,
    scheduler: str,
    store: Path | None,
    table: Path | None,
    dry_run: bool,
    as_json: bool,
) -> None:
    """Prints how the motion of the tool along its pulls spreads over ranges of joints and of numbers in the file.
    With a store a sweep that was stopped goes on where it was, on any engine.
    """
    from strongback.ask.source import pick
    from strongback.ask.sweep import plan_sweep, sweep
    from strongback.ask.sweep_block import joint_of
    from strongback.remedies.sweeps.engine import ENGINES
    from strongback.remedies.sweeps.sample import METHODS, Variable

    if table is not None and store is None:
        raise click.UsageError("--csv writes what a store holds: name it by --store")
    asked = load(project)
    how = next(m for m in METHODS if m == pick(method, METHODS, "method"))
    by = next(e for e in ENGINES if e == pick(engine, ENGINES, "engine"))
    ranges = [_varied(words) for words in vary]
    variables = [Variable(name=n, low=a, high=b, log=joint_of(n) is not None) for n, a, b in ranges]
    if dry_run:
        planned = plan_sweep(asked, variables, pull=names, count=points, method=how, sensitivity=sensitivity)
        if as_json:
            emit_json("sweep", planned)
        else:
            show(planned)
        return
    with progress() as step:
        found = sweep(
            asked,
            variables,
            pull=names,
            count=points,
            method=how,
            sensitivity=sensitivity,
            seed=seed,
            engine=by,
            workers=workers,
            scheduler=scheduler,
            store=store,
            progress=step,
        )
    answer("sweep", found, as_json, None)
    if table is not None and store is not None:
        from strongback.ask.sweep import exported

        exported(store, table)
        note(f"wrote {table}")
