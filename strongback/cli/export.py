"""``strongback export``"""

from __future__ import annotations

from pathlib import Path

import click

from strongback.cli.common import answer, json_option, load, progress, project_argument, subcommand


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
    from strongback.views.export import export

    with progress() as step:
        found = export(load(project), path, pull=name, magnify=magnify, progress=step)
    answer("export", found, as_json, None)
