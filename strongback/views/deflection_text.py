"""The deflection of a machine in words and tables: the answer first, then who causes it, then the gauges."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from strongback.machine.budget import PAD_CONTACT, Budget
from strongback.machine.ceiling import Ceiling
from strongback.machine.deflected import Deflected, UnderPull
from strongback.machine.open_closed import open_meets_closed
from strongback.machine.pad_contact import counted_twice
from strongback.machine.room import Operator
from strongback.machine.values import GROUND, Machine, Pull
from strongback.views.motion_table import lever_note, motion_heads, six_shown
from strongback.views.parts_text import meeting_words, walls_blocks
from strongback.views.quantity import factor_of, said, unit_of
from strongback.views.sheet import Block, Heading, Sheet, Words
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import number, percent, signed

__all__ = [
    "answer_table",
    "budget_table",
    "details",
    "doubts",
    "gauges_table",
    "parts_table",
    "shares",
    "sheet",
    "size_of",
    "states_table",
    "tool_motions",
]

UM = 1e6
SMALLEST = 0.005  # share of a row that is listed by itself


def sheet(found: Deflected) -> Sheet:
    """The answer first, then who causes it, then the gauges.

    Parameters
    ----------
    found : Deflected
    """
    machine, results = found.machine, found.pulls
    blocks: list[Block] = [
        Heading(f"{machine.name}: how far the tool gives along the pull, and who causes it"),
        answer_table(results),
        Words(load_note()),
        *_states(results),
        "",
        Heading("Tool against work"),
        tool_motions(results, machine.operator),
        Words(lever_note()),
        *doubts(results),
        *_twice(machine, results),
        "",
        Heading("Share of each part in the deflection"),
        shares(results),
    ]
    for result in results:
        blocks += ["", Heading(f"Budget: {result.pull.name}"), *details(result)]
    blocks += [
        "",
        Heading("Expected readings"),
        gauges_table(machine, results) if machine.gauges else "no gauges",
        "",
        "Static, elastic, small motions. Joint stiffnesses are starting values until",
        "readings have calibrated them.",
    ]
    blocks += walls_blocks(found.reports)
    meetings = open_meets_closed(machine)
    lines = meeting_words(meetings, found.twist_doubts or ())
    blocks += [Words(f"note: {line}", then="  ") for line in lines]
    return Sheet(tuple(blocks))


def _states(results: Sequence[UnderPull]) -> list[Block]:
    """Which state all is of, with the linear answer beside it."""
    if all(result.chosen is None for result in results):
        return []
    return [
        "",
        Heading("Joints that open or have play: the state that all of this is of"),
        states_table(results),
        "Ceilings find the state anew with their part rigid; intervals keep it.",
    ]


def states_table(results: Sequence[UnderPull]) -> Table:
    """Tool along every pull in the state that equilibrium chooses and with every joint holding, and that state."""
    rows: list[tuple[Cell, ...]] = []
    for result in results:
        if result.chosen is not None:
            held = float(np.dot(result.budget.direction, result.chosen.holding.tool_displacement))
            words = result.chosen.words or "all hold"
            rows.append((result.pull.name, result.total * UM, held * UM, words))
    columns = (
        Head("pull"),
        Head("tool gives", "µm", lambda v: number(v, 3)),
        Head("if all held", "µm", lambda v: number(v, 3)),
        Head("joints that do not just hold"),
    )
    return Table(columns=columns, rows=tuple(rows))


def size_of(pull: Pull) -> tuple[float, str]:
    """Size of a pull and its unit: that of its force, or of its couple where it has none."""
    if np.any(pull.force):
        return float(np.linalg.norm(pull.force)), "N"
    return float(np.linalg.norm(pull.couple)), "N m"


def answer_table(results: Sequence[UnderPull]) -> Table:
    """Deflection of the tool along every pull, and the parts that give most."""
    rows = []
    for result in results:
        size, unit = size_of(result.pull)
        total = result.budget.total * UM
        first = ", ".join(f"{part} {share:.0%}" for part, share in result.budget.by_part()[:2])
        per = total / size
        if unit != "N":  # the head is of a force; what stands in the row is of a couple
            per *= factor_of("µm/(N m)") / factor_of("µm/N")
        rows.append((result.pull.name, said(size, unit, _three), total, _interval(result), per, first))
    columns = (
        Head("pull"),
        Head("load", show=number),
        Head("tool gives", "µm", _three),
        Head("95 %", "µm", lambda v: number(v, 2), pair=True),
        Head("per load", "µm/N *", _three),
        Head("most of it from"),
    )
    return Table(columns=columns, rows=tuple(rows))


def load_note() -> str:
    """What the marks in the table of answers mean."""
    return f"* under a couple {unit_of('µm/(N m)')}; 95 %: what the stated ranges of the joints leave open"


def _three(value: float) -> str:
    return number(value, 3)


def _four(value: float) -> str:
    return number(value, 4)


def _beyond(value: float) -> str:
    return signed(value, 2)


def tool_motions(results: Sequence[UnderPull], operator: Operator | None = None) -> Table:
    """Displacement and rotation of the tool against the work, a row for every pull."""
    columns = (Head("pull"), *motion_heads(operator))
    rows: list[tuple[Cell, ...]] = [
        (result.pull.name, *six_shown(result.deflection.tool_displacement, result.deflection.tool_rotation))
        for result in results
    ]
    return Table(columns=columns, rows=tuple(rows))


def _twice(machine: Machine, results: Sequence[UnderPull]) -> list[Block]:
    """What faces whose contact is stated by pad and joint alike may add to each deflection."""
    both = counted_twice(machine)
    if not both:
        return []
    bodies, names = {pad.part for _, pad in both}, ", ".join(f'"{pad.name}"' for _, pad in both)
    each = []
    for result in results:
        rows = [r for r in result.budget.rows if r.mechanism == PAD_CONTACT and r.part in bodies]
        if rows:
            each.append(
                f'{said(sum(r.contribution for r in rows), "µm", _beyond)} under "{result.pull.name}"'
            )
    if not each:
        return []
    return [
        Words(
            f"contact under {names} is stated by pad and joint alike; at most this counts twice: {', '.join(each)}"
        )
    ]


def doubts(results: Sequence[UnderPull]) -> list[str]:
    """What to know before the figures are trusted: one line each; none for most machines."""
    lines = [
        f"{r.pull.name}: {r.deflection.doubt or r.budget.doubt}"
        for r in results
        if r.deflection.doubt or r.budget.doubt
    ]
    shared = list(dict.fromkeys(name for r in results for name in r.deflection.not_unique))
    if shared:
        lines.append(
            f"rigid joints that hold each other ({', '.join(shared)}): the motions are as given, how they share "
            "their forces is not known"
        )
    return lines


def shares(results: Sequence[UnderPull]) -> Table:
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


def _interval(result: UnderPull) -> tuple[float, float] | None:
    if result.interval is None:
        return None
    low, high = result.interval
    return low * UM, high * UM


def details(result: UnderPull) -> list[Block]:
    """Budget of one pull: parts with their ceilings, then part by mechanism."""
    budget = result.budget
    unit = "µm/N" if size_of(result.pull)[1] == "N" else "µm/(N m)"
    blocks: list[Block] = [parts_table(result), *_attack(result), "", budget_table(budget, unit)]
    if result.models is not None:
        models = result.models
        blocks += [
            "",
            Words(
                f"as beams {said(models.beam, 'µm', _four)}, as bodies {said(models.body, 'µm', _four)}, "
                f"of which wall flex {said(models.wall_flex, 'µm', _beyond)}, "
                f"pad contact {said(models.pad_contact, 'µm', _beyond)}"
            ),
        ]
    if result.mesh_error is not None:
        error = said(result.mesh_error, "µm", lambda v: number(v, 2))
        blocks += ["", Words(f"error of the mesh of the bodies: at most about {error} (two grids)")]
    if result.bedded is not None:
        blocks += [
            "",
            Words(
                f"foot on its bolts only {said(result.budget.total, 'µm', _four)}; bedded all over "
                f"{said(result.bedded, 'µm', _four)}: the truth lies between"
            ),
        ]
    return blocks


def _attack(result: UnderPull) -> list[Block]:
    """The three parts by which most can be won, with what would be left of the deflection at the best."""
    best = [c for c in sorted(result.ceilings, key=lambda c: c.remains) if c.remains < 1.0 - SMALLEST][:3]
    if not best:
        return []
    each = ", ".join(f"{c.part} (at best {100 * c.remains:.0f} % is left{_then(c)})" for c in best)
    return ["", Words(f"attack first: {each}")]


def _then(ceiling: Ceiling) -> str:
    return "" if ceiling.state is None else f"; then {ceiling.state}"


def parts_table(result: UnderPull) -> Table:
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


def gauges_table(machine: Machine, results: Sequence[UnderPull]) -> Table:
    """Expected readings, a column for every pull."""
    names = [f"{g.name} on {'bench' if g.reference == GROUND else g.reference}" for g in machine.gauges]
    columns = (Head("gauge, and what carries it"), *(Head(r.pull.name, "µm", signed) for r in results))
    rows: list[tuple[Cell, ...]] = [
        (name, *(r.deflection.gauges[k][1] * UM for r in results)) for k, name in enumerate(names)
    ]
    return Table(columns=columns, rows=tuple(rows))
