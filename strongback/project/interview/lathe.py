"""A bench lathe: bed, headstock, saddle and slides, tool post, bar in the chuck."""

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
    gauges,
    head_of_file,
    material_field,
    places,
    pulls,
    slide,
    spindle_questions,
    state,
    way_question,
    weights,
)
from strongback.project.interview.draft import Draft, mm, point, quoted
from strongback.project.interview.question import Field, Question

__all__ = ["QUESTIONS", "write"]

QUESTIONS = (
    Question(
        title="Centre height over the bed",
        sketch="lathe",
        fields=(
            Field(
                key="centre_height",
                words="spindle axis above the bed",
                kind="length",
                default=0.09,
                usual=(0.03, 0.25),
            ),
        ),
    ),
    Question(
        title="The bed",
        sketch="lathe",
        fields=(
            Field(
                key="bed.width", words="width, front to back", kind="length", default=0.12, usual=(0.05, 0.3)
            ),
            Field(key="bed.height", words="height", kind="length", default=0.08, usual=(0.03, 0.25)),
            Field(key="bed.wall", words="wall", kind="length", default=0.012, usual=(0.005, 0.03)),
            Field(key="bed.length", words="length", kind="length", default=0.6, usual=(0.25, 1.5)),
            Field(
                key="bed.left",
                words="how far left of the nose it begins",
                kind="length",
                default=0.18,
                usual=(0.05, 0.5),
            ),
            material_field("bed.material", "material", "iron"),
        ),
    ),
    Question(
        title="The headstock",
        sketch="lathe",
        fields=(
            Field(
                key="headstock.length",
                words="length along the bed",
                kind="length",
                default=0.15,
                usual=(0.05, 0.35),
            ),
            Field(key="headstock.bolts", words="bolts that hold it", kind="bolts", default="4 x M8"),
        ),
    ),
    spindle_questions("spindle", nose="outside", kind="taper", bore=0.03, span=0.11, overhang=0.035),
    Question(
        title="Chuck and bar",
        sketch="lathe",
        fields=(
            Field(
                key="spindle.diameter",
                words="diameter of the spindle",
                kind="length",
                default=0.03,
                usual=(0.012, 0.08),
            ),
            Field(
                key="bar.out",
                words="the cut is out of the jaws by",
                kind="length",
                default=0.04,
                usual=(0.005, 0.2),
            ),
            Field(
                key="bar.diameter",
                words="diameter of the bar",
                kind="length",
                default=0.02,
                usual=(0.003, 0.1),
            ),
            material_field("bar.material", "the bar is", "steel"),
            Field(
                key="chuck.length",
                words="nose face to the end of the jaws",
                kind="length",
                default=0.06,
                usual=(0.02, 0.15),
            ),
        ),
    ),
    way_question(
        "saddle",
        "The saddle on the bed",
        runs_on="flat ways",
        flat=0.025,
        length=0.14,
        apart=0.09,
        held_by="lock",
    ),
    way_question(
        "cross", "The cross slide", runs_on="dovetail", flat=0.03, length=0.11, apart=0.07, held_by="screw"
    ),
    way_question(
        "top", "The top slide", runs_on="dovetail", flat=0.025, length=0.08, apart=0.05, held_by="screw"
    ),
    Question(
        title="Heights over the bed",
        sketch="lathe",
        fields=(
            Field(
                key="cross.height",
                words="top of the cross slide",
                kind="length",
                default=0.04,
                usual=(0.015, 0.12),
            ),
            Field(
                key="top.height",
                words="top of the top slide",
                kind="length",
                default=0.065,
                usual=(0.025, 0.16),
            ),
        ),
    ),
    Question(
        title="Tool post and tool",
        sketch="tool post",
        fields=(
            Field(key="post.bolt", words="its bolt", kind="bolts", default="1 x M10"),
            Field(key="post.base", words="side of its base", kind="length", default=0.06, usual=(0.03, 0.12)),
            Field(
                key="shank.width",
                words="width of the shank",
                kind="length",
                default=0.01,
                usual=(0.005, 0.025),
            ),
            Field(
                key="shank.height",
                words="height of the shank",
                kind="length",
                default=0.01,
                usual=(0.005, 0.025),
            ),
            Field(key="shank.out", words="out of the post", kind="length", default=0.02, usual=(0.005, 0.06)),
        ),
    ),
    *feet_questions(head=15.0, table=8.0, hand="hand"),
)


