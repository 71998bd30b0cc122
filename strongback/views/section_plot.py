"""A profile: walls, cells, what fills them, centroid, shear centre, principal axes."""

from __future__ import annotations

import matplotlib
import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, PathPatch
from matplotlib.path import Path as Curve
from numpy.typing import NDArray
from shapely import contains_xy, distance, points
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from strongback.section.outline import regions
from strongback.section.values import Outline, SectionStiffness
from strongback.views import quantity, style

__all__ = ["principal_axes", "profile_figure"]

Array = NDArray[np.float64]
SMALL_CELL = 0.06  # of the size of a profile: a cell with less room inside gets no name


def principal_axes(section: SectionStiffness) -> tuple[Array, Array]:
    """Principal bending stiffnesses of a section and the axes that they bend about.

    Parameters
    ----------
    section : SectionStiffness

    Returns
    -------
    stiffness : ndarray, shape (2,)
        Largest first [N m²].
    axes : ndarray, shape (2, 2)
        Unit vectors along the axis of bending, one a row.

    Examples
    --------
    >>> from strongback.section.values import stiffness_from_constants
    >>> bar = stiffness_from_constants(name="bar", EA=1.0, EIx=4.0, EIy=3.0, GJ=1.0, kGAx=1.0, kGAy=1.0)
    >>> principal_axes(bar)[0].tolist()
    [4.0, 3.0]
    """
    about = np.array([[section.EIx, -section.EIxy], [-section.EIxy, section.EIy]])
    values, vectors = np.linalg.eigh(about)
    return values[::-1], vectors[:, ::-1].T


def profile_figure(
    outline: Outline, section: SectionStiffness | None = None, *, width_mm: float = 120.0
) -> style.Picture:
    """Draw a profile.

    Parameters
    ----------
    outline : Outline
    section : SectionStiffness, optional
        Gives centroid, shear centre and principal axes.
    width_mm : float
        Of the figure [mm].

    Returns
    -------
    Picture
    """
    parts = regions(outline)
    bounds = np.array([part.polygon.bounds for part in parts]) / quantity.scale("mm")
    low, high = bounds[:, :2].min(axis=0), bounds[:, 2:].max(axis=0)
    tall = float(np.clip((high[1] - low[1]) / (high[0] - low[0]), 0.5, 1.8))
    with matplotlib.rc_context(style.settings()):
        figure = style.new_figure(width_mm, 0.72 * width_mm * tall + 34.0)
        axes = figure.add_subplot()
        for part in parts:
            fill = part.part.startswith("fill ")  # a bar in a fill is drawn as what it is
            axes.add_patch(_patch(part.polygon, style.ROLES["fill" if fill else "wall"], hatched=fill))
        marks = [] if section is None else [section.centroid, section.shear_centre]
        _name_cells(axes, outline, np.reshape(np.array(marks, dtype=float), (-1, 2)))
        solid = "wall, bar" if any(part.part.startswith("insert ") for part in parts) else "wall"
        handles: list[Artist] = [
            Patch(facecolor=style.ROLES["wall"], edgecolor=style.INK, linewidth=0.6, label=solid)
        ]
        if any(part.part.startswith("fill ") for part in parts):
            handles.append(
                Patch(
                    facecolor=style.ROLES["fill"],
                    edgecolor=style.INK,
                    hatch="....",
                    linewidth=0.6,
                    label="fill",
                )
            )
        if section is not None:
            handles += _marks(axes, section, low, high)
        _frame(axes, outline.name, low, high)
        columns = 2 if width_mm < 100.0 else 3
        figure.legend(handles=handles, loc="outside lower center", ncols=columns)
    return figure


def _patch(polygon: Polygon, colour: str, *, hatched: bool) -> PathPatch:
    turned = orient(polygon)  # holes run the other way round, or they would be painted
    rings = [
        np.asarray(ring.coords)[:, :2] / quantity.scale("mm") for ring in (turned.exterior, *turned.interiors)
    ]
    curve = Curve.make_compound_path(*(Curve(ring, closed=True) for ring in rings))
    return PathPatch(
        curve, facecolor=colour, edgecolor=style.INK, linewidth=0.6, hatch="...." if hatched else None
    )


