"""Contact of a pad with a wall: which edges of the section mesh lie under it, and the springs between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.machine.body.values import PadSpec

__all__ = ["Contact", "contact", "outer_edges"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]

REACH = 5e-4  # a wall edge this near the plane of the pad touches it [m]
LEAST = 0.05  # of a pad that must find a wall under it
ALIGNED = np.cos(np.radians(5.0))  # an edge whose normal is turned by more does not
_GAUSS, _WEIGHTS = np.polynomial.legendre.leggauss(4)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contact:
    """Springs of a pad.

    Parameters
    ----------
    section : sparse array, shape (3 nodes, 3 nodes)
        Spring stiffness per length of member [N/m²].
    width : float
        Wall under the pad [m].
    low, high : float
        Where it starts and ends along the member [m].
    """

    section: sparse.csr_array
    width: float
    low: float
    high: float


def outer_edges(triangles: Index) -> Index:
    """Edges with one triangle: (edges, 3) start, end, middle, the section on their left."""
    edges = np.concatenate([triangles[:, [0, 1, 3]], triangles[:, [1, 2, 4]], triangles[:, [2, 0, 5]]])
    _, first, count = np.unique(edges[:, 2], return_index=True, return_counts=True)
    once: Index = edges[first[count == 1]]
    return once


def contact(pad: PadSpec, nodes: Array, triangles: Index, stiffness: float, length: float) -> Contact:
    """Find the wall under a pad and make its springs.

    Parameters
    ----------
    pad : PadSpec
    nodes : ndarray, shape (nodes, 2)
    triangles : ndarray of int, shape (triangles, 6)
        Those of the wall at the height of the pad.
    stiffness : float
        Normal contact stiffness per area, finite [N/m³].
    length : float
        Of the body [m].

    Raises
    ------
    MachineError
        If the pad reaches past the ends of the body or no wall lies under it.
    """
    _check_values(pad)
    low, high = pad.centre[2] - 0.5 * pad.size[1], pad.centre[2] + 0.5 * pad.size[1]
    _check_ends(pad, low, high, length)
    normal = np.asarray(pad.normal) / np.hypot(*pad.normal)
    across = np.array([-normal[1], normal[0]])
    edges = outer_edges(triangles)
    start, end = nodes[edges[:, 0]], nodes[edges[:, 1]]
    along = end - start
    size = np.linalg.norm(along, axis=1)
    outward = np.column_stack([along[:, 1], -along[:, 0]]) / size[:, None]
    centre = np.asarray(pad.centre[:2])
    offset = 0.5 * (start + end) @ normal - centre @ normal
    faces = outward @ normal > ALIGNED
    near = faces & (np.abs(offset) <= REACH)
    position = np.stack([(start - centre) @ across, (end - centre) @ across], axis=1)
    half = 0.5 * pad.size[0]
    _check_wall(pad, near, faces, offset, position, half)
    under = near & (position.max(axis=1) > -half) & (position.min(axis=1) < half)
    _check_flats(pad, position[near], half)
    spring = stiffness * (pad.tangential * np.eye(3))
    direction = np.array([*normal, 0.0])
    spring += stiffness * (1.0 - pad.tangential) * np.outer(direction, direction)
    section, width = _line_springs(edges[under], position[under], size[under], half, spring, len(nodes))
    return Contact(section=section, width=width, low=low, high=high)


def _line_springs(
    edges: Index, position: Array, size: Array, half: float, spring: Array, count: int
) -> tuple[sparse.csr_array, float]:
    """Springs along the clipped edges (3 count, 3 count) and their width."""
    ends = np.clip(position, -half, half)
    fraction = (ends - position[:, :1]) / (position[:, 1:] - position[:, :1])
    low, high = fraction[:, :1], fraction[:, 1:]
    z = low + 0.5 * (high - low) * (_GAUSS + 1.0)
    weight = 0.5 * (high - low) * _WEIGHTS * size[:, None]
    shapes = np.stack([(1 - z) * (1 - 2 * z), z * (2 * z - 1), 4 * z * (1 - z)], axis=-1)
    line = np.einsum("eg,egi,egj->eij", weight, shapes, shapes)
    blocks = np.einsum("eij,cd->eicjd", line, spring).reshape(len(edges), 9, 9)
    unknowns = (3 * edges[:, :, None] + np.arange(3)).reshape(len(edges), 9)
    rows, columns = np.repeat(unknowns, 9, axis=1).ravel(), np.tile(unknowns, (1, 9)).ravel()
    matrix = sparse.coo_array((blocks.ravel(), (rows, columns)), shape=(3 * count, 3 * count)).tocsr()
    return matrix, float(weight.sum())


def _check_values(pad: PadSpec) -> None:
    numbers = (*pad.centre, *pad.normal, *pad.size, pad.tangential)
    if not np.all(np.isfinite(numbers)) or np.isnan(pad.stiffness):
        raise MachineError(f'pad "{pad.name}": not a finite number among its position, size and stiffness')
    if min(pad.size) <= 0.0:
        raise MachineError(f'pad "{pad.name}": size must be above 0 across and along the member')
    if pad.stiffness <= 0.0:
        raise MachineError(f'pad "{pad.name}": contact stiffness must be above 0')
    if pad.tangential <= 0.0:
        raise MachineError(
            f'pad "{pad.name}": tangential fraction {pad.tangential:g} must be above 0',
            hint="a pad that slides freely is a joint with free components along the wall",
        )
    if np.hypot(*pad.normal) == 0.0:
        raise MachineError(f'pad "{pad.name}": its normal has no length')


def _check_ends(pad: PadSpec, low: float, high: float, length: float) -> None:
    slack = 1e-9 * length
    if low < -slack or high > length + slack:
        raise MachineError(
            f'pad "{pad.name}" covers {low * 1e3:.4g} to {high * 1e3:.4g} mm along a member of {length * 1e3:.4g} mm',
            hint="move it or make it shorter, so that it ends on the member",
        )


def _check_wall(
    pad: PadSpec,
    near: NDArray[np.bool_],
    faces: NDArray[np.bool_],
    offset: Array,
    position: Array,
    half: float,
) -> None:
    where = f"x = {pad.centre[0] * 1e3:.4g} mm, y = {pad.centre[1] * 1e3:.4g} mm"
    if not np.any(near):
        facing = np.abs(offset[faces])
        hint = (
            f"the nearest wall that faces this way is {facing.min() * 1e3:.3g} mm off"
            if facing.size
            else "no wall of the section faces this way: check the normal"
        )
        raise MachineError(f'pad "{pad.name}" at {where} lies on no wall', hint=hint)
    left, right = float(position[near].min()), float(position[near].max())
    beyond = max(left + half, half - right, 0.0)
    if beyond > REACH:
        raise MachineError(
            f'pad "{pad.name}" at {where}, {2e3 * half:.4g} mm across, reaches {beyond * 1e3:.3g} mm past its wall',
            hint=_in_words(_flats(position[near])),
        )


def _check_flats(pad: PadSpec, position: Array, half: float) -> None:
    """A pad that hangs over a slot must press on something that can hold it."""
    flats = np.clip(_flats(position), -half, half)
    pressed = float(np.diff(flats, axis=1).sum())
    if pressed < LEAST * 2.0 * half:
        raise MachineError(
            f'pad "{pad.name}", {2e3 * half:.4g} mm across, has only {pressed * 1e3:.3g} mm of wall under it',
            hint=f"its face lies over a slot; {_in_words(_flats(position))}",
        )


def _flats(position: Array) -> Array:
    """Where the wall is flat, as start and end across the pad from its middle, (flats, 2) [m]."""
    ordered = np.sort(position, axis=1)
    ordered = ordered[np.argsort(ordered[:, 0])]
    flats: list[list[float]] = []
    for low, high in ordered.tolist():
        if flats and low <= flats[-1][1] + 1e-9:
            flats[-1][1] = max(flats[-1][1], high)
        else:
            flats.append([low, high])
    return np.array(flats)


def _in_words(flats: Array) -> str:
    if len(flats) == 1:
        return f"the flat there is {1e3 * float(flats[0, 1] - flats[0, 0]):.4g} mm wide"
    each = " and ".join(
        f"{1e3 * low:.4g} to {1e3 * high:.4g} mm ({1e3 * (high - low):.4g} mm wide)" for low, high in flats
    )
    return f"from its middle the flats there reach {each}"
