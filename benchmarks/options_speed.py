"""Speed of options and sweeps: the proof over all subsets, draws, a million points, blocks, memory.

python benchmarks/options_speed.py             a short run
python benchmarks/options_speed.py --instances 150 --json      [{name, value, unit, target, met}]
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import os
import resource
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

import numpy as np  # noqa: E402

from strongback.ask.sweep import sweep  # noqa: E402
from strongback.change.values import Change  # noqa: E402
from strongback.machine.parameters import Parameter  # noqa: E402
from strongback.machine.part.make import parts_of  # noqa: E402
from strongback.machine.values import COMPONENTS, Machine, Pull, Support  # noqa: E402
from strongback.project import read  # noqa: E402
from strongback.remedies.options.catalogue import catalogue  # noqa: E402
from strongback.remedies.options.proof import Problem, best_set, enumerated  # noqa: E402
from strongback.remedies.options.states import OptionSets, option_sets  # noqa: E402
from strongback.remedies.options.values import Option  # noqa: E402
from strongback.remedies.sweeps.run import blocks_of, run  # noqa: E402
from strongback.remedies.sweeps.sample import Variable  # noqa: E402
from strongback.remedies.sweeps.store import Store  # noqa: E402

EXAMPLES = Path(__file__).parents[1] / "examples"
MILL, STAND = EXAMPLES / "iron-mill", EXAMPLES / "tapping-stand"
MOST = 28
Row = dict[str, Any]


def row(name: str, value: float, unit: str, target: float, *, least: bool = False) -> Row:
    met = value >= target if least else value <= target
    return {"name": name, "value": value, "unit": unit, "target": target, "met": bool(met)}


def mill() -> Machine:
    """The iron mill, invented, under two pulls against the ground and one that the table takes back."""
    machine = read(MILL).machine
    at = machine.tool.at
    pulls = (
        Pull(name="sideways", part="spindle", at=at, force=(100.0, 0.0, 0.0)),
        Pull(name="fore-aft", part="spindle", at=at, force=(0.0, -100.0, 0.0)),
        Pull(name="jack", part="spindle", at=at, force=(0.0, 0.0, 300.0), against="table"),
    )
    return dataclasses.replace(machine, pulls=pulls)


def random_options(machine: Machine, count: int, seed: int) -> tuple[Option, ...]:
    """Two changes of the column's section, five braces, the rest stiffer joints."""
    rng = np.random.default_rng(seed)
    holders = list(machine.holders())
    found = [o for o in catalogue(machine) if o.name in ("closing plate", "steel column")]
    for i in range(5):
        k = tuple(float(v) for v in rng.uniform(0, 2e7, 3))
        at = (0.0, 0.0, float(rng.uniform(0.3, 0.56)))
        brace = Support(name=f"brace {i}", part="column", at=at, stiffness=(*k, 0.0, 0.0, 0.0))
        found.append(option(f"brace {i}", Change(supports=(brace,)), rng))
    while len(found) < count:
        kind, holder = holders[rng.integers(len(holders))]
        known = [c for c, k in zip(COMPONENTS, holder.stiffness, strict=True) if 0.0 < k < np.inf]
        some = rng.permutation(known)[: rng.integers(1, len(known) + 1)]
        factors = tuple(
            (Parameter(kind=kind, part=holder.name, mechanism=str(c)), float(rng.uniform(1.05, 3.0)))
            for c in some
        )
        found.append(option(f"joint {len(found)}", Change(factors=factors), rng))
    return tuple(found[:count])


def option(name: str, change: Change, rng: np.random.Generator) -> Option:
    return Option(
        name=name,
        make=lambda _: change,
        changes="",
        cost=float(rng.uniform(5, 100)),
        hours=1.0,
        mass=float(rng.uniform(0, 5)),
    )


def problem(sets: OptionSets, rng: np.random.Generator) -> Problem:
    """Own prices; limits at 30 to 90 % of what can be reached under one or three pulls, of mass at 35 to 100 %."""
    n = len(sets.options)
    chosen = np.sort(rng.permutation(3)[: 3 if rng.random() < 0.5 else 1])
    ends = np.abs(sets.readings(np.array([[False] * n, [True] * n]))[:, chosen])
    mass = np.array([o.mass for o in sets.options])
    return Problem(
        names=tuple(o.name for o in sets.options),
        cost=np.array([o.cost for o in sets.options]) * rng.uniform(0.5, 2.0, n),
        mass=mass,
        evaluate=lambda s: sets.values(s)[:, chosen],
        limits=ends[0] - rng.uniform(0.3, 0.9, len(chosen)) * (ends[0] - ends[1]),
        direct=sets.direct[chosen],
        most_mass=float(rng.uniform(0.35, 1.0) * mass.sum()),
        excludes=sets.excludes,
    )


