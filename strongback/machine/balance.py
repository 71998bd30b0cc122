"""Balance of a machine: how forces in elements and joints follow from loads, from the places of things alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.machine.elements import WARPING, Element, warping_size
from strongback.machine.frames import attachments, carriage, carriages, member_length, six_by_six
from strongback.machine.layout import BodyPlace, Layout, Stations
from strongback.machine.statics.geometry import Geometry, geometry
from strongback.machine.validate import SAME_AXIS, SAME_POINT
from strongback.machine.values import Machine
from strongback.section.values import SectionStiffness

__all__ = ["Tie", "machine_geometry", "machine_size", "warping_ties"]

Array = NDArray[np.float64]
SHORT = 0.02  # of a member: a length below loses the square of this of the digits of its bimoments


@dataclass(frozen=True, slots=True, kw_only=True)
class Tie:
    """Warping that goes on from one member into the next: amplitudes times sizes of the warping functions are equal.

    Parameters
    ----------
    columns : tuple of int
        Unknown amplitudes, one an end that warps.
    sizes : tuple of float
        Of their warping functions, over that of the first [-].
    plane : bool
        Whether one of the ends cannot warp, so that none does.
    """

    columns: tuple[int, ...]
    sizes: tuple[float, ...]
    plane: bool = False

    def rows(self, size: int) -> Array:
        """What is zero, (ties, unknowns)."""
        if self.plane:
            return np.eye(size)[list(self.columns)]
        found = np.zeros((len(self.columns) - 1, size))
        for row, column, w in zip(found, self.columns[1:], self.sizes[1:], strict=True):
            row[self.columns[0]], row[column] = 1.0, -w
        return found


def warping_ties(places: Layout, sections: Mapping[str, SectionStiffness]) -> tuple[Tie, ...]:
    """Ends of members that run on into each other, so that they warp as one.

    The rate of twist knows no sense of the axis: members drawn against each other have the same.
    """
    ends: list[tuple[Array, Array, int, float]] = []
    for member in places.machine.members:
        if member.name in places.bodies:
            continue
        line = places.stations[member.name]
        for i, kind, place, span in zip(
            (0, -1), member.ends, (member.start, member.end), (member.spans[0], member.spans[-1]), strict=True
        ):
            if kind == "joined":
                column = int(line.columns[i, 6])
                size = warping_size(sections[span.section]) if column >= 0 else 0.0
                ends.append((np.asarray(place), line.axes[2], column, size))
    ties = []
    while ends:
        point, along, _, _ = ends[0]
        met = [
            e for e in ends if np.linalg.norm(e[0] - point) <= SAME_POINT and abs(e[1] @ along) > SAME_AXIS
        ]
        ends = [e for e in ends if not any(e is m for m in met)]
        warping = [e for e in met if e[2] >= 0]
        if len(met) > 1 and warping:
            columns = tuple(e[2] for e in warping)
            sizes = tuple(e[3] / warping[0][3] for e in warping)
            ties.append(Tie(columns=columns, sizes=sizes, plane=len(warping) < len(met)))
    return tuple(ties)


def machine_size(machine: Machine) -> float:
    """Length that makes couples comparable with forces [m]."""
    points = np.array([at for _, at in attachments(machine)])
    return max([float(np.ptp(points, axis=0).max()), 1e-3, *(member_length(m) for m in machine.members)])


def machine_geometry(
    places: Layout,
    elements: Sequence[Element],
    openings: Array,
    about: NDArray[np.bool_],
    ties: Sequence[Tie],
) -> Geometry:
    """Statics of a machine.

    Parameters
    ----------
    places : Layout
    elements : sequence of Element
        Of every member, in the order of the machine, from start to end.
    openings : ndarray, shape (joint components, motions)
    about : ndarray of bool, shape (joint components,)
        Whether a component turns.
    ties : sequence of Tie

    Returns
    -------
    Geometry
    """
    length = machine_size(places.machine)
    firsts = np.concatenate([[0], np.cumsum([len(e.shape) for e in elements])]).astype(int)
    rigid = np.zeros((places.size, 6 * (len(places.machine.members) + len(places.blocks))))
    deforming = np.zeros((places.size, firsts[-1]))
    unit = np.ones(firsts[-1])
    at = 0
    for number, member in enumerate(places.machine.members):
        own = slice(6 * number, 6 * number + 6)
        if member.name in places.bodies:
            place = places.bodies[member.name]
            _body_motions(place, rigid[:, own], deforming[:, firsts[at] :])
            unit[firsts[at] : firsts[at + 1]] = np.tile(
                [1.0, 1.0, 1.0, length, length, length], len(place.columns) - 1
            )
            at += 1
        else:
            line = places.stations[member.name]
            count = len(line.s) - 1
            _chain_motions(line, rigid[:, own], deforming, firsts[at : at + count])
            for first, element in zip(firsts[at : at + count], elements[at : at + count], strict=True):
                own_unit = [1.0, 1.0, 1.0, length, length, length]
                for side in element.inner:
                    own_unit += [length**2 if side == WARPING else 1.0] * 2
                unit[first : first + len(element.shape)] = own_unit
            at += count
    for number, columns in enumerate(places.blocks.values()):
        first = 6 * (len(places.machine.members) + number)
        rigid[columns, first : first + 6] = np.eye(6)
    bimoments = _bimoments(elements, firsts, deforming, ties, _short(places, elements))
    return geometry(rigid, deforming, bimoments, openings, unit, np.where(about, length, 1.0), length)


def _short(places: Layout, elements: Sequence[Element]) -> NDArray[np.bool_]:
    """Lengths so short beside their member that what they take up of a bimoment says nothing of what goes through."""
    found = []
    for member in places.machine.members:
        if member.name in places.bodies:
            found.append(False)
        else:
            s = places.stations[member.name].s
            found += (np.diff(s) < SHORT * (s[-1] - s[0])).tolist()
    return np.array(found, dtype=bool)


def _body_motions(place: BodyPlace, rigid: Array, deforming: Array) -> None:
    points = np.asarray(place.start) + place.body.points @ place.axes
    for i, (point, columns) in enumerate(zip(points, place.columns, strict=True)):
        rigid[columns] = carriage(points[0], (point[0], point[1], point[2]))
        if i:
            deforming[columns, 6 * i - 6 : 6 * i] = np.eye(6)


def _chain_motions(line: Stations, rigid: Array, deforming: Array, firsts: NDArray[np.int64]) -> None:
    """A member moves as its first station, and each length carries all that is beyond it."""
    columns = line.columns[:, :6]
    back = six_by_six(line.axes).T
    carried = carriages(line.points[:, None], line.points[None, :])  # [i, j]: from station i to station j
    rigid[columns] = carried[0]
    carried = carried @ back
    for i, first in enumerate(firsts):
        beyond = columns[i + 1 :]
        deforming[beyond[:, :, None], np.arange(first, first + 6)] = carried[i + 1, i + 1 :]


def _bimoments(
    elements: Sequence[Element],
    firsts: NDArray[np.int64],
    deforming: Array,
    ties: Sequence[Tie],
    short: NDArray[np.bool_],
) -> Array:
    """Bimoments in balance at every station; `deforming` gets the one that takes a bimoment from outside.

    Beside a short length they come in as one that goes through it and one that it takes up (`_through`).
    """
    ends: dict[int, list[tuple[int, float]]] = {}  # by amplitude: place of the bimoment, amplitude there
    free: list[int] = []
    for element, first in zip(elements, firsts[:-1], strict=True):
        width = len(element.columns) // 2
        for row, side in _inner_ends(element.inner, width):
            column = int(element.columns[side])
            if column < 0:
                free.append(int(first) + row)  # the end is held: any bimoment will do
            else:
                ends.setdefault(column, []).append((int(first) + row, float(element.shape[row, side])))
    groups = [tie for tie in ties if any(c in ends for c in tie.columns)]
    tied = {column for tie in groups for column in tie.columns}
    groups += [Tie(columns=(column,), sizes=(1.0,)) for column in ends if column not in tied]
    # Here by what stands at either end of a length.
    columns: list[Array] = [np.eye(len(deforming.T))[place] for place in free]
    for group in groups:
        mine = [
            (place, amount / w)
            for column, w in zip(group.columns, group.sizes, strict=True)
            for place, amount in ends[column]
        ]
        if group.plane:
            columns += [np.eye(len(deforming.T))[place] for place, _ in mine]
            continue
        last, whole = max(mine, key=lambda end: abs(end[1]))
        for column, w in zip(group.columns, group.sizes, strict=True):
            deforming[column, last] = 1.0 / (w * whole)
        for place, amount in mine:
            if place != last:
                pair = np.zeros(len(deforming.T))
                pair[place], pair[last] = 1.0, -amount / whole
                columns.append(pair)
    found = np.array(columns).reshape(len(columns), len(deforming.T)).T
    each = [
        (f + 6 + 2 * j, s)
        for e, f, s in zip(elements, firsts[:-1], short, strict=True)
        for j in range(len(e.inner))
    ]
    starts = np.array([first for first, _ in each], dtype=int)
    through = _through(found, np.array([first for first, one in each if one], dtype=int))
    # And here by the bimoment at the start of a length and its gain.
    found[starts + 1] -= found[starts]
    deforming[:, starts + 1] -= deforming[:, starts]
    for row, column in through:
        found[row, column] = 0.0
    return found


def _through(columns: Array, starts: NDArray[np.int64]) -> list[tuple[int, int]]:
    """Let bimoments beside short lengths go on through all that are in a row, in place; says where there is no gain.

    Every column, a station, is followed by what lies beyond it on one side of each short length.
    """
    beside: dict[int, list[tuple[int, int, int]]] = {}  # by column: short length, here, the column beyond it
    for start in starts.tolist():
        one, other = (np.flatnonzero(columns[place]) for place in (start, start + 1))
        if len(one) == len(other) == 1 and one[0] != other[0]:
            beside.setdefault(int(one[0]), []).append((start, start, int(other[0])))
            beside.setdefault(int(other[0]), []).append((start, start + 1, int(one[0])))
    found: list[tuple[int, int]] = []
    done: set[int] = set()
    for first in beside:
        if first in done:
            continue
        done.add(first)
        path, way = [first], []
        for column in path:  # grows: columns from near to far
            for start, here, beyond in beside[column]:
                if beyond not in done:
                    done.add(beyond)
                    path.append(beyond)
                    way.append((column, start, here, beyond))
        for column, start, here, beyond in reversed(way):
            there = 2 * start + 1 - here
            columns[:, column] += columns[here, column] / columns[there, beyond] * columns[:, beyond]
            found.append((start + 1, column))
    return found


def _inner_ends(inner: tuple[int, ...], width: int) -> list[tuple[int, int]]:
    """Place of every inner force of a length, and of the motion that it works on."""
    return [(6 + 2 * j + end, side + end * width) for j, side in enumerate(inner) for end in (0, 1)]
