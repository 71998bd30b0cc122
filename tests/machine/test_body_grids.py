"""A body on two grids: the coarse one as an estimate and as a start, and the error told from both."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from body_columns import ALUMINIUM, FILL, HEAD, LENGTH, TUBE, full_tube, tube, with_head
from numpy.testing import assert_allclose

from strongback import project
from strongback.errors import LimitError, MachineError
from strongback.machine.body import BodySpec, BodyStiffness
from strongback.machine.body.condense import predicted_bytes
from strongback.machine.body.grids import COARSE, FINE, Grid, on_grid, on_two_grids
from strongback.machine.columns import CoarseStart, body_spec, coarse_body
from strongback.machine.loop import assemble
from strongback.machine.mesh_error import SAFETY, mesh_errors
from strongback.machine.part.make import parts_of
from strongback.machine.solve import solve_all
from strongback.machine.walls_add import walls_add
from strongback.section.outline import filled
from strongback.section.shapes import rectangular_tube
from strongback.section.values import Fill


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory, monkeypatch):
    monkeypatch.setenv("STRONGBACK_CACHE", str(tmp_path_factory.getbasetemp() / "grids"))


def pad_give(body: BodyStiffness) -> np.ndarray:
    at = body.columns("head")
    return np.diag(np.linalg.inv(body.stiffness[at, at]))


def as_model(machine, model):
    column, *others = machine.members
    return replace(machine, members=(replace(column, model=model), *others))


def sliding_tube():
    fill = Fill(material=replace(ALUMINIUM, E=30e9, nu=0.2), bond="sliding")
    return filled(tube(), {tube().cells[0].name: fill})


@pytest.mark.parametrize("outline", [tube(), full_tube(), sliding_tube()], ids=["empty", "filled", "sliding"])
def test_the_coarse_grid_is_a_start_and_no_more(outline, monkeypatch) -> None:
    """The fine grid finds the same from the coarse shapes as from its own, within its tolerance, and keeps both."""
    spec = BodySpec(outlines=(outline,), lengths=(LENGTH,), pads=(HEAD,))
    monkeypatch.setattr("strongback.machine.body.grids.LEVELS", 0)
    alone, both = on_grid(spec, FINE), on_two_grids(spec)
    assert_allclose(pad_give(both), pad_give(alone), rtol=2e-3)
    coarse = on_grid(spec, COARSE)
    assert_allclose(both.coarse, coarse.stiffness, rtol=1e-12, atol=1e-9 * np.abs(coarse.stiffness).max())
    assert np.all(pad_give(coarse) < pad_give(both))


@pytest.mark.slow
def test_what_the_walls_add_is_estimated_within_five_percent():
    machine = with_head()
    beam, body = as_model(machine, "beam"), as_model(machine, "body")
    parts = parts_of(beam)
    there = assemble(body, parts_of(body))
    expected = [
        walls.tool_displacement - line.tool_displacement
        for walls, line in zip(
            solve_all(there, machine.pulls), solve_all(assemble(beam, parts), machine.pulls), strict=True
        )
    ]
    found = walls_add(beam, "column", parts)
    for one, other in zip(found, expected, strict=True):
        assert_allclose(one.displacement, other, atol=0.05 * np.abs(other).max())
        assert one.along > 1e-7
        assert np.abs(other).max() > 0.1 * np.abs(one.beam).max()
    again = walls_add(beam, "column", parts)
    assert [w.along for w in again] == [w.along for w in found]


def test_walls_of_what_is_no_member():
    machine = as_model(with_head(), "beam")
    with pytest.raises(MachineError, match='no member is called "mast"'):
        walls_add(machine, "mast", parts_of(machine))
    bare = replace(machine, joints=(replace(machine.joints[0], pad=""),))
    with pytest.raises(MachineError, match="on its bare wall"):
        walls_add(bare, "column", parts_of(bare))


@pytest.mark.slow
def test_the_error_told_is_the_difference_of_the_grids_and_none_of_beams():
    machine = as_model(with_head(filled(TUBE, {"inside": FILL})), "body")
    loop = assemble(machine, parts_of(machine))
    told = mesh_errors(loop, machine.pulls)
    for error, result in zip(told, solve_all(loop, machine.pulls), strict=True):
        assert error is not None
        assert 0.0 < error.max() < 0.02 * np.abs(result.tool_displacement).max()
    beams = as_model(machine, "beam")
    assert mesh_errors(assemble(beams, parts_of(beams)), machine.pulls) == (None, None)


ROUNDED = rectangular_tube(ALUMINIUM, 0.08, 0.06, 0.004, outer_radius=0.006, inner_radius=0.002)
SHARP_TUBE = rectangular_tube(ALUMINIUM, 0.08, 0.06, 0.004)
# Own mesh refined twice at least, and fillets drawn to 0.05 mm.
TRUTH = Grid(chord=5e-5, corners=3, edges=4, heights=0.25, growth=0.4, tolerance=5e-5)
CASES = {
    "fillets, pad as met": BodySpec(
        outlines=(ROUNDED,), lengths=(LENGTH,), pads=(replace(HEAD, stiffness=8e10),)
    ),
    "fillets, stiff pad": BodySpec(outlines=(ROUNDED,), lengths=(LENGTH,), pads=(HEAD,)),
    "filled, pulled on its wall": BodySpec(
        outlines=(full_tube(),), lengths=(LENGTH,), pads=(HEAD,), cuts=(0.2,)
    ),
    "very stiff pad": BodySpec(
        outlines=(SHARP_TUBE,), lengths=(LENGTH,), pads=(replace(HEAD, stiffness=2e13),)
    ),
}


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_the_error_told_holds_the_true_one_and_is_below_one_percent(case) -> None:
    """What a pad gives against a much finer mesh, each of its six motions."""
    spec = CASES[case]
    found = on_two_grids(spec)
    truth = on_grid(spec, TRUTH, akin=found, memory_cap=2**34)
    at = found.columns("head")
    fine, rough, true = (
        np.diag(np.linalg.inv(K[at, at])) for K in (found.stiffness, found.coarse, truth.stiffness)
    )
    assert np.all(np.abs(fine - true) <= SAFETY * np.abs(rough - fine))
    assert_allclose(fine, true, rtol=0.01)


def two_cells_filled() -> BodySpec:
    """The demo's column, filled but for its top."""
    read = project.read("demo").machine
    column = next(m for m in read.members if m.name == "column")
    spans = (
        replace(column.spans[0], section="column filled", length=0.465),
        replace(column.spans[0], length=0.015),
    )
    return body_spec(read, replace(column, spans=spans, model="body"))


