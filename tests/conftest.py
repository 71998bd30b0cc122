"""What every test shares: one cache for the whole run and all its workers, so that no test sees what another run has kept.

The demo and the examples stand on bodies that take seconds each: a long run solves them once, before its first test, shared
out among the workers. ``STRONGBACK_TEST_CACHE`` names a folder to keep from run to run, for work on the tests themselves.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

for _threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(
        _threads, "1"
    )  # as the command does, and before numpy starts: small matrices gain nothing

import pytest  # noqa: E402

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
SHARED = ("demo", *(str(EXAMPLES / name) for name in ("portal-router", "tube-mill", "iron-mill")))
LONG = 1000  # tests: a run of fewer solves what it needs when it needs it
PATIENCE = 600.0  # s, for another worker


@pytest.fixture(autouse=True, scope="session")
def _cache_of_this_run(request, tmp_path_factory):
    """Dear results are kept for the run, and only for it."""
    worker = os.environ.get("PYTEST_XDIST_WORKER")
    base = tmp_path_factory.getbasetemp()
    common = base.parent if worker else base  # the workers' folders stand side by side
    folder = Path(os.environ.get("STRONGBACK_TEST_CACHE") or common / "kept")
    folder.mkdir(parents=True, exist_ok=True)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("STRONGBACK_CACHE", str(folder))
        if len(request.session.items) >= LONG:
            _solve_shared(common / "shared")
        yield


def _solve_shared(claims: Path) -> None:
    """Solve the machines that many tests stand on: each by the worker that comes first, and all before anybody goes on."""
    from strongback import project
    from strongback.machine.part.make import parts_of

    claims.mkdir(exist_ok=True)
    for number, name in enumerate(SHARED):
        try:
            (claims / f"{number}.taken").touch(exist_ok=False)
        except FileExistsError:
            continue
        try:
            parts_of(project.read(name).machine)
        finally:  # a fault is for the tests to show
            (claims / f"{number}.done").touch()
    last = time.monotonic() + PATIENCE
    while time.monotonic() < last and len(list(claims.glob("*.done"))) < len(SHARED):
        time.sleep(0.1)
