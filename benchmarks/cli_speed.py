"""Speed and memory of whole commands, each in a process of its own: ``python benchmarks/cli_speed.py [--json]``."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from typing import Any

REPEATS = 3


def run(words: list[str], cache: str) -> tuple[float, float]:
    """Seconds and peak megabytes of one command."""
    environment = {**os.environ, "STRONGBACK_CACHE": cache}
    started = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "strongback", *words],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=environment,
    )
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise RuntimeError(f"strongback {' '.join(words)} ended with {process.returncode}")
    scale = 1e6 if sys.platform == "darwin" else 1e3  # bytes there, kilobytes elsewhere
    return time.perf_counter() - started, usage.ru_maxrss / scale


def best(words: list[str], cache: str | None = None) -> tuple[float, float]:
    """Shortest time and largest memory of some runs; without a cache every run solves anew."""
    found = []
    for _ in range(REPEATS):
        with tempfile.TemporaryDirectory() as fresh:
            found.append(run(words, cache or fresh))
    return min(t for t, _ in found), max(m for _, m in found)


def row(name: str, value: float, unit: str, target: float) -> dict[str, Any]:
    """A figure beside its target."""
    return {"name": name, "value": round(value, 3), "unit": unit, "target": target, "met": value <= target}


def measure() -> list[dict[str, Any]]:
    """Figures of the commands with their targets."""
    with tempfile.TemporaryDirectory() as kept:
        deflect = ["deflect", "demo", "--json"]
        run(deflect, kept)  # fills the cache, and the compiled modules of Python
        help_seconds, _ = best(["--help"], kept)
        check_seconds, _ = best(["check", "demo"], kept)
        cached_seconds, _ = best(deflect, kept)
        cold_seconds, memory = best(deflect)
    return [
        row("strongback --help", help_seconds, "s", 0.15),
        row("check demo", check_seconds, "s", 0.5),
        row("deflect demo, sections solved", cold_seconds, "s", 3.0),
        row("deflect demo, sections from the cache", cached_seconds, "s", 1.0),
        row("deflect demo, peak memory", memory, "MB", 400.0),
    ]


def main() -> None:
    """Print the figures."""
    rows = measure()
    if "--json" in sys.argv:
        print(json.dumps(rows, indent=2))
        return
    for found in rows:
        state = "met" if found["met"] else "not met"
        print(
            f"{found['name']:<40} {found['value']:>9} {found['unit']:<3} target {found['target']:<6} {state}"
        )


if __name__ == "__main__":
    main()
