"""The deflection of a machine as text and as plain data: the answer first, then who causes it, then the gauges."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from strongback.machine.along import along
from strongback.machine.budget import Budget
from strongback.machine.ceiling import Ceiling
from strongback.machine.part.report import PartReport
from strongback.machine.room import Operator
from strongback.machine.solve import Deflection
from strongback.machine.spread import BudgetSpread
from strongback.machine.values import GROUND, Machine, Pull
from strongback.machine.wall_flex import ModelComparison
from strongback.views.motion_table import lever_note, motion_heads, six_shown
from strongback.views.parts_text import parts_dict
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import number, percent, signed
from strongback.views.wrap import fill

__all__ = [
    "PullResult",
    "answer",
    "answer_table",
    "as_dict",
    "budget_table",
    "details",
    "doubts",
    "gauges_dict",
    "gauges_table",
    "gauges_text",
    "parts_table",
    "share_table",
    "shares",
    "tool_motions",
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
    mesh_error : float, optional
        By which the meshes of the bodies may be off along the budget [m].
    bedded : float, optional
        Deflection along the budget if feet on bolts were bedded all over [m].
    """

    deflection: Deflection
    budget: Budget
    ceilings: tuple[Ceiling, ...] = ()
    spread: BudgetSpread | None = None
    models: ModelComparison | None = None
    mesh_error: float | None = None
    bedded: float | None = None

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
    return answer_table(results).text(width)


def answer_table(results: Sequence[PullResult]) -> Table:
    """Deflection of the tool along every pull, and the parts that give most."""
    rows = []
    for result in results:
        size, unit = size_of(result.pull)
        total = result.budget.total * UM
        first = ", ".join(f"{part} {share:.0%}" for part, share in result.budget.by_part()[:2])
        row = (result.pull.name, f"{number(size, 3)} {unit}", total, _interval(result), total / size, first)
        rows.append(row)
    columns = (
        Head("pull"),
        Head("load", show=number),
        Head("tool gives", "µm", lambda v: number(v, 3)),
        Head("95 %", "µm", lambda v: number(v, 2), pair=True),
        Head("per load", "µm/N *", lambda v: number(v, 3)),
        Head("most of it from"),
    )
    return Table(columns=columns, rows=tuple(rows))


def tool_table(results: Sequence[PullResult], width: int, operator: Operator | None = None) -> str:
    """Motion of the tool against the work under every pull."""
    return f"{tool_motions(results, operator).text(width)}\n{fill(lever_note(), width)}"


def tool_motions(results: Sequence[PullResult], operator: Operator | None = None) -> Table:
    """Displacement and rotation of the tool against the work, a row for every pull."""
    columns = (Head("pull"), *motion_heads(operator))
    rows: list[tuple[Cell, ...]] = [
        (result.pull.name, *six_shown(result.deflection.tool_displacement, result.deflection.tool_rotation))
        for result in results
    ]
    return Table(columns=columns, rows=tuple(rows))


def doubts(results: Sequence[PullResult]) -> list[str]:
    """What to know before the figures are trusted: one line each; none for most machines."""
    lines = [f"{r.pull.name}: {r.deflection.doubt}" for r in results if r.deflection.doubt]
    shared = list(dict.fromkeys(name for r in results for name in r.deflection.not_unique))
    if shared:
        lines.append(
            f"rigid joints that hold each other ({', '.join(shared)}): the motions are as given, how they share "
            "their forces is not known"
        )
    return lines


def share_table(results: Sequence[PullResult], width: int) -> str:
    """Share of every part in the deflection under every pull; several tables where they do not fit side by side."""
    return shares(results).text(width)


def shares(results: Sequence[PullResult]) -> Table:
    """Share of every part, a column for every pull."""
    largest: dict[str, float] = {}
    for result in results:
        for part, share in result.budget.by_part():
            largest[part] = max(largest.get(part, 0.0), abs(share))
    parts = sorted((p for p, share in largest.items() if share >= SMALLEST), key=lambda p: -largest[p])
    each = [dict(result.budget.by_part()) for result in results]
    columns = (Head("part"), *(Head(result.pull.name, "%", _per_cent) for result in results))
    rows: list[tuple[Cell, ...]] = [(part, *(100.0 * own.get(part, 0.0) for own in each)) for part in parts]
    return Table(columns=columns, rows=tuple(rows))


def _per_cent(value: float) -> str:
    return percent(value / 100.0)


def _interval(result: PullResult) -> tuple[float, float] | None:
    if result.spread is None:
        return None
    low, _, high = result.spread.total
    return low * UM, high * UM


def details(result: PullResult, width: int) -> str:
    """Budget of one pull: parts with their ceilings, then part by mechanism."""
    budget = result.budget
    unit = "µm/N" if size_of(result.pull)[1] == "N" else "µm/(N m)"
    blocks = [
        parts_table(result).text(width),
        *_attack(result, width),
        budget_table(budget, unit).text(width),
    ]
    if result.models is not None:
        models = result.models
        blocks.append(
            f"as beams {number(models.beam * UM, 4)} µm, as bodies {number(models.body * UM, 4)} µm, "
            f"of which wall flex {signed(models.wall_flex * UM, 2)} µm, pad contact {signed(models.pad_contact * UM, 2)} µm"
        )
    if result.mesh_error is not None:
        blocks.append(
            f"error of the mesh of the bodies: at most about {number(result.mesh_error * UM, 2)} µm (two grids)"
        )
    if result.bedded is not None:
        blocks.append(
            f"foot on its bolts only {number(result.budget.total * UM, 4)} µm; bedded all over "
            f"{number(result.bedded * UM, 4)} µm: the truth lies between"
        )
    return "\n\n".join(blocks)


