"""The test sheet: what to pull and where to read, on one page to print, and a table to fill in."""

from __future__ import annotations

import base64
import math
from collections.abc import Sequence
from html import escape
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from strongback.evidence.plan import Plan, Step
from strongback.machine.room import View, side_word, views
from strongback.machine.values import Machine, Pull
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
from strongback.views.fill_sheet import STYLE

__all__ = ["new_places", "plan_figure", "sheet", "table_to_fill_in", "write_sheet"]

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
    page, log = out / "test-sheet.html", out / "readings-to-fill-in.csv"
    state = {str(k): str(v) for k, v in read.document.data.get("state", {}).items()}
    write_text(page, sheet(machine, plan, state, style.png(figure)))
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
    for pull, _ in _pulls(plan):
        if pull.name not in pulls:
            size, what = (pull.force, "force") if any(pull.force) else (pull.couple, "couple")
            unit = "N" if what == "force" else "N*m"
            rows = [f"at = {_millimetres(pull.at)}", f'{what} = "{np.linalg.norm(size):g} {unit}"']
            tables.append(
                ["[[pull]]", *_named(pull.name, pull.part), *rows, f"direction = {_direction(size)}"]
            )
    for step in _gauges(plan):
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


def sheet(machine: Machine, plan: Plan, state: dict[str, str], picture: bytes) -> str:
    """The page: self-contained, without any link; every word of the user is escaped."""
    title = f"{machine.name}: test sheet"
    image = base64.b64encode(picture).decode("ascii")
    parts = [
        f"<h1>{escape(title)}</h1>",
        "<p>Date: ____________  Air: ______ °C  By: ____________  Data set: ____________</p>",
        "<h2>Before anything is pulled</h2>",
        *(f'<p class="caution">{escape(text)}</p>' for text in CAUTIONS),
        "<h2>State of the machine, to be the same each time</h2>",
        "<ul class='do'>" + "".join(f"<li>{escape(k)}: {escape(v)}</li>" for k, v in state.items()) + "</ul>",
        "<h2>Where gauges and pulls go</h2>",
        f'<img alt="gauges and pulls by number" src="data:image/png;base64,{image}" style="width:100%">',
        "<h2>Readings, in this order</h2>",
        _readings(plan, machine),
        f"<p>{escape(plan_words(plan, 400))}</p>",
        "<h2>How</h2>",
        "<ul class='do'>" + "".join(f"<li>{escape(text)}</li>" for text in HOW) + "</ul>",
        "<footer>Elastic, small, static deflection. This sheet approves no load: the maker's manual, local rules and "
        "licensed practice come first.</footer>",
    ]
    policy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
    return (
        f'<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        f"<title>{escape(title)}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n"
        + "\n".join(parts)
        + "\n</body>\n</html>\n"
    )


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
    letters = _letters(plan)
    numbers = {(s.gauge.name, s.gauge.reference): i for i, s in enumerate(_gauges(plan), 1)}
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
            f"<tbody class=whole><tr><td class=n>{letters[s.pull.name]}{numbers[s.gauge.name, s.gauge.reference]}</td>"
            f"<td>{escape(s.pull.name)}</td>"
            f"<td class=n>{load_text(s.pull, s.load)}</td>"
            f"<td>{escape(s.gauge.name)}</td><td>{at}</td><td>{escape(_reads(s, machine))}</td>"
            f"<td>{escape(stand_text(s))}</td><td class=n>{1e6 * low:.0f} to {1e6 * high:.0f}</td>"
            f"<td class=n>{load_text(s.pull, math.ceil(s.least_load))}</td></tr>"
            f"<tr><td></td><td colspan=8><div class=boxes>{boxes}</div></td></tr></tbody>"
        )
    return f"<div class=wide><table class=small>{head}{''.join(rows)}</table></div>"


def plan_figure(machine: Machine, plan: Plan, *, width_mm: float = 170.0) -> Figure:
    """The machine from the front and from the right, gauges as numbered arrows, pulls as lettered ones.

    Parameters
    ----------
    machine : Machine
    plan : Plan
    width_mm : float

    Returns
    -------
    matplotlib.figure.Figure
    """
    with matplotlib.rc_context(style.settings()):
        figure = style.new_figure(width_mm, 0.62 * width_mm)
        every = figure.subplots(1, 2)
        letters = _letters(plan)
        for axes, view in zip(every, views(machine.operator), strict=True):
            _view(axes, machine, plan, letters, view)
        lines = [f"{letters[p.name]}  {p.name}: {load_text(p, s.load)}" for p, s in _pulls(plan)]
        lines += [f"{i}  {s.gauge.name}" for i, s in enumerate(_gauges(plan), 1)]
        figure.legend(
            handles=[Line2D([], [], ls="none", label=line) for line in lines],
            loc="outside lower left",
            ncols=3,
            handlelength=0,
            handletextpad=0,
        )
    return figure


