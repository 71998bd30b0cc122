"""Outlines of everyday profiles, with the corner radii of their standards."""

from __future__ import annotations

import math

import numpy as np

from strongback.materials import Material
from strongback.section.outline import CHORD, from_rings, rounded
from strongback.section.values import Outline, Ring

__all__ = [
    "angle",
    "channel",
    "circle",
    "hollow_section",
    "i_section",
    "rectangle",
    "rectangular_tube",
    "round_tube",
    "slit_tube",
    "tapered_channel",
    "z_section",
]


def _box(width: float, depth: float) -> Ring:
    x, y = width / 2.0, depth / 2.0
    return ((-x, -y), (x, -y), (x, y), (-x, y))


def rectangle(material: Material | str, width: float, depth: float) -> Outline:
    """A bar, centred: width along x, depth along y [m].

    Examples
    --------
    >>> from strongback.section.outline import area_of
    >>> profile = rectangle("steel", 0.04, 0.02)
    >>> round(area_of(profile) * 1e6, 4)  # 40 x 20 [mm²]
    800.0
    """
    return from_rings("rectangle", material, _box(width, depth))


def circle_ring(diameter: float, count: int = 0, *, chord: float = CHORD) -> Ring:
    """A circle as a polygon of the same area, centred [m]."""
    n = count or max(16, math.ceil(math.pi / math.acos(1.0 - min(2.0 * chord / diameter, 0.5))))
    step = 2.0 * math.pi / n
    radius = diameter / 2.0 * math.sqrt(step / math.sin(step))
    return tuple((radius * math.cos(step * k), radius * math.sin(step * k)) for k in range(n))


def circle(material: Material | str, diameter: float, *, count: int = 0) -> Outline:
    """A round bar [m].

    Examples
    --------
    >>> from strongback.section.outline import area_of
    >>> profile = circle("steel", 0.02)
    >>> round(area_of(profile) * 1e6, 4)  # pi d²/4 [mm²]
    314.1593
    """
    return from_rings("circle", material, circle_ring(diameter, count))


def round_tube(material: Material | str, diameter: float, wall: float, *, count: int = 0) -> Outline:
    """A round tube with one cell, ``"inside"`` [m].

    Examples
    --------
    >>> from strongback.section.outline import area_of
    >>> profile = round_tube("steel", 0.06, 0.003)
    >>> round(area_of(profile) * 1e6, 4)  # pi (60² - 54²)/4 [mm²]
    537.2123
    """
    inner = circle_ring(diameter - 2.0 * wall, count)
    return from_rings("round tube", material, circle_ring(diameter, count), {"inside": inner})


def slit_tube(
    material: Material | str, diameter: float, wall: float, slit: float, *, count: int = 200
) -> Outline:
    """A round tube slit open along its length, the slit at +x [m].

    Examples
    --------
    >>> from strongback.section.outline import area_of
    >>> profile = slit_tube("steel", 0.06, 0.003, 0.002)
    >>> round(area_of(profile) * 1e6, 4)  # pi (60² - 54²)/4 less 3 x 2 of the slit, by chords [mm²]
    531.1233
    """
    outer, inner = diameter / 2.0, diameter / 2.0 - wall
    start = math.asin(slit / 2.0 / outer), math.asin(slit / 2.0 / inner)
    rings = [np.linspace(s, 2.0 * math.pi - s, count) for s in start]
    out = [(outer * math.cos(t), outer * math.sin(t)) for t in rings[0]]
    back = [(inner * math.cos(t), inner * math.sin(t)) for t in rings[1][::-1]]
    return from_rings("slit tube", material, [*out, *back])


def rectangular_tube(
    material: Material | str,
    width: float,
    depth: float,
    wall: float,
    *,
    outer_radius: float = 0.0,
    inner_radius: float = 0.0,
    chord: float = CHORD,
) -> Outline:
    """A rectangular hollow section with one cell, ``"inside"``.

    Parameters
    ----------
    material : Material or str
    width, depth : float
        Outside, along x and y [m].
    wall : float
        [m]
    outer_radius, inner_radius : float
        At the corners; not concentric in hot-finished sections (EN 10210-2: 1.5 t and 1.0 t) [m].
    chord : float
        Largest distance between arc and chord [m].

    Returns
    -------
    Outline

    Examples
    --------
    >>> from strongback.section.outline import area_of
    >>> profile = rectangular_tube("steel", 0.06, 0.08, 0.004)
    >>> round(area_of(profile) * 1e6, 4)  # 60 x 80 - 52 x 72 [mm²]
    1056.0
    """
    outer = rounded(_box(width, depth), outer_radius, chord=chord)
    inner = rounded(_box(width - 2.0 * wall, depth - 2.0 * wall), inner_radius, chord=chord)
    return from_rings("rectangular tube", material, outer, {"inside": inner})


