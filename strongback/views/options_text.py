"""Options in words and as a table: what each gains under every pull and takes, then the set that is enough."""

from __future__ import annotations

from collections.abc import Sequence

from strongback.remedies.options.search import BestSet
from strongback.remedies.options.weighed import WeighedOption, WeighedOptions
from strongback.views.sheet import Block, Heading, Sheet, Words
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import number, percent

__all__ = ["gains_table", "prices_table", "sheet"]

UM = 1e6


def sheet(found: WeighedOptions) -> Sheet:
    """Gains, prices, and the best set.

    Parameters
    ----------
    found : WeighedOptions
    """
    blocks: list[Block] = [Heading(f"{found.machine.name}: what is left of the deflection with each option")]
    blocks += [
        gains_table(found),
        Words(
            "% of the deflection before; 95 %: as far as the ranges of the joints say, drawn in common before and "
            "after. A dash: no stiffness. In brackets: another gains as much for less."
        ),
        "",
        Heading("What each takes, and how sure it is"),
        prices_table(found.options),
        Words(
            "best: probability that it gains most; regret: % of the deflection lost in the mean where another turns "
            "out better; rigid: % left if all that it touches were rigid. Prices, hours and factors are guesses of "
            "common practice: put in your own."
        ),
    ]
    if found.settles:
        words = f"The stiffness that tells the first two apart best: {found.settles}. Plan a reading of it."
        blocks += ["", Words(words)]
    if found.best_set is not None:
        blocks += ["", *_best(found.best_set)]
    hazards = [o for o in found.options if o.hazard]
    if hazards:
        blocks += ["", Heading("Cautions; data sheets and local rules come first")]
        blocks += [Words(f"{o.name}: {o.hazard}", then="  ") for o in hazards]
    return Sheet(tuple(blocks))


def gains_table(found: WeighedOptions) -> Table:
    """What is left under every pull, and within what it lies."""
    columns = [Head("option")]
    for name, _ in found.before:
        columns += [Head(name, "%", percent), Head("95 %", "%", _whole, pair=True)]
    rows: list[tuple[Cell, ...]] = []
    for option in found.options:
        row: list[Cell] = [f"({option.name})" if option.dominated else option.name]
        for k in range(len(found.before)):
            if option.gain:
                gain = option.gain[k]
                row += [gain.ratio, (gain.low, gain.high)]
            else:
                row += [None, None]
        rows.append(tuple(row))
    return Table(columns=tuple(columns), rows=tuple(rows))


def _whole(share: float) -> str:
    return f"{100.0 * share:.0f}"


def prices_table(options: Sequence[WeighedOption]) -> Table:
    """Money, hours, mass, worth of each, and how sure it is."""

    def plain(value: float | None) -> str:
        return number(value, 3)

    columns = (
        Head("option"),
        Head("cost", "euro", plain),
        Head("time", "h", plain),
        Head("mass", "kg", plain),
        Head("saved", "µm/euro", plain),
        Head("saved", "µm/kg", plain),
        Head("best", "%", plain),
        Head("regret", "%", plain),
        Head("rigid", "%", plain),
        Head("back"),
    )
    rows: list[tuple[Cell, ...]] = []
    for o in options:
        ceiling = o.gain[0].ceiling if o.gain else None
        rows.append(
            (
                o.name,
                o.cost,
                o.hours,
                o.mass,
                _scaled(o.per_euro, UM),
                _scaled(o.per_kg, UM),
                _scaled(o.probability_best, 100.0),
                _scaled(o.regret, 100.0),
                _scaled(ceiling, 100.0),
                "yes" if o.reversible else "no",
            )
        )
    return Table(columns=columns, rows=tuple(rows))


def _scaled(value: float | None, by: float) -> Cell:
    return None if value is None else value * by


def _best(best: BestSet) -> list[Block]:
    names = ", ".join(best.names) or "nothing"
    values = "; ".join(f"{pull} {number(v * UM, 3)} µm" for pull, v in best.values)
    if best.meets:
        head = f"Enough: {names}"
        said = "proved over all subsets" if best.proved else f"not proved: {best.why_not}"
    else:
        head = f"Nothing meets the targets; nearest: {names}"
        said = f"{number(best.nearness, 3)} times the limit: {best.binding}"
    found: list[Block] = [
        Heading(head),
        Words(
            f"{values}; {number(best.cost, 3)} euro, {number(best.mass, 3)} kg; {said}; {best.nodes} nodes."
        ),
    ]
    if best.meets and not best.proved:
        found.append(Words(f"No set that is enough costs less than {number(best.floor, 3)} euro."))
    if best.left_out:
        words = ", ".join(best.left_out)
        found.append(Words(f"Not looked at, since that takes too many states of a part: {words}."))
    return found
