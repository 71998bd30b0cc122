"""Joint variants against the second statics: one form of a machine for stiffnesses that lie twelve decades apart."""

from __future__ import annotations

import pytest
from oracle import measure


@pytest.mark.slow
def test_joints_may_be_a_million_times_softer_or_stiffer_or_rigid():
    assert [v for v in measure.variants(range(15)) if v.error > 1e-8] == []
