"""Where to pull and where to read: the machine from the front and from the right, gauges by number, pulls by letter."""

from __future__ import annotations

import math
from dataclasses import dataclass

import matplotlib
import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from strongback.evidence.plan import Plan, Step
from strongback.machine.room import View, side_word, views
from strongback.machine.values import Machine, Pull, Vector
from strongback.views import style
from strongback.views.camera import Camera, spread, uncrossed
from strongback.views.evidence_text import load_text
from strongback.views.painter import of_box, of_prism, paint
from strongback.views.solids import Box, Prism, resting

__all__ = ["gauges_of", "letters_of", "plan_figure", "pulls_of"]

Array = NDArray[np.float64]
MM = 1e3
FINE = 80  # points of a region that is drawn
PALE = 0.55  # how much paler parts are than elsewhere, so that arrows stand out
NARROW = 120.0  # width of a figure below which the views stand one above the other [mm]
LEFT, RIGHT, TOP, BOTTOM = 17.0, 3.0, 8.0, 12.0  # room of the axes in their panel [mm]
BADGE = 4.9  # distance between labels [mm]
GAP = 8.0  # between the machine and the labels [mm]
ARROW = 0.13  # length of an arrow as a fraction of the machine
LETTER = 1.42  # mean width of a letter of the small type [mm]
LINE = 4.3  # height of a line of the legend [mm]
ASKEW = 0.3  # sine of the angle to the line of sight below which an arrow is drawn as a ring


def gauges_of(plan: Plan) -> list[Step]:
    """A step for every gauge with its stand, in the order of the plan."""
    return list({(s.gauge.name, s.gauge.reference): s for s in plan.steps}.values())


def letters_of(plan: Plan) -> dict[str, str]:
    """Letter of every pull: A to Z, then AA and on."""
    return {pull.name: _letter(i) for i, (pull, _) in enumerate(pulls_of(plan))}


def _letter(index: int) -> str:
    """
    Examples
    --------
    >>> _letter(0), _letter(25), _letter(26)
    ('A', 'Z', 'AA')
    """
    before, own = divmod(index, 26)
    return (_letter(before - 1) if before else "") + chr(ord("A") + own)


