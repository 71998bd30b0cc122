"""The exported mesh is read back by another library as it was written; formats that lose data are refused."""

from __future__ import annotations

import sys
from dataclasses import replace

import numpy as np
import pytest
from machines import small_mill

from strongback.errors import EnvironmentFault, InputError
from strongback.machine.body import BodyStiffness
from strongback.machine.columns import column_body
from strongback.machine.loop import assemble
from strongback.machine.solve import solve
from strongback.machine.values import RIGID, Block, Joint, Machine, Member, Pad, Place, Pull, Span, Support
from strongback.materials import material
from strongback.section.analyse import analyse
from strongback.section.shapes import rectangular_tube
from strongback.views.mesh_files import LOSSY, field_mesh, read_back, write_field
from strongback.views.shape import body_displacement


@pytest.fixture(scope="module")
def mesh():
    machine = small_mill()
    loop = assemble(machine, dict(machine.sections))
    return field_mesh(loop, solve(loop, machine.pulls[0]))


@pytest.mark.parametrize("ending", [".vtu", ".vtk", ".xdmf"])
def test_read_back_it_has_the_same_points_cells_and_data(mesh, tmp_path, ending):
    if ending == ".xdmf":
        pytest.importorskip("h5py")
    path = tmp_path / f"mill{ending}"
    write_field(mesh, path)
    back = read_back(path)
    assert len(back.points) == len(mesh.points)
    assert [(b.type, len(b.data)) for b in back.cells] == [(kind, len(index)) for kind, index in mesh.cells]
    assert back.points == pytest.approx(mesh.points, abs=1e-12)
    assert back.point_data["displacement_m"] == pytest.approx(mesh.displacement, abs=1e-15)
    assert back.point_data["rotation_rad"] == pytest.approx(mesh.rotation, abs=1e-15)
    for block, part in zip(back.cell_data["part_id"], mesh.part, strict=True):
        assert np.array_equal(np.ravel(block), part)
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_every_part_has_cells(mesh):
    assert mesh.names == ("column", "arm", "bed")
    assert set(np.concatenate(mesh.part).tolist()) == {0, 1, 2}
    assert max(index.max() for _, index in mesh.cells) == len(mesh.points) - 1


@pytest.mark.parametrize("ending", LOSSY)
def test_formats_that_lose_data_are_refused(mesh, tmp_path, ending):
    with pytest.raises(InputError, match=r"write \.vtu"):
        write_field(mesh, tmp_path / f"mill{ending}")
    assert list(tmp_path.iterdir()) == []


def test_a_missing_package_is_named(mesh, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "h5py", None)
    with pytest.raises(EnvironmentFault, match=r"\.xdmf needs another package"):
        write_field(mesh, tmp_path / "mill.xdmf")
    assert list(tmp_path.iterdir()) == []


def test_an_unknown_ending_is_refused(mesh, tmp_path):
    with pytest.raises(InputError, match="unknown kind of mesh file"):
        write_field(mesh, tmp_path / "mill.docx")


def test_a_corrupt_file_is_an_error_and_not_the_end(tmp_path):
    path = tmp_path / "broken.vtu"
    path.write_text("<VTKFile type='UnstructuredGrid'>")
    with pytest.raises(InputError, match="cannot be read as a mesh"):
        read_back(path)
    with pytest.raises(InputError, match="is not a file"):
        read_back(tmp_path / "none.vtu")


def test_a_place_that_cannot_be_written_is_a_fault(mesh, tmp_path):
    with pytest.raises(EnvironmentFault):
        write_field(mesh, tmp_path / "no folder" / "mill.vtu")


@pytest.fixture(scope="module")
def column() -> tuple[Machine, BodyStiffness]:
    tube = rectangular_tube(material("aluminium"), 0.08, 0.08, 0.005)
    top = (0.0, 0.0, 0.3)
    side = (0.0, 0.04, 0.2)
    machine = Machine(
        name="column",
        sections=(("tube", tube),),
        members=(
            Member(
                name="column",
                start=(0.0, 0.0, 0.0),
                end=top,
                x_axis=(1.0, 0.0, 0.0),
                spans=(Span(section="tube", length=0.3),),
                ends=("held", "free"),
                model="body",
            ),
        ),
        pads=(Pad(name="pad", part="column", at=side, normal=(0.0, 1.0, 0.0), size=(0.04, 0.04)),),
        supports=(Support(name="base", part="column", at=(0.0, 0.0, 0.0), stiffness=(RIGID,) * 6),),
        blocks=(Block(name="head", at=side),),
        joints=(Joint(name="slide", parts=("column", "head"), at=side, stiffness=(RIGID,) * 6, pad="pad"),),
        pulls=(Pull(name="side", part="head", at=side, force=(100.0, 0.0, 0.0)),),
        tool=Place(part="head", at=side),
        work=Place(part="ground", at=side),
    )
    return machine, column_body(machine, machine.members[0], size=0.02)


