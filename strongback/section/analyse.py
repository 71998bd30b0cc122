"""From an outline to a certified section: mesh, bounds, refinement, constants, limits of the bond."""

from __future__ import annotations

import dataclasses
import math
import time
from dataclasses import dataclass
from typing import Literal

import numpy as np

from strongback.errors import LimitError
from strongback.section.bond import (
    between,
    fills_of,
    interaction,
    own_shear,
    parallel,
    perimeter,
)
from strongback.section.certify import Certified, Options, certified, certified_slip, first_mesh
from strongback.section.check import check
from strongback.section.coupling import exact_stiffness, poisson_ratios_differ
from strongback.section.mesh import MAX_TRIANGLES, Mesher
from strongback.section.outline import Region, regions
from strongback.section.refine import pieces
from strongback.section.seamed import seamed
from strongback.section.stiffness import stiffness
from strongback.section.values import Outline, Point2, SectionMesh, SectionStiffness, stiffness_from_constants

__all__ = ["SectionResult", "analyse"]

DEFAULT_GAP = 1e-3
SMALLEST_GAP = 1e-5
LARGEST_GAP = 0.1
# Slip stiffness, over that of the material across the section, from which a fill slides or is bonded in effect.
NO_HOLD, FULL_HOLD = 1e-7, 1e8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionResult:
    """A section, how well it is known, and what it was solved on.

    Parameters
    ----------
    stiffness : SectionStiffness
        With fills as their cells say; GJ is the middle of its bounds. Bending by the transformed section: every
        material free to shrink sideways by its own Poisson's ratio.
    GJ_lower, GJ_upper : float
        Guaranteed bounds of GJ for the outline as drawn [N m²].
    errors : tuple of (str, float)
        Relative error estimate of EGamma, kGAx and kGAy of the bonded section (see `estimate`); EA and EI are exact.
    limits : tuple of (str, SectionStiffness)
        ``"bonded"`` and ``"sliding"`` where a cell is filled; empty otherwise.
    exact : SectionStiffness or None
        The bonded section with its materials holding each other sideways (see `coupling`): EA and EI some tenths of a
        per cent higher. None where all Poisson's ratios are equal.
    elements : int
    seconds : float
    mesh : SectionMesh
        Bonded.
    elastic_centre : tuple of float
        Shear centre of the bonded section with Poisson's ratio (see `strongback.section.catalogue`) [m].

    Examples
    --------
    >>> from strongback.section.shapes import rectangle
    >>> found = analyse(rectangle("steel", 0.04, 0.02))
    >>> round(found.stiffness.EIx, 6)  # E b h³/12 [N m²]
    5600.0
    """

    stiffness: SectionStiffness
    GJ_lower: float
    GJ_upper: float
    errors: tuple[tuple[str, float], ...]
    limits: tuple[tuple[Literal["bonded", "sliding"], SectionStiffness], ...]
    exact: SectionStiffness | None
    elements: int
    seconds: float
    mesh: SectionMesh
    elastic_centre: Point2

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
    half_wave: float | None = None,
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
    half_wave : float, optional
        Half wave of the bending, for fills with a slip stiffness: twice the height of a cantilever, the span of a
        supported beam [m]. Without it such fills slide freely in bending, which is the lower limit; torsion takes
        the slip stiffness in any case, as no length enters there.

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
    if not SMALLEST_GAP <= tolerance <= LARGEST_GAP:
        raise LimitError(f"tolerance {tolerance:g} must lie between {SMALLEST_GAP:g} and {LARGEST_GAP:g}")
    if half_wave is not None and not (math.isfinite(half_wave) and half_wave > 0.0):
        raise LimitError(f"half wave {half_wave:g} m must be above 0")
    check(outline)
    options = Options(tolerance=tolerance, mesher=mesher, size=size, max_triangles=max_triangles)
    whole = certified(first_mesh(regions(outline), options), options, outline.name)
    bonded = _Solved(stiffness=_final(whole), lower=whole.bounds.lower, upper=whole.bounds.upper)
    chosen, limits = _with_bonds(outline, bonded, whole, options, half_wave)
    if outline.seams:
        chosen = _with_seams(outline, chosen, whole, options)
    return SectionResult(
        stiffness=chosen.stiffness,
        GJ_lower=chosen.lower,
        GJ_upper=chosen.upper,
        errors=whole.errors,
        limits=limits,
        exact=_exact(whole),
        elements=len(whole.fields.mesh.triangles),
        seconds=time.perf_counter() - started,
        mesh=whole.fields.mesh,
        elastic_centre=whole.fields.elastic_centre,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Solved:
    """A stiffness and the bounds of its GJ."""

    stiffness: SectionStiffness
    lower: float
    upper: float


_Limits = tuple[tuple[Literal["bonded", "sliding"], SectionStiffness], ...]


def _with_bonds(
    outline: Outline, bonded: _Solved, whole: Certified, options: Options, half_wave: float | None
) -> tuple[_Solved, _Limits]:
    """The section with its fills as they hold, and its two limits."""
    bonds = {c.name: c.fill.bond for c in fills_of(outline) if c.fill is not None}
    if not bonds:
        return bonded, ()
    split = _Pieces(
        first=whole.first, cells=tuple(r.cell for r in regions(outline)), options=options, name=outline.name
    )
    sliding = split.sliding(frozenset(bonds))
    limits: _Limits = (("bonded", bonded.stiffness), ("sliding", sliding.stiffness))
    slip = {name: float(b) for name, b in bonds.items() if isinstance(b, int | float)}
    scale = _slip_scale(whole.first)
    loose = frozenset(n for n, b in bonds.items() if b == "sliding" or slip.get(n, scale) < NO_HOLD * scale)
    slip = {n: k for n, k in slip.items() if n not in loose and k < FULL_HOLD * scale}
    if slip:
        held = split.sliding(loose) if loose else bonded
        return _slipping(outline, split, sliding, held, loose, slip, half_wave), limits
    if not loose:
        return bonded, limits
    return sliding if loose == frozenset(bonds) else split.sliding(loose), limits


def _with_seams(outline: Outline, bonded: _Solved, whole: Certified, options: Options) -> _Solved:
    found = seamed(outline, regions(outline), whole, options, _slip_scale(whole.first))
    if found is None:
        return bonded
    own, bounds = found
    return _Solved(stiffness=own, lower=bounds.lower, upper=bounds.upper)


def _slip_scale(mesh: SectionMesh) -> float:
    """Slip stiffness that gives as much as a section's own width of its softest material [N/m³]."""
    reach = float(np.ptp(mesh.nodes, axis=0).max())
    return float(min(mesh.materials[i].G for i in np.unique(mesh.region))) / reach


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pieces:
    """A bonded mesh and how to solve it in parts."""

    first: SectionMesh
    cells: tuple[str, ...]  # of each region; empty for walls
    options: Options
    name: str

    def of(self, kept: list[str], loose: frozenset[str]) -> list[Certified]:
        """Every piece of the section that is bonded in itself, among the cells that are kept."""
        cell = np.array(self.cells)[self.first.region]
        solid = np.isin(cell, [c for c in kept if c not in loose])
        groups = [solid, *(cell == name for name in sorted(loose) if name in kept)]
        return [
            certified(piece, self.options, self.name)
            for group in groups
            if np.any(group)
            for piece in pieces(self.first, group)
        ]

    def sliding(self, loose: frozenset[str], shares: dict[str, float] | None = None) -> _Solved:
        """Section whose loose fills slide; they take part in axial strain by their share, default 0.

        Walls that only a sliding fill joins slide too: the stiffest of them carries the axial force.
        """
        found = self.of(sorted(set(self.cells)), loose)
        cells = [self.cells[int(f.first.region[0])] for f in found]
        made = [_final(f) for f in found]
        main = max(range(len(made)), key=lambda i: -1.0 if cells[i] in loose else made[i].EA)
        taking = tuple(
            (shares or {}).get(c, 0.0) if c in loose else float(i == main) for i, c in enumerate(cells)
        )
        return _Solved(
            stiffness=parallel(made, self.name, taking),
            lower=sum(f.bounds.lower for f in found),
            upper=sum(f.bounds.upper for f in found),
        )


def _slipping(
    outline: Outline,
    split: _Pieces,
    sliding: _Solved,
    held: _Solved,
    loose: frozenset[str],
    slip: dict[str, float],
    half_wave: float | None,
) -> _Solved:
    """Section some of whose fills hold by a slip stiffness: between free sliding and full bond of those fills."""
    cell = np.array(split.cells)[split.first.region]
    bounds = [
        certified_slip(piece, split.cells, slip, split.options)
        for piece in pieces(split.first, ~np.isin(cell, sorted(loose)))
    ]
    bounds += [f.bounds for f in split.of(sorted(loose), loose)]
    lower, upper = sum(b.lower for b in bounds), sum(b.upper for b in bounds)
    base = sliding.stiffness
    if half_wave is not None:
        every = {c.name: c for c in fills_of(outline)}
        axial = {n: _axial(regions(outline), n) for n in slip}
        shares = {n: interaction(half_wave, k * perimeter(every[n]), axial[n]) for n, k in slip.items()}
        base = split.sliding(loose | frozenset(slip), shares).stiffness
    made = between(base, sliding.stiffness, held.stiffness, 0.5 * (lower + upper))
    return _Solved(stiffness=made, lower=lower, upper=upper)


def _axial(parts: list[Region], cell: str) -> float:
    return float(sum(r.material.E * r.polygon.area for r in parts if r.cell == cell))


def _final(found: Certified) -> SectionStiffness:
    """Stiffness with the middle of the bounds as GJ."""
    return with_torsion(found.fields.stiffness, found.bounds.middle)


def _exact(found: Certified) -> SectionStiffness | None:
    """The same with Poisson's ratios taken one by one, where they differ."""
    if not poisson_ratios_differ(found.first):
        return None
    return _corrected(_final(found), stiffness(found.first), exact_stiffness(found.first))


def _corrected(fine: SectionStiffness, coarse: SectionStiffness, exact: SectionStiffness) -> SectionStiffness:
    """The fine solution with what Poisson's ratios change on the first mesh, which is fine enough for that."""

    def scaled(key: str) -> float:
        return float(getattr(fine, key) * getattr(exact, key) / getattr(coarse, key))

    def moved(key: str) -> tuple[float, float]:
        a, b, c = (np.array(getattr(s, key)) for s in (fine, coarse, exact))
        x, y = a + c - b
        return float(x), float(y)

    compliance = own_shear(fine) + own_shear(exact) - own_shear(coarse)
    return stiffness_from_constants(
        name=fine.name,
        EA=scaled("EA"),
        EIx=scaled("EIx"),
        EIy=scaled("EIy"),
        EIxy=fine.EIxy + exact.EIxy - coarse.EIxy,
        GJ=fine.GJ,
        EGamma=fine.EGamma,
        kGAx=1.0 / compliance[0, 0],
        kGAy=1.0 / compliance[1, 1],
        centroid=moved("centroid"),
        shear_centre=moved("shear_centre"),
        shear_compliance=compliance,
        mass_per_length=fine.mass_per_length,
        mass_centroid=fine.mass_centroid,
        inertia_per_length=fine.inertia_per_length,
    )


def with_torsion(section: SectionStiffness, GJ: float) -> SectionStiffness:
    """The section with another primary torsion stiffness."""
    matrix = np.array(section.matrix)
    matrix[5, 5] += GJ - section.GJ
    rows = tuple(tuple(float(v) for v in row) for row in matrix)
    return dataclasses.replace(section, GJ=GJ, matrix=rows)
