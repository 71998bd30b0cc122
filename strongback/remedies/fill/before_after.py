"""What a fill does at the tool, through the whole machine, with what is not known carried along.

Drawn for every sample: the modulus of the fill, how far it holds to the wall between the sliding and the bonded limit, the
joints within their ranges (the same before and after), and how the joints come out that are undone and made again. The
section is solved at three moduli for both limits; a draw interpolates between them and the loop is solved again.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri
from scipy.stats import qmc

from strongback.errors import MixError
from strongback.machine.budget import budget
from strongback.machine.ceiling import ceilings_of_pulls, remaining
from strongback.machine.loop import Loop, assemble
from strongback.machine.parameters import Parameter, scaled
from strongback.machine.part.values import Parts, as_beams
from strongback.machine.solve import pull_load, tool_rows
from strongback.machine.spread import joint_spreads
from strongback.machine.values import COMPONENTS, Joint, Machine, Pull
from strongback.machine.vibration import modes, total_mass
from strongback.remedies.fill.filling import (
    FillJob,
    SectionFamily,
    Solver,
    bare_name,
    filled_machine,
    limits_of,
    section_family,
)
from strongback.remedies.fill.thermal import bow_per_kelvin, curvature_per_kelvin
from strongback.remedies.fill.walls import WallGain
from strongback.section.values import Outline

__all__ = ["BeforeAfter", "PullGain", "before_after"]

Array = NDArray[np.float64]
FREQUENCY_DRAWS = 12


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
    target : float or None
        Ratio wished for [-].
    probability : float or None
        Of reaching it [-].
    ratios : ndarray, shape (draws,)
    """

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
    """

    pulls: tuple[PullGain, ...]
    mass: tuple[float, float]
    centre: tuple[Array, Array]
    frequency: tuple[float, float]
    frequency_ratio: tuple[float, float, float]
    bow: tuple[float, float]
    draws: int
    sources: tuple[tuple[str, float], ...]
    notes: tuple[str, ...]


def before_after(
    machine: Machine,
    parts: Parts,
    job: FillJob,
    *,
    pulls: Sequence[Pull] = (),
    targets: Mapping[str, float] | None = None,
    draws: int = 256,
    seed: int = 0,
    solver: Solver = limits_of,
    walls: Sequence[WallGain] = (),
) -> BeforeAfter:
    """Deflection of the tool before and after a fill, with intervals.

    Parameters
    ----------
    machine : Machine
        Every member as a beam.
    parts : Parts
        As they are.
    job : FillJob
    pulls : sequence of Pull
        Default: all of the machine.
    targets : mapping of str to float, optional
        Ratio after over before that is wished for, by pull; key ``""`` for all [-].
    draws : int
        A power of two.
    seed : int
    solver : callable
        As in `section_family`.
    walls : sequence of WallGain
        From `with_walls`: what the walls of the member add to its beam is added to every draw.

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
    work = _Work.prepared(machine, parts, job, solver, draws, seed)
    loads = _loads(machine, chosen)
    before, after = work.deflections(loads)
    wall = work.wall_flex(loads, walls)  # (2, pulls)
    before, after = before + wall[0], after + wall[1]
    gains = _gains(work, chosen, before, after, wall, targets)
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
        notes=(*work.notes, *_wall_notes(machine, job, walls)),
    )


def _target(targets: Mapping[str, float] | None, pull: str) -> float | None:
    if not targets:
        return None
    return targets.get(pull, targets.get(""))


def _force(pull: Pull) -> float:
    return float(np.linalg.norm(pull.force) or np.linalg.norm(pull.couple))


