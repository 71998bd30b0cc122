"""Who causes the deflection of the tool: one stacked bar a pull, in µm per newton."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import matplotlib
import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle

from strongback.machine.budget import Budget, BudgetRow
from strongback.machine.values import Machine
from strongback.views import style
from strongback.views.quantity import scale, unit_of
from strongback.views.tables import number

__all__ = ["budget_figure"]

FINEST = 0.35  # narrowest piece that is drawn by itself [mm]
INNER = 0.7  # of the width of the figure that the bars may take
CLEAR = 5.0  # between the names of parts above a bar [pixels]
WHISKER = 0.4  # how far below the middle of its bar the interval is drawn, in bars
OTHERS = (False, "all others")
Look = tuple[str, str]
_Key = tuple[bool, str]
"""Whether it is a joint or support, and its name: a joint may be called like a part."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Piece:
    """A piece of a bar: its part, what is written in it, its share and its size [µm per N or N m]."""

    key: _Key
    mechanism: str
    share: float
    size: float


def budget_figure(
    machine: Machine,
    budgets: Sequence[Budget],
    *,
    intervals: Mapping[str, tuple[float, float]] | None = None,
    width_mm: float = 160.0,
) -> style.Picture:
    """Draw budgets as stacked bars, forces and couples apart since their units differ.

    Parameters
    ----------
    machine : Machine
    budgets : sequence of Budget
    intervals : mapping of str to (float, float), optional
        By pull: within what the deflection lies with 95 % probability [m]; drawn as a whisker.
    width_mm : float
        Of the figure [mm].

    Returns
    -------
    Picture
    """
    couples = {pull.name for pull in machine.pulls if not np.any(pull.force)}
    groups = [
        ([b for b in budgets if b.pull not in couples], "along the force", "µm/N"),
        ([b for b in budgets if b.pull in couples], "by the couple", "µm/(N m)"),
    ]
    groups = [(bars, what, unit) for bars, what, unit in groups if bars]
    spans = intervals or {}
    pieces: dict[str, list[_Piece]] = {}
    for bars, _, unit in groups:
        longest = max(max(abs(b.total), *map(abs, spans.get(b.pull, (0.0, 0.0)))) / b.force for b in bars)
        least = FINEST / (INNER * width_mm) * longest / scale(unit)
        pieces |= {budget.pull: _pieces(budget, least, scale(unit)) for budget in bars}
    looks = _looks(machine, list(pieces.values()))
    with matplotlib.rc_context(style.settings()):
        handles = _handles(pieces, looks, whiskers=any(b.pull in spans for b in budgets))
        columns = max(2, int(width_mm // 42))
        legend_mm = 5.0 * (-(-len(handles) // columns)) + 4.0
        height = sum(15.0 * len(bars) + 14.0 for bars, _, _ in groups) + legend_mm + 8.0
        figure = style.new_figure(width_mm, height)
        axes_of = figure.subplots(
            len(groups), 1, squeeze=False, height_ratios=[len(b) + 0.6 for b, _, _ in groups]
        )
        for axes, (bars, what, unit) in zip(axes_of[:, 0], groups, strict=True):
            for k, budget in enumerate(bars):
                right = _bar(axes, k, pieces[budget.pull], looks)
                _total(axes, k, budget, right, spans.get(budget.pull), scale(unit))
            _frame(axes, bars)
            axes.set_xlabel(f"tool deflection {what} [{unit_of(unit)}]")
        figure.suptitle(
            f"{machine.name}: who causes the deflection",
            x=0.01,
            ha="left",
            fontsize=style.NORMAL + 1,
            fontweight="bold",
        )
        figure.legend(handles=handles, loc="outside lower left", ncols=columns)
        _write_inside(figure)
    return figure


def _key(row: BudgetRow) -> _Key:
    return row.kind in ("joint", "support"), row.part


def _pieces(budget: Budget, least: float, one: float) -> list[_Piece]:
    """What a bar is made of, the largest part first; all pieces add to the deflection.

    What is smaller than `least` is gathered: the small mechanisms of a part, then the small parts. `one` is the unit [m/N].
    """
    per = budget.total / budget.force / one
    rows: dict[_Key, list[BudgetRow]] = {}
    for row in budget.rows:
        rows.setdefault(_key(row), []).append(row)
    found, rest = [], 0.0
    for key, own in sorted(rows.items(), key=lambda item: -abs(sum(r.share for r in item[1]))):
        seen = [row for row in own if abs(row.share * per) >= least]
        left = sum(row.share for row in own) - sum(row.share for row in seen)
        for row in sorted(seen, key=lambda r: -abs(r.contribution)):
            size = row.contribution / budget.force / one
            found.append(_Piece(key=key, mechanism=_short(row.words), share=row.share, size=size))
        if abs(left * per) >= least:
            size = left * per
            found.append(_Piece(key=key, mechanism="other", share=left, size=size))
        else:
            rest += left
    if abs(rest * per) >= least:
        size = rest * per
        found.append(_Piece(key=OTHERS, mechanism="", share=rest, size=size))
    return found


def _looks(machine: Machine, bars: Sequence[Sequence[_Piece]]) -> dict[_Key, Look]:
    """Colour and pattern of everything that has a piece: parts as in all figures, joints told from their neighbours."""
    found: dict[_Key, Look] = {
        (False, name): (colour, "") for name, colour in style.colours_of(machine).items()
    }
    found[OTHERS] = (style.PALE, "")
    joints = [list(dict.fromkeys(piece.key[1] for piece in bar if piece.key[0])) for bar in bars]
    return found | {(True, name): look for name, look in style.joint_looks(joints).items()}


def _handles(
    pieces: Mapping[str, Sequence[_Piece]], looks: Mapping[_Key, Look], *, whiskers: bool
) -> list[Artist]:
    """A legend entry for every part that has a piece in some bar, and for no other."""
    largest: dict[_Key, float] = {}
    for bar in pieces.values():
        for piece in bar:
            if piece.key != OTHERS:
                largest[piece.key] = max(largest.get(piece.key, 0.0), abs(piece.share))
    keys = sorted(largest, key=lambda key: -largest[key])
    if any(piece.key == OTHERS for bar in pieces.values() for piece in bar):
        keys.append(OTHERS)
    handles: list[Artist] = [
        Patch(
            facecolor=looks[key][0],
            hatch=looks[key][1],
            edgecolor=_line(looks[key][0]),
            linewidth=0.6,
            label=key[1],
        )
        for key in keys
    ]
    if whiskers:
        handles.append(Line2D([], [], color=style.INK, marker="|", linewidth=1.0, label="95 % interval"))
    return handles


def _line(colour: str) -> str:
    """Lines of a pattern: white on dark, ink on light."""
    return "white" if _readable(colour) == "white" else style.INK


def _bar(axes: Axes, k: int, pieces: Sequence[_Piece], looks: Mapping[_Key, Look]) -> float:
    """What gives way to the right, what gives back to the left of zero; the right end."""
    right = left = 0.0
    for piece in pieces:
        start = right if piece.size > 0.0 else left
        colour, hatch = looks[piece.key]
        (patch,) = axes.barh(k, piece.size, left=start, height=0.62, color=colour, hatch=hatch, linewidth=0.6)
        patch.set_edgecolor(_line(colour) if hatch else "white")
        patch.set_gid(f"{piece.key[1]}|{piece.mechanism}|{piece.share:.0%}")
        right, left = (right + piece.size, left) if piece.size > 0.0 else (right, left + piece.size)
    return right


def _total(
    axes: Axes, k: int, budget: Budget, right: float, span: tuple[float, float] | None, one: float
) -> None:
    """The deflection at the end of its bar, and the interval as a whisker below it."""
    total = budget.total / budget.force / one
    axes.text(
        right, k, f"  {number(total, 3)}", va="center", ha="left", fontsize=style.SMALL, fontweight="bold"
    )
    if span is not None:
        low, high = (end / budget.force / one for end in span)
        axes.plot(
            [low, high], [k + WHISKER] * 2, color=style.INK, linewidth=1.0, marker="|", markersize=5, zorder=5
        )


def _frame(axes: Axes, budgets: Sequence[Budget]) -> None:
    axes.set_yticks(range(len(budgets)), [textwrap.fill(b.pull, 14) for b in budgets])
    axes.set_ylim(len(budgets) - 0.45, -0.55)
    low, high = axes.dataLim.intervalx
    axes.set_xlim(low - 0.02 * (high - low), high + 0.12 * (high - low))
    axes.axvline(0.0, color=style.INK, linewidth=0.7)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)


def _short(mechanism: str) -> str:
    return mechanism.replace("bending about ", "bend ").replace("about ", "rot ").replace("along ", "")


def _write_inside(figure: Figure) -> None:
    """Mechanism and share inside every piece that is wide enough, and the part above its pieces."""
    figure.draw_without_rendering()
    for axes in figure.axes:
        groups: dict[tuple[float, str], list[Rectangle]] = {}
        for patch in [p for p in axes.patches if isinstance(p, Rectangle) and p.get_gid()]:
            part, mechanism, share = str(patch.get_gid()).split("|")
            if mechanism:
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
            bbox={"boxstyle": "square,pad=0.05", "facecolor": patch.get_facecolor(), "edgecolor": "none"}
            if patch.get_hatch()
            else None,
        )
        if drawn.get_window_extent().width < patch.get_window_extent().width - 3.0:
            return
        drawn.remove()


def _name_above(axes: Axes, part: str, patches: Sequence[Rectangle]) -> None:
    """The name of a part above its pieces, if it is not wider than they are."""
    left, right = patches[0].get_x(), patches[-1].get_x() + patches[-1].get_width()
    drawn = axes.text(left, patches[0].get_y() - 0.02, part, ha="left", va="bottom", fontsize=style.SMALL - 1)
    room = axes.transData.transform([(left, 0.0), (right, 0.0)])[:, 0]
    if drawn.get_window_extent().width + CLEAR > room[1] - room[0]:
        drawn.remove()


def _readable(colour: Any) -> str:
    """Ink or white, whichever stands out more against a colour."""
    red, green, blue = to_rgb(colour)
    return style.INK if 0.299 * red + 0.587 * green + 0.114 * blue > 0.55 else "white"
