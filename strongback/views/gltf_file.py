"""The machine under a pull as a scene: glTF 2.0 in one binary file, each part a node whose motion is a morph target.

Khronos Group, glTF 2.0 Specification (ISO/IEC 12113:2022). Positions are the machine at rest in metres; the target of each
mesh is its displacement times the magnification, shown in full at first and swung to and fro by the animation.
"""

from __future__ import annotations

import json
import struct
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from matplotlib.colors import to_rgb
from numpy.typing import NDArray

from strongback.machine.loop import Loop
from strongback.machine.room import Operator, right_of, towards
from strongback.views import style
from strongback.views.field_mesh import KINDS, FieldMesh, field_mesh
from strongback.views.painter import BOX
from strongback.views.shape import Moved, extent
from strongback.views.solids import Box, Prism, boxes, prisms

__all__ = ["glb"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
FLOAT, UINT = 5126, 5125  # component types of the standard
ARRAY, ELEMENTS = 34962, 34963  # uses of a buffer view
KNOB = 0.008  # half the size of a mark as a fraction of the machine
OCTAHEDRON = np.array([(1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1)], dtype=float)
SIDES = np.array([(0, 2, 4), (2, 1, 4), (1, 3, 4), (3, 0, 4), (2, 0, 5), (1, 2, 5), (3, 1, 5), (0, 3, 5)])


@dataclass(slots=True)
class _Scene:
    """The document and its numbers."""

    data: bytearray = field(default_factory=bytearray)
    views: list[dict[str, Any]] = field(default_factory=list)
    accessors: list[dict[str, Any]] = field(default_factory=list)
    materials: list[dict[str, Any]] = field(default_factory=list)
    meshes: list[dict[str, Any]] = field(default_factory=list)
    nodes: list[dict[str, Any]] = field(default_factory=list)

    def put(self, values: Array | Index, *, use: int | None = ARRAY) -> int:
        """Add numbers; their accessor."""
        floats = values.dtype.kind == "f"
        raw = values.astype("<f4" if floats else "<u4").tobytes()
        view: dict[str, Any] = {"buffer": 0, "byteOffset": len(self.data), "byteLength": len(raw)}
        if use is not None:
            view["target"] = use
        self.views.append(view)
        self.data += raw
        accessor: dict[str, Any] = {
            "bufferView": len(self.views) - 1,
            "componentType": FLOAT if floats else UINT,
            "count": len(values),
            "type": "VEC3" if values.ndim == 2 else "SCALAR",
        }
        if floats:
            single = np.atleast_2d(values.astype(np.float32).T).T
            accessor["min"] = [float(v) for v in single.min(axis=0)]
            accessor["max"] = [float(v) for v in single.max(axis=0)]
        self.accessors.append(accessor)
        return len(self.accessors) - 1

    def material(self, name: str, colour: str, *, clear: bool = False) -> int:
        """Add a material; its number."""
        linear = [_linear(c) for c in to_rgb(colour)]
        look = {
            "baseColorFactor": [*linear, 0.5 if clear else 1.0],
            "metallicFactor": 0.0,
            "roughnessFactor": 0.8,
        }
        made: dict[str, Any] = {"name": name, "pbrMetallicRoughness": look}
        if clear:
            made["alphaMode"] = "BLEND"
        self.materials.append(made)
        return len(self.materials) - 1

    def solid(self, points: Array, motion: Array, triangles: Index, material: int) -> dict[str, Any]:
        """A primitive with its motion as a target."""
        return {
            "attributes": {"POSITION": self.put(points)},
            "targets": [{"POSITION": self.put(motion)}],
            "indices": self.put(triangles.ravel(), use=ELEMENTS),
            "material": material,
        }

    def node(self, name: str, primitives: list[dict[str, Any]], said: dict[str, Any]) -> None:
        """Add a node with a mesh of its own."""
        self.meshes.append({"name": name, "primitives": primitives, "weights": [1.0]})
        self.nodes.append({"name": name, "mesh": len(self.meshes) - 1, "extras": said})


def _linear(c: float) -> float:
    """Linear light of a colour as screens have it (IEC 61966-2-1)."""
    return c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4


def glb(loop: Loop, deflection: Moved, *, magnify: float | None = None) -> bytes:
    """A machine under a pull as a binary glTF file.

    Parameters
    ----------
    loop : Loop
    deflection : Deflection or CaseResult
    magnify : float, optional
        Factor on the motion; default: one at which it is seen well.
    """
    mesh = field_mesh(loop, deflection, magnify=magnify)
    scene = _Scene()
    colours = style.colours_of(loop.machine)
    swept = prisms(loop, deflection)
    for member in loop.machine.members:
        tints = {
            "wall": scene.material(member.name, colours[member.name]),
            "fill": scene.material(f"{member.name}: fill", style.ROLES["fill"]),
        }
        primitives = [
            scene.solid(
                *_skin(prism, mesh.magnification), tints["fill" if prism.face.kind == "fill" else "wall"]
            )
            for prism in swept
            if prism.part == member.name
        ]
        scene.node(member.name, primitives, {"kind": "member"})
    for box in boxes(loop, deflection):
        tint = scene.material(box.part, colours[box.part], clear=True)
        scene.node(box.part, [scene.solid(*_sides(box, mesh.magnification), tint)], {"kind": "block"})
    _add_marks(scene, mesh, extent(loop.machine))
    return _packed(scene, mesh, _stood(loop.machine.operator))


def _stood(operator: Operator) -> list[float]:
    """Turn of the machine into axes with Y up and the front towards Z, as the standard has them, column by column."""
    turn = np.eye(4)
    turn[:3, :3] = [right_of(operator), (0.0, 0.0, 1.0), towards(operator)]
    return [float(v) for v in turn.T.ravel()]


def _skin(prism: Prism, factor: float) -> tuple[Array, Array, Index]:
    """Sides along all rings of a prism and its two end faces, each with points of its own."""
    stations, count = prism.points.shape[:2]
    number = np.arange(stations * count).reshape(stations, count)
    found, start = [], 0
    for ring in prism.face.rings:
        own = number[:, start : start + len(ring)]
        nxt = np.roll(own, -1, axis=1)
        a, b, c, d = own[:-1], nxt[:-1], nxt[1:], own[1:]
        found += [np.stack([a, b, c], axis=-1).reshape(-1, 3), np.stack([a, c, d], axis=-1).reshape(-1, 3)]
        start += len(ring)
    lid = prism.face.triangles()
    found += [lid[:, ::-1], lid + (stations - 1) * count]
    points, motion = prism.points.reshape(-1, 3), factor * prism.displacement.reshape(-1, 3)
    return points, motion, np.concatenate(found)


def _sides(box: Box, factor: float) -> tuple[Array, Array, Index]:
    triangles = np.concatenate([BOX[:, [0, 1, 2]], BOX[:, [0, 2, 3]]])
    return box.points, factor * box.displacement, triangles


def _add_marks(scene: _Scene, mesh: FieldMesh, size: float) -> None:
    """The tool and every gauge as a knob that moves along, the pull as a spike."""
    ink, strong = scene.material("marks", style.INK), scene.material("pull", style.ROLES["joints"])
    pulls = {pull.name: pull for pull in mesh.pulls}
    lines = next(index for shape, index in mesh.cells if shape == "line")
    first = sum(len(index) for shape, index in mesh.cells[: [s for s, _ in mesh.cells].index("line")])
    for k, (a, b) in enumerate(lines):
        mark = mesh.mark[first + k]
        if mark < 0:
            continue
        name, kind = mesh.marks[mark], KINDS[mesh.kind[first + k]]
        motion = mesh.magnification * mesh.displacement[a]
        reading = float(mesh.reading[first + k])
        if kind == "pull":
            points = _spike(mesh.points[a], mesh.points[b], KNOB * size)
            solid = scene.solid(points, np.tile(motion, (len(points), 1)), _SPIKE, strong)
            scene.node(
                f"pull {name}", [solid], {"force_N": pulls[name].force, "couple_Nm": pulls[name].couple}
            )
            continue
        points = mesh.points[a] + KNOB * size * OCTAHEDRON
        said = {"reading_m": reading} if np.isfinite(reading) else {}
        knob = scene.solid(points, np.tile(motion, (6, 1)), SIDES, ink)
        scene.node("tool" if kind == "tool" else f"gauge {name}", [knob], said)


_SPIKE = np.array([(0, 2, 1), (0, 3, 2), (0, 1, 3), (1, 2, 3)])


def _spike(tail: Array, tip: Array, half: float) -> Array:
    along = (tip - tail) / np.linalg.norm(tip - tail)
    side = np.cross(along, np.eye(3)[int(np.argmin(np.abs(along)))])
    side /= np.linalg.norm(side)
    up = np.cross(along, side)
    turns = 2.0 * np.pi / 3.0 * np.arange(3)
    base = tail + half * (np.cos(turns)[:, None] * side + np.sin(turns)[:, None] * up)
    return np.vstack([tip, base[::-1]])


def _packed(scene: _Scene, mesh: FieldMesh, stood: list[float]) -> bytes:
    times = scene.put(np.array([0.0, 1.0, 2.0]), use=None)
    weights = scene.put(np.array([0.0, 1.0, 0.0]), use=None)
    swing = {
        "name": "motion",
        "samplers": [{"input": times, "output": weights, "interpolation": "LINEAR"}],
        "channels": [
            {"sampler": 0, "target": {"node": k, "path": "weights"}} for k in range(len(scene.nodes))
        ],
    }
    root = {"name": mesh.machine, "matrix": stood, "children": list(range(len(scene.nodes)))}
    document = {
        "asset": {"version": "2.0", "generator": "strongback"},
        "scene": 0,
        "scenes": [
            {
                "name": f"{mesh.machine}: {mesh.under}",
                "nodes": [len(scene.nodes)],
                "extras": {"under": mesh.under, "magnification": mesh.magnification},
            }
        ],
        "nodes": [*scene.nodes, root],
        "meshes": scene.meshes,
        "materials": scene.materials,
        "accessors": scene.accessors,
        "bufferViews": scene.views,
        "buffers": [{"byteLength": len(scene.data)}],
        "animations": [swing],
    }
    text = json.dumps(document, ensure_ascii=False).encode()
    text += b" " * (-len(text) % 4)
    data = bytes(scene.data) + b"\0" * (-len(scene.data) % 4)
    size = 12 + 8 + len(text) + 8 + len(data)
    return b"".join(
        [
            struct.pack("<4sII", b"glTF", 2, size),
            struct.pack("<I4s", len(text), b"JSON"),
            text,
            struct.pack("<I4s", len(data), b"BIN\0"),
            data,
        ]
    )
