"""Outlines from drawings: lines, arcs and splines of DXF and SVG to a stated chord, polygons of GeoJSON and WKT.

What closes is a ring; rings within rings are hollows, islands in them walls again. Layers of a DXF, groups or colours of an
SVG and the property ``layer`` of a GeoJSON feature say which material a ring is of, or that it is the fill of a hollow.
DXF and SVG need the extra ``drawings``.
"""

from __future__ import annotations

import dataclasses
import io
import json
import math
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.ops import linemerge

from strongback.checks import nearest
from strongback.errors import EnvironmentFault, OutlineError, ProjectError
from strongback.materials import Material, material
from strongback.project.source import Source, read_source
from strongback.section.values import MAX_POINTS, Fill, Outline
from strongback.units import to_si

__all__ = ["SUFFIXES", "drawing_outline", "read_drawing"]

SUFFIXES = (".dxf", ".svg", ".geojson", ".wkt")
CHORD = 5e-5  # largest distance between a curve and its chords [m]
FINEST, COARSEST = 1e-6, 1e-2
MEETS = 1e-5  # ends of lines nearer than this meet [m]
SAME = 0.01  # of a hollow: a fill ring differs by less from the hollow that it fills
MOST = 200_000  # points of all curves
PX = 0.0254 / 96.0  # of a CSS pixel [m]
INSUNITS = {1: "in", 4: "mm", 5: "cm", 6: "m"}
FILL = "fill "
Lines = dict[str, list[np.ndarray]]


def read_drawing(
    path: str | Path,
    of: Material | str | None = None,
    *,
    unit: str | None = None,
    chord: float = CHORD,
    layers: Mapping[str, str] | None = None,
    own: Mapping[str, Material] | None = None,
    max_points: int = MAX_POINTS,
) -> Outline:
    """Read an outline from a drawing.

    Parameters
    ----------
    path : str or Path
        A ``.dxf``, ``.svg``, ``.geojson`` or ``.wkt`` file.
    of : Material or str, optional
        Of all walls, where `layers` does not say.
    unit : str, optional
        Of its coordinates: needed where the file does not say (DXF without ``$INSUNITS``, GeoJSON, WKT); where it is given
        it counts, whatever the file says. Pixels of an SVG are 1/96 inch without it.
    chord : float
        Largest distance between a curve and its chords, 1e-6 to 1e-2 [m].
    layers : mapping of str to str, optional
        Layer or colour to the name of a material, or to ``"fill MATERIAL"`` for what fills a hollow. Layers that are not
        named are left out. Default: every layer is wall.
    own : mapping of str to Material, optional
        Materials beyond those of the package.
    max_points : int
        Most points in all rings.

    Returns
    -------
    Outline
        Named after the file; y upwards.

    Raises
    ------
    ProjectError
        If the file cannot be read, holds another format, or no ring closes.
    OutlineError, MaterialError, UnitError
        If what it holds bounds no section, or a name is unknown.
    EnvironmentFault
        If the extra is not installed.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     file = Path(folder) / "tube.wkt"
    ...     _ = file.write_text("POLYGON ((0 0, 40 0, 40 20, 0 20, 0 0), (5 5, 35 5, 35 15, 5 15, 5 5))")
    ...     read_drawing(file, "steel", unit="mm").cells[0].name
    'inside'
    """
    file = Path(path)
    if file.suffix.lower() not in SUFFIXES:
        raise ProjectError(
            f'"{file.name}" is no drawing that is read here', hint=f"known: {', '.join(SUFFIXES)}"
        )
    source = read_source(file, file.name)
    return drawing_outline(source, of, unit=unit, chord=chord, layers=layers, own=own, max_points=max_points)


