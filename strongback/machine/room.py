"""Where the operator stands: left, right, front and back are said from there and from nowhere else.

Axes of the room are right-handed: X to the operator's right, Y away from the operator, Z up, as ISO 841 has them for a
vertical spindle on one column (from memory; its portals and lathes differ). A machine may have its operator on another
side, and then the words turn with the operator, the axes do not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

__all__ = [
    "MOTIONS",
    "OPERATORS",
    "Operator",
    "View",
    "motion_word",
    "motions_of_room",
    "right_of",
    "side_word",
    "towards",
    "views",
]

Operator: TypeAlias = Literal["-y", "+y", "-x", "+x"]
Vector: TypeAlias = tuple[float, float, float]
OPERATORS: tuple[Operator, ...] = ("-y", "+y", "-x", "+x")

_TOWARDS: dict[str, Vector] = {
    "-y": (0.0, -1.0, 0.0),
    "+y": (0.0, 1.0, 0.0),
    "-x": (-1.0, 0.0, 0.0),
    "+x": (1.0, 0.0, 0.0),
}
MOTIONS = ("sideways", "in and out", "up", "nod", "side tilt", "yaw")
"""The six motions in the operator's words: along and about the directions to the right, away and up."""
ALONG = 0.985  # cosine of ten degrees: nearer than that a direction is called by its word


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A plain view of the machine on paper, Z upwards.

    Parameters
    ----------
    name : str
    across : int
        Axis that runs along the page, 0 for X and 1 for Y.
    sign : float
        1.0 where the axis grows to the right of the page, -1.0 where it grows to the left.
    """

    name: str
    across: int
    sign: float


def towards(operator: Operator) -> Vector:
    """Unit vector from the machine to its operator.

    Examples
    --------
    >>> towards("-y")
    (0.0, -1.0, 0.0)
    """
    return _TOWARDS[operator]


def right_of(operator: Operator) -> Vector:
    """Unit vector to the right hand of the operator, who looks at the machine.

    Examples
    --------
    >>> right_of("-y"), right_of("+y")
    ((1.0, 0.0, 0.0), (-1.0, 0.0, 0.0))
    """
    x, y, _ = _TOWARDS[operator]
    return (-y + 0.0, x + 0.0, 0.0)  # what the operator looks along, times Z


def views(operator: Operator) -> tuple[View, View]:
    """What the operator sees, and what is seen from the operator's right.

    Examples
    --------
    >>> [(v.name, "XY"[v.across], v.sign) for v in views("-y")]
    [('from the front', 'X', 1.0), ('from the right', 'Y', 1.0)]
    """
    right, away = right_of(operator), tuple(-v for v in towards(operator))
    return (_view("from the front", right), _view("from the right", away))


def _view(name: str, along: Sequence[float]) -> View:
    across = 0 if along[0] else 1
    return View(name=name, across=across, sign=along[across])


def side_word(direction: Sequence[float], operator: Operator) -> str:
    """A direction in the operator's words; empty if it is none of the six.

    Parameters
    ----------
    direction : sequence of float
        Of any length above zero.
    operator : {"-y", "+y", "-x", "+x"}

    Examples
    --------
    >>> side_word((1.0, 0.0, 0.0), "-y"), side_word((0.0, -2.0, 0.0), "-y"), side_word((0.0, 0.0, 1.0), "-y")
    ('to the right', 'towards the operator', 'up')
    >>> side_word((1.0, 0.0, 0.0), "+y"), side_word((1.0, 1.0, 0.0), "-y")
    ('to the left', '')
    """
    unit = np.asarray(direction, dtype=float) / np.linalg.norm(direction)
    words = (
        (right_of(operator), "to the right", "to the left"),
        (towards(operator), "towards the operator", "away from the operator"),
        ((0.0, 0.0, 1.0), "up", "down"),
    )
    for axis, plus, minus in words:
        along = float(unit @ axis)
        if abs(along) > ALONG:
            return plus if along > 0.0 else minus
    return ""


def motions_of_room(operator: Operator) -> tuple[str, ...]:
    """Words for the motions along X, Y and Z of the room and about them.

    Parameters
    ----------
    operator : {"-y", "+y", "-x", "+x"}

    Examples
    --------
    >>> motions_of_room("-y")
    ('sideways', 'in and out', 'up', 'nod', 'side tilt', 'yaw')
    >>> motions_of_room("+x")
    ('in and out', 'sideways', 'up', 'side tilt', 'nod', 'yaw')
    """
    room = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    return tuple(
        motion_word(f"{kind} {axis}", room, operator) for kind in ("along", "about") for axis in "xyz"
    )


def motion_word(component: str, axes: Sequence[Vector], operator: Operator) -> str:
    """A component of a joint as the motion that the operator sees.

    Parameters
    ----------
    component : str
        One of ``along x`` ... ``about z``, about the joint's own axes.
    axes : sequence of Vector
        Directions of the joint's x, y and z in the room.
    operator : {"-y", "+y", "-x", "+x"}

    Returns
    -------
    str
        The component itself where its axis is skew.

    Examples
    --------
    >>> room = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    >>> motion_word("about x", room, "-y"), motion_word("about x", room, "+x"), motion_word("along z", room, "-y")
    ('nod', 'side tilt', 'up')
    """
    kind, own = component.split(" ")
    axis = np.asarray(axes[("x", "y", "z").index(own)], dtype=float)
    for way, shift, turn in zip(
        (right_of(operator), towards(operator), (0.0, 0.0, 1.0)), MOTIONS[:3], MOTIONS[3:], strict=True
    ):
        if abs(float(axis @ way)) > ALONG:
            return shift if kind == "along" else turn
    return component
