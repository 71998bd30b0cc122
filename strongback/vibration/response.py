"""Receptance: motion from a force that swings, at any places of a machine, and how two parts become one.

Losses are structural: the stiffness is complex, K + i K_loss, so that responses take complex modes throughout.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from strongback import checks
from strongback.errors import MachineError
from strongback.vibration.damping import JOINT_LOSS, loss_matrices
from strongback.vibration.model import Dynamics

__all__ = ["ComplexModes", "coupled", "receptance", "receptance_direct", "response_modes", "tool_rows"]

Array = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]
KEPT = 3.0  # times the top line: held modes below take part one by one
TERMS = (
    4  # of the residual: modes left out above three times the top line then miss (1/9)^4 of what they give
)
SMALL = 1e-4  # root of the part of a stiffness below which held modes above are left out at the top line


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ComplexModes:
    """Modes of a machine with losses, at some places of it.

    The receptance is left diag(1 / (1 - (w² + s) inverse)) right + sum_k (w² + s)^k residual[k].

    Parameters
    ----------
    inverse : ndarray of complex, shape (modes,)
        One over squared circular frequency plus shift [s²].
    left, right : ndarray of complex, shapes (rows, modes) and (modes, rows)
    residual : ndarray of complex, shape (terms, rows, rows)
        What modes left out give: statically, and as their own inertia adds to it.
    shift : float
        s: 0 where the machine is held [rad²/s²].
    """

    inverse: ComplexArray
    left: ComplexArray
    right: ComplexArray
    residual: ComplexArray
    shift: float

    def up_to(self, frequency: float) -> ComplexModes:
        """The modes below a frequency [Hz], the others as a series in the squared frequency."""
        squares = np.real(1.0 / self.inverse) - self.shift
        kept = squares < (2.0 * np.pi * frequency) ** 2
        left, inverse, right = self.left[:, ~kept], self.inverse[~kept], self.right[~kept]
        rest = np.array([left @ (inverse[:, None] ** k * right) for k in range(TERMS)])
        return ComplexModes(
            inverse=self.inverse[kept],
            left=self.left[:, kept],
            right=self.right[kept],
            residual=self.residual + rest,
            shift=self.shift,
        )

    def receptance(self, frequencies: Array) -> ComplexArray:
        """Motion per force at each line, (lines, rows, rows) [m/N]."""
        square = (2.0 * np.pi * np.asarray(frequencies, dtype=float)) ** 2 + self.shift
        amplify = 1.0 / (1.0 - square[:, None] * self.inverse[None, :])
        rows, modes = self.left.shape
        pairs = (self.left[:, None, :] * self.right.T[None, :, :]).reshape(rows * rows, modes)
        rest = np.tensordot(square[:, None] ** np.arange(TERMS), self.residual, axes=1)
        return (amplify @ pairs.T).reshape(-1, rows, rows) + rest


def tool_rows(model: Dynamics) -> Array:
    """Motion of the tool against the work along x, y, z from the motions of a model, (3, n)."""
    tool, work = model.machine.tool, model.machine.work
    return np.asarray(model.rows_of(tool.part, tool.at)[:3] - model.rows_of(work.part, work.at)[:3])


def response_modes(
    model: Dynamics, rows: Array, top: float, *, joints: float = JOINT_LOSS, loss: float = 1.0
) -> ComplexModes:
    """Complex modes for responses at some places.

    Parameters
    ----------
    model : Dynamics
    rows : ndarray, shape (r, n)
        Motions at which forces act and motions are read, from those of the model: `Dynamics.rows_of`, `tool_rows`.
    top : float
        Highest frequency that will be asked for [Hz].
    joints : float
        As in `strongback.vibration.damping.loss_matrices`.
    loss : float
        Factor on all losses.

    Returns
    -------
    ComplexModes
        All modes of the model on its motions, on the held modes below three times `top`, and on the shapes in which
        those above follow.

    Raises
    ------
    MachineError
        If something is free to move that has no mass.
    """
    top = checks.number("response", "top", top, above=0.0)
    stiff, mass, ports = _matrices(model, rows, top, joints, loss)
    shift = float(np.min(np.diag(stiff.real) / np.maximum(np.diag(mass), 1e-300))) if model.rigid else 0.0
    stiff = stiff + shift * mass
    scale = 1.0 / np.sqrt(np.diag(stiff.real))
    try:
        factor = scipy.linalg.cholesky(stiff.real * np.outer(scale, scale), lower=True, check_finite=False)
    except np.linalg.LinAlgError:
        raise MachineError(
            "a part that nothing holds has no mass", hint="give it a mass, or hold it by a joint or a support"
        ) from None
    turned = _between(factor, mass * np.outer(scale, scale))
    lossy = np.eye(len(mass)) + 1j * _between(factor, stiff.imag * np.outer(scale, scale))
    ports = scipy.linalg.solve_triangular(factor, scale[:, None] * ports.T, lower=True, check_finite=False)
    inverse, vectors = np.linalg.eig(np.linalg.solve(lossy, turned))
    right = np.linalg.solve(vectors, np.linalg.solve(lossy, ports))
    return ComplexModes(
        inverse=inverse,
        left=ports.T @ vectors,
        right=right,
        residual=np.zeros((TERMS, len(rows), len(rows)), dtype=complex),
        shift=shift,
    )


def _between(factor: Array, matrix: Array) -> Array:
    half = scipy.linalg.solve_triangular(factor, matrix, lower=True, check_finite=False)
    return np.asarray(scipy.linalg.solve_triangular(factor, half.T, lower=True, check_finite=False))


def _matrices(
    model: Dynamics, rows: Array, top: float, joints: float, loss: float
) -> tuple[ComplexArray, Array, Array]:
    """Stiffness and mass on the motions of the model, held modes, and shapes that stand for the held modes above."""
    low = model.squares < (KEPT * 2.0 * np.pi * top) ** 2
    stated, guessed, held = loss_matrices(model, joints)
    K = model.stiffness + 1j * loss * (stated + guessed)
    # A held mode far above adds -w^4 x x' / (w_j² - w²): what all of them add spans few directions.
    size = 1.0 / np.sqrt(np.maximum(np.diag(model.stiffness), 1e-300))
    frequency = np.sqrt(model.squares[~low])
    above = model.coupling[:, ~low] / frequency
    _, amount, way = np.linalg.svd(size[:, None] * above, full_matrices=False)
    way = way[amount * (2.0 * np.pi * top) ** 2 > SMALL]
    squares, X = model.squares[low], model.coupling[:, low]
    stiff = scipy.linalg.block_diag(
        K,
        np.diag(squares + 1j * loss * held[low]),
        np.eye(len(way)) + 1j * loss * (way * (held[~low] / frequency**2)) @ way.T,
    )
    both = np.hstack([X, above @ way.T])
    inner = scipy.linalg.block_diag(np.eye(len(squares)), (way / frequency**2) @ way.T)
    mass = np.block([[model.mass, both], [both.T, inner]])
    return stiff, mass, np.hstack([rows, np.zeros((len(rows), both.shape[1]))])


def receptance(model: Dynamics, rows: Array, frequencies: Sequence[float] | Array) -> ComplexArray:
    """Motion per force at some places, by complex modes.

    Parameters
    ----------
    model : Dynamics
    rows : ndarray, shape (r, n)
        As in `response_modes`.
    frequencies : sequence of float
        [Hz]

    Returns
    -------
    ndarray of complex, shape (lines, r, r)
        [m/N] between displacements.
    """
    lines = np.asarray(frequencies, dtype=float)
    return response_modes(model, rows, float(lines.max())).receptance(lines)


def receptance_direct(
    model: Dynamics, rows: Array, frequencies: Sequence[float] | Array, *, top: float | None = None
) -> ComplexArray:
    """The same by one solution a line: slow, and exact for the matrices of the model.

    Parameters
    ----------
    model, rows, frequencies
        As in `receptance`.
    top : float, optional
        As in `response_modes`; default the highest of the frequencies.
    """
    lines = np.asarray(frequencies, dtype=float)
    stiff, mass, ports = _matrices(model, rows, float(lines.max()) if top is None else top, JOINT_LOSS, 1.0)
    return np.array([ports @ np.linalg.solve(stiff - (2.0 * np.pi * f) ** 2 * mass, ports.T) for f in lines])


def coupled(tip: ComplexArray, across: ComplexArray, joint: ComplexArray, base: ComplexArray) -> ComplexArray:
    """Receptance at the tip of a part that is joined rigidly to another: tip - across (joint + base)^-1 across'.

    Bishop & Johnson, The Mechanics of Vibration, 1960; for tools and holders Schmitz & Donaldson, CIRP Annals 49 (2000)
    303.

    Parameters
    ----------
    tip : ndarray, shape (..., t, t)
        Of the free part at its tip.
    across : ndarray, shape (..., t, j)
        Of the free part: motion at the tip from forces at the joint.
    joint : ndarray, shape (..., j, j)
        Of the free part at the joint.
    base : ndarray, shape (..., j, j)
        Of the other part at the joint.

    Returns
    -------
    ndarray, shape (..., t, t)

    Examples
    --------
    A mass of 2 kg, receptance -1/(2 w²), joined to one of 3 kg is one of 5 kg; at w = 10/s:

    >>> m = lambda kg: np.array([[-1.0 / (kg * 100.0)]])
    >>> print(f"{coupled(m(2.0), m(2.0), m(2.0), m(3.0))[0, 0]:.4f} m/N")
    -0.0020 m/N
    """
    return np.asarray(tip - across @ np.linalg.solve(joint + base, np.swapaxes(across, -1, -2)))
