"""One look for every figure: what colour a part has, how a field is coloured, sizes that survive 80 mm of width.

The palette is the project's own. Its colours differ in lightness as well as in hue, so that they can be told apart in grey
and by eyes that lack one kind of cone; `tests/views/test_style.py` measures that.
"""

from __future__ import annotations

import io
import itertools
import math
from collections.abc import Mapping, Sequence
from pathlib import Path

import matplotlib
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import LinearSegmentedColormap, to_hex, to_rgb
from matplotlib.figure import Figure

from strongback.machine.values import GROUND, Machine
from strongback.project.atomic import write_bytes

__all__ = [
    "FIELD",
    "INK",
    "JOINTS",
    "PALE",
    "ROLES",
    "SIGNED",
    "Picture",
    "colours_of",
    "joint_looks",
    "new_figure",
    "png",
    "role_of",
    "roles_of",
    "save",
    "settings",
    "shade",
]

INK = "#22262b"
PALE = "#c9cfd4"
PAPER = "#ffffff"
ROLES: Mapping[str, str] = {
    "spindle": "#55306a",
    "bed": "#3f5d50",
    "column": "#3579b8",
    "joints": "#dd6b4a",
    "wall": "#9aa5ad",
    "head": "#f0b93a",
    "fill": "#eadfc0",
}
JOINTS: tuple[tuple[str, str], ...] = (
    ("#d96e4c", ""),
    ("#662805", "////"),
    ("#ffbd80", "...."),
    ("#3d0307", "\\\\\\\\"),
    ("#d9610b", "xxxx"),
)
"""Colour and pattern of joints and supports: any two differ, and from all parts, for eyes without red or green cones."""
SHADES: Mapping[str, tuple[float, float]] = {
    "bed": (-0.3, 0.55),
    "spindle": (0.0, 0.6),
    "column": (-0.4, 0.6),
    "head": (-0.5, 0.5),
}
"""How dark and how light several parts of one role are drawn."""
FIELD = "cividis"  # sizes: perceptually uniform, the same to all eyes
WORDS: Mapping[str, tuple[str, ...]] = {
    "spindle": ("spindle", "quill", "tool", "chuck", "nose"),
    "head": ("head", "arm", "ram", "saddle", "carriage", "knee", "beam", "bridge", "slide", "cross"),
    "column": ("column", "upright", "post", "tower", "mast", "leg", "pillar", "stand"),
    "bed": ("bed", "base", "table", "plate", "frame", "foot", "bench"),
}
SMALL, NORMAL = 7.0, 8.0  # type sizes [pt]: 7 pt is still read when 160 mm are printed at 80 mm
DPI = 160


def _signed_map() -> LinearSegmentedColormap:
    """Two hues that darken evenly from pale to deep on either side of zero."""
    low, high = np.array(to_rgb("#17456b")), np.array(to_rgb("#8a3413"))
    middle = np.array(to_rgb("#f4f1ea"))
    return LinearSegmentedColormap.from_list(
        "strongback signed", [tuple(low), tuple(middle), tuple(high)], N=256
    )


SIGNED = _signed_map()


def settings() -> dict[str, object]:
    """Settings under which every figure is drawn."""
    return {
        "font.family": "sans-serif",
        "font.sans-serif": ["DejaVu Sans"],
        "font.size": NORMAL,
        "axes.titlesize": NORMAL + 1,
        "axes.titleweight": "bold",
        "axes.titlelocation": "left",
        "axes.labelsize": NORMAL,
        "axes.edgecolor": INK,
        "axes.labelcolor": INK,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.linewidth": 0.7,
        "text.color": INK,
        "xtick.color": INK,
        "ytick.color": INK,
        "xtick.labelsize": SMALL,
        "ytick.labelsize": SMALL,
        "legend.fontsize": SMALL,
        "legend.frameon": False,
        "figure.facecolor": PAPER,
        "hatch.linewidth": 0.5,
    }


class Picture(Figure):
    """A figure that shows itself in a notebook, by its bytes as in a file; nothing of pyplot is loaded."""

    def _repr_png_(self) -> bytes:
        return png(self)


def new_figure(width_mm: float, height_mm: float, *, laid_out: bool = True) -> Picture:
    """An empty figure of a size, with a canvas of its own and no global state.

    Parameters
    ----------
    width_mm, height_mm : float
        [mm]
    laid_out : bool
        Whether the places of axes and legends are found by matplotlib.

    Returns
    -------
    Picture
    """
    figure = Picture(figsize=(width_mm / 25.4, height_mm / 25.4), dpi=DPI)
    if laid_out:
        figure.set_layout_engine("constrained", w_pad=0.06, h_pad=0.06)
    FigureCanvasAgg(figure)
    return figure


