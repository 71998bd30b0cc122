"""``strongback options``"""

from __future__ import annotations

import math
from pathlib import Path

import click

from strongback.cli.common import (
    answer,
    figures_option,
    json_option,
    load,
    out_option,
    progress,
    project_argument,
    subcommand,
)


def _length(words: str) -> tuple[str, float]:
    from strongback.errors import UnitError
    from strongback.units import parse

    name, _, value = words.rpartition("=")
    try:
        return name.strip(), parse(value.strip(), "length")
    except UnitError as error:
        raise click.BadParameter(f'"{words}": {error.message}; write "sideways=40 um"') from None


def _mass(words: str | None) -> float:
    from strongback.errors import UnitError
    from strongback.units import parse

    if words is None:
        return math.inf
    try:
        return parse(words, "mass")
    except UnitError as error:
        raise click.BadParameter(f'"{words}": {error.message}; write "10 kg"') from None


@subcommand(
    "options",
    "strongback new my-machine",
    "strongback options my-machine --json",
)
@project_argument
@click.option(
    "--pull", "names", multiple=True, metavar="NAME", help="Gains under this pull; may be repeated."
)
@click.option(
    "--under",
    multiple=True,
    metavar="PULL=LENGTH",
    help="A target, at the force of that pull: the best set is looked for and proved. May be repeated.",
)
@click.option("--mass", metavar="MASS", help='Most mass of the set, such as "10 kg".')
@click.option("--money", type=click.FloatRange(min=0.0), metavar="EURO", help="Most cost of the set.")
@click.option("--without", multiple=True, metavar="NAME", help="Leave this option out; may be repeated.")
@json_option
@out_option
@figures_option
def command(
    project: str,
    names: tuple[str, ...],
    under: tuple[str, ...],
    mass: str | None,
    money: float | None,
    without: tuple[str, ...],
    as_json: bool,
    out: Path,
    figures: bool,
) -> None:
    """Prints what is left of the deflection with each option of the catalogue, with intervals, price, hours and mass; with
    targets, the least costly set of options that meets them, proved over all subsets.
    """
    from strongback.ask.options import options

    with progress() as step:
        found = options(
            load(project),
            pull=names,
            under=dict(_length(words) for words in under),
            most_mass=_mass(mass),
            most_cost=math.inf if money is None else money,
            without=without,
            progress=step,
        )
    answer("options", found, as_json, out if figures else None)
