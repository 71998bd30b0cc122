"""The six stiffnesses of a joint in the operator's words: sideways, in and out, up, nod, side tilt, yaw."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from strongback.machine.room import MOTIONS, Operator, right_of, towards
from strongback.machine.values import COMPONENTS, Axes, Joint, Support

__all__ = ["Triple", "component_in_words", "in_words", "own_component"]

Triple = tuple[float, float, float]
SQUARE = 1.0 - 1e-9  # cosine between an axis of the joint and one of the room


def _room(operator: Operator) -> np.ndarray:
    """Rows: to the operator's right, away from the operator, up."""
    away = [-v for v in towards(operator)]
    return np.array([right_of(operator), away, (0.0, 0.0, 1.0)])


def own_component(word: str, axes: Axes, operator: Operator) -> tuple[int, int] | None:
    """Which component of a joint a word means.

    Parameters
    ----------
    word : str
        One of `strongback.machine.room.MOTIONS`.
    axes : Axes
        Of the joint.
    operator : {"-y", "+y", "-x", "+x"}

    Returns
    -------
    tuple of int, or None
        Index into `strongback.machine.values.COMPONENTS`, and the sign of the joint's axis against the room's. None if
        the joint is askew to the room.

    Examples
    --------
    >>> from strongback.machine.directions import face_axes
    >>> own_component("in and out", face_axes("-y"), "-y")
    (2, -1)
    """
    index = MOTIONS.index(word)
    turns, axis = divmod(index, 3)
    cosines = np.asarray(axes) @ _room(operator)[axis]
    own = int(np.argmax(np.abs(cosines)))
    if abs(float(cosines[own])) < SQUARE:
        return None
    return 3 * turns + own, 1 if cosines[own] > 0.0 else -1


def component_in_words(component: str, axes: Axes, operator: Operator) -> str:
    """The room's word for a component of a joint, its own where the joint is askew."""
    index = COMPONENTS.index(component)
    for word in MOTIONS:
        found = own_component(word, axes, operator)
        if found is not None and found[0] == index:
            return word
    return component


def in_words(holder: Joint | Support, operator: Operator = "-y") -> Mapping[str, Triple]:
    """Low, best and high of the six components of a joint or support, by the room's words.

    Parameters
    ----------
    holder : Joint or Support
    operator : {"-y", "+y", "-x", "+x"}
        Where the operator stands.

    Returns
    -------
    mapping of str to tuple of float
        [N/m] and [N m/rad]. A joint askew to the room keeps the words of its own axes for what is askew.
    """
    low = holder.low or holder.stiffness
    high = holder.high or holder.stiffness
    found: dict[str, Triple] = {}
    for word in MOTIONS:
        own = own_component(word, holder.axes, operator)
        if own is not None:
            i = own[0]
            found[word] = (low[i], holder.stiffness[i], high[i])
    named = {component_in_words(c, holder.axes, operator) for c in COMPONENTS}
    for i, component in enumerate(COMPONENTS):
        if component in named:
            found[component] = (low[i], holder.stiffness[i], high[i])
    return found
