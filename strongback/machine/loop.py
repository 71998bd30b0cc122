"""The structural loop as one system of equations.

Motions u of the parts and forces q in the joints are solved for together,

    [ K   B' ] [u]   [f]
    [ B  -C  ] [q] = [0]

with K the stiffness of the members, B the opening of each joint component and C its compliance. A rigid component is
C = 0 and a free one is left out, so that no stiffness has to stand in for "very stiff", and a change of joints touches
nothing but the diagonal C.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.machine import _element
from strongback.machine.frames import attachments, member_length
from strongback.machine.layout import (
    WALL,
    BodyPlace,
    Layout,
    Stations,
    layout,
    relaid,
    section_matrix,
    span_at,
)
from strongback.machine.mechanism import refuse_mechanism
from strongback.machine.part.values import Parts
from strongback.machine.validate import SAME_AXIS, SAME_POINT, check_machine
from strongback.machine.values import COMPONENTS, Joint, Machine, Member, Support, Vector
from strongback.section import _constants
from strongback.section.values import SectionStiffness

__all__ = ["Component", "Element", "Loop", "assemble"]

Array = NDArray[np.float64]
PIECES = 6  # enough points for the deformed shape


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Element:
    """A length of member, or a whole body, in machine axes.

    Parameters
    ----------
    member : str
    columns : ndarray of int, shape (n,)
        Unknowns; -1 for a motion that is held.
    stiffness : ndarray, shape (n, n)
    parts : ndarray, shape (8, n, n), or (2, n, n) for a body
        By mechanism, of a body its walls and the contact under its pads; they add to `stiffness`.
    """

    member: str
    columns: NDArray[np.int64]
    stiffness: Array
    parts: Array


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
    layout : Layout
        Where every motion stands.
    parts : Parts
        What the machine was assembled from.
    elements : tuple of Element
    components : tuple of Component
        Every joint and support component that is not free.
    ties : ndarray, shape (ties, unknowns)
        Rows that are zero where members share their warping.
    """

    layout: Layout
    parts: Parts
    elements: tuple[Element, ...]
    components: tuple[Component, ...]
    ties: Array
    _scale: Array
    _matrix: Array
    _factor: tuple[Array, NDArray[np.int32]]

    @property
    def machine(self) -> Machine:
        """The machine that was assembled."""
        return self.layout.machine

    @property
    def size(self) -> int:
        """Number of motions."""
        return self.layout.size

    @property
    def stations(self) -> dict[str, Stations]:
        """Sections with unknowns of each member that is a beam."""
        return self.layout.stations

    @property
    def bodies(self) -> dict[str, BodyPlace]:
        """Members that are bodies."""
        return self.layout.bodies

    @property
    def blocks(self) -> dict[str, NDArray[np.int64]]:
        """Unknowns of each block."""
        return self.layout.blocks

    def motion_of(self, part: str, at: Vector, pad: str = "", *, pulled: bool = False) -> Array:
        """Six motions of a point of a part from all motions.

        Parameters
        ----------
        part : str
            Name of a part, or ``GROUND``.
        at : Vector
            [m]
        pad, pulled
            As in `Layout.motion_of`.

        Returns
        -------
        ndarray, shape (6, unknowns)
        """
        return self.layout.motion_of(part, at, pad, pulled=pulled)

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
            f"Loop({self.machine.name!r}: {len(self.stations)} beams, {len(self.bodies)} bodies, "
            f"{len(self.blocks)} blocks, {len(self.components)} joint components, {self.size} motions)"
        )


def assemble(
    machine: Machine,
    parts: Parts,
    *,
    pieces: int = PIECES,
    like: Loop | None = None,
) -> Loop:
    """Build and factorise the loop of a machine.

    Parameters
    ----------
    machine : Machine
    parts : Parts
        From `strongback.machine.part.parts_of`.
    pieces : int
        Lengths that a beam is cut into at least. Deflections do not depend on it; natural frequencies do.
    like : Loop, optional
        Of a machine that differs in nothing but stiffnesses: its checks and its layout are taken over.

    Returns
    -------
    Loop

    Raises
    ------
    MachineError
        If parts, joints or pulls do not fit together, or a member is a body that `parts` does not hold.
    MechanismError
        If a part is free to move.
    """
    if like is None:
        check_machine(machine)
        refuse_mechanism(machine)
        places = layout(machine, parts, pieces)
    else:
        places = relaid(like.layout, machine, parts)
    elements: list[Element] = []
    for member in machine.members:
        if member.name in places.bodies:
            elements.append(_body_element(member, places.bodies[member.name]))
        else:
            elements += _elements(member, places.stations[member.name], parts.sections)
    return _factorised(places, parts, tuple(elements))


def _body_element(member: Member, place: BodyPlace) -> Element:
    # The body was made with its pads `contact / wall` times as stiff; both together are then `wall` times the two.
    factor = dict(member.factors).get(WALL, 1.0)
    stiffness, contact = factor * place.stiffness(), factor * place.contact()
    return Element(
        member=member.name,
        columns=place.columns.ravel(),
        stiffness=stiffness,
        parts=np.stack([stiffness - contact, contact]),
    )


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
    K, parts = _own_element(section, member, h)
    return turn.T @ K @ turn, turn.T @ parts @ turn


