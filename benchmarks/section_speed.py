"""Speed of the section solver against sectionproperties: same mesh, same outputs, in turns; and certified runs.

Each comparison runs in a child process, so that the other library is seen as installed (no numba) and with numba, and so
that the peak memory is of one program only.
"""

from __future__ import annotations

import json
import os
import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests"))
SIZES = (1_000, 10_000, 100_000)
REPEATS = {1_000: 5, 10_000: 3, 100_000: 1}


def _row(name: str, value: float, unit: str, target: float, *, at_least: bool) -> dict[str, Any]:
    met = value >= target if at_least else value <= target
    print(f"{name}: {value:.4g} {unit}", file=sys.stderr)  # some of these take minutes
    return {"name": name, "value": value, "unit": unit, "target": target, "met": bool(met)}


def _five_cells() -> Any:
    """The five-cell extrusion of the examples, empty."""
    from strongback.project import read

    project = read(ROOT / "examples" / "portal-router")
    return dict(project.machine.sections)["five-cell beam"]


def _mesh(count: int) -> Any:
    """About that many triangles on the five-cell extrusion, or on a simpler profile where it has more."""
    import numpy as np
    from sections import two_cells

    from strongback.section.mesh import mesh
    from strongback.section.refine import refined, refined_everywhere

    made = mesh(_five_cells() if count > 5_000 else two_cells())
    while 4 * len(made.triangles) <= count:
        made = refined_everywhere(made)
    rng = np.random.default_rng(0)
    while len(made.triangles) < 0.95 * count:
        share = min(1.0, (count / len(made.triangles) - 1.0) / 3.0)
        made = refined(made, rng.random(len(made.triangles)) < 0.5 * share)
    return made


def _turns(count: int) -> dict[str, float]:
    """Median times of both on one mesh, taken in turns (child process)."""
    from reference_sections import section_on, solve

    from strongback.section.stiffness import stiffness

    made = _mesh(count)
    warm = _mesh(500)
    solve(section_on(warm))
    stiffness(warm)
    ours, theirs = [], []
    for _ in range(REPEATS[count]):
        start = time.perf_counter()
        stiffness(made)
        ours.append(time.perf_counter() - start)
        start = time.perf_counter()
        solve(section_on(made))
        theirs.append(time.perf_counter() - start)
    return {
        "triangles": len(made.triangles),
        "ours": statistics.median(ours),
        "theirs": statistics.median(theirs),
        "ratio": statistics.median(b / a for a, b in zip(ours, theirs, strict=True)),
    }


def _peak(which: str, count: int) -> dict[str, float]:
    """Peak memory above that of the mesh [MB], and what stays after the result is dropped (child process)."""
    import gc

    from reference_sections import section_on, solve

    from strongback.section.stiffness import fields

    made = _mesh(count)
    before, held = _resident(), _peak_resident()
    result: Any = fields(made) if which == "ours" else section_on(made)
    if which != "ours":
        solve(result)
    peak = max(_peak_resident(), held) - before
    del result
    gc.collect()
    return {"peak": peak, "kept": _resident() - before}


def _resident() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * resource.getpagesize() / 1e6


def _peak_resident() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3


def _certified(tolerance: float) -> float:
    """Median time of a certified run, mesh included."""
    from strongback.section.analyse import analyse

    outline = _five_cells()
    analyse(outline, tolerance=tolerance)
    taken = []
    for _ in range(5):
        start = time.perf_counter()
        result = analyse(outline, tolerance=tolerance)
        taken.append(time.perf_counter() - start)
        assert result.gap <= tolerance
    return statistics.median(taken)


def _over_floor(size: float) -> float:
    """Mesh and full stiffness over mesh and one bare factorisation, in turns."""
    import numpy as np
    import scipy.sparse.linalg

    from strongback.section import _triangle6 as t6
    from strongback.section.mesh import mesh
    from strongback.section.stiffness import stiffness

    outline = _five_cells()
    mesh(outline, size=size)
    ratios = []
    for _ in range(5):
        start = time.perf_counter()
        made = mesh(outline, size=size)
        meshed = time.perf_counter() - start
        stiffness(made)
        total = time.perf_counter() - start
        grad, areas = t6.gradients(made.nodes, made.triangles)
        matrix = t6.assemble(t6.stiffness(grad, areas, np.ones_like(areas)), made.triangles, len(made.nodes))[
            1:, 1:
        ].tocsc()
        start = time.perf_counter()
        scipy.sparse.linalg.splu(
            matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        )
        ratios.append(total / (meshed + time.perf_counter() - start))
    return statistics.median(ratios)


def _child(*task: str, numba: bool = True) -> dict[str, float]:
    """A task in a process of its own; without numba, as sectionproperties is installed."""
    # Numba looks into coverage where it finds it, and stumbles over some versions.
    code = f"import sys; sys.modules['{'coverage' if numba else 'numba'}'] = None; "
    code += f"sys.path.insert(0, {str(Path(__file__).parent)!r}); sys.path.insert(0, {str(ROOT)!r}); "
    code += (
        f"import section_speed as s, json; print('ANSWER' + json.dumps(s.{task[0]}({', '.join(task[1:])})))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, env=os.environ
    )
    for line in done.stdout.splitlines():
        if line.startswith("ANSWER"):
            answer: dict[str, float] = json.loads(line.removeprefix("ANSWER"))
            return answer
    raise RuntimeError(f"{task}: {done.stderr[-800:]}")


def _has_numba() -> bool:
    return (
        subprocess.run(
            [sys.executable, "-c", "import sys; sys.modules['coverage'] = None; import numba"],
            capture_output=True,
            check=False,
        ).returncode
        == 0
    )


def measure(sizes: tuple[int, ...] = SIZES) -> list[dict[str, Any]]:
    """Figures of the section solver with their targets."""
    found = [
        _row(
            "five-cell extrusion, GJ certified to 0.1 %, mesh included",
            _certified(1e-3),
            "s",
            0.5,
            at_least=False,
        ),
        _row(
            "five-cell extrusion, GJ certified to 0.01 %, mesh included",
            _certified(1e-4),
            "s",
            2.0,
            at_least=False,
        ),
        _row(
            "mesh and stiffness over mesh and one factorisation",
            _over_floor(1.1e-3),
            "times",
            2.0,
            at_least=False,
        ),
    ]
    for count, target in zip(SIZES, (40.0, 30.0, 30.0), strict=True):
        if count in sizes:
            ratio = _child("_turns", str(count), numba=False)["ratio"]
            name = f"{count:,} triangles: faster than sectionproperties as installed"
            found.append(_row(name, ratio, "times", target, at_least=True))
    if _has_numba():
        for count in sizes:
            ratio = _child("_turns", str(count))["ratio"]
            name = f"{count:,} triangles: faster than sectionproperties with numba"
            found.append(_row(name, ratio, "times", 10.0, at_least=True))
    if sys.platform.startswith("linux") and 100_000 in sizes:
        ours, theirs = (_child("_peak", repr(which), "100_000") for which in ("ours", "theirs"))
        share = ours["peak"] / theirs["peak"]
        found.append(_row("100,000 triangles: peak memory over theirs", share, "times", 0.25, at_least=False))
        found.append(
            _row(
                "100,000 triangles: kept after the result is dropped",
                ours["kept"],
                "MB",
                30.0,
                at_least=False,
            )
        )
    return found
