"""Refinement of a mesh where it is asked for: longest-edge bisection, conforming, regions carried along.

Every marked triangle gets its three sides halved; a triangle with a halved side gets its longest side halved too, until
that holds everywhere (Rivara 1984). Then each triangle is cut in two, three or four through its longest side, which keeps
the angles away from zero however often it is done.
"""

from __future__ import annotations

import numpy as np
import scipy.sparse
import scipy.sparse.csgraph
import scipy.spatial
from numpy.typing import NDArray

from strongback.section.bounds import boundary_sides
from strongback.section.mesh import quadratic
from strongback.section.values import SectionMesh

__all__ = ["graded", "inner_corners", "pieces", "refined", "refined_everywhere"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
INNER = np.radians(200.0)  # material around a corner from which the stress there counts as without bound


def refined_everywhere(mesh: SectionMesh) -> SectionMesh:
    """Every triangle cut in four similar ones."""
    a, b, c, ab, bc, ca = mesh.triangles.T
    children = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
    corners = np.vstack([np.column_stack(child) for child in children])
    return _finished(mesh, mesh.nodes, corners, np.tile(mesh.region, 4))


def pieces(mesh: SectionMesh, kept: NDArray[np.bool_]) -> list[SectionMesh]:
    """The kept triangles of a mesh as meshes of their own, one for each piece that hangs together along edges.

    Parameters
    ----------
    mesh : SectionMesh
    kept : ndarray of bool, shape (triangles,)

    Returns
    -------
    list of SectionMesh
        In the order of their first triangle.
    """
    chosen = np.flatnonzero(kept)
    sides = mesh.triangles[chosen, 3:].ravel()
    owner = np.repeat(np.arange(len(chosen)), 3)
    graph = scipy.sparse.coo_matrix(
        (np.ones(len(sides)), (owner, len(chosen) + sides)), shape=(2 * [len(chosen) + len(mesh.nodes)])
    )
    label = scipy.sparse.csgraph.connected_components(graph, directed=False)[1][: len(chosen)]
    first = np.unique(label, return_index=True)[1]
    groups = [chosen[label == label[i]] for i in np.sort(first)]
    return [_finished(mesh, mesh.nodes, mesh.triangles[g, :3], mesh.region[g]) for g in groups]


def refined(mesh: SectionMesh, marked: NDArray[np.bool_]) -> SectionMesh:
    """A mesh in which the marked triangles are finer.

    Parameters
    ----------
    mesh : SectionMesh
    marked : ndarray of bool, shape (triangles,)

    Returns
    -------
    SectionMesh
    """
    # Longest side first: side 0 is corners 0-1, its middle node 3.
    tri = _longest_first(mesh.nodes, mesh.triangles)
    halved = np.zeros(len(mesh.nodes), dtype=bool)
    halved[tri[marked][:, 3:].ravel()] = True
    while True:
        needs = halved[tri[:, 4]] | halved[tri[:, 5]]
        grow = needs & ~halved[tri[:, 3]]
        if not np.any(grow):
            break
        halved[tri[grow, 3]] = True
    return _cut(mesh, tri, halved)


def graded(mesh: SectionMesh, corners: Array, levels: int) -> SectionMesh:
    """A mesh in which the triangles around some corners are cut into rings, each half as wide as the one around it.

    A ring costs two triangles for each triangle at the corner and touches no other: a third of what bisection takes, and
    no solution is needed between the rings.

    Parameters
    ----------
    mesh : SectionMesh
    corners : ndarray, shape (c, 2)
        Where they are [m]: each at a node. Where two of them share a triangle it is cut first, so that they do not.
    levels : int
        Rings around each.

    Returns
    -------
    SectionMesh
    """
    while True:
        tri = mesh.triangles[:, :3]
        at = np.isin(tri, scipy.spatial.KDTree(mesh.nodes).query(corners)[1])
        crowded = at.sum(axis=1) > 1
        if not crowded.any():
            break
        mesh = refined(mesh, crowded)
    fan = at.any(axis=1)
    turn = (np.argmax(at[fan], axis=1)[:, None] + np.arange(3)) % 3
    first, a, b = np.take_along_axis(tri[fan], turn, axis=1).T
    spokes, which = np.unique(
        np.column_stack([np.tile(first, 2), np.concatenate([a, b])]), axis=0, return_inverse=True
    )
    fractions = 0.5 ** np.arange(1, levels + 1)
    start = mesh.nodes[spokes[:, 0], None]
    new = start + fractions[:, None] * (mesh.nodes[spokes[:, 1], None] - start)
    number = len(mesh.nodes) + np.arange(len(spokes))[:, None] * levels + np.arange(levels)
    rings = np.hstack([spokes[:, 1:], number])  # of each spoke, from its outer end inwards
    of_a, of_b = rings[which.ravel()[: len(a)]], rings[which.ravel()[len(a) :]]
    made = [tri[~fan], np.column_stack([first, of_a[:, -1], of_b[:, -1]])]
    for i in range(levels):
        made.append(np.column_stack([of_a[:, i], of_b[:, i], of_b[:, i + 1]]))
        made.append(np.column_stack([of_a[:, i], of_b[:, i + 1], of_a[:, i + 1]]))
    region = np.concatenate([mesh.region[~fan], np.tile(mesh.region[fan], 1 + 2 * levels)])
    return _finished(mesh, np.vstack([mesh.nodes, new.reshape(-1, 2)]), np.vstack(made), region)


def inner_corners(mesh: SectionMesh) -> Index:
    """Nodes of the boundary at which the material fills more than half the turn: there the stress has no bound.

    Parameters
    ----------
    mesh : SectionMesh

    Returns
    -------
    ndarray of int, shape (c,)
    """
    tri = mesh.triangles[:, :3]
    p = mesh.nodes[tri]
    on, back = np.roll(p, -1, axis=1) - p, np.roll(p, 1, axis=1) - p
    cross = on[..., 0] * back[..., 1] - on[..., 1] * back[..., 0]
    angle = np.arctan2(cross, (on * back).sum(axis=2))
    total = np.bincount(tri.ravel(), weights=angle.ravel(), minlength=len(mesh.nodes))
    edge = np.zeros(len(mesh.nodes), dtype=bool)
    edge[boundary_sides(mesh.triangles)[:, :2].ravel()] = True
    return np.flatnonzero(edge & (total > INNER))


def _longest_first(nodes: Array, triangles: Index) -> Index:
    p = nodes[triangles[:, :3]]
    length = np.linalg.norm(np.roll(p, -1, axis=1) - p, axis=2)
    # Equal sides are told apart by the node in their middle, so that neighbours agree.
    order = length * (1.0 + 1e-12 * triangles[:, 3:] / max(len(nodes), 1))
    first = np.argmax(order, axis=1)
    shift = (first[:, None] + np.arange(3)) % 3
    rows = np.arange(len(triangles))[:, None]
    return np.hstack([triangles[:, :3][rows, shift], triangles[:, 3:][rows, shift]])


def _cut(mesh: SectionMesh, tri: Index, halved: NDArray[np.bool_]) -> SectionMesh:
    a, b, c, ab, bc, ca = tri.T
    h0, h1, h2 = halved[ab], halved[bc], halved[ca]
    made, region = [], []

    def add(chosen: NDArray[np.bool_], *corners: Index) -> None:
        made.append(np.column_stack([corner[chosen] for corner in corners]))
        region.append(mesh.region[chosen])

    add(~h0, a, b, c)
    add(h0 & ~h2, a, ab, c)
    add(h0 & h2, a, ab, ca)
    add(h0 & h2, ab, c, ca)
    add(h0 & ~h1, ab, b, c)
    add(h0 & h1, ab, b, bc)
    add(h0 & h1, ab, bc, c)
    return _finished(mesh, mesh.nodes, np.vstack(made), np.concatenate(region))


def _finished(mesh: SectionMesh, nodes: Array, corners: Index, region: Index) -> SectionMesh:
    used, packed = np.unique(corners, return_inverse=True)
    all_nodes, triangles = quadratic(nodes[used], packed.reshape(corners.shape).astype(np.int64))
    return SectionMesh(
        nodes=all_nodes,
        triangles=triangles,
        region=region.copy(),
        materials=mesh.materials,
        parts=mesh.parts,
        mesher=mesh.mesher,
    )
