"""The joints of a machine in words: how stiff each is sideways, in and out, up, and against nod, side tilt and yaw."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from strongback.machine.joints.estimate import JointStiffness
from strongback.machine.joints.words import Triple, in_words
from strongback.machine.room import MOTIONS
from strongback.machine.values import Joint, Machine, Support
from strongback.views.tables import Column, table

__all__ = ["joints_dict", "joints_text", "to_ask"]

ALONG, ABOUT = 1e6, 1e3  # shown in N/µm and kN m/rad


def joints_text(machine: Machine, width: int) -> str:
    """Two tables, stiffness along and about, each best with low and high, for every joint and support.

    Parameters
    ----------
    machine : Machine
    width : int
        Columns of the terminal.

    Returns
    -------
    str
    """
    words = {holder.name: in_words(holder, machine.operator) for _, holder in machine.holders()}
    parts = []
    for title, chosen, unit, scale in (
        ("Joints along", MOTIONS[:3], "N/µm", ALONG),
        ("Joints against turning", MOTIONS[3:], "kN·m/rad", ABOUT),
    ):
        columns = [Column("joint"), *(Column(word, unit) for word in chosen)]
        rows = [
            [name, *(_cell(own[word], scale) if word in own else "askew" for word in chosen)]
            for name, own in words.items()
        ]
        parts.append(f"{title}: best (low to high)\n" + table(columns, rows, width=width))
    parts += _askew(words)
    return "\n\n".join(parts)


def _askew(words: Mapping[str, Mapping[str, Triple]]) -> list[str]:
    """Joints that stand askew to the room, in their own axes."""
    found = []
    for name, own in words.items():
        for word, values in own.items():
            if word not in MOTIONS:
                scale, unit = (ALONG, "N/µm") if word.startswith("along") else (ABOUT, "kN·m/rad")
                found.append(f"{name}, {word} of the joint: {_cell(values, scale)} {unit}")
    return ["\n".join(found)] if found else []


def _cell(values: Triple, scale: float) -> str:
    low, best, high = values
    if math.isinf(best):
        return "rigid"
    if best == 0.0:
        return "free"
    shown = [f"{float(f'{v / scale:.3g}'):g}" for v in (low, best, high)]
    return shown[1] if low == high else f"{shown[1]} ({shown[0]} to {shown[2]})"


def joints_dict(machine: Machine) -> list[dict[str, Any]]:
    """Plain data in N/m and N m/rad: name, kind, best, low and high by the room's words, ``"rigid"`` for what is.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    list of dict
    """
    return [_row(kind, holder, in_words(holder, machine.operator)) for kind, holder in machine.holders()]


def _row(kind: str, holder: Joint | Support, words: Mapping[str, Triple]) -> dict[str, Any]:
    low, best, high = (
        {word.replace(" ", "_"): _plain(values[i]) for word, values in words.items()} for i in range(3)
    )
    return {
        "name": holder.name,
        "kind": kind,
        "stiffness": best,
        "low": low,
        "high": high,
        "source": holder.source,
    }


def _plain(value: float) -> float | str:
    return "rigid" if math.isinf(value) else value


def to_ask(starts: Mapping[str, JointStiffness], told: set[str]) -> list[str]:
    """What nobody has said of a joint yet: usual play, when it opens, where its sizes leave the formulas.

    Parameters
    ----------
    starts : mapping of str to JointStiffness
        By joint.
    told : set of str
        Joints whose play or opening the file states.

    Returns
    -------
    list of str
    """
    found = []
    for name, start in starts.items():
        if name not in told:
            for when in dict.fromkeys(play.when for play in start.play):
                same = [play for play in start.play if play.when == when]
                low, high = 1e6 * same[0].low, 1e6 * same[0].high
                found.append(f"{name}: play of {low:g} to {high:g} µm? ({when})")
            if start.opens:
                found.append(f"{name}: {start.opens}")
        found += [f"{name}: {note}" for note in start.notes]
    return found
