"""Every mesh file that is offered is read back by other libraries as it was written; formats that lose data are refused."""

from __future__ import annotations

import json
import re
import struct
import warnings
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from urllib.parse import unquote

import meshio
import numpy as np
import pytest
import trimesh
from machines import FILL, LENGTH, ROD, WALL, small_mill, tube_machine, welded_tubes

from strongback.errors import EnvironmentFault, InputError
from strongback.machine.body import BodyStiffness
from strongback.machine.columns import column_body
from strongback.machine.loop import assemble
from strongback.machine.part.make import parts_of
from strongback.machine.part.values import Parts, alone
from strongback.machine.solve import solve
from strongback.machine.values import (
    RIGID,
    Block,
    Joint,
    Machine,
    Member,
    Pad,
    Place,
    PointMass,
    Pull,
    Span,
    Support,
)
from strongback.materials import material
from strongback.section.shapes import rectangular_tube
from strongback.views.field_mesh import KINDS, field_mesh
from strongback.views.mesh_files import FORMATS, LOSSY, write_field, write_scene
from strongback.views.shape import body_displacement
from strongback.views.solids import boxes, end_faces, prisms

GRIDS = tuple(ending for ending in FORMATS if ending != ".glb")


@pytest.fixture(scope="module")
def tubes():
    machine = tube_machine()
    loop = assemble(machine, parts_of(machine))
    return loop, solve(loop, machine.pulls[0])


@pytest.fixture(scope="module")
def mesh(tubes):
    return field_mesh(*tubes)


def volumes(points, index):
    """Of wedges with parallel end faces: area of the triangle times its height."""
    a, b, c, top = (points[index[:, k]] for k in (0, 1, 2, 3))
    return 0.5 * np.einsum("ij,ij->i", np.cross(b - a, c - a), top - a)


def test_the_solid_has_the_volume_of_every_wall_fill_and_rod(mesh):
    """Two tubes of 60 x 80 x 4 mm, one filled around a rod: sizes of the drawing times the length."""
    wedges = dict(mesh.cells)["wedge"]
    volume = volumes(mesh.points, wedges)
    assert volume.min() > 0.0
    kind = mesh.kind[: len(wedges)]
    for name, area in (("wall", 2 * WALL), ("fill", FILL), ("insert", ROD)):
        assert volume[kind == KINDS.index(name)].sum() == pytest.approx(area * LENGTH, rel=1e-9)


def test_both_tubes_are_there(mesh):
    walls = mesh.points[dict(mesh.cells)["wedge"]]
    assert np.ptp(walls[..., 0]) == pytest.approx(0.12)


def test_every_part_has_cells(mesh):
    assert mesh.parts == ("column", "head & tool")
    assert set(mesh.part.tolist()) == {-1, 0, 1}
    assert max(index.max() for _, index in mesh.cells) == len(mesh.points) - 1
    assert len(mesh.part) == len(mesh.kind) == len(mesh.mark) == sum(len(index) for _, index in mesh.cells)


def test_what_a_mark_stretches_is_what_is_read(tubes, mesh):
    """The tool's line by the motion of tool against work, a gauge's along its direction by its reading."""
    loop, deflection = tubes
    lines = dict(mesh.cells)["line"]
    shapes = [shape for shape, _ in mesh.cells]
    first = sum(len(index) for _, index in mesh.cells[: shapes.index("line")])
    stretch = {
        mesh.marks[mesh.mark[first + k]]: mesh.displacement[a] - mesh.displacement[b]
        for k, (a, b) in enumerate(lines)
        if mesh.mark[first + k] >= 0
    }
    assert stretch["tool"] == pytest.approx(deflection.tool_displacement, abs=1e-15)
    for gauge in loop.machine.gauges:
        assert stretch[gauge.name] @ gauge.direction == pytest.approx(
            dict(deflection.gauges)[gauge.name], rel=1e-9
        )
    assert mesh.reading[mesh.mark == mesh.marks.index("top x")] == pytest.approx(
        dict(deflection.gauges)["top x"]
    )
    tail, tip = lines[-1]
    along = mesh.points[tip] - mesh.points[tail]
    assert along / np.linalg.norm(along) == pytest.approx([0.6, 0.8, 0.0])


