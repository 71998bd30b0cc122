"""A profile from a picture, and a profile against the scale, for ``strongback section``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from strongback.cli.common import note, say, width

if TYPE_CHECKING:
    from strongback.materials import Material
    from strongback.section.scan import Frame
    from strongback.section.values import Outline
    from strongback.section.weigh import WeighCheck


def frame_of(text: str) -> Frame:
    """A frame as it is written: ``"140 mm x 110 mm"``."""
    from strongback import units
    from strongback.section.scan import Frame

    sides = text.lower().replace("×", "x").split("x")
    if len(sides) != 2:
        raise click.UsageError(f'--frame "{text}" is not width x height, such as "140 mm x 110 mm"')
    width, height = (units.parse(side, "length") for side in sides)
    return Frame(width=width, height=height)


def from_scan(path: Path, frame: str, material: Material, out: Path | None) -> Outline:
    """The outline of a picture; drawn over the picture into `out`."""
    from strongback.project.out_names import out_names
    from strongback.section.scan import read_scan

    scan = read_scan(path, frame_of(frame), name=path.stem, material=material)
    for line in scan.notes:
        note(f"{path}: {line}\n")
    if out is not None:
        from strongback.views import style
        from strongback.views.scan_plot import scan_figure

        written = style.save(scan_figure(scan), out / out_names("scan", [path.stem], ".png")[path.stem])
        note(f"wrote {written}: check that the outline lies on the picture\n")
    return scan.outline


def weighed(outline: Outline, text: str) -> WeighCheck:
    """The check of an outline against a mass per length such as ``"6.55 kg/m"``."""
    from strongback import units
    from strongback.section.weigh import weigh_check

    return weigh_check(outline, units.parse(text, "mass per length"))


def say_weighed(found: WeighCheck) -> None:
    """Print what the scale says."""
    line = f"weighed {found.measured:.4g} kg/m, outline {found.computed:.4g} kg/m: {found.verdict}"
    say(click.wrap_text(line, width()) + "\n")


def is_drawing(path: Path) -> bool:
    """Whether a file is a drawing by its ending."""
    from strongback.project.drawing import SUFFIXES

    return path.suffix.lower() in SUFFIXES


def from_drawing(
    path: Path,
    material: str | None,
    unit: str | None,
    max_points: int | None,
    chord: str | None,
    layers: tuple[str, ...],
) -> Outline:
    """The outline of a drawing."""
    from strongback import units
    from strongback.project.drawing import CHORD, read_drawing
    from strongback.section.values import MAX_POINTS

    found = {}
    for text in layers:
        name, sign, word = (part.strip() for part in text.partition("="))
        if not sign or not word:
            raise click.UsageError(f'--layer "{text}" is not NAME=MATERIAL or "NAME=fill MATERIAL"')
        found[name] = word
    if material is None and not found:
        raise click.UsageError("--outline needs --material NAME, or --layer NAME=MATERIAL for each layer")
    return read_drawing(
        path,
        material,
        unit=unit,
        chord=CHORD if chord is None else units.parse(chord, "length"),
        layers=found or None,
        max_points=max_points or MAX_POINTS,
    )
