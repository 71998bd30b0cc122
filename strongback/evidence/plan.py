"""Which reading to take next: the most learned for the least trouble."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from strongback.answer import Telling
from strongback.errors import ReadingsError
from strongback.evidence.identify import Identifiability, identify
from strongback.evidence.model import (
    LoopModel,
    Pair,
    at_load,
    default_parameters,
    in_words,
    prior_covariance,
    prior_uncertainty,
    size_of,
)
from strongback.evidence.readings import Instrument
from strongback.evidence.uncertainty import resolution
from strongback.machine.parameters import Parameter
from strongback.machine.part.kinds import body_names
from strongback.machine.part.values import Parts
from strongback.machine.values import GROUND, Gauge, Machine, Member, Pull, Vector

__all__ = ["Cost", "Plan", "Step", "candidates", "greedy", "plan"]

Array = NDArray[np.float64]
HEIGHTS = ((0.07, "foot"), (0.5, "middle"), (1.0, "top"))
LEVER = 0.1  # of a gauge across a joint [m]
OUTRIGGER = 0.15  # half of a bar clamped across a member [m]
LEAST_STEPS = 5.0  # of the scale; common practice, no source
LEAST_GAIN = 0.1  # the standard uncertainty of a difference falls by a tenth
READING_SCATTER = 0.7e-6  # of one reading with a good indicator [m]; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What a reading takes, in units of one more reading with everything in place.

    Parameters
    ----------
    stand : float
        Extra for a stand that goes to a new place.
    pull : float
        Extra for a pull that is rigged anew.
    """

    stand: float = 2.0
    pull: float = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A reading to take.

    Parameters
    ----------
    pull, gauge : Pull, Gauge
    load : float
        [N or N m]
    expected : float
        Reading as the machine is known so far [m].
    u_expected : float
        From what is known of the stiffnesses [m].
    least_load : float
        At which the reading exceeds five steps of the scale [N or N m].
    gain : float
        Of knowledge: fall of half the log determinant of the covariance.
    cost : float
    """

    ONLY: ClassVar[Telling] = (
        ("pull", "pull.name"),
        ("part", "pull.part"),
        ("at_m", "pull.at"),
        ("force_N", "pull.force"),
        ("couple_N_m", "pull.couple"),
        ("load", "load"),
        ("gauge", "gauge.name"),
        ("gauge_part", "gauge.part"),
        ("gauge_at_m", "gauge.at"),
        ("gauge_direction", "gauge.direction"),
        ("reference", "gauge.reference"),
        ("expected_m", "expected"),
        ("u_expected_m", "u_expected"),
        ("least_load", "least_load"),
        ("gain", "gain"),
        ("cost", "cost"),
    )

    pull: Pull
    gauge: Gauge
    load: float
    expected: float
    u_expected: float
    least_load: float
    gain: float
    cost: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """Readings in the order in which to take them.

    Parameters
    ----------
    steps : tuple of Step
    parameters : tuple of Parameter
    u_before, u_after : ndarray, shape (n,)
        Standard uncertainty of the logarithm of each stiffness.
    after : Identifiability
        What all readings together, old and planned, can tell.
    considered : int
        Candidates.
    too_small : int
        Candidates left out because even the largest load moves them less than five steps of the scale.
    names : tuple of str
        The parameters as one says them.
    """

    ONLY: ClassVar[Telling] = (
        ("steps", "steps"),
        ("known_after", "known_after"),
        ("considered", "considered"),
        ("too_small", "too_small"),
    )

    steps: tuple[Step, ...]
    parameters: tuple[Parameter, ...]
    names: tuple[str, ...]
    u_before: Array
    u_after: Array
    after: Identifiability
    considered: int
    too_small: int

    @property
    def known_after(self) -> list[dict[str, str | float | bool]]:
        """Each stiffness with its uncertainty of the logarithm before and after, and whether it is told by itself."""
        each = zip(self.parameters, self.u_before, self.u_after, self.after.determined, strict=True)
        return [
            {
                "part": p.part,
                "mechanism": p.mechanism,
                "u_before": float(before),
                "u_after": float(after),
                "determined": bool(alone),
            }
            for p, before, after, alone in each
        ]


def candidates(machine: Machine, loads: Mapping[str, Sequence[float]] | None = None) -> tuple[Pair, ...]:
    """Readings that could be taken: the machine's own pulls and gauges, and obvious further ones.

    Added are gauges at foot, middle and top of each upright member, at both ends of each level one, pairs of gauges on
    a bar clamped across, gauges across each joint, and pulls at the top of each upright member. Members that are bodies
    take the machine's own.

    Parameters
    ----------
    machine : Machine
    loads : mapping of str to sequence of float, optional
        Loads for each pull [N or N m]; default the load of the pull.

    Returns
    -------
    tuple of (Pull, Gauge)
    """
    pulls = (*machine.pulls, *_new(_top_pulls(machine), machine.pulls))
    gauges = (*machine.gauges, *_new(_gauges(machine), machine.gauges))
    chosen = loads or {}
    return tuple(
        (at_load(pull, load), gauge)
        for pull in pulls
        for load in chosen.get(pull.name, (size_of(pull),))
        for gauge in gauges
        if pull.part != gauge.reference or gauge.part != pull.part
    )


def _new(made: Sequence[Pull | Gauge], own: Sequence[Pull | Gauge]) -> list:  # type: ignore[type-arg]
    """Those that are not nearly the same as one of the machine's own."""

    def like(a: Pull | Gauge, b: Pull | Gauge) -> bool:
        near = a.part == b.part and math.dist(a.at, b.at) < 1e-3
        first, second = (
            np.asarray(v.force if isinstance(v, Pull) else v.direction, dtype=float) for v in (a, b)
        )
        norm = float(np.linalg.norm(first) * np.linalg.norm(second))
        return near and norm > 0.0 and abs(float(first @ second)) > 0.999 * norm

    return [item for item in made if not any(like(item, known) for known in own)]


