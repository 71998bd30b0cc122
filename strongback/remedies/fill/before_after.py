"""What a fill does at the tool, through the whole machine, with what is not known carried along.

Drawn for every sample: the modulus of the fill, how far it holds to the wall between the sliding and the bonded limit, the
joints within their ranges (the same before and after), and how the joints come out that are undone and made again. What is
filled, beam or body, is solved at some moduli for both limits; a draw lies between them and the loop is solved again.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from strongback.answer import Telling
from strongback.errors import MixError
from strongback.machine.along import along_pulls
from strongback.machine.budget import budget
from strongback.machine.ceiling import ceilings_of_pulls, remaining
from strongback.machine.draws import normal_draws
from strongback.machine.loop import Loop, assemble
from strongback.machine.mass import total_mass
from strongback.machine.parameters import Parameter, scaled
from strongback.machine.part.kinds import as_beams, kinds
from strongback.machine.part.values import Parts
from strongback.machine.solve import solve
from strongback.machine.spread import joint_spreads
from strongback.machine.surrogate import AS_MEANT, FilledParts, FillState, Limits, Progress, filled_parts
from strongback.machine.values import COMPONENTS, Joint, Machine, Pull
from strongback.remedies.fill.balance import standing
from strongback.remedies.fill.filling import FillJob, bare_name, filled_machine
from strongback.remedies.fill.thermal import bow_per_kelvin, curvature_per_kelvin
from strongback.section.values import Outline
from strongback.vibration.modes import modes

__all__ = ["BeforeAfter", "PullGain", "before_after"]

Array = NDArray[np.float64]
FREQUENCY_DRAWS = 12
MODULI, BODY_MODULI = (0.5, 0.75, 1.0, 1.4, 2.0), (0.5, 1.0, 2.0)  # of the median: around all draws


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PullGain:
    """Deflection of the tool along one pull, before and after.

    Parameters
    ----------
    pull : str
    force : float
        [N]
    before, after, ratio : tuple of float
        2.5 %, 50 % and 97.5 % [m, m, -].
    share : float
        Of the filled member in the deflection before [-].
    r : float
        Compliance of that member after over before, in this pull [-].
    by_arithmetic : float
        R = 1 - s (1 - r) [-].
    ceiling : float
        Ratio that would be left if the member were rigid [-].
    loose : float
        Ratio if the fill let go of the walls all over: it slides, and the walls give as before [-].
    best_guess : tuple of float
        Before, and after as meant (fully bonded, at the median modulus), all else as the project has it; before is what
        `deflect` says [m].
    target : float or None
        Ratio wished for [-].
    probability : float or None
        Of reaching it [-].
    ratios : ndarray, shape (draws,)
    """

    ONLY: ClassVar[Telling] = (
        ("name", "pull"),
        ("force_N", "force"),
        ("before_m", "before"),
        ("after_m", "after"),
        ("ratio", "ratio"),
        ("share", "share"),
        ("r", "r"),
        ("ratio_by_arithmetic", "by_arithmetic"),
        ("ceiling", "ceiling"),
        ("ratio_if_let_go", "loose"),
        ("goal", "target"),
        ("probability", "probability"),
    )

    pull: str
    force: float
    before: tuple[float, float, float]
    after: tuple[float, float, float]
    ratio: tuple[float, float, float]
    share: float
    r: float
    by_arithmetic: float
    ceiling: float
    loose: float
    best_guess: tuple[float, float]
    target: float | None
    probability: float | None
    ratios: Array

    def __repr__(self) -> str:
        b, a = self.before[1] * 1e6, self.after[1] * 1e6
        low, _, high = self.ratio
        return f"PullGain({self.pull!r}: {b:.3g} to {a:.3g} µm, ratio {low:.2f} to {high:.2f}, ceiling {self.ceiling:.2f})"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BeforeAfter:
    """Effect of a fill on the machine.

    Parameters
    ----------
    pulls : tuple of PullGain
    mass : tuple of float
        Of the machine as described, before and after [kg].
    centre : tuple of ndarray
        Centre of mass before and after [m].
    frequency : tuple of float
        First natural frequency before and after; nan where nothing has mass [Hz].
    frequency_ratio : tuple of float
        2.5 %, 50 % and 97.5 % [-].
    bow : tuple of float
        How far the end of the member bows for each kelvin of warming along x and y of its section, held at its start and
        fully bonded [m/K].
    draws : int
    sources : tuple of (str, float)
        Share of the variance of the ratio of the first pull by what is drawn: modulus, bond, joints, joints made again
        (rank correlation squared, made to add to 1).
    notes : tuple of str
    righting : tuple of (float or None)
        Moment that holds it against tipping when it stands free, before and after; None where it cannot be told [N m].
    """

    ONLY: ClassVar[Telling] = (
        ("pulls", "pulls"),
        ("mass_kg", "mass"),
        ("centre_of_mass_m", "centre"),
        ("righting_moment_N_m", "righting"),
        ("first_frequency_Hz", "frequency"),
        ("frequency_ratio", "frequency_ratio"),
        ("bow_m_per_K", "bow"),
        ("spread_from", "sources", ("name", "share")),
        ("draws", "draws"),
        ("notes", "notes"),
    )

    pulls: tuple[PullGain, ...]
    mass: tuple[float, float]
    centre: tuple[Array, Array]
    frequency: tuple[float, float]
    frequency_ratio: tuple[float, float, float]
    bow: tuple[float, float]
    draws: int
    sources: tuple[tuple[str, float], ...]
    notes: tuple[str, ...]
    righting: tuple[float | None, float | None] = (None, None)


def before_after(
    machine: Machine,
    parts: Parts,
    job: FillJob,
    *,
    pulls: Sequence[Pull] = (),
    targets: Mapping[str, float] | None = None,
    draws: int = 256,
    limits: Limits | None = None,
    progress: Progress | None = None,
) -> BeforeAfter:
    """Deflection of the tool before and after a fill, with intervals.

    Parameters
    ----------
    machine : Machine
    parts : Parts
        Before.
    job : FillJob
    pulls : sequence of Pull
        Default: all of the machine.
    targets : mapping of str to float, optional
        Ratio after over before that is wished for, by pull; key ``""`` for all [-].
    draws : int
    limits, progress : callable, optional
        As in `strongback.machine.surrogate.filled_parts`.

    Returns
    -------
    BeforeAfter

    Raises
    ------
    MixError
        If the fill does not fit the machine, or there is no pull.
    """
    chosen = tuple(pulls) or machine.pulls
    if not chosen:
        raise MixError("no pull: there is nothing to compare before and after by")
    _refuse_no_load(chosen)
    work = _Work.prepared(machine, parts, job, draws, (limits, progress))
    gains = _gains(work, chosen, *work.deflections(chosen), targets)
    mass, centre = zip(*(total_mass(loop.machine, loop.parts) for loop in work.medians()), strict=True)
    frequency, ratios = work.frequencies()
    return BeforeAfter(
        pulls=gains,
        mass=(float(mass[0]), float(mass[1])),
        centre=(np.asarray(centre[0]), np.asarray(centre[1])),
        frequency=frequency,
        frequency_ratio=_quantiles(ratios),
        bow=work.bow(),
        draws=draws,
        sources=work.sources(np.log(gains[0].ratios)),
        notes=(*work.notes, *_wall_notes(machine, job)),
        righting=(_righting(machine, mass[0], centre[0]), _righting(machine, mass[1], centre[1])),
    )


def _righting(machine: Machine, mass: float, centre: Array) -> float | None:
    tip = standing(machine, float(mass), np.asarray(centre))
    return None if tip is None else tip.moment


def _target(targets: Mapping[str, float] | None, pull: str) -> float | None:
    if not targets:
        return None
    return targets.get(pull, targets.get(""))


def _force(pull: Pull) -> float:
    return float(np.linalg.norm(pull.force) or np.linalg.norm(pull.couple))


def _refuse_no_load(pulls: Sequence[Pull]) -> None:
    for pull in pulls:
        if _force(pull) == 0.0:
            raise MixError(f'pull "{pull.name}" has neither force nor couple')


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Work:
    """The machine before and after, and all draws."""

    machine: Machine
    filled: Machine
    parts: Parts
    fills: FilledParts
    job: FillJob
    log_E: Array  # over the median
    bond: Array
    joints: tuple[Parameter, ...]
    factors: Array  # (draws, joints)
    remade: tuple[Parameter, ...]
    again: Array  # (draws, remade)
    notes: tuple[str, ...]

    @classmethod
    def prepared(
        cls,
        machine: Machine,
        parts: Parts,
        job: FillJob,
        draws: int,
        how: tuple[Limits | None, Progress | None],
    ) -> _Work:
        notes = []
        spread = joint_spreads(machine)
        if not spread:
            notes.append("no joint has a range: the interval holds nothing of the joints")
        remade = _remade(machine, job.member) if job.remake > 0.0 else ()
        z = normal_draws(draws, 2 + len(spread) + len(remade))
        changed = filled_machine(machine, job)
        fills = filled_parts(
            machine, changed, parts, moduli=MODULI, body_moduli=BODY_MODULI, limits=how[0], progress=how[1]
        )
        low, high = job.bond
        return cls(
            machine=machine,
            filled=changed,
            parts=parts,
            fills=fills,
            job=job,
            log_E=job.u_ln * z[:, 0],
            bond=low + (high - low) * ndtr(z[:, 1]),
            joints=tuple(spread),
            factors=np.exp(z[:, 2 : 2 + len(spread)] * np.array(list(spread.values()))),
            remade=remade,
            again=np.exp(job.remake * z[:, 2 + len(spread) :]),
            notes=tuple(notes),
        )

    def after(self, machine: Machine, state: FillState, like: Loop | None = None) -> Loop:
        """The loop of a filled machine with its fill in a state."""
        parts = self.fills.at(machine, dict.fromkeys(self.fills.names, state))
        return assemble(machine, parts, like=like)

    def medians(self) -> tuple[Loop, Loop]:
        """Loops before and after with everything at its median."""
        state = FillState(hold=0.5 * sum(self.job.bond))
        return assemble(self.machine, self.parts), self.after(self.filled, state)

    def beams(self) -> tuple[Loop, Loop]:
        """The same with every member a beam."""
        one, two = self.medians()
        return assemble(as_beams(one.machine), one.parts), assemble(as_beams(two.machine), two.parts)

    def pair(self, i: int, like: tuple[Loop, Loop]) -> tuple[Loop, Loop]:
        """Loops before and after of one draw."""
        joints = dict(zip(self.joints, self.factors[i].tolist(), strict=True))
        remade = dict(joints)
        for parameter, factor in zip(self.remade, self.again[i].tolist(), strict=True):
            remade[parameter] = remade.get(parameter, 1.0) * factor
        state = FillState(log_modulus=float(self.log_E[i]), hold=float(self.bond[i]))
        one, two = (scaled(loop.machine, by) for loop, by in zip(like, (joints, remade), strict=True))
        return assemble(one, self.parts, like=like[0]), self.after(two, state, like[1])

    def deflections(self, pulls: Sequence[Pull]) -> tuple[Array, Array]:
        """Deflection along each pull, before and after, (draws, pulls)."""
        like = self.medians()
        found = [[along_pulls(loop, pulls) for loop in self.pair(i, like)] for i in range(len(self.bond))]
        before, after = np.array(found).transpose(1, 0, 2)
        return before, after

    def bow(self) -> tuple[float, float]:
        """Bow of the member for each kelvin of warming, from all its filled stretches [m/K]."""
        spans = next(m for m in self.filled.members if m.name == self.job.member).spans
        outlines = dict(self.filled.sections)
        length, start, total = sum(span.length for span in spans), 0.0, np.zeros(2)
        for span in spans:
            family, outline = self.fills.sections.get(span.section), outlines[span.section]
            if family is not None and isinstance(outline, Outline):
                bare = self.parts.sections[bare_name(span.section)]
                mismatch = self.job.material.expansion - outline.walls[0].material.expansion
                bent = curvature_per_kelvin(bare, family.at(AS_MEANT), mismatch)
                total += bow_per_kelvin(bent, length, start, start + span.length)
            start += span.length
        return float(total[0]), float(total[1])

    def frequencies(self) -> tuple[tuple[float, float], Array]:
        """First natural frequency before and after at the medians, and the ratio in some draws."""
        if total_mass(self.machine, self.parts)[0] <= 0.0:
            return (math.nan, math.nan), np.array([math.nan])
        beams = self.beams()
        first, second = (modes(loop.machine, loop.parts, 1)[0].frequency for loop in beams)
        ratios = []
        for i in np.linspace(0, len(self.bond) - 1, min(FREQUENCY_DRAWS, len(self.bond))).astype(int):
            one, two = self.pair(int(i), beams)
            one_f, two_f = (modes(loop.machine, loop.parts, 1)[0].frequency for loop in (one, two))
            ratios.append(two_f / one_f)
        return (first, second), np.array(ratios)

    def sources(self, log_ratio: Array) -> tuple[tuple[str, float], ...]:
        """Where the spread of a ratio comes from, by squared rank correlation."""
        groups = {
            "modulus": self.log_E[:, None],
            "bond": self.bond[:, None],
            "joints": self.factors,
            "joints made again": self.again,
        }
        raw = {
            name: sum(_rank_correlation(c, log_ratio) ** 2 for c in table.T) for name, table in groups.items()
        }
        total = sum(raw.values())
        return tuple((name, value / total if total > 0.0 else 0.0) for name, value in raw.items())


def _rank_correlation(a: Array, b: Array) -> float:
    if np.ptp(a) == 0.0 or np.ptp(b) == 0.0:
        return 0.0
    n = len(a)
    first, second = (np.argsort(np.argsort(v)) - 0.5 * (n - 1) for v in (a, b))
    return float(first @ second / (first @ first))


def _remade(machine: Machine, member: str) -> tuple[Parameter, ...]:
    """Finite components of the joints and supports that hold the filled member: they are undone for the pour."""
    found = []
    for kind, holder in machine.holders():
        parts = holder.parts if isinstance(holder, Joint) else (holder.part,)
        if member in parts:
            found += [
                Parameter(kind=kind, part=holder.name, mechanism=name)
                for name, k in zip(COMPONENTS, holder.stiffness, strict=True)
                if 0.0 < k < math.inf
            ]
    return tuple(found)


def _wall_notes(machine: Machine, job: FillJob) -> tuple[str, ...]:
    kind = next(k for k in kinds(machine) if k.name == job.member)
    if kind.is_body:
        return (f"the walls of {job.member} are counted as a body; the first frequency is that of beams",)
    return (
        f"walls that give are not in these figures: {job.member} is taken as a beam ({kind.reason}), and a fill that stops "
        "its walls from giving gains more than shown",
    )


def _gains(
    work: _Work,
    pulls: Sequence[Pull],
    before: Array,
    after: Array,
    targets: Mapping[str, float] | None,
) -> tuple[PullGain, ...]:
    """Every pull with its interval, its arithmetic and its ceiling; walls count as part of the member."""
    one, two = work.medians()
    directions = [None if any(pull.force) else _tool_direction(one, pull) for pull in pulls]
    tops = ceilings_of_pulls(work.machine, work.parts, pulls, directions)
    member = work.job.member
    guess = along_pulls(one, pulls)
    as_meant = along_pulls(work.after(work.filled, AS_MEANT), pulls)
    let_go = along_pulls(work.after(work.filled, FillState(hold=0.0, flex=1.0)), pulls)
    found = []
    for i, (pull, direction, top) in enumerate(zip(pulls, directions, tops, strict=True)):
        budgets = [budget(loop, pull, direction) for loop in (one, two)]
        own = [sum(r.contribution for r in b.rows if r.part == member) for b in budgets]
        whole = budgets[0].total
        share = own[0] / whole
        r = own[1] / own[0] if own[0] != 0.0 else 1.0
        ratios = after[:, i] / before[:, i]
        target = _target(targets, pull.name)
        found.append(
            PullGain(
                pull=pull.name,
                force=_force(pull),
                before=_quantiles(before[:, i]),
                after=_quantiles(after[:, i]),
                ratio=_quantiles(ratios),
                share=share,
                r=r,
                by_arithmetic=remaining(share, r),
                ceiling=next((c.remains for c in top if c.part == member), 1.0),
                loose=float(let_go[i]) / whole,
                best_guess=(float(guess[i]), float(as_meant[i])),
                target=target,
                probability=None if target is None else float(np.mean(ratios <= target)),
                ratios=ratios,
            )
        )
    return tuple(found)


def _tool_direction(loop: Loop, pull: Pull) -> tuple[float, float, float]:
    unit = solve(loop, pull).tool_displacement
    unit = unit / np.linalg.norm(unit)
    return float(unit[0]), float(unit[1]), float(unit[2])


def _quantiles(values: Array) -> tuple[float, float, float]:
    low, middle, high = np.quantile(values, (0.025, 0.5, 0.975))
    return float(low), float(middle), float(high)
