"""The joints of a machine in words: how stiff each is sideways, in and out, up, and against nod, side tilt and yaw."""

from __future__ import annotations

import math
from collections.abc import Sequence

from strongback.machine.joint_words import JointWords
from strongback.machine.joints.words import Triple
from strongback.machine.room import MOTIONS
from strongback.views.quantity import scale, unit_of
from strongback.views.sheet import Block
from strongback.views.table import Head, Table

__all__ = ["joints_blocks"]

ALONG, ABOUT = "N/µm", "kN·m/rad"


def joints_blocks(joints: Sequence[JointWords]) -> list[Block]:
    """Two tables, stiffness along and about, each best with low and high, for every joint and support.

    Parameters
    ----------
    joints : sequence of JointWords
    """
    blocks: list[Block] = []
    for title, chosen, unit in (
        ("Joints along", MOTIONS[:3], ALONG),
        ("Joints against turning", MOTIONS[3:], ABOUT),
    ):
        columns = (Head("joint"), *(Head(word, unit) for word in chosen))
        rows = tuple(
            (
                own.name,
                *(_cell(own.words[word], scale(unit)) if word in own.words else "askew" for word in chosen),
            )
            for own in joints
        )
        blocks += [f"{title}: best (low to high)", Table(columns=columns, rows=rows), ""]
    askew = _askew(joints)
    return [*blocks, *askew] if askew else blocks[:-1]


def _askew(joints: Sequence[JointWords]) -> list[str]:
    """Joints that stand askew to the room, in their own axes."""
    found = []
    for own in joints:
        for word, values in own.words.items():
            if word not in MOTIONS:
                unit = ALONG if word.startswith("along") else ABOUT
                shown = _cell(values, scale(unit))
                found.append(f"{own.name}, {word} of the joint: {shown} {unit_of(unit)}")
    return found


def _cell(values: Triple, one: float) -> str:
    low, best, high = values
    if math.isinf(best):
        return "rigid"
    if best == 0.0:
        return "free"
    shown = [f"{float(f'{v / one:.3g}'):g}" for v in (low, best, high)]
    return shown[1] if low == high else f"{shown[1]} ({shown[0]} to {shown[2]})"
