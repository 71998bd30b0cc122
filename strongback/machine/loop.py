"""The structural loop as one system of equations.

Motions u of the parts and forces q in the joints are solved for together,

    [ K   B' ] [u]   [f]
    [ B  -C  ] [q] = [0]

with K the stiffness of the members, B the opening of each joint component and C its compliance. A rigid component is
C = 0 and a free one is left out, so that no stiffness has to stand in for "very stiff", and a change of joints touches
nothing but the diagonal C.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.machine import _element
from strongback.machine.frames import attachments, carriage, member_axes, member_length, station_of
from strongback.machine.mechanism import refuse_mechanism
from strongback.machine.validate import check_machine
from strongback.machine.values import COMPONENTS, GROUND, Joint, Machine, Member, Support, Vector
from strongback.section import _constants
from strongback.section.values import SectionStiffness

__all__ = ["Component", "Element", "Loop", "Stations", "assemble", "section_matrix", "span_at"]

Array = NDArray[np.float64]
PIECES = 6  # enough points for the deformed shape
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
    columns : ndarray of int, shape (stations, 7)
        Unknown of each motion, machine axes for the first six; -1 where there is none.
    axes : ndarray, shape (3, 3)
        Rows x, y, s.
    """

    s: Array
    points: Array
    columns: NDArray[np.int64]
    axes: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Element:
    """A length of member in machine axes: unknowns, stiffness and its parts by mechanism."""

    member: str
    columns: NDArray[np.int64]  # (14,)
    stiffness: Array  # (14, 14)
    parts: Array  # (8, 14, 14)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Component:
    """One spring of a joint or support.

    Parameters
    ----------
    owner : str
        Name of the joint or support.
    name : str
        One of `COMPONENTS`.
    row : ndarray, shape (unknowns,)
        Opening from the motions.
    compliance : float
        [m/N] or [rad/(N m)]; 0 for a rigid one.
    loss_factor : float
    """

    owner: str
    name: str
    row: Array
    compliance: float
    loss_factor: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loop:
    """An assembled machine, factorised and ready for any load.

    Parameters
    ----------
    machine : Machine
    stations : dict of str to Stations
        By member.
    blocks : dict of str to ndarray of int, shape (6,)
        Unknowns of each block.
    elements : tuple of Element
    components : tuple of Component
        Every joint and support component that is not free.
    size : int
        Number of motions.
    ties : ndarray, shape (ties, unknowns)
        Rows that are zero where members share their warping.
    """

    machine: Machine
    stations: dict[str, Stations]
    blocks: dict[str, NDArray[np.int64]]
    elements: tuple[Element, ...]
    components: tuple[Component, ...]
    size: int
    ties: Array
    _scale: Array
    _matrix: Array
    _factor: tuple[Array, NDArray[np.int32]]

    def motion_of(self, part: str, at: Vector) -> Array:
        """Six motions of a point of a part from all motions.

        Parameters
        ----------
        part : str
            Name of a part, or ``GROUND``.
        at : Vector
            [m]

        Returns
        -------
        ndarray, shape (6, unknowns)
        """
        return _motion(self.machine, self.stations, self.blocks, self.size, part, at)

    def solve(self, loads: Array) -> tuple[Array, Array]:
        """Motions and joint forces under loads on the motions.

        Parameters
        ----------
        loads : ndarray, shape (unknowns, cases)

        Returns
        -------
        motions : ndarray, shape (unknowns, cases)
        forces : ndarray, shape (components, cases)
        """
        right = np.zeros((len(self._scale), loads.shape[1]))
        right[: self.size] = self._scale[: self.size, None] * loads
        solution = scipy.linalg.lu_solve(self._factor, right, check_finite=False)
        solution += scipy.linalg.lu_solve(self._factor, right - self._matrix @ solution, check_finite=False)
        solution *= self._scale[:, None]
        return solution[: self.size], solution[self.size : self.size + len(self.components)]

    def misfit_states(self, index: list[int]) -> tuple[Array, Array]:
        """Motions and joint forces when joint components open by one unit beyond their compliance.

        Parameters
        ----------
        index : list of int
            Components.

        Returns
        -------
        motions : ndarray, shape (unknowns, n)
        forces : ndarray, shape (components, n)
        """
        right = np.zeros((len(self._scale), len(index)))
        rows = self.size + np.asarray(index, dtype=np.int64)
        right[rows, np.arange(len(index))] = self._scale[rows]
        solution = scipy.linalg.lu_solve(self._factor, right, check_finite=False)
        solution += scipy.linalg.lu_solve(self._factor, right - self._matrix @ solution, check_finite=False)
        solution *= self._scale[:, None]
        return solution[: self.size], solution[self.size : self.size + len(self.components)]

    def stiffness_matrix(self) -> Array:
        """Stiffness of all members on all motions, without joints, (unknowns, unknowns)."""
        return _member_stiffness(self.elements, self.size)

    def __repr__(self) -> str:
        return (
            f"Loop({self.machine.name!r}: {len(self.stations)} members, {len(self.blocks)} blocks, "
            f"{len(self.components)} joint components, {self.size} motions)"
        )


