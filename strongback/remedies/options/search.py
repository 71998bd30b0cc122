"""The set of options that meets targets at the least cost: alternatives that move something outside, all others proved."""

from __future__ import annotations

import itertools
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from strongback.answer import told
from strongback.errors import MachineError
from strongback.machine.columns import Progress
from strongback.machine.contact import OneSided, Play, solve_contact
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter
from strongback.machine.part.kinds import body_names
from strongback.machine.part.make import parts_of
from strongback.machine.part.values import Parts
from strongback.machine.values import Machine, Pull
from strongback.remedies.options.proof import CAP, Best, Problem, best_set, nearest_set
from strongback.remedies.options.states import MOST_BODIES, MOST_SECTIONS, option_sets, parts_for
from strongback.remedies.options.touched import Touched
from strongback.remedies.options.values import Option, with_options

__all__ = ["BestSet", "Target", "searched"]

ALTERNATIVES = 2  # that move something: every subset of them is solved by itself


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """How much the tool may give under a pull.

    Parameters
    ----------
    pull : Pull
    most : float
        At its force [m].
    """

    pull: Pull
    most: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BestSet:
    """The least costly set of options that meets the targets.

    Parameters
    ----------
    names : tuple of str
        Where nothing meets them, the set that comes nearest.
    meets : bool
    proved : bool
        Whether every other subset of `searched` is worse; never where a part that opens changes its state.
    why_not : str
        What stands in the way of a proof; empty where there is one.
    nodes : int
    cost : float
        [euro]
    mass : float
        [kg]
    values : tuple of (str, float)
        Deflection along the pulls of the targets [m].
    binding : str
        Which limit is nearest or missed most.
    nearness : float
        Worst value over its limit [-].
    floor : float
        No set that meets the targets costs less [euro].
    searched, left_out : tuple of str
        Options among which the proof holds, and those that were not looked at: with them more states than are solved.
    seconds : float
    """

    names: tuple[str, ...]
    meets: bool
    proved: bool
    why_not: str = field(metadata=told(blank=True))
    nodes: int
    cost: float
    mass: float = field(metadata=told("mass_kg"))
    values: tuple[tuple[str, float], ...] = field(metadata=told("values_m", mapping=True))
    binding: str
    nearness: float
    floor: float
    searched: tuple[str, ...]
    left_out: tuple[str, ...]
    seconds: float = field(metadata=told("seconds_s"))


def searched(
    base: tuple[Machine, Parts],
    options: Sequence[Option],
    marks: Mapping[str, Touched],
    masses: Mapping[str, float],
    targets: Sequence[Target],
    *,
    limits: tuple[float, float] = (np.inf, np.inf),
    laws: Mapping[Parameter, OneSided | Play] | None = None,
    cap: float = CAP,
    progress: Progress | None = None,
) -> BestSet:
    """Find the least costly set that meets targets, and prove it.

    Parameters
    ----------
    base : (Machine, Parts)
    options : sequence of Option
        The most promising first.
    marks : mapping of str to Touched
        What each of them touches.
    masses : mapping of str to float
        What each adds [kg].
    targets : sequence of Target
    limits : (float, float)
        Largest mass and cost of the set [kg, euro].
    laws : mapping, optional
        Joint components that open or have play.
    cap : float
        [s]
    progress : callable, optional

    Returns
    -------
    BestSet

    Raises
    ------
    MachineError
        If there is no target.
    """
    if not targets:
        raise MachineError("no target is given", hint="say how much the tool may give under a pull")
    began = time.perf_counter()
    machine, parts = base
    bodies = set(body_names(machine))
    inside, moving, left = _sorted_out(options, marks, bodies)
    best: Best | None = None
    nearest: tuple[float, Best, tuple[Option, ...]] | None = None
    nodes, proved, floor = 0, True, np.inf
    with_moved: tuple[Option, ...] = ()
    extra: list[Option] = []  # what no bound holds with, found on the way
    combinations = _subsets(moving)
    while combinations:
        moved = combinations.pop(0)
        there = with_options(machine, moved)
        solved = parts_for(parts, machine, there)
        named = {p.name: p for p in there.pulls}
        pulls = [named.get(t.pull.name, t.pull) for t in targets]
        sets = option_sets(there, solved, [o for o in inside if o not in moved], pulls, progress=progress)
        if sets.not_monotone:
            bad = [o for o in inside if o.name in sets.not_monotone]
            inside = [o for o in inside if o not in bad]
            extra += bad
            combinations = _subsets([*moving, *extra])
            best, nearest, nodes, proved, floor, with_moved = None, None, 0, True, np.inf, ()
            continue
        spent = (sum(masses[o.name] for o in moved), sum(o.cost for o in moved))
        problem = Problem(
            names=tuple(o.name for o in sets.options),
            cost=np.array([o.cost for o in sets.options], dtype=float),
            mass=np.array([masses[o.name] for o in sets.options], dtype=float),
            evaluate=sets.values,
            limits=np.array([t.most for t in targets]),
            direct=sets.direct,
            most_mass=limits[0] - spent[0],
            most_cost=min(limits[1], np.inf if best is None else best.cost) - spent[1],
            excludes=sets.excludes,
        )
        if problem.most_cost < 0.0:
            continue
        own = best_set(problem, cap=max(cap - (time.perf_counter() - began), 0.05))
        nodes, proved = nodes + own.nodes, proved and own.proved
        floor = min(floor, own.floor + spent[1])
        if own.meets and (best is None or own.cost + spent[1] < best.cost):
            best = replace(own, cost=own.cost + spent[1], mass=own.mass + spent[0])
            with_moved = moved
        if best is None:
            near = nearest_set(problem, cap=0.25 * cap)
            worst = float(max(abs(v) / t.most for v, t in zip(near.values, targets, strict=True)))
            if nearest is None or worst < nearest[0]:
                near = replace(near, cost=near.cost + spent[1], mass=near.mass + spent[0])
                nearest = (worst, near, moved)
    found = best
    if found is None:
        assert nearest is not None
        _, found, with_moved = nearest
    names = (*(o.name for o in with_moved), *found.names)
    chosen = tuple(o for o in options if o.name in names)
    why = _why_not(machine, chosen, [t.pull for t in targets], laws or {})
    why = why or ("" if proved else f"the search was ended after {cap:g} s")
    ratios = [abs(v) / t.most for v, t in zip(found.values, targets, strict=True)]
    return BestSet(
        names=tuple(o.name for o in chosen),
        meets=best is not None,
        proved=not why,
        why_not=why,
        nodes=nodes,
        cost=found.cost,
        mass=found.mass,
        values=tuple((t.pull.name, v) for t, v in zip(targets, found.values, strict=True)),
        binding=_binding(targets, ratios, found, limits, met=best is not None),
        nearness=float(max(ratios)),
        floor=floor,
        searched=tuple(o.name for o in [*inside, *extra, *moving]),
        left_out=tuple(o.name for o in left),
        seconds=time.perf_counter() - began,
    )


