"""The contact under a pad and the springs of the joint on it: it counts once, whether the member is a beam or a body."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Container, Sequence

import numpy as np
from numpy.typing import NDArray

from strongback.machine.frames import member_axes
from strongback.machine.joints.estimate import series
from strongback.machine.values import FREE, RIGID, Joint, Machine, Member, Pad, Six

__all__ = ["counted_twice", "joints_of_beams", "pad_springs", "without_contact"]

Array = NDArray[np.float64]
SAME = 1e-6  # of a stiffness: what is left beside a pad below that share is nothing


def without_contact(joint: Joint, pad: Pad, member: Member, written: Sequence[bool]) -> Joint:
    """A joint with what is left of its springs once the pad under it holds the contact.

    Parameters
    ----------
    joint : Joint
        With the springs of its kind, contact and all.
    pad : Pad
    member : Member
        A body, which carries the pad.
    written : sequence of bool
        Components that the file writes itself, which stay.

    Returns
    -------
    Joint
    """
    low = joint.stiffness if joint.low is None else joint.low
    high = joint.stiffness if joint.high is None else joint.high
    own = pad_springs(pad, member, np.asarray(joint.axes))
    found = [
        (k, a, b) if kept else _left(k, a, b, float(p))
        for k, a, b, p, kept in zip(joint.stiffness, low, high, own, written, strict=True)
    ]
    best, soft, stiff = zip(*found, strict=True)
    return dataclasses.replace(joint, stiffness=_six(best), low=_six(soft), high=_six(stiff))


def _left(k: float, low: float, high: float, pad: float) -> tuple[float, float, float]:
    """What stands in series with the pad, so that both together give what the joint gives."""
    if k in (FREE, RIGID) or math.isinf(pad):
        return k, low, high
    give = 1.0 / k - 1.0 / pad
    if give <= SAME / k:
        return RIGID, RIGID, RIGID
    return 1.0 / give, low / k / give, high / k / give


def pad_springs(pad: Pad, member: Member, axes: Array) -> Array:
    """Six springs of the contact under a rigid pad, in the axes of a joint, (6,)."""
    if math.isinf(pad.stiffness):
        return np.full(6, math.inf)
    normal = np.asarray(pad.normal) / np.linalg.norm(pad.normal)
    along = member_axes(member)[2]
    frame = np.array([np.cross(along, normal), along, normal])
    w, h = pad.size
    kn = pad.stiffness * w * h
    kt = pad.tangential * kn
    straight = frame.T @ np.diag([kt, kt, kn]) @ frame
    turns = frame.T @ np.diag([kn * h**2, kn * w**2, kt * (w**2 + h**2)]) @ frame / 12.0
    return np.concatenate([np.diag(axes @ straight @ axes.T), np.diag(axes @ turns @ axes.T)])


def counted_twice(machine: Machine) -> tuple[tuple[Joint, Pad], ...]:
    """Joints and pads of one face whose springs are both written by hand, so that its contact may count twice.

    A joint that holds only what the pad does not, such as a gib, is rigid out of the face.

    Parameters
    ----------
    machine : Machine
    """
    pads = {pad.name: pad for pad in machine.pads if not pad.within_joint and math.isfinite(pad.stiffness)}
    found = []
    for joint in machine.joints:
        pad = pads.get(joint.pad)
        if pad is not None:
            normal = np.asarray(pad.normal) / np.linalg.norm(pad.normal)
            out = int(np.argmax(np.abs(np.asarray(joint.axes) @ normal)))
            if math.isfinite(joint.stiffness[out]) and joint.stiffness[out] > 0.0:
                found.append((joint, pad))
    return tuple(found)


def joints_of_beams(machine: Machine, bodies: Container[str]) -> tuple[Joint, ...]:
    """Joints of a machine whose bodies are taken as beams: what their pads held is in the joints again.

    Parameters
    ----------
    machine : Machine
    bodies : container of str
        Members that were bodies.

    Returns
    -------
    tuple of Joint
    """
    pads = {pad.name: pad for pad in machine.pads if pad.within_joint}
    members = {member.name: member for member in machine.members if member.name in bodies}
    found = []
    for joint in machine.joints:
        pad = pads.get(joint.pad)
        member = None if pad is None else members.get(pad.part)
        found.append(joint if pad is None or member is None else _with_contact(joint, pad, member))
    return tuple(found)


def _with_contact(joint: Joint, pad: Pad, member: Member) -> Joint:
    """A joint and the pad under it, one after the other."""
    factor = dict(member.factors).get("contact", 1.0)
    ranges = {name: (low, high) for name, low, high in member.factor_ranges}
    soft, stiff = ranges.get("contact", (factor, factor))
    axes = np.asarray(joint.axes)
    low = joint.stiffness if joint.low is None else joint.low
    high = joint.stiffness if joint.high is None else joint.high
    made = [
        [series(k, float(scale * p)) for k, p in zip(six, pad_springs(pad, member, axes), strict=True)]
        for six, scale in ((joint.stiffness, factor), (low, soft), (high, stiff))
    ]
    return dataclasses.replace(joint, stiffness=_six(made[0]), low=_six(made[1]), high=_six(made[2]))


def _six(values: Sequence[float]) -> Six:
    a, b, c, d, e, f = (float(v) for v in values)
    return a, b, c, d, e, f
