"""A fill as text and as plain data: what it does at the tool first, then what to expect, to mix, to pour, to mind."""

from __future__ import annotations

import textwrap
from typing import Any

from strongback.machine.values import Machine
from strongback.remedies.fill.balance import Tipping, lifting_note, standing
from strongback.remedies.fill.before_after import BeforeAfter
from strongback.remedies.fill.cautions import CAUTIONS
from strongback.remedies.fill.interval import interval_of
from strongback.remedies.fill.mixture import Mixture
from strongback.remedies.fill.plan import FillPlan
from strongback.remedies.fill.voids import VoidResult
from strongback.views.tables import Column, number, table

__all__ = [
    "answer",
    "as_dict",
    "cautions_text",
    "expect_text",
    "gain_table",
    "mix_text",
    "pour_text",
    "stand_text",
    "warnings_text",
]

UM, GPA = 1e6, 1e-9


def answer(plan: FillPlan, found: BeforeAfter | None) -> str:
    """The line that matters most."""
    if found is None:
        return f"{plan.kind.name}: {plan.mass:.1f} kg more and some damping; the stiffness stays as it was."
    lines = []
    for gain in found.pulls:
        low, middle, high = gain.ratio
        text = (
            f"{gain.pull}: {number(gain.before[1] * UM, 3)} to {number(gain.after[1] * UM, 3)} µm, "
            f"ratio {middle:.2f} (95 % {low:.2f} to {high:.2f})"
        )
        if gain.target is not None and gain.probability is not None:
            text += f"; goal {gain.target:g} is reached with a probability of {_chance(gain.probability, found.draws)}"
        lines.append(text)
    return "\n".join(lines)


def _chance(p: float, draws: int) -> str:
    """A probability from counted draws is not known better than a few per cent."""
    if p * draws < 1.0:
        return f"below {max(1.0 / draws, 0.01):.0%}"
    if (1.0 - p) * draws < 1.0:
        return f"above {1.0 - max(1.0 / draws, 0.01):.0%}"
    return f"{p:.0%}"


def gain_table(plan: FillPlan, found: BeforeAfter, width: int) -> str:
    """Before, after, ratio, the arithmetic and the ceiling, for each pull."""
    columns = [
        Column("pull"),
        Column("before", "µm", "right"),
        Column("after", "µm", "right"),
        Column("ratio", "95 %", "right"),
        Column("share s", "%", "right"),
        Column("r", "", "right"),
        Column("1-s(1-r)", "", "right"),
        Column("ceiling", "", "right"),
        Column("loose", "", "right"),
    ]
    rows = [
        [
            g.pull,
            number(g.before[1] * UM, 3),
            number(g.after[1] * UM, 3),
            f"{g.ratio[0]:.2f} to {g.ratio[2]:.2f}",
            f"{100 * g.share:.0f}",
            f"{g.r:.2f}",
            f"{g.by_arithmetic:.2f}",
            f"{g.ceiling:.2f}",
            f"{g.loose:.2f}",
        ]
        for g in found.pulls
    ]
    spread = ", ".join(f"{name} {share:.0%}" for name, share in found.sources if share >= 0.01)
    lines = [
        table(columns, rows, width=width),
        _wrapped(
            f"s: share of {plan.mix.member} today; r: what its own compliance is multiplied by; ceiling: ratio left if "
            f"{plan.mix.member} were rigid; loose: ratio if the fill let go of the walls all over. Spread of the first "
            f"ratio from: {spread or 'nothing that was given a range'}.",
            width,
        ),
    ]
    guesses = ", ".join(
        f"{g.pull} {number(g.best_guess[0] * UM, 3)} to {number(g.best_guess[1] * UM, 3)} µm"
        for g in found.pulls
    )
    lines.append(
        _wrapped(
            "Before and after are medians over all that is not known. With every stiffness at its best guess and the "
            f"fill as meant: {guesses}; the first of each is what deflect says.",
            width,
        )
    )
    return "\n".join([*lines, *(_wrapped(note, width) for note in found.notes)])


