"""Every file format of the library benchmark, written and read back by another library: the largest difference."""

from __future__ import annotations

import io
import json
import struct
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import meshio
import numpy as np
from acting import post
from shapely.geometry import MultiPolygon

from strongback.machine.cases import CaseResult, solve_cases
from strongback.machine.loads import LoadCase
from strongback.machine.loop import assemble
from strongback.machine.part.make import parts_of
from strongback.machine.values import Pull
from strongback.project.drawing import SUFFIXES, read_drawing
from strongback.project.drawing_out import write_drawing
from strongback.project.read import read
from strongback.project.write import write_project
from strongback.section.shapes import rectangular_tube
from strongback.section.values import Outline
from strongback.views.field_mesh import field_mesh
from strongback.views.mesh_files import FORMATS, write_field, write_scene
from strongback.views.motion_table import motion_table
from strongback.views.solids import prisms

L = 0.8
WALL_COLOUR = "#4a6f8a"  # in an SVG colours tell walls from fills
WRONG = 1.0  # what is not there, or another thing


def solved() -> CaseResult:
    """A filled tube, pulled askew."""
    tube = rectangular_tube("steel", 0.08, 0.06, 0.004).with_fill("inside", "epoxy mineral")
    pull = Pull(name="askew", part="bar", at=(0.0, 0.0, L), force=(100.0, 50.0, 0.0), couple=(0.0, 0.0, 9.0))
    machine = post(tube)
    return solve_cases(assemble(machine, parts_of(machine)), [LoadCase(name="askew", pulls=(pull,))])[0]


def differences(outlines: dict[str, Outline]) -> Iterator[tuple[str, float]]:
    """Mesh files, drawings, the project file, tables."""
    found = solved()
    with TemporaryDirectory() as name:
        folder = Path(name)
        for ending in FORMATS:
            write = _scene if ending == ".glb" else _grid
            yield f"{ending}: points, cells, data and names read back", write(found, folder / f"bar{ending}")
        for ending in SUFFIXES:
            # WKT has no layers: what is filled would come back as solid.
            plain = [o for o in outlines.values() if ending != ".wkt" or all(c.fill is None for c in o.cells)]
            off = max(_drawing(outline, folder / f"profile{ending}") for outline in plain)
            yield f"{ending}: outlines read back", off
        machine = post(rectangular_tube("steel", 0.08, 0.06, 0.004))
        again = read(write_project(machine, folder / "project")).machine
        yield "project.toml: the equal value read back", 0.0 if again == machine else WRONG
    yield "table as CSV: numbers whole", _table(found)


def _grid(found: CaseResult, path: Path) -> float:
    mesh = field_mesh(found.loop, found)
    write_field(mesh, path)
    back = meshio.read(path)
    cells = [np.array_equal(b.data, index) for b, (_, index) in zip(back.cells, mesh.cells, strict=True)]
    if not all(cells) or set(back.cell_data) != set(mesh.cell_data()):
        return WRONG
    pairs = [(back.points, mesh.points), *((back.point_data[k], v) for k, v in mesh.point_data().items())]
    for key, values in mesh.cell_data().items():
        own = np.concatenate([np.asarray(b).reshape(len(b), -1) for b in back.cell_data[key]])
        pairs.append((np.nan_to_num(own), np.nan_to_num(np.asarray(values).reshape(len(values), -1))))
    return max(_relative(np.asarray(a), np.asarray(b)) for a, b in pairs)


def _scene(found: CaseResult, path: Path) -> float:
    """By the layout of the standard of glTF 2.0: positions and their motion, in single precision."""
    write_scene(found.loop, found, path)
    raw = path.read_bytes()
    length = struct.unpack("<I", raw[12:16])[0]
    document, data = json.loads(raw[20 : 20 + length]), raw[28 + length :]
    node = next(n for n in document["nodes"] if n["name"] == "bar")
    factor = document["scenes"][0]["extras"]["magnification"]

    def numbers(index: int) -> np.ndarray:
        accessor = document["accessors"][index]
        start = document["bufferViews"][accessor["bufferView"]]["byteOffset"]
        return np.frombuffer(data, "<f4", 3 * accessor["count"], start).reshape(-1, 3)

    worst = 0.0
    for prism, primitive in zip(
        prisms(found.loop, found), document["meshes"][node["mesh"]]["primitives"], strict=True
    ):
        rest = numbers(primitive["attributes"]["POSITION"])
        motion = numbers(primitive["targets"][0]["POSITION"])
        worst = max(worst, _relative(rest, prism.points.reshape(-1, 3)))
        worst = max(worst, _relative(motion, factor * prism.displacement.reshape(-1, 3)))
    return worst


def _drawing(outline: Outline, path: Path) -> float:
    """Area between the outlines, in parts of the area; fills are walls of another layer and left out."""
    write_drawing(outline, path)
    names = [f"wall {wall.name}" for wall in outline.walls]
    words = {".dxf": [name.replace(" ", "_") for name in names], ".svg": [WALL_COLOUR], ".geojson": names}
    layers = dict.fromkeys(words[path.suffix], "steel") if path.suffix in words else None
    unit = "mm" if path.suffix in (".geojson", ".wkt") else None
    back = read_drawing(path, "steel", unit=unit, layers=layers, max_points=outline.max_points)
    one, two = MultiPolygon(outline.to_polygon()).buffer(0), MultiPolygon(back.to_polygon()).buffer(0)
    return float(one.symmetric_difference(two).area / one.area)


def _table(found: CaseResult) -> float:
    table = motion_table(found)
    rows = np.genfromtxt(io.StringIO(table.csv()), delimiter=",", skip_header=1)[:, 1:]
    own = np.array([[np.nan if v is None else v for v in row[1:]] for row in table.rows], dtype=float)
    return _relative(np.nan_to_num(rows), np.nan_to_num(own))


def _relative(a: np.ndarray, b: np.ndarray) -> float:
    if a.shape != b.shape:
        return WRONG
    return float(np.abs(a - b).max(initial=0.0) / max(float(np.abs(b).max(initial=0.0)), 1e-300))