def proofs(instances: int) -> list[Row]:
    machine = mill()
    parts = parts_of(machine)
    began = time.perf_counter()
    sets = option_sets(machine, parts, random_options(machine, MOST, 0), machine.pulls)
    solving = time.perf_counter() - began
    draws = np.random.default_rng(1).random((100_000, MOST)) < 0.5
    began = time.process_time()  # of the processor: others may be at work
    sets.values(draws)
    rate = len(draws) / (time.process_time() - began)
    times, proved, nodes = [], 0, 0
    for seed in range(instances):
        if seed % 25 == 0:
            own = option_sets(machine, parts, random_options(machine, MOST, seed), machine.pulls)
        found = best_set(problem(own, np.random.default_rng(seed)))
        times.append(found.seconds)
        proved += found.proved
        nodes = max(nodes, found.nodes)
    small = option_sets(machine, parts, random_options(machine, 16, 0), machine.pulls)
    equal, tried = 0, max(2, instances // 25)
    for seed in range(tried):
        asked = problem(small, np.random.default_rng(500 + seed))
        equal += best_set(asked).names == enumerated(asked).names
    return [
        row("28 options: parts solved", solving, "s", 30.0),
        row("subsets a second, three pulls", rate, "1/s", 5e4, least=True),
        row(f"28 options: 95 % of {instances}", float(np.quantile(times, 0.95)), "s", 2.0),
        row("28 options: slowest", max(times), "s", 10.0),
        row("28 options: proved", proved / instances, "-", 1.0, least=True),
        row("28 options: most nodes", nodes, "-", 2e6),
        row(f"16 options: equal to every subset, {tried}", equal / tried, "-", 1.0, least=True),
    ]


def sweeps(points: int) -> list[Row]:
    nod = Variable(name="joint.quill and bearings.about_x", low=1e5, high=9e5, log=True)
    tilt = Variable(name="joint.quill and bearings.about_y", low=1e5, high=9e5, log=True)
    with tempfile.TemporaryDirectory() as folder:
        began = time.perf_counter()
        sweep(
            str(MILL),
            (nod, tilt),
            pull=("sideways", "fore-aft", "jack"),
            count=points,
            store=Path(folder) / "a",
        )
        whole = time.perf_counter() - began
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        for _ in range(2):  # stored, and gone through again
            sweep(str(MILL), (nod, tilt), count=100_000, store=Path(folder) / "b")
        grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024.0
        began = time.perf_counter()
        wall = Variable(name="section.tube.thickness", low=2.5, high=5.0)
        joint = Variable(name="joint.quill guide.about_x", low=1e5, high=9e5, log=True)
        steps = 10
        sweep(str(STAND), (wall, joint), count=steps, method="grid", store=Path(folder) / "c")
        variants = time.perf_counter() - began
        with Store(Path(folder) / "d", {}, ("a",), ("y",)) as store:
            began = time.perf_counter()
            run(nothing, (("y",),), blocks_of(np.zeros((200, 1)), 1), store)
            block = (time.perf_counter() - began) / 200
    return [
        row(f"{points:,} joint-only points, three responses", whole, "s", 20.0 * points / 1e6),
        row("memory for 1e5 points stored and resumed", grown, "MB", 50.0),
        row(f"{steps * steps} variants of {steps} new sections", variants, "s", 60.0 * steps / 100.0),
        row("what a block costs beside its points", block * 1e3, "ms", 5.0),
    ]


def nothing(responses: tuple[str, ...], x: Any) -> Any:
    return x


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--instances", type=int, default=20)
    parser.add_argument("--points", type=int, default=200_000)
    parser.add_argument("--json", action="store_true")
    given = parser.parse_args()
    rows = [*proofs(given.instances), *sweeps(given.points)]
    if given.json:
        print(json.dumps(rows, indent=2))
    else:
        for one in rows:
            print(
                f"{one['name']:52} {one['value']:12.4g} {one['unit']:4} (target {one['target']:g}) {one['met']}"
            )
    return 0 if all(one["met"] for one in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
