"""Materials and outlines shared by the tests of the section stage."""

from __future__ import annotations

from strongback.materials import Material
from strongback.section.outline import from_rings
from strongback.section.values import Outline, Point2


def made_of(E: float, nu: float, density: float = 1000.0) -> Material:
    """A material for a test."""
    return Material(name=f"E = {E:g}, nu = {nu:g}", E=E, nu=nu, density=density, source="made for a test")


UNIT = made_of(2.0, 0.0)  # G = 1
ALUMINIUM = made_of(70e9, 0.33, 2700.0)
MINERAL = made_of(30e9, 0.2, 2300.0)


def box(x0: float, y0: float, x1: float, y1: float) -> list[Point2]:
    """Corners of a rectangle, counter-clockwise."""
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def two_cells(material: Material = ALUMINIUM) -> Outline:
    """An unsymmetric profile of two cells with a flange."""
    outer = [(0.0, 0.0), (0.1, 0.0), (0.1, 0.05), (0.12, 0.05), (0.12, 0.055), (0.0, 0.06)]
    return from_rings(
        "two cells",
        material,
        outer,
        {"a": box(0.004, 0.004, 0.06, 0.05), "b": box(0.064, 0.004, 0.096, 0.045)},
    )
