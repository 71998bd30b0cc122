"""Sizes and places of a machine that are most likely a slip of the unit: in words, nothing is refused.

Limits are common practice, no source: so wide that machines on a bench or on the floor of a workshop are inside.
"""

from __future__ import annotations

import dataclasses
import math
import warnings
from collections.abc import Iterator

from strongback.machine.frames import member_length, station_of
from strongback.machine.values import GROUND, Machine, Vector
from strongback.plausible import UnlikelySize, slip
from strongback.section.check import unlikely_size
from strongback.section.values import Outline

__all__ = ["misplaced", "unlikely", "warn_of_unlikely"]

MEMBER = (0.01, 0.4, 25.0)  # lowest, usual and highest length [m]
FORCE = 1e5  # above that nobody pulls by hand, cord or jack [N]
OFF_PART = 1.5  # a point further from its part than that many of its lengths hangs in the air
NEAR = 0.3  # and nearer than this it never does [m]
REACH = 1.5  # from the reference point of a block, where no member is longer [m]


def unlikely(machine: Machine) -> tuple[str, ...]:
    """What about a machine looks like a slip of the unit.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    tuple of str
        One for each finding, with its figure.
    """
    found = [
        words
        for _, section in machine.sections
        if isinstance(section, Outline) and (words := unlikely_size(section))
    ]
    for member in machine.members:
        length = member_length(member)
        words = slip(length, *MEMBER)
        if words:
            found.append(f'member "{member.name}" is {length * 1e3:.5g} mm long: {words}')
    for pull in machine.pulls:
        force = math.hypot(*pull.force)
        if force > FORCE:
            found.append(f'pull "{pull.name}" is {force * 1e-3:.4g} kN: forces in code are in newtons')
    return (*found, *misplaced(machine))


def misplaced(machine: Machine) -> tuple[str, ...]:
    """What is fixed to a part and hangs far off it, as metres do that were meant as millimetres.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    tuple of str
    """
    found = []
    for what, part, at in _points(machine):
        away, size = _distance(machine, part, at)
        if away > max(NEAR, OFF_PART * size):
            long = (
                "" if any(b.name == part for b in machine.blocks) else f", which is {size * 1e3:.4g} mm long"
            )
            found.append(
                f'{what} at {_mm(at)} mm is {away * 1e3:.4g} mm away from "{part}"{long}: check the unit of its place'
            )
    return tuple(found)


def warn_of_unlikely(machine: Machine) -> None:
    """Warn of each finding of `unlikely` but for outlines, which `section.check` warns of."""
    for words in unlikely(dataclasses.replace(machine, sections=())):
        warnings.warn(words, UnlikelySize, stacklevel=3)


def _points(machine: Machine) -> Iterator[tuple[str, str, Vector]]:
    """What is fixed to which part, and where."""
    yield "the tool", machine.tool.part, machine.tool.at
    yield "the work", machine.work.part, machine.work.at
    for joint in machine.joints:
        for part in joint.parts:
            yield f'joint "{joint.name}"', part, joint.at
    for support in machine.supports:
        yield f'support "{support.name}"', support.part, support.at
    for mass in machine.masses:
        yield f'mass "{mass.name}"', mass.part, mass.at
    for pull in machine.pulls:
        yield f'pull "{pull.name}"', pull.part, pull.at
    for gauge in machine.gauges:
        yield f'gauge "{gauge.name}"', gauge.part, gauge.at
    for pad in machine.pads:
        yield f'pad "{pad.name}"', pad.part, pad.at


def _distance(machine: Machine, part: str, at: Vector) -> tuple[float, float]:
    """From a point to its part, and the size to hold it against [m]."""
    if part == GROUND:
        return 0.0, 1.0
    for member in machine.members:
        if member.name == part and member_length(member) > 0.0:
            share = station_of(member, at) / member_length(member)
            nearest = [a + share * (b - a) for a, b in zip(member.start, member.end, strict=True)]
            return math.dist(at, nearest), member_length(member)
    longest = max((member_length(member) for member in machine.members), default=REACH)
    for block in machine.blocks:
        if block.name == part:
            return math.dist(at, block.at), max(longest, REACH / OFF_PART)
    return 0.0, 1.0


def _mm(at: Vector) -> str:
    return "(" + ", ".join(f"{v * 1e3:.5g}" for v in at) + ")"
