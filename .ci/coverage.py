"""Print how much of the package the tests have run, beside the floor: lines and branches, and the files below it."""

import json
import sys
from pathlib import Path

FLOOR = {"lines": 95.0, "branches": 90.0}  # [%]


def shares(summary: dict[str, int]) -> dict[str, float]:
    """Lines and branches that were run [%]."""
    lines, branches = summary["num_statements"], summary["num_branches"]
    return {
        "lines": 100.0 * summary["covered_lines"] / lines if lines else 100.0,
        "branches": 100.0 * summary["covered_branches"] / branches if branches else 100.0,
    }


found = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
for name, about in sorted(found["files"].items()):
    mine = shares(about["summary"])
    if any(mine[what] < FLOOR[what] for what in FLOOR):
        print(f"  {name}: lines {mine['lines']:.0f} %, branches {mine['branches']:.0f} %")
total = shares(found["totals"])
for what, floor in FLOOR.items():
    print(
        f"{what}: {total[what]:.1f} % run, floor {floor:g} %{'' if total[what] >= floor else '   BELOW THE FLOOR'}"
    )
