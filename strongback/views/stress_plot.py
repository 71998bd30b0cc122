"""Stress in a profile: shear stress with its direction, direct stress with its sign, largest values with their place."""

from __future__ import annotations

import math
from collections.abc import Sequence

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from matplotlib.tri import Triangulation
from numpy.typing import NDArray

from strongback.section.stress import LOADS, SectionStress, beside
from strongback.section.stress_state import PointStress, StressState
from strongback.section.values import SectionMesh
from strongback.views import style

__all__ = ["along_figure", "faces_of", "state_figure", "stress_figure"]

Array = NDArray[np.float64]
MM, MPA = 1e3, 1e-6
ARROWS = 22  # arrows along the longer side
UNIT_LOADS = (
    ("T", "shear", "shear stress, torque"),
    ("Mx", "direct", "direct stress, moment about x"),
    ("My", "direct", "direct stress, moment about y"),
)
# Four flat triangles for one with six nodes.
SPLIT = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])


def stress_figure(found: SectionStress, name: str = "", *, width_mm: float = 160.0) -> Figure:
    """Draw the stress of unit loads.

    Parameters
    ----------
    found : SectionStress
    name : str
        Of the profile, for the title.
    width_mm : float
        Of the figure [mm].

    Returns
    -------
    matplotlib.figure.Figure
        Three panels: shear stress under a torque with its direction at the faces, direct stress under moments about x and
        y. Colours end at the largest value outside sharp inner corners; a ring marks where that is.
    """
    with matplotlib.rc_context(style.settings()):
        figure, panels = frames(found, 3, width_mm)
        for axes, (load, kind, title) in zip(panels, UNIT_LOADS, strict=True):
            k = LOADS.index(load)
            vectors = found.shear[k] if kind == "shear" else None
            size = np.hypot(*np.moveaxis(found.shear[k], 2, 0)) if kind == "shear" else found.direct[k]
            peak = found.peak(load, kind)
            paint(figure, axes, found.mesh, size, peak.value, title, "MPa per N m", kind != "shear")
            if vectors is not None:
                arrows(axes, found.mesh, vectors)
            mark(axes, peak.at)
        if name:
            figure.suptitle(name, fontsize=style.NORMAL + 1, x=0.01, ha="left")
    return figure


def frames(found: SectionStress, count: int, width_mm: float) -> tuple[Figure, list[Axes]]:
    """A figure with panels side by side that show the whole section."""
    low, high = found.mesh.nodes.min(axis=0) * MM, found.mesh.nodes.max(axis=0) * MM
    tall = float(np.clip((high[1] - low[1]) / (high[0] - low[0]), 0.4, 2.5))
    figure = style.new_figure(width_mm, 0.81 / count * width_mm * tall + 38.0)
    panels = list(figure.subplots(1, count, sharey=True, squeeze=False)[0])
    margin = 0.06 * float((high - low).max())
    for axes in panels:
        axes.set_xlim(low[0] - margin, high[0] + margin)
        axes.set_ylim(low[1] - margin, high[1] + margin)
        axes.set_aspect("equal")
        axes.set_xlabel("x [mm]")
    panels[0].set_ylabel("y [mm]")
    return figure, panels


def paint(
    figure: Figure,
    axes: Axes,
    mesh: SectionMesh,
    values: Array,
    largest: float,
    title: str,
    unit: str,
    signed: bool,
) -> None:
    """The field in colours that run smoothly over each triangle, with a labelled bar below.

    Parameters
    ----------
    figure : Figure
    axes : Axes
    mesh : SectionMesh
    values : ndarray, shape (triangles, 6)
        [Pa per unit load]
    largest : float
        Where colours end.
    title, unit : str
    signed : bool
        Colours on both sides of zero.
    """
    top = largest * MPA or 1.0
    power = math.floor(math.log10(top))
    scale = 10.0**power if not -2 < power < 3 else 1.0
    label = unit if scale == 1.0 else f"$10^{{{power}}}$ {unit}"
    points = mesh.nodes[mesh.triangles].reshape(-1, 2) * MM
    corners = (6 * np.arange(len(mesh.triangles))[:, None, None] + SPLIT).reshape(-1, 3)
    shown = axes.tripcolor(
        Triangulation(*points.T, corners),
        np.asarray(values).ravel() * MPA / scale,
        shading="gouraud",
        cmap=style.SIGNED if signed else style.FIELD,
        rasterized=True,
    )
    shown.set_clim(-top / scale if signed else 0.0, top / scale)
    axes.set_title(title, fontsize=style.NORMAL, fontweight="normal")
    beyond = float(np.abs(values).max()) > 1.01 * largest
    extend = ("both" if signed else "max") if beyond else "neither"
    bar = figure.colorbar(shown, ax=axes, orientation="horizontal", extend=extend, pad=0.02, aspect=24)
    bar.set_label(f"{label}, largest {top / scale:.3g}")
    bar.locator = MaxNLocator(4)
    bar.update_ticks()


