"""A portal with two uprights: a beam, a carriage on rails, a z slide with the spindle."""

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
        title="What moves?",
        sketch="portal",
        fields=(
            Field(
                key="moves", words="it is the", kind="choice", default="portal", choices=("portal", "table")
            ),
        ),
    ),
    Question(
        title="The beam's end face",
        sketch="end faces",
        fields=(
            Field(
                key="beam.depth", words="depth, front to back", kind="length", default=0.08, usual=(0.03, 0.2)
            ),
            Field(key="beam.height", words="height", kind="length", default=0.16, usual=(0.04, 0.3)),
            Field(key="beam.wall", words="wall", kind="length", default=0.004, usual=(0.0015, 0.015)),
            material_field("beam.material", "material", "aluminium"),
        ),
    ),
    Question(
        title="Clear span between the uprights",
        sketch="portal",
        fields=(Field(key="span", words="span", kind="length", default=0.8, usual=(0.2, 1.6)),),
    ),
    Question(
        title="The uprights",
        sketch="portal",
        fields=(
            Field(
                key="upright.thickness",
                words="thickness of the plate",
                kind="length",
                default=0.02,
                usual=(0.008, 0.04),
            ),
            Field(
                key="upright.width",
                words="width, front to back",
                kind="length",
                default=0.18,
                usual=(0.08, 0.35),
            ),
            Field(
                key="upright.height",
                words="from its foot to the middle of the beam",
                kind="length",
                default=0.3,
                usual=(0.12, 0.6),
            ),
            material_field("upright.material", "material", "aluminium"),
        ),
    ),
    Question(
        title="Beam to upright",
        sketch="foot",
        fields=(
            Field(key="end.bolts", words="screws at each end", kind="bolts", default="4 x M8"),
            Field(
                key="end.thickness",
                words="thickness of the end plate",
                kind="length",
                default=0.012,
                usual=(0.005, 0.03),
            ),
        ),
    ),
    Question(
        title="Feet of the uprights: carriages on each side",
        sketch="rails",
        fields=(
            Field(
                key="foot.rail", words="width of the rail", kind="length", default=0.02, usual=(0.01, 0.035)
            ),
            Field(
                key="foot.apart",
                words="between the carriages of a side",
                kind="length",
                default=0.18,
                usual=(0.08, 0.35),
            ),
            Field(key="foot.bolts", words="bolts, where it stands still", kind="bolts", default="4 x M8"),
        ),
        only_if=None,
    ),
    Question(
        title="What holds the portal along?",
        fields=(
            Field(
                key="drive",
                words="it is held by a",
                kind="choice",
                default="ball screw",
                choices=("ball screw", "belt", "rack", "lock"),
            ),
        ),
    ),
    way_question(
        "beam_rails",
        "The carriage on the beam",
        runs_on="rails",
        flat=0.015,
        length=0.1,
        apart=0.12,
        held_by="ball screw",
    ),
    Question(
        title="Where along the beam is the head while you test?",
        sketch="portal",
        fields=(
            Field(
                key="head.at",
                words="to the right of the middle",
                kind="place",
                default=0.0,
                usual=(-0.8, 0.8),
            ),
        ),
    ),
    Question(
        title="The z slide",
        sketch="rails",
        fields=(
            Field(key="slide.width", words="width", kind="length", default=0.14, usual=(0.06, 0.25)),
            Field(
                key="slide.thickness", words="thickness", kind="length", default=0.016, usual=(0.008, 0.04)
            ),
            Field(key="slide.length", words="length", kind="length", default=0.3, usual=(0.15, 0.6)),
            Field(
                key="slide.hangs",
                words="below its lower carriage to the nose",
                kind="length",
                default=0.12,
                usual=(0.02, 0.35),
            ),
        ),
    ),
    way_question(
        "slide_rails",
        "How does the z slide run?",
        runs_on="rails",
        flat=0.015,
        length=0.1,
        apart=0.1,
        held_by="ball screw",
    ),
    Question(
        title="The spindle's clamp",
        sketch="clamp",
        fields=(
            Field(
                key="motor.diameter", words="body diameter", kind="length", default=0.065, usual=(0.04, 0.13)
            ),
            Field(
                key="motor.clamp",
                words="height of the clamp",
                kind="length",
                default=0.04,
                usual=(0.02, 0.12),
            ),
            Field(key="motor.bolts", words="its screws", kind="bolts", default="2 x M6"),
        ),
    ),
    spindle_questions("spindle", kind="angular pair", bore=0.015, span=0.09, overhang=0.02),
    Question(
        title="Front of the beam to the spindle axis, and the tool",
        sketch="portal",
        fields=(
            Field(key="throat", words="beam to spindle", kind="length", default=0.09, usual=(0.04, 0.25)),
            Field(
                key="tip_above_table",
                words="end of the tool above the table",
                kind="length",
                default=0.06,
                usual=(0.001, 0.2),
            ),
            Field(
                key="tool.out", words="tool out of the nose", kind="length", default=0.03, usual=(0.01, 0.1)
            ),
            Field(
                key="tool.shank",
                words="diameter of its shank",
                kind="length",
                default=0.008,
                usual=(0.003, 0.02),
            ),
        ),
    ),
    *feet_questions(head=8.0, table=20.0, hand="hand"),
)
PLATE = 0.02  # carriage plates stand off their rails by about this [m], common practice, no source


