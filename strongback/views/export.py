"""A machine under a pull as a mesh file for viewers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import ClassVar

from strongback.answer import HIDDEN, Answer, Telling, told
from strongback.ask.source import Source, chosen_pulls, machine_of
from strongback.errors import QuestionError
from strongback.machine.columns import Progress
from strongback.machine.loop import Loop, assemble
from strongback.machine.part.make import parts_of
from strongback.machine.solve import Deflection, solve
from strongback.views.field_mesh import FieldMesh, field_mesh
from strongback.views.machine_plot import machine_figure
from strongback.views.mesh_files import SCENES, check_format, write_field, write_scene
from strongback.views.sheet import Block, Sheet
from strongback.views.style import Picture
from strongback.views.table import Head, Table

__all__ = ["Exported", "export"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class Exported(Answer):
    """A mesh file that was written.

    Parameters
    ----------
    file : Path
    loop : Loop
    deflection : Deflection
    mesh : FieldMesh
    """

    TOLD: ClassVar[Telling] = (
        ("parts", "parts"),
        ("magnification", "mesh.magnification"),
        ("points?", "points"),
        ("cells?", "cells"),
        ("marks?", "marks"),
    )

    file: Path = field(metadata=told())
    loop: Loop = field(metadata=HIDDEN)
    deflection: Deflection = field(metadata=HIDDEN)
    mesh: FieldMesh = field(metadata=HIDDEN)

    @property
    def is_scene(self) -> bool:
        """Whether the file holds shape and motion alone, for viewers of scenes."""
        return self.file.suffix.lower() in SCENES

    @property
    def parts(self) -> list[dict[str, int | str]]:
        """Number and name of every part in the file."""
        return [{"part_id": i, "name": part} for i, part in enumerate(self.mesh.parts)]

    @property
    def points(self) -> int | None:
        """Points of the mesh; None of a scene."""
        return None if self.is_scene else len(self.mesh.points)

    @property
    def cells(self) -> dict[str, int] | None:
        """Cells by kind; None of a scene."""
        return None if self.is_scene else {kind: len(index) for kind, index in self.mesh.cells}

    @property
    def marks(self) -> tuple[str, ...] | None:
        """What the marks on cells mean; None of a scene."""
        return None if self.is_scene else tuple(self.mesh.marks)

    def __repr__(self) -> str:
        return (
            f"Exported({str(self.file)!r}: {self.deflection.name}, motion times {self.mesh.magnification:g})"
        )


def export(
    project: Source,
    to: str | Path,
    *,
    pull: str | None = None,
    magnify: float | None = None,
    progress: Progress | None = None,
) -> Exported:
    """Write the machine under a pull as a mesh file; its ending chooses the format.

    Parameters
    ----------
    project : str, Path, Project or Machine
    to : str or Path
        Ends in ``.vtu``, ``.vtk``, ``.xdmf`` (all data) or ``.glb`` (shape and motion, for viewers of scenes).
    pull : str, optional
        Its name; may be left out where there is one only.
    magnify : float, optional
        Factor on the motion that is kept with the file; default: one at which it is seen well.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    Exported

    Raises
    ------
    QuestionError
        If there is no such pull, or none is named of several.
    InputError
        If the format is unknown or loses data, or `magnify` is not above zero.
    EnvironmentFault
        If it cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     found = export("demo", Path(folder) / "mill.vtu", pull="sideways")
    >>> found.parts[0]
    {'part_id': 0, 'name': 'column'}
    """
    path = Path(to)
    ending = check_format(path)
    machine = machine_of(project)
    pulls = chosen_pulls(machine, pull or ())
    if len(pulls) > 1:
        known = ", ".join(own.name for own in pulls)
        raise QuestionError(
            f"say which pull (there are: {known})", hint='--pull NAME, or pull="NAME" in Python'
        )
    loop = assemble(machine, parts_of(machine, progress=progress))
    deflection = solve(loop, pulls[0])
    mesh = field_mesh(loop, deflection, magnify=magnify)
    if ending in SCENES:
        write_scene(loop, deflection, path, magnify=magnify)
    else:
        write_field(mesh, path)
    return Exported(file=path, loop=loop, deflection=deflection, mesh=mesh)


def sheet(found: Exported) -> Sheet:
    """What stands in the file."""
    mesh = found.mesh
    if found.is_scene:
        return Sheet((f"wrote {found.file}: parts by name, motion times {mesh.magnification:g}",))
    rows = tuple((float(i), part) for i, part in enumerate(mesh.parts))
    blocks: tuple[Block, ...] = (
        f"wrote {found.file}: {len(mesh.points):,} points, {sum((found.cells or {}).values()):,} cells",
        f"point data {', '.join(mesh.point_data())}",
        f"cell data {', '.join(mesh.cell_data())}",
        f"the motion is seen well times {mesh.magnification:g}",
        "",
        Table(columns=(Head("part_id", show=lambda v: f"{v:.0f}"), Head("part")), rows=rows),
    )
    return Sheet(blocks)


def figure(found: Exported, *, width_mm: float = 160.0) -> Picture:
    """The machine under the pull."""
    return machine_figure(found.loop, found.deflection, width_mm=width_mm)


def figures(found: Exported) -> Iterator[tuple[str, Picture]]:
    """None: the file is the picture."""
    yield from ()
