"""Who causes the deflection of the tool: one stacked bar a pull, in µm per newton."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Rectangle

from strongback.machine.budget import Budget, BudgetRow
from strongback.machine.values import Machine
from strongback.views import style
from strongback.views.tables import number

__all__ = ["budget_figure"]

SMALLEST = 0.004  # share that is still drawn as a piece of its own


def budget_figure(machine: Machine, budgets: Sequence[Budget], *, width_mm: float = 160.0) -> Figure:
    """Draw budgets as stacked bars, forces and couples apart since their units differ.

    Parameters
    ----------
    machine : Machine
    budgets : sequence of Budget
    width_mm : float
        Of the figure [mm].

    Returns
    -------
    matplotlib.figure.Figure
    """
    couples = {pull.name for pull in machine.pulls if not np.any(pull.force)}
    groups = [
        ([b for b in budgets if b.pull not in couples], "tool deflection along the force [µm/N]"),
        ([b for b in budgets if b.pull in couples], "tool deflection by the couple [µm/(N m)]"),
    ]
    groups = [(bars, label) for bars, label in groups if bars]
    colours = style.colours_of(machine)
    with matplotlib.rc_context(style.settings()):
        parts = _parts(budgets)
        columns = max(1, int(width_mm // 42))
        legend_mm = 5.0 * (-(-len(parts) // columns)) + 4.0
        height = sum(13.0 * len(bars) + 14.0 for bars, _ in groups) + legend_mm + 8.0
        figure = style.new_figure(width_mm, height)
        axes_of = figure.subplots(
            len(groups), 1, squeeze=False, height_ratios=[len(b) + 0.6 for b, _ in groups]
        )
        for axes, (bars, label) in zip(axes_of[:, 0], groups, strict=True):
            _bars(axes, bars, colours)
            axes.set_xlabel(label)
        figure.suptitle(
            f"{machine.name}: who causes the deflection",
            x=0.01,
            ha="left",
            fontsize=style.NORMAL + 1,
            fontweight="bold",
        )
        handles = [Patch(facecolor=colours[name], edgecolor="white", label=name) for name in parts]
        figure.legend(handles=handles, loc="outside lower left", ncols=columns)
        _write_inside(figure)
    return figure


def _parts(budgets: Sequence[Budget]) -> list[str]:
    """Parts that matter in any pull, by their largest share."""
    largest: dict[str, float] = {}
    for budget in budgets:
        for part, share in budget.by_part():
            largest[part] = max(largest.get(part, 0.0), abs(share))
    return sorted((p for p, share in largest.items() if share > SMALLEST), key=lambda p: -largest[p])


def _bars(axes: Axes, budgets: Sequence[Budget], colours: Mapping[str, str]) -> None:
    """One bar a pull, what gives way to the right, what gives back to the left of zero."""
    for k, budget in enumerate(budgets):
        right = left = 0.0
        order = {part: i for i, (part, _) in enumerate(budget.by_part())}
        for row in sorted(budget.rows, key=lambda r: (order[r.part], -abs(r.contribution))):
            size = row.contribution / budget.force * 1e6
            if abs(row.share) < SMALLEST:
                continue
            start = right if size > 0.0 else left
            _piece(axes, k, start, size, row, colours[row.part])
            right, left = (right + size, left) if size > 0.0 else (right, left + size)
        total = budget.total / budget.force * 1e6
        axes.text(
            right, k, f"  {number(total, 3)}", va="center", ha="left", fontsize=style.SMALL, fontweight="bold"
        )
    axes.set_yticks(range(len(budgets)), [b.pull for b in budgets])
    axes.set_ylim(len(budgets) - 0.45, -0.55)
    axes.margins(x=0.12)
    axes.axvline(0.0, color=style.INK, linewidth=0.7)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)


def _piece(axes: Axes, k: int, start: float, size: float, row: BudgetRow, colour: str) -> None:
    patch = axes.barh(k, size, left=start, height=0.62, color=colour, edgecolor="white", linewidth=0.6)[0]
    patch.set_gid(f"{_short(row.mechanism)}|{row.share:.0%}")


def _short(mechanism: str) -> str:
    return mechanism.replace("bending about ", "bend ").replace("about ", "rot ").replace("along ", "")


def _write_inside(figure: Figure) -> None:
    """Mechanism and share inside every piece that is wide enough to hold them."""
    figure.draw_without_rendering()
    for axes in figure.axes:
        for patch in [p for p in axes.patches if isinstance(p, Rectangle)]:
            words = (patch.get_gid() or "").split("|")
            if len(words) != 2:
                continue
            box = patch.get_window_extent()
            for text in ("\n".join(words), words[1]):
                drawn = axes.text(
                    patch.get_x() + 0.5 * patch.get_width(),
                    patch.get_y() + 0.5 * patch.get_height(),
                    text,
                    ha="center",
                    va="center",
                    fontsize=style.SMALL - 1,
                    linespacing=1.05,
                    color=_readable(patch.get_facecolor()),
                )
                if drawn.get_window_extent().width < box.width - 3.0:
                    break
                drawn.remove()


def _readable(colour: Any) -> str:
    """Ink or white, whichever stands out more against a colour."""
    red, green, blue = to_rgb(colour)
    return style.INK if 0.299 * red + 0.587 * green + 0.114 * blue > 0.55 else "white"
