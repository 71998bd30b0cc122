"""Joints that open or have play: a stated non-linear option on top of the linear loop.

A one-sided component carries compression only (a face held down by a preload opens when the load has used it up); a
component with play moves freely within a gap and holds beyond it. In terms of the linear loop, whose components all
hold, a component that does not hold is one with a misfit d that brings its force to the allowed value:

    q = q0 - P d,        P = -(M⁻¹)qq

with the force q of an open component zero (or minus the preload) and the misfit of one that bears on a side of its play
half the gap. Which components hold is found by turning over the worst one at a time, a bounded number of times.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import MechanismError, NotConvergedError
from strongback.machine.loop import Loop
from strongback.machine.parameters import Parameter
from strongback.machine.solve import pull_load, readings, tool_rows
from strongback.machine.values import Pull
from strongback.machine.variants import component_index

__all__ = ["ContactResult", "OneSided", "Play", "solve_contact"]

Array = NDArray[np.float64]
MAX_STEPS = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class OneSided:
    """A component that lets go when its force would exceed the preload in tension.

    Parameters
    ----------
    preload : float
        Standing compression [N or N m], not negative.
    sign : int
        +1 when a positive opening (second part away from the first along the axis) is tension, -1 for the other way.
    """

    preload: float = 0.0
    sign: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Play:
    """A component with free motion.

    Parameters
    ----------
    gap : float
        From stop to stop [m or rad].
    """

    gap: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ContactResult:
    """The machine under a pull with joints that open or have play.

    Parameters
    ----------
    tool_displacement, tool_rotation : ndarray, shape (3,)
        Relative to the work [m, rad].
    gauges : tuple of (str, float)
        [m]
    states : tuple of (Parameter, str)
        ``"holds"``, ``"open"``, ``"free"`` or ``"bears"``.
    steps : int
        Changes of state until it settled.
    """

    tool_displacement: Array
    tool_rotation: Array
    gauges: tuple[tuple[str, float], ...]
    states: tuple[tuple[Parameter, str], ...]
    steps: int


def solve_contact(loop: Loop, pull: Pull, laws: Mapping[Parameter, OneSided | Play]) -> ContactResult:
    """Deflection when some joint components open or have play.

    Parameters
    ----------
    loop : Loop
        With every component holding.
    pull : Pull
    laws : mapping of Parameter to OneSided or Play
        Joint or support components.

    Returns
    -------
    ContactResult

    Raises
    ------
    MechanismError
        If everything that held a part has opened.
    NotConvergedError
        If the states do not settle within the bound.
    """
    parameters = list(laws)
    index = [component_index(loop, p) for p in parameters]
    motions, forces = loop.solve(pull_load(loop, pull)[:, None])
    misfit_motions, misfit_forces = loop.misfit_states(index)
    P = -misfit_forces[index]
    misfit, states, steps = _settled(forces[index, 0], 0.5 * (P + P.T), list(laws.values()), parameters)
    total = motions[:, 0] + misfit_motions @ misfit
    tool = tool_rows(loop) @ total
    gauges = readings(loop, total)
    named = tuple(zip(parameters, states, strict=True))
    return ContactResult(
        tool_displacement=tool[:3], tool_rotation=tool[3:], gauges=gauges, states=named, steps=steps
    )


def _settled(
    q0: Array, P: Array, laws: list[OneSided | Play], parameters: list[Parameter]
) -> tuple[Array, list[str], int]:
    """Misfits, states and the number of changes of state.

    A state is one of: holds (no misfit), open (force at its limit), free (no force, within the gap), bears + or -.
    """
    states = ["holds" if isinstance(law, OneSided) else _side(q) for law, q in zip(laws, q0, strict=True)]
    for step in range(MAX_STEPS):
        d = _misfits(q0, P, laws, states, parameters)
        q = q0 - P @ d
        worst, change, excess = -1, "", 1e-12
        scale = max(float(np.abs(q0).max()), 1e-300)
        for i, law in enumerate(laws):
            new, size = _wanted(law, states[i], float(q[i]), float(d[i]), scale)
            if size > excess:
                worst, change, excess = i, new, size
        if worst < 0:
            return d, ["bears" if s.startswith("bears") else s for s in states], step
        states[worst] = change
    raise NotConvergedError(
        f"joints that open or have play did not settle within {MAX_STEPS} steps",
        hint="give the joint that chatters a preload, or a smaller gap",
    )


def _side(q: float) -> str:
    return "bears +" if q > 0.0 else "bears -" if q < 0.0 else "free"


def _misfits(
    q0: Array, P: Array, laws: list[OneSided | Play], states: list[str], parameters: list[Parameter]
) -> Array:
    d = np.zeros(len(laws))
    loose = []
    for i, (law, state) in enumerate(zip(laws, states, strict=True)):
        if isinstance(law, Play) and state.startswith("bears"):
            d[i] = 0.5 * law.gap * (1.0 if state.endswith("+") else -1.0)
        elif state in ("open", "free"):
            loose.append(i)
    if not loose:
        return d
    limit = np.array([law.sign * law.preload if isinstance(law, OneSided) else 0.0 for law in laws])
    right = q0[loose] - P[loose] @ d - limit[loose]
    own = P[np.ix_(loose, loose)]
    values, vectors = np.linalg.eigh(own)
    kept = values > 1e-11 * max(float(np.diag(P).max()), 1e-300)
    missing = vectors[:, ~kept].T @ right
    if np.any(np.abs(missing) > 1e-9 * max(float(np.abs(q0).max()), 1e-300)):
        culprit = parameters[loose[int(np.argmax(np.abs(vectors[:, ~kept] @ missing)))]]
        raise MechanismError(
            f"{culprit} has opened and nothing else holds",
            hint="raise its preload or lower the pull",
            part=culprit.part,
            motion=culprit.mechanism,
        )
    d[loose] = vectors[:, kept] @ ((vectors[:, kept].T @ right) / values[kept])
    return d


def _wanted(law: OneSided | Play, state: str, q: float, d: float, scale: float) -> tuple[str, float]:
    """State that a component should change to, and how far it is from being allowed (relative)."""
    if isinstance(law, OneSided):
        if state == "holds":
            return "open", (law.sign * q - law.preload) / scale
        return "holds", -law.sign * d if law.sign * d < -1e-15 else 0.0
    half = 0.5 * law.gap
    if state == "free":
        side = "bears +" if d > 0.0 else "bears -"
        return side, (abs(d) - half) / max(half, 1e-300) if abs(d) > half * (1 + 1e-9) else 0.0
    sign = 1.0 if state.endswith("+") else -1.0
    return "free", -sign * q / scale
