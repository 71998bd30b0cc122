"""A slideway with gibs: lightly loaded pads, linear in pressure, softer the wider they are."""

from __future__ import annotations

from dataclasses import dataclass

from strongback.errors import MachineError
from strongback.machine.joints.contact import slide_stiffness
from strongback.machine.joints.starting import StartingStiffness, positive, spread
from strongback.machine.values import FREE, Six

__all__ = ["SlidePad", "slideway"]

SOURCE = "Levina, in Ito, Modular Design for Machine Tools, 2008, Table 6-7"


@dataclass(frozen=True, slots=True, kw_only=True)
class SlidePad:
    """A pad of the slide.

    Parameters
    ----------
    at : tuple of float
        Centre across and along the slide [m].
    size : tuple of float
        Width across and length along the slide [m].
    """

    at: tuple[float, float]
    size: tuple[float, float]


def slideway(
    pads: tuple[SlidePad, ...], *, vertical: bool = False, along: tuple[float, float] | None = None
) -> StartingStiffness:
    """Starting stiffness of a slide on pads whose gibs are adjusted, at the origin of the pads' places.

    Parameters
    ----------
    pads : tuple of SlidePad
        All press in the same direction; give opposed faces as pads of their own.
    vertical : bool
        Whether the slide runs up and down.
    along : tuple of float, optional
        Lowest and highest stiffness along the slide, of screw or lock [N/m]; free without.

    Returns
    -------
    StartingStiffness
        x across the slide, y along it, z normal to the pads. A factor of two is put on each side of the table's range
        for gib adjustment (common practice, no source); across the slide a tenth to a fifth of the normal stiffness
        (Kono et al., Key Engineering Materials 523-524, 2012, 457, for machine supports).

    Raises
    ------
    MachineError
        If there is no pad or one is wider than the table.
    """
    if not pads:
        raise MachineError("a slideway without pads", hint="list the pads that carry it")
    rows = [_sums(pad, vertical, end) for end in (0, 1) for pad in pads]
    low = _six([sum(c) / 2.0 for c in zip(*rows[: len(pads)], strict=True)], 0.1, along[0] if along else FREE)
    high = _six(
        [sum(c) * 2.0 for c in zip(*rows[len(pads) :], strict=True)], 0.2, along[1] if along else FREE
    )
    return StartingStiffness(middle=spread(low, high), low=low, high=high, source=SOURCE)


def _sums(pad: SlidePad, vertical: bool, end: int) -> tuple[float, float, float]:
    """Normal stiffness of a pad and its moments about x and y at one end of the range."""
    k = slide_stiffness(pad.size[0], vertical=vertical)[end]
    area = positive("pad length", pad.size[1]) * pad.size[0]
    (x, y), (width, length) = pad.at, pad.size
    return k * area, k * area * (y**2 + length**2 / 12.0), k * area * (x**2 + width**2 / 12.0)


def _six(sums: list[float], shear: float, along: float) -> Six:
    normal, about_x, about_y = sums
    return shear * normal, along, normal, about_x, about_y, shear * (about_x + about_y)
