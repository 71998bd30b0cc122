"""How far an answer can be trusted: what rounding may have done to it, and which spring is behind that.

Every force is a sum; its size times the rounding unit says how far it may be off, and a soft spring turns that into motion.
Where that bound says more than `DOUBTFUL`, whoever asks works again with forces that are exact to the last bit
(`exact_balance`); what then is left is how far the numbers of the machine, rounded otherwise, move the answer: the machine
is turned, and the same is asked again (`spread`).

An imbalance of the forces alone is no alarm: forces balance to rounding while the motions are lost.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import PrecisionError, StrongbackError
from strongback.machine.balance import machine_size
from strongback.machine.loop import Loop, rebuilt
from strongback.machine.statics.determinate import Carried
from strongback.machine.statics.elastic import Elastic, Solution
from strongback.machine.turned import turned, turns

__all__ = [
    "DOUBTFUL",
    "REFUSED",
    "Again",
    "Doubt",
    "Judged",
    "doubt_of",
    "imbalances",
    "judged",
    "spread",
    "spread_of_answers",
]

Array = NDArray[np.float64]
Again = Callable[[Loop, Array], Array]  # the same numbers of a turned machine, from it and its rotation
DOUBTFUL = 1e-6
REFUSED = 1e-3
NOTHING = 1e-12  # of the largest motion of the machine
TURNS = 2
MARGIN = 3.0  # over the largest difference between orientations


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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Judged:
    """What rounding may have done to answers, a case each.

    Parameters
    ----------
    error : ndarray, shape (cases,)
        As a fraction of what was asked for.
    springs : tuple of int
        The joint component that most of it comes through.
    """

    error: Array
    springs: tuple[int, ...]

    @property
    def sure(self) -> bool:
        """Whether none is in doubt; what is no number is."""
        return bool(np.all(self.error <= DOUBTFUL))

    def with_spread(self, error: Array | None) -> Judged:
        """Not less than what other roundings of the machine do to the answers; in doubt where they do not tell."""
        more = np.full(self.error.shape, np.inf) if error is None else error
        return Judged(error=np.maximum(self.error, more), springs=self.springs)


def judged(
    loop: Loop, statics: Elastic, virtual: Carried, state: Solution, found: Array, motions: Array
) -> Judged:
    """Judge answers: six motions of the tool, then readings, and the forces of all joints.

    Parameters
    ----------
    loop : Loop
    statics : Elastic
        That `state` is of.
    virtual : Carried
        Of the motions and readings that were asked for.
    state : Solution
    found : ndarray, shape (6 + readings, cases)
    motions : ndarray, shape (motions, cases)
        Of `state`.

    Returns
    -------
    Judged
    """
    of_elements, of_joints, of_forces = statics.error_parts(virtual, state)
    off = of_elements + of_joints.sum(axis=0)
    error, worst = _relative(loop, state, found, off, of_forces, _largest(loop, motions))
    springs = [
        place if kind < 0 else int(np.argmax(of_joints[:, place, case]))
        for case, (kind, place) in enumerate(worst)
    ]
    return Judged(error=error, springs=tuple(springs))


def spread_of_answers(
    loop: Loop, again: Again, state: Solution, found: Array, motions: Array
) -> Array | None:
    """How far answers move when the machine is turned, as `judged` measures it, (cases,); None if it is refused then.

    Parameters
    ----------
    loop, state, found, motions
        As for `judged`.
    again : callable
        From a turned machine: its answers and below them the forces of all joint components.
    """
    moved = spread(loop, again, np.vstack([found, state.joints]))
    if moved is None:
        return None
    n = len(found)
    return _relative(loop, state, found, moved[:n], moved[n:], _largest(loop, motions))[0]


def doubt_of(loop: Loop, error: float, spring: int) -> Doubt:
    """Say it, or refuse.

    Parameters
    ----------
    loop : Loop
    error : float
        As a fraction.
    spring : int
        The joint component most of it comes through.

    Returns
    -------
    Doubt

    Raises
    ------
    PrecisionError
        If it is more than a thousandth, or no number.
    """
    if error <= DOUBTFUL:
        return Doubt(error=error, words="")
    weak = loop.components[spring]
    said = f'rounding may decide {error:.1g} of this answer, most of it through "{weak.owner}", {weak.name}'
    hint = 'give it its true stiffness, or "free" if it holds nothing; or hold the part farther off, too'
    if not error <= REFUSED:
        raise PrecisionError(said, hint=hint, owner=weak.owner, component=weak.name)
    return Doubt(error=error, words=f"{said}: {hint}")


def spread(loop: Loop, again: Again, found: Array) -> Array | None:
    """How far numbers move when the machine is turned, with a margin; None where it is refused then.

    Parameters
    ----------
    loop : Loop
    again : callable
        The numbers of a turned machine.
    found : ndarray
        The numbers of this one.

    Returns
    -------
    ndarray or None
        Three times the largest difference, shaped as `found`.
    """
    largest = np.zeros(found.shape)
    try:
        for R in turns(TURNS):
            twin = rebuilt(turned(loop.machine, R), loop.parts)
            largest = np.fmax(largest, np.abs(again(twin, R) - found))
    except StrongbackError:
        return None
    return MARGIN * largest


def _relative(
    loop: Loop, state: Solution, found: Array, off: Array, of_forces: Array, largest: Array
) -> tuple[Array, list[tuple[int, int]]]:
    """Largest relative error of any kind in every case, and where it is: (kind, reading), or (-1, joint component)."""
    unit = np.ones(len(found))
    unit[3:6] = machine_size(loop.machine)
    kinds = [k for k in (slice(0, 3), slice(3, 6), slice(6, len(found))) if k.stop > k.start]
    error, component = _in_forces(loop, state, of_forces)
    worst = [(-1, int(c)) for c in component]
    for number, kind in enumerate(kinds):
        # What is nothing beside the motion of the machine is judged by that.
        whole = (unit[kind, None] * np.abs(found[kind])).max(axis=0)
        whole = np.maximum(np.where(whole > NOTHING * largest, whole, largest), 1e-300)
        relative = unit[kind, None] * off[kind] / whole
        for case in np.flatnonzero(~(relative.max(axis=0) <= error)):
            error[case] = relative[:, case].max()
            worst[case] = (number, kind.start + int(np.argmax(relative[:, case])))
    return error, worst


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


def imbalances(loop: Loop, loads: Array, joints: Array) -> Array:
    """Largest missing force or couple in the balance of any part, as a fraction of the largest at work, a case each.

    Parameters
    ----------
    loop : Loop
    loads : ndarray, shape (unknowns, cases)
    joints : ndarray, shape (joint components, cases)
        Their forces.
    """
    g = loop.statics.geometry
    size = float(g.joint_unit.max(initial=1.0))
    unit = np.tile([1.0, 1.0, 1.0, size, size, size], g.rigid.shape[1] // 6)[:, None]
    missing = np.abs(g.rigid.T @ loads - g.opening_rigid.T @ joints) / unit
    acting = (g.sizes[0].T @ np.abs(loads) + np.abs(g.opening_rigid).T @ np.abs(joints)) / unit
    return np.asarray(missing.max(axis=0) / np.maximum(acting.max(axis=0), 1e-300))
