"""A drill or tapping stand: a post on a plate, an arm on a collar, a quill."""

from __future__ import annotations

from strongback.project.interview.answers import Answers
from strongback.project.interview.common import (
    MATERIALS,
    Gauge,
    Pull,
    box,
    feet,
    feet_questions,
    flange,
    gauges,
    head_of_file,
    material_field,
    places,
    pulls,
    spindle,
    spindle_questions,
    state,
    tool,
    weights,
)
from strongback.project.interview.draft import Draft, mm, point, quoted
from strongback.project.interview.question import Field, Question

__all__ = ["QUESTIONS", "write"]

ROUND = ("round bar", "round tube")
QUESTIONS = (
    Question(
        title="The post",
        sketch="end faces",
        fields=(
            Field(
                key="post.shape",
                words="it is a",
                kind="choice",
                default="square tube",
                choices=("square tube", *ROUND),
            ),
            Field(key="post.size", words="outside", kind="length", default=0.06, usual=(0.025, 0.1)),
            Field(key="post.wall", words="wall", kind="length", default=0.004, usual=(0.0015, 0.01)),
            material_field("post.material", "material", "steel"),
        ),
    ),
    Question(
        title="Height of the post above the plate",
        sketch="stand",
        fields=(Field(key="post.height", words="height", kind="length", default=0.6, usual=(0.25, 1.0)),),
    ),
    Question(
        title="How does it stand on the plate?",
        sketch="foot",
        fields=(
            Field(
                key="foot.kind", words="it is", kind="choice", default="bolted", choices=("welded", "bolted")
            ),
            Field(key="foot.bolts", words="bolts of its flange", kind="bolts", default="4 x M8"),
            Field(
                key="foot.width",
                words="size of the flange or of the weld",
                kind="length",
                default=0.11,
                usual=(0.04, 0.25),
            ),
            Field(
                key="foot.thickness",
                words="thickness of the flange",
                kind="length",
                default=0.01,
                usual=(0.004, 0.04),
            ),
        ),
    ),
    Question(
        title="The plate",
        sketch="stand",
        fields=(
            Field(
                key="plate.length",
                words="length, front to back",
                kind="length",
                default=0.32,
                usual=(0.15, 0.6),
            ),
            Field(key="plate.width", words="width", kind="length", default=0.22, usual=(0.1, 0.45)),
            Field(key="plate.thickness", words="thickness", kind="length", default=0.01, usual=(0.005, 0.06)),
            Field(
                key="plate.behind",
                words="from the post's middle to its rear edge",
                kind="length",
                default=0.06,
                usual=(0.02, 0.15),
            ),
            material_field("plate.material", "material", "steel"),
        ),
    ),
    Question(
        title="Reach: middle of the post to the drill axis",
        sketch="stand",
        fields=(Field(key="reach", words="reach", kind="length", default=0.17, usual=(0.08, 0.3)),),
    ),
    Question(
        title="The arm",
        fields=(
            Field(key="arm.width", words="width", kind="length", default=0.05, usual=(0.02, 0.12)),
            Field(key="arm.height", words="height", kind="length", default=0.05, usual=(0.02, 0.15)),
            Field(key="arm.wall", words="wall", kind="length", default=0.008, usual=(0.003, 0.02)),
            material_field("arm.material", "material", "steel"),
        ),
    ),
    Question(
        title="The collar on the post",
        sketch="clamp",
        fields=(
            Field(key="collar.height", words="height", kind="length", default=0.06, usual=(0.03, 0.15)),
            Field(key="collar.bolts", words="pinch bolts", kind="bolts", default="2 x M8"),
            Field(
                key="collar.height_now",
                words="its middle above the plate now",
                kind="length",
                default=0.42,
                usual=(0.1, 0.8),
            ),
        ),
    ),
    Question(
        title="The quill",
        sketch="spindle",
        fields=(
            Field(key="quill.diameter", words="diameter", kind="length", default=0.04, usual=(0.02, 0.08)),
            Field(
                key="quill.length",
                words="length of its bore",
                kind="length",
                default=0.05,
                usual=(0.02, 0.15),
            ),
            Field(key="quill.out", words="how far out", kind="length", default=0.02, usual=(0.001, 0.1)),
        ),
    ),
    spindle_questions("spindle", kind="deep groove", bore=0.017, span=0.08, overhang=0.02),
    Question(
        title="Chuck, tool and work",
        sketch="stand",
        fields=(
            Field(
                key="tip_above_plate",
                words="end of the tool above the plate",
                kind="length",
                default=0.25,
                usual=(0.05, 0.5),
            ),
            Field(
                key="tool.out", words="tool out of the nose", kind="length", default=0.06, usual=(0.01, 0.15)
            ),
            Field(key="tool.shank", words="its diameter", kind="length", default=0.01, usual=(0.003, 0.025)),
            Field(
                key="vice.height", words="height of the vice", kind="length", default=0.04, usual=(0.01, 0.15)
            ),
        ),
    ),
    *feet_questions(head=8.0, table=4.0, hand="jack"),
)


