"""Sketches of the interview as pictures: what is measured is bold, the operator stands where a person would stand."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import matplotlib
from matplotlib.axes import Axes
from matplotlib.patches import Circle, FancyArrowPatch, Polygon

from strongback.errors import InputError
from strongback.project.interview.sketches import SKETCHES
from strongback.views import style

__all__ = ["DRAWN", "sketch_picture"]

Point = tuple[float, float]
BODY, CUT = "#e6eaed", "#b9c2c9"
TYPE = 8.5  # [pt]


class Pencil:
    """Draws on a page of 100 by 62 units."""

    def __init__(self, axes: Axes) -> None:
        self.axes = axes

    def box(self, x: float, y: float, wide: float, high: float, word: str = "", fill: str = BODY) -> None:
        """A rectangle by its lower left corner, with a word in its middle."""
        self.shape([(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)], fill)
        if word:
            self.say(x + 0.5 * wide, y + 0.5 * high, word)

    def shape(self, ring: Sequence[Point], fill: str = BODY) -> None:
        """A polygon."""
        self.axes.add_patch(
            Polygon(ring, closed=True, facecolor=fill, edgecolor=style.INK, linewidth=1.0, joinstyle="miter")
        )

    def ring(self, x: float, y: float, outer: float, inner: float = 0.0, fill: str = CUT) -> None:
        """A circle, hollow where it has an inner radius."""
        self.axes.add_patch(Circle((x, y), outer, facecolor=fill, edgecolor=style.INK, linewidth=1.0))
        if inner:
            self.axes.add_patch(
                Circle((x, y), inner, facecolor=style.PAPER, edgecolor=style.INK, linewidth=1.0)
            )

    def bolt(self, *at: Point) -> None:
        """Bolts seen from above."""
        for x, y in at:
            self.ring(x, y, 1.3, fill=style.INK)

    def line(self, *points: Point, dashed: bool = False) -> None:
        """A thin line."""
        self.axes.plot(
            *zip(*points, strict=True), color=style.INK, linewidth=0.9, linestyle="--" if dashed else "-"
        )

    def size(self, start: Point, end: Point, word: str, *, off: Point = (0.0, 0.0)) -> None:
        """A distance that is asked for: bold, with its word beside the middle."""
        self.axes.add_patch(
            FancyArrowPatch(
                start,
                end,
                arrowstyle="<|-|>",
                mutation_scale=9,
                linewidth=2.0,
                color=style.INK,
                shrinkA=0,
                shrinkB=0,
            )
        )
        x, y = 0.5 * (start[0] + end[0]) + off[0], 0.5 * (start[1] + end[1]) + off[1]
        if off == (0.0, 0.0):
            x, y = (x, y + 2.8) if start[1] == end[1] else (x + 1.5, y)
        side = "center" if start[1] == end[1] or off[0] else "left"
        self.axes.text(x, y, word, fontsize=TYPE, fontweight="bold", ha=side, va="center")

    def say(self, x: float, y: float, word: str, *, side: str = "center") -> None:
        """A word."""
        self.axes.text(x, y, word, fontsize=TYPE, ha=side, va="center", linespacing=1.1)

    def person(self, x: float, y: float) -> None:
        """The operator, standing on y."""
        self.axes.add_patch(Circle((x, y + 20.0), 2.2, facecolor=style.INK, edgecolor=style.INK))
        self.line((x, y + 17.8), (x, y + 8.0))
        self.line((x, y), (x, y + 8.0))
        self.line((x - 3.0, y), (x, y + 8.0), (x + 3.0, y))
        self.line((x - 4.0, y + 11.0), (x, y + 15.5), (x + 4.0, y + 11.0))
        self.say(x, y - 3.2, "operator")


def _end_faces(p: Pencil) -> None:
    for x, word in ((4, "tube"), (38, "channel"), (72, "round")):
        p.say(x + 12, 52, word)
    p.box(4, 18, 24, 28, fill=CUT)
    p.box(11, 25, 10, 14, fill=style.PAPER)
    p.shape([(38, 18), (62, 18), (62, 46), (58, 46), (58, 22), (42, 22), (42, 46), (38, 46)], CUT)
    p.ring(84, 32, 14, 10)
    p.size((4, 12), (28, 12), "WIDTH", off=(0.0, -3.2))
    p.size((33, 18), (33, 46), "DEPTH", off=(0.0, 17.0))
    p.size((21, 31), (28, 31), "", off=(0.1, 0.1))
    p.say(16, 35, "WALL")
    p.axes.texts[-1].set_fontweight("bold")
    p.say(50, 3, "left          the front is below          right")


def _column_mill(p: Pencil) -> None:
    p.person(9, 8)
    p.box(30, 4, 62, 8, "bed")
    p.box(70, 12, 12, 44)
    p.say(76, 50, "column")
    p.box(62, 34, 8, 14)
    p.box(40, 34, 22, 12, "head")
    p.box(44, 25, 6, 9)
    p.line((47, 25), (47, 20))
    p.box(34, 13, 24, 5, "table")
    p.size((47, 52), (70, 52), "THROAT")
    p.size((100, 12), (100, 56), "HEIGHT", off=(0.0, 24.0))
    p.axes.texts[-1].set_position((97, 59))
    p.size((76, 0.5), (92, 0.5), "BEHIND", off=(0.0, -3.2))
    p.line((76, 14), (76, -1), dashed=True)
    p.size((87, 12), (87, 41), "", off=(0.1, 0.1))
    p.say(85, 46, "carriage\nnow", side="left")
    p.say(38, 0, "seen from the right; the front is at the left end")


def _foot(p: Pencil) -> None:
    p.box(22, 10, 56, 44)
    p.box(36, 20, 28, 24, fill=CUT)
    p.box(40, 24, 20, 16, fill=style.PAPER)
    p.say(50, 32, "column")
    p.bolt((28, 16), (72, 16), (28, 48), (72, 48))
    p.say(12, 48, "bolts")
    p.line((17, 48), (26, 48))
    p.size((64, 32), (72, 32), "", off=(0.1, 0.1))
    p.line((72, 16), (72, 34), dashed=True)
    p.say(80, 32, "WALL to BOLT", side="left")
    p.axes.texts[-1].set_fontweight("bold")
    p.size((22, 6), (78, 6), "WIDTH of the foot", off=(0.0, -3.2))
    p.say(50, 58, "seen from above; 0 if the bolts lie inside the column")


def _ways(p: Pencil) -> None:
    p.box(14, 36, 72, 14, "carriage")
    p.shape([(14, 36), (25.3, 36), (31, 24), (14, 24)], BODY)
    p.shape([(86, 36), (77, 36), (71.6, 24), (86, 24)], BODY)
    p.shape([(32, 22), (68, 22), (74, 34.5), (26, 34.5)], CUT)
    p.shape([(69.3, 24), (71.2, 24), (76.6, 35.4), (74.6, 35.4)], style.INK)
    p.box(20, 8, 60, 14, "column", fill=CUT)
    p.line((72, 27), (90, 18))
    p.say(93, 15, "gib")
    p.size((26, 38.2), (42, 38.2), "", off=(0.1, 0.1))
    p.say(34, 41.5, "WAY")
    p.axes.texts[-1].set_fontweight("bold")
    p.size((34, 54), (66, 54), "APART")
    p.line((34, 39), (34, 55), dashed=True)
    p.line((66, 36), (66, 55), dashed=True)
    p.say(50, 2, "seen along the slide; LENGTH is how much stays engaged")


def _spindle(p: Pencil) -> None:
    p.box(34, 16, 8, 42)
    p.box(58, 16, 8, 42)
    for y in (46, 22):
        p.box(42, y, 3, 6, fill=CUT)
        p.box(55, y, 3, 6, fill=CUT)
    p.box(45, 12, 10, 48)
    p.shape([(46, 12), (54, 12), (52, 8), (48, 8)])
    p.box(48.8, 1, 2.4, 7, fill=CUT)
    p.say(20, 49, "rear bearing")
    p.say(20, 25, "front bearing")
    p.say(20, 12, "nose")
    p.line((26, 12), (44, 12))
    p.size((74, 25), (74, 49), "SPAN")
    p.size((74, 12), (74, 25), "OVERHANG")
    p.size((74, 1), (74, 12), "OUT")
    for y in (49, 25, 12, 1):
        p.line((58 if y > 13 else 52, y), (76, y), dashed=True)


def _stand(p: Pencil) -> None:
    p.person(9, 8)
    p.box(28, 6, 62, 5, "plate")
    p.box(70, 11, 8, 46)
    p.say(74, 52, "post")
    p.box(67, 34, 14, 12, "collar")
    p.box(44, 37, 23, 6, "arm")
    p.box(40, 28, 8, 18, "quill")
    p.line((44, 28), (44, 20))
    p.box(38, 11, 12, 6, "vice")
    p.size((44, 52), (74, 52), "REACH")
    p.size((86, 11), (86, 57), "HEIGHT", off=(0.0, 1.0))
    p.axes.texts[-1].set_position((92, 54))
    p.say(50, 1, "seen from the right; the front is at the left end")


def _clamp(p: Pencil) -> None:
    p.ring(42, 32, 24, fill=BODY)
    p.box(60, 24, 26, 16)
    p.box(58, 31, 30, 2, fill=style.PAPER)
    p.ring(42, 32, 15, 11)
    p.say(42, 32, "post")
    p.box(76, 20, 4, 24, fill=style.INK)
    p.say(84, 50, "pinch bolts")
    p.line((80, 47), (78, 44))
    p.size((27, 4), (57, 4), "DIAMETER", off=(0.0, -3.0))
    p.say(46, 60, "seen from above; HEIGHT is how much of the post it holds")


def _round_column(p: Pencil) -> None:
    p.person(9, 8)
    p.box(28, 4, 62, 6, "base")
    p.box(66, 10, 18, 5)
    p.box(69, 15, 12, 42)
    p.box(64, 36, 22, 12)
    p.box(40, 34, 24, 16, "head")
    p.box(44, 24, 7, 10)
    p.line((47.5, 24), (47.5, 18))
    p.box(34, 10, 26, 5, "table")
    p.size((47.5, 54), (75, 54), "SWING / 2", off=(-3.0, 3.0))
    p.size((94, 10), (94, 57), "", off=(0.1, 0.1))
    p.say(92, 59.5, "HEIGHT")
    p.axes.texts[-1].set_fontweight("bold")
    p.say(50, 0, "seen from the right; the front is at the left end")


def _portal(p: Pencil) -> None:
    p.box(10, 6, 8, 44)
    p.box(82, 6, 8, 44)
    p.box(10, 36, 80, 12, "")
    p.box(42, 32, 14, 20, "head")
    p.line((49, 32), (49, 22))
    p.box(24, 10, 52, 6, "table")
    p.say(30, 42, "beam")
    p.size((18, 29), (82, 29), "SPAN", off=(14.0, -3.0))
    p.say(14, 2, "left")
    p.say(86, 2, "right")
    p.size((95, 6), (95, 42), "HEIGHT", off=(0.0, 22.0))
    p.axes.texts[-1].set_position((93, 53))
    p.say(50, 58, "as the operator sees it; THROAT: front of the beam to the spindle")


def _rails(p: Pencil) -> None:
    for x in (28, 66):
        p.box(x, 8, 6, 46, fill=CUT)
        for y in (14, 38):
            p.box(x - 4, y, 14, 10)
    p.size((31, 57), (69, 57), "APART", off=(0.0, 3.0))
    p.size((84, 19), (84, 43), "LENGTH")
    p.line((76, 19), (86, 19), dashed=True)
    p.line((76, 43), (86, 43), dashed=True)
    p.say(50, 31, "rail and\ncarriages")
    p.size((28, 4), (34, 4), "", off=(0.1, 0.1))
    p.say(42, 3, "WAY", side="left")
    p.axes.texts[-1].set_fontweight("bold")


def _lathe(p: Pencil) -> None:
    p.box(6, 8, 90, 8, "bed")
    p.box(10, 16, 24, 30, "headstock")
    p.box(34, 29, 5, 10)
    p.box(39, 26, 8, 16)
    p.say(43, 45, "chuck")
    p.box(47, 31, 18, 6, "bar", fill=CUT)
    p.box(76, 16, 14, 22, "tailstock")
    p.shape([(76, 31), (76, 37), (66, 34)])
    p.box(52, 16, 12, 8)
    p.shape([(56, 24), (60, 24), (58, 31)], style.INK)
    p.line((34, 34), (98, 34), dashed=True)
    p.size((70, 16), (70, 34), "", off=(0.1, 0.1))
    p.say(69, 44, "centre HEIGHT")
    p.line((70, 42), (70, 35))
    p.axes.texts[-1].set_fontweight("bold")
    p.size((6, 4), (39, 4), "LEFT of the nose", off=(0.0, -3.0))
    p.line((39, 26), (39, 3), dashed=True)
    p.say(60, 56, "as the operator sees it; headstock on the left")


def _tool_post(p: Pencil) -> None:
    p.person(9, 8)
    p.box(26, 6, 44, 8, "slides")
    p.box(34, 14, 22, 26, "post")
    p.box(44, 40, 3, 6, fill=style.INK)
    p.box(50, 28, 24, 6, "tool", fill=CUT)
    p.ring(82, 31, 8, fill=CUT)
    p.say(82, 31, "bar")
    p.size((56, 22), (74, 22), "OUT", off=(0.0, -3.0))
    p.say(60, 56, "seen from the right")
    p.say(34, 47, "bolt")


def _feet(p: Pencil) -> None:
    p.box(20, 10, 60, 40, "base")
    for x in (27, 73):
        for y in (16, 44):
            p.ring(x, y, 3)
    p.size((20, 5), (27, 5), "INSET", off=(10.0, 0.0))
    p.line((27, 13), (27, 4), dashed=True)
    p.say(50, 57, "seen from above")
    p.say(50, 13, "front")


def _pull(p: Pencil) -> None:
    p.box(6, 30, 10, 18, "tool")
    p.line((16, 39), (48, 39))
    p.ring(50, 36, 3)
    p.line((53, 36), (53, 20))
    p.box(48, 12, 10, 8, "W", fill=CUT)
    p.line((56, 20), (60, 20), (60, 46), dashed=True)
    p.say(64, 49, "slack cord")
    p.line((40, 8), (64, 8))
    p.say(52, 4.5, "floor")
    p.say(30, 43, "cord")
    p.box(76, 44, 16, 12, "spindle")
    p.shape([(84, 44), (80, 38), (88, 38)])
    p.box(81, 24, 6, 14, "")
    p.box(78, 18, 12, 6, "scale", fill=CUT)
    p.box(70, 12, 28, 6, "table")
    p.say(96, 32, "jack", side="right")


DRAWN: Mapping[str, Callable[[Pencil], None]] = {
    "end faces": _end_faces,
    "column mill": _column_mill,
    "foot": _foot,
    "ways": _ways,
    "spindle": _spindle,
    "stand": _stand,
    "clamp": _clamp,
    "round column": _round_column,
    "portal": _portal,
    "rails": _rails,
    "lathe": _lathe,
    "tool post": _tool_post,
    "feet": _feet,
    "pull": _pull,
}


def sketch_picture(name: str) -> style.Picture:
    """The sketch of a question as a picture; its words are those of the text sketch.

    Parameters
    ----------
    name : str
        A key of `strongback.project.interview.sketches.SKETCHES`.

    Raises
    ------
    InputError
        If there is no such sketch.
    """
    if name not in DRAWN:
        raise InputError(f'there is no sketch "{name[:40]}"', hint=f"one of: {', '.join(SKETCHES)}")
    with matplotlib.rc_context(style.settings()):
        figure = style.new_figure(110.0, 74.0)
        axes = figure.add_subplot()
        axes.set_aspect("equal")
        axes.axis("off")
        DRAWN[name](Pencil(axes))
        axes.set_xlim(0.0, 104.0)
        axes.set_ylim(-5.0, 64.0)
    return figure