def stand_text(plan: FillPlan, found: BeforeAfter | None, machine: Machine, width: int) -> str:
    """Mass, frequency, lifting and tipping."""
    lines = [f"fill {number(plan.mass, 3)} kg in {number(plan.volume * 1e3, 3)} L"]
    if found is not None:
        lines.append(f"machine as described: {found.mass[0]:.1f} to {found.mass[1]:.1f} kg")
        if found.frequency[0] == found.frequency[0]:
            one, two = found.frequency
            lines.append(
                f"first natural frequency: {number(one, 3)} to {number(two, 3)} Hz "
                f"(ratio 95 % {found.frequency_ratio[0]:.2f} to {found.frequency_ratio[2]:.2f})"
            )
        for word, mass, centre in zip(("before", "after"), found.mass, found.centre, strict=True):
            lines.append(_tipping_line(word, standing(machine, mass, centre)))
        bent = max(abs(b) for b in found.bow) * UM
        if bent >= 0.005:
            lines.append(
                f"{plan.mix.member}: its end bows {number(bent, 2)} µm for each kelvin, held at its start"
            )
    moving = [t.name for t in machine.travels if plan.mix.member in t.parts]
    if moving:
        lines.append(
            f"{plan.mix.member} moves ({', '.join(moving)}): its drive and counterbalance carry the fill, too"
        )
    lines.append(lifting_note(f"{plan.mix.member}: the fill alone", plan.mass))
    return "\n".join(_wrapped(line, width) for line in lines if line)


def _tipping_line(word: str, tip: Tipping | None) -> str:
    if tip is None:
        return ""
    if tip.moment <= 0.0:
        return f"{word}: falls over when it stands free on its feet; bolt it down"
    return (
        f"{word}: centre of mass {tip.centre[2] * 1e3:.0f} mm up; standing free it holds {tip.moment:.0f} N m against "
        f"tipping, {tip.sideways:.0f} N sideways at its centre of mass"
    )


def expect_text(plan: FillPlan, width: int) -> str:
    """Modulus, its basis, the bars, gap and thermal stress."""
    e = plan.expected
    if e is None:
        return "no stiffness"
    low, high = e.interval()
    lines = [f"E {e.E * GPA:.1f} GPa (95 % {low * GPA:.1f} to {high * GPA:.1f}) from: {e.basis}"]
    if e.theory is not None and e.spread is not None:
        lines.append(
            f"from its parts {e.spread.median * GPA:.1f} GPa ({e.spread.low * GPA:.1f} to {e.spread.high * GPA:.1f}); "
            f"bounds without air {e.theory.lower.E * GPA:.1f} to {e.theory.upper.E * GPA:.1f}, equal stress "
            f"{e.theory.reuss * GPA:.1f}, equal strain {e.theory.voigt * GPA:.1f} GPa"
        )
    for name, verdict in e.verdicts:
        lines.append(f"{name}: {verdict}")
    if e.air:
        lines.append("air in the bars by weight: " + ", ".join(f"{name} {air:.1%}" for name, air in e.air))
    for name, gap in plan.gaps:
        word = "the wall grips the fill by" if gap.closed else "gap of"
        where = name if "were it" in name else f"{name} ({gap.wall})"
        lines.append(f"{where}: {word} {abs(gap.gap) * UM:.1f} µm at the wall")
    lo, hi = (v * 1e-6 for v in plan.stress_range)
    lines.append(f"fill stress along the member over the year, bonded: {lo:.2f} to {hi:.2f} MPa")
    if plan.knee is not None:
        lines.append(f"load staircase: {plan.knee}")
    if plan.air_by_weight is not None:
        lines.append(f"air by the weight of the fill: {plan.air_by_weight:.1%}")
    return "\n".join(_wrapped(line, width) for line in lines)


def mix_text(plan: FillPlan, width: int) -> str:
    """Grading, voids and grams."""
    m = plan.mixture
    if m is None:
        notes = "\n".join(_wrapped(f"- {note}", width) for note in plan.kind.notes)
        return f"{plan.kind.name}, {plan.kind.density:.0f} kg/m³\n{notes}"
    r = m.recipe
    rows = [
        ["resin A", *_grams(r.batch.resin_a, r.whole.resin_a)],
        ["hardener B", *_grams(r.batch.resin_b, r.whole.resin_b)],
    ]
    whole = dict(r.whole.grains)
    rows += [[name, *_grams(mass, whole[name])] for name, mass in r.batch.grains]
    columns = [Column("weigh"), Column("one batch", "g", "right"), Column(f"all {r.batches}", "g", "right")]
    lines = [
        table(columns, rows, width=width),
        f"resin {r.resin_mass_fraction:.1%} by mass, {r.resin_volume_fraction:.1%} by volume; "
        f"{r.density:.0f} kg/m³ without air",
    ]
    if r.cost > 0.0:
        lines.append(f"materials cost {r.cost:.2f}")
    return "\n".join([*lines, *(_wrapped(line, width) for line in _void_lines(m))])