def png(figure: Figure) -> bytes:
    """A figure as PNG: the same bytes for the same figure."""
    buffer = io.BytesIO()
    with matplotlib.rc_context(settings()):
        figure.savefig(buffer, format="png", dpi=DPI, metadata={"Software": None})
    return buffer.getvalue()


def save(figure: Figure, path: str | Path) -> Path:
    """Write a figure as PNG, whole or not at all; its folder is made.

    Parameters
    ----------
    figure : Figure
    path : str or Path

    Returns
    -------
    Path
        `path`.

    Raises
    ------
    EnvironmentFault
        If it cannot be written.
    """
    path, data = Path(path), png(figure)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_bytes(path, data)
    return path


def shade(colour: str, step: float) -> str:
    """A colour made lighter (`step` above 0) or darker (below), by lightness from -1 to 1.

    Examples
    --------
    >>> shade("#808080", 0.5), shade("#808080", -1.0)
    ('#c0c0c0', '#000000')
    """
    to = 1.0 if step > 0.0 else 0.0
    red, green, blue = (c + (to - c) * abs(step) for c in to_rgb(colour))
    return str(to_hex((red, green, blue)))


def role_of(name: str) -> str | None:
    """Role of a part by the words of its name, or None.

    Examples
    --------
    >>> role_of("left upright"), role_of("head arm"), role_of("thing")
    ('column', 'head', None)
    """
    lowered = name.lower()
    for role, words in WORDS.items():
        if any(word in lowered for word in words):
            return role
    return None


def roles_of(machine: Machine) -> dict[str, str]:
    """Role of every member and block: by the words of its name, else by its place in the loop from the tool to the ground.

    What carries the tool is drawn as a spindle, what carries the work or stands on the ground as a bed, what is nearer to
    the tool than to the ground as a head, all else as a column.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    dict of str to str
    """
    to_tool = _steps(machine, {machine.tool.part})
    standing = {support.part for support in machine.supports} | {machine.work.part, GROUND}
    to_ground = _steps(machine, standing)
    found = {}
    for name in [m.name for m in machine.members] + [b.name for b in machine.blocks]:
        away, down = to_tool.get(name, math.inf), to_ground.get(name, math.inf)
        if away == 0 and down == 0:
            place = "column"
        elif away == 0:
            place = "spindle"
        elif down == 0:
            place = "bed"
        else:
            place = "head" if away < down else "column"
        found[name] = role_of(name) or place
    return found


def _steps(machine: Machine, start: set[str]) -> dict[str, int]:
    """Joints between some parts and every other."""
    found = dict.fromkeys(start, 0)
    edge = start
    while edge:
        near = {
            part
            for joint in machine.joints
            if edge & set(joint.parts)
            for part in joint.parts
            if part not in found
        }
        found |= dict.fromkeys(near, max(found.values()) + 1)
        edge = near
    return found


def colours_of(machine: Machine) -> dict[str, str]:
    """Colour of every member and block of a machine; the same in every figure of it.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    dict of str to str
        By their role; several of one role in shades of its colour.
    """
    by_role: dict[str, list[str]] = {}
    for name, role in roles_of(machine).items():
        by_role.setdefault(role, []).append(name)
    return {
        name: shade(ROLES[role], step)
        for role, parts in by_role.items()
        for name, step in zip(parts, _shades(role, len(parts)), strict=True)
    }


def _shades(role: str, count: int) -> list[float]:
    """Steps of lightness as far apart as may be; the first of two has the colour of the role itself."""
    dark, light = SHADES[role]
    if count < 3:
        return [0.0, max(dark, light, key=abs)][:count]
    return [float(step) for step in np.linspace(dark, light, count)]


def joint_looks(bars: Sequence[Sequence[str]]) -> dict[str, tuple[str, str]]:
    """Colour and pattern of joints: no two are alike, and those side by side in a bar have different colours.

    Parameters
    ----------
    bars : sequence of sequence of str
        Names along every bar.

    Returns
    -------
    dict of str to (str, str)

    Examples
    --------
    >>> looks = joint_looks([("base", "feet", "head"), ("feet", "base")])
    >>> len({looks["base"], looks["feet"]})
    2
    """
    near: dict[str, set[str]] = {name: set() for bar in bars for name in bar}
    for bar in bars:
        for one, other in itertools.pairwise(bar):
            near[one].add(other)
            near[other].add(one)
    found: dict[str, int] = {}
    looks: dict[str, tuple[str, str]] = {}
    used = [0] * len(JOINTS)
    for name in sorted(near, key=lambda n: -len(near[n])):
        taken = [found[other] for other in near[name] if other in found]
        # Where neighbours have every colour, the one that fewest of them have.
        best = min(range(len(JOINTS)), key=lambda k: (taken.count(k), used[k]))
        # The same colour again takes the pattern of another.
        looks[name] = (JOINTS[best][0], JOINTS[(best + 2 * used[best]) % len(JOINTS)][1])
        found[name] = best
        used[best] += 1
    return looks
