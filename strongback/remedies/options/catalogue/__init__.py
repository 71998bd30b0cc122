"""A catalogue of changes: one file an option, each a function from a machine to what can be done about it.

Costs, hours and factors are guesses of common practice, to be replaced by prices and measurements.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

from strongback.machine.values import Machine
from strongback.remedies.options.catalogue.back_stay import back_stay
from strongback.remedies.options.catalogue.base_bolts import base_bolts
from strongback.remedies.options.catalogue.bearings import bearings
from strongback.remedies.options.catalogue.bench import bench
from strongback.remedies.options.catalogue.cap_plate import cap_plate
from strongback.remedies.options.catalogue.closing_plate import closing_plate
from strongback.remedies.options.catalogue.diaphragms import diaphragm
from strongback.remedies.options.catalogue.feet import feet
from strongback.remedies.options.catalogue.fill import fill
from strongback.remedies.options.catalogue.fill_bars import fill_with_bars
from strongback.remedies.options.catalogue.fill_below import fill_below_head
from strongback.remedies.options.catalogue.fill_outer import fill_outer
from strongback.remedies.options.catalogue.gibs import gibs
from strongback.remedies.options.catalogue.grout import grout
from strongback.remedies.options.catalogue.gussets import gussets
from strongback.remedies.options.catalogue.lower_head import lower_head
from strongback.remedies.options.catalogue.remade_base import remade_base
from strongback.remedies.options.catalogue.shorter_tool import shorter_tool
from strongback.remedies.options.catalogue.side_plates import side_plates
from strongback.remedies.options.catalogue.sole_plate import sole_plate
from strongback.remedies.options.catalogue.steel_column import steel_column
from strongback.remedies.options.catalogue.strips import carbon_strips
from strongback.remedies.options.catalogue.tie_rod import tie_rod
from strongback.remedies.options.catalogue.wall_tie import wall_tie
from strongback.remedies.options.catalogue.wider_saddle import wider_saddle
from strongback.remedies.options.catalogue.without_gain import (
    ballast,
    damping_layers,
    dry_sand,
    other_speed,
    tuned_mass,
)
from strongback.remedies.options.values import Option

__all__ = ["CATALOGUE", "catalogue"]

Entry: TypeAlias = Callable[[Machine], Option | None]

CATALOGUE: tuple[Entry, ...] = (
    remade_base,
    base_bolts,
    sole_plate,
    gussets,
    back_stay,
    wall_tie,
    tie_rod,
    fill,
    fill_outer,
    fill_below_head,
    grout,
    fill_with_bars,
    cap_plate,
    diaphragm,
    closing_plate,
    side_plates,
    carbon_strips,
    steel_column,
    lower_head,
    wider_saddle,
    gibs,
    bearings,
    shorter_tool,
    feet,
    bench,
    dry_sand,
    ballast,
    tuned_mass,
    damping_layers,
    other_speed,
)
"""Every option of the package, in the order in which they are applied."""


def catalogue(machine: Machine) -> tuple[Option, ...]:
    """What can be done about a machine.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    tuple of Option
        Those that the machine has something for, in the order of `CATALOGUE`.
    """
    return tuple(option for entry in CATALOGUE if (option := entry(machine)) is not None)