def _pulls(plan: Plan) -> list[tuple[Pull, Step]]:
    return list({s.pull.name: (s.pull, s) for s in plan.steps}.values())


def _gauges(plan: Plan) -> list[Step]:
    return list({(s.gauge.name, s.gauge.reference): s for s in plan.steps}.values())


def _letters(plan: Plan) -> dict[str, str]:
    return {pull.name: chr(ord("A") + i) for i, (pull, _) in enumerate(_pulls(plan))}


def _view(axes: Any, machine: Machine, plan: Plan, letters: dict[str, str], view: View) -> None:
    h, v = view.across, 2
    colours = style.colours_of(machine)
    points = [np.array([m.start, m.end]) for m in machine.members]
    reach = max(float(np.ptp(np.vstack(points), axis=0).max()), 0.1)
    for member, ends in zip(machine.members, points, strict=True):
        axes.plot(
            1e3 * ends[:, h],
            1e3 * ends[:, v],
            lw=7,
            solid_capstyle="butt",
            color=colours[member.name],
            alpha=0.55,
        )
        middle = 1e3 * ends.mean(axis=0)
        axes.text(middle[h], middle[v], member.name, fontsize=6, ha="center", va="center", color=style.INK)
    for joint in machine.joints:
        axes.plot(1e3 * joint.at[h], 1e3 * joint.at[v], "s", ms=3.5, color=style.ROLES["joints"])
    length = 0.13 * reach * 1e3
    placed: list[tuple[float, float]] = []
    for pull, _ in _pulls(plan):
        force = pull.force if any(pull.force) else pull.couple
        _arrow(axes, pull.at, force, (h, v), length * 1.3, letters[pull.name], style.ROLES["spindle"], placed)
    for i, step in enumerate(_gauges(plan), 1):
        _arrow(axes, step.gauge.at, step.gauge.direction, (h, v), length, str(i), style.INK, placed)
    axes.set_aspect("equal")
    axes.margins(0.18)
    axes.set_title(view.name, fontsize=style.NORMAL)
    axes.set_xlabel(_axis_words(view, machine))
    axes.set_ylabel("z [mm]")
    if view.sign < 0.0:
        axes.invert_xaxis()


def _axis_words(view: View, machine: Machine) -> str:
    plus = tuple(1.0 if k == view.across else 0.0 for k in range(3))
    return f"{'xy'[view.across]} [mm], + {side_word(plus, machine.operator)}"


def _free_spot(x: float, y: float, size: float, placed: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """The place nearest to a wanted one, on rings around it, that no label takes."""
    spots = [(x, y)]
    for ring in (1.0, 1.7, 2.4, 3.1):
        for turn in (45, 315, 135, 225, 90, 270, 0, 180):
            angle = math.radians(turn)
            spots.append((x + ring * size * math.cos(angle), y + ring * size * math.sin(angle)))
    return next(
        (s for s in spots if all(math.hypot(s[0] - a, s[1] - b) >= 0.95 * size for a, b in placed)), spots[0]
    )


def _arrow(
    axes: Any,
    at: Sequence[float],
    along: Sequence[float],
    plane: tuple[int, int],
    length: float,
    label: str,
    colour: str,
    placed: list[tuple[float, float]],
) -> None:
    """An arrow in the plane of the picture, a ring for one across it; labels step aside for each other."""
    h, v = plane
    x, y = 1e3 * at[h], 1e3 * at[v]
    unit = np.asarray(along, dtype=float) / np.linalg.norm(along)
    dx, dy = float(unit[h]), float(unit[v])
    if math.hypot(dx, dy) > 0.3:
        axes.annotate(
            "",
            (x + length * dx, y + length * dy),
            (x, y),
            arrowprops={"arrowstyle": "-|>", "color": colour, "lw": 1.0},
        )
        tx, ty = x + 1.25 * length * dx, y + 1.25 * length * dy
    else:
        axes.plot(x, y, "o", ms=6, mfc="white", mec=colour, mew=1.0)
        axes.plot(x, y, ".", ms=2, color=colour)
        tx, ty = x + 0.35 * length, y + 0.35 * length
    tx, ty = _free_spot(tx, ty, 0.42 * length, placed)
    placed.append((tx, ty))
    axes.text(tx, ty, label, fontsize=7, ha="center", va="center", color=colour, fontweight="bold")
