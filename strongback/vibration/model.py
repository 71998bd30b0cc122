"""Mass and stiffness of a machine on few motions: where something is attached, and what swings in between."""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.machine.elements import Element
from strongback.machine.layout import section_matrix, span_at
from strongback.machine.loop import Assembly, assembly
from strongback.machine.mass import with_warping
from strongback.machine.mechanism import free_motions
from strongback.machine.part.values import Parts
from strongback.machine.statics import beam
from strongback.machine.values import Machine
from strongback.section import _constants
from strongback.section.values import SectionStiffness
from strongback.vibration.spans import SpanModes, span_modes

__all__ = ["DEGREE", "Dynamics", "Inside", "dynamics"]

Array = NDArray[np.float64]
DEGREE = 10  # of bubbles: twelve elastic modes of a free beam three heights long to 2e-5
SIX = 6


@dataclass(frozen=True, slots=True, eq=False)
class Inside:
    """What swings within an element while its ends stand.

    Parameters
    ----------
    element : Element
    ends : ndarray, shape (m, n)
        The motions that `span` knows, from the free motions of the machine.
    span : SpanModes
    first : int
        Place of its held modes among those of the machine.
    low, length : float
        Where it starts on its member, and its length [m].
    """

    element: Element
    ends: Array
    span: SpanModes
    first: int
    low: float
    length: float

    @property
    def places(self) -> slice:
        """Of its held modes among those of the machine."""
        return slice(self.first, self.first + len(self.span.squares))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Dynamics:
    """Mass and stiffness of a machine.

    With the motions q of the places where something is attached that open no rigid joint, and the amplitudes a of what
    swings between them (each of unit modal mass), twice the energies are q' K q + a' diag(squares) a and, of the
    velocities, q' M q + 2 q' X a + a' a.

    Parameters
    ----------
    assembly : Assembly
    free : ndarray, shape (unknowns, n)
        Motions of the assembly from q, orthonormal.
    elements : tuple of ndarray
        Stiffness of each element of the assembly on its own columns.
    stiffness, mass : ndarray, shape (n, n)
    squares : ndarray, shape (b,)
        [rad²/s²]
    coupling : ndarray, shape (n, b)
        X.
    inside : tuple of Inside
    rigid : int
        How many motions of the parts as rigid bodies nothing holds.
    """

    assembly: Assembly
    free: Array
    elements: tuple[Array, ...]
    stiffness: Array
    mass: Array
    squares: Array
    coupling: Array
    inside: tuple[Inside, ...]
    rigid: int

    @property
    def machine(self) -> Machine:
        """The machine."""
        return self.assembly.machine

    def rows_of(self, part: str, at: tuple[float, float, float]) -> Array:
        """Six motions of a place of a part from q, (6, n): nothing that swings in between moves it.

        Raises
        ------
        MachineError
            If nothing is attached there.
        """
        return np.asarray(self.assembly.layout.motion_of(part, at) @ self.free)

    def __repr__(self) -> str:
        return f"Dynamics({self.machine.name!r}: {len(self.mass)} motions, {len(self.squares)} held modes)"