def write(a: Answers, name: str) -> str:
    """The project file of these answers."""
    draft = Draft()
    head_of_file(
        draft,
        a,
        "lathe",
        name,
        "on top of the bed, below the spindle's nose face, in the plane of the spindle",
        "Turning practice calls the bed's direction Z and the cross slide's X; here X runs along the bed.",
    )
    state(draft, a)
    cut = a["chuck.length"] + a["bar.out"]
    tip = (cut, -0.5 * a["bar.diameter"], a["centre_height"])
    post_y = tip[1] - a["shank.out"] - 0.5 * a["post.base"]
    _sections(draft, a)
    _parts(draft, a, tip, post_y)
    _joints(draft, a, tip, post_y)
    half = 0.5 * a["bed.width"]
    draft.heading("what it stands on")
    feet(draft, a, "bed", (-a["bed.left"], a["bed.length"] - a["bed.left"], -half, half), -a["bed.height"])
    draft.heading("weights, tool, pulls, gauges")
    weights(
        draft,
        a,
        (
            (
                "headstock and motor",
                "headstock",
                (-0.5 * a["headstock.length"], 0.0, a["centre_height"]),
                "head.mass",
            ),
            ("saddle and slides", "saddle", (cut, post_y, 0.02), "table.mass"),
        ),
    )
    places(draft, "tool", "bar", tip)
    pulls(
        draft,
        a,
        (
            Pull(name="radial", part="tool", at=tip, direction="-y", against="bar"),
            Pull(name="tangential", part="tool", at=tip, direction="-z", against="bar"),
            Pull(name="axial", part="tool", at=tip, direction="-x", against="bar"),
            Pull(name="bar towards the operator", part="bar", at=tip, direction="-y"),
        ),
    )
    rows = [
        Gauge(name=f"tool {d[1]}", part="tool", at=tip, direction=d, reference="bar")
        for d in ("+y", "+z", "+x")
    ]
    rows += [
        Gauge(
            name="tool post y", part="tool post", at=(cut, post_y, tip[2]), direction="+y", reference="bed"
        ),
        Gauge(
            name="tool post z", part="tool post", at=(cut, post_y, tip[2]), direction="+z", reference="bed"
        ),
        Gauge(
            name="headstock y",
            part="headstock",
            at=(0.0, 0.0, tip[2] + 0.03),
            direction="+y",
            reference="bed",
        ),
        Gauge(name="bar y", part="bar", at=(cut, 0.0, tip[2]), direction="+y", reference="bed"),
        Gauge(
            name="bed on bench",
            part="bed",
            at=(0.5 * a["bed.length"] - a["bed.left"], 0.0, 0.0),
            direction="+z",
            reference="ground",
        ),
    ]
    gauges(draft, a, rows)
    return draft.text()


def _sections(draft: Draft, a: Answers) -> None:
    draft.heading("sections")
    box(
        draft,
        "bed",
        MATERIALS[a["bed.material"]],
        a["bed.width"],
        a["bed.height"],
        a["bed.wall"],
        a.mark("bed.width", "bed.height", "bed.wall"),
    )
    draft.table(
        "[[section]]",
        ("name", '"spindle"'),
        ("material", '"steel"'),
        ("shape", '"circle"'),
        ("diameter", mm(a["spindle.diameter"]), a.mark("spindle.diameter")),
    )
    draft.table(
        "[[section]]",
        ("name", '"bar"'),
        ("material", quoted(MATERIALS[a["bar.material"]])),
        ("shape", '"circle"'),
        ("diameter", mm(a["bar.diameter"]), a.mark("bar.diameter")),
    )
    box(
        draft,
        "shank",
        "steel",
        a["shank.width"],
        a["shank.height"],
        None,
        a.mark("shank.width", "shank.height"),
    )


