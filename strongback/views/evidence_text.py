"""Readings, comparison, calibration, plan and explanation as text and as plain data."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from strongback.evidence.calibrate import CalibratedParameter, Calibration
from strongback.evidence.compare import Comparison
from strongback.evidence.explain import CauseFound, Explanation
from strongback.evidence.plan import Plan, Step
from strongback.evidence.readings import Campaign, Measured
from strongback.machine.values import GROUND, Pull
from strongback.project.readings import DataSet
from strongback.views.tables import Column, number, signed, table
from strongback.views.wrap import fill

__all__ = [
    "CAUTIONS",
    "bullets",
    "calibration_dict",
    "calibration_table",
    "calibration_words",
    "causes_table",
    "cautions",
    "comparison_dict",
    "comparison_table",
    "comparison_words",
    "contributions_table",
    "explanation_dict",
    "gains_words",
    "plan_dict",
    "plan_table",
    "plan_words",
    "readings_dict",
    "readings_table",
    "rounded",
    "scatter_words",
    "splits_table",
]

UM = 1e6
WITHIN = 1.96  # standard uncertainties: 95 % of a normal distribution
SMALLEST_SHARE = 0.02  # of the changed part in a reading that is worth a line
CAUTIONS = (
    "Isolate the machine from power before hands, cords or gauges go near it.",
    "Keep a dead weight captive: hung just above the floor, with a second, slack safety cord that would catch it.",
    "Feet and hands out of the way of weights; nobody in line with a cord under load.",
    "Never under a raised head, and support it before the column or its joint is touched.",
    "Wear eye protection: cords, springs and gauge magnets let go without warning.",
    "Stay within the loads that the maker's manual allows; manual, local rules and licensed practice come first.",
)


def bullets(lines: Sequence[str], width: int) -> str:
    """Lines as a list, wrapped."""
    return "\n".join(fill(line, width, indent="- ", hang="  ") for line in lines)


def cautions(width: int) -> str:
    """What to keep in mind before anything is pulled."""
    return bullets(CAUTIONS, width)


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


# --- readings --------------------------------------------------------------------------------------------------------


def readings_table(campaign: Campaign, width: int) -> str:
    """One row a value; what deserves a second look below it."""
    columns = [
        Column("pull"),
        Column("gauge"),
        Column("load", "N", "right"),
        Column("reading", "µm", "right"),
        Column("± 95 %", "µm", "right"),
        Column("repeats", "", "right"),
        Column("set-ups", "", "right"),
        Column("zero", "µm", "right"),
        Column("note"),
    ]
    rows: list[list[str]] = []
    notes: list[str] = []
    for m in campaign.measured:
        value, half = rounded(m.value * UM, m.uncertainty.half_width() * UM)
        mark = ""
        if m.flags:
            notes.append(f"{len(notes) + 1}: {m.gauge} under {m.pull}: {'; '.join(m.flags)}")
            mark = str(len(notes))
        rows.append(
            [
                m.pull,
                m.gauge,
                f"{m.load:.4g}",
                value,
                half,
                str(m.repeats),
                str(m.set_ups),
                signed(m.closure * UM),
                mark,
            ]
        )
    text = table(columns, rows, width=width)
    return text if not notes else f"{text}\n\n{bullets(notes, width)}"


def scatter_words(campaign: Campaign) -> str:
    """What the scatter is and what it rests on."""
    s = campaign.scatter
    lines = []
    if s.reading_degrees:
        lines.append(
            f"scatter of a reading {s.reading * UM:.2g} µm ({s.reading_degrees:.0f} degrees of freedom)"
        )
    if s.assumed:
        lines.append(f"scatter of set-ups {s.set_up * UM:.2g} µm, assumed: nothing was set up twice")
    else:
        what = "of set-ups" if s.reading_degrees else "of set-ups and readings together"
        lines.append(f"scatter {what} {s.set_up * UM:.2g} µm ({s.set_up_degrees:.0f} degrees of freedom)")
    return "\n".join(lines)


def contributions_table(campaign: Campaign, width: int) -> str:
    """Standard uncertainty of every value by what it comes from."""
    names = list(dict.fromkeys(c.name for m in campaign.measured for c in m.uncertainty.contributions))
    columns = [
        Column("gauge"),
        Column("pull"),
        *(Column(n, "µm", "right") for n in names),
        Column("all", "µm", "right"),
    ]
    rows = []
    for m in campaign.measured:
        by_name = {c.name: c.u for c in m.uncertainty.contributions}
        cells = [micrometres(by_name[n], 2) if n in by_name else "-" for n in names]
        rows.append([m.gauge, m.pull, *cells, number(m.uncertainty.u * UM, 2)])
    return table(columns, rows, width=width)


def _measured_dict(m: Measured) -> dict[str, Any]:
    low, high = m.uncertainty.interval(m.value)
    return {
        "pull": m.pull,
        "gauge": m.gauge,
        "reference": m.reference,
        "state": dict(m.state),
        "load_N": m.load,
        "value_m": m.value,
        "u_m": m.uncertainty.u,
        "degrees_of_freedom": m.uncertainty.degrees,
        "low_m": low,
        "high_m": high,
        "contributions_m": {c.name: c.u for c in m.uncertainty.contributions},
        "repeats": m.repeats,
        "set_ups": m.set_ups,
        "zero_shift_m": m.closure,
        "loop_width_m": m.loop_width,
        "linearity": None
        if m.linearity is None
        else {
            "low_N": m.linearity.low,
            "high_N": m.linearity.high,
            "change": m.linearity.change,
            "u": m.linearity.u,
            "clear": m.linearity.clear,
        },
        "flags": list(m.flags),
        "rows": list(m.rows),
    }


def readings_dict(data: DataSet, campaign: Campaign) -> dict[str, Any]:
    """A reduced data set as plain data."""
    return {
        "data": data.name,
        "file": data.file,
        "unread_rows": data.unread,
        "values": [_measured_dict(m) for m in campaign.measured],
        "scatter": {
            "reading_m": campaign.scatter.reading,
            "set_up_m": campaign.scatter.set_up,
            "assumed": campaign.scatter.assumed,
        },
        "set_aside": [{"rows": list(a.rows), "what": a.what, "reason": a.reason} for a in campaign.set_aside],
        "faults": [
            {"line": f.line, "column": f.column, "message": f.message, "hint": f.hint} for f in data.faults
        ],
        "warnings": list(campaign.warnings),
    }


# --- comparison ------------------------------------------------------------------------------------------------------


def comparison_words(found: Comparison) -> str:
    """How well prediction and readings agree, in a sentence or two."""
    within = sum(abs(r.deviation) <= 1.96 for r in found.rows)
    lines = [f"{within} of {len(found.rows)} readings lie within both uncertainties (95 %)"]
    lines += [f"not compared: {left.reason}" for left in found.left_out]
    lines += list(found.notes)
    return "\n".join(lines)


def comparison_table(found: Comparison, width: int) -> str:
    """Measured, predicted, ratio, and deviation in standard uncertainties."""
    columns = [
        Column("pull"),
        Column("gauge"),
        Column("measured", "µm", "right"),
        Column("± 95 %", "µm", "right"),
        Column("predicted", "µm", "right"),
        Column("± 95 %", "µm", "right"),
        Column("ratio", "", "right"),
        Column("off by *", "", "right"),
    ]
    rows = []
    for r in found.rows:
        m = r.measured
        value, half = rounded(m.value * UM, m.uncertainty.half_width() * UM)
        rows.append(
            [
                m.pull,
                m.gauge,
                value,
                half,
                micrometres(r.predicted, 3),
                micrometres(WITHIN * r.u_predicted, 2),
                number(r.ratio, 3) if abs(r.predicted) > 1e-9 else "-",
                signed(r.deviation),
            ]
        )
    note = "* measured less predicted, in standard uncertainties of both together; beyond 2 they disagree"
    return f"{table(columns, rows, width=width)}\n{fill(note, width)}"


def comparison_dict(found: Comparison) -> dict[str, Any]:
    """A comparison as plain data."""
    return {
        "readings": [
            {
                "pull": r.measured.pull,
                "gauge": r.measured.gauge,
                "load_N": r.measured.load,
                "measured_m": r.measured.value,
                "u_measured_m": r.measured.uncertainty.u,
                "predicted_m": r.predicted,
                "u_predicted_m": r.u_predicted,
                "deviation": r.deviation,
            }
            for r in found.rows
        ],
        "chi_squared": found.chi_squared,
        "probability": found.probability,
        "left_out": [
            {"pull": x.measured.pull, "gauge": x.measured.gauge, "reason": x.reason} for x in found.left_out
        ],
        "notes": list(found.notes),
    }


# --- calibration -----------------------------------------------------------------------------------------------------


def _unit(p: CalibratedParameter) -> tuple[str, float]:
    if p.parameter.kind == "member":
        return "×", 1.0
    return ("N/µm", 1e-6) if p.parameter.mechanism.startswith("along") else ("kN m/rad", 1e-3)


def calibration_table(found: Calibration, width: int) -> str:
    """Stiffnesses that the readings determine, with intervals."""
    columns = [
        Column("stiffness"),
        Column("start", "", "right"),
        Column("fitted", "", "right"),
        Column("95 % from", "", "right"),
        Column("to", "", "right"),
        Column("unit"),
        Column("learned", "%", "right"),
    ]
    rows = []
    for p in found.parameters:
        if p.value is None or p.low is None or p.high is None:
            continue
        unit, factor = _unit(p)
        cells = [number(v * factor, 3) for v in (p.start, p.value, p.low, p.high)]
        rows.append([p.name, *cells, unit, f"{100 * p.learned:.0f}"])
    return table(columns, rows, width=width) if rows else "these readings determine no stiffness by itself"


def calibration_words(found: Calibration) -> str:
    """How good the fit is and what the load did."""
    said = sum(p.value is not None for p in found.parameters)
    worst = max(found.after.rows, key=lambda r: abs(r.deviation))
    return "\n".join(
        [
            f"{said} of {len(found.parameters)} stiffnesses are determined by {len(found.after.rows)} readings",
            f'fit: probability {found.fit.probability:.2g}; worst "{worst.measured.gauge}" under '
            f'"{worst.measured.pull}", {worst.deviation:+.1f} standard uncertainties',
            f"common error of all loads: {100 * (found.load_gain - 1):+.2f} %",
        ]
    )


def calibration_dict(found: Calibration) -> dict[str, Any]:
    """A calibration as plain data."""
    return {
        "parameters": [
            {
                "name": p.name,
                "kind": p.parameter.kind,
                "part": p.parameter.part,
                "mechanism": p.parameter.mechanism,
                "unit": "1"
                if p.parameter.kind == "member"
                else "N/m"
                if p.parameter.mechanism.startswith("along")
                else "N m/rad",
                "start": p.start,
                "value": p.value,
                "low": p.low,
                "high": p.high,
                "learned": p.learned,
                "determined": p.value is not None,
                "profiled": p.profiled,
                "remark": p.remark,
            }
            for p in found.parameters
        ],
        "correlation": found.correlation,
        "singular_values": found.identifiability.singular,
        "load_gain": found.load_gain,
        "chi_squared": found.fit.chi_squared,
        "probability": found.fit.probability,
        "findings": list(found.findings),
        "before": comparison_dict(found.before),
        "after": comparison_dict(found.after),
    }


# --- plan ------------------------------------------------------------------------------------------------------------


def load_text(pull: Pull, load: float) -> str:
    """A load with its unit."""
    return f"{load:.0f} {'N' if any(pull.force) else 'N m'}"


def stand_text(step: Step) -> str:
    """Where the stand sits."""
    return "bench" if step.gauge.reference == GROUND else step.gauge.reference


def plan_table(found: Plan, width: int) -> str:
    """Readings in order, with what to expect and the least load."""
    columns = [
        Column("", "", "right"),
        Column("pull"),
        Column("load", "", "right"),
        Column("gauge"),
        Column("stand on"),
        Column("expected", "µm", "right"),
        Column("± 95 %", "µm", "right"),
        Column("least load", "", "right"),
    ]
    rows = [
        [
            str(i),
            s.pull.name,
            load_text(s.pull, s.load),
            s.gauge.name,
            stand_text(s),
            number(s.expected * UM, 3),
            number(WITHIN * s.u_expected * UM, 2),
            load_text(s.pull, math.ceil(s.least_load)),
        ]
        for i, s in enumerate(found.steps, 1)
    ]
    return table(columns, rows, width=width)


def plan_words(found: Plan, width: int) -> str:
    """What will be known after the plan."""
    known = [
        f"{name} ± {100 * u:.0f} % (now ± {100 * u0:.0f} %)"
        for name, u, u0, told in zip(
            found.names, found.u_after, found.u_before, found.after.determined, strict=True
        )
        if told
    ]
    lines = [f"known after it: {'; '.join(known) if known else 'no stiffness by itself'}"]
    lines.append(
        f"{found.considered} readings were considered; {found.too_small} of them stay below five steps of the scale. Three "
        "repeats each, each in a set-up of its own. Least load: from which on the reading exceeds five steps."
    )
    return "\n".join(fill(line, width) for line in lines)


def plan_dict(found: Plan) -> dict[str, Any]:
    """A plan as plain data."""
    return {
        "steps": [
            {
                "pull": s.pull.name,
                "part": s.pull.part,
                "at_m": list(s.pull.at),
                "force_N": list(s.pull.force),
                "couple_N_m": list(s.pull.couple),
                "load": s.load,
                "gauge": s.gauge.name,
                "gauge_part": s.gauge.part,
                "gauge_at_m": list(s.gauge.at),
                "gauge_direction": list(s.gauge.direction),
                "reference": s.gauge.reference,
                "expected_m": s.expected,
                "u_expected_m": s.u_expected,
                "least_load": s.least_load,
                "gain": s.gain,
                "cost": s.cost,
            }
            for s in found.steps
        ],
        "known_after": [
            {
                "part": p.part,
                "mechanism": p.mechanism,
                "u_before": float(u0),
                "u_after": float(u),
                "determined": bool(told),
            }
            for p, u, u0, told in zip(
                found.parameters, found.u_after, found.u_before, found.after.determined, strict=True
            )
        ],
        "considered": found.considered,
        "too_small": found.too_small,
    }


# --- explanation -----------------------------------------------------------------------------------------------------


def gains_words(found: Explanation, width: int) -> str:
    """The arithmetic first: R = 1 - s (1 - r) and the ceiling."""
    lines = []
    # Where parts work against each other a share is above 1 or below 0, and says little to a person.
    plain = [g for g in found.gains if SMALLEST_SHARE < g.share <= 1.0] or list(found.gains)
    shown = [g for g in plain if g.gauge.lower().startswith("tool")] or plain[:3]
    for g in shown:
        m = g.measured
        value, half = rounded(m.value, 0.5 * (m.high - m.low))
        lines.append(
            f"{g.gauge} under {g.pull}: the changed part had a share of {g.share:.2f} and was to keep {g.r:.2f} of its "
            f"give: 1 - {g.share:.2f} (1 - {g.r:.2f}) = {g.promised:.2f} of the deflection was to be left; "
            f"ceiling {g.ceiling:.2f}, if the part were rigid; measured {value} ± {half}"
        )
    return "\n".join(fill(line, width, hang="  ") for line in lines)


def causes_table(found: Explanation, width: int) -> str:
    """Each cause with its factor and interval."""
    columns = [
        Column("cause"),
        Column("factor", "", "right"),
        Column("95 % from", "", "right"),
        Column("to", "", "right"),
        Column("probability alone", "", "right"),
        Column("verdict"),
    ]
    alone = {a.name: a for a in found.alone}
    rows = [
        [
            c.cause.name + {"bond": " lost", "flex": " left"}.get(c.cause.kind, ""),
            *(number(v, 3) for v in (c.value, c.low, c.high)),
            _probability(alone[c.cause.name].probability),
            c.verdict,
        ]
        for c in found.causes
    ]
    none = alone["the change as meant"]
    rows.append(
        [
            "none of them",
            "",
            "",
            "",
            _probability(none.probability),
            "excluded" if none.excluded else "possible",
        ]
    )
    return table(columns, rows, width=width)


def _probability(p: float) -> str:
    return "<0.001" if p < 0.001 else f"{p:.3f}"


def splits_table(found: Explanation, width: int) -> str:
    """ln(after/before) by cause, per cent."""
    names = [c.cause.name for c in found.causes]
    strongest = sorted(range(len(names)), key=lambda j: -max(abs(s.causes[j][1]) for s in found.splits))[:3]
    columns = [
        Column("gauge"),
        Column("pull"),
        Column("all", "%", "right"),
        Column("meant", "%", "right"),
        *(Column(names[j], "%", "right") for j in strongest),
        Column("others", "%", "right"),
        Column("left", "%", "right"),
    ]
    rows = []
    for s in found.splits:
        others = sum(v for j, (_, v, _) in enumerate(s.causes) if j not in strongest)
        parts = [s.total, s.meant, *(s.causes[j][1] for j in strongest), others, s.left]
        rows.append([s.gauge, s.pull, *(signed(100 * v) for v in parts)])
    return table(columns, rows, width=width)


def _cause_dict(c: CauseFound) -> dict[str, Any]:
    return {
        "name": c.cause.name,
        "kind": c.cause.kind,
        "value": c.value,
        "low": c.low,
        "high": c.high,
        "determined": c.value is not None,
        "learned": c.learned,
        "verdict": c.verdict,
    }


def explanation_dict(found: Explanation) -> dict[str, Any]:
    """An explanation as plain data."""
    return {
        "gains": [
            {
                "pull": g.pull,
                "gauge": g.gauge,
                "share": g.share,
                "r": g.r,
                "promised": g.promised,
                "ceiling": g.ceiling,
                "measured": g.measured.value,
                "measured_low": g.measured.low,
                "measured_high": g.measured.high,
            }
            for g in found.gains
        ],
        "causes": [_cause_dict(c) for c in found.causes],
        "splits": [
            {
                "pull": s.pull,
                "gauge": s.gauge,
                "ln_ratio": s.total,
                "u": s.u_total,
                "meant": s.meant,
                "causes": {name: {"part": v, "u": u} for name, v, u in s.causes},
                "left": s.left,
            }
            for s in found.splits
        ],
        "alone": [
            {
                "name": a.name,
                "chi_squared": a.chi_squared,
                "probability": a.probability,
                "excluded": a.excluded,
            }
            for a in found.alone
        ],
        "state": [{"field": d.field, "before": d.before, "after": d.after} for d in found.state],
        "findings": list(found.findings),
        "probability": found.probability,
        "left_out": [
            {"pull": x.measured.pull, "gauge": x.measured.gauge, "reason": x.reason} for x in found.left_out
        ],
    }


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
