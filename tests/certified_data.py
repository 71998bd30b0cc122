"""Readers of the certified data sets in `evidence/data` (NIST StRD, public domain)."""

from __future__ import annotations

import re
from pathlib import Path

DATA = Path(__file__).parent / "evidence" / "data"


def read_anova(name):
    """Certified values (between, mean square, F, within, mean square, R squared, residual) and the groups."""
    lines = (DATA / f"{name}.dat").read_text().splitlines()
    certified = [float(v) for line in lines[40:50] for v in re.findall(r"[-+]?\d\.\d+E[-+]\d+", line)]
    groups: dict[str, list[float]] = {}
    for group, value in (line.split() for line in lines[60:] if line.strip()):
        groups.setdefault(group, []).append(float(value))
    return certified, list(groups.values())
