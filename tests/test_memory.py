"""Too little memory is said, in good time, with the exit code of the page of codes; repeated work keeps none."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from machines import FIXED, cantilever, isotropic

from strongback import memory
from strongback.errors import EnvironmentFault
from strongback.machine.budget import budget
from strongback.machine.loop import assemble
from strongback.machine.part.make import parts_of
from strongback.machine.solve import solve
from strongback.machine.values import Pull

pytestmark = pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="limits and /proc as Linux has them"
)
MIB = 2**20


def under(limit, *words):
    """A command in an address space of so many MiB."""
    code = (
        f"import resource; resource.setrlimit(resource.RLIMIT_AS, ({limit * MIB},) * 2);"
        f"import sys; sys.argv = ['strongback', *{words!r}];"
        "from strongback.cli import run; sys.exit(run())"
    )
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=100)


@pytest.mark.parametrize("limit", [220, 360])
def test_too_small_an_address_space_is_said(limit, tmp_path, monkeypatch):
    monkeypatch.setenv("STRONGBACK_CACHE", str(tmp_path))
    done = under(limit, "section", "demo", "--no-figures")
    assert done.returncode == 5, done.stderr
    assert "memory" in done.stderr
    assert "Traceback" not in done.stderr


def test_enough_is_enough(tmp_path, monkeypatch):
    monkeypatch.setenv("STRONGBACK_CACHE", str(tmp_path))
    done = under(1500, "section", "demo", "--no-figures")
    assert done.returncode == 0, done.stderr


def test_what_is_free_falls_with_what_is_taken():
    before = memory.free()
    assert before is not None
    with pytest.raises(EnvironmentFault, match="needs about"):
        memory.require(before + MIB, "a test")
    memory.require(MIB, "a test")


def test_five_hundred_solutions_keep_no_memory():
    """Resident size after 500 more solutions, budgets included: below a MiB more, which the allocator may take."""

    def resident():
        with open("/proc/self/statm", encoding="ascii") as text:
            return int(text.read().split()[1]) * 4096

    bar = isotropic(210e9, 80e9, 1e-3, 1e-6, 2e-6, 1e-6)
    machine = cantilever(bar, 0.5)
    assert machine.supports[0].stiffness == FIXED
    pull = Pull(name="side", part="column", at=(0.0, 0.0, 0.5), force=(100.0, 0.0, 0.0))

    def once():
        loop = assemble(machine, parts_of(machine))
        return solve(loop, pull).tool_displacement, budget(loop, pull).total

    first = once()
    for _ in range(50):
        once()
    before = resident()
    for _ in range(500):
        last = once()
    assert resident() - before < MIB
    np.testing.assert_array_equal(first[0], last[0])
