"""Forces in the sections of a member from those at the ends of its lengths: what diagrams are drawn of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from strongback.machine.layout import span_at
from strongback.machine.loop import Loop

__all__ = ["FORCES", "MemberForces", "station_forces"]

Array = NDArray[np.float64]
FORCES = (("Vx", "N"), ("Vy", "N"), ("N", "N"), ("Mx", "N m"), ("My", "N m"), ("T", "N m"), ("B", "N m²"))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MemberForces:
    """Forces along a member, at both ends of each of its lengths: where a load acts they jump.

    Parameters
    ----------
    member : str
    s : ndarray, shape (n,)
        Distance from the start; every inner station twice [m].
    forces : ndarray, shape (n, 7)
        As `FORCES`: what the part beyond exerts on the part before, in the axes of the section; shear and tension [N],
        bending about the centroid and torque about the shear centre [N m], bimoment [N m²]. Tension is above zero, and
        so is a moment about x that pulls the side of +y, or one about y that pulls the side of -x.
    """

    member: str
    s: Array
    forces: Array

    def __post_init__(self) -> None:
        for array in (self.s, self.forces):
            array.setflags(write=False)

    def __repr__(self) -> str:
        N, M = np.abs(self.forces[:, 2]).max(), np.abs(self.forces[:, 3:5]).max()
        return f"MemberForces({self.member!r}: up to {N:.4g} N along, {M:.4g} N m bending)"


def station_forces(loop: Loop, member: str, ends: Sequence[Array]) -> MemberForces:
    """Forces along a member.

    Parameters
    ----------
    loop : Loop
    member : str
        A beam.
    ends : sequence of ndarray, shape (14,)
        Forces on both ends of each length, in the axes of the machine.

    Returns
    -------
    MemberForces
    """
    line = loop.stations[member]
    own = next(m for m in loop.machine.members if m.name == member)
    turn = scipy.linalg.block_diag(line.axes, line.axes, 1.0)
    s, found = [], []
    for k, force in enumerate(ends):
        section = loop.parts.sections[span_at(own, 0.5 * float(line.s[k] + line.s[k + 1]))]
        shift = _to_centres(section.centroid, section.shear_centre)
        s += [line.s[k], line.s[k + 1]]
        found += [shift @ -(turn @ force[:7]), shift @ (turn @ force[7:])]
    return MemberForces(member=member, s=np.array(s), forces=np.array(found))


def _to_centres(centroid: tuple[float, float], shear_centre: tuple[float, float]) -> Array:
    """Moments about the centroid and torque about the shear centre from those about the origin."""
    (x, y), (a, b) = centroid, shear_centre
    shift = np.eye(7)
    shift[3, 2], shift[4, 2] = -y, x
    shift[5, 0], shift[5, 1] = b, -a
    return shift
