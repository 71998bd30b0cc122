"""What is said of readings: their values, compared, fitted, planned, explained."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from strongback.evidence.calibrate import Calibration
from strongback.evidence.compare import Comparison
from strongback.evidence.explain import Explanation
from strongback.evidence.plan import Plan
from strongback.evidence.readings import Campaign
from strongback.project.from_readings import Calibrated, Compared, Explained, NextReadings, Reduced
from strongback.views.evidence_text import (
    CAUTIONS,
    WITHIN,
    bullets,
    load_text,
    micrometres,
    plan_words,
    rounded,
    stand_text,
    unit_of,
)
from strongback.views.parts_text import walls_blocks
from strongback.views.sheet import Block, Heading, Sheet, Words
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import number, signed

__all__ = [
    "calibration_table",
    "causes_table",
    "comparison_table",
    "contributions_table",
    "plan_table",
    "readings_table",
    "sheet",
    "splits_table",
]

UM = 1e6
OFF_BY = "* measured less predicted, in standard uncertainties of both together; beyond 2 they disagree"
SMALLEST_SHARE = 0.02  # of the changed part in a reading that is worth a line


def sheet(found: Reduced | Compared | Calibrated | NextReadings | Explained) -> Sheet:
    """The page of an answer that rests on readings."""
    return SHEETS[type(found)](found)


def _reduced(found: Reduced) -> Sheet:
    data, campaign = found.readings.data, found.readings.campaign
    notes = _flags(campaign)
    blocks: list[Block] = [
        Heading(f'Readings "{data.name}", {data.file}: {len(campaign.measured)} values'),
        readings_table(campaign),
        *(["", *bullets(notes)] if notes else []),
        "",
        *_scatter(campaign),
        "",
        Heading("Where the uncertainty comes from, standard uncertainties"),
        contributions_table(campaign),
    ]
    return Sheet(tuple(blocks), notes=found.readings.rows_left)


def _flags(campaign: Campaign) -> list[str]:
    """What deserves a second look, numbered."""
    flagged = [m for m in campaign.measured if m.flags]
    return [f"{i}: {m.gauge} under {m.pull}: {'; '.join(m.flags)}" for i, m in enumerate(flagged, 1)]


def readings_table(campaign: Campaign) -> Table:
    """One row a value; the number of its note where it has one."""
    columns = (
        Head("pull"),
        Head("gauge"),
        Head("load", "N", lambda v: f"{v:.4g}"),
        Head("reading", "µm", number),
        Head("± 95 %", "µm", number),
        Head("repeats", show=_count),
        Head("set-ups", show=_count),
        Head("zero", "µm", signed),
        Head("note"),
    )
    rows: list[tuple[Cell, ...]] = []
    marks = 0
    for m in campaign.measured:
        marks += bool(m.flags)
        value, half = rounded(m.value * UM, m.uncertainty.half_width() * UM)
        counts = (float(m.repeats), float(m.set_ups))
        rows.append(
            (m.pull, m.gauge, m.load, value, half, *counts, m.closure * UM, str(marks) if m.flags else "")
        )
    return Table(columns=columns, rows=tuple(rows))


def _count(value: float) -> str:
    return f"{value:.0f}"


def _scatter(campaign: Campaign) -> list[Block]:
    """What the scatter is and what it rests on."""
    s = campaign.scatter
    lines: list[Block] = []
    if s.reading_degrees:
        lines.append(
            f"scatter of a reading {s.reading * UM:.2g} µm ({s.reading_degrees:.0f} degrees of freedom)"
        )
    if s.assumed:
        lines.append(f"scatter of set-ups {s.set_up * UM:.2g} µm, assumed: nothing was set up twice")
    else:
        what = "of set-ups" if s.reading_degrees else "of set-ups and readings together"
        lines.append(f"scatter {what} {s.set_up * UM:.2g} µm ({s.set_up_degrees:.0f} degrees of freedom)")
    return lines


def contributions_table(campaign: Campaign) -> Table:
    """Standard uncertainty of every value by what it comes from."""
    names = list(dict.fromkeys(c.name for m in campaign.measured for c in m.uncertainty.contributions))
    columns = (Head("gauge"), Head("pull"), *(Head(n, "µm", _two) for n in (*names, "all")))
    rows: list[tuple[Cell, ...]] = []
    for m in campaign.measured:
        own = m.by_source
        cells = (own[n] * UM if n in own else None for n in names)
        rows.append((m.gauge, m.pull, *cells, m.uncertainty.u * UM))
    return Table(columns=columns, rows=tuple(rows))


def _two(value: float) -> str:
    return "0" if abs(value) < 1e-3 else number(value, 2)


def _three(value: float) -> str:
    return number(value, 3)


def _compared(found: Compared) -> Sheet:
    comparison = found.comparison
    within = sum(abs(r.deviation) <= 1.96 for r in comparison.rows)
    blocks: list[Block] = [
        Heading(f'{found.machine.name}: predicted beside measured, readings "{found.readings.data.name}"'),
        f"{within} of {len(comparison.rows)} readings lie within both uncertainties (95 %)",
        *(f"not compared: {left.reason}" for left in comparison.left_out),
        *comparison.notes,
        *(["", *bullets(found.slips)] if found.slips else []),
        "",
        comparison_table(comparison),
        Words(OFF_BY),
        *walls_blocks(found.parts),
    ]
    return Sheet(tuple(blocks), notes=found.readings.rows_left)


def comparison_table(found: Comparison) -> Table:
    """Measured, predicted, ratio, and deviation in standard uncertainties."""
    columns = (
        Head("pull"),
        Head("gauge"),
        Head("measured", "µm", number),
        Head("± 95 %", "µm", number),
        Head("predicted", "µm", number),
        Head("± 95 %", "µm", number),
        Head("ratio", show=_three),
        Head("off by *", show=signed),
    )
    rows: list[tuple[Cell, ...]] = []
    for r in found.rows:
        m = r.measured
        value, half = rounded(m.value * UM, m.uncertainty.half_width() * UM)
        predicted = micrometres(r.predicted, 3), micrometres(WITHIN * r.u_predicted, 2)
        ratio = r.ratio if abs(r.predicted) > 1e-9 else None
        rows.append((m.pull, m.gauge, value, half, *predicted, ratio, r.deviation))
    return Table(columns=columns, rows=tuple(rows))


def _calibrated(found: Calibrated) -> Sheet:
    calibration, data = found.calibration, found.readings.data
    known = [p for p in calibration.parameters if p.determined]
    worst = max(calibration.after.rows, key=lambda r: abs(r.deviation))
    blocks: list[Block] = [
        Heading(f'{found.machine.name}: calibrated on readings "{data.name}"'),
        calibration_table(calibration) if known else "these readings determine no stiffness by itself",
        "",
        f"{len(known)} of {len(calibration.parameters)} stiffnesses are determined by "
        f"{len(calibration.after.rows)} readings",
        f'fit: probability {calibration.probability:.2g}; worst "{worst.measured.gauge}" under '
        f'"{worst.measured.pull}", {worst.deviation:+.1f} standard uncertainties',
        f"common error of all loads: {100 * (calibration.load_gain - 1):+.2f} %",
    ]
    marks, open_ends = _marks(calibration)
    if marks:
        blocks += ["", Heading("What looks wrong"), *bullets(marks)]
    if calibration.robust is None:
        blocks += ["", *bullets([EXACT_REST])]
    if open_ends:
        blocks += ["", Heading("What these readings cannot tell"), *bullets(open_ends)]
    blocks += walls_blocks(found.parts)
    notes = found.readings.rows_left
    if found.twice:
        said = f'the project was calibrated on "{data.name}" already: to use it twice makes the intervals too narrow'
        notes = (*notes, said)
    return Sheet(tuple(blocks), notes=notes)


EXACT_REST = (
    "every stiffness that is not fitted, the walls and the notes of the operator are taken as exact: the intervals are too "
    "narrow wherever they are not (on the demo two of three hold in place of 95 of 100)"
)


def _marks(found: Calibration) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Findings that are marks, and the others."""
    if found.robust is None or not (found.robust.marks or found.robust.group):
        return (), found.findings
    last = next((i for i, said in enumerate(found.findings) if said.startswith("to tell: ")), -1)
    count = max(last + 1, len(found.robust.marks))
    return found.findings[:count], found.findings[count:]