def _subsets(moving: Sequence[Option]) -> list[tuple[Option, ...]]:
    """Every subset that does not exclude itself, the smallest first."""
    every = itertools.chain.from_iterable(itertools.combinations(moving, k) for k in range(len(moving) + 1))
    return [s for s in every if not any(b.name in a.excludes for a in s for b in s)]


def _sorted_out(
    options: Sequence[Option], marks: Mapping[str, Touched], bodies: set[str]
) -> tuple[list[Option], list[Option], list[Option]]:
    """Options inside the proof, alternatives outside of it, and what would take too many states."""
    inside: list[Option] = []
    moving: list[Option] = []
    left: list[Option] = []
    for option in options:
        mark = marks[option.name]
        if mark.geometry:
            room = 0 if bodies else ALTERNATIVES  # with each of them every body would be solved anew
            (moving if len(moving) < room else left).append(option)
            continue
        counts = [
            (_states([o for o in [*inside, option] if name in marks[o.name].members]), name)
            for name in mark.members
        ]
        fits = all(count <= (MOST_BODIES if name in bodies else MOST_SECTIONS) for count, name in counts)
        (inside if fits else left).append(option)
    return inside, moving, left


def _states(options: Sequence[Option]) -> int:
    """Subsets of some options that do not exclude themselves."""
    return len(_subsets(options))


def _why_not(
    machine: Machine,
    chosen: tuple[Option, ...],
    pulls: Sequence[Pull],
    laws: Mapping[Parameter, OneSided | Play],
) -> str:
    """The component that does not just hold with a set: with it the numbers above are not those of the machine."""
    if not laws:
        return ""
    there = with_options(machine, chosen)
    loop = assemble(there, parts_of(there))
    named = {p.name: p for p in there.pulls}
    for pull in pulls:
        for parameter, state in solve_contact(loop, named.get(pull.name, pull), laws).states:
            if state != "holds":
                return f"{parameter} is {state} under {pull.name}, and the proof takes every joint as holding"
    return ""


def _binding(
    targets: Sequence[Target], ratios: Sequence[float], found: Best, limits: tuple[float, float], *, met: bool
) -> str:
    """The limit that decides."""
    worst = int(np.argmax(ratios))
    name = f"deflection under {targets[worst].pull.name}"
    if met:
        return name
    shares = {"mass": found.mass / limits[0], "cost": found.cost / limits[1]}
    full = [key for key, share in shares.items() if share > 0.9]
    return (
        f"{name}, with the {' and the '.join(full)} used up" if full else f"{name}, with all that helps done"
    )
