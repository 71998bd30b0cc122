"""Speed of single calls of the statics, in yardsticks: a fixed piece of work of the same kind, taken in turns.

    python benchmarks/statics_speed.py                  a table
    python benchmarks/statics_speed.py --beside FOLDER  the same calls of another checkout, in turns: how many times as long

The targets are what revision f8d423a (one stiffness matrix of the whole machine) took in the same yardsticks, measured with
this file, and a tenth for the spread from run to run.
"""

from __future__ import annotations

import importlib
import os
import statistics
import subprocess
import sys
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

import numpy as np  # noqa: E402

HERE = Path(__file__).resolve()
BEFORE = {
    "assemble": 2.4,
    "assemble again, other stiffnesses": 1.2,
    "solve all pulls": 0.91,
    "budget": 0.38,
    "ceilings": 30.0,
    "prepare joint variants": 3.1,
}
SPREAD = 1.1
TURNS = 7


def yardstick() -> None:
    """Small arrays and plain Python, as an assembly is made of."""
    total = np.zeros((60, 60))
    for k in range(150):
        block = np.eye(6)
        block[:3, 3:] = np.outer((0.1, 0.2, 0.3), (1.0, k, 2.0))
        first = 6 * (k % 9)
        total[first : first + 6, first : first + 6] += block.T @ block
    np.linalg.solve(total + np.eye(60), np.ones((60, 4)))


def calls(root: Path) -> dict[str, Callable[[], Any]]:
    """By name: what is timed, of a machine with braces."""
    sys.path[:0] = [str(root), str(root / "tests")]
    warnings.simplefilter("ignore")
    machines = importlib.import_module("machines")
    loop_, solve_, budget_, ceiling_, variants_, parameters = (
        importlib.import_module(f"strongback.machine.{name}")
        for name in ("loop", "solve", "budget", "ceiling", "variants", "parameters")
    )
    machine = machines.braced(machines.small_mill())
    try:
        parts = importlib.import_module("strongback.machine.part.make").parts_of(machine)
    except ImportError:
        parts = dict(machine.sections)
    loop = loop_.assemble(machine, parts)
    twelve = [
        parameters.Parameter(kind="joint", part=joint, mechanism=name)
        for joint in ("base joint", "head joint")
        for name in ("along x", "along z", "about x", "about y", "about z")
    ] + [
        parameters.Parameter(kind="support", part="rear foot", mechanism=name)
        for name in ("along x", "along z")
    ]
    load, row = solve_.pull_load(loop, machine.pulls[0]), solve_.tool_rows(loop)[0]
    return {
        "assemble": lambda: loop_.assemble(machine, parts),
        "assemble again, other stiffnesses": lambda: loop_.assemble(machine, parts, like=loop),
        "solve all pulls": lambda: solve_.solve_all(loop, machine.pulls),
        "budget": lambda: budget_.budget(loop, machine.pulls[0]),
        "ceilings": lambda: ceiling_.ceilings(machine, parts, machine.pulls[0]),
        "prepare joint variants": lambda: variants_.joint_variants(machine, parts, twelve, [load], [row]),
    }


def _best(call: Callable[[], Any], repeats: int) -> float:
    taken = []
    for _ in range(repeats):
        start = time.process_time()
        call()
        taken.append(time.process_time() - start)
    return min(taken)


def _in_yardsticks(call: Callable[[], Any]) -> float:
    call()
    return statistics.median(_best(call, 5) / _best(yardstick, 5) for _ in range(TURNS))


def measure() -> list[dict[str, Any]]:
    """Rows with their targets."""
    rows = []
    for name, call in calls(HERE.parents[1]).items():
        value, target = _in_yardsticks(call), SPREAD * BEFORE[name]
        rows.append(
            {
                "name": f"{name}: yardsticks, f8d423a {BEFORE[name]:g}",
                "value": value,
                "unit": "-",
                "target": target,
                "met": bool(value <= target),
            }
        )
    return rows


def _serve(root: Path) -> None:
    """Time calls as they are asked for on standard input."""
    mine = calls(root)
    print("ready", flush=True)
    for line in sys.stdin:
        name = line.strip()
        print(_best(mine[name], 5), flush=True)


def beside(other: Path) -> None:
    """Print how many times as long a call takes here as in another checkout, in turns."""
    both = [
        subprocess.Popen(
            [sys.executable, str(HERE), "--serve", str(root)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for root in (other, HERE.parents[1])
    ]

    def ask(process: subprocess.Popen[str], name: str) -> float:
        assert process.stdin is not None
        assert process.stdout is not None
        print(name, file=process.stdin, flush=True)
        return float(process.stdout.readline())

    for process in both:
        assert process.stdout is not None
        process.stdout.readline()
    for name in BEFORE:
        pairs = [(ask(both[0], name), ask(both[1], name)) for _ in range(TURNS)]
        ratio = statistics.median(here / there for there, here in pairs)
        print(f"{name:<36} {1e3 * min(p[0] for p in pairs):7.2f} ms there, {ratio:5.2f} times as long here")
    for process in both:
        process.kill()


def main() -> None:
    """Measure and print."""
    if "--serve" in sys.argv:
        _serve(Path(sys.argv[-1]).resolve())
    elif "--beside" in sys.argv:
        beside(Path(sys.argv[-1]).resolve())
    else:
        for row in measure():
            print(f"{row['name']:<62} {row['value']:7.2f} target {row['target']:.2f}: {row['met']}")


if __name__ == "__main__":
    main()
