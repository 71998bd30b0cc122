"""What the drawing of a section says about filling its cells."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import LineString, Polygon
from shapely.ops import unary_union

from strongback.errors import MixError
from strongback.materials import Material
from strongback.section.values import Insert, Outline, Point2, Ring

__all__ = ["Block", "CellShape", "FlatWall", "Rod", "Sleeve", "cell_shapes", "filled_block", "sleeve_ring"]

KEPT = 0.95  # of the area that must still be reached by a disc for its diameter to count as a clear gap
SIDES = 32
WEB = 6e-3  # half of the thickest web that counts as between two cells [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sleeve:
    """A round tube or former that keeps a hole free.

    Parameters
    ----------
    name, cell : str
    at : Point2
        [m]
    diameter : float
        Outside [m].
    """

    name: str
    cell: str
    at: Point2
    diameter: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Rod:
    """A round bar or tube that the fill bonds into a cell.

    Parameters
    ----------
    name, cell : str
    material : Material
    at : Point2
        [m]
    diameter, bore : float
        Outside and inside; 0 for a solid bar [m].
    """

    name: str
    cell: str
    material: Material
    at: Point2
    diameter: float
    bore: float = 0.0

    @property
    def mass_per_length(self) -> float:
        """[kg/m]"""
        return self.material.density * 0.25 * float(np.pi) * (self.diameter**2 - self.bore**2)

    def insert(self) -> Insert:
        """The rod as the section knows it; a tube stays empty."""
        return Insert(
            name=self.name,
            ring=_circle(self.at, self.diameter),
            material=self.material,
            bore=_circle(self.at, self.bore) if self.bore > 0.0 else (),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatWall:
    """The widest flat wall of a cell: clear width and thickness [m]."""

    width: float
    thickness: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CellShape:
    """A cell as the fill meets it.

    Parameters
    ----------
    name : str
    area : float
        Less sleeves and rods [m²].
    perimeter : float
        Of the wall [m].
    half_width : float
        Radius of the largest disc that fits the bare cell [m].
    gap : float
        Narrowest gap that grains have to pass, also beside sleeves [m].
    wall : FlatWall
    material : Material
        Of the wall.
    """

    name: str
    area: float
    perimeter: float
    half_width: float
    gap: float
    wall: FlatWall
    material: Material


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Filled cells with the webs between them, as heat meets them: webs are warm on both sides.

    Parameters
    ----------
    half_width : float
        Radius of the largest disc that fits [m].
    perimeter : float
        [m]
    area : float
        [m²]
    """

    half_width: float
    perimeter: float
    area: float


def filled_block(outline: Outline, cells: Sequence[str]) -> Block:
    """The largest block that filled cells make together.

    Parameters
    ----------
    outline : Outline
    cells : sequence of str
        Names of cells that are there.

    Returns
    -------
    Block
    """
    union = unary_union([Polygon(cell.ring) for cell in outline.cells if cell.name in cells])
    closed = union.buffer(WEB).buffer(-WEB)
    parts = list(getattr(closed, "geoms", [closed]))
    largest = max(parts, key=lambda part: part.area)
    return Block(half_width=_disc(largest, 0.0), perimeter=float(largest.length), area=float(largest.area))


def sleeve_ring(sleeve: Sleeve) -> Ring:
    """Outline of a sleeve."""
    return _circle(sleeve.at, sleeve.diameter)


def _circle(at: Point2, diameter: float) -> Ring:
    """A regular polygon of the same area as a circle."""
    angle = 2.0 * np.pi * np.arange(SIDES) / SIDES
    radius = 0.5 * diameter * np.sqrt(np.pi / (0.5 * SIDES * np.sin(2.0 * np.pi / SIDES)))
    return tuple((float(at[0] + radius * np.cos(a)), float(at[1] + radius * np.sin(a))) for a in angle)


def cell_shapes(
    outline: Outline, cells: Sequence[str], taken: Sequence[Sleeve | Rod] = ()
) -> tuple[CellShape, ...]:
    """Shapes of the cells to be filled.

    Parameters
    ----------
    outline : Outline
    cells : sequence of str
    taken : sequence of Sleeve or Rod
        What stands in the cells.

    Returns
    -------
    tuple of CellShape

    Raises
    ------
    MixError
        If a cell is not there, or what stands in it is not within it or overlaps.
    """
    known = {cell.name: cell for cell in outline.cells}
    found = []
    for name in cells:
        if name not in known:
            raise MixError(
                f'section "{outline.name}" has no cell "{name}"',
                hint="cells: " + (", ".join(known) or "none"),
            )
        bare = Polygon(known[name].ring)
        own = [s for s in taken if s.cell == name]
        holes = [Polygon(_circle(s.at, s.diameter)) for s in own]
        for sleeve, hole in zip(own, holes, strict=True):
            if not bare.covers(hole):
                raise MixError(f'"{sleeve.name}" does not lie within cell "{name}"')
        together = unary_union(holes)
        if holes and together.area < sum(hole.area for hole in holes) * (1.0 - 1e-9):
            raise MixError(f'what stands in cell "{name}" overlaps: ' + ", ".join(s.name for s in own))
        free = bare.difference(together) if holes else bare
        found.append(
            CellShape(
                name=name,
                area=float(free.area),
                perimeter=float(bare.length),
                half_width=_disc(bare, 0.0),
                gap=2.0 * _disc(free, KEPT),
                wall=_flat_wall(outline, bare),
                material=outline.walls[0].material,
            )
        )
    return tuple(found)


def _disc(shape: Polygon, kept: float) -> float:
    """Largest radius whose disc still sweeps more than a share of a shape."""
    low, high = 0.0, 0.5 * float(np.hypot(*np.subtract(shape.bounds[2:], shape.bounds[:2])))
    for _ in range(30):
        middle = 0.5 * (low + high)
        swept = shape.buffer(-middle).buffer(middle)
        low, high = (middle, high) if swept.area > kept * shape.area else (low, middle)
    return low


def _flat_wall(outline: Outline, bare: Polygon) -> FlatWall:
    solid = unary_union([Polygon(w.ring, w.holes) for w in outline.walls])
    points = np.asarray(bare.exterior.coords)
    lengths = np.linalg.norm(np.diff(points, axis=0), axis=1)
    width, thickness = 0.0, 0.0
    for (p, q), length in zip(itertools.pairwise(points), lengths, strict=True):
        depth = _depth(solid, bare, p, q)
        # The widest and thinnest wall gives most: w grows as b^4 / t^3.
        if depth > 0.0 and length**4 / depth**3 > (width**4 / thickness**3 if thickness else 0.0):
            width, thickness = float(length), depth
    return FlatWall(width=width, thickness=thickness)


def _depth(solid: Polygon, bare: Polygon, p: np.ndarray, q: np.ndarray) -> float:
    """Thickness of the wall behind the middle of an edge of a cell."""
    middle = 0.5 * (p + q)
    along = (q - p) / np.linalg.norm(q - p)
    normal = np.array([along[1], -along[0]])
    if bare.buffer(1e-9).contains(LineString([middle, middle + 1e-6 * normal]).centroid):
        normal = -normal
    reach = float(np.hypot(*np.subtract(solid.bounds[2:], solid.bounds[:2])))
    ray = LineString([middle - 1e-9 * normal, middle + reach * normal]).intersection(solid)
    parts = list(getattr(ray, "geoms", [ray]))
    parts = [part for part in parts if part.length > 1e-9]
    if not parts:
        return 0.0
    nearest = min(parts, key=lambda part: part.distance(LineString([middle, middle + 1e-9 * normal])))
    return float(nearest.length)