def write(a: Answers, name: str) -> str:
    """The project file of these answers."""
    draft = Draft()
    head_of_file(draft, a, "stand", name, "where the post meets the top of the plate")
    state(draft, a)
    draft.add(('"quill out"', mm(a["quill.out"]), a.mark("quill.out")))
    y, z = -a["reach"], a["collar.height_now"]
    nose, tip = (0.0, y, a["tip_above_plate"] + a["tool.out"]), (0.0, y, a["tip_above_plate"])
    _sections(draft, a)
    _parts(draft, a, nose)
    _joints(draft, a, nose)
    tool(draft, nose, tip, "-z", a["tool.shank"], a.mark("tool.shank"))
    rear, half = a["plate.behind"], 0.5 * a["plate.width"]
    draft.heading("what it stands on")
    feet(draft, a, "plate", (-half, half, rear - a["plate.length"], rear), -a["plate.thickness"])
    draft.heading("weights, tool, pulls, gauges")
    weights(
        draft,
        a,
        (("head and motor", "arm", (0.0, y, z), "head.mass"), ("vice", "vice", (0.0, y, 0.02), "table.mass")),
    )
    places(draft, "tool", "vice", tip)
    top = (0.0, 0.0, a["post.height"] - 0.01)
    pulls(
        draft,
        a,
        (
            Pull(name="drilling up", part="tool", at=tip, direction="+z", against="vice"),
            Pull(name="to the right", part="tool", at=tip, direction="+x"),
            Pull(name="towards the operator", part="tool", at=tip, direction="-y"),
            Pull(name="post top towards the operator", part="post", at=top, direction="-y"),
        ),
    )
    rows = [
        Gauge(name=f"tool {d[1]}", part="tool", at=tip, direction=d, reference="vice")
        for d in ("+z", "+x", "+y")
    ]
    for what, up in (("foot", 0.04), ("middle", 0.5 * a["post.height"]), ("top", a["post.height"] - 0.02)):
        rows.append(
            Gauge(
                name=f"{what} y",
                part="post",
                at=(0.0, 0.5 * a["post.size"], up),
                direction="+y",
                reference="plate",
            )
        )
    for hand, x in (("left", -0.12), ("right", 0.12)):
        rows.append(
            Gauge(
                name=f"head bar {hand}",
                part="post",
                at=(x, 0.0, min(z + 0.05, a["post.height"] - 0.02)),
                direction="+y",
                reference="plate",
            )
        )
    rows.append(
        Gauge(name="plate on bench", part="plate", at=(0.0, 0.5 * y, 0.0), direction="+z", reference="ground")
    )
    gauges(draft, a, rows)
    return draft.text()


def _sections(draft: Draft, a: Answers) -> None:
    draft.heading("sections")
    material, size, wall = MATERIALS[a["post.material"]], a["post.size"], a["post.wall"]
    remark = a.mark("post.size", "post.wall")
    if a["post.shape"] == "square tube":
        box(draft, "post", material, size, size, wall, remark)
    else:
        draft.table("[[section]]", ("name", '"post"'), ("material", quoted(material)))
        tube = a["post.shape"] == "round tube"
        draft.add(("shape", '"round tube"' if tube else '"circle"'), ("diameter", mm(size), remark))
        if tube:
            draft.add(("thickness", mm(wall)))
    box(
        draft,
        "plate",
        MATERIALS[a["plate.material"]],
        a["plate.width"],
        a["plate.thickness"],
        None,
        a.mark("plate.width", "plate.thickness"),
    )
    box(
        draft,
        "arm",
        MATERIALS[a["arm.material"]],
        a["arm.width"],
        a["arm.height"],
        a["arm.wall"],
        a.mark("arm.width", "arm.height", "arm.wall"),
    )


