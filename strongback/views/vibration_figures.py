"""Shapes of the modes of a machine: at rest pale, at the end of the swing in colour."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from numpy.typing import NDArray

from strongback.errors import QuestionError
from strongback.machine.loop import Loop
from strongback.vibration.vibrated import Ringing, Vibrated
from strongback.views import style
from strongback.views.camera import Camera
from strongback.views.painter import of_box, of_prism, paint
from strongback.views.shape import magnification
from strongback.views.solids import Box, Prism, boxes, prisms
from strongback.views.tables import number, percent

__all__ = ["figure", "figures"]

Array = NDArray[np.float64]
MM = 1e3
FINE = 80
ROOM = 0.06  # around the machine as a fraction of it
HEAD = 12.0  # height of the words above a picture [mm]
MOST = 12  # modes on a page


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Stage:
    """A mode, and from where it is seen."""

    mode: Ringing
    camera: Camera
    factor: float
    prisms: tuple[Prism, ...]
    boxes: tuple[Box, ...]

    def page(self, points: Array) -> Array:
        """On the page [mm]."""
        return self.camera.page(points) * MM


def figure(found: Vibrated, *, width_mm: float = 160.0) -> style.Picture:
    """All modes side by side.

    Parameters
    ----------
    found : Vibrated
    width_mm : float
        [mm]

    Returns
    -------
    Picture

    Raises
    ------
    QuestionError
        If nothing holds the machine, so that it has no picture.
    """
    if found.loop is None:
        raise QuestionError(
            "a machine that nothing holds has no picture of its modes", hint="hold it by its feet"
        )
    loop, modes = found.loop, found.modes[:MOST]
    across = min(3, len(modes))
    down = -(-len(modes) // across)
    stages = [_stage(loop, mode) for mode in modes]
    corners = np.vstack([stage.page(_points(stage)) for stage in stages])
    low, high = corners.min(axis=0), corners.max(axis=0)
    room = ROOM * float((high - low).max())
    low, high = low - room, high + room
    each = width_mm / across
    tall = each * float((high - low)[1] / (high - low)[0])
    colours = style.colours_of(found.machine)
    with matplotlib.rc_context(style.settings()):
        page = style.new_figure(width_mm, down * (tall + HEAD), laid_out=False)
        whole = down * (tall + HEAD)
        for k, stage in enumerate(stages):
            row, column = divmod(k, across)
            bottom = whole - (row + 1) * (tall + HEAD)
            axes = page.add_axes((column / across, bottom / whole, 1.0 / across, tall / whole))
            _draw(axes, stage, colours, (low, high))
            page.text(
                (column + 0.04) / across,
                (bottom + tall + HEAD - 2.0) / whole,
                _words(k, stage.mode),
                va="top",
                fontsize=style.SMALL,
            )
    return page


def figures(found: Vibrated) -> Iterator[tuple[str, style.Picture]]:
    """The modes, with the name of the file; none where nothing holds the machine."""
    if found.loop is not None:
        yield "modes.png", figure(found)


def _stage(loop: Loop, mode: Ringing) -> _Stage:
    return _Stage(
        mode=mode,
        camera=Camera(operator=loop.machine.operator),
        factor=magnification(loop.machine, mode),
        prisms=prisms(loop, mode, fine=FINE),
        boxes=boxes(loop, mode),
    )


def _points(stage: _Stage) -> Array:
    found = [
        np.reshape(p.points + k * p.displacement, (-1, 3)) for p in stage.prisms for k in (0.0, stage.factor)
    ]
    found += [b.points + k * b.displacement for b in stage.boxes for k in (0.0, stage.factor)]
    return np.vstack(found)


def _draw(axes: Axes, stage: _Stage, colours: dict[str, str], limits: tuple[Array, Array]) -> None:
    low, high = limits
    axes.set_axis_off()
    axes.set_xlim(low[0], high[0])
    axes.set_ylim(low[1], high[1])
    lines: list[Array] = []
    for prism in stage.prisms:
        if prism.face.kind == "wall":
            edges = prism.points[:, prism.outer()]
            ends = [stage.page(edges[k]) for k in (0, -1)]
            lines += [np.vstack([end, end[:1]]) for end in ends]
            lines += [np.array([a, b]) for a, b in zip(*ends, strict=True)][:: max(1, len(ends[0]) // 4)]
    axes.add_collection(LineCollection(lines, colors=style.PALE, linewidths=0.7, zorder=5))
    shapes = [shape for prism in stage.prisms for shape in of_prism(prism, stage, colours[prism.part])]
    shapes += [shape for box in stage.boxes for shape in of_box(box, stage, colours[box.part])]
    paint(axes, shapes)


def _words(k: int, mode: Ringing) -> str:
    if mode.rigid:
        return f"{k + 1}: 0 Hz\n{mode.rigid}"
    most = ", ".join(f"{part} {percent(share)} %" for part, share in mode.mode.energy[:2])
    return (
        f"{k + 1}: {number(mode.frequency, 4)} Hz, damping {number(100.0 * mode.damping_ratio, 2)} %\n{most}"
    )
