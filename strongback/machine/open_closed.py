"""Where an open length of a member meets a closed one: what a beam does not know of the closed one's walls.

A beam takes the shape of every section as kept. Warping of an open length pushes the walls of the closed one beside it out
of their planes, and if no plate keeps them there they give way: the solid is softer in twist than the beam.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field

import shapely

from strongback.answer import told
from strongback.machine.budget import Budget
from strongback.machine.frames import member_length
from strongback.machine.part.kinds import body_names
from strongback.machine.values import Machine, Member
from strongback.section.values import Outline, SectionStiffness

__all__ = ["STIFFER", "Meeting", "TwistDoubt", "open_meets_closed", "twist_doubts"]

# How much the twist of the beam falls short of that of the solid. Own 3D of a channel 60 x 80 x 4 mm of aluminium on a box
# of the same with a fourth wall, 150 to 300 mm of box and 350 to 600 mm of channel, nothing held but the foot.
STIFFER = (0.17, 0.31)
THIN = 0.1  # 4 area / perimeter² of thin walls is below: of a square it is 1/4, of a wall 6 times as long as thick 0.12
KEPT = 0.5  # of the width of a section: a diaphragm that near keeps its shape


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """A border between an open and a closed length.

    Parameters
    ----------
    member : str
    at : float
        Distance from its start [m].
    open, closed : str
        Sections.
    """

    member: str
    at: float = field(metadata=told("at_m"))
    open: str
    closed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TwistDoubt:
    """What such a border may add to the deflection under a pull.

    Parameters
    ----------
    member : str
    adds : tuple of (str, float)
        By pull: at most, if the whole twist of the member is off by the most that was seen [m].
    """

    member: str
    adds: tuple[tuple[str, float], ...] = field(metadata=told("adds_at_most_m", mapping=True))


def open_meets_closed(machine: Machine) -> tuple[Meeting, ...]:
    """Borders between open and closed lengths of beams that no diaphragm is near.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    tuple of Meeting
        Of sections with outlines; of one that is given by its stiffness nobody knows whether it is open. Members that run
        on into each other are looked at as one.
    """
    shapes = {name: _shape(section) for name, section in machine.sections}
    sizes = {name: _width(section) for name, section in machine.sections}
    bodies = set(body_names(machine))
    found = []
    for member in machine.members:
        if member.name in bodies:
            continue
        at = 0.0
        for before, after in itertools.pairwise(member.spans):
            at += before.length
            found += _meeting(member, at, before.section, after.section, shapes, sizes)
        found += _run_on(machine, member, shapes, sizes, bodies)
    return tuple(found)


def _meeting(
    member: Member, at: float, one: str, other: str, shapes: dict[str, str], sizes: dict[str, float]
) -> list[Meeting]:
    if {shapes[one], shapes[other]} != {"open", "closed"}:
        return []
    if any(abs(plate.at - at) < KEPT * max(sizes[one], sizes[other]) for plate in member.diaphragms):
        return []
    first, second = (one, other) if shapes[one] == "open" else (other, one)
    return [Meeting(member=member.name, at=at, open=first, closed=second)]


def _run_on(
    machine: Machine, member: Member, shapes: dict[str, str], sizes: dict[str, float], bodies: set[str]
) -> list[Meeting]:
    """Where an end that is joined meets one of a later member."""
    found = []
    later = machine.members[[m.name for m in machine.members].index(member.name) + 1 :]
    for k, (kind, place) in enumerate(zip(member.ends, (member.start, member.end), strict=True)):
        for other in later if kind == "joined" else ():
            for j, (its, there) in enumerate(zip(other.ends, (other.start, other.end), strict=True)):
                if its == "joined" and other.name not in bodies and _near(place, there):
                    at = member_length(member) if k else 0.0
                    pair = member.spans[-k].section, other.spans[-j].section
                    found += _meeting(member, at, *pair, shapes, sizes)
    return found


def _near(a: Sequence[float], b: Sequence[float]) -> bool:
    return all(abs(x - y) < 1e-6 for x, y in zip(a, b, strict=True))


def _walls(section: Outline) -> shapely.Geometry:
    return shapely.union_all([shapely.Polygon(wall.ring, wall.holes) for wall in section.walls])


def _shape(section: Outline | SectionStiffness) -> str:
    """Open, closed, or neither."""
    if not isinstance(section, Outline):
        return ""
    walls = _walls(section)
    if shapely.get_num_interior_rings(shapely.get_parts(walls)).sum() > 0:
        return "closed"
    return "open" if 4.0 * walls.area < THIN * walls.length**2 else "solid"


def _width(section: Outline | SectionStiffness) -> float:
    if not isinstance(section, Outline):
        return 0.0
    x, y, right, top = _walls(section).bounds
    return float(max(right - x, top - y))


def twist_doubts(meetings: Sequence[Meeting], budgets: Sequence[Budget]) -> tuple[TwistDoubt, ...]:
    """What borders may add to the deflection.

    Parameters
    ----------
    meetings : sequence of Meeting
    budgets : sequence of Budget
        One a pull.

    Returns
    -------
    tuple of TwistDoubt
        One a member.
    """
    most = STIFFER[1] / (1.0 - STIFFER[1])
    found = []
    for member in dict.fromkeys(meeting.member for meeting in meetings):
        adds = []
        for budget in budgets:
            own = [r for r in budget.rows if r.part == member and r.kind == "member"]
            twist = sum(r.contribution for r in own if r.mechanism in ("torsion", "warping"))
            adds.append((budget.pull, most * abs(twist)))
        found.append(TwistDoubt(member=member, adds=tuple(adds)))
    return tuple(found)
