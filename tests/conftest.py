"""What every test shares: a cache of its own, so that no test sees what another run has kept."""

from __future__ import annotations

import os

for _threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(
        _threads, "1"
    )  # as the command does, and before numpy starts: small matrices gain nothing

import pytest  # noqa: E402


@pytest.fixture(autouse=True, scope="session")
def _cache_of_this_run(tmp_path_factory):
    """Dear results are kept for the run, and only for it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("STRONGBACK_CACHE", str(tmp_path_factory.mktemp("kept")))
        yield
