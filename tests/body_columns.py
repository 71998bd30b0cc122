"""Columns as bodies that several tests look at."""

from __future__ import annotations

from dataclasses import replace

from strongback.machine.body import BodyStiffness, PadSpec, body_stiffness, span_meshes
from strongback.machine.loop import assemble
from strongback.machine.part.kinds import as_beams
from strongback.machine.part.make import parts_of
from strongback.machine.values import (
    GROUND,
    RIGID,
    Gauge,
    Joint,
    Machine,
    Member,
    Pad,
    Place,
    Pull,
    Span,
    Support,
)
from strongback.materials import Material, material
from strongback.section.outline import filled
from strongback.section.shapes import rectangular_tube
from strongback.section.values import Fill, Outline, stiffness_from_constants

# EN 1999-1-1, 3.2.5; the mineral fill is typical, common practice, no source.
ALUMINIUM = Material(name="aluminium", E=70e9, nu=0.3, density=2700.0, source="EN 1999-1-1, 3.2.5")
MINERAL = Material(name="mineral", E=30e9, nu=0.2, density=2300.0, source="common practice, no source")
LENGTH = 0.36
HEAD = PadSpec(name="head", centre=(0.0, 0.03, 0.30), normal=(0.0, 1.0), size=(0.05, 0.04), stiffness=1e12)


def tube() -> Outline:
    return rectangular_tube(ALUMINIUM, 0.08, 0.06, 0.006)


def full_tube() -> Outline:
    cell = tube().cells[0].name
    return filled(tube(), {cell: Fill(material=MINERAL)})


def column(outlines: list[Outline], lengths: list[float], **options: object) -> BodyStiffness:
    meshes = span_meshes(outlines, size=0.03, rounds=0)
    given: dict[str, object] = {"pads": (HEAD,), "finest": 0.008, "growth": 1.0, **options}
    return body_stiffness(list(zip(meshes, lengths, strict=True)), **given)  # type: ignore[arg-type]


FIXED = (RIGID,) * 6
TUBE = rectangular_tube(material("aluminium"), 0.06, 0.05, 0.006)
FILL = Fill(material=material("epoxy mineral"))
HEIGHT = 0.3
TOP = (0.0, 0.0, HEIGHT)


def capped(outline=TUBE, spans=None) -> Machine:
    """A column with a rigid plate on its top: a beam is right for it."""
    names = spans or (("profile", HEIGHT),)
    sections = {"profile": outline, "filled": filled(outline, {"inside": FILL})}
    return Machine(
        name="capped column",
        sections=tuple((n, sections[n]) for n in dict(names)),
        members=(
            Member(
                name="column",
                start=(0.0, 0.0, 0.0),
                end=TOP,
                x_axis=(1.0, 0.0, 0.0),
                spans=tuple(Span(section=n, length=length) for n, length in names),
                ends=("held", "held"),
                model="body",
            ),
        ),
        supports=(Support(name="base", part="column", at=(0.0, 0.0, 0.0), stiffness=FIXED),),
        pulls=(
            Pull(name="x", part="column", at=TOP, force=(100.0, 0.0, 0.0)),
            Pull(name="y", part="column", at=TOP, force=(0.0, 100.0, 0.0)),
            Pull(name="z", part="column", at=TOP, force=(0.0, 0.0, 100.0)),
            Pull(name="twist", part="column", at=TOP, couple=(0.0, 0.0, 10.0)),
        ),
        gauges=(
            Gauge(name="wall", part="column", at=(0.03, 0.0, 0.15), direction=(1.0, 0.0, 0.0)),
            Gauge(name="bar left", part="column", at=(-0.15, 0.0, 0.2), direction=(0.0, 1.0, 0.0)),
            Gauge(name="bar right", part="column", at=(0.15, 0.0, 0.2), direction=(0.0, 1.0, 0.0)),
        ),
        tool=Place(part="column", at=TOP),
        work=Place(part=GROUND, at=TOP),
    )


def with_head(outline=TUBE) -> Machine:
    """The column with an arm on a pad on its front wall, its top open."""
    base = capped(outline)
    arm = stiffness_from_constants(name="arm", EA=1e10, EIx=1e7, EIy=1e7, GJ=1e7, kGAx=1e9, kGAy=1e9)
    tool = (0.0, 0.15, 0.15)
    return replace(
        base,
        sections=(*base.sections, ("arm", arm)),
        members=(
            replace(base.members[0], ends=("held", "free")),
            Member(
                name="arm",
                start=(0.0, 0.025, 0.2),
                end=(0.0, 0.15, 0.2),
                x_axis=(1.0, 0.0, 0.0),
                spans=(Span(section="arm", length=0.125),),
            ),
        ),
        pads=(
            Pad(
                name="saddle",
                part="column",
                at=(0.0, 0.025, 0.2),
                normal=(0.0, 1.0, 0.0),
                size=(0.04, 0.04),
                stiffness=1e12,
            ),
        ),
        joints=(
            Joint(name="head", parts=("column", "arm"), at=(0.0, 0.025, 0.2), stiffness=FIXED, pad="saddle"),
        ),
        pulls=(
            Pull(name="sideways", part="arm", at=tool, force=(100.0, 0.0, 0.0)),
            Pull(name="fore-aft", part="arm", at=tool, force=(0.0, 100.0, 0.0)),
        ),
        gauges=base.gauges[:1],
        tool=Place(part="arm", at=tool),
        work=Place(part=GROUND, at=tool),
    )


def both(machine):
    parts = parts_of(machine)
    return assemble(as_beams(machine), parts), assemble(machine, parts)
