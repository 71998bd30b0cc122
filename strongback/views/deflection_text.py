"""The deflection of a machine as text and as plain data: the answer first, then who causes it, then the gauges."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from strongback.machine.budget import Budget
from strongback.machine.ceiling import Ceiling
from strongback.machine.solve import Deflection
from strongback.machine.spread import BudgetSpread
from strongback.machine.values import GROUND, Machine, Pull
from strongback.machine.wall_flex import ModelComparison
from strongback.views.tables import Column, head_lines, number, percent, signed, table

__all__ = [
    "PullResult",
    "answer",
    "as_dict",
    "details",
    "gauges_dict",
    "gauges_text",
    "share_table",
    "tool_table",
]

UM = 1e6
SMALLEST = 0.005  # share of a row that is listed by itself


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PullResult:
    """All that is said of one pull.

    Parameters
    ----------
    deflection : Deflection
    budget : Budget
    ceilings : tuple of Ceiling
        Empty where they were not worked out.
    spread : BudgetSpread, optional
        Interval from the ranges of the joints.
    models : ModelComparison, optional
        Beams beside bodies, where the machine has a body.
    """

    deflection: Deflection
    budget: Budget
    ceilings: tuple[Ceiling, ...] = ()
    spread: BudgetSpread | None = None
    models: ModelComparison | None = None

    @property
    def pull(self) -> Pull:
        """The pull."""
        return self.deflection.pull


def size_of(pull: Pull) -> tuple[float, str]:
    """Size of a pull and its unit: that of its force, or of its couple where it has none."""
    if np.any(pull.force):
        return float(np.linalg.norm(pull.force)), "N"
    return float(np.linalg.norm(pull.couple)), "N m"


def answer(results: Sequence[PullResult], width: int) -> str:
    """What matters most: how far the tool moves under every pull, and whose fault it is."""
    rows = []
    for result in results:
        size, unit = size_of(result.pull)
        total = result.budget.total * UM
        first = ", ".join(f"{part} {share:.0%}" for part, share in result.budget.by_part()[:2])
        spread = "-" if result.spread is None else _interval(result.spread.total)
        rows.append(
            [
                result.pull.name,
                f"{number(size, 3)} {unit}",
                number(total, 3),
                spread,
                number(total / size, 3),
                first,
            ]
        )
    columns = [
        Column("pull"),
        Column("load", "", "right"),
        Column("tool gives", "µm", "right"),
        Column("95 %", "µm", "right"),
        Column("per load", "µm/N *", "right"),
        Column("most of it from"),
    ]
    return table(columns, rows, width=width)


def tool_table(results: Sequence[PullResult], width: int) -> str:
    """Motion of the tool against the work under every pull."""
    columns = [
        Column("pull"),
        *(Column(name, "µm", "right") for name in "XYZ"),
        *(Column(name, "µrad", "right") for name in ("nod", "side tilt", "yaw")),
    ]
    rows = [
        [
            result.pull.name,
            *(signed(float(v)) for v in result.deflection.tool_displacement * UM),
            *(signed(float(v)) for v in result.deflection.tool_rotation * UM),
        ]
        for result in results
    ]
    return table(columns, rows, width=width)


def share_table(results: Sequence[PullResult], width: int) -> str:
    """Share of every part in the deflection under every pull; several tables where they do not fit side by side."""
    largest: dict[str, float] = {}
    for result in results:
        for part, share in result.budget.by_part():
            largest[part] = max(largest.get(part, 0.0), abs(share))
    parts = sorted((p for p, share in largest.items() if share >= SMALLEST), key=lambda p: -largest[p])
    blocks = []
    for group in _side_by_side(results, max(map(len, [*parts, "part"])), width):
        shares = [dict(r.budget.by_part()) for r in group]
        rows = [[part, *(percent(s.get(part, 0.0)) for s in shares)] for part in parts]
        columns = [Column("part"), *(Column(r.pull.name, "%", "right") for r in group)]
        blocks.append(table(columns, rows, width=width))
    return "\n\n".join(blocks)


def _side_by_side(results: Sequence[PullResult], first: int, width: int) -> list[list[PullResult]]:
    """Pulls in groups whose columns fit beside a first column."""
    groups: list[list[PullResult]] = [[]]
    used = first
    for result in results:
        need = max(*map(len, head_lines(result.pull.name)), 7) + 2
        if groups[-1] and used + need > width:
            groups.append([])
            used = first
        groups[-1].append(result)
        used += need
    return groups


def _interval(quantiles: tuple[float, float, float]) -> str:
    low, _, high = quantiles
    return f"{number(low * UM, 2)}..{number(high * UM, 2)}"


def details(result: PullResult, width: int) -> str:
    """Budget of one pull: parts with their ceilings, then part by mechanism."""
    budget = result.budget
    unit = "µm/N" if size_of(result.pull)[1] == "N" else "µm/(N m)"
    blocks = [_parts(result, width), *_attack(result, width), _rows(budget, unit, width)]
    if result.models is not None:
        models = result.models
        blocks.append(
            f"as beams {number(models.beam * UM, 4)} µm, as bodies {number(models.body * UM, 4)} µm: "
            f"wall flex {signed(models.wall_flex * UM, 2)} µm, pad contact {signed(models.pad_contact * UM, 2)} µm"
        )
    return "\n\n".join(blocks)


def _attack(result: PullResult, width: int) -> list[str]:
    """The three parts by which most can be won, with what would be left of the deflection at the best."""
    best = [c for c in sorted(result.ceilings, key=lambda c: c.remains) if c.remains < 1.0 - SMALLEST][:3]
    if not best:
        return []
    each = ", ".join(f"{c.part} (at best {100 * c.remains:.0f} % is left)" for c in best)
    return [textwrap.fill(f"attack first: {each}", width)]


def _parts(result: PullResult, width: int) -> str:
    remains = {c.part: c.remains for c in result.ceilings}
    spreads = {} if result.spread is None else dict(result.spread.parts)
    rows = []
    for part, share in result.budget.by_part():
        if abs(share) < SMALLEST:
            continue
        low_high = "-"
        if part in spreads:
            low, _, high = spreads[part]
            low_high = f"{100 * low:.0f}..{100 * high:.0f}"
        left = f"{100 * remains[part]:.0f}" if part in remains else "-"
        rows.append([part, percent(share), low_high, left])
    columns = [
        Column("part"),
        Column("share", "%", "right"),
        Column("95 %", "%", "right"),
        Column("left if rigid", "%", "right"),
    ]
    return table(columns, rows, width=width)


def _rows(budget: Budget, unit: str, width: int) -> str:
    columns = [
        Column("part"),
        Column("mechanism"),
        Column("gives", "µm", "right"),
        Column("per load", unit, "right"),
        Column("share", "%", "right"),
    ]
    listed = [row for row in budget.rows if abs(row.share) >= SMALLEST]
    rest = [row for row in budget.rows if abs(row.share) < SMALLEST]
    rows = [
        [
            row.part,
            row.mechanism,
            signed(row.contribution * UM, 3),
            number(row.contribution * UM / budget.force, 3),
            percent(row.share),
        ]
        for row in listed
    ]
    if rest:
        left = sum(row.contribution for row in rest)
        share = sum(row.share for row in rest)
        words = f"{len(rest)} smaller rows"
        rows.append(
            [
                "all else",
                words,
                signed(left * UM, 3),
                number(left * UM / budget.force, 3),
                percent(share),
            ]
        )
    total = budget.total
    rows.append(["whole", "", signed(total * UM, 3), number(total * UM / budget.force, 3), "100.0"])
    return table(columns, rows, width=width)


def gauges_text(machine: Machine, results: Sequence[PullResult], width: int) -> str:
    """Expected reading of every gauge under every pull; several tables where they do not fit side by side."""
    if not machine.gauges:
        return "no gauges"
    names = [f"{g.name} on {'bench' if g.reference == GROUND else g.reference}" for g in machine.gauges]
    groups = _side_by_side(results, max(map(len, names)), width)
    return "\n\n".join(_gauge_table(names, group, width) for group in groups)


def _gauge_table(names: Sequence[str], results: Sequence[PullResult], width: int) -> str:
    columns = [Column("gauge, and what carries it"), *(Column(r.pull.name, "µm", "right") for r in results)]
    rows = [
        [name, *(signed(r.deflection.gauges[k][1] * UM) for r in results)] for k, name in enumerate(names)
    ]
    return table(columns, rows, width=width)


def gauges_dict(gauges: Sequence[tuple[str, float]]) -> list[dict[str, Any]]:
    """Readings as plain data."""
    return [{"name": name, "reading_m": value} for name, value in gauges]


def as_dict(machine: Machine, results: Sequence[PullResult]) -> dict[str, Any]:
    """Plain data of every pull, SI units in the keys."""
    return {
        "machine": machine.name,
        "members": [{"name": m.name, "model": m.model} for m in machine.members],
        "pulls": [_pull_dict(result) for result in results],
    }


def _pull_dict(result: PullResult) -> dict[str, Any]:
    pull, budget = result.pull, result.budget
    found: dict[str, Any] = {
        "name": pull.name,
        "part": pull.part,
        "against": pull.against,
        "force_N": list(pull.force),
        "couple_N_m": list(pull.couple),
        "tool": {
            "displacement_m": result.deflection.tool_displacement.tolist(),
            "rotation_rad": result.deflection.tool_rotation.tolist(),
        },
        "direction": list(budget.direction),
        "total_m": budget.total,
        "gauges": gauges_dict(result.deflection.gauges),
        "budget": [
            {
                "part": row.part,
                "kind": row.kind,
                "mechanism": row.mechanism,
                "contribution_m": row.contribution,
                "share": row.share,
            }
            for row in budget.rows
        ],
        "ceilings": [{"part": c.part, "share": c.share, "remains": c.remains} for c in result.ceilings],
        "imbalance": result.deflection.imbalance,
    }
    if result.spread is not None:
        found["total_95_m"] = [result.spread.total[0], result.spread.total[2]]
    if result.models is not None:
        found["models"] = _models(result.models)
    return found


def _models(models: ModelComparison) -> Mapping[str, float]:
    return {
        "beam_m": models.beam,
        "body_m": models.body,
        "wall_flex_m": models.wall_flex,
        "pad_contact_m": models.pad_contact,
    }
