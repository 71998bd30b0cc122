"""``strongback vibrate``"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from strongback.cli.common import (
    emit_json,
    figures_option,
    json_option,
    note,
    out_option,
    progress,
    show,
    subcommand,
    write_figures,
)

if TYPE_CHECKING:
    from strongback.vibration.ringdown.told import RingDown
    from strongback.vibration.vibrated import Vibrated


@subcommand(
    "vibrate",
    "strongback vibrate demo",
    "strongback vibrate demo --modes 12 --json",
)
@click.argument("project", metavar="[PROJECT]", required=False)
@click.option("--modes", type=int, default=6, show_default=True, metavar="N", help="How many modes.")
@click.option(
    "--joint-loss",
    type=float,
    metavar="NUMBER",
    help="Loss factor of joints that state none [default: 0.06].",
)
@click.option(
    "--ring-down",
    "recording",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE",
    help="Instead: pitch and damping from a recording of taps, WAV or a table of times and values.",
)
@click.option("--channel", type=int, default=1, show_default=True, metavar="N", help="Of the recording.")
@click.option("--lowest", type=float, metavar="HZ", help="Lowest frequency looked for in the recording.")
@json_option
@out_option
@figures_option
def command(
    project: str | None,
    modes: int,
    joint_loss: float | None,
    recording: Path | None,
    channel: int,
    lowest: float | None,
    as_json: bool,
    out: Path,
    figures: bool,
) -> None:
    """Prints natural frequencies, how fast each dies out, which parts hold it, and what the figures are worth."""
    found: Vibrated | RingDown
    if recording is not None:
        if project is not None:
            raise click.UsageError("give a PROJECT or --ring-down FILE, not both")
        from strongback.ask.ring_down import ring_down

        found = ring_down(recording, channel=channel, lowest=lowest)
    elif project is None:
        raise click.UsageError("give a PROJECT, or --ring-down FILE")
    else:
        found = _vibrated(project, modes, joint_loss)
    if as_json:
        emit_json("vibrate", found)
        return
    show(found)
    if figures:
        note("")
        write_figures(found, out)


def _vibrated(project: str, modes: int, joint_loss: float | None) -> Vibrated:
    from strongback.ask.vibrate import vibrate
    from strongback.vibration.damping import JOINT_LOSS

    loss = JOINT_LOSS if joint_loss is None else joint_loss
    with progress() as step:
        return vibrate(project, modes=modes, joint_loss=loss, progress=step)