def _stands(member: Member) -> bool:
    along = np.subtract(member.end, member.start)
    return abs(float(along[2])) > 0.9 * float(np.linalg.norm(along))


def _uprights(machine: Machine) -> list[Member]:
    """Columns and plates that stand: upright beams, without the quill or spindle that carries the tool."""
    bodies = body_names(machine)
    standing = [m for m in machine.members if m.name not in bodies and _stands(m)]
    return [m for m in standing if m.name != machine.tool.part or len(machine.members) == 1]


def _reference(machine: Machine) -> str:
    """Where a stand sits best: the part that carries the work."""
    return machine.work.part if machine.work.part else GROUND


def _gauges(machine: Machine) -> list[Gauge]:
    """Foot, middle and top of upright members, both ends of level ones; bars across foot, top and far end."""
    found = []
    reference = _reference(machine)
    bodies = body_names(machine)
    for member in machine.members:
        if member.name not in bodies and not _stands(member):
            found += _level_gauges(member, reference)
    found += _across(machine)
    for member in _uprights(machine):
        start, end = np.asarray(member.start), np.asarray(member.end)
        for share, where in HEIGHTS:
            point = start + share * (end - start)
            for axis, direction in (("x", (1.0, 0.0, 0.0)), ("y", (0.0, 1.0, 0.0))):
                name = f"{member.name} {where}, {axis}"
                found.append(_gauge(name, member.name, point, direction, reference))
            if where == "middle":
                continue
            for side, sign in (("right", 1.0), ("left", -1.0)):
                shifted = point + np.array([sign * OUTRIGGER, 0.0, 0.0])
                name = f"{member.name} {where}, bar {side}, y"
                found.append(_gauge(name, member.name, shifted, (0.0, 1.0, 0.0), reference))
    return found


