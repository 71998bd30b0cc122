"""The tool of a machine against its work, as the stability of a cut needs it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import InputError
from strongback.vibration.cutting.lobes import Cutter, Lobes, lobes
from strongback.vibration.cutting.periodic import multipliers
from strongback.vibration.damping import JOINT_LOSS, mode_damping
from strongback.vibration.model import Dynamics
from strongback.vibration.modes import modes_of
from strongback.vibration.response import response_modes, tool_rows

__all__ = ["ToolModes", "machine_lobes", "machine_multipliers", "tool_modes"]

Array = NDArray[np.float64]
LINES = 20  # a half-width of the sharpest resonance


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToolModes:
    """Modes as the tool feels them.

    Parameters
    ----------
    frequency, ratio : ndarray, shape (modes,)
        [Hz], [-]
    shapes : ndarray, shape (modes, 3)
        Motion of the tool against the work along x, y, z at unit modal mass [1/sqrt(kg)].
    """

    frequency: Array
    ratio: Array
    shapes: Array


def tool_modes(model: Dynamics, count: int = 12, joints: float = JOINT_LOSS) -> ToolModes:
    """Lowest modes of a machine at its tool.

    Parameters
    ----------
    model : Dynamics
    count : int
    joints : float
        Loss factor of joints that state none.

    Raises
    ------
    InputError
        If a mode does not die out, so that no cut would be stable.
    """
    found = [mode for mode in modes_of(model, count) if not mode.rigid]
    damped = mode_damping(model, tuple(found), joints)
    ratio = np.array([d.ratio for d in damped])
    if not np.all(ratio > 0.0):
        raise InputError(
            "a mode of the machine has no damping: every cut would feed it", hint="state loss factors"
        )
    return ToolModes(
        frequency=np.array([mode.frequency for mode in found]),
        ratio=ratio,
        shapes=np.array([tool_rows(model) @ mode.ends for mode in found]),
    )


def machine_lobes(model: Dynamics, cut: Cutter, *, count: int = 12, joints: float = JOINT_LOSS) -> Lobes:
    """Limit of stability of a machine in the plane x, y, zeroth order, up to its twelfth mode.

    Parameters
    ----------
    model : Dynamics
    cut : Cutter
        Feeds along x of the machine.
    count : int
        Modes up to which lines reach.
    joints : float
        Loss factor of joints that state none.
    """
    at = tool_modes(model, count, joints)
    top = 1.3 * float(at.frequency[-1])
    step = float(np.min(at.frequency * at.ratio)) / LINES
    lines = np.arange(0.3 * float(at.frequency[0]), top, max(step, top / 20_000.0))
    responses = response_modes(model, tool_rows(model)[:2], top, joints=joints).receptance(lines)
    return lobes(responses, lines, cut)


def machine_multipliers(
    model: Dynamics, cut: Cutter, speed: float, depths: Array, *, count: int = 12, joints: float = JOINT_LOSS
) -> Array:
    """Largest multiplier of a tooth period at each depth, by the teeth as they turn (see `periodic.multipliers`).

    Parameters
    ----------
    model : Dynamics
    cut : Cutter
    speed : float
        Turns a second [1/s].
    depths : ndarray, shape (depths,)
        [m]
    count, joints
        As in `machine_lobes`.
    """
    at = tool_modes(model, count, joints)
    return multipliers(at.frequency, at.ratio, at.shapes[:, :2], cut, speed, depths)
