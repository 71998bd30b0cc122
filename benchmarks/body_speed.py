"""Speed and memory of a column as a body: a two-cell extrusion 110 x 90 x 480 mm with web, slots and a boss.

And the map of a work space of 15 positions over two travels with a body, against one position (examples/tube-mill).

The profile is invented. Every case runs in a process of its own, so that its peak memory is its own; the time counts
meshing and condensing, not imports. ``python benchmarks/body_speed.py`` prints the table.
"""

from __future__ import annotations

import json
import math
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from strongback import cache
from strongback.machine.body import BodySpec, BodyStiffness, PadSpec, body_stiffness, span_meshes
from strongback.machine.body.grids import on_two_grids
from strongback.machine.compliance import tool_compliance
from strongback.machine.loop import assemble
from strongback.machine.part.make import parts_of
from strongback.machine.part.values import Parts
from strongback.machine.sections import section_stiffness
from strongback.machine.workspace import compliance_map
from strongback.materials import Material
from strongback.project import read
from strongback.section.outline import filled, from_rings
from strongback.section.values import Fill, Outline

ALUMINIUM = Material(name="aluminium", E=70e9, nu=0.3, density=2700.0, source="EN 1999-1-1, 3.2.5")
MINERAL = Material(name="mineral", E=30e9, nu=0.2, density=2300.0, source="invented")
LENGTH = 0.48
HEAD = PadSpec(name="head", centre=(0.0, 0.045, 0.42), normal=(0.0, 1.0), size=(0.06, 0.04), stiffness=1e12)
MOTIONS = ("along x", "along y", "along s", "about x", "about y", "about s")


def profile() -> Outline:
    """Walls of 4 to 4.5 mm, two T-slots in the back, a boss with a bore on the web."""

    def slot(x: float) -> list[tuple[float, float]]:
        return [
            (x - 4, -45),
            (x - 4, -41),
            (x - 9, -41),
            (x - 9, -35),
            (x + 9, -35),
            (x + 9, -41),
            (x + 4, -41),
            (x + 4, -45),
        ]

    outer = [(-55, -45), *slot(-27), *slot(27), (55, -45), (55, 45), (-55, 45)]
    right = [
        (2.5, -41),
        (13, -41),
        (13, -31),
        (41, -31),
        (41, -41),
        (51, -41),
        (51, 40.5),
        (8, 40.5),
        (8, 30),
        (2.5, 24),
    ]
    left = [(-x, y) for x, y in reversed(right)]
    turns = [2.0 * math.pi * k / 12.0 for k in range(12)]
    bore = [(3.5 * math.cos(a), 34.0 + 3.5 * math.sin(a)) for a in turns]

    def metres(ring: list[tuple[float, float]]) -> list[tuple[float, float]]:
        return [(x * 1e-3, y * 1e-3) for x, y in ring]

    cells = {"left": metres(left), "right": metres(right), "bore": metres(bore)}
    return from_rings("two-cell extrusion", ALUMINIUM, metres(outer), cells)


def outline(case: str) -> Outline:
    """The profile, empty or with both cells filled."""
    fill = Fill(material=MINERAL)
    return filled(profile(), {"left": fill, "right": fill}) if case == "filled" else profile()


def solve(case: str) -> BodyStiffness:
    """As the program does it, on both grids."""
    return on_two_grids(BodySpec(outlines=(outline(case),), lengths=(LENGTH,), pads=(HEAD,)))


def converged(case: str) -> BodyStiffness:
    """Finer in the section, in the height and in the shapes, until nothing moves."""
    (section,) = span_meshes([outline(case)], rounds=3)
    return body_stiffness(
        [(section, LENGTH)], pads=[HEAD], finest=0.003, growth=0.4, tolerance=1e-4, memory_cap=2**34
    )


