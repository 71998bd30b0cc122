"""One look for every figure: what colour a part has, how a field is coloured, sizes that survive 80 mm of width.

The palette is the project's own. Its colours differ in lightness as well as in hue, so that they can be told apart in grey
and by eyes that lack one kind of cone; `tests/views/test_style.py` measures that.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path

import matplotlib
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import LinearSegmentedColormap, to_hex, to_rgb
from matplotlib.figure import Figure

from strongback.machine.values import Machine
from strongback.project.atomic import write_bytes

__all__ = [
    "FIELD",
    "INK",
    "PALE",
    "ROLES",
    "SIGNED",
    "colours_of",
    "joint_colours",
    "new_figure",
    "png",
    "role_of",
    "save",
    "settings",
    "shade",
]

INK = "#22262b"
PALE = "#c9cfd4"
PAPER = "#ffffff"
ROLES: Mapping[str, str] = {
    "bed": "#101c26",
    "spindle": "#5f3a6b",
    "column": "#3579b8",
    "joints": "#dd6b4a",
    "wall": "#9aa5ad",
    "head": "#f0b93a",
    "fill": "#eadfc0",
}
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


def new_figure(width_mm: float, height_mm: float, *, laid_out: bool = True) -> Figure:
    """An empty figure of a size, with a canvas of its own and no global state.

    Parameters
    ----------
    width_mm, height_mm : float
        [mm]
    laid_out : bool
        Whether the places of axes and legends are found by matplotlib.

    Returns
    -------
    matplotlib.figure.Figure
    """
    figure = Figure(figsize=(width_mm / 25.4, height_mm / 25.4), dpi=DPI)
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
    names = [m.name for m in machine.members] + [b.name for b in machine.blocks]
    spare = [role for role in ("column", "head", "bed", "spindle") if role not in map(role_of, names)]
    by_role: dict[str, list[str]] = {}
    for name in names:
        role = role_of(name) or (spare.pop(0) if spare else "wall")
        by_role.setdefault(role, []).append(name)
    found = {}
    for role, parts in by_role.items():
        lightest = 0.55 if role in ("bed", "column", "spindle") else 0.4
        steps = np.linspace(0.0, lightest, len(parts)) if len(parts) > 1 else np.zeros(1)
        found.update({name: shade(ROLES[role], float(step)) for name, step in zip(parts, steps, strict=True)})
    return found


def joint_colours(machine: Machine) -> dict[str, str]:
    """Colour of every joint and support: shades of one colour, those that follow each other far apart.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    dict of str to str
    """
    names = [holder.name for _, holder in machine.holders()]
    steps = np.linspace(-0.45, 0.6, max(2, len(names)))
    half = -(-len(steps) // 2)
    order = [
        k for pair in zip(range(half), range(half, 2 * half), strict=True) for k in pair if k < len(steps)
    ]
    return {name: shade(ROLES["joints"], float(steps[k])) for name, k in zip(names, order, strict=False)}
