"""Parts that are free to move: a mechanism moves every part as a rigid body and strains no joint."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from strongback.errors import MechanismError
from strongback.machine.frames import attachments, carriage
from strongback.machine.values import GROUND, Joint, Machine, Support, Vector

__all__ = ["free_motions", "motion_in_words", "refuse_mechanism"]

Array = NDArray[np.float64]
AXES = "xyz"


def refuse_mechanism(machine: Machine) -> None:
    """Refuse a machine in which a part can move without effort.

    Members and blocks are elastically sound, so what can move does so as rigid bodies: the null space of the joint
    openings over six motions a part tells all of it, whatever the stiffnesses are.

    Parameters
    ----------
    machine : Machine

    Raises
    ------
    MechanismError
        Naming the part and the motion.
    """
    parts, motions = free_motions(machine)
    if motions.shape[2] == 0:
        return
    free = motions.reshape(6 * len(parts), -1)
    part_index = int(np.argmax(np.linalg.norm(motions, axis=(1, 2))))
    mode = motions[:, :, int(np.argmax(np.linalg.norm(motions[part_index], axis=0)))]
    part = parts[part_index]
    motion = motion_in_words(_sharpest(motions[part_index]) if free.shape[1] > 1 else mode[part_index])
    others = [
        name for name, own in zip(parts, mode, strict=True) if np.linalg.norm(own) > 1e-6 and name != part
    ]
    along = f" (with it: {', '.join(others)})" if others else ""
    raise MechanismError(
        f'"{part}" is free to {motion}{along}; nothing holds it there',
        hint="add a joint or a support, or give one of its free components a stiffness",
        part=part,
        motion=motion,
    )


def free_motions(machine: Machine) -> tuple[list[str], Array]:
    """Motions of the parts as rigid bodies that open no joint and no support.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    parts : list of str
    motions : ndarray, shape (parts, 6, motions)
        Along and about x, y, z, turns times the size of the machine; orthonormal.
    """
    parts = [*(m.name for m in machine.members), *(b.name for b in machine.blocks)]
    middle, length = _extent(machine)
    holders: list[Joint | Support] = [*machine.joints, *machine.supports]
    rows = np.vstack([np.zeros((0, 6 * len(parts)))] + [_openings(h, parts, middle, length) for h in holders])
    return parts, _null_space(rows).reshape(len(parts), 6, -1)


def _extent(machine: Machine) -> tuple[Array, float]:
    points = np.array(
        [at for _, at in attachments(machine)]
        + [m.start for m in machine.members]
        + [m.end for m in machine.members]
    )
    return points.mean(axis=0), max(float(np.ptp(points, axis=0).max()), 1e-6)


def _openings(holder: Joint | Support, parts: list[str], middle: Array, length: float) -> Array:
    """Openings of the components that hold, from the rigid motions of all parts (rotations times the length)."""
    axes = np.asarray(holder.axes)
    held = np.asarray(holder.stiffness) > 0.0
    both = (
        [(holder.part, 1.0)]
        if isinstance(holder, Support)
        else [(holder.parts[0], -1.0), (holder.parts[1], 1.0)]
    )
    rows = np.zeros((6, 6 * len(parts)))
    for name, sign in both:
        if name == GROUND:
            continue
        first = 6 * parts.index(name)
        rows[:, first : first + 6] = sign * _joint_motion(axes, middle, holder.at, length)
    return rows[held]


def _joint_motion(axes: Array, middle: Array, at: Vector, length: float) -> Array:
    turned = np.zeros((6, 6))
    turned[:3, :3] = turned[3:, 3:] = axes
    moved = turned @ carriage(middle, at)
    moved[3:] *= length  # openings as lengths
    moved[:, 3:] /= length  # rotations as displacements at one length
    return moved


def _null_space(rows: Array) -> Array:
    if rows.shape[0] == 0:
        return np.eye(rows.shape[1])
    _, values, right = np.linalg.svd(rows, full_matrices=True)
    rank = int(np.sum(values > 1e-9 * max(values[0], 1e-300)))
    return right[rank:].T


def _sharpest(motions: Array) -> Array:
    """Of several free motions of a part, the one nearest to a single axis."""
    span, values, _ = np.linalg.svd(motions, full_matrices=False)
    reach = np.linalg.norm(span[:, values > 1e-9 * values[0]], axis=1)
    axis = int(np.argmax(reach))
    unit = np.zeros(6)
    unit[axis] = 1.0
    return unit


def motion_in_words(motion: Array) -> str:
    """A rigid motion (6,) in words: ``"move along x"``, ``"turn about a skew axis"``."""
    shift, turn = motion[:3], motion[3:]
    if np.abs(turn).max() > 1e-6 * np.abs(motion).max():
        axis = int(np.argmax(np.abs(turn)))
        pure = np.abs(turn[axis]) > 0.99 * np.linalg.norm(turn)
        return f"turn about {AXES[axis]}" if pure else "turn about a skew axis"
    axis = int(np.argmax(np.abs(shift)))
    pure = np.abs(shift[axis]) > 0.99 * np.linalg.norm(shift)
    return f"move along {AXES[axis]}" if pure else "move along a skew direction"