def _grams(batch: float, whole: float) -> list[str]:
    return [f"{batch * 1e3:.0f}", f"{whole * 1e3:.0f}"]


def _void_lines(m: Mixture) -> list[str]:
    lines = [
        f"grading: {m.fit.target.name}, blend within {m.fit.rms:.1%} rms; largest grain allowed "
        f"{m.largest_allowed * 1e3:.1f} mm",
        f"voids predicted by the linear packing model {m.packing.void_fraction:.3f} (ideal limit {1 - m.ideal:.3f}); "
        f"mixed for {m.void_in_cells:.3f} with the looser packing at the walls",
    ]
    v = m.voids
    if v is None:
        return [*lines, "voids not measured"]
    return [*lines, *_measured_voids(v)]


def _measured_voids(v: VoidResult) -> list[str]:
    low, high = interval_of(v.void_fraction)
    text = f"voids measured {v.void_fraction.value:.3f} ({low:.3f} to {high:.3f}, {v.void_fraction.repeats} fillings)"
    if v.by_water is not None and v.trapped_air is not None:
        text += f"; by water {v.by_water.value:.3f}, difference {v.trapped_air:.1%}"
    return [text]


def pour_text(plan: FillPlan, width: int) -> str:
    """Pressure, bulge, heat, layers."""
    p = plan.pour
    lines = [f"pressure at the foot of the pour {p.pressure / 1e3:.1f} kPa"]
    for name, bulge in p.bulges:
        lines.append(
            f"widest wall of {name} bulges {number(bulge.clamped * UM, 2)} µm (held edges) to "
            f"{number(bulge.supported * UM, 2)} µm (free to turn)"
        )
    if p.across is not None:
        lines.append(
            f"temperature rise without loss {p.adiabatic:.0f} K; poured at once {_degrees(p.across.peak)} after "
            f"{p.across.peak_time / 3600:.1f} h in the middle"
        )
    n = p.layers
    if plan.mixture is not None:
        lines.append(
            f"{n.count} layer(s) of {n.height * 1e3:.0f} mm, {n.batches} batch(es) each; each batch placed and compacted "
            f"{n.minutes_per_batch:.0f} min after mixing at the latest"
        )
        if n.count > 1 and p.layer is not None:
            lines.append(
                f"each layer peaks at {_degrees(p.layer.peak)}; wait {n.wait / 3600:.1f} h before the next"
            )
    for item in p.buried:
        lines.append(f"{item.name}: {'BURIED; ' if item.blocked else ''}{item.advice}")
    return "\n".join(_wrapped(line, width) for line in lines)


def _degrees(kelvin: float) -> str:
    return f"{kelvin - 273.15:.0f} °C"


def warnings_text(plan: FillPlan, width: int) -> str:
    """What to look at before anything is mixed."""
    return "\n".join(_wrapped(f"! {text}", width) for text in plan.warnings) or "none"


def cautions_text(plan: FillPlan, width: int) -> str:
    """Every step with the hazards beside it and whom to ask."""
    lines = []
    for step in plan.steps:
        hazards = "; ".join(CAUTIONS[key].hazard for key in step.cautions)
        lines.append(_wrapped(f"{step.name}: {hazards}", width))
    own = [CAUTIONS[key] for key in plan.kind.cautions]
    lines += [_wrapped(f"{c.hazard}: {c.text}. Ask: {c.defer_to}", width) for c in own]
    lines.append(
        _wrapped(
            "Not complete, and no approval of any lift, pour or structure: data sheets, local rules and licensed practice "
            "come first.",
            width,
        )
    )
    return "\n".join(lines)


def _wrapped(text: str, width: int) -> str:
    return "\n".join(textwrap.wrap(text, width, subsequent_indent="  ")) or ""