def drawing_outline(
    source: Source,
    of: Material | str | None = None,
    *,
    unit: str | None = None,
    chord: float = CHORD,
    layers: Mapping[str, str] | None = None,
    own: Mapping[str, Material] | None = None,
    max_points: int = MAX_POINTS,
) -> Outline:
    """An outline from a drawing that has been opened: as `read_drawing`, the ending of its name tells the format.

    Parameters
    ----------
    source : Source
    of, unit, chord, layers, own, max_points
        As in `read_drawing`.

    Returns
    -------
    Outline

    Examples
    --------
    >>> from strongback.section.outline import area_of
    >>> text = "POLYGON ((0 0, 40 0, 40 20, 0 20, 0 0))"
    >>> bar = drawing_outline(Source(name="bar.wkt", text=text), "steel", unit="mm")
    >>> round(area_of(bar) * 1e6, 6)  # [mm²]
    800.0
    """
    file = Path(source.name)
    kind = file.suffix.lower()
    if not FINEST <= chord <= COARSEST:
        raise OutlineError(f"chord {chord * 1e3:g} mm must lie between 0.001 and 10 mm")
    if kind == ".dxf":
        lines = _dxf(file.name, source.text, unit, chord)
    elif kind == ".svg":
        lines = _svg(file.name, source.text, unit, chord)
    else:
        lines = _plain(file.name, source.text, kind, unit)
    if sum(len(line) for group in lines.values() for line in group) > MOST:
        raise ProjectError(f'"{file.name}" holds more than {MOST:,} points', hint="ask for a coarser chord")
    return _outline(file, lines, of, layers, dict(own or {}), max_points)


def _outline(
    file: Path,
    lines: Lines,
    of: Material | str | None,
    layers: Mapping[str, str] | None,
    own: dict[str, Material],
    max_points: int,
) -> Outline:
    """Walls and fills of the rings of each layer."""
    for name in layers or {}:
        if name not in lines:
            raise ProjectError(
                f'"{file.name}" has no layer "{name}"', hint=nearest(name, sorted(lines), "layers")
            )
    if layers is None:
        layers = {}
        lines = {"": [line for group in lines.values() for line in group]}
    walls: list[tuple[Polygon, Material]] = []
    fills: list[tuple[Polygon, Material]] = []
    for name in layers or [""]:
        word = layers.get(name)
        if word is None and of is None:
            raise OutlineError(
                f'"{file.name}" has no material', hint="give one for all, or one for each layer"
            )
        fill = word is not None and word.startswith(FILL)
        what = (word.removeprefix(FILL) if word is not None else of) or ""
        found = material(what, own) if isinstance(what, str) else what
        (fills if fill else walls).extend((face, found) for face in _faces(file.name, name, lines[name]))
    if not walls:
        raise ProjectError(f'"{file.name}": no ring bounds a wall', hint="name the layer of the walls")
    outline = Outline.from_polygon(
        [face for face, _ in walls], [m for _, m in walls], unit="m", name=file.stem, max_points=max_points
    )
    return _filled(file.name, outline, fills)


def _filled(name: str, outline: Outline, fills: Sequence[tuple[Polygon, Material]]) -> Outline:
    for face, of in fills:
        cells = [
            cell
            for cell in outline.cells
            if Polygon(cell.ring).symmetric_difference(Polygon(face.exterior)).area < SAME * face.area
        ]
        if not cells:
            x, y = face.representative_point().coords[0]
            raise OutlineError(
                f'"{name}": the fill at ({x * 1e3:.4g}, {y * 1e3:.4g}) mm fills no hollow',
                hint="draw it along the edge of a hollow",
            )
        bores = tuple(tuple((float(x), float(y)) for x, y in hole.coords[:-1]) for hole in face.interiors)
        made = dataclasses.replace(cells[0], fill=Fill(material=of, bores=bores))
        others = tuple(made if cell is cells[0] else cell for cell in outline.cells)
        outline = dataclasses.replace(outline, cells=others)
    return outline


