"""Thousands of joints at once: a change of joint stiffness is a low-rank update of a compliance already known.

With the system of `loop` factorised once, a change dC of the joint compliances turns the response g M⁻¹ f into

    r = r0 + p' (I + dC P)⁻¹ dC q,        P = -(M⁻¹)qq

where p, q are the joint forces of the virtual and of the real load. P is symmetric and positive, and of the rank of the
statical indeterminacy of the loop: P = U U' with few columns, so that

    (I + dC P)⁻¹ dC = dC - dC U (I + U' dC U)⁻¹ U' dC

needs one small solve a variant, and none for a loop whose joint forces follow from balance alone (Woodbury 1950; Hager,
SIAM Review 31, 1989, 221). The small solve is done for all variants side by side, without pivoting: I + U' dC U is
positive definite as the base is the stiffest of the variants in every component.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.machine.loop import Loop, assemble
from strongback.machine.parameters import Parameter, scaled
from strongback.machine.part.values import Parts
from strongback.machine.values import COMPONENTS, Machine

__all__ = ["JointVariants", "joint_variants"]

Array = NDArray[np.float64]
CHUNK = 512  # variants worked on side by side: their small matrices stay in the processor's cache
RANK_TOLERANCE = 1e-11


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointVariants:
    """Responses of one machine as functions of some of its joint stiffnesses.

    Parameters
    ----------
    parameters : tuple of Parameter
        Joint and support components, in the order of the columns.
    base : ndarray, shape (parameters,)
        Compliances of the factorised loop [m/N or rad/(N m)].
    at_base : ndarray, shape (responses,)
    virtual : ndarray, shape (responses, parameters)
        Joint forces of the virtual loads.
    real : ndarray, shape (responses, parameters)
        Joint forces of the loads.
    rank : ndarray, shape (parameters, r)
        U.
    """

    parameters: tuple[Parameter, ...]
    base: Array
    at_base: Array
    virtual: Array
    real: Array
    rank: Array

    def __call__(self, stiffness: Array) -> Array:
        """Responses of many variants.

        Parameters
        ----------
        stiffness : ndarray, shape (variants, parameters)
            [N/m or N m/rad]; none below zero, none softer than free. `inf` is rigid.

        Returns
        -------
        ndarray, shape (variants, responses)

        Raises
        ------
        MachineError
            If a stiffness is zero, negative, NaN, or above that of the base.
        """
        compliance = 1.0 / _checked(np.asarray(stiffness, dtype=float), self.parameters)
        change = compliance - self.base
        if np.any(change < -1e-12 * self.base):
            raise MachineError("a variant is stiffer than the base of its update", hint="raise `stiffest`")
        return self._responses(np.maximum(change, 0.0))

    def _responses(self, change: Array) -> Array:
        work = self.virtual * self.real  # (responses, parameters)
        found = self.at_base + change @ work.T
        if self.rank.shape[1] == 0:
            return found
        for first in range(0, len(change), CHUNK):
            part = slice(first, first + CHUNK)
            found[part] -= _coupled(change[part], self.rank, self.virtual, self.real)
        return found


def _checked(stiffness: Array, parameters: tuple[Parameter, ...]) -> Array:
    if stiffness.ndim != 2 or stiffness.shape[1] != len(parameters):
        raise MachineError(
            f"variants need {len(parameters)} columns, one a stiffness", hint=", ".join(map(str, parameters))
        )
    if not np.all(stiffness > 0.0):
        raise MachineError("a stiffness of a variant is not above 0")
    return stiffness


def _coupled(change: Array, rank: Array, virtual: Array, real: Array) -> Array:
    """p' dC U (I + U' dC U)⁻¹ U' dC q for each variant and response, (variants, responses)."""
    n, r = len(change), rank.shape[1]
    pairs = (rank[:, :, None] * rank[:, None, :]).reshape(len(rank), r * r)
    matrix = np.ascontiguousarray((change @ pairs).T).reshape(r, r, n)
    matrix[range(r), range(r)] += 1.0
    left = np.ascontiguousarray((change @ _products(virtual, rank)).T).reshape(len(virtual), r, n)
    right = np.ascontiguousarray((change @ _products(real, rank)).T).reshape(len(real), r, n)
    # Cholesky L L' of all matrices side by side; then (L⁻¹ left)·(L⁻¹ right) is the symmetric form wanted.
    _side_by_side(matrix, left, right)
    return np.asarray(np.einsum("mrn,mrn->nm", left, right))


