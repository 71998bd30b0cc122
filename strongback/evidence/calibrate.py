"""Stiffnesses that fit the readings: bounded weighted least squares in their logarithms, with priors.

The logarithm suits a stiffness: it cannot be negative, and what is known of it is a factor. A common error of the load is
one more unknown with a prior of its own.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import NDArray

from strongback.answer import Telling
from strongback.evidence.compare import Comparison, compared
from strongback.evidence.fit import Fit, Problem, fit, profile, skewness
from strongback.evidence.identify import Identifiability, identify
from strongback.evidence.model import (
    LoopModel,
    Matched,
    default_parameters,
    in_words,
    match,
    prior_covariance,
    prior_uncertainty,
    refuse_nothing,
)
from strongback.evidence.plan import named, separating
from strongback.evidence.readings import Instrument, Measured
from strongback.evidence.robust import Robust
from strongback.evidence.uncertainty import student
from strongback.machine.parameters import Parameter, scaled
from strongback.machine.part.values import Parts
from strongback.machine.values import COMPONENTS, RIGID, Joint, Machine, Member, Six, Support

__all__ = ["CalibratedParameter", "Calibration", "calibrate", "calibrated_machine", "readings_degrees"]

Array = NDArray[np.float64]
REACH = math.log(1e4)  # how far a stiffness may move from where it starts
MOST_ADVICE = 6
FAINT = 2e-3  # a correlation below this is left out
FELT = 3.0  # a stiffness moves the readings by so many standard uncertainties within what is known of it
NOT_NORMAL = 0.15  # relative error of the parabola from which on an interval is profiled


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibratedParameter:
    """What the readings say of one stiffness.

    Parameters
    ----------
    parameter : Parameter
    name : str
        In words.
    start : float
        Stiffness before [N/m or N m/rad]; 1 for a factor on a member.
    value : float or None
        Fitted stiffness or factor; None where the readings do not determine it.
    low, high : float or None
        Interval of 95 %.
    u_ln : float
        Standard uncertainty of the logarithm.
    prior_u_ln : float
        The same beforehand.
    learned : float
        1 less the variance with the readings over that without.
    profiled : bool
        Whether the interval was found by profiling because the sum of squares is no parabola.
    remark : str
    """

    ONLY: ClassVar[Telling] = (
        ("name", "name"),
        ("kind", "parameter.kind"),
        ("part", "parameter.part"),
        ("mechanism", "parameter.mechanism"),
        ("unit", "unit"),
        ("start", "start"),
        ("value", "value"),
        ("low", "low"),
        ("high", "high"),
        ("learned", "learned"),
        ("determined", "determined"),
        ("profiled", "profiled"),
        ("remark", "remark"),
    )

    parameter: Parameter
    name: str
    start: float
    value: float | None
    low: float | None
    high: float | None
    u_ln: float
    prior_u_ln: float
    learned: float
    profiled: bool
    remark: str

    @property
    def unit(self) -> str:
        """Of its values: a factor, along or about an axis."""
        if self.parameter.kind == "member":
            return "1"
        return "N/m" if self.parameter.mechanism.startswith("along") else "N m/rad"

    @property
    def determined(self) -> bool:
        """Whether the readings tell it by itself."""
        return self.value is not None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Calibration:
    """A machine that fits its readings as well as they allow.

    Parameters
    ----------
    machine : Machine
        With fitted stiffnesses; ranges of its joints and factors are the intervals of the fit, correlation is its own.
    parameters : tuple of CalibratedParameter
    logarithms : ndarray, shape (n,)
        Of the fitted factors on the stiffnesses of the starting machine.
    covariance : ndarray, shape (n, n)
        Of `logarithms`.
    load_gain : float
        Fitted factor on all loads.
    before, after : Comparison
    identifiability : Identifiability
    findings : tuple of str
        What the readings cannot tell apart, in words, and which reading would.
    fit : Fit
    degrees : float
        Degrees of freedom behind the uncertainty of the readings.
    robust : Robust or None
        What other models of the readings say; None where the one as stated was taken on trust.
    """

    ONLY: ClassVar[Telling] = (
        ("parameters", "parameters"),
        ("correlation", "correlation"),
        ("singular_values", "identifiability.singular"),
        ("load_gain", "load_gain"),
        ("chi_squared", "fit.chi_squared"),
        ("probability", "probability"),
        ("findings", "findings"),
        ("before", "before"),
        ("after", "after"),
    )

    machine: Machine
    parameters: tuple[CalibratedParameter, ...]
    logarithms: Array
    covariance: Array
    load_gain: float
    before: Comparison
    after: Comparison
    identifiability: Identifiability
    findings: tuple[str, ...]
    fit: Fit
    degrees: float
    robust: Robust | None = None

    @property
    def correlation(self) -> Array:
        """Of the fitted logarithms, (n, n)."""
        u = np.sqrt(np.diag(self.covariance))
        return np.asarray(self.covariance / np.outer(u, u))

    @property
    def probability(self) -> float:
        """Of readings that fit as badly as these or worse if all is as stated."""
        return self.fit.probability if self.robust is None else self.robust.examined.probability

    def joint_spreads(self) -> tuple[dict[Parameter, float], Array]:
        """Standard uncertainties and correlation of the joints, as `machine.spread.budget_spread` takes them."""
        index = [i for i, p in enumerate(self.parameters) if p.parameter.kind != "member"]
        u = np.sqrt(np.diag(self.covariance))
        spreads = {self.parameters[i].parameter: float(u[i]) for i in index}
        return spreads, self.correlation[np.ix_(index, index)]

    def find(self, name: str) -> CalibratedParameter:
        """The parameter called `name`, in words or as ``"base joint, about x"``."""
        for p in self.parameters:
            if name in (p.name, str(p.parameter)):
                return p
        raise KeyError(name)


def calibrate(
    machine: Machine,
    parts: Parts,
    measured: Iterable[Measured],
    *,
    parameters: Sequence[Parameter] | None = None,
    prior_u: Array | None = None,
    instrument: Instrument | None = None,
    advise: bool = True,
) -> Calibration:
    """Fit stiffnesses to readings.

    Parameters
    ----------
    machine : Machine
        With the stiffnesses to start from; ranges of its joints are priors, without one a factor of three.
    parts : Parts
        With the contact under the pads of bodies as a variable, where there are any.
    measured : iterable of Measured
    parameters : sequence of Parameter, optional
    prior_u : ndarray, shape (n,), optional
        Standard uncertainty of the logarithms beforehand.
    instrument : Instrument, optional
        For the common error of the load and for advice.
    advise : bool
        Whether to look for the reading that would separate what these cannot.

    Returns
    -------
    Calibration

    Raises
    ------
    ReadingsError
        If the machine knows none of the readings.
    NotConvergedError
    """
    instrument = instrument or Instrument()
    matched = match(machine, measured)
    refuse_nothing(matched)
    chosen = tuple(default_parameters(machine) if parameters is None else parameters)
    known = prior_uncertainty(machine, chosen) if prior_u is None else np.asarray(prior_u, dtype=float)
    model = LoopModel.of(machine, parts, matched.pairs, chosen)
    n = len(chosen)
    problem = _problem(model, matched.measured, known, instrument, np.zeros(n))
    found = fit(problem)
    # How far a slanted pull goes depends on what was fitted.
    if problem.shared is not None and problem.shared.size:
        problem = _problem(model, matched.measured, known, instrument, found.x[:n])
        found = fit(problem, found.x)
    judged = identify(found.sensitivity[:, :n], known, own=found.jacobian[:, :n] / problem.u[:, None])
    degrees = readings_degrees(matched.measured)
    rows, profiled = _rows(machine, chosen, problem, found, judged, known, student(degrees))
    findings = _findings(machine, chosen, judged, known, found)
    if advise:
        findings += _advice(machine, parts, chosen, found, judged, instrument)
    start, J = model(np.zeros(n))
    return Calibration(
        machine=calibrated_machine(machine, chosen, found, profiled),
        parameters=rows,
        logarithms=found.x[:n],
        covariance=found.covariance[:n, :n],
        load_gain=math.exp(found.x[n]),
        before=compared(
            matched, start, J, prior_covariance(machine, chosen), model.slants(np.zeros(n), matched.slants)
        ),
        after=_after(matched, found, n, model.slants(found.x[:n], matched.slants)),
        identifiability=judged,
        findings=tuple(findings),
        fit=found,
        degrees=degrees,
    )


def _problem(
    model: LoopModel, measured: Sequence[Measured], prior_u: Array, instrument: Instrument, at: Array
) -> Problem:
    """The readings with what slanted pulls do to them at the logarithms `at`."""

    def with_load(x: Array) -> tuple[Array, Array]:
        predicted, J = model(x[:-1])
        gain = math.exp(x[-1])
        return gain * predicted, gain * np.column_stack([J, predicted])

    n = len(prior_u)
    reach = np.append(np.full(n, REACH), 1.0)
    return Problem(
        model=with_load,
        data=np.array([m.value for m in measured]),
        u=np.array([m.own_u for m in measured]),
        prior=np.zeros(n + 1),
        prior_u=np.append(prior_u, max(instrument.u_load, 1e-6)),
        low=-reach,
        high=reach,
        inverse=np.append(np.ones(n, dtype=bool), False),
        shared=model.slants(at, [m.slant for m in measured]),
    )


def readings_degrees(measured: Sequence[Measured]) -> float:
    """Degrees of freedom of the pooled scatter, as most of the readings have them.

    Parameters
    ----------
    measured : sequence of Measured
    """
    return max(float(np.median([min(m.uncertainty.degrees, 1e6) for m in measured])), 1.0)


def _rows(
    machine: Machine,
    parameters: Sequence[Parameter],
    problem: Problem,
    found: Fit,
    judged: Identifiability,
    prior_u: Array,
    width: float,
) -> tuple[tuple[CalibratedParameter, ...], Array]:
    """A row a parameter, and the ends of all intervals as logarithms (n, 2)."""
    bent = skewness(problem, found, width) > NOT_NORMAL
    rows, ends = [], np.zeros((len(parameters), 2))
    for i, parameter in enumerate(parameters):
        told = bool(judged.determined[i])
        profiled = told and bool(bent[i])
        ends[i] = found.x[i] + np.array([-1.0, 1.0]) * width * found.u[i]
        if profiled:
            ends[i] = profile(problem, found, i, width)
        start = _start(machine, parameter)
        rows.append(
            CalibratedParameter(
                parameter=parameter,
                name=in_words(parameter, machine),
                start=start,
                value=start * math.exp(found.x[i]) if told else None,
                low=start * math.exp(ends[i, 0]) if told else None,
                high=start * math.exp(ends[i, 1]) if told else None,
                u_ln=float(found.u[i]),
                prior_u_ln=float(prior_u[i]),
                learned=float(judged.learned[i]),
                profiled=profiled,
                remark=_remark(i, judged, found),
            )
        )
    return tuple(rows), ends


def _remark(i: int, judged: Identifiability, found: Fit) -> str:
    if found.at_bound[i]:
        return "at the bound of the fit: as good as rigid or free"
    if judged.determined[i]:
        return ""
    if any(i in (p.first, p.second) and p.verdict == "cannot be separated" for p in judged.pairs):
        return "not determined by these readings: cannot be separated from another"
    return "not determined by these readings: as known before"


def _start(machine: Machine, parameter: Parameter) -> float:
    if parameter.kind == "member":
        return 1.0
    for kind, holder in machine.holders():
        if (kind, holder.name) == (parameter.kind, parameter.part):
            return holder.stiffness[COMPONENTS.index(parameter.mechanism)]
    raise KeyError(str(parameter))


def _after(matched: Matched, found: Fit, n: int, slants: Array) -> Comparison:
    """Readings beside the fitted machine, the load as stated in the log."""
    gain = math.exp(found.x[n])
    return compared(
        matched, found.predicted / gain, found.jacobian[:, :n] / gain, found.covariance[:n, :n], slants
    )


def calibrated_machine(machine: Machine, parameters: Sequence[Parameter], found: Fit, ends: Array) -> Machine:
    """The machine with fitted stiffnesses, its ranges and correlations those of the fit.

    Parameters
    ----------
    machine : Machine
    parameters : sequence of Parameter
        n of them.
    found : Fit
        Whose first n values are logarithms of factors on them.
    ends : ndarray, shape (n, 2)
        Of their intervals, as logarithms.
    """
    return _correlated(_calibrated(machine, parameters, found, ends), parameters, found)


def _calibrated(machine: Machine, parameters: Sequence[Parameter], found: Fit, ends: Array) -> Machine:
    """The machine with fitted stiffnesses, its joints' ranges those of the fit."""
    factors = np.exp(found.x[: len(parameters)]).tolist()
    moved = scaled(machine, dict(zip(parameters, factors, strict=True)))
    low = dict(zip(parameters, np.exp(ends[:, 0]).tolist(), strict=True))
    high = dict(zip(parameters, np.exp(ends[:, 1]).tolist(), strict=True))
    joints = []
    for old, new in zip(machine.joints, moved.joints, strict=True):
        ends_of = _ranges(old, new, "joint", low, high)
        joints.append(new if ends_of is None else dataclasses.replace(new, low=ends_of[0], high=ends_of[1]))
    supports = []
    for held, holds in zip(machine.supports, moved.supports, strict=True):
        ends_of = _ranges(held, holds, "support", low, high)
        supports.append(
            holds if ends_of is None else dataclasses.replace(holds, low=ends_of[0], high=ends_of[1])
        )
    members = tuple(
        _with_ranges(member, before, low, high)
        for member, before in zip(moved.members, machine.members, strict=True)
    )
    return dataclasses.replace(moved, joints=tuple(joints), supports=tuple(supports), members=members)


