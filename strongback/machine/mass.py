"""Mass: of sections per length, and of the whole machine."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from strongback.machine.frames import member_axes
from strongback.machine.part.values import Parts
from strongback.machine.plate_mass import plate_masses
from strongback.machine.values import Machine
from strongback.section.values import SectionStiffness

__all__ = ["per_length", "total_mass", "with_warping"]

Array = NDArray[np.float64]


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


def with_warping(section: SectionStiffness) -> Array:
    """`per_length` with the amplitude of warping as seventh motion, (7, 7).

    The integral of density times the square of the warping function is taken with the weights of Young's modulus: exact
    for one material. A fill of another ratio of density to modulus shifts it by that ratio at most, of a term that is
    itself below a thousandth of a frequency on closed sections.
    """
    M = np.zeros((7, 7))
    M[:6, :6] = per_length(section)
    M[6, 6] = section.mass_per_length * section.matrix[7][7] / section.matrix[2][2]
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
    for lump in (*machine.masses, *plate_masses(machine)):
        mass += lump.mass
        moment += lump.mass * np.asarray(lump.at)
    return mass, moment / mass if mass > 0.0 else moment
