"""Words that the pages about readings share: loads, stands, directions, numbers to what their uncertainty supports."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from strongback.evidence.calibrate import CalibratedParameter
from strongback.evidence.plan import Plan, Step
from strongback.machine.values import GROUND, Pull
from strongback.views.sheet import Block, Words
from strongback.views.tables import number

__all__ = [
    "CAUTIONS",
    "WITHIN",
    "bullets",
    "direction_text",
    "expected_range",
    "load_text",
    "micrometres",
    "plan_words",
    "rounded",
    "stand_text",
    "unit_of",
]

UM = 1e6
WITHIN = 1.96  # standard uncertainties: 95 % of a normal distribution
CAUTIONS = (
    "Isolate the machine from power before hands, cords or gauges go near it.",
    "Keep a dead weight captive: hung just above the floor, with a second, slack safety cord that would catch it.",
    "Feet and hands out of the way of weights; nobody in line with a cord under load.",
    "Never under a raised head, and support it before the column or its joint is touched.",
    "Wear eye protection: cords, springs and gauge magnets let go without warning.",
    "Stay within the loads that the maker's manual allows; manual, local rules and licensed practice come first.",
)


def bullets(lines: Sequence[str]) -> list[Block]:
    """Lines as a list."""
    return [Words(line, first="- ", then="  ") for line in lines]


def plan_words(found: Plan) -> list[Block]:
    """What will be known after the plan."""
    known = [
        f"{name} ± {100 * u:.0f} % (now ± {100 * u0:.0f} %)"
        for name, u, u0, told in zip(
            found.names, found.u_after, found.u_before, found.after.determined, strict=True
        )
        if told
    ]
    return [
        Words(f"known after it: {'; '.join(known) if known else 'no stiffness by itself'}"),
        Words(
            f"{found.considered} readings were considered; {found.too_small} of them stay below five steps of the scale. "
            "Three repeats each, each in a set-up of its own. Least load: from which on the reading exceeds five steps."
        ),
    ]


def rounded(value: float, u: float) -> tuple[str, str]:
    """A value and its half-width, to as many decimals as the half-width supports.

    Examples
    --------
    >>> rounded(128.02, 1.93), rounded(0.0412, 0.0007)
    (('128.0', '1.9'), ('0.04120', '0.00070'))
    """
    if not (math.isfinite(u) and u > 0.0):
        return number(value), "-"
    decimals = max(0, 1 - math.floor(math.log10(u)))
    return f"{value:.{decimals}f}", f"{u:.{decimals}f}"


def micrometres(value: float, digits: int) -> str:
    """A length in µm; what is below a nanometre is a plain 0."""
    return "0" if abs(value) < 1e-9 else number(value * UM, digits)


def unit_of(p: CalibratedParameter) -> tuple[str, float]:
    """Unit in which a stiffness is shown, and its factor from SI."""
    if p.parameter.kind == "member":
        return "×", 1.0
    return ("N/µm", 1e-6) if p.parameter.mechanism.startswith("along") else ("kN m/rad", 1e-3)


def load_text(pull: Pull, load: float) -> str:
    """A load with its unit."""
    return f"{load:.0f} {'N' if any(pull.force) else 'N m'}"


def stand_text(step: Step) -> str:
    """Where the stand sits."""
    return "bench" if step.gauge.reference == GROUND else step.gauge.reference


def expected_range(step: Step) -> tuple[float, float]:
    """Where the reading should lie, 95 % [m]."""
    half = 1.96 * math.hypot(step.u_expected, 1.5e-6)
    return step.expected - half, step.expected + half


def direction_text(vector: Sequence[float]) -> str:
    """A direction as +x, -y or numbers."""
    v = np.asarray(vector, dtype=float)
    i = int(np.argmax(np.abs(v)))
    if abs(v[i]) > 0.999 * float(np.linalg.norm(v)):
        return f"{'+' if v[i] > 0 else '-'}{'xyz'[i]}"
    return ", ".join(f"{c:.2g}" for c in v / np.linalg.norm(v))