def _loads(machine: Machine, pulls: Sequence[Pull]) -> tuple[Pull, ...]:
    for pull in pulls:
        if _force(pull) == 0.0:
            raise MixError(f'pull "{pull.name}" has neither force nor couple')
    return tuple(pulls)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Work:
    """The machine before and after, and all draws."""

    machine: Machine
    filled: Machine
    parts: Parts
    families: Mapping[str, SectionFamily]
    job: FillJob
    E: Array
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
        solver: Solver,
        draws: int,
        seed: int,
    ) -> _Work:
        notes = []
        pads_off = tuple(dataclasses.replace(j, pad="") for j in machine.joints)
        machine = dataclasses.replace(as_beams(machine), joints=pads_off)
        spread = joint_spreads(machine)
        if not spread:
            notes.append("no joint has a range: the interval holds nothing of the joints")
        remade = _remade(machine, job.member) if job.remake > 0.0 else ()
        z = _normal_draws(2 + len(spread) + len(remade), draws, seed)
        E = job.material.E * np.exp(job.u_ln * z[:, 0])
        changed = filled_machine(machine, job)
        sections = dict(changed.sections)
        new = [name for name in sections if name not in parts.sections]
        moduli = _nodes(E)
        families = {}
        for name in new:
            outline = sections[name]
            assert isinstance(outline, Outline)
            families[name] = section_family(outline, moduli, solver=solver)
        low, high = job.bond
        return cls(
            machine=machine,
            filled=changed,
            parts=parts,
            families=families,
            job=job,
            E=E,
            bond=low + (high - low) * ndtr(z[:, 1]),
            joints=tuple(spread),
            factors=np.exp(z[:, 2 : 2 + len(spread)] * np.array(list(spread.values()))),
            remade=remade,
            again=np.exp(job.remake * z[:, 2 + len(spread) :]),
            notes=tuple(notes),
        )

    def parts_at(self, E: float, bond: float) -> Parts:
        """Parts with the fill at a modulus [Pa] and a hold."""
        return self.parts.with_sections({name: family(E, bond) for name, family in self.families.items()})

    def medians(self) -> tuple[Loop, Loop]:
        """Loops before and after with everything at its median."""
        after = self.parts_at(self.job.material.E, 0.5 * sum(self.job.bond))
        return assemble(self.machine, self.parts), assemble(self.filled, after)

    def pair(self, i: int) -> tuple[Loop, Loop]:
        """Loops before and after of one draw."""
        joints = dict(zip(self.joints, self.factors[i].tolist(), strict=True))
        remade = dict(joints)
        for parameter, factor in zip(self.remade, self.again[i].tolist(), strict=True):
            remade[parameter] = remade.get(parameter, 1.0) * factor
        after = self.parts_at(float(self.E[i]), float(self.bond[i]))
        one = scaled(self.machine, joints) if joints else self.machine
        two = scaled(self.filled, remade) if remade else self.filled
        return assemble(one, self.parts), assemble(two, after)

    def deflections(self, pulls: Sequence[Pull]) -> tuple[Array, Array]:
        """Deflection along each pull, before and after, (draws, pulls)."""
        before, after = np.empty((len(self.E), len(pulls))), np.empty((len(self.E), len(pulls)))
        for i in range(len(self.E)):
            one, two = self.pair(i)
            before[i], after[i] = _along(one, pulls), _along(two, pulls)
        return before, after

    def wall_flex(self, pulls: Sequence[Pull], walls: Sequence[WallGain]) -> Array:
        """What walls that give add to the beam, before and after, (2, pulls): body minus beam, both fully bonded."""
        found = np.zeros((2, len(pulls)))
        named = {gain.pull: gain for gain in walls}
        if not named:
            return found
        one = _along(assemble(self.machine, self.parts), pulls)
        two = _along(assemble(self.filled, self.parts_at(self.job.material.E, 1.0)), pulls)
        for i, pull in enumerate(pulls):
            if pull.name in named:
                found[:, i] = named[pull.name].before - one[i], named[pull.name].after - two[i]
        return found

    def bow(self) -> tuple[float, float]:
        """Bow of the member for each kelvin of warming, from all its filled stretches [m/K]."""
        spans = next(m for m in self.filled.members if m.name == self.job.member).spans
        outlines = dict(self.filled.sections)
        length, start, total = sum(span.length for span in spans), 0.0, np.zeros(2)
        for span in spans:
            family, outline = self.families.get(span.section), outlines[span.section]
            if family is not None and isinstance(outline, Outline):
                bare = self.parts.sections[bare_name(span.section)]
                mismatch = self.job.material.expansion - outline.walls[0].material.expansion
                bent = curvature_per_kelvin(bare, family(self.job.material.E, 1.0), mismatch)
                total += bow_per_kelvin(bent, length, start, start + span.length)
            start += span.length
        return float(total[0]), float(total[1])

    def frequencies(self) -> tuple[tuple[float, float], Array]:
        """First natural frequency before and after at the medians, and the ratio in some draws."""
        if total_mass(self.machine, self.parts)[0] <= 0.0:
            return (math.nan, math.nan), np.array([math.nan])
        first, second = (modes(loop, 1)[0].frequency for loop in self.medians())
        ratios = []
        for i in np.linspace(0, len(self.E) - 1, min(FREQUENCY_DRAWS, len(self.E))).astype(int):
            one, two = self.pair(int(i))
            ratios.append(modes(two, 1)[0].frequency / modes(one, 1)[0].frequency)
        return (first, second), np.array(ratios)

    def sources(self, log_ratio: Array) -> tuple[tuple[str, float], ...]:
        """Where the spread of a ratio comes from, by squared rank correlation."""
        groups = {
            "modulus": self.E[:, None],
            "bond": self.bond[:, None],
            "joints": self.factors,
            "joints made again": self.again,
        }
        raw = {
            name: sum(_rank_correlation(c, log_ratio) ** 2 for c in table.T) for name, table in groups.items()
        }
        total = sum(raw.values())
        return tuple((name, value / total if total > 0.0 else 0.0) for name, value in raw.items())


