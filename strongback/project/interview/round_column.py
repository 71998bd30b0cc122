"""A drill mill on a round column with a head that is clamped to it."""

from __future__ import annotations

import math

from strongback.project.interview.answers import Answers
from strongback.project.interview.common import (
    MATERIALS,
    Gauge,
    Pull,
    Way,
    box,
    feet,
    feet_questions,
    flange,
    gauges,
    head_of_file,
    material_field,
    places,
    pulls,
    slide,
    spindle,
    spindle_questions,
    state,
    tool,
    way_question,
    weights,
)
from strongback.project.interview.draft import Draft, mm, point, quoted
from strongback.project.interview.question import Field, Question

__all__ = ["QUESTIONS", "write"]

QUESTIONS = (
    Question(
        title="The column",
        sketch="end faces",
        explain="Tap it, or look in from the top: most are hollow.",
        fields=(
            Field(key="column.diameter", words="diameter", kind="length", default=0.115, usual=(0.05, 0.2)),
            Field(key="column.wall", words="wall", kind="length", default=0.012, usual=(0.004, 0.03)),
            Field(key="column.solid", words="is it solid", kind="yes", default=False),
            material_field("column.material", "material", "steel"),
        ),
    ),
    Question(
        title="Height of the column above the base",
        sketch="round column",
        fields=(Field(key="column.height", words="height", kind="length", default=0.8, usual=(0.4, 1.2)),),
    ),
    Question(
        title="The foot flange",
        sketch="foot",
        fields=(
            Field(key="foot.diameter", words="diameter", kind="length", default=0.2, usual=(0.1, 0.35)),
            Field(key="foot.thickness", words="thickness", kind="length", default=0.025, usual=(0.008, 0.05)),
            Field(key="foot.bolts", words="bolts", kind="bolts", default="4 x M12"),
            Field(key="foot.circle", words="on a circle of", kind="length", default=0.165, usual=(0.08, 0.3)),
        ),
    ),
    Question(
        title="The base",
        sketch="round column",
        fields=(
            Field(
                key="base.length", words="length, front to back", kind="length", default=0.6, usual=(0.3, 1.0)
            ),
            Field(key="base.width", words="width", kind="length", default=0.4, usual=(0.2, 0.7)),
            Field(key="base.height", words="height", kind="length", default=0.08, usual=(0.03, 0.2)),
            Field(
                key="base.wall",
                words="wall of the casting",
                kind="length",
                default=0.014,
                usual=(0.006, 0.03),
            ),
            Field(
                key="base.behind",
                words="column's middle from its rear edge",
                kind="length",
                default=0.14,
                usual=(0.05, 0.3),
            ),
        ),
    ),
    Question(
        title="The clamp of the head",
        sketch="clamp",
        fields=(
            Field(key="clamp.height", words="height", kind="length", default=0.13, usual=(0.05, 0.25)),
            Field(key="clamp.bolts", words="pinch bolts", kind="bolts", default="2 x M12"),
            Field(key="clamp.torque", words="torque of one", kind="couple", default=60.0, usual=(8.0, 200.0)),
            Field(
                key="clamp.height_now",
                words="its middle above the base now",
                kind="length",
                default=0.55,
                usual=(0.15, 1.1),
            ),
        ),
    ),
    Question(
        title="Middle of the column to the spindle",
        sketch="round column",
        fields=(
            Field(key="swing", words="half the swing", kind="length", default=0.205, usual=(0.12, 0.35)),
        ),
    ),
    Question(
        title="The head casting",
        fields=(
            Field(key="head.width", words="width", kind="length", default=0.2, usual=(0.1, 0.35)),
            Field(key="head.height", words="height", kind="length", default=0.25, usual=(0.1, 0.45)),
            Field(key="head.wall", words="wall", kind="length", default=0.01, usual=(0.005, 0.02)),
        ),
    ),
    Question(
        title="The quill",
        sketch="spindle",
        fields=(
            Field(key="quill.diameter", words="diameter", kind="length", default=0.075, usual=(0.04, 0.12)),
            Field(
                key="quill.length",
                words="length of its clamp",
                kind="length",
                default=0.08,
                usual=(0.03, 0.2),
            ),
        ),
    ),
    spindle_questions("spindle", kind="taper", bore=0.03, span=0.12, overhang=0.03),
    Question(
        title="Nose, holder and tool",
        sketch="round column",
        fields=(
            Field(
                key="nose_above_table",
                words="nose above the table now",
                kind="length",
                default=0.2,
                usual=(0.03, 0.6),
            ),
            Field(
                key="tool.out", words="tool out of the nose", kind="length", default=0.07, usual=(0.01, 0.15)
            ),
            Field(
                key="tool.shank",
                words="diameter of its shank",
                kind="length",
                default=0.012,
                usual=(0.003, 0.04),
            ),
        ),
    ),
    Question(
        title="The table",
        fields=(
            Field(
                key="table.top",
                words="top above the base face",
                kind="length",
                default=0.14,
                usual=(0.05, 0.3),
            ),
            Field(key="table.thickness", words="thickness", kind="length", default=0.04, usual=(0.015, 0.08)),
        ),
    ),
    way_question(
        "table",
        "How does the table run?",
        runs_on="dovetail",
        flat=0.05,
        length=0.25,
        apart=0.16,
        held_by="lock",
    ),
    *feet_questions(head=60.0, table=40.0, hand="hand"),
)


