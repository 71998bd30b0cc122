"""The answer to "what does everything do that acts at once": cases and their sums, with reactions and forces in members."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import ClassVar

from strongback.answer import HIDDEN, Answer, Telling, told
from strongback.machine.assembled import Assembled
from strongback.machine.cases import CaseResult, solve_cases
from strongback.machine.forces_under import ForcesIn, Reaction, case_forces, reactions_under
from strongback.machine.loads import Combination, LoadCase
from strongback.machine.named_points import PointsUnder, named_motions
from strongback.machine.values import Machine

__all__ = ["Loaded", "loaded"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class Loaded(Answer):
    """What the machine does under cases and combinations of loads.

    Parameters
    ----------
    machine : Machine
    cases : tuple of CaseResult
    """

    TOLD: ClassVar[Telling] = (
        ("weight_left_out", "weightless"),
        ("points", "points"),
        ("reactions", "reactions"),
        ("members", "members"),
    )

    machine: Machine = field(metadata=told(of="name"))
    cases: tuple[CaseResult, ...]
    known: tuple[str, ...] = field(default=(), metadata=HIDDEN)

    @property
    def weightless(self) -> tuple[str, ...]:
        """Bodies whose cap, foot and diaphragms are left out of the own weight that acts."""
        return tuple(dict.fromkeys(name for case in self.cases for name in case.weightless))

    @property
    def points(self) -> tuple[PointsUnder, ...]:
        """Motions of all named points, in every case."""
        return tuple(PointsUnder(under=case.name, motions=named_motions(case)) for case in self.cases)

    @property
    def reactions(self) -> tuple[Reaction, ...]:
        """Of the ground on the machine, in every case."""
        return reactions_under(self.cases)

    @property
    def members(self) -> tuple[ForcesIn, ...]:
        """Forces along every member that is a beam in some case."""
        names = dict.fromkeys(own.member for case in self.cases for own in case.members)
        return tuple(ForcesIn(name=name, forces=case_forces(self.cases, name)) for name in names)

    def __getitem__(self, case: str) -> CaseResult:
        """What the machine does under the case of a name.

        Raises
        ------
        KeyError
        """
        return {one.name: one for one in self.cases}[case]

    def __repr__(self) -> str:
        return f"Loaded({self.machine.name!r}: {', '.join(case.name for case in self.cases[:6])})"


def loaded(
    ready: Assembled,
    cases: Sequence[LoadCase],
    combinations: Sequence[Combination],
    wanted: Sequence[str],
    known: Sequence[str] = (),
) -> Loaded:
    """Solve some cases and combinations.

    Parameters
    ----------
    ready : Assembled
    cases : sequence of LoadCase
    combinations : sequence of Combination
        Of these cases.
    wanted : sequence of str
        Names of cases and combinations.
    known : sequence of str, optional
        All names, by which files are called.

    Returns
    -------
    Loaded
    """
    sums = [one for one in combinations if one.name in wanted]
    needed = {*wanted, *(name for one in sums for name, _ in one.terms)}
    solved = solve_cases(ready.loop, [case for case in cases if case.name in needed], sums)
    found = {one.name: one for one in solved}
    return Loaded(
        machine=ready.machine,
        cases=tuple(found[name] for name in dict.fromkeys(wanted)),
        known=tuple(known or wanted),
    )
