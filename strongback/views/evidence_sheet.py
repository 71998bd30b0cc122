"""The test sheet: what to pull and where to read, on one page to print, and a table to fill in."""

from __future__ import annotations

import base64
import math
from collections.abc import Mapping, Sequence
from html import escape
from pathlib import Path

import numpy as np

from strongback.evidence.plan import Plan, Step
from strongback.machine.room import side_word
from strongback.machine.values import Machine
from strongback.project import Project
from strongback.project.atomic import write_text
from strongback.views import style
from strongback.views.evidence_text import (
    CAUTIONS,
    direction_text,
    expected_range,
    load_text,
    plan_words,
    stand_text,
)
from strongback.views.page import page
from strongback.views.plan_plot import gauges_of, letters_of, plan_figure, pulls_of
from strongback.views.sheet import Sheet

__all__ = ["new_places", "sheet", "table_to_fill_in", "write_sheet"]

REPEATS = 3


def write_sheet(read: Project, machine: Machine, plan: Plan, out: str | Path) -> list[Path]:
    """Write the page, its picture and the table to fill in.

    Parameters
    ----------
    read : Project
        For the state of the machine.
    machine : Machine
    plan : Plan
    out : str or Path
        Folder.

    Returns
    -------
    list of Path
    """
    figure, out = plan_figure(machine, plan), Path(out)
    picture = style.save(figure, out / "plan.png")
    pictures = {"wide": style.png(figure), "narrow": style.png(plan_figure(machine, plan, width_mm=80.0))}
    page, log = out / "test-sheet.html", out / "readings-to-fill-in.csv"
    state = {str(k): str(v) for k, v in read.document.data.get("state", {}).items()}
    write_text(page, sheet(machine, plan, state, pictures))
    write_text(log, table_to_fill_in(plan, state))
    made = [page, log, picture]
    extra = new_places(read.machine, plan)
    if extra:
        write_text(out / "add-to-project.toml", extra)
        made.append(out / "add-to-project.toml")
    return made


def new_places(machine: Machine, plan: Plan) -> str:
    """Pulls and gauges of the plan that the project file does not have, as its tables; empty if it has them all."""
    pulls, gauges = {p.name for p in machine.pulls}, {g.name for g in machine.gauges}
    tables = []
    for pull, _ in pulls_of(plan):
        if pull.name not in pulls:
            size, what = (pull.force, "force") if any(pull.force) else (pull.couple, "couple")
            unit = "N" if what == "force" else "N*m"
            rows = [f"at = {_millimetres(pull.at)}", f'{what} = "{np.linalg.norm(size):g} {unit}"']
            tables.append(
                ["[[pull]]", *_named(pull.name, pull.part), *rows, f"direction = {_direction(size)}"]
            )
    for step in gauges_of(plan):
        gauge = step.gauge
        if gauge.name not in gauges:
            rows = [f"at = {_millimetres(gauge.at)}", f"direction = {_direction(gauge.direction)}"]
            rows += [
                f"reference = {_quoted(gauge.reference)}",
                f'resolution = "{gauge.resolution * 1e6:g} um"',
            ]
            tables.append(["[[gauge]]", *_named(gauge.name, gauge.part), *rows])
    return "\n".join("\n".join(rows) + "\n" for rows in tables)


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _named(name: str, part: str) -> list[str]:
    return [f"name = {_quoted(name)}", f"part = {_quoted(part)}"]


def _millimetres(point: Sequence[float]) -> str:
    return '"' + ", ".join(f"{1e3 * v:.6g}" for v in point) + ' mm"'


def _direction(vector: Sequence[float]) -> str:
    word = direction_text(vector)
    return f'"{word}"' if word[0] in "+-" and word[1:] in ("x", "y", "z") else f"[{word}]"


def _csv(text: str) -> str:
    """A text cell that no spreadsheet takes for a formula."""
    quoted = f"'{text}" if text.startswith(("=", "+", "-", "@")) else text
    return f'"{quoted}"' if ";" in quoted else quoted


def table_to_fill_in(plan: Plan, state: dict[str, str]) -> str:
    """Rows of the plan with the readings left empty, as the project reads them."""
    head = [
        "pull",
        "gauge",
        "load [N]",
        "set-up",
        "repeat",
        "zero before [um]",
        "loaded [um]",
        "zero after [um]",
    ]
    head += ["reference", *(f"state {name}" for name in state), "note"]
    lines = [";".join(_csv(cell) for cell in head)]
    for step in plan.steps:
        unit = "" if any(step.pull.force) else " N*m"
        for set_up in range(1, REPEATS + 1):
            cells = [step.pull.name, step.gauge.name, f"{step.load:g}{unit}", str(set_up), "1", "", "", ""]
            cells += [step.gauge.reference, *state.values(), ""]
            lines.append(";".join(_csv(cell) for cell in cells))
    return "\n".join(lines) + "\n"