def suspects_table(found: Calibration, count: int) -> Table:
    """What may be wrong, best first."""
    columns = (
        Head("if"),
        Head("evidence", show=lambda v: f"{v:+.1f}"),
        Head("fit then", show=lambda v: number(v, 2)),
        Head("group"),
    )
    rows = [
        (s.what, s.evidence, s.probability_then, "named" if s.group else "")
        for s in (found.robust.suspects[:count] if found.robust else ())
    ]
    return Table(columns=columns, rows=tuple(rows))


def calibration_table(found: Calibration) -> Table:
    """Stiffnesses that the readings determine, with intervals."""
    columns = (
        Head("stiffness"),
        *(Head(name, show=_three) for name in ("start", "fitted", "95 % from", "to")),
        Head("unit"),
        Head("learned", "%", _count),
    )
    rows: list[tuple[Cell, ...]] = []
    for p in found.parameters:
        if p.value is None or p.low is None or p.high is None:
            continue
        unit, factor = unit_of(p)
        cells = (v * factor for v in (p.start, p.value, p.low, p.high))
        rows.append((p.name, *cells, unit, 100 * p.learned))
    return Table(columns=columns, rows=tuple(rows))


def _planned(found: NextReadings) -> Sheet:
    blocks: list[Block] = [
        Heading(f"{found.machine.name}: the next {len(found.plan.steps)} readings, in this order"),
        plan_table(found.plan),
        "",
        *plan_words(found.plan),
        "",
        *bullets(CAUTIONS),
        *walls_blocks(found.parts),
    ]
    return Sheet(tuple(blocks))


