"""How the deflections of a body settle with the section mesh and with the height elements.

    python benchmarks/convergence.py            a table
    python benchmarks/convergence.py --json     [{case, rounds, finest_m, growth, unknowns, seconds, change}]

The column of `body_speed`, empty and filled, under the six unit forces and couples of its pad (1000 N/mm³). First the
section mesh is refined at its inner corners with heights fixed, then the heights with the mesh fixed, then both together.
Each figure is the deflection against that of the finest of all [%]: a mesh that is too coarse is too stiff.
"""

from __future__ import annotations

import json
import os
import sys
import time
from typing import Any

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

import numpy as np  # noqa: E402
from body_speed import HEAD, LENGTH, MOTIONS, deflections, outline  # noqa: E402

from strongback.machine.body import body_stiffness, span_meshes  # noqa: E402

ROUNDS = (0, 1, 2, 3)
HEIGHTS = ((0.016, 1.0), (0.008, 0.7), (0.005, 0.5), (0.003, 0.4))  # smallest element [m] and growth
FINE = 2  # the one kept while the other is refined
STEPS = [
    *(("section", r, FINE) for r in range(len(ROUNDS))),
    *(("height", FINE, h) for h in range(len(HEIGHTS))),
    *(("both", k, k) for k in range(len(ROUNDS))),
]


def solved(case: str, rounds: int, heights: int) -> tuple[np.ndarray, int, float]:
    """Deflections of the pad, unknowns and time of one mesh."""
    started = time.perf_counter()
    finest, growth = HEIGHTS[heights]
    (section,) = span_meshes([outline(case)], rounds=ROUNDS[rounds])
    body = body_stiffness(
        [(section, LENGTH)], pads=[HEAD], finest=finest, growth=growth, tolerance=1e-4, memory_cap=2**34
    )
    return np.array(deflections(body)), body.unknowns, time.perf_counter() - started


def measure(case: str) -> list[dict[str, Any]]:
    """Every step of a case; each mesh is solved once."""
    known = {pair: solved(case, *pair) for pair in {(r, h) for _, r, h in STEPS}}
    best = known[len(ROUNDS) - 1, len(HEIGHTS) - 1][0]
    return [
        {
            "case": case,
            "refined": what,
            "rounds": ROUNDS[r],
            "finest_m": HEIGHTS[h][0],
            "growth": HEIGHTS[h][1],
            "unknowns": known[r, h][1],
            "seconds": known[r, h][2],
            "change": (known[r, h][0] / best - 1.0).tolist(),
        }
        for what, r, h in STEPS
    ]


def main() -> None:
    """Print the table or the JSON."""
    rows = [row for case in ("empty", "filled") for row in measure(case)]
    if "--json" in sys.argv:
        print(json.dumps(rows, indent=1))
        return
    print(f"{'':>7} {'':>8} {'rounds':>6} {'finest':>6} {'':>9} {'':>6}  against the finest of all, %")
    print(
        f"{'column':>7} {'refined':>8} {'':>6} {'mm':>6} {'unknowns':>9} {'s':>6}  "
        + " ".join(f"{m:>8}" for m in MOTIONS)
    )
    for row in rows:
        print(
            f"{row['case']:>7} {row['refined']:>8} {row['rounds']:>6} {row['finest_m'] * 1e3:>6.0f} "
            f"{row['unknowns']:>9,} {row['seconds']:>6.2f}  "
            + " ".join(f"{1e2 * c:>+8.2f}" for c in row["change"])
        )


if __name__ == "__main__":
    main()