@functools.lru_cache(maxsize=256)
def _own_element(section: SectionStiffness, member: Member, h: float) -> tuple[Array, Array]:
    """Element in the axes of its member; kept, since a change of one part leaves the others as they were."""
    own = _constants.to_origin(section.centroid, section.shear_centre)
    D = section_matrix(section, member)
    warping = _element.has_warping(D, member_length(member))
    K, parts = _element.element(D, own, h, warping)
    K.setflags(write=False)
    parts.setflags(write=False)
    return K, parts


def _components(places: Layout) -> tuple[Component, ...]:
    rows: list[Component] = []
    for joint in places.machine.joints:
        _refuse_bare_wall(places, joint.name, joint.pad, [(part, joint.at) for part in joint.parts])
        first, second = (places.motion_of(part, joint.at, joint.pad) for part in joint.parts)
        rows += _springs(joint, second - first)
    for support in places.machine.supports:
        _refuse_bare_wall(places, support.name, "", [(support.part, support.at)])
        rows += _springs(support, places.motion_of(support.part, support.at))
    return tuple(rows)


def _refuse_bare_wall(places: Layout, name: str, pad: str, ends: list[tuple[str, Vector]]) -> None:
    """A joint holds on to a body through a pad or an end face."""
    for part, at in ends:
        own = pad if any(p.name == pad and p.part == part for p in places.machine.pads) else ""
        if part in places.bodies and not places.bodies[part].interface_at(at, own):
            raise MachineError(
                f'"{name}" meets "{part}", which is a body, on its bare wall',
                hint="give the joint a pad, or put it at an end of the member",
            )


def _springs(owner: Joint | Support, opening: Array) -> list[Component]:
    along = np.asarray(owner.axes) @ opening[:3]
    about = np.asarray(owner.axes) @ opening[3:]
    rows = np.vstack([along, about])
    return [
        Component(owner=owner.name, name=name, row=row, compliance=1.0 / k, loss_factor=owner.loss_factor)
        for name, row, k in zip(COMPONENTS, rows, owner.stiffness, strict=True)
        if k > 0.0
    ]


def _warping_ties(places: Layout) -> Array:
    """Rows that make the warping of members that continue into each other equal, (ties, unknowns)."""
    ends = []
    for member in places.machine.members:
        if member.name in places.bodies:
            continue
        line = places.stations[member.name]
        for kind, point, column in zip(
            member.ends, (member.start, member.end), line.columns[[0, -1], 6], strict=True
        ):
            if kind == "joined" and column >= 0:
                ends.append((np.asarray(point), line.axes[2], int(column)))
    rows = []
    for i, (a, along_a, first) in enumerate(ends):
        for b, along_b, second in ends[i + 1 :]:
            if np.linalg.norm(a - b) <= SAME_POINT and abs(along_a @ along_b) > SAME_AXIS:
                row = np.zeros(places.size)
                row[first], row[second] = 1.0, -np.sign(along_a @ along_b)
                rows.append(row)
    return np.array(rows).reshape(len(rows), places.size)


def _member_stiffness(elements: tuple[Element, ...], size: int) -> Array:
    K = np.zeros((size, size))
    for element in elements:
        used = element.columns >= 0
        K[np.ix_(element.columns[used], element.columns[used])] += element.stiffness[np.ix_(used, used)]
    return K


def _unknown_scales(places: Layout, K: Array) -> tuple[Array, float, float]:
    """Units in which motions of one machine are of order one; also stiffness [N/m] and length [m] behind them."""
    points = np.array([at for _, at in attachments(places.machine)])
    length = max(
        [float(np.ptp(points, axis=0).max()), 1e-3, *(member_length(m) for m in places.machine.members)]
    )
    diagonal = np.diag(K)
    stiff = float(np.median(diagonal[diagonal > 0.0])) if np.any(diagonal > 0.0) else 1e7
    unit = np.full(places.size, 1.0)
    for line in places.stations.values():
        unit[line.columns[:, 3:6]] = 1.0 / length
        warping = line.columns[:, 6]
        unit[warping[warping >= 0]] = 1.0 / length**2
    for body in places.bodies.values():
        unit[body.columns[:, 3:]] = 1.0 / length
    for columns in places.blocks.values():
        unit[columns[3:]] = 1.0 / length
    return unit, stiff, length


def _factorised(places: Layout, parts: Parts, elements: tuple[Element, ...]) -> Loop:
    components, ties = _components(places), _warping_ties(places)
    K = _member_stiffness(elements, places.size)
    unit, stiff, length = _unknown_scales(places, K)
    motion_scale = unit / math.sqrt(stiff)
    kinds = [1.0 if c.name.startswith("along") else length for c in components] + [length**2] * len(ties)
    force_scale = math.sqrt(stiff) * np.array(kinds)
    B = np.vstack([np.array([c.row for c in components]).reshape(len(components), places.size), ties])
    C = np.array([c.compliance for c in components] + [0.0] * len(ties))
    _refuse_locked(components, B, C, motion_scale, force_scale)
    scale = np.concatenate([motion_scale, force_scale])
    matrix = np.block([[K, B.T], [B, -np.diag(C)]]) * scale[:, None] * scale[None, :]
    factor = scipy.linalg.lu_factor(matrix, check_finite=False)
    return Loop(
        layout=places,
        parts=parts,
        elements=elements,
        components=components,
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
