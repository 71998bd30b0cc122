"""Modes of a machine in words and tables: frequency, damping and who holds them first, then what cannot be said."""

from __future__ import annotations

import math
from collections.abc import Sequence

from strongback.machine.room import MOTIONS, right_of, towards
from strongback.vibration.damping import JOINT_LOSS
from strongback.vibration.vibrated import Ringing, Vibrated
from strongback.views.sheet import Block, Heading, Sheet, Words
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import number, percent

__all__ = ["energy_table", "modes_table", "sheet"]

SEEN = 0.25  # of a unit vector: a smaller component is not worth a word


def sheet(found: Vibrated) -> Sheet:
    """Frequencies first, then who holds them, then what they are worth.

    Parameters
    ----------
    found : Vibrated
    """
    blocks: list[Block] = [
        Heading(f"{found.machine.name}: how it rings"),
        modes_table(found),
        "",
        Heading("Who holds it: share of strain and of kinetic energy"),
        energy_table(found.modes),
        "",
        *map(Words, _worth(found)),
    ]
    return Sheet(tuple(blocks))


def modes_table(found: Vibrated) -> Table:
    """Frequency, interval, damping and the way of the tool, a row for every mode.

    Parameters
    ----------
    found : Vibrated
    """
    rows: list[tuple[Cell, ...]] = []
    for k, mode in enumerate(found.modes, 1):
        if mode.rigid:
            rows.append((str(k), 0.0, None, None, None, mode.rigid))
            continue
        low, high = mode.damping_range
        rows.append(
            (
                str(k),
                mode.frequency,
                mode.frequency_95,
                100.0 * mode.damping_ratio,
                (100.0 * low, 100.0 * high),
                _way(mode, found),
            )
        )
    columns = (
        Head("mode"),
        Head("frequency", "Hz", number),
        Head("95 %", "Hz", number, pair=True),
        Head("damping", "%", _two),
        Head("range", "%", _two, pair=True),
        Head("tool against work"),
    )
    return Table(columns=columns, rows=tuple(rows))


def _two(value: float) -> str:
    return number(value, 2)


def _way(mode: Ringing, found: Vibrated) -> str:
    if not any(mode.tool):
        return "still"
    axes = (right_of(found.machine.operator), towards(found.machine.operator), (0.0, 0.0, 1.0))
    along = [abs(sum(a * b for a, b in zip(mode.tool, axis, strict=True))) for axis in axes]
    order = sorted(range(3), key=lambda i: -along[i])
    return " and ".join(MOTIONS[i] for i in order if along[i] > SEEN)


def energy_table(modes: Sequence[Ringing]) -> Table:
    """The three largest shares of each mode.

    Parameters
    ----------
    modes : sequence of Ringing
    """
    rows: list[tuple[Cell, ...]] = [
        (str(k), _shares(mode.mode.energy) if not mode.rigid else "none", _shares(mode.mode.kinetic))
        for k, mode in enumerate(modes, 1)
    ]
    return Table(columns=(Head("mode"), Head("gives"), Head("moves")), rows=tuple(rows))


def _shares(energy: Sequence[tuple[str, float]]) -> str:
    return ", ".join(f"{part} {percent(share)} %" for part, share in energy[:3])


def _worth(found: Vibrated) -> list[str]:
    """What the frequencies are worth, by what is known of the machine."""
    rings = [mode for mode in found.modes if not mode.rigid]
    said = []
    exact = [mode.error for mode in rings if math.isfinite(mode.error)]
    if exact:
        said.append(
            f"Arithmetic: within {number(100.0 * max(exact), 1)} % for these members, masses and joints; 95 %: what the "
            "stated ranges of the joints leave open, each as independent of the others."
        )
    untold = [str(k) for k, mode in enumerate(found.modes, 1) if not math.isfinite(mode.error)]
    if untold:
        said.append(
            f"Mode {', '.join(untold)}: near frequencies at which the walls of a body ring by themselves, so that nothing "
            "can be said of it here."
        )
    for k, mode in enumerate(found.modes, 1):
        said += [
            f"Mode {k} is {ratio:.2g} times the frequency of the widest wall of {name}, taken as a beam: its walls bend "
            "along, and the true frequency is lower (by 0.4 % at 0.35, 3 % at 0.8, 16 % at 1.5)."
            for name, ratio in mode.walls
        ]
    if found.without_mass:
        said.append(
            f"Without a mass: {', '.join(found.without_mass)}. Frequencies are too high by what these weigh."
        )
    if any(mode.guessed > 0.0 for mode in rings):
        said.append(
            f"Damping: {percent(max(m.guessed for m in rings))} % of it comes from joints that state no loss factor, taken "
            f"as {JOINT_LOSS:g} (common practice, no source), which may be half or twice as much. A ring-down measures it."
        )
    said.append(
        "Small motions; joints swing stiffer than they pull, by 10 to 40 % (common practice, no source), which raises a "
        "frequency by half of that times the share of the joint."
    )
    return said
