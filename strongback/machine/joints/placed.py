"""A kind of joint put into a machine by what one sees: where its face looks, where it slides, where the nose points."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from strongback.errors import MachineError
from strongback.machine.directions import axis_axes, direction, face_axes, slide_axes
from strongback.machine.joints.bearings import Bearing, one_bearing
from strongback.machine.joints.estimate import JointStiffness, positive
from strongback.machine.values import Axes, Joint, Support, Vector

__all__ = ["along_axis", "on_face", "on_slide", "spindle_joints", "stood_on"]

Word = str | Sequence[float]


def on_face(
    made: JointStiffness, *, name: str, parts: tuple[str, str], at: Vector, face_looks: Word, pad: str = ""
) -> Joint:
    """A flange, bracket, tool post or glued face as a joint.

    Parameters
    ----------
    made : JointStiffness
    name : str
    parts : tuple of str
        What carries the face, and what is put on it.
    at : Vector
        Middle of the face [m].
    face_looks : str or sequence of float
        Out of the first part, such as ``"+z"``. Sizes were given across and then deep or high.
    pad : str
        Pad through which it meets a member that is a body.

    Returns
    -------
    Joint

    Examples
    --------
    >>> from strongback.machine.joints.library import glued_joint
    >>> joint = on_face(glued_joint((0.1, 0.05), 2e-4), name="glue", parts=("bed", "foot"), at=(0, 0, 0), face_looks="-y")
    >>> joint.axes[2]
    (0.0, -1.0, 0.0)
    """
    return _joint(made, name, parts, at, face_axes(face_looks), pad)


def on_slide(
    made: JointStiffness,
    *,
    name: str,
    parts: tuple[str, str],
    at: Vector,
    slides: Word,
    face_looks: Word,
    pad: str = "",
) -> Joint:
    """A dovetail, flat way or set of carriages as a joint.

    Parameters
    ----------
    made : JointStiffness
        Made ``vertical`` if it slides up and down.
    name : str
    parts : tuple of str
        What carries the way, and what slides on it.
    at : Vector
        Middle of what is engaged [m].
    slides : str or sequence of float
        Along the way; either sense.
    face_looks : str or sequence of float
        Where its flat faces look, out of the first part.
    pad : str

    Returns
    -------
    Joint

    Raises
    ------
    MachineError
        If the faces look along the slide.
    """
    return _joint(made, name, parts, at, slide_axes(slides, face_looks), pad)


def along_axis(
    made: JointStiffness, *, name: str, parts: tuple[str, str], at: Vector, axis: Word, pad: str = ""
) -> Joint:
    """A clamp on a post, a quill, a tool or a lumped spindle as a joint.

    Parameters
    ----------
    made : JointStiffness
    name : str
    parts : tuple of str
    at : Vector
        Middle of the clamp, or of the front bearing of a spindle [m].
    axis : str or sequence of float
        Along the post; of a spindle from the rear bearing to the nose.
    pad : str

    Returns
    -------
    Joint
    """
    return _joint(made, name, parts, at, axis_axes(axis), pad)


def spindle_joints(
    front: Bearing,
    rear: Bearing,
    span: float,
    *,
    name: str,
    parts: tuple[str, str],
    nose: Word,
    front_bearing: Vector,
    thrust: Literal["front", "rear"] = "front",
    held: bool = True,
) -> tuple[Joint, Joint]:
    """The two bearings of a spindle that is a member, one joint each.

    Parameters
    ----------
    front, rear : Bearing
    span : float
        Between their middles [m].
    name : str
        The joints are called ``"<name> front"`` and ``"<name> rear"``.
    parts : tuple of str
        Head and spindle.
    nose : str or sequence of float
        Direction from the rear bearing to the nose.
    front_bearing : Vector
        Middle of the front bearing [m].
    thrust : {"front", "rear"}
        Which holds the spindle along its axis.
    held : bool
        Whether the drive keeps it from turning, taken at the rear bearing.

    Returns
    -------
    tuple of Joint
    """
    unit = np.asarray(direction(nose))
    behind = np.asarray(front_bearing) - positive("bearing span", span) * unit
    places: tuple[Vector, Vector] = (front_bearing, _vector(behind))
    springs = (
        one_bearing(front, thrust=thrust == "front"),
        one_bearing(rear, thrust=thrust == "rear", held=held),
    )
    made = [
        _joint(spring, f"{name} {where}", parts, at, axis_axes(nose), "")
        for spring, where, at in zip(springs, ("front", "rear"), places, strict=True)
    ]
    return made[0], made[1]


def stood_on(made: JointStiffness, *, name: str, part: str, at: Vector, face_looks: Word = "+z") -> Support:
    """A foot, a bench or a face bolted to the floor as a support.

    Parameters
    ----------
    made : JointStiffness
    name, part : str
    at : Vector
        [m]
    face_looks : str or sequence of float
        Where the floor looks; up, but for a machine on a wall.

    Returns
    -------
    Support
    """
    return Support(
        name=name,
        part=part,
        at=at,
        stiffness=made.best,
        low=made.low,
        high=made.high,
        axes=face_axes(face_looks),
        source=made.source,
    )


def _joint(
    made: JointStiffness, name: str, parts: tuple[str, str], at: Vector, axes: Axes, pad: str
) -> Joint:
    if parts[0] == parts[1]:
        raise MachineError(f'joint "{name}" joins "{parts[0]}" to itself')
    place = np.asarray(at, dtype=float) + np.asarray(axes).T @ np.asarray(made.at)
    return Joint(
        name=name,
        parts=parts,
        at=_vector(place),
        stiffness=made.best,
        low=made.low,
        high=made.high,
        axes=axes,
        pad=pad,
        source=made.source,
    )


def _vector(values: np.ndarray) -> Vector:
    x, y, z = (float(v) + 0.0 for v in values)
    return x, y, z
