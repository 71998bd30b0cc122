"""From a mix to a plan: every step of `remedies.fill` in the order of the work, each with its result."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from strongback.errors import MixError
from strongback.machine.values import Machine, Member
from strongback.materials import Material, library
from strongback.remedies.fill.cautions import Step, steps_for
from strongback.remedies.fill.expect import Expected, expected_of, expected_of_kind
from strongback.remedies.fill.filling import FillJob
from strongback.remedies.fill.gap import Gap, Knee, find_knee, gap_at_wall
from strongback.remedies.fill.geometry import CellShape, Rod, Sleeve, cell_shapes, filled_block, sleeve_ring
from strongback.remedies.fill.heat import (
    WARN_PEAK,
)
from strongback.remedies.fill.mix import Mix
from strongback.remedies.fill.mixture import Mixture, grain_warnings, mixture_of
from strongback.remedies.fill.modulus import (
    Elastic,
    levin,
    voids_from_density,
)
from strongback.remedies.fill.other_fills import FillKind, fill_kind
from strongback.remedies.fill.pouring import Pour, pour_of
from strongback.remedies.fill.thermal import PairStress, over_range, two_bars
from strongback.section.values import Outline

__all__ = ["FillPlan", "fill_job", "plan_fill"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FillPlan:
    """Everything about a fill but its effect on the machine.

    Parameters
    ----------
    mix : Mix
    kind : FillKind
    cells : tuple of CellShape
    volume : float
        [m³]
    mass : float
        Of the fill and the bars in it [kg].
    density : float
        Of the fill itself [kg/m³].
    mixture : Mixture or None
        None for a fill that is not made of grains and resin.
    expected : Expected or None
        None for a fill that does not stiffen.
    expansion : float
        Of the fill [1/K].
    gaps : tuple of (str, Gap)
        By cell, for its own wall; then for other materials of the wall.
    stress : PairStress or None
        Per kelvin of warming [Pa/K].
    stress_range : tuple of float
        Of the fill over the year, least and greatest [Pa].
    pour : Pour
    knee : Knee or None
    air_by_weight : float or None
        From the fill that was weighed [-].
    steps : tuple of Step
    warnings : tuple of str
    """

    mix: Mix
    kind: FillKind
    cells: tuple[CellShape, ...]
    volume: float
    mass: float
    density: float
    mixture: Mixture | None
    expected: Expected | None
    expansion: float
    gaps: tuple[tuple[str, Gap], ...]
    stress: PairStress | None
    stress_range: tuple[float, float]
    pour: Pour
    knee: Knee | None
    air_by_weight: float | None
    steps: tuple[Step, ...]
    warnings: tuple[str, ...]

    def __repr__(self) -> str:
        E = f", E {self.expected.E / 1e9:.1f} GPa" if self.expected else ""
        return f"FillPlan({self.kind.name} in {self.mix.member!r}: {self.volume * 1e3:.2f} L, {self.mass:.1f} kg{E})"


def plan_fill(mix: Mix, machine: Machine) -> FillPlan:
    """Plan a fill.

    Parameters
    ----------
    mix : Mix
    machine : Machine

    Returns
    -------
    FillPlan

    Raises
    ------
    MixError
        If data contradict each other or the machine.
    """
    kind = fill_kind(mix.kind)
    if kind.needs_rods and not mix.rods:
        raise MixError(
            f"{kind.name}: no bar is given", hint="write [[mix.insert]] with cell, at and diameter"
        )
    stretches = _stretches(mix, machine)
    taken: tuple[Sleeve | Rod, ...] = (*mix.sleeves, *mix.rods)
    cells = cell_shapes(stretches[0][0], mix.cells, taken)
    volume = sum(
        sum(shape.area for shape in cell_shapes(outline, mix.cells, taken)) * length
        for outline, length in stretches
    )
    made = mix.kind == "resin-bonded mineral"
    mixture = mixture_of(mix, cells, volume) if made else None
    expected = expected_of(mix, mixture) if mixture else expected_of_kind(kind)
    density = mixture.recipe.density * (1.0 - mix.air[0]) if mixture else kind.density
    rods = sum(rod.mass_per_length for rod in mix.rods) * (mix.high - mix.low)
    expansion = _expansion(mix, kind, expected)
    stress = _stress(mix, stretches[0][0], cells, expected, expansion)
    pour = pour_of(mix, cells, filled_block(stretches[0][0], mix.cells), density, volume, mixture)
    per_kelvin = stress.fill if stress else 0.0
    plan = FillPlan(
        mix=mix,
        kind=kind,
        cells=cells,
        volume=volume,
        mass=volume * density + rods,
        density=density,
        mixture=mixture,
        expected=expected,
        expansion=expansion,
        gaps=_gaps(mix, kind, cells, expansion),
        stress=stress,
        stress_range=over_range(
            per_kelvin, (mix.workshop.coldest, mix.workshop.warmest), mix.workshop.set_at
        ),
        pour=pour,
        knee=_knee(mix),
        air_by_weight=_air_by_weight(mix, mixture, volume),
        steps=steps_for(kind.cautions, resin=made),
        warnings=(),
    )
    return _with_warnings(plan)


def fill_job(plan: FillPlan) -> FillJob | None:
    """What the plan means for the machine; None for a fill that adds mass only."""
    if plan.expected is None:
        return None
    low, high = plan.kind.loss_factor
    material = Material(
        name=f"{plan.kind.name} as planned",
        E=plan.expected.E,
        nu=plan.expected.nu,
        density=plan.density,
        expansion=plan.expansion,
        loss_factor=0.5 * (low + high),
        E_range=plan.expected.interval(),
        source=plan.expected.basis,
    )
    return FillJob(
        member=plan.mix.member,
        cells=plan.mix.cells,
        low=plan.mix.low,
        high=plan.mix.high,
        material=material,
        u_ln=plan.expected.u_ln,
        bond=plan.mix.bond,
        bores=tuple((s.cell, sleeve_ring(s)) for s in plan.mix.sleeves),
        inserts=tuple((rod.cell, rod.insert()) for rod in plan.mix.rods),
        remake=plan.mix.remake,
    )


def _stretches(mix: Mix, machine: Machine) -> list[tuple[Outline, float]]:
    """Outlines along the fill and the length of each."""
    member = _member(mix, machine)
    sections = dict(machine.sections)
    found, start = [], 0.0
    for span in member.spans:
        length = min(mix.high, start + span.length) - max(mix.low, start)
        start += span.length
        if length > 1e-9:
            section = sections[span.section]
            if not isinstance(section, Outline):
                raise MixError(
                    f'section "{span.section}" is given by its stiffness: there is no cell to fill',
                    hint="give its outline",
                )
            found.append((section, length))
    if not found or mix.low < -1e-9 or mix.high > start * (1.0 + 1e-9) or mix.high <= mix.low:
        raise MixError(
            f'the fill from {mix.low * 1e3:g} to {mix.high * 1e3:g} mm is not within "{mix.member}", '
            f"which is {start * 1e3:g} mm long"
        )
    return found


def _member(mix: Mix, machine: Machine) -> Member:
    for member in machine.members:
        if member.name == mix.member:
            return member
    raise MixError(
        f'there is no member "{mix.member}" to fill',
        hint="members: " + ", ".join(m.name for m in machine.members),
    )


def _expansion(mix: Mix, kind: FillKind, expected: Expected | None) -> float:
    if expected is not None and expected.theory is not None:
        matrix = Elastic(E=mix.resin.E, nu=mix.resin.nu)
        # Air changes neither phase's expansion: the mix without it gives that of the whole.
        return levin(matrix, mix.grain, (mix.resin.expansion, mix.grain_expansion), expected.theory.lower.K)
    return kind.material.expansion if kind.material else 0.0


def _gaps(
    mix: Mix, kind: FillKind, cells: Sequence[CellShape], expansion: float
) -> tuple[tuple[str, Gap], ...]:
    if kind.material is None:
        return ()
    shrinkage = mix.resin.shrinkage if kind.name == "resin-bonded mineral" else max(0.0, kind.shrinkage[1])
    cooling = mix.workshop.set_at - 293.15
    found = [(c.name, gap_at_wall(c.half_width, shrinkage, expansion, c.material, cooling)) for c in cells]
    widest = max(cells, key=lambda c: c.half_width)
    others = [
        m for m in ("aluminium", "steel", "grey iron GJL-250") if m.split()[0] not in widest.material.name
    ]
    for name in others:
        found.append(
            (
                f"{widest.name}, were it {name}",
                gap_at_wall(widest.half_width, shrinkage, expansion, library()[name], cooling),
            )
        )
    return tuple(found)


def _stress(
    mix: Mix, outline: Outline, cells: Sequence[CellShape], expected: Expected | None, expansion: float
) -> PairStress | None:
    if expected is None:
        return None
    from_walls = _wall_area(outline)
    wall = cells[0].material
    area = sum(c.area for c in cells)
    return two_bars((wall.E, expected.E), (from_walls, area), wall.expansion - expansion)


def _wall_area(outline: Outline) -> float:
    total = 0.0
    for wall in outline.walls:
        total += _ring_area(wall.ring) - sum(_ring_area(hole) for hole in wall.holes)
    return total


def _ring_area(ring: Sequence[tuple[float, float]]) -> float:
    x, y = np.asarray(ring).T
    return 0.5 * abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1)))


def _knee(mix: Mix) -> Knee | None:
    if mix.staircase is None:
        return None
    return find_knee(
        mix.staircase.forces, mix.staircase.deflections, wall_to_gauge=mix.staircase.wall_to_gauge
    )


def _air_by_weight(mix: Mix, mixture: Mixture | None, volume: float) -> float | None:
    if mix.filled_mass <= 0.0 or mixture is None:
        return None
    return voids_from_density(mix.filled_mass / volume, mixture.recipe.density)


def _with_warnings(plan: FillPlan) -> FillPlan:
    found: list[str] = []
    mixture, expected, pour = plan.mixture, plan.expected, plan.pour
    wall = plan.cells[0].material.name
    if plan.kind.attacks(wall):
        found.append(
            "fresh cement attacks aluminium and gives off hydrogen: choose another fill, or coat the wall"
        )
    if expected is None:
        found.append(f"{plan.kind.name} adds mass and damping only: stiffness stays as it was")
    if mixture is not None:
        found += [*mixture.fit.warnings, *mixture.recipe.warnings]
        found += (
            mixture.voids.warnings
            if mixture.voids
            else ("no void test: the void fraction is the packing model's",)
        )
        found += grain_warnings(plan.mix, mixture)
    if expected is not None:
        found += expected.cure.warnings if expected.cure else ()
        found += [f'bar "{name}" holds {air:.1%} of air' for name, air in expected.air if air > 0.05]
    if pour.across is not None and pour.across.peak > WARN_PEAK:
        found.append(
            f"poured at once the middle would reach {pour.across.peak - 273.15:.0f} °C, above 60 °C: pour in "
            f"{pour.layers.count} layers"
        )
    found += [f'"{item.name}" becomes unreachable: {item.advice}' for item in pour.buried if item.blocked]
    found += [
        f'cell "{name}": a gap of {gap.gap * 1e6:.0f} µm opens at the wall where the bond does not hold; '
        "if it lets go all over, the column headed loose tells what is left"
        for name, gap in plan.gaps
        if not gap.closed and "were it" not in name
    ]
    if plan.knee is not None and plan.knee.found:
        found.append(f"the staircase shows a {plan.knee}")
    if plan.air_by_weight is not None and plan.air_by_weight > 0.05:
        found.append(
            f"the fill weighs {plan.air_by_weight:.1%} less than without air: look for hollows by tapping"
        )
    return dataclasses.replace(plan, warnings=tuple(found))
