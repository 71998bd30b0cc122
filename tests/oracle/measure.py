"""The package beside the second statics on random machines: what tests ask a few of, and the benchmark thousands."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

import numpy as np
from oracle import drawn, exact, package
from oracle.changes import CHANGES, turned

from strongback.errors import MechanismError, StrongbackError
from strongback.machine.contact import OneSided, Play
from strongback.machine.values import COMPONENTS, GROUND, RIGID, Block, Machine, Member, Place, Pull, Support
from strongback.section.values import SectionStiffness

JITTERS = 2  # copies that tell how much rounding of the numbers of a machine changes its answers


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """One machine: `error` of the package (NaN: refused) and what it states it may be, `shift` of the truth by rounding of
    what is given."""

    seed: int
    error: float
    stated: float = 0.0
    shift: float = 0.0
    message: str = ""

    @property
    def refused(self) -> bool:
        return math.isnan(self.error)


def ordinary(seeds: Iterable[int]) -> list[Verdict]:
    return [_verdict(seed, drawn.machine(seed), exact.solve(drawn.machine(seed))) for seed in seeds]


def harsh(seeds: Iterable[int]) -> list[Verdict]:
    """With the shift; machines that move without effort are left out."""
    found = []
    for seed in seeds:
        machine = drawn.machine(seed, drawn.HARSH)
        try:
            truth = exact.solve(machine)
        except exact.UndeterminedError:
            continue
        found.append(replace(_verdict(seed, machine, truth), shift=shift(machine, truth, seed)))
    return found


def numbers_at_the_tool(seeds: Iterable[int]) -> list[Verdict]:
    """Compliance of the tool and budgets of harsh machines: those off by more than 1e-6 and than they state, or refused."""
    wrong = []
    for seed in seeds:
        machine = drawn.machine(seed, drawn.HARSH)
        place, against = machine.tool, machine.work.part
        units = tuple(
            Pull(name=f"u{i}", part=place.part, at=place.at, against=against, force=six[:3], couple=six[3:])
            for i, six in enumerate(tuple(float(v) for v in row) for row in np.eye(6))
        )
        try:
            truth = exact.solve(replace(machine, pulls=(*machine.pulls, *units)))
        except exact.UndeterminedError:
            continue
        C = truth.tool[:, -6:]
        found = package.compliance(machine)
        for i, k in np.ndindex(2, 2):
            own, true = (M[3 * i : 3 * i + 3, 3 * k : 3 * k + 3] for M in (found, C))
            size = max(float(np.abs(true).max()), package.ZERO * float(np.abs(C).max()))
            error = float(np.abs(own - true).max()) / size
            wrong += [Verdict(seed=seed, error=error, message="compliance")] * (not error <= 1e-6)
        direction = np.array([0.3, -0.5, 0.8]) / np.linalg.norm([0.3, -0.5, 0.8])
        for k, pull in enumerate(machine.pulls):
            total, stated = package.budget_total(machine, pull, direction)
            true = float(direction @ truth.tool[:3, k])
            if abs(true) > package.ZERO * truth.largest[k]:
                error = abs(total / true - 1.0)
                wrong += [Verdict(seed=seed, error=error, stated=stated, message=pull.name)] * (
                    not error <= max(1e-6, stated)
                )
    return wrong


def _verdict(seed: int, machine: Machine, truth: exact.Truth) -> Verdict:
    found = package.answers_or_refusal(machine)
    if isinstance(found, StrongbackError):
        return Verdict(seed=seed, error=math.nan, message=str(found).splitlines()[0])
    return Verdict(seed=seed, error=package.error(found, truth), stated=found.stated)


def shift(machine: Machine, truth: exact.Truth, seed: int) -> float:
    """How far the answers move when every number of a machine moves by its last bit: what no computation can know."""
    rng = np.random.default_rng([seed, 17])
    return max(package.error(exact.solve(_jittered(machine, rng)), truth) for _ in range(JITTERS))


def _jittered(value: Any, rng: np.random.Generator) -> Any:
    if isinstance(value, SectionStiffness):
        ulp = np.triu(rng.choice([-1.0, 1.0], size=(8, 8))) * 2.0**-53
        matrix = np.array(value.matrix) * (1.0 + ulp + np.triu(ulp, 1).T)
        return replace(value, matrix=tuple(tuple(float(v) for v in row) for row in matrix))
    if isinstance(value, float) and math.isfinite(value) and value:
        return math.nextafter(value, math.inf if rng.random() < 0.5 else -math.inf)
    if isinstance(value, tuple):
        return tuple(_jittered(v, rng) for v in value)
    if is_dataclass(value):
        return replace(value, **{f.name: _jittered(getattr(value, f.name), rng) for f in fields(value)})
    return value


def unchanged(name: str, seeds: Iterable[int]) -> list[Verdict]:
    """The package against itself after a change of the description."""
    found = []
    for seed in seeds:
        machine = drawn.machine(seed)
        there, back = CHANGES[name](machine, np.random.default_rng([seed, 19]))
        here, moved = package.answers_or_refusal(machine), package.answers_or_refusal(there)
        if isinstance(here, StrongbackError) or isinstance(moved, StrongbackError):
            error = 0.0 if type(here) is type(moved) else math.nan
        else:
            error = package.error(back(moved), exact.solve(machine), here)
        found.append(Verdict(seed=seed, error=error))
    return found


# --- parts that open or have play ---------------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Opening:
    """A machine of which some components are one-sided or have play."""

    machine: Machine
    pull: Pull
    laws: dict[tuple[str, int], Any]


def opening(seed: int, most: tuple[int, int] = (12, 7)) -> Opening:
    """Up to 12 one-sided components, or up to 7 with play or mixed."""
    rng = np.random.default_rng([seed, 23])
    machine = drawn.machine(seed)
    pull = machine.pulls[0]
    truth = exact.solve(replace(machine, pulls=(pull,)))
    one_sided = rng.random() < 0.5
    count = min(int(rng.integers(1, most[not one_sided] + 1)), len(truth.components))
    laws: dict[tuple[str, int], Any] = {}
    for k in rng.choice(len(truth.components), size=count, replace=False):
        name, force = truth.components[k], abs(float(truth.forces[k, 0]))
        if one_sided or rng.random() < 0.3:
            preload = 0.0 if rng.random() < 0.3 else force * 10 ** rng.uniform(-1.0, 1.0)
            laws[name] = OneSided(preload=float(preload), sign=int(rng.choice([-1, 1])))
        else:
            size = max(float(truth.largest[0]), 1e-9)
            laws[name] = Play(gap=float(size * 10 ** rng.uniform(-2.0, 0.5)))
    return Opening(machine=machine, pull=pull, laws=laws)


@dataclass(frozen=True, kw_only=True)
class Settled:
    """What the package says of an `Opening`, and the truth: "answer", "comes apart" or "refused"."""

    seed: int
    true: str
    said: str
    error: float


def settled(seeds: Iterable[int], most: tuple[int, int] = (12, 7)) -> list[Settled]:
    """Against all states. Lost motion that no force decides (play without load) has no answer and is left out."""
    found = []
    for seed in seeds:
        case = opening(seed, most)
        truths = [motions for motions, _ in exact.states(case.machine, case.pull, case.laws)]
        size = max((np.abs(t).max() for t in truths), default=0.0)
        if any(np.abs(t - truths[0]).max() > 1e-9 * size for t in truths):
            continue
        said, motions = _said(case.machine, case.pull, case.laws)
        true = "answer" if truths else "comes apart"
        both = truths and motions is not None
        error = float(np.abs(motions - truths[0]).max() / size) if both else 0.0
        found.append(Settled(seed=seed, true=true, said=said, error=error))
    return found


def _said(machine: Machine, pull: Pull, laws: dict[tuple[str, int], Any]) -> tuple[str, np.ndarray | None]:
    try:
        return "answer", package.contact(machine, pull, laws)[0]
    except MechanismError:
        return "comes apart", None
    except StrongbackError:
        return "refused", None


def orientations(seeds: Iterable[int], turns: int = 60) -> list[Verdict]:
    """Largest difference between the answers of turned copies of a machine with parts that open; NaN where some refuse."""
    found = []
    for seed in seeds:
        case = opening(seed)
        rng = np.random.default_rng([seed, 29])
        motions, words = [], set()
        for _ in range(turns):
            there, back = turned(replace(case.machine, pulls=(case.pull,)), rng)
            said, moved = _said(there, there.pulls[0], case.laws)
            words.add(said)
            if moved is not None:
                tool = package.Answers(
                    tool=moved[:6, None], gauges=moved[6:, None], reactions=np.zeros((0, 6, 1))
                )
                motions.append(np.concatenate([back(tool).tool[:, 0], moved[6:]]))
        spread = float(np.ptp(motions, axis=0).max() / np.abs(motions).max()) if motions else 0.0
        found.append(
            Verdict(
                seed=seed, error=spread if len(words) == 1 else math.nan, message=", ".join(sorted(words))
            )
        )
    return found


def budgets_in_state(seeds: Iterable[int]) -> list[Verdict]:
    """Rows of the budget in the chosen state against the motion there, along a direction of their own."""
    direction = np.array([0.3, -0.5, 0.8]) / np.linalg.norm([0.3, -0.5, 0.8])
    found = []
    for seed in seeds:
        case = opening(seed, (8, 4))
        told = package.budget_in_state(case.machine, case.pull, case.laws, direction)
        if told is not None:
            total, moved = told
            error = abs(total - float(direction @ moved)) / max(float(np.abs(moved).max()), 1e-18)
            found.append(Verdict(seed=seed, error=error))
    return found


def ceilings_in_state(seeds: Iterable[int]) -> list[Verdict]:
    """What is left with each part rigid, against all states of the machine with that part rigid."""
    found = []
    for seed in seeds:
        case = opening(seed, (6, 3))
        machine = at_the_tool(case.machine)
        pull = machine.pulls[0]
        along = np.array(pull.force) / np.linalg.norm(pull.force)
        for part, left in package.remains_in_state(machine, pull, case.laws).items():
            try:
                truths = [along @ m[:3] for m, _ in exact.states(_rigid(machine, part), pull, case.laws)]
                whole = along @ next(iter(exact.states(machine, pull, case.laws)))[0][:3]
            except exact.UndeterminedError:  # rigid beside rigid
                continue
            if truths and np.ptp(truths) <= 1e-9 * np.abs(truths).max():
                found.append(Verdict(seed=seed, error=abs(left - truths[0] / whole), message=part))
    return found


# --- ceilings -----------------------------------------------------------------------------------------------------------


def rigid_parts(seeds: Iterable[int]) -> list[Verdict]:
    """What is left of the deflection when a part is rigid, of all parts of a machine: largest difference to the truth."""
    found = []
    for seed in seeds:
        machine = at_the_tool(drawn.machine(seed))
        truth = _along(machine)
        said = package.remains(machine)
        errors = []
        for name in said:
            try:
                errors.append(abs(said[name] - _along(_rigid(machine, name)) / truth))
            except exact.UndeterminedError:  # rigid beside rigid: the second statics has no answer
                continue
        found.append(Verdict(seed=seed, error=max(errors, default=0.0)))
    return found


def at_the_tool(machine: Machine) -> Machine:
    """One pull, between tool and work."""
    force = np.array([0.3, -0.5, 0.8]) * 100.0
    place = machine.tool
    against = machine.work.part
    pull = Pull(
        name="cut", part=place.part, at=place.at, force=tuple(float(v) for v in force), against=against
    )
    return replace(machine, pulls=(pull,), gauges=())


def _along(machine: Machine) -> float:
    return float(exact.solve(machine).tool[:3, 0] @ machine.pulls[0].force)


def _rigid(machine: Machine, name: str) -> Machine:
    """A joint or support without compliance; a member as one block, which holds plane what runs on from it."""

    def springs(holder: Any) -> Any:
        stiff = tuple(RIGID if k > 0 else 0.0 for k in holder.stiffness)
        return replace(holder, stiffness=stiff) if holder.name == name else holder

    gone = tuple(m for m in machine.members if m.name == name)
    points = [
        point for m in gone for kind, point in zip(m.ends, (m.start, m.end), strict=True) if kind == "joined"
    ]

    def beside(member: Member) -> Member:
        ends = [
            "held" if kind == "joined" and min(math.dist(point, p) for p in points) < 1e-6 else kind
            for kind, point in zip(member.ends, (member.start, member.end), strict=True)
        ]
        return replace(member, ends=(ends[0], ends[1]))

    rest = tuple(m for m in machine.members if m.name != name)
    return replace(
        machine,
        joints=tuple(springs(j) for j in machine.joints),
        supports=tuple(springs(s) for s in machine.supports),
        members=tuple(beside(m) if points else m for m in rest),
        blocks=(*machine.blocks, *(Block(name=m.name, at=m.start) for m in gone)),
    )


def side_by_side() -> float:
    """A block on two springs, 1e9 N/m and a softer one: largest part of the deflection left when one of them is rigid."""
    at = (0.0, 0.0, 0.0)
    left = []
    for soft in 10.0 ** np.arange(4.0, 10.0):
        machine = Machine(
            name="block",
            sections=(),
            members=(),
            blocks=(Block(name="b", at=at),),
            supports=(
                Support(name="stiff", part="b", at=at, stiffness=(1e9,) * 6),
                Support(name="soft", part="b", at=at, stiffness=(float(soft), 0.0, 0.0, 0.0, 0.0, 0.0)),
            ),
            tool=Place(part="b", at=at),
            work=Place(part=GROUND, at=at),
            pulls=(Pull(name="p", part="b", at=at, force=(1.0, 0.0, 0.0)),),
        )
        left += [abs(v) for v in package.remains(machine).values()]
    return max(left)


# --- joint variants -----------------------------------------------------------------------------------------------------


def variants(seeds: Iterable[int], each: int = 3) -> list[Verdict]:
    """Motion of the tool along x with all joint stiffnesses changed by up to a million either way, some of them rigid."""
    found = []
    for seed in seeds:
        machine = drawn.machine(seed)
        rng = np.random.default_rng([seed, 31])
        names = [
            (h.name, c)
            for _, h in machine.holders()
            for c, k in zip(COMPONENTS, h.stiffness)
            if 0 < k < math.inf
        ]
        answer, nominal = package.variants(machine, names)
        stiffness = nominal * 10 ** rng.uniform(-6.0, 6.0, size=(each, len(names)))
        stiffness[rng.random(stiffness.shape) < 0.1] = math.inf
        errors = []
        for changed, mine in zip(stiffness, np.asarray(answer(stiffness)).reshape(each), strict=True):
            try:
                truth = exact.solve(_with_stiffness(machine, dict(zip(names, changed, strict=True))))
            except exact.UndeterminedError:  # rigid beside rigid
                continue
            x = float(truth.tool[0, 0])
            size = abs(x) if abs(x) > 1e-6 * truth.largest[0] else float(truth.largest[0])
            errors.append(abs(float(mine) - x) / size)
        found.append(Verdict(seed=seed, error=max(errors, default=0.0)))
    return found


def _with_stiffness(machine: Machine, changed: dict[tuple[str, str], float]) -> Machine:
    def springs(holder: Any) -> Any:
        six = tuple(
            float(changed.get((holder.name, c), k)) for c, k in zip(COMPONENTS, holder.stiffness, strict=True)
        )
        return replace(holder, stiffness=six)

    return replace(
        machine,
        joints=tuple(springs(j) for j in machine.joints),
        supports=tuple(springs(s) for s in machine.supports),
    )