def write(a: Answers, name: str) -> str:
    """The project file of these answers."""
    draft = Draft()
    head_of_file(
        draft,
        a,
        "round-column",
        name,
        "the middle of the column's foot flange, on the face where it stands on the base",
    )
    state(draft, a)
    y, z, height = -a["swing"], a["clamp.height_now"], a["column.height"]
    nose = (0.0, y, a["table.top"] + a["nose_above_table"])
    tip = (0.0, y, nose[2] - a["tool.out"])
    _sections(draft, a)
    _parts(draft, a, nose)
    _joints(draft, a, nose)
    tool(draft, nose, tip, "-z", a["tool.shank"], a.mark("tool.shank"))
    rear, half = a["base.behind"], 0.5 * a["base.width"]
    draft.heading("what it stands on")
    feet(draft, a, "base", (-half, half, rear - a["base.length"], rear), -a["base.height"])
    draft.heading("weights, tool, pulls, gauges")
    weights(
        draft,
        a,
        (
            ("head and motor", "head", (0.0, y, z), "head.mass"),
            ("table", "table", (0.0, y, a["table.top"]), "table.mass"),
        ),
    )
    places(draft, "tool", "table", tip)
    top = (0.0, 0.0, height - 0.02)
    pulls(
        draft,
        a,
        (
            Pull(name="to the right", part="tool", at=tip, direction="+x"),
            Pull(name="towards the operator", part="tool", at=tip, direction="-y"),
            Pull(name="up", part="tool", at=tip, direction="+z", against="table"),
            Pull(name="column top to the right", part="column", at=top, direction="+x"),
            Pull(name="column top towards the operator", part="column", at=top, direction="-y"),
        ),
    )
    radius = 0.5 * a["column.diameter"]
    rows = [
        Gauge(name=f"tool {d[1]}", part="tool", at=tip, direction=d, reference="table")
        for d in ("+x", "+y", "+z")
    ]
    for what, up in (("foot", 0.05), ("middle", 0.5 * height), ("top", height - 0.03)):
        rows.append(
            Gauge(name=f"{what} x", part="column", at=(radius, 0.0, up), direction="+x", reference="base")
        )
        rows.append(
            Gauge(name=f"{what} y", part="column", at=(0.0, radius, up), direction="+y", reference="base")
        )
    for hand, x in (("left", -0.15), ("right", 0.15)):
        rows.append(
            Gauge(name=f"head bar {hand}", part="head", at=(x, y, z), direction="+y", reference="base")
        )
    rows.append(
        Gauge(
            name="base on bench",
            part="base",
            at=(0.0, rear, -0.5 * a["base.height"]),
            direction="+z",
            reference="ground",
        )
    )
    gauges(draft, a, rows)
    return draft.text()


def _sections(draft: Draft, a: Answers) -> None:
    draft.heading("sections")
    draft.table("[[section]]", ("name", '"column"'), ("material", quoted(MATERIALS[a["column.material"]])))
    draft.add(
        ("shape", '"circle"' if a["column.solid"] else '"round tube"'),
        ("diameter", mm(a["column.diameter"]), a.mark("column.diameter")),
        *([] if a["column.solid"] else [("thickness", mm(a["column.wall"]), a.mark("column.wall"))]),
    )
    iron = MATERIALS["iron"]
    box(
        draft,
        "base",
        iron,
        a["base.width"],
        a["base.height"],
        a["base.wall"],
        a.mark("base.width", "base.height", "base.wall"),
    )
    box(
        draft,
        "head",
        iron,
        a["head.width"],
        a["head.height"],
        a["head.wall"],
        a.mark("head.width", "head.height", "head.wall"),
    )


