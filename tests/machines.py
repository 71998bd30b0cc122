"""Builders of machines for the tests; dimensions are invented unless a test names its source."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from strongback.machine.values import (
    GROUND,
    RIGID,
    Block,
    Gauge,
    Joint,
    Machine,
    Member,
    Place,
    Pull,
    Span,
    Support,
)
from strongback.materials import material
from strongback.section.outline import filled, moved
from strongback.section.shapes import rectangular_tube
from strongback.section.values import Fill, Insert, Outline, SectionStiffness, stiffness_from_constants

FIXED = (RIGID,) * 6
WALL, FILL, ROD = 60e-3 * 80e-3 - 52e-3 * 72e-3, 52e-3 * 72e-3 - 12e-3**2, 12e-3**2  # of the two tubes [m²]
LENGTH = 0.5  # of their column [m]


def isotropic(E, G, A, Iy, Iz, J, *, shear=1e9, name="bar"):
    """Section of a textbook frame: Iz bends it along x, Iy along y; shear as good as rigid."""
    return stiffness_from_constants(
        name=name, EA=E * A, EIx=E * Iy, EIy=E * Iz, GJ=G * J, kGAx=shear * G * A, kGAy=shear * G * A
    )


def frame(nodes, members, section, fixed, *, x_axis=None, supports=()):
    """A textbook frame: every node a block, every member rigidly joined to two of them."""

    def across(a, b):
        along = (b - a) / np.linalg.norm(b - a)
        return (1.0, 0.0, 0.0) if abs(along[2]) > 0.9 else (0.0, 0.0, 1.0)

    x_axis = x_axis or across
    points = [tuple(float(v) for v in node) for node in nodes]
    made, joints = [], []
    for k, (i, j) in enumerate(members):
        a, b = np.array(points[i]), np.array(points[j])
        span = (Span(section=section.name, length=float(np.linalg.norm(b - a))),)
        made.append(
            Member(name=f"member {k}", start=points[i], end=points[j], x_axis=x_axis(a, b), spans=span)
        )
        for node in (i, j):
            joint = Joint(
                name=f"member {k} at {node}",
                parts=(f"node {node}", f"member {k}"),
                at=points[node],
                stiffness=FIXED,
            )
            joints.append(joint)
    held = [Support(name=f"support {i}", part=f"node {i}", at=points[i], stiffness=FIXED) for i in fixed]
    return Machine(
        name="frame",
        sections=((section.name, section),),
        members=tuple(made),
        blocks=tuple(Block(name=f"node {i}", at=point) for i, point in enumerate(points)),
        joints=tuple(joints),
        supports=(*held, *supports),
        tool=Place(part="node 0", at=points[0]),
        work=Place(part=GROUND, at=points[0]),
    )


def cantilever(section: SectionStiffness, length: float, *, ends=("held", "free"), pulls=(), stiffness=FIXED):
    """A column on the ground with the tool at its top."""
    top = (0.0, 0.0, length)
    return Machine(
        name="cantilever",
        sections=((section.name, section),),
        members=(
            Member(
                name="column",
                start=(0.0, 0.0, 0.0),
                end=top,
                x_axis=(1.0, 0.0, 0.0),
                spans=(Span(section=section.name, length=length),),
                ends=ends,
            ),
        ),
        supports=(Support(name="base", part="column", at=(0.0, 0.0, 0.0), stiffness=stiffness),),
        pulls=tuple(pulls),
        tool=Place(part="column", at=top),
        work=Place(part=GROUND, at=top),
    )


def small_mill() -> Machine:
    """A small mill, invented: column with an unsymmetric section, head arm, bed on three feet."""
    shear = np.array([[5e-8, 1e-9, 1e-7], [1e-9, 3.3e-8, 2e-7], [1e-7, 2e-7, 1e-5]])
    profile = stiffness_from_constants(
        name="profile",
        EA=1e8,
        EIx=2e5,
        EIy=1.5e5,
        EIxy=2e4,
        GJ=1.2e5,
        EGamma=40.0,
        kGAx=2e7,
        kGAy=3e7,
        centroid=(0.01, 0.02),
        shear_centre=(-0.02, 0.03),
        shear_compliance=shear,
        mass_per_length=4.0,
    )
    casting = stiffness_from_constants(name="casting", EA=1e9, EIx=8e5, EIy=8e5, GJ=8e5, kGAx=2e8, kGAy=3e8)
    foot = (1e6, 1e6, 2e6, 0.0, 0.0, 0.0)
    tool = (0.0, 0.25, 0.3)
    return Machine(
        name="mill",
        sections=(("profile", profile), ("casting", casting)),
        members=(
            Member(
                name="column",
                start=(0.0, 0.0, 0.0),
                end=(0.0, 0.0, 0.46),
                x_axis=(1.0, 0.0, 0.0),
                spans=(Span(section="profile", length=0.46),),
                ends=("held", "free"),
            ),
            Member(
                name="arm",
                start=(0.0, 0.05, 0.4),
                end=(0.0, 0.25, 0.4),
                x_axis=(1.0, 0.0, 0.0),
                spans=(Span(section="casting", length=0.2),),
            ),
        ),
        blocks=(Block(name="bed", at=(0.0, 0.1, -0.05)),),
        joints=(
            Joint(
                name="base joint",
                parts=("bed", "column"),
                at=(0.0, 0.0, 0.0),
                stiffness=(1e8, 1e8, 2e8, 1e5, 1e5, 2e5),
            ),
            Joint(
                name="head joint",
                parts=("column", "arm"),
                at=(0.0, 0.05, 0.4),
                stiffness=(1e8, RIGID, 1e8, 1e5, 1e5, 1e5),
            ),
        ),
        supports=(
            Support(name="left foot", part="bed", at=(-0.15, 0.2, -0.1), stiffness=foot),
            Support(name="right foot", part="bed", at=(0.15, 0.2, -0.1), stiffness=foot),
            Support(name="rear foot", part="bed", at=(0.0, -0.2, -0.1), stiffness=foot),
        ),
        pulls=(
            Pull(name="sideways", part="arm", at=tool, force=(100.0, 0.0, 0.0)),
            Pull(name="jack", part="arm", at=tool, force=(0.0, 0.0, 100.0), against="bed"),
            Pull(name="couple", part="arm", at=tool, couple=(0.0, 0.0, 10.0)),
        ),
        gauges=(
            Gauge(name="top", part="column", at=(0.0, 0.0, 0.46), direction=(1.0, 0.0, 0.0), reference="bed"),
            Gauge(name="top to bench", part="column", at=(0.0, 0.0, 0.46), direction=(1.0, 0.0, 0.0)),
        ),
        tool=Place(part="arm", at=tool),
        work=Place(part="bed", at=tool),
    )


def braced(machine):
    """The small mill with a second way for the forces: a stay from the column's top to the bed."""
    stay = Joint(
        name="stay",
        parts=("bed", "column"),
        at=(0.0, -0.02, 0.46),
        stiffness=(2e6, 3e6, 1e6, 1e3, 1e3, 1e3),
    )
    return replace(machine, joints=(*machine.joints, stay))


