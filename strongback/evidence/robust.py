"""What readings say of a machine when neither is taken on trust: intervals from several models, marks, suspects by name."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.evidence.identify import LEARNED, Identifiability, identify
from strongback.evidence.mixture.examine import FAULTS, Alternative, Examined, examine
from strongback.evidence.mixture.laplace import Prior
from strongback.evidence.model import LoopModel, Matched, in_words, prior_covariance
from strongback.evidence.readings import Instrument, Measured
from strongback.evidence.stand_in import StandIn, stand_in
from strongback.evidence.suspects import EXTRA, Suspect, suspects_of
from strongback.evidence.uncertainty import student
from strongback.evidence.walls_give import Walls, walls_of
from strongback.machine.parameters import Parameter, parameters_of
from strongback.machine.part.values import Parts
from strongback.machine.values import Machine

__all__ = [
    "NAMED",
    "Named",
    "Prepared",
    "Robust",
    "every_parameter",
    "judged",
    "prepared",
]

Array = NDArray[np.float64]
DOUBTFUL = 0.01  # fit probability below which a campaign is marked
NAMED = 4.0  # evidence gained from which a suspect is named in a campaign that fits: in 2 % of the clean ones
ALIKE = 3.0  # of evidence: what lies nearer to the best cannot be told from it
LIKELY = 0.5
FOUND = 0.9  # weight of walls that give, from which they are said to
MISSING = math.log(5.0)  # of the springs of a joint that is not in the model, like others of the machine
RIGID_JOINT = 0.1  # prior weight of one that gives where the model has it rigid
NEAR = 0.3  # of the uncertainty of a reading: how near the table must be to the machine
MOST_TABLES = 3
RESTS = 0.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prepared:
    """Everything about a machine and its places of measurement that does not depend on the values read.

    Parameters
    ----------
    machine : Machine
    matched : Matched
    model : LoopModel
        Of every joint, support and member.
    base : StandIn
    suspects : tuple of Suspect
    walls : tuple of Walls
        Members taken as beams whose walls may give.
    point : float
        Standard deviation of the point of every pull [m].
    """

    machine: Machine
    matched: Matched
    model: LoopModel
    base: StandIn
    suspects: tuple[Suspect, ...]
    walls: tuple[Walls, ...]
    point: float

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """Of the columns of all tables."""
        return self.model.parameters

    def at(self, x: Array) -> Prepared:
        """The same with its table made at other stiffnesses.

        Parameters
        ----------
        x : ndarray, shape (n,)
            Logarithms of their factors.
        """
        base = stand_in(
            self.model,
            x,
            self.matched,
            self.base.prior.factor @ self.base.prior.factor.T,
            self.base.prior.u_load,
            self.point,
        )
        return dataclasses.replace(self, base=base, suspects=suspects_of(self.machine, self.matched, base))

    def with_values(self, measured: Sequence[Measured]) -> Prepared:
        """The same places with other values.

        Parameters
        ----------
        measured : sequence of Measured
            In the order of `matched`, at the same loads.
        """
        base = dataclasses.replace(
            self.base,
            data=np.array([m.value for m in measured]),
            variance=np.array([m.own_u**2 for m in measured]),
        )
        return dataclasses.replace(
            self, matched=dataclasses.replace(self.matched, measured=tuple(measured)), base=base
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A suspect with what the readings say of it.

    Parameters
    ----------
    what : str
        As the clause after "if".
    item : str
    kind : str
    evidence : float
        Logarithm of how much likelier it makes the readings, its class of suspects as a whole.
    probability_then : float
        Of the fit with it.
    group : int
        1 for those that the readings cannot tell from the best one, where one is named at all; else 0.
    """

    what: str
    item: str
    kind: str
    evidence: float
    probability_then: float
    group: int

    @property
    def sentence(self) -> str:
        """In words, with what it explains."""
        return f"if {self.what}, the fit would have a probability of {self.probability_then:.2g}"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Robust:
    """What the readings say.

    Parameters
    ----------
    parameters : tuple of Parameter
    examined : Examined
    judged : Identifiability
        Which stiffnesses the readings tell.
    determined : ndarray of bool, shape (n,)
        Whether a number may be given, if numbers are given at all.
    withheld : str
        Why no number is given; empty where there are some.
    marks : tuple of str
        What is wrong with the campaign as a whole.
    walls : str
        The member whose walls give; empty.
    suspects : tuple of Named
        Best first, every one that was fitted.
    outside, rests : ndarray of bool, shape (n,)
        Interval wholly outside of the stated range; number that rests on one reading.
    """

    parameters: tuple[Parameter, ...]
    examined: Examined
    judged: Identifiability
    determined: NDArray[np.bool_]
    withheld: str
    marks: tuple[str, ...]
    walls: str
    suspects: tuple[Named, ...]
    outside: NDArray[np.bool_]
    rests: NDArray[np.bool_]

    @property
    def group(self) -> tuple[Named, ...]:
        """Suspects that are named: the best one and what cannot be told from it; empty where none is."""
        return tuple(s for s in self.suspects if s.group)

    @property
    def discrepancy(self) -> float:
        """Size of a discrepancy that nobody can name, if that is what it is [m]."""
        return self.examined.constant

    @property
    def marked(self) -> bool:
        """Whether anything is wrong with the campaign."""
        return bool(self.marks)


