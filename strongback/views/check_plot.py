"""What was typed, before it is solved: the machine as drawn from the front and the right, and an outline with its fault."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle, FancyArrowPatch, Patch, Polygon
from numpy.typing import NDArray
from shapely.geometry import MultiPoint

from strongback.machine.frames import member_axes
from strongback.machine.room import View, views
from strongback.machine.values import Machine, Member
from strongback.project.checked import Checked
from strongback.section.values import Outline
from strongback.views import quantity, style

__all__ = ["fault_figure", "figure", "figures", "sketch_figure"]

Array = NDArray[np.float64]
BARE = 0.02  # half the width of a member whose outline is not known [m]
ARROW = 0.07  # of the size of the machine
LETTERS = "abcdefghijklmnopqrstuvwxyz"


def figure(found: Checked, *, width_mm: float = 180.0) -> style.Picture:
    """The machine as it was typed, from the front and from the right.

    Parameters
    ----------
    found : Checked
    width_mm : float

    Returns
    -------
    Picture
    """
    return sketch_figure(found.machine, width_mm=width_mm)


def figures(found: Checked) -> Iterator[tuple[str, style.Picture]]:
    """The one picture with the name of its file."""
    yield "as-typed.png", figure(found)


def sketch_figure(machine: Machine, *, width_mm: float = 180.0) -> style.Picture:
    """A machine at rest from two sides: parts, joints with their axes, pulls, gauges, and where the operator stands.

    Parameters
    ----------
    machine : Machine
    width_mm : float
        Of the figure [mm].

    Returns
    -------
    Picture
    """
    colours = style.colours_of(machine)
    low, high = _extent(machine)
    seen = views(machine.operator)
    across = [float(high[v.across] - low[v.across]) + 0.3 * float(high[2] - low[2]) for v in seen]
    across[1] += 0.5 * float(high[2] - low[2])  # room for the operator
    with matplotlib.rc_context(style.settings()):
        key = _key(machine)
        tall = min(1.3, 1.25 * float(high[2] - low[2]) / sum(across)) * width_mm
        figure = style.new_figure(width_mm, tall + 4.2 * (key.count("\n") + 1) + 22.0)
        both = figure.subplots(1, 2, width_ratios=across, sharey=True)
        for axes, view in zip(both, seen, strict=True):
            _draw(axes, machine, view, colours, low, high)
        handles = [Patch(facecolor=c, edgecolor=style.INK, alpha=0.7, label=n) for n, c in colours.items()]
        figure.legend(handles=handles, loc="outside upper right", ncols=4, fontsize=7.5)
        figure.suptitle(
            f"{machine.name}: as typed, in {quantity.unit_of('mm')}", x=0.02, ha="left", fontweight="bold"
        )
        figure.supxlabel(key, x=0.02, ha="left", fontsize=7.5)
    return figure


def _extent(machine: Machine) -> tuple[Array, Array]:
    points = [p for m in machine.members for p in (m.start, m.end)]
    points += [b.at for b in machine.blocks] + [h.at for _, h in machine.holders()] + [machine.tool.at]
    return np.min(points, axis=0), np.max(points, axis=0)


def _key(machine: Machine) -> str:
    """What the numbers and letters stand for, in lines."""
    holders = [f"{i} {h.name}" for i, (_, h) in enumerate(machine.holders(), 1)]
    pulls = [f"{LETTERS[i % 26]} {pull.name}" for i, pull in enumerate(machine.pulls)]
    words = ["joints: " + ", ".join(holders)]
    if pulls:
        words.append("pulls: " + ", ".join(pulls))
    if machine.gauges:
        words.append(
            f"dots: {len(machine.gauges)} gauges; cross: tool; short lines at a joint: its axes, z thick"
        )
    return "\n".join(line for text in words for line in _wrapped(text, 118))


def _wrapped(text: str, most: int) -> list[str]:
    lines, line = [], ""
    for word in text.split(" "):
        if len(line) + len(word) + 1 > most:
            lines.append(line)
            line = "   "
        line = f"{line} {word}" if line.strip() else line + word
    return [*lines, line]


def _flat(view: View, points: Array) -> Array:
    """Points of the machine on the page [mm]."""
    page = np.atleast_2d(points)
    return np.column_stack([view.sign * page[:, view.across], page[:, 2]]) / quantity.scale("mm")


def _draw(axes: Axes, machine: Machine, view: View, colours: dict[str, str], low: Array, high: Array) -> None:
    size = float(np.linalg.norm(high - low)) / quantity.scale("mm")
    order = sorted(machine.members, key=lambda m: _depth(m, view))
    for member in order:
        hull = MultiPoint(_flat(view, _corners(machine, member))).convex_hull
        if hull.geom_type == "Polygon":
            ring = np.asarray(hull.exterior.coords)
            patch = Polygon(
                ring, facecolor=colours[member.name], edgecolor=style.INK, alpha=0.55, linewidth=0.8
            )
            axes.add_patch(patch)
    for block in machine.blocks:
        (x, y) = _flat(view, np.asarray(block.at))[0]
        axes.plot(x, y, "s", color=colours[block.name], markersize=9, markeredgecolor=style.INK)
    for i, (_, holder) in enumerate(machine.holders(), 1):
        _joint(axes, view, np.asarray(holder.at), np.asarray(holder.axes), i, 0.5 * ARROW * size)
    for gauge in machine.gauges:
        (x, y) = _flat(view, np.asarray(gauge.at))[0]
        axes.plot(x, y, ".", color=style.INK, markersize=4)
    for i, pull in enumerate(machine.pulls):
        _pull(axes, view, np.asarray(pull.at), np.asarray(pull.force), LETTERS[i % 26], ARROW * size)
    (x, y) = _flat(view, np.asarray(machine.tool.at))[0]
    axes.plot(x, y, "x", color=style.INK, markersize=8, markeredgewidth=1.8)
    _operator(axes, view, machine, low, high)
    axes.set_aspect("equal")
    axes.set_title(view.name, fontsize=9)
    axes.set_xlabel(f"{'-' if view.sign < 0 else ''}{'XY'[view.across]}")
    axes.set_ylabel("Z")
    axes.autoscale_view()
    axes.margins(0.12)


def _depth(member: Member, view: View) -> float:
    """The further away, the earlier it is drawn."""
    across = 1 - view.across
    return (
        -max(member.start[across], member.end[across])
        if view.across == 0
        else min(member.start[0], member.end[0])
    )


def _corners(machine: Machine, member: Member) -> Array:
    """Edges of the end faces of a member in the machine, (n, 3)."""
    axes = member_axes(member)
    section = dict(machine.sections)[member.spans[0].section]
    if isinstance(section, Outline):
        ring = np.vstack([np.asarray(wall.ring) for wall in section.walls])
    else:
        ring = BARE * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)], dtype=float)
    face = ring @ axes[:2]
    return np.vstack([np.asarray(member.start) + face, np.asarray(member.end) + face])


def _joint(axes: Axes, view: View, at: Array, own: Array, number: int, length: float) -> None:
    (x, y) = _flat(view, at)[0]
    for axis, thick in zip(own, (0.8, 0.8, 2.0), strict=True):
        dx, dy = _flat(view, axis)[0] * quantity.scale("mm") * length
        axes.plot([x, x + dx], [y, y + dy], color=style.ROLES["joints"], linewidth=thick)
    axes.annotate(
        str(number),
        (x, y),
        ha="center",
        va="center",
        fontsize=6.5,
        bbox={"boxstyle": "circle,pad=0.2", "facecolor": style.PAPER, "edgecolor": style.ROLES["joints"]},
    )


def _pull(axes: Axes, view: View, at: Array, force: Array, letter: str, length: float) -> None:
    if not np.any(force):
        return
    tip = _flat(view, at)[0]
    way = _flat(view, force / np.linalg.norm(force))[0] * quantity.scale("mm") * length
    if np.linalg.norm(way) < 0.1 * length:
        axes.add_patch(Circle((tip[0], tip[1]), 0.12 * length, fill=False, linewidth=1.2))
        axes.annotate(letter, tip, xytext=(5, -9), textcoords="offset points", fontsize=7.5)
        return
    start = tip - way
    arrow = FancyArrowPatch(
        (start[0], start[1]), (tip[0], tip[1]), arrowstyle="-|>", mutation_scale=9, color=style.INK
    )
    axes.add_patch(arrow)
    axes.annotate(
        letter, start, ha="center", va="center", fontsize=7.5, xytext=(0, 5), textcoords="offset points"
    )


def _operator(axes: Axes, view: View, machine: Machine, low: Array, high: Array) -> None:
    """The operator stands on the left of the view from the right, and in front of the other."""
    if view.name.endswith("front"):
        axes.annotate("seen by the operator", (0.5, 0.0), xycoords="axes fraction", xytext=(0, 3),
                      textcoords="offset points", ha="center", fontsize=7.5, color=style.INK)  # fmt: skip
        return
    height = float(high[2] - low[2]) / quantity.scale("mm")
    corners = _flat(view, np.array([low, high]))
    left = float(corners[:, 0].min()) - 0.35 * height
    foot = float(low[2]) / quantity.scale("mm")
    axes.add_patch(Circle((left, foot + 0.62 * height), 0.05 * height, color=style.PALE))
    axes.plot([left, left], [foot + 0.57 * height, foot + 0.25 * height], color=style.PALE, linewidth=5)
    axes.plot(
        [left, left + 0.12 * height],
        [foot + 0.5 * height, foot + 0.42 * height],
        color=style.PALE,
        linewidth=3,
    )
    axes.annotate("operator", (left, foot + 0.18 * height), ha="center", fontsize=7.5)


def fault_figure(
    title: str, ring: Sequence[tuple[float, float]], mark: tuple[float, float], *, width_mm: float = 110.0
) -> style.Picture:
    """An outline as typed, its corners numbered, with the place of its fault.

    Parameters
    ----------
    title : str
    ring : sequence of (float, float)
        [m]
    mark : (float, float)
        [m]
    width_mm : float
        Of the figure [mm].

    Returns
    -------
    Picture
    """
    points = np.asarray(ring) / quantity.scale("mm")
    with matplotlib.rc_context(style.settings()):
        figure = style.new_figure(width_mm, width_mm)
        axes = figure.subplots()
        closed = np.vstack([points, points[:1]])
        axes.plot(closed[:, 0], closed[:, 1], color=style.ROLES["column"], linewidth=1.5)
        every = max(1, len(points) // 40)
        for i, (x, y) in enumerate(points, 1):
            axes.plot(x, y, ".", color=style.INK, markersize=4)
            if i % every == 0 or every == 1:
                axes.annotate(str(i), (x, y), xytext=(3, 3), textcoords="offset points", fontsize=7)
        x, y = mark[0] / quantity.scale("mm"), mark[1] / quantity.scale("mm")
        axes.plot(
            x, y, "o", markersize=16, fillstyle="none", color=style.ROLES["joints"], markeredgewidth=2.0
        )
        axes.set_aspect("equal")
        axes.margins(0.12)
        axes.set_xlabel(f"x [{quantity.unit_of('mm')}]")
        axes.set_ylabel(f"y [{quantity.unit_of('mm')}]")
        axes.set_title("\n".join(_wrapped(title, 46)), loc="left", fontsize=8.5)
    return figure
