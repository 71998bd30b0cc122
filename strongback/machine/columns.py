"""Members that are bodies, from the machine they stand in: sections meshed, pads and gauge points placed, condensed, kept.

All spans of a body are cut from one mesh, with every cell filled that is filled anywhere; a span leaves out the triangles
of the cells that are empty there.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from strongback import cache
from strongback.errors import MachineError
from strongback.machine.body import BodySpec, BodyStiffness, EndKind, PadSpec
from strongback.machine.body.grids import COARSE, FINE, on_grid, on_two_grids
from strongback.machine.frames import member_axes, member_length
from strongback.machine.layout import SAME
from strongback.machine.part.kinds import body_names
from strongback.machine.part.values import contact_over_wall
from strongback.machine.plates import diaphragm_spec, plate_spec
from strongback.machine.values import Machine, Member, Vector
from strongback.section.values import Outline

__all__ = ["CoarseStart", "Progress", "body_spec", "coarse_body", "column_body", "machine_bodies"]

Array = NDArray[np.float64]
Progress = Callable[[float, str], None]
ON_WALL = 5e-4  # a point this near to a wall touches it [m]


def machine_bodies(
    machine: Machine, *, size: float | None = None, progress: Progress | None = None
) -> dict[str, BodyStiffness]:
    """Every member of a machine that is a body, condensed.

    Parameters
    ----------
    machine : Machine
    size : float, optional
        Largest triangle of the section mesh [m].
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    dict of str to BodyStiffness
    """
    bodies = set(body_names(machine))
    return {
        member.name: column_body(machine, member, size=size, progress=progress)
        for member in machine.members
        if member.name in bodies
    }


def column_body(
    machine: Machine,
    member: Member,
    *,
    size: float | None = None,
    akin: BodyStiffness | None = None,
    progress: Progress | None = None,
) -> BodyStiffness:
    """A member as a body, from the cache where it is known.

    Parameters
    ----------
    machine : Machine
    member : Member
    size, progress
        As in `machine_bodies`.
    akin : BodyStiffness, optional
        The same member with its pads elsewhere, from which it is found faster.

    Returns
    -------
    BodyStiffness
        On the fine grid, with its stiffness on the coarse one beside unless it started from a body that is akin.

    Raises
    ------
    MachineError
        If the shape of a section is not known, or a pad misses the wall.
    """
    spec = body_spec(machine, member)
    grid = dataclasses.replace(FINE, size=size)
    if akin is not None:
        name = cache.key("body", spec, grid, akin.shapes)
        return _kept(name, lambda: on_grid(spec, grid, akin=akin, progress=progress))
    name = cache.key("body", spec, grid, COARSE)

    def made() -> BodyStiffness:
        return on_two_grids(spec, size=size, progress=progress)

    return _kept(name, made)


class CoarseStart:
    """A body on the coarse grid from which others start that differ in the contact under their pads alone.

    It is solved, with its fields, when the first of them is not in the cache: they then take half of the work, and what
    the section shapes miss is alike in all of them, so that it drops out of their differences.

    Parameters
    ----------
    machine : Machine
    member : Member
    size : float, optional
        As in `machine_bodies`.
    """

    def __init__(self, machine: Machine, member: Member, *, size: float | None = None) -> None:
        self.spec = body_spec(machine, member)
        self._grid = dataclasses.replace(COARSE, size=size)
        self._body: BodyStiffness | None = None

    def body(self) -> BodyStiffness:
        """The body with its fields."""
        if self._body is None:
            self._body = on_grid(self.spec, self._grid)
            cache.save(cache.key("body", self.spec, self._grid), _without_fields(self._body).to_arrays())
        return self._body


def coarse_body(
    machine: Machine,
    member: Member,
    *,
    start: CoarseStart | None = None,
    size: float | None = None,
    progress: Progress | None = None,
) -> BodyStiffness:
    """A member as a body on the coarse grid, from the cache where it is known.

    Parameters
    ----------
    machine : Machine
    member : Member
    start : CoarseStart, optional
        The same member with another contact under its pads.
    size, progress
        As in `machine_bodies`.

    Returns
    -------
    BodyStiffness
        Some per cent too stiff in what its walls give, see `walls_add`; without its fields.

    Raises
    ------
    MachineError
        As `column_body`.
    """
    spec = body_spec(machine, member)
    grid = dataclasses.replace(COARSE, size=size)
    if start is None or start.spec == spec:
        name = cache.key("body", spec, grid)
        return _kept(name, lambda: _without_fields(on_grid(spec, grid, progress=progress)))
    name = cache.key("body", spec, grid, start.spec)
    return _kept(name, lambda: _without_fields(on_grid(spec, grid, akin=start.body(), progress=progress)))


def _without_fields(body: BodyStiffness) -> BodyStiffness:
    """A body that nobody will draw: some kilobytes in the cache in place of megabytes."""
    return dataclasses.replace(body, shapes=body.shapes[:, :0], amplitudes=body.amplitudes[:, :0])


def _kept(name: str, make: Callable[[], BodyStiffness]) -> BodyStiffness:
    """From the cache, or made and put there."""
    kept = cache.load(name, BodyStiffness.from_arrays)
    if kept is not None:
        return kept
    made = make()
    cache.save(name, made.to_arrays())
    return made


def body_spec(machine: Machine, member: Member) -> BodySpec:
    """What a member is as a body, and where it is held, pulled and read.

    Parameters
    ----------
    machine : Machine
    member : Member

    Returns
    -------
    BodySpec

    Raises
    ------
    MachineError
        If the shape of a section is not known, a joint meets its bare wall, or nothing bears on it.
    """
    outlines = _outlines(machine, member)
    if any(outline.seams for outline in outlines):
        raise MachineError(
            f'"{member.name}" is a body, and bodies know no seams that slip',
            hint='set model = "beam", or leave the seams of its section out',
        )
    _refuse_bare_wall(machine, member)
    pads = _pads(machine, member)
    base, end = _ends(machine, member)
    bare: tuple[EndKind, EndKind] = ("free" if base == "free" and member.foot is None else "rigid", end)
    cuts = _cuts(machine, member, bare)
    points, bars = _read(machine, member, outlines, bare)
    grounded = base == "rigid" or member.foot is not None
    if len(pads) + len(cuts) + grounded + (end == "rigid") < 2:
        raise MachineError(
            f'member "{member.name}" cannot be a body: it is held in one place and nothing bears on it',
            hint='give the joint that bears on it a pad, or set model = "beam"',
        )
    return BodySpec(
        outlines=tuple(outlines),
        lengths=tuple(span.length for span in member.spans),
        base=base,
        end=end,
        base_plate=None if member.foot is None else plate_spec(member.foot, foot=True),
        end_plate=None if member.cap is None else plate_spec(member.cap, foot=False),
        diaphragms=tuple(diaphragm_spec(d) for d in member.diaphragms),
        pads=pads,
        cuts=cuts,
        points=points,
        bars=bars,
    )


def _outlines(machine: Machine, member: Member) -> list[Outline]:
    sections = dict(machine.sections)
    found = []
    for span in member.spans:
        section = sections[span.section]
        if not isinstance(section, Outline):
            raise MachineError(
                f'member "{member.name}" cannot be a body: the shape of section "{span.section}" is not known',
                hint='give its outline, or set model = "beam"',
            )
        found.append(section)
    return found


def _local(member: Member, at: Vector) -> tuple[float, float, float]:
    x, y, s = member_axes(member) @ np.subtract(at, member.start)
    return float(x), float(y), float(s)


def _pads(machine: Machine, member: Member) -> tuple[PadSpec, ...]:
    used = {joint.pad for joint in machine.joints if member.name in joint.parts}
    axes = member_axes(member)
    stiffer = contact_over_wall(member)
    found = []
    for pad in machine.pads:
        if pad.part != member.name or pad.name not in used:
            continue
        normal = axes @ np.asarray(pad.normal)
        if abs(normal[2]) > 1e-6 * float(np.linalg.norm(normal)):
            raise MachineError(
                f'pad "{pad.name}": its normal must be across "{member.name}", not along it',
                hint="a pad presses on a wall; at the end of a member it needs none",
            )
        found.append(
            PadSpec(
                name=pad.name,
                centre=_local(member, pad.at),
                normal=(float(normal[0]), float(normal[1])),
                size=pad.size,
                stiffness=pad.stiffness * stiffer,
                tangential=pad.tangential,
            )
        )
    return tuple(found)


def _held_points(machine: Machine, member: Member) -> list[Vector]:
    """Points at which something holds on without a pad; the tool and the work are held by what they meet."""
    found = [j.at for j in machine.joints if member.name in j.parts and not _by_pad(machine, j.pad, member)]
    found += [s.at for s in machine.supports if s.part == member.name]
    found += [p.at for p in (machine.tool, machine.work) if p.part == member.name]
    return found


def _refuse_bare_wall(machine: Machine, member: Member) -> None:
    """A joint holds on to a body through a pad or an end face: said before the dear work starts."""
    length = member_length(member)
    holders = [
        (j.name, j.at)
        for j in machine.joints
        if member.name in j.parts and not _by_pad(machine, j.pad, member)
    ]
    holders += [(s.name, s.at) for s in machine.supports if s.part == member.name]
    for name, at in holders:
        if SAME < _local(member, at)[2] < length - SAME:
            raise MachineError(
                f'"{name}" meets "{member.name}", which is a body, on its bare wall',
                hint="give the joint a pad, or put it at an end of the member",
            )


def _by_pad(machine: Machine, pad: str, member: Member) -> bool:
    return any(p.name == pad and p.part == member.name for p in machine.pads)


def _bare_height(member: Member, s: float, ends: tuple[EndKind, EndKind]) -> float | None:
    """Where a member moves by its walls, nearest to a height; nowhere at a rigid end [m]."""
    length = member_length(member)
    if s <= SAME:
        return 0.0 if ends[0] == "free" else None
    if s >= length - SAME:
        return length if ends[1] == "free" else None
    return s


def _cuts(machine: Machine, member: Member, ends: tuple[EndKind, EndKind]) -> tuple[float, ...]:
    """Heights at which the bare wall is pulled, open ends among them."""
    pulled = (_local(member, p.at)[2] for p in machine.pulls if member.name in (p.part, p.against))
    return _apart(h for s in pulled if (h := _bare_height(member, s, ends)) is not None)


def _apart(heights: Iterable[float]) -> tuple[float, ...]:
    """Heights in order, those that are one left out."""
    kept: list[float] = []
    for s in sorted(heights):
        if not kept or s - kept[-1] > SAME:
            kept.append(s)
    return tuple(kept)


def _read(
    machine: Machine, member: Member, outlines: Sequence[Outline], ends: tuple[EndKind, EndKind]
) -> tuple[tuple[tuple[float, float, float], ...], tuple[float, ...]]:
    """Points of gauges and stands on the walls, open ends among them, and heights of those beside, on a clamped bar."""
    wanted = [g.at for g in machine.gauges if g.part == member.name]
    wanted += [g.stand or g.at for g in machine.gauges if g.reference == member.name]
    walls = [
        shapely.union_all([shapely.Polygon(w.ring, w.holes) for w in outline.walls]) for outline in outlines
    ]
    tops = np.cumsum([span.length for span in member.spans])[:-1]
    points, bars = set(), []
    for x, y, s in (_local(member, at) for at in wanted):
        height = _bare_height(member, s, ends)
        if height is None:
            continue
        if (
            abs(height - s) <= SAME
            and walls[int(np.searchsorted(tops, height))].distance(shapely.Point(x, y)) < ON_WALL
        ):
            points.add((x, y, height))
        else:
            bars.append(height)
    return tuple(sorted(points)), _apart(bars)


def _ends(machine: Machine, member: Member) -> tuple[EndKind, EndKind]:
    """An end is a rigid face where something holds on to it, or where it is said to be held; a plate holds by itself.

    A foot stands on its bolts, and what holds it holds these.
    """
    length = member_length(member)
    stations = [_local(member, at)[2] for at in _held_points(machine, member)]
    base = member.ends[0] == "held" or any(s <= SAME for s in stations)
    end = member.ends[1] == "held" or any(s >= length - SAME for s in stations)
    if member.cap is not None and end:
        raise MachineError(
            f'the end of member "{member.name}" has a cap and is held as well',
            hint="a joint or a support on the end makes it a rigid face: leave the cap out",
        )
    return ("rigid" if base and member.foot is None else "free"), ("rigid" if end else "free")
