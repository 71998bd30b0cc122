"""The deformed machine as a mesh file for viewers: displacement, rotation, part id, and the stress in bodies."""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass
from pathlib import Path

import meshio
import numpy as np
from numpy.typing import NDArray

from strongback.errors import EnvironmentFault, InputError
from strongback.machine.body import field
from strongback.machine.layout import BodyPlace
from strongback.machine.loop import Loop
from strongback.machine.solve import Deflection, PartMotion
from strongback.project.atomic import write_bytes
from strongback.views.shape import Skin, body_displacement, skins

__all__ = ["FORMATS", "LOSSY", "FieldMesh", "check_format", "field_mesh", "read_back", "write_field"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
FORMATS = (".vtu", ".vtk", ".xdmf")
LOSSY = {
    ".ply": "keeps no vectors",
    ".msh": "loses cell data",
    ".inp": "keeps no point or cell data",
    ".stl": "keeps triangles only",
    ".obj": "keeps triangles only",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldMesh:
    """What is written: points, cells of several kinds, and data on both.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        At rest [m].
    cells : tuple of (str, ndarray)
        Kind (``"quad"``, ``"line"``, ``"vertex"``, ``"wedge"``) and points of each cell.
    displacement : ndarray, shape (n, 3)
        [m]
    rotation : ndarray, shape (n, 3)
        Of the section that carries the point [rad]; zero in a body, whose points have none.
    part : tuple of ndarray of int
        Index into `names` of every cell, one array a kind.
    stress : tuple of ndarray, shape (cells, 6)
        Of every cell, one array a kind: XX, YY, ZZ, XY, YZ, XZ in machine axes [Pa]. Only bodies have it; NaN elsewhere.
    names : tuple of str
    """

    points: Array
    cells: tuple[tuple[str, Index], ...]
    displacement: Array
    rotation: Array
    part: tuple[Index, ...]
    stress: tuple[Array, ...]
    names: tuple[str, ...]

    @property
    def von_mises(self) -> tuple[Array, ...]:
        """Equivalent stress of every cell, one array a kind [Pa]."""
        return tuple(_equivalent(block) for block in self.stress)


def _equivalent(stress: Array) -> Array:
    xx, yy, zz, xy, yz, xz = stress.T
    normal = (xx - yy) ** 2 + (yy - zz) ** 2 + (zz - xx) ** 2
    return np.asarray(np.sqrt(0.5 * normal + 3.0 * (xy**2 + yz**2 + xz**2)))


class _Builder:
    """Gathers points and cells part by part."""

    def __init__(self) -> None:
        self.points: list[Array] = []
        self.displacement: list[Array] = []
        self.rotation: list[Array] = []
        self.cells: dict[str, list[Index]] = {}
        self.part: dict[str, list[Index]] = {}
        self.stress: dict[str, list[Array]] = {}
        self.names: list[str] = []
        self.count = 0

    def add(
        self,
        name: str,
        points: Array,
        displacement: Array,
        rotation: Array,
        *,
        stress: Array | None = None,
        **cells: Index,
    ) -> None:
        """Add points of a part and its cells, numbered within the part; stress of its cells where it is known."""
        if name not in self.names:
            self.names.append(name)
        for kind, index in cells.items():
            self.cells.setdefault(kind, []).append(index + self.count)
            self.part.setdefault(kind, []).append(np.full(len(index), self.names.index(name), dtype=np.int64))
            self.stress.setdefault(kind, []).append(
                np.full((len(index), 6), np.nan) if stress is None else stress
            )
        self.points.append(points)
        self.displacement.append(displacement)
        self.rotation.append(rotation)
        self.count += len(points)

    def made(self) -> FieldMesh:
        """Everything that was added."""
        return FieldMesh(
            points=np.concatenate(self.points),
            cells=tuple((kind, np.concatenate(index)) for kind, index in self.cells.items()),
            displacement=np.concatenate(self.displacement),
            rotation=np.concatenate(self.rotation),
            part=tuple(np.concatenate(index) for index in self.part.values()),
            stress=tuple(np.concatenate(block) for block in self.stress.values()),
            names=tuple(self.names),
        )


def field_mesh(loop: Loop, deflection: Deflection) -> FieldMesh:
    """Members as swept skins with their axes, bodies as solids, blocks as points.

    Parameters
    ----------
    loop : Loop
    deflection : Deflection

    Returns
    -------
    FieldMesh
    """
    builder = _Builder()
    motions = {motion.part: motion for motion in deflection.parts}
    for skin in skins(loop, deflection):
        if skin.part in loop.bodies:
            _add_body(builder, loop, deflection, skin.part)
        else:
            _add_skin(builder, skin)
    for block in loop.machine.blocks:
        motion = motions[block.name]
        builder.add(
            block.name,
            np.array([block.at]),
            motion.displacement,
            motion.rotation,
            vertex=np.zeros((1, 1), dtype=np.int64),
        )
    return builder.made()


def _add_skin(builder: _Builder, skin: Skin) -> None:
    stations, ring = skin.points.shape[:2]
    number = np.arange(stations * ring).reshape(stations, ring)
    nxt = np.roll(number, -1, axis=1)
    quads = np.stack([number[:-1], nxt[:-1], nxt[1:], number[1:]], axis=-1).reshape(-1, 4)
    builder.add(
        skin.part,
        skin.points.reshape(-1, 3),
        skin.displacement.reshape(-1, 3),
        np.repeat(skin.rotation, ring, axis=0),
        quad=quads,
    )
    line = np.column_stack([np.arange(stations - 1), np.arange(1, stations)])
    builder.add(skin.part, skin.axis, skin.axis_displacement, skin.rotation, line=line)


def _add_body(builder: _Builder, loop: Loop, deflection: Deflection, name: str) -> None:
    """A body as wedges between its planes, over the corners of its triangles."""
    place = loop.bodies[name]
    body = place.body
    motion = next(m for m in deflection.parts if m.part == name)
    u = body_displacement(place, motion)
    used, corners = np.unique(body.triangles[:, :3], return_inverse=True)
    corners = corners.reshape(-1, 3)
    planes = np.arange(0, len(body.planes), 2)
    flat = body.nodes[used] @ place.axes[:2]
    points = np.asarray(place.start) + flat[None] + (body.planes[planes][:, None] * place.axes[2])[:, None]
    span_of = np.repeat(np.arange(len(body.span_elements)), body.span_elements)
    wedges = [
        np.hstack([corners[solid] + level * len(used), corners[solid] + (level + 1) * len(used)])
        for level, span in enumerate(span_of)
        for solid in [body.region[span] >= 0]
    ]
    count = len(planes) * len(used)
    builder.add(
        name,
        points.reshape(-1, 3),
        u[planes][:, used].reshape(-1, 3),
        np.zeros((count, 3)),
        stress=_stress(place, motion),
        wedge=np.concatenate(wedges),
    )


def _stress(place: BodyPlace, motion: PartMotion) -> Array:
    """Stress of a body in the middle of its cells, XX, YY, ZZ, XY, YZ, XZ in machine axes [Pa], (cells, 6)."""
    motions = np.concatenate([motion.displacement @ place.axes.T, motion.rotation @ place.axes.T], axis=1)
    xx, yy, ss, ys, xs, xy = field(place.body, motions.ravel()).stress.T
    tensor = np.array([[xx, xy, xs], [xy, yy, ys], [xs, ys, ss]])
    turned = np.einsum("ai,abe,bj->eij", place.axes, tensor, place.axes, optimize=True)
    return np.asarray(turned[:, [0, 1, 2, 0, 1, 0], [0, 1, 2, 1, 2, 2]])


def check_format(path: Path) -> str:
    """The ending of a mesh file that keeps everything.

    Parameters
    ----------
    path : Path

    Returns
    -------
    str
        One of `FORMATS`.

    Raises
    ------
    InputError
        If the format is unknown or loses data.
    """
    ending = path.suffix.lower()
    if ending in LOSSY:
        raise InputError(
            f'"{path.name}": {ending} {LOSSY[ending]}', hint="write .vtu, which keeps everything"
        )
    if ending not in FORMATS:
        raise InputError(
            f'"{path.name}": unknown kind of mesh file', hint=f"end the name in {', '.join(FORMATS)}"
        )
    return ending


def write_field(mesh: FieldMesh, path: Path) -> None:
    """Write a mesh file, whole or not at all.

    Parameters
    ----------
    mesh : FieldMesh
    path : Path
        Its ending chooses the format, one of `FORMATS`.

    Raises
    ------
    InputError
        If the format is unknown or loses data.
    EnvironmentFault
        If it cannot be written, or an extra package is missing.
    """
    ending = check_format(path)
    made = meshio.Mesh(
        mesh.points,
        list(mesh.cells),
        point_data={"displacement_m": mesh.displacement, "rotation_rad": mesh.rotation},
        cell_data={"part_id": list(mesh.part)} | _stress_data(mesh),
    )
    # Written beside a temporary name first: a mesh writer that fails half way leaves no half file.
    with tempfile.TemporaryDirectory(prefix="strongback-") as folder:
        draft = Path(folder) / f"mesh{ending}"
        try:
            _write(made, draft, ending)
        except (ImportError, SystemExit) as error:
            raise EnvironmentFault(f"{ending} needs another package: {error}", hint="write .vtu") from error
        except OSError as error:
            raise EnvironmentFault(f'"{path}" cannot be written: {error.strerror or error}') from error
        write_bytes(path, draft.read_bytes())


def _stress_data(mesh: FieldMesh) -> dict[str, list[Array]]:
    """Nothing where no part is a body."""
    if all(np.isnan(block).all() for block in mesh.stress):
        return {}
    return {"stress_Pa": list(mesh.stress), "von_mises_Pa": list(mesh.von_mises)}


def _write(made: meshio.Mesh, draft: Path, ending: str) -> None:
    """meshio prints to the terminal; nothing of it is for the user."""
    if ending == ".vtu":
        meshio.write(draft, made, binary=True)
    elif ending == ".xdmf":
        meshio.write(draft, made, data_format="XML")  # one file: the data stand in it
    else:
        meshio.write(draft, made, file_format="vtk")


def read_back(path: Path) -> meshio.Mesh:
    """Read a mesh file; a corrupt one is an error, not the end of the process.

    Parameters
    ----------
    path : Path

    Returns
    -------
    meshio.Mesh

    Raises
    ------
    InputError
        If it cannot be read.
    """
    if not os.path.isfile(path):
        raise InputError(f'"{path}" is not a file')
    try:
        return meshio.read(path)
    except (Exception, SystemExit) as error:  # meshio answers a corrupt file with either
        raise InputError(f'"{path}" cannot be read as a mesh: {error}') from error
