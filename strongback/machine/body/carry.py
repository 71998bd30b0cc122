"""Section shapes carried from one mesh of a section to another: a start for its solution, no more."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from strongback.machine.body import _kron
from strongback.machine.body.extrude import Pattern
from strongback.machine.body.values import BodyStiffness

__all__ = ["carried_shapes"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]


def carried_shapes(known: BodyStiffness, spans: Pattern) -> Array:
    """Shapes of a body as fields on the nodes of another mesh of its section, (3 nodes, shapes).

    By the functions of the six-node triangles, of the same material where one is there: fill and wall may slide.

    Parameters
    ----------
    known : BodyStiffness
    spans : Pattern
    """
    fields = np.zeros((len(spans.nodes), 3, known.shapes.shape[1]))
    own, there = known.shapes.reshape(len(known.nodes), 3, -1), known.region.max(axis=0)
    here = spans.region.max(axis=0)
    for row in np.unique(here):
        nodes = np.unique(spans.triangles[here == row])
        alike = np.all(np.isclose(known.elastic[there], spans.elastic[row], rtol=1e-9), axis=1)
        triangles = known.triangles[alike] if np.any(alike) else known.triangles
        at, weights = _places(known.nodes, triangles, spans.nodes[nodes])
        fields[nodes] = np.einsum("nk,nkcr->ncr", weights, own[at], optimize=True)
    return fields.reshape(3 * len(spans.nodes), -1)


def _places(nodes: Array, triangles: Index, points: Array) -> tuple[Index, Array]:
    """Nodes of the triangle at or nearest to each point, and its functions there, (points, 6) each."""
    tree = shapely.STRtree(shapely.polygons(nodes[triangles[:, :3]]))
    (asked, found), _ = tree.query_nearest(shapely.points(points), return_distance=True, all_matches=False)
    nearest = np.empty(len(points), dtype=np.int64)
    nearest[asked] = found
    chosen = triangles[nearest]
    back, _ = _kron.jacobians(nodes, chosen)
    local = np.clip(np.einsum("exa,ex->ea", back, points - nodes[chosen[:, 0]]), 0.0, None)
    local /= np.maximum(local.sum(axis=1), 1.0)[:, None]
    return chosen, _kron.triangle_shapes(local)[0]
