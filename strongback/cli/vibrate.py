"""``strongback vibrate``"""

from __future__ import annotations

from pathlib import Path

import click

from strongback.cli.common import (
    emit_json,
    figures_option,
    json_option,
    note,
    out_option,
    progress,
    project_argument,
    show,
    subcommand,
    write_figures,
)


@subcommand(
    "vibrate",
    "strongback vibrate demo",
    "strongback vibrate demo --modes 12 --json",
)
@project_argument
@click.option("--modes", type=int, default=6, show_default=True, metavar="N", help="How many modes.")
@click.option(
    "--joint-loss",
    type=float,
    metavar="NUMBER",
    help="Loss factor of joints that state none [default: 0.06].",
)
@json_option
@out_option
@figures_option
def command(
    project: str, modes: int, joint_loss: float | None, as_json: bool, out: Path, figures: bool
) -> None:
    """Prints natural frequencies, how fast each dies out, which parts hold it, and what the figures are worth."""
    from strongback.ask.vibrate import vibrate
    from strongback.vibration.damping import JOINT_LOSS

    with progress() as step:
        found = vibrate(
            project, modes=modes, joint_loss=JOINT_LOSS if joint_loss is None else joint_loss, progress=step
        )
    if as_json:
        emit_json("vibrate", found)
        return
    show(found)
    if figures:
        note("")
        write_figures(found, out)
