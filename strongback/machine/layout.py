"""Where every motion of every part stands in the vector of unknowns.

A member is cut into stations of six or seven motions each, a block has six, a member that is a body has six at each of
its interfaces (end faces and pads). ``Layout.motion_of`` gives the motion of any point of any part from all unknowns.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from strongback.checks import nearest
from strongback.errors import MachineError
from strongback.machine.body.values import BodyStiffness, cut_name
from strongback.machine.frames import attachments, carriage, member_axes, member_length, station_of
from strongback.machine.part.kinds import body_names
from strongback.machine.part.values import CONTACT, WALL, Parts
from strongback.machine.statics import beam
from strongback.machine.values import GROUND, Machine, Member, Vector
from strongback.section import _constants
from strongback.section.values import SectionStiffness

__all__ = [
    "CONTACT",
    "WALL",
    "BodyPlace",
    "Layout",
    "Stations",
    "layout",
    "relaid",
    "section_matrix",
    "section_slips",
    "span_at",
]

Array = NDArray[np.float64]
SAME = 1e-6  # points nearer than this are one [m]
SAME_STATION = 1e-14  # of the length of a member: stations nearer than this differ by rounding only
MERGED = 1e-9  # the same where a short length costs digits: in stiffness matrices, and along seams that slip
FACTORS = {
    "shear": (0, 1),
    "axial": (2,),
    "bending": (3, 4),
    "torsion": (5,),
    "warping": (6, 7),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stations:
    """The sections of a member that carry unknowns.

    Parameters
    ----------
    s : ndarray, shape (stations,)
        Distance from the start [m].
    points : ndarray, shape (stations, 3)
        [m]
    columns : ndarray of int, shape (stations, 7 + slips)
        Unknown of each motion, machine axes for the first six, then the amplitude of warping and the shifts of what slips;
        -1 where there is none.
    axes : ndarray, shape (3, 3)
        Rows x, y, s.
    slips : tuple of str
        Seams of any section of the member.
    """

    s: Array
    points: Array
    columns: NDArray[np.int64]
    axes: Array
    slips: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BodyPlace:
    """A member that is a body.

    Parameters
    ----------
    body : BodyStiffness
    columns : ndarray of int, shape (interfaces, 6)
        Unknown of each motion of each interface, machine axes.
    axes : ndarray, shape (3, 3)
        Rows x, y, s.
    start : Vector
        Origin of its axes [m].
    """

    body: BodyStiffness
    columns: NDArray[np.int64]
    axes: Array
    start: Vector

    def stiffness(self) -> Array:
        """On the motions of all interfaces in machine axes, (6 interfaces, 6 interfaces)."""
        turn = scipy.linalg.block_diag(*([self.axes] * (2 * len(self.columns))))
        return np.asarray(turn.T @ self.body.stiffness @ turn)

    def contact(self) -> Array:
        """Part of `stiffness` in the contact under the pads."""
        turn = scipy.linalg.block_diag(*([self.axes] * (2 * len(self.columns))))
        return np.asarray(turn.T @ self.body.contact @ turn)

    def motion_of(self, member: str, at: Vector, pad: str, size: int, *, pulled: bool = False) -> Array:
        """Six motions of a point: of a pad, an end face or a clamped bar; three of a point on the wall, (6, unknowns).

        Where it is `pulled`, the bare wall takes the force all over its cut and moves as that does in the mean.
        """
        local = self.axes @ np.subtract(at, self.start)
        matrix = np.zeros((6, size))
        name = self.interface_at(at, pad) or (self._cut_at(local) if pulled else "")
        if name:
            index = self.body.names.index(name)
            origin = np.asarray(self.start) + self.axes.T @ self.body.points[index]
            matrix[:, self.columns[index]] = carriage(origin, at)
            return matrix
        away = (
            np.linalg.norm(self.body.gauge_points - local, axis=1)
            if len(self.body.gauge_points)
            else np.ones(1)
        )
        index = int(np.argmin(away))
        turn = scipy.linalg.block_diag(*([self.axes] * (2 * len(self.columns))))
        if pulled or away[index] > SAME:
            clamp = None if pulled else self._clamp(local)
            if clamp is not None:
                six = scipy.linalg.block_diag(self.axes, self.axes)
                matrix[:, self.columns.ravel()] = six.T @ clamp @ turn
                return matrix
            x, y, z = (1e3 * v for v in at)
            if pulled:
                raise MachineError(
                    f'"{member}" is a body, condensed without a pull at ({x:.6g}, {y:.6g}, {z:.6g}) mm',
                    hint="condense the machine with that pull among its own",
                )
            raise MachineError(
                f'"{member}" is a body: nothing can hold on to it at ({x:.6g}, {y:.6g}, {z:.6g}) mm',
                hint="give the joint a pad on the wall, or put it at an end of the member",
            )
        matrix[:3, self.columns.ravel()] = self.axes.T @ self.body.gauges[3 * index : 3 * index + 3] @ turn
        return matrix

    def interface_at(self, at: Vector, pad: str = "") -> str:
        """The interface that carries a point: its pad or an end face; empty on a bare wall.

        Only these can hold on to a joint.
        """
        name = pad or self._end_at(float(self.axes[2] @ np.subtract(at, self.start)))
        return name if name in self.body.names else ""

    def _clamp(self, local: Array) -> Array | None:
        """Six motions of a point carried by a bar that is clamped around the member at its height."""
        body = self.body
        near = np.flatnonzero(np.abs(body.gauge_bars - self._on_member(local)) <= SAME)
        if len(near) == 0:
            return None
        first = 3 * len(body.gauge_points) + 6 * int(near[0])
        x, y, s = (float(v) for v in local)
        bar = np.array([0.0, 0.0, body.gauge_bars[near[0]]])
        return carriage(bar, (x, y, s)) @ body.gauges[first : first + 6]

    def _on_member(self, local: Array) -> float:
        """Height of the section that carries a point: beyond an open end that of the end [m]."""
        return float(np.clip(local[2], 0.0, self.body.length))

    def _cut_at(self, local: Array) -> str:
        near = np.flatnonzero(np.abs(self.body.cuts - self._on_member(local)) <= SAME)
        return cut_name(float(self.body.cuts[near[0]])) if len(near) else ""

    def _end_at(self, s: float) -> str:
        length = float(self.body.planes[-1])
        return "base" if s <= SAME else "end" if s >= length - SAME else ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layout:
    """The unknowns of a machine.

    Parameters
    ----------
    machine : Machine
    stations : dict of str to Stations
        Of members that are beams.
    bodies : dict of str to BodyPlace
        Of members that are bodies.
    blocks : dict of str to ndarray of int, shape (6,)
    size : int
        Number of motions.
    """

    machine: Machine
    stations: dict[str, Stations]
    bodies: dict[str, BodyPlace]
    blocks: dict[str, NDArray[np.int64]]
    size: int

    def motion_of(self, part: str, at: Vector, pad: str = "", *, pulled: bool = False) -> Array:
        """Six motions of a point of a part from all motions.

        Parameters
        ----------
        part : str
            Name of a part, or ``GROUND``.
        at : Vector
            [m]
        pad : str
            Pad that carries the point, where the part is a body.
        pulled : bool
            Whether a force acts there that the bare wall of a body takes all over its cut.

        Returns
        -------
        ndarray, shape (6, unknowns)
            Rotations of a bare point on the wall of a body that is not pulled are zero: it has none.

        Raises
        ------
        MachineError
            If there is no such part, nothing of a body at that point, or no station of a beam beside it: a section
            in between two stations moves as neither of them.
        """
        matrix = np.zeros((6, self.size))
        if part == GROUND:
            return matrix
        if part in self.blocks:
            origin = next(block.at for block in self.machine.blocks if block.name == part)
            matrix[:, self.blocks[part]] = carriage(np.asarray(origin), at)
            return matrix
        if part in self.bodies:
            own = pad if any(p.name == pad and p.part == part for p in self.machine.pads) else ""
            return self.bodies[part].motion_of(part, at, own, self.size, pulled=pulled)
        if part not in self.stations:
            raise MachineError(f'no part is called "{part}"')
        line = self.stations[part]
        index, away = self._station(part, at)
        if away > SAME:
            x, y, z = (1e3 * v for v in at)
            raise MachineError(
                f'the loop has no station on "{part}" at ({x:.6g}, {y:.6g}, {z:.6g}) mm, where something is asked for',
                hint="assemble the machine with that pull or gauge among its own",
            )
        matrix[:, line.columns[index, :6]] = carriage(line.points[index], at)
        return matrix

    def has_station(self, part: str, at: Vector) -> bool:
        """Whether the motion of a point can be told from the unknowns: always of a block, of a beam beside a station."""
        return part not in self.stations or self._station(part, at)[1] <= SAME

    def station(self, part: str, at: Vector) -> int:
        """The station of a beam nearest to a point."""
        return self._station(part, at)[0]

    def _station(self, part: str, at: Vector) -> tuple[int, float]:
        """The station of a beam nearest to a point, and how far along the member it is from it [m]."""
        along = station_of(next(m for m in self.machine.members if m.name == part), at)
        away = np.abs(self.stations[part].s - along)
        index = int(np.argmin(away))
        return index, float(away[index])


def layout(
    machine: Machine,
    parts: Parts,
    pieces: int,
    same: float = SAME_STATION,
) -> Layout:
    """Give every motion of every part its place; stations nearer than `same`, of the length of a member, are one."""
    bodies = set(body_names(machine))
    missing = {s.section for m in machine.members if m.name not in bodies for s in m.spans} - set(
        parts.sections
    )
    if missing:
        name = min(missing)
        raise MachineError(
            f'section "{name}" of the machine has no stiffness here',
            hint=nearest(name, sorted(parts.sections), "sections given"),
        )
    stations, places, blocks, size = {}, {}, {}, 0
    for member in machine.members:
        if member.name in bodies:
            body = parts.body_of(member)
            columns = size + np.arange(6 * len(body.names)).reshape(-1, 6)
            places[member.name] = BodyPlace(
                body=body, columns=columns, axes=member_axes(member), start=member.start
            )
            size += columns.size
        else:
            stations[member.name] = _stations(machine, member, parts.sections, pieces, size, same)
            size += int((stations[member.name].columns >= 0).sum())
    for block in machine.blocks:
        blocks[block.name] = size + np.arange(6)
        size += 6
    return Layout(machine=machine, stations=stations, bodies=places, blocks=blocks, size=size)


def relaid(places: Layout, machine: Machine, parts: Parts) -> Layout:
    """The layout of a machine that differs from that of `places` in stiffnesses only."""
    made = {m.name: parts.body_of(m) for m in machine.members if m.name in places.bodies}
    return dataclasses.replace(
        places,
        machine=machine,
        bodies={name: dataclasses.replace(places.bodies[name], body=body) for name, body in made.items()},
    )


def _stations(
    machine: Machine,
    member: Member,
    stiffness: Mapping[str, SectionStiffness],
    pieces: int,
    size: int,
    same: float,
) -> Stations:
    names = tuple(dict.fromkeys(slip.name for span in member.spans for slip in stiffness[span.section].slips))
    cuts = _cuts(machine, member, pieces, max(same, MERGED) if names else same)
    axes = member_axes(member)
    there = np.ones((len(cuts), 7 + len(names)), dtype=bool)
    there[:, 6] = _warping_stations(member, cuts, stiffness)
    for k, name in enumerate(names):
        there[:, 7 + k] = _slipping_stations(member, cuts, stiffness, name)
    columns = np.full(there.shape, -1, dtype=np.int64)
    columns[there] = size + np.arange(there.sum())
    return Stations(
        s=cuts,
        points=np.asarray(member.start) + cuts[:, None] * axes[2],
        columns=columns,
        axes=axes,
        slips=names,
    )


def _cuts(machine: Machine, member: Member, pieces: int, same: float) -> Array:
    """Stations where a member is attached to, changes its section, or is cut for the picture [m]."""
    length = member_length(member)
    borders = [0.0, *np.cumsum([span.length for span in member.spans])[:-1], length]
    attached = [station_of(member, point) for part, point in attachments(machine) if part == member.name]
    ordered = _merged(np.asarray(borders, dtype=float), np.asarray(attached, dtype=float), same * length)
    cuts = [ordered[:1]]
    for low, high in itertools.pairwise(ordered):
        count = max(1, math.ceil(pieces * (high - low) / length - 1e-9))
        cuts.append(np.linspace(low, high, count + 1)[1:])
    return np.concatenate(cuts)


def _merged(borders: Array, attached: Array, same: float) -> Array:
    """Borders of spans, and what is attached away from them; places nearer than `same` are one, in their middle."""
    away = np.abs(attached[:, None] - borders[None, :]).min(axis=1, initial=np.inf) > same
    inner = np.sort(attached[away])
    groups = np.split(inner, np.flatnonzero(np.diff(inner) > same) + 1) if len(inner) else []
    return np.sort(np.concatenate([borders, [0.5 * (g[0] + g[-1]) for g in groups]]))


def span_at(member: Member, s: float) -> str:
    """Name of the section of a member at a distance from its start [m]."""
    end = 0.0
    for span in member.spans[:-1]:
        end += span.length
        if s <= end:
            return span.section
    return member.spans[-1].section


def _warping_stations(
    member: Member, cuts: Array, stiffness: Mapping[str, SectionStiffness]
) -> NDArray[np.bool_]:
    """Stations with a warping amplitude: none at held ends, none beside a length that cannot warp."""
    middles = 0.5 * (cuts[:-1] + cuts[1:])
    warps_in = {
        name: beam.has_warping(np.asarray(stiffness[name].matrix))
        for name in {span.section for span in member.spans}
    }
    lengths = np.array([warps_in[span_at(member, s)] for s in middles])
    warps = np.ones(len(cuts), dtype=bool)
    warps[:-1] &= lengths
    warps[1:] &= lengths
    if member.ends[0] == "held":
        warps[0] = False
    if member.ends[1] == "held":
        warps[-1] = False
    return warps


def _slipping_stations(
    member: Member, cuts: Array, stiffness: Mapping[str, SectionStiffness], name: str
) -> NDArray[np.bool_]:
    """Stations where a part shifts: beside every length that has it, but for ends on which it stands.

    Where the next length has no such seam the part ends, free.
    """
    middles = 0.5 * (cuts[:-1] + cuts[1:])
    own = [{slip.name: slip for slip in stiffness[span_at(member, s)].slips}.get(name) for s in middles]
    has = np.array([slip is not None for slip in own])
    shifts = np.zeros(len(cuts), dtype=np.bool_)
    shifts[1:] |= has
    shifts[:-1] |= has
    for place, end, slip, side in ((0, member.ends[0], own[0], 0), (-1, member.ends[1], own[-1], 1)):
        if end == "held" and slip is not None and slip.held[side]:
            shifts[place] = False
    return shifts


def section_slips(section: SectionStiffness, member: Member) -> tuple[Array, Array, Array]:
    """What slips in a section: forces of unit rates at the origin (slips, 8), axial and seam stiffness.

    With the factors of the member: what is bonded and what slips are multiplied alike.
    """
    n = len(section.slips)
    forces = np.zeros((n, 8))
    for row, slip in zip(forces, section.slips, strict=True):
        row[[2, 3, 4, 7]] = slip.coupling
    own = _constants.to_origin(section.centroid, section.shear_centre)
    back = np.linalg.inv(own)
    return (
        forces @ back * _roots(member.factors) @ own,
        np.array([slip.EA for slip in section.slips]),
        np.array([slip.stiffness for slip in section.slips]),
    )


def section_matrix(section: SectionStiffness, factors: tuple[tuple[str, float], ...]) -> Array:
    """Section forces from strains at the origin, with the factors of a member, (8, 8)."""
    own = _constants.to_origin(section.centroid, section.shear_centre)
    return _factored(np.asarray(section.matrix), own, factors)


def _factored(D: Array, own: Array, factors: tuple[tuple[str, float], ...]) -> Array:
    """Section matrix with the stiffness of some mechanisms multiplied."""
    if not factors:
        return D
    root = _roots(factors)
    back = np.linalg.inv(own)
    mine = back.T @ D @ back
    return own.T @ (root[:, None] * mine * root[None, :]) @ own


def _roots(factors: tuple[tuple[str, float], ...]) -> Array:
    """Roots of the factors on the strains of a section, (8,)."""
    root = np.ones(8)
    for name, factor in factors:
        if name in FACTORS:
            root[list(FACTORS[name])] *= math.sqrt(factor)
    return root