def welded_tubes() -> Outline:
    """Two steel tubes 60 x 80 x 4 mm side by side, the left one filled around a square rod of 12 mm."""
    steel = material("steel")
    one = rectangular_tube(steel, 0.06, 0.08, 0.004)
    two = moved(one, (0.06, 0.0))
    rod = tuple((0.006 * x, 0.006 * y) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1)))
    outline = Outline(
        name="two tubes",
        walls=(replace(one.walls[0], name="left"), replace(two.walls[0], name="right")),
        cells=(replace(one.cells[0], name="left"), replace(two.cells[0], name="right")),
    )
    fill = Fill(material=material("epoxy mineral"), inserts=(Insert(name="rod", ring=rod, material=steel),))
    return filled(outline, {"left": fill})


def tube_machine() -> Machine:
    """A column of two welded tubes with a block at its top, invented."""
    top = (0.06, 0.0, LENGTH)
    return Machine(
        name="two tubes",
        sections=(("two", welded_tubes()),),
        members=(
            Member(
                name="column",
                start=(0.0, 0.0, 0.0),
                end=(0.0, 0.0, LENGTH),
                x_axis=(1.0, 0.0, 0.0),
                spans=(Span(section="two", length=0.2), Span(section="two", length=LENGTH - 0.2)),
                ends=("held", "free"),
            ),
        ),
        blocks=(Block(name="head & tool", at=(0.06, 0.1, LENGTH)),),
        joints=(
            Joint(
                name="top", parts=("column", "head & tool"), at=top, stiffness=(1e8, 1e8, 1e8, 1e5, 1e5, 1e5)
            ),
        ),
        supports=(Support(name="base", part="column", at=(0.06, 0.0, 0.0), stiffness=(RIGID,) * 6),),
        pulls=(Pull(name="side < way", part="head & tool", at=top, force=(60.0, 80.0, 0.0)),),
        gauges=(
            Gauge(name="top x", part="column", at=(0.06, 0.0, 0.4), direction=(1.0, 0.0, 0.0)),
            Gauge(
                name="head y",
                part="head & tool",
                at=(0.06, 0.1, LENGTH),
                direction=(0.0, 1.0, 0.0),
                reference="column",
            ),
        ),
        tool=Place(part="head & tool", at=(0.06, 0.1, 0.45)),
        work=Place(part="ground", at=(0.06, 0.1, 0.45)),
    )
