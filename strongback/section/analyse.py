"""From an outline to a certified section: mesh, bounds, refinement, constants, limits of the bond."""

from __future__ import annotations

import dataclasses
import time
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from strongback.errors import LimitError
from strongback.section.bond import fills_of, parallel, separate_regions
from strongback.section.bounds import TorsionBounds, torsion_bounds
from strongback.section.check import check
from strongback.section.mesh import MAX_TRIANGLES, Mesher, mesh_regions
from strongback.section.outline import Region, connected, regions
from strongback.section.refine import refined
from strongback.section.stiffness import stiffness
from strongback.section.values import Outline, SectionMesh, SectionStiffness

__all__ = ["SectionResult", "analyse", "certified_mesh"]

Array = NDArray[np.float64]
DEFAULT_GAP = 1e-3
SMALLEST_GAP = 1e-5
STEPS = 30
SHARE = 0.6  # of the gap that the triangles marked in one step hold


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionResult:
    """A section, how well it is known, and what it was solved on.

    Parameters
    ----------
    stiffness : SectionStiffness
        With fills as their cells say; GJ is the middle of its bounds.
    GJ_lower, GJ_upper : float
        Guaranteed bounds of GJ for the outline as drawn [N m²].
    errors : tuple of (str, float)
        Relative error estimate of the other constants, from the last refinement.
    limits : tuple of (str, SectionStiffness)
        ``"bonded"`` and ``"sliding"`` where a cell is filled; empty otherwise.
    elements : int
    seconds : float
    mesh : SectionMesh
        Bonded.
    """

    stiffness: SectionStiffness
    GJ_lower: float
    GJ_upper: float
    errors: tuple[tuple[str, float], ...]
    limits: tuple[tuple[Literal["bonded", "sliding"], SectionStiffness], ...]
    elements: int
    seconds: float
    mesh: SectionMesh

    @property
    def gap(self) -> float:
        """Width of the bounds over their middle [-]."""
        return 2.0 * (self.GJ_upper - self.GJ_lower) / (self.GJ_upper + self.GJ_lower)

    def __repr__(self) -> str:
        s = self.stiffness
        return (
            f"SectionResult({s.name!r}: EA {s.EA:.4g} N, EIx {s.EIx:.4g}, EIy {s.EIy:.4g}, "
            f"GJ {s.GJ:.5g} N m² (bounds {self.gap:.2%} apart), {self.elements} elements)"
        )