def dynamics(machine: Machine, parts: Parts, *, degree: int = DEGREE) -> Dynamics:
    """Mass and stiffness of a machine.

    Parameters
    ----------
    machine : Machine
        Feet may be absent: what is free to move swings at 0 Hz.
    parts : Parts
    degree : int
        Highest degree of the bubbles of every length.

    Returns
    -------
    Dynamics

    Raises
    ------
    MachineError
        If parts or joints do not fit together, or nothing has a mass.
    """
    made = assembly(machine, parts)
    size = made.layout.size
    M = np.zeros((size, size))
    for place in made.layout.bodies.values():
        columns, turn = place.columns.ravel(), np.kron(np.eye(2 * len(place.columns)), place.axes)
        M[np.ix_(columns, columns)] += turn.T @ place.body.mass @ turn
    for mass in machine.masses:
        rows = made.layout.motion_of(mass.part, mass.at)
        M += rows.T @ np.diag([mass.mass] * 3 + list(mass.inertia)) @ rows
    free = _free(made)
    inside = _inside(made, free, degree)
    reduced = free.T @ M @ free
    for own in inside:
        reduced += own.ends.T @ own.span.mass @ own.ends
    if not np.any(np.diag(reduced) > 0.0):
        raise MachineError(
            "nothing in the machine has a mass, so that it has no natural frequency",
            hint="give it [[mass]] tables, or sections with outlines or a mass per length",
        )
    each = tuple(element.stiffness for element in made.elements)
    K = free.T @ _stiffness(made, each) @ free
    return Dynamics(
        assembly=made,
        free=free,
        elements=each,
        stiffness=0.5 * (K + K.T),
        mass=0.5 * (reduced + reduced.T),
        squares=np.concatenate([np.zeros(0), *(own.span.squares for own in inside)]),
        coupling=np.hstack([np.zeros((len(K), 0)), *(own.ends.T @ own.span.coupling for own in inside)]),
        inside=inside,
        rigid=free_motions(machine)[1].shape[2],
    )


def _stiffness(made: Assembly, each: tuple[Array, ...]) -> Array:
    K = np.zeros((made.layout.size, made.layout.size))
    for element, own in zip(made.elements, each, strict=True):
        used = element.columns >= 0
        K[np.ix_(element.columns[used], element.columns[used])] += own[np.ix_(used, used)]
    for component in made.components:
        if component.compliance > 0.0:
            K += np.outer(component.row, component.row) / component.compliance
    return K


def _free(made: Assembly) -> Array:
    """Orthonormal motions that open no rigid joint component, (unknowns, n)."""
    size = made.layout.size
    rigid = [c.row[None] for c in made.components if c.compliance == 0.0]
    rows = np.vstack([np.zeros((0, size)), *rigid, *(tie.rows(size) for tie in made.ties)])
    if len(rows) == 0:
        return np.eye(size)
    return np.asarray(scipy.linalg.null_space(rows / np.linalg.norm(rows, axis=1, keepdims=True)))


def _inside(made: Assembly, free: Array, degree: int) -> tuple[Inside, ...]:
    members = {m.name: m for m in made.machine.members}
    reached = dict.fromkeys(members, 0)
    padded = np.vstack([free, np.zeros((1, free.shape[1]))])  # row -1: a motion that is held
    found: list[Inside] = []
    first = 0
    for element in made.elements:
        if element.member in made.layout.bodies:
            continue
        member, line = members[element.member], made.layout.stations[element.member]
        low, high = line.s[reached[member.name] : reached[member.name] + 2]
        reached[member.name] += 1
        section = made.parts.sections[span_at(member, 0.5 * float(low + high))]
        span = _span(section, member.factors, float(f"{high - low:.14g}"), degree)
        turn = scipy.linalg.block_diag(line.axes, line.axes)
        ends = np.vstack([turn @ free[element.columns[:SIX]], element.shape @ padded[element.columns]])
        found.append(Inside(element, ends, span, first, float(low), float(high - low)))
        first += len(span.squares)
    return tuple(found)


@functools.lru_cache(maxsize=256)
def _span(
    section: SectionStiffness, factors: tuple[tuple[str, float], ...], h: float, degree: int
) -> SpanModes:
    """A length of one section; kept, since a change of one part leaves the others as they were."""
    if section.slips:
        raise MachineError(
            f'modes of a member whose section "{section.name}" slips along a seam are not solved',
            hint="leave its seams out for the frequencies of the bonded section, the upper limit",
        )
    own = _constants.to_origin(section.centroid, section.shear_centre)
    D = section_matrix(section, factors)
    warping = beam.has_warping(D)
    mass = with_warping(section)
    if not warping:
        mass[SIX, SIX] = 0.0
    return span_modes(D, own, h, warping, mass, degree)
