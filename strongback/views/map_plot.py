"""Where in the work space the tool is soft: compliance along a travel as curves, and as ellipses where the tool stands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import Normalize
from matplotlib.patches import Ellipse
from numpy.typing import NDArray

from strongback.machine.room import views
from strongback.machine.values import Machine
from strongback.machine.workspace import ComplianceMap, WorkPoint
from strongback.views import quantity, style
from strongback.views.map_text import DIRECTIONS

__all__ = ["figure", "figures", "map_figure"]

PER = "µm/N"
Array = NDArray[np.float64]


def figure(found: ComplianceMap) -> style.Picture:
    """Compliance over the work space.

    Parameters
    ----------
    found : ComplianceMap

    Returns
    -------
    Picture
    """
    return map_figure(found.machine, found.points)


def figures(found: ComplianceMap) -> Iterator[tuple[str, style.Picture]]:
    """The one picture with the name of its file."""
    yield "map.png", figure(found)


def map_figure(machine: Machine, points: Sequence[WorkPoint]) -> style.Picture:
    """Compliance over the work space.

    Parameters
    ----------
    machine : Machine
    points : sequence of WorkPoint

    Returns
    -------
    Picture
        Curves along the first travel, and ellipses of compliance seen from the front and from the right, to one scale.
    """
    with matplotlib.rc_context(style.settings()):
        return _figure(machine, points)


def _figure(machine: Machine, points: Sequence[WorkPoint]) -> style.Picture:
    figure = style.new_figure(190.0, 105.0)
    left, front, side = figure.subplots(1, 3, width_ratios=(1.25, 1.0, 1.0))
    _curves(left, points)
    scale = _ellipse_scale(points)
    softest = np.array([p.principal[0] for p in points]) / quantity.scale(PER)
    shade = Normalize(float(softest.min()), max(float(softest.max()), float(softest.min()) * 1.001))
    for axes, view in zip((front, side), views(machine.operator), strict=True):
        _ellipses(axes, points, view.across, 2, scale, shade)
        axes.set_title(view.name, loc="left")
        if view.sign < 0.0:
            axes.invert_xaxis()
    bar = figure.colorbar(ScalarMappable(shade, style.FIELD), ax=(front, side), fraction=0.05, pad=0.03)
    bar.set_label(f"softest direction [{quantity.unit_of(PER)}]")
    figure.suptitle(f"{machine.name}: where the tool is soft", x=0.01, ha="left", fontweight="bold")
    return figure


def _curves(axes: Axes, points: Sequence[WorkPoint]) -> None:
    """Direct compliances along the first travel; the range where other travels vary."""
    travel = points[0].position[0][0]
    at = np.array([dict(p.position)[travel] for p in points]) * 1e3
    values = np.array([np.diag(p.compliance) for p in points]) / quantity.scale(PER)
    stops = np.unique(at)
    for k, (label, mark) in enumerate(zip(DIRECTIONS, ("o", "s", "^"), strict=True)):
        rows = [values[at == stop, k] for stop in stops]
        middle = np.array([np.mean(r) for r in rows])
        colour = (style.ROLES["column"], style.ROLES["joints"], style.ROLES["spindle"])[k]
        axes.plot(stops, middle, marker=mark, markersize=3.5, color=colour, label=label)
        if any(len(r) > 1 for r in rows):
            axes.fill_between(
                stops, [r.min() for r in rows], [r.max() for r in rows], color=colour, alpha=0.2, linewidth=0
            )
    axes.set_xlabel(f"{travel} from the place as drawn [mm]")
    axes.set_ylabel(f"compliance of the tool [{quantity.unit_of(PER)}]")
    axes.set_ylim(bottom=0.0)
    others = " and ".join(name for name, _ in points[0].position[1:])
    axes.legend(
        frameon=False, loc="upper left", title=f"band: over {others}" if others else None, alignment="left"
    )


def _ellipse_scale(points: Sequence[WorkPoint]) -> float:
    """Millimetres of half axis per µm/N: the largest ellipse spans a bit less than the step between two of them."""
    tools = np.array([p.tool for p in points]) * 1e3
    reach = float(np.ptp(tools, axis=0).max()) or 100.0
    first = len({p.position[0][1] for p in points})
    count = max(2, first if _on_a_line(points) or len(points) <= 6 else round(len(points) ** 0.5))
    softest = max(float(p.principal[0]) for p in points) / quantity.scale(PER)
    return 0.55 * reach / count / softest


def _on_a_line(points: Sequence[WorkPoint]) -> bool:
    """Whether travels run side by side, as head and quill do: their positions hide each other in space."""
    if len(points[0].position) < 2:
        return False
    tools = np.array([p.tool for p in points])
    sizes = np.linalg.svd(tools - tools.mean(axis=0), compute_uv=False)
    return bool(sizes[1] < 1e-6 * sizes[0])


def _ellipses(
    axes: Axes, points: Sequence[WorkPoint], across: int, up: int, scale: float, shade: Normalize
) -> None:
    colours = matplotlib.colormaps[style.FIELD]
    aside = _on_a_line(points)
    other, places = points[0].position[-1][0], sorted({p.position[-1][1] for p in points})
    step = 2.4 * scale * max(float(p.principal[0]) for p in points) / quantity.scale(PER)
    for point in points:
        part = point.compliance[np.ix_((across, up), (across, up))] / quantity.scale(PER)
        # The curve of displacements under a unit force that turns once round: axes are the singular values.
        values, vectors = np.linalg.eigh(part)
        angle = np.degrees(np.arctan2(vectors[1, 1], vectors[0, 1]))
        column = places.index(point.position[-1][1]) * step
        centre = (column if aside else point.tool[across] * 1e3, point.tool[up] * 1e3)
        axes.add_patch(
            Ellipse(
                centre,
                2 * scale * values[1],
                2 * scale * values[0],
                angle=float(angle),
                facecolor=colours(shade(point.principal[0] / quantity.scale(PER))),
                edgecolor=style.INK,
                linewidth=0.6,
                alpha=0.9,
            )
        )
    axes.set_aspect("equal")
    axes.autoscale_view()
    axes.margins(0.15)
    if aside:
        axes.set_xticks([k * step for k in range(len(places))], [f"{p * 1e3:.0f}" for p in places])
        axes.set_xlabel(f"{other} [mm]; drawn along {'XYZ'[across]}")
    else:
        axes.set_xlabel(f"{'XYZ'[across]} of the tool [mm]")
    axes.set_ylabel(f"{'XYZ'[up]} of the tool [mm]")
