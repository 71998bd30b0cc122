"""Loads on the loop and what it does under them: motion of the tool against the work, readings of gauges, shapes."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from strongback.answer import HIDDEN, INLINE, Telling, Told, told
from strongback.errors import MachineError
from strongback.machine.exact_balance import exactly, pull_wrench, reading_wrenches
from strongback.machine.guard import Doubt, Judged, doubt_of, judged, spread_of_answers
from strongback.machine.loop import Loop, assemble
from strongback.machine.statics.determinate import Carried
from strongback.machine.statics.elastic import Elastic, Solution
from strongback.machine.turned import turned_pull
from strongback.machine.values import GROUND, Gauge, Pull, Vector

__all__ = [
    "Deflection",
    "PartMotion",
    "ToolMotion",
    "deflection_of",
    "gauge_row",
    "member_forces",
    "named_readings",
    "pull_load",
    "reactions_of",
    "reading_rows",
    "solve",
    "solve_all",
    "tool_rows",
    "with_stations",
]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PartMotion:
    """How a part moves, at its stations (a member) or its reference point (a block).

    Parameters
    ----------
    part : str
    points : ndarray, shape (n, 3)
        [m]
    displacement : ndarray, shape (n, 3)
        [m]
    rotation : ndarray, shape (n, 3)
        [rad]

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> motion = solve(loop, machine.pulls[0]).parts[0]
    >>> round(float(motion.rotation[-1, 1]) * 1e6, 6)  # P L²/2EI + P L/k at the top [µrad]
    186.666667
    """

    part: str
    points: Array = field(metadata=told("at_m"))
    displacement: Array = field(metadata=told("displacement_m"))
    rotation: Array = field(metadata=told("rotation_rad"))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToolMotion:
    """The tool against the work.

    Parameters
    ----------
    displacement : ndarray, shape (3,)
        [m]
    rotation : ndarray, shape (3,)
        [rad]
    along_pull : float, optional
        Along the force of the one pull that acts [m].
    """

    displacement: Array = field(metadata=told("displacement_m"))
    rotation: Array = field(metadata=told("rotation_rad"))
    along_pull: float | None = field(default=None, metadata=told("along_pull_m", absent=True))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Deflection(Told):
    """The machine under one pull.

    Parameters
    ----------
    pull : Pull
    tool_displacement : ndarray, shape (3,)
        Of the tool point relative to the work [m].
    tool_rotation : ndarray, shape (3,)
        [rad]
    gauges : tuple of (str, float)
        Expected reading of each gauge [m].
    parts : tuple of PartMotion
    reactions : tuple of (str, ndarray of shape (6,))
        Force and couple of the ground on the machine at each support, machine axes [N, N m].
    imbalance : float
        Largest missing force in the balance of the whole machine, as a fraction of the largest force at work.
    error : float
        How far rounding may have moved tool and gauges, as a fraction of what they do, or `imbalance` if that is larger.
    doubt : str
        What to do about it where it is more than one part in a million; else empty.
    not_unique : tuple of str
        Joints and supports with rigid components that hold each other: the motions are as given, their forces are the
        smallest in balance with the others.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> solve(loop, machine.pulls[0])
    Deflection('sideways': tool 78, 0, 0 µm in x, y, z; 1 gauges)
    """

    TOLD: ClassVar[Telling] = (("tool", "tool"),)

    pull: Pull = field(metadata=INLINE)
    tool_displacement: Array = field(metadata=HIDDEN)
    tool_rotation: Array = field(metadata=HIDDEN)
    gauges: tuple[tuple[str, float], ...] = field(metadata=told(each=("name", "reading_m")))
    parts: tuple[PartMotion, ...] = field(metadata=HIDDEN)
    reactions: tuple[tuple[str, Array], ...] = field(metadata=HIDDEN)
    imbalance: float
    error: float = field(default=0.0, metadata=told("rounding_error"))
    doubt: str = field(default="", metadata=told("warning"))
    not_unique: tuple[str, ...] = field(default=(), metadata=told("forces_not_unique"))

    @property
    def tool(self) -> ToolMotion:
        """The tool against the work."""
        return ToolMotion(
            displacement=self.tool_displacement, rotation=self.tool_rotation, along_pull=self.along_pull
        )

    @property
    def along_pull(self) -> float:
        """Motion of the tool against the work along the force of the pull, its size under a couple [m]."""
        force = np.asarray(self.pull.force, dtype=float)
        if not np.any(force):
            return float(np.linalg.norm(self.tool_displacement))
        return float(self.tool_displacement @ force / np.linalg.norm(force))

    @property
    def name(self) -> str:
        """That of the pull."""
        return self.pull.name

    @property
    def pulls(self) -> tuple[Pull, ...]:
        """The one pull."""
        return (self.pull,)

    def __repr__(self) -> str:
        x, y, z = self.tool_displacement * 1e6
        return f"Deflection({self.pull.name!r}: tool {x:.4g}, {y:.4g}, {z:.4g} µm in x, y, z; {len(self.gauges)} gauges)"


def pull_load(loop: Loop, pull: Pull) -> Array:
    """Loads on all motions under a pull, (unknowns,).

    A pull on the bare wall of a body is taken all over the cut at its height, as by a strap or a clamped bar: a hook in
    one wall dents that wall by more, and a gauge beside it then reads more.

    Raises
    ------
    MachineError
        If it pulls at nothing that moves, or at a wall of a body that was condensed without that pull.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> float(pull_load(loop, machine.pulls[0]).max())  # all of it on the motion along X of the top [N]
    100.0
    """
    wrench = np.concatenate([pull.force, pull.couple])
    opening = loop.motion_of(pull.part, pull.at, pulled=True) - loop.motion_of(
        pull.against, pull.at, pulled=True
    )
    if not np.any(opening):
        raise MachineError(
            f'pull "{pull.name}" pulls at no part that can move', hint="name a member or a block"
        )
    return np.asarray(wrench @ opening)


def tool_rows(loop: Loop) -> Array:
    """Motion of the tool relative to the work from all motions, (6, unknowns).

    Raises
    ------
    MachineError
        If either is a point of the bare wall of a body, which has no rotation and cannot take the force between them.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> tool_rows(loop).shape  # the tool against the work from all motions
    (6, 42)
    """
    machine = loop.machine
    for place in (machine.tool, machine.work):
        if place.part in loop.bodies and not loop.bodies[place.part].interface_at(place.at):
            raise MachineError(
                f'the tool or the work is on the bare wall of "{place.part}", which is a body',
                hint='put it on a part that bears on the body, or set model = "beam"',
            )
    return loop.motion_of(machine.tool.part, machine.tool.at) - loop.motion_of(
        machine.work.part, machine.work.at
    )


def reading_rows(loop: Loop) -> Array:
    """Motion of the tool and readings of all gauges from all motions, (6 + gauges, unknowns).

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> reading_rows(assemble(machine, parts_of(machine))).shape  # six of the tool and one gauge
    (7, 42)
    """
    return np.vstack([tool_rows(loop), *(gauge_row(loop, g)[None] for g in loop.machine.gauges)])


def named_readings(loop: Loop, values: Array) -> tuple[tuple[str, float], ...]:
    """Values of all gauges with their names.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> named_readings(loop, np.array([78e-6]))
    (('top', 7.8e-05),)
    """
    return tuple((g.name, float(value)) for g, value in zip(loop.machine.gauges, values, strict=True))


def gauge_row(loop: Loop, gauge: Gauge) -> Array:
    """Reading of a gauge from all motions, (unknowns,).

    The stand is carried by its reference body as a rigid arm from where it sits to the point that is touched.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> load = pull_load(loop, machine.pulls[0])[:, None]
    >>> round(float(loop.read(gauge_row(loop, machine.gauges[0])[None], load)[0, 0]) * 1e6, 6)  # [µm]
    78.0
    """
    direction = np.asarray(gauge.direction) / np.linalg.norm(gauge.direction)
    touched = loop.motion_of(gauge.part, gauge.at)[:3]
    return np.asarray(direction @ (touched - _stand_rows(loop, gauge)))


def _stand_rows(loop: Loop, gauge: Gauge) -> Array:
    foot = gauge.at if gauge.stand is None else gauge.stand
    rows = loop.motion_of(gauge.reference, foot)
    arm = np.subtract(gauge.at, foot)
    shift = np.eye(3, 6)
    shift[:, 3:] = -np.array([[0.0, -arm[2], arm[1]], [arm[2], 0.0, -arm[0]], [-arm[1], arm[0], 0.0]])
    return np.asarray(shift @ rows)


def solve(loop: Loop, pull: Pull) -> Deflection:
    """Deflection of the machine under a pull.

    Parameters
    ----------
    loop : Loop
    pull : Pull

    Returns
    -------
    Deflection

    Raises
    ------
    MachineError
        If the pull acts on nothing that can move.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> found = solve(loop, machine.pulls[0])
    >>> round(float(found.tool_displacement[0]) * 1e6, 6)  # P L³/3EI + P L/kGA + P L²/k [µm]
    78.0
    >>> round(dict(found.gauges)["top"] * 1e6, 6)
    78.0
    """
    return solve_all(loop, [pull])[0]


def solve_all(loop: Loop, pulls: Sequence[Pull]) -> list[Deflection]:
    """Deflections under several pulls, from one loop.

    A pull at a point of a beam at which the loop has no station is given one: the loop is assembled again with it.

    Raises
    ------
    PrecisionError
        If rounding decides more than a thousandth of what the tool or the gauges do.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))

    A pull at half of the height, for which the loop has a station: P a² (3L - a)/6EI + P a/kGA + P a L/k at the top:

    >>> from strongback.machine.values import Pull
    >>> low = Pull(name="low", part="post", at=(0, 0, 0.3), force=(100.0, 0, 0))
    >>> [round(float(d.tool_displacement[0]) * 1e6, 6) for d in solve_all(loop, [machine.pulls[0], low])]
    [78.0, 25.5]
    """
    if not pulls:
        return []
    loop = with_stations(loop, pulls)
    answers = _Answers.of(loop, pulls)
    if not answers.judged.sure:
        answers = _Answers.exactly(loop, pulls)
    motions, found, state = answers.motions, answers.found, answers.state
    doubts = [doubt_of(loop, *one) for one in zip(answers.judged.error, answers.judged.springs, strict=True)]
    return [
        deflection_of(loop, pull, found[:, i], motions[:, i], state.joints[:, i], doubts[i])
        for i, pull in enumerate(pulls)
    ]


def deflection_of(
    loop: Loop, pull: Pull, found: Array, motions: Array, joints: Array, doubt: Doubt
) -> Deflection:
    """A deflection from what was solved.

    Parameters
    ----------
    loop : Loop
    pull : Pull
    found : ndarray, shape (6 + gauges,)
        Motions of the tool, then readings.
    motions : ndarray, shape (unknowns,)
    joints : ndarray, shape (components,)
        Forces in all joint components.
    doubt : Doubt

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> from strongback.machine.guard import Doubt
    >>> load = pull_load(loop, machine.pulls[0])[:, None]
    >>> motions, joints = loop.solve(load)
    >>> found = loop.read(reading_rows(loop), load)
    >>> pull, sure = machine.pulls[0], Doubt(error=0.0, words="")
    >>> deflection_of(loop, pull, found[:, 0], motions[:, 0], joints[:, 0], sure)
    Deflection('sideways': tool 78, 0, 0 µm in x, y, z; 1 gauges)
    """
    reactions = reactions_of(loop, joints)
    imbalance = _imbalance(loop, pull, reactions)
    return Deflection(
        pull=pull,
        tool_displacement=found[:3],
        tool_rotation=found[3:6],
        gauges=named_readings(loop, found[6:]),
        parts=part_motions(loop, motions),
        reactions=reactions,
        imbalance=imbalance,
        error=max(doubt.error, imbalance),
        doubt=doubt.words,
        not_unique=tuple(dict.fromkeys(c.owner for c in loop.not_unique())),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Answers:
    """Motions of the tool and readings under some pulls, the state that they are of, and how far they can be trusted."""

    state: Solution
    found: Array
    motions: Array
    judged: Judged

    @classmethod
    def of(cls, loop: Loop, pulls: Sequence[Pull]) -> _Answers:
        """In double precision."""
        loads = [pull_load(loop, pull) for pull in pulls]
        carried = loop.statics.carry(np.column_stack([*loads, reading_rows(loop).T]))
        return cls._from(loop, loop.statics, carried, len(pulls))

    @classmethod
    def exactly(cls, loop: Loop, pulls: Sequence[Pull]) -> _Answers:
        """With exact forces, and with what other roundings of the numbers of the machine do."""

        def numbers(twin: Loop, R: Array) -> Array:
            found = cls._exact(twin, [turned_pull(p, R) for p in pulls], R.T)
            return np.vstack([found.found, found.state.joints])

        own = cls._exact(loop, pulls)
        spread = spread_of_answers(loop, numbers, own.state, own.found, own.motions)
        return replace(own, judged=own.judged.with_spread(spread))

    @classmethod
    def _exact(cls, loop: Loop, pulls: Sequence[Pull], axes: Array | None = None) -> _Answers:
        loads = [pull_wrench(pull) for pull in pulls] + reading_wrenches(loop.machine, axes)
        statics, carried = exactly(loop, loop.statics, loads)
        return cls._from(loop, statics, carried, len(pulls))

    @classmethod
    def _from(cls, loop: Loop, statics: Elastic, carried: Carried, pulls: int) -> _Answers:
        state = statics.solve(carried.columns(slice(pulls)))
        virtual = carried.columns(slice(pulls, None))
        motions, found = statics.motions(state), statics.read(virtual, state)
        return cls(
            state=state,
            found=found,
            motions=motions,
            judged=judged(loop, statics, virtual, state, found, motions),
        )


def with_stations(loop: Loop, pulls: Sequence[Pull]) -> Loop:
    """The loop itself where it has a station at every pull, or one of the same machine that has.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> low = dataclasses.replace(machine.pulls[0], name="low", at=(0.0, 0.0, 0.25))
    >>> len(loop.stations["post"].s), len(with_stations(loop, [low]).stations["post"].s)
    (7, 8)
    """
    ends = [(part, pull.at) for pull in pulls for part in (pull.part, pull.against)]
    if all(loop.layout.has_station(part, at) for part, at in ends):
        return loop
    machine = loop.machine
    known = {(p.part, p.against, p.at) for p in machine.pulls}
    more = tuple(p for p in pulls if (p.part, p.against, p.at) not in known)
    named = tuple(dataclasses.replace(p, name=f"added {i}") for i, p in enumerate(more))
    return assemble(dataclasses.replace(machine, pulls=(*machine.pulls, *named)), loop.parts)


def member_forces(loop: Loop, member: str, state: Solution) -> Array:
    """Forces in the sections of a member.

    Parameters
    ----------
    loop : Loop
    member : str
    state : Solution
        From `Loop.state`, of one load.

    Returns
    -------
    ndarray, shape (stations, 7)
        Vx, Vy, N [N], Mx, My, T [N m] at the origin of the section in its axes, and the bimoment B [N m²]. Forces of
        the part beyond the section on the part before it.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> state = loop.state(pull_load(loop, machine.pulls[0])[:, None])
    >>> round(float(member_forces(loop, "post", state)[0, 4]), 6)  # My at the foot, P L [N m]
    60.0
    """
    line = loop.stations[member]
    found = np.zeros((len(line.s), 7))
    place = -1
    for element, own in zip(loop.elements, loop.forces_of(state), strict=True):
        if element.member != member:
            continue
        place += 1
        h = float(line.s[place + 1] - line.s[place])
        if place == 0:
            found[0, :6] = own[:6, 0]
            found[0, 3] -= h * own[1, 0]  # the shear turns Mx and My along the length
            found[0, 4] += h * own[0, 0]
            found[0, 6] = own[6, 0] if element.bimoments else 0.0
        found[place + 1, :6] = own[:6, 0]
        found[place + 1, 6] = own[6, 0] + own[7, 0] if element.bimoments else 0.0
    return found


def part_motions(loop: Loop, motions: Array) -> tuple[PartMotion, ...]:
    """Motions of every part by its stations or reference point."""
    found = []
    for name, line in loop.stations.items():
        own = motions[line.columns[:, :6]]
        found.append(PartMotion(part=name, points=line.points, displacement=own[:, :3], rotation=own[:, 3:]))
    for name, place in loop.bodies.items():
        own = motions[place.columns]
        points = np.asarray(place.start) + place.body.points @ place.axes
        found.append(PartMotion(part=name, points=points, displacement=own[:, :3], rotation=own[:, 3:]))
    for block in loop.machine.blocks:
        own = motions[loop.blocks[block.name]][None]
        found.append(
            PartMotion(
                part=block.name, points=np.array([block.at]), displacement=own[:, :3], rotation=own[:, 3:]
            )
        )
    return tuple(found)


def reactions_of(loop: Loop, forces: Array) -> tuple[tuple[str, Array], ...]:
    """Forces of the ground from those in all joint components: at supports, and at joints that end on it.

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> ((name, wrench),) = reactions_of(loop, loop.state(pull_load(loop, machine.pulls[0])[:, None]).joints[:, 0])
    >>> name, [round(float(v), 6) + 0.0 for v in wrench]  # -P, and -P L about Y [N, N m]
    ('foot', [-100.0, 0.0, 0.0, 0.0, -60.0, 0.0])
    """
    found = []
    named: dict[str, Array] = {}
    for component, force in zip(loop.components, forces, strict=True):
        values = named.setdefault(component.owner, np.zeros(6))
        values[_index(component.name)] = force
    for support in loop.machine.supports:
        found.append((support.name, -_to_machine(support.axes, named.get(support.name, np.zeros(6)))))
    for joint in loop.machine.joints:
        if GROUND in joint.parts:
            sign = -1.0 if joint.parts[0] == GROUND else 1.0
            found.append((joint.name, sign * _to_machine(joint.axes, named.get(joint.name, np.zeros(6)))))
    return tuple(found)


def _index(component: str) -> int:
    return ("along x", "along y", "along z", "about x", "about y", "about z").index(component)


def _to_machine(axes: tuple[Vector, Vector, Vector], wrench: Array) -> Array:
    turn = np.asarray(axes).T
    return np.concatenate([turn @ wrench[:3], turn @ wrench[3:]])


def _imbalance(loop: Loop, pull: Pull, reactions: tuple[tuple[str, Array], ...]) -> float:
    held = {s.name: s.at for s in loop.machine.supports} | {j.name: j.at for j in loop.machine.joints}
    points = np.array([pull.at, *(held[name] for name, _ in reactions)])
    wrenches = np.array([[*pull.force, *pull.couple], *(wrench for _, wrench in reactions)])
    wrenches[:, 3:] += np.cross(points, wrenches[:, :3])
    acting = wrenches if pull.against == GROUND else wrenches[1:]
    return float(np.abs(acting.sum(axis=0)).max() / np.abs(wrenches).max())
