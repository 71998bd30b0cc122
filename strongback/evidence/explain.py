"""Why the gain differs from the promise: both data sets fitted at once, the change split over named causes.

Stiffnesses before the change and the causes that may have come with it are unknowns of one fit. The logarithm of after over
before is then the integral of its derivatives along the straight way from "as meant" to "as found", so that its parts add
up however large the changes are. What no cause takes is left as set-up and reading scatter.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2 as chi_squared_law

from strongback.answer import Telling
from strongback.errors import ReadingsError
from strongback.evidence.change import Case, Cause, ChangeModel
from strongback.evidence.estimators import Estimate, ratio
from strongback.evidence.fit import Fit, Problem, fit, profile, skewness
from strongback.evidence.identify import identify
from strongback.evidence.model import LeftOut, Matched, Pair, match
from strongback.evidence.readings import Campaign, Measured, StateDifference, state_differences
from strongback.evidence.uncertainty import student
from strongback.machine.parameters import Parameter

__all__ = ["Alone", "CauseFound", "Explanation", "Gain", "Split", "explain"]

Array = NDArray[np.float64]
NODES, WEIGHTS = np.polynomial.legendre.leggauss(6)
AS_MEANT = "the change as meant"
EXCLUDED = 0.05
ALONE = 1e-3  # relative fall of the sum of squares at which the fit of a single cause may stop
REACH = math.log(1e3)
HELD = (
    0.3  # of the give of the empty walls: with less than that left for sure a fill may be said to hold them
)
LEARNED = 0.5  # half of the variance gone: a number may be given


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """What arithmetic promises before any cause is looked for: R = 1 - s (1 - r).

    Parameters
    ----------
    pull, gauge : str
    share : float
        s, of the changed part in the reading before [-].
    r : float
        Compliance of the part after over before, as meant [-].
    promised : float
        R, with the whole machine solved again [-].
    ceiling : float
        R if the part became rigid: 1 - s [-].
    measured : Estimate
        After over before.
    """

    ONLY: ClassVar[Telling] = (
        ("pull", "pull"),
        ("gauge", "gauge"),
        ("share", "share"),
        ("r", "r"),
        ("promised", "promised"),
        ("ceiling", "ceiling"),
        ("measured", "measured.value"),
        ("measured_low", "measured.low"),
        ("measured_high", "measured.high"),
    )

    pull: str
    gauge: str
    share: float
    r: float
    promised: float
    ceiling: float
    measured: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseFound:
    """What the readings say of one cause.

    Parameters
    ----------
    cause : Cause
    value : float or None
        Factor, or fraction of the bond that is lost; None where the readings do not tell.
    low, high : float or None
        Interval of 95 %.
    logarithm, u : float
        As fitted, for the record of the fit: the variable of the cause and its standard uncertainty.
    learned : float
        1 less the variance with the readings over that without.
    verdict : str
        In words.
    """

    ONLY: ClassVar[Telling] = (
        ("name", "cause.name"),
        ("kind", "cause.kind"),
        ("value", "value"),
        ("low", "low"),
        ("high", "high"),
        ("determined", "determined"),
        ("learned", "learned"),
        ("verdict", "verdict"),
    )

    cause: Cause
    value: float | None
    low: float | None
    high: float | None
    logarithm: float
    u: float
    learned: float
    verdict: str

    @property
    def determined(self) -> bool:
        """Whether the readings tell it by itself."""
        return self.value is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """ln(after/before) of one reading and its parts.

    Parameters
    ----------
    pull, gauge : str
    total : float
        As measured [-].
    u_total : float
    meant : float
        By the change as it was meant.
    causes : tuple of (str, float, float)
        Name, part and standard uncertainty of the part.
    left : float
        What is left to set-up and reading scatter.
    """

    ONLY: ClassVar[Telling] = (
        ("pull", "pull"),
        ("gauge", "gauge"),
        ("ln_ratio", "total"),
        ("u", "u_total"),
        ("meant", "meant"),
        ("causes", "by_cause"),
        ("left", "left"),
    )

    pull: str
    gauge: str
    total: float
    u_total: float
    meant: float
    causes: tuple[tuple[str, float, float], ...]
    left: float

    @property
    def by_cause(self) -> dict[str, dict[str, float]]:
        """Part and its standard uncertainty by cause."""
        return {name: {"part": part, "u": u} for name, part, u in self.causes}


@dataclass(frozen=True, slots=True, kw_only=True)
class Alone:
    """One cause as the only explanation.

    Parameters
    ----------
    name : str
        Of the cause; "the change as meant" for none.
    chi_squared : float
    probability : float
        Of deviations as large as these or larger.
    excluded : bool
    """

    name: str
    chi_squared: float
    probability: float
    excluded: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Explanation:
    """A change between two data sets, explained as far as they allow.

    Parameters
    ----------
    gains : tuple of Gain
        The arithmetic first; the readings that the change moves most come first.
    causes : tuple of CauseFound
    splits : tuple of Split
        Of readings that keep their sign; the others are named in `findings`.
    alone : tuple of Alone
        Explanations by a single cause, the likeliest first.
    state : tuple of StateDifference
    left_out : tuple of LeftOut
    findings : tuple of str
    fit : Fit
    probability : float
        Of deviations as large as those left, or larger.
    """

    ONLY: ClassVar[Telling] = (
        ("gains", "gains"),
        ("causes", "causes"),
        ("splits", "splits"),
        ("alone", "alone"),
        ("state", "state"),
        ("findings", "findings"),
        ("probability", "probability"),
        ("left_out", "left_out"),
    )

    gains: tuple[Gain, ...]
    causes: tuple[CauseFound, ...]
    splits: tuple[Split, ...]
    alone: tuple[Alone, ...]
    state: tuple[StateDifference, ...]
    left_out: tuple[LeftOut, ...]
    findings: tuple[str, ...]
    fit: Fit
    probability: float

    def find(self, name: str) -> CauseFound:
        """The cause of a name."""
        for c in self.causes:
            if c.cause.name == name:
                return c
        raise KeyError(name)


def explain(
    change: Case,
    before: Campaign,
    after: Campaign,
    *,
    parameters: Sequence[Parameter],
    prior_u: Array,
    u_load: float = 0.005,
    same_load: bool = True,
) -> Explanation:
    """Explain the difference between two data sets.

    Parameters
    ----------
    change : Case
        The machine before, what was meant to change, and what else may have.
    before, after : Campaign
    parameters : sequence of Parameter
        Stiffnesses that are unknown before the change.
    prior_u : ndarray, shape (n,)
        Standard uncertainty of their logarithms.
    u_load : float
        Relative standard uncertainty of the load.
    same_load : bool
        Whether both data sets used the same weights.

    Returns
    -------
    Explanation

    Raises
    ------
    ReadingsError
        If the two data sets have no pull and gauge in common.
    """
    first, second = (match(change.machine, c.measured) for c in (before, after))
    common = _common(first, second)
    model = ChangeModel(change, first.pairs, second.pairs, parameters)
    problem = _problem(model, first.measured, second.measured, prior_u, u_load)
    found = fit(problem)
    # How far a slanted pull goes depends on what was fitted.
    if problem.shared is not None and problem.shared.size:
        problem = _problem(model, first.measured, second.measured, prior_u, u_load, found.x[:-1])
        found = fit(problem, found.x)
    degrees = max(float(np.median([min(m.uncertainty.degrees, 1e6) for m in first.measured])), 1.0)
    causes = _causes(change, model, problem, found, student(degrees))
    alone = _alone(change, first, second, parameters, prior_u, u_load)
    splits = _splits(change, model, found, common, second)
    findings = _findings(causes, alone, found, _alike(change, problem, found, len(prior_u)))
    return Explanation(
        gains=_gains(model, found, common, second, same_load),
        causes=causes,
        splits=splits,
        alone=alone,
        state=state_differences(before.measured, after.measured),
        left_out=(*first.left_out, *second.left_out),
        findings=(*findings, *_turned(common, splits)),
        fit=found,
        probability=found.probability,
    )


def _common(first: Matched, second: Matched) -> list[tuple[Measured, Measured, Pair, int]]:
    """Values of both data sets under the same pull, gauge and reference, with the row of the later one."""
    keys = {m.key: m for m in first.measured}
    found = [
        (keys[m.key], m, pair, row)
        for row, (m, pair) in enumerate(zip(second.measured, second.pairs, strict=True))
        if m.key in keys
    ]
    if not found:
        raise ReadingsError(
            "the two data sets have no pull and gauge in common",
            hint="repeat at least one reading of the first in the second, with the same stand",
        )
    return found


def _problem(
    model: ChangeModel,
    before: Sequence[Measured],
    after: Sequence[Measured],
    prior_u: Array,
    u_load: float,
    at: Array | None = None,
) -> Problem:
    """Unknowns: stiffnesses, causes, and the common error of all loads. What slanted pulls do is taken where `at` says."""
    n, k = len(model.parameters), len(model.change.causes)

    def with_load(z: Array) -> tuple[Array, Array]:
        predicted, J = model(z[: n + k])
        gain = np.full(len(predicted), math.exp(z[-1]))
        return gain * predicted, gain[:, None] * np.column_stack([J, predicted])

    def value(z: Array) -> Array:
        return math.exp(z[-1]) * model.value(z[: n + k])

    measured = (*before, *after)
    causes = model.change.causes
    low = np.concatenate([np.full(n, -REACH), [c.low for c in causes], [-1.0]])
    high = np.concatenate([np.full(n, REACH), [c.high for c in causes], [1.0]])
    return Problem(
        model=with_load,
        data=np.array([m.value for m in measured]),
        u=np.array([m.own_u for m in measured]),
        prior=np.zeros(n + k + 1),
        prior_u=np.concatenate([prior_u, [c.prior_u for c in causes], [max(u_load, 1e-6)]]),
        low=low,
        high=high,
        inverse=np.concatenate(
            [np.ones(n, dtype=bool), [c.kind == "stiffness" for c in causes], [False]]
        ).astype(bool),
        value=value,
        longest=0.7,
        shared=model.slants(np.zeros(n + k) if at is None else at, before, after),
    )


def _causes(
    change: Case, model: ChangeModel, problem: Problem, found: Fit, width: float
) -> tuple[CauseFound, ...]:
    n = len(model.parameters)
    judged = identify(found.sensitivity, problem.prior_u, own=found.jacobian / problem.u[:, None])
    bent = skewness(problem, found, width)
    rows = []
    for j, cause in enumerate(change.causes):
        i = n + j
        learned = 1.0 - float(found.covariance[i, i]) / cause.prior_u**2
        # Unlike a stiffness a change starts from a known value: none. Half of the variance gone is news.
        told = learned >= LEARNED and not any(
            p.verdict == "cannot be separated" and i in (p.first, p.second) for p in judged.pairs
        )
        ends = (float(found.x[i] - width * found.u[i]), float(found.x[i] + width * found.u[i]))
        if told and (bent[i] > 0.15 or cause.low > -REACH / 2):
            ends = profile(problem, found, i, width)
        x, low, high = (cause.shown(v) for v in (float(found.x[i]), *ends))
        rows.append(
            CauseFound(
                cause=cause,
                value=x if told else None,
                low=min(low, high) if told else None,
                high=max(low, high) if told else None,
                logarithm=float(found.x[i]),
                u=float(found.u[i]),
                learned=learned,
                verdict=_verdict(cause, told, ends),
            )
        )
    return tuple(rows)


def _verdict(cause: Cause, told: bool, ends: tuple[float, float]) -> str:
    if not told:
        return "not determined by these readings"
    low, high = ends
    if cause.kind == "bond":
        return "some of the bond is lost" if low > 0.02 else "no loss of bond is needed"
    if cause.kind == "flex":
        if low > 0.02:
            return "the fill does not hold the walls"
        return "the fill holds the walls" if high < HELD else "no give of the walls is needed"
    if low <= 0.0 <= high:
        return f"no change of {cause.name} is needed"
    words = {"stiffness": ("softer", "stiffer"), "modulus": ("lower than meant", "higher than meant")}
    below, above = words.get(cause.kind, ("lower", "higher"))
    return f"{cause.name} {below if high < 0.0 else above}; no change is excluded"


def _alone(
    change: Case,
    first: Matched,
    second: Matched,
    parameters: Sequence[Parameter],
    prior_u: Array,
    u_load: float,
) -> tuple[Alone, ...]:
    """Fits with one cause, and with none."""
    n = len(parameters)
    rows = []
    start = np.zeros(n + 1)
    for cause in (None, *change.causes):
        causes = () if cause is None else (cause,)
        model = ChangeModel(dataclasses.replace(change, causes=causes), first.pairs, second.pairs, parameters)
        problem = _problem(model, first.measured, second.measured, prior_u, u_load)
        begin = np.insert(start, n, np.zeros(len(causes)))
        found = fit(problem, begin, enough=ALONE)
        if cause is None:
            start = found.x  # from the best without any cause
        probability = float(chi_squared_law.sf(found.total, len(problem.data)))
        rows.append(
            Alone(
                name=AS_MEANT if cause is None else cause.name,
                chi_squared=found.total,
                probability=probability,
                excluded=probability < EXCLUDED,
            )
        )
    return tuple(sorted(rows, key=lambda a: a.chi_squared))


def _splits(
    change: Case,
    model: ChangeModel,
    found: Fit,
    common: Sequence[tuple[Measured, Measured, Pair, int]],
    second: Matched,
) -> tuple[Split, ...]:
    n, k = len(model.parameters), len(change.causes)
    theta, phi = found.x[:n], found.x[n : n + k]
    u = found.u[n : n + k]
    m_before = model.readings("before", theta, phi)
    m_meant = model.readings("after", theta, np.zeros(k))
    m_found = model.readings("after", theta, phi)
    # Mean derivative of ln(reading) along the way from as meant to as found, (readings after, causes).
    mean = np.zeros((len(second.measured), k))
    for node, weight in zip(NODES, WEIGHTS, strict=True):
        predicted, J = model.after(theta, 0.5 * (1.0 + node) * phi)
        mean += 0.5 * weight * J[:, n:] / predicted[:, None]
    rows = []
    for b, a, _, row in common:
        before = m_before[_row_of(model, b)]
        if min(a.value * b.value * a.load * b.load, m_meant[row] * before, m_found[row] * before) <= 0.0:
            continue  # a reading that turns its sign has no ratio to take the logarithm of
        total = math.log(abs(a.compliance / b.compliance))
        meant = math.log(abs(m_meant[row] / a.load / (before / b.load)))
        parts = [
            (c.name, float(mean[row, j] * phi[j]), float(abs(mean[row, j]) * u[j]))
            for j, c in enumerate(change.causes)
        ]
        explained = meant + math.log(abs(m_found[row] / m_meant[row]))
        rows.append(
            Split(
                pull=a.pull,
                gauge=a.gauge,
                total=total,
                u_total=math.hypot(a.own_u / a.value, b.own_u / b.value),
                meant=meant,
                causes=tuple(parts),
                left=total - explained,
            )
        )
    return tuple(rows)


def _turned(common: Sequence[tuple[Measured, Measured, Pair, int]], splits: Sequence[Split]) -> list[str]:
    """Readings in both data sets that are not split."""
    kept = {(s.pull, s.gauge) for s in splits}
    names = [f'"{a.gauge}" under "{a.pull}"' for _, a, _, _ in common if (a.pull, a.gauge) not in kept]
    if not names:
        return []
    return [
        f"not split over causes, since parts work against each other there and the sign turns: {', '.join(names)}"
    ]


def _row_of(model: ChangeModel, measured: Measured) -> int:
    return next(
        i
        for i, (pull, gauge) in enumerate(model.pairs["before"])
        if (pull.name, gauge.name) == (measured.pull, measured.gauge)
        and measured.reference in ("", gauge.reference)
    )


def _gains(
    model: ChangeModel,
    found: Fit,
    common: Sequence[tuple[Measured, Measured, Pair, int]],
    second: Matched,
    same_load: bool,
) -> tuple[Gain, ...]:
    n = len(model.parameters)
    theta, none = found.x[:n], np.zeros(len(model.change.causes))
    parts = model.changed_share("before", theta), model.changed_share("after", theta)
    totals = model.readings("before", theta, none), model.readings("after", theta, none)
    rows = []
    for b, a, _, row in common:
        i = _row_of(model, b)
        part_before, part_after = parts[0][i] / b.load, parts[1][row] / a.load
        before, after = totals[0][i] / b.load, totals[1][row] / a.load
        share = part_before / before
        rows.append(
            Gain(
                pull=a.pull,
                gauge=a.gauge,
                share=float(share),
                r=float(part_after / part_before) if part_before else 1.0,
                promised=float(after / before),
                ceiling=float(1.0 - share),
                measured=ratio(a, b, same_load=same_load),
            )
        )
    # Readings of the tool come first: they are what was promised.
    return tuple(sorted(rows, key=lambda g: not g.gauge.lower().startswith("tool")))


def _alike(change: Case, problem: Problem, found: Fit, n: int) -> list[str]:
    """Causes that the readings cannot tell from each other."""
    k = len(change.causes)
    judged = identify(
        found.sensitivity[:, n : n + k],
        problem.prior_u[n : n + k],
        own=found.jacobian[:, n : n + k] / problem.u[:, None],
    )
    return [
        f"{' and '.join(change.causes[i].name for i in group)} act alike on these readings (cosine {cosine:.3f}): which "
        "of them it was cannot be told"
        for group, cosine in judged.groups("cannot be separated")
    ]


def _findings(
    causes: Sequence[CauseFound], alone: Sequence[Alone], found: Fit, alike: Sequence[str]
) -> list[str]:
    said = []
    meant = next(a for a in alone if a.name == AS_MEANT)
    if not meant.excluded:
        said.append(
            f"the change as meant explains both data sets by itself (probability {meant.probability:.2g}): nothing else "
            "need have happened"
        )
    else:
        said.append(
            f"the change as meant alone is excluded by the data (probability {_small(meant.probability)})"
        )
    possible = [a.name for a in alone if not a.excluded and a is not meant]
    excluded = [a.name for a in alone if a.excluded and a is not meant]
    if possible and meant.excluded:
        said.append(f"a single cause would do: {' or '.join(possible)}")
    if excluded:
        said.append(f"excluded as the only cause: {', '.join(excluded)}")
    said += alike
    untold = [c.cause.name for c in causes if c.value is None]
    if untold:
        said.append(f"not determined by these readings: {', '.join(untold)}")
    if found.probability < 0.01:
        said.append(
            f"all causes together explain the readings badly (probability {found.probability:.1g}): look at states, "
            "stands and signs"
        )
    return said


def _small(p: float) -> str:
    return "below 0.001" if p < 1e-3 else f"{p:.2g}"
