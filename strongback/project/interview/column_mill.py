"""A column mill with a carriage on a rectangular or extruded column."""

from __future__ import annotations

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
    flat_of,
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
        title="The column's end face",
        sketch="end faces",
        explain="Saw marks show the walls. An extrusion with webs is better read from a scan: strongback section --scan.",
        fields=(
            Field(
                key="column.shape",
                words="it is a",
                kind="choice",
                default="tube",
                choices=("tube", "channel", "solid"),
            ),
            Field(
                key="column.width",
                words="width, left to right",
                kind="length",
                default=0.1,
                usual=(0.04, 0.3),
            ),
            Field(
                key="column.depth",
                words="depth, front to back",
                kind="length",
                default=0.1,
                usual=(0.04, 0.3),
            ),
            Field(key="column.wall", words="wall", kind="length", default=0.004, usual=(0.002, 0.025)),
        ),
    ),
    Question(
        title="What is it made of?",
        explain="A magnet tells iron and steel from aluminium. Cast iron has a rough skin, steel is smooth.",
        fields=(
            material_field("column.material", "column", "steel"),
            material_field("head.material", "head", "iron"),
            material_field("bed.material", "bed", "iron"),
        ),
    ),
    Question(
        title="Height of the column above the face on which it stands",
        sketch="column mill",
        fields=(
            Field(key="column.height", words="height", kind="length", default=0.48, usual=(0.2, 1.0)),
            Field(
                key="column.top", words="its top is", kind="choice", default="open", choices=("open", "plate")
            ),
        ),
    ),
    Question(
        title="How is the foot held?",
        sketch="foot",
        explain="From the wall of the column to the middle of a bolt: nought if the bolts lie inside.",
        fields=(
            Field(key="foot.bolts", words="bolts", kind="bolts", default="4 x M8"),
            Field(
                key="foot.torque", words="torque of a bolt", kind="couple", default=22.0, usual=(3.0, 200.0)
            ),
            Field(
                key="foot.thickness",
                words="thickness of the foot",
                kind="length",
                default=0.012,
                usual=(0.005, 0.05),
            ),
            Field(
                key="foot.wall_to_bolt",
                words="from the wall to the bolt",
                kind="length",
                default=0.015,
                usual=(0.0001, 0.05),
            ),
            Field(
                key="foot.width", words="width of the foot", kind="length", default=0.13, usual=(0.05, 0.4)
            ),
            Field(
                key="foot.depth",
                words="its depth, front to back",
                kind="length",
                default=0.13,
                usual=(0.05, 0.4),
            ),
        ),
    ),
    Question(
        title="The bed under it",
        sketch="column mill",
        fields=(
            Field(
                key="bed.length", words="length, front to back", kind="length", default=0.38, usual=(0.2, 0.9)
            ),
            Field(key="bed.width", words="width", kind="length", default=0.18, usual=(0.1, 0.5)),
            Field(key="bed.height", words="height", kind="length", default=0.06, usual=(0.03, 0.2)),
            Field(
                key="bed.wall", words="wall of the casting", kind="length", default=0.011, usual=(0.005, 0.03)
            ),
            Field(
                key="bed.behind",
                words="from the column's middle to its rear edge",
                kind="length",
                default=0.08,
                usual=(0.03, 0.3),
            ),
        ),
    ),
    way_question(
        "carriage",
        "How does the carriage run on the column?",
        runs_on="dovetail",
        flat=0.025,
        length=0.08,
        apart=0.066,
        held_by="lock",
    ),
    Question(
        title="Height of the middle of the carriage while you test",
        sketch="column mill",
        fields=(
            Field(
                key="carriage.height_now",
                words="above the foot",
                kind="length",
                default=0.34,
                usual=(0.08, 0.9),
            ),
        ),
    ),
    Question(
        title="From the front of the column forward",
        sketch="column mill",
        explain="Throat: front of the column to the middle of the spindle.",
        fields=(
            Field(
                key="throat",
                words="to the middle of the spindle",
                kind="length",
                default=0.15,
                usual=(0.06, 0.3),
            ),
            Field(
                key="head.face",
                words="to the face on which the head sits",
                kind="length",
                default=0.03,
                usual=(0.01, 0.1),
            ),
        ),
    ),
    Question(
        title="The head",
        fields=(
            Field(
                key="head.width",
                words="width of the casting",
                kind="length",
                default=0.08,
                usual=(0.04, 0.25),
            ),
            Field(key="head.height", words="height", kind="length", default=0.07, usual=(0.04, 0.3)),
            Field(key="head.wall", words="wall", kind="length", default=0.01, usual=(0.004, 0.03)),
            Field(key="head.bolts", words="bolts on the carriage", kind="bolts", default="4 x M8"),
        ),
    ),
    spindle_questions("spindle", kind="angular pair", bore=0.025, span=0.08, overhang=0.03),
    Question(
        title="Nose and tool",
        sketch="spindle",
        fields=(
            Field(
                key="nose_above_table",
                words="nose above the table now",
                kind="length",
                default=0.12,
                usual=(0.02, 0.4),
            ),
            Field(
                key="tool.out", words="tool out of the nose", kind="length", default=0.045, usual=(0.01, 0.12)
            ),
            Field(
                key="tool.shank",
                words="diameter of its shank",
                kind="length",
                default=0.008,
                usual=(0.003, 0.025),
            ),
        ),
    ),
    Question(
        title="The table",
        fields=(
            Field(
                key="table.top", words="top above the bed", kind="length", default=0.075, usual=(0.03, 0.25)
            ),
            Field(key="table.thickness", words="thickness", kind="length", default=0.03, usual=(0.01, 0.08)),
        ),
    ),
    way_question(
        "table",
        "How does the table run?",
        runs_on="dovetail",
        flat=0.03,
        length=0.12,
        apart=0.1,
        held_by="lock",
    ),
    *feet_questions(head=8.0, table=9.0, hand="hand"),
)


