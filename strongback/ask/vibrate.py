"""How does the machine ring, and who holds each mode?"""

from __future__ import annotations

import math

from strongback.ask.source import Source, machine_of
from strongback.errors import QuestionError
from strongback.machine.assembled import stage
from strongback.machine.columns import Progress
from strongback.machine.loop import assemble
from strongback.machine.mechanism import free_motions
from strongback.machine.part.make import parts_of
from strongback.vibration.damping import JOINT_LOSS
from strongback.vibration.modes import fine_dynamics
from strongback.vibration.vibrated import Vibrated, vibrated

__all__ = ["vibrate"]

MOST = 200  # modes asked for


def vibrate(
    project: Source,
    *,
    modes: int = 6,
    joint_loss: float = JOINT_LOSS,
    progress: Progress | None = None,
) -> Vibrated:
    """Natural frequencies with their errors, damping, and the part that holds the energy of each.

    Parameters
    ----------
    project : str, Path, Project or Machine
        The word ``demo`` means the built-in machine.
    modes : int
        How many, those at 0 Hz not counted.
    joint_loss : float
        Loss factor of joints and supports that state none.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    Vibrated

    Raises
    ------
    QuestionError
        If the number of modes or the loss factor makes no sense.
    MachineError
        If the project has no masses, so that no frequency can be named.

    Examples
    --------
    >>> found = vibrate("demo", modes=2)
    >>> [row["part"] for row in found.modes[0].energy[:2]]
    ['column', 'bed']
    """
    if not 1 <= modes <= MOST:
        raise QuestionError(f"{modes} modes asked for", hint=f"ask for 1 to {MOST}")
    if not (math.isfinite(joint_loss) and joint_loss >= 0.0):
        raise QuestionError(
            f"the loss factor of joints is {joint_loss:g}", hint="give a number from 0, such as 0.06"
        )
    machine = machine_of(project)
    parts = parts_of(machine, held=False, progress=stage(progress, 0.0, 0.9))
    model = fine_dynamics(machine, parts, modes)
    held = free_motions(machine)[1].shape[2] == 0
    return vibrated(model, modes, loop=assemble(machine, parts) if held else None, joints=joint_loss)