def _level_gauges(member: Member, reference: str) -> list[Gauge]:
    found = []
    for point, where in ((member.start, "start"), (member.end, "end")):
        at = np.asarray(point)
        for axis, direction in (("x", (1.0, 0.0, 0.0)), ("y", (0.0, 1.0, 0.0)), ("z", (0.0, 0.0, 1.0))):
            found.append(_gauge(f"{member.name} {where}, {axis}", member.name, at, direction, reference))
        for side, sign in (("right", 1.0), ("left", -1.0)):
            name = f"{member.name} {where}, bar {side}, z"
            shifted = at + np.array([sign * OUTRIGGER, 0.0, 0.0])
            found.append(_gauge(name, member.name, shifted, (0.0, 0.0, 1.0), reference))
    return found


_ACROSS = (
    ("x", (0.0, 0.0, 0.0), (1.0, 0.0, 0.0)),
    ("y", (0.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
    ("z", (0.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    ("nod", (0.0, LEVER, 0.0), (0.0, 0.0, 1.0)),
    ("side tilt", (LEVER, 0.0, 0.0), (0.0, 0.0, 1.0)),
    ("yaw", (LEVER, 0.0, 0.0), (0.0, 1.0, 0.0)),
)


def _across(machine: Machine) -> list[Gauge]:
    """Gauges from one side of a joint to the other, for its shifts and, on a short lever, its rotations."""
    bodies = set(body_names(machine))
    return [
        _gauge(
            f"across {joint.name}, {word}", joint.parts[1], np.add(joint.at, lever), direction, joint.parts[0]
        )
        for joint in machine.joints
        if GROUND not in joint.parts and not bodies & set(joint.parts)
        for word, lever, direction in _ACROSS
    ]


def _gauge(name: str, part: str, point: Array, direction: Vector, reference: str) -> Gauge:
    x, y, z = (float(v) for v in point)
    return Gauge(name=name, part=part, at=(x, y, z), direction=direction, reference=reference)


def _top_pulls(machine: Machine) -> list[Pull]:
    size = max((size_of(p) for p in machine.pulls if any(p.force)), default=100.0)
    found = []
    for member in _uprights(machine):
        top = max(member.start, member.end, key=lambda p: p[2])
        for axis, force in (("x", (size, 0.0, 0.0)), ("y", (0.0, size, 0.0))):
            found.append(Pull(name=f"{member.name} top, {axis}", part=member.name, at=top, force=force))
    return found


def greedy(
    sensitivity: Array,
    covariance: Array,
    stands: Sequence[object],
    pulls: Sequence[object],
    count: int,
    *,
    cost: Cost | None = None,
    target: Array | None = None,
    placed: tuple[Sequence[object], Sequence[object]] = ((), ()),
) -> tuple[list[tuple[int, float, float]], Array]:
    """Choose readings one after the other.

    Parameters
    ----------
    sensitivity : ndarray, shape (candidates, n)
        Over the standard uncertainty of each candidate.
    covariance : ndarray, shape (n, n)
        Before any of them.
    stands, pulls : sequences
        Place of the stand and pull of each candidate, equal where nothing has to be moved.
    count : int
    cost : Cost, optional
    target : ndarray, shape (n,), optional
        Choose for this combination of parameters (c-criterion) and not for all (D-criterion).
    placed : tuple of sequences
        Stands and pulls that are in place already.

    Returns
    -------
    list of (index, gain, cost)
    covariance : ndarray, shape (n, n)
        After all of them.

    Notes
    -----
    A reading with weighted sensitivity s takes C s s' C / (1 + s' C s) off the covariance C, and half the logarithm of
    1 + s' C s off half the log determinant: Fedorov, Theory of Optimal Experiments, 1972 (from memory).
    """
    cost = cost or Cost()
    C = covariance.copy()
    used_stands, used_pulls = set(placed[0]), set(placed[1])
    open_ = np.ones(len(sensitivity), dtype=bool)
    chosen: list[tuple[int, float, float]] = []
    for _ in range(min(count, len(sensitivity))):
        CS = sensitivity @ C
        told = np.einsum("cn,cn->c", CS, sensitivity)
        gains = 0.5 * np.log1p(told) if target is None else _falls(CS, told, C, target)
        prices = np.array(
            [
                1.0 + cost.stand * (s not in used_stands) + cost.pull * (p not in used_pulls)
                for s, p in zip(stands, pulls, strict=True)
            ]
        )
        worth = np.where(open_, gains / prices, -1.0)
        best = int(np.argmax(worth))
        chosen.append((best, float(gains[best]), float(prices[best])))
        open_[best] = False
        used_stands.add(stands[best])
        used_pulls.add(pulls[best])
        C -= np.outer(CS[best], CS[best]) / (1.0 + told[best])
    return chosen, C


def _falls(CS: Array, told: Array, C: Array, target: Array) -> Array:
    """Fall of half the logarithm of the variance of a combination, for every candidate."""
    variance = float(target @ C @ target)
    taken = (CS @ target) ** 2 / (1.0 + told)
    return -0.5 * np.log1p(-np.minimum(taken / variance, 1.0 - 1e-12))


def reading_uncertainty(instrument: Instrument, gauge: Gauge, repeats: int, reading: float) -> float:
    """Standard uncertainty to expect of the mean of repeats, each in a set-up of its own [m]."""
    step = instrument.resolutions.get(gauge.name, gauge.resolution)
    scatter = (instrument.set_up**2 + reading**2) / repeats
    return math.sqrt(scatter + 1.5 * resolution(step) ** 2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Field:
    """Candidates that move their gauge enough, with what they would tell."""

    pairs: tuple[Pair, ...]
    expected: Array
    J: Array
    sensitivity: Array  # J over the uncertainty of each reading
    steps: Array
    considered: int


def _field(
    machine: Machine,
    parts: Parts,
    pairs: Sequence[Pair],
    parameters: Sequence[Parameter],
    instrument: Instrument,
    noise: tuple[int, float],
) -> _Field:
    model, start = LoopModel.of(machine, parts, pairs, parameters), np.zeros(len(parameters))
    expected, J = model(start)
    steps = np.array([instrument.resolutions.get(g.name, g.resolution) for _, g in pairs])
    index = np.flatnonzero(np.abs(expected) >= LEAST_STEPS * steps).tolist()
    if not index:
        raise ReadingsError(
            "no gauge moves by five steps of its scale under any pull",
            hint="raise the loads or use a finer gauge",
        )
    own = np.array([reading_uncertainty(instrument, pairs[i][1], *noise) for i in index])
    # A cord off its direction counts as if each reading had its own: gauges are chosen one by one.
    u = np.hypot(own, np.linalg.norm(model.slants(start, [instrument.u_angle] * len(pairs))[index], axis=1))
    return _Field(
        pairs=tuple(pairs[i] for i in index),
        expected=expected[index],
        J=J[index],
        sensitivity=J[index] / u[:, None],
        steps=steps[index],
        considered=len(pairs),
    )


def plan(
    machine: Machine,
    parts: Parts,
    count: int = 12,
    *,
    choices: Sequence[Pair] | None = None,
    parameters: Sequence[Parameter] | None = None,
    covariance: Array | None = None,
    taken: Array | None = None,
    instrument: Instrument | None = None,
    repeats: int = 3,
    reading_scatter: float = READING_SCATTER,
    cost: Cost | None = None,
    target: Array | None = None,
) -> Plan:
    """Propose readings.

    Parameters
    ----------
    machine : Machine
        As known so far.
    parts : Parts
    count : int
    choices : sequence of (Pull, Gauge), optional
        Default: `candidates` of the machine.
    parameters : sequence of Parameter, optional
        What is to be known.
    covariance : ndarray, shape (n, n), optional
        What is known of their logarithms; default from their ranges.
    taken : ndarray, shape (m, n), optional
        Weighted sensitivities of readings already taken, for the judgement of all together.
    instrument : Instrument, optional
    repeats : int
        Of each reading, each in a set-up of its own.
    reading_scatter : float
        Of one reading [m].
    cost : Cost, optional
    target : ndarray, shape (n,), optional
        Combination of the logarithms to learn about, in place of all.

    Returns
    -------
    Plan

    Raises
    ------
    ReadingsError
        If no candidate moves a gauge by five steps of its scale.
    """
    every = tuple(candidates(machine) if choices is None else choices)
    chosen = tuple(default_parameters(machine) if parameters is None else parameters)
    prior = prior_uncertainty(machine, chosen)
    C = prior_covariance(machine, chosen) if covariance is None else covariance
    field = _field(machine, parts, every, chosen, instrument or Instrument(), (repeats, reading_scatter))
    order, after = greedy(
        field.sensitivity,
        C,
        [_stand(gauge) for _, gauge in field.pairs],
        [(pull.name, size_of(pull)) for pull, _ in field.pairs],
        count,
        cost=cost,
        target=target,
    )
    rows = field.sensitivity[[i for i, _, _ in order]]
    return Plan(
        steps=tuple(_step(field, i, C, gain, price) for i, gain, price in order),
        parameters=chosen,
        names=tuple(in_words(p, machine) for p in chosen),
        u_before=np.sqrt(np.diag(C)),
        u_after=np.sqrt(np.diag(after)),
        after=identify(rows if taken is None else np.vstack([taken, rows]), prior),
        considered=field.considered,
        too_small=field.considered - len(field.pairs),
    )


def _stand(gauge: Gauge) -> object:
    return gauge.part, gauge.at, gauge.direction, gauge.reference


def _step(field: _Field, i: int, covariance: Array, gain: float, price: float) -> Step:
    pull, gauge = field.pairs[i]
    load = size_of(pull)
    return Step(
        pull=pull,
        gauge=gauge,
        load=load,
        expected=float(field.expected[i]),
        u_expected=float(np.sqrt(field.J[i] @ covariance @ field.J[i])),
        least_load=float(load * LEAST_STEPS * field.steps[i] / abs(field.expected[i])),
        gain=gain,
        cost=price,
    )


def separating(
    machine: Machine,
    parts: Parts,
    parameters: Sequence[Parameter],
    covariance: Array,
    pairs: Sequence[tuple[int, int]],
    instrument: Instrument | None = None,
) -> list[Step | None]:
    """For pairs of parameters, the reading that best tells each apart; None where none does.

    Parameters
    ----------
    machine : Machine
    parts : Parts
    parameters : sequence of Parameter
    covariance : ndarray, shape (n, n)
        Of the logarithms with the readings taken so far.
    pairs : sequence of (int, int)
    instrument : Instrument, optional

    Returns
    -------
    list of Step or None
    """
    try:
        field = _field(
            machine,
            parts,
            candidates(machine),
            parameters,
            instrument or Instrument(),
            (3, READING_SCATTER),
        )
    except ReadingsError:
        return [None] * len(pairs)
    found: list[Step | None] = []
    for pair in pairs:
        target = np.zeros(len(parameters))
        target[list(pair)] = 1.0, -1.0
        C = covariance @ field.sensitivity.T
        told = np.einsum("cn,nc->c", field.sensitivity, C)
        falls = _falls(C.T, told, covariance, target)
        best = int(np.argmax(falls))
        step = _step(field, best, covariance, float(falls[best]), 1.0)
        found.append(step if falls[best] > LEAST_GAIN else None)
    return found


def named(step: Step) -> str:
    """A step in words."""
    stand = "the bench" if step.gauge.reference == GROUND else step.gauge.reference
    return f'gauge "{step.gauge.name}" against {stand}, pull "{step.pull.name}" with {step.load:.0f} N'
