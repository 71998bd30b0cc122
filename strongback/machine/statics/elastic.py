"""Kernel: forces from compliances. Arrays in, arrays out, no checks.

With the self-stresses N of the loop any forces in balance with the loads are s = s0 + N x, and those that fit together
have the least complementary energy:

    (N' F N) x = -N' (F s0 + e),      readings r'u = r0' (F s + e)

with F the flexibility of the elements and the compliance of the joint components (0 is rigid, a free one is not there), e
openings from elsewhere and r0 forces that carry the reading as a unit load. The unknown x are the forces in the *softest*
components that can be cut, so that what is left, the determinate part, is as stiff as can be: every entry of N' F N is a
sum of terms that its own diagonal outweighs, and the matrix is well conditioned once it is scaled, wherever the
compliances lie.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from strongback.machine.statics.choose import independent
from strongback.machine.statics.determinate import Carried, Determinate, determinate, heard
from strongback.machine.statics.geometry import Geometry

__all__ = ["Elastic", "Solution", "elastic", "joint_cuts", "opened"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
ROUNDING = 2.0**-52


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solution:
    """Forces and deformations, a column a case.

    Parameters
    ----------
    elements, joints : ndarray, shape (forces, cases)
    deformations, openings : ndarray, shape (forces, cases)
        Of the elements and joint components.
    carried : Carried
        What they were completed from.
    cuts : ndarray, shape (r, cases)
        x.
    """

    elements: Array
    joints: Array
    deformations: Array
    openings: Array
    carried: Carried
    cuts: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Elastic:
    """A loop with its stiffnesses, ready for any load.

    Parameters
    ----------
    geometry : Geometry
    flexibility : ndarray, shape (element forces, element forces)
        With bimoments as forces of their own.
    condensed : ndarray
        The same with bimoments that fit together.
    compliance : ndarray, shape (joint components,)
    rounded : ndarray, shape (element forces,)
        How many times the rounding unit the flexibility may be off.
    cut : ndarray of int, shape (r,)
        Unknown forces: places in (element forces, joint components).
    states : Carried
        N; 1 at the place of the cut.
    locked : ndarray, shape (joint components, l)
        Orthonormal self-stresses of rigid joints that nothing elastic shares: their size is not known.
    """

    geometry: Geometry
    flexibility: Array
    condensed: Array
    compliance: Array
    rounded: Array
    cut: Index
    states: Carried
    locked: Array
    _sizes: Array
    _determinate: Determinate
    _cut_joints: Index
    _exchanged: bool
    _own_bimoments: Array
    _bimoment_factor: _Scaled
    _factor: _Scaled

    @property
    def cut_units(self) -> Array:
        """Units of the unknown forces, as in `Geometry`."""
        return np.concatenate([self.geometry.element_unit, self.geometry.joint_unit])[self.cut]

    def carry(self, loads: Array) -> Carried:
        """Forces in balance with loads, none in the cuts.

        Parameters
        ----------
        loads : ndarray, shape (motions, cases)

        Returns
        -------
        Carried
        """
        found = self._determinate.carry(loads)
        return _without(found, self.states, self.cut) if self._exchanged else found

    @property
    def primary(self) -> tuple[Index, Index]:
        """Joint components of the determinate part, and those whose unit forces span the self-stresses."""
        return self._determinate.index, self._cut_joints

    def with_states(self, states: Carried) -> Elastic:
        """The same loop with its self-stresses told more exactly."""
        return dataclasses.replace(
            self, states=states, _factor=_stress_factor(states, self.condensed, self.compliance)
        )

    def with_compliance(self, compliance: Array) -> Elastic:
        """The same loop with other joints; its cuts are chosen anew."""
        return elastic(self.geometry, self.flexibility, compliance, self.rounded)

    def whole(self, elements: Array) -> Array:
        """Element forces with the bimoments that fit together, no strains from elsewhere, (element forces, cases)."""
        return np.asarray(elements + self.geometry.bimoments @ (self._own_bimoments @ elements))

    def rigid(self, elements: NDArray[np.bool_], joints: NDArray[np.bool_]) -> Elastic:
        """The same loop with some elements and joints that do not give; its cuts are chosen anew.

        Parameters
        ----------
        elements : ndarray of bool, shape (element forces,)
        joints : ndarray of bool, shape (joint components,)
        """
        kept = np.where(elements, 0.0, 1.0)
        F = self.flexibility * kept[:, None] * kept[None, :]
        return elastic(self.geometry, F, np.where(joints, 0.0, self.compliance), self.rounded)

    def solve(
        self, carried: Carried, openings: Array | None = None, strains: Array | None = None
    ) -> Solution:
        """Forces that fit together.

        Parameters
        ----------
        carried : Carried
            From `carry`.
        openings : ndarray, shape (joint components, cases), optional
            Beyond what the compliance gives: settlement, play, preload.
        strains : ndarray, shape (element forces, cases), optional
            Deformations without force: temperature.

        Returns
        -------
        Solution
        """
        g, N = self.geometry, self.states
        own = np.zeros((g.bimoments.shape[1], carried.joints.shape[1]))
        if strains is not None:
            own = -self._bimoment_factor.solve(g.bimoments.T @ strains)
        elements, joints = carried.elements, carried.joints
        total = np.zeros((len(self.cut), joints.shape[1]))
        for _ in range(
            3 if len(self.cut) else 1
        ):  # the later rounds take off what rounding left in the first
            whole = elements + g.bimoments @ (self._own_bimoments @ elements + own)
            v, w = self.flexibility @ whole, self.compliance[:, None] * joints
            v, w = v if strains is None else v + strains, w if openings is None else w + openings
            x = -self._factor.solve(N.elements.T @ v + N.joints.T @ w)
            total = total + x
            elements, joints = carried.elements + N.elements @ total, carried.joints + N.joints @ total
        if self.locked.shape[1]:
            unit = g.joint_unit[:, None]
            joints = joints - unit * (self.locked @ (self.locked.T @ (joints / unit)))
        return Solution(
            elements=whole, joints=joints, deformations=v, openings=w, carried=carried, cuts=total
        )

    def misfits(self, index: list[int]) -> Solution:
        """Forces and deformations when joint components open by one unit beyond their compliance.

        Parameters
        ----------
        index : list of int
            Components.

        Returns
        -------
        Solution
            A column a component.
        """
        openings = np.zeros((len(self.compliance), len(index)))
        openings[index, np.arange(len(index))] = 1.0
        return self.solve(self.carry(np.zeros((len(self.geometry.rigid), len(index)))), openings)

    def errors(self, solution: Solution) -> tuple[Array, Array, Array]:
        """What rounding may have done to deformations, openings and joint forces.

        Parameters
        ----------
        solution : Solution

        Returns
        -------
        deformations, openings, joints : ndarray, shape (forces, cases)
        """
        carried, x, v, w = solution.carried, solution.cuts, solution.deformations, solution.openings
        N, c, F = self.states, self.compliance[:, None], self._sizes
        elements = carried.element_sizes + (np.abs(N.elements) + N.element_sizes) @ np.abs(x)
        joints = carried.joint_sizes + (np.abs(N.joints) + N.joint_sizes) @ np.abs(x)
        given = self.rounded[:, None] * (
            F @ np.abs(solution.elements)
        )  # by rounding of the flexibility itself
        right = np.abs(N.elements).T @ (F @ elements + given) + np.abs(N.joints).T @ (c * joints)
        right += N.element_sizes.T @ np.abs(v) + N.joint_sizes.T @ np.abs(w)
        dx = np.abs(self._factor.inverse) @ right
        joints = ROUNDING * (joints + np.abs(N.joints) @ dx)
        return ROUNDING * (F @ (elements + np.abs(N.elements) @ dx) + given), c * joints, joints

    def read(self, virtual: Carried, solution: Solution) -> Array:
        """Readings by virtual work: the forces that carry a reading as a load, on the deformations.

        Parameters
        ----------
        virtual : Carried
            From `carry`, a column a reading.
        solution : Solution

        Returns
        -------
        ndarray, shape (readings, cases)
        """
        return np.asarray(virtual.elements.T @ solution.deformations + virtual.joints.T @ solution.openings)

    def error_parts(self, virtual: Carried, solution: Solution) -> tuple[Array, Array, Array]:
        """How far rounding may have moved readings and forces.

        Parameters
        ----------
        virtual : Carried
            From `carry`, a column a reading.
        solution : Solution

        Returns
        -------
        of_elements : ndarray, shape (readings, cases)
            What the elements may have done to the readings.
        of_joints : ndarray, shape (joint components, readings, cases)
        forces : ndarray, shape (joint components, cases)
            How far the forces in the joints may be off.
        """
        dv, dw, dq = self.errors(solution)
        of_elements = virtual.element_sizes.T @ np.abs(ROUNDING * solution.deformations)
        of_elements += np.abs(virtual.elements).T @ dv
        of_joints = ROUNDING * virtual.joint_sizes[:, :, None] * np.abs(solution.openings)[:, None]
        of_joints += np.abs(virtual.joints)[:, :, None] * dw[:, None]
        return of_elements, of_joints, dq

    def motions(self, solution: Solution) -> Array:
        """All motions, along the determinate part, (motions, cases)."""
        g, v, w = self.geometry, solution.deformations, solution.openings
        if self._exchanged:
            both = np.vstack([v, w])
            both[self.cut] -= self.states.elements.T @ v + self.states.joints.T @ w
            v, w = both[: len(v)], both[len(v) :]
        opened = w - g.opening_deforming @ v
        return np.asarray(
            g.rigid @ self._determinate.motions(opened[self._determinate.index]) + g.deforming @ v
        )


def _without(carried: Carried, states: Carried, cut: Index) -> Carried:
    """The same loads carried with no force in the cuts."""
    at_cut = np.vstack([carried.elements, carried.joints])[cut]
    size = np.vstack([carried.element_sizes, carried.joint_sizes])[cut]
    found = {}
    for kind in ("elements", "joints"):
        values, N = getattr(carried, kind), getattr(states, kind)
        more = kind[:-1] + "_sizes"
        sizes = getattr(carried, more) + np.abs(N) @ size + getattr(states, more) @ np.abs(at_cut)
        found[kind], found[more] = heard(values - N @ at_cut, sizes), sizes
    return Carried(**found)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Scaled:
    """Cholesky factor of a matrix with ones on its diagonal."""

    scale: Array
    factor: Array

    def solve(self, right: Array) -> Array:
        if len(self.scale) == 0 or right.shape[1] == 0:
            return np.zeros(right.shape)
        inner = scipy.linalg.lapack.dpotrs(self.factor, self.scale[:, None] * right, 1)[0]
        return np.asarray(self.scale[:, None] * inner)

    def half(self, right: Array) -> Array:
        """L⁻¹ right with A = L L'."""
        if len(self.scale) == 0:
            return np.zeros((0, right.shape[1]))
        return np.asarray(
            scipy.linalg.solve_triangular(
                self.factor, self.scale[:, None] * right, lower=True, check_finite=False
            )
        )

    @property
    def inverse(self) -> Array:
        return self.solve(np.eye(len(self.scale)))


