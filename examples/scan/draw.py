"""Draw the invented picture of this folder: an end face of known geometry, seen at ten degrees.

Nothing here was photographed. The profile, its sizes and the picture are made up so that what is read from the picture
can be compared with what was drawn. Run it as ``python draw.py`` to draw the picture again.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

FRAME = (140.0, 110.0)  # outside of the printed rectangle [mm]
LINE = 1.0  # its line [mm]
SIZE = (1000, 800)  # of the picture [pixels]
FINER = 8  # drawn so many times larger, then averaged
TILT = math.radians(10.0)
PAPER, INK, METAL = 232, 25, 70  # grey


def box(x0: float, y0: float, x1: float, y1: float, radius: float = 0.0) -> list[tuple[float, float]]:
    """A rectangle with round corners, counter-clockwise [mm]."""
    if radius == 0.0:
        return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    centres = [
        (x1 - radius, y1 - radius),
        (x0 + radius, y1 - radius),
        (x0 + radius, y0 + radius),
        (x1 - radius, y0 + radius),
    ]
    return [
        (cx + radius * math.cos(t), cy + radius * math.sin(t))
        for k, (cx, cy) in enumerate(centres)
        for t in np.linspace(k * math.pi / 2, (k + 1) * math.pi / 2, 16)
    ]


def outer() -> list[tuple[float, float]]:
    """Outer edge of the profile, 100 x 80 mm with two T-slots in its upper side [mm]."""
    ring = [(20.0, 15.0), (120.0, 15.0), (120.0, 95.0)]
    for x in (95.0, 45.0):
        ring += [
            (x + 4, 95.0),
            (x + 4, 92.0),
            (x + 8, 92.0),
            (x + 8, 86.0),
            (x - 8, 86.0),
            (x - 8, 92.0),
            (x - 4, 92.0),
            (x - 4, 95.0),
        ]
    return [*ring, (20.0, 95.0)]


def hollows() -> list[list[tuple[float, float]]]:
    """Inner edges: three cells [mm]."""
    return [box(24, 19, 68, 82, 3.0), box(72, 19, 116, 48, 3.0), box(72, 52, 116, 82, 3.0)]


def seen(points: list[tuple[float, float]], tilt: float = TILT, size: tuple[int, int] = SIZE) -> np.ndarray:
    """Where points of the paper [mm] are in a picture taken from 500 mm away, tilted about both edges of the paper."""
    p = np.column_stack([np.array(points) - np.array(FRAME) / 2.0, np.zeros(len(points))])
    c, s = math.cos(tilt), math.sin(tilt)
    about_x = np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    c, s = math.cos(tilt / 3.0), math.sin(tilt / 3.0)
    about_y = np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])
    x, y, z = (p @ about_x.T @ about_y.T).T
    scale = 0.86 * size[0] / FRAME[0] * 500.0 / (500.0 - z)
    return np.column_stack([size[0] / 2.0 - 0.5 + scale * x, size[1] / 2.0 - 0.5 - scale * y])


def picture(
    outer_ring: list[tuple[float, float]],
    holes: list[list[tuple[float, float]]],
    *,
    tilt: float = TILT,
    size: tuple[int, int] = SIZE,
    noise: float = 0.0,
) -> Image.Image:
    """The paper with its printed frame and an end face, in uneven light."""
    large = Image.new("L", (size[0] * FINER, size[1] * FINER), PAPER)
    draw = ImageDraw.Draw(large)
    w, h = FRAME
    rings = [(box(0, 0, w, h), INK), (box(LINE, LINE, w - LINE, h - LINE), PAPER), (outer_ring, METAL)]
    for ring, grey in [*rings, *((hole, PAPER) for hole in holes)]:
        draw.polygon([tuple(q) for q in (seen(ring, tilt, size) + 0.5) * FINER - 0.5], fill=grey)
    image = large.resize(size, Image.Resampling.BOX).filter(ImageFilter.GaussianBlur(0.8))
    grey = np.asarray(image, dtype=float)
    light = 1.0 - 0.15 * np.linspace(0, 1, size[0])[None, :] - 0.08 * np.linspace(0, 1, size[1])[:, None] ** 2
    grey = grey * light + noise * np.random.default_rng(1).normal(size=grey.shape)
    return Image.fromarray(np.clip(np.rint(grey), 0, 255).astype(np.uint8))


def main() -> None:
    """Draw the picture into this folder."""
    picture(outer(), hollows()).save(Path(__file__).with_name("end-face.png"), optimize=True)


if __name__ == "__main__":
    main()
