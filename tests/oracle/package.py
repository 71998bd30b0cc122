"""What the package answers, in the arrays of `exact`: the only place of these tests that calls its statics."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from oracle.exact import Truth

from strongback.errors import StrongbackError
from strongback.machine.loop import assemble
from strongback.machine.solve import solve_all
from strongback.machine.values import Machine

ZERO = 1e-12  # of the motion of the machine: nothing


@dataclass(frozen=True, kw_only=True)
class Answers:
    """One column a pull; as in `exact.Truth`."""

    tool: np.ndarray
    gauges: np.ndarray
    reactions: np.ndarray


def answers(machine: Machine) -> Answers:
    """Every pull of a machine."""
    found = solve_all(assemble(machine, dict(machine.sections)), machine.pulls)
    return Answers(
        tool=np.array([[*d.tool_displacement, *d.tool_rotation] for d in found]).T,
        gauges=np.array([[value for _, value in d.gauges] for d in found]).T,
        reactions=np.stack(
            [np.array([w for _, w in d.reactions[: len(machine.supports)]]) for d in found], axis=2
        ),
    )


def answers_or_refusal(machine: Machine) -> Answers | StrongbackError:
    """The same, or the error that the package raises."""
    try:
        return answers(machine)
    except StrongbackError as error:
        return error


def error(found: Answers | Truth, truth: Truth) -> float:
    """Largest difference of motions, readings and reactions, each kind as a fraction of its largest under the same pull.

    What is zero in truth (a jack that the feet do not feel) is compared with the motion of the machine, or with the pull.
    """
    pulls = len(truth.machine.pulls)
    force = [np.abs([*p.force, *p.couple]).max() for p in truth.machine.pulls]
    kinds = [
        (found.tool[:3], truth.tool[:3], truth.largest),
        (found.tool[3:], truth.tool[3:], truth.largest),
        (found.gauges, truth.gauges, truth.largest),
        (found.reactions.reshape(-1, pulls), truth.reactions.reshape(-1, pulls), np.array(force)),
    ]
    return max(_relative(mine, right, scale) for mine, right, scale in kinds)


def _relative(mine: np.ndarray, right: np.ndarray, scale: np.ndarray) -> float:
    size = np.abs(right).max(axis=0)
    size = np.where(size > ZERO * scale, size, scale)
    return float((np.abs(mine - right).max(axis=0) / size).max())
