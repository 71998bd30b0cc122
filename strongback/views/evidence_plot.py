"""Figures of readings, comparison, correlation and explanation."""

from __future__ import annotations

import math
from typing import Any

import matplotlib
import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from strongback.evidence.calibrate import Calibration
from strongback.evidence.compare import Comparison
from strongback.evidence.explain import Explanation, Split
from strongback.evidence.readings import Campaign
from strongback.views import style

__all__ = ["comparison_figure", "correlation_figure", "readings_figure", "waterfall_figure"]

UM = 1e6
ROW = 4.6  # height of a row [mm]
MOST_SPLITS = 4


def _title(figure: Figure, text: str) -> None:
    figure.suptitle(text, x=0.01, ha="left", fontsize=style.NORMAL + 1, fontweight="bold")


def _labels(pairs: list[tuple[str, str]]) -> list[str]:
    return [f"{gauge}, {pull}" for gauge, pull in pairs]


def readings_figure(campaign: Campaign, *, width_mm: float = 160.0) -> style.Picture:
    """Every value with its interval of 95 %, and beside it how large the interval is.

    Parameters
    ----------
    campaign : Campaign
    width_mm : float

    Returns
    -------
    matplotlib.figure.Figure
    """
    rows = campaign.measured
    with matplotlib.rc_context(style.settings()):
        figure = style.new_figure(width_mm, ROW * len(rows) + 26.0)
        left, right = figure.subplots(1, 2, sharey=True, width_ratios=[2.4, 1.0])
        y = np.arange(len(rows))
        values = np.array([m.value for m in rows]) * UM
        half = np.array([m.uncertainty.half_width() for m in rows]) * UM
        flagged = np.array([bool(m.flags) for m in rows])
        for mask, marker, face, label in (
            (~flagged, "o", style.ROLES["column"], "value"),
            (flagged, "D", "white", "with a note"),
        ):
            if mask.any():
                left.errorbar(
                    values[mask],
                    y[mask],
                    xerr=half[mask],
                    fmt=marker,
                    ms=3.5,
                    mfc=face,
                    mec=style.INK,
                    mew=0.6,
                    ecolor=style.INK,
                    elinewidth=0.9,
                    label=label,
                )
        left.axvline(0.0, color=style.PALE, lw=0.8, zorder=0)
        left.set_yticks(y, _labels([(m.gauge, m.pull) for m in rows]))
        left.set_ylim(len(rows) - 0.4, -0.6)
        left.set_xlabel("reading with 95 % interval [µm]")
        right.barh(y, half, color=style.ROLES["wall"], height=0.6)
        right.set_xlabel("± 95 % [µm]")
        right.tick_params(labelleft=False)
        if flagged.any():
            figure.legend(*left.get_legend_handles_labels(), loc="outside lower left", ncols=2)
        _title(figure, f"Readings {campaign.name}".strip())
    return figure


def _shade_of(deviation: float) -> str:
    """Within one, within two, beyond: light to dark, so that it reads in grey."""
    size = abs(deviation)
    if size <= 1.0:
        return style.ROLES["wall"]
    return style.ROLES["column"] if size <= 1.96 else style.ROLES["joints"]


def comparison_figure(found: Comparison, *, width_mm: float = 160.0) -> style.Picture:
    """Predicted beside measured at every gauge, and the deviation in standard uncertainties.

    Parameters
    ----------
    found : Comparison
    width_mm : float

    Returns
    -------
    matplotlib.figure.Figure
    """
    rows = found.rows
    with matplotlib.rc_context(style.settings()):
        figure = style.new_figure(width_mm, ROW * len(rows) + 30.0)
        left, right = figure.subplots(1, 2, sharey=True, width_ratios=[1.7, 1.0])
        y = np.arange(len(rows))
        measured = np.array([r.measured.value for r in rows]) * UM
        u_measured = np.array([r.measured.uncertainty.half_width() for r in rows]) * UM
        predicted = np.array([r.predicted for r in rows]) * UM
        u_predicted = 1.96 * np.array([r.u_predicted for r in rows]) * UM
        left.barh(
            y,
            2 * u_predicted,
            left=predicted - u_predicted,
            height=0.62,
            color=style.PALE,
            label="predicted, 95 %",
        )
        left.plot(predicted, y, "|", ms=8, mew=1.2, color=style.ROLES["bed"], label="predicted")
        left.errorbar(
            measured,
            y,
            xerr=u_measured,
            fmt="o",
            ms=3.2,
            mfc=style.ROLES["joints"],
            mec=style.INK,
            mew=0.5,
            ecolor=style.INK,
            elinewidth=0.8,
            label="measured, 95 %",
        )
        left.set_yticks(y, _labels([(r.measured.gauge, r.measured.pull) for r in rows]))
        left.set_ylim(len(rows) - 0.4, -0.6)
        left.margins(x=0.04)
        left.autoscale(axis="x")
        left.set_xlabel("reading [µm]")
        deviation = np.array([r.deviation for r in rows])
        right.barh(y, deviation, color=[_shade_of(d) for d in deviation], height=0.62)
        for limit in (-1.96, 1.96):
            right.axvline(limit, color=style.INK, lw=0.7, ls="--")
        right.axvline(0.0, color=style.INK, lw=0.7)
        reach = max(3.0, float(np.abs(deviation).max()) * 1.1)
        right.set_xlim(-reach, reach)
        right.set_xlabel("measured less predicted\n[standard uncertainties]")
        right.tick_params(labelleft=False)
        figure.legend(*left.get_legend_handles_labels(), loc="outside lower left", ncols=3)
        _title(figure, "Predicted beside measured")
    return figure


