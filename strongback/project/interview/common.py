"""Questions and tables that every kind of machine shares: materials, ways, flanges, feet, weights, pulls, gauges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from strongback.project.interview.answers import Answers
from strongback.project.interview.draft import Draft, Row, bare, mm, point, quoted
from strongback.project.interview.question import Field, Question

__all__ = [
    "LOG",
    "MATERIALS",
    "Gauge",
    "Pull",
    "Way",
    "box",
    "feet",
    "feet_questions",
    "flange",
    "flat_of",
    "gauges",
    "head_of_file",
    "material_field",
    "places",
    "pulls",
    "slide",
    "spindle",
    "spindle_questions",
    "state",
    "tool",
    "way_question",
    "weights",
]

Vector = tuple[float, float, float]
LOG = "readings-to-fill-in.csv"
MATERIALS = {"aluminium": "aluminium 6060", "steel": "steel", "iron": "grey iron GJL-250"}
BENCHES = {
    "steel screws on steel": "steel",
    "steel screws on wood": "wood",
    "steel screws on concrete": "concrete",
}
FEET = (*BENCHES, "rubber feet", "bolted to steel")
WAYS = ("dovetail", "flat ways", "rails", "round rails")
HOLDS = ("lock", "screw", "ball screw", "rack", "belt")


def material_field(key: str, words: str, default: str) -> Field:
    """A question for a material."""
    return Field(key=key, words=words, kind="choice", default=default, choices=tuple(MATERIALS))


def way_question(
    prefix: str, title: str, *, runs_on: str, flat: float, length: float, apart: float, held_by: str
) -> Question:
    """How a slide runs and what holds it."""
    return Question(
        title=title,
        sketch="ways",
        explain="A dovetail or flat way has two faces; rails carry ball carriages. Measure what stays engaged.",
        fields=(
            Field(key=f"{prefix}.runs_on", words="it runs on", kind="choice", default=runs_on, choices=WAYS),
            Field(
                key=f"{prefix}.way",
                words="width of each way (rails: of the rail)",
                kind="length",
                default=flat,
                usual=(0.008, 0.08),
            ),
            Field(
                key=f"{prefix}.length",
                words="length engaged (rails: between carriages)",
                kind="length",
                default=length,
                usual=(0.04, 0.3),
            ),
            Field(
                key=f"{prefix}.apart",
                words="between the middles of the ways",
                kind="length",
                default=apart,
                usual=(0.03, 0.3),
            ),
            Field(
                key=f"{prefix}.gib",
                words="its gib",
                kind="choice",
                default="strip",
                choices=("strip", "taper", "none"),
            ),
            Field(
                key=f"{prefix}.held_by",
                words="what holds it along",
                kind="choice",
                default=held_by,
                choices=HOLDS,
            ),
        ),
    )


def spindle_questions(
    sketch: str, *, nose: str = "below", kind: str, bore: float, span: float, overhang: float
) -> Question:
    """Bearings of a spindle."""
    kinds = ("angular pair", "deep groove", "taper")
    return Question(
        title=f"Spindle: its bearings, and how far the nose is {nose}",
        sketch=sketch,
        explain="The number on a bearing tells its bore: 7205 is 25 mm (last two digits times five).",
        fields=(
            Field(key="spindle.front", words="front bearing", kind="choice", default=kind, choices=kinds),
            Field(
                key="spindle.rear", words="rear bearing", kind="choice", default="deep groove", choices=kinds
            ),
            Field(
                key="spindle.bore",
                words="bore of the front bearing",
                kind="length",
                default=bore,
                usual=(0.01, 0.08),
            ),
            Field(
                key="spindle.span",
                words="between their middles",
                kind="length",
                default=span,
                usual=(0.03, 0.25),
            ),
            Field(
                key="spindle.overhang",
                words="front bearing to nose face",
                kind="length",
                default=overhang,
                usual=(0.005, 0.1),
            ),
        ),
    )


def feet_questions(*, head: float, table: float, hand: str) -> tuple[Question, ...]:
    """What every machine is asked last."""
    yes = ("head.locked", "head locked"), ("table.locked", "table locked"), ("quill.clamped", "quill clamped")
    return (
        Question(
            title="What does it stand on?",
            sketch="feet",
            explain="Rubber feet are often the softest part; a jack between tool and table hardly moves them.",
            fields=(
                Field(
                    key="feet.kind",
                    words="it stands on",
                    kind="choice",
                    default="steel screws on steel",
                    choices=FEET,
                ),
                Field(key="feet.count", words="how many feet", kind="count", default=4, usual=(3, 4)),
                Field(
                    key="feet.inset",
                    words="from the edges of the base to a foot",
                    kind="length",
                    default=0.02,
                    usual=(0.0, 0.15),
                ),
                Field(
                    key="feet.size",
                    words="diameter of a screw, bolt or rubber foot",
                    kind="length",
                    default=0.012,
                    usual=(0.006, 0.08),
                ),
            ),
        ),
        Question(
            title="What do they weigh?",
            explain="Only vibration, lifting and the load on feet need it.",
            fields=(
                Field(
                    key="head.mass", words="head with motor", kind="mass", default=head, usual=(2.0, 120.0)
                ),
                Field(key="table.mass", words="table", kind="mass", default=table, usual=(3.0, 120.0)),
            ),
        ),
        Question(
            title="What can you pull with, and how hard?",
            sketch="pull",
            explain="A dead weight stays just above the floor on a second slack cord; spindles have limits.",
            fields=(
                Field(
                    key="pull.with",
                    words="by",
                    kind="choice",
                    default=hand,
                    choices=("hand", "dead weight", "jack"),
                ),
                Field(
                    key="pull.most",
                    words="most that is pulled",
                    kind="force",
                    default=100.0,
                    usual=(20.0, 500.0),
                ),
            ),
        ),
        Question(
            title="Your dial",
            fields=(
                Field(
                    key="dial.step", words="smallest step", kind="length", default=1e-5, usual=(5e-7, 2e-5)
                ),
                Field(key="dial.count", words="how many dials", kind="count", default=1, usual=(1, 4)),
            ),
        ),
        Question(
            title="How does it stand while you pull?",
            fields=tuple(Field(key=key, words=words, kind="yes", default=True) for key, words in yes),
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """Where a slide is and how it moves."""

    name: str
    parts: tuple[str, str]
    at: Vector
    slides: str
    looks: str
    pad: str = ""


def head_of_file(draft: Draft, answers: Answers, kind: str, name: str, zero: str, turned: str = "") -> None:
    """What the file is, its axes and where zero lies."""
    draft.remark(
        f"Written by strongback new --kind {kind} from the answers beside it; change either and write again.",
        "",
        f"Axes of the room: X to the operator's right, Y away from the operator, Z up. Zero: {zero}.",
        *([turned] if turned else []),
    )
    draft.lines += ["", "format = 2"]
    draft.table("[machine]", ("name", quoted(name)))
    if answers.units == "inch":
        draft.add(("units", '"inch"', "what is printed and drawn; JSON stays SI"))


def state(draft: Draft, answers: Answers) -> None:
    """Locks and clamps as they are while it is pulled."""
    words = {True: "locked as when cutting", False: "loose"}
    draft.table(
        "[state]",
        *(
            (quoted(what), quoted(words[answers[key]]), answers.mark(key))
            for what, key in (("head", "head.locked"), ("table", "table.locked"), ("quill", "quill.clamped"))
        ),
    )


def box(
    draft: Draft, name: str, material: str, width: float, depth: float, wall: float | None, remark: str = ""
) -> None:
    """A rectangular tube, or a solid bar where there is no wall."""
    draft.table("[[section]]", ("name", quoted(name)), ("material", quoted(material)))
    if wall is None:
        draft.add(("shape", '"rectangle"'), ("width", mm(width)), ("depth", mm(depth), remark))
        return
    outer, inner = min(1.5 * wall, 0.4 * min(width, depth)), 0.5 * wall
    draft.add(
        ("shape", '"rectangular tube"'),
        ("width", mm(width)),
        ("depth", mm(depth)),
        ("thickness", mm(wall), remark),
        ("outer_radius", mm(outer)),
        ("inner_radius", mm(inner)),
    )


def flat_of(side: float, wall: float) -> float:
    """Width of the flat between the outside corners of a tube as `box` writes it, a little less [m].

    Examples
    --------
    >>> round(flat_of(0.1, 0.004), 4)
    0.086
    """
    return side - 2.0 * min(1.5 * wall, 0.4 * side) - 0.002


def slide(draft: Draft, answers: Answers, prefix: str, way: Way, *, locked: bool) -> None:
    """The joint of a slide."""
    size = [f"{prefix}.{key}" for key in ("way", "length", "apart")]
    flat, length, apart = (answers[key] for key in size)
    draft.table(
        "[[joint]]",
        ("name", quoted(way.name)),
        ("parts", f"[{', '.join(map(quoted, way.parts))}]"),
        ("at", point(way.at)),
        *([("pad", quoted(way.pad))] if way.pad else []),
    )
    kind = {
        "dovetail": "dovetail_way",
        "flat ways": "box_way",
        "rails": "profile_rail_carriage",
        "round rails": "round_rail",
    }
    table = kind[answers[f"{prefix}.runs_on"]]
    draft.table(f"[joint.{table}]", ("slides", quoted(way.slides)), ("face_looks", quoted(way.looks)))
    remark = answers.mark(*size)
    if table in ("dovetail_way", "box_way"):
        draft.add(
            ("flat", mm(flat), remark),
            ("length", mm(length)),
            ("apart", mm(apart)),
            ("gib", quoted(answers[f"{prefix}.gib"]), answers.mark(f"{prefix}.gib")),
            ("locked", "true" if locked else "false"),
        )
    else:
        draft.add(
            ("size" if table == "profile_rail_carriage" else "diameter", mm(flat), remark),
            ("spacing", mm(apart, length)),
        )
    _held(draft, answers, prefix, table)


def _held(draft: Draft, answers: Answers, prefix: str, table: str) -> None:
    key = f"{prefix}.held_by"
    by, remark = answers[key], answers.mark(key)
    if by == "screw":
        draft.table(
            f"[joint.{table}.trapezoidal_screw]",
            ("diameter", mm(0.014), "not measured: a guess"),
            ("pitch", mm(0.003)),
            ("free", mm(0.15)),
        )
    elif by == "ball screw":
        draft.table(
            f"[joint.{table}.ball_screw]",
            ("diameter", mm(0.016), "not measured: a guess"),
            ("lead", mm(0.005)),
            ("free", mm(0.25)),
        )
    else:
        draft.add(("held_by", quoted(by), remark))


def flange(
    draft: Draft,
    name: str,
    parts: Sequence[str],
    at: Vector,
    *rows: Row | tuple[str, str] | tuple[str, str, str],
) -> None:
    """A joint of two faces held by bolts."""
    draft.table(
        "[[joint]]",
        ("name", quoted(name)),
        ("parts", f"[{', '.join(map(quoted, parts))}]"),
        ("at", point(at)),
    )
    draft.table("[joint.flange_on_bolts]", *rows)


def spindle(draft: Draft, answers: Answers, part: str, nose: Vector, looks: str, along: Vector) -> None:
    """A spindle that is a block, in two bearings; `along` is the unit vector from the nose into the machine."""
    front = tuple(n + answers["spindle.overhang"] * d for n, d in zip(nose, along, strict=True))
    bore, remark = answers["spindle.bore"], answers.mark("spindle.front", "spindle.bore", "spindle.span")
    draft.table("[[joint]]", ("name", '"spindle"'), ("parts", f'[{quoted(part)}, "spindle"]'))
    draft.table(
        "[joint.spindle_bearings]",
        ("nose", quoted(looks)),
        ("front_bearing", point(front)),
        ("bearing_span", mm(answers["spindle.span"])),
        ("front", f"{{ kind = {quoted(answers['spindle.front'])}, bore = {mm(bore)} }}", remark),
        ("rear", f"{{ kind = {quoted(answers['spindle.rear'])}, bore = {mm(bore)} }}"),
        ("overhang", mm(answers["spindle.overhang"])),
        ("diameter", mm(bore)),
    )


def tool(draft: Draft, nose: Vector, tip: Vector, looks: str, shank: float, remark: str) -> None:
    """A round tool that is held in a collet and stands out to the tip."""
    draft.table(
        "[[section]]",
        ("name", '"tool"'),
        ("material", '"steel"'),
        ("shape", '"circle"'),
        ("diameter", mm(shank), remark),
    )
    across = '"+x"' if looks[1] == "z" else '"+z"'
    draft.table(
        "[[member]]",
        ("name", '"tool"'),
        ("section", '"tool"'),
        ("start", point(nose)),
        ("end", point(tip)),
        ("x_axis", across),
    )
    draft.table("[[joint]]", ("name", '"collet"'), ("parts", '["spindle", "tool"]'), ("at", point(nose)))
    draft.table(
        "[joint.tool_in_the_nose]", ("nose", quoted(looks)), ("holder", '"collet"'), ("shank", mm(shank))
    )


def feet(draft: Draft, answers: Answers, part: str, corners: Sequence[float], under: float) -> None:
    """Supports under a base whose edges are left, right, front and back."""
    left, right, front, back = corners
    inset = answers["feet.inset"]
    xs, ys = (left + inset, right - inset), (front + inset, back - inset)
    if answers["feet.count"] == 3:
        spots = [
            ("rear foot", 0.5 * (left + right), ys[1]),
            ("left foot", xs[0], ys[0]),
            ("right foot", xs[1], ys[0]),
        ]
    else:
        spots = [
            (f"{row} {side} foot", x, y)
            for row, y in zip(("front", "rear"), ys, strict=True)
            for side, x in zip(("left", "right"), xs, strict=True)
        ]
    for name, x, y in spots:
        draft.table(
            "[[support]]", ("name", quoted(name)), ("part", quoted(part)), ("at", point((x, y, under)))
        )
        _foot(draft, answers)


def _foot(draft: Draft, answers: Answers) -> None:
    kind, size, remark = answers["feet.kind"], answers["feet.size"], answers.mark("feet.kind", "feet.size")
    if kind == "rubber feet":
        draft.table(
            "[support.rubber_foot]",
            ("diameter", mm(max(size, 0.02)), remark),
            ("height", mm(0.6 * max(size, 0.02)), "not measured: a guess"),
        )
    elif kind == "bolted to steel":
        draft.table(
            "[support.flange_on_bolts]",
            ("face_looks", '"+z"'),
            ("size", mm(4.0 * size, 4.0 * size)),
            ("bolts", quoted(f"1 x M{1e3 * size:g}"), remark),
            ("thickness", mm(1.2 * size)),
            ("base_material", '"steel"'),
        )
    else:
        draft.table(
            "[support.levelling_foot_steel]",
            ("thread", quoted(f"M{1e3 * size:g}"), remark),
            ("free", mm(1.5 * size)),
            ("stands_on", quoted(BENCHES[kind])),
        )


def weights(draft: Draft, answers: Answers, masses: Sequence[tuple[str, str, Vector, str]]) -> None:
    """Masses: name, part, place, key of the answer."""
    for name, part, at, key in masses:
        draft.table(
            "[[mass]]",
            ("name", quoted(name)),
            ("part", quoted(part)),
            ("at", point(at)),
            ("mass", f'"{answers[key]:.4g} kg"', answers.mark(key)),
        )


def places(draft: Draft, tool_part: str, work_part: str, tip: Vector) -> None:
    """Where the edge meets the work, on either side."""
    draft.table("[tool]", ("part", quoted(tool_part)), ("at", point(tip)))
    draft.table("[work]", ("part", quoted(work_part)), ("at", point(tip)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Pull:
    """A pull to write."""

    name: str
    part: str
    at: Vector
    direction: str
    against: str = ""


def pulls(draft: Draft, answers: Answers, rows: Sequence[Pull]) -> None:
    """Pulls with the force that can be had."""
    force = answers["pull.most"]
    for row in rows:
        draft.table(
            "[[pull]]",
            ("name", quoted(row.name)),
            ("part", quoted(row.part)),
            ("at", point(row.at)),
            ("force", f'"{bare(round(force, 1))} N"', answers.mark("pull.most")),
            ("direction", quoted(row.direction)),
            *([("against", quoted(row.against))] if row.against else []),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """A gauge to write."""

    name: str
    part: str
    at: Vector
    direction: str
    reference: str


def gauges(draft: Draft, answers: Answers, rows: Sequence[Gauge]) -> None:
    """Gauges with the step of the dial."""
    for row in rows:
        draft.table(
            "[[gauge]]",
            ("name", quoted(row.name)),
            ("part", quoted(row.part)),
            ("at", point(row.at)),
            ("direction", quoted(row.direction)),
            ("reference", quoted(row.reference)),
            ("resolution", f'"{bare(1e6 * answers["dial.step"])} um"'),
        )
    dials = answers["dial.count"]
    many = f"{dials} dials are" if dials > 1 else "one dial is"
    draft.lines.append("")
    draft.remark(
        f"Readings: {LOG} has a row for each, in rounds in which {many} read at once.",
        "Fill it in and take off the marks before these three lines:",
        "[[readings]]",
        'name = "first"',
        f'file = "{LOG}"',
    )