def _name_cells(axes: Axes, outline: Outline, marks: Array) -> None:
    """The name of every cell inside it, clear of its walls and of the marks."""
    corners = np.array([point for wall in outline.walls for point in wall.ring])
    reach = float(np.ptp(corners, axis=0).max())
    for cell in outline.cells:
        polygon = Polygon(cell.ring)
        x, y, room = _roomy(polygon, marks)
        if room < SMALL_CELL * reach:
            continue  # its name would cover it
        axes.annotate(
            cell.name,
            (x / quantity.scale("mm"), y / quantity.scale("mm")),
            ha="center",
            va="center",
            fontsize=style.SMALL,
            bbox={"boxstyle": "round,pad=0.2", "facecolor": "white", "edgecolor": "none", "alpha": 0.9},
            zorder=6,  # above the axes of bending
        )


def _roomy(polygon: Polygon, marks: Array) -> tuple[float, float, float]:
    """The point of a polygon that is farthest from its edge and from some marks, and how far [m]."""
    x0, y0, x1, y1 = polygon.bounds
    x, y = (g.ravel() for g in np.meshgrid(np.linspace(x0, x1, 25)[1:-1], np.linspace(y0, y1, 25)[1:-1]))
    inside = contains_xy(polygon, x, y)
    if not inside.any():
        spot = polygon.representative_point()
        return float(spot.x), float(spot.y), 0.0
    spots = np.column_stack([x[inside], y[inside]])
    room = distance(points(spots), polygon.exterior)
    for mark in marks:
        room = np.minimum(room, 0.5 * np.linalg.norm(spots - mark, axis=1))
    best = int(np.argmax(room))
    return float(spots[best, 0]), float(spots[best, 1]), float(room[best])


def _marks(axes: Axes, section: SectionStiffness, low: Array, high: Array) -> list[Line2D]:
    """Centroid, shear centre and principal axes."""
    centre = np.array(section.centroid) / quantity.scale("mm")
    reach = 0.62 * float(np.max(high - low))
    _, about = principal_axes(section)
    for line, dashes in zip(about, ((8, 3, 2, 3), (2, 2)), strict=True):
        ends = np.array([centre - reach * line, centre + reach * line])
        axes.plot(ends[:, 0], ends[:, 1], color=style.INK, linewidth=0.8, dashes=dashes, zorder=4)
    x, y = np.array(section.shear_centre) / quantity.scale("mm")
    axes.plot(
        *centre,
        marker="o",
        markersize=6,
        color=style.INK,
        markerfacecolor="white",
        zorder=6,
        linestyle="none",
    )
    axes.plot(x, y, marker="X", markersize=7, color=style.ROLES["joints"], markeredgecolor="white", zorder=5)
    return [
        Line2D(
            [], [], marker="o", color=style.INK, markerfacecolor="white", linestyle="none", label="centroid"
        ),
        Line2D(
            [],
            [],
            marker="X",
            color=style.ROLES["joints"],
            markeredgecolor="white",
            markersize=7,
            linestyle="none",
            label="shear centre",
        ),
        Line2D([], [], color=style.INK, linewidth=0.8, dashes=(8, 3, 2, 3), label="stiffest axis of bending"),
        Line2D([], [], color=style.INK, linewidth=0.8, dashes=(2, 2), label="softest axis of bending"),
    ]


def _frame(axes: Axes, name: str, low: Array, high: Array) -> None:
    margin = 0.12 * float(np.max(high - low))
    axes.set_xlim(low[0] - margin, high[0] + margin)
    axes.set_ylim(low[1] - margin, high[1] + margin)
    axes.set_aspect("equal")
    axes.set_xlabel(f"x of the section [{quantity.unit_of('mm')}]")
    axes.set_ylabel(f"y of the section [{quantity.unit_of('mm')}]")
    axes.set_title(name)