def write(a: Answers, name: str) -> str:
    """The project file of these answers."""
    draft = Draft()
    head_of_file(
        draft,
        a,
        "portal",
        name,
        "middle between the feet of the uprights, at the height where they stand",
        "Its control may call Y what runs along the beam; the room keeps X to the operator's right.",
    )
    state(draft, a)
    x, y = a["head.at"], -(0.5 * a["beam.depth"] + a["throat"])
    tip = (x, y, a["tip_above_table"])
    nose = (x, y, tip[2] + a["tool.out"])
    _sections(draft, a)
    _parts(draft, a, nose)
    _joints(draft, a, nose)
    tool(draft, nose, tip, "-z", a["tool.shank"], a.mark("tool.shank"))
    half, deep = 0.5 * a["span"] + a["upright.thickness"], 0.3
    draft.heading("what it stands on")
    feet(draft, a, "frame", (-half, half, y - deep, deep), -0.08)
    draft.heading("weights, tool, pulls, gauges")
    weights(
        draft,
        a,
        (
            ("spindle motor", "motor", (x, y, nose[2] + 0.1), "head.mass"),
            ("frame and table", "frame", (0.0, 0.0, -0.04), "table.mass"),
        ),
    )
    places(draft, "tool", "frame", tip)
    middle = (0.0, 0.0, a["upright.height"])
    pulls(
        draft,
        a,
        (
            Pull(name="to the right", part="tool", at=tip, direction="+x"),
            Pull(name="towards the operator", part="tool", at=tip, direction="-y"),
            Pull(name="up", part="tool", at=tip, direction="+z", against="frame"),
            Pull(name="beam towards the operator", part="beam", at=middle, direction="-y"),
        ),
    )
    _gauges(draft, a, tip)
    return draft.text()


def _sections(draft: Draft, a: Answers) -> None:
    draft.heading("sections")
    box(
        draft,
        "beam",
        MATERIALS[a["beam.material"]],
        a["beam.depth"],
        a["beam.height"],
        a["beam.wall"],
        a.mark("beam.depth", "beam.height", "beam.wall"),
    )
    box(
        draft,
        "upright",
        MATERIALS[a["upright.material"]],
        a["upright.thickness"],
        a["upright.width"],
        None,
        a.mark("upright.thickness", "upright.width"),
    )
    box(
        draft,
        "z slide",
        MATERIALS["aluminium"],
        a["slide.width"],
        a["slide.thickness"],
        None,
        a.mark("slide.width", "slide.thickness"),
    )


def _slide_y(a: Answers) -> float:
    """Middle of the z slide: before the carriage plate."""
    return -float(0.5 * a["beam.depth"] + 2.0 * PLATE + 0.5 * a["slide.thickness"])


