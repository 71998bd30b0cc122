"""Machines for the tests of the machine stage."""

from __future__ import annotations

import pytest
from machines import small_mill

from strongback.machine.values import Machine


@pytest.fixture
def mill() -> Machine:
    return small_mill()
