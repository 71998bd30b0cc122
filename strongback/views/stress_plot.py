"""Stress in a profile under unit loads: shear flow under a torque, direct stress under the two moments."""

from __future__ import annotations

import math

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from strongback.section.stress import SectionStress
from strongback.section.values import SectionMesh
from strongback.views import style

__all__ = ["stress_figure"]

Array = NDArray[np.float64]
MM, MPA = 1e3, 1e-6
ARROWS = 26  # arrows along the longer side
TOP = 99.0  # percentile of the area at which colours end: sharp inner corners have no largest stress


def stress_figure(
    mesh: SectionMesh, stress: SectionStress, name: str = "", *, width_mm: float = 160.0
) -> Figure:
    """Draw the stress of unit loads.

    Parameters
    ----------
    mesh : SectionMesh
    stress : SectionStress
        Of the same mesh.
    name : str
        Of the profile, for the title.
    width_mm : float
        Of the figure [mm].

    Returns
    -------
    matplotlib.figure.Figure
        Three panels: shear stress under a torque with its direction, direct stress under moments about x and y.
    """
    low, high = mesh.nodes.min(axis=0) * MM, mesh.nodes.max(axis=0) * MM
    tall = float(np.clip((high[1] - low[1]) / (high[0] - low[0]), 0.4, 2.5))
    with matplotlib.rc_context(style.settings()):
        figure = style.new_figure(width_mm, 0.27 * width_mm * tall + 38.0)
        panels = figure.subplots(1, 3, sharey=True)
        shear = np.hypot(*stress.torque.T) * MPA
        _paint(figure, panels[0], mesh, shear, "shear stress, torque", signed=False)
        _arrows(panels[0], stress, shear, low, high)
        for axes, values, axis in zip(panels[1:], (stress.bending_x, stress.bending_y), "xy", strict=True):
            _paint(figure, axes, mesh, values * MPA, f"direct stress, moment about {axis}", signed=True)
        for axes in panels:
            _frame(axes, low, high)
        panels[0].set_ylabel("y [mm]")
        if name:
            figure.suptitle(name, fontsize=style.NORMAL + 1, x=0.01, ha="left")
    return figure


def _paint(figure: Figure, axes: Axes, mesh: SectionMesh, values: Array, title: str, *, signed: bool) -> None:
    """Triangles in the colour of their value, with a labelled bar below."""
    top = _top(mesh, np.abs(values))
    power = math.floor(math.log10(top))
    top, values = top / 10.0**power, values / 10.0**power
    faces = PolyCollection(
        list(mesh.nodes[mesh.triangles[:, :3]] * MM),
        array=values,
        cmap=style.SIGNED if signed else style.FIELD,
        edgecolors="face",
        linewidths=0.2,
        rasterized=True,
    )
    faces.set_clim(-top if signed else 0.0, top)
    axes.add_collection(faces)
    axes.set_title(title, fontsize=style.NORMAL, fontweight="normal")
    bar = figure.colorbar(
        faces, ax=axes, orientation="horizontal", extend="both" if signed else "max", pad=0.02, aspect=24
    )
    bar.set_label(f"$10^{{{power}}}$ MPa per N m")
    bar.locator = MaxNLocator(4)
    bar.update_ticks()


def _top(mesh: SectionMesh, values: Array) -> float:
    """Value that is exceeded on one per cent of the area only."""
    p = mesh.nodes[mesh.triangles[:, :3]]
    u, v = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    area = np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    order = np.argsort(values)
    share = np.cumsum(area[order]) / area.sum()
    at = min(int(np.searchsorted(share, TOP / 100.0)), len(values) - 1)
    return float(values[order[at]]) or 1.0


def _arrows(axes: Axes, stress: SectionStress, size: Array, low: Array, high: Array) -> None:
    """Direction of the shear stress on a lattice, long where it is large."""
    step = float((high - low).max()) / ARROWS
    x, y = np.meshgrid(np.arange(low[0], high[0], step), np.arange(low[1], high[1], step))
    places = stress.centres * MM
    far, near = cKDTree(places).query(np.column_stack([x.ravel(), y.ravel()]))
    chosen = np.unique(near[far < 0.5 * step])
    along = stress.torque[chosen] * MPA / float(np.percentile(size, TOP))
    axes.quiver(
        *places[chosen].T,
        *along.T,
        angles="xy",
        scale_units="xy",
        scale=0.6 / step,
        width=0.006,
        color=style.INK,
        pivot="middle",
    )


def _frame(axes: Axes, low: Array, high: Array) -> None:
    margin = 0.04 * float((high - low).max())
    axes.set_xlim(low[0] - margin, high[0] + margin)
    axes.set_ylim(low[1] - margin, high[1] + margin)
    axes.set_aspect("equal")
    axes.set_xlabel("x [mm]")
