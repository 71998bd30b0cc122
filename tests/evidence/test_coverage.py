"""A short run of `benchmarks/coverage.py`: intervals hold the truth as often as they state."""

import importlib.util
from pathlib import Path

import pytest
from scipy.stats import binom

HERE = Path(__file__).resolve().parents[2]


@pytest.mark.slow
def test_intervals_hold_the_truth_as_often_as_they_state():
    """32 campaigns: the count lies within what 95 % allows, intervals of a campaign taken as one another's kin."""
    spec = importlib.util.spec_from_file_location("coverage_run", HERE / "benchmarks" / "coverage.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    found = module.run(32, workers=1)
    assert found["intervals"] > 6 * 32
    # Intervals of one campaign share their readings: three independent ones of eight is a careful count.
    least = binom.ppf(0.001, 3 * 32, 0.95) / (3 * 32)
    assert found["coverage"] >= least
