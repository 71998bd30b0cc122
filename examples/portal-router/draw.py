"""Draws the five-cell beam of this example and writes its rings to five-cell-beam.csv; all sizes are invented.

Run in this folder: python draw.py. Sizes in millimetres; x points away from the operator, y up.
"""

from __future__ import annotations

import math
from pathlib import Path

from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

SKIN, WEB, AROUND_SLOT = 3.2, 2.6, 2.6
FACE = Polygon([(42, -72), (-42, -72), (-42, 72), (12, 72), (42, 46)])  # the rear upper edge is cut off
SLOTS = [("-x", 50), ("-x", -50), ("+x", -2), ("-y", 0)]
WEBS = [box(-42, 26, 42, 26 + WEB), box(-42, -34, 42, -34 + WEB), box(4 - WEB, -33, 4, 72)]
BOSS, BORE = (-4.0, 27.3), 6.8  # where two webs meet; tapped M8
NAMES = {
    "bottom": (0, -50),
    "middle front": (-25, 0),
    "middle rear": (25, 10),
    "top front": (-20, 55),
    "top rear": (20, 45),
}


def slot(side: str, at: float, grow: float = 0.0) -> Polygon:
    """A T-slot: mouth 8 mm, lips 4 mm thick, room 16 by 7 mm behind them; grown for the wall around it."""
    room = box(-11 - grow, -8 - grow, -4 + (grow and 4), 8 + grow)
    shape = room if grow else unary_union([room, box(-4.5, -4, 0.001, 4)])
    turn = {"+x": (1, 0, 42), "-x": (-1, 0, 42), "-y": (0, -1, 72)}[side]
    points = []
    for x, y in shape.exterior.coords:
        out = turn[2] + x
        points.append((turn[0] * out, at + y) if turn[0] else (at + y, turn[1] * out))
    return Polygon(points)


def radius_of(ring: list[tuple[float, float]], i: int, convex: float, hollow: float) -> float:
    """Fillet of a corner: as wanted, or what its shorter side leaves."""
    a, b, c = ring[i - 1], ring[i], ring[(i + 1) % len(ring)]
    cross = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
    room = 0.45 * min(math.dist(a, b), math.dist(b, c))
    return round(min(convex if cross > 0 else hollow, room), 2)


def rows(name: str, shape: Polygon, convex: float, hollow: float) -> list[str]:
    ring = [(round(x, 3), round(y, 3)) for x, y in orient(shape.simplify(0.01)).exterior.coords[:-1]]
    return [f"{name},{x:g},{y:g},{radius_of(ring, i, convex, hollow):g}" for i, (x, y) in enumerate(ring)]


def main() -> None:
    outer = FACE.difference(unary_union([slot(*s) for s in SLOTS]))
    x, y = BOSS
    boss = box(x - 8, y - 8, x + 8, y + 8)
    solid = unary_union([*(slot(*s, AROUND_SLOT) for s in SLOTS), *WEBS, boss])
    hollow = FACE.buffer(-SKIN, join_style="mitre").difference(solid)
    lines = rows("outer", outer, 0.8, 0.8)
    for name, at in NAMES.items():
        cell = min(hollow.geoms, key=lambda g: math.dist((g.centroid.x, g.centroid.y), at))
        lines += rows(name, cell, 2.0, 1.5)
    half = BORE / 2
    lines += [
        f"screw,{x + dx * half:g},{y + dy * half:g},{half:g}"
        for dx, dy in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    head = [
        "# Five-cell beam of a portal router: an invented extrusion, 84 by 144 mm. Written by draw.py.",
        "# Each row is a corner with its fillet; every ring but the outer one is a hollow.",
        "ring,x [mm],y [mm],radius [mm]",
    ]
    Path(__file__).with_name("five-cell-beam.csv").write_text(
        "\n".join([*head, *lines]) + "\n", encoding="utf-8"
    )


if __name__ == "__main__":
    main()