def write(a: Answers, name: str) -> str:
    """The project file of these answers.

    Parameters
    ----------
    a : Answers
    name : str
        Of the machine.
    """
    draft = Draft()
    head_of_file(
        draft, a, "column-mill", name, "the middle of the column's foot, on the face where it stands"
    )
    state(draft, a)
    depth, height = a["column.depth"], a["column.height"]
    face, spindle_y = -(0.5 * depth + a["head.face"]), -(0.5 * depth + a["throat"])
    middle = a["carriage.height_now"]
    nose = (0.0, spindle_y, a["table.top"] + a["nose_above_table"])
    tip = (0.0, spindle_y, nose[2] - a["tool.out"])
    _sections(draft, a)
    _parts(draft, a, face, spindle_y, nose[2])
    _joints(draft, a, face, nose)
    tool(draft, nose, tip, "-z", a["tool.shank"], a.mark("tool.shank"))
    rear, front = a["bed.behind"], a["bed.behind"] - a["bed.length"]
    half = 0.5 * a["bed.width"]
    draft.heading("what it stands on")
    feet(draft, a, "bed", (-half, half, front, rear), -a["bed.height"])
    draft.heading("weights, tool, pulls, gauges")
    weights(
        draft,
        a,
        (
            ("head and motor", "head", (0.0, spindle_y, middle), "head.mass"),
            ("table", "table", (0.0, spindle_y, a["table.top"]), "table.mass"),
        ),
    )
    places(draft, "tool", "table", tip)
    top = (0.0, 0.0, height - 0.01)
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
    _gauges(draft, a, tip, middle)
    return draft.text()


def _sections(draft: Draft, a: Answers) -> None:
    draft.heading("sections")
    remark = a.mark("column.width", "column.depth", "column.wall")
    material = MATERIALS[a["column.material"]]
    width, depth, wall = a["column.width"], a["column.depth"], a["column.wall"]
    if a["column.shape"] == "channel":
        x, y = 500.0 * (width - wall), 500.0 * (depth - wall)
        draft.table("[[section]]", ("name", '"column"'), ("material", quoted(material)), ("unit", '"mm"'))
        draft.add(
            (
                "midline",
                f"[[{-x:g}, {y:g}], [{-x:g}, {-y:g}], [{x:g}, {-y:g}], [{x:g}, {y:g}]]",
                "open to the back",
            ),
            ("thickness", f"{1e3 * wall:g}", remark),
        )
    else:
        box(draft, "column", material, width, depth, wall if a["column.shape"] == "tube" else None, remark)
    box(
        draft,
        "head",
        MATERIALS[a["head.material"]],
        a["head.width"],
        a["head.height"],
        a["head.wall"],
        a.mark("head.width", "head.height", "head.wall"),
    )
    box(
        draft,
        "bed",
        MATERIALS[a["bed.material"]],
        a["bed.width"],
        a["bed.height"],
        a["bed.wall"],
        a.mark("bed.width", "bed.height", "bed.wall"),
    )


