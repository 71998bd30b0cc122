"""Lengths of members and whole bodies as elements: their forces, and what they give under them.

An element is known by the forces that it can choose: six at the end of a length; the bimoment where it warps and the axial
force of every part that slips, each at its start and by what it gains up to the end; six at every interface of a body but
the first. What moves it as a whole deforms nothing, exactly.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from strongback.machine.frames import carriage, carriages, six_by_six
from strongback.machine.layout import WALL, BodyPlace, Stations, section_matrix, section_slips, span_at
from strongback.machine.statics import beam, slipping
from strongback.machine.values import Member
from strongback.section import _constants
from strongback.section.values import STRAINS, SectionStiffness

__all__ = ["Element", "beam_elements", "body_element", "element_mass", "warping_size"]

Array = NDArray[np.float64]
SIX = 6
WARPING = 6  # place of the amplitude of warping among the motions of a station


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Element:
    """A length of member, or a whole body.

    Parameters
    ----------
    member : str
    columns : ndarray of int, shape (k,)
        Unknown motions; -1 for one that is held.
    shape : ndarray, shape (n, k)
        Deformations from these motions, machine axes.
    parts : ndarray, shape (8, n, n), or (2, n, n) for a body
        Flexibility by mechanism, of a body its walls and the contact under its pads: deformations from forces.
    inner : tuple of int
        Forces beyond six come in pairs, at the start and what is gained up to the end: which motion of a station each pair
        works on, 6 for a bimoment, from 7 on for what slips.
    """

    member: str
    columns: NDArray[np.int64]
    shape: Array
    parts: Array
    inner: tuple[int, ...] = ()

    @property
    def bimoments(self) -> bool:
        """Whether the first pair of inner forces are bimoments."""
        return self.inner[:1] == (WARPING,)

    @property
    def flexibility(self) -> Array:
        """Deformations from forces, (n, n)."""
        return np.asarray(np.add.reduce(self.parts, axis=0))

    @property
    def stiffness(self) -> Array:
        """Forces on the motions from the motions, (k, k)."""
        F = self.flexibility
        root = 1.0 / np.sqrt(np.diag(F))
        factor = np.linalg.cholesky(F * root[:, None] * root[None, :])
        half = scipy.linalg.solve_triangular(factor, root[:, None] * self.shape, lower=True)
        return np.asarray(half.T @ half)

    def end_forces(self, forces: Array) -> Array:
        """What the rest of the machine exerts on the ends, from the element's forces: bimoments at held ends, too, (k,)."""
        found = np.asarray(self.shape.T @ forces)
        width = len(found) // 2
        for first, side in zip(range(SIX, len(forces), 2), self.inner, strict=False):
            found[side], found[width + side] = -forces[first], forces[first] + forces[first + 1]
        return found


def body_element(member: Member, place: BodyPlace) -> Element:
    """A member that is a body, its first interface the one that the others move against."""
    # The body was made with its pads `contact / wall` times as stiff; both together are then `wall` times the two.
    factor = dict(member.factors).get(WALL, 1.0)
    K, contact = place.stiffness()[SIX:, SIX:], place.contact()[SIX:, SIX:]
    root = 1.0 / np.sqrt(np.diag(K))
    F = root[:, None] * np.linalg.inv(K * np.outer(root, root)) * root[None, :]
    F = 0.5 * (F + F.T)
    in_contact = F @ contact @ F
    points = np.asarray(place.start) + place.body.points @ place.axes
    shape = np.eye(len(K), len(K) + SIX, SIX)
    for i, point in enumerate(points[1:]):
        shape[SIX * i : SIX * i + SIX, :SIX] = -carriage(points[0], (point[0], point[1], point[2]))
    return Element(
        member=member.name,
        columns=place.columns.ravel(),
        shape=shape,
        parts=np.stack([F - in_contact, in_contact]) / factor,
    )