def test_a_filled_body_of_two_cells_keeps_its_fillets_in_the_memory_allowed(monkeypatch) -> None:
    """The prediction lets the finest grid through, so that no fillet is cut."""
    seen = []

    def stop(body, interfaces, cap, started):
        seen.append((predicted_bytes(body, interfaces, started=started), cap))
        raise LimitError("far enough")

    monkeypatch.setattr("strongback.machine.body.condense._check_memory", stop)
    coarse = BodyStiffness.__new__(BodyStiffness)  # not read before the memory is predicted
    with pytest.raises(LimitError, match="far enough"):
        on_grid(two_cells_filled(), FINE, akin=coarse)
    ((need, cap),) = seen
    assert 0.7 * cap < need < cap


PEAK = """
import threading, time
from strongback import project
from strongback.machine.body import condense
from strongback.machine.body.grids import COARSE, on_grid
from strongback.machine.columns import CoarseStart, body_spec, coarse_body

def resident():
    with open("/proc/self/statm") as file:
        return int(file.read().split()[1]) * 4096

told, peak = [], [0]
own = condense.predicted_bytes
condense.predicted_bytes = lambda *a, **k: told.append(own(*a, **k)) or told[-1]
machine = project.read("demo").machine
spec = body_spec(machine, machine.members[0])
before = resident()

def watch():
    while True:
        peak[0] = max(peak[0], resident())
        time.sleep(0.002)

threading.Thread(target=watch, daemon=True).start()
on_grid(spec, COARSE)
print(told[0], peak[0] - before)
"""


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="memory is read from /proc")
def test_the_predicted_memory_holds_the_peak() -> None:
    told, peak = map(int, subprocess.check_output([sys.executable, "-c", PEAK], text=True).split())
    assert peak <= told <= 1.6 * peak


def test_another_contact_starts_from_the_first_and_finds_the_same(monkeypatch) -> None:
    """Within the tolerance of the grid, and in half of the rounds."""
    machine = as_model(with_head(), "body")
    softer = replace(machine, pads=tuple(replace(p, stiffness=0.3 * p.stiffness) for p in machine.pads))
    column = machine.members[0]
    start = CoarseStart(machine, column)

    def give(body):
        at = body.columns(machine.pads[0].name)
        return np.diag(np.linalg.inv(body.stiffness[at, at]))

    found = coarse_body(softer, column, start=start)
    assert_allclose(give(found), give(coarse_body(softer, column)), rtol=2e-3)
    assert np.all(give(found) > give(coarse_body(machine, column)))
    monkeypatch.setattr(
        "strongback.machine.columns.on_grid", None
    )  # from the cache, the start not solved again
    again = coarse_body(softer, column, start=CoarseStart(machine, column))
    assert_allclose(again.stiffness, found.stiffness, rtol=1e-12)
