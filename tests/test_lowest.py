"""The lowest versions that pyproject.toml states can be installed as they stand."""

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_every_requirement_has_one_lowest_version():
    said = subprocess.run(
        [sys.executable, ROOT / ".ci" / "lowest.py"], capture_output=True, text=True, check=True
    ).stdout.split()
    pinned = [line for line in said if "==" in line]
    assert len(said) - len(pinned) == 1  # the one that holds back a newer release
    assert all(re.fullmatch(r"[a-z0-9-]+==\d+(\.\d+)*", line) for line in pinned)
    names = {line.split("==")[0] for line in pinned}
    assert {"numpy", "scipy", "shapely", "click", "pydantic", "pytest", "hypothesis"} <= names