def _correlated(machine: Machine, parameters: Sequence[Parameter], found: Fit) -> Machine:
    """The machine with the correlations of the fit in place of its own between the same stiffnesses."""
    names, correlation = [str(p) for p in parameters], found.correlation
    fitted = set(names)
    kept = [row for row in machine.correlation if not {row[0], row[1]} <= fitted]
    new = [
        (names[i], names[j], float(correlation[i, j]))
        for i in range(len(names))
        for j in range(i + 1, len(names))
        if abs(correlation[i, j]) >= FAINT
    ]
    return dataclasses.replace(machine, correlation=(*kept, *new))


def _with_ranges(
    member: Member, before: Member, low: Mapping[Parameter, float], high: Mapping[Parameter, float]
) -> Member:
    """A member whose fitted factors have the ranges of the fit, the others as they were."""
    old, kept = dict(before.factors), {name: (a, b) for name, a, b in before.factor_ranges}
    for p in low:
        if (p.kind, p.part) == ("member", member.name):
            factor = old.get(p.mechanism, 1.0)
            kept[p.mechanism] = (factor * low[p], factor * high[p])
    return dataclasses.replace(member, factor_ranges=tuple((name, a, b) for name, (a, b) in kept.items()))


def _ranges(
    old: Joint | Support,
    new: Joint | Support,
    kind: Literal["joint", "support"],
    low: Mapping[Parameter, float],
    high: Mapping[Parameter, float],
) -> tuple[Six, Six] | None:
    """Low and high of the six springs: the fit's where it has one, else as they were; None where it has none."""
    names = [Parameter(kind=kind, part=old.name, mechanism=c) for c in COMPONENTS]
    if not any(p in low for p in names):
        return None

    def ends(side: Mapping[Parameter, float], before: Six | None) -> Six:
        kept = new.stiffness if before is None else before
        a, b, c, d, e, f = (
            k * side[p] if p in side and 0.0 < k < RIGID else held
            for p, k, held in zip(names, old.stiffness, kept, strict=True)
        )
        return a, b, c, d, e, f

    return ends(low, old.low), ends(high, old.high)


