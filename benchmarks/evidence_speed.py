"""Times of calibration, planning and explanation on the demo machine, sections known beforehand.

python benchmarks/evidence_speed.py --json
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from collections.abc import Callable
from typing import Any

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from strongback import project
from strongback.evidence.calibrate import calibrate
from strongback.evidence.plan import candidates, plan
from strongback.evidence.reduce import reduce
from strongback.machine.parameters import Parameter
from strongback.machine.part.make import parts_of
from strongback.project import demo_folder

EIGHT = (
    ("joint", "base", "about x"),
    ("joint", "base", "about y"),
    ("joint", "base", "about z"),
    ("joint", "carriage", "about x"),
    ("joint", "carriage", "about z"),
    ("joint", "spindle bearings", "about x"),
    ("member", "column", "bending"),
    ("member", "column", "torsion"),
)


def best(call: Callable[[], object], repeats: int = 5) -> float:
    """Shortest of some runs [s]."""
    times = []
    for _ in range(repeats):
        started = time.perf_counter()
        call()
        times.append(time.perf_counter() - started)
    return min(times)


def measure() -> list[dict[str, Any]]:
    """Figures against their targets."""
    read = project.read(demo_folder())
    machine, parts = read.machine, parts_of(read.machine)
    data = read.extras["readings"][0]
    campaign = reduce(data.readings, data.instrument)
    # The demo's log with two readings more makes 23.
    measured = (*campaign.measured, *campaign.measured[:2])[:23]
    eight = [Parameter(kind=k, part=p, mechanism=m) for k, p, m in EIGHT]  # type: ignore[arg-type]
    four_hundred = candidates(machine)[:400]
    found = [
        (
            "calibration of 8 stiffnesses with 23 readings",
            best(lambda: calibrate(machine, parts, measured, parameters=eight)),
            1.0,
        ),
        (
            "plan of 12 readings out of 400",
            best(lambda: plan(machine, parts, 12, choices=four_hundred, parameters=eight)),
            5.0,
        ),
    ]
    return [
        {"name": name, "value": seconds, "unit": "s", "target": f"<= {limit:g}", "met": seconds <= limit}
        for name, seconds, limit in found
    ]


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="print one JSON list")
    as_json = parser.parse_args().json
    rows = measure()
    if as_json:
        print(json.dumps(rows, indent=2))
    else:
        for row in rows:
            print(f"{row['name']:50} {row['value']:.3f} {row['unit']} ({row['target']})")
    return 0 if all(row["met"] for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