def assemble(machine: Machine, stiffness: Mapping[str, SectionStiffness], *, pieces: int = PIECES) -> Loop:
    """Build and factorise the loop of a machine.

    Parameters
    ----------
    machine : Machine
    stiffness : mapping of str to SectionStiffness
        Of every section that a member names.
    pieces : int
        Lengths that a member is cut into at least. Deflections do not depend on it; natural frequencies do.

    Returns
    -------
    Loop

    Raises
    ------
    MachineError
        If parts, joints or pulls do not fit together.
    MechanismError
        If a part is free to move.
    """
    check_machine(machine)
    refuse_mechanism(machine)
    stations, blocks, size = _number(machine, stiffness, pieces)
    elements = tuple(
        e for member in machine.members for e in _elements(member, stations[member.name], stiffness)
    )

    def motion(part: str, at: Vector) -> Array:
        return _motion(machine, stations, blocks, size, part, at)

    components = _components(machine, motion)
    ties = _warping_ties(machine, stations, size)
    return _factorised(machine, stations, blocks, elements, components, ties, size)


def _cuts(machine: Machine, member: Member, pieces: int) -> Array:
    """Stations where a member is attached to, changes its section, or is cut for the picture [m]."""
    length = member_length(member)
    at = [0.0, length, *np.cumsum([span.length for span in member.spans])[:-1]]
    at += [station_of(member, point) for part, point in attachments(machine) if part == member.name]
    ordered = np.unique(np.round(np.asarray(at) / length, 10)) * length
    cuts = [ordered[:1]]
    for low, high in itertools.pairwise(ordered):
        count = max(1, math.ceil(pieces * (high - low) / length - 1e-9))
        cuts.append(np.linspace(low, high, count + 1)[1:])
    return np.concatenate(cuts)


def span_at(member: Member, s: float) -> str:
    """Name of the section of a member at a distance from its start [m]."""
    ends = np.cumsum([span.length for span in member.spans])
    index = int(np.searchsorted(ends, s))
    return member.spans[min(index, len(member.spans) - 1)].section


def _warps(member: Member, stiffness: Mapping[str, SectionStiffness], s: float) -> bool:
    D = np.asarray(stiffness[span_at(member, s)].matrix)
    return _element.has_warping(D, member_length(member))


def _number(
    machine: Machine, stiffness: Mapping[str, SectionStiffness], pieces: int
) -> tuple[dict[str, Stations], dict[str, NDArray[np.int64]], int]:
    """Give every motion of every part its place in the vector of unknowns."""
    stations, blocks, size = {}, {}, 0
    for member in machine.members:
        cuts = _cuts(machine, member, pieces)
        axes = member_axes(member)
        columns = np.full((len(cuts), 7), -1, dtype=np.int64)
        warps = _warping_stations(member, cuts, stiffness)
        for row, warp in zip(columns, warps, strict=True):
            count = 7 if warp else 6
            row[:count] = size + np.arange(count)
            size += count
        points = np.asarray(member.start) + cuts[:, None] * axes[2]
        stations[member.name] = Stations(s=cuts, points=points, columns=columns, axes=axes)
    for block in machine.blocks:
        blocks[block.name] = size + np.arange(6)
        size += 6
    return stations, blocks, size


