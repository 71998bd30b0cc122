"""What a machine does under a case: several forces and couples at once, own weight, loads along members, warmth,
settlements, preloads, and sums of cases.

Everything linear: loads between stations become forces at the stations that do the same work on the shapes which a length
takes under forces at its ends (exact for the motions of the stations: the reciprocal theorem), what a part would do free
becomes a motion that its ends are forced back from, and what grows between a part's line and a point beside it opens the
joint there.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from strongback.answer import HIDDEN, Telling, Told, told
from strongback.checks import nearest
from strongback.errors import MachineError
from strongback.machine.elements import element_mass
from strongback.machine.expansion import Growth, growth
from strongback.machine.frames import member_axes, member_length
from strongback.machine.layout import span_at
from strongback.machine.loads import Combination, LineLoad, LoadCase, Settlement
from strongback.machine.loop import Loop, assemble
from strongback.machine.mass import per_length
from strongback.machine.section_forces import MemberForces, station_forces
from strongback.machine.solve import (
    PartMotion,
    ToolMotion,
    gauge_row,
    part_motions,
    pull_load,
    reactions_of,
    tool_rows,
)
from strongback.machine.values import COMPONENTS, Gauge, Member, Place, Pull, Vector

__all__ = ["CaseResult", "motion_at", "solve_cases"]

Array = NDArray[np.float64]
SAME = 1e-9  # [m]
LOOSE = 1e-9  # of its own stiffness: a rod that is held by less than this is held by nothing


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CaseResult(Told):
    """The machine under a case or a combination.

    Parameters
    ----------
    name : str
    pulls : tuple of Pull
        That act in it.
    tool_displacement, tool_rotation : ndarray, shape (3,)
        Of the tool relative to the work [m, rad].
    gauges : tuple of (str, float)
        [m]
    parts : tuple of PartMotion
        Every station, interface and block.
    reactions : tuple of (str, ndarray of shape (6,))
        Force and couple of the ground on the machine at each support [N, N m].
    members : tuple of MemberForces
        Of the members that are beams.
    loop : Loop
        That it was solved in: that of the caller, or one with more stations.
    weightless : tuple of str
        Where own weight acts: bodies with a cap, a foot or diaphragms, whose own weight is left out.
    """

    TOLD: ClassVar[Telling] = (("tool", "tool"),)

    name: str
    pulls: tuple[Pull, ...] = field(metadata=HIDDEN)
    tool_displacement: Array = field(metadata=HIDDEN)
    tool_rotation: Array = field(metadata=HIDDEN)
    gauges: tuple[tuple[str, float], ...] = field(metadata=told(each=("name", "reading_m")))
    parts: tuple[PartMotion, ...] = field(metadata=told("motions"))
    reactions: tuple[tuple[str, Array], ...] = field(metadata=HIDDEN)
    members: tuple[MemberForces, ...] = field(metadata=HIDDEN)
    loop: Loop = field(metadata=HIDDEN)
    _state: _State
    weightless: tuple[str, ...] = ()

    @property
    def tool(self) -> ToolMotion:
        """The tool against the work."""
        return ToolMotion(displacement=self.tool_displacement, rotation=self.tool_rotation)

    def __repr__(self) -> str:
        x, y, z = self.tool_displacement * 1e6
        return f"CaseResult({self.name!r}: tool {x:.4g}, {y:.4g}, {z:.4g} µm in x, y, z)"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _State:
    """Motions, joint forces and what elements do by themselves.

    Parameters
    ----------
    motions : ndarray, shape (unknowns,)
    joints : ndarray, shape (components,)
    elements : ndarray, shape (element forces,)
    fixed : tuple of ndarray
        Of each element: loads within it taken to its ends.
    growths : tuple of (float, Growth)
        Factor and field of every warm part.
    """

    motions: Array
    joints: Array
    elements: Array
    fixed: tuple[Array, ...]
    growths: tuple[tuple[float, Growth], ...]

    def plus(self, other: _State, factor: float) -> _State:
        """Sum of two states."""
        return _State(
            motions=self.motions + factor * other.motions,
            joints=self.joints + factor * other.joints,
            elements=self.elements + factor * other.elements,
            fixed=tuple(a + factor * b for a, b in zip(self.fixed, other.fixed, strict=True)),
            growths=(*self.growths, *((factor * f, g) for f, g in other.growths)),
        )


def solve_cases(
    loop: Loop,
    cases: Sequence[LoadCase],
    combinations: Sequence[Combination] = (),
    *,
    misfits: Mapping[str, Array] | None = None,
) -> list[CaseResult]:
    """Solve cases and combinations of them.

    Parameters
    ----------
    loop : Loop
        Where a load acts between its stations it is assembled again with more of them.
    cases : sequence of LoadCase
    combinations : sequence of Combination
        Of these cases, by name.
    misfits : mapping of str to ndarray of shape (components,), optional
        By case: openings of joint components beyond what their forces make, as `Settlement.misfits` tells them [m, rad].

    Returns
    -------
    list of CaseResult
        Cases, then combinations.

    Raises
    ------
    MachineError
        If a case names what is not there, or loads a body along its length.

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> (found,) = solve_cases(loop, [LoadCase(name="own weight", gravity="-z")])
    >>> ((_, wrench),) = found.reactions
    >>> round(float(wrench[2]), 5)  # 9 kg/m of 0.6 m, times 9.80665 m/s² [N]
    52.95591
    """
    gauges = loop.machine.gauges
    loop = _with_stations(loop, cases)
    none = np.zeros(len(loop.components))
    states = {case.name: _solved(loop, case, (misfits or {}).get(case.name, none)) for case in cases}
    if len(states) < len(cases):
        raise MachineError("two cases have the same name", hint="give each a name of its own")
    for combination in combinations:
        if combination.name in states:
            raise MachineError(f'"{combination.name}" is the name of a case already')
        total = _nothing(loop)
        for name, factor in combination.terms:
            if name not in states:
                raise MachineError(
                    f'combination "{combination.name}" adds case "{name}", which is not there',
                    hint=nearest(name, sorted(states), "cases"),
                )
            total = total.plus(states[name], factor)
        states[combination.name] = total
    pulls = {case.name: case.pulls for case in cases}
    for combination in combinations:
        acting = [pull for name, factor in combination.terms if factor for pull in pulls[name]]
        pulls[combination.name] = tuple(dict.fromkeys(acting))
    heavy = {case.name for case in cases if any(case.gravity)}
    heavy |= {one.name for one in combinations if heavy & {name for name, factor in one.terms if factor}}
    plated = tuple(
        m.name for m in loop.machine.members if m.name in loop.bodies and (m.cap or m.foot or m.diaphragms)
    )
    return [
        _result(loop, name, state, gauges, pulls[name], plated if name in heavy else ())
        for name, state in states.items()
    ]


def _with_stations(loop: Loop, cases: Sequence[LoadCase]) -> Loop:
    """The same machine with a station at every point load and at both ends of every line load."""
    machine = loop.machine
    members = {member.name: member for member in machine.members}
    points: dict[tuple[str, Vector], None] = {}
    for case in cases:
        for pull in case.pulls:
            points |= dict.fromkeys([(pull.part, pull.at), (pull.against, pull.at)])
        for line in case.lines:
            member = _beam(loop, line, members)
            for s in _ends(line, member):
                x, y, z = np.asarray(member.start) + s * member_axes(member)[2]
                points[line.part, (float(x), float(y), float(z))] = None
    missing = [(part, at) for part, at in points if part in members and not loop.layout.has_station(part, at)]
    if not missing:
        return loop
    more = tuple(
        Gauge(name=f"station {i} of a load", part=part, at=at, direction=(0.0, 0.0, 1.0))
        for i, (part, at) in enumerate(missing)
    )
    return assemble(dataclasses.replace(machine, gauges=(*machine.gauges, *more)), loop.parts)


def _beam(loop: Loop, line: LineLoad, members: Mapping[str, Member]) -> Member:
    if line.part not in members:
        raise MachineError(
            f'line load: no member is called "{line.part}"',
            hint=nearest(line.part, sorted(members), "members"),
        )
    if line.part in loop.bodies:
        raise MachineError(
            f'line load on "{line.part}", which is a body',
            hint='give point loads on its pads, or model = "beam"',
        )
    if line.high is not None and line.high > member_length(members[line.part]) + SAME:
        raise MachineError(f'line load on "{line.part}" ends beyond the member, at {1e3 * line.high:g} mm')
    return members[line.part]


def _ends(line: LineLoad, member: Member) -> tuple[float, float]:
    return line.low or 0.0, member_length(member) if line.high is None else line.high


def _nothing(loop: Loop) -> _State:
    none = tuple(np.zeros(len(e.columns)) for e in loop.elements)
    return _State(
        motions=np.zeros(loop.size),
        joints=np.zeros(len(loop.components)),
        elements=np.zeros(sum(len(e.shape) for e in loop.elements)),
        fixed=none,
        growths=(),
    )


def _solved(loop: Loop, case: LoadCase, misfits: Array) -> _State:
    """The state under a case; rods are tightened on their own, since their tension is stated without other loads."""
    loads = np.zeros(loop.size)
    fixed = [np.zeros(len(e.columns)) for e in loop.elements]
    free = [np.zeros(len(e.columns)) for e in loop.elements]
    for pull in case.pulls:
        loads += pull_load(loop, pull)
    for line in case.lines:
        _add(fixed, _line_loads(loop, line))
    if any(case.gravity):
        _add(fixed, _weights(loop, np.array(case.gravity)))
        for mass in loop.machine.masses:
            loads += mass.mass * np.array(case.gravity) @ loop.motion_of(mass.part, mass.at)[:3]
    growths = tuple(growth(loop, warming) for warming in case.warmings)
    for one in growths:
        _add(free, _free_motions(loop, one))
    state = _answer(loop, loads, free, fixed, misfits + _openings(loop, case.settlements, growths), growths)
    return state.plus(_tightened(loop, case), 1.0) if case.tightenings else state


def _add(total: list[Array], more: Sequence[Array]) -> None:
    for k, own in enumerate(more):
        total[k] = total[k] + own


def _answer(
    loop: Loop,
    loads: Array,
    free: Sequence[Array],
    fixed: Sequence[Array],
    openings: Array,
    growths: tuple[Growth, ...] = (),
) -> _State:
    """Motions and joint forces under loads on the motions, motions without force and openings of joints."""
    total = loads.copy()
    for element, own in zip(loop.elements, fixed, strict=True):
        used = element.columns >= 0
        np.add.at(total, element.columns[used], own[used])
    strains = np.concatenate([np.zeros(0), *(e.shape @ u for e, u in zip(loop.elements, free, strict=True))])
    statics = loop.statics
    found = statics.solve(statics.carry(total[:, None]), openings[:, None], strains[:, None])
    return _State(
        motions=statics.motions(found)[:, 0],
        joints=found.joints[:, 0],
        elements=found.elements[:, 0],
        fixed=tuple(fixed),
        growths=tuple((1.0, one) for one in growths),
    )


def _lengths_of(loop: Loop, member: str) -> list[tuple[int, float, float]]:
    """Elements of a beam from start to end: their place among all, where they start and end [m]."""
    line = loop.stations[member]
    places = [k for k, element in enumerate(loop.elements) if element.member == member]
    return list(zip(places, map(float, line.s[:-1]), map(float, line.s[1:]), strict=True))


def _even_mass(loop: Loop, member: Member, place: int, low: float, high: float, per: Array) -> Array:
    """Consistent mass of a length of a beam on the motions of its ends, in the axes of the machine, (k, k)."""
    section = loop.parts.sections[span_at(member, 0.5 * (low + high))]
    line = loop.stations[member.name]
    return element_mass(loop.elements[place], line, section, member, high - low, per)


def _moving(loop: Loop, member: Member, direction: Iterable[float]) -> Array:
    """Both ends of a length moving alike, (k,)."""
    width = loop.stations[member.name].columns.shape[1]
    return np.tile([*direction, *([0.0] * (width - 3))], 2)


def _line_loads(loop: Loop, line: LineLoad) -> list[Array]:
    """An even load as a mass per length of one that feels it as an acceleration: the ends of each length take its work."""
    found = [np.zeros(len(e.columns)) for e in loop.elements]
    member = next(m for m in loop.machine.members if m.name == line.part)
    start, end = _ends(line, member)
    x, y = line.offset
    arm = np.array([[1.0, 0.0, 0.0, 0.0, 0.0, -y], [0.0, 1.0, 0.0, 0.0, 0.0, x], [0.0, 0.0, 1.0, y, -x, 0.0]])
    per = arm.T @ arm
    for place, low, high in _lengths_of(loop, line.part):
        if low > start - SAME and high < end + SAME:
            found[place] = _even_mass(loop, member, place, low, high, per) @ _moving(loop, member, line.force)
    return found


def _weights(loop: Loop, gravity: Array) -> list[Array]:
    """Own weight of every length of beam, and of every body on its interfaces.

    A body takes it as its fields for unit motions of the interfaces do work with it, which is exact for the motions of the
    interfaces; what its bare wall sags in between by its own weight is left out.
    """
    found = [np.zeros(len(e.columns)) for e in loop.elements]
    for k, element in enumerate(loop.elements):
        if element.member in loop.bodies:
            place = loop.bodies[element.member]
            local = np.tile([*(place.axes @ gravity), 0.0, 0.0, 0.0], len(place.columns))
            turn = np.kron(np.eye(2 * len(place.columns)), place.axes)
            found[k] = turn.T @ (place.body.mass @ local)
    for member in loop.machine.members:
        if member.name in loop.bodies:
            continue
        whole = _moving(loop, member, gravity)
        for at, low, high in _lengths_of(loop, member.name):
            section = loop.parts.sections[span_at(member, 0.5 * (low + high))]
            found[at] = _even_mass(loop, member, at, low, high, per_length(section)) @ whole
    return found


def _free_motions(loop: Loop, one: Growth) -> list[Array]:
    """Motions of the ends of elements in the field of free expansion."""
    found = [np.zeros(len(e.columns)) for e in loop.elements]
    if one.part in loop.stations:
        line = loop.stations[one.part]
        six = np.array([one.at((float(x), float(y), float(z))) for x, y, z in line.points])
        seven = np.hstack([six, np.zeros((len(six), line.columns.shape[1] - 6))])
        for k, (place, _, _) in enumerate(_lengths_of(loop, one.part)):
            found[place] = seven[k : k + 2].ravel()
    elif one.part in loop.bodies:
        place = next(k for k, element in enumerate(loop.elements) if element.member == one.part)
        body = loop.bodies[one.part]
        points = np.asarray(body.start) + body.body.points @ body.axes
        found[place] = np.concatenate([one.at((float(x), float(y), float(z))) for x, y, z in points])
    return found


def _beside(loop: Loop, one: Growth, at: Vector, pad: str = "") -> Array:
    """How far a point of a warm part grows away from what carries it, (6,)."""
    every = np.zeros(loop.size + 1)  # the last one takes what is held
    for element, own in zip(loop.elements, _free_motions(loop, one), strict=True):
        if element.member == one.part:
            every[element.columns] = own
    return np.asarray(one.at(at) - loop.motion_of(one.part, at, pad) @ every[:-1])


def _grown(
    loop: Loop, growths: Sequence[tuple[float, Growth]], part: str, at: Vector, pad: str = ""
) -> Array:
    """The same of a point of any part, summed over what is warm, (6,)."""
    own = (factor * _beside(loop, one, at, pad) for factor, one in growths if one.part == part)
    return sum(own, np.zeros(6))


def _openings(loop: Loop, settlements: Sequence[Settlement], growths: tuple[Growth, ...]) -> Array:
    """Openings of joint components that no force makes, (components,)."""
    machine = loop.machine
    wanted: dict[str, Array] = {}
    supports = {support.name: support for support in machine.supports}
    for move in settlements:
        if move.support not in supports:
            raise MachineError(
                f'settlement: no support is called "{move.support}"',
                hint=nearest(move.support, sorted(supports), "supports"),
            )
        motion = np.array([*move.displacement, *move.rotation])
        wanted[move.support] = wanted.get(move.support, np.zeros(6)) + motion
    warm = tuple((1.0, one) for one in growths)
    for joint in machine.joints:
        first, second = (_grown(loop, warm, part, joint.at, joint.pad) for part in joint.parts)
        wanted[joint.name] = first - second
    for support in machine.supports:
        grown = _grown(loop, warm, support.part, support.at)
        wanted[support.name] = wanted.get(support.name, np.zeros(6)) - grown
    axes = {holder.name: np.asarray(holder.axes) for _, holder in machine.holders()}
    found = np.zeros(len(loop.components))
    for k, component in enumerate(loop.components):
        six = np.concatenate([axes[component.owner] @ part for part in np.split(wanted[component.owner], 2)])
        found[k] = six[COMPONENTS.index(component.name)]
    return found


def _tightened(loop: Loop, case: LoadCase) -> _State:
    """Rods shortened until each has its tension, nothing else acting."""
    names = [one.part for one in case.tightenings]
    if len(set(names)) < len(names):
        raise MachineError(f'case "{case.name}" tightens a rod twice')
    states = []
    for name in names:
        if name not in loop.stations:
            raise MachineError(
                f'tightening: no member that is a beam is called "{name}"',
                hint=nearest(name, sorted(loop.stations), "beams"),
            )
        line = loop.stations[name]
        free = [np.zeros(len(e.columns)) for e in loop.elements]
        for place, low, high in _lengths_of(loop, name):
            along = -line.axes[2] / float(line.s[-1])
            free[place] = np.array([*(low * along), 0, 0, 0, 0, *(high * along), 0, 0, 0, 0], dtype=float)
        none = [np.zeros(len(e.columns)) for e in loop.elements]
        states.append(_answer(loop, np.zeros(loop.size), free, none, np.zeros(len(loop.components))))
    tension = np.array([[_tension(loop, state, name) for state in states] for name in names])
    wanted = np.array([one.force for one in case.tightenings])
    for k, name in enumerate(names):
        member = next(m for m in loop.machine.members if m.name == name)
        alone = loop.parts.sections[member.spans[0].section].EA / member_length(member)
        if abs(tension[k, k]) < LOOSE * alone:
            raise MachineError(f'case "{case.name}" tightens "{name}", whose ends nothing holds apart')
    if np.linalg.cond(tension) > 1.0 / LOOSE:
        raise MachineError(f'case "{case.name}" tightens rods that hold nothing but each other')
    total = _nothing(loop)
    for state, shortening in zip(states, np.linalg.solve(tension, wanted), strict=True):
        total = total.plus(state, float(shortening))
    return total


def _tension(loop: Loop, state: _State, name: str) -> float:
    """Axial force in the middle of a member."""
    forces = _forces(loop, state, name).forces
    return float(forces[len(forces) // 2, 2])


def _forces(loop: Loop, state: _State, name: str) -> MemberForces:
    firsts = np.cumsum([0, *(len(e.shape) for e in loop.elements)])
    ends = []
    for place, _, _ in _lengths_of(loop, name):
        own = state.elements[firsts[place] : firsts[place + 1]]
        ends.append(loop.elements[place].end_forces(own) - state.fixed[place])
    return station_forces(loop, name, ends)


def _result(
    loop: Loop,
    name: str,
    state: _State,
    asked: Sequence[Gauge],
    pulls: tuple[Pull, ...],
    weightless: tuple[str, ...],
) -> CaseResult:
    machine = loop.machine
    tool = tool_rows(loop) @ state.motions
    tool = tool + _grown(loop, state.growths, machine.tool.part, machine.tool.at)
    tool = tool - _grown(loop, state.growths, machine.work.part, machine.work.at)
    return CaseResult(
        name=name,
        pulls=pulls,
        tool_displacement=tool[:3],
        tool_rotation=tool[3:],
        gauges=tuple((gauge.name, _reading(loop, state, gauge)) for gauge in asked),
        parts=part_motions(loop, state.motions),
        reactions=reactions_of(loop, state.joints),
        members=tuple(_forces(loop, state, member) for member in loop.stations),
        loop=loop,
        _state=state,
        weightless=weightless,
    )


def _reading(loop: Loop, state: _State, gauge: Gauge) -> float:
    direction = np.asarray(gauge.direction) / np.linalg.norm(gauge.direction)
    foot = gauge.at if gauge.stand is None else gauge.stand
    stand = _grown(loop, state.growths, gauge.reference, foot)
    away = _grown(loop, state.growths, gauge.part, gauge.at)[:3]
    away = away - stand[:3] - np.cross(stand[3:], np.subtract(gauge.at, foot))
    return float(gauge_row(loop, gauge) @ state.motions + direction @ away)


def motion_at(found: CaseResult, place: Place) -> Array:
    """Displacement and rotation of a named point under a case.

    Parameters
    ----------
    found : CaseResult
    place : Place
        At a station of a beam, anywhere on a block, at an interface or gauge point of a body.

    Returns
    -------
    ndarray, shape (6,)
        [m, rad]

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> (found,) = solve_cases(loop, [LoadCase(name="sinks", settlements={"foot": (0, 0, -1e-4)})])
    >>> round(float(motion_at(found, machine.tool)[2]) * 1e6, 6)  # [µm]
    -100.0
    """
    state = found._state
    six = found.loop.motion_of(place.part, place.at) @ state.motions
    return np.asarray(six + _grown(found.loop, state.growths, place.part, place.at))
