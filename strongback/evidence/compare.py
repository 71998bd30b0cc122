"""Predicted beside measured, reading by reading, with both uncertainties."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2 as chi_squared_law

from strongback.answer import Telling
from strongback.evidence.model import (
    LeftOut,
    LoopModel,
    Matched,
    default_parameters,
    match,
    prior_covariance,
    refuse_nothing,
)
from strongback.evidence.readings import Measured
from strongback.machine.parameters import Parameter
from strongback.machine.part.values import Parts
from strongback.machine.values import Machine

__all__ = ["ComparedReading", "Comparison", "compare", "compared"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedReading:
    """A reading beside its prediction.

    Parameters
    ----------
    measured : Measured
    predicted : float
        [m]
    u_predicted : float
        From what is known of the stiffnesses and of the direction of the pull [m].
    deviation : float
        Measured less predicted, over both standard uncertainties together.
    """

    ONLY: ClassVar[Telling] = (
        ("pull", "measured.pull"),
        ("gauge", "measured.gauge"),
        ("load_N", "measured.load"),
        ("measured_m", "measured.value"),
        ("u_measured_m", "measured.uncertainty.u"),
        ("predicted_m", "predicted"),
        ("u_predicted_m", "u_predicted"),
        ("deviation", "deviation"),
    )

    measured: Measured
    predicted: float
    u_predicted: float
    deviation: float

    @property
    def ratio(self) -> float:
        """Measured over predicted."""
        return self.measured.value / self.predicted if self.predicted else math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """All readings beside their predictions.

    Parameters
    ----------
    rows : tuple of ComparedReading
    left_out : tuple of LeftOut
    notes : tuple of str
    chi_squared : float
        Weighted by the full covariance of readings and prediction.
    probability : float
        Of deviations as large as these or larger if machine and readings are as stated.
    """

    ONLY: ClassVar[Telling] = (
        ("readings", "rows"),
        ("chi_squared", "chi_squared"),
        ("probability", "probability"),
        ("left_out", "left_out"),
        ("notes", "notes"),
    )

    rows: tuple[ComparedReading, ...]
    left_out: tuple[LeftOut, ...]
    notes: tuple[str, ...]
    chi_squared: float
    probability: float

    def __repr__(self) -> str:
        worst = max(self.rows, key=lambda r: abs(r.deviation))
        return (
            f"Comparison({len(self.rows)} readings, probability {self.probability:.2g}; worst "
            f'"{worst.measured.gauge}" under "{worst.measured.pull}" by {worst.deviation:+.1f} standard uncertainties)'
        )


def compare(
    machine: Machine,
    parts: Parts,
    measured: Iterable[Measured],
    *,
    parameters: Sequence[Parameter] | None = None,
    covariance: Array | None = None,
) -> Comparison:
    """Compare a machine with readings.

    Parameters
    ----------
    machine : Machine
    parts : Parts
    measured : iterable of Measured
    parameters : sequence of Parameter, optional
        What the prediction is uncertain in; default as in a calibration.
    covariance : ndarray, shape (n, n), optional
        Of the logarithms of those stiffnesses; default from their ranges and correlation.

    Returns
    -------
    Comparison

    Raises
    ------
    ReadingsError
        If the machine knows none of the readings.
    """
    matched = match(machine, measured)
    refuse_nothing(matched)
    chosen = tuple(default_parameters(machine) if parameters is None else parameters)
    model = LoopModel.of(machine, parts, matched.pairs, chosen)
    known = prior_covariance(machine, chosen) if covariance is None else covariance
    start = np.zeros(len(chosen))
    predicted, J = model(start)
    return compared(matched, predicted, J, known, model.slants(start, matched.slants))


def compared(matched: Matched, predicted: Array, J: Array, covariance: Array, slants: Array) -> Comparison:
    """As `compare`, from predictions, their derivatives, the covariance of the parameters and errors of slanted pulls."""
    spread = J @ covariance @ J.T + slants @ slants.T
    values = np.array([m.value for m in matched.measured])
    own = np.array([m.own_u for m in matched.measured])
    whole = spread + np.diag(own**2) + _shared(matched.measured)
    residual = values - predicted
    u = np.sqrt(np.diag(whole))
    total = float(residual @ np.linalg.solve(whole, residual))
    rows = tuple(
        ComparedReading(measured=m, predicted=float(p), u_predicted=float(s), deviation=float(d))
        for m, p, s, d in zip(
            matched.measured, predicted, np.sqrt(np.diag(spread)), residual / u, strict=True
        )
    )
    return Comparison(
        rows=rows,
        left_out=matched.left_out,
        notes=matched.notes,
        chi_squared=total,
        probability=float(chi_squared_law.sf(total, len(rows))),
    )


def _shared(measured: Sequence[Measured]) -> Array:
    """Covariance of readings from contributions that move them together."""
    names = {c.name for m in measured for c in m.uncertainty.contributions if c.common}
    total = np.zeros((len(measured), len(measured)))
    for name in sorted(names):
        u = np.array(
            [
                math.copysign(sum(c.u for c in m.uncertainty.contributions if c.name == name), m.value)
                for m in measured
            ]
        )
        total += np.outer(u, u)
    return total
