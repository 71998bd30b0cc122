"""Child process that runs the C mesher once: arrays on standard input, arrays on standard output."""

from __future__ import annotations

import contextlib
import io
import sys

import numpy as np


def bound_memory(extra: int) -> None:
    """Bound the address space of this process, where the system can."""
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (extra + (2 << 30), extra + (2 << 30)))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def main() -> None:
    """Read, mesh, write."""
    import cytriangle

    with np.load(io.BytesIO(sys.stdin.buffer.read()), allow_pickle=False) as given:
        task = {name: given[name] for name in given.files}
    bound_memory(int(task["memory"]))
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
