"""A fill in words and tables: what it does at the tool first, then what to expect, to mix, to pour, to mind."""

from __future__ import annotations

from collections.abc import Iterable

from strongback.machine.values import Machine
from strongback.remedies.fill.balance import Tipping, lifting_note, standing
from strongback.remedies.fill.before_after import BeforeAfter
from strongback.remedies.fill.cautions import CAUTIONS
from strongback.remedies.fill.filled import Filled
from strongback.remedies.fill.interval import interval_of
from strongback.remedies.fill.mixture import Mixture
from strongback.remedies.fill.plan import FillPlan
from strongback.remedies.fill.recipe import Recipe
from strongback.remedies.fill.voids import VoidResult
from strongback.views.quantity import said
from strongback.views.sheet import Block, Heading, Sheet, Words
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import number

__all__ = [
    "answer",
    "cautions_text",
    "expect_text",
    "gain_table",
    "mix_text",
    "pour_text",
    "sheet",
    "stand_text",
    "warnings_text",
]

UM, GPA = 1e6, 1e-9


def sheet(found: Filled) -> Sheet:
    """The answer at the tool first, then what to look at, mass, modulus, grams, pour, cautions.

    Parameters
    ----------
    found : Filled
    """
    plan, effect = found.plan, found.found
    blocks: list[Block] = [
        Heading(f"{found.machine.name}: {plan.mix.member} filled with {plan.kind.name}"),
        *answer(plan, effect),
    ]
    if effect is not None:
        blocks += ["", Heading("At the tool"), *gain_text(plan, effect)]
    for head, own in (
        ("Look at this first", warnings_text(plan)),
        ("Mass and standing", stand_text(plan, effect, found.machine)),
        ("What to expect of the fill", expect_text(plan)),
        ("Mix", mix_text(plan)),
        ("Pour", pour_text(plan)),
        ("Cautions", cautions_text(plan)),
    ):
        blocks += ["", Heading(head), *own]
    return Sheet(tuple(blocks))


def _lines(texts: Iterable[str]) -> list[Block]:
    return [Words(text, then="  ") for text in texts if text]


def answer(plan: FillPlan, found: BeforeAfter | None) -> list[Block]:
    """The lines that matter most."""
    if found is None:
        said = f"{plan.kind.name}: {plan.mass:.1f} kg more and some damping; the stiffness stays as it was."
        return [said]
    lines: list[Block] = []
    for gain in found.pulls:
        low, middle, high = gain.ratio
        text = (
            f"{gain.pull}: {_from_to(gain.before[1], gain.after[1])}, "
            f"ratio {middle:.2f} (95 % {low:.2f} to {high:.2f})"
        )
        if gain.target is not None and gain.probability is not None:
            text += f"; goal {gain.target:g} is reached with a probability of {_chance(gain.probability, found.draws)}"
        lines.append(text)
    return lines


def _chance(p: float, draws: int) -> str:
    """A probability from counted draws is not known better than a few per cent."""
    if p * draws < 1.0:
        return f"below {max(1.0 / draws, 0.01):.0%}"
    if (1.0 - p) * draws < 1.0:
        return f"above {1.0 - max(1.0 / draws, 0.01):.0%}"
    return f"{p:.0%}"


def gain_table(found: BeforeAfter) -> Table:
    """Before, after, ratio, the arithmetic and the ceiling, for each pull."""
    columns = (
        Head("pull"),
        Head("before", "µm", _three),
        Head("after", "µm", _three),
        Head("ratio", "95 %", _hundredths, pair=True),
        Head("its share", "%", lambda v: f"{v:.0f}"),
        *(Head(name, "", _hundredths) for name in ("keeps", "by shares", "ceiling", "loose")),
    )
    rows: list[tuple[Cell, ...]] = []
    for g in found.pulls:
        ratio = (g.ratio[0], g.ratio[2])
        rest = (100 * g.share, g.r, g.by_arithmetic, g.ceiling, g.loose)
        rows.append((g.pull, g.before[1] * UM, g.after[1] * UM, ratio, *rest))
    return Table(columns=columns, rows=tuple(rows))


def _whole(value: float) -> str:
    return f"{value:.0f}"


def _tenth(value: float) -> str:
    return f"{value:.1f}"


def _from_to(before: float, after: float) -> str:
    """Two deflections with one unit."""
    return f"{said(before, 'µm').rpartition(' ')[0]} to {said(after, 'µm')}"


def _three(value: float) -> str:
    return number(value, 3)


def _hundredths(value: float) -> str:
    return f"{value:.2f}"


def gain_text(plan: FillPlan, found: BeforeAfter) -> list[Block]:
    """The table of gains, what its columns are, and what each figure rests on."""
    spread = ", ".join(f"{name} {share:.0%}" for name, share in found.sources if share >= 0.01)
    guesses = ", ".join(f"{g.pull} {_from_to(*g.best_guess)}" for g in found.pulls)
    said = (
        f"Its share: of {plan.mix.member} today; keeps: what its own give is multiplied by; by shares: 1 less its share "
        f"of what it loses; ceiling: ratio left if {plan.mix.member} were rigid; loose: ratio if the fill let go of "
        f"the walls all over. Spread of the first ratio from: {spread or 'nothing that was given a range'}.",
        "Before and after are medians over all that is not known. With every stiffness at its best guess and the "
        f"fill as meant: {guesses}; the first of each is what deflect says.",
    )
    return [gain_table(found), *_lines((*said, *found.notes))]


