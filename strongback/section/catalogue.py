"""Catalogue numbers of a section: areas, second moments, moduli and centres, as tables of profiles print them.

Stiffnesses divided by the moduli of one reference material: a section of one material has its plain geometry, one of
several that of its transformed section. Two shear centres are told, because tables and programs print either:

- Trefftz's: bending and twist exchange no energy there. It does not depend on Poisson's ratio, warping constants are taken
  about it, and everything in this package uses it.
- the elastic one, with Poisson's ratio: the line of action of the stress in Saint-Venant's flexure about the centroid. For
  thin walls both are the same; for compact unsymmetric sections they differ by some per cent of the width.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from strongback.answer import Telling
from strongback.materials import Material
from strongback.section.outline import Region, area_of, regions
from strongback.section.store import SolvedSection
from strongback.section.values import Outline, Point2

__all__ = ["Catalogue", "catalogue", "catalogue_of_parts"]

Array = NDArray[np.float64]
ROUND = 1e-9  # of the larger second moment, below which a product or a difference is rounding


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """Catalogue numbers of a section, SI.

    Parameters
    ----------
    name : str
    material : Material
        Reference: the wall material with the largest area.
    parts : int
        Separate parts that touch nowhere; with more than one, what has no meaning for them together is None.
    area : float
        Of all material as drawn [m²].
    A : float
        EA over E of the reference [m²].
    Ix, Iy, Ixy : float
        About the centroid, axes of the drawing: integrals of y², x², x y [m⁴].
    I1, I2 : float
        Principal second moments, larger first [m⁴].
    angle : float
        From the x axis of the drawing to the axis about which I1 holds, counter-clockwise [rad]; 0 where both are equal.
    It : float
        Torsion constant; of separate parts the sum [m⁴].
    Iw : float or None
        Warping constant about Trefftz's shear centre [m⁶].
    centroid : tuple of float
        In the axes of the drawing [m].
    shear_centre : tuple of float or None
        Trefftz's [m].
    elastic_shear_centre : tuple of float or None
        With Poisson's ratio [m].
    shear_area_x, shear_area_y : float or None
        kGA over G of the reference [m²].
    W_top, W_bottom, W_left, W_right : float
        Elastic section moduli: Ix over the distances to the highest and lowest point, Iy over those to the leftmost and
        rightmost, in stress of the reference material [m³].
    W1, W2 : float
        The least about the principal axes [m³].

    Examples
    --------
    >>> from strongback.materials import material
    >>> from strongback.section.shapes import rectangle
    >>> from strongback.section.store import solved_section
    >>> bar = rectangle(material("steel"), 0.02, 0.04)
    >>> found = catalogue(bar, solved_section(bar))
    >>> round(found.Ix * 1e12), round(found.W_top * 1e9), round(math.degrees(found.angle), 6)
    (106667, 5333, 0.0)
    """

    ONLY: ClassVar[Telling] = (
        ("reference_material", "material.name"),
        ("reference_E_Pa", "material.E"),
        ("separate_parts", "parts"),
        ("*", "together_by_key"),
        ("*", "numbers_by_key"),
        ("centroid_mm", "centroid_mm"),
        ("shear_centre_trefftz_mm", "shear_centre_mm"),
        ("shear_centre_elastic_mm", "elastic_shear_centre_mm"),
    )

    name: str
    material: Material
    parts: int
    area: float
    A: float
    Ix: float
    Iy: float
    Ixy: float
    I1: float
    I2: float
    angle: float
    It: float
    Iw: float | None
    centroid: Point2
    shear_centre: Point2 | None
    elastic_shear_centre: Point2 | None
    shear_area_x: float | None
    shear_area_y: float | None
    W_top: float
    W_bottom: float
    W_left: float
    W_right: float
    W1: float
    W2: float

    @property
    def numbers(self) -> tuple[tuple[str, str, float, str], ...]:
        """Key, words, value and unit of every number in mm; what does not exist is left out."""
        rows: tuple[tuple[str, str, float | None, str], ...] = (
            ("A", "area", self.A, "mm^2"),
            ("Ix", "second moment about x", self.Ix, "mm^4"),
            ("Iy", "second moment about y", self.Iy, "mm^4"),
            ("Ixy", "product of inertia", self.Ixy, "mm^4"),
            ("I1", "principal, larger", self.I1, "mm^4"),
            ("I2", "principal, smaller", self.I2, "mm^4"),
            ("It", "torsion constant", self.It, "mm^4"),
            ("Iw", "warping constant", self.Iw, "mm^6"),
            ("ix", "radius of gyration about x", self.radius(self.Ix), "mm"),
            ("iy", "radius of gyration about y", self.radius(self.Iy), "mm"),
            ("i1", "radius of gyration about axis 1", self.radius(self.I1), "mm"),
            ("i2", "radius of gyration about axis 2", self.radius(self.I2), "mm"),
            ("ip", "polar, about the shear centre", self.polar_radius, "mm"),
            ("W_top", "modulus about x, highest point", self.W_top, "mm^3"),
            ("W_bottom", "modulus about x, lowest point", self.W_bottom, "mm^3"),
            ("W_right", "modulus about y, point at most x", self.W_right, "mm^3"),
            ("W_left", "modulus about y, point at least x", self.W_left, "mm^3"),
            ("W1", "least modulus about axis 1", self.W1, "mm^3"),
            ("W2", "least modulus about axis 2", self.W2, "mm^3"),
            ("Asx", "shear area, force along x", self.shear_area_x, "mm^2"),
            ("Asy", "shear area, force along y", self.shear_area_y, "mm^2"),
        )
        scale = {"mm": 1e3, "mm^2": 1e6, "mm^3": 1e9, "mm^4": 1e12, "mm^6": 1e18}
        return tuple((key, words, v * scale[unit], unit) for key, words, v, unit in rows if v is not None)

    @property
    def together(self) -> tuple[tuple[str, float, float, str], ...]:
        """Stiffnesses of separate parts together: key, value in SI, factor and unit in which it is printed."""
        E, G = self.material.E, self.material.G
        return (
            ("EA", E * self.A, 1e-6, "MN"),
            ("EIx", E * self.Ix, 1e-3, "kN m²"),
            ("EIy", E * self.Iy, 1e-3, "kN m²"),
            ("EIxy", E * self.Ixy, 1e-3, "kN m²"),
            ("GJ", G * self.It, 1e-3, "kN m²"),
        )

    @property
    def together_by_key(self) -> dict[str, float] | None:
        """The same by key with its SI unit; None where all is one part."""
        if self.parts < 2:
            return None
        return {f"{key}_{'N' if key == 'EA' else 'N_m2'}": value for key, value, _, _ in self.together}

    @property
    def numbers_by_key(self) -> dict[str, float]:
        """Area as drawn, `numbers` and the angle of the principal axes by key with their unit."""
        named = {f"{key}_{unit.replace('^', '')}": value for key, _, value, unit in self.numbers}
        return {"area_as_drawn_mm2": self.area * 1e6, **named, "angle_deg": math.degrees(self.angle)}

    @property
    def centroid_mm(self) -> list[float]:
        """Centroid in the axes of the drawing."""
        return [v * 1e3 for v in self.centroid]

    @property
    def shear_centre_mm(self) -> list[float] | None:
        """Shear centre by Trefftz."""
        return None if self.shear_centre is None else [v * 1e3 for v in self.shear_centre]

    @property
    def elastic_shear_centre_mm(self) -> list[float] | None:
        """Shear centre with Poisson's ratio."""
        return None if self.elastic_shear_centre is None else [v * 1e3 for v in self.elastic_shear_centre]

    def radius(self, second_moment: float) -> float:
        """Radius of gyration of a second moment [m]."""
        return math.sqrt(second_moment / self.A)

    @property
    def polar_radius(self) -> float | None:
        """About Trefftz's shear centre: sqrt((Ix + Iy)/A + distance²) [m]."""
        if self.shear_centre is None:
            return None
        apart = math.dist(self.centroid, self.shear_centre)
        return math.hypot(self.radius(self.Ix + self.Iy), apart)