def _scaled(matrix: Array) -> _Scaled:
    diagonal = np.diag(matrix)
    held = diagonal <= 0.0  # of a rigid member: no compliance, and no force asked for
    scale = 1.0 / np.sqrt(np.where(held, 1.0, diagonal))
    unit = matrix * scale[:, None] * scale[None, :]
    unit[held, held] = 1.0
    factor = np.asarray(np.linalg.cholesky(unit), dtype=np.float64) if len(unit) else unit
    return _Scaled(scale=scale, factor=factor)


def elastic(geometry: Geometry, flexibility: Array, compliance: Array, rounded: Array) -> Elastic:
    """Choose the unknown forces of a loop and factorise it.

    Parameters
    ----------
    geometry : Geometry
    flexibility : ndarray, shape (element forces, element forces)
    compliance : ndarray, shape (joint components,)
    rounded : ndarray, shape (element forces,)
        As in `Elastic`.

    Returns
    -------
    Elastic

    Raises
    ------
    numpy.linalg.LinAlgError
        If the matrix is not positive definite in working precision.
    """
    g = geometry
    on_bimoments = flexibility @ g.bimoments
    bimoment_factor = _scaled(g.bimoments.T @ on_bimoments)
    half = bimoment_factor.half(on_bimoments.T)
    condensed = flexibility - half.T @ half
    cut, cut_joints, locked = _cuts(g, condensed, compliance)
    primary = determinate(g, np.setdiff1d(np.arange(len(compliance)), cut_joints))
    states = _states(primary, cut_joints[: len(cut)])
    exchanged = bool(np.any(cut < len(flexibility)))
    if exchanged:
        at_cut = np.vstack([states.elements, states.joints])[cut]
        states = _turned(states, np.asarray(np.linalg.inv(at_cut), dtype=np.float64))
    return Elastic(
        geometry=g,
        flexibility=flexibility,
        condensed=condensed,
        compliance=compliance,
        rounded=rounded,
        cut=cut,
        states=states,
        locked=locked,
        _sizes=np.abs(condensed),
        _determinate=primary,
        _cut_joints=cut_joints[: len(cut)],
        _exchanged=exchanged,
        _own_bimoments=-bimoment_factor.solve(on_bimoments.T),
        _bimoment_factor=bimoment_factor,
        _factor=_stress_factor(states, condensed, compliance),
    )