def faces_of(mesh: SectionMesh) -> tuple[Array, Array, Array]:
    """Middles of the sides that bound the material.

    Parameters
    ----------
    mesh : SectionMesh

    Returns
    -------
    owner : ndarray of int, shape (sides, 2)
        Triangle, and which of its six nodes.
    points : ndarray, shape (sides, 2)
        [m]
    outward : ndarray, shape (sides, 2)
        Unit normals.
    """
    middles = mesh.triangles[:, 3:]
    alone = np.bincount(middles.ravel(), minlength=len(mesh.nodes)) == 1
    triangle, side = np.nonzero(alone[middles])
    a = mesh.nodes[mesh.triangles[triangle, side]]
    b = mesh.nodes[mesh.triangles[triangle, (side + 1) % 3]]
    along = (b - a) / np.linalg.norm(b - a, axis=1)[:, None]
    return (
        np.column_stack([triangle, side + 3]),
        mesh.nodes[middles[triangle, side]],
        np.column_stack([along[:, 1], -along[:, 0]]),
    )


def arrows(axes: Axes, mesh: SectionMesh, vectors: Array) -> None:
    """Direction of a shear stress (triangles, 6, 2) along the faces of the walls, long where it is large."""
    owner, points, outward = faces_of(mesh)
    values = vectors[owner[:, 0], owner[:, 1]]
    size = np.hypot(*values.T)
    step = float(np.ptp(mesh.nodes, axis=0).max()) / ARROWS
    chosen: list[int] = []
    for i in np.argsort(-size):  # the two faces of a thin wall do not crowd each other out
        near = np.linalg.norm(points[chosen] - points[i], axis=1) < step
        if not np.any(near & (outward[chosen] @ outward[i] > 0.0)):
            chosen.append(int(i))
    along = values[chosen] / max(float(size.max()), 1e-300)
    kept = np.hypot(*along.T) > 0.05
    axes.quiver(
        *(points[chosen][kept] * MM).T,
        *along[kept].T,
        angles="xy",
        scale_units="xy",
        scale=1.0 / (0.9 * step * MM),
        width=0.006,
        color=style.INK,
        pivot="middle",
        zorder=3,
    )


def mark(axes: Axes, at: tuple[float, float]) -> None:
    """A ring where a value is largest."""
    axes.plot(
        [at[0] * MM], [at[1] * MM], marker="o", markersize=7, fillstyle="none", color=style.INK, zorder=4
    )


def state_figure(
    state: StressState, name: str = "", yield_strength: float | None = None, *, width_mm: float = 160.0
) -> Figure:
    """Draw the stress of a combination of loads.

    Parameters
    ----------
    state : StressState
    name : str
        Of the profile, for the title.
    yield_strength : float, optional
        Told beside the largest equivalent stress [Pa].
    width_mm : float
        Of the figure [mm].

    Returns
    -------
    matplotlib.figure.Figure
        Three panels: direct stress, shear stress with its direction at the faces, equivalent stress with a ring where it is
        largest outside sharp inner corners.
    """
    mesh, clear = state.unit.mesh, ~beside(state.unit.points.reshape(-1, 2), state.unit.corners)
    fields = (
        ("direct stress", state.direct, True),
        ("shear stress", np.hypot(*np.moveaxis(state.shear, 2, 0)), False),
        ("equivalent stress", state.equivalent, False),
    )
    with matplotlib.rc_context(style.settings()):
        figure, panels = frames(state.unit, 3, width_mm)
        for axes, (title, values, signed) in zip(panels, fields, strict=True):
            largest = float(np.abs(values).ravel()[clear].max())
            paint(figure, axes, mesh, values, largest, title, "MPa", signed)
        if np.any(state.shear):
            arrows(panels[1], mesh, state.shear)
        mark(panels[2], state.largest.at)
        told = (
            "" if yield_strength is None else f", yield over largest {state.yield_ratio(yield_strength):.3g}"
        )
        figure.suptitle(f"{name}{told}; strength is not judged", fontsize=style.NORMAL, x=0.01, ha="left")
    return figure


def along_figure(distance: Array, stress: Sequence[PointStress], name: str = "") -> Figure:
    """Draw the stress around an edge over the distance along it.

    Parameters
    ----------
    distance : ndarray, shape (points,)
        [m]
    stress : sequence of PointStress
    name : str
        Of the edge, for the title.
    """
    values = np.array([[p.direct, np.hypot(*p.shear), p.equivalent] for p in stress]) * MPA
    with matplotlib.rc_context(style.settings()):
        figure = style.new_figure(160.0, 75.0)
        axes = figure.subplots()
        for row, words, line in zip(
            values.T, ("direct", "shear", "equivalent"), ("-", "--", ":"), strict=True
        ):
            axes.plot(distance * MM, row, line, color=style.INK, label=words)
        axes.axhline(0.0, color=style.INK, linewidth=0.4)
        axes.set_xlabel("distance along the edge [mm]")
        axes.set_ylabel("stress [MPa]")
        axes.set_title(name, fontsize=style.NORMAL, fontweight="normal")
        axes.legend(loc="upper left", bbox_to_anchor=(1.01, 1.0), frameon=False)
    return figure
