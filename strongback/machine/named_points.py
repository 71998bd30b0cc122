"""Motions of the points of a machine that have names: the tool, the work, gauges, joints, supports, pulls and masses."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from strongback.answer import told
from strongback.errors import MachineError
from strongback.machine.cases import CaseResult, motion_at
from strongback.machine.values import GROUND, Place, Vector

__all__ = ["NamedMotion", "PointsUnder", "named_motions"]


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedMotion:
    """How a named point moves.

    Parameters
    ----------
    point : str
        What it is, and its name: ``gauge "top"``.
    part : str
        That carries it.
    at : Vector
        [m]
    displacement : Vector
        Against the room [m].
    rotation : Vector
        [rad]
    """

    point: str
    part: str
    at: Vector = field(metadata=told("at_m"))
    displacement: Vector = field(metadata=told("displacement_m"))
    rotation: Vector = field(metadata=told("rotation_rad"))


@dataclass(frozen=True, slots=True, kw_only=True)
class PointsUnder:
    """Named points under a case.

    Parameters
    ----------
    under : str
        The case.
    motions : tuple of NamedMotion
    """

    under: str
    motions: tuple[NamedMotion, ...]


def named_motions(found: CaseResult) -> tuple[NamedMotion, ...]:
    """Motions of all named points under a case.

    Parameters
    ----------
    found : CaseResult

    Returns
    -------
    tuple of NamedMotion
        A joint has one for each of its parts. Points on the ground stand still and are left out, and so are points on the
        bare wall of a body, of which only the readings of gauges are known.

    Examples
    --------
    >>> from strongback.machine.cases import solve_cases
    >>> from strongback.machine.loads import LoadCase
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> case = LoadCase(name="pull", pulls=machine.pulls)
    >>> (found,) = solve_cases(assemble(machine, parts_of(machine)), [case])
    >>> {m.point: round(1e6 * m.displacement[0], 6) + 0.0 for m in named_motions(found)}  # along X [µm]
    {'tool': 78.0, 'support "foot"': 0.0, 'gauge "top"': 78.0, 'pull "sideways"': 78.0}
    """
    rows = []
    for point, place in _places(found):
        if place.part == GROUND:
            continue
        try:
            motion = motion_at(found, place)
        except MachineError:
            continue  # on the bare wall of a body
        body = found.loop.bodies.get(place.part)
        if body is not None and not body.interface_at(place.at):
            continue
        dx, dy, dz, rx, ry, rz = (float(v) for v in motion)
        rows.append(
            NamedMotion(
                point=point, part=place.part, at=place.at, displacement=(dx, dy, dz), rotation=(rx, ry, rz)
            )
        )
    return tuple(rows)


def _places(found: CaseResult) -> Iterator[tuple[str, Place]]:
    machine = found.loop.machine
    yield "tool", machine.tool
    yield "work", machine.work
    for joint in machine.joints:
        for part in joint.parts:
            yield f'joint "{joint.name}" on {part}', Place(part=part, at=joint.at)
    for support in machine.supports:
        yield f'support "{support.name}"', Place(part=support.part, at=support.at)
    asked = {name for name, _ in found.gauges}
    for gauge in machine.gauges:
        if gauge.name in asked:
            yield f'gauge "{gauge.name}"', Place(part=gauge.part, at=gauge.at)
    for pull in found.pulls:
        yield f'pull "{pull.name}"', Place(part=pull.part, at=pull.at)
    for mass in machine.masses:
        yield f'mass "{mass.name}"', Place(part=mass.part, at=mass.at)
