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
    help="File to write: .vtu, .vtk, .xdmf or .glb.",
)
@click.option(
    "--magnify", type=float, metavar="FACTOR", help="On the motion; default: one at which it is seen well."
)
@json_option
def command(project: str, name: str | None, path: Path, magnify: float | None, as_json: bool) -> None:
    """Members are written as solids swept by all regions of their sections, blocks as boxes (they have no size in the
    model: of a pad, a mass or the joints), tool, gauges and pull as lines; each with displacement [m] and rotation [rad] at
    its points and the numbers of part, kind and mark on its cells. The cells of bodies carry their stress (XX, YY, ZZ, XY,
    YZ, XZ in machine axes) and equivalent stress [Pa]. Names, pull and magnification stand in the file.

    A .glb (glTF) holds shape, magnified motion and names of the parts for viewers of scenes, and no numbers on cells.
    """
    from strongback.ask.source import chosen_pulls
    from strongback.cli._machine import assembled
    from strongback.machine.solve import solve
    from strongback.views.field_mesh import field_mesh
    from strongback.views.mesh_files import SCENES, check_format, write_field, write_scene
    from strongback.views.tables import Column, table

    ending = check_format(path)
    read = load(project)
    pulls = chosen_pulls(read.machine, [name] if name else [])
    if len(pulls) > 1:
        known = ", ".join(pull.name for pull in pulls)
        raise click.UsageError(f"say which pull with --pull NAME (there are: {known})")
    loop = assembled(read.machine).loop
    deflection = solve(loop, pulls[0])
    mesh = field_mesh(loop, deflection, magnify=magnify)
    if ending in SCENES:
        write_scene(loop, deflection, path, magnify=magnify)
    else:
        write_field(mesh, path)
    cells = {kind: len(index) for kind, index in mesh.cells}
    if as_json:
        parts = [{"part_id": i, "name": part} for i, part in enumerate(mesh.parts)]
        found = {"file": str(path), "parts": parts, "magnification": mesh.magnification}
        if ending not in SCENES:
            found |= {"points": len(mesh.points), "cells": cells, "marks": list(mesh.marks)}
        emit_json("export", found)
        return
    if ending in SCENES:
        say(f"wrote {path}: parts by name, motion times {mesh.magnification:g}")
        return
    say(f"wrote {path}: {len(mesh.points):,} points, {sum(cells.values()):,} cells")
    say(f"point data {', '.join(mesh.point_data())}")
    say(f"cell data {', '.join(mesh.cell_data())}")
    say(f"the motion is seen well times {mesh.magnification:g}\n")
    rows = [[str(i), part] for i, part in enumerate(mesh.parts)]
    say(table([Column("part_id", "", "right"), Column("part")], rows, width=width()))
