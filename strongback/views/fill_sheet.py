"""The mix and pour sheet: one page of HTML to print and to write on, without any link to anywhere."""

from __future__ import annotations

from html import escape

from strongback.remedies.fill.cautions import CAUTIONS
from strongback.remedies.fill.plan import FillPlan
from strongback.views.fill_text import expect_text, pour_text
from strongback.views.page import page
from strongback.views.sheet import Sheet

__all__ = ["sheet"]


def sheet(plan: FillPlan, machine_name: str) -> str:
    """The sheet of a fill.

    Parameters
    ----------
    plan : FillPlan
    machine_name : str

    Returns
    -------
    str
        A whole HTML page; every word of the user is escaped.
    """
    title = f"{machine_name}: mix and pour sheet for {plan.mix.member}"
    parts = [
        f"<h1>{escape(title)}</h1>",
        f"<p>{escape(plan.kind.name)}, {plan.volume * 1e3:.2f} L, {plan.mass:.1f} kg; cells "
        f"{escape(', '.join(plan.mix.cells))} from {plan.mix.low * 1e3:.0f} to {plan.mix.high * 1e3:.0f} mm. "
        "Date: ____________  Air: ______ °C  By: ____________</p>",
        *_warnings(plan),
        *_batches(plan),
        "<h2>Pour</h2>",
        f"<pre>{escape(Sheet(tuple(pour_text(plan))).text(200))}</pre>",
        "<h2>What to expect</h2>",
        f"<pre>{escape(Sheet(tuple(expect_text(plan))).text(200))}</pre>",
        "<h2>Steps</h2>",
        *_steps(plan),
        "<footer>Figures hold for elastic, small, static deflection. This sheet approves no lift, no pour and no "
        "structure: data sheets, local rules and licensed practice come first.</footer>",
    ]
    return page(title, parts)


def _warnings(plan: FillPlan) -> list[str]:
    if not plan.warnings:
        return []
    items = "".join(f"<li>{escape(text)}</li>" for text in plan.warnings)
    return ["<h2>Look at this first</h2>", f"<ul>{items}</ul>"]


def _batches(plan: FillPlan) -> list[str]:
    m = plan.mixture
    if m is None:
        notes = "".join(f"<li>{escape(note)}</li>" for note in plan.kind.notes)
        return ["<h2>Notes</h2>", f"<ul>{notes}</ul>"]
    r = m.recipe
    whole = dict(r.whole.grains)
    rows = [("resin A", r.batch.resin_a, r.whole.resin_a), ("hardener B", r.batch.resin_b, r.whole.resin_b)]
    rows += [(name, mass, whole[name]) for name, mass in r.batch.grains]
    blanks = "".join(f'<th class="n">batch {i + 1}</th>' for i in range(min(r.batches, 4)))
    empty = '<td class="w"></td>' * min(r.batches, 4)
    body = "".join(
        f'<tr><td>{escape(name)}</td><td class="n">{one * 1e3:.0f}</td><td class="n">{all_ * 1e3:.0f}</td>{empty}</tr>'
        for name, one, all_ in rows
    )
    return [
        f"<h2>Weigh: {r.batches} batch(es) of {r.batch.mass:.2f} kg</h2>",
        '<div class="wide"><table><thead><tr><th>what</th><th class="n">one batch [g]</th><th class="n">all [g]</th>'
        f"{blanks}</tr></thead><tbody>{body}</tbody></table></div>",
        f"<p>Resin {100 * r.resin_mass_fraction:.1f} % by mass. Ready to compact within "
        f"{plan.pour.layers.minutes_per_batch:.0f} min of mixing.</p>",
    ]


def _steps(plan: FillPlan) -> list[str]:
    found = []
    for number, step in enumerate(plan.steps, 1):
        actions = "".join(f"<li>{escape(text)}</li>" for text in step.actions)
        warned = "".join(
            f'<p class="caution"><b>{escape(c.hazard)}.</b> {escape(c.text)}. <i>Ask: {escape(c.defer_to)}.</i></p>'
            for c in (CAUTIONS[key] for key in step.cautions)
        )
        found.append(
            f'<section class="step"><h3>{number}. {escape(step.name)}</h3><ul class="do">{actions}</ul>{warned}</section>'
        )
    return found