def beam_elements(
    member: Member, stations: Stations, sections: Mapping[str, SectionStiffness]
) -> list[Element]:
    """The lengths of a member from station to station."""
    turn = six_by_six(stations.axes)
    width = stations.columns.shape[1]
    made: dict[tuple[str, float], Array] = {}
    pairs: dict[str, tuple[int, ...]] = {}
    found = []
    previous = ""
    moved = -turn @ carriages(stations.points[:-1], stations.points[1:])
    for i, (low, high) in enumerate(zip(stations.s[:-1], stations.s[1:], strict=True)):
        # Pieces of one length differ by rounding only.
        name, h = span_at(member, 0.5 * float(low + high)), float(f"{high - low:.14g}")
        if (name, h) not in made:
            made[name, h] = _own_flexibility(sections[name], member, h)
        parts = made[name, h]
        if name not in pairs:
            pairs[name] = _inner(sections[name], member, stations.slips)
        inner = pairs[name]
        shape = np.zeros((parts.shape[1], 2 * width))
        shape[:SIX, :SIX] = moved[i]
        shape[:SIX, width : width + SIX] = turn
        columns = stations.columns[i : i + 2].ravel()
        for row, side in zip(range(SIX, len(shape), 2), inner, strict=True):
            if columns[side] >= 0:
                shape[row, side] = -1.0
                if side == WARPING and previous not in ("", name):
                    # The amplitude at a station is that of the length before it; warping is one on both sides.
                    before, here = (warping_size(sections[n]) for n in (previous, name))
                    shape[row, side] = -before / here
            if columns[width + side] >= 0:
                shape[row : row + 2, width + side] = 1.0
        if stations.slips and len(parts) == len(STRAINS):  # a length of a member that slips elsewhere
            parts = np.concatenate([parts, np.zeros((2, *parts.shape[1:]))])
        found.append(Element(member=member.name, columns=columns, shape=shape, parts=parts, inner=inner))
        previous = name
    return found


def element_mass(
    element: Element,
    stations: Stations,
    section: SectionStiffness,
    member: Member,
    h: float,
    per_length: Array,
) -> Array:
    """Consistent mass of a length of member, from its shapes under forces at its ends.

    Parameters
    ----------
    element : Element
        From `beam_elements`.
    stations : Stations
    section : SectionStiffness
    member : Member
    h : float
        [m]
    per_length : ndarray, shape (6, 6)
        Mass on the motions of a section, at the origin.

    Returns
    -------
    ndarray, shape (k, k)
        What slips has the mass of the section that carries it: its own shift along the member is left out.
    """
    points, weights, along = _motions_along(section, member, h)
    moved, width = element.shape.copy(), element.shape.shape[1] // 2
    for row, side in zip(range(SIX, len(moved), 2), element.inner, strict=True):
        # At held ends, too: what a load within the length asks of them.
        moved[row, side] = moved[row, side] or -1.0
        moved[row : row + 2, width + side] = 1.0
    shapes = along @ np.linalg.solve(element.flexibility, moved)
    turn = six_by_six(stations.axes)
    for shape, t in zip(shapes, points, strict=True):
        shape[:, :SIX] += carriage(np.zeros(3), (0.0, 0.0, float(t) * h)) @ turn
    mass = h * np.einsum("g,gia,ij,gjb->ab", weights, shapes, per_length, shapes, optimize=True)
    return np.asarray(0.5 * (mass + mass.T))


def warping_size(section: SectionStiffness) -> float:
    """Root mean square of the warping function, weighted with Young's modulus [m²]; no factor of stiffness changes it."""
    return float(np.sqrt(section.matrix[7][7] / section.matrix[2][2]))


@functools.lru_cache(maxsize=256)
def _own_flexibility(section: SectionStiffness, member: Member, h: float) -> Array:
    """Flexibility in the axes of the member; kept, since a change of one part leaves the others as they were."""
    own = _constants.to_origin(section.centroid, section.shear_centre)
    D = section_matrix(section, member.factors)
    if section.slips:
        slip = slipping.slipping(D, *section_slips(section, member))
        gains = _ends_from_gains(slip.inner)
        parts = gains.T @ slipping.flexibility(slip, own, h) @ gains
    else:
        parts = beam.flexibility(D, own, h, beam.has_warping(D))
    parts.setflags(write=False)
    return parts


def _inner(section: SectionStiffness, member: Member, slips: tuple[str, ...]) -> tuple[int, ...]:
    """Motions of a station that the inner forces of a section work on."""
    warping = (WARPING,) if beam.has_warping(section_matrix(section, member.factors)) else ()
    return (*warping, *(WARPING + 1 + slips.index(slip.name) for slip in section.slips))


def _ends_from_gains(inner: int) -> Array:
    """Six forces and the inner ones at start and end, from the six and the inner ones at the start and their gains."""
    return np.asarray(scipy.linalg.block_diag(np.eye(SIX), *([np.array([[1.0, 0.0], [1.0, 1.0]])] * inner)))


def _motions_along(section: SectionStiffness, member: Member, h: float) -> tuple[Array, Array, Array]:
    """Points along a length over it, their weights, and motions there from the forces of the length, (points, 6, n)."""
    own = _constants.to_origin(section.centroid, section.shear_centre)
    D = section_matrix(section, member.factors)
    if section.slips:
        slip = slipping.slipping(D, *section_slips(section, member))
        points, weights = slipping.quadrature(slip, h)
        return points, weights, slipping.deformations(slip, own, h, points) @ _ends_from_gains(slip.inner)
    warping = beam.has_warping(D)
    points, weights = beam.quadrature(D, h, warping)
    return points, weights, beam.deformations(D, own, h, warping, points)
