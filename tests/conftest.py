"""What every test shares: a cache of its own, so that no test sees what another run has kept."""

from __future__ import annotations

import pytest


@pytest.fixture(autouse=True, scope="session")
def _cache_of_this_run(tmp_path_factory):
    """Dear results are kept for the run, and only for it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("STRONGBACK_CACHE", str(tmp_path_factory.mktemp("kept")))
        yield
