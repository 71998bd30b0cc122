"""A body pulled on its bare wall: closed forms, the whole mesh solved at once, a finer mesh, and laws."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import scipy.sparse as sparse
from body_columns import ALUMINIUM, HEAD, LENGTH, both, capped, column, full_tube, tube, with_head
from numpy.testing import assert_allclose

from strongback.errors import MachineError
from strongback.machine.body import BodyStiffness, _kron, body_stiffness, cut_name, slips_of, span_meshes
from strongback.machine.body.cuts import mean_motion, spread_forces
from strongback.machine.body.extrude import pattern, rigid_fields
from strongback.machine.solve import pull_load, solve_all
from strongback.machine.values import Gauge, Pull
from strongback.section.analyse import analyse
from strongback.section.shapes import rectangular_tube
from strongback.section.values import Fill

LOW, HIGH = 0.1, 0.2
POINTS = ((0.04, 0.0, HIGH), (0.04, 0.01, 0.15), (0.0, -0.03, 0.3))


def give(body: BodyStiffness) -> np.ndarray:
    """Motions of all interfaces but the base per force on them, the base standing still."""
    return np.asarray(np.linalg.inv(body.stiffness[6:, 6:]))


def at(body: BodyStiffness, name: str) -> slice:
    """Rows of an interface in `give`."""
    own = body.columns(name)
    return slice(own.start - 6, own.stop - 6)


@pytest.fixture(scope="module")
def pulled() -> BodyStiffness:
    return column([tube()], [LENGTH], cuts=(LOW, HIGH), points=POINTS, bars=(LOW, 0.25))


def test_a_slender_tube_pulled_on_its_wall_is_a_clamped_beam() -> None:
    """Timoshenko's beam: s³/3EI + s/kGA, s/EA, s/EI, s/GJ with the section's own constants; L/h is 12."""
    outline = rectangular_tube(ALUMINIUM, 0.05, 0.04, 0.005)
    section = analyse(outline, tolerance=1e-3).stiffness
    length, s = 0.6, 0.5
    (meshed,) = span_meshes([outline], size=0.03, rounds=1)
    body = body_stiffness([(meshed, length)], cuts=[s], tolerance=1e-4)
    found = np.diag(give(body))
    expected = [
        s**3 / (3 * section.EIy) + s / section.kGAx,
        s**3 / (3 * section.EIx) + s / section.kGAy,
        s / section.EA,
        s / section.EIx,
        s / section.EIy,
        s / section.GJ,
    ]
    assert_allclose(found, expected, rtol=0.01)


@pytest.mark.parametrize("bond", [None, "bonded", "sliding"])
def test_it_is_the_whole_mesh_solved_at_once(bond: str | None) -> None:
    """Own give of a cut and of a point on the wall beside it, under forces on the cut while the base stands still."""
    outline = tube() if bond is None else full_tube()
    if bond == "sliding":
        cell = outline.cells[0]
        assert cell.fill is not None
        outline = replace(
            outline, cells=(replace(cell, fill=Fill(material=cell.fill.material, bond="sliding")),)
        )
    meshes = span_meshes([outline], size=0.03, rounds=0)
    slips = slips_of([outline])
    body = body_stiffness(
        [(meshes[0], LENGTH)],
        cuts=[HIGH],
        points=POINTS,
        slips=slips,
        finest=0.02,
        growth=1.0,
        tolerance=1e-5,
    )
    spans = pattern([(meshes[0], LENGTH)], slips)
    spread = spans.slip.spread
    E, nu = spans.elastic.T
    lame, shear = (E * nu / ((1 + nu) * (1 - 2 * nu)))[spans.region[0]], (E / (2 * (1 + nu)))[spans.region[0]]
    section = tuple(
        (spread.T @ part @ spread).tocsr()
        for part in _kron.section_matrices(spans.nodes, spans.triangles, lame, shear)
    )
    heights = np.diff(body.planes[::2])
    K = _kron.extruded(_kron.height_matrices(heights, 0, len(body.planes)), section).tocsc()
    size = spread.shape[1]
    plane = int(np.argmin(np.abs(body.planes - HIGH)))
    load = np.zeros((K.shape[0], 6))
    load[plane * size : (plane + 1) * size] = spread.T @ spread_forces(spans, np.array([0.0, 0.0, HIGH]))
    motion = np.zeros_like(load)
    motion[size:] = sparse.linalg.spsolve(K[size:, size:], load[size:])
    expected = load.T @ motion
    own = give(body)
    scale = np.sqrt(np.diag(expected))
    assert_allclose(own / np.outer(scale, scale), expected / np.outer(scale, scale), atol=2e-4)
    whole = sparse.kron(sparse.eye_array(len(body.planes)), spread) @ motion
    mean = mean_motion(spans, body.planes, 0.15) @ whole
    follows = body_stiffness(
        [(meshes[0], LENGTH)], cuts=[HIGH], bars=[0.15], slips=slips, finest=0.02, growth=1.0, tolerance=1e-5
    )
    read = follows.gauges[:, 6:] @ give(follows)
    assert_allclose(np.diag(read), np.diag(mean), rtol=1e-3)


@pytest.mark.slow
def test_a_finer_mesh_moves_it_by_less_than_one_percent() -> None:
    """Default mesh against corner rounds 2 and heights halved, own give and readings on the walls."""
    found = []
    for rounds, finest, growth in ((1, None, 0.6), (2, 0.003, 0.3)):
        meshes = span_meshes([tube()], rounds=rounds)
        body = body_stiffness(
            [(meshes[0], LENGTH)], pads=(HEAD,), cuts=(HIGH,), points=POINTS, finest=finest, growth=growth
        )
        C = give(body)
        own = at(body, cut_name(HIGH))
        found.append(
            np.concatenate([np.diag(C[own, own]), (body.gauges[:, 6:] @ C[:, own])[[0, 3, 7], [0, 0, 1]]])
        )
    assert_allclose(found[0], found[1], rtol=0.01)


def test_what_it_reads_at_one_cut_under_the_other_is_mutual(pulled: BodyStiffness) -> None:
    """Betti (1872): a bar read at one height under a force at another, and the cut there under a force at the bar."""
    C = give(pulled)
    low, high = at(pulled, cut_name(LOW)), at(pulled, cut_name(HIGH))
    assert_allclose(C[low, high], C[high, low].T, atol=1e-9 * np.abs(C).max())
    bar = 3 * len(POINTS)
    read = pulled.gauges[bar : bar + 6, 6:] @ C  # the bar is clamped where the cut is
    size = np.sqrt(np.diag(C))
    error = (read - C[low]) / np.outer(size[low], size)
    assert np.abs(error).max() < 1e-6


def test_a_force_on_a_cut_is_in_balance_and_a_rigid_motion_costs_none(pulled: BodyStiffness) -> None:
    six = pulled.stiffness.reshape(-1, 6, pulled.stiffness.shape[1])
    force = six[:, :3].sum(axis=0)
    moment = (six[:, 3:] + np.cross(pulled.points[:, :, None], six[:, :3], axis=1)).sum(axis=0)
    assert np.abs(force).max() <= 1e-9 * np.abs(six[:, :3]).max()
    assert np.abs(moment).max() <= 1e-9 * np.abs(six[:, 3:]).max()
    assert np.linalg.eigvalsh(give(pulled)).min() > 0.0


def test_a_pull_nobody_pulls_changes_nothing_else(pulled: BodyStiffness) -> None:
    """The pad gives as without the cuts, but for the error of the mesh, whose heights the cuts change."""
    plain = column([tube()], [LENGTH])
    head = at(pulled, "head")
    assert_allclose(np.diag(give(pulled)[head, head]), np.diag(give(plain)), rtol=0.02)


def test_the_mean_of_a_rigid_motion_is_that_motion() -> None:
    (meshed,) = span_meshes([tube()], size=0.03, rounds=0)
    spans = pattern([(meshed, LENGTH)])
    point = np.array([0.01, -0.02, 0.1])
    mean = spread_forces(spans, point).T @ rigid_fields(spans.nodes, point)[0]
    assert_allclose(mean, np.eye(6), atol=1e-12)


def test_a_cut_off_the_body() -> None:
    with pytest.raises(MachineError, match="cut at s = 400 mm is not on the member of 360 mm"):
        column([tube()], [LENGTH], cuts=(0.4,))


@pytest.mark.slow
def test_a_capped_column_pulled_half_way_up_reads_as_its_beam():
    """A force and a couple on the bare wall against the seven-motion beam, gauges on the wall and on bars: 6 %."""
    machine = capped()
    middle = (0.0, 0.0, 0.15)
    pulls = (
        Pull(name="x", part="column", at=middle, force=(100.0, 0.0, 0.0)),
        Pull(name="y", part="column", at=middle, force=(0.0, 100.0, 0.0)),
        Pull(name="turn", part="column", at=(0.1, 0.0, 0.15), force=(0.0, 100.0, 0.0)),
    )
    read = (
        *machine.gauges,
        Gauge(name="front", part="column", at=(0.0, 0.025, 0.25), direction=(0.0, 1.0, 0.0)),
    )
    machine = replace(machine, pulls=pulls, gauges=read)
    beam, body = (solve_all(loop, pulls) for loop in both(machine))
    for one, other in zip(beam, body, strict=True):
        expected = np.array([v for _, v in one.gauges])
        found = np.array([v for _, v in other.gauges])
        assert_allclose(found, expected, rtol=0.06, atol=0.02 * np.abs(expected).max())
        assert other.imbalance < 1e-9


@pytest.mark.slow
def test_the_tool_and_the_wall_answer_each_other():
    """A bar read at a height under a pull at the tool, and the tool under a pull on the wall at that height."""
    machine = with_head()
    bar = (0.2, 0.0, 0.15)
    wall = Pull(name="wall", part="column", at=bar, force=(0.0, 100.0, 0.0))
    tool = Pull(name="tool", part="arm", at=machine.tool.at, force=(100.0, 0.0, 0.0))
    gauges = (
        Gauge(name="bar", part="column", at=bar, direction=(0.0, 1.0, 0.0)),
        Gauge(name="arm", part="arm", at=machine.tool.at, direction=(1.0, 0.0, 0.0)),
        *machine.gauges,
    )
    machine = replace(machine, pulls=(wall, tool), gauges=gauges)
    _, bodies = both(machine)
    pulled, other = (dict(r.gauges) for r in solve_all(bodies, machine.pulls))
    assert pulled["arm"] == pytest.approx(other["bar"], rel=1e-6)
    assert pulled["bar"] > 0.0
    assert np.all(np.isfinite([*pulled.values(), *other.values()]))


@pytest.mark.slow
def test_a_pull_that_the_body_was_condensed_without():
    machine = capped()
    _, bodies = both(machine)
    other = Pull(name="other", part="column", at=(0.03, 0.0, 0.15), couple=(0.0, 0.0, 10.0))
    with pytest.raises(MachineError, match="condensed without a pull at"):
        pull_load(bodies, other)
