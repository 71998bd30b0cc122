"""A section on its way from its table to an outline: what is drawn so far, where its points stand, and every fault at the
point that causes it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, Point

from strongback.errors import InputError, MaterialError
from strongback.materials import Material, material
from strongback.project.crossing import corner_across, meant
from strongback.project.document import Path
from strongback.project.schema_sections import SectionTable
from strongback.project.source import Source
from strongback.project.tables import Reader, Row
from strongback.section.check import in_mm, more_points, refuse
from strongback.section.outline import LARGEST, ring_of, rounded
from strongback.section.repair import mended
from strongback.section.values import EVER_POINTS, Outline, Point2, Ring, Wall

__all__ = ["Draft", "Given", "Spot"]

CLOSEST = 1e-7  # as the check of outlines has it [m]
_ANY = Material(name="any", E=1.0, nu=0.0, density=1.0, source="for checks of shape alone")


@dataclass(frozen=True, slots=True)
class Spot:
    """A point of a drawing and where it stands in a file."""

    at: Point2
    source: Source
    offset: int
    width: int


class Given(Exception):
    """A fault that has been reported; the section cannot be built."""


@dataclass(slots=True)
class Draft:
    """A section on its way: its table, what is drawn so far, and where its points stand."""

    reader: Reader
    row: Row[SectionTable]
    materials: Mapping[str, Material]
    spots: list[Spot] = field(default_factory=list)
    file_rings: dict[str, Ring] = field(default_factory=dict)

    @property
    def table(self) -> SectionTable:
        return self.row.table

    def stop(self, path: Path, message: str, hint: str = "") -> Given:
        """Report a fault; raise what it returns."""
        self.reader.fault((*self.row.path, *path), message, hint)
        return Given()

    def material(self, name: str | None, path: Path) -> Material:
        if name is None:
            raise self.stop(path[:-1], "material is missing", 'give the name of a material, such as "steel"')
        try:
            return material(name, dict(self.materials))
        except MaterialError as error:
            raise self.stop(path, error.message, error.hint) from None

    def spots_at(self, points: Sequence[tuple[float, ...]], path: Path) -> list[Spot]:
        """Where the points of a list of the project file stand."""
        document = self.reader.document
        found = []
        for i, point in enumerate(points):
            place = document.place((*self.row.path, *path, i))
            assert place is not None
            found.append(Spot((point[0], point[1]), document.source, place.start, place.end - place.start))
        return found

    def ring(self, points: Sequence[tuple[float, float, float]], path: Path, radius: float = 0.0) -> Ring:
        """A ring of the project file, its corners rounded."""
        radii = [r or radius for _, _, r in points]
        return self.drawn([(x, y) for x, y, _ in points], radii, self.spots_at(points, path))

    def apart(self, points: Sequence[Point2], spots: Sequence[Spot]) -> None:
        """Refuse points that repeat the one before or lie far out."""
        self.spots += spots
        for i, (point, spot) in enumerate(zip(points, spots, strict=False)):
            if i and math.dist(points[i - 1], point) < CLOSEST:
                self.at(spot, f"the point {in_mm(point)} is there twice in a row", "drop one")
                raise Given
            if max(abs(point[0]), abs(point[1])) > LARGEST:
                self.at(spot, f"the point {in_mm(point)} is further out than {LARGEST:g} m", "check the unit")
                raise Given

    def drawn(self, points: list[Point2], radii: list[float], spots: list[Spot]) -> Ring:
        """Points as a ring: closed once, free of repeats, corners rounded."""
        if len(points) > 1 and math.dist(points[0], points[-1]) < CLOSEST:
            points, radii, spots = points[:-1], radii[:-1], spots[:-1]
        self.apart(points, spots)
        if len(points) < 3:
            self.at(spots[0], f"{len(points)} points bound no area", "a ring has at least three")
            raise Given
        most = self.table.max_points
        if len(points) > most:
            hint = f"at most {most:,} are read; allow more: {more_points(len(points))}"
            self.at(spots[most], f"an outline of {len(points):,} points", hint)
            raise Given
        for i, spot in enumerate(spots):
            if _turns_back(points[i - 1], points[i], points[(i + 1) % len(points)]):
                words = f"the outline turns back on itself at {in_mm(points[i])}"
                self.at(spot, words, "list the points in order around it")
                raise Given
        ring: Ring = self.guarded(lambda: rounded(points, radii) if any(radii) else ring_of(points), spots)
        self.sound(ring, spots)
        return ring

    def sound(self, ring: Ring, spots: Sequence[Spot]) -> None:
        """Refuse a ring that crosses or touches itself, at the side that does."""
        try:
            wall = Wall(name="wall", material=_ANY, ring=ring)
            refuse(Outline(name="ring", walls=(wall,), max_points=EVER_POINTS))
        except InputError as error:
            message = error.message.split(": ", 1)[-1]
            point = getattr(error, "point", None)
            error.hint = mended(Outline(name="ring", walls=(wall,), max_points=EVER_POINTS)) or error.hint
            if point is None:
                self.at(spots[0], message, error.hint)
            else:
                sides = zip(spots, [*spots[1:], spots[0]], strict=True)
                side = min(
                    sides, key=lambda pair: LineString([pair[0].at, pair[1].at]).distance(Point(point))
                )
                self.at(side[0], f"the outline {message}", _which(spots) or error.hint, spots, point)
            raise Given from None

    def guarded(self, build: Callable[[], Any], spots: Sequence[Spot]) -> Any:
        """Run a builder of geometry; what it refuses is a fault at the nearest point."""
        try:
            with np.errstate(all="ignore"):
                return build()
        except InputError as error:
            self.refused(error)
        except (ValueError, ArithmeticError, AttributeError, IndexError, shapely.errors.ShapelyError):
            name = self.table.name
            if spots:
                self.at(spots[0], f'section "{name}": the outline that starts here turns back on itself')
            else:
                self.reader.fault(self.row.path, "its sizes give no outline")
        raise Given

    def at(
        self,
        spot: Spot,
        message: str,
        hint: str = "",
        ring: Sequence[Spot] = (),
        mark: Point2 | None = None,
    ) -> None:
        named = (
            message
            if message.startswith(("section", "outline"))
            else f'section "{self.table.name}": {message}'
        )
        corners = tuple(s.at for s in ring or self.spots)
        mark = spot.at if mark is None else mark
        self.reader.faults.add(
            spot.source, spot.offset, named, hint, width=spot.width, ring=corners, mark=mark
        )

    def refused(self, error: InputError) -> None:
        """Report what the section stage refuses, at the point that stands nearest."""
        point = getattr(error, "point", None)
        message = (
            error.message.replace("outline", "section", 1)
            if error.message.startswith("outline")
            else error.message
        )
        if point is None or not self.spots or not all(math.isfinite(v) for v in point):
            self.reader.fault_at_table(self.row.path, message, error.hint)
            return
        self.at(min(self.spots, key=lambda spot: math.dist(spot.at, point)), message, error.hint)


def _turns_back(before: Point2, corner: Point2, after: Point2) -> bool:
    """Whether the sides at a corner lie on each other."""
    a = (before[0] - corner[0], before[1] - corner[1])
    b = (after[0] - corner[0], after[1] - corner[1])
    size = math.hypot(*a) * math.hypot(*b)
    return a[0] * b[0] + a[1] * b[1] > 0.0 and abs(a[0] * b[1] - a[1] * b[0]) <= 1e-9 * size


def _which(spots: Sequence[Spot]) -> str:
    """The corner that lies across, and what was likely meant; empty if it is not plain."""
    points = [spot.at for spot in spots]
    corner = corner_across(points)
    if corner is None:
        return ""
    other = meant(points, corner)
    swapped = f"; two digits swapped? {in_mm(other)} would do" if other is not None else ""
    return f"corner {corner + 1}, {in_mm(points[corner])}, lies across{swapped}"
