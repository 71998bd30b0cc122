"""Answers that rest on the readings of a project: reduced, compared, fitted, planned, explained."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

from strongback.answer import Answer, Telling, Told
from strongback.errors import ReadingsError
from strongback.evidence.calibrate import Calibration
from strongback.evidence.compare import Comparison
from strongback.evidence.explain import Explanation
from strongback.evidence.plan import Plan
from strongback.evidence.readings import Campaign
from strongback.evidence.slips import sign_slips
from strongback.machine.part.report import PartReport
from strongback.machine.values import Machine
from strongback.project.calibrated import write_calibrated
from strongback.project.read import Project
from strongback.project.readings import DataSet

__all__ = ["Calibrated", "Compared", "Explained", "NextReadings", "Reduced", "SetOfReadings"]

MOST_SUSPECTS = 12  # that are told


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SetOfReadings(Told):
    """A data set of a project, reduced.

    Parameters
    ----------
    data : DataSet
        As read.
    campaign : Campaign
        One value for each gauge and pull.
    """

    data: DataSet
    campaign: Campaign

    @property
    def rows_left(self) -> tuple[str, ...]:
        """Rows that are not used and why, and what to look at."""
        data, campaign = self.data, self.campaign
        lines = [str(fault) for fault in data.faults]
        if data.unread:
            lines.append(f"{data.file}: {data.unread} rows wait to be read")
        for aside in campaign.set_aside:
            rows = ", ".join(str(row) for row in aside.rows)
            lines.append(f"{data.file}: row {rows}, {aside.what}: {aside.reason}")
        return (*lines, *(f"{data.file}: {warning}" for warning in campaign.warnings))

    @property
    def bad(self) -> bool:
        """Whether rows with faults were left out."""
        return bool(self.data.faults or self.campaign.set_aside)

    @property
    def fault_rows(self) -> list[dict[str, object]]:
        """Faults of the table with their places."""
        return [
            {"line": f.line, "column": f.column, "message": f.message, "hint": f.hint}
            for f in self.data.faults
        ]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class Reduced(Answer):
    """What the readings of a data set say: one value for each gauge and pull, with its uncertainty.

    Parameters
    ----------
    readings : SetOfReadings
    name_of_picture : str
    """

    ONLY: ClassVar[Telling] = (
        ("data", "readings.data.name"),
        ("file", "readings.data.file"),
        ("unread_rows", "readings.data.unread"),
        ("values", "readings.campaign.measured"),
        ("scatter", "readings.campaign.scatter"),
        ("set_aside", "readings.campaign.set_aside"),
        ("faults", "readings.fault_rows"),
        ("warnings", "readings.campaign.warnings"),
    )

    readings: SetOfReadings
    name_of_picture: str = "readings.png"

    @property
    def bad(self) -> bool:
        """Whether rows with faults were left out."""
        return self.readings.bad

    def __repr__(self) -> str:
        data = self.readings.data
        return f"Reduced({data.name!r}, {data.file}: {len(self.readings.campaign.measured)} values)"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class Compared(Answer):
    """Predicted beside measured at every gauge.

    Parameters
    ----------
    machine : Machine
        With the sections that stood when it was measured.
    readings : SetOfReadings
    comparison : Comparison
    parts : tuple of PartReport
    name_of_picture : str
    """

    ONLY: ClassVar[Telling] = (
        ("data", "readings.data.name"),
        ("readings", "comparison.rows"),
        ("chi_squared", "comparison.chi_squared"),
        ("probability", "comparison.probability"),
        ("left_out", "comparison.left_out"),
        ("notes", "comparison.notes"),
        ("slips", "slips"),
        ("parts", "parts"),
        ("faults", "readings.rows_left"),
    )

    machine: Machine
    readings: SetOfReadings
    comparison: Comparison
    parts: tuple[PartReport, ...]
    name_of_picture: str = "comparison.png"

    @property
    def slips(self) -> tuple[str, ...]:
        """Gauges that move against the prediction, or that no pull should move."""
        rows = self.comparison.rows
        return sign_slips([r.measured for r in rows], [r.predicted for r in rows])

    def __repr__(self) -> str:
        return f"Compared({self.machine.name!r} with {self.readings.data.name!r}: {self.comparison!r})"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class Calibrated(Answer):
    """Stiffnesses fitted to readings.

    Parameters
    ----------
    project : Project
        As it was before.
    readings : SetOfReadings
    calibration : Calibration
    parts : tuple of PartReport
    name_of_picture : str
    """

    ONLY: ClassVar[Telling] = (
        ("data", "readings.data.name"),
        ("parameters", "calibration.parameters"),
        ("correlation", "calibration.correlation"),
        ("singular_values", "calibration.identifiability.singular"),
        ("load_gain", "calibration.load_gain"),
        ("chi_squared", "calibration.fit.chi_squared"),
        ("probability", "calibration.probability"),
        ("fit", "fit"),
        ("suspects", "suspects"),
        ("findings", "calibration.findings"),
        ("before", "calibration.before"),
        ("after", "calibration.after"),
        ("parts", "parts"),
        ("faults", "readings.rows_left"),
    )

    project: Project
    readings: SetOfReadings
    calibration: Calibration
    parts: tuple[PartReport, ...]
    name_of_picture: str = "calibrated.png"

    @property
    def machine(self) -> Machine:
        """With its stiffnesses as fitted."""
        return self.calibration.machine

    @property
    def source(self) -> str:
        """What a fitted stiffness says of where it is from, and what is wrong with it."""
        marks = self.calibration.robust.marks if self.calibration.robust else ()
        return "; ".join((f'calibrated on readings "{self.readings.data.name}"', *marks))

    @property
    def fit(self) -> dict[str, object]:
        """How well the machine explains its readings, and what is wrong with it."""
        robust = self.calibration.robust
        return {
            "probability": self.calibration.probability,
            "discrepancy_m": None if robust is None else robust.discrepancy,
            "marks": [] if robust is None else list(robust.marks),
        }

    @property
    def suspects(self) -> list[dict[str, object]]:
        """What may be wrong, best first; ``group`` is 1 for what the readings cannot tell from the best that is named."""
        robust = self.calibration.robust
        return [
            {
                "what": s.what,
                "evidence": s.evidence,
                "probability_then": s.probability_then,
                "group": s.group,
            }
            for s in (robust.suspects[:MOST_SUSPECTS] if robust else ())
        ]

    @property
    def twice(self) -> bool:
        """Whether the project was calibrated on these readings already: intervals are then too narrow."""
        own = f'calibrated on readings "{self.readings.data.name}"'
        return any(holder.source.split("; ")[0] == own for _, holder in self.project.machine.holders())

    def write(self, folder: str | Path, *, force: bool = False) -> Path:
        """Write the calibrated project.

        Parameters
        ----------
        folder : str or Path
        force : bool
            Whether a project that is there is replaced.

        Returns
        -------
        Path
            Its file.

        Raises
        ------
        ReadingsError
            If no number is given, since nothing explains the readings.
        """
        robust = self.calibration.robust
        if robust and robust.withheld:
            raise ReadingsError(
                f"nothing is written: numbers are withheld, {robust.withheld}",
                hint="look at the suspects (--suspects), measure again what they name, or take the model on trust "
                "(--exact-rest)",
            )
        return write_calibrated(self.project, self.machine, Path(folder), self.source, force=force)

    def __repr__(self) -> str:
        found = self.calibration
        known = sum(p.determined for p in found.parameters)
        return (
            f"Calibrated({self.machine.name!r} on {self.readings.data.name!r}: {known} of {len(found.parameters)} "
            f"stiffnesses determined, probability {found.fit.probability:.2g})"
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class NextReadings(Answer):
    """The next readings, with what each should be.

    Parameters
    ----------
    project : Project
    machine : Machine
        As it is known now.
    plan : Plan
    parts : tuple of PartReport
    """

    ONLY: ClassVar[Telling] = (
        ("steps", "plan.steps"),
        ("known_after", "plan.known_after"),
        ("considered", "plan.considered"),
        ("too_small", "plan.too_small"),
        ("parts", "parts"),
    )

    project: Project
    machine: Machine
    plan: Plan
    parts: tuple[PartReport, ...]

    def __repr__(self) -> str:
        first = [f"{step.gauge.name} under {step.pull.name}" for step in self.plan.steps[:3]]
        return (
            f"NextReadings({self.machine.name!r}: {len(self.plan.steps)} readings, first {', '.join(first)})"
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class Explained(Answer):
    """A change before/after, split over its possible causes.

    Parameters
    ----------
    machine : Machine
    first, second : SetOfReadings
        Before and after the change.
    explanation : Explanation
    before, after_as_meant : mapping of str to float
        The tool along every pull before the change and after it as meant, stiffnesses as the project has them; before is
        what `deflect` says [m].
    parts : tuple of PartReport
    """

    ONLY: ClassVar[Telling] = (
        ("gains", "explanation.gains"),
        ("causes", "explanation.causes"),
        ("splits", "explanation.splits"),
        ("alone", "explanation.alone"),
        ("state", "explanation.state"),
        ("findings", "explanation.findings"),
        ("probability", "explanation.probability"),
        ("left_out", "explanation.left_out"),
        ("before", "before"),
        ("after_as_meant", "after_as_meant"),
        ("parts", "parts"),
        ("faults", "rows_left"),
    )

    machine: Machine
    first: SetOfReadings
    second: SetOfReadings
    explanation: Explanation
    before: dict[str, float]
    after_as_meant: dict[str, float]
    parts: tuple[PartReport, ...]

    @property
    def rows_left(self) -> tuple[str, ...]:
        """Rows of both data sets that are not used, and why."""
        return (*self.first.rows_left, *self.second.rows_left)

    def __repr__(self) -> str:
        verdicts = ", ".join(f"{c.cause.name} {c.verdict}" for c in self.explanation.causes[:3])
        return f"Explained({self.first.data.name!r} to {self.second.data.name!r}: {verdicts})"
