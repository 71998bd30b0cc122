"""What the handbook formulas say of a section, to stand beside the solved values, never instead of them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.ops import unary_union

from strongback.section.outline import Region, regions
from strongback.section.values import Outline

__all__ = ["HandbookValue", "handbook"]

Array = NDArray[np.float64]
CLOSED = "closed cells on the mid-line (Bredt)"
OPEN = "open thin walls, sum of t³ ds / 3"
PRISMS = "wall cells plus each fill as a prism of its own"
SOLID = "solid bar, G A⁴ / 40 Ip (Saint-Venant)"
TRANSFORMED = "transformed section"
HOLLOW = 0.3  # least share of hollows for which walls have a middle line


@dataclass(frozen=True, slots=True, kw_only=True)
class HandbookValue:
    """A stiffness by formula.

    Parameters
    ----------
    quantity : str
        Field of `SectionStiffness`: EA, EIx, EIy or GJ.
    value : float
        SI.
    formula : str
        What it is called.

    Examples
    --------
    >>> from strongback.section.shapes import rectangular_tube
    >>> bredt = next(v for v in handbook(rectangular_tube("steel", 0.06, 0.08, 0.002)) if v.quantity == "GJ")
    >>> bredt.value > 0.0
    True
    """

    quantity: str
    value: float
    formula: str


def handbook(outline: Outline) -> tuple[HandbookValue, ...]:
    """Handbook values for an outline.

    Parameters
    ----------
    outline : Outline
        Checked.

    Returns
    -------
    tuple of HandbookValue
        Bending by the transformed section; torsion by every formula that a practitioner would take for it.

    Examples
    --------
    >>> from strongback.materials import Material
    >>> from strongback.section.shapes import rectangular_tube
    >>> unit = Material(name="G = 1", E=2.0, nu=0.0, density=1.0, source="example")
    >>> values = handbook(rectangular_tube(unit, 0.1, 0.05, 0.002))
    >>> round([v.value for v in values if v.quantity == "GJ"][0] * 1e12)  # 4 Am² t / s, mid-line [mm⁴]
    606236
    """
    parts = regions(outline)
    found = list(_bending(parts))
    walls = unary_union([p.polygon for p in parts if not p.cell])
    G = _mean_G([p for p in parts if not p.cell])
    hollows = _hollows(walls)
    closed = 0.0
    if hollows:
        if _is_hollow(walls, hollows):  # there is no formula for a bar with bores
            closed = _bredt(walls, hollows) * G
            found.append(HandbookValue(quantity="GJ", value=closed, formula=CLOSED))
    elif _is_thin(walls):
        found.append(HandbookValue(quantity="GJ", value=_open_sum(walls) * G, formula=OPEN))
    else:
        found.append(HandbookValue(quantity="GJ", value=_solid(walls) * G, formula=SOLID))
    cores = sum(_solid(p.polygon) * p.material.G for p in parts if p.cell)
    if cores:
        found.append(HandbookValue(quantity="GJ", value=closed + cores, formula=PRISMS))
    return tuple(found)


def _mean_G(parts: list[Region]) -> float:
    area = sum(p.polygon.area for p in parts)
    return float(sum(p.polygon.area * p.material.G for p in parts) / area)


def _bending(parts: list[Region]) -> tuple[HandbookValue, ...]:
    """EA, EIx, EIy by polygons weighted with E."""
    sums = np.zeros(5)
    for part in parts:
        sums += part.material.E * polygon_moments(part.polygon)
    EA, x, y = sums[0], sums[1] / sums[0], sums[2] / sums[0]
    rows = (("EA", EA), ("EIx", sums[4] - EA * y * y), ("EIy", sums[3] - EA * x * x))
    return tuple(HandbookValue(quantity=q, value=float(v), formula=TRANSFORMED) for q, v in rows)


def polygon_moments(polygon: Polygon) -> Array:
    """Area and integrals of x, y, x², y² (Green), (5,)."""
    total = np.zeros(5)
    oriented = shapely.geometry.polygon.orient(polygon)
    for ring in (oriented.exterior, *oriented.interiors):
        p = np.asarray(ring.coords)[:, :2]
        a, b = p[:-1], p[1:]
        cross = a[:, 0] * b[:, 1] - b[:, 0] * a[:, 1]
        total += np.array(
            [
                cross.sum() / 2,
                (cross * (a[:, 0] + b[:, 0])).sum() / 6,
                (cross * (a[:, 1] + b[:, 1])).sum() / 6,
                (cross * (a[:, 0] ** 2 + a[:, 0] * b[:, 0] + b[:, 0] ** 2)).sum() / 12,
                (cross * (a[:, 1] ** 2 + a[:, 1] * b[:, 1] + b[:, 1] ** 2)).sum() / 12,
            ]
        )
    return total


def _hollows(walls: shapely.Geometry) -> list[Polygon]:
    faces = list(walls.geoms) if hasattr(walls, "geoms") else [walls]
    return [Polygon(ring) for face in faces for ring in face.interiors]


def _is_thin(walls: shapely.Geometry) -> bool:
    """Whether the mean wall is thin against its length: A much below (perimeter/4)²."""
    return bool(walls.area < 0.35 * (walls.length / 4.0) ** 2)


def _is_hollow(walls: shapely.Geometry, hollows: list[Polygon]) -> bool:
    """Whether a middle line of the walls means anything: the hollows take most of the section.

    A round tube whose wall is a quarter of its diameter has a share of 0.25, and Bredt's formula is 10 % low; for a bar
    with many bores it is far too high.
    """
    inside = sum(hollow.area for hollow in hollows)
    return bool(inside > HOLLOW * (inside + walls.area))


def _open_sum(walls: shapely.Geometry) -> float:
    """Sum of t³ ds / 3 over the walls [m⁴].

    In a strip of thickness t the mean square of the distance to the nearer edge is t²/12, and dA = t ds: the sum is four
    times the integral of the squared distance to the edge.
    """
    x0, y0, x1, y1 = walls.bounds
    step = math.sqrt(walls.area / 40_000)
    x, y = np.meshgrid(np.arange(x0 + step / 2, x1, step), np.arange(y0 + step / 2, y1, step))
    shapely.prepare(walls)
    inside = shapely.contains_xy(walls, x.ravel(), y.ravel())
    points = shapely.points(x.ravel()[inside], y.ravel()[inside])
    distance = shapely.distance(points, walls.boundary)
    return float(4.0 * np.mean(distance**2) * walls.area)


def _solid(polygon: shapely.Geometry) -> float:
    """A⁴ / 40 Ip [m⁴]."""
    faces = list(polygon.geoms) if hasattr(polygon, "geoms") else [polygon]
    total = 0.0
    for face in faces:
        A, Sx, Sy, Ixx, Iyy = polygon_moments(face)
        polar = Ixx + Iyy - (Sx * Sx + Sy * Sy) / A
        total += float(A**4 / (40.0 * polar))
    return total


def _bredt(walls: shapely.Geometry, hollows: list[Polygon]) -> float:
    """Torsion constant of closed cells: shear flows from equal twist of all cells [m⁴].

    The middle line of each side of a hollow lies half its own wall further out; neighbours meet where these lines cross.
    """
    count = len(hollows)
    flexibility = np.zeros((count, count))
    areas = np.zeros(count)
    for i in range(count):
        middle, over_t, shared = _middle_line(walls, hollows, i)
        areas[i] = Polygon(middle).area
        length = np.linalg.norm(np.roll(middle, -1, axis=0) - middle, axis=1)
        flexibility[i, i] = float(length @ over_t)
        for j, part in shared.items():
            flexibility[i, j] -= float(length @ part)
    flexibility = 0.5 * (flexibility + flexibility.T)
    flow = np.linalg.solve(flexibility, 2.0 * areas)
    return float(2.0 * flow @ areas)


def _middle_line(
    walls: shapely.Geometry, hollows: list[Polygon], i: int
) -> tuple[Array, Array, dict[int, Array]]:
    """Around one hollow: corners of the middle line of its walls, the mean of 1/t on each side, and the part of that mean
    which each other hollow lies behind."""
    ring = _without_flat_corners(
        np.asarray(shapely.geometry.polygon.orient(hollows[i]).exterior.coords)[:-1, :2]
    )
    edge = np.roll(ring, -1, axis=0) - ring
    length = np.linalg.norm(edge, axis=1)
    outward = np.column_stack([edge[:, 1], -edge[:, 0]]) / length[:, None]
    reach = math.hypot(walls.bounds[2] - walls.bounds[0], walls.bounds[3] - walls.bounds[1])
    count = np.maximum(3, np.ceil(400 * length / length.sum()).astype(int))
    side = np.repeat(np.arange(len(ring)), count)
    along = (np.arange(len(side)) - np.repeat(np.cumsum(count) - count, count) + 0.5) / count[side]
    start = ring[side] + along[:, None] * edge[side] + outward[side] * 1e-9
    rays = shapely.linestrings(np.stack([start, start + outward[side] * reach], axis=1))
    first = shapely.get_geometry(shapely.intersection(rays, walls), 0)
    end = shapely.get_coordinates(shapely.get_point(first, -1))
    thickness = np.maximum(np.linalg.norm(end - start, axis=1), 1e-9)
    usual = np.array([np.median(thickness[side == k]) for k in range(len(ring))])
    # A ray that runs along another wall measures its length, not this one's thickness.
    thickness = np.where(thickness > 2.5 * usual[side], usual[side], thickness)
    over_t = np.bincount(side, 1.0 / thickness) / count
    beyond = shapely.points(end + outward[side] * 1e-6)
    shared = {}
    for j, other in enumerate(hollows):
        there = shapely.contains(other, beyond) if j != i else np.zeros(len(side), dtype=bool)
        if np.any(there):
            shared[j] = np.bincount(side, there / thickness, minlength=len(ring)) / count
    return _crossings(ring, edge / length[:, None], outward * (0.5 * usual)[:, None]), over_t, shared


def _without_flat_corners(ring: Array) -> Array:
    """A ring without corners that turn by nothing, which would have no crossing."""
    back, on = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    cross = back[:, 0] * on[:, 1] - back[:, 1] * on[:, 0]
    return np.asarray(ring[np.abs(cross) > 1e-9 * np.linalg.norm(back, axis=1) * np.linalg.norm(on, axis=1)])


def _crossings(ring: Array, along: Array, shift: Array) -> Array:
    """Where the shifted line of each side crosses that of the side before it."""
    before, own = ring + np.roll(shift, 1, axis=0), ring + shift
    d, e = np.roll(along, 1, axis=0), along
    turn = d[:, 0] * e[:, 1] - d[:, 1] * e[:, 0]
    apart = own - before
    s = (apart[:, 0] * e[:, 1] - apart[:, 1] * e[:, 0]) / np.where(np.abs(turn) > 0.02, turn, np.inf)
    crossed = before + s[:, None] * d
    return np.where(np.abs(turn)[:, None] > 0.02, crossed, 0.5 * (before + own))
