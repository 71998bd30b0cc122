"""Pictures of what readings say: values, predicted beside measured, what goes together, the plan, the split of a change."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from strongback.errors import QuestionError
from strongback.project.from_readings import Calibrated, Compared, Explained, NextReadings, Reduced
from strongback.views.evidence_plot import (
    comparison_figure,
    correlation_figure,
    readings_figure,
    waterfall_figure,
)
from strongback.views.plan_plot import plan_figure
from strongback.views.style import Picture

__all__ = ["figure", "figures"]


def figure(
    found: Reduced | Compared | Calibrated | NextReadings | Explained,
    *,
    of: Literal["readings", "correlation"] = "readings",
    width_mm: float = 160.0,
) -> Picture:
    """The picture of an answer that rests on readings.

    Parameters
    ----------
    found : Reduced, Compared, Calibrated, NextReadings or Explained
    of : {"readings", "correlation"}
        Of a calibration: predicted beside measured after the fit, or which stiffnesses go together.
    width_mm : float

    Returns
    -------
    Picture

    Raises
    ------
    QuestionError
        If there is no such picture.
    """
    if of == "correlation":
        if not isinstance(found, Calibrated):
            raise QuestionError("only a calibration tells which stiffnesses go together")
        return correlation_figure(found.calibration, width_mm=width_mm)
    if isinstance(found, Reduced):
        return readings_figure(found.readings.campaign, width_mm=width_mm)
    if isinstance(found, Compared):
        return comparison_figure(found.comparison, width_mm=width_mm)
    if isinstance(found, Calibrated):
        return comparison_figure(found.calibration.after, width_mm=width_mm)
    if isinstance(found, NextReadings):
        return plan_figure(found.machine, found.plan, width_mm=width_mm)
    return waterfall_figure(found.explanation, width_mm=width_mm)


def figures(
    found: Reduced | Compared | Calibrated | NextReadings | Explained,
) -> Iterator[tuple[str, Picture]]:
    """Pictures with the names of their files."""
    if isinstance(found, NextReadings):
        yield "plan.png", figure(found, width_mm=170.0)
    elif isinstance(found, Explained):
        yield "explanation.png", figure(found)
    else:
        yield found.name_of_picture, figure(found)
    if isinstance(found, Calibrated):
        yield "correlation.png", figure(found, of="correlation", width_mm=150.0)