def _warping_stations(
    member: Member, cuts: Array, stiffness: Mapping[str, SectionStiffness]
) -> NDArray[np.bool_]:
    """Stations with a warping amplitude: none at held ends, none beside a length that cannot warp."""
    middles = 0.5 * (cuts[:-1] + cuts[1:])
    lengths = np.array([_warps(member, stiffness, s) for s in middles])
    warps = np.ones(len(cuts), dtype=bool)
    warps[:-1] &= lengths
    warps[1:] &= lengths
    if member.ends[0] == "held":
        warps[0] = False
    if member.ends[1] == "held":
        warps[-1] = False
    return warps


def _elements(member: Member, stations: Stations, stiffness: Mapping[str, SectionStiffness]) -> list[Element]:
    turn = scipy.linalg.block_diag(stations.axes, stations.axes, 1.0, stations.axes, stations.axes, 1.0)
    made: dict[tuple[str, float], tuple[Array, Array]] = {}
    elements = []
    for i, (low, high) in enumerate(zip(stations.s[:-1], stations.s[1:], strict=True)):
        name = span_at(member, 0.5 * (low + high))
        what = (name, round(float(high - low), 12))
        if what not in made:
            made[what] = _turned_element(stiffness[name], member, float(high - low), turn)
        K, parts = made[what]
        columns = stations.columns[i : i + 2].ravel()
        elements.append(Element(member=member.name, columns=columns, stiffness=K, parts=parts))
    return elements


def _turned_element(section: SectionStiffness, member: Member, h: float, turn: Array) -> tuple[Array, Array]:
    own = _constants.to_origin(section.centroid, section.shear_centre)
    D = section_matrix(section, member)
    warping = _element.has_warping(D, member_length(member))
    K, parts = _element.element(D, own, h, warping)
    return turn.T @ K @ turn, turn.T @ parts @ turn


def section_matrix(section: SectionStiffness, member: Member) -> Array:
    """Section forces from strains at the origin, with the factors of the member, (8, 8)."""
    own = _constants.to_origin(section.centroid, section.shear_centre)
    return _factored(np.asarray(section.matrix), own, member.factors)


def _factored(D: Array, own: Array, factors: tuple[tuple[str, float], ...]) -> Array:
    """Section matrix with the stiffness of some mechanisms multiplied."""
    if not factors:
        return D
    root = np.ones(8)
    for name, factor in factors:
        if name in FACTORS:
            root[list(FACTORS[name])] *= math.sqrt(factor)
    back = np.linalg.inv(own)
    mine = back.T @ D @ back
    return own.T @ (root[:, None] * mine * root[None, :]) @ own


def _motion(
    machine: Machine,
    stations: Mapping[str, Stations],
    blocks: Mapping[str, NDArray[np.int64]],
    size: int,
    part: str,
    at: Vector,
) -> Array:
    matrix = np.zeros((6, size))
    if part == GROUND:
        return matrix
    if part in blocks:
        origin = next(block.at for block in machine.blocks if block.name == part)
        matrix[:, blocks[part]] = carriage(np.asarray(origin), at)
        return matrix
    if part not in stations:
        raise MachineError(f'no part is called "{part}"')
    line = stations[part]
    member = next(m for m in machine.members if m.name == part)
    index = int(np.argmin(np.abs(line.s - station_of(member, at))))
    matrix[:, line.columns[index, :6]] = carriage(line.points[index], at)
    return matrix


def _components(machine: Machine, motion: Callable[[str, Vector], Array]) -> tuple[Component, ...]:
    rows: list[Component] = []
    for joint in machine.joints:
        opening = motion(joint.parts[1], joint.at) - motion(joint.parts[0], joint.at)
        rows += _springs(joint, opening)
    for support in machine.supports:
        rows += _springs(support, motion(support.part, support.at))
    return tuple(rows)


def _springs(owner: Joint | Support, opening: Array) -> list[Component]:
    along = np.asarray(owner.axes) @ opening[:3]
    about = np.asarray(owner.axes) @ opening[3:]
    rows = np.vstack([along, about])
    return [
        Component(owner=owner.name, name=name, row=row, compliance=1.0 / k, loss_factor=owner.loss_factor)
        for name, row, k in zip(COMPONENTS, rows, owner.stiffness, strict=True)
        if k > 0.0
    ]


