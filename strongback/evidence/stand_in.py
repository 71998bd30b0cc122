"""A machine as a table of compliances, for many models of its readings at once.

A reading is a sum of compliances, each the inverse of a stiffness, as long as the forces have one way only. The table is
that sum at one set of stiffnesses: exact everywhere where balance alone gives the forces, at that place and to first order
where they can choose their way. Beside every reading stand those under the same pull turned and shifted by a standard
deviation.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.evidence.cord import across
from strongback.evidence.mixture.laplace import Prior
from strongback.evidence.model import LoopModel, Matched
from strongback.machine.budget import shares
from strongback.machine.loop import Loop
from strongback.machine.parameters import Parameter, contribution_of
from strongback.machine.solve import gauge_row, pull_load
from strongback.machine.values import Gauge, Pull

__all__ = ["OWN", "POINT", "SLANT", "StandIn", "Works", "stand_in"]

Array = NDArray[np.float64]
SLANT = (1, 2)  # slots: the pull turned, in two planes
POINT = (3, 4, 5)  # the pull's point shifted, along three axes
OWN = 6  # the model's own unknown
SLOTS = 7


class Works:
    """Virtual work of every stiffness for any pairs of loads and readings of one loop.

    Parameters
    ----------
    loop : Loop
    parameters : sequence of Parameter
    x : ndarray, shape (n,)
        Logarithms of the factors that the loop has on them.
    """

    def __init__(self, loop: Loop, parameters: Sequence[Parameter], x: Array) -> None:
        self.loop = loop
        self.parameters = tuple(parameters)
        self._start = np.exp(x)

    def of(self, loads: Array, rows: Array) -> tuple[Array, Array, Array]:
        """Compliances of pairs of loads and gauge rows (unknowns, p) each: table (p, 1 + n), forces of joint components
        under the loads and under the readings (components, p)."""
        columns: dict[bytes, int] = {}
        kept: list[Array] = []
        index = []
        for column in (*loads.T, *rows.T):
            key = column.tobytes()
            if key not in columns:
                columns[key] = len(kept)
                kept.append(column)
            index.append(columns[key])
        state = self.loop.state(np.column_stack(kept))
        a, b = index[: loads.shape[1]], index[loads.shape[1] :]
        work = shares(
            self.loop, state.elements[:, a], state.elements[:, b], state.joints[:, a], state.joints[:, b]
        )
        parts = np.column_stack([contribution_of(work, p) for p in self.parameters])
        rest = np.sum(list(work.values()), axis=0) - parts.sum(axis=1)
        return np.column_stack([rest, parts * self._start]), state.joints[:, a], state.joints[:, b]

    def loads(self, pull: Pull, angle: float, point: float) -> Array:
        """Loads of a pull, of what a slant and a shift of its point by a standard deviation add, (unknowns, 6)."""
        columns = [pull_load(self.loop, pull)]
        turned = across(pull)
        shape = (len(columns[0]), 5)
        if turned is None:
            return np.column_stack([columns[0], np.zeros(shape)])
        columns += [angle * pull_load(self.loop, each) for each in turned]
        for shift in np.eye(3):
            moment = point * np.cross(shift, pull.force)
            columns.append(self._couple(pull, moment))
        return np.column_stack(columns)

    def _couple(self, pull: Pull, moment: Array) -> Array:
        if not np.any(moment):
            return np.zeros(self.loop.size)
        x, y, z = (float(v) for v in moment)
        return pull_load(self.loop, dataclasses.replace(pull, force=(0.0, 0.0, 0.0), couple=(x, y, z)))

    def row(self, gauge: Gauge) -> Array | None:
        """Reading of a gauge from all motions, or None where the loop cannot tell it."""
        try:
            return gauge_row(self.loop, gauge)
        except MachineError:
            return None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StandIn:
    """Readings as a table.

    Parameters
    ----------
    table : ndarray, shape (m, s, 1 + n)
        Constant and compliances of every reading, of those with the pull off, and an empty slot [m].
    prior : Prior
    data, variance : ndarray, shape (m,)
        [m], [m²]
    works : Works
    loads : ndarray, shape (m, unknowns, 6)
        Of the pull of every reading.
    rows : ndarray, shape (m, unknowns)
        Of its gauge.
    joints, virtual : ndarray, shape (components, m)
        Forces of joint components under the pull and under the reading.
    """

    table: Array
    prior: Prior
    data: Array
    variance: Array
    works: Works
    loads: Array
    rows: Array
    joints: Array
    virtual: Array


def tabled(works: Works, loads: Array, rows: Array) -> tuple[Array, Array, Array]:
    """Table (r, s, 1 + n) of readings with loads (r, unknowns, 6) and gauge rows (r, unknowns), and joint forces."""
    r, _, six = loads.shape
    flat = loads.transpose(1, 0, 2).reshape(loads.shape[1], r * six)
    work, joints, virtual = works.of(flat, np.repeat(rows, six, axis=0).T)
    table = np.zeros((r, SLOTS, work.shape[1]))
    table[:, :six] = work.reshape(r, six, -1)
    return table, joints[:, ::six], virtual[:, ::six]


def stand_in(
    model: LoopModel, x: Array, matched: Matched, covariance: Array, u_load: float, point: float
) -> StandIn:
    """The table of a machine at some stiffnesses.

    Parameters
    ----------
    model : LoopModel
    x : ndarray, shape (n,)
        Logarithms of factors on the parameters of the model.
    matched : Matched
        Readings of the model.
    covariance : ndarray, shape (n, n)
        Of the logarithms beforehand.
    u_load : float
        Standard deviation of the logarithm of the load.
    point : float
        Standard deviation of the point of every pull along each axis [m].

    Returns
    -------
    StandIn
    """
    works = Works(model.loop_at(x), model.parameters, x)
    pulls = list(dict.fromkeys(pull.name for pull, _ in matched.pairs))
    by_pull = {
        (pull, slant): works.loads(pull, slant, point)
        for (pull, _), slant in zip(matched.pairs, matched.slants, strict=True)
    }
    loads = np.stack(
        [by_pull[pair[0], slant] for pair, slant in zip(matched.pairs, matched.slants, strict=True)]
    )
    rows = np.stack([gauge_row(works.loop, gauge) for _, gauge in matched.pairs])
    table, joints, virtual = tabled(works, loads, rows)
    value, J = model(x)  # with what the contact under the pads of bodies does to points on their walls
    table[:, 0, 1:] = -J * np.exp(x)
    table[:, 0, 0] = value + J.sum(axis=1)
    return StandIn(
        table=table,
        prior=Prior(
            factor=np.asarray(np.linalg.cholesky(covariance), dtype=float),
            u_load=max(u_load, 1e-6),
            pull=np.array([pulls.index(pull.name) for pull, _ in matched.pairs], dtype=np.int64),
        ),
        data=np.array([m.value for m in matched.measured]),
        variance=np.array([m.own_u**2 for m in matched.measured]),
        works=works,
        loads=loads,
        rows=rows,
        joints=joints,
        virtual=virtual,
    )
