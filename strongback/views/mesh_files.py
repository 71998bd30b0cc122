"""Mesh files of the machine under a pull, for viewers: written whole or not at all, refused where data would be lost."""

from __future__ import annotations

from pathlib import Path

from strongback.errors import EnvironmentFault, InputError
from strongback.machine.loop import Loop
from strongback.project.atomic import write_bytes
from strongback.views.field_mesh import FieldMesh
from strongback.views.gltf_file import glb
from strongback.views.shape import Moved
from strongback.views.vtk_files import vtk, vtu
from strongback.views.xdmf_file import xdmf

__all__ = ["FORMATS", "LOSSY", "SCENES", "check_format", "write_field", "write_scene"]

FORMATS = (".vtu", ".vtk", ".xdmf", ".glb")
SCENES = (".glb",)  # shape, motion and names; no numbers on cells
BARE = "keeps the mesh and no motion of its points"
PARTLY = "does not keep all of motion, numbers of parts and their names"
LOSSY = {
    **dict.fromkeys((".bdf", ".ele", ".f3grid", ".fem", ".inp", ".mesh", ".meshb", ".nas", ".node"), BARE),
    **dict.fromkeys((".off", ".post", ".dato", ".su2", ".ugrid", ".vol", ".wkt"), BARE),
    **dict.fromkeys((".avs", ".cgns", ".dat", ".e", ".ex2", ".exo", ".h5m", ".hmf", ".mdpa"), PARTLY),
    **dict.fromkeys((".med", ".msh", ".tec", ".xml"), PARTLY),
    ".gltf": "leaves its numbers in a second file",
    ".obj": "keeps triangles only",
    ".ply": "keeps no vectors",
    ".stl": "keeps triangles only",
    ".svg": "is flat",
    ".xmf": "goes by the name of .xdmf here",
}
HINTS = {".gltf": "write .glb, which is one file", ".xmf": "write .xdmf"}


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

    Examples
    --------
    >>> check_format(Path("mill.VTU"))
    '.vtu'
    """
    ending = path.suffix.lower()
    if ending in LOSSY:
        hint = HINTS.get(ending, "write .vtu, which keeps everything")
        raise InputError(f'"{path.name}": {ending} {LOSSY[ending]}', hint=hint)
    if ending not in FORMATS:
        raise InputError(
            f'"{path.name}": unknown kind of mesh file', hint=f"end the name in {', '.join(FORMATS)}"
        )
    return ending


def write_field(mesh: FieldMesh, path: Path) -> None:
    """Write a mesh file with all its data.

    Parameters
    ----------
    mesh : FieldMesh
    path : Path
        Ends in ``.vtu``, ``.vtk`` or ``.xdmf``.

    Raises
    ------
    InputError
        If the format is unknown or loses data.
    EnvironmentFault
        If it cannot be written.
    """
    ending = check_format(path)
    if ending in SCENES:
        raise InputError(
            f'"{path.name}": {ending} shows shape and motion and keeps no numbers',
            hint="give `write_scene` the loop and its deflection",
        )
    _put(path, {".vtu": vtu, ".vtk": vtk, ".xdmf": xdmf}[ending](mesh))


def write_scene(loop: Loop, deflection: Moved, path: Path, *, magnify: float | None = None) -> None:
    """Write shape and magnified motion, part by part, for viewers of scenes (glTF 2.0).

    Parameters
    ----------
    loop : Loop
    deflection : Deflection or CaseResult
    path : Path
        Ends in ``.glb``.
    magnify : float, optional
        Factor on the motion; default: one at which it is seen well.

    Raises
    ------
    InputError
        If the format is another one.
    EnvironmentFault
        If it cannot be written.
    """
    if check_format(path) not in SCENES:
        raise InputError(f'"{path.name}" is no scene', hint="end the name in .glb")
    _put(path, glb(loop, deflection, magnify=magnify))


def _put(path: Path, data: bytes) -> None:
    try:
        write_bytes(path, data)
    except OSError as error:
        raise EnvironmentFault(f'"{path}" cannot be written: {error.strerror or error}') from error