def _parts(draft: Draft, a: Answers, nose: tuple[float, float, float]) -> None:
    draft.heading("parts")
    z, base, rear = a["clamp.height_now"], -0.5 * a["base.height"], a["base.behind"]
    draft.table(
        "[[member]]",
        ("name", '"column"'),
        ("section", '"column"'),
        ("start", '"0, 0, 0 mm"'),
        ("end", point((0.0, 0.0, a["column.height"])), a.mark("column.height")),
        ("x_axis", '"+x"'),
        ("warping", '["held", "free"]'),
    )
    draft.table(
        "[[member]]",
        ("name", '"base"'),
        ("section", '"base"'),
        ("start", point((0.0, rear, base))),
        ("end", point((0.0, rear - a["base.length"], base))),
        ("x_axis", '"+x"'),
    )
    draft.table(
        "[[member]]",
        ("name", '"head"'),
        ("section", '"head"'),
        ("start", point((0.0, 0.0, z))),
        ("end", point((0.0, nose[1], z))),
        ("x_axis", '"+x"'),
        ("warping", '["held", "held"]'),
    )
    above = nose[2] + a["spindle.overhang"]
    draft.table("[[block]]", ("name", '"quill"'), ("at", point((0.0, nose[1], above + a["spindle.span"]))))
    draft.table("[[block]]", ("name", '"spindle"'), ("at", point((0.0, nose[1], above))))
    draft.table(
        "[[block]]",
        ("name", '"table"'),
        ("at", point((0.0, nose[1], a["table.top"] - 0.5 * a["table.thickness"]))),
    )


def _joints(draft: Draft, a: Answers, nose: tuple[float, float, float]) -> None:
    draft.heading("joints: from the library, by what was seen")
    diameter, side = a["column.diameter"], a["foot.diameter"] * math.sqrt(math.pi) / 2.0
    flange(
        draft,
        "foot",
        ("base", "column"),
        (0.0, 0.0, 0.0),
        ("face_looks", '"+z"'),
        ("size", mm(side, side), "square of the same area as the round flange"),
        ("bolts", quoted(a["foot.bolts"]), a.mark("foot.bolts")),
        ("bolt_circle", mm(a["foot.circle"]), a.mark("foot.circle")),
        ("thickness", mm(a["foot.thickness"]), a.mark("foot.thickness")),
        ("wall_to_bolt", mm(max(0.0, 0.5 * (a["foot.circle"] - diameter)))),
    )
    draft.table(
        "[[joint]]",
        ("name", '"head clamp"'),
        ("parts", '["column", "head"]'),
        ("at", point((0.0, 0.0, a["clamp.height_now"]))),
    )
    draft.table(
        "[joint.clamp_on_round_column]",
        ("post_along", '"+z"'),
        ("diameter", mm(diameter)),
        ("height", mm(a["clamp.height"]), a.mark("clamp.height")),
        ("bolts", quoted(a["clamp.bolts"]), a.mark("clamp.bolts")),
        *([("torque", f'"{a["clamp.torque"]:g} N*m"')] if a.told("clamp.torque") else []),
    )
    draft.table(
        "[[joint]]",
        ("name", '"quill clamp"'),
        ("parts", '["head", "quill"]'),
        (
            "at",
            point((0.0, nose[1], a["clamp.height_now"] - 0.5 * a["head.height"] + 0.5 * a["quill.length"])),
        ),
    )
    draft.table(
        "[joint.quill_in_bore]",
        ("nose", '"-z"'),
        ("diameter", mm(a["quill.diameter"]), a.mark("quill.diameter")),
        ("length", mm(a["quill.length"]), a.mark("quill.length")),
        ("clamped", "true" if a["quill.clamped"] else "false", a.mark("quill.clamped")),
    )
    if not a["quill.clamped"]:
        draft.add(("held_by", '"rack"'))
    spindle(draft, a, "quill", nose, "-z", (0.0, 0.0, 1.0))
    ways = a["table.top"] - a["table.thickness"]
    slide(
        draft,
        a,
        "table",
        Way(name="table ways", parts=("base", "table"), at=(0.0, nose[1], ways), slides="+x", looks="+z"),
        locked=a["table.locked"],
    )
