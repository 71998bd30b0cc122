"""Natural frequencies and shapes of the loop.

Members carry their own mass, consistent with the shapes they take under forces at their stations, and the rotary inertia
of their sections; lumped masses sit where they are. Rigid joint components are taken out of the motions exactly, the
others are springs.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.machine.elements import element_mass
from strongback.machine.frames import member_axes
from strongback.machine.layout import span_at
from strongback.machine.loop import Loop
from strongback.machine.part.values import Parts
from strongback.machine.solve import PartMotion, part_motions
from strongback.machine.values import Machine
from strongback.section.values import SectionStiffness

__all__ = ["Mode", "mass_matrix", "modes", "total_mass"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mode:
    """A natural mode.

    Parameters
    ----------
    frequency : float
        [Hz]
    parts : tuple of PartMotion
        Shape, scaled to a modal mass of 1 kg.
    energy : tuple of (str, float)
        Share of the strain energy in each part, largest first [-].
    motions : ndarray, shape (unknowns,)
        The shape on all motions of the loop.
    """

    frequency: float
    parts: tuple[PartMotion, ...]
    energy: tuple[tuple[str, float], ...]
    motions: Array

    def __repr__(self) -> str:
        most = ", ".join(f"{part} {share:.0%}" for part, share in self.energy[:3])
        return f"Mode({self.frequency:.4g} Hz; strain energy in {most})"


def modes(loop: Loop, count: int = 6) -> tuple[Mode, ...]:
    """Lowest natural modes of a machine.

    Parameters
    ----------
    loop : Loop
    count : int
        How many modes at the most.

    Returns
    -------
    tuple of Mode
        Lowest frequency first.

    Raises
    ------
    MachineError
        If nothing in the machine has a mass.
    """
    free = _free_motions(loop)
    K = free.T @ _stiffness(loop) @ free
    M = free.T @ mass_matrix(loop) @ free
    if not np.any(np.diag(M) > 0.0):
        raise MachineError(
            "nothing in the machine has a mass", hint="give masses, or sections with a mass per length"
        )
    # M alone may be singular (massless blocks); K is positive definite, so the pencil is turned round.
    scale = 1.0 / np.sqrt(np.diag(K))
    first = max(0, len(K) - count)
    values, vectors = scipy.linalg.eigh(
        M * scale[:, None] * scale[None, :],
        K * scale[:, None] * scale[None, :],
        subset_by_index=[first, len(K) - 1],
    )
    found = []
    for value, vector in zip(values[::-1], vectors.T[::-1], strict=True):
        if value > 1e-14 * values[-1]:
            shape = free @ (scale * vector) / np.sqrt(value)
            found.append(_mode(loop, float(1.0 / np.sqrt(value)) / (2.0 * np.pi), shape))
    return tuple(found)


def _stiffness(loop: Loop) -> Array:
    K = loop.stiffness_matrix()
    for component in loop.components:
        if component.compliance > 0.0:
            K += np.outer(component.row, component.row) / component.compliance
    return K


def _free_motions(loop: Loop) -> Array:
    """Orthonormal motions that open no rigid joint component, (unknowns, n)."""
    rigid = [c.row[None] for c in loop.components if c.compliance == 0.0]
    rows = np.vstack([np.zeros((0, loop.size)), *rigid, *(tie.rows(loop.size) for tie in loop.ties)])
    if len(rows) == 0:
        return np.eye(loop.size)
    return np.asarray(scipy.linalg.null_space(rows / np.linalg.norm(rows, axis=1, keepdims=True)))


def _mode(loop: Loop, frequency: float, shape: Array) -> Mode:
    work: dict[str, float] = {}
    padded = np.append(shape, 0.0)  # column -1: a motion that is held
    for element in loop.elements:
        own = padded[element.columns]
        work[element.member] = work.get(element.member, 0.0) + float(own @ element.stiffness @ own)
    for component in loop.components:
        if component.compliance > 0.0:
            opening = float(component.row @ shape)
            work[component.owner] = work.get(component.owner, 0.0) + opening**2 / component.compliance
    total = sum(work.values())
    energy = sorted(((name, value / total) for name, value in work.items()), key=lambda item: -item[1])
    return Mode(frequency=frequency, parts=part_motions(loop, shape), energy=tuple(energy), motions=shape)


def mass_matrix(loop: Loop) -> Array:
    """Mass on all motions of a loop, (unknowns, unknowns)."""
    M = np.zeros((loop.size, loop.size))
    for place in loop.bodies.values():
        columns, turn = place.columns.ravel(), np.kron(np.eye(2 * len(place.columns)), place.axes)
        M[np.ix_(columns, columns)] += turn.T @ place.body.mass @ turn
    members = {m.name: m for m in loop.machine.members}
    places = dict.fromkeys(members, 0)
    made: dict[tuple[str, str, bytes, float], Array] = {}
    for element in loop.elements:
        if element.member in loop.bodies:
            continue
        member, line = members[element.member], loop.stations[element.member]
        low, high = line.s[places[member.name] : places[member.name] + 2]
        places[member.name] += 1
        name, h = span_at(member, 0.5 * float(low + high)), float(f"{high - low:.14g}")
        key = (member.name, name, (element.columns >= 0).tobytes() + element.shape.tobytes(), h)
        if key not in made:
            section = loop.parts.sections[name]
            made[key] = element_mass(element, line, section, member, h, per_length(section))
        used = element.columns >= 0
        columns = element.columns[used]
        M[np.ix_(columns, columns)] += made[key][np.ix_(used, used)]
    for mass in loop.machine.masses:
        rows = loop.motion_of(mass.part, mass.at)
        M += rows.T @ np.diag([mass.mass] * 3 + list(mass.inertia)) @ rows
    return M


def per_length(section: SectionStiffness) -> Array:
    """Mass per length on the motions (ux, uy, us, rx, ry, rs) at the origin of a section, (6, 6)."""
    m = section.mass_per_length
    x, y = section.mass_centroid
    about_x, about_y, product = section.inertia_per_length
    about_x, about_y, product = about_x + m * y * y, about_y + m * x * x, product + m * x * y
    M = np.zeros((6, 6))
    M[:3, :3] = m * np.eye(3)
    M[3:6, 3:6] = [[about_x, -product, 0.0], [-product, about_y, 0.0], [0.0, 0.0, about_x + about_y]]
    M[0, 5] = M[5, 0] = -m * y
    M[1, 5] = M[5, 1] = m * x
    M[2, 3] = M[3, 2] = m * y
    M[2, 4] = M[4, 2] = -m * x
    return M


def total_mass(machine: Machine, parts: Parts) -> tuple[float, Array]:
    """Mass of the whole machine and its centre.

    Parameters
    ----------
    machine : Machine
    parts : Parts

    Returns
    -------
    mass : float
        [kg]
    centre : ndarray, shape (3,)
        [m]
    """
    mass, moment = 0.0, np.zeros(3)
    for member in machine.members:
        start, axes = 0.0, member_axes(member)
        for span in member.spans:
            section = parts.sections[span.section]
            own = section.mass_per_length * span.length
            at = np.array([*section.mass_centroid, start + 0.5 * span.length])
            mass += own
            moment += own * (np.asarray(member.start) + axes.T @ at)
            start += span.length
    for lump in machine.masses:
        mass += lump.mass
        moment += lump.mass * np.asarray(lump.at)
    return mass, moment / mass if mass > 0.0 else moment
