"""``strongback section``"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from strongback.cli._profile import from_drawing, is_drawing
from strongback.cli._stress import Asked, stressed
from strongback.cli.common import (
    emit_json,
    figures_option,
    heading,
    json_option,
    load,
    note,
    note_mesher,
    out_option,
    say,
    sections_of,
    subcommand,
    width,
)
from strongback.errors import ProjectError, StrongbackError

CHECK_NOT_MET = 1

if TYPE_CHECKING:
    from strongback.section.values import Outline, SectionStiffness


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
    from strongback.project.out_names import out_names
    from strongback.section.values import Outline

    if weighed is not None and project is not None:
        raise click.UsageError("--weighed goes with --outline or --scan")
    note_mesher()
    drawn = out if figures and not as_json else None
    sections, fault = _sections(
        project, table, (material, unit, max_points, chord, layers), (scan, frame, drawn)
    )
    if draw is not None:
        if project is not None:
            raise click.UsageError("--draw goes with --outline or --scan")
        _written(sections[0][1], draw)
    names = [name for name, _ in sections]
    profiles = out_names("section", names, ".png")
    pictures = [out_names(kind, names, ".png") for kind in ("stress", "loaded", "along")]
    asked = Asked(units=stress, loads=loads or "", at=at, along=along or "", strength=strength or "")
    if not asked.loads and (asked.at or asked.along or asked.strength):
        raise click.UsageError('--at, --along and --yield go with --loads "N = 1 kN, Mx = 50 N*m"')
    sheets, checks = [], []
    for name, section in sections:
        if not isinstance(section, Outline):
            sheets.append(_given(name, section, as_json))
            continue
        try:
            sheet = _solved(name, section, tolerance, mesher, as_json, drawn and drawn / profiles[name])
            if opinion:
                sheet = {**sheet, "second_opinion": _second(section, tolerance, as_json)}
            if asked.units or asked.loads:
                files = drawn and tuple(drawn / names_of[name] for names_of in pictures)
                sheet = {**sheet, "stress": stressed(section, asked, mesher, as_json, files)}  # type: ignore[arg-type]
        except StrongbackError as error:  # one bad outline hides nothing of the others
            fault = fault or error
            sheets.append({"name": name, "fault": str(error)})
            if not as_json:
                note(f'section "{name}" is left out: {error}\n')
            continue
        if weighed is not None:
            checks.append(_weighed(section, weighed, as_json))
            sheet = {**sheet, "weighed": checks[-1]}
        sheets.append(sheet)
    if fault is not None and (not as_json or all("fault" in sheet for sheet in sheets)):
        raise fault
    if as_json:
        run = {sheet["name"]: sheet.pop("run") for sheet in sheets if "run" in sheet}
        emit_json("section", {"sections": sheets, "run": run, "fault": None if fault is None else str(fault)})
    if fault is not None:
        click.get_current_context().exit(fault.exit_code)
    if any(not check["met"] for check in checks):
        click.get_current_context().exit(CHECK_NOT_MET)


def _sections(
    project: str | None,
    table: Path | None,
    how: tuple[str | None, str | None, int | None, str | None, tuple[str, ...]],
    picture: tuple[Path | None, str | None, Path | None],
) -> tuple[list[tuple[str, Outline | SectionStiffness]], StrongbackError | None]:
    """The sections asked for, and what was wrong with the others."""
    (material, unit, max_points, chord, layers), (scan, frame, out) = how, picture
    if [project, table, scan].count(None) != 2:
        raise click.UsageError("give a PROJECT, or --outline FILE.csv or --scan PICTURE with --material NAME")
    if project is not None:
        try:
            return list(load(project).machine.sections), None
        except ProjectError as error:
            sections = sections_of(project) if error.faults else {}
            if not sections:
                raise
            return list(sections.items()), error
    if table is not None and is_drawing(table):
        outline = from_drawing(table, material, unit, max_points, chord, layers)
        return [(outline.name, outline)], None
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
    return [(outline.name, outline)], None


def _written(outline: Outline | SectionStiffness, place: Path) -> None:
    from strongback.project.drawing_out import write_drawing

    note(f"wrote {write_drawing(outline, place)}\n")  # type: ignore[arg-type]


def _weighed(outline: Outline, mass: str, as_json: bool) -> dict[str, object]:
    """The check against the scale; printed unless JSON is asked for."""
    from strongback.cli import _profile

    found = _profile.weighed(outline, mass)
    if not as_json:
        _profile.say_weighed(found)
    return _profile.as_dict(found)


def _solved(
    name: str, outline: Outline, tolerance: float, mesher: str, as_json: bool, picture: Path | None
) -> dict[str, object]:
    """Solve one section; print its sheet and draw it unless JSON is asked for."""
    from strongback.section.apart import separated
    from strongback.section.catalogue import catalogue
    from strongback.section.check import check
    from strongback.section.handbook import handbook
    from strongback.section.store import solved_section
    from strongback.views import catalogue_text, section_text

    if len(separated(outline)) > 1:
        return _apart(name, outline, tolerance, mesher, as_json)
    check(outline)
    solved = solved_section(outline, tolerance=tolerance, mesher=mesher)  # type: ignore[arg-type]
    formulas = handbook(outline)
    numbers = catalogue(outline, solved)
    if as_json:
        told = {
            **section_text.as_dict(solved, formulas),
            "catalogue": catalogue_text.catalogue_as_dict(numbers),
        }
        return {**told, "run": section_text.run_dict(solved)}
    heading(f"section {name}")
    say(section_text.sheet(solved, formulas, outline, width()))
    say()
    say(catalogue_text.catalogue_sheet(numbers, width()))
    say()
    if picture is not None:
        from strongback.views import style
        from strongback.views.section_plot import profile_figure

        note(f"wrote {style.save(profile_figure(outline, solved.stiffness), picture)}\n")
    return {}


def _apart(name: str, outline: Outline, tolerance: float, mesher: str, as_json: bool) -> dict[str, object]:
    """What exists for an outline of several separate parts."""
    from strongback.section.apart import catalogue_apart
    from strongback.views.catalogue_text import catalogue_as_dict, catalogue_sheet

    numbers = catalogue_apart(outline, tolerance=tolerance, mesher=mesher)  # type: ignore[arg-type]
    if not as_json:
        heading(f"section {name}")
        say(catalogue_sheet(numbers, width()))
        say()
    return {"name": name, "catalogue": catalogue_as_dict(numbers)}


def _second(outline: Outline, tolerance: float, as_json: bool) -> dict[str, object]:
    """Both opinions, printed unless JSON is asked for."""
    from strongback.section.second_opinion import second_opinion
    from strongback.views.opinion_text import opinion_as_dict, opinion_sheet

    found = second_opinion(outline, tolerance=tolerance)
    if not as_json:
        say(opinion_sheet(found, width()))
        say()
    return opinion_as_dict(found)


def _given(name: str, section: SectionStiffness, as_json: bool) -> dict[str, object]:
    from strongback.views import section_text

    if not as_json:
        heading(f"section {name}")
        say("given by its stiffness in the project file, nothing to solve\n")
    return section_text.given(section)
