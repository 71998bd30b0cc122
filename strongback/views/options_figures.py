"""Pictures of options: what is left of the deflection against money and mass, dominated ones in grey."""

from __future__ import annotations

from collections.abc import Iterator

import matplotlib
import numpy as np

from strongback.ask.source import pick
from strongback.remedies.options.weighed import WeighedOption, WeighedOptions
from strongback.views import style
from strongback.views.style import Picture

__all__ = ["figure", "figures"]

WIDTH, HEIGHT = 170.0, 105.0


def figure(found: WeighedOptions, *, pull: str = "") -> Picture:
    """What is left of the deflection against cost and against mass.

    Parameters
    ----------
    found : WeighedOptions
    pull : str
        Default: the first.

    Returns
    -------
    Picture

    Raises
    ------
    QuestionError
        If there is no such pull.
    """
    names = [name for name, _ in found.before]
    which = names.index(pick(pull, names, "pull")) if pull else 0
    gaining = [o for o in found.options if o.gain]
    with matplotlib.rc_context(style.settings()):
        made = style.new_figure(WIDTH, HEIGHT)
        left, right = made.subplots(1, 2, sharey=True)
        _panel(left, gaining, which, [o.cost for o in gaining], "cost [euro]")
        _panel(right, gaining, which, [o.mass for o in gaining], "added mass [kg]")
        left.set_ylabel(f"left of the deflection, {names[which]} [%]")
        made.suptitle(
            "Options: down is stiffer, left is cheaper or lighter; grey: another does as much for less"
        )
    return made


def _panel(
    axes: matplotlib.axes.Axes, options: list[WeighedOption], which: int, across: list[float], label: str
) -> None:
    """One panel: points with their intervals, the front of those that nothing beats."""
    axes.axhline(100.0, color=style.PALE, lw=0.8, zorder=0)
    front = _front(across, [o.gain[which].ratio for o in options])
    axes.step(
        [across[i] for i in front],
        [100.0 * options[i].gain[which].ratio for i in front],
        where="post",
        color="0.55",
        lw=1.0,
        zorder=1,
    )
    for i, option in enumerate(options):
        gain = option.gain[which]
        colour = style.PALE if option.dominated else "C0"
        axes.plot([across[i]] * 2, [100.0 * gain.low, 100.0 * gain.high], color=colour, lw=1.0, zorder=2)
        axes.plot(across[i], 100.0 * gain.ratio, "o", ms=4, color=colour, zorder=3)
        if i in front or not option.dominated:
            axes.annotate(
                option.name,
                (across[i], 100.0 * gain.ratio),
                xytext=(4, 4),
                textcoords="offset points",
                fontsize=6,
                color=style.INK,
            )
    axes.set_xlabel(label)
    axes.margins(x=0.12)


def _front(across: list[float], ratios: list[float]) -> list[int]:
    """Points that no other beats in both, from left to right."""
    order = np.lexsort((ratios, across))
    found: list[int] = []
    for i in order:
        if not found or ratios[i] < ratios[found[-1]] - 1e-12:
            found.append(int(i))
    return found


def figures(found: WeighedOptions, **how: str) -> Iterator[tuple[str, Picture]]:
    """The picture of every pull.

    Parameters
    ----------
    found : WeighedOptions
    """
    for k, (name, _) in enumerate(found.before):
        yield f"options-{k + 1}.png", figure(found, pull=name)