def _stress_factor(states: Carried, condensed: Array, compliance: Array) -> _Scaled:
    """Of N' F N."""
    matrix = states.elements.T @ condensed @ states.elements
    matrix += states.joints.T @ (compliance[:, None] * states.joints)
    return _scaled(0.5 * (matrix + matrix.T))


def joint_cuts(geometry: Geometry, condensed: Array, compliance: Array) -> tuple[Index, Index]:
    """Joint components that are cut so that balance tells all other forces, the softest first choice.

    Returns
    -------
    cut : ndarray of int, shape (r,)
        Whose forces are the unknowns.
    dropped : ndarray of int
        Rigid components that hold each other: what they carry is taken as nothing.
    """
    cut, joints, _ = _cuts(geometry, condensed, compliance)
    return joints[: len(cut)], joints[len(cut) :]


def opened(geometry: Geometry, cut: Index, dropped: Index) -> tuple[Determinate, Carried]:
    """The determinate part that is left when joint components are cut, and the self-stresses of unit forces in them."""
    without = np.concatenate([cut, dropped])
    primary = determinate(geometry, np.setdiff1d(np.arange(len(geometry.openings)), without))
    return primary, _states(primary, cut)


def _states(primary: Determinate, cut: Index) -> Carried:
    """Self-stresses: a unit force in each of the cut joint components, carried by the determinate part."""
    g = primary.geometry
    found = primary.carry(-g.openings[cut].T, doubt=True)
    joints = found.joints.copy()
    joints[cut, np.arange(len(cut))] = 1.0
    return Carried(
        elements=found.elements,
        joints=joints,
        element_sizes=found.element_sizes,
        joint_sizes=found.joint_sizes,
    )


