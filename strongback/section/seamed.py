"""Sections with seams along which walls slip: one more motion a seam in bending and axial force, the seam's springs in the
warping function of torsion.

One energy serves both. Axial motion is a sum of modes 1, x, y, the warping function w and, for every seam, chi = 1 on the
walls that slip and 0 elsewhere; stretching is weighted by E, shear by G, and a jump across a seam by its stiffness.

- Bending and axial force: the amplitude of chi is an unknown along the member, like warping (`Slip`); the section with
  the seam bonded, E-weighted area and first moments of the part, and the stiffness of the seam are all there is to know.
- Torsion: w is solved with the springs in place, so that a jump of chi does no work on it. GJ is bounded from both
  sides as for fills that slip; E w² gives the warping stiffness, and the shear that balances a
  changing bimoment the compliance of secondary torsion. Without those two a closed channel of 480 mm comes
  out 1.3 times (a seam of 100 N/mm²) to 31 times (a loose plate) too soft in twist.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import OutlineError
from strongback.section import _triangle6 as t6
from strongback.section._factor import Grounded
from strongback.section._problem import by_region, turned
from strongback.section.bond import own_shear
from strongback.section.bounds import TorsionBounds
from strongback.section.certify import Certified, Options, slip_refined
from strongback.section.outline import Region
from strongback.section.seams import Seam, Slip
from strongback.section.slip import split_mesh
from strongback.section.values import Outline, SectionMesh, SectionStiffness, stiffness_from_constants

__all__ = ["loose_seams", "seamed"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
NO_HOLD, FULL_HOLD = (
    1e-7,
    1e8,
)  # of G over the reach of the section: what slides freely, what is as good as bonded


def loose_seams(outline: Outline, scale: float, widths: dict[str, float]) -> tuple[Seam, ...]:
    """Seams that are not as good as bonded.

    Parameters
    ----------
    outline : Outline
    scale : float
        Slip stiffness per area of a section's own width of its softest material [N/m³].
    widths : dict of str to float
        Width of contact of each seam [m].
    """
    return tuple(s for s in outline.seams if s.stiffness < FULL_HOLD * scale * widths[s.name])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Twist:
    """The warping function with the springs of the seams."""

    w: Array  # (m, 7) about its pole, free of axial force and moments
    pole: tuple[float, float]


def seamed(
    outline: Outline, parts: list[Region], whole: Certified, options: Options, scale: float
) -> tuple[SectionStiffness, TorsionBounds] | None:
    """Stiffness of a section whose seams slip.

    Parameters
    ----------
    outline : Outline
        With seams.
    parts : list of Region
        Of the outline.
    whole : Certified
        The section with its seams bonded.
    options : Options
    scale : float
        As in `loose_seams`.

    Returns
    -------
    (SectionStiffness, TorsionBounds) or None
        None where every seam is as good as bonded.

    Raises
    ------
    OutlineError
        If a seam touches nothing.
    """
    widths = _widths(outline, parts, whole.first)
    seams = loose_seams(outline, scale, widths)
    if not seams:
        return None
    labels = _labels(parts, seams)
    per_area = {s.name: max(s.stiffness / widths[s.name], NO_HOLD * scale) for s in seams}
    mesh, bounds = slip_refined(whole.first, labels, per_area, options)
    twist, E, areas, points = _twist(mesh, labels, per_area)
    bonded = whole.fields.stiffness
    EGamma = t6.integral(E[:, None] * twist.w**2, areas)
    shear = np.zeros((3, 3))
    shear[:2, :2] = own_shear(bonded)[:2, :2]
    shear[2, 2] = _secondary(mesh, labels, per_area, twist)
    made = stiffness_from_constants(
        name=bonded.name,
        EA=bonded.EA,
        EIx=bonded.EIx,
        EIy=bonded.EIy,
        EIxy=bonded.EIxy,
        GJ=bounds.middle,
        EGamma=EGamma,
        kGAx=1.0 / shear[0, 0],
        kGAy=1.0 / shear[1, 1],
        centroid=bonded.centroid,
        shear_centre=twist.pole,
        shear_compliance=shear,
        mass_per_length=bonded.mass_per_length,
        mass_centroid=bonded.mass_centroid,
        inertia_per_length=bonded.inertia_per_length,
    )
    region_labels = np.array(labels)[mesh.region]
    slips = tuple(
        _slip(s, region_labels == s.name, E, areas, points, twist.w, per_area[s.name] * widths[s.name])
        for s in seams
    )
    return dataclasses.replace(made, slips=slips), bounds


def _labels(parts: list[Region], seams: tuple[Seam, ...]) -> tuple[str, ...]:
    """Seam of each region; empty for what does not slip."""
    of = {f"wall {wall}": seam.name for seam in seams for wall in seam.walls}
    return tuple(of.get(part.part, "") for part in parts)


def _widths(outline: Outline, parts: list[Region], mesh: SectionMesh) -> dict[str, float]:
    labels = _labels(parts, outline.seams)
    face = split_mesh(mesh, mesh.nodes, labels, dict.fromkeys((s.name for s in outline.seams), 1.0))[2]
    own = np.array(labels)[mesh.region[face.triangle]]
    widths = {s.name: float(face.length[own == s.name].sum()) for s in outline.seams}
    for name, width in widths.items():
        if width <= 0.0:
            raise OutlineError(
                f'outline "{outline.name}", seam "{name}": its walls touch nothing that they could slip on',
                hint="name the walls on one side of the seam only",
            )
    return widths


def _fields(
    mesh: SectionMesh, labels: tuple[str, ...], slip: dict[str, float]
) -> tuple[Array, Index, Array, Array]:
    """Warping on the nodes of the split mesh, its triangles, their areas and the nodes about their middle."""
    nodes = mesh.nodes - mesh.nodes.mean(axis=0)
    grad, areas = t6.gradients(nodes, mesh.triangles)
    G = by_region(mesh, "G")
    split, count, face = split_mesh(mesh, nodes, labels, slip)
    matrix = t6.assemble(t6.stiffness(grad, areas, G), split, count) + face.springs(count)
    around = turned(t6.at_points(nodes, mesh.triangles))
    right = t6.scatter(t6.flux_load(-around * G[:, None, None], grad, areas), split, count)
    return Grounded(matrix.tocsc()).solve(right), split, areas, nodes


def _twist(
    mesh: SectionMesh, labels: tuple[str, ...], slip: dict[str, float]
) -> tuple[_Twist, Array, Array, Array]:
    """Warping about its pole; E and areas of the triangles, integration points in the axes of the drawing (m, 7, 2)."""
    omega, split, areas, nodes = _fields(mesh, labels, slip)
    E = by_region(mesh, "E")
    points = t6.at_points(nodes, mesh.triangles)
    x, y = points[..., 0], points[..., 1]
    w = np.asarray(omega[split] @ t6.SHAPES.T)
    modes = [np.ones_like(x), x, y]
    mass = np.array([[t6.integral(E[:, None] * a * b, areas) for b in modes] for a in modes])
    part = np.linalg.solve(mass, [t6.integral(E[:, None] * a * w, areas) for a in modes])
    # w of rotation about (a, b) is w - b x + a y: what is taken off along x is b, along y it is -a.
    pole = (-float(part[2]), float(part[1]))
    shift = mesh.nodes.mean(axis=0)
    own = _Twist(
        w=w - part[0] - part[1] * x - part[2] * y,
        pole=(pole[0] + float(shift[0]), pole[1] + float(shift[1])),
    )
    return own, E, areas, points + shift


def _secondary(mesh: SectionMesh, labels: tuple[str, ...], slip: dict[str, float], twist: _Twist) -> float:
    """Compliance of the secondary torque: energy of the shear that balances a bimoment at its rate [1/(N m²)].

    The axial stress is that of a bimoment with no axial force in any part, so that every part is in balance by itself.
    """
    nodes = mesh.nodes - mesh.nodes.mean(axis=0)
    grad, areas = t6.gradients(nodes, mesh.triangles)
    E, G = by_region(mesh, "E"), by_region(mesh, "G")
    points = t6.at_points(nodes, mesh.triangles)
    own = np.array(labels)[mesh.region]
    modes = [points[..., 0], points[..., 1]]
    modes += [
        np.broadcast_to((own == name)[:, None], twist.w.shape).astype(float) for name in sorted(set(labels))
    ]
    mass = np.array([[t6.integral(E[:, None] * a * b, areas) for b in modes] for a in modes])
    part = np.linalg.solve(mass, [t6.integral(E[:, None] * a * twist.w, areas) for a in modes])
    w = twist.w - sum(float(p) * mode for p, mode in zip(part, modes, strict=True))
    EGamma = t6.integral(E[:, None] * w**2, areas)
    split, count, face = split_mesh(mesh, nodes, labels, slip)
    matrix = t6.assemble(t6.stiffness(grad, areas, G), split, count) + face.springs(count)
    right = t6.scatter(t6.load(-E[:, None] * w / EGamma, areas), split, count)
    found = Grounded(matrix.tocsc()).solve(right)
    strain = t6.slope_at_points(found, grad, split)
    energy = t6.integral((strain**2).sum(axis=-1) * G[:, None], areas)
    return energy + float((face.weights * face.jump(found) ** 2).sum())


def _slip(
    seam: Seam, inside: NDArray[np.bool_], E: Array, areas: Array, points: Array, w: Array, stiffness: float
) -> Slip:
    weight = np.where(inside, E, 0.0)[:, None]
    x, y = points[..., 0], points[..., 1]
    EA = t6.integral(weight * np.ones_like(x), areas)
    N, Mx, My, B = (
        EA,
        t6.integral(weight * y, areas),
        -t6.integral(weight * x, areas),
        t6.integral(weight * w, areas),
    )
    return Slip(name=seam.name, coupling=(N, Mx, My, B), EA=EA, stiffness=stiffness, held=seam.held)
