"""A short run of `benchmarks/coverage.py`: intervals hold the truth, and what is wrong is seen."""

import importlib.util
import sys
from pathlib import Path

import pytest
from scipy.stats import binom

HERE = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def benchmark_run():
    spec = importlib.util.spec_from_file_location("coverage_run", HERE / "benchmarks" / "coverage.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules["coverage_run"] = module
    spec.loader.exec_module(module)
    module.WALLS = False  # a minute of solving bodies, which the benchmark itself takes
    return module


@pytest.mark.slow
def test_intervals_hold_the_truth_as_often_as_they_state(benchmark_run):
    """40 campaigns: the count lies within what 95 % allows, intervals of a campaign taken as one another's kin."""
    found = benchmark_run.Sums(seen=benchmark_run.batch((benchmark_run.RIGHT, 0, 40)))
    assert found.count("printed") > 4 * 40
    # Intervals of one campaign share their readings: three independent ones of six is a careful count.
    assert found.holds >= binom.ppf(0.001, 3 * 40, 0.95) / (3 * 40)
    assert found.share("marked") <= binom.ppf(0.999, 40, 0.04) / 40


@pytest.mark.slow
@pytest.mark.parametrize("name", ["sign of a gauge", "all stands on the bench", "spindle joint missing"])
def test_what_is_wrong_is_marked(benchmark_run, name):
    """20 campaigns each, the truth of another machine than the one that is asked."""
    case = next(c for c in benchmark_run.TABLE if c.name == name)
    found = benchmark_run.Sums(seen=benchmark_run.batch((case, 0, 20)))
    assert found.share("marked") >= 0.75
    assert found.unseen_wrong <= 0.07
    assert found.of_shown("first") >= 0.7