def sheet(machine: Machine, plan: Plan, state: dict[str, str], pictures: Mapping[str, bytes]) -> str:
    """The page: self-contained, without any link; every word of the user is escaped."""
    title = f"{machine.name}: test sheet"
    images = [
        f'<img class={width} alt="gauges and pulls by number" src="data:image/png;base64,'
        f'{base64.b64encode(data).decode("ascii")}">'
        for width, data in pictures.items()
    ]
    parts = [
        f"<h1>{escape(title)}</h1>",
        "<p>Date: ____________  Air: ______ °C  By: ____________  Data set: ____________</p>",
        "<h2>Before anything is pulled</h2>",
        *(f'<p class="caution">{escape(text)}</p>' for text in CAUTIONS),
        "<h2>State of the machine, to be the same each time</h2>",
        "<ul class='do'>" + "".join(f"<li>{escape(k)}: {escape(v)}</li>" for k, v in state.items()) + "</ul>",
        "<h2>Where gauges and pulls go</h2>",
        *images,
        "<h2>Readings, in this order</h2>",
        _readings(plan, machine),
        *(f"<p>{escape(line)}</p>" for line in Sheet(tuple(plan_words(plan))).text(4000).splitlines()),
        "<h2>How</h2>",
        "<ul class='do'>" + "".join(f"<li>{escape(text)}</li>" for text in HOW) + "</ul>",
        "<footer>Elastic, small, static deflection. This sheet approves no load: the maker's manual, local rules and "
        "licensed practice come first.</footer>",
    ]
    return page(title, parts, pictures=True)


HOW = (
    "Cycle to full load three times before the first reading, and approach each load from the same side.",
    "Zero, load, zero, within half a minute; do not touch the machine in between.",
    "Take the stand off and put it back between repeats: repeats in one set-up hide the error of setting up.",
    "Post of the stand below 100 mm; push the stand with a finger: the gauge must hardly move.",
    "Cord level and in line: 10° off is 17 % of the force across.",
    "Write down what was not as planned, and the sign of every reading.",
)


def _reads(step: Step, machine: Machine) -> str:
    """Direction in which the reading counts up, in figures and in the operator's words."""
    word = side_word(step.gauge.direction, machine.operator)
    return direction_text(step.gauge.direction) + (f", {word}" if word else "")


def _readings(plan: Plan, machine: Machine) -> str:
    """A row for each reading, and under it a box to write in for every set-up; signs are those of the picture."""
    letters = letters_of(plan)
    numbers = {(s.gauge.name, s.gauge.reference): i for i, s in enumerate(gauges_of(plan), 1)}
    head = (
        "<thead><tr><th>in the picture</th><th>pull</th><th class=n>load</th><th>gauge</th><th>at [mm]</th><th>reads</th>"
        "<th>stand on</th><th class=n>expect [µm]</th><th class=n>least load</th></tr></thead>"
    )
    boxes = "".join(f"<span>set-up {k + 1}: zero, load, zero [µm]</span>" for k in range(REPEATS))
    rows = []
    for s in plan.steps:
        low, high = expected_range(s)
        at = ", ".join(f"{1e3 * v:.0f}" for v in s.gauge.at)
        rows.append(
            f"<tbody class=whole><tr><td class=n data-name='in the picture'>{letters[s.pull.name]}"
            f"{numbers[s.gauge.name, s.gauge.reference]}</td>"
            f"<td data-name=pull>{escape(s.pull.name)}</td>"
            f"<td class=n data-name=load>{load_text(s.pull, s.load)}</td>"
            f"<td data-name=gauge>{escape(s.gauge.name)}</td><td data-name='at [mm]'>{at}</td>"
            f"<td data-name=reads>{escape(_reads(s, machine))}</td><td data-name='stand on'>{escape(stand_text(s))}</td>"
            f"<td class=n data-name='expect [µm]'>{1e6 * low:.0f} to {1e6 * high:.0f}</td>"
            f"<td class=n data-name='least load'>{load_text(s.pull, math.ceil(s.least_load))}</td></tr>"
            f"<tr><td></td><td colspan=8><div class=boxes>{boxes}</div></td></tr></tbody>"
        )
    return f"<div class=wide><table class='small cards'>{head}{''.join(rows)}</table></div>"
