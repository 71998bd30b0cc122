"""Directions as words or numbers, and the axes of faces, slides and spindles that follow from what one sees."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from strongback.errors import MachineError
from strongback.machine.values import Axes, Vector

__all__ = ["WORDS", "axis_axes", "direction", "face_axes", "slide_axes", "word_of"]

WORDS: dict[str, Vector] = {
    "x": (1.0, 0.0, 0.0),
    "+x": (1.0, 0.0, 0.0),
    "-x": (-1.0, 0.0, 0.0),
    "y": (0.0, 1.0, 0.0),
    "+y": (0.0, 1.0, 0.0),
    "-y": (0.0, -1.0, 0.0),
    "z": (0.0, 0.0, 1.0),
    "+z": (0.0, 0.0, 1.0),
    "-z": (0.0, 0.0, -1.0),
}
UP = (0.0, 0.0, 1.0)
LEVEL = math.cos(math.radians(45.0))  # a face that looks more up or down than this lies flat
RIGHT_ANGLE = 1e-6


def direction(given: str | Sequence[float]) -> Vector:
    """Unit vector of ``"+x"``, ``"-z"``, or of three numbers.

    Raises
    ------
    MachineError
        If it is neither.

    Examples
    --------
    >>> direction("-y")
    (0.0, -1.0, 0.0)
    """
    hint = 'write "+x", "-y" or three numbers'
    if isinstance(given, str):
        found = WORDS.get(given.strip().lower())
        if found is None:
            raise MachineError(f'"{given}" is not a direction', hint=hint)
        return found
    size = math.hypot(*given) if len(given) == 3 else math.nan
    if not 0.0 < size < math.inf:
        raise MachineError("a direction of no length", hint=hint)
    return given[0] / size, given[1] / size, given[2] / size


def word_of(vector: Sequence[float]) -> str:
    """The word of a direction along an axis, empty for any other.

    Examples
    --------
    >>> word_of((0.0, -1.0, 0.0)), word_of((0.6, 0.8, 0.0))
    ('-y', '')
    """
    unit = direction(vector)
    near = [word for word, axis in WORDS.items() if len(word) == 2 and math.dist(axis, unit) < 1e-6]
    return near[0] if near else ""


def face_axes(looks: str | Sequence[float]) -> Axes:
    """Axes of a face: z where it looks, x and y in it.

    A face that looks up or down has x to the machine's X. An upright face has x level and y up, so that sizes of faces
    are always given across and then deep or high.

    Parameters
    ----------
    looks : str or sequence of float
        Out of the part that is named first.

    Returns
    -------
    tuple of Vector

    Examples
    --------
    >>> face_axes("-y")
    ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0))
    """
    z = np.asarray(direction(looks))
    if abs(float(z @ UP)) > LEVEL:
        x = np.asarray(WORDS["x"]) - z[0] * z
    else:
        x = np.cross(UP, z)
    x = x / np.linalg.norm(x)
    return _vector(x), _vector(np.cross(z, x)), _vector(z)


def slide_axes(slides: str | Sequence[float], looks: str | Sequence[float]) -> Axes:
    """Axes of a slide: y along it, z where its faces look out of the part that is named first, x across.

    Raises
    ------
    MachineError
        If the faces look along the slide.
    """
    y, z = np.asarray(direction(slides)), np.asarray(direction(looks))
    if abs(float(y @ z)) > RIGHT_ANGLE:
        raise MachineError(
            "the faces of a slide cannot look along it", hint="slides and face_looks are at right angles"
        )
    return _vector(np.cross(y, z)), _vector(y), _vector(z)


def axis_axes(along: str | Sequence[float]) -> Axes:
    """Axes of a round joint: z along it, x and y across, where it is alike all round."""
    return face_axes(along)


def _vector(values: np.ndarray) -> Vector:
    x, y, z = (float(v) + 0.0 for v in values)
    return x, y, z