@pytest.mark.parametrize("ending", GRIDS)
def test_read_back_it_has_the_same_points_cells_and_data(mesh, tmp_path, ending):
    path = tmp_path / f"mill{ending}"
    write_field(mesh, path)
    back = meshio.read(path)
    assert [(b.type, len(b.data)) for b in back.cells] == [(kind, len(index)) for kind, index in mesh.cells]
    for block, (_, index) in zip(back.cells, mesh.cells, strict=True):
        assert np.array_equal(block.data, index)
    assert np.array_equal(back.points, mesh.points)
    for name, values in mesh.point_data().items():
        assert np.array_equal(back.point_data[name], values), name
    assert set(back.cell_data) == set(mesh.cell_data())
    for name, values in mesh.cell_data().items():
        found = np.concatenate([np.asarray(block).reshape(len(block), -1) for block in back.cell_data[name]])
        assert np.array_equal(found, values.reshape(len(values), -1), equal_nan=True), name
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def names_of(path):
    """Names with their numbers as the file has them, without the package."""
    if path.suffix == ".vtu":
        return {name: float(np.ravel(v)[0]) for name, v in meshio.read(path).field_data.items()}
    if path.suffix == ".vtk":
        found = re.findall(rb"^(\S+) (\d+) (\d+) double\n", path.read_bytes().split(b"POINTS")[0], re.M)
        raw = path.read_bytes()
        out = {}
        for name, width, count in found:
            at = raw.index(b"%s %s %s double\n" % (name, width, count)) + len(name + width + count) + 10
            out[unquote(name.decode())] = struct.unpack(">d", raw[at : at + 8])[0]
        return out
    said = meshio.read(path).field_data
    value = json.loads(ElementTree.parse(path).find(".//Information").attrib["Value"])
    return {name: float(number) for name, (number, _) in said.items()} | {
        "magnification": value["magnification"],
        "pull side < way: force [N]": value["pulls"][0]["force_N"][0],
    }


@pytest.mark.parametrize("ending", GRIDS)
def test_names_pull_and_magnification_stand_in_the_file(mesh, tmp_path, ending):
    path = tmp_path / f"mill{ending}"
    write_field(mesh, path)
    found = names_of(path)
    assert found["part 0: column"] == 0.0
    assert found["part 1: head & tool"] == 1.0
    assert found[f"kind {KINDS.index('fill')}: fill"] == KINDS.index("fill")
    assert found["mark 1: top x"] == 1.0
    assert "under: side < way" in found
    assert found["magnification"] == mesh.magnification
    assert found["pull side < way: force [N]"] == 60.0