def correlation_figure(found: Calibration, *, width_mm: float = 150.0) -> style.Picture:
    """Correlation of the fitted stiffnesses that the readings feel; ringed where no number is given.

    Parameters
    ----------
    found : Calibration
    width_mm : float

    Returns
    -------
    matplotlib.figure.Figure
    """
    kept = [i for i, p in enumerate(found.parameters) if p.learned > 0.1] or list(
        range(len(found.parameters))
    )
    names = [found.parameters[i].name + ("" if found.parameters[i].value is not None else " *") for i in kept]
    C = found.correlation[np.ix_(kept, kept)]
    with matplotlib.rc_context(style.settings()):
        figure = style.new_figure(width_mm, min(width_mm, 5.2 * len(kept) + 48.0))
        axes = figure.subplots()
        image = axes.imshow(C, cmap=style.SIGNED, vmin=-1.0, vmax=1.0)
        axes.set_xticks(range(len(kept)), names, rotation=60, ha="right", rotation_mode="anchor")
        axes.set_yticks(range(len(kept)), names)
        for i in range(len(kept)):
            for j in range(len(kept)):
                if i != j and abs(C[i, j]) >= 0.3:
                    colour = "white" if abs(C[i, j]) > 0.6 else style.INK
                    axes.text(
                        j, i, f"{100 * C[i, j]:.0f}", ha="center", va="center", fontsize=5.5, color=colour
                    )
        figure.colorbar(
            image, ax=axes, label="correlation of ln stiffness [-]; in the cells per cent", shrink=0.8
        )
        axes.set_xlabel("* not determined by these readings")
        _title(figure, "What the readings confuse")
    return figure


def waterfall_figure(found: Explanation, *, width_mm: float = 160.0) -> style.Picture:
    """ln(after/before) of the readings that matter, step by step from what was meant to what was measured.

    Parameters
    ----------
    found : Explanation
    width_mm : float

    Returns
    -------
    matplotlib.figure.Figure
    """
    splits = _shown(found)
    with matplotlib.rc_context(style.settings()):
        columns = 2 if len(splits) > 1 else 1
        rows = math.ceil(len(splits) / columns)
        steps = max(len(_steps(s)) for s in splits)
        figure = style.new_figure(width_mm, rows * (steps * 5.0 + 20.0) + 14.0)
        every = np.atleast_1d(figure.subplots(rows, columns, squeeze=False)).ravel()
        for axes, split in zip(every, splits, strict=False):
            _waterfall(axes, split)
        for axes in every[len(splits) :]:
            axes.set_axis_off()
        handles: list[Artist] = [
            Patch(facecolor=style.ROLES["bed"], label="whole"),
            Patch(facecolor=style.ROLES["column"], label="makes it stiffer"),
            Patch(facecolor=style.ROLES["joints"], label="makes it softer"),
        ]
        handles.append(Line2D([], [], color=style.INK, lw=0.8, label="standard uncertainty"))
        figure.legend(handles=handles, loc="outside lower left", ncols=4)
        _title(figure, "From what was meant to what was measured")
    return figure


def _shown(found: Explanation) -> list[Split]:
    """Readings of the tool along its own pull first, then those that changed most."""
    tool = [s for s in found.splits if s.gauge.lower().startswith("tool")]
    others = sorted(
        (s for s in found.splits if s not in tool), key=lambda s: -abs(s.total - s.meant) / (s.u_total + 0.02)
    )
    return (tool[:2] + others)[:MOST_SPLITS]


def _steps(split: Split) -> list[tuple[str, float, float]]:
    """Causes that move the reading by half a per cent or more, the rest together."""
    large = [(n, v, u) for n, v, u in split.causes if abs(v) >= 0.005 or u >= 0.02]
    rest = [(n, v, u) for n, v, u in split.causes if not (abs(v) >= 0.005 or u >= 0.02)]
    if rest:
        large.append(("other causes", sum(v for _, v, _ in rest), math.hypot(*(u for _, _, u in rest))))
    return [("as meant", split.meant, 0.0), *large, ("set-up and scatter", split.left, split.u_total)]


def _waterfall(axes: Any, split: Split) -> None:
    at, names = 0.0, []
    for y, (name, value, u) in enumerate(_steps(split)):
        colour = style.ROLES["joints"] if value > 0.0 else style.ROLES["column"]
        axes.barh(y, 100 * value, left=100 * at, color=colour, height=0.62)
        if u > 0.0:
            axes.errorbar(
                100 * (at + value), y, xerr=100 * u, fmt="none", ecolor=style.INK, elinewidth=0.8, capsize=1.5
            )
        at += value
        names.append(name)
    axes.barh(len(names), 100 * split.total, color=style.ROLES["bed"], height=0.62)
    axes.set_yticks(range(len(names) + 1), [*names, "measured"])
    axes.set_ylim(len(names) + 0.6, -0.6)
    axes.axvline(0.0, color=style.INK, lw=0.7)
    axes.use_sticky_edges = False
    axes.margins(x=0.05)
    axes.autoscale(axis="x")
    axes.set_xlabel("ln(after/before) [%]")
    axes.set_title(f"{split.gauge}, {split.pull}", fontsize=style.NORMAL)
