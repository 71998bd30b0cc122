"""What in a project looks like a slip: sizes, places and loads that no small machine has, each with the likely meaning.

Limits stand in ``plausible.toml`` with their source. They warn and never refuse, and one slip changes no other figure.
"""

from __future__ import annotations

import functools
import math
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import resources
from typing import Any

import numpy as np

from strongback.evidence.slips import log_slips
from strongback.machine.frames import member_length
from strongback.machine.joints.bore import slip_torque
from strongback.machine.joints.flange import USUAL_TORQUE, preload_of
from strongback.machine.pad_contact import counted_twice
from strongback.machine.plausible import misplaced
from strongback.machine.values import Joint, Machine, Member
from strongback.project.read import Project
from strongback.project.schema_joints import JOINT_KINDS, SUPPORT_KINDS, JointTable, SupportTable
from strongback.project.schema_kinds import SpindleTable
from strongback.section.outline import area_of, mass_per_length
from strongback.section.values import Outline
from strongback.units import UNITS

__all__ = ["Limit", "Unlikely", "limits", "unlikely_of"]

SLIPS: dict[str, tuple[tuple[float, str], ...]] = {
    "mm": ((10.0, "cm and mm"), (25.4, "inches and mm"), (1000.0, "m and mm")),
    "N": ((9.80665, "kg and N"), (4.44822, "lbf and N"), (1000.0, "kN and N")),
    "kg": ((1000.0, "g and kg"), (2.20462, "lb and kg")),
    "um": ((1000.0, "mm and um"), (25.4, "thou and um"), (10.0, "0.01 mm and um")),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A row of ``plausible.toml``.

    Parameters
    ----------
    of : str
        What is measured.
    unit : str
    low, usual, high : float
        In that unit.
    say : str
        The warning, with ``{what}`` and ``{v}``.
    source : str
    """

    of: str
    unit: str
    low: float
    usual: float
    high: float
    say: str
    source: str

    def likely(self, value: float) -> str:
        """The slip of a unit that would explain a value outside, in words; empty if none brings it back.

        Parameters
        ----------
        value : float
            In the unit of the limit.

        Examples
        --------
        >>> limits()["section size"].likely(1200.0)
        'did you mean 120 mm (cm and mm mixed up)?'
        """
        meant = [
            (abs(math.log(there / self.usual)), there, words)
            for factor, words in SLIPS.get(self.unit, ())
            for there in ((value / factor) if value > self.high else value * factor,)
            if max(self.low, 1e-300) <= there <= self.high and self.usual > 0.0
        ]
        if not meant:
            return ""
        _, there, words = min(meant)
        return f"did you mean {there:.3g} {self.unit} ({words} mixed up)?"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unlikely:
    """A figure outside of what is usual.

    Parameters
    ----------
    of : str
        What is measured, as the limit calls it.
    what : str
        Whose figure it is.
    value : float
        In `unit`.
    unit : str
    text : str
        The warning in one line, with the place in the file and the likely slip.
    likely : str
        The slip alone; may be empty.
    source : str
        Of the limit.
    """

    of: str
    what: str
    value: float
    unit: str
    text: str
    likely: str
    source: str


@functools.cache
def limits() -> dict[str, Limit]:
    """Every limit by what it measures."""
    text = resources.files("strongback.project").joinpath("plausible.toml").read_text(encoding="utf-8")
    rows = [Limit(**row) for row in tomllib.loads(text)["limit"]]
    return {row.of: row for row in rows}


@dataclass(frozen=True, slots=True)
class _Figure:
    """A measured figure in SI, and where its table stands."""

    of: str
    what: str
    value: float
    kind: str = ""
    name: str = ""


def unlikely_of(read: Project) -> tuple[Unlikely, ...]:
    """Every figure of a project that lies outside of what is usual.

    Parameters
    ----------
    read : Project

    Returns
    -------
    tuple of Unlikely
        In the order of the parts of a file.
    """
    machine = read.machine
    found: list[Unlikely] = []
    for figure in (
        *_sections(machine),
        *_members(machine),
        *_floating(machine),
        *_holders(read),
        *_kinds(read),
        *_spindles(read),
        *_clamps(read),
        *_loads(machine),
    ):
        one = _judged(read, figure)
        if one is not None and one not in found:
            found.append(one)
    found += _short_readings(read)
    found += _slips(read)
    for joint, pad in counted_twice(machine):
        found.append(
            Unlikely(
                of="contact",
                what=f'joint "{joint.name}"',
                value=math.nan,
                unit="",
                text=f'{read.place_of("joint", joint.name)}: joint "{joint.name}" and pad "{pad.name}" both hold the '
                "contact of one face, which counts twice: leave the stiffness out of the pad, or make the joint "
                "rigid out of the face; deflect says how much it is",
                likely="",
                source="two springs in series",
            )
        )
    for text in misplaced(machine):
        found.append(
            Unlikely(
                of="place",
                what="",
                value=math.nan,
                unit="",
                text=text,
                likely="",
                source="common practice, no source",
            )
        )
    return tuple(found)


def _judged(read: Project, figure: _Figure) -> Unlikely | None:
    limit = limits()[figure.of]
    value = figure.value / UNITS[limit.unit].factor if limit.unit != "1" else figure.value
    if not math.isfinite(value) or limit.low <= value <= limit.high:
        return None
    shown = f"{value:.3g}" if limit.unit == "1" else f"{value:.4g} {limit.unit}"
    likely = limit.likely(value)
    place = read.place_of(figure.kind, figure.name) if figure.kind else ""
    words = limit.say.format(what=figure.what, v=shown)
    text = " ".join(
        part for part in (f"{place}:" if place else "", words, f"({likely})" if likely else "") if part
    )
    return Unlikely(
        of=figure.of,
        what=figure.what,
        value=value,
        unit=limit.unit,
        text=text,
        likely=likely,
        source=limit.source,
    )


def _sections(machine: Machine) -> Iterator[_Figure]:
    for name, section in machine.sections:
        if not isinstance(section, Outline):
            continue
        what = f'section "{name}"'
        low, high = _box(section)
        for size in sorted({float(v) for v in high - low}):
            yield _Figure("section size", what, size, "section", name)
        wall = _mean_wall(section)
        if wall is not None:
            yield _Figure("wall thickness", what, wall, "section", name)
            yield _Figure(
                "wall over half the section", what, 2.0 * wall / float((high - low).min()), "section", name
            )
        yield _Figure("mass per metre", what, mass_per_length(section), "section", name)


def _box(section: Outline) -> tuple[np.ndarray, np.ndarray]:
    points = np.vstack([wall.ring for wall in section.walls])
    return points.min(axis=0), points.max(axis=0)


def _mean_wall(section: Outline) -> float | None:
    """Mean thickness of the walls around a hollow, 2 A / P; None for a solid section [m]."""
    rings = [ring for wall in section.walls for ring in (wall.ring, *wall.holes)]
    if all(not wall.holes for wall in section.walls) and len(section.walls) == 1:
        return None
    edge = sum(float(np.linalg.norm(np.subtract(r, np.roll(r, 1, axis=0)), axis=1).sum()) for r in rings)
    return 2.0 * sum(area_of(Outline(name=w.name, walls=(w,))) for w in section.walls) / edge


def _members(machine: Machine) -> Iterator[_Figure]:
    sections = dict(machine.sections)
    for member in machine.members:
        what = f'member "{member.name}"'
        length = member_length(member)
        yield _Figure("member length", what, length, "member", member.name)
        section = sections[member.spans[0].section]
        if isinstance(section, Outline):
            low, high = _box(section)
            yield _Figure(
                "member length over section", what, length / float((high - low).max()), "member", member.name
            )
            off = float((np.abs(low + high) / 2.0 / (high - low)).max())
            yield _Figure(
                "line of the member from the middle of its section", what, off, "member", member.name
            )


def _off(member: Member, at: tuple[float, float, float]) -> tuple[float, float]:
    """How far a point lies beside the line of a member, and beyond its ends [m]."""
    along = np.subtract(member.end, member.start) / member_length(member)
    away = np.subtract(at, member.start)
    s = float(away @ along)
    beside = float(np.linalg.norm(away - s * along))
    return beside, max(-s, s - member_length(member), 0.0)


def _half_section(machine: Machine, member: Member) -> float:
    """From the line of a member to the furthest point of its outline [m]."""
    section = dict(machine.sections)[member.spans[0].section]
    if not isinstance(section, Outline):
        return 0.3
    return float(np.linalg.norm(np.vstack([wall.ring for wall in section.walls]), axis=1).max())


def _floating(machine: Machine) -> Iterator[_Figure]:
    """Joints beside a member that they hold, and members that nothing meets."""
    for member in machine.members:
        reach = _half_section(machine, member)
        gaps = []
        for kind, holder in machine.holders():
            parts = holder.parts if isinstance(holder, Joint) else (holder.part,)
            if member.name not in parts:
                continue
            beside, beyond = _off(member, holder.at)
            gap = math.hypot(max(0.0, beside - reach), beyond)
            gaps.append(gap)
            what = f'{kind} "{holder.name}" of "{member.name}"'
            yield _Figure("joint to its part", what, gap, kind, holder.name)
        if gaps:
            yield _Figure(
                "part that nothing meets", f'member "{member.name}"', min(gaps), "member", member.name
            )


def _holders(read: Project) -> Iterator[_Figure]:
    machine = read.machine
    for kind, holder in machine.holders():
        what = f'{kind} "{holder.name}"'
        low, high = holder.low or holder.stiffness, holder.high or holder.stiffness
        for i, value in enumerate(holder.stiffness):
            if value in (0.0, math.inf):
                continue
            yield _Figure("joint along" if i < 3 else "joint about", what, value, kind, holder.name)
            if 0.0 < low[i] < value < high[i] and holder.name not in read.starts:
                yield _Figure(
                    "range of a joint", what, max(value / low[i], high[i] / value), kind, holder.name
                )
    for pad in machine.pads:
        if pad.within_joint:  # that of its joint, spread over whatever size it has
            continue
        yield _Figure("pad stiffness", f'pad "{pad.name}"', pad.stiffness, "pad", pad.name)


def _tables(read: Project) -> Iterator[tuple[str, str, str, Any]]:
    """Kind of holder, its name, key of its kind, and the table of that kind."""
    for kind, model, keys in (("joint", JointTable, JOINT_KINDS), ("support", SupportTable, SUPPORT_KINDS)):
        for row in read.document.data.get(kind, []):
            table = model.model_validate(row)
            for key in keys:
                own = getattr(table, key)
                if own is not None:
                    yield kind, table.name, key, own


def _kinds(read: Project) -> Iterator[_Figure]:
    for kind, name, _, table in _tables(read):
        what = f'{kind} "{name}"'
        fields = type(table).model_fields
        if "flat" in fields:
            yield _Figure("flat of a way", what, table.flat, kind, name)
            yield _Figure("length of a way", what, table.length, kind, name)
        if "face_looks" in fields and "bolts" in fields:
            for size in table.size:
                yield _Figure("face size", what, size, kind, name)
        if "bolts" in fields:
            thread = table.bolts[1]
            yield _Figure("bolt", what, thread, kind, name)
            yield _Figure("torque over the usual one", what, _of_usual(table), kind, name)
        if "wall_to_bolt" in fields:
            ratio = table.wall_to_bolt / table.thickness
            yield _Figure("wall to bolt over the thickness of the flange", what, ratio, kind, name)


def _of_usual(table: Any) -> float:
    """Torque of a bolt over the usual one of its thread; 1 where none is given."""
    if table.torque is None:
        return 1.0
    thread = 1e3 * table.bolts[1]
    near = min(USUAL_TORQUE, key=lambda size: abs(size - thread))
    return float(table.torque / (USUAL_TORQUE[near] * (thread / near) ** 3))


def _spindles(read: Project) -> Iterator[_Figure]:
    tool = read.machine.tool
    for kind, name, _, table in _tables(read):
        if not isinstance(table, SpindleTable):
            continue
        what = f'{kind} "{name}"'
        yield _Figure("bearing span", what, table.bearing_span, kind, name)
        for bearing in (table.front, table.rear):
            yield _Figure("bearing bore", what, bearing.bore, kind, name)
        if table.overhang is not None:
            yield _Figure("nose before the front bearing", what, table.overhang, kind, name)
        away = np.subtract(tool.at, table.front_bearing)
        before = float(away @ np.asarray(table.nose))
        beside = float(np.linalg.norm(away - before * np.asarray(table.nose)))
        part = next((j.parts[1] for j in read.machine.joints if j.name.startswith(name)), "")
        if part == tool.part:
            yield _Figure("tool beside the spindle axis", what, beside, kind, name)
            yield _Figure("tool before the front bearing", what, before, kind, name)


def _clamps(read: Project) -> Iterator[_Figure]:
    """Couples of pulls about clamped columns, over what makes the clamps slip."""
    joints = {joint.name: joint for joint in read.machine.joints}
    for kind, name, key, table in _tables(read):
        if key != "clamp_on_round_column" or name not in joints:
            continue
        count, thread = table.bolts
        near = min(USUAL_TORQUE, key=lambda size: abs(size - 1e3 * thread))
        torque = table.torque or USUAL_TORQUE[near] * (1e3 * thread / near) ** 3
        slips = slip_torque(count, table.preload or preload_of(torque, thread), table.diameter)
        joint = joints[name]
        axis = np.asarray(joint.axes[2])
        for pull in read.machine.pulls:
            couple = np.asarray(pull.couple) + np.cross(np.subtract(pull.at, joint.at), pull.force)
            if pull.part == joint.parts[0]:
                continue  # the pull does not pass the clamp
            share = abs(float(couple @ axis)) / slips
            yield _Figure(
                "torque over the slip of a clamp", f'pull "{pull.name}" on "{name}"', share, kind, name
            )


def _loads(machine: Machine) -> Iterator[_Figure]:
    for pull in machine.pulls:
        what = f'pull "{pull.name}"'
        if any(pull.force):
            yield _Figure("pull", what, math.hypot(*pull.force), "pull", pull.name)
        if any(pull.couple):
            yield _Figure("couple", what, math.hypot(*pull.couple), "pull", pull.name)
    for gauge in machine.gauges:
        yield _Figure("step of a dial", f'gauge "{gauge.name}"', gauge.resolution, "gauge", gauge.name)
    for mass in machine.masses:
        yield _Figure("mass", f'mass "{mass.name}"', mass.mass, "mass", mass.name)


def _slips(read: Project) -> Iterator[Unlikely]:
    """What looks like a slip in a log, one warning each."""
    machine = read.machine
    forces = {p.name: float(np.linalg.norm(p.force) or np.linalg.norm(p.couple)) for p in machine.pulls}
    for data in read.extras.get("readings", ()):
        for words in log_slips(data.readings, forces, data.instrument):
            yield Unlikely(
                of="log of readings",
                what=f'readings "{data.name}"',
                value=math.nan,
                unit="",
                text=f"{read.place_of('readings', data.name)}: {words}",
                likely=words,
                source="common practice, no source",
            )


def _short_readings(read: Project) -> Iterator[Unlikely]:
    """Readings of a log below five steps of their dials, one warning a log."""
    steps = {gauge.name: gauge.resolution for gauge in read.machine.gauges}
    limit = limits()["reading over the step of its dial"]
    for data in read.extras.get("readings", ()):
        seen: dict[tuple[str, str], list[float]] = {}
        for r in data.readings:
            if r.gauge in steps:
                moved = r.loaded - 0.5 * (r.zero_before + r.zero_after)
                seen.setdefault((r.gauge, r.pull), []).append(moved / steps[r.gauge])
        means = {names: abs(sum(v) / len(v)) for names, v in seen.items()}
        short = {names: mean for names, mean in means.items() if mean < limit.low}
        if not short:
            continue
        worst = min(short, key=lambda names: short[names])
        what = f'readings "{data.name}"'
        words = limit.say.format(
            what=f"{what}: {len(short)} of {len(means)} are short; {worst[0]} under {worst[1]}",
            v=f"{short[worst]:.2g}",
        )
        yield Unlikely(
            of=limit.of,
            what=what,
            value=short[worst],
            unit=limit.unit,
            text=f"{read.place_of('readings', data.name)}: {words}",
            likely="",
            source=limit.source,
        )