def test_a_body_is_written_as_a_solid_that_moves_as_its_gauges_say(column, tmp_path):
    machine, body = column
    loop = assemble(
        machine, {"tube": analyse(dict(machine.sections)["tube"]).stiffness}, bodies={"column": body}
    )
    deflection = solve(loop, machine.pulls[0])
    mesh = field_mesh(loop, deflection)
    assert [kind for kind, _ in mesh.cells] == ["wedge", "vertex"]
    write_field(mesh, tmp_path / "column.vtu")
    assert len(read_back(tmp_path / "column.vtu").cells[0].data) == len(mesh.cells[0][1])
    assert np.abs(mesh.displacement[mesh.points[:, 2] < 1e-9]).max() < 1e-12  # the base is held


def test_a_rigid_motion_of_a_body_moves_every_node_with_it(column):
    """Interfaces turned and moved as one: the field is u + r x p everywhere."""
    machine, body = column
    loop = assemble(
        machine, {"tube": analyse(dict(machine.sections)["tube"]).stiffness}, bodies={"column": body}
    )
    place = loop.bodies["column"]
    still = next(m for m in solve(loop, machine.pulls[0]).parts if m.part == "column")
    u, r = np.array([1e-3, -2e-3, 3e-3]), np.array([2e-3, 1e-3, -4e-3])
    points = still.points
    rigid = replace(
        still,
        displacement=u + np.cross(r, points),
        rotation=np.broadcast_to(r, points.shape).copy(),
    )
    found = body_displacement(place, rigid)
    p = np.empty_like(found)
    p[:, :, :2], p[:, :, 2] = body.nodes, body.planes[:, None]
    where = np.asarray(place.start) + p @ place.axes
    assert found == pytest.approx(u + np.cross(r, where), abs=1e-12)


@pytest.mark.parametrize("x_axis", [(1.0, 0.0, 0.0), (0.0, -1.0, 0.0)])
def test_the_stress_in_a_cut_carries_the_pull(column, tmp_path, x_axis):
    """Equilibrium of the part above a cut between base and pad, in machine axes however the drawing is turned."""
    machine, _ = column
    member = replace(machine.members[0], x_axis=x_axis)
    force = np.array([60.0, 80.0, 500.0])
    pull = Pull(name="skew", part="head", at=(0.0, 0.04, 0.2), force=tuple(force))
    machine = replace(machine, members=(member,), pulls=(pull,))
    body = column_body(machine, member, size=0.02)
    stiffness = {"tube": analyse(dict(machine.sections)["tube"]).stiffness}
    loop = assemble(machine, stiffness, bodies={"column": body})
    mesh = field_mesh(loop, solve(loop, pull))
    write_field(mesh, tmp_path / "column.vtu")
    data = read_back(tmp_path / "column.vtu").cell_data
    wedges = mesh.cells[0][1]
    level = mesh.points[wedges, 2]
    here = (level[:, 0] < 0.1) & (level[:, 3] > 0.1)
    a, b, c = (mesh.points[wedges[here, k]] for k in range(3))
    area = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1)
    stress = np.asarray(data["stress_Pa"][0])[here]
    xz, yz, zz = (area @ stress[:, k] for k in (5, 4, 2))
    assert [xz, yz, zz] == pytest.approx(force, rel=1e-3)
    # The couple of the pull about the middle of the cut: 0.04 m in front, and above it.
    arm = np.array([0.0, 0.04, 0.2 - 0.5 * (level[here, 0] + level[here, 3])[0]])
    x, y = (mesh.points[wedges[here, :3], k].mean(axis=1) for k in (0, 1))
    bending = [area @ (stress[:, 2] * y), -area @ (stress[:, 2] * x)]
    assert bending == pytest.approx(np.cross(arm, force)[:2], rel=1e-2, abs=0.02)
    assert np.all(np.isnan(np.asarray(data["von_mises_Pa"][1])))
    assert np.asarray(data["von_mises_Pa"][0]).max() > 500.0 / area.sum()
