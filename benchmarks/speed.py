"""Every speed figure of the project: runs the modules `*_speed.py` beside it and gathers their rows.

    python benchmarks/speed.py            a table
    python benchmarks/speed.py --json     [{name, value, unit, target, met}]
    python benchmarks/speed.py section    only the modules whose name begins so

Ratios are taken in one run, one thread a program, the two sides in turns. Nothing here is a test: computers differ.
"""

from __future__ import annotations

import importlib.util
import json
import os
import sys
from pathlib import Path
from typing import Any

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

HERE = Path(__file__).parent


def rows(only: list[str]) -> list[dict[str, Any]]:
    """Rows of all modules, or of those named."""
    found: list[dict[str, Any]] = []
    for path in sorted(HERE.glob("*_speed.py")):
        if only and not any(path.stem.startswith(name) for name in only):
            continue
        spec = importlib.util.spec_from_file_location(path.stem, path)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[path.stem] = module
        spec.loader.exec_module(module)
        found += module.measure()
    return found


def main() -> None:
    """Measure and print."""
    only = [a for a in sys.argv[1:] if not a.startswith("-")]
    found = rows(only)
    if "--json" in sys.argv:
        print(json.dumps(found, indent=1))
        return
    for row in found:
        mark = "met" if row["met"] else "MISSED"
        print(
            f"{row['name']:<66} {row['value']:>10.4g} {row['unit']:<6} target {row['target']!s:>12}  {mark}"
        )


if __name__ == "__main__":
    main()