def _parts(draft: Draft, a: Answers, tip: tuple[float, float, float], post_y: float) -> None:
    draft.heading("parts")
    z, bed, left = a["centre_height"], -0.5 * a["bed.height"], -a["bed.left"]
    rear = -(a["spindle.overhang"] + a["spindle.span"] + 0.02)
    draft.table(
        "[[member]]",
        ("name", '"bed"'),
        ("section", '"bed"'),
        ("start", point((left, 0.0, bed))),
        ("end", point((left + a["bed.length"], 0.0, bed))),
        ("x_axis", '"+y"'),
    )
    draft.table(
        "[[member]]",
        ("name", '"spindle"'),
        ("section", '"spindle"'),
        ("start", point((rear, 0.0, z))),
        ("end", point((0.0, 0.0, z))),
        ("x_axis", '"+y"'),
    )
    draft.table(
        "[[member]]",
        ("name", '"bar"'),
        ("section", '"bar"'),
        ("start", point((a["chuck.length"], 0.0, z))),
        ("end", point((tip[0] + 0.01, 0.0, z))),
        ("x_axis", '"+y"'),
    )
    draft.table(
        "[[member]]",
        ("name", '"tool"'),
        ("section", '"shank"'),
        ("start", point((tip[0], tip[1] - a["shank.out"], z))),
        ("end", point(tip)),
        ("x_axis", '"+x"'),
    )
    x = tip[0]
    draft.table(
        "[[block]]", ("name", '"headstock"'), ("at", point((-0.5 * a["headstock.length"], 0.0, 0.5 * z)))
    )
    for name, at in (
        ("saddle", (x, 0.0, 0.01)),
        ("cross slide", (x, post_y, a["cross.height"])),
        ("top slide", (x, post_y, a["top.height"])),
        ("tool post", (x, post_y, z)),
    ):
        draft.table("[[block]]", ("name", quoted(name)), ("at", point(at)))


def _joints(draft: Draft, a: Answers, tip: tuple[float, float, float], post_y: float) -> None:
    draft.heading("joints: from the library, by what was seen")
    z, x, iron = a["centre_height"], tip[0], quoted(MATERIALS["iron"])
    flange(
        draft,
        "headstock bolts",
        ("bed", "headstock"),
        (-0.5 * a["headstock.length"], 0.0, 0.0),
        ("face_looks", '"+z"'),
        ("size", mm(a["headstock.length"], a["bed.width"]), a.mark("headstock.length")),
        ("bolts", quoted(a["headstock.bolts"]), a.mark("headstock.bolts")),
        ("thickness", mm(0.02), "not measured: a guess"),
        ("flange_material", iron),
    )
    bore, remark = a["spindle.bore"], a.mark("spindle.front", "spindle.bore", "spindle.span")
    draft.table("[[joint]]", ("name", '"spindle"'), ("parts", '["headstock", "spindle"]'))
    draft.table(
        "[joint.spindle_bearings]",
        ("nose", '"+x"'),
        ("front_bearing", point((-a["spindle.overhang"], 0.0, z))),
        ("bearing_span", mm(a["spindle.span"])),
        ("front", f"{{ kind = {quoted(a['spindle.front'])}, bore = {mm(bore)} }}", remark),
        ("rear", f"{{ kind = {quoted(a['spindle.rear'])}, bore = {mm(bore)} }}"),
    )
    draft.table(
        "[[joint]]", ("name", '"chuck"'), ("parts", '["spindle", "bar"]'), ("at", point((0.0, 0.0, z)))
    )
    draft.table("[joint.tool_in_the_nose]", ("nose", '"+x"'), ("holder", '"jaw chuck"'))
    slide(
        draft,
        a,
        "saddle",
        Way(name="saddle ways", parts=("bed", "saddle"), at=(x, 0.0, 0.0), slides="+x", looks="+z"),
        locked=a["table.locked"],
    )
    slide(
        draft,
        a,
        "cross",
        Way(
            name="cross slide ways",
            parts=("saddle", "cross slide"),
            at=(x, 0.5 * post_y, 0.7 * a["cross.height"]),
            slides="+y",
            looks="+z",
        ),
        locked=a["table.locked"],
    )
    between = 0.5 * (a["cross.height"] + a["top.height"])
    slide(
        draft,
        a,
        "top",
        Way(
            name="top slide ways",
            parts=("cross slide", "top slide"),
            at=(x, post_y, between),
            slides="+y",
            looks="+z",
        ),
        locked=a["table.locked"],
    )
    base = a["post.base"]
    draft.table(
        "[[joint]]",
        ("name", '"tool post"'),
        ("parts", '["top slide", "tool post"]'),
        ("at", point((x, post_y, a["top.height"]))),
    )
    draft.table(
        "[joint.tool_post]",
        ("face_looks", '"+z"'),
        ("size", mm(base, base), a.mark("post.base")),
        ("bolts", quoted(a["post.bolt"]), a.mark("post.bolt")),
        ("thickness", mm(0.02)),
        ("post_material", '"steel"'),
        ("slide_material", iron),
    )
    draft.remark("", "The shank is held fast in the post by its screws.")
    draft.table(
        "[[joint]]",
        ("name", '"shank"'),
        ("parts", '["tool post", "tool"]'),
        ("at", point((x, tip[1] - a["shank.out"], z))),
        ("along", '"rigid"'),
        ("about", '"rigid"'),
    )
