"""``strongback section``"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from strongback.cli._profile import from_drawing, is_drawing
from strongback.cli._stress import Asked, stressed
from strongback.cli.common import (
    emit_json,
    figures_option,
    json_option,
    load,
    note,
    note_mesher,
    out_option,
    say,
    subcommand,
    width,
)
from strongback.errors import ProjectError, StrongbackError

CHECK_NOT_MET = 1

if TYPE_CHECKING:
    from strongback.project import Project
    from strongback.section.profiles import Profile
    from strongback.section.values import Outline


@subcommand("section", "strongback section demo")
@click.argument("project", metavar="[PROJECT]", required=False)
@click.option(
    "--outline",
    "table",
    type=click.Path(path_type=Path),
    metavar="FILE.csv",
    help="One profile without a project: a table of rings, or a drawing (.dxf, .svg, .geojson, .wkt).",
)
@click.option(
    "--scan",
    type=click.Path(path_type=Path),
    metavar="PICTURE",
    help="Scan or photograph of an end face inside a printed frame, without a project.",
)
@click.option("--frame", metavar="SIZE", help='Outside of the printed frame, such as "140 mm x 110 mm".')
@click.option(
    "--weighed", metavar="MASS", help='Mass of a piece over its length, such as "6.55 kg/m", to be compared.'
)
@click.option("--material", metavar="NAME", help="Its material.")
@click.option(
    "--unit", metavar="UNIT", help="Unit of its coordinates, where the head of the table gives none."
)
@click.option("--chord", metavar="LENGTH", help='Of curves in a drawing: "0.05 mm" unless said.')
@click.option(
    "--layer",
    "layers",
    multiple=True,
    metavar="NAME=MATERIAL",
    help='Layer or colour of a drawing and its material, or "NAME=fill MATERIAL".',
)
@click.option(
    "--draw",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write the outline as a drawing (.dxf, .svg, .geojson, .wkt) as well.",
)
@click.option(
    "--max-points",
    type=click.IntRange(3, 100_000),
    metavar="N",
    help="Most points of a table, where 2,000 are too few.",
)
@click.option(
    "--tolerance",
    type=click.FloatRange(1e-5, 0.1),
    default=1e-3,
    show_default=True,
    help="Relative gap between the bounds of GJ.",
)
@click.option(
    "--mesher", type=click.Choice(["auto", "built-in", "triangle"]), default="auto", show_default=True
)
@click.option(
    "--second-opinion",
    "opinion",
    is_flag=True,
    help="Also solve it by the library sectionproperties; both values side by side.",
)
@click.option("--stress", is_flag=True, help="Also the largest stress under each unit load, with a figure.")
@click.option(
    "--loads",
    metavar="LOADS",
    help='Stress under loads together: N, Vx, Vy, Mx, My, T, T2, B, such as "N = 1 kN, Mx = 50 N*m".',
)
@click.option("--at", multiple=True, metavar="POINT", help='Also at a point of it, such as "10, 20 mm".')
@click.option(
    "--along", metavar="EDGE", help='Also around an edge, as table and figure: "outer" or a hollow.'
)
@click.option("--yield", "strength", metavar="STRENGTH", help='Told beside it as information: "235 MPa".')
@json_option
@out_option
@figures_option
def command(
    project: str | None,
    table: Path | None,
    scan: Path | None,
    frame: str | None,
    weighed: str | None,
    material: str | None,
    unit: str | None,
    chord: str | None,
    layers: tuple[str, ...],
    draw: Path | None,
    max_points: int | None,
    tolerance: float,
    mesher: str,
    opinion: bool,
    stress: bool,
    loads: str | None,
    at: tuple[str, ...],
    along: str | None,
    strength: str | None,
    as_json: bool,
    out: Path,
    figures: bool,
) -> None:
    """For every section of a project, or for one profile from a table or a picture:

    strongback section --outline profile.csv --material "aluminium 6060" --unit mm

    strongback section --scan face.png --frame "140 mm x 110 mm" --material steel
    """
    from strongback.ask.sections import sections
    from strongback.project.out_names import out_names

    if weighed is not None and project is not None:
        raise click.UsageError("--weighed goes with --outline or --scan")
    note_mesher()
    drawn = out if figures and not as_json else None
    chosen = _chosen(project, table, (material, unit, max_points, chord, layers), (scan, frame, drawn))
    if draw is not None:
        if project is not None:
            raise click.UsageError("--draw goes with --outline or --scan")
        _written(chosen, draw)
    asked = Asked(units=stress, loads=loads or "", at=at, along=along or "", strength=strength or "")
    if not asked.loads and (asked.at or asked.along or asked.strength):
        raise click.UsageError('--at, --along and --yield go with --loads "N = 1 kN, Mx = 50 N*m"')
    found = sections(chosen, tolerance=tolerance, mesher=mesher, second_opinion=opinion)  # type: ignore[arg-type]
    pictures = [
        out_names(kind, [own.name for own in found.sections], ".png")
        for kind in ("section", "stress", "loaded", "along")
    ]
    more: dict[str, dict[str, Any]] = {}
    fault = found.fault
    for own in found.sections:
        try:
            files = None if drawn is None else [drawn / names[own.name] for names in pictures]
            more[own.name] = _shown(own, asked, weighed, mesher, as_json, files)
        except StrongbackError as error:  # one bad outline hides nothing of the others
            fault = fault or error
            more[own.name] = {"name": own.name, "fault": str(error)}
            if not as_json:
                note(f'section "{own.name}" is left out: {error}\n')
    told = found.to_dict()["sections"]
    told = [more[one["name"]] if "fault" in more[one["name"]] else one | more[one["name"]] for one in told]
    if fault is not None and (not as_json or all("fault" in one for one in told)):
        raise fault
    if as_json:
        run = {
            own.name: {"seconds": own.solved.seconds, "cached": own.solved.cached}
            for own in found.sections
            if own.solved is not None
        }
        emit_json("section", {"sections": told, "run": run, "fault": None if fault is None else str(fault)})
    if fault is not None:
        click.get_current_context().exit(fault.exit_code)
    if not all(one["weighed"]["met"] for one in more.values() if "weighed" in one):
        click.get_current_context().exit(CHECK_NOT_MET)


def _shown(
    own: Profile, asked: Asked, weighed: str | None, mesher: str, as_json: bool, files: list[Path] | None
) -> dict[str, Any]:
    """Print and draw one section; what was asked of it beside its stiffness, as plain data."""
    from strongback.views.profiles_text import profile_blocks
    from strongback.views.sheet import Sheet

    if own.fault is not None:
        raise own.fault
    more: dict[str, Any] = {}
    if not as_json:
        say(Sheet(tuple(profile_blocks(own))).text(width(), lambda text: click.style(text, bold=True)))
    if own.outline is None:
        return more
    if files is not None and own.solved is not None:
        from strongback.views import style
        from strongback.views.section_plot import profile_figure

        note(f"wrote {style.save(profile_figure(own.outline, own.stiffness), files[0])}\n")
    if asked.units or asked.loads:
        drawn = None if files is None else (files[1], files[2], files[3])
        more["stress"] = stressed(own.outline, asked, mesher, as_json, drawn)
    if weighed is not None:
        more["weighed"] = _weighed(own.outline, weighed, as_json)
    return more


def _chosen(
    project: str | None,
    table: Path | None,
    how: tuple[str | None, str | None, int | None, str | None, tuple[str, ...]],
    picture: tuple[Path | None, str | None, Path | None],
) -> Project | Outline | str:
    """What is asked of: a project, the path of one with faults, or a profile alone."""
    (material, unit, max_points, chord, layers), (scan, frame, out) = how, picture
    if [project, table, scan].count(None) != 2:
        raise click.UsageError("give a PROJECT, or --outline FILE.csv or --scan PICTURE with --material NAME")
    if project is not None:
        try:
            return load(project)
        except ProjectError:
            return project  # its sections without a fault are solved, and the faults told
    if table is not None and is_drawing(table):
        outline = from_drawing(table, material, unit, max_points, chord, layers)
        return outline
    if chord is not None or layers:
        raise click.UsageError("--chord and --layer go with --outline of a drawing")
    if material is None:
        raise click.UsageError(f"{'--outline' if scan is None else '--scan'} needs --material NAME")
    from strongback import materials

    if scan is not None:
        from strongback.cli._profile import from_scan

        if frame is None:
            raise click.UsageError('--scan needs --frame SIZE, such as "140 mm x 110 mm"')
        outline = from_scan(scan, frame, materials.material(material), out)
    else:
        from strongback.project.single import read_outline
        from strongback.section.values import MAX_POINTS

        assert table is not None
        outline = read_outline(
            table, materials.material(material), unit=unit, max_points=max_points or MAX_POINTS
        )
    return outline


def _written(outline: Project | Outline | str, place: Path) -> None:
    from strongback.project.drawing_out import write_drawing

    note(f"wrote {write_drawing(outline, place)}\n")  # type: ignore[arg-type]


def _weighed(outline: Outline, mass: str, as_json: bool) -> dict[str, object]:
    """The check against the scale; printed unless JSON is asked for."""
    from strongback.answer import plain
    from strongback.cli import _profile

    found = _profile.weighed(outline, mass)
    if not as_json:
        _profile.say_weighed(found)
    return plain(found)  # type: ignore[no-any-return]
