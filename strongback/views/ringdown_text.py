"""A recording of taps in words and tables."""

from __future__ import annotations

from strongback.vibration.ringdown.told import RingDown
from strongback.views.sheet import Block, Heading, Sheet, Words
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import number

__all__ = ["halvings_table", "rung_table", "sheet"]


def sheet(found: RingDown) -> Sheet:
    """Modes first, then damping against amplitude, then what it is worth.

    Parameters
    ----------
    found : RingDown
    """
    count = len(found.hits)
    blocks: list[Block] = [
        Heading(
            f"{found.file}: {count} hit{'s' if count != 1 else ''} at {number(found.rate)} samples a second"
        ),
        rung_table(found),
    ]
    if found.halvings:
        blocks += [
            "",
            Heading("Damping while the amplitude halves"),
            halvings_table(found),
            "Amplitudes in units of the recording.",
        ]
    blocks += ["", *map(Words, _worth(found))]
    return Sheet(tuple(blocks))


def rung_table(found: RingDown) -> Table:
    """Frequency and damping of each mode over all hits.

    Parameters
    ----------
    found : RingDown
    """
    rows: list[tuple[Cell, ...]] = [
        (
            mode.frequency,
            mode.u_frequency,
            "see below" if mode.damping_ratio is None else number(100.0 * mode.damping_ratio, 3),
            None if mode.u_damping_ratio is None else 100.0 * mode.u_damping_ratio,
            str(mode.hits),
        )
        for mode in found.modes
    ]
    columns = (
        Head("frequency", "Hz", lambda v: number(v, 5)),
        Head("+-", "Hz", lambda v: number(v, 2)),
        Head("damping [%]"),
        Head("+-", "%", lambda v: number(v, 2)),
        Head("hits"),
    )
    return Table(columns=columns, rows=tuple(rows))


def halvings_table(found: RingDown) -> Table:
    """Mean damping of each halving.

    Parameters
    ----------
    found : RingDown
    """
    rows: list[tuple[Cell, ...]] = [
        (str(h.hit), h.amplitude, 100.0 * h.damping_ratio, 100.0 * h.u_damping_ratio) for h in found.halvings
    ]
    columns = (
        Head("hit"),
        Head("from", "", lambda v: number(v, 3)),
        Head("damping", "%", lambda v: number(v, 3)),
        Head("+-", "%", lambda v: number(v, 2)),
    )
    return Table(columns=columns, rows=tuple(rows))


def _worth(found: RingDown) -> list[str]:
    said = [
        "+- is half of an interval of 95 %, from the noise before the hits; it knows nothing of how the sensor sits."
    ]
    if any(not hit.one_damping for hit in found.hits):
        said.append(
            "One damping ratio does not describe this ringing (F test): it changes while it dies out. Take the value at "
            "the amplitude that matters."
        )
    if found.left_out:
        said.append(f"{found.left_out} more hit(s) were found from which nothing could be fitted.")
    said.append("A microphone or sensor that is held in the hand damps what it touches; let it lie or stand.")
    return said
