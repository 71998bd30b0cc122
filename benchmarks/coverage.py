"""How often the stated intervals hold the truth: simulated campaigns on the demo machine.

Every campaign draws hidden stiffnesses from what is assumed of them beforehand, makes readings of 23 places with scatter of
set-ups and of readings, an error of the scale, cords off their direction and rounding, reduces them, calibrates, and counts
the stiffnesses of which a number is given whose interval of 95 % holds the truth.

    python benchmarks/coverage.py --json
"""

from __future__ import annotations

import argparse
import json
import math
import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from typing import Any

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from strongback import project
from strongback.evidence.calibrate import calibrate
from strongback.evidence.cord import slant_errors
from strongback.evidence.model import LoopModel, prior_uncertainty
from strongback.evidence.readings import Instrument, Reading
from strongback.evidence.reduce import reduce
from strongback.machine.parameters import Parameter
from strongback.machine.part.make import parts_of
from strongback.machine.part.values import Parts
from strongback.machine.values import Gauge, Machine, Pull
from strongback.project import demo_folder

UM = 1e-6
SET_UP, READING, STEP, SCALE = 1.2 * UM, 0.7 * UM, 1.0 * UM, 0.005
SLANT = math.radians(1.0)  # of each pull in each plane through it
CAMPAIGNS = 500
TARGET = (0.93, 0.97)
SECONDS = 60.0
FITTED = (
    ("joint", "base", "about x"),
    ("joint", "base", "about y"),
    ("joint", "base", "about z"),
    ("joint", "carriage", "about x"),
    ("joint", "carriage", "about z"),
    ("joint", "spindle bearings", "about x"),
    ("member", "column", "bending"),
    ("member", "column", "torsion"),
)
TWIST = ("foot bar left", "foot bar right", "head bar left", "head bar right")
PLACES = {
    "sideways": ("tool x", *TWIST, "carriage x"),
    "fore-aft": ("tool y", "middle y", "top y", "arm end y"),
    "jack": ("tool z", "arm end y", "foot y", "middle y", "top y"),
    "column top sideways": ("foot x", "middle x", "top x", *TWIST[2:]),
    "column top fore-aft": ("foot y", "middle y", "top y"),
}


def demo() -> tuple[Machine, Parts, list[tuple[Pull, Gauge]], list[Parameter]]:
    """The machine, its parts, the 23 places and the 8 stiffnesses."""
    machine = project.read(demo_folder()).machine
    pulls, gauges = {p.name: p for p in machine.pulls}, {g.name: g for g in machine.gauges}
    pairs = [(pulls[p], gauges[g]) for p, names in PLACES.items() for g in names]
    parameters = [Parameter(kind=k, part=p, mechanism=m) for k, p, m in FITTED]  # type: ignore[arg-type]
    return machine, parts_of(machine), pairs, parameters


def log(pairs: list[tuple[Pull, Gauge]], exact: np.ndarray, rng: np.random.Generator) -> list[Reading]:
    """A log of three set-ups for every place."""
    scale = 1.0 + rng.normal(0.0, SCALE)
    rows = []
    for (pull, gauge), value in zip(pairs, exact, strict=True):
        for set_up in range(3):
            seen = scale * value + rng.normal(0.0, SET_UP) + rng.normal(0.0, READING)
            rows.append(
                Reading(
                    pull=pull.name,
                    gauge=gauge.name,
                    load=float(np.linalg.norm(pull.force)),
                    loaded=round(seen / STEP) * STEP,
                    set_up=str(set_up),
                )
            )
    return rows


def campaigns(task: tuple[int, int]) -> list[list[tuple[bool, bool]]]:
    """For every campaign of a batch and every stiffness: whether a number was given, whether it held."""
    first, count = task
    machine, parts, pairs, parameters = demo()
    prior = prior_uncertainty(machine, parameters)
    model = LoopModel.of(machine, parts, pairs, parameters)
    instrument = Instrument(u_load=SCALE, u_angle=SLANT)
    found = []
    for seed in range(first, first + count):
        rng = np.random.default_rng(seed)
        truth = rng.normal(0.0, prior)
        loop = model.build(dict(zip(parameters, np.exp(truth).tolist(), strict=True)))
        cords = slant_errors(loop, pairs, [SLANT] * len(pairs))
        exact = model(truth)[0] + cords @ rng.normal(0.0, 1.0, cords.shape[1])
        campaign = reduce(log(pairs, exact, rng), instrument)
        fitted = calibrate(
            machine, parts, campaign.measured, parameters=parameters, instrument=instrument, advise=False
        )
        found.append(
            [
                (p.value is not None, p.low is not None and bool(p.low <= p.start * np.exp(x) <= p.high))
                for p, x in zip(fitted.parameters, truth, strict=True)
            ]
        )
    return found


def run(count: int = CAMPAIGNS, workers: int = 2) -> dict[str, Any]:
    """Simulate campaigns and count."""
    started = time.perf_counter()
    size = max(1, count // (4 * workers))
    tasks = [(first, min(size, count - first)) for first in range(0, count, size)]
    if workers == 1:
        results = [row for task in tasks for row in campaigns(task)]
    else:
        with ProcessPoolExecutor(workers) as pool:
            results = [row for rows in pool.map(campaigns, tasks) for row in rows]
    seconds = time.perf_counter() - started
    told = np.array([[t for t, _ in row] for row in results])
    held = np.array([[h for _, h in row] for row in results])
    return {
        "campaigns": count,
        "seconds": seconds,
        "intervals": int(told.sum()),
        "coverage": float(held.sum() / told.sum()),
        "by_stiffness": {
            f"{part}, {mechanism}": {
                "given": int(told[:, i].sum()),
                "coverage": float(held[:, i].sum() / max(told[:, i].sum(), 1)),
            }
            for i, (_, part, mechanism) in enumerate(FITTED)
        },
    }


def measure() -> list[dict[str, Any]]:
    """Figures against their targets."""
    found = run()
    low, high = TARGET
    return [
        {
            "name": "95 % intervals that hold the truth, 500 campaigns",
            "value": found["coverage"],
            "unit": "1",
            "target": f"{low} to {high}",
            "met": low <= found["coverage"] <= high,
        },
        {
            "name": "500 campaigns on two cores",
            "value": found["seconds"],
            "unit": "s",
            "target": f"<= {SECONDS:.0f}",
            "met": found["seconds"] <= SECONDS,
        },
    ]


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--campaigns", type=int, default=CAMPAIGNS)
    parser.add_argument("--workers", type=int, default=2)
    arguments = parser.parse_args()
    found = run(arguments.campaigns, arguments.workers)
    if arguments.json:
        print(json.dumps(found, indent=2))
    else:
        print(
            f"{found['intervals']} intervals of {found['campaigns']} campaigns: {found['coverage']:.1%} hold the truth"
        )
        for name, row in found["by_stiffness"].items():
            print(f"  {name:32} {row['coverage']:6.1%} of {row['given']}")
        print(f"{found['seconds']:.1f} s")
    return 0 if TARGET[0] <= found["coverage"] <= TARGET[1] else 1


if __name__ == "__main__":
    sys.exit(main())
