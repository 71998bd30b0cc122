"""The outline that was read from a picture, drawn over the picture, for a check by eye."""

from __future__ import annotations

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from shapely.geometry import Polygon

from strongback.section.scan import Scan
from strongback.section.values import Ring
from strongback.views import style

__all__ = ["scan_figure"]

EDGE = style.ROLES["joints"]
MARGIN = 0.06  # of the face, around it


def scan_figure(scan: Scan, *, width_mm: float = 140.0) -> Figure:
    """Draw what was found over the picture.

    Parameters
    ----------
    scan : Scan
    width_mm : float
        Of the figure [mm].

    Returns
    -------
    matplotlib.figure.Figure
    """
    rings = [ring for wall in scan.outline.walls for ring in (wall.ring, *wall.holes)]
    seen = [scan.in_picture(np.array(ring)) for ring in rings]
    low, high = np.vstack(seen).min(axis=0), np.vstack(seen).max(axis=0)
    margin = MARGIN * float((high - low).max())
    low, high = low - margin, high + margin
    tall = float(np.clip((high[1] - low[1]) / (high[0] - low[0]), 0.4, 1.6))
    with matplotlib.rc_context(style.settings()):
        figure = style.new_figure(width_mm, 0.9 * width_mm * tall + 22.0)
        axes = figure.add_subplot()
        axes.imshow(scan.picture, cmap="gray", vmin=0.0, vmax=1.0, interpolation="nearest")
        for ring in seen:
            closed = np.vstack([ring, ring[:1]])
            axes.plot(*closed.T, color=EDGE, linewidth=1.0, marker="o", markersize=2.4)
        for cell in scan.outline.cells:
            _name(axes, scan, cell.name, cell.ring)
        axes.set_xlim(low[0], high[0])
        axes.set_ylim(high[1], low[1])
        axes.set_axis_off()
        axes.set_title(f"{scan.outline.name}: outline over the picture")
        figure.legend(
            handles=[Line2D([], [], color=EDGE, marker="o", markersize=2.4, label=_words(scan, rings))],
            loc="outside lower center",
        )
    return figure


def _name(axes: Axes, scan: Scan, name: str, ring: Ring) -> None:
    spot = Polygon(ring).representative_point()
    column, row = scan.in_picture(np.array([[spot.x, spot.y]]))[0]
    axes.text(
        column,
        row,
        name,
        ha="center",
        va="center",
        fontsize=style.SMALL,
        bbox={"facecolor": style.PAPER, "edgecolor": "none", "alpha": 0.8, "pad": 1.5},
    )


def _words(scan: Scan, rings: list[Ring]) -> str:
    low, high = (
        np.vstack([np.array(r) for r in rings]).min(axis=0),
        np.vstack([np.array(r) for r in rings]).max(axis=0),
    )
    width, height = (high - low) * 1e3
    return (
        f"outline found, {width:.1f} x {height:.1f} mm over all; simplified to {scan.tolerance * 1e3:g} mm, "
        f"a pixel is {scan.pixel * 1e3:.2g} mm"
    )