def _findings(
    machine: Machine, parameters: Sequence[Parameter], judged: Identifiability, prior_u: Array, found: Fit
) -> list[str]:
    words = [in_words(p, machine) for p in parameters]
    said = [
        f"{_listed([words[i] for i in group])} cannot be separated by these readings (they act alike to {cosine:.1%})"
        for group, cosine in judged.groups("cannot be separated")
    ]
    said += _leaning(judged, words, prior_u)
    said += [
        f"{words[p.first]} and {words[p.second]} are weakly separated (they act alike to {abs(p.cosine):.1%})"
        for p in judged.pairs
        if p.verdict == "weakly separated"
    ]
    paired = {i for group, _ in judged.groups("cannot be separated") for i in group}
    unsaid = [words[i] for i in range(len(words)) if not judged.determined[i] and i not in paired]
    if unsaid:
        said.append(f"not determined by these readings, as known before: {', '.join(unsaid)}")
    felt = np.linalg.norm(found.sensitivity[:, : len(words)], axis=0) * prior_u > FELT
    for weak in judged.weak:
        lead = [(i, w) for i, w in weak.weights if i not in paired]
        if len(lead) > 1 and all(felt[i] for i, _ in lead):
            terms = ", ".join(f"{words[i]} {'up' if w > 0.0 else 'down'}" for i, w in lead)
            said.append(f"together these leave hardly a trace in the readings: {terms}")
    if found.probability < 0.01:
        said.append(
            f"the fitted machine explains the readings badly (probability {found.probability:.1g}): a gauge, a "
            "reference body, a state or a part of the model is not as stated"
        )
    return said


