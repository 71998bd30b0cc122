"""A member's sections extruded along it: nodes, planes, spans and the sparse section matrices of each span."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.machine.body import _kron
from strongback.machine.body.heights import Grading, height_elements
from strongback.machine.body.pads import Contact, contact
from strongback.machine.body.slip import Interface, separated, slip_springs
from strongback.machine.body.values import PadSpec, SlipSpec
from strongback.section.values import SectionMesh

__all__ = ["Extrusion", "Pattern", "extrusion", "pattern", "rigid_fields"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]

VOID = 1e-8  # stiffness of an empty cell against what fills it elsewhere: carries no load, keeps every plane alike
WELDED = 3000.0  # a pad of infinite stiffness against the wall under it: modulus over the width of the pad


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pattern:
    """Spans on one mesh.

    Parameters
    ----------
    nodes : ndarray, shape (nodes, 2)
    triangles : ndarray of int, shape (triangles, 6)
        All that are solid somewhere.
    region : ndarray of int, shape (spans, triangles)
        Row of `elastic`; -1 where there is nothing.
    elastic : ndarray, shape (regions, 2)
        Young's modulus [Pa] and Poisson's ratio.
    density : ndarray, shape (regions,)
        [kg/m³]
    lengths : ndarray, shape (spans,)
        [m]
    wall : ndarray of bool, shape (triangles,)
        Part of a wall.
    slip : Interface
        Sides along which a fill may slide.
    original : ndarray of int
        Node of the given meshes for each node but the doubles of fills that slide.
    """

    nodes: Array
    triangles: Index
    region: Index
    elastic: Array
    density: Array
    lengths: Array
    wall: NDArray[np.bool_]
    slip: Interface
    original: Index


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Extrusion:
    """A body ready to be solved.

    Parameters
    ----------
    pattern : Pattern
    ends : ndarray, shape (elements + 1,)
        Ends of the height elements [m].
    span : ndarray of int, shape (elements,)
        Span of each element.
    sections : tuple of (E0, E1, E2)
        Of each span.
    contacts : tuple of Contact
    """

    pattern: Pattern
    ends: Array
    span: Index
    sections: tuple[tuple[sparse.csr_array, ...], ...]
    contacts: tuple[Contact, ...]

    @property
    def planes(self) -> Array:
        """Heights of the planes, middles of elements included [m]."""
        planes = np.empty(2 * len(self.ends) - 1)
        planes[::2] = self.ends
        planes[1::2] = 0.5 * (self.ends[1:] + self.ends[:-1])
        return planes

    def under(self, pad: int) -> Index:
        """Elements under a pad."""
        middle = self.planes[1::2]
        found = self.contacts[pad]
        return np.flatnonzero((middle > found.low) & (middle < found.high))


def pattern(sections: Sequence[tuple[SectionMesh, float]], slips: Sequence[SlipSpec] = ()) -> Pattern:
    """Bring the spans of a member to one set of nodes and triangles.

    Parameters
    ----------
    sections : sequence of (SectionMesh, float)
        Mesh and length of each span [m]. All have the same nodes; a triangle that is missing from a span is empty there.
    slips : sequence of SlipSpec
        Fills that are not bonded.

    Raises
    ------
    MachineError
        If there is no span, a length is not above 0, or the meshes have different nodes.
    """
    if not sections:
        raise MachineError("a body needs at least one span", hint="give a section mesh and a length")
    nodes = sections[0][0].nodes
    for i, (mesh, length) in enumerate(sections):
        if not (np.isfinite(length) and length > 0.0):
            raise MachineError(f"span {i + 1} of the body: length = {length * 1e3:g} mm must be above 0")
        if mesh.nodes.shape != nodes.shape or not np.array_equal(mesh.nodes, nodes):
            raise MachineError(
                f"span {i + 1} of the body has another mesh than span 1",
                hint="mesh the section once with every cell filled and take the fill out where it is empty",
            )
    stacked = np.vstack([mesh.triangles for mesh, _ in sections])
    triangles, inverse = np.unique(stacked, axis=0, return_inverse=True)
    moduli = np.array([(m.E, m.nu, m.density) for mesh, _ in sections for m in mesh.materials])
    kinds, row = np.unique(moduli, axis=0, return_inverse=True)
    region = np.full((len(sections), len(triangles)), -1, dtype=np.int64)
    wall = np.zeros(len(triangles), dtype=bool)
    core = np.full(len(triangles), -1, dtype=np.int64)
    done = row_done = 0
    for i, (mesh, _) in enumerate(sections):
        here = inverse.ravel()[done : done + len(mesh.triangles)]
        region[i, here] = row.ravel()[row_done : row_done + len(mesh.materials)][mesh.region]
        wall[here] |= np.array([part.startswith("wall") for part in mesh.parts])[mesh.region]
        core[here] = np.array([_slip_of(part, slips) for part in mesh.parts])[mesh.region]
        done, row_done = done + len(mesh.triangles), row_done + len(mesh.materials)
    used, packed = np.unique(triangles, return_inverse=True)
    own, triangles, slip = separated(
        nodes[used], packed.reshape(triangles.shape).astype(np.int64), core, slips
    )
    return Pattern(
        nodes=own,
        triangles=triangles,
        region=region,
        elastic=kinds[:, :2],
        density=kinds[:, 2],
        lengths=np.array([length for _, length in sections]),
        wall=wall,
        slip=slip,
        original=used,
    )


def _slip_of(part: str, slips: Sequence[SlipSpec]) -> int:
    return next((i for i, slip in enumerate(slips) if part in slip.parts), -1)


def extrusion(
    spans: Pattern,
    pads: Sequence[PadSpec],
    features: Sequence[float],
    grading: Grading,
    cuts: Sequence[float] = (),
) -> Extrusion:
    """Height elements, section matrices and contacts of a body.

    Parameters
    ----------
    spans : Pattern
    pads : sequence of PadSpec
    features : sequence of float
        Heights of further places where the elements are to be fine, such as rigid ends [m].
    grading : Grading
    cuts : sequence of float
        Heights at which forces are spread: an element ends there, and they are fine beside it [m].

    Raises
    ------
    MachineError
        If a pad lies on no wall, or a cut off the body.
    """
    changes = np.concatenate([[0.0], np.cumsum(spans.lengths)])
    total = float(changes[-1])
    for s in cuts:
        if not 0.0 <= s <= total:
            raise MachineError(f"cut at s = {s * 1e3:.4g} mm is not on the member of {total * 1e3:.4g} mm")
    contacts = tuple(_contact(pad, spans, changes, total) for pad in pads)
    edges = [edge for found in contacts for edge in (found.low, found.high)]
    ends = height_elements(
        np.array([*changes, *edges, *cuts]), np.array([*changes[1:-1], *edges, *cuts, *features]), grading
    )
    middle = 0.5 * (ends[1:] + ends[:-1])
    return Extrusion(
        pattern=spans,
        ends=ends,
        span=np.searchsorted(changes, middle) - 1,
        sections=tuple(_section(spans, i) for i in range(len(spans.lengths))),
        contacts=contacts,
    )


def _contact(pad: PadSpec, spans: Pattern, changes: Array, total: float) -> Contact:
    at = int(np.clip(np.searchsorted(changes, pad.centre[2]) - 1, 0, len(spans.lengths) - 1))
    solid = spans.triangles[spans.region[at] >= 0]
    stiffness = pad.stiffness
    if np.isinf(stiffness):
        stiffness = WELDED * float(spans.elastic[:, 0].max()) / min(pad.size)
    found = contact(pad, spans.nodes, solid, stiffness, total)
    spread = spans.slip.spread
    return dataclasses.replace(found, section=(spread.T @ found.section @ spread).tocsr())


def _section(spans: Pattern, span: int) -> tuple[sparse.csr_array, ...]:
    """E0, E1, E2 of a span, empty cells as good as empty."""
    E, nu = spans.elastic.T
    lame, shear = E * nu / ((1.0 + nu) * (1.0 - 2.0 * nu)), E / (2.0 * (1.0 + nu))
    here = spans.region[span]
    anywhere = spans.region.max(axis=0)
    factor = np.where(here >= 0, 1.0, VOID)
    kind = np.where(here >= 0, here, anywhere)
    E0, E1, E2 = _kron.section_matrices(
        spans.nodes, spans.triangles, factor * lame[kind], factor * shear[kind]
    )
    held = (here >= 0)[spans.slip.owner]
    E0 = E0 + slip_springs(spans.slip, held, spans.nodes)
    spread = spans.slip.spread
    return tuple((spread.T @ E @ spread).tocsr() for E in (E0, E1, E2))


def rigid_fields(nodes: Array, about: Array) -> tuple[Array, Array]:
    """Motion of a rigid body about a point: (3 nodes, 6) at its height, and per metre above it.

    Parameters
    ----------
    nodes : ndarray, shape (nodes, 2)
    about : ndarray, shape (3,)
        x, y, s [m].
    """
    x, y = (nodes - about[:2]).T
    at = np.zeros((len(nodes), 3, 6))
    at[:, [0, 1, 2], [0, 1, 2]] = 1.0
    at[:, 2, 3], at[:, 2, 4] = y, -x
    at[:, 0, 5], at[:, 1, 5] = -y, x
    rise = np.zeros((len(nodes), 3, 6))
    rise[:, 1, 3], rise[:, 0, 4] = -1.0, 1.0
    return at.reshape(-1, 6), rise.reshape(-1, 6)
