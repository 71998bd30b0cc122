"""The statics against a second one and against itself, on random machines.

    python benchmarks/laws.py            a table
    python benchmarks/laws.py --json     [{name, value, unit, target, met}]
    python benchmarks/laws.py --quick    a few machines of each kind; ends with 1 where a law is not kept (speed is none)
    python benchmarks/laws.py --jobs 4   so many processes

The second statics (`tests/oracle/exact.py`) shares nothing with the package but its values; its arithmetic is certified. An
error is the largest difference of motions of the tool, gauges and forces of the ground, each kind as a fraction of its
largest under one pull. A law is a row whose target holds on any computer.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")
sys.path[:0] = [str(Path(__file__).parents[1] / "tests"), str(Path(__file__).parent)]

import numpy as np  # noqa: E402
import variants_speed  # noqa: E402
from oracle import measure  # noqa: E402
from oracle.changes import CHANGES  # noqa: E402

FULL = {
    "ordinary": 2000,
    "harsh": 1000,
    "changes": 100,
    "contact": 1000,
    "orientations": 20,
    "ceilings": 88,
    "variants": 300,
}
QUICK = {
    "ordinary": 60,
    "harsh": 30,
    "changes": 6,
    "contact": 40,
    "orientations": 2,
    "ceilings": 8,
    "variants": 15,
}

Row = dict[str, Any]


class Work:
    """Seeds spread over processes."""

    def __init__(self, jobs: int) -> None:
        self.pool = ProcessPoolExecutor(jobs) if jobs > 1 else None

    def __call__(self, what: Callable[[Iterable[int]], list[Any]], count: int) -> list[Any]:
        if self.pool is None:
            return what(range(count))
        chunks = [range(first, min(first + 10, count)) for first in range(0, count, 10)]
        return [v for found in self.pool.map(what, chunks) for v in found]


def row(name: str, value: float, target: float, unit: str = "-") -> Row:
    finite = float(value) if np.isfinite(value) else None  # JSON has no infinity
    return {"name": name, "value": finite, "unit": unit, "target": target, "met": bool(value <= target)}


def share(part: list[Any], whole: list[Any]) -> float:
    return len(part) / len(whole) if whole else 0.0


def against_the_second(work: Work, counts: dict[str, int]) -> list[Row]:
    """Ordinary and harsh machines."""
    found = work(measure.ordinary, counts["ordinary"])
    answered = [v.error for v in found if not v.refused]
    hard = work(measure.harsh, counts["harsh"])
    possible = [v for v in hard if v.shift <= 1e-7]
    said = [v for v in hard if not v.refused]
    sure = [v for v in said if v.stated <= 1e-6]
    harsh = f"{len(hard)} harsh machines"
    return [
        row(f"{len(found)} ordinary machines: worst error", max(answered, default=np.inf), 1e-8),
        row(f"{len(found)} ordinary machines: median error", float(np.median(answered)), 1e-12),
        row(f"{len(found)} ordinary machines: refused", len(found) - len(answered), 0, "machines"),
        row(
            f"{harsh}: worst error of those answered without a warning",
            max((v.error for v in sure), default=0.0),
            1e-6,
        ),
        row(f"{harsh}: median error", float(np.median([v.error for v in said])), 1e-12),
        row(
            f"{harsh}: worse than 1e-6 and than their warning",
            sum(v.error > max(1e-6, v.stated) for v in said),
            0,
            "machines",
        ),
        row(
            f"{harsh}: refused of those that rounding leaves 1e-7",
            share([v for v in possible if v.refused], possible),
            0.01,
        ),
        row(
            f"{harsh}: warned of those that rounding leaves 1e-7",
            share([v for v in possible if v.stated > 1e-6], possible),
            0.05,
        ),
    ]


def unchanged(work: Work, counts: dict[str, int]) -> list[Row]:
    """The same machine described otherwise."""
    rows = []
    for name in CHANGES:
        found = work(partial(measure.unchanged, name), counts["changes"])
        worst = max(np.inf if v.refused else v.error for v in found)
        rows.append(row(f"{len(found)} machines {name}: largest change", worst, 1e-9))
    return rows


def parts_that_open(work: Work, counts: dict[str, int]) -> list[Row]:
    """Against all states, and turned."""
    found = work(measure.settled, counts["contact"])
    wrong = [s for s in found if s.said != s.true]
    turned = work(measure.orientations, counts["orientations"])
    return [
        row(
            f"{len(found)} machines with parts that open: other than all states say",
            len(wrong),
            0,
            "machines",
        ),
        row(f"{len(found)} machines with parts that open: worst error", max(s.error for s in found), 1e-8),
        row(
            f"{len(turned)} of them in 60 orientations: not one verdict",
            sum(v.refused for v in turned),
            0,
            "machines",
        ),
        row(
            f"{len(turned)} of them in 60 orientations: largest change",
            max((v.error for v in turned if not v.refused), default=np.inf),
            1e-9,
        ),
    ]


def ceilings(work: Work, counts: dict[str, int]) -> list[Row]:
    """What is left when a part is rigid, and joints changed by a great deal."""
    found = work(measure.rigid_parts, counts["ceilings"])
    varied = work(measure.variants, counts["variants"])
    return [
        row(
            "springs side by side, 1e9 and 1e4 to 1e9 N/m: left when one is rigid",
            measure.side_by_side(),
            1e-12,
        ),
        row(f"all parts of {len(found)} machines: error of what is left", max(v.error for v in found), 1e-8),
        row(
            f"joint variants of {len(varied)} machines over 12 decades: worst error",
            max(v.error for v in varied),
            1e-8,
        ),
    ]


def rows(counts: dict[str, int], jobs: int, speed: bool) -> list[Row]:
    """All of them."""
    work = Work(jobs)
    found: list[Row] = []
    for part in (against_the_second, unchanged, parts_that_open, ceilings):
        found += part(work, counts)
        print(f"{part.__name__} done", file=sys.stderr)
    return found + (variants_speed.measure() if speed else [])


def main() -> int:
    """Measure and print."""
    quick = "--quick" in sys.argv
    jobs = int(sys.argv[sys.argv.index("--jobs") + 1]) if "--jobs" in sys.argv else 1
    found = rows(QUICK if quick else FULL, jobs, speed=not quick)
    if "--json" in sys.argv:
        print(json.dumps(found, indent=1))
    else:
        for r in found:
            value = "none" if r["value"] is None else f"{r['value']:.3g}"
            mark = "met" if r["met"] else "MISSED"
            print(f"{r['name']:<78} {value:>10} {r['unit']:<8} target {r['target']:>8g}  {mark}")
    return int(quick and not all(r["met"] for r in found))


if __name__ == "__main__":
    sys.exit(main())
