"""The C mesher that sectionproperties uses, behind a wall: a child process with bounds on time and memory.

It crashes on repeated points, hangs on walls of nothing, and answers NaN without a word; pip installs it without its
compiled part where there is no C compiler. So: found by importing it, run only in a child, and never believed unchecked.
"""

from __future__ import annotations

import functools
import io
import os
import subprocess
import sys
import zipfile

import numpy as np
from numpy.typing import NDArray

from strongback.errors import LimitError, MeshError

__all__ = ["available", "triangulate"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
SECONDS = 20.0
MEMORY = 1 << 30  # [bytes] of address space beyond what Python has by then
MODULE = "strongback.section._triangle_child"


@functools.cache
def available() -> bool:
    """Whether the C mesher can be imported: tried in a child, so that nothing is loaded here."""
    if os.environ.get("STRONGBACK_NO_C_MESHER"):
        return False
    tried = subprocess.run(
        [sys.executable, "-c", "import cytriangle"], capture_output=True, check=False, timeout=60
    )
    return tried.returncode == 0


def triangulate(
    points: Array, segments: Index, holes: Array, seeds: Array, max_area: float, max_triangles: int
) -> tuple[Array, Index]:
    """Three-node triangles by the C mesher.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
    segments : ndarray of int, shape (s, 2)
    holes, seeds : ndarray, shape (h, 2), (r, 2)
        A point in every hollow and in every region.
    max_area : float
    max_triangles : int

    Returns
    -------
    nodes : ndarray, shape (n, 2)
    corners : ndarray of int, shape (m, 3)

    Raises
    ------
    MeshError
        If the child crashes, runs out of its bounds, or answers nonsense.
    LimitError
        If it makes too many triangles.
    """
    buffer = io.BytesIO()
    centre = points.mean(axis=0)
    reach = float(np.ptp(points, axis=0).max())
    np.savez(
        buffer,
        points=(points - centre) / reach,
        segments=segments,
        holes=(holes - centre) / reach,
        seeds=(seeds - centre) / reach,
        max_area=np.array(max_area / reach**2),
        memory=np.array(MEMORY),
        seconds=np.array(SECONDS),
    )
    try:
        done = subprocess.run(
            [sys.executable, "-m", MODULE],
            input=buffer.getvalue(),
            capture_output=True,
            check=False,
            timeout=SECONDS,
        )
    except subprocess.TimeoutExpired:
        raise MeshError(
            f"the C mesher did not end within {SECONDS:g} s", hint="look for walls of next to no thickness"
        ) from None
    if done.returncode != 0:
        raise MeshError(
            f"the C mesher failed (exit {done.returncode})", hint="look for points that nearly coincide"
        )
    try:
        with np.load(io.BytesIO(done.stdout), allow_pickle=False) as answer:
            nodes, corners = answer["nodes"] * reach + centre, answer["corners"].astype(np.int64)
    except (ValueError, KeyError, OSError, EOFError, zipfile.BadZipFile) as error:
        raise MeshError("the C mesher gave no mesh") from error
    if len(corners) == 0 or not np.all(np.isfinite(nodes)):
        raise MeshError("the C mesher gave points that are not numbers")
    if len(corners) > max_triangles:
        raise LimitError(
            f"the C mesher made {len(corners):,} triangles, at most {max_triangles:,} are allowed"
        )
    if corners.min() < 0 or corners.max() >= len(nodes):
        raise MeshError("the C mesher names points that it did not give")
    return nodes, corners