def _along(loop: Loop, pulls: Sequence[Pull]) -> Array:
    loads = np.column_stack([pull_load(loop, pull) for pull in pulls])
    motions, _ = loop.solve(loads)
    tool = tool_rows(loop) @ motions
    return np.array([_read(tool[:, i], pull) for i, pull in enumerate(pulls)])


def _read(tool: Array, pull: Pull) -> float:
    force = np.asarray(pull.force, dtype=float)
    if np.any(force):
        return float(tool[:3] @ force / np.linalg.norm(force))
    return float(np.linalg.norm(tool[:3]))


def _rank_correlation(a: Array, b: Array) -> float:
    if np.ptp(a) == 0.0 or np.ptp(b) == 0.0:
        return 0.0
    n = len(a)
    first, second = (np.argsort(np.argsort(v)) - 0.5 * (n - 1) for v in (a, b))
    return float(first @ second / (first @ first))


def _nodes(E: Array) -> Array:
    """Three moduli around all draws, on round figures so that solved sections are met again [Pa]."""
    low = 0.5e9 * math.floor(float(E.min()) / 0.5e9)
    low = low if low > 0.0 else 0.5 * float(E.min())
    high = max(0.5e9 * math.ceil(float(E.max()) / 0.5e9), 1.5 * low)
    return np.array([low, 0.5 * (low + high), high])


def _normal_draws(columns: int, draws: int, seed: int) -> Array:
    even = qmc.Sobol(columns, scramble=True, rng=np.random.default_rng(seed)).random(draws)
    return np.asarray(ndtri(np.clip(even, 1e-6, 1.0 - 1e-6)))


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


def _wall_notes(machine: Machine, job: FillJob, walls: Sequence[WallGain]) -> tuple[str, ...]:
    if walls:
        return (
            f"the walls of {job.member} are counted as a body, solved at the median modulus and fully bonded; the first "
            "frequency is that of beams",
        )
    return (
        f"walls that give are not in these figures: {job.member} is taken as a beam, and a fill that stops its walls from "
        "giving gains more than shown",
    )


def _gains(
    work: _Work,
    pulls: Sequence[Pull],
    before: Array,
    after: Array,
    wall: Array,
    targets: Mapping[str, float] | None,
) -> tuple[PullGain, ...]:
    """Every pull with its interval, its arithmetic and its ceiling; walls count as part of the member."""
    one, two = work.medians()
    directions = [None if any(pull.force) else _tool_direction(one, pull) for pull in pulls]
    tops = ceilings_of_pulls(work.machine, work.parts, pulls, directions)
    member = work.job.member
    let_go = _along(assemble(work.filled, work.parts_at(work.job.material.E, 0.0)), pulls)
    found = []
    for i, (pull, direction, top) in enumerate(zip(pulls, directions, tops, strict=True)):
        budgets = [budget(loop, pull, direction) for loop in (one, two)]
        own = [
            sum(r.contribution for r in b.rows if r.part == member) + float(w)
            for b, w in zip(budgets, wall[:, i], strict=True)
        ]
        beam = budgets[0].total
        whole = beam + float(wall[0, i])
        share = own[0] / whole
        r = own[1] / own[0] if own[0] != 0.0 else 1.0
        remains = next((c.remains for c in top if c.part == member), 1.0)
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
                ceiling=remains * beam / whole,
                loose=(float(let_go[i]) + float(wall[0, i])) / whole,
                target=target,
                probability=None if target is None else float(np.mean(ratios <= target)),
                ratios=ratios,
            )
        )
    return tuple(found)


def _tool_direction(loop: Loop, pull: Pull) -> tuple[float, float, float]:
    motions, _ = loop.solve(pull_load(loop, pull)[:, None])
    unit = (tool_rows(loop)[:3] @ motions)[:, 0]
    unit = unit / np.linalg.norm(unit)
    return float(unit[0]), float(unit[1]), float(unit[2])


def _quantiles(values: Array) -> tuple[float, float, float]:
    low, middle, high = np.quantile(values, (0.025, 0.5, 0.975))
    return float(low), float(middle), float(high)