def hollow_section(
    material: Material | str,
    width: float,
    depth: float,
    wall: float,
    *,
    hot_finished: bool,
    chord: float = CHORD,
) -> Outline:
    """A square or rectangular structural hollow section with the corners of its standard.

    Parameters
    ----------
    material : Material or str
    width, depth : float
        Outside, along x and y [m].
    wall : float
        t [m]
    hot_finished : bool
        Hot finished: radii 1.5 t outside and 1.0 t inside (EN 10210-2). Cold formed: 2 t and t up to t = 6 mm
        (EN 10219-2); above, 2.5 t and 1.5 t up to 10 mm, then 3 t and 2 t (the same, from memory).
    chord : float
        Largest distance between arc and chord [m].

    Returns
    -------
    Outline
        With one cell, ``"inside"``.

    Examples
    --------
    >>> from strongback.section.outline import area_of
    >>> profile = hollow_section("steel", 0.1, 0.1, 0.005, hot_finished=True)
    >>> round(area_of(profile) * 1e6, 4)  # EN 10210-2: 18.7 cm² [mm²]
    1873.1748
    """
    outer, inner = (1.5, 1.0) if hot_finished else _cold_radii(wall)
    return rectangular_tube(
        material, width, depth, wall, outer_radius=outer * wall, inner_radius=inner * wall, chord=chord
    )


def _cold_radii(wall: float) -> tuple[float, float]:
    if wall <= 0.006:
        return 2.0, 1.0
    return (2.5, 1.5) if wall <= 0.010 else (3.0, 2.0)


def i_section(
    material: Material | str,
    h: float,
    b: float,
    tf: float,
    tw: float,
    r: float = 0.0,
    *,
    chord: float = CHORD,
) -> Outline:
    """A rolled I or H with root fillets, centred (EN 10365) [m].

    Examples
    --------
    >>> from strongback.section.outline import area_of
    >>> profile = i_section("steel", 0.2, 0.1, 0.0085, 0.0056, 0.012)
    >>> round(area_of(profile) * 1e6, 4)  # IPE 200 by EN 10365: 28.5 cm² [mm²]
    2848.4107
    """
    x, y, w, f = b / 2.0, h / 2.0, tw / 2.0, h / 2.0 - tf
    points = [
        (-x, -y),
        (x, -y),
        (x, -f),
        (w, -f),
        (w, f),
        (x, f),
        (x, y),
        (-x, y),
        (-x, f),
        (-w, f),
        (-w, -f),
        (-x, -f),
    ]
    radii = [0, 0, 0, r, r, 0, 0, 0, 0, r, r, 0]
    return from_rings("I section", material, rounded(points, [float(v) for v in radii], chord=chord))


def channel(material: Material | str, h: float, b: float, tf: float, tw: float) -> Outline:
    """A channel with sharp corners: back of the web at x = 0, centred along y [m].

    Examples
    --------
    >>> from strongback.section.outline import area_of
    >>> profile = channel("steel", 0.08, 0.04, 0.005, 0.004)
    >>> round(area_of(profile) * 1e6, 4)  # 2 x 40 x 5 + 70 x 4 [mm²]
    680.0
    """
    y = h / 2.0
    points = [(0.0, -y), (b, -y), (b, -y + tf), (tw, -y + tf), (tw, y - tf), (b, y - tf), (b, y), (0.0, y)]
    return from_rings("channel", material, points)


def tapered_channel(
    material: Material | str,
    h: float,
    b: float,
    tw: float,
    tf: float,
    r1: float,
    r2: float,
    *,
    slope: float = 0.08,
) -> Outline:
    """A rolled channel with tapered flanges, tf measured at b/2 (DIN 1026-1); back of the web at x = 0 [m].

    Examples
    --------
    >>> from strongback.section.outline import area_of
    >>> profile = tapered_channel("steel", 0.1, 0.05, 0.006, 0.0085, 0.0085, 0.0045)
    >>> round(area_of(profile) * 1e6, 4)  # U 100 by DIN 1026-1: 13.5 cm² [mm²]
    1345.362
    """
    y = h / 2.0
    toe = y - (tf - slope * b / 2.0)
    root = y - (tf + slope * (b / 2.0 - tw))
    points = [(0.0, -y), (b, -y), (b, -toe), (tw, -root), (tw, root), (b, toe), (b, y), (0.0, y)]
    return from_rings("tapered channel", material, rounded(points, [0.0, 0.0, r2, r1, r1, r2, 0.0, 0.0]))


def angle(material: Material | str, h: float, b: float, t: float) -> Outline:
    """An angle with sharp corners, outer corner at the origin [m].

    Examples
    --------
    >>> from strongback.section.outline import area_of
    >>> profile = angle("steel", 0.05, 0.04, 0.005)
    >>> round(area_of(profile) * 1e6, 4)  # 50 x 5 + 35 x 5 [mm²]
    425.0
    """
    return from_rings("angle", material, [(0.0, 0.0), (b, 0.0), (b, t), (t, t), (t, h), (0.0, h)])


def z_section(material: Material | str, h: float, b: float, t: float) -> Outline:
    """A Z with equal flanges on mid-line sizes h and b, centred; top flange towards +x [m].

    Examples
    --------
    >>> from strongback.section.outline import area_of
    >>> profile = z_section("steel", 0.06, 0.04, 0.004)
    >>> round(area_of(profile) * 1e6, 4)  # (60 + 2 x 40) 4 [mm²]
    560.0
    """
    y, w = h / 2.0, t / 2.0
    points = [
        (-w, -y + w),
        (-w, y + w),
        (b, y + w),
        (b, y - w),
        (w, y - w),
        (w, -y - w),
        (-b, -y - w),
        (-b, -y + w),
    ]
    return from_rings("Z section", material, points[::-1])
