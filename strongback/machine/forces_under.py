"""Forces of the ground and along members, each with the case that it belongs to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import ClassVar

from strongback.answer import HIDDEN, Telling, Told, told
from strongback.machine.cases import CaseResult
from strongback.machine.section_forces import MemberForces
from strongback.machine.values import Vector

__all__ = ["CaseForces", "ForcesIn", "Reaction", "case_forces", "reactions_under"]

KEYS = ("Vx_N", "Vy_N", "N_N", "Mx_N_m", "My_N_m", "T_N_m", "B_N_m2")  # of `section_forces.FORCES`


@dataclass(frozen=True, slots=True, kw_only=True)
class Reaction:
    """What the ground exerts on the machine at a support, or at a joint that ends on it.

    Parameters
    ----------
    under : str
        Case or pull.
    name : str
        Of the support or joint.
    force : Vector
        In the axes of the machine [N].
    couple : Vector
        [N m]
    """

    under: str
    name: str
    force: Vector = field(metadata=told("force_N"))
    couple: Vector = field(metadata=told("couple_N_m"))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CaseForces(Told):
    """Forces along a member under a case.

    Parameters
    ----------
    under : str
        Case or pull.
    forces : MemberForces
    """

    TOLD: ClassVar[Telling] = (("along", "rows"),)

    under: str
    forces: MemberForces = field(metadata=HIDDEN)

    @property
    def rows(self) -> list[dict[str, float]]:
        """Place along the member and its forces there, a mapping for each station."""
        own = self.forces
        return [
            {"s_m": s, **dict(zip(KEYS, row, strict=True))}
            for s, row in zip(own.s.tolist(), own.forces.tolist(), strict=True)
        ]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ForcesIn:
    """Forces along a member under every case.

    Parameters
    ----------
    name : str
        Of the member.
    forces : tuple of CaseForces
    """

    name: str
    forces: tuple[CaseForces, ...]


def case_forces(results: Sequence[CaseResult], member: str) -> tuple[CaseForces, ...]:
    """Forces along a member under every case in which they are known."""
    return tuple(
        CaseForces(under=result.name, forces=own)
        for result in results
        for own in result.members
        if own.member == member
    )


def reactions_under(results: Sequence[CaseResult]) -> tuple[Reaction, ...]:
    """Forces of the ground under every case."""
    return tuple(
        Reaction(under=result.name, name=name, force=tuple(wrench[:3]), couple=tuple(wrench[3:]))
        for result in results
        for name, wrench in ((name, wrench.tolist()) for name, wrench in result.reactions)
    )