def catalogue(outline: Outline, solved: SolvedSection) -> Catalogue:
    """Catalogue numbers of a solved section.

    Parameters
    ----------
    outline : Outline
    solved : SolvedSection
        Of the same outline.

    Returns
    -------
    Catalogue

    Examples
    --------
    >>> from strongback.section.shapes import rectangle
    >>> from strongback.section.store import solved_section
    >>> bar = rectangle("steel", 0.02, 0.03)
    >>> round(catalogue(bar, solved_section(bar)).W_top * 1e9, 6)  # b h²/6 [mm³]
    3000.0
    """
    s = solved.stiffness
    whole = (s.EA, s.EIx, s.EIy, s.EIxy, s.GJ)
    reference = reference_material(regions(outline))
    return _made(
        outline,
        reference,
        whole,
        s.centroid,
        parts=1,
        Iw=s.EGamma / reference.E,
        shear_centre=s.shear_centre,
        elastic_shear_centre=solved.elastic_centre,
        shear_area_x=s.kGAx / reference.G,
        shear_area_y=s.kGAy / reference.G,
    )


def catalogue_of_parts(outline: Outline, parts: Sequence[SolvedSection]) -> Catalogue:
    """Catalogue numbers of separate parts together: what exists for them.

    Parameters
    ----------
    outline : Outline
        Of all parts.
    parts : sequence of SolvedSection
        Each part by itself, in the axes of the same drawing.

    Returns
    -------
    Catalogue
        Axial and bending as if something kept all parts in one plane; torsion is the sum of each by itself. Warping
        constant, shear centres and shear areas are None.

    Examples
    --------
    >>> from strongback.section.outline import moved
    >>> from strongback.section.shapes import rectangle
    >>> from strongback.section.store import solved_section
    >>> one, two = rectangle("steel", 0.02, 0.01), moved(rectangle("steel", 0.02, 0.01), (0.06, 0.0))
    >>> both = Outline(name="pair", walls=(*one.walls, *two.walls))
    >>> found = catalogue_of_parts(both, [solved_section(one), solved_section(two)])
    >>> found.parts, round(found.A * 1e6, 6)  # [mm²]
    (2, 400.0)
    """
    EA = sum(p.stiffness.EA for p in parts)
    x, y = (sum(p.stiffness.EA * p.stiffness.centroid[k] for p in parts) / EA for k in range(2))
    sums = np.zeros(3)
    for part in parts:
        s = part.stiffness
        dx, dy = s.centroid[0] - x, s.centroid[1] - y
        sums += [s.EIx + s.EA * dy * dy, s.EIy + s.EA * dx * dx, s.EIxy + s.EA * dx * dy]
    whole = (EA, *(float(v) for v in sums), sum(p.stiffness.GJ for p in parts))
    reference = reference_material(regions(outline))
    return _made(outline, reference, whole, (x, y), parts=len(parts))


