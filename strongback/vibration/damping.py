"""Damping: loss factors of materials and joints, what they make of each mode, and where they were guessed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback import checks
from strongback.machine.layout import span_at
from strongback.section.loss import section_loss
from strongback.section.values import Outline
from strongback.vibration.model import Dynamics
from strongback.vibration.modes import Mode

__all__ = ["JOINT_LOSS", "ModeDamping", "loss_matrices", "mode_damping"]

Array = NDArray[np.float64]
JOINT_LOSS = 0.06
"""Loss factor of a joint that states none: bolted, sliding and rolling joints of small machines have 0.02 to 0.2, so that
a machine has a damping ratio of 0.01 to 0.05; common practice, no source. Taken as known to a factor of two."""
FACTOR = 2.0  # by which a guessed loss may be off either way


@dataclass(frozen=True, slots=True, kw_only=True)
class ModeDamping:
    """Damping of a mode, from the share of every material and joint in its strain energy.

    Parameters
    ----------
    ratio : float
        Half of the loss factor of the mode: 1 is critical [-].
    low, high : float
        With guessed joints half and twice as lossy; equal to `ratio` where every joint states its own.
    guessed : float
        Share of the loss that comes from guessed joints [-].
    """

    ratio: float
    low: float
    high: float
    guessed: float


def loss_matrices(model: Dynamics, joints: float = JOINT_LOSS) -> tuple[Array, Array, Array]:
    """Imaginary part of the stiffness.

    Parameters
    ----------
    model : Dynamics
    joints : float
        Loss factor of joints and supports that state none.

    Returns
    -------
    stated : ndarray, shape (n, n)
        On the motions of the model, of materials and of joints that state a loss factor [N/m].
    guessed : ndarray, shape (n, n)
        Of the other joints.
    held : ndarray, shape (b,)
        On the held modes: squared circular frequencies times the loss factor of bending [rad²/s²].
    """
    joints = checks.number("damping", "loss factor of joints", joints, least=0.0)
    made = model.assembly
    size = made.layout.size
    stated, guessed = np.zeros((size, size)), np.zeros((size, size))
    held = np.zeros(len(model.squares))
    inside = {id(own.element): own for own in model.inside}
    sections = dict(model.machine.sections)
    members = {member.name: member for member in model.machine.members}
    losses = {name: _loss(section) for name, section in sections.items()}
    for element in made.elements:
        member, own = members[element.member], inside.get(id(element))
        used = element.columns >= 0
        columns = element.columns[used]
        if own is None:  # a body: walls, and the contact under its pads, which is a joint
            wall, contact = (_lossy(element.flexibility, part, element.shape) for part in element.parts)
            loss = losses[member.spans[0].section]
            stated[np.ix_(columns, columns)] += loss[3] * wall
            guessed[np.ix_(columns, columns)] += joints * contact
            continue
        loss = losses[span_at(member, own.low + 0.5 * own.length)]
        lossy = np.tensordot(loss, element.parts, axes=1)
        matrix = _lossy(element.flexibility, lossy, element.shape)
        stated[np.ix_(columns, columns)] += matrix[np.ix_(used, used)]
        held[own.places] = 0.5 * (loss[3] + loss[4]) * own.span.squares
    for component in made.components:
        if component.compliance > 0.0:
            into = stated if component.loss_factor > 0.0 else guessed
            into += np.outer(component.row, component.row) * (
                (component.loss_factor or joints) / component.compliance
            )
    return model.free.T @ stated @ model.free, model.free.T @ guessed @ model.free, held


def _loss(section: object) -> Array:
    """Of each strain; a section known by its constants only loses nothing that is known."""
    return np.array(section_loss(section) if isinstance(section, Outline) else (0.0,) * 8)


def _lossy(F: Array, part: Array, shape: Array) -> Array:
    """Imaginary stiffness when part of a flexibility has a loss factor, to the first order in it, (k, k)."""
    forces = np.linalg.solve(F, shape)
    return np.asarray(forces.T @ part @ forces)


def mode_damping(
    model: Dynamics, modes: tuple[Mode, ...], joints: float = JOINT_LOSS
) -> tuple[ModeDamping, ...]:
    """Damping of each mode by modal strain energy (Ungar & Kerwin, J. Acoust. Soc. Am. 34 (1962) 954).

    Parameters
    ----------
    model : Dynamics
    modes : tuple of Mode
        Of this model.
    joints : float
        As in `loss_matrices`.

    Returns
    -------
    tuple of ModeDamping
        Zero where a motion costs nothing.
    """
    stated, guessed, held = loss_matrices(model, joints)
    found = []
    for mode in modes:
        if mode.rigid:
            found.append(ModeDamping(ratio=0.0, low=0.0, high=0.0, guessed=0.0))
            continue
        whole = float(mode.ends @ model.stiffness @ mode.ends + model.squares @ mode.held**2)
        sure = float(mode.ends @ stated @ mode.ends + held @ mode.held**2) / (2.0 * whole)
        guess = float(mode.ends @ guessed @ mode.ends) / (2.0 * whole)
        ratio = sure + guess
        found.append(
            ModeDamping(
                ratio=ratio,
                low=sure + guess / FACTOR,
                high=sure + guess * FACTOR,
                guessed=guess / ratio if ratio > 0.0 else 0.0,
            )
        )
    return tuple(found)