def as_dict(plan: FillPlan, found: BeforeAfter | None, machine: Machine) -> dict[str, Any]:
    """Plain data with SI units in the keys."""
    return {
        "member": plan.mix.member,
        "fill": plan.kind.name,
        "volume_m3": plan.volume,
        "fill_mass_kg": plan.mass,
        "mixture": _mixture_dict(plan.mixture),
        "expected": _expected_dict(plan),
        "gaps": [{"where": n, "wall": g.wall, "gap_m": g.gap, "closed": g.closed} for n, g in plan.gaps],
        "fill_stress_range_Pa": list(plan.stress_range),
        "pour": _pour_dict(plan),
        "before": None if found is None else {g.pull: g.best_guess[0] for g in found.pulls},
        "after_as_meant": None if found is None else {g.pull: g.best_guess[1] for g in found.pulls},
        "before_after": None if found is None else _gain_dict(found, machine),
        "steps": [
            {
                "name": s.name,
                "actions": list(s.actions),
                "cautions": [
                    {"hazard": CAUTIONS[k].hazard, "text": CAUTIONS[k].text, "defer_to": CAUTIONS[k].defer_to}
                    for k in s.cautions
                ],
            }
            for s in plan.steps
        ],
        "warnings": list(plan.warnings),
    }


def _mixture_dict(m: Mixture | None) -> dict[str, Any] | None:
    if m is None:
        return None
    r = m.recipe
    return {
        "bags": [{"name": n, "mass_share": s} for n, s in m.mass_shares],
        "target": m.fit.target.name,
        "rms_passing": m.fit.rms,
        "void_fraction": None if m.voids is None else m.voids.void_fraction.value,
        "void_fraction_u": None if m.voids is None else m.voids.void_fraction.u,
        "trapped_air": None if m.voids is None else m.voids.trapped_air,
        "void_fraction_predicted": m.packing.void_fraction,
        "void_fraction_in_cells": m.void_in_cells,
        "largest_grain_allowed_m": m.largest_allowed,
        "resin_mass_fraction": r.resin_mass_fraction,
        "density_kg_per_m3": r.density,
        "batches": r.batches,
        "batch": {
            "resin_a_kg": r.batch.resin_a,
            "resin_b_kg": r.batch.resin_b,
            "grains": [{"name": n, "mass_kg": mass} for n, mass in r.batch.grains],
        },
        "cost": r.cost,
    }


def _expected_dict(plan: FillPlan) -> dict[str, Any] | None:
    e = plan.expected
    if e is None:
        return None
    low, high = e.interval()
    return {
        "E_Pa": e.E,
        "E_low_Pa": low,
        "E_high_Pa": high,
        "nu": e.nu,
        "basis": e.basis,
        "lower_bound_Pa": None if e.theory is None else e.theory.lower.E,
        "upper_bound_Pa": None if e.theory is None else e.theory.upper.E,
        "bars": [
            {"name": n, "method": b.method, "E_Pa": b.E, "u_Pa": b.u, "notes": list(b.notes)}
            for n, b in e.tests
        ],
        "verdicts": [{"name": n, "text": t} for n, t in e.verdicts],
        "expansion_per_K": plan.expansion,
    }


def _pour_dict(plan: FillPlan) -> dict[str, Any]:
    p = plan.pour
    return {
        "pressure_Pa": p.pressure,
        "bulges": [{"cell": n, "clamped_m": b.clamped, "supported_m": b.supported} for n, b in p.bulges],
        "adiabatic_rise_K": p.adiabatic,
        "peak_K": None if p.across is None else p.across.peak,
        "layers": p.layers.count,
        "layer_height_m": p.layers.height,
        "wait_between_layers_s": p.layers.wait,
        "buried": [{"name": b.name, "blocked": b.blocked, "advice": b.advice} for b in p.buried],
    }


def _gain_dict(found: BeforeAfter, machine: Machine) -> dict[str, Any]:
    tips = [standing(machine, m, c) for m, c in zip(found.mass, found.centre, strict=True)]
    return {
        "pulls": [
            {
                "name": g.pull,
                "force_N": g.force,
                "before_m": list(g.before),
                "after_m": list(g.after),
                "ratio": list(g.ratio),
                "share": g.share,
                "r": g.r,
                "ratio_by_arithmetic": g.by_arithmetic,
                "ceiling": g.ceiling,
                "ratio_if_let_go": g.loose,
                "goal": g.target,
                "probability": g.probability,
            }
            for g in found.pulls
        ],
        "mass_kg": list(found.mass),
        "centre_of_mass_m": [[float(v) for v in c] for c in found.centre],
        "righting_moment_N_m": [None if t is None else t.moment for t in tips],
        "first_frequency_Hz": list(found.frequency),
        "frequency_ratio": list(found.frequency_ratio),
        "bow_m_per_K": list(found.bow),
        "spread_from": [{"name": n, "share": s} for n, s in found.sources],
        "draws": found.draws,
        "notes": list(found.notes),
    }