@pytest.mark.parametrize("ending", GRIDS)
def test_the_reference_reader_of_the_formats_agrees(mesh, tmp_path, ending):
    """VTK itself; its wheel of 140 MB is no dependency of the tests: `pip install .[viewers]`."""
    vtk = pytest.importorskip("vtk")
    from vtk.util.numpy_support import vtk_to_numpy

    path = tmp_path / f"mill{ending}"
    write_field(mesh, path)
    reader = {
        ".vtu": vtk.vtkXMLUnstructuredGridReader,
        ".vtk": vtk.vtkUnstructuredGridReader,
        ".xdmf": vtk.vtkXdmfReader,
    }[ending]()
    reader.SetFileName(str(path))
    reader.Update()
    grid = reader.GetOutputDataObject(0)
    if grid.IsA("vtkMultiBlockDataSet"):
        grid = grid.GetBlock(0)
    assert vtk_to_numpy(grid.GetPoints().GetData()) == pytest.approx(mesh.points, abs=1e-12)
    assert grid.GetNumberOfCells() == len(mesh.part)
    shapes = {"wedge": 13, "hexahedron": 12, "line": {3, 4}}
    at = 0
    for shape, index in mesh.cells:
        for points in index:
            kind = grid.GetCellType(at)
            assert kind == shapes[shape] if shape != "line" else kind in shapes[shape]
            ids = [grid.GetCell(at).GetPointId(k) for k in range(len(points))]
            if shape == "wedge" and ending != ".xdmf":
                ids = [
                    ids[k] for k in (0, 2, 1, 3, 5, 4)
                ]  # whose first triangle looks outwards in these formats
            assert ids == points.tolist()
            at += 1
    for name, values in mesh.point_data().items():
        assert vtk_to_numpy(grid.GetPointData().GetArray(name)) == pytest.approx(values, abs=1e-15)
    for name in ("part_id", "kind_id", "mark_id"):
        assert np.array_equal(vtk_to_numpy(grid.GetCellData().GetArray(name)), mesh.cell_data()[name])
    if ending != ".xdmf":  # that reader leaves out what is no grid
        fields = grid.GetFieldData()
        assert fields.GetArray("magnification").GetValue(0) == mesh.magnification
        assert fields.GetArray("part 1: head & tool").GetValue(0) == 1.0


@pytest.fixture
def scene(tubes, tmp_path):
    path = tmp_path / "mill.glb"
    write_scene(*tubes, path)
    return path


def gltf_parts(path):
    """The JSON of a binary glTF file and its numbers, by the standard."""
    raw = path.read_bytes()
    magic, version, size = struct.unpack("<4sII", raw[:12])
    assert (magic, version, size) == (b"glTF", 2, len(raw))
    length, kind = struct.unpack("<I4s", raw[12:20])
    assert kind == b"JSON"
    document = json.loads(raw[20 : 20 + length])
    assert raw[24 + length : 28 + length] == b"BIN\0"
    return document, raw[28 + length :]


def accessed(document, data, number):
    accessor = document["accessors"][number]
    view = document["bufferViews"][accessor["bufferView"]]
    width = {"SCALAR": 1, "VEC3": 3}[accessor["type"]]
    kind = {5126: "<f4", 5125: "<u4"}[accessor["componentType"]]
    values = np.frombuffer(data, kind, accessor["count"] * width, view["byteOffset"]).reshape(-1, width)
    if "min" in accessor:
        assert values.min(axis=0) == pytest.approx(accessor["min"], abs=0.0)
        assert values.max(axis=0) == pytest.approx(accessor["max"], abs=0.0)
    return values


def test_a_scene_has_every_part_by_name_at_rest_and_moved(tubes, scene):
    """Read by the layout of the standard: rest in metres, targets of displacement times the magnification."""
    loop, deflection = tubes
    factor = field_mesh(loop, deflection).magnification
    document, data = gltf_parts(scene)
    nodes = {node["name"]: node for node in document["nodes"]}
    assert {"column", "head & tool", "tool", "gauge top x", "gauge head y", "pull side < way"} <= set(nodes)
    for prism, primitive in zip(
        prisms(loop, deflection), document["meshes"][nodes["column"]["mesh"]]["primitives"], strict=True
    ):
        rest = accessed(document, data, primitive["attributes"]["POSITION"])
        motion = accessed(document, data, primitive["targets"][0]["POSITION"])
        assert rest == pytest.approx(prism.points.reshape(-1, 3), abs=1e-6)
        assert motion == pytest.approx(factor * prism.displacement.reshape(-1, 3), rel=1e-5, abs=1e-7)
    assert document["scenes"][0]["extras"] == {"under": "side < way", "magnification": factor}
    reading = dict(deflection.gauges)["top x"]
    assert nodes["gauge top x"]["extras"]["reading_m"] == pytest.approx(reading)
    moving = {channel["target"]["node"] for channel in document["animations"][0]["channels"]}
    assert moving == set(document["nodes"][-1]["children"])


