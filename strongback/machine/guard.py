"""How far an answer can be trusted: what rounding may have done to it, and which spring is behind that.

Every force is a sum; its size times the rounding unit says how far it may be off, and a soft spring turns that into motion.
An imbalance of the reactions alone is no alarm: forces balance to rounding while the motions are lost.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import PrecisionError
from strongback.machine.balance import machine_size
from strongback.machine.loop import Loop
from strongback.machine.statics.determinate import Carried
from strongback.machine.statics.elastic import Solution

__all__ = ["DOUBTFUL", "REFUSED", "Doubt", "rounding_doubts"]

Array = NDArray[np.float64]
DOUBTFUL = 1e-6
REFUSED = 1e-3
NOTHING = 1e-12  # of the largest motion of the machine
SMALL = 1e-6  # of the largest motion asked for: what is smaller is judged by that much


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """What rounding may have done to one answer.

    Parameters
    ----------
    error : float
        As a fraction of the motions that were asked for.
    words : str
        What to do where it is more than `DOUBTFUL`; else empty.
    """

    error: float
    words: str


def rounding_doubts(
    loop: Loop, virtual: Carried, state: Solution, found: Array, motions: Array | None = None
) -> list[Doubt]:
    """Judge answers: six motions of the tool, then readings.

    Parameters
    ----------
    loop : Loop
    virtual : Carried
        Of the motions and readings that were asked for.
    state : Solution
    found : ndarray, shape (6 + readings, cases)
    motions : ndarray, shape (motions, cases), optional
        Of `state`, where they are known already.

    Returns
    -------
    list of Doubt
        One a case.

    Raises
    ------
    PrecisionError
        If more than a thousandth is in doubt.
    """
    of_elements, of_joints, of_forces = loop.statics.error_parts(virtual, state)
    off = of_elements + of_joints.sum(axis=0)
    largest = _largest(loop, loop.statics.motions(state) if motions is None else motions)
    unit = np.ones(len(found))
    unit[3:6] = machine_size(loop.machine)
    kinds = [k for k in (slice(0, 3), slice(3, 6), slice(6, len(found))) if k.stop > k.start]
    in_forces = _in_forces(loop, state, of_forces)
    doubts = []
    for case in range(found.shape[1]):
        whole = unit * np.abs(found[:, case])
        floor = max(SMALL * float(whole.max()), NOTHING * float(largest[case]), 1e-300)
        error, worst = float(in_forces[0][case]), int(in_forces[1][case])
        for kind in kinds:
            relative = unit[kind] * off[kind, case] / max(float(whole[kind].max()), floor)
            if not float(relative.max()) <= error:  # NaN is no small error
                error = float(relative.max())
                worst = int(np.argmax(of_joints[:, kind.start + int(np.argmax(relative)), case]))
        doubts.append(Doubt(error=error, words="" if error <= DOUBTFUL else _words(loop, worst, error)))
    return doubts


def _largest(loop: Loop, motions: Array) -> Array:
    """Largest displacement anywhere, a case each [m]."""
    places = [line.columns[:, :3].ravel() for line in loop.stations.values()]
    places += [place.columns[:, :3].ravel() for place in loop.bodies.values()]
    places += [columns[:3] for columns in loop.blocks.values()]
    return np.asarray(np.abs(motions[np.concatenate(places)]).max(axis=0))


def _in_forces(loop: Loop, state: Solution, off: Array) -> tuple[Array, NDArray[np.int64]]:
    """How far the forces in the joints may be off, as a fraction of the largest, and in which component."""
    geometry = loop.statics.geometry
    off = off / geometry.joint_unit[:, None]
    size = np.abs(state.joints / geometry.joint_unit[:, None]).max(axis=0, initial=0.0)
    size = np.maximum(size, np.abs(state.elements / geometry.element_unit[:, None]).max(axis=0, initial=0.0))
    return off.max(axis=0) / np.maximum(size, 1e-300), np.argmax(off, axis=0)


def _words(loop: Loop, worst: int, error: float) -> str:
    weak = loop.components[worst]
    said = f'rounding may decide {error:.1g} of this answer, most of it through "{weak.owner}", {weak.name}'
    hint = 'give it its true stiffness, or "free" if it holds nothing; or hold the part farther off, too'
    if not error <= REFUSED:
        raise PrecisionError(said, hint=hint, owner=weak.owner, component=weak.name)
    return f"{said}: {hint}"