def _parts(draft: Draft, a: Answers, face: float, spindle_y: float, nose: float) -> None:
    draft.heading("parts")
    middle, bed = a["carriage.height_now"], -0.5 * a["bed.height"]
    top = "held" if a["column.top"] == "plate" else "free"
    draft.table(
        "[[member]]",
        ("name", '"column"'),
        ("section", '"column"'),
        ("start", '"0, 0, 0 mm"'),
        ("end", point((0.0, 0.0, a["column.height"])), a.mark("column.height")),
        ("x_axis", '"+x"'),
        ("warping", f'["held", "{top}"]'),
    )
    draft.table(
        "[[member]]",
        ("name", '"head"'),
        ("section", '"head"'),
        ("start", point((0.0, face, middle))),
        ("end", point((0.0, spindle_y, middle))),
        ("x_axis", '"+x"'),
        ("warping", '["held", "held"]'),
    )
    rear = a["bed.behind"]
    draft.table(
        "[[member]]",
        ("name", '"bed"'),
        ("section", '"bed"'),
        ("start", point((0.0, rear, bed))),
        ("end", point((0.0, rear - a["bed.length"], bed))),
        ("x_axis", '"+x"'),
    )
    draft.table(
        "[[block]]",
        ("name", '"carriage"'),
        ("at", point((0.0, 0.5 * (face - 0.5 * a["column.depth"]), middle))),
    )
    draft.table(
        "[[block]]",
        ("name", '"spindle"'),
        ("at", point((0.0, spindle_y, nose + a["spindle.overhang"] + 0.5 * a["spindle.span"]))),
    )
    draft.table(
        "[[block]]",
        ("name", '"table"'),
        ("at", point((0.0, spindle_y, a["table.top"] - 0.5 * a["table.thickness"]))),
    )


def _joints(draft: Draft, a: Answers, face: float, nose: tuple[float, float, float]) -> None:
    draft.heading("joints: from the library, by what was seen")
    front, middle = -0.5 * a["column.depth"], a["carriage.height_now"]
    rows: list[tuple[str, str] | tuple[str, str, str]] = [
        ("face_looks", '"+z"'),
        ("size", mm(a["foot.width"], a["foot.depth"]), a.mark("foot.width", "foot.depth")),
        ("bolts", quoted(a["foot.bolts"]), a.mark("foot.bolts")),
        ("thickness", mm(a["foot.thickness"]), a.mark("foot.thickness")),
        ("wall_to_bolt", mm(a["foot.wall_to_bolt"]), a.mark("foot.wall_to_bolt")),
    ]
    if a.told("foot.torque"):
        rows.append(("torque", f'"{a["foot.torque"]:g} N*m"'))
    flange(draft, "base", ("bed", "column"), (0.0, 0.0, 0.0), *rows)
    pad = ""
    if a["column.shape"] != "solid":
        pad = "carriage pad"
        across = min(a["carriage.apart"] + a["carriage.way"], flat_of(a["column.width"], a["column.wall"]))
        draft.table(
            "[[pad]]",
            ("name", quoted(pad)),
            ("part", '"column"'),
            ("at", point((0.0, front, middle))),
            ("normal", '"-y"'),
            ("size", mm(across, a["carriage.length"])),
        )
    slide(
        draft,
        a,
        "carriage",
        Way(
            name="carriage ways",
            parts=("column", "carriage"),
            at=(0.0, front, middle),
            slides="+z",
            looks="-y",
            pad=pad,
        ),
        locked=a["head.locked"],
    )
    iron = quoted(MATERIALS[a["head.material"]])
    flange(
        draft,
        "head bolts",
        ("carriage", "head"),
        (0.0, face, middle),
        ("face_looks", '"-y"'),
        ("size", mm(a["head.width"], a["head.height"])),
        ("bolts", quoted(a["head.bolts"]), a.mark("head.bolts")),
        ("thickness", mm(1.5 * a["head.wall"])),
        ("base_material", iron),
    )
    spindle(draft, a, "head", nose, "-z", (0.0, 0.0, 1.0))
    ways = a["table.top"] - a["table.thickness"]
    slide(
        draft,
        a,
        "table",
        Way(name="table ways", parts=("bed", "table"), at=(0.0, nose[1], ways), slides="+x", looks="+z"),
        locked=a["table.locked"],
    )


def _gauges(draft: Draft, a: Answers, tip: tuple[float, float, float], middle: float) -> None:
    side, back, height = 0.5 * a["column.width"], 0.5 * a["column.depth"], a["column.height"]
    rows = [
        Gauge(name=f"tool {d[1]}", part="tool", at=tip, direction=d, reference="table")
        for d in ("+x", "+y", "+z")
    ]
    for what, z in (("foot", 0.03), ("middle", 0.5 * height), ("top", height - 0.02)):
        rows.append(
            Gauge(name=f"{what} x", part="column", at=(side, 0.0, z), direction="+x", reference="bed")
        )
        rows.append(
            Gauge(name=f"{what} y", part="column", at=(0.0, back, z), direction="+y", reference="bed")
        )
    for what, z in (("foot", 0.03), ("head", min(middle + 0.06, height - 0.02))):
        for hand, x in (("left", -0.15), ("right", 0.15)):
            rows.append(
                Gauge(
                    name=f"{what} bar {hand}", part="column", at=(x, 0.0, z), direction="+y", reference="bed"
                )
            )
    rows.append(
        Gauge(
            name="bed on bench",
            part="bed",
            at=(0.0, a["bed.behind"], -0.5 * a["bed.height"]),
            direction="+z",
            reference="ground",
        )
    )
    gauges(draft, a, rows)
