"""The ``[mix]`` table: a fill as its maker describes it, from the bag of sand to the goal at the tool."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from strongback.errors import MaterialError, MixError
from strongback.machine.values import Machine
from strongback.materials import material
from strongback.project.document import Path
from strongback.project.mix_tables import (
    BagTable,
    BarTable,
    MixTable,
    ResinTable,
    RodTable,
    VoidTestTable,
)
from strongback.project.source import nearest
from strongback.project.tables import Extra, Reader, Row
from strongback.remedies.fill.bag import Bag
from strongback.remedies.fill.bar import Bar
from strongback.remedies.fill.elastic import Elastic
from strongback.remedies.fill.geometry import Rod, Sleeve
from strongback.remedies.fill.mix import BarTest, Mix, Staircase, Target, Workshop
from strongback.remedies.fill.other_fills import fill_kind
from strongback.remedies.fill.pour import Access
from strongback.remedies.fill.recipe import Resin, check_ratio
from strongback.remedies.fill.stage import Stage
from strongback.remedies.fill.voids import VoidTest, void_fraction
from strongback.section.values import Outline

__all__ = ["MIX"]

T = TypeVar("T")


def _made(reader: Reader, path: Path, make: Callable[[], T]) -> T | None:
    """A value, or None after its fault has been reported at a table."""
    try:
        return make()
    except (MixError, MaterialError) as error:
        reader.fault(path, error.message, error.hint)
        return None


def build(reader: Reader, rows: Sequence[Row[MixTable]], machine: Machine) -> Mix | None:
    """Build the mix of a project; faults go to the reader.

    Parameters
    ----------
    reader : Reader
    rows : sequence of Row
        None or one.
    machine : Machine

    Returns
    -------
    Mix or None
        None where the file has no such table, or a fault in it.
    """
    if not rows:
        return None
    row = rows[0]
    before = len(reader.faults)
    length = _places(reader, row, machine)
    bags = [_made(reader, (*row.path, "bag", i), lambda t=t: _bag(t)) for i, t in enumerate(row.table.bag)]  # type: ignore[misc]
    tests = [_made(reader, (*row.path, "bar", i), lambda t=t: _bar(t)) for i, t in enumerate(row.table.bar)]  # type: ignore[misc]
    _contradictions(reader, row)
    if len(reader.faults) > before:
        return None
    return _mix(row.table, length, [b for b in bags if b], [t for t in tests if t])


def _places(reader: Reader, row: Row[MixTable], machine: Machine) -> float:
    """Check the names of the table against the machine; length of the member [m]."""
    table = row.table
    members = {m.name: m for m in machine.members}
    if table.member not in members:
        reader.fault(
            (*row.path, "member"), "must be a member", nearest(table.member, list(members), "there are")
        )
        return 0.0
    spans = members[table.member].spans
    sections = dict(machine.sections)
    cells = [c.name for s in spans for o in [sections[s.section]] if isinstance(o, Outline) for c in o.cells]
    for i, name in enumerate(table.cells):
        if name not in cells:
            reader.fault(
                (*row.path, "cells", i), "must be a cell of the member", nearest(name, cells, "there are")
            )
    reaching = [("sleeve", i, s.cell) for i, s in enumerate(table.sleeve)]
    reaching += [("insert", i, r.cell) for i, r in enumerate(table.insert)]
    reaching += [("access", i, a.cell) for i, a in enumerate(table.access)]
    for key, i, name in reaching:
        if name not in cells:
            reader.fault((*row.path, key, i, "cell"), "must be a cell", nearest(name, cells, "there are"))
    pulls = [p.name for p in machine.pulls]
    for i, goal in enumerate(table.goal):
        if goal.pull is not None and goal.pull not in pulls:
            reader.fault(
                (*row.path, "goal", i, "pull"), "must be a pull", nearest(goal.pull, pulls, "there are")
            )
    length = sum(span.length for span in spans)
    top = length if table.high is None else table.high
    if not 0.0 <= table.low < top <= length * (1.0 + 1e-9):
        reader.fault(
            (*row.path, "to" if table.high is not None else "from"),
            f'the fill from {table.low * 1e3:g} to {top * 1e3:g} mm is not within "{table.member}"',
            f"the member is {length * 1e3:g} mm long",
        )
    return length


def _contradictions(reader: Reader, row: Row[MixTable]) -> None:
    table, path = row.table, row.path
    _made(reader, (*path, "fill"), lambda: fill_kind(table.fill))
    _made(reader, (*path, "resin"), lambda: check_ratio(table.resin.a, table.resin.b))
    density = table.bag[0].density if table.bag else 2650.0
    for i, test in enumerate(table.void_test):
        _made(reader, (*path, "void_test", i), lambda test=test: void_fraction([_void_test(test)], density))  # type: ignore[misc]
    shares = [bag.share is not None for bag in table.bag]
    if any(shares) and not all(shares):
        first = shares.index(False)
        reader.fault((*path, "bag", first), "share is missing", "give a share in every bag or in none")
    if len(table.bond) != 2 or not 0.0 <= table.bond[0] <= table.bond[1] <= 1.0:
        reader.fault(
            (*path, "bond"), "must be two numbers from 0 to 1, the smaller first", "such as [0.5, 1.0]"
        )
    if table.fill == "resin-bonded mineral" and not table.bag:
        reader.fault(path, "no bag of grains", "write [[mix.bag]] with name, sizes and passing")
    stairs = table.staircase
    if stairs is not None and len(stairs.forces) != len(stairs.readings):
        reader.fault((*path, "staircase"), "forces and readings differ in number")
    for i, rod in enumerate(table.insert):
        _made(reader, (*path, "insert", i, "material"), lambda rod=rod: _rod(rod))  # type: ignore[misc]
    for i, bar in enumerate(table.bar):
        if len(bar.forces) != len(bar.readings):
            reader.fault((*path, "bar", i), "forces and readings differ in number")


def _bag(t: BagTable) -> Bag:
    return Bag(
        name=t.name,
        sizes=t.sizes,
        passing=t.passing,
        density=t.density,
        void_fraction=t.void_fraction,
        price=t.price,
    )


def _void_test(t: VoidTestTable) -> VoidTest:
    return VoidTest(volume=t.volume, grains=t.grains, water=t.water)


def _rod(t: RodTable) -> Rod:
    if t.bore >= t.diameter:
        raise MixError(f"bore {t.bore * 1e3:g} mm is not within {t.diameter * 1e3:g} mm")
    return Rod(
        name=t.name, cell=t.cell, material=material(t.material), at=t.at, diameter=t.diameter, bore=t.bore
    )


def _bar(t: BarTable) -> BarTest:
    if t.cure and t.age is not None:
        raise MixError("age and cure stages are both given", hint="give one of them")
    if not t.cure and t.age is None:
        raise MixError("the age of the bar is missing", hint='give the time from mixing, such as age = "3 d"')
    stages = [(s.time, s.temperature) for s in t.cure] or [(t.age or 0.0, t.temperature)]
    if t.span == 0.0 and t.tap == 0.0:
        raise MixError("neither bent nor tapped", hint="give span, forces and readings, or tap")
    return BarTest(
        name=t.name,
        bar=Bar(width=t.width, thickness=t.thickness, length=t.length, mass=t.mass),
        history=tuple(Stage(duration=time, temperature=warm) for time, warm in stages),
        span=t.span,
        forces=t.forces,
        deflections=t.readings,
        supports=0.0 if t.supports is None else 1.0 / t.supports,
        resolution=t.resolution,
        frequency=t.tap,
    )


def _resin(t: ResinTable) -> Resin:
    return Resin(**{key: getattr(t, key) for key in ResinTable.model_fields})


def _mix(t: MixTable, length: float, bags: list[Bag], tests: list[BarTest]) -> Mix:
    shares = tuple(float(bag.share) for bag in t.bag if bag.share is not None)
    stairs = t.staircase
    return Mix(
        kind=t.fill,
        member=t.member,
        cells=tuple(t.cells),
        low=t.low,
        high=length if t.high is None else t.high,
        bags=tuple(bags),
        shares=shares,
        target=Target(
            curve=t.grading.curve, largest=t.grading.largest, smallest=t.grading.smallest, q=t.grading.q
        ),
        void_tests=tuple(_void_test(v) for v in t.void_test),
        resin=_resin(t.resin),
        grain=Elastic(E=t.grain_E, nu=t.grain_nu),
        grain_expansion=t.grain_expansion,
        excess=t.excess,
        loss=t.loss,
        air=(t.air, t.air_uncertainty),
        mixer=t.mixer,
        conductivity=t.conductivity,
        bars=tuple(tests),
        bond=(t.bond[0], t.bond[1]),
        remake=t.remake,
        workshop=Workshop(
            pour=t.workshop.pour,
            set_at=t.workshop.cure,
            coldest=t.workshop.coldest,
            warmest=t.workshop.warmest,
        ),
        sleeves=tuple(Sleeve(name=s.name, cell=s.cell, at=s.at, diameter=s.diameter) for s in t.sleeve),
        rods=tuple(_rod(r) for r in t.insert),
        access=tuple(
            Access(name=a.name, kind=a.kind, cell=a.cell, at=a.at, sleeve=a.sleeve)  # type: ignore[arg-type]
            for a in t.access
        ),
        staircase=None
        if stairs is None
        else Staircase(forces=stairs.forces, deflections=stairs.readings, wall_to_gauge=stairs.wall_to_gauge),
        filled_mass=t.filled_mass,
        goals=tuple((g.pull or "", float(g.ratio)) for g in t.goal),
    )


MIX = Extra(key="mix", model=MixTable, many=False, build=build)