def stand_text(plan: FillPlan, found: BeforeAfter | None, machine: Machine) -> list[Block]:
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
        bent = max(abs(b) for b in found.bow)
        if bent >= 5e-9:
            shown = said(bent, "µm", lambda v: number(v, 2))
            lines.append(f"{plan.mix.member}: its end bows {shown} for each kelvin, held at its start")
    moving = [t.name for t in machine.travels if plan.mix.member in t.parts]
    if moving:
        lines.append(
            f"{plan.mix.member} moves ({', '.join(moving)}): its drive and counterbalance carry the fill, too"
        )
    lines.append(lifting_note(f"{plan.mix.member}: the fill alone", plan.mass))
    return _lines(lines)


def _tipping_line(word: str, tip: Tipping | None) -> str:
    if tip is None:
        return ""
    if tip.moment <= 0.0:
        return f"{word}: falls over when it stands free on its feet; bolt it down"
    return (
        f"{word}: centre of mass {said(tip.centre[2], 'mm', _whole)} up; standing free it holds "
        f"{said(tip.moment, 'N m', _whole)} against tipping, {said(tip.sideways, 'N', _whole)} sideways "
        "at its centre of mass"
    )


def expect_text(plan: FillPlan) -> list[Block]:
    """Modulus, its basis, the bars, gap and thermal stress."""
    e = plan.expected
    if e is None:
        return ["no stiffness"]
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
        lines.append(f"{where}: {word} {said(abs(gap.gap), 'µm', _tenth)} at the wall")
    lo, hi = (v * 1e-6 for v in plan.stress_range)
    lines.append(f"fill stress along the member over the year, bonded: {lo:.2f} to {hi:.2f} MPa")
    if plan.knee is not None:
        lines.append(f"load staircase: {plan.knee}")
    if plan.air_by_weight is not None:
        lines.append(f"air by the weight of the fill: {plan.air_by_weight:.1%}")
    return _lines(lines)


def mix_text(plan: FillPlan) -> list[Block]:
    """Grading, voids and grams."""
    m = plan.mixture
    if m is None:
        return [
            f"{plan.kind.name}, {plan.kind.density:.0f} kg/m³",
            *_lines(f"- {note}" for note in plan.kind.notes),
        ]
    r = m.recipe
    blocks: list[Block] = [
        grams_table(r),
        f"resin {r.resin_mass_fraction:.1%} by mass, {r.resin_volume_fraction:.1%} by volume; "
        f"{r.density:.0f} kg/m³ without air",
    ]
    if r.cost > 0.0:
        blocks.append(f"materials cost {r.cost:.2f}")
    return [*blocks, *_lines(_void_lines(m))]


def grams_table(r: Recipe) -> Table:
    """What to weigh for one batch and for all."""
    whole = dict(r.whole.grains)
    rows: list[tuple[Cell, ...]] = [
        ("resin A", r.batch.resin_a * 1e3, r.whole.resin_a * 1e3),
        ("hardener B", r.batch.resin_b * 1e3, r.whole.resin_b * 1e3),
        *((name, mass * 1e3, whole[name] * 1e3) for name, mass in r.batch.grains),
    ]
    columns = (Head("weigh"), Head("one batch", "g", _whole), Head(f"all {r.batches}", "g", _whole))
    return Table(columns=columns, rows=tuple(rows))


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


def pour_text(plan: FillPlan) -> list[Block]:
    """Pressure, bulge, heat, layers."""
    p = plan.pour
    lines = [f"pressure at the foot of the pour {p.pressure / 1e3:.1f} kPa"]
    for name, bulge in p.bulges:
        lines.append(
            f"widest wall of {name} bulges {said(bulge.clamped, 'µm')} (held edges) to "
            f"{said(bulge.supported, 'µm')} (free to turn)"
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
    return _lines(lines)


def _degrees(kelvin: float) -> str:
    return f"{kelvin - 273.15:.0f} °C"


def warnings_text(plan: FillPlan) -> list[Block]:
    """What to look at before anything is mixed."""
    return _lines(f"! {text}" for text in plan.warnings) or ["none"]


def cautions_text(plan: FillPlan) -> list[Block]:
    """Every step with the hazards beside it and whom to ask."""
    lines = [f"{step.name}: {'; '.join(caution.hazard for caution in step.hazards)}" for step in plan.steps]
    own = [CAUTIONS[key] for key in plan.kind.cautions]
    lines += [f"{c.hazard}: {c.text}. Ask: {c.defer_to}" for c in own]
    lines.append(
        "Not complete, and no approval of any lift, pour or structure: data sheets, local rules and licensed practice "
        "come first."
    )
    return _lines(lines)
