"""The answer to "how stiff is a profile": every section of a project solved, with bounds, handbook and catalogue beside."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from strongback.answer import Answer, Telling, Told
from strongback.errors import StrongbackError
from strongback.section.apart import catalogue_apart, separated
from strongback.section.catalogue import Catalogue, catalogue
from strongback.section.check import check
from strongback.section.handbook import HandbookValue, handbook
from strongback.section.mesh import Mesher
from strongback.section.second_opinion import SecondOpinion, second_opinion
from strongback.section.store import SolvedSection, solved_section
from strongback.section.values import Outline, SectionStiffness

__all__ = ["Profile", "Sections", "profile"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Profile(Told):
    """One section.

    Parameters
    ----------
    name : str
    outline : Outline, optional
        None of a section that is given by its stiffness.
    solved : SolvedSection, optional
        None of one that is given, or in separate parts.
    formulas : tuple of HandbookValue
    catalogue : Catalogue, optional
    given : SectionStiffness, optional
    opinion : SecondOpinion, optional
        Where it was asked for.
    fault : StrongbackError, optional
        Why it could not be solved.
    """

    ONLY: ClassVar[Telling] = (
        ("name", "name"),
        ("*", "solved"),
        ("*", "given"),
        ("handbook?", "handbook"),
        ("bond?", "bond"),
        ("given?", "is_given"),
        ("catalogue?", "catalogue"),
        ("second_opinion?", "opinion"),
        ("fault?", "fault_text"),
    )

    name: str
    outline: Outline | None = None
    solved: SolvedSection | None = None
    formulas: tuple[HandbookValue, ...] = ()
    catalogue: Catalogue | None = None
    given: SectionStiffness | None = None
    opinion: SecondOpinion | None = None
    fault: StrongbackError | None = None

    @property
    def stiffness(self) -> SectionStiffness | None:
        """As solved or given; None of separate parts and where it could not be solved."""
        return self.given if self.solved is None else self.solved.stiffness

    @property
    def handbook(self) -> dict[str, dict[str, float | str]] | None:
        """Handbook values by quantity and formula, each with its difference from what was solved."""
        if self.solved is None:
            return None if self.given is None else {}
        return {
            f"{value.quantity}: {value.formula}": {
                "value": value.value,
                "unit": "N" if value.quantity == "EA" else "N m^2",
                "difference": value.value / getattr(self.solved.stiffness, value.quantity) - 1.0,
            }
            for value in self.formulas
        }

    @property
    def bond(self) -> dict[str, SectionStiffness] | None:
        """With its fills bonded and sliding; None where it was not solved."""
        if self.solved is None:
            return None if self.given is None else {}
        return dict(self.solved.limits)

    @property
    def is_given(self) -> bool | None:
        """True of a section that is given by its stiffness, else None."""
        return None if self.given is None else True

    @property
    def fault_text(self) -> str | None:
        """`fault` in words."""
        return None if self.fault is None else str(self.fault)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class Sections(Answer):
    """Sections of a project, or one profile alone.

    Parameters
    ----------
    sections : tuple of Profile
    fault : StrongbackError, optional
        The first that was met; the other sections are solved all the same.
    """

    ONLY: ClassVar[Telling] = (("sections", "sections"), ("fault", "fault_text"))

    sections: tuple[Profile, ...]
    fault: StrongbackError | None = None

    @property
    def fault_text(self) -> str | None:
        """`fault` in words."""
        return None if self.fault is None else str(self.fault)

    def __getitem__(self, name: str) -> Profile:
        """The section of a name.

        Raises
        ------
        KeyError
        """
        return {section.name: section for section in self.sections}[name]

    def __repr__(self) -> str:
        return f"Sections({', '.join(section.name for section in self.sections[:6])})"


def profile(
    name: str,
    section: Outline | SectionStiffness,
    *,
    tolerance: float,
    mesher: Mesher = "auto",
    opinion: bool = False,
) -> Profile:
    """Solve one section; what is wrong with it stands in the answer.

    Parameters
    ----------
    name : str
    section : Outline or SectionStiffness
    tolerance : float
        Relative gap between the bounds of GJ.
    mesher : {"auto", "built-in", "triangle"}
    opinion : bool
        Whether a second opinion is asked for.

    Returns
    -------
    Profile
    """
    if not isinstance(section, Outline):
        return Profile(name=name, given=section)
    try:
        if len(separated(section)) > 1:
            numbers = catalogue_apart(section, tolerance=tolerance, mesher=mesher)
            return Profile(name=name, outline=section, catalogue=numbers)
        check(section)
        solved = solved_section(section, tolerance=tolerance, mesher=mesher)
        return Profile(
            name=name,
            outline=section,
            solved=solved,
            formulas=tuple(handbook(section)),
            catalogue=catalogue(section, solved),
            opinion=second_opinion(section, tolerance=tolerance) if opinion else None,
        )
    except StrongbackError as error:  # one bad outline hides nothing of the others
        return Profile(name=name, outline=section, fault=error)
