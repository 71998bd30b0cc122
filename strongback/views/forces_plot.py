"""Diagrams of the forces in members: tension, shear, bending, torque and bimoment along each."""

from __future__ import annotations

import textwrap

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from strongback.errors import InputError
from strongback.machine.cases import CaseResult
from strongback.machine.section_forces import FORCES, MemberForces
from strongback.views import style
from strongback.views.tables import number

__all__ = ["forces_figure"]

Array = NDArray[np.float64]
PANELS = ((2,), (0, 1), (3, 4), (5,), (6,))  # which forces share a diagram
SMALL = 1e-6  # of the largest of its kind: no diagram is drawn of less
LINES = ("-", "--")
NARROW = 120.0  # width below which three diagrams stand side by side, not all [mm]


def forces_figure(found: CaseResult, *, width_mm: float = 160.0) -> style.Picture:
    """Draw the forces along every member that is a beam.

    Parameters
    ----------
    found : CaseResult
    width_mm : float
        Of the figure [mm].

    Returns
    -------
    Picture

    Raises
    ------
    InputError
        If no member is a beam.
    """
    if not found.members:
        raise InputError("no member is a beam, so that there are no forces along one to draw")
    scale = _scales(found)
    shown = [panel for panel in PANELS if any(scale[k] > 0.0 for k in panel)] or [PANELS[0]]
    across = len(shown) if width_mm >= NARROW else min(2, len(shown))
    rows_each = -(-len(shown) // across)
    colours = style.colours_of(found.loop.machine)
    with matplotlib.rc_context(style.settings()):
        count = rows_each * len(found.members)
        figure = style.new_figure(width_mm, 31.0 * count + 12.0)
        every = figure.subplots(count, across, squeeze=False)
        for i, own in enumerate(found.members):
            block = every[i * rows_each : (i + 1) * rows_each].ravel()
            for axes, panel in zip(block, shown, strict=False):
                _diagram(axes, own, panel, colours[own.member], float(max(scale[k] for k in panel)))
            for axes in block[len(shown) :]:
                axes.set_axis_off()
            block[0].set_title(own.member)
        figure.suptitle(
            textwrap.fill(f"{found.loop.machine.name}: forces in members, {found.name}", int(width_mm / 1.9)),
            x=0.01,
            ha="left",
            fontsize=style.NORMAL + 1,
            fontweight="bold",
        )
        if any(len(panel) > 1 for panel in shown):
            lines = [Line2D([], [], color=style.INK, linewidth=1.2, linestyle=line) for line in LINES]
            figure.legend(lines, ["Vx, Mx", "Vy, My"], loc="outside lower left", ncols=2)
    return figure


def _scales(found: CaseResult) -> Array:
    """Largest of every force over all members; what is rounding beside its kind is none."""
    largest = np.max([np.abs(own.forces).max(axis=0) for own in found.members], axis=0)
    force, moment = max(largest[:3]), max(largest[3:6])
    length = max(float(own.s[-1]) for own in found.members)
    whole = max(force, moment / length, 1e-300)
    kinds = np.array([whole] * 3 + [whole * length] * 3 + [whole * length**2])
    return np.where(largest > SMALL * kinds, largest, 0.0)


def _diagram(axes: Axes, own: MemberForces, panel: tuple[int, ...], colour: str, scale: float) -> None:
    s = 1e3 * own.s
    for line, k in zip(LINES, panel, strict=False):
        values = own.forces[:, k]
        dark = style.shade(colour, -0.25)
        axes.plot(s, values, line, color=dark, linewidth=1.2, label=FORCES[k][0])
        if line == "-":
            axes.fill_between(s, values, color=colour, alpha=0.25, linewidth=0.0)
    axes.axhline(0.0, color=style.INK, linewidth=0.6)
    axes.set_xlim(0.0, float(s[-1]))
    if scale > 0.0:
        axes.set_ylim(-1.15 * scale, 1.15 * scale)
    axes.xaxis.set_major_locator(MaxNLocator(3, steps=[1, 2, 5, 10]))
    axes.yaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 5, 10]))
    axes.yaxis.set_major_formatter(lambda v, _: number(v, 3) if v else "0")
    axes.set_xlabel("along [mm]")
    axes.set_ylabel(f"{', '.join(FORCES[k][0] for k in panel)} [{FORCES[panel[0]][1]}]")
