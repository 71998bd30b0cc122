"""Faces of solids on paper: those that look at the eye, shaded, the far ones first."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PathCollection
from matplotlib.colors import to_rgb
from matplotlib.path import Path as Curve
from numpy.typing import NDArray

from strongback.machine.room import right_of, towards
from strongback.views import style
from strongback.views.camera import Camera
from strongback.views.solids import Box, Prism

__all__ = ["Painted", "Stage", "of_box", "of_prism", "paint"]

Array = NDArray[np.float64]
Colour = tuple[float, float, float]
Clear = tuple[float, float, float, float]
LIGHT = np.array([0.35, 0.65, 0.67])  # from the operator's right, from the front, from above
INSIDE = -0.6  # how much darker one sees into a hollow
CLEAR = 0.45  # how much the side of a box covers
BOX = np.array([(0, 3, 2, 1), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7)])


class Stage(Protocol):
    """From where the solids are seen, and how much their motion is magnified."""

    @property
    def camera(self) -> Camera:
        """The eye."""

    @property
    def factor(self) -> float:
        """Magnification."""

    def page(self, points: Array) -> Array:
        """Points on the page."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Painted:
    """A face on the page.

    Parameters
    ----------
    rings : tuple of ndarray, shape (n, 2)
        Outer edge and edges of holes.
    depth : float
        How near it is to the eye.
    face, edge : tuple of float
        Colours.
    """

    rings: tuple[Array, ...]
    depth: float
    face: Colour | Clear
    edge: Colour


def of_prism(prism: Prism, stage: Stage, colour: str) -> list[Painted]:
    """Sides and end faces of a prism that look at the eye.

    Parameters
    ----------
    prism : Prism
    stage : Stage
    colour : str
        Of its part; fills have their own.
    """
    points = prism.points + stage.factor * prism.displacement
    tint = style.ROLES["fill"] if prism.face.kind == "fill" else colour
    found = [] if prism.face.kind == "fill" else _sides(points[:, prism.outer()], stage, tint)
    return found + _ends(prism, points, stage, tint)


def _sides(points: Array, stage: Stage, colour: str) -> list[Painted]:
    nxt = np.roll(points, -1, axis=1)
    faces = np.stack([points[:-1], nxt[:-1], nxt[1:], points[1:]], axis=2).reshape(-1, 4, 3)
    return _flat(faces, stage, colour)


def _flat(faces: Array, stage: Stage, colour: str) -> list[Painted]:
    """Four-cornered faces, counter-clockwise from outside."""
    normal = np.cross(faces[:, 2] - faces[:, 0], faces[:, 3] - faces[:, 1])
    seen = normal @ stage.camera.axes()[2] > 0.0
    faces, normal = faces[seen], normal[seen]
    tints = _tints(normal, colour, stage.camera)
    depth = stage.camera.depth(faces.mean(axis=1))
    return [
        Painted(rings=(page,), depth=float(d), face=tint, edge=tint)
        for page, d, tint in zip(stage.page(faces), depth, tints, strict=True)
    ]


def _ends(prism: Prism, points: Array, stage: Stage, colour: str) -> list[Painted]:
    """The end face that looks at the eye, with its hollows dark."""
    found = []
    eye = stage.camera.axes()[2]
    along = points[-1].mean(axis=0) - points[0].mean(axis=0)
    for end, out in ((points[0], -along), (points[-1], along)):
        if out @ eye <= 0.0:
            continue
        cuts = np.cumsum([len(ring) for ring in prism.face.rings])[:-1]
        rings = tuple(np.split(stage.page(end), cuts))
        depth = float(stage.camera.depth(end.mean(axis=0)))
        ink = _rgb(style.INK)
        over = 1e-9 if prism.face.kind != "wall" else 0.0  # what stands in a hollow covers its darkness
        if len(rings) > 1 and prism.face.kind == "wall":
            dark = _rgb(style.shade(colour, INSIDE))
            found.append(Painted(rings=rings[:1], depth=depth - 1e-9, face=dark, edge=dark))
        lit = _rgb(style.shade(colour, 0.25))
        found.append(Painted(rings=rings, depth=depth + over, face=lit, edge=ink))
    return found


def of_box(box: Box, stage: Stage, colour: str) -> list[Painted]:
    """Sides of a box that look at the eye, clear: what stands in it is seen, and its size is none of the model's.

    Parameters
    ----------
    box : Box
    stage : Stage
    colour : str
    """
    points = box.points + stage.factor * box.displacement
    edge = _rgb(style.shade(colour, -0.3))
    return [
        dataclasses.replace(side, face=(*side.face[:3], CLEAR), edge=edge)
        for side in _flat(points[BOX], stage, colour)
    ]


def _tints(normal: Array, colour: str, camera: Camera) -> list[Colour]:
    """Colour of faces by how they turn to the light."""
    size = np.linalg.norm(normal, axis=1, keepdims=True)
    light = LIGHT @ np.array([right_of(camera.operator), towards(camera.operator), (0.0, 0.0, 1.0)])
    facing = np.abs((normal / np.where(size > 0.0, size, 1.0)) @ (light / np.linalg.norm(light)))
    base = np.array(to_rgb(colour))
    return [(float(r), float(g), float(b)) for r, g, b in base * (0.62 + 0.38 * facing[:, None])]


def _rgb(colour: str) -> Colour:
    red, green, blue = to_rgb(colour)
    return red, green, blue


def paint(axes: Axes, shapes: list[Painted]) -> None:
    """Draw faces, the far ones first."""
    ordered = sorted(shapes, key=lambda shape: shape.depth)
    paths = [
        Curve.make_compound_path(*(Curve(np.vstack([r, r[:1]]), closed=True) for r in shape.rings))
        for shape in ordered
    ]
    axes.add_collection(
        PathCollection(
            paths,
            facecolors=[shape.face for shape in ordered],
            edgecolors=[shape.edge for shape in ordered],
            linewidths=0.4,
            zorder=3,
        )
    )
