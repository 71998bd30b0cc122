"""A body on two grids: a coarse one, from whose section shapes the fine one starts; together they cost what the fine costs.

Neither knows the exact solution, but on thin walls their difference is about as large as the error of the fine one, or
larger: the error is told as that, and no value is corrected by it.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from strongback.errors import LimitError
from strongback.machine.body.condense import MEMORY_CAP, body_stiffness, wall_thickness
from strongback.machine.body.plates import covers_of, patches_of, solid_plate
from strongback.machine.body.spans import body_mesh, slips_of
from strongback.machine.body.values import BodySpec, BodyStiffness, PadSpec, PlateSpec
from strongback.section.values import Point2, SectionMesh

__all__ = ["COARSE", "FINE", "Grid", "on_grid", "on_two_grids"]

Progress = Callable[[float, str], None]
COARSE_SHARE = 0.35  # of the work of both grids
ASKED = 0.04  # the grids differ by more in what a pad gives: its edges are refined. The fine one errs by a third of it
TOLD = 0.01  # from there on they must agree to this, which the edge of a stamp reaches as the height of its elements
LEVELS = 2  # of such refinement at most
THICK = 2.5  # walls: a welded plate that is thicker is a length of the body; below, the operator errs by less than 2 %


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """How finely a body is cut.

    Parameters
    ----------
    chord : float
        Distance that a simplified arc may leave its outline [m].
    corners : int
        Rounds of refinement at re-entrant corners.
    edges : int
        Rounds of refinement at the edges of pads.
    heights : float
        Height of the smallest elements against the default of `body_stiffness`.
    growth : float
        Of the height elements with the distance from ends, pads and cuts.
    tolerance : float
        Relative energy that the section shapes may miss.
    size : float or None
        Largest side of a triangle [m].
    """

    chord: float = 1e-4
    corners: int = 1
    edges: int = 0
    heights: float = 1.0
    growth: float = 0.6
    tolerance: float = 5e-4
    size: float | None = None


FINE = Grid()
LESSER: tuple[dict[str, float], ...] = (
    {},
    {"chord": 2.5e-4},
    {"chord": 5e-4, "corners": 0},
    {"chord": 5e-4, "corners": 0, "heights": 1.5},
)
FILLETS = 9e-3  # fillets cut at 0.5 mm cost up to 1.3 %, which two grids that both cut them do not see
COARSE = Grid(chord=5e-4, corners=0, heights=2.0, tolerance=2e-3)


def on_grid(
    spec: BodySpec,
    grid: Grid,
    *,
    akin: BodyStiffness | None = None,
    memory_cap: int = MEMORY_CAP,
    progress: Progress | None = None,
) -> BodyStiffness:
    """A body on one grid.

    Parameters
    ----------
    spec : BodySpec
    grid : Grid
    akin, memory_cap
        As in `body_stiffness`.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    BodyStiffness
    """
    plates = [plate for plate in (spec.base_plate, spec.end_plate) if plate is not None]
    mesh = body_mesh(
        spec.outlines,
        covers_of(plates, spec.diaphragms),
        patches=patches_of(plates),
        edges=[edge for pad in spec.pads for edge in _edges(pad)],
        edge_rounds=grid.edges,
        size=grid.size,
        rounds=grid.corners,
        chord=grid.chord,
    )
    spans, end_plate = list(zip(mesh.spans, spec.lengths, strict=True)), spec.end_plate
    if end_plate is not None and _is_thick(end_plate, spans[-1][0]):
        spans.append((solid_plate(end_plate, mesh.whole, spans[-1][0]), end_plate.thickness))
        end_plate = None
    return body_stiffness(
        spans,
        base=spec.base,
        end=spec.end,
        base_plate=spec.base_plate,
        end_plate=end_plate,
        diaphragms=spec.diaphragms,
        whole=mesh.whole if plates or spec.diaphragms else None,
        length=sum(spec.lengths),
        pads=spec.pads,
        cuts=spec.cuts,
        points=spec.points,
        bars=spec.bars,
        slips=slips_of(spec.outlines),
        akin=akin,
        coarser=grid.heights,
        growth=grid.growth,
        tolerance=grid.tolerance,
        memory_cap=memory_cap,
        progress=progress,
    )


def _is_thick(plate: PlateSpec, section: SectionMesh) -> bool:
    """Whether a plate is better solved as a length of the body."""
    return plate.bed is None and plate.bolts is None and plate.thickness > THICK * thickness(section)


def thickness(section: SectionMesh) -> float:
    """Mean thickness of the walls of a section: twice their area over their edge [m]."""
    walls = section.triangles[np.array([part.startswith("wall") for part in section.parts])[section.region]]
    return wall_thickness(section.nodes, walls)


def on_two_grids(
    spec: BodySpec,
    *,
    size: float | None = None,
    coarse: BodyStiffness | None = None,
    progress: Progress | None = None,
) -> BodyStiffness:
    """A body on the fine grid, which starts from the coarse one and keeps its stiffness beside its own.

    Parameters
    ----------
    spec : BodySpec
    size : float, optional
        Largest side of a triangle [m].
    coarse : BodyStiffness, optional
        The body on the coarse grid where it is known.
    progress : callable, optional

    Returns
    -------
    BodyStiffness
    """
    tell = progress or (lambda _fraction, _what: None)
    if coarse is None:
        coarse = on_grid(
            spec,
            dataclasses.replace(COARSE, size=size),
            progress=lambda done, what: tell(COARSE_SHARE * done, f"coarse grid, {what}"),
        )
    last, grid = _finest(
        spec,
        dataclasses.replace(FINE, size=size),
        coarse,
        lambda done, what: tell(COARSE_SHARE + (1.0 - COARSE_SHARE) * done, what),
    )
    before, allowed = coarse, ASKED
    for level in range(LEVELS):
        if _apart(last, before) <= allowed:
            break
        grid = dataclasses.replace(
            grid, corners=grid.corners + 1, edges=grid.edges + 2, heights=0.5 * grid.heights
        )
        tell(1.0, f"finer at the edges of its pads, {level + 1}")
        try:
            last, before, allowed = on_grid(spec, grid, akin=last), last, TOLD
        except LimitError:
            break  # its error is told by the grids there are
    softer = 1.0 + (FILLETS if grid.chord > FINE.chord else 0.0)
    return dataclasses.replace(last, coarse=softer * np.array(before.stiffness))


def _finest(
    spec: BodySpec, grid: Grid, coarse: BodyStiffness, progress: Progress
) -> tuple[BodyStiffness, Grid]:
    """The body on the finest grid that the memory allows; of a full extrusion that may be one with its fillets cut."""
    for change in LESSER:
        lesser = dataclasses.replace(grid, **change)  # type: ignore[arg-type]
        try:
            return on_grid(spec, lesser, akin=coarse, progress=progress), lesser
        except LimitError:
            if change is LESSER[-1]:
                raise
    raise AssertionError  # the loop returns or raises


def _edges(pad: PadSpec) -> tuple[Point2, Point2]:
    """Where a pad ends on the wall, across the member."""
    across = np.array([-pad.normal[1], pad.normal[0]]) / np.hypot(*pad.normal)
    (x, y), half = pad.centre[:2], 0.5 * pad.size[0]
    (u, v) = half * across
    return (float(x - u), float(y - v)), (float(x + u), float(y + v))


def _apart(fine: BodyStiffness, coarse: BodyStiffness) -> float:
    """By how much two grids differ at the most in what a pad gives alone, the other interfaces standing still."""
    pads = fine.names[
        len(fine.names) - len(fine.cuts) - len(fine.contact_areas) : len(fine.names) - len(fine.cuts)
    ]
    found = [0.0]
    for name in pads:
        at = fine.columns(name)
        own, other = (np.diag(np.linalg.inv(body.stiffness[at, at])) for body in (fine, coarse))
        found.append(float(np.abs(other / own - 1.0).max()))
    return max(found)
