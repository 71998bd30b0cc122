"""An end face from a flatbed scan or a photograph with known lengths in it.

The end face stands dark on white paper (for a bright one say so), either inside a printed rectangle of known size, whose
four corners take the perspective out, or beside two known lengths, which scale a flatbed scan. Its contour is found
between the pixels at the grey half-way from face to paper and simplified to a stated tolerance. Needs the extra ``[scan]``.
"""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray

from strongback.errors import EnvironmentFault, LimitError, OutlineError
from strongback.materials import Material
from strongback.section import _trace
from strongback.section.cells import with_cells
from strongback.section.check import check
from strongback.section.outline import from_rings
from strongback.section.values import Outline, Point2

__all__ = ["Frame", "Lengths", "Scan", "read_scan"]

Array = NDArray[np.float64]
MAX_PIXELS = 60_000_000
MAX_BYTES = 200 << 20
TOLERANCE = 1e-4  # of the simplified contour [m]
SMALLEST = 4e-6  # hollows and specks below this area are left out [m²]
LEAST_CONTRAST = 0.15  # of face and paper, the paper being 1
MARGIN = 0.02  # of the frame, left out along its inside


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """A printed rectangle around the end face, in the same plane as it.

    Parameters
    ----------
    width, height : float
        Between the outsides of its lines [m].
    corners : tuple of (column, row), optional
        Its corners in the picture: top left, top right, bottom right, bottom left [pixels]. Default: found.
    """

    width: float
    height: float
    corners: tuple[Point2, Point2, Point2, Point2] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lengths:
    """Two known lengths in a flatbed scan.

    Parameters
    ----------
    first, second : tuple
        Two points of the picture (column, row) [pixels] and the distance between them [m].
    """

    first: tuple[Point2, Point2, float]
    second: tuple[Point2, Point2, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scan:
    """An outline and the picture that it was taken from, for a check by eye.

    Parameters
    ----------
    outline : Outline
        Lower left corner of the frame or of the picture at the origin.
    picture : ndarray of float, shape (rows, columns)
        Grey, 0 to 1.
    to_metres : ndarray, shape (3, 3)
        Projective map from (column, row) to (x, y).
    pixel : float
        Size of a pixel at the middle of the face [m].
    tolerance : float
        Of the simplified contour [m].
    notes : tuple of str
        What was left out, and what is doubtful about the picture.
    """

    outline: Outline
    picture: Array
    to_metres: Array
    pixel: float
    tolerance: float
    notes: tuple[str, ...]

    def __post_init__(self) -> None:
        self.picture.setflags(write=False)
        self.to_metres.setflags(write=False)

    def in_picture(self, points: Array) -> Array:
        """Points of the section (x, y) [m] in the picture (column, row) [pixels], both of shape (n, 2)."""
        return _trace.mapped(_trace.inverse(self.to_metres), np.asarray(points, dtype=np.float64))


def read_scan(
    path: Path,
    marks: Frame | Lengths,
    *,
    name: str,
    material: Material,
    tolerance: float = TOLERANCE,
    dark: bool = True,
    smallest: float = SMALLEST,
) -> Scan:
    """Take the outline of an end face from a picture.

    Parameters
    ----------
    path : Path
        PNG, JPEG or TIFF.
    marks : Frame or Lengths
        What is known in it.
    name : str
        Of the outline.
    material : Material
    tolerance : float
        By how much the simplified contour may leave the found one [m].
    dark : bool
        Whether the face is darker than what is around it.
    smallest : float
        Hollows and specks of less area are left out [m²].

    Returns
    -------
    Scan

    Raises
    ------
    OutlineError
        If no frame or no face is found, or what is found bounds no section.
    LimitError
        If the picture is larger than is read.
    EnvironmentFault
        If the extra ``[scan]`` is not installed.
    """
    if not (math.isfinite(tolerance) and tolerance > 0.0):
        raise OutlineError(f"tolerance {tolerance * 1e3:g} mm must be above 0")
    picture = _grey(path)
    notes: list[str] = []
    window = _window(picture, marks, notes, str(path))
    rings, left_out = _rings(_flattened(picture, window.mask, dark), window, smallest, str(path))
    if left_out:
        notes.append(f"{left_out} specks or hollows below {smallest * 1e6:g} mm² left out")
    outline = _outline(name, material, rings, tolerance)
    check(outline)
    pixel = _pixel_size(window.to_metres, rings[0])
    if pixel > 2.0 * tolerance:
        notes.append(f"a pixel is {pixel * 1e3:.2g} mm, coarser than the tolerance of {tolerance * 1e3:g} mm")
    return Scan(
        outline=outline,
        picture=picture,
        to_metres=window.to_metres,
        pixel=pixel,
        tolerance=tolerance,
        notes=tuple(notes),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Window:
    """Where in the picture the face may be, and how it maps to metres."""

    to_metres: Array
    mask: NDArray[np.bool_]


def _grey(path: Path) -> Array:
    """The picture in grey, 0 to 1; refused before it is unpacked if it is too large."""
    try:
        from PIL import Image, UnidentifiedImageError
    except ImportError:
        raise EnvironmentFault("pictures need scikit-image", hint="pip install 'strongback[scan]'") from None
    if not path.is_file():
        raise OutlineError(f"{path}: no such picture")
    if path.stat().st_size > MAX_BYTES:
        raise LimitError(f"{path} is larger than {MAX_BYTES >> 20} MiB")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(path, formats=("PNG", "JPEG", "TIFF")) as image:
                columns, rows = image.size
                if columns * rows > MAX_PIXELS:
                    raise LimitError(
                        f"{path} has {columns} x {rows} pixels, at most {MAX_PIXELS:,} are read",
                        hint="scan at 300 dots an inch, or make it smaller",
                    )
                return np.asarray(image.convert("L"), dtype=np.float64) / 255.0
    except (UnidentifiedImageError, Image.DecompressionBombError, OSError, SyntaxError, ValueError) as error:
        raise OutlineError(
            f"{path} is not a picture that can be read: {error}", hint="PNG, JPEG and TIFF are read"
        ) from None


def _contours(image: Array, level: float) -> list[Array]:
    """Closed contours (column, row) at a level; see `_area` for their sense."""
    try:
        from skimage.measure import find_contours
    except ImportError:
        raise EnvironmentFault("contours need scikit-image", hint="pip install 'strongback[scan]'") from None
    found = find_contours(image, level, positive_orientation="low")
    return [c[:, ::-1] for c in found if len(c) > 8 and np.array_equal(c[0], c[-1])]


def _half_way(values: Array) -> float:
    """The grey half-way between the dark and the bright pixels: twice the two means, split at their middle."""
    level = 0.5 * (float(values.min()) + float(values.max()))
    for _ in range(50):
        dark, bright = values[values <= level], values[values > level]
        if len(dark) == 0 or len(bright) == 0:
            break
        moved = 0.5 * (float(np.median(dark)) + float(np.median(bright)))
        if abs(moved - level) < 1e-4:
            break
        level = moved
    return level


def _window(picture: Array, marks: Frame | Lengths, notes: list[str], where: str) -> _Window:
    if isinstance(marks, Lengths):
        return _Window(_scaled(marks, picture.shape[0], notes), np.ones(picture.shape, dtype=bool))
    if not (math.isfinite(marks.width * marks.height) and min(marks.width, marks.height) > 0.0):
        raise OutlineError(f"{where}: the frame has no size")
    corners = np.array(marks.corners) if marks.corners else _found_frame(picture, notes, where)
    if not np.all(np.isfinite(corners)) or not shapely.Polygon(corners).is_valid:
        raise OutlineError(f"{where}: the corners of the frame do not bound it", hint="go around it")
    plane = np.array([[0.0, marks.height], [marks.width, marks.height], [marks.width, 0.0], [0.0, 0.0]])
    to_metres = _trace.homography(corners, plane)
    inner = plane.mean(axis=0) + (plane - plane.mean(axis=0)) * (1.0 - 2.0 * MARGIN)
    ring = _trace.mapped(_trace.inverse(to_metres), inner)
    return _Window(to_metres, _inside(picture.shape, ring))


def _inside(shape: tuple[int, ...], ring: Array) -> NDArray[np.bool_]:
    """Pixels inside a convex ring."""
    y, x = np.mgrid[: shape[0], : shape[1]]
    mask = np.ones(shape, dtype=bool)
    centre = ring.mean(axis=0)
    for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        side = (b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0])
        own = (b[0] - a[0]) * (centre[1] - a[1]) - (b[1] - a[1]) * (centre[0] - a[0])
        mask &= side * own > 0.0
    return mask


def _found_frame(picture: Array, notes: list[str], where: str) -> Array:
    """Corners of the largest dark quadrilateral, at the grey half-way from its own ink to the paper."""
    flat = _flattened(picture, np.ones(picture.shape, dtype=bool), dark=True)
    found = _largest_quadrilateral(flat, _half_way(flat[::4, ::4]))
    if found is not None:
        found = _largest_quadrilateral(flat, _trace.level_across(flat, found[0])) or found
    if found is None:
        raise OutlineError(
            f"{where}: no printed rectangle found",
            hint="give its four corners in pixels, or two known lengths",
        )
    corners, bend = found
    if bend > 1.5:
        notes.append(f"sides of the frame bend by {bend:.1f} pixels: take the picture from farther away")
    return _trace.clockwise_from_top_left(corners)


def _largest_quadrilateral(flat: Array, level: float) -> tuple[Array, float] | None:
    for contour in sorted(_contours(flat, level), key=_area, reverse=True):
        if _area(contour) < 0.05 * flat.size:
            return None
        found = _trace.quadrilateral(contour)
        if found is not None:
            return found
    return None


def _area(contour: Array) -> float:
    """Area of a contour, above 0 where it runs around dark pixels."""
    x, y = contour.T
    return float(0.5 * np.sum(x[1:] * y[:-1] - x[:-1] * y[1:]))


def _scaled(marks: Lengths, rows: int, notes: list[str]) -> Array:
    """Scale along columns and rows from two lengths; one scale for both where they run the same way."""
    spans = np.array([np.subtract(b, a) for a, b, _ in (marks.first, marks.second)], dtype=float)
    known = np.array([marks.first[2], marks.second[2]])
    if not (
        np.all(np.isfinite(known)) and np.all(known > 0.0) and np.all(np.linalg.norm(spans, axis=1) > 1.0)
    ):
        raise OutlineError("a known length needs two different points and a length above 0")
    each = known / np.linalg.norm(spans, axis=1)
    squares = spans**2
    scale = np.array([each.mean(), each.mean()])
    if abs(np.linalg.det(squares / squares.sum(axis=1, keepdims=True))) > 0.3:
        solved = np.linalg.solve(squares, known**2)
        if np.all(solved > 0.0):
            scale = np.sqrt(solved)
    off = abs(each[0] / each[1] - 1.0)
    if off > 0.01:
        notes.append(f"the two known lengths give scales {off:.1%} apart")
    return np.array([[scale[0], 0.0, 0.0], [0.0, -scale[1], scale[1] * (rows - 1)], [0.0, 0.0, 1.0]])


def _flattened(picture: Array, mask: NDArray[np.bool_], dark: bool) -> Array:
    """The picture with even light: paper at 1 all over, outside of the mask too; a bright face is turned dark."""
    grey = picture if dark else 1.0 - picture
    inside = grey[mask]
    level = _half_way(inside)
    paper = mask & (grey > level)
    if not np.any(paper):
        raise OutlineError("the picture has one shade only: no face found")
    flat = grey / np.maximum(_trace.paper_shade(grey, paper), 0.05) if dark else grey / np.median(grey[paper])
    return np.where(mask, np.minimum(flat, 1.2), 1.0)


def _rings(flat: Array, window: _Window, smallest: float, where: str) -> tuple[list[Array], int]:
    """Outer contour and hollows of the largest dark spot [m], and how many others were left out."""
    level = _half_way(flat[window.mask])
    nothing = OutlineError(
        f"{where}: no end face found", hint="it must stand out from the paper and lie inside of the frame"
    )
    shades = flat[window.mask]
    if np.median(shades[shades > level]) - np.median(shades[shades <= level]) < LEAST_CONTRAST:
        raise nothing
    padded = np.pad(flat, 1, constant_values=1.0)
    contours = [c - 1.0 for c in _contours(padded, level)]
    rings = [_trace.mapped(window.to_metres, c) for c in contours]
    signs = np.array([_area(c) for c in contours])
    areas = np.array([shapely.Polygon(r).area for r in rings])
    spots = np.flatnonzero(signs > 0.0)
    if len(spots) == 0 or areas[spots].max() < smallest:
        raise nothing
    outer = int(spots[np.argmax(areas[spots])])
    face = shapely.Polygon(rings[outer])
    shapely.prepare(face)
    held = [int(i) for i in np.flatnonzero(signs < 0.0) if face.contains(shapely.Point(rings[i][0]))]
    hollow = [i for i in held if areas[i] >= smallest]
    others = [r for i, r in enumerate(rings) if signs[i] > 0.0 and i != outer and areas[i] >= smallest]
    if others:
        x, y = others[0][0] * 1e3
        raise OutlineError(
            f"{where}: a second piece is seen at ({x:.4g}, {y:.4g}) mm, not joined to the first",
            hint="clean the face, or raise the smallest area",
        )
    return [rings[i] for i in (outer, *hollow)], len(rings) - 1 - len(hollow)


def _outline(name: str, material: Material, rings: list[Array], tolerance: float) -> Outline:
    simple = [[(float(x), float(y)) for x, y in _trace.simplified(r, tolerance)] for r in rings]
    bare = from_rings(name, material, simple[0], {str(i): r for i, r in enumerate(simple[1:])})
    return with_cells(Outline(name=name, walls=bare.walls))


def _pixel_size(to_metres: Array, ring: Array) -> float:
    middle = _trace.mapped(_trace.inverse(to_metres), ring.mean(axis=0)[None])
    steps = _trace.mapped(to_metres, middle + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    return float(np.linalg.norm(steps[1:] - steps[0], axis=1).max())