def _faces(file: str, layer: str, lines: Sequence[np.ndarray]) -> list[Polygon]:
    """Faces between the rings that lines make: even-odd, so that rings in rings are hollows."""
    where = f'"{file}"' + (f', layer "{layer}"' if layer else "")
    closed, loose = [], []
    for line in lines:
        if len(line) > 2 and math.dist(line[0], line[-1]) <= MEETS:
            closed.append(line[:-1])
        elif len(line) > 1:
            loose.append(line)
    if loose:
        loose = [LineString(line) for line in _met(loose)]
        merged = linemerge(loose) if len(loose) > 1 else loose[0]
        for chain in getattr(merged, "geoms", [merged]):
            points = np.asarray(chain.coords)
            if not chain.is_ring:
                ends = ", ".join(f"({x * 1e3:.4g}, {y * 1e3:.4g}) mm" for x, y in points[[0, -1]])
                raise ProjectError(
                    f"{where}: a line runs from {ends.replace(') mm, (', ') to (')} and does not close",
                    hint=f"ends meet within {MEETS * 1e3:g} mm; name the layers that hold outlines",
                )
            closed.append(points[:-1])
    rings = sorted((Polygon(ring) for ring in closed if len(ring) > 2), key=lambda p: -p.area)
    if not rings:
        raise ProjectError(
            f"{where} holds no closed line", hint="draw the edges of the profile as closed lines"
        )
    for ring in rings:
        if not ring.is_valid:
            raise OutlineError(
                f"{where}: {shapely.is_valid_reason(ring)} [m]", hint="a ring must not cross itself"
            )
    depth = [sum(other.contains(ring) for other in rings[:i]) for i, ring in enumerate(rings)]
    faces = []
    for i, ring in enumerate(rings):
        if depth[i] % 2 == 0:
            holes = [
                r.exterior.coords
                for r, d in zip(rings, depth, strict=True)
                if d == depth[i] + 1 and ring.contains(r)
            ]
            faces.append(Polygon(ring.exterior.coords, holes))
    return faces


def _met(lines: Sequence[np.ndarray]) -> list[np.ndarray]:
    """Lines whose ends are the very same point where they meet nearly."""
    seen: dict[tuple[int, int], tuple[float, float]] = {}

    def known(x: float, y: float) -> tuple[float, float]:
        i, j = round(x / MEETS), round(y / MEETS)
        for key in ((i + a, j + b) for a in (0, 1, -1) for b in (0, 1, -1)):
            if key in seen and math.dist(seen[key], (x, y)) <= MEETS:
                return seen[key]
        seen[i, j] = (x, y)
        return x, y

    return [np.vstack([known(*line[0]), line[1:-1], known(*line[-1])]) for line in lines]


def _dxf(name: str, text: str, unit: str | None, chord: float) -> Lines:
    try:
        import ezdxf
        import ezdxf.path
    except ImportError:
        raise _lacking("ezdxf", "DXF") from None
    try:
        drawing = ezdxf.read(io.StringIO(text))
    except (ezdxf.DXFError, ValueError, KeyError, IndexError, AttributeError, TypeError) as error:
        raise ProjectError(
            f'"{name}" is no DXF that can be read: {error}', hint="save it as DXF R2000 or later"
        ) from None
    known = INSUNITS.get(int(drawing.header.get("$INSUNITS", 0)))
    scale = to_si(1.0, unit or known or _unit_missing(name), "length")
    found: Lines = {}
    for entity in drawing.modelspace():
        if entity.dxftype() not in ("LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE"):
            continue
        if entity.dxftype() in ("ARC", "CIRCLE", "ELLIPSE"):
            pieces = [entity.flattening(chord / scale)]
        else:
            pieces = [piece.flattening(chord / scale) for piece in ezdxf.path.make_path(entity).sub_paths()]
        for piece in pieces:
            points = np.array([(p.x, p.y) for p in piece]) * scale
            found.setdefault(entity.dxf.layer, []).append(points)
    return found or _nothing(name)


def _svg(name: str, text: str, unit: str | None, chord: float) -> Lines:
    if "<!DOCTYPE" in text.upper() and "<!ENTITY" in text.upper():
        raise ProjectError(f'"{name}" declares entities of its own', hint="save it as plain SVG")
    try:
        import svgelements
    except ImportError:
        raise _lacking("svgelements", "SVG") from None
    try:
        drawing = svgelements.SVG.parse(io.StringIO(text), reify=True)
    except Exception as error:  # its reader raises whatever its XML and its numbers raise
        raise ProjectError(
            f'"{name}" is no SVG that can be read: {error}', hint="save it as plain SVG"
        ) from None
    scale = PX if unit is None else to_si(1.0, unit, "length")
    size = re.search(r"<svg[^>]*?\swidth\s*=\s*[\"'][\d.eE+-]+\s*(mm|cm|in)[\"']", text)
    if unit is None and size is not None:  # its reader rounds the factor of mm to six digits
        scale = to_si(1.0, size[1], "length") / svgelements.Length(f"1{size[1]}").value(ppi=96.0)
    # Its reader measures from the corner of the page; a drawing means the zero of its own axes.
    zero = svgelements.Matrix(drawing.viewbox_transform or "")
    found: Lines = {}
    for shape in drawing.elements():
        if not isinstance(shape, svgelements.Shape):
            continue
        for piece in svgelements.Path(shape).as_subpaths():
            points = _flattened(svgelements.Path(piece), chord / scale)
            if len(points) > 1:
                own = (points - [zero.e, zero.f]) * [scale, -scale]
                found.setdefault(_layer_of(shape), []).append(own)
    return found or _nothing(name)