def _parts(draft: Draft, a: Answers, nose: tuple[float, float, float]) -> None:
    draft.heading("parts")
    z, plate, rear = a["collar.height_now"], -0.5 * a["plate.thickness"], a["plate.behind"]
    front = -(0.5 * a["post.size"] + 0.01)
    draft.table(
        "[[member]]",
        ("name", '"post"'),
        ("section", '"post"'),
        ("start", '"0, 0, 0 mm"'),
        ("end", point((0.0, 0.0, a["post.height"])), a.mark("post.height")),
        ("x_axis", '"+x"'),
        ("warping", '["held", "free"]'),
    )
    draft.table(
        "[[member]]",
        ("name", '"plate"'),
        ("section", '"plate"'),
        ("start", point((0.0, rear, plate))),
        ("end", point((0.0, rear - a["plate.length"], plate))),
        ("x_axis", '"+x"'),
    )
    draft.table(
        "[[member]]",
        ("name", '"arm"'),
        ("section", '"arm"'),
        ("start", point((0.0, front, z))),
        ("end", point((0.0, nose[1], z))),
        ("x_axis", '"+x"'),
        ("warping", '["held", "held"]'),
    )
    draft.table("[[block]]", ("name", '"collar"'), ("at", point((0.0, 0.0, z))))
    draft.table(
        "[[block]]",
        ("name", '"quill"'),
        ("at", point((0.0, nose[1], nose[2] + a["spindle.overhang"] + a["spindle.span"]))),
    )
    draft.table(
        "[[block]]", ("name", '"spindle"'), ("at", point((0.0, nose[1], nose[2] + a["spindle.overhang"])))
    )
    draft.table("[[block]]", ("name", '"vice"'), ("at", point((0.0, nose[1], 0.5 * a["vice.height"]))))


def _joints(draft: Draft, a: Answers, nose: tuple[float, float, float]) -> None:
    draft.heading("joints: from the library, by what was seen")
    z, size = a["collar.height_now"], a["post.size"]
    if a["foot.kind"] == "welded":
        draft.remark("", "The weld holds; what the plate gives is in the plate itself.")
        draft.table(
            "[[joint]]",
            ("name", '"foot"'),
            ("parts", '["plate", "post"]'),
            ("at", '"0, 0, 0 mm"'),
            ("along", '"rigid"'),
            ("about", '"rigid"'),
        )
    else:
        foot = a["foot.width"]
        flange(
            draft,
            "foot",
            ("plate", "post"),
            (0.0, 0.0, 0.0),
            ("face_looks", '"+z"'),
            ("size", mm(foot, foot), a.mark("foot.width")),
            ("bolts", quoted(a["foot.bolts"]), a.mark("foot.bolts")),
            ("thickness", mm(a["foot.thickness"]), a.mark("foot.thickness")),
            ("wall_to_bolt", mm(max(0.0, 0.4 * (foot - size)))),
        )
    draft.table(
        "[[joint]]", ("name", '"collar"'), ("parts", '["post", "collar"]'), ("at", point((0.0, 0.0, z)))
    )
    draft.table(
        "[joint.clamp_on_round_column]",
        ("post_along", '"+z"'),
        ("diameter", mm(size), "" if a["post.shape"] in ROUND else "of a square post: taken as round"),
        ("height", mm(a["collar.height"]), a.mark("collar.height")),
        ("bolts", quoted(a["collar.bolts"]), a.mark("collar.bolts")),
        ("hub_material", quoted(MATERIALS[a["arm.material"]])),
    )
    draft.remark("", "The arm is welded on its collar.")
    draft.table(
        "[[joint]]",
        ("name", '"arm weld"'),
        ("parts", '["collar", "arm"]'),
        ("at", point((0.0, -(0.5 * size + 0.01), z))),
        ("along", '"rigid"'),
        ("about", '"rigid"'),
    )
    draft.table(
        "[[joint]]",
        ("name", '"quill guide"'),
        ("parts", '["arm", "quill"]'),
        ("at", point((0.0, nose[1], z))),
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
    flange(
        draft,
        "vice bolts",
        ("plate", "vice"),
        (0.0, nose[1], 0.0),
        ("face_looks", '"+z"'),
        ("size", '"100, 100 mm"', "not measured: a guess"),
        ("bolts", '"2 x M8"', "not measured: a guess"),
        ("unit", '"mm"'),
        ("bolt_at", "[[-40, 0], [40, 0]]"),
        ("thickness", '"12 mm"'),
        ("flange_material", '"grey iron GJL-250"'),
    )
