"""A plate that closes an open column, on screws: twist falls by a factor, less than a bonded plate promises."""

from __future__ import annotations

from shapely.geometry import LineString, Polygon
from shapely.ops import unary_union

from strongback.change.values import Change
from strongback.errors import MachineError
from strongback.machine.values import Machine
from strongback.materials import material
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.catalogue.sections import SIDES, on_face, outline_of, resectioned
from strongback.remedies.options.values import Option
from strongback.section.seams import screwed
from strongback.section.values import Outline

__all__ = ["closing_plate", "open_side"]


def closing_plate(
    machine: Machine, thickness: float = 0.006, pitch: float = 0.05, slip_modulus: float = 8e6
) -> Option | None:
    """A steel plate over the open side of a column, on two rows of screws.

    Parameters
    ----------
    machine : Machine
    thickness : float
        [m]
    pitch : float
        Between screws of a row [m].
    slip_modulus : float
        Of one M5 screw [N/m]: a guess, measure it. The twist follows it nearly in proportion.

    Returns
    -------
    Option or None
        None where the column has no open side, or its walls give: bodies know no seams.
    """
    roles = roles_of(machine)
    if roles.main is None or roles.outline is None or roles.body:
        return None
    side = open_side(roles.outline)
    if not side:
        return None
    column = roles.main.name

    def closed(outline: Outline) -> Outline:
        width = _contact(outline, side)
        per = screwed(slip_modulus, pitch, 2) / width
        return on_face(outline, side, thickness, material("steel"), "closing plate", per, 0.02)

    def make(there: Machine) -> Change:
        return resectioned(there, column, closed(outline_of(there, column)), "closing plate")

    try:
        closed(roles.outline)
    except MachineError:
        return None
    return Option(
        name="closing plate",
        make=make,
        changes=f"section of the column, seam of {screwed(slip_modulus, pitch, 2) / 1e6:.3g} N/mm2",
        cost=40.0,
        hours=6.0,
        blocks=("the inside of the column",),
        hazard="drilling and tapping a casting",
    )


def open_side(outline: Outline) -> str:
    """The side on which an outline is open: touched at its ends and not between; empty for none."""
    walls = unary_union([Polygon(w.ring, w.holes) for w in outline.walls])
    if any(w.holes for w in outline.walls) or len(getattr(walls, "interiors", [])):
        return ""
    (left, low, right, high) = walls.bounds
    lines = {
        "-x": ((left, low), (left, high)),
        "+x": ((right, low), (right, high)),
        "-y": ((left, low), (right, low)),
        "+y": ((left, high), (right, high)),
    }
    for side in SIDES:
        line = LineString(lines[side])
        pieces = [g for g in getattr(walls.intersection(line), "geoms", []) if g.length > 1e-4]
        if len(pieces) == 2 and sum(p.length for p in pieces) < 0.6 * line.length:
            return side
    return ""


def _contact(outline: Outline, side: str) -> float:
    walls = unary_union([Polygon(w.ring, w.holes) for w in outline.walls])
    left, low, right, high = walls.bounds
    ends = {"-x": (left, low, left, high), "+x": (right, low, right, high)}
    ends |= {"-y": (left, low, right, low), "+y": (left, high, right, high)}
    a, b, c, d = ends[side]
    return float(walls.intersection(LineString([(a, b), (c, d)])).length)
