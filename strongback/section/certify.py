"""Refinement of a section until the bounds of its torsion stiffness are as near to each other as asked for."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import LimitError
from strongback.section._problem import problem, torsion
from strongback.section.bounds import TorsionBounds, bounds_of
from strongback.section.estimate import relative_errors
from strongback.section.mesh import MAX_TRIANGLES, Mesher, mesh_regions
from strongback.section.outline import Region
from strongback.section.refine import graded, inner_corners, refined
from strongback.section.slip import slip_bounds
from strongback.section.stiffness import SectionFields, solved
from strongback.section.values import SectionMesh

__all__ = ["Certified", "Options", "certified", "certified_slip", "first_mesh", "slip_refined"]

STEPS = 40
MOST_RINGS = 8
RING_GAIN = 2.0 ** (
    4.0 / 3.0
)  # gap over gap with one ring more: square of (r/2)^(2/3), at a corner of 270 degrees
ELSEWHERE = 0.8  # of the gap away from corners that get rings: no second look is taken soon
SHARE = 0.6  # of the gap that the triangles marked in one step hold


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """How to mesh, and how near the bounds shall be.

    Parameters
    ----------
    tolerance : float
        Largest relative gap [-].
    mesher : {"auto", "built-in", "triangle"}
    size : float, optional
        Largest side of a triangle to begin with [m].
    max_triangles : int
    """

    tolerance: float
    mesher: Mesher = "auto"
    size: float | None = None
    max_triangles: int = MAX_TRIANGLES


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Certified:
    """A solved piece of a section.

    Parameters
    ----------
    fields : SectionFields
        On the last mesh.
    bounds : TorsionBounds
    errors : tuple of (str, float)
        Estimated relative error of EGamma, kGAx, kGAy.
    first : SectionMesh
        The mesh that refinement began with.
    """

    fields: SectionFields
    bounds: TorsionBounds
    errors: tuple[tuple[str, float], ...]
    first: SectionMesh


def first_mesh(parts: list[Region], options: Options) -> SectionMesh:
    """The mesh that refinement begins with."""
    return mesh_regions(parts, mesher=options.mesher, size=options.size, max_triangles=options.max_triangles)


def certified(first: SectionMesh, options: Options, name: str) -> Certified:
    """Solve a section on a mesh refined until the bounds of GJ are as near as asked for.

    Parameters
    ----------
    first : SectionMesh
        Mesh to begin with.
    options : Options
    name : str

    Returns
    -------
    Certified

    Raises
    ------
    LimitError
        If that takes more triangles than allowed.
    """
    made = first
    for step in range(STEPS):
        p = problem(made)
        omega, strain = torsion(p)
        bounds = bounds_of(p, strain)
        if bounds.relative_gap <= options.tolerance:
            fields = solved(p, omega, strain, name)
            errors = relative_errors(p, fields, bounds)
            return Certified(fields=fields, bounds=bounds, errors=errors, first=first)
        made = _ringed(made, bounds, options) if step == 0 else _next(made, bounds, options)
    raise _too_far(bounds, made, options)


def certified_slip(
    mesh: SectionMesh, cell: tuple[str, ...], slip: Mapping[str, float], options: Options
) -> TorsionBounds:
    """Bounds with slipping fills, from a mesh that is refined where they ask for it.

    Parameters
    ----------
    mesh : SectionMesh
    cell : tuple of str
        Cell of each region of the mesh; empty for walls.
    slip : mapping of str to float
        [N/m³]
    options : Options

    Returns
    -------
    TorsionBounds
    """
    return slip_refined(mesh, cell, slip, options)[1]


def slip_refined(
    mesh: SectionMesh, cell: tuple[str, ...], slip: Mapping[str, float], options: Options
) -> tuple[SectionMesh, TorsionBounds]:
    """As `certified_slip`, with the mesh on which the bounds are near enough."""
    made = mesh
    for _ in range(STEPS):
        bounds = slip_bounds(made, cell, slip)
        if bounds.relative_gap <= options.tolerance:
            return made, bounds
        made = _next(made, bounds, options)
    raise _too_far(bounds, made, options)


def _ringed(mesh: SectionMesh, bounds: TorsionBounds, options: Options) -> SectionMesh:
    """The mesh with as many rings around its inner corners as the gap asks for, where they hold most of it.

    A section with a hundred corners would otherwise be solved once for each halving of the triangles there. What the
    other triangles hold is refined at the same time.
    """
    tri = mesh.triangles[:, :3]
    corners = np.intersect1d(inner_corners(mesh), tri[marked(bounds.gap, SHARE)])
    there = np.isin(tri, corners).any(axis=1)
    if float(bounds.gap[there].sum()) < 0.5 * float(bounds.gap.sum()):
        return _next(mesh, bounds, options)
    rings = math.ceil(math.log(bounds.relative_gap / options.tolerance) / math.log(RING_GAIN))
    places, elsewhere = mesh.nodes[corners], np.where(there, 0.0, bounds.gap)
    if elsewhere.sum() > 0.5 * options.tolerance * bounds.middle:
        mesh = refined(mesh, marked(elsewhere, ELSEWHERE))
    made = graded(mesh, places, min(rings, MOST_RINGS))
    if len(made.triangles) > options.max_triangles:
        raise _too_far(bounds, mesh, options)
    return made


def _next(mesh: SectionMesh, bounds: TorsionBounds, options: Options) -> SectionMesh:
    # Cutting marked triangles and what hangs on them takes away about what they hold: no more than is asked for.
    share = min(SHARE, 1.0 - 0.9 * options.tolerance / bounds.relative_gap)
    made = refined(mesh, marked(bounds.gap, share))
    if len(made.triangles) > options.max_triangles:
        raise _too_far(bounds, mesh, options)
    return made


def _too_far(bounds: TorsionBounds, mesh: SectionMesh, options: Options) -> LimitError:
    return LimitError(
        f"bounds of GJ {bounds.relative_gap:.2%} apart at {len(mesh.triangles):,} triangles, "
        f"{options.tolerance:.2%} asked for",
        hint="ask for less, or round sharp inner corners",
    )


def marked(gap: NDArray[np.float64], share: float) -> NDArray[np.bool_]:
    """The triangles with the largest gaps that together hold a share of it."""
    order = np.argsort(gap)[::-1]
    held = np.cumsum(gap[order])
    count = int(np.searchsorted(held, share * held[-1])) + 1
    found = np.zeros(len(order), dtype=bool)
    found[order[:count]] = True
    return found
