"""The pour of a plan: what presses, what heats, how it is divided."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from strongback.answer import Telling
from strongback.remedies.fill.cure import from_pot_life
from strongback.remedies.fill.geometry import Block, CellShape
from strongback.remedies.fill.heat import (
    WARN_PEAK,
    Face,
    HeatHistory,
    Thermal,
    adiabatic_rise,
    cure_heat,
    mix_heat_capacity,
    sideways_loss,
)
from strongback.remedies.fill.mix import Mix
from strongback.remedies.fill.mixture import Mixture
from strongback.remedies.fill.pour import Bulge, Buried, Layers, buried, layers, pour_pressure, wall_bulge

__all__ = ["Pour", "pour_of"]

LOWEST_LAYER = 0.03  # m
CURE_WATCHED = 3 * 86400.0  # s


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pour:
    """The pour.

    Parameters
    ----------
    pressure : float
        At the foot of the highest layer [Pa].
    bulges : tuple of (str, Bulge)
        By cell.
    adiabatic : float
        [K]
    across : HeatHistory or None
        Across all filled cells and their webs, poured at once.
    layer : HeatHistory or None
        Of one layer as divided.
    layers : Layers
    buried : tuple of Buried
    """

    ONLY: ClassVar[Telling] = (
        ("pressure_Pa", "pressure"),
        ("bulges", "bulges", ("cell", "*")),
        ("adiabatic_rise_K", "adiabatic"),
        ("peak_K", "across.peak"),
        ("layers", "layers.count"),
        ("layer_height_m", "layers.height"),
        ("wait_between_layers_s", "layers.wait"),
        ("buried", "buried"),
    )

    pressure: float
    bulges: tuple[tuple[str, Bulge], ...]
    adiabatic: float
    across: HeatHistory | None
    layer: HeatHistory | None
    layers: Layers
    buried: tuple[Buried, ...]


def pour_of(
    mix: Mix, cells: Sequence[CellShape], block: Block, density: float, volume: float, mixture: Mixture | None
) -> Pour:
    """Pressure, bulge, heat and layers of a pour."""
    height = mix.high - mix.low
    across, layer, highest, wait, rise = None, None, height, 0.0, 0.0
    if mixture is not None:
        w = mixture.recipe.resin_mass_fraction
        rise = adiabatic_rise(w, mix.resin.heat)
        across, layer, highest, wait = _heat(mix, cells, block, density, w, height)
    pot_life = mix.resin.pot_life if mixture else 3600.0
    divided = layers(height, highest, volume * density * (1.0 + mix.loss), mix.mixer, pot_life, wait)
    pressure = pour_pressure(density, divided.height if divided.count > 1 else height)
    bulges = tuple(
        (c.name, wall_bulge(c.wall.width, c.wall.thickness, c.material.E, c.material.nu, pressure))
        for c in cells
        if c.wall.width > 0.0 and c.wall.thickness > 0.0
    )
    return Pour(
        pressure=pressure,
        bulges=bulges,
        adiabatic=rise,
        across=across,
        layer=layer,
        layers=divided,
        buried=buried(mix.access, mix.cells, mix.low, mix.high) if mix.access else (),
    )


def _heat(
    mix: Mix, cells: Sequence[CellShape], block: Block, density: float, w: float, height: float
) -> tuple[HeatHistory, HeatHistory, float, float]:
    """Across the widest cell at once; and the highest layer that keeps below the warning, with its wait."""
    thermal = Thermal(
        conductivity=mix.conductivity, density=density, capacity=mix_heat_capacity(w), heat=w * mix.resin.heat
    )
    kinetics = from_pot_life(mix.resin.pot_life, mix.resin.pot_life_at)
    widest = max(cells, key=lambda c: c.half_width)
    wall = widest.material.density * 900.0 * widest.wall.thickness  # 900 J/(kg K): aluminium, from memory
    air = mix.workshop.pour

    def slab(
        thickness: float, faces: tuple[Face, Face], sideways: float = 0.0, below: float = 0.0
    ) -> HeatHistory:
        return cure_heat(
            thickness,
            thermal,
            kinetics,
            faces,
            start=air,
            air=air,
            duration=CURE_WATCHED,
            sideways=sideways,
            below=below,
        )

    side = Face(film=mix.workshop.film, wall=wall)
    across = slab(2.0 * block.half_width, (side, side))
    if across.peak <= WARN_PEAK:
        return across, across, height, 0.0
    # A layer stands on one that has cooled, loses heat through its open top, and sideways as a fin does.
    faces = (Face(film=0.0), Face(film=mix.workshop.film))
    sideways = sideways_loss(
        block.perimeter, block.area, block.half_width, mix.conductivity, mix.workshop.film
    )
    low, high = LOWEST_LAYER, height
    for _ in range(8):
        middle = 0.5 * (low + high)
        cool = slab(middle, faces, sideways, below=middle).peak <= WARN_PEAK
        low, high = (middle, high) if cool else (low, middle)
    layer = slab(low, faces, sideways, below=low)
    wait = layer.cooled if math.isfinite(layer.cooled) else layer.peak_time
    return across, layer, low, wait