def every_parameter(machine: Machine) -> tuple[Parameter, ...]:
    """All joints and supports, bending and torsion of beams, walls and contact of bodies.

    Parameters
    ----------
    machine : Machine
    """
    return tuple(p for p in parameters_of(machine) if p.kind != "member" or p.mechanism != "shear")


def prepared(
    machine: Machine,
    parts: Parts,
    matched: Matched,
    instrument: Instrument,
    *,
    parameters: Sequence[Parameter] | None = None,
    walls: bool = True,
    progress: Callable[[float, str], None] | None = None,
) -> Prepared:
    """Solve once what all models of a campaign need.

    Parameters
    ----------
    machine : Machine
    parts : Parts
    matched : Matched
    instrument : Instrument
    parameters : sequence of Parameter, optional
        Default: `every_parameter`.
    walls : bool
        Whether members that are beams are tried as bodies.
    progress : callable, optional
        While walls are solved.

    Returns
    -------
    Prepared
    """
    chosen = every_parameter(machine) if parameters is None else tuple(parameters)
    model = LoopModel.of(machine, parts, matched.pairs, chosen)
    covariance = prior_covariance(machine, chosen)
    base = stand_in(model, np.zeros(len(chosen)), matched, covariance, instrument.u_load, instrument.u_point)
    given = walls_of(machine, parts, matched, base, progress) if walls else ()
    return Prepared(
        machine=machine,
        matched=matched,
        model=model,
        base=base,
        suspects=suspects_of(machine, matched, base),
        walls=tuple(given),
        point=instrument.u_point,
    )


def judged(ready: Prepared, *, degrees: float, struck: Sequence[str] = ()) -> Robust:
    """Weigh all models of a campaign.

    Parameters
    ----------
    ready : Prepared
    degrees : float
        Of freedom behind the scatter of the readings.
    struck : sequence of str
        Classes of suspects that are not tried.

    Returns
    -------
    Robust
        Where the forces choose their way the table is made anew at the likeliest stiffnesses, until it foretells what the
        whole machine gives there.
    """
    found = _weighed(ready, degrees, struck)
    for _ in range(MOST_TABLES):
        n = len(ready.parameters)
        there = ready.base.table[:, 0, 0] + ready.base.table[:, 0, 1:] @ np.exp(-found.examined.best[:n])
        off = np.abs(ready.model(found.examined.best[:n])[0] - there) / np.sqrt(ready.base.variance)
        if float(off.max()) < NEAR:
            break
        ready = ready.at(found.examined.best[:n])
        found = _weighed(ready, degrees, struck)
    return found


def _weighed(ready: Prepared, degrees: float, struck: Sequence[str]) -> Robust:
    suspects = [s for s in ready.suspects if s.kind not in struck]
    tables, prior, base = _widened(suspects, ready)
    order = {kind: i for i, kind in enumerate(dict.fromkeys(s.kind for s in suspects))}
    found = examine(
        base,
        [(w.table(base), w.variance) for w in ready.walls if "walls" not in struck],
        [
            Alternative(kind=order[s.kind], rows=s.rows, table=table)
            for s, table in zip(suspects, tables, strict=True)
        ],
        _shares(list(order)),
        prior,
        ready.base.data,
        ready.base.variance,
        width=student(degrees),
        degrees=degrees,
        least=LEARNED,
    )
    return _verdict(ready, suspects, found)


def _shares(kinds: Sequence[str]) -> Array:
    """Prior weights of classes of suspects: even, but for joints that are taken as rigid, which none is."""
    return np.array([RIGID_JOINT if kind == "joint missing" else FAULTS / len(kinds) for kind in kinds])


