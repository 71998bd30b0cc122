"""Members as bodies in the loop: against their beams where a beam is right, and the wall where it is not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from body_columns import FILL, FIXED, HEIGHT, TOP, TUBE, both, capped, with_head

from strongback.errors import MachineError
from strongback.machine.body import span_meshes
from strongback.machine.budget import budget
from strongback.machine.columns import column_body, machine_bodies
from strongback.machine.compliance import tool_compliance
from strongback.machine.loop import assemble
from strongback.machine.part.make import parts_of
from strongback.machine.solve import gauge_row, pull_load
from strongback.machine.values import (
    Block,
    Place,
    Support,
    Travel,
)
from strongback.machine.wall_flex import WALL_FLEX, budget_with_walls, compare_models
from strongback.machine.workspace import compliance_map, machines_at, positions
from strongback.section.outline import filled


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory, monkeypatch):
    monkeypatch.setenv("STRONGBACK_CACHE", str(tmp_path_factory.getbasetemp() / "bodies"))


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
    everywhere = machines_at(machine, [head], positions([head], [5]))
    points = compliance_map(machine, parts_of(machine), [head], [5])
    for k in (1, 4):
        there = everywhere[k]
        exact = tool_compliance(assemble(there, parts_of(there)))[:3, :3]
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
def test_a_tool_on_a_bare_wall():
    machine = capped()
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
