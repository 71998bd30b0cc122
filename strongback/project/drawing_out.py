"""Outlines as drawings: DXF and SVG for workshops, GeoJSON and WKT for other programs; each wall and fill on its layer."""

from __future__ import annotations

import json
from pathlib import Path

import shapely

from strongback.errors import ProjectError
from strongback.project.atomic import write_text
from strongback.section.outline import Region, regions
from strongback.section.values import Outline, Ring

__all__ = ["write_drawing"]

MM = 1e3


def write_drawing(outline: Outline, path: str | Path) -> Path:
    """Write an outline as a drawing in mm, y upwards.

    Parameters
    ----------
    outline : Outline
    path : str or Path
        Ends in ``.dxf``, ``.svg``, ``.geojson`` or ``.wkt``, which is its format.

    Returns
    -------
    Path

    Raises
    ------
    ProjectError
        If the format is not known.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from strongback.section.shapes import rectangle
    >>> with TemporaryDirectory() as folder:
    ...     write_drawing(rectangle("steel", 0.04, 0.02), Path(folder) / "bar.wkt").read_text()[:12]
    'MULTIPOLYGON'
    """
    file = Path(path)
    writers = {".dxf": _dxf, ".svg": _svg, ".geojson": _geojson, ".wkt": _wkt}
    if file.suffix.lower() not in writers:
        raise ProjectError(
            f'"{file.name}" is no drawing that is written here', hint=f"known: {', '.join(writers)}"
        )
    write_text(file, writers[file.suffix.lower()](outline))
    return file


def _rings(part: Region) -> list[Ring]:
    rings = (part.polygon.exterior, *part.polygon.interiors)
    return [tuple((x * MM, y * MM) for x, y in ring.coords[:-1]) for ring in rings]


def _layer(part: Region) -> str:
    """Layer of a part; DXF allows no blanks in names of old versions."""
    return part.part.replace(" ", "_")


def _dxf(outline: Outline) -> str:
    """DXF R12 with closed polylines, which every program reads; the unit is said for those that look."""
    pairs: list[tuple[int, str]] = [(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009")]
    pairs += [(9, "$INSUNITS"), (70, "4"), (0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES")]
    for part in regions(outline):
        for ring in _rings(part):
            pairs += [(0, "POLYLINE"), (8, _layer(part)), (66, "1"), (70, "1")]
            for x, y in ring:
                pairs += [(0, "VERTEX"), (8, _layer(part)), (10, repr(float(x))), (20, repr(float(y)))]
            pairs += [(0, "SEQEND"), (8, _layer(part))]
    pairs += [(0, "ENDSEC"), (0, "EOF")]
    return "".join(f"{code:3d}\n{value}\n" for code, value in pairs)


def _svg(outline: Outline) -> str:
    """SVG of the true size in mm."""
    parts = regions(outline)
    low_x, low_y, high_x, high_y = (v * MM for v in shapely.union_all([p.polygon for p in parts]).bounds)
    width, height = high_x - low_x, high_y - low_y
    lines = [
        '<svg xmlns="http://www.w3.org/2000/svg" '
        f'width="{width!r}mm" height="{height!r}mm" viewBox="{low_x!r} {-high_y!r} {width!r} {height!r}">'
    ]
    for part in parts:
        path = " ".join(
            "M " + " L ".join(f"{x!r} {0.0 - y!r}" for x, y in ring) + " Z" for ring in _rings(part)
        )
        colour = "#4a6f8a" if not part.cell else "#c9b38c"
        lines.append(f'  <path id="{_layer(part)}" fill="{colour}" fill-rule="evenodd" d="{path}"/>')
    return "\n".join([*lines, "</svg>", ""])


def _geojson(outline: Outline) -> str:
    """Plane coordinates in mm, which the format's own rules (degrees) do not foresee: said in the file."""
    features = [
        {
            "type": "Feature",
            "properties": {"layer": part.part, "material": part.material.name},
            "geometry": json.loads(shapely.to_geojson(shapely.transform(part.polygon, lambda p: p * MM))),
        }
        for part in regions(outline)
    ]
    return json.dumps({"type": "FeatureCollection", "unit": "mm", "features": features}, indent=1) + "\n"


def _wkt(outline: Outline) -> str:
    shape = shapely.MultiPolygon([shapely.transform(p.polygon, lambda q: q * MM) for p in regions(outline)])
    return f"{shapely.to_wkt(shape, rounding_precision=-1)}\n"
