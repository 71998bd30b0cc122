"""Stress in a section under any combination of axial force, shear, moments, torque and bimoment.

Superposition of the unit loads of `strongback.section.stress`. The equivalent stress is sqrt(sigma² + 3 tau²) (von Mises,
as in EN 1993-1-1, 6.2.1). A ratio to a yield strength is information: strength is not judged here, since notches, welds,
buckling, fatigue and residual stress are not in it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback import checks
from strongback.errors import OutlineError
from strongback.section import _triangle6 as t6
from strongback.section.check import in_mm
from strongback.section.stress import LOADS, SectionStress, beside
from strongback.section.values import Point2, Ring

__all__ = ["Loads", "PointStress", "StressState", "stress_along", "stress_at", "stress_under"]

Array = NDArray[np.float64]
OUTSIDE = -1e-6  # barycentric coordinate down to which a point counts as on the edge
SHARE = 64  # points located at once


@dataclass(frozen=True, slots=True, kw_only=True)
class Loads:
    """Forces on a section, signs as in `strongback.section.values`.

    Parameters
    ----------
    N : float
        Axial force through the centroid, tension positive [N].
    Vx, Vy : float
        Shear forces through Trefftz's shear centre [N].
    Mx, My : float
        Moments about x and y through the centroid; Mx stretches what has larger y, My what has smaller x [N m].
    T : float
        Torque that is carried with free warping [N m].
    T2 : float
        Torque that is carried by held warping [N m].
    B : float
        Bimoment [N m²].
    """

    N: float = 0.0
    Vx: float = 0.0
    Vy: float = 0.0
    Mx: float = 0.0
    My: float = 0.0
    T: float = 0.0
    T2: float = 0.0
    B: float = 0.0

    def __post_init__(self) -> None:
        for key in LOADS:
            checks.frozen(self, **{key: checks.number("loads", key, getattr(self, key), OutlineError)})

    def vector(self) -> Array:
        """In the order of `LOADS`."""
        return np.array([getattr(self, key) for key in LOADS])


@dataclass(frozen=True, slots=True, kw_only=True)
class PointStress:
    """Stress at a point.

    Parameters
    ----------
    at : tuple of float
        [m]
    part : str
        What lies there, such as ``"wall wall"`` or ``"fill inside"``.
    direct : float
        Along the member, tension positive [Pa].
    shear : tuple of float
        Along x and y [Pa].
    error : float
        What averaging at the nodes moved the shear stress by, in the triangle: a measure of the mesh [Pa].
    sharp : bool
        Whether the point lies so near to a re-entrant corner that its value hangs on the mesh.
    """

    at: Point2
    part: str
    direct: float
    shear: tuple[float, float]
    error: float
    sharp: bool

    @property
    def equivalent(self) -> float:
        """sqrt(sigma² + 3 tau²) [Pa]."""
        return float(np.sqrt(self.direct**2 + 3.0 * (self.shear[0] ** 2 + self.shear[1] ** 2)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StressState:
    """Stress of a combination of loads at the nodes of each triangle.

    Parameters
    ----------
    unit : SectionStress
    loads : Loads
    direct : ndarray, shape (triangles, 6)
        [Pa]
    shear : ndarray, shape (triangles, 6, 2)
        [Pa]
    largest : PointStress
        Where the equivalent stress is largest, outside re-entrant corners.
    """

    unit: SectionStress
    loads: Loads
    direct: Array
    shear: Array
    largest: PointStress

    @property
    def equivalent(self) -> Array:
        """sqrt(sigma² + 3 tau²), (triangles, 6) [Pa]."""
        return np.asarray(np.sqrt(self.direct**2 + 3.0 * (self.shear**2).sum(axis=2)))

    def yield_ratio(self, strength: float) -> float:
        """Yield strength over the largest equivalent stress: information, no proof of strength.

        Parameters
        ----------
        strength : float
            [Pa]
        """
        checks.number("yield ratio", "strength", strength, OutlineError, above=0.0)
        return strength / self.largest.equivalent if self.largest.equivalent else np.inf


def stress_under(found: SectionStress, loads: Loads | Mapping[str, float]) -> StressState:
    """Stress of a combination of loads.

    Parameters
    ----------
    found : SectionStress
        Of unit loads.
    loads : Loads or mapping of str to float
        [N], [N m], [N m²]

    Returns
    -------
    StressState

    Raises
    ------
    OutlineError
        If a load has no such name or is no number, or a bimoment meets a section that does not warp.

    Examples
    --------
    A bar of 20 x 40 mm under 1 kN and 100 N m about x: 1.25 +- 18.75 MPa at its faces

    >>> from strongback.materials import material
    >>> from strongback.section.shapes import rectangle
    >>> from strongback.section.stress import section_stress
    >>> bar = section_stress(rectangle(material("steel"), 0.02, 0.04))
    >>> round(stress_under(bar, {"N": 1000.0, "Mx": 100.0}).largest.direct / 1e6, 3)
    20.0
    """
    if not isinstance(loads, Loads):
        for name in loads:
            checks.one_of("loads", "a name", name, LOADS, OutlineError)
        loads = Loads(**loads)
    force = loads.vector()
    for k in (6, 7):
        if force[k] and not (np.any(found.direct[k]) or np.any(found.shear[k])):
            raise OutlineError(
                f"{LOADS[k]} = {force[k]:g}: this section does not warp, so nothing carries it",
                hint="give the torque as T",
            )
    direct = np.tensordot(force, found.direct, axes=1)
    shear = np.tensordot(force, found.shear, axes=1)
    size = np.sqrt(direct**2 + 3.0 * (shear**2).sum(axis=2))
    points = found.points.reshape(-1, 2)
    at = int(np.argmax(np.where(beside(points, found.corners), -1.0, size.ravel())))
    triangle, node = divmod(at, 6)
    largest = PointStress(
        at=(float(points[at, 0]), float(points[at, 1])),
        part=found.mesh.parts[found.mesh.region[triangle]],
        direct=float(direct[triangle, node]),
        shear=(float(shear[triangle, node, 0]), float(shear[triangle, node, 1])),
        error=float(np.abs(force) @ found.error[:, triangle]),
        sharp=False,
    )
    return StressState(unit=found, loads=loads, direct=direct, shear=shear, largest=largest)


def stress_at(state: StressState, points: Sequence[Point2]) -> tuple[PointStress, ...]:
    """Stress at points of the section.

    Parameters
    ----------
    state : StressState
    points : sequence of (x, y)
        In the axes of the drawing [m].

    Returns
    -------
    tuple of PointStress

    Raises
    ------
    OutlineError
        If a point lies in no material.

    Examples
    --------
    >>> from strongback.section.shapes import rectangle
    >>> from strongback.section.stress import section_stress
    >>> state = stress_under(section_stress(rectangle("steel", 0.02, 0.01)), {"N": 1e3, "Mx": 10.0})
    >>> (point,) = stress_at(state, [(0.0, 0.005)])
    >>> round(point.direct * 1e-6, 6)  # N/A + M h/2I = 5 + 30 [MPa]
    35.0
    """
    places = np.array([checks.numbers("point", "(x, y)", p, 2, OutlineError) for p in points]).reshape(-1, 2)
    triangle, weight = _located(state.unit, places)
    force = np.abs(state.loads.vector())
    sharp = beside(places, state.unit.corners)
    mesh, found = state.unit.mesh, []
    for i, (k, w) in enumerate(zip(triangle, weight, strict=True)):
        if k < 0:
            point = (float(places[i, 0]), float(places[i, 1]))
            raise OutlineError(f"there is no material at {in_mm(point)}", point=point)
        shear = w @ state.shear[k]
        found.append(
            PointStress(
                at=(float(places[i, 0]), float(places[i, 1])),
                part=mesh.parts[mesh.region[k]],
                direct=float(w @ state.direct[k]),
                shear=(float(shear[0]), float(shear[1])),
                error=float(force @ state.unit.error[:, k]),
                sharp=bool(sharp[i]),
            )
        )
    return tuple(found)


def stress_along(state: StressState, ring: Ring, count: int = 200) -> tuple[Array, tuple[PointStress, ...]]:
    """Stress around a ring of the outline, such as the outer edge of a wall.

    Parameters
    ----------
    state : StressState
    ring : Ring
        Closed without its first point repeated [m].
    count : int
        Points, spread evenly.

    Returns
    -------
    distance : ndarray, shape (count,)
        Along the ring from its first point [m].
    stress : tuple of PointStress

    Examples
    --------
    >>> from strongback.section.shapes import rectangle
    >>> from strongback.section.stress import section_stress
    >>> bar = rectangle("steel", 0.02, 0.01)
    >>> state = stress_under(section_stress(bar), {"Mx": 10.0})
    >>> along, points = stress_along(state, bar.walls[0].ring, count=40)
    >>> round(max(point.direct for point in points) * 1e-6, 6)  # M h/2I [MPa]
    30.0
    """
    corners = np.asarray([*ring, ring[0]], dtype=float)
    length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(corners, axis=0), axis=1))])
    distance = (np.arange(count) + 0.5) / count * length[-1]
    places = np.column_stack([np.interp(distance, length, corners[:, k]) for k in range(2)])
    return distance, stress_at(state, [(float(x), float(y)) for x, y in places])


def _located(found: SectionStress, points: Array) -> tuple[NDArray[np.int64], Array]:
    """Triangle of each point, -1 for none, and the six shape functions there."""
    mesh = found.mesh
    grad, _ = t6.gradients(mesh.nodes, mesh.triangles)
    middle = mesh.nodes[mesh.triangles[:, :3]].mean(axis=1)
    triangle = np.full(len(points), -1, dtype=np.int64)
    shapes = np.zeros((len(points), 6))
    for low in range(0, len(points), SHARE):
        some = points[low : low + SHARE]
        bary = 1.0 / 3.0 + np.einsum("mac,pmc->pma", grad, some[:, None] - middle[None])
        best = np.argmax(bary.min(axis=2), axis=1)
        own = bary[np.arange(len(some)), best]
        triangle[low : low + SHARE] = np.where(own.min(axis=1) >= OUTSIDE, best, -1)
        shapes[low : low + SHARE] = t6.shapes(own)
    return triangle, shapes
