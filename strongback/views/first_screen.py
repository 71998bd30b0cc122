"""The answer on one screen: how much, which direction is weakest, who causes it, what to do first."""

from __future__ import annotations

from collections.abc import Sequence

from strongback.machine.deflected import Deflected, UnderPull
from strongback.machine.room import Operator, side_word
from strongback.machine.values import Machine
from strongback.views.deflection_text import answer_table, load_note, size_of
from strongback.views.quantity import said
from strongback.views.tables import number
from strongback.views.wrap import fill

__all__ = ["first_screen"]

BACK = {"up": "up and down", "down": "up and down", "to the right": "sideways", "to the left": "sideways"}
LEAST = 0.03  # ceilings nearer to 1 than this are not worth doing


def first_screen(found: Deflected, width: int) -> str:
    """Pulls with forces in one table, then three sentences.

    Parameters
    ----------
    found : Deflected
    width : int
        Columns.
    """
    machine, results = found.machine, found.pulls
    head = f"{machine.name}: how far the tool gives along the pull, and who causes it"
    lines = [
        fill(head, width),
        "",
        answer_table(results).text(width),
        fill(load_note(), width),
        "",
    ]
    for title, text in _sentences(machine, results):
        lines.append(fill(f"{title}  {text}", width, hang=" " * (len(title) + 2)))
    return "\n".join(lines)


def _sentences(machine: Machine, results: Sequence[UnderPull]) -> list[tuple[str, str]]:
    at_tool = [r for r in results if r.pull.part == machine.tool.part and size_of(r.pull)[1] == "N"] or list(
        results
    )
    worst = max(at_tool, key=lambda r: abs(r.budget.total) / size_of(r.pull)[0])
    return [
        ("Weakest:  ", _weakest(worst, machine.operator)),
        ("Causes:   ", _causes(worst, machine)),
        ("Do first: ", _first(worst)),
    ]


def _weakest(worst: UnderPull, operator: Operator) -> str:
    size, unit = size_of(worst.pull)
    word = side_word(worst.budget.direction, operator)
    plain = BACK.get(word, "in and out") if word else ""
    way = f" ({plain})" if plain and plain != worst.pull.name else ""
    give = abs(worst.budget.total) / size
    per = said(give, "µm/N" if unit == "N" else "µm/(N m)", lambda v: number(v, 2))
    load = said(size, unit)
    if worst.spread is None:
        return f'under "{worst.pull.name}"{way}: {per}.'
    low, _, high = worst.spread.total
    ends = [said(end, "µm", lambda v: number(v, 2)) for end in (low, high)]
    between = f"{ends[0].rpartition(' ')[0]} and {ends[1]}"
    return f'under "{worst.pull.name}"{way}: {per}; at {load} between {between}.'


def _causes(worst: UnderPull, machine: Machine) -> str:
    parts = worst.budget.by_part()[:3]
    kinds = {
        part: max((r for r in worst.budget.rows if r.part == part), key=lambda r: abs(r.contribution))
        for part, _ in parts
    }
    return "; ".join(f"{part} {share:.0%}, most of it {kinds[part].words}" for part, share in parts) + "."


def _first(worst: UnderPull) -> str:
    best = [c for c in sorted(worst.ceilings, key=lambda c: c.remains) if c.remains < 1.0 - LEAST][:3]
    if not best:
        return "no single part rules."
    each = ", ".join(f"{c.part} ({100 * c.remains:.0f} %)" for c in best)
    return (
        f"find out by readings how stiff the joints are (strongback plan). Then look at what would be left if a part were "
        f"rigid, the best that any change of it can do: {each}."
    )