def reference_material(parts: Sequence[Region]) -> Material:
    """The wall material with the largest area."""
    areas: dict[Material, float] = {}
    for part in parts:
        if not part.cell:
            areas[part.material] = areas.get(part.material, 0.0) + part.polygon.area
    return max(areas, key=lambda m: areas[m])


def _made(
    outline: Outline,
    reference: Material,
    whole: Sequence[float],
    centroid: Point2,
    *,
    parts: int,
    Iw: float | None = None,
    shear_centre: Point2 | None = None,
    elastic_shear_centre: Point2 | None = None,
    shear_area_x: float | None = None,
    shear_area_y: float | None = None,
) -> Catalogue:
    E = reference.E
    A, Ix, Iy, Ixy = (v / E for v in whole[:4])
    if abs(Ixy) < ROUND * (Ix + Iy):
        Ixy = 0.0
    middle, half = 0.5 * (Ix + Iy), math.hypot(0.5 * (Ix - Iy), Ixy)
    angle = 0.5 * math.atan2(-2.0 * Ixy, Ix - Iy) + 0.0 if half > ROUND * middle else 0.0
    upper, lower, right, left = (_modulus(outline, E, centroid, a, Ix, Iy) for a in (90.0, -90.0, 0.0, 180.0))
    I1, I2 = middle + half, middle - half
    about_1 = math.degrees(angle) + 90.0
    W1 = min(_over(outline, E, centroid, about_1 + k, I1) for k in (0.0, 180.0))
    W2 = min(_over(outline, E, centroid, about_1 - 90.0 + k, I2) for k in (0.0, 180.0))
    return Catalogue(
        name=outline.name,
        material=reference,
        parts=parts,
        area=area_of(outline),
        A=A,
        Ix=Ix,
        Iy=Iy,
        Ixy=Ixy,
        I1=I1,
        I2=I2,
        angle=angle,
        It=whole[4] / reference.G,
        Iw=Iw,
        centroid=centroid,
        shear_centre=shear_centre,
        elastic_shear_centre=elastic_shear_centre,
        shear_area_x=shear_area_x,
        shear_area_y=shear_area_y,
        W_top=upper,
        W_bottom=lower,
        W_left=left,
        W_right=right,
        W1=W1,
        W2=W2,
    )


def _modulus(outline: Outline, E: float, centroid: Point2, towards: float, Ix: float, Iy: float) -> float:
    return _over(outline, E, centroid, towards, Ix if abs(towards) == 90.0 else Iy)


def _over(outline: Outline, E: float, centroid: Point2, towards: float, second_moment: float) -> float:
    """A second moment over the largest distance in a direction [degrees], each material weighted by its E."""
    direction = np.array([math.cos(math.radians(towards)), math.sin(math.radians(towards))])
    furthest = max(
        float(((points - np.asarray(centroid)) @ direction).max()) * modulus / E
        for points, modulus in _edges(outline)
    )
    return second_moment / furthest


def _edges(outline: Outline) -> Iterator[tuple[Array, float]]:
    for part in regions(outline):
        yield np.asarray(part.polygon.exterior.coords)[:, :2], part.material.E
