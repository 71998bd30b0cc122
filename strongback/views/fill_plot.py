"""Figures of a fill: grading, modulus against packing, cure, and the tool before and after."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import matplotlib
import numpy as np
from matplotlib.axes import Axes

from strongback.errors import QuestionError
from strongback.remedies.fill.bag import Bag
from strongback.remedies.fill.before_after import BeforeAfter
from strongback.remedies.fill.cure import CureFit, equivalent_time
from strongback.remedies.fill.elastic import Elastic
from strongback.remedies.fill.filled import Filled
from strongback.remedies.fill.grading import BlendFit, passing_of
from strongback.remedies.fill.modulus import mix_modulus
from strongback.remedies.fill.plan import FillPlan
from strongback.remedies.fill.stage import Stage
from strongback.views import style
from strongback.views.quantity import scale, unit_of

__all__ = ["cure_figure", "figure", "figures", "gain_figure", "grading_figure", "modulus_figure"]

GPA = 1e-9
DAY = 86400.0
LINES = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)), (0, (1, 1)))
COLUMN, JOINTS, HEAD = style.ROLES["column"], style.ROLES["joints"], style.ROLES["head"]


def grading_figure(bags: Sequence[Bag], fit: BlendFit, *, width_mm: float = 120.0) -> style.Picture:
    """Sieve curves of the bags, their blend, and the target."""
    with matplotlib.rc_context(style.settings()):
        figure = style.new_figure(width_mm, 0.72 * width_mm)
        axes = figure.subplots()
        shares = dict(fit.mass_shares)
        for bag, line in zip(bags, LINES, strict=False):
            d = np.geomspace(bag.sizes[0], bag.sizes[-1], 60)
            axes.plot(
                d * 1e3,
                100 * passing_of(bag, d),
                color="#7b858d",
                linewidth=0.9,
                linestyle=line,
                label=f"{bag.name}, {shares[bag.name]:.0%} by mass",
            )
        axes.plot(
            fit.sizes * 1e3, 100 * fit.wanted, color=JOINTS, linewidth=1.6, label=f"target: {fit.target.name}"
        )
        axes.plot(
            fit.sizes * 1e3,
            100 * fit.passing,
            color=COLUMN,
            linewidth=2.2,
            linestyle=(0, (4, 1.5)),
            label="blend",
        )
        _log_sizes(axes)
        axes.set_ylabel("passing [% of grain volume]")
        axes.set_ylim(0, 102)
        axes.set_title(f"Grading: blend within {100 * fit.rms:.1f} % (rms) of the target")
        figure.legend(loc="outside lower left", ncols=2, handlelength=2.8)
    return figure


def _log_sizes(axes: Axes) -> None:
    axes.set_xscale("log")
    marks = [
        m
        for m in (0.01, 0.03, 0.063, 0.125, 0.25, 0.5, 1, 2, 4, 8, 16)
        if axes.get_xlim()[0] <= m <= axes.get_xlim()[1]
    ]
    axes.set_xticks(marks, [f"{m:g}" for m in marks])
    axes.minorticks_off()
    axes.set_xlabel("grain size [mm]")


def modulus_figure(plan: FillPlan, *, width_mm: float = 120.0) -> style.Picture:
    """Bounds of the modulus against the share of grains, with the mix, its spread and its bars."""
    expected = plan.expected
    assert expected is not None  # the caller draws it only where there is a spread
    assert expected.spread is not None
    matrix, grains = Elastic(E=plan.mix.resin.E, nu=plan.mix.resin.nu), plan.mix.grain
    c = np.linspace(0.0, 0.95, 96)
    at = [mix_modulus(matrix, grains, float(v), plan.mix.air[0]) for v in c]
    with matplotlib.rc_context(style.settings()):
        figure = style.new_figure(width_mm, 0.62 * width_mm)
        axes = figure.subplots()
        axes.plot(
            c,
            [m.voigt * GPA for m in at],
            color="#7b858d",
            linewidth=0.8,
            linestyle=":",
            label="equal strain (Voigt)",
        )
        axes.plot(
            c,
            [m.reuss * GPA for m in at],
            color="#7b858d",
            linewidth=0.8,
            linestyle="-.",
            label="equal stress (Reuss)",
        )
        low, high = ([getattr(m, key).E * GPA for m in at] for key in ("lower", "upper"))
        axes.fill_between(
            c, low, high, color=style.ROLES["fill"], linewidth=0, label="Hashin-Shtrikman bounds, no air"
        )
        axes.plot(
            c,
            [m.default.E * GPA for m in at],
            color=COLUMN,
            linewidth=1.8,
            label=f"lower bound with {plan.mix.air[0]:.0%} air",
        )
        share = 1.0 - plan.mixture.recipe.resin_volume_fraction if plan.mixture else 0.0
        spread = expected.spread
        axes.errorbar(
            [share],
            [spread.median * GPA],
            yerr=[[(spread.median - spread.low) * GPA], [(spread.high - spread.median) * GPA]],
            fmt="s",
            color=COLUMN,
            markersize=5,
            capsize=3,
            label="this mix, from its parts (95 %)",
        )
        if expected.cure is not None:
            low_E, high_E = expected.interval()
            axes.errorbar(
                [share + 0.015],
                [expected.E * GPA],
                yerr=[[(expected.E - low_E) * GPA], [(high_E - expected.E) * GPA]],
                fmt="D",
                color=JOINTS,
                markersize=5,
                capsize=3,
                label="in the column, from its bars (95 %)",
            )
        axes.set_xlim(0, 0.95)
        axes.set_ylim(0, 45)
        axes.set_xlabel("grains by volume of grains and resin [-]")
        axes.set_ylabel("Young's modulus [GPa]")
        axes.set_title("Modulus against packing")
        figure.legend(loc="outside lower left", ncols=2)
    return figure


def cure_figure(fit: CureFit, temperature: float, *, width_mm: float = 120.0) -> style.Picture:
    """Modulus against days at one temperature, with the bars at the age that is equal to theirs at it."""
    unit = float(equivalent_time(fit.kinetics, [Stage(duration=1.0, temperature=temperature)]))
    ages = [float(equivalent_time(fit.kinetics, r.history)) / unit / DAY for r in fit.readings]
    days = np.linspace(0.0, max(14.0, 1.3 * max(ages)), 180)
    curve = np.array(
        [fit.expected([Stage(duration=float(d) * DAY, temperature=temperature)]) for d in days[1:]]
    )
    solid = curve[:, 0] > 0.15 * fit.E_final  # nearer to gel the interval means nothing
    with matplotlib.rc_context(style.settings()):
        figure = style.new_figure(width_mm, 0.62 * width_mm)
        axes = figure.subplots()
        low, high = fit.interval
        axes.axhspan(
            low * GPA, high * GPA, color=style.ROLES["fill"], linewidth=0, label="final modulus, 95 %"
        )
        axes.axhline(fit.E_final * GPA, color=style.INK, linewidth=0.8, linestyle=":")
        axes.fill_between(
            days[1:][solid],
            curve[solid, 1] * GPA,
            curve[solid, 2] * GPA,
            color=COLUMN,
            alpha=0.25,
            linewidth=0,
        )
        axes.plot(
            days[1:][solid], curve[solid, 0] * GPA, color=COLUMN, linewidth=1.8, label="fitted curve, 95 %"
        )
        axes.errorbar(
            ages,
            [r.E * GPA for r in fit.readings],
            yerr=[1.96 * r.u * GPA for r in fit.readings],
            fmt="o",
            color=JOINTS,
            markersize=5,
            capsize=3,
            label="test bars, 95 %",
        )
        axes.set_xlim(0, days[-1])
        axes.set_ylim(0, 1.15 * max(high * GPA, *(r.E * GPA for r in fit.readings)))
        axes.set_xlabel(f"age at {temperature - 273.15:.0f} °C [days]")
        axes.set_ylabel("Young's modulus [GPa]")
        axes.set_title(f"Cure: {fit.E_final * GPA:.1f} GPa in the end ({low * GPA:.1f} to {high * GPA:.1f})")
        axes.legend(loc="lower right")
    return figure


def gain_figure(found: BeforeAfter, title: str, *, width_mm: float = 140.0) -> style.Picture:
    """Deflection of the tool before and after with intervals, and what would be left with a rigid member."""
    with matplotlib.rc_context(style.settings()):
        n = len(found.pulls)
        figure = style.new_figure(width_mm, 20.0 + 17.0 * n)
        axes = figure.subplots()
        for i, gain in enumerate(found.pulls):
            for offset, values, colour, name in (
                (-0.19, gain.before, "#9aa5ad", "before"),
                (0.19, gain.after, COLUMN, "after"),
            ):
                low, middle, high = (v / scale("µm") for v in values)
                axes.barh(i + offset, middle, height=0.34, color=colour, label=name if i == 0 else None)
                axes.errorbar(
                    middle,
                    i + offset,
                    xerr=[[middle - low], [high - middle]],
                    color=style.INK,
                    capsize=2.5,
                    linewidth=0.9,
                )
            left = gain.ceiling * gain.before[1] / scale("µm")
            axes.plot(
                [left, left],
                [i - 0.4, i + 0.4],
                color=JOINTS,
                linewidth=1.8,
                linestyle="--",
                label="if the filled member were rigid" if i == 0 else None,
            )
            low, middle, high = gain.ratio
            axes.annotate(
                f"ratio {middle:.2f} ({low:.2f} to {high:.2f})",
                (max(gain.before[2], gain.after[2]) / scale("µm"), i),
                xytext=(5, 0),
                textcoords="offset points",
                va="center",
                fontsize=style.SMALL,
            )
        widest = max(max(g.before[2], g.after[2]) for g in found.pulls) / scale("µm")
        axes.set_xlim(0, 1.45 * widest)
        axes.set_yticks(range(n), [g.pull for g in found.pulls])
        axes.set_ylim(n - 0.45, -0.55)
        axes.tick_params(axis="y", length=0)
        axes.set_xlabel(f"tool deflection along the pull [{unit_of('µm')}]; bars: median, whiskers: 95 %")
        axes.set_title(title)
        figure.legend(loc="outside lower left", ncols=3)
    return figure


def figure(found: Filled, *, width_mm: float = 140.0) -> style.Picture:
    """The tool before and after; for a fill that does nothing at the tool, its grading.

    Parameters
    ----------
    found : Filled
    width_mm : float

    Returns
    -------
    Picture

    Raises
    ------
    QuestionError
        If there is neither.
    """
    plan = found.plan
    if found.found is not None:
        title = f"{plan.mix.member} filled: the tool before and after"
        return gain_figure(found.found, title, width_mm=width_mm)
    if plan.mixture is None:
        raise QuestionError("this fill has no picture", hint="it adds mass only, and is not mixed")
    return grading_figure(plan.mix.bags, plan.mixture.fit)


def figures(found: Filled) -> Iterator[tuple[str, style.Picture]]:
    """Every figure that a fill gives rise to, with the name of its file."""
    plan, expected = found.plan, found.plan.expected
    if found.found is not None:
        yield "fill-before-after.png", figure(found)
    if plan.mixture is not None:
        yield "fill-grading.png", grading_figure(plan.mix.bags, plan.mixture.fit)
    if expected is not None and expected.spread is not None:
        yield "fill-modulus.png", modulus_figure(plan)
    if expected is not None and expected.cure is not None and math.isfinite(expected.cure.E_final):
        yield "fill-cure.png", cure_figure(expected.cure, plan.mix.workshop.pour)
