"""Members as bodies in the loop: against their beams where a beam is right, and the wall where it is not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from strongback.errors import MachineError
from strongback.machine.body import span_meshes
from strongback.machine.budget import budget
from strongback.machine.columns import column_body, machine_bodies
from strongback.machine.compliance import tool_compliance
from strongback.machine.loop import assemble
from strongback.machine.map_bodies import map_builder
from strongback.machine.sections import section_stiffness
from strongback.machine.solve import gauge_row, pull_load, refuse_blind, solve_all
from strongback.machine.values import (
    GROUND,
    RIGID,
    Block,
    Gauge,
    Joint,
    Machine,
    Member,
    Pad,
    Place,
    Pull,
    Span,
    Support,
    Travel,
)
from strongback.machine.wall_flex import WALL_FLEX, budget_with_walls, compare_models
from strongback.machine.workspace import compliance_map, machines_at, positions
from strongback.materials import material
from strongback.section.outline import filled
from strongback.section.shapes import rectangular_tube
from strongback.section.values import Fill, stiffness_from_constants

FIXED = (RIGID,) * 6
TUBE = rectangular_tube(material("aluminium"), 0.06, 0.05, 0.006)
FILL = Fill(material=material("epoxy mineral"))
HEIGHT = 0.3
TOP = (0.0, 0.0, HEIGHT)


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory, monkeypatch):
    monkeypatch.setenv("STRONGBACK_CACHE", str(tmp_path_factory.getbasetemp() / "bodies"))


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
    sections = section_stiffness(machine)
    return assemble(machine, sections), assemble(machine, sections, bodies=machine_bodies(machine))


@pytest.mark.slow
def test_a_capped_column_is_a_beam():
    """Timoshenko's beam against three-dimensional elasticity of a closed section with rigid ends, within 2.5 %."""
    machine = capped()
    beams, bodies = both(machine)
    for pull in machine.pulls:
        found = compare_models(
            beams, bodies, pull, direction=(1.0, 0.0, 0.0) if pull.name == "twist" else None
        )
        if pull.name != "twist":
            assert found.ratio == pytest.approx(1.0, abs=0.025), pull.name
    turns = [tool_compliance(loop)[5, 5] for loop in (beams, bodies)]
    assert turns[1] == pytest.approx(turns[0], rel=0.025)


@pytest.mark.slow
def test_gauges_on_the_wall_and_on_a_clamped_bar():
    machine = capped()
    beams, bodies = both(machine)
    for pull, gauge in ((machine.pulls[0], machine.gauges[0]), (machine.pulls[3], machine.gauges[1])):
        readings = []
        for loop in (beams, bodies):
            motions, _ = loop.solve(pull_load(loop, pull)[:, None])
            readings.append(float(gauge_row(loop, gauge) @ motions[:, 0]))
        assert readings[1] == pytest.approx(readings[0], rel=0.06), gauge.name


@pytest.mark.slow
def test_the_wall_gives_under_a_saddle_and_a_fill_stops_it():
    """A pad on one wall of an empty tube deflects far more than the beam says; of a filled one, little more."""
    flex = {}
    for name, outline in (("empty", TUBE), ("filled", filled(TUBE, {"inside": FILL}))):
        machine = with_head(outline)
        beams, bodies = both(machine)
        for pull in machine.pulls:
            found = compare_models(beams, bodies, pull)
            flex[name, pull.name] = found.wall_flex / found.beam
    assert flex["empty", "sideways"] > 0.15
    assert flex["filled", "sideways"] < 0.5 * flex["empty", "sideways"]


@pytest.mark.slow
def test_budget_with_walls_adds_up():
    machine = with_head()
    beams, bodies = both(machine)
    pull = machine.pulls[0]
    found = budget_with_walls(beams, bodies, pull)
    assert sum(row.contribution for row in found.rows) == pytest.approx(found.total, rel=1e-9)
    assert sum(row.share for row in found.rows) == pytest.approx(1.0, abs=1e-9)
    assert [row.part for row in found.rows if row.mechanism == WALL_FLEX] == ["column"]
    assert budget(bodies, pull).total == pytest.approx(found.total, rel=1e-12)
    compliance = tool_compliance(bodies)
    assert np.abs(compliance - compliance.T).max() <= 1e-9 * np.abs(compliance).max()


@pytest.mark.slow
def test_a_fill_that_slides_lies_between_none_and_a_bonded_one():
    """Wall and fill stay in touch across the member: the wall is held in shape, bending is not shared in full."""
    found = {}
    for name, fill in (("none", None), ("sliding", replace(FILL, bond="sliding")), ("bonded", FILL)):
        machine = with_head(filled(TUBE, {"inside": fill}))
        _, bodies = both(machine)
        found[name] = tool_compliance(bodies)[1, 1]
    assert found["none"] > 1.02 * found["sliding"] > 1.02 * found["bonded"]