def test_another_library_reads_the_scene_as_closed_solids(tubes, scene):
    """trimesh: names, volumes of the drawing (faces look outwards), and Z of the machine up, which is Y in such files."""
    found = trimesh.load_scene(scene)
    volume = {"wall": 0.0, "fill": 0.0, "insert": 0.0}
    for prism, name in zip(
        prisms(*tubes), [n for n in found.geometry if n.startswith("column")], strict=True
    ):
        piece = found.geometry[name]
        assert piece.is_watertight
        volume[prism.face.kind] += piece.volume
    assert volume["wall"] == pytest.approx(2 * WALL * LENGTH, rel=1e-5)
    assert volume["fill"] == pytest.approx(FILL * LENGTH, rel=1e-5)
    assert volume["insert"] == pytest.approx(ROD * LENGTH, rel=1e-5)
    for name, piece in found.geometry.items():
        assert piece.volume > 0.0, name
    low, high = found.bounds
    assert high[1] > LENGTH
    assert high[1] - low[1] == pytest.approx(LENGTH, rel=0.2)


def test_the_reference_reader_shows_the_scene_moved(tubes, scene):
    vtk = pytest.importorskip("vtk")
    from vtk.util.numpy_support import vtk_to_numpy

    loop, deflection = tubes
    factor = field_mesh(loop, deflection).magnification
    reader = vtk.vtkGLTFReader()
    reader.SetFileName(str(scene))
    reader.ApplyDeformationsToGeometryOn()
    reader.Update()
    found = []
    walk = reader.GetOutput().NewIterator()
    walk.InitTraversal()
    while not walk.IsDoneWithTraversal():
        found.append(vtk_to_numpy(walk.GetCurrentDataObject().GetPoints().GetData()))
        walk.GoToNextItem()
    for prism, points in zip(prisms(loop, deflection), found, strict=False):
        x, y, z = (prism.points + factor * prism.displacement).reshape(-1, 3).T
        assert points == pytest.approx(np.column_stack([x, z, -y]), abs=2e-6)


def test_a_member_of_two_sections_is_drawn_by_both():
    """Spans of one tube and of two: the volume tells."""
    machine = tube_machine()
    one = rectangular_tube(material("steel"), 0.06, 0.08, 0.004)
    member = replace(
        machine.members[0], spans=(Span(section="one", length=0.2), Span(section="two", length=0.3))
    )
    machine = replace(machine, sections=(*machine.sections, ("one", one)), members=(member,))
    loop = assemble(machine, parts_of(machine))
    made = field_mesh(loop, solve(loop, machine.pulls[0]))
    wedges = dict(made.cells)["wedge"]
    walls = volumes(made.points, wedges)[made.kind[: len(wedges)] == KINDS.index("wall")].sum()
    assert walls == pytest.approx(WALL * 0.2 + 2 * WALL * 0.3, rel=1e-9)


def test_triangles_of_a_face_with_holes_cover_it_once():
    for face in end_faces(welded_tubes()):
        points = np.concatenate(face.rings)
        a, b, c = (points[face.triangles()[:, k]] for k in range(3))
        area = 0.5 * ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
        assert area.min() > 0.0
        assert area.sum() == pytest.approx(face.polygon.area, rel=1e-12)


def test_a_block_with_a_mass_is_the_even_box_of_its_inertia():
    """10 kg, 0.3 x 0.2 x 0.1 m: I = m (b² + c²) / 12, any table of moments of inertia."""
    machine = small_mill()
    inertia = tuple(10.0 / 12.0 * s for s in (0.2**2 + 0.1**2, 0.3**2 + 0.1**2, 0.3**2 + 0.2**2))
    mass = PointMass(name="m", part="bed", at=(0.1, 0.2, 0.3), mass=10.0, inertia=inertia)
    machine = replace(machine, masses=(mass,))
    loop = assemble(machine, parts_of(machine))
    (box,) = boxes(loop, solve(loop, machine.pulls[0]))
    assert np.ptp(box.points, axis=0) == pytest.approx([0.3, 0.2, 0.1])
    assert box.points.mean(axis=0) == pytest.approx([0.1, 0.2, 0.3])