def deflections(body: BodyStiffness) -> list[float]:
    """Of the pad under its own unit forces and couples."""
    at = body.columns("head")
    return [float(v) for v in np.diag(np.linalg.inv(body.stiffness[at, at]))]


def _cached(case: str) -> dict[str, Any]:
    with tempfile.TemporaryDirectory() as place:
        os.environ["STRONGBACK_CACHE"] = place
        cache.save(cache.key("body", case), solve(case).to_arrays())
        started = time.perf_counter()
        body = cache.load(cache.key("body", case), BodyStiffness.from_arrays)
        if body is None:
            raise RuntimeError("the cache kept nothing")
        return {"seconds": time.perf_counter() - started, "deflections": deflections(body)}


def _mapped(_case: str) -> dict[str, Any]:
    """One position and the map, in turns; the sections are known, no body is."""
    os.environ["STRONGBACK_CACHE"] = "off"
    machine = read(Path(__file__).parents[1] / "examples" / "tube-mill").machine
    sections = Parts(sections=section_stiffness(machine))

    def one() -> None:
        tool_compliance(assemble(machine, parts_of(machine)))

    def every() -> None:
        compliance_map(machine, sections, machine.travels, (5, 3))

    ratios = []
    for _ in range(3):
        taken = []
        for work in (one, every):
            started = time.perf_counter()
            work()
            taken.append(time.perf_counter() - started)
        ratios.append(taken[1] / taken[0])
    return {"ratio": sorted(ratios)[1]}


def _timed(work: Callable[[str], BodyStiffness], case: str) -> dict[str, Any]:
    started = time.perf_counter()
    body = work(case)
    return {
        "seconds": time.perf_counter() - started,
        "unknowns": body.unknowns,
        "shapes": body.rank,
        "deflections": deflections(body),
    }


def _child(what: str, case: str) -> dict[str, Any]:
    done = subprocess.run([sys.executable, __file__, what, case], check=True, capture_output=True, text=True)
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def _row(name: str, value: float, unit: str, target: float) -> dict[str, Any]:
    return {"name": name, "value": value, "unit": unit, "target": target, "met": value <= target}


def measure() -> list[dict[str, Any]]:
    """Rows of the speed table, each with name, value, unit, target and whether it is met."""
    rows = []
    for case, seconds, gigabytes in (("empty", 4.0, 1.5), ("filled", 20.0, 2.0)):
        found, best, kept = (_child(what, case) for what in ("solve", "converged", "cached"))
        off = 1e2 * np.abs(np.array(found["deflections"]) / np.array(best["deflections"]) - 1.0)
        name = f"body, {case}, {found['unknowns']:,} unknowns in {found['shapes']} shapes"
        rows += [
            _row(f"{name}: time", found["seconds"], "s", seconds),
            _row(f"{name}: peak memory", found["peak"] / 1e9, "GB", gigabytes),
            _row(
                f"{name}: largest error of a deflection ({MOTIONS[int(off.argmax())]})",
                float(off.max()),
                "%",
                2.0,
            ),
            _row(f"body, {case}: from the cache", kept["seconds"], "s", 0.2),
        ]
    ratio = _child("mapped", "")["ratio"]
    rows.append(_row("map of 15 positions over two travels with a body: over one", ratio, "times", 3.0))
    return rows


def main() -> None:
    """Run one case for the parent, or print the table."""
    if len(sys.argv) == 3:
        what, case = sys.argv[1:]
        own = {"cached": _cached, "mapped": _mapped}
        found = (
            own[what](case) if what in own else _timed({"solve": solve, "converged": converged}[what], case)
        )
        scale = 1 if sys.platform == "darwin" else 1024
        found["peak"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * scale
        print(json.dumps(found))
        return
    for row in measure():
        verdict = "met" if row["met"] else "not met"
        print(f"{row['name']:<78} {row['value']:8.3g} {row['unit']:<3} (target {row['target']:g}, {verdict})")


if __name__ == "__main__":
    main()
