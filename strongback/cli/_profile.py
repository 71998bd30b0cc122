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


def as_dict(found: WeighCheck) -> dict[str, object]:
    """The same for ``--json``."""
    return {
        "computed_kg_per_m": found.computed,
        "measured_kg_per_m": found.measured,
        "difference": found.difference,
        "met": found.met,
        "wall_change_m": found.wall_change,
    }