def _parts(draft: Draft, a: Answers, nose: tuple[float, float, float]) -> None:
    draft.heading("parts")
    half, height = 0.5 * a["span"], a["upright.height"]
    draft.table(
        "[[member]]",
        ("name", '"beam"'),
        ("section", '"beam"'),
        ("start", point((-half, 0.0, height))),
        ("end", point((half, 0.0, height))),
        ("x_axis", '"+y"'),
        ("warping", '["held", "held"]'),
    )
    for side, x in (
        ("left", -half - 0.5 * a["upright.thickness"]),
        ("right", half + 0.5 * a["upright.thickness"]),
    ):
        draft.table(
            "[[member]]",
            ("name", quoted(f"{side} upright")),
            ("section", '"upright"'),
            ("start", point((x, 0.0, 0.0))),
            ("end", point((x, 0.0, height + 0.5 * a["beam.height"]))),
            ("x_axis", '"+x"'),
        )
    x, y = nose[0], _slide_y(a)
    low = nose[2] + 0.5 * a["motor.clamp"]
    draft.table(
        "[[member]]",
        ("name", '"z slide"'),
        ("section", '"z slide"'),
        ("start", point((x, y, low))),
        ("end", point((x, y, low + a["slide.length"]))),
        ("x_axis", '"+x"'),
    )
    draft.table("[[block]]", ("name", '"frame"'), ("at", '"0, 0, -40 mm"'))
    draft.table(
        "[[block]]", ("name", '"carriage"'), ("at", point((x, -(0.5 * a["beam.depth"] + PLATE), height)))
    )
    draft.table(
        "[[block]]",
        ("name", '"motor"'),
        ("at", point((x, nose[1], nose[2] + a["spindle.overhang"] + a["spindle.span"]))),
    )
    draft.table(
        "[[block]]", ("name", '"spindle"'), ("at", point((x, nose[1], nose[2] + a["spindle.overhang"])))
    )


def _joints(draft: Draft, a: Answers, nose: tuple[float, float, float]) -> None:
    draft.heading("joints: from the library, by what was seen")
    half, height, depth = 0.5 * a["span"], a["upright.height"], a["beam.depth"]
    for side, x, looks in (("left", -half, "+x"), ("right", half, "-x")):
        foot = x + (-0.5 if side == "left" else 0.5) * a["upright.thickness"]
        _foot(draft, a, side, foot)
        flange(
            draft,
            f"{side} end",
            (f"{side} upright", "beam"),
            (x, 0.0, height),
            ("face_looks", quoted(looks)),
            ("size", mm(depth, a["beam.height"])),
            ("bolts", quoted(a["end.bolts"]), a.mark("end.bolts")),
            ("thickness", mm(a["end.thickness"]), a.mark("end.thickness")),
        )
    x, front = nose[0], -0.5 * depth
    across = a["beam_rails.apart"] + a["beam_rails.way"]
    draft.table(
        "[[pad]]",
        ("name", '"carriage pad"'),
        ("part", '"beam"'),
        ("at", point((x, front, height))),
        ("normal", '"-y"'),
        ("size", mm(min(across, flat_of(a["beam.height"], a["beam.wall"])), a["beam_rails.length"] + 0.05)),
    )
    slide(
        draft,
        a,
        "beam_rails",
        Way(
            name="beam carriages",
            parts=("beam", "carriage"),
            at=(x, front, height),
            slides="+x",
            looks="-y",
            pad="carriage pad",
        ),
        locked=a["head.locked"],
    )
    lower = nose[2] + a["slide.hangs"]
    middle = lower + 0.5 * a["slide_rails.length"]
    slide(
        draft,
        a,
        "slide_rails",
        Way(
            name="z rails",
            parts=("carriage", "z slide"),
            at=(x, front - 2.0 * PLATE, middle),
            slides="+z",
            looks="-y",
        ),
        locked=a["head.locked"],
    )
    clamp = nose[2] + 0.5 * a["motor.clamp"]
    draft.table(
        "[[joint]]",
        ("name", '"spindle clamp"'),
        ("parts", '["z slide", "motor"]'),
        ("at", point((x, _slide_y(a) - 0.5 * a["slide.thickness"], clamp))),
    )
    draft.table(
        "[joint.flange_on_bolts]",
        ("face_looks", '"-y"'),
        ("size", mm(a["motor.diameter"], a["motor.clamp"]), a.mark("motor.diameter", "motor.clamp")),
        ("bolts", quoted(a["motor.bolts"]), a.mark("motor.bolts")),
        ("unit", '"mm"'),
        ("bolt_at", _in_a_row(a["motor.bolts"], a["motor.diameter"], upright=False)),
        ("thickness", mm(0.012)),
        ("flange_material", quoted(MATERIALS["aluminium"])),
    )
    spindle(draft, a, "motor", nose, "-z", (0.0, 0.0, 1.0))