def analyse(
    outline: Outline,
    *,
    tolerance: float = DEFAULT_GAP,
    mesher: Mesher = "auto",
    size: float | None = None,
    max_triangles: int = MAX_TRIANGLES,
) -> SectionResult:
    """Stiffness of an outline with guaranteed bounds of its torsion stiffness.

    Parameters
    ----------
    outline : Outline
    tolerance : float
        Largest relative gap between the bounds of GJ, 1e-5 to 0.1 [-].
    mesher : {"auto", "built-in", "triangle"}
    size : float, optional
        Largest side of a triangle to begin with [m].
    max_triangles : int

    Returns
    -------
    SectionResult

    Raises
    ------
    OutlineError, LimitError, MeshError
        See `mesh`.

    Examples
    --------
    >>> from strongback.materials import material
    >>> from strongback.section.shapes import rectangular_tube
    >>> tube = analyse(rectangular_tube(material("aluminium"), 0.08, 0.12, 0.004))
    >>> tube.gap < 1e-3
    True
    """
    started = time.perf_counter()
    if not SMALLEST_GAP <= tolerance <= 0.1:
        raise LimitError(f"tolerance {tolerance:g} must lie between {SMALLEST_GAP:g} and 0.1")
    check(outline)
    options = _Options(tolerance=tolerance, mesher=mesher, size=size, max_triangles=max_triangles)
    made, bounds, before = certified_mesh(regions(outline), options)
    bonded = with_torsion(stiffness(made, outline.name), 0.5 * (bounds.lower + bounds.upper))
    filled_cells = fills_of(outline)
    limits: list[tuple[Literal["bonded", "sliding"], SectionStiffness]] = []
    chosen, low, high = bonded, bounds.lower, bounds.upper
    if filled_cells:
        every = frozenset(cell.name for cell in filled_cells)
        loose = frozenset(c.name for c in filled_cells if c.fill is not None and c.fill.bond != "bonded")
        limits = [("bonded", bonded), ("sliding", _apart(outline, every, options)[0])]
        if loose:
            chosen, low, high = _apart(outline, loose, options)
    return SectionResult(
        stiffness=chosen,
        GJ_lower=low,
        GJ_upper=high,
        errors=_errors(bonded, stiffness(before, outline.name)),
        limits=tuple(limits),
        elements=len(made.triangles),
        seconds=time.perf_counter() - started,
        mesh=made,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Options:
    tolerance: float
    mesher: Mesher
    size: float | None
    max_triangles: int


def _apart(
    outline: Outline, loose: frozenset[str], options: _Options
) -> tuple[SectionStiffness, float, float]:
    """Section whose loose fills slide, with bounds of its torsion stiffness."""
    solved = []
    low, high = 0.0, 0.0
    for group in separate_regions(outline, loose):
        for piece in connected(group):
            made, bounds, _ = certified_mesh(piece, options)
            solved.append(with_torsion(stiffness(made, outline.name), 0.5 * (bounds.lower + bounds.upper)))
            low, high = low + bounds.lower, high + bounds.upper
    return parallel(solved[0], solved[1:], outline.name), low, high


def certified_mesh(parts: list[Region], options: _Options) -> tuple[SectionMesh, TorsionBounds, SectionMesh]:
    """Mesh refined until the bounds of GJ are as near as asked for; also the bounds and the mesh before it."""
    made = mesh_regions(parts, mesher=options.mesher, size=options.size, max_triangles=options.max_triangles)
    before = made
    for _ in range(STEPS):
        bounds = torsion_bounds(made)
        if bounds.relative_gap <= options.tolerance and made is not before:
            return made, bounds, before
        before = made
        made = refined(made, _marked(bounds))
        if len(made.triangles) > options.max_triangles:
            break
    raise LimitError(
        f"bounds {bounds.relative_gap:.2%} apart at {len(before.triangles):,} triangles, {options.tolerance:.2%} asked for",
        hint="ask for less, or round sharp inner corners",
    )


def _marked(bounds: TorsionBounds) -> NDArray[np.bool_]:
    """The triangles with the largest gaps that together hold SHARE of it."""
    order = np.argsort(bounds.gap)[::-1]
    held = np.cumsum(bounds.gap[order])
    count = int(np.searchsorted(held, SHARE * held[-1])) + 1
    marked = np.zeros(len(order), dtype=bool)
    marked[order[:count]] = True
    return marked


def with_torsion(section: SectionStiffness, GJ: float) -> SectionStiffness:
    """The section with another primary torsion stiffness."""
    matrix = np.array(section.matrix)
    matrix[5, 5] += GJ - section.GJ
    rows = tuple(tuple(float(v) for v in row) for row in matrix)
    return dataclasses.replace(section, GJ=GJ, matrix=rows)


def _errors(now: SectionStiffness, before: SectionStiffness) -> tuple[tuple[str, float], ...]:
    """Change of the constants over the last refinement: an upper guess of what is left."""
    least = (
        1e-9 * now.GJ * (now.EIx + now.EIy) / now.EA
    )  # a section that hardly warps has no error worth a name
    pairs = (("EGamma", max(now.EGamma, least)), ("kGAx", now.kGAx), ("kGAy", now.kGAy))
    return tuple((key, abs(getattr(before, key) - getattr(now, key)) / value) for key, value in pairs)
