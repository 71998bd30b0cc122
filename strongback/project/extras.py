"""Kinds of table that later stages add to the project file; see `strongback.project.tables` for how."""

from __future__ import annotations

from strongback.project.case_tables import CASE, COMBINATION
from strongback.project.mix import MIX
from strongback.project.option_tables import OPTION
from strongback.project.readings import READINGS
from strongback.project.tables import Extra

__all__ = ["EXTRAS"]

EXTRAS: tuple[Extra, ...] = (MIX, OPTION, READINGS, CASE, COMBINATION)
