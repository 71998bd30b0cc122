"""Speed of the loop: joint variants by low rank, a new head height, one machine anew. Ratios are taken in one run."""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from machines import braced, small_mill

from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter
from strongback.machine.part.make import parts_of
from strongback.machine.solve import gauge_row, pull_load, solve_all, tool_rows
from strongback.machine.values import Travel
from strongback.machine.variants import joint_variants
from strongback.machine.workspace import moved

TWELVE = tuple(
    Parameter(kind="joint", part=joint, mechanism=name)
    for joint in ("base joint", "head joint")
    for name in ("along x", "along z", "about x", "about y", "about z")
) + tuple(Parameter(kind="support", part="rear foot", mechanism=name) for name in ("along x", "along z"))


def seconds(what: Callable[[], Any], repeats: int = 5) -> float:
    """Median time of a call after one that is not counted."""
    what()
    taken = []
    for _ in range(repeats):
        start = time.perf_counter()
        what()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def measure() -> list[dict[str, Any]]:
    """Figures of the loop with their targets."""
    machine = braced(small_mill())  # a machine in which forces can choose: the harder case
    parts = parts_of(machine)
    loop = assemble(machine, parts)
    loads = [pull_load(loop, pull) for pull in machine.pulls]
    virtual = [tool_rows(loop)[0], gauge_row(loop, machine.gauges[0]), tool_rows(loop)[2]]
    variants = joint_variants(machine, parts, TWELVE, loads, virtual)
    count = 200_000
    stiffness = variants.nominal * 10 ** np.random.default_rng(0).uniform(-1, 1, (count, len(TWELVE)))
    bulk = seconds(lambda: variants(stiffness)) / count
    anew = seconds(lambda: solve_all(assemble(machine, parts), machine.pulls))
    head = Travel(name="head", parts=("arm",), direction=(0.0, 0.0, 1.0), low=-0.2, high=0.05)
    heights = iter(np.linspace(-0.19, 0.04, 50))

    def new_height() -> None:
        there = moved(machine, head, float(next(heights)))
        solve_all(assemble(replace(there), parts), there.pulls)

    height = seconds(new_height, 15)
    return [
        _row("joint variants a second, 12 components", 1.0 / bulk, "1/s", 300_000, at_least=True),
        _row("joint variants over a full re-assembly", anew / bulk, "times", 1000, at_least=True),
        _row("one new head height, sections known", height, "s", 0.020, at_least=False),
    ]


def _row(name: str, value: float, unit: str, target: float, *, at_least: bool) -> dict[str, Any]:
    met = value >= target if at_least else value <= target
    return {"name": name, "value": value, "unit": unit, "target": target, "met": bool(met)}


if __name__ == "__main__":
    for row in measure():
        print(
            f"{row['name']:<45} {row['value']:>14,.4g} {row['unit']:<6} target {row['target']:,g}: {row['met']}"
        )
