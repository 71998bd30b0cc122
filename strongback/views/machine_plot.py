"""The machine at rest (pale) and moved (solid), with what every gauge reads."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

import matplotlib
import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.lines import Line2D
from matplotlib.patches import Ellipse, Patch
from matplotlib.patheffects import Normal, Stroke
from numpy.typing import NDArray

from strongback.machine.loop import Loop
from strongback.machine.room import towards
from strongback.machine.solve import PartMotion
from strongback.machine.values import GROUND, Gauge, Joint, Machine, Pull, Vector
from strongback.views import style
from strongback.views.camera import Camera, spread, uncrossed
from strongback.views.painter import of_box, of_prism, paint
from strongback.views.quantity import retold, said, unit_of
from strongback.views.shape import Moved, checked_factor, extent, magnification, moved_points
from strongback.views.solids import Box, Prism, boxes, prisms
from strongback.views.tables import signed

__all__ = ["machine_figure"]

Array = NDArray[np.float64]
MM = 1e3
FINE = 160  # points of a region that is drawn, beside some for each of its holes
ROOM = 0.03  # around everything that is drawn as a fraction of the machine
RANGE = 0.16  # length of an arrow as a fraction of the machine
NARROW = 120.0  # width of a figure below which all labels stand on one side [mm]
LETTER = 1.42  # mean width of a letter of the small type [mm]
SEEN = 0.05e-6  # smallest reading that does not round to 0.0 µm [m]
LINE = 3.4  # height of a line of it [mm]
STRIP = 22.0  # height of the place for directions and scale below the machine [mm]
CROWD = 3.4  # nearer than this marks would cover each other [mm]
REACH = 6.5  # length of the arrows of the directions [mm]


def machine_figure(
    loop: Loop,
    deflection: Moved,
    *,
    magnify: float | None = None,
    width_mm: float = 160.0,
    camera: Camera | None = None,
) -> style.Picture:
    """Draw a machine under a pull.

    Parameters
    ----------
    loop : Loop
    deflection : Deflection or CaseResult
    magnify : float, optional
        Factor on the motion, the same for figures that stand side by side; default: one at which it is seen well.
    width_mm : float
        Of the figure [mm].
    camera : Camera, optional

    Returns
    -------
    Picture
    """
    factor = magnification(loop.machine, deflection) if magnify is None else checked_factor(magnify)
    scene = _Scene(
        loop=loop,
        deflection=deflection,
        camera=camera or Camera(operator=loop.machine.operator),
        factor=factor,
        prisms=prisms(loop, deflection, fine=FINE),
        boxes=boxes(loop, deflection),
    )
    colours = style.colours_of(loop.machine)
    low, high = _limits(scene)
    labels = _labels(scene, low, high, narrow=width_mm < NARROW)
    with matplotlib.rc_context(style.settings()):
        figure, axes, scale = _page(scene, colours, labels, low, high, width_mm)
        _draw_rest(axes, scene)
        _draw_moved(axes, scene, colours)
        _draw_spokes(axes, scene, colours)
        _draw_tool(axes, scene, colours)
        _draw_holders(axes, scene, colours, scale)
        _draw_pull(axes, scene)
        _draw_labels(axes, labels, low, high)
        _triad(axes, scene, scale)
        _scale_bar(axes, scene, scale)
    return figure


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Scene:
    """What is drawn and from where."""

    loop: Loop
    deflection: Moved
    camera: Camera
    factor: float
    prisms: tuple[Prism, ...]
    boxes: tuple[Box, ...]

    @property
    def machine(self) -> Machine:
        return self.loop.machine

    @property
    def size(self) -> float:
        return extent(self.machine)

    def motion(self, part: str) -> PartMotion | None:
        """How a part moves; None for the ground."""
        return next((m for m in self.deflection.parts if m.part == part), None)

    def moved(self, part: str, at: Vector) -> Array:
        """Where a point of a part is drawn, magnified."""
        point = np.array(at, dtype=float)
        motion = self.motion(part)
        if motion is None:
            return point
        return np.asarray(point + self.factor * moved_points(motion, point[None])[0])

    def page(self, points: Array) -> Array:
        """On the page [mm]."""
        return self.camera.page(points) * MM


def _draw_rest(axes: Axes, scene: _Scene) -> None:
    """Outer edges of the end faces of every member at rest, and what stands out to either side of it, pale."""
    lines: list[Array] = []
    for prism in scene.prisms:
        if prism.face.kind != "wall":
            continue
        edges = prism.points[:, prism.outer()]
        ends = [scene.page(edges[k]) for k in (0, -1)]
        lines += [np.vstack([end, end[:1]]) for end in ends]
        page = scene.page(edges)
        lines += [page[:, k] for k in _silhouette(page)]
    axes.add_collection(LineCollection(lines, colors=style.PALE, linewidths=0.9, zorder=5))


def _silhouette(page: Array) -> list[int]:
    """Corners of a ring that stand out to either side of the member on the page."""
    along = page[-1].mean(axis=0) - page[0].mean(axis=0)
    across = np.array([-along[1], along[0]])
    offset = page[0] @ across
    return [int(np.argmin(offset)), int(np.argmax(offset))]


def _draw_moved(axes: Axes, scene: _Scene, colours: dict[str, str]) -> None:
    """Every part moved, its faces shaded, the near ones over the far ones."""
    shapes = [shape for prism in scene.prisms for shape in of_prism(prism, scene, colours[prism.part])]
    shapes += [shape for box in scene.boxes for shape in of_box(box, scene, colours[box.part])]
    paint(axes, shapes)


def _draw_spokes(axes: Axes, scene: _Scene, colours: dict[str, str]) -> None:
    """Lines from the box of a block to what holds it, as far as that stands away from it."""
    for box in scene.boxes:
        low, high = box.points[0], box.points[6]
        for end in _attached(scene.machine, box.part):
            near = np.clip(end, low, high)
            if np.linalg.norm(near - end) < 1e-6:
                continue
            spoke = [scene.page(scene.moved(box.part, at)) for at in (tuple(near), end)]
            axes.add_collection(
                LineCollection([spoke], colors=colours[box.part], linewidths=3.0, capstyle="round", zorder=4)
            )


def _attached(machine: Machine, part: str) -> list[Vector]:
    """Points where a part is held, pulled or carries tool or work."""
    points = [j.at for j in machine.joints if part in j.parts]
    points += [s.at for s in machine.supports if s.part == part]
    points += [place.at for place in (machine.tool, machine.work) if place.part == part]
    return points


def _draw_holders(axes: Axes, scene: _Scene, colours: dict[str, str], scale: float) -> None:
    """A ring for every joint, a wedge for every support on a line to its part, with their numbers."""
    spots: list[Array] = []
    for support in scene.machine.supports:
        spot = scene.page(scene.moved(support.part, support.at))
        root = scene.page(scene.moved(support.part, _nearest(scene.machine, support.part, support.at)))
        axes.plot(*zip(root, spot, strict=True), color=colours[support.part], linewidth=1.5, zorder=2.5)
    for kind, holder in scene.machine.holders():
        part = holder.parts[1] if isinstance(holder, Joint) else holder.part
        spot = scene.page(scene.moved(part, holder.at))
        spots.append(spot)
        axes.plot(
            *spot,
            marker="o" if kind == "joint" else "^",
            markersize=9.0 if kind == "joint" else 11.0,
            color="white",
            markeredgecolor=style.ROLES["joints"],
            mew=1.4,
            zorder=6,
        )
    kinds = [kind for kind, _ in scene.machine.holders()]
    busy = [scene.page(_gauge_ends(scene, gauge)[0]) for gauge in scene.machine.gauges]
    busy += [_pull_ends(scene, pull)[1] for pull in scene.deflection.pulls]
    for group in _together(np.array(spots), CROWD * scale):
        middle = np.mean([spots[k] for k in group], axis=0)
        aside = any(np.linalg.norm(spot - middle) < CROWD * scale for spot in busy)
        alone = len(group) == 1 and not aside
        axes.annotate(
            ",".join(str(k + 1) for k in group),
            (float(middle[0]), float(middle[1])),
            (0.0, 9.0 if aside else -1.3 if alone and kinds[group[0]] == "support" else -0.3),
            textcoords="offset points",
            ha="center",
            va="center",
            fontsize=style.SMALL - 1.5,
            zorder=6.5,
            bbox=None
            if alone
            else {"boxstyle": "round,pad=0.25", "facecolor": "white", "edgecolor": style.ROLES["joints"]},
        )


def _together(spots: Array, least: float) -> list[list[int]]:
    """Which spots are nearer to each other than some distance, in a chain."""
    groups: list[list[int]] = []
    for k, spot in enumerate(spots):
        near = [g for g in groups if any(np.linalg.norm(spots[other] - spot) < least for other in g)]
        groups = [g for g in groups if g not in near] + [sorted([k, *(other for g in near for other in g)])]
    return groups


def _nearest(machine: Machine, part: str, at: Vector) -> Vector:
    """The point of a member's line, or of a block, that is nearest to a point."""
    for member in machine.members:
        if member.name == part:
            start = np.array(member.start)
            along = np.subtract(member.end, member.start)
            x, y, z = start + np.clip(np.subtract(at, start) @ along / (along @ along), 0.0, 1.0) * along
            return float(x), float(y), float(z)
    return next(block.at for block in machine.blocks if block.name == part)