@pytest.mark.slow
def test_half_a_fill_lies_between():
    empty, half, full = (
        tool_compliance(both(capped(spans=spans))[1])[0, 0]
        for spans in (
            (("profile", HEIGHT),),
            (("filled", HEIGHT / 2), ("profile", HEIGHT / 2)),
            (("filled", HEIGHT),),
        )
    )
    assert full < half < empty


@pytest.mark.slow
def test_a_map_tells_the_body_between_heights():
    """Three condensed heights and the beam between them, against the body condensed at another height."""
    machine = with_head()
    head = Travel(name="head", parts=("arm",), direction=(0.0, 0.0, 1.0), low=-0.05, high=0.03)
    sections = section_stiffness(machine)
    everywhere = machines_at(machine, [head], positions([head], [5]))
    points = compliance_map(machine, sections, [head], [5], build=map_builder(everywhere, sections))
    for k in (1, 4):
        there = everywhere[k]
        exact = tool_compliance(assemble(there, sections, bodies=machine_bodies(there)))[:3, :3]
        assert np.abs(points[k].compliance - exact).max() < 0.02 * np.abs(exact).max()


def test_spans_of_one_mesh():
    meshes = span_meshes([filled(TUBE, {"inside": FILL}), TUBE])
    assert meshes[0].nodes is meshes[1].nodes
    assert len(meshes[0].triangles) > len(meshes[1].triangles)
    assert all(meshes[1].parts[r].startswith("wall") for r in meshes[1].region)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            lambda m: {"sections": (("profile", dict(m.sections)["arm"]), *m.sections[1:])},
            "the shape of section",
        ),
        (lambda m: {"pads": (replace(m.pads[0], normal=(0.0, 0.0, 1.0)),)}, "its normal must be across"),
    ],
)
def test_what_cannot_be_a_body(change, message):
    machine = with_head()
    broken = replace(machine, **change(machine))
    with pytest.raises(MachineError, match=message):
        column_body(broken, broken.members[0])


@pytest.mark.slow
def test_a_pull_on_the_bare_wall_tells_of_other_parts_only():
    """By reciprocity the tool moves as the wall would under a pull at the tool; what the wall gives there is not known."""
    machine = with_head()
    wall = Pull(name="wall", part="column", at=(0.03, 0.0, 0.15), force=(100.0, 0.0, 0.0))
    tool = Pull(name="tool", part="arm", at=machine.tool.at, force=(100.0, 0.0, 0.0))
    on_arm = Gauge(name="arm", part="arm", at=machine.tool.at, direction=(1.0, 0.0, 0.0))
    machine = replace(machine, pulls=(wall, tool), gauges=(*machine.gauges, on_arm))
    _, bodies = both(machine)
    pulled, other = solve_all(bodies, machine.pulls)
    known, there = dict(pulled.gauges), dict(other.gauges)
    assert known["arm"] == pytest.approx(there["wall"], rel=1e-9)
    assert pulled.imbalance < 1e-9
    assert np.isnan(known["wall"])
    assert np.all(np.isfinite(list(there.values())))
    with pytest.raises(MachineError, match='"wall" cannot be predicted under pull "wall"'):
        refuse_blind(bodies, [(wall, machine.gauges[0])])


@pytest.mark.slow
def test_what_a_bare_wall_cannot_carry():
    machine = capped()
    _, bodies = both(machine)
    turned = Pull(name="turned", part="column", at=(0.03, 0.0, 0.15), couple=(0.0, 0.0, 10.0))
    with pytest.raises(MachineError, match="turns one point of the wall"):
        pull_load(bodies, turned)
    moved = replace(machine, tool=Place(part="column", at=(0.03, 0.0, 0.15)))
    with pytest.raises(MachineError, match="on the bare wall"):
        tool_compliance(both(moved)[1])


def test_nothing_bears_on_it():
    machine = capped()
    foot = Place(part="column", at=(0.0, 0.0, 0.0))
    column = replace(machine.members[0], ends=("held", "free"))
    alone = replace(machine, members=(column,), pulls=(), gauges=machine.gauges[:1], tool=foot)
    with pytest.raises(MachineError, match="held in one place and nothing bears on it"):
        machine_bodies(alone)


def test_a_joint_on_the_bare_wall():
    machine = with_head()
    bare = replace(
        machine, joints=(replace(machine.joints[0], pad=""),), blocks=(Block(name="spare", at=TOP),)
    )
    bare = replace(bare, supports=(*bare.supports, Support(name="s", part="spare", at=TOP, stiffness=FIXED)))
    with pytest.raises(MachineError, match="on its bare wall"):
        both(bare)
