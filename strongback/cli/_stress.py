"""Stress of a section for the command: under unit loads, and under loads that were asked for."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from strongback.cli.common import note, pick, say, width

if TYPE_CHECKING:
    from strongback.section.stress import SectionStress
    from strongback.section.stress_state import Loads, PointStress, StressState
    from strongback.section.values import Outline, Point2, Ring

DIMENSIONS = {
    "N": "force",
    "Vx": "force",
    "Vy": "force",
    "Mx": "couple",
    "My": "couple",
    "T": "couple",
    "T2": "couple",
    "B": "bending stiffness",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What was asked about stress.

    Parameters
    ----------
    units : bool
        Largest stress under each unit load.
    loads : str
        Such as ``"N = 1 kN, Mx = 50 N*m"``; empty for none.
    at : tuple of str
        Points such as ``"10, 20 mm"``.
    along : str
        An edge; empty for none.
    strength : str
        Yield strength; empty for none.
    """

    units: bool
    loads: str
    at: tuple[str, ...]
    along: str
    strength: str


def stressed(
    outline: Outline, asked: Asked, mesher: str, as_json: bool, pictures: tuple[Path, Path, Path] | None
) -> dict[str, object]:
    """Solve, print and draw what was asked; plain data for JSON."""
    from strongback.section.stress import section_stress
    from strongback.views import stress_text

    wanted = (_loads(asked.loads), [_point(text) for text in asked.at], _strength(asked.strength))
    ring = _edge(outline, asked.along) if asked.along else None
    found = section_stress(outline, mesher=mesher)  # type: ignore[arg-type]
    told: dict[str, object] = dict(stress_text.peaks_as_dict(found))
    if asked.units and not as_json:
        say(stress_text.peaks_sheet(found, width()))
        say()
    if asked.units and pictures is not None:
        from strongback.views import style
        from strongback.views.stress_plot import stress_figure

        note(f"wrote {style.save(stress_figure(found, outline.name), pictures[0])}\n")
    if asked.loads:
        told["under_loads"] = _under(found, outline, wanted, ring, asked.along, as_json, pictures)
    return told


def _under(
    found: SectionStress,
    outline: Outline,
    wanted: tuple[Loads, list[Point2], float | None],
    ring: Ring | None,
    edge: str,
    as_json: bool,
    pictures: tuple[Path, Path, Path] | None,
) -> dict[str, object]:
    from strongback.section.stress_state import stress_along, stress_at, stress_under
    from strongback.views import stress_text

    loads, points, strength = wanted
    state = stress_under(found, loads)
    places = stress_at(state, points) if points else ()
    told: dict[str, object] = dict(stress_text.state_as_dict(state, places, strength))
    if not as_json:
        say(stress_text.state_sheet(state, places, strength, width()))
        say()
    if ring is not None:
        distance, stress = stress_along(state, ring)
        rows = [(float(s), stress_text.point_as_dict(p)) for s, p in zip(distance, stress, strict=True)]
        told["along"] = [{"distance_m": s, **row} for s, row in rows]
        if pictures is not None:
            _write_along(distance.tolist(), stress, edge, pictures[2])
    if pictures is not None:
        _draw(state, outline.name, strength, pictures[1])
    return told


def _draw(state: StressState, name: str, strength: float | None, picture: Path) -> None:
    from strongback.views import style
    from strongback.views.stress_plot import state_figure

    note(f"wrote {style.save(state_figure(state, name, strength), picture)}\n")


def _write_along(distance: Sequence[float], stress: Sequence[PointStress], edge: str, picture: Path) -> None:
    """The stress around an edge as a figure and as a table."""
    import numpy as np

    from strongback.project.atomic import write_text
    from strongback.views import style
    from strongback.views.stress_plot import along_figure

    note(f"wrote {style.save(along_figure(np.asarray(distance), stress, edge), picture)}\n")
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(
        [
            "distance [mm]",
            "x [mm]",
            "y [mm]",
            "direct [MPa]",
            "shear x [MPa]",
            "shear y [MPa]",
            "equivalent [MPa]",
        ]
    )
    for s, p in zip(distance, stress, strict=True):
        values = [s * 1e3, *(v * 1e3 for v in p.at), *(v * 1e-6 for v in (p.direct, *p.shear, p.equivalent))]
        writer.writerow([f"{v:.6g}" for v in values])
    write_text(picture.with_suffix(".csv"), text.getvalue())
    note(f"wrote {picture.with_suffix('.csv')}\n")


def _loads(text: str) -> Loads:
    """Loads from ``"N = 1 kN, Mx = 50 N*m"``."""
    from strongback.section.stress_state import Loads
    from strongback.units import parse

    found: dict[str, float] = {}
    for piece in filter(None, (piece.strip() for piece in text.split(","))):
        name, sign, value = (word.strip() for word in piece.partition("="))
        if not sign:
            raise click.UsageError(
                f'--loads has "{piece}", write such as "N = 1 kN, Mx = 50 N*m, T = 20 N*m"'
            )
        pick(name, list(DIMENSIONS), "load")
        if name in found:
            raise click.UsageError(f"--loads gives {name} twice")
        found[name] = parse(value, DIMENSIONS[name])
    return Loads(**found)


def _point(text: str) -> Point2:
    """A point from ``"10, 20 mm"``."""
    from strongback.units import parse

    parts = [part.strip() for part in text.split(",")]
    if len(parts) != 2:
        raise click.UsageError(f'--at has "{text}", write such as "10, 20 mm"')
    unit = parts[1].lstrip("+-0123456789.eE").strip()
    x, y = (parse(part if part.endswith(unit) and unit else f"{part} {unit}", "length") for part in parts)
    return x, y


def _strength(text: str) -> float | None:
    from strongback.units import parse

    return parse(text, "pressure") if text else None


def _edge(outline: Outline, name: str) -> Ring:
    """A ring of the outline by the words of the checks, or "outer" for the first wall."""
    from strongback.section.check import rings_of

    rings = {label.replace('"', ""): ring for label, ring in rings_of(outline)}
    if name == "outer":
        return outline.walls[0].ring
    return rings[pick(name, ["outer", *rings], "edge")]