def plan_table(found: Plan) -> Table:
    """Readings in order, with what to expect and the least load."""
    columns = (
        Head("", show=_count),
        Head("pull"),
        Head("load", show=number),
        Head("gauge"),
        Head("stand on"),
        Head("expected", "µm", _three),
        Head("± 95 %", "µm", lambda v: number(v, 2)),
        Head("least load", show=number),
    )
    rows: list[tuple[Cell, ...]] = []
    for i, s in enumerate(found.steps, 1):
        place = (s.pull.name, load_text(s.pull, s.load), s.gauge.name, stand_text(s))
        least = load_text(s.pull, math.ceil(s.least_load))
        rows.append((float(i), *place, s.expected * UM, WITHIN * s.u_expected * UM, least))
    return Table(columns=columns, rows=tuple(rows))


def _explained(found: Explained) -> Sheet:
    explanation = found.explanation
    blocks: list[Block] = [
        Heading(f'{found.machine.name}: from "{found.first.data.name}" to "{found.second.data.name}"'),
        *_gains(explanation),
        "",
        Heading("What the readings say of each cause"),
        causes_table(explanation),
        "",
        *bullets([*map(str, explanation.state), *explanation.findings]),
        "",
        Heading("ln(after/before) split over its causes"),
        splits_table(explanation),
        *walls_blocks(found.parts),
    ]
    return Sheet(tuple(blocks), notes=found.rows_left)


def _gains(found: Explanation) -> list[Block]:
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
    return [Words(line, then="  ") for line in lines]


def causes_table(found: Explanation) -> Table:
    """Each cause with its factor and interval."""
    columns = (
        Head("cause"),
        *(Head(name, show=_three) for name in ("factor", "95 % from", "to")),
        Head("probability alone", show=_probability),
        Head("verdict"),
    )
    alone = {a.name: a for a in found.alone}
    rows: list[tuple[Cell, ...]] = []
    for c in found.causes:
        name = c.cause.name + {"bond": " lost", "flex": " left"}.get(c.cause.kind, "")
        rows.append((name, c.value, c.low, c.high, alone[c.cause.name].probability, c.verdict))
    none = alone["the change as meant"]
    rows.append(("none of them", "", "", "", none.probability, "excluded" if none.excluded else "possible"))
    return Table(columns=columns, rows=tuple(rows))


def _probability(p: float) -> str:
    return "<0.001" if p < 0.001 else f"{p:.3f}"


def splits_table(found: Explanation) -> Table:
    """ln(after/before) by cause, per cent."""
    names = [c.cause.name for c in found.causes]
    strongest = sorted(range(len(names)), key=lambda j: -max(abs(s.causes[j][1]) for s in found.splits))[:3]
    heads = ("all", "meant", *(names[j] for j in strongest), "others", "left")
    columns = (Head("gauge"), Head("pull"), *(Head(name, "%", signed) for name in heads))
    rows: list[tuple[Cell, ...]] = []
    for s in found.splits:
        others = sum(v for j, (_, v, _) in enumerate(s.causes) if j not in strongest)
        parts = (s.total, s.meant, *(s.causes[j][1] for j in strongest), others, s.left)
        rows.append((s.gauge, s.pull, *(100 * v for v in parts)))
    return Table(columns=columns, rows=tuple(rows))


SHEETS: Mapping[type, Callable[[Any], Sheet]] = {
    Reduced: _reduced,
    Compared: _compared,
    Calibrated: _calibrated,
    NextReadings: _planned,
    Explained: _explained,
}
