"""Displacement, stress and cross-sections of a body from the motions of its interfaces."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.machine.body import _kron
from strongback.machine.body.extrude import rigid_fields
from strongback.machine.body.pads import outer_edges
from strongback.machine.body.values import BodyStiffness

__all__ = ["BodyField", "SectionCut", "field", "section_cut"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]

STRESSES = ("xx", "yy", "ss", "ys", "xs", "xy")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BodyField:
    """A body under load, for pictures and mesh files; axes of the member.

    Parameters
    ----------
    points : ndarray, shape (points, 3)
        [m]
    cells : ndarray of int, shape (cells, 18)
        Wedges with 18 nodes in the order of meshio's ``wedge18``: corners below and above, middles of the sides below and
        above, middles of the upright sides, middles of the upright faces.
    region : ndarray of int, shape (cells,)
        Row of `BodyStiffness.elastic`.
    displacement : ndarray, shape (points, 3)
        [m]
    stress : ndarray, shape (cells, 6)
        In the middle of the triangle of each cell, mean over its height, in the order of `STRESSES` [Pa].
    """

    points: Array
    cells: Index
    region: Index
    displacement: Array
    stress: Array

    def __post_init__(self) -> None:
        for array in (self.points, self.cells, self.region, self.displacement, self.stress):
            array.setflags(write=False)

    @property
    def von_mises(self) -> Array:
        """Equivalent stress in the middle of each cell, (cells,) [Pa]."""
        xx, yy, ss, ys, xs, xy = self.stress.T
        normal = (xx - yy) ** 2 + (yy - ss) ** 2 + (ss - xx) ** 2
        return np.asarray(np.sqrt(0.5 * normal + 3.0 * (ys**2 + xs**2 + xy**2)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionCut:
    """A cross-section of a body under load.

    Parameters
    ----------
    s : float
        Height [m].
    lines : tuple of ndarray of int
        Closed outlines as rows of `nodes`, middles of sides included, solid on the left.
    nodes : ndarray, shape (nodes, 2)
        [m]
    displacement : ndarray, shape (nodes, 3)
        NaN where the section is empty [m].
    rigid : ndarray, shape (6,)
        Motion about the origin of the section of the rigid section that fits best; the rest is what walls give.
    """

    s: float
    lines: tuple[Index, ...]
    nodes: Array
    displacement: Array
    rigid: Array

    @property
    def giving(self) -> Array:
        """Displacement less that of the best rigid section, (nodes, 3) [m]."""
        at, _ = rigid_fields(self.nodes, np.zeros(3))
        return np.asarray(self.displacement - (at @ self.rigid).reshape(-1, 3))


def _nodal(body: BodyStiffness, motions: Array) -> Array:
    """Displacement of every node, (planes, nodes, 3)."""
    anchor, others = motions[:6], motions[6:]
    at, rise = rigid_fields(body.nodes, body.points[0])
    total = (at @ anchor) + (body.planes - body.points[0, 2])[:, None] * (rise @ anchor)
    arms = body.points[1:] - body.points[0]
    follow = others.reshape(-1, 6) - anchor
    follow[:, :3] -= np.cross(anchor[3:], arms)
    total = total + (body.amplitudes @ follow.ravel()) @ body.shapes.T
    return np.asarray(total.reshape(len(body.planes), -1, 3))


def _checked(body: BodyStiffness, motions: Array) -> Array:
    given = np.asarray(motions, dtype=np.float64)
    if given.shape != (len(body.stiffness),):
        raise MachineError(
            f"{given.size} motions for a body with {len(body.stiffness)}: six for each of {', '.join(body.names)}"
        )
    return given


def _span_of(body: BodyStiffness) -> Index:
    return np.repeat(np.arange(len(body.span_elements)), body.span_elements)


def field(body: BodyStiffness, motions: Array) -> BodyField:
    """Displacement and stress all over a body.

    Parameters
    ----------
    body : BodyStiffness
    motions : ndarray, shape (6 interfaces,)
        Of the interfaces, in the order of `BodyStiffness.names`.

    Returns
    -------
    BodyField

    Raises
    ------
    MachineError
        If the number of motions does not fit.
    """
    moved = _nodal(body, _checked(body, motions))
    count = len(body.nodes)
    span = _span_of(body)
    element, triangle = np.nonzero(body.region[span] >= 0)
    solid = body.triangles[triangle]
    low, middle, high = ((2 * element + k)[:, None] * count + solid for k in range(3))
    cells = np.hstack([low[:, :3], high[:, :3], low[:, 3:], high[:, 3:], middle])
    region = body.region[span[element], triangle]
    used, packed = np.unique(cells, return_inverse=True)
    points = np.column_stack([np.tile(body.nodes, (len(body.planes), 1)), np.repeat(body.planes, count)])
    return BodyField(
        points=points[used],
        cells=packed.reshape(cells.shape).astype(np.int64),
        region=region,
        displacement=moved.reshape(-1, 3)[used],
        stress=_stress(body, moved, element, triangle, region),
    )


def _stress(body: BodyStiffness, moved: Array, element: Index, triangle: Index, region: Index) -> Array:
    """Stress in the middle of triangles, as the mean over the height of each cell, (cells, 6).

    The mean and not the value at half height: in a long element the shear there is off by the bend of the plane sections,
    its mean is in equilibrium with the force that goes through.
    """
    shapes, slopes = _kron.triangle_shapes(np.full((1, 2), 1.0 / 3.0))
    values = _kron.height_shapes(0.5 + np.array([-0.5, 0.5]) / np.sqrt(3.0))  # Gauss's two points: exact
    heights, rises = (np.mean(v, axis=0) for v in values)
    lengths = np.diff(body.planes[::2])[element]
    back, _ = _kron.jacobians(body.nodes, body.triangles)
    slope = np.einsum("txa,ai->txi", back, slopes[0])[triangle]  # (cells, 2, 6)
    planes = 2 * element[:, None] + np.arange(3)
    u = moved[planes[:, :, None], body.triangles[triangle][:, None, :]]  # (cells, 3, 6, 3)
    gradient = np.empty((len(element), 3, 3))  # du_c / dx_d
    gradient[:, :, :2] = np.einsum("p,epic,edi->ecd", heights, u, slope, optimize=True)
    gradient[:, :, 2] = np.einsum("p,epic,i->ec", rises, u, shapes[0], optimize=True) / lengths[:, None]
    strain = gradient + gradient.transpose(0, 2, 1)  # twice the strain
    E, nu = body.elastic[region].T
    shear = E / (2.0 * (1.0 + nu))
    lame = E * nu / ((1.0 + nu) * (1.0 - 2.0 * nu))
    volume = lame * np.trace(gradient, axis1=1, axis2=2)
    stress = shear[:, None, None] * strain + volume[:, None, None] * np.eye(3)
    return np.asarray(stress[:, [0, 1, 2, 1, 0, 0], [0, 1, 2, 2, 2, 1]])


def section_cut(body: BodyStiffness, motions: Array, s: float) -> SectionCut:
    """The cross-section at a height, deformed.

    Parameters
    ----------
    body : BodyStiffness
    motions : ndarray, shape (6 interfaces,)
    s : float
        Height [m].

    Returns
    -------
    SectionCut

    Raises
    ------
    MachineError
        If the height is not on the body or the number of motions does not fit.
    """
    ends = body.planes[::2]
    if not ends[0] <= s <= ends[-1]:
        raise MachineError(f"height {s * 1e3:.4g} mm is not on the body of {ends[-1] * 1e3:.4g} mm")
    e = int(np.clip(np.searchsorted(ends, s) - 1, 0, len(ends) - 2))
    heights, _ = _kron.height_shapes(np.array((s - ends[e]) / (ends[e + 1] - ends[e])))
    at_height = np.einsum("p,pnc->nc", heights, _nodal(body, _checked(body, motions))[2 * e : 2 * e + 3])
    solid = body.triangles[body.region[_span_of(body)[e]] >= 0]
    used = np.unique(solid)
    displacement = np.full_like(at_height, np.nan)
    displacement[used] = at_height[used]
    at, _ = rigid_fields(body.nodes[used], np.zeros(3))
    rigid = np.linalg.lstsq(at, at_height[used].ravel(), rcond=None)[0]
    return SectionCut(
        s=s, lines=_loops(outer_edges(solid)), nodes=body.nodes, displacement=displacement, rigid=rigid
    )


def _loops(edges: Index) -> tuple[Index, ...]:
    """Edges (start, end, middle) chained to closed lines."""
    following: dict[int, list[int]] = {}
    for i, start in enumerate(edges[:, 0]):
        following.setdefault(int(start), []).append(i)
    loops = []
    while following:
        start = next(iter(following))
        line, at = [], start
        while at in following:
            i = following[at].pop()
            if not following[at]:
                del following[at]
            line += [at, int(edges[i, 2])]
            at = int(edges[i, 1])
            if at == start:
                break
        loops.append(np.array([*line, start], dtype=np.int64))
    return tuple(loops)