def _foot(draft: Draft, a: Answers, side: str, x: float) -> None:
    name, parts, at = f"{side} foot", ("frame", f"{side} upright"), (x, 0.0, 0.0)
    if a["moves"] == "table":
        flange(
            draft,
            name,
            parts,
            at,
            ("face_looks", '"+z"'),
            ("size", mm(a["upright.thickness"], a["upright.width"])),
            ("bolts", quoted(a["foot.bolts"]), a.mark("foot.bolts")),
            ("unit", '"mm"'),
            (
                "bolt_at",
                _in_a_row(a["foot.bolts"], a["upright.width"]),
                "from below into the edge of the plate",
            ),
            ("thickness", mm(0.012)),
            ("base_material", '"steel"'),
        )
        return
    draft.table(
        "[[joint]]",
        ("name", quoted(name)),
        ("parts", f"[{', '.join(map(quoted, parts))}]"),
        ("at", point(at)),
    )
    draft.table(
        "[joint.profile_rail_carriage]",
        ("slides", '"+y"'),
        ("face_looks", '"+z"'),
        ("size", mm(a["foot.rail"]), a.mark("foot.rail")),
        ("spacing", mm(0.0, a["foot.apart"]), a.mark("foot.apart")),
    )
    if a["drive"] == "ball screw":
        draft.table(
            "[joint.profile_rail_carriage.ball_screw]",
            ("diameter", mm(0.016), "not measured: a guess"),
            ("lead", mm(0.005)),
            ("free", mm(0.3)),
        )
    else:
        draft.add(("held_by", quoted(a["drive"]), a.mark("drive")))


def _in_a_row(bolts: str, length: float, *, upright: bool = True) -> str:
    """Bolts in a row along a face, as a list of points [mm]; `upright` along its second size."""
    count = int(bolts.split()[0])
    at = [0.8e3 * length * ((k + 0.5) / count - 0.5) for k in range(count)]
    return "[" + ", ".join(f"[0, {v:g}]" if upright else f"[{v:g}, 0]" for v in at) + "]"


def _gauges(draft: Draft, a: Answers, tip: tuple[float, float, float]) -> None:
    height, half, back = a["upright.height"], 0.5 * a["beam.height"], 0.5 * a["beam.depth"]
    rows = [
        Gauge(name=f"tool {d[1]}", part="tool", at=tip, direction=d, reference="frame")
        for d in ("+x", "+y", "+z")
    ]
    for what, z in (("top", height + 0.9 * half), ("bottom", height - 0.9 * half)):
        rows.append(
            Gauge(name=f"beam {what} y", part="beam", at=(tip[0], back, z), direction="+y", reference="frame")
        )
    for side, x in (("left", -0.5 * a["span"]), ("right", 0.5 * a["span"])):
        for way in ("x", "y"):
            rows.append(
                Gauge(
                    name=f"{side} upright top {way}",
                    part=f"{side} upright",
                    at=(x, 0.0, height),
                    direction=f"+{way}",
                    reference="frame",
                )
            )
    rows.append(
        Gauge(name="frame on bench", part="frame", at=(0.0, -0.2, 0.0), direction="+z", reference="ground")
    )
    gauges(draft, a, rows)
