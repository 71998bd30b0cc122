"""Child process that runs the C mesher once: arrays on standard input, arrays on standard output."""

from __future__ import annotations

import contextlib
import io
import math
import sys
from pathlib import Path

import numpy as np


def bound(memory: int, seconds: float) -> None:
    """Bound the address space that this process may add and its time, where the system can."""
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        pages = int(Path("/proc/self/statm").read_text().split()[0]) if sys.platform == "linux" else 1 << 19
        most = pages * resource.getpagesize() + memory
        resource.setrlimit(resource.RLIMIT_AS, (most, most))
        resource.setrlimit(resource.RLIMIT_CPU, (math.ceil(seconds), math.ceil(seconds) + 1))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def main() -> None:
    """Read, mesh, write."""
    import cytriangle

    with np.load(io.BytesIO(sys.stdin.buffer.read()), allow_pickle=False) as given:
        task = {name: given[name] for name in given.files}
    bound(int(task["memory"]), float(task["seconds"]))
    area = float(task["max_area"])
    data = {
        "vertices": task["points"].tolist(),
        "segments": task["segments"].tolist(),
        "regions": [
            {"vertex": seed, "marker": i, "max_area": area} for i, seed in enumerate(task["seeds"].tolist())
        ],
    }
    if len(task["holes"]):
        data["holes"] = task["holes"].tolist()
    triangulation = cytriangle.CyTriangle(input_dict=data)
    triangulation.triangulate("pq30AaQ")
    out = triangulation.out
    answer = io.BytesIO()
    np.savez(
        answer, nodes=np.asarray(out.vertices, dtype=float), corners=np.asarray(out.triangles, dtype=np.int64)
    )
    sys.stdout.buffer.write(answer.getvalue())


if __name__ == "__main__":
    main()