def _draw_tool(axes: Axes, scene: _Scene, colours: dict[str, str]) -> None:
    """The tool point, and a spoke to it from the end of the member that carries it."""
    place = scene.machine.tool
    tool = scene.page(scene.moved(place.part, place.at))
    for member in scene.machine.members:
        if member.name == place.part:
            end = min(
                member.start, member.end, key=lambda at: float(np.linalg.norm(np.subtract(at, place.at)))
            )
            spoke = np.array([scene.page(scene.moved(place.part, end)), tool])
            axes.plot(spoke[:, 0], spoke[:, 1], color=colours[place.part], linewidth=3.0, zorder=2.5)
    axes.plot(*tool, marker="+", markersize=9, color=style.INK, mew=1.4, zorder=8)


def _limits(scene: _Scene) -> tuple[Array, Array]:
    """Corners of everything that is drawn [mm of the machine]."""
    solids: tuple[Prism | Box, ...] = (*scene.prisms, *scene.boxes)
    points = [
        scene.page(s.points + factor * s.displacement).reshape(-1, 2)
        for s in solids
        for factor in (0.0, scene.factor)
    ]
    places = [h.at for _, h in scene.machine.holders()] + [b.at for b in scene.machine.blocks]
    points.append(scene.page(np.array([*places, scene.machine.tool.at])))
    points += [np.array(_pull_ends(scene, pull)) for pull in scene.deflection.pulls]
    points += [scene.page(np.array(_gauge_ends(scene, gauge))) for gauge in scene.machine.gauges]
    every = np.concatenate(points)
    room = ROOM * scene.size * MM
    return every.min(axis=0) - room, every.max(axis=0) + room


