"""Options weighed against each other: gains with intervals, what they cost, which is probably best, which set is enough."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from strongback.answer import HIDDEN, Answer, Told, told
from strongback.machine.ceiling import left_without
from strongback.machine.columns import Progress
from strongback.machine.contact import OneSided, Play
from strongback.machine.draws import normal_draws
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter
from strongback.machine.part.values import Parts
from strongback.machine.spread import joint_spreads, known_correlation
from strongback.machine.values import Machine, Pull
from strongback.remedies.options.added import added_plates
from strongback.remedies.options.search import BestSet, Target, searched
from strongback.remedies.options.states import option_sets, parts_for
from strongback.remedies.options.touched import Touched, touched
from strongback.remedies.options.values import Option

__all__ = ["DRAWS", "Gain", "WeighedOption", "WeighedOptions", "weigh"]

Array = NDArray[np.float64]
DRAWS = 512  # of this even sequence: a probability near 0.6 to one or two per cent
NINETY_FIVE = (0.025, 0.975)
SURE = 0.95  # of the draws in which an option that dominates gains as much


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """What an option does under one pull.

    Parameters
    ----------
    pull : str
    ratio : float
        Deflection of the tool along the pull after over before [-]: 0.8 is a fifth less.
    low, high : float
        Within these with 95 % probability, as far as the ranges of the joints say; joints drawn in common before and after.
    saved : float
        Before less after, at the force of the pull [m].
    ceiling : float or None
        Ratio that would be left if all that the option touches were rigid; None for what is put beside.
    """

    pull: str
    ratio: float
    low: float
    high: float
    saved: float = field(metadata=told("saved_m"))
    ceiling: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighedOption(Told):
    """An option with what it does and what it takes.

    Parameters
    ----------
    name, changes : str
    gain : tuple of Gain
        A pull each; empty for what adds no stiffness.
    cost : float
        [euro]
    hours : float
    mass, moving : float
        Added, and that part of it which travels [kg].
    probability_best : float or None
        That it gains most of all, in the mean of the logarithms over the pulls.
    regret : float or None
        How much deflection is lost in the mean where another turns out better [-].
    dominated : bool
        Whether another gains as much under every pull and takes no more money, hours or mass, and does so
        in 95 % of the draws of the joints.
    alternative : str
        What it moves, so that it is solved by itself; empty where nothing moves.
    reversible : bool
    blocks : tuple of str
    hazard, source : str
    """

    TOLD: ClassVar[tuple[tuple[str, str], ...]] = (
        ("saved_m_per_euro", "per_euro"),
        ("saved_m_per_kg", "per_kg"),
        ("saved_m_per_hour", "per_hour"),
    )

    name: str
    changes: str
    gain: tuple[Gain, ...]
    cost: float
    hours: float
    mass: float = field(metadata=told("mass_kg"))
    moving: float = field(metadata=told("moving_kg"))
    probability_best: float | None
    regret: float | None
    dominated: bool
    alternative: str
    reversible: bool
    blocks: tuple[str, ...]
    hazard: str
    source: str

    @property
    def saved(self) -> float | None:
        """Mean of what is saved over the pulls [m]."""
        return float(np.mean([g.saved for g in self.gain])) if self.gain else None

    @property
    def per_euro(self) -> float | None:
        """Saved per euro [m]; None where it costs nothing or saves nothing."""
        return _over(self.saved, self.cost)

    @property
    def per_kg(self) -> float | None:
        """Saved per kilogram [m]."""
        return _over(self.saved, self.mass)

    @property
    def per_hour(self) -> float | None:
        """Saved per hour [m]."""
        return _over(self.saved, self.hours)


def _over(saved: float | None, by: float) -> float | None:
    return saved / by if saved is not None and by > 0.0 else None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class WeighedOptions(Answer):
    """What can be done about a machine, all of it side by side.

    Parameters
    ----------
    machine : Machine
    pulls : tuple of Pull
    before : tuple of (str, float)
        Deflection of the tool along each pull [m].
    options : tuple of WeighedOption
        The largest gain first, in the mean of the logarithms over the pulls; then what adds no stiffness.
    best_set : BestSet or None
        None where no target was given.
    settles : str
        The joint stiffness whose measurement would tell the first two options apart best; empty where nothing would.
    draws : int
    """

    machine: Machine = field(metadata=told(of="name"))
    pulls: tuple[Pull, ...] = field(metadata=HIDDEN)
    before: tuple[tuple[str, float], ...] = field(metadata=told("before_m", mapping=True))
    options: tuple[WeighedOption, ...]
    best_set: BestSet | None
    settles: str = field(metadata=told(blank=True))
    draws: int
    _scores: Array = field(metadata=HIDDEN)  # (options with a gain, draws)

    def __getitem__(self, name: str) -> WeighedOption:
        return next(o for o in self.options if o.name == name)

    def probability_better(self, one: str, other: str) -> float:
        """Probability that an option gains more than another, joints drawn in common.

        Parameters
        ----------
        one, other : str
        """
        names = [o.name for o in self.options if o.gain]
        a, b = self._scores[names.index(one)], self._scores[names.index(other)]
        return float(np.mean(a < b) + 0.5 * np.mean(a == b))


def weigh(
    machine: Machine,
    parts: Parts,
    options: Sequence[Option],
    pulls: Sequence[Pull],
    *,
    targets: Sequence[Target] = (),
    most_mass: float = np.inf,
    most_cost: float = np.inf,
    laws: Mapping[Parameter, OneSided | Play] | None = None,
    draws: int = DRAWS,
    progress: Progress | None = None,
) -> WeighedOptions:
    """Weigh options against each other.

    Parameters
    ----------
    machine : Machine
    parts : Parts
        Of it.
    options : sequence of Option
    pulls : sequence of Pull
        Each with a force.
    targets : sequence of Target
        For the best set of options; none is looked for without.
    most_mass, most_cost : float
        Of that set [kg, euro].
    laws : mapping, optional
        Joint components that open or have play: nothing is proved of a set with which one of them does not just hold.
    draws : int
        Of the joints' ranges.
    progress : callable, optional

    Returns
    -------
    WeighedOptions

    Raises
    ------
    MachineError, LimitError
        As `option_sets`.
    """
    tell = progress or _quiet
    stiff = [o for o in options if o.stiffens]
    marks = {o.name: touched(machine, o.on(machine)) for o in stiff}
    staying = [o for o in stiff if not marks[o.name].geometry]
    sets = option_sets(
        machine, parts, staying, pulls, every_joint=True, alone=True, progress=lambda f, w: tell(0.5 * f, w)
    )
    spreads = joint_spreads(machine)
    z = _correlated(machine, list(spreads), draws)
    factors = _factors(sets.component_names, spreads, z)
    none = np.zeros((1, len(staying)), dtype=bool)
    each = np.eye(len(staying), dtype=bool)
    before, drawn = sets.readings(none)[0], sets.drawn(none, factors)[0]
    after = dict(zip([o.name for o in staying], sets.readings(each), strict=True))
    drawn_after = dict(zip([o.name for o in staying], sets.drawn(each, factors), strict=True))
    moved = [o for o in stiff if marks[o.name].geometry]
    for i, option in enumerate(moved):
        tell(0.5 + 0.2 * i / len(moved), option.name)
        there = option.on(machine)
        named = {p.name: p for p in there.pulls}
        own = option_sets(
            there,
            parts_for(parts, machine, there),
            (),
            [named.get(p.name, p) for p in pulls],
            every_joint=True,
        )
        nothing = np.zeros((1, 0), dtype=bool)
        after[option.name] = own.readings(nothing)[0]
        drawn_after[option.name] = own.drawn(nothing, _factors(own.component_names, spreads, z))[0]
    scores = {n: _score(v / drawn) for n, v in drawn_after.items()}
    mean = {n: float(_score(v[None] / before)[0]) for n, v in after.items()}
    order = sorted(stiff, key=lambda o: mean[o.name])
    table = np.array([scores[o.name] for o in order]).reshape(len(order), draws)
    ceilings = {o.name: _ceiling(machine, parts, marks[o.name], pulls, before) for o in order}
    gains = {
        o.name: _gains(pulls, before, after[o.name], drawn, drawn_after[o.name], ceilings[o.name])
        for o in order
    }
    masses = {o.name: _masses(machine, parts, o) for o in options}
    best = table.min(axis=0) if len(order) else np.zeros(draws)
    found = [
        _weighed(
            option,
            gains[option.name],
            masses[option.name],
            float(np.mean(table[i] <= best)),
            float(np.mean(np.exp(table[i]) - np.exp(best))),
            marks[option.name].geometry,
            _dominated(i, order, table, gains, masses),
        )
        for i, option in enumerate(order)
    ]
    found += [_weighed(o, (), masses[o.name], None, None, "", False) for o in options if not o.stiffens]
    chosen = None
    if targets:
        chosen = searched(
            (machine, parts),
            order,
            marks,
            {n: sum(m) for n, m in masses.items()},
            targets,
            limits=(most_mass, most_cost),
            laws=laws or {},
            progress=lambda f, w: tell(0.7 + 0.3 * f, w),
        )
    return WeighedOptions(
        machine=machine,
        pulls=tuple(pulls),
        before=tuple((p.name, float(v)) for p, v in zip(pulls, before, strict=True)),
        options=tuple(found),
        best_set=chosen,
        settles=_settles(table, list(spreads), z),
        draws=draws,
        _scores=table,
    )


def _quiet(fraction: float, what: str) -> None:
    """No progress."""


def _correlated(machine: Machine, parameters: list[Parameter], draws: int) -> Array:
    """Standard normal values of the logarithms of the joints, correlated as the machine says, (draws, parameters)."""
    z = normal_draws(draws, len(parameters))
    if parameters and machine.correlation:
        z = z @ np.linalg.cholesky(known_correlation(machine, parameters) + 1e-12 * np.eye(len(parameters))).T
    return np.asarray(z)


def _factors(names: Sequence[tuple[str, str]], spreads: Mapping[Parameter, float], z: Array) -> Array:
    """Factors on joint components, (draws, components): 1 for what has no range."""
    place = {(p.part, p.mechanism): i for i, p in enumerate(spreads)}
    sigma = list(spreads.values())
    found = np.ones((len(z), len(names)))
    for column, name in enumerate(names):
        if name in place:
            found[:, column] = np.exp(sigma[place[name]] * z[:, place[name]])
    return found


def _score(ratio: Array) -> Array:
    """Mean of the logarithms of ratios over the pulls, (n,)."""
    return np.asarray(np.log(np.maximum(np.abs(ratio), 1e-12)).mean(axis=-1))


def _gains(
    pulls: Sequence[Pull],
    before: Array,
    after: Array,
    drawn: Array,
    drawn_after: Array,
    ceilings: Array | None,
) -> tuple[Gain, ...]:
    low, high = np.quantile(drawn_after / drawn, NINETY_FIVE, axis=0)
    return tuple(
        Gain(
            pull=pull.name,
            ratio=float(after[k] / before[k]),
            low=float(low[k]),
            high=float(high[k]),
            saved=float(before[k] - after[k]),
            ceiling=None if ceilings is None else float(ceilings[k]),
        )
        for k, pull in enumerate(pulls)
    )


def _ceiling(
    machine: Machine, parts: Parts, mark: Touched, pulls: Sequence[Pull], before: Array
) -> Array | None:
    if mark.new or mark.geometry:
        return None
    return np.asarray(left_without(assemble(machine, parts), pulls, mark.members, mark.holders) / before)


def _masses(machine: Machine, parts: Parts, option: Option) -> tuple[float, float]:
    """Mass that an option adds: resting, and moving with the travels [kg]."""
    there = option.on(machine)
    own = _by_part(there, parts_for(parts, machine, there, sections_only=True))
    was = _by_part(machine, parts)
    travelling = {part for travel in machine.travels for part in travel.parts}
    moving = sum(own.get(p, 0.0) - was.get(p, 0.0) for p in own if p in travelling)
    whole = sum(own.values()) - sum(was.values())
    extra = option.mass + added_plates(machine, there)
    moving += option.mass if option.moving else 0.0
    return whole + extra - moving, moving


def _by_part(machine: Machine, parts: Parts) -> dict[str, float]:
    """Mass of each member and lump by the part that carries it [kg]."""
    found: dict[str, float] = {}
    for member in machine.members:
        found[member.name] = sum(parts.sections[s.section].mass_per_length * s.length for s in member.spans)
    for lump in machine.masses:
        found[lump.part] = found.get(lump.part, 0.0) + lump.mass
    return found


def _weighed(
    option: Option,
    gain: tuple[Gain, ...],
    masses: tuple[float, float],
    probability: float | None,
    regret: float | None,
    alternative: str,
    dominated: bool,
) -> WeighedOption:
    return WeighedOption(
        name=option.name,
        changes=option.changes,
        gain=gain,
        cost=option.cost,
        hours=option.hours,
        mass=sum(masses),
        moving=masses[1],
        probability_best=probability,
        regret=regret,
        dominated=dominated,
        alternative=alternative,
        reversible=option.reversible,
        blocks=option.blocks,
        hazard=option.hazard,
        source=option.source,
    )


def _dominated(
    place: int,
    others: Sequence[Option],
    scores: Array,
    gains: Mapping[str, tuple[Gain, ...]],
    masses: Mapping[str, tuple[float, float]],
) -> bool:
    option = others[place]
    mine = (*(g.ratio for g in gains[option.name]), option.cost, option.hours, sum(masses[option.name]))
    for k, other in enumerate(others):
        if other is option or np.mean(scores[k] <= scores[place]) < SURE:
            continue
        its = (*(g.ratio for g in gains[other.name]), other.cost, other.hours, sum(masses[other.name]))
        if all(b <= a for a, b in zip(mine, its, strict=True)) and its != mine:
            return True
    return False


def _settles(scores: Array, parameters: list[Parameter], z: Array) -> str:
    """The joint whose stiffness goes most with the difference of the first two options."""
    if len(scores) < 2 or not parameters:
        return ""
    apart = scores[0] - scores[1]
    if float(np.std(apart)) < 1e-12:
        return ""
    turned = [abs(float(np.corrcoef(apart, z[:, i])[0, 1])) for i in range(len(parameters))]
    return str(parameters[int(np.argmax(turned))])