def _attack(result: PullResult, width: int) -> list[str]:
    """The three parts by which most can be won, with what would be left of the deflection at the best."""
    best = [c for c in sorted(result.ceilings, key=lambda c: c.remains) if c.remains < 1.0 - SMALLEST][:3]
    if not best:
        return []
    each = ", ".join(f"{c.part} (at best {100 * c.remains:.0f} % is left)" for c in best)
    return [textwrap.fill(f"attack first: {each}", width)]


def parts_table(result: PullResult) -> Table:
    """Share of every part under a pull, its interval, and what would be left if the part were rigid."""
    remains = {c.part: c.remains for c in result.ceilings}
    spreads = {} if result.spread is None else dict(result.spread.parts)
    rows: list[tuple[Cell, ...]] = []
    for part, share in result.budget.by_part():
        if abs(share) < SMALLEST:
            continue
        span = (100 * spreads[part][0], 100 * spreads[part][2]) if part in spreads else None
        rows.append((part, 100.0 * share, span, 100 * remains[part] if part in remains else None))
    columns = (
        Head("part"),
        Head("share", "%", _per_cent),
        Head("95 %", "%", lambda v: f"{v:.0f}", pair=True),
        Head("left if rigid", "%", lambda v: f"{v:.0f}"),
    )
    return Table(columns=columns, rows=tuple(rows))


def budget_table(budget: Budget, unit: str) -> Table:
    """Part by mechanism, with what is smaller than half a per cent in one row.

    Parameters
    ----------
    budget : Budget
    unit : str
        Of the deflection per load.
    """
    columns = (
        Head("part"),
        Head("mechanism"),
        Head("gives", "µm", lambda v: signed(v, 3)),
        Head("per load", unit, lambda v: number(v, 3)),
        Head("share", "%", _per_cent),
    )

    def row(part: str, mechanism: str, gives: float, share: float) -> tuple[Cell, ...]:
        return part, mechanism, gives * UM, gives * UM / budget.force, 100.0 * share

    rest = [r for r in budget.rows if abs(r.share) < SMALLEST]
    rows = [row(r.part, r.words, r.contribution, r.share) for r in budget.rows if abs(r.share) >= SMALLEST]
    if rest:
        left, share = sum(r.contribution for r in rest), sum(r.share for r in rest)
        rows.append(row("all else", f"{len(rest)} smaller rows", left, share))
    rows.append(row("whole", "", budget.total, 1.0))
    return Table(columns=columns, rows=tuple(rows))


def gauges_text(machine: Machine, results: Sequence[PullResult], width: int) -> str:
    """Expected reading of every gauge under every pull; several tables where they do not fit side by side."""
    return gauges_table(machine, results).text(width) if machine.gauges else "no gauges"


def gauges_table(machine: Machine, results: Sequence[PullResult]) -> Table:
    """Expected readings, a column for every pull."""
    names = [f"{g.name} on {'bench' if g.reference == GROUND else g.reference}" for g in machine.gauges]
    columns = (Head("gauge, and what carries it"), *(Head(r.pull.name, "µm", signed) for r in results))
    rows: list[tuple[Cell, ...]] = [
        (name, *(r.deflection.gauges[k][1] * UM for r in results)) for k, name in enumerate(names)
    ]
    return Table(columns=columns, rows=tuple(rows))


def gauges_dict(gauges: Sequence[tuple[str, float]]) -> list[dict[str, Any]]:
    """Readings as plain data."""
    return [{"name": name, "reading_m": value} for name, value in gauges]


def as_dict(machine: Machine, reports: Sequence[PartReport], results: Sequence[PullResult]) -> dict[str, Any]:
    """Plain data of every pull, SI units in the keys."""
    return {
        "machine": machine.name,
        "parts": parts_dict(reports),
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
            "along_pull_m": along(result.deflection),
        },
        "direction": list(budget.direction),
        "total_m": budget.total,
        "gauges": gauges_dict(result.deflection.gauges),
        "budget": [
            {
                "part": row.part,
                "kind": row.kind,
                "mechanism": row.mechanism,
                "motion": row.motion,
                "contribution_m": row.contribution,
                "share": row.share,
            }
            for row in budget.rows
        ],
        "ceilings": [{"part": c.part, "share": c.share, "remains": c.remains} for c in result.ceilings],
        "imbalance": result.deflection.imbalance,
        "rounding_error": result.deflection.error,
        "warning": result.deflection.doubt,
        "forces_not_unique": list(result.deflection.not_unique),
    }
    if result.spread is not None:
        found["total_95_m"] = [result.spread.total[0], result.spread.total[2]]
    if result.models is not None:
        found["models"] = _models(result.models)
    if result.mesh_error is not None:
        found["mesh_error_m"] = result.mesh_error
    if result.bedded is not None:
        found["feet_bedded_m"] = result.bedded
    return found


def _models(models: ModelComparison) -> Mapping[str, float]:
    return {
        "beam_m": models.beam,
        "body_m": models.body,
        "wall_flex_m": models.wall_flex,
        "pad_contact_m": models.pad_contact,
    }