def _warping_ties(machine: Machine, stations: Mapping[str, Stations], size: int) -> Array:
    """Rows that make the warping of members that continue into each other equal, (ties, unknowns)."""
    ends = []
    for member in machine.members:
        line = stations[member.name]
        for kind, point, column in zip(
            member.ends, (member.start, member.end), line.columns[[0, -1], 6], strict=True
        ):
            if kind == "joined" and column >= 0:
                ends.append((np.asarray(point), line.axes[2], int(column)))
    rows = []
    for i, (a, along_a, first) in enumerate(ends):
        for b, along_b, second in ends[i + 1 :]:
            if np.linalg.norm(a - b) < 1e-6 and abs(along_a @ along_b) > 0.999:
                row = np.zeros(size)
                row[first], row[second] = 1.0, -np.sign(along_a @ along_b)
                rows.append(row)
    return np.array(rows).reshape(len(rows), size)


def _member_stiffness(elements: tuple[Element, ...], size: int) -> Array:
    K = np.zeros((size, size))
    for element in elements:
        used = element.columns >= 0
        K[np.ix_(element.columns[used], element.columns[used])] += element.stiffness[np.ix_(used, used)]
    return K


def _unknown_scales(
    machine: Machine, stations: Mapping[str, Stations], K: Array, size: int
) -> tuple[Array, float, float]:
    """Units in which motions of one machine are of order one; also stiffness [N/m] and length [m] behind them."""
    points = np.array([at for _, at in attachments(machine)])
    length = (
        max(float(np.ptp(points, axis=0).max()), *(member_length(m) for m in machine.members), 1e-6)
        if machine.members
        else max(float(np.ptp(points, axis=0).max()), 1e-3)
    )
    diagonal = np.diag(K)
    stiff = float(np.median(diagonal[diagonal > 0.0])) if np.any(diagonal > 0.0) else 1e7
    unit = np.full(size, 1.0)
    for line in stations.values():
        unit[line.columns[:, 3:6]] = 1.0 / length
        warping = line.columns[:, 6]
        unit[warping[warping >= 0]] = 1.0 / length**2
    return unit, stiff, length


def _factorised(
    machine: Machine,
    stations: dict[str, Stations],
    blocks: dict[str, NDArray[np.int64]],
    elements: tuple[Element, ...],
    components: tuple[Component, ...],
    ties: Array,
    size: int,
) -> Loop:
    K = _member_stiffness(elements, size)
    unit, stiff, length = _unknown_scales(machine, stations, K, size)
    for columns in blocks.values():
        unit[columns[3:]] = 1.0 / length
    motion_scale = unit / math.sqrt(stiff)
    force_scale = math.sqrt(stiff) * np.array(
        [1.0 if c.name.startswith("along") else length for c in components] + [length**2] * len(ties)
    )
    B = np.vstack([np.array([c.row for c in components]).reshape(len(components), size), ties])
    C = np.array([c.compliance for c in components] + [0.0] * len(ties))
    _refuse_locked(components, B, C, motion_scale, force_scale)
    scale = np.concatenate([motion_scale, force_scale])
    matrix = np.block([[K, B.T], [B, -np.diag(C)]]) * scale[:, None] * scale[None, :]
    factor = scipy.linalg.lu_factor(matrix, check_finite=False)
    return Loop(
        machine=machine,
        stations=stations,
        blocks=blocks,
        elements=elements,
        components=components,
        size=size,
        ties=ties,
        _scale=scale,
        _matrix=matrix,
        _factor=factor,
    )


def _refuse_locked(
    components: tuple[Component, ...], B: Array, C: Array, motion_scale: Array, force_scale: Array
) -> None:
    """Rigid joints between blocks that hold each other leave their forces undetermined."""
    rigid = np.flatnonzero(C[: len(components)] == 0.0)
    if len(rigid) == 0:
        return
    rows = B[rigid] * motion_scale[None, :] * force_scale[rigid, None]
    left, values, _ = np.linalg.svd(rows, full_matrices=False)
    if len(values) == len(rigid) and values[-1] > 1e-10 * values[0]:
        return
    culprit = components[rigid[int(np.argmax(np.abs(left[:, -1])))]]
    raise MachineError(
        f'"{culprit.owner}" holds {culprit.name} what other rigid joints hold already',
        hint="give it a stiffness there, or set that component to free: forces between rigid parts cannot be shared out",
    )
