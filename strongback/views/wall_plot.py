"""How the walls of a body give: its cross-section at a pad beside the section of a beam, and its outer faces in space."""

from __future__ import annotations

from dataclasses import dataclass

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.collections import PolyCollection
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from strongback.machine.body.recover import section_cut
from strongback.machine.layout import BodyPlace
from strongback.machine.loop import Loop
from strongback.machine.solve import Deflection, PartMotion
from strongback.machine.values import Pad
from strongback.views import style
from strongback.views.camera import Camera
from strongback.views.quantity import said, scale, unit_of
from strongback.views.shape import body_displacement

__all__ = ["wall_figure"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
LARGEST = 0.12  # largest motion drawn, in widths of the section
ROUND = (1.0, 2.0, 5.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Walls:
    """A body under a pull, without the motion of its sections as wholes."""

    place: BodyPlace
    pad: Pad | None
    height: float
    motions: Array  # of the interfaces, member axes
    beyond: Array  # (planes, nodes, 3), member axes


def wall_figure(loop: Loop, deflection: Deflection, member: str) -> style.Picture:
    """The walls of a body under a pull.

    Parameters
    ----------
    loop : Loop
        With the member as a body.
    deflection : Deflection
    member : str

    Returns
    -------
    Figure
        Left: the cross-section at the pad (at mid height without one), moved with its best rigid section, which is how a
        beam would have it. Right: the outer faces, coloured by what they move beyond it.
    """
    walls = _walls(loop, deflection, member)
    with matplotlib.rc_context(style.settings()):
        figure = style.new_figure(190.0, 115.0)
        left, right = figure.subplots(1, 2, width_ratios=(1.25, 1.0))
        factor = _draw_cut(left, walls)
        _draw_faces(figure, right, walls)
        title = f"{loop.machine.name}: walls of {member}, {deflection.pull.name}"
        figure.suptitle(f"{title}; left drawn × {factor:,.0f}", x=0.01, ha="left", fontweight="bold")
    return figure


def _walls(loop: Loop, deflection: Deflection, member: str) -> _Walls:
    place = loop.bodies[member]
    motion = next(p for p in deflection.parts if p.part == member)
    pad = next((p for p in loop.machine.pads if p.name in place.body.names and p.part == member), None)
    height = 0.5 * float(place.body.planes[-1])
    if pad is not None:
        height = float(place.axes[2] @ np.subtract(pad.at, place.start))
    displacement = body_displacement(place, motion) @ place.axes.T
    return _Walls(
        place=place,
        pad=pad,
        height=height,
        motions=_member_motions(place, motion),
        beyond=_beyond_rigid(place, displacement),
    )


def _member_motions(place: BodyPlace, motion: PartMotion) -> Array:
    u, r = motion.displacement @ place.axes.T, motion.rotation @ place.axes.T
    return np.hstack([u, r]).ravel()


def _beyond_rigid(place: BodyPlace, displacement: Array) -> Array:
    """Displacement of every node less the best rigid motion of its plane."""
    x, y = place.body.nodes.T
    one, none = np.ones_like(x), np.zeros_like(x)
    rows = np.stack(
        [
            np.column_stack([one, none, none, none, none, -y]),
            np.column_stack([none, one, none, none, none, x]),
            np.column_stack([none, none, one, y, -x, none]),
        ],
        axis=1,
    ).reshape(-1, 6)
    flat = displacement.reshape(len(displacement), -1).T
    fitted = rows @ np.linalg.lstsq(rows, flat, rcond=None)[0]
    return np.asarray((flat - fitted).T.reshape(displacement.shape))


def _draw_cut(axes: Axes, walls: _Walls) -> float:
    """The section at the pad, and how much it is magnified."""
    cut = section_cut(walls.place.body, walls.motions, walls.height)
    nodes = cut.nodes * 1e3
    x, y = cut.nodes.T
    u = cut.displacement[:, 0] - (cut.rigid[0] - cut.rigid[5] * y)
    v = cut.displacement[:, 1] - (cut.rigid[1] + cut.rigid[5] * x)
    moved = np.column_stack([u, v])
    size = float(np.ptp(cut.nodes, axis=0).max())
    largest = float(np.nanmax(np.linalg.norm(moved, axis=1)))
    factor = _round(LARGEST * size / largest) if largest > 0.0 else 1.0
    for line in cut.lines:
        axes.plot(*nodes[line].T, color=style.PALE, linewidth=1.6, zorder=1)
        at = nodes[line] + factor * moved[line] * 1e3
        axes.plot(*at.T, color=style.ROLES["column"], linewidth=1.4, zorder=2)
    _draw_pad(axes, walls)
    axes.set_aspect("equal")
    axes.margins(0.12)
    axes.set_xlabel("x of the section [mm]")
    axes.set_ylabel("y of the section [mm]")
    axes.set_title(
        f"section at {said(walls.height, 'mm', _whole)}, largest {said(largest, 'µm', _tenth)}", loc="left"
    )
    handles = [
        Line2D([], [], color=style.PALE, linewidth=1.6, label="as a beam: rigid"),
        Line2D([], [], color=style.ROLES["column"], linewidth=1.4, label="as a body"),
        Line2D([], [], color=style.ROLES["joints"], linewidth=3.0, label="pad"),
    ]
    axes.legend(handles=handles, frameon=False, ncols=3, loc="upper center", bbox_to_anchor=(0.5, -0.16))
    return factor


def _draw_pad(axes: Axes, walls: _Walls) -> None:
    if walls.pad is None:
        return
    centre = walls.place.axes @ np.subtract(walls.pad.at, walls.place.start)
    normal = walls.place.axes @ np.asarray(walls.pad.normal)
    along = np.array([-normal[1], normal[0]]) / float(np.hypot(normal[0], normal[1]))
    ends = np.array(
        [centre[:2] - 0.5 * walls.pad.size[0] * along, centre[:2] + 0.5 * walls.pad.size[0] * along]
    )
    out = 0.02 * float(np.ptp(walls.place.body.nodes, axis=0).max()) * normal[:2]
    axes.plot(*((ends + out) * 1e3).T, color=style.ROLES["joints"], linewidth=3.0, solid_capstyle="butt")


def _draw_faces(figure: Figure, axes: Axes, walls: _Walls) -> None:
    """The outer faces at rest, coloured by their motion beyond the rigid section."""
    body, camera = walls.place.body, Camera()
    cut = section_cut(body, walls.motions, walls.height)
    ring = max(cut.lines, key=lambda line: float(np.ptp(body.nodes[line], axis=0).prod()))
    planes = np.arange(0, len(body.planes), 2)
    points = np.empty((len(planes), len(ring), 3))
    points[:, :, :2], points[:, :, 2] = body.nodes[ring], body.planes[planes][:, None]
    points = points @ walls.place.axes * 1e3
    size = np.linalg.norm(walls.beyond[planes][:, ring], axis=2) / scale("µm")
    corners = np.stack([points[:-1, :-1], points[:-1, 1:], points[1:, 1:], points[1:, :-1]], axis=2).reshape(
        -1, 4, 3
    )
    value = 0.25 * (size[:-1, :-1] + size[:-1, 1:] + size[1:, 1:] + size[1:, :-1]).ravel()
    order = np.argsort(camera.depth(corners.mean(axis=1)))
    shade = Normalize(0.0, float(value.max()) or 1.0)
    faces = PolyCollection(
        list(camera.page(corners[order])),
        array=value[order],
        cmap=style.FIELD,
        norm=shade,
        edgecolors="face",
        linewidths=0.2,
    )
    axes.add_collection(faces)
    axes.autoscale_view()
    axes.set_aspect("equal")
    axes.set_axis_off()
    axes.set_title("outer faces", loc="left")
    bar = figure.colorbar(ScalarMappable(shade, style.FIELD), ax=axes, fraction=0.06, pad=0.02)
    bar.set_label(f"motion beyond the rigid section [{unit_of('µm')}]")


def _whole(value: float) -> str:
    return f"{value:.0f}"


def _tenth(value: float) -> str:
    return f"{value:.1f}"


def _round(value: float) -> float:
    power = 10.0 ** np.floor(np.log10(value))
    return float(power * max(step for step in ROUND if step * power <= value * (1 + 1e-12)))
