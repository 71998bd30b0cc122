"""The answer to "what does a fill do": its recipe, pour and cautions, and the tool before and after it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from strongback.answer import Answer, Telling
from strongback.machine.values import Machine
from strongback.remedies.fill.before_after import BeforeAfter
from strongback.remedies.fill.plan import FillPlan

__all__ = ["Filled"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class Filled(Answer):
    """A fill and what it does at the tool.

    Parameters
    ----------
    machine : Machine
        As it stands, without the fill.
    plan : FillPlan
    found : BeforeAfter or None
        None for a fill that adds mass only, or a machine without a pull.
    """

    ONLY: ClassVar[Telling] = (
        ("machine", "machine.name"),
        ("member", "plan.mix.member"),
        ("fill", "plan.kind.name"),
        ("volume_m3", "plan.volume"),
        ("fill_mass_kg", "plan.mass"),
        ("mixture", "plan.mixture"),
        ("expected", "plan.expected"),
        ("expansion_per_K", "plan.expansion"),
        ("gaps", "plan.gaps", ("where", "*")),
        ("fill_stress_range_Pa", "plan.stress_range"),
        ("pour", "plan.pour"),
        ("before", "before"),
        ("after_as_meant", "after_as_meant"),
        ("before_after", "found"),
        ("steps", "plan.steps"),
        ("warnings", "plan.warnings"),
    )

    machine: Machine
    plan: FillPlan
    found: BeforeAfter | None

    @property
    def before(self) -> dict[str, float] | None:
        """Along each pull with every stiffness as the project has it, as `deflect` says [m]."""
        return None if self.found is None else {gain.pull: gain.best_guess[0] for gain in self.found.pulls}

    @property
    def after_as_meant(self) -> dict[str, float] | None:
        """The same with the fill bonded all over and at its median modulus [m]."""
        return None if self.found is None else {gain.pull: gain.best_guess[1] for gain in self.found.pulls}

    def __repr__(self) -> str:
        gains = () if self.found is None else self.found.pulls[:3]
        each = ", ".join(f"{gain.pull} x {gain.ratio[1]:.2f}" for gain in gains)
        return f"Filled({self.plan.kind.name} in {self.plan.mix.member!r}, {self.plan.mass:.1f} kg: {each or 'mass only'})"
