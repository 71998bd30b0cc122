"""Thousands of joints at once: forces follow from balance up to a few self-stresses, joints enter as compliances.

Of a loop with r self-stresses (counted by balance, `Loop.indeterminacy`) a change of joint stiffnesses costs one Cholesky
factor of r rows a variant, for all variants side by side, and none where balance alone fixes the forces. Rigid is a
compliance of zero; a component may also be absent, if the machine holds without it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import MachineError, MechanismError
from strongback.machine.loop import Loop, assemble
from strongback.machine.parameters import Parameter
from strongback.machine.part.values import Parts
from strongback.machine.statics.condensed import Condensed
from strongback.machine.statics.determinate import Carried
from strongback.machine.values import COMPONENTS, Machine

__all__ = ["JointVariants", "condensed", "joint_variants"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointVariants:
    """Responses of one machine as functions of some of its joint stiffnesses.

    Parameters
    ----------
    parameters : tuple of Parameter
        Joint and support components, in the order of the columns.
    removable : tuple of Parameter
        Those of them that may be absent: stiffness 0.
    nominal : ndarray, shape (parameters,)
        Stiffnesses of the machine [N/m or N m/rad].
    """

    parameters: tuple[Parameter, ...]
    removable: tuple[Parameter, ...]
    nominal: Array
    _form: Condensed
    _kept: NDArray[np.int64]
    _absent: NDArray[np.int64]

    @property
    def indeterminacy(self) -> int:
        """Forces that balance alone leaves open, with every component there."""
        return len(self._form.stress)

    def __call__(self, stiffness: Array) -> Array:
        """Responses of many variants.

        Parameters
        ----------
        stiffness : ndarray, shape (variants, parameters)
            [N/m or N m/rad]; `inf` is rigid, 0 is absent where that is allowed.

        Returns
        -------
        ndarray, shape (variants, responses)

        Raises
        ------
        MachineError
            If a stiffness is negative or NaN, zero where the component must be there, or infinite where it may be absent.
        """
        checked = _checked(np.asarray(stiffness, dtype=float), self.parameters, self._kept, self._absent)
        roots = np.sqrt(checked[:, self._absent]) if len(self._absent) else None
        return self._form(1.0 / checked[:, self._kept], roots)


def _checked(
    stiffness: Array,
    parameters: tuple[Parameter, ...],
    kept: NDArray[np.int64],
    absent: NDArray[np.int64],
) -> Array:
    if stiffness.ndim != 2 or stiffness.shape[1] != len(parameters):
        raise MachineError(
            f"variants need {len(parameters)} columns, one a stiffness", hint=", ".join(map(str, parameters))
        )
    if not (np.all(stiffness[:, kept] > 0.0) and np.all(stiffness[:, absent] >= 0.0)):
        raise MachineError("a stiffness of a variant is not above 0")
    if not np.all(np.isfinite(stiffness[:, absent])):
        raise MachineError("a component that may be absent cannot be rigid")
    return stiffness


def joint_variants(
    machine: Machine,
    parts: Parts,
    parameters: Sequence[Parameter],
    loads: Sequence[Array],
    virtual: Sequence[Array],
    *,
    removable: Sequence[Parameter] = (),
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
    removable : sequence of Parameter
        Those of the parameters that may be absent, such as braces; the machine must hold without all of them.

    Returns
    -------
    JointVariants

    Raises
    ------
    MachineError
        If a parameter is no joint or support component, or is free or rigid in the machine.
    MechanismError
        If the machine does not hold without what may be absent.
    """
    nominal = np.array([_nominal(machine, parameter) for parameter in parameters])
    loop = assemble(machine, parts)
    absent = np.array([i for i, p in enumerate(parameters) if p in removable], dtype=np.int64)
    kept = np.array([i for i, p in enumerate(parameters) if p not in removable], dtype=np.int64)
    places = np.array([component_index(loop, p) for p in parameters], dtype=np.int64)
    form = condensed(loop, places[kept], np.column_stack(loads), np.column_stack(virtual), places[absent])
    return JointVariants(
        parameters=tuple(parameters),
        removable=tuple(parameters[i] for i in absent),
        nominal=nominal,
        _form=form,
        _kept=kept,
        _absent=absent,
    )


def condensed(
    loop: Loop,
    varying: NDArray[np.int64],
    loads: Array,
    virtual: Array,
    removable: NDArray[np.int64] | None = None,
) -> Condensed:
    """A loop condensed to some loads and readings.

    Parameters
    ----------
    loop : Loop
    varying, removable : ndarray of int
        Components whose compliance is asked about, and those that may be absent.
    loads, virtual : ndarray, shape (unknowns, responses)

    Returns
    -------
    Condensed
    """
    absent = np.zeros(0, dtype=np.int64) if removable is None else removable
    statics = loop.statics
    if len(absent):
        # What may be absent is as soft as can be, so that it is cut.
        compliance = statics.compliance.copy()
        unit = statics.geometry.joint_unit
        softest = max(
            float((compliance * unit**2).max()),
            float((np.diag(statics.condensed) * statics.geometry.element_unit**2).max(initial=0.0)),
        )
        compliance[absent] = 1e6 * softest / unit[absent] ** 2
        statics = statics.with_compliance(compliance)
    cuts = list(statics.cut - len(statics.flexibility))
    if any(i not in cuts for i in absent.tolist()):
        culprit = next(loop.components[i] for i in absent.tolist() if i not in cuts)
        raise MechanismError(
            f'without "{culprit.owner}", {culprit.name}, nothing holds its part',
            hint="let it always be there, or hold the part by something else, too",
            part=culprit.owner,
            motion=culprit.name,
        )
    fixed = loop.statics.compliance.copy()
    fixed[varying] = 0.0
    fixed[absent] = 0.0
    real, read, states = statics.carry(loads), statics.carry(virtual), statics.states

    def work(a: Carried, b: Carried) -> Array:
        return a.elements.T @ statics.condensed @ b.elements + a.joints.T @ (fixed[:, None] * b.joints)

    pairs = ((statics.condensed @ real.elements) * read.elements).sum(axis=0)
    pairs += (fixed[:, None] * real.joints * read.joints).sum(axis=0)
    stress = work(states, states)
    return Condensed(
        pairs=pairs,
        real=work(real, states),
        virtual=work(read, states),
        stress=0.5 * (stress + stress.T),
        real_forces=real.joints[varying].T.copy(),
        virtual_forces=read.joints[varying].T.copy(),
        states=states.joints[varying],
        removable=np.array([cuts.index(i) for i in absent.tolist()], dtype=np.int64),
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