@pytest.mark.parametrize("ending", LOSSY)
def test_formats_that_lose_data_are_refused(mesh, tmp_path, ending):
    with pytest.raises(InputError) as caught:
        write_field(mesh, tmp_path / f"mill{ending}")
    assert LOSSY[ending] in str(caught.value)
    assert "write ." in str(caught.value)
    assert list(tmp_path.iterdir()) == []


KNOWN = sorted(ending for ending in meshio.extension_to_filetypes if ending.count(".") == 1)


def test_every_format_of_the_second_library_is_offered_or_refused():
    assert {".vtu", ".vtk", ".xdmf"} <= set(KNOWN)
    assert set(KNOWN) - set(FORMATS) - set(LOSSY) == set()


@pytest.mark.parametrize("ending", sorted(set(KNOWN) & set(LOSSY) - {".xmf"}))
def test_what_is_refused_does_lose_data(mesh, tmp_path, ending):
    """Written by the second library and read again, something of motion, numbers of parts or names is gone."""
    whole = meshio.Mesh(
        mesh.points,
        list(mesh.cells),
        point_data={"displacement_m": mesh.displacement},
        cell_data={"part_id": np.split(mesh.part, np.cumsum([len(i) for _, i in mesh.cells])[:-1])},
        field_data={"column": np.array([0, 3])},
    )
    path = tmp_path / f"mill{ending}"
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            whole.write(path)
            back = meshio.read(path)
    except (Exception, SystemExit):
        return  # does not even take the mesh
    kept = (
        "displacement_m" in back.point_data
        and np.shape(back.point_data["displacement_m"]) == mesh.displacement.shape
        and "part_id" in back.cell_data
        and np.array_equal(np.concatenate([np.ravel(b) for b in back.cell_data["part_id"]]), mesh.part)
        and "column" in back.field_data
    )
    assert not kept


def test_a_scene_and_a_grid_are_not_taken_for_each_other(tubes, mesh, tmp_path):
    with pytest.raises(InputError, match="write_scene"):
        write_field(mesh, tmp_path / "mill.glb")
    with pytest.raises(InputError, match=r"\.glb"):
        write_scene(*tubes, tmp_path / "mill.vtu")


def test_an_unknown_ending_is_refused(mesh, tmp_path):
    with pytest.raises(InputError, match="unknown kind of mesh file"):
        write_field(mesh, tmp_path / "mill.docx")


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
    loop = assemble(machine, Parts(sections={}, bodies={"column": alone(machine.members[0], body)}))
    deflection = solve(loop, machine.pulls[0])
    mesh = field_mesh(loop, deflection)
    assert [kind for kind, _ in mesh.cells] == ["wedge", "hexahedron", "line"]
    write_field(mesh, tmp_path / "column.vtu")
    assert len(meshio.read(tmp_path / "column.vtu").cells[0].data) == len(mesh.cells[0][1])
    assert np.abs(mesh.displacement[mesh.points[:, 2] < 1e-9]).max() < 1e-12  # the base is held


def test_a_rigid_motion_of_a_body_moves_every_node_with_it(column):
    """Interfaces turned and moved as one: the field is u + r x p everywhere."""
    machine, body = column
    loop = assemble(machine, Parts(sections={}, bodies={"column": alone(machine.members[0], body)}))
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
    loop = assemble(machine, Parts(sections={}, bodies={"column": alone(member, body)}))
    mesh = field_mesh(loop, solve(loop, pull))
    write_field(mesh, tmp_path / "column.vtu")
    data = meshio.read(tmp_path / "column.vtu").cell_data
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
