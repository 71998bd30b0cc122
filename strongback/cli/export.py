"""``strongback export``"""

from __future__ import annotations

from pathlib import Path

import click

from strongback.cli.common import emit_json, json_option, load, project_argument, say, subcommand, width


@subcommand("export", "strongback export demo --pull sideways --to sideways.vtu")
@project_argument
@click.option("--pull", "name", metavar="NAME", help="The pull; may be left out where there is one only.")
@click.option(
    "--to",
    "path",
    required=True,
    type=click.Path(dir_okay=False, path_type=Path),
    help="File to write: .vtu, .vtk or .xdmf.",
)
@json_option
def command(project: str, name: str | None, path: Path, as_json: bool) -> None:
    """Members are written as skins swept by their section, bodies as solids, blocks as points; each with displacement [m]
    and rotation [rad] at its points and the number of its part on its cells. The cells of bodies carry their stress
    (XX, YY, ZZ, XY, YZ, XZ in machine axes) and equivalent stress [Pa].
    """
    from strongback.cli._machine import assembled, chosen_pulls
    from strongback.machine.solve import solve
    from strongback.views.mesh_files import check_format, field_mesh, write_field
    from strongback.views.tables import Column, table

    check_format(path)
    read = load(project)
    pulls = chosen_pulls(read.machine, [name] if name else [])
    if len(pulls) > 1:
        known = ", ".join(pull.name for pull in pulls)
        raise click.UsageError(f"say which pull with --pull NAME (there are: {known})")
    ready = assembled(read.machine)
    mesh = field_mesh(ready.loop, solve(ready.loop, pulls[0]))
    write_field(mesh, path)
    cells = {kind: len(index) for kind, index in mesh.cells}
    if as_json:
        parts = [{"part_id": i, "name": part} for i, part in enumerate(mesh.names)]
        emit_json("export", {"file": str(path), "points": len(mesh.points), "cells": cells, "parts": parts})
        return
    say(f"wrote {path}: {len(mesh.points):,} points, {sum(cells.values()):,} cells")
    has_stress = bool(ready.loop.bodies)
    say(
        f"point data displacement_m, rotation_rad; cell data part_id{', stress_Pa, von_mises_Pa' * has_stress}:\n"
    )
    rows = [[str(i), part] for i, part in enumerate(mesh.names)]
    say(table([Column("part_id", "", "right"), Column("part")], rows, width=width()))