def _widened(suspects: Sequence[Suspect], ready: Prepared) -> tuple[list[Array], Prior, Array]:
    """Tables with columns for the springs of joints that are not in the model, where there are any."""
    base = ready.base
    n = len(base.prior.factor)
    factor = np.zeros((n + EXTRA, n + EXTRA))
    factor[:n, :n] = base.prior.factor
    factor[n:, n:] = MISSING * np.eye(EXTRA)
    prior = dataclasses.replace(base.prior, factor=factor)
    tables = []
    for s in suspects:
        table = _padded(s.table, prior)
        if s.extra is not None:
            table[:, 0, -EXTRA:] = s.extra[s.rows]
        tables.append(table)
    return tables, prior, _padded(base.table, prior)


def _padded(table: Array, prior: Prior) -> Array:
    more = 1 + len(prior.factor) - table.shape[2]
    return np.concatenate([table, np.zeros((*table.shape[:2], more))], axis=2)


def _verdict(ready: Prepared, suspects: Sequence[Suspect], found: Examined) -> Robust:
    n = len(ready.parameters)
    blend, prior_u = found.blend, np.sqrt((ready.base.prior.factor**2).sum(axis=1))
    table, u = ready.base.table[:, 0, 1:], np.sqrt(ready.base.variance)
    sensitivity = table * np.exp(-found.best[:n]) / u[:, None]
    own = identify(sensitivity, prior_u)
    lost = {i for p in own.pairs if p.verdict == "cannot be separated" for i in (p.first, p.second)}
    told = np.array([bool(blend.learned[i] >= LEARNED) and i not in lost for i in range(n)])
    withheld = _withheld(found)
    ends = 1.96 * prior_u
    outside = told & ((blend.low[:n] > ends) | (blend.high[:n] < -ends))
    walls = _found_walls(ready, found)
    return Robust(
        parameters=ready.parameters,
        examined=found,
        judged=own,
        determined=told,
        withheld=withheld,
        marks=tuple(_marks(ready, found, walls, withheld)),
        walls=walls,
        suspects=tuple(_named(ready, suspects, found)),
        outside=outside,
        rests=told & (found.alone[:n] < RESTS),
    )


def _withheld(found: Examined) -> str:
    if found.unknown > LIKELY:
        return "something is wrong that is on no list here"
    if found.best_probability < DOUBTFUL:
        return f"not even the best of all models tried explains the readings (probability {found.best_probability:.1g})"
    return ""


def _found_walls(ready: Prepared, found: Examined) -> str:
    return ready.walls[0].member if ready.walls and found.walls > FOUND else ""


def _marks(ready: Prepared, found: Examined, walls: str, withheld: str) -> Iterable[str]:
    if withheld:
        yield f"numbers withheld: {withheld}"
    if found.probability < DOUBTFUL:
        yield f"the machine as stated explains the readings badly (probability {found.probability:.1g})"
    if found.unknown + found.faults > LIKELY:
        yield f"something is not as stated (weight {found.unknown + found.faults:.0%})"
    if walls:
        yield f'the walls of "{walls}" give, and the model takes it as a beam: its joints are walls and joint in series'


def _named(ready: Prepared, suspects: Sequence[Suspect], found: Examined) -> Iterable[Named]:
    rows = [
        (float(score), float(then), suspects[int(i)].words, suspects[int(i)].item, suspects[int(i)].kind)
        for i, score, then in zip(found.order, found.score, found.then, strict=True)
    ]
    if ready.walls and math.isfinite(found.walls_score):
        name = ready.walls[0].member
        rows.append((found.walls_score, found.walls_then, f'the walls of "{name}" gave', name, "walls"))
    rows.sort(key=lambda row: -row[0])
    if not rows:
        return
    best = rows[0][0]
    named = best > NAMED or (found.probability < DOUBTFUL and best > 0.0)
    for score, then, words, item, kind in rows:
        group = int(named and score > best - ALIKE)
        yield Named(what=words, item=item, kind=kind, evidence=score, probability_then=then, group=group)


def said(found: Robust, machine: Machine) -> Mapping[str, str]:
    """Remarks on single stiffnesses, by their names in words."""
    remarks: dict[str, str] = {}
    for i, p in enumerate(found.parameters):
        if found.outside[i]:
            remarks[in_words(p, machine)] = "interval wholly outside the stated range"
        elif found.rests[i]:
            remarks[in_words(p, machine)] = "rests on one reading"
    return remarks