def _pull_ends(scene: _Scene, pull: Pull) -> tuple[Array, Array]:
    """Tail and tip of the arrow of a pull on the page."""
    tip = scene.moved(pull.part, pull.at)
    along = np.array(pull.force if np.any(pull.force) else pull.couple, dtype=float)
    return scene.page(tip - along / np.linalg.norm(along) * 1.4 * RANGE * scene.size), scene.page(tip)


def _gauge_ends(scene: _Scene, gauge: Gauge) -> tuple[Array, Array]:
    """Where the arrow of a gauge starts and ends; what reads 0.0 has no length."""
    reading = dict(scene.deflection.gauges)[gauge.name]
    way = np.array(gauge.direction) / np.linalg.norm(gauge.direction)
    start = scene.moved(gauge.part, gauge.at)
    moved = abs(reading) >= SEEN
    return start, start + way * (np.sign(reading) * 0.75 * RANGE * scene.size if moved else 0.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Label:
    """A gauge on the page: where its arrow starts and ends, on which side it is named, and how."""

    start: Array
    tip: Array
    left: bool
    text: str


def _labels(scene: _Scene, low: Array, high: Array, *, narrow: bool) -> list[_Label]:
    readings = dict(scene.deflection.gauges)
    found = []
    for gauge in scene.machine.gauges:
        reading = readings[gauge.name]
        start, tip = _gauge_ends(scene, gauge)
        end = scene.page(tip)
        left = not narrow and bool(end[0] < 0.5 * (low[0] + high[0]))
        found.append(_Label(start=scene.page(start), tip=end, left=left, text=_reading(gauge, reading)))
    return found


def _reading(gauge: Gauge, reading: float) -> str:
    reference = "bench" if gauge.reference == GROUND else gauge.reference
    return f"{gauge.name}\n{said(reading, 'µm', signed)} to {reference}"


def _page(
    scene: _Scene, colours: dict[str, str], labels: list[_Label], low: Array, high: Array, width_mm: float
) -> tuple[style.Picture, Axes, float]:
    """A figure whose axes hold the machine at one scale (mm of it for each mm of paper), with margins for the labels, a
    strip below for the directions of the room, a title and a legend.
    """
    margins = [4.0 + LETTER * _letters(labels, left=left) for left in (True, False)]
    scale = (high[0] - low[0]) / max(20.0, width_mm - sum(margins))  # mm of the machine per mm of paper
    columns = max(2, int(width_mm // 38))
    handles = _legend(scene, colours)
    wide = max(20, int((width_mm - 6.0) / LETTER))
    holders = textwrap.wrap(_holder_names(scene.machine), wide)
    named = LINE * len(holders) + 2.0
    foot = LINE * 1.45 * -(-len(handles) // columns) + 5.0 + named
    title = textwrap.wrap(_subtitle(scene), wide)
    head = 8.0 + LINE * len(title) + 2.0
    crowd = 2.3 * LINE * max(sum(label.left for label in labels), sum(not label.left for label in labels))
    scale = max(scale, (high[1] - low[1]) / (1.1 * width_mm))
    tall = max((high[1] - low[1]) / scale, crowd)
    total = head + tall + STRIP + foot
    figure = style.new_figure(width_mm, total, laid_out=False)
    axes = figure.add_axes((0.0, foot / total, 1.0, (tall + STRIP) / total))
    axes.set_axis_off()
    start = 0.5 * (low[0] + high[0] + (margins[1] - margins[0] - width_mm) * scale)
    axes.set_xlim(start, start + width_mm * scale)
    middle = 0.5 * (low[1] + high[1])
    axes.set_ylim(middle - (0.5 * tall + STRIP) * scale, middle + 0.5 * tall * scale)
    pulls = scene.deflection.pulls
    size = f", {pull_text(pulls[0])}" if len(pulls) == 1 and pulls[0].name == scene.deflection.name else ""
    name = f"{scene.machine.name}: {scene.deflection.name}{size}"
    left = 3.0 / width_mm
    figure.text(left, 1.0 - 3.0 / total, name, va="top", fontsize=style.NORMAL + 1, fontweight="bold")
    figure.text(left, 1.0 - 8.0 / total, "\n".join(title), va="top", fontsize=style.SMALL, linespacing=1.25)
    figure.text(left, 1.5 / total, "\n".join(holders), va="bottom", fontsize=style.SMALL, linespacing=1.25)
    figure.legend(handles=handles, loc="lower center", ncols=columns, bbox_to_anchor=(0.5, named / total))
    return figure, axes, scale


def _letters(labels: list[_Label], *, left: bool) -> int:
    return max((len(line) for k in labels if k.left == left for line in k.text.split("\n")), default=0)


def _subtitle(scene: _Scene) -> str:
    moved = [retold(float(v), "µm", signed) for v in scene.deflection.tool_displacement * 1e6]
    each = ", ".join(f"{axis} {v}" for axis, v in zip("XYZ", moved, strict=True))
    return f"tool against work: {each} {unit_of('µm')}; motion drawn × {scene.factor:,.0f}"


def _holder_names(machine: Machine) -> str:
    """Numbers of joints and supports as they stand in the figure, with their names."""
    return ", ".join(f"{i + 1} {holder.name}" for i, (_, holder) in enumerate(machine.holders()))


def _legend(scene: _Scene, colours: dict[str, str]) -> list[Artist]:
    shown = [m.name for m in scene.machine.members] + [b.name for b in scene.machine.blocks]
    handles: list[Artist] = [Patch(color=colours[name], label=name) for name in shown]
    if any(prism.face.kind == "fill" for prism in scene.prisms):
        handles.append(Patch(facecolor=style.ROLES["fill"], edgecolor=style.INK, linewidth=0.5, label="fill"))
    for marker, word in (("o", "joint"), ("^", "support")):
        handles.append(
            Line2D(
                [],
                [],
                marker=marker,
                color="white",
                markeredgecolor=style.ROLES["joints"],
                mew=1.4,
                markersize=7,
                linestyle="none",
                label=f"{word}, numbered",
            )
        )
    handles.append(Patch(facecolor="white", edgecolor=style.PALE, label="at rest"))
    return handles


def _draw_pull(axes: Axes, scene: _Scene) -> None:
    """Pulls as strong arrows that end at their points; a couple as an arrow along its axis with two heads."""
    for pull in scene.deflection.pulls:
        start, end = _pull_ends(scene, pull)
        heads = [end] if np.any(pull.force) else [end, end + 0.12 * (start - end)]
        for head in heads:
            _arrow(axes, start, head, "-|>,head_width=0.3,head_length=0.6", 1.8)


def _draw_labels(axes: Axes, labels: list[_Label], low: Array, high: Array) -> None:
    """An arrow for what each gauge reads, its reading in the margin beside it, joined by a thin line."""
    bottom, top = axes.get_ylim()
    height_mm = axes.get_position().height * axes.figure.get_figheight() * 25.4  # type: ignore[union-attr]
    least = 2.3 * LINE * (top - bottom) / height_mm
    for left in (True, False):
        chosen = [label for label in labels if label.left == left]
        wanted = np.array([label.tip[1] for label in chosen])
        x = float(low[0] if left else high[0])
        heights = spread(wanted, least, bottom + least / 2, top - least / 2)
        for label, height in zip(chosen, uncrossed([label.tip for label in chosen], x, heights), strict=True):
            _draw_label(axes, label, x, height)


def _draw_label(axes: Axes, label: _Label, x: float, height: float) -> None:
    if np.any(label.start != label.tip):
        _arrow(axes, label.start, label.tip, "->,head_width=0.2,head_length=0.4", 1.1)
    axes.plot(*label.start, marker="o", markersize=2.5, color=style.INK, zorder=8)
    axes.plot([label.tip[0], x], [label.tip[1], height], color=style.INK, linewidth=0.4, zorder=7)
    side = "right" if label.left else "left"
    gap = 0.012 * (axes.get_xlim()[1] - axes.get_xlim()[0])
    axes.text(
        x - gap if label.left else x + gap,
        height,
        label.text,
        ha=side,
        va="center",
        fontsize=style.SMALL,
        linespacing=1.1,
    )


def _arrow(axes: Axes, start: Array, end: Array, look: str, weight: float) -> None:
    drawn = axes.annotate(
        "",
        (float(end[0]), float(end[1])),
        (float(start[0]), float(start[1])),
        arrowprops={"arrowstyle": look, "color": style.INK, "lw": weight, "shrinkA": 0, "shrinkB": 0},
        zorder=8,
    )
    assert drawn.arrow_patch is not None
    drawn.arrow_patch.set_path_effects([Stroke(linewidth=weight + 1.4, foreground="white"), Normal()])


def _scale_bar(axes: Axes, scene: _Scene, scale: float) -> None:
    bar = _round_length(0.25 * scene.size * MM)
    right, bottom = axes.get_xlim()[1] - 5.0 * scale, axes.get_ylim()[0] + 4.0 * scale
    axes.plot([right - bar, right], [bottom, bottom], color=style.INK, linewidth=1.5)
    axes.text(
        right - 0.5 * bar, bottom + scale, f"{bar:g} mm", ha="center", va="bottom", fontsize=style.SMALL
    )


def pull_text(pull: Pull) -> str:
    """The size of a pull with its unit.

    Examples
    --------
    >>> pull_text(Pull(name="side", part="head", at=(0.0, 0.0, 0.0), force=(60.0, 80.0, 0.0)))
    '100 N'
    """
    if np.any(pull.force):
        return said(float(np.linalg.norm(pull.force)), "N")
    return said(float(np.linalg.norm(pull.couple)), "N m")


def _triad(axes: Axes, scene: _Scene, scale: float) -> None:
    """Directions of the machine's axes and where the operator stands, in the strip below the machine."""
    reach = REACH * scale
    corner = np.array([axes.get_xlim()[0] + 22.0 * scale, axes.get_ylim()[0] + 9.0 * scale])
    for name, way in zip("XYZ", scene.camera.page(np.eye(3)), strict=True):
        end = corner + reach * way
        _arrow(axes, corner, end, "->,head_width=0.15,head_length=0.3", 0.8)
        spot = corner + 1.35 * reach * way
        axes.text(float(spot[0]), float(spot[1]), name, ha="center", va="center", fontsize=style.SMALL)
    _operator(axes, corner, scene.camera.page(np.array(towards(scene.machine.operator))), reach)


def _operator(axes: Axes, corner: Array, way: Array, reach: float) -> None:
    """Head and shoulders, seen from above, on the side where the operator stands."""
    at = corner + 1.5 * reach * way
    shoulders = Ellipse((float(at[0]), float(at[1])), 0.62 * reach, 0.2 * reach, color=style.PALE, zorder=7)
    head = Ellipse((float(at[0]), float(at[1])), 0.2 * reach, 0.2 * reach, color=style.INK, zorder=8)
    axes.add_patch(shoulders)
    axes.add_patch(head)
    axes.text(
        float(at[0]),
        float(at[1]) - 0.16 * reach,
        "operator",
        ha="center",
        va="top",
        fontsize=style.SMALL,
    )


def _round_length(length: float) -> float:
    """A length of 1, 2 or 5 times a power of ten, not above the given one."""
    power = 10.0 ** np.floor(np.log10(length))
    return float(max(step * power for step in (1.0, 2.0, 5.0) if step * power <= length))