def pulls_of(plan: Plan) -> list[tuple[Pull, Step]]:
    """Every pull of the plan with its first step, in the order of the plan."""
    return list({s.pull.name: (s.pull, s) for s in plan.steps}.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class _Arrow:
    """Something to be shown in a view: where it acts, which way, its label, whether it is a pull."""

    at: Vector
    along: Vector
    label: str
    pulls: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Stage:
    """A plain view: across and up on the page, in millimetres of the machine along its own axes."""

    camera: Camera
    across: int
    sign: float
    factor: float = 0.0

    def page(self, points: Array) -> Array:
        """On the page, growing to the right [mm]."""
        return np.asarray(points[..., [self.across, 2]] * MM * np.array([self.sign, 1.0]))


def plan_figure(machine: Machine, plan: Plan, *, width_mm: float = 170.0) -> style.Picture:
    """The machine from the front and from the right, gauges as numbered arrows, pulls as lettered ones.

    Parameters
    ----------
    machine : Machine
    plan : Plan
    width_mm : float
        Of the figure; below 120 mm the views stand one above the other [mm].

    Returns
    -------
    matplotlib.figure.Figure
    """
    arrows = _arrows(plan)
    swept, boxes = resting(machine, fine=FINE)
    stages = [
        _Stage(
            camera=Camera(turn=turn, tilt=0.0, operator=machine.operator), across=view.across, sign=view.sign
        )
        for view, turn in zip(views(machine.operator), (0.0, 0.5 * math.pi), strict=True)
    ]
    size = _size(machine)
    bounds = [_bounds(stage, swept, boxes, arrows, size) for stage in stages]
    columns = 1 if width_mm < NARROW else 2
    panel = width_mm / columns
    inner = panel - LEFT - RIGHT - 2.0 * GAP
    scale = (
        max(float(high[0] - low[0]) for low, high in bounds) / inner
    )  # mm of the machine for each mm of paper
    low_z, high_z = min(low[1] for low, _ in bounds), max(high[1] for _, high in bounds)
    crowd = BADGE * (1 + -(-len(arrows) // 2))
    tall = max(float(high_z - low_z) / scale, crowd)
    with matplotlib.rc_context(style.settings()):
        handles = _handles(machine, plan)
        across = max(1, int(width_mm // (LETTER * max(len(str(h.get_label())) for h in handles) + 8.0)))
        foot = LINE * -(-len(handles) // across) + 5.0
        rows = 2 // columns
        total = rows * (tall + TOP + BOTTOM) + foot
        figure = style.new_figure(width_mm, total, laid_out=False)
        for k, (view, stage, (low, high)) in enumerate(
            zip(views(machine.operator), stages, bounds, strict=True)
        ):
            row, column = divmod(k, columns)
            bottom = total - (row + 1) * (tall + TOP + BOTTOM) + BOTTOM
            place = (
                (column * panel + LEFT) / width_mm,
                bottom / total,
                (panel - LEFT - RIGHT) / width_mm,
                tall / total,
            )
            axes = figure.add_axes(place)
            middle = 0.5 * (low[0] + high[0])
            half = 0.5 * (panel - LEFT - RIGHT) * scale
            axes.set_xlim(middle - half, middle + half)
            lift = 0.5 * (tall * scale - (high_z - low_z))
            axes.set_ylim(low_z - lift, high_z + lift)
            _view(axes, machine, stage, swept, boxes)
            _place(axes, stage, arrows, size, (low[0], high[0]), scale)
            _words(axes, view, machine)
        figure.legend(
            handles=handles,
            loc="lower left",
            ncols=across,
            handlelength=1.6,
            bbox_to_anchor=(0.0, 0.5 / total),
        )
    return figure


def _arrows(plan: Plan) -> list[_Arrow]:
    letters = letters_of(plan)
    found = [
        _Arrow(
            at=pull.at,
            along=pull.force if any(pull.force) else pull.couple,
            label=letters[pull.name],
            pulls=True,
        )
        for pull, _ in pulls_of(plan)
    ]
    return found + [
        _Arrow(at=step.gauge.at, along=step.gauge.direction, label=str(i), pulls=False)
        for i, step in enumerate(gauges_of(plan), 1)
    ]


def _size(machine: Machine) -> float:
    ends = np.array([end for m in machine.members for end in (m.start, m.end)] + [machine.tool.at])
    return max(float(np.ptp(ends, axis=0).max()), 0.1)


def _ends(stage: _Stage, arrow: _Arrow, size: float) -> tuple[Array, Array]:
    """Where an arrow starts and ends on the page; the same twice where it runs along the line of sight."""
    unit = np.asarray(arrow.along, dtype=float) / np.linalg.norm(arrow.along)
    start = np.array(arrow.at)
    flat = stage.page(unit) / MM
    if np.linalg.norm(flat) <= ASKEW:
        return stage.page(start), stage.page(start)
    return stage.page(start), stage.page(start + ARROW * size * (1.3 if arrow.pulls else 1.0) * unit)


def _bounds(
    stage: _Stage, swept: tuple[Prism, ...], boxes: tuple[Box, ...], arrows: list[_Arrow], size: float
) -> tuple[Array, Array]:
    """Corners of all that is drawn in a view [mm of the machine]."""
    solids: tuple[Prism | Box, ...] = (*swept, *boxes)
    points = [stage.page(solid.points).reshape(-1, 2) for solid in solids]
    points += [np.array(_ends(stage, arrow, size)) for arrow in arrows]
    every = np.concatenate(points)
    room = 0.02 * size * MM
    return every.min(axis=0) - room, every.max(axis=0) + room


def _view(
    axes: Axes, machine: Machine, stage: _Stage, swept: tuple[Prism, ...], boxes: tuple[Box, ...]
) -> None:
    """The parts as they are, pale, and their joints."""
    colours = {name: style.shade(colour, PALE) for name, colour in style.colours_of(machine).items()}
    shapes = [shape for prism in swept for shape in of_prism(prism, stage, colours[prism.part])]
    shapes += [shape for box in boxes for shape in of_box(box, stage, colours[box.part])]
    paint(axes, shapes)
    for joint in machine.joints:
        x, y = stage.page(np.array(joint.at))
        axes.plot(x, y, "s", ms=3.0, color=style.ROLES["joints"], zorder=4)


def _place(
    axes: Axes, stage: _Stage, arrows: list[_Arrow], size: float, sides: tuple[float, float], scale: float
) -> None:
    """Arrows, and their labels in a column on the nearer side, each on a thin line that crosses no other."""
    ends = [_ends(stage, arrow, size) for arrow in arrows]
    for arrow, (start, end) in zip(arrows, ends, strict=True):
        _draw(axes, stage, arrow, start, end)
    order = np.argsort([tip[0] for _, tip in ends], kind="stable")
    half = -(-len(order) // 2)
    bottom, top = axes.get_ylim()
    for chosen, x in (
        (order[:half], sides[0] - 0.6 * GAP * scale),
        (order[half:], sides[1] + 0.6 * GAP * scale),
    ):
        tips = [ends[k][1] for k in chosen]
        wanted = np.array([tip[1] for tip in tips])
        edge = 0.5 * BADGE * scale
        heights = uncrossed(tips, x, spread(wanted, BADGE * scale, bottom + edge, top - edge))
        for k, tip, height in zip(chosen, tips, heights, strict=True):
            axes.plot([tip[0], x], [tip[1], height], color=style.INK, linewidth=0.4, zorder=7)
            _badge(axes, arrows[k], x, height)


def _draw(axes: Axes, stage: _Stage, arrow: _Arrow, start: Array, end: Array) -> None:
    colour = style.ROLES["spindle"] if arrow.pulls else style.INK
    if np.any(start != end):
        axes.annotate(
            "",
            (float(end[0]), float(end[1])),
            (float(start[0]), float(start[1])),
            arrowprops={
                "arrowstyle": "-|>",
                "color": colour,
                "lw": 1.8 if arrow.pulls else 1.0,
                "shrinkA": 0,
                "shrinkB": 0,
            },
            zorder=6,
        )
        return
    nearer = float(np.asarray(arrow.along) @ stage.camera.axes()[2]) > 0.0
    x, y = float(start[0]), float(start[1])
    axes.plot(x, y, "o", ms=6, mfc="white", mec=colour, mew=1.0, zorder=6)
    axes.plot(x, y, "." if nearer else "x", ms=2.5 if nearer else 4, color=colour, zorder=6.5)


def _badge(axes: Axes, arrow: _Arrow, x: float, y: float) -> None:
    axes.text(
        x,
        y,
        arrow.label,
        ha="center",
        va="center",
        fontsize=style.SMALL,
        fontweight="bold",
        color="white" if arrow.pulls else style.INK,
        zorder=8,
        bbox={
            "boxstyle": "square,pad=0.18" if arrow.pulls else "circle,pad=0.12",
            "facecolor": style.ROLES["spindle"] if arrow.pulls else "white",
            "edgecolor": style.ROLES["spindle"] if arrow.pulls else style.INK,
            "linewidth": 0.6,
        },
    )


def _words(axes: Axes, view: View, machine: Machine) -> None:
    plus = tuple(1.0 if k == view.across else 0.0 for k in range(3))
    axes.set_title(view.name, fontsize=style.NORMAL)
    axes.set_xlabel(f"{'xy'[view.across]} [mm], + {side_word(plus, machine.operator)}")
    axes.set_ylabel("z [mm]")
    axes.xaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 5, 10]))
    if view.sign < 0.0:
        axes.xaxis.set_major_formatter(lambda x, _: f"{-x + 0.0:g}")


def _handles(machine: Machine, plan: Plan) -> list[Artist]:
    """What the letters and numbers mean, and the colours of the parts."""
    letters = letters_of(plan)
    lines = [f"{letters[p.name]}  {p.name}: {load_text(p, s.load)}" for p, s in pulls_of(plan)]
    lines += [f"{i}  {s.gauge.name}" for i, s in enumerate(gauges_of(plan), 1)]
    handles: list[Artist] = [Line2D([], [], ls="none", label=line) for line in lines]
    return handles + [
        Patch(facecolor=style.shade(colour, PALE), edgecolor=style.INK, linewidth=0.4, label=name)
        for name, colour in style.colours_of(machine).items()
    ]