def _listed(words: Sequence[str]) -> str:
    return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else words[0]


def _leaning(judged: Identifiability, words: Sequence[str], prior_u: Array) -> list[str]:
    """Stiffnesses that are told apart only by what is known of another beforehand."""
    leaning: dict[int, list[int]] = {}
    for p in judged.pairs:
        if p.verdict == "separated by the prior":
            tight, other = (
                (p.first, p.second) if prior_u[p.first] <= prior_u[p.second] else (p.second, p.first)
            )
            leaning.setdefault(tight, []).append(other)
    return [
        f"{_listed([words[i] for i in others])} look{'s' if len(others) == 1 else ''} like {words[tight]} in these "
        f"readings: told apart only because {words[tight]} is given to ± {prior_u[tight]:.0%}"
        for tight, others in leaning.items()
    ]


def _advice(
    machine: Machine,
    parts: Parts,
    parameters: Sequence[Parameter],
    found: Fit,
    judged: Identifiability,
    instrument: Instrument,
) -> list[str]:
    """For neighbours in each group that cannot be separated, the reading that would."""
    n = len(parameters)
    pairs = [pair for group, _ in judged.groups("cannot be separated") for pair in itertools.pairwise(group)]
    if not pairs:
        return []
    moved = scaled(machine, dict(zip(parameters, np.exp(found.x[:n]).tolist(), strict=True)))
    steps = separating(moved, parts, parameters, found.covariance[:n, :n], pairs[:MOST_ADVICE], instrument)
    words = []
    for (i, j), step in zip(pairs, steps, strict=False):
        a, b = (in_words(parameters[k], machine) for k in (i, j))
        if step is None:
            words.append(f"no reading considered here would separate {a} from {b}")
        else:
            words.append(
                f"to separate {a} from {b} add {named(step)} (expected {step.expected * 1e6:.3g} µm)"
            )
    return words
