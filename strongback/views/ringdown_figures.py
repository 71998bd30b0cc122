"""The recording with its hits, and damping against amplitude."""

from __future__ import annotations

from collections.abc import Iterator

import matplotlib
import numpy as np
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from strongback.vibration.ringdown.told import RingDown
from strongback.views import style

__all__ = ["figure", "figures"]

POINTS = 4000  # of the recording that are drawn


def figure(found: RingDown, *, width_mm: float = 160.0) -> style.Picture:
    """The recording in time, and below damping of each halving against amplitude.

    Parameters
    ----------
    found : RingDown
    width_mm : float
        [mm]

    Returns
    -------
    Picture
    """
    both = bool(found.halvings)
    with matplotlib.rc_context(style.settings()):
        page = style.new_figure(width_mm, 100.0 if both else 55.0)
        upper, *lower = page.subplots(2 if both else 1, 1, squeeze=False)[:, 0]
        step = max(1, len(found.signal) // POINTS)
        whole = len(found.signal) // step * step
        t = np.arange(whole // step) * step / found.rate
        blocks = found.signal[:whole].reshape(-1, step)
        upper.fill_between(t, blocks.min(axis=1), blocks.max(axis=1), color=style.INK, linewidth=0.4)
        for hit in found.hits:
            upper.axvline(hit.at, color=style.ROLES["joints"], linewidth=1.0)
        upper.set_xlabel("time [s]")
        upper.set_ylabel("recording")
        for axes in lower:
            for k in sorted({h.hit for h in found.halvings}):
                own = [h for h in found.halvings if h.hit == k]
                axes.errorbar(
                    [h.amplitude * 0.5**0.5 for h in own],
                    [100.0 * h.damping_ratio for h in own],
                    yerr=[100.0 * h.u_damping_ratio for h in own],
                    color=style.INK,
                    marker="o",
                    markersize=3.0,
                    linewidth=0.9,
                    capsize=2.0,
                )
            axes.set_xscale("log")
            axes.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
            axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
            axes.xaxis.set_minor_formatter(NullFormatter())
            axes.invert_xaxis()
            axes.set_ylim(bottom=0.0)
            axes.set_xlabel("amplitude, dying out to the right")
            axes.set_ylabel("damping ratio [%]")
    return page


def figures(found: RingDown) -> Iterator[tuple[str, style.Picture]]:
    """The one picture, with the name of its file."""
    yield "ring-down.png", figure(found)