def _turned(states: Carried, turn: Array) -> Carried:
    """The same self-stresses by other unknowns."""
    sizes = np.abs(turn)
    return Carried(
        elements=heard(states.elements @ turn, states.element_sizes @ sizes),
        joints=heard(states.joints @ turn, states.joint_sizes @ sizes),
        element_sizes=states.element_sizes @ sizes,
        joint_sizes=states.joint_sizes @ sizes,
    )


def _cuts(g: Geometry, condensed: Array, compliance: Array) -> tuple[Index, Index, Array]:
    """Where to cut, the joint components that tell the same self-stresses with those that are locked, what is locked."""
    none = np.zeros(0, dtype=np.int64)
    locked = np.zeros((len(compliance), 0))
    if g.indeterminacy == 0:
        return none, none, locked
    on_elements = -g.opening_deforming.T @ (g.joint_unit[:, None] * g.states) / g.element_unit[:, None]
    softness = np.concatenate(
        [
            np.sqrt(np.maximum(np.diag(condensed), 0.0)) * g.element_unit,
            np.sqrt(compliance) * g.joint_unit,
        ]
    )
    rows, dropped = np.vstack([on_elements, g.states]), none
    cut, span = independent(rows, softness, g.indeterminacy)
    if len(cut) < g.indeterminacy:  # rigid joints hold each other: what one of them carries is not known
        locked = g.states @ scipy.linalg.null_space(span.T) if len(cut) else g.states
        rigid = np.where(compliance == 0.0, 1.0, 0.0)
        dropped, _ = independent(locked, rigid, locked.shape[1])
        rows = rows @ scipy.linalg.null_space(g.states[dropped])
        cut, _ = independent(rows, softness, rows.shape[1])
    joints = cut - len(on_elements)
    if np.any(joints < 0):
        weight = softness[len(on_elements) :]
        weight = np.maximum(weight, 1e-3 * weight[weight > 0.0].min(initial=1.0))
        weight[joints[joints >= 0]] *= 1e3 * weight.max() / weight.min()
        joints, _ = independent(rows[len(on_elements) :], weight, rows.shape[1])
    return cut, np.concatenate([joints, dropped]), locked
