"""Who causes the deflection of the tool: one stacked bar a pull, in µm per newton."""

from __future__ import annotations

import textwrap
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
    colours = _colours(machine)
    with matplotlib.rc_context(style.settings()):
        parts = _parts(budgets)
        columns = max(1, int(width_mm // 42))
        legend_mm = 5.0 * (-(-len(parts) // columns)) + 4.0
        height = sum(15.0 * len(bars) + 14.0 for bars, _ in groups) + legend_mm + 8.0
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
        handles = [Patch(facecolor=colours[key], edgecolor="white", label=key[1]) for key in parts]
        figure.legend(handles=handles, loc="outside lower left", ncols=columns)
        _write_inside(figure)
    return figure


_Key = tuple[bool, str]
"""Whether it is a joint or support, and its name: a joint may be called like a part."""


def _key(row: BudgetRow) -> _Key:
    return row.kind in ("joint", "support"), row.part


def _colours(machine: Machine) -> dict[_Key, str]:
    parts = {(False, name): colour for name, colour in style.colours_of(machine).items()}
    return parts | {(True, name): colour for name, colour in style.joint_colours(machine).items()}


def _shares(budget: Budget) -> dict[_Key, float]:
    """Share of every part, largest first."""
    sums: dict[_Key, float] = {}
    for row in budget.rows:
        sums[_key(row)] = sums.get(_key(row), 0.0) + row.share
    return dict(sorted(sums.items(), key=lambda item: -abs(item[1])))


def _parts(budgets: Sequence[Budget]) -> list[_Key]:
    """Parts that matter in any pull, by their largest share."""
    largest: dict[_Key, float] = {}
    for budget in budgets:
        for key, share in _shares(budget).items():
            largest[key] = max(largest.get(key, 0.0), abs(share))
    return sorted((key for key, share in largest.items() if share > SMALLEST), key=lambda key: -largest[key])


def _bars(axes: Axes, budgets: Sequence[Budget], colours: Mapping[_Key, str]) -> None:
    """One bar a pull, what gives way to the right, what gives back to the left of zero."""
    for k, budget in enumerate(budgets):
        right = left = 0.0
        order = {key: i for i, key in enumerate(_shares(budget))}
        for row in sorted(budget.rows, key=lambda r: (order[_key(r)], -abs(r.contribution))):
            size = row.contribution / budget.force * 1e6
            if abs(row.share) < SMALLEST:
                continue
            start = right if size > 0.0 else left
            _piece(axes, k, start, size, row, colours[_key(row)])
            right, left = (right + size, left) if size > 0.0 else (right, left + size)
        total = budget.total / budget.force * 1e6
        axes.text(
            right, k, f"  {number(total, 3)}", va="center", ha="left", fontsize=style.SMALL, fontweight="bold"
        )
    axes.set_yticks(range(len(budgets)), [textwrap.fill(b.pull, 14) for b in budgets])
    axes.set_ylim(len(budgets) - 0.45, -0.55)
    axes.margins(x=0.12)
    axes.axvline(0.0, color=style.INK, linewidth=0.7)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)


def _piece(axes: Axes, k: int, start: float, size: float, row: BudgetRow, colour: str) -> None:
    patch = axes.barh(k, size, left=start, height=0.62, color=colour, edgecolor="white", linewidth=0.6)[0]
    patch.set_gid(f"{row.part}|{_short(row.mechanism)}|{row.share:.0%}")


def _short(mechanism: str) -> str:
    return mechanism.replace("bending about ", "bend ").replace("about ", "rot ").replace("along ", "")


def _write_inside(figure: Figure) -> None:
    """Mechanism and share inside every piece that is wide enough, and the part above its pieces."""
    figure.draw_without_rendering()
    for axes in figure.axes:
        groups: dict[tuple[float, str], list[Rectangle]] = {}
        for patch in [p for p in axes.patches if isinstance(p, Rectangle) and p.get_gid()]:
            part, mechanism, share = str(patch.get_gid()).split("|")
            _fitting(axes, patch, [f"{mechanism}\n{share}", share])
            if patch.get_width() > 0.0:
                groups.setdefault((patch.get_y(), part), []).append(patch)
        for (_, part), patches in groups.items():
            _name_above(axes, part, patches)


def _fitting(axes: Axes, patch: Rectangle, texts: Sequence[str]) -> None:
    """The first of some texts that fits into a piece."""
    for text in texts:
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
        if drawn.get_window_extent().width < patch.get_window_extent().width - 3.0:
            return
        drawn.remove()


def _name_above(axes: Axes, part: str, patches: Sequence[Rectangle]) -> None:
    """The name of a part above its pieces, if it is not wider than they are."""
    left, right = patches[0].get_x(), patches[-1].get_x() + patches[-1].get_width()
    drawn = axes.text(left, patches[0].get_y() - 0.02, part, ha="left", va="bottom", fontsize=style.SMALL - 1)
    room = axes.transData.transform([(left, 0.0), (right, 0.0)])[:, 0]
    if drawn.get_window_extent().width > room[1] - room[0]:
        drawn.remove()


def _readable(colour: Any) -> str:
    """Ink or white, whichever stands out more against a colour."""
    red, green, blue = to_rgb(colour)
    return style.INK if 0.299 * red + 0.587 * green + 0.114 * blue > 0.55 else "white"