def _layer_of(shape: Any) -> str:
    """Id of the group, else the fill or stroke colour, of a shape."""
    group = shape.values.get("attributes", {}).get("{http://www.inkscape.org/namespaces/inkscape}label")
    for colour in (shape.fill, shape.stroke):
        if colour is not None and colour.value is not None:
            return str(group or colour.hex)
    return str(group or shape.values.get("id") or "")


def _flattened(path: Any, chord: float) -> np.ndarray:
    """Points of a path, curves cut until they lie within a chord."""
    points: list[tuple[float, float]] = []
    for segment in path:
        if segment.start is None or segment.end is None:
            if segment.end is not None:
                points.append((segment.end.x, segment.end.y))
            continue
        count = 1
        if type(segment).__name__ in ("Arc", "CubicBezier", "QuadraticBezier"):
            count = _cuts(segment, chord)
        points += [(p.x, p.y) for p in (segment.point(k / count) for k in range(1, count + 1))]
    kept = [p for i, p in enumerate(points) if i == 0 or math.dist(p, points[i - 1]) > 1e-9]
    return np.array(kept, dtype=float).reshape(-1, 2)


def _cuts(segment: Any, chord: float) -> int:
    """Equal pieces of a curve that stay within a chord at their middles."""
    count = 2
    while count < 4096:
        t = np.linspace(0.0, 1.0, 2 * count + 1)
        p = np.array([(q.x, q.y) for q in (segment.point(float(v)) for v in t)])
        if np.linalg.norm(p[1::2] - 0.5 * (p[:-1:2] + p[2::2]), axis=1).max() <= chord:
            break
        count *= 2
    return count


def _plain(name: str, text: str, kind: str, unit: str | None) -> Lines:
    """Polygons of GeoJSON or WKT as rings by layer."""
    scale = to_si(1.0, unit or _unit_missing(name), "length")
    try:
        shapes = [("", shapely.from_wkt(text))] if kind == ".wkt" else _features(json.loads(text))
    except (
        ValueError,
        TypeError,
        KeyError,
        AttributeError,
        shapely.errors.ShapelyError,
        RecursionError,
    ) as error:
        raise ProjectError(f'"{name}" cannot be read: {error}') from None
    found: Lines = {}
    for layer, shape in shapes:
        for face in shapely.get_parts(shapely.get_parts(shape)):
            if not isinstance(face, Polygon) or face.is_empty:
                raise ProjectError(f'"{name}" holds a {face.geom_type}', hint="polygons are read")
            rings = (face.exterior, *face.interiors)
            found.setdefault(layer, []).extend(np.asarray(r.coords)[:, :2] * scale for r in rings)
    return found or _nothing(name)


def _features(data: Any) -> list[tuple[str, Any]]:
    if data["type"] == "FeatureCollection":
        return [pair for feature in data["features"] for pair in _features(feature)]
    if data["type"] == "Feature":
        layer = str((data.get("properties") or {}).get("layer", ""))
        return [(layer, shapely.from_geojson(json.dumps(data["geometry"])))]
    return [("", shapely.from_geojson(json.dumps(data)))]


def _unit_missing(name: str) -> str:
    raise ProjectError(f'"{name}" does not say its unit', hint='give one: unit = "mm"')


def _nothing(name: str) -> Lines:
    raise ProjectError(
        f'"{name}" holds no line', hint="lines, arcs, circles, ellipses, splines and polylines are read"
    )


def _lacking(library: str, kind: str) -> EnvironmentFault:
    return EnvironmentFault(
        f"{kind} is read with {library}, which is not installed here",
        hint='pip install "strongback[drawings]"',
    )