def _products(forces: Array, rank: Array) -> Array:
    """Columns force * U for every response, (parameters, responses * r)."""
    return np.asarray((forces.T[:, :, None] * rank[:, None, :]).reshape(len(rank), -1))


def _side_by_side(matrix: Array, left: Array, right: Array) -> None:
    """Forward substitution with the Cholesky factor of many positive definite matrices, in place.

    matrix (r, r, n); left and right (responses, r, n).
    """
    r = len(matrix)
    for j in range(r):
        inverse = 1.0 / np.sqrt(matrix[j, j])
        column = matrix[j + 1 :, j] * inverse
        left[:, j] *= inverse
        right[:, j] *= inverse
        for i in range(j + 1, r):
            matrix[i, j + 1 : i + 1] -= column[i - j - 1] * column[: i - j]
        left[:, j + 1 :] -= column * left[:, j : j + 1]
        right[:, j + 1 :] -= column * right[:, j : j + 1]


def joint_variants(
    machine: Machine,
    parts: Parts,
    parameters: Sequence[Parameter],
    loads: Sequence[Array],
    virtual: Sequence[Array],
    *,
    stiffest: Array | None = None,
) -> JointVariants:
    """Prepare the responses of a machine as functions of joint stiffnesses.

    Parameters
    ----------
    machine : Machine
    parts : Parts
    parameters : sequence of Parameter
        Joint and support components that vary; finite in the machine.
    loads, virtual : sequence of ndarray, shape (unknowns,)
        Load and reading of each response, from `pull_load`, `gauge_row` or `tool_rows`.
    stiffest : ndarray, shape (parameters,), optional
        Largest stiffness of any variant. Default: a thousand times that of the machine.

    Returns
    -------
    JointVariants

    Raises
    ------
    MachineError
        If a parameter is no joint or support component, or is free or rigid in the machine.
    """
    nominal = np.array([_nominal(machine, parameter) for parameter in parameters])
    top = nominal * 1e3 if stiffest is None else np.asarray(stiffest, dtype=float)
    factors = {p: float(t / n) for p, t, n in zip(parameters, top, nominal, strict=True)}
    loop = assemble(scaled(machine, factors), parts)
    index = [component_index(loop, p) for p in parameters]
    u, q = loop.solve(np.column_stack(loads))
    _, p = loop.solve(np.column_stack(virtual))
    return JointVariants(
        parameters=tuple(parameters),
        base=1.0 / top,
        at_base=np.einsum("ur,ur->r", np.column_stack(virtual), u),
        virtual=p[index].T.copy(),
        real=q[index].T.copy(),
        rank=indeterminacy(loop, index),
    )


def _nominal(machine: Machine, parameter: Parameter) -> float:
    for kind, holder in machine.holders():
        if (kind, holder.name) == (parameter.kind, parameter.part):
            k = holder.stiffness[COMPONENTS.index(parameter.mechanism)]
            if 0.0 < k < np.inf:
                return k
    raise MachineError(
        f"{parameter} is no joint stiffness that can vary",
        hint="name a joint or support component that is neither free nor rigid",
    )


def component_index(loop: Loop, parameter: Parameter) -> int:
    """Place of a joint stiffness among the components of a loop."""
    names = [(c.owner, c.name) for c in loop.components]
    return names.index((parameter.part, parameter.mechanism))


def indeterminacy(loop: Loop, index: list[int]) -> Array:
    """U of P = U U', from the joint forces that unit misfits cause, (parameters, rank).

    Empty where balance alone fixes the forces.
    """
    P = -loop.misfit_states(index)[1][index]
    size = 1.0 / np.sqrt([loop.components[i].compliance for i in index])
    scaled_P = P / size[:, None] / size[None, :]
    values, vectors = np.linalg.eigh(0.5 * (scaled_P + scaled_P.T))
    kept = values > RANK_TOLERANCE
    return np.asarray(size[:, None] * vectors[:, kept] * np.sqrt(values[kept]))
