"""The ``[mix]`` table: a fill as its maker describes it, from the bag of sand to the goal at the tool."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Annotated, Any, TypeVar

from pydantic import BeforeValidator, Field

from strongback import units
from strongback.errors import MaterialError, MixError, UnitError
from strongback.machine.values import Machine
from strongback.materials import material
from strongback.project.document import Path
from strongback.project.quantities import Length, Name, Plain, Point2, fail, quantity
from strongback.project.source import nearest
from strongback.project.tables import Extra, Reader, Row, Table
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

__all__ = ["MIX", "MixTable"]

T = TypeVar("T")
MAX_SERIES = 400
KINDS = ("bolt", "wire", "screw", "hole", "adjuster")
CURVES = ("fuller", "andreasen", "dinger-funk")


def series(dimension: str) -> BeforeValidator:
    """Converter of a list of numbers of any length: ``"20, 40, 60 N"`` or a list of texts with units."""

    def convert(value: Any) -> tuple[float, ...]:
        if isinstance(value, str):
            parts = [part.strip() for part in value.split(",")]
            unit = re.sub(r"^[+-]?[\d.]+(?:[eE][+-]?\d+)?", "", parts[-1]).strip()
            bare = re.compile(r"[+-]?[\d.]+(?:[eE][+-]?\d+)?")
            items: list[Any] = [f"{p} {unit}" if bare.fullmatch(p) else p for p in parts]
        else:
            items = value
        if not isinstance(items, list) or not 1 <= len(items) <= MAX_SERIES:
            fail(f"must be a list of {dimension}s", 'write "20, 40, 60 N" or a list of texts with units')
        return tuple(_one(item, dimension, i) for i, item in enumerate(items))

    return BeforeValidator(convert)


def _one(item: Any, dimension: str, index: int) -> float:
    if dimension == "number" and isinstance(item, int | float) and not isinstance(item, bool):
        item = repr(item)
    if not isinstance(item, str):
        fail("has no unit", f"give a {dimension} with a unit: {units.examples(dimension)}", index)
    try:
        return units.parse(item, dimension)
    except UnitError as error:
        fail(error.message, error.hint)


def _number(dimension: str, text: str, **limits: float) -> Any:
    return Annotated[float, quantity(dimension, **limits), Field(description=text)]


def _one_of(words: Sequence[str]) -> BeforeValidator:
    def convert(value: Any) -> str:
        if value not in words:
            fail(f"must be one of {', '.join(words)}", nearest(str(value), list(words), "there are"))
        return str(value)

    return BeforeValidator(convert)


class GradingTable(Table):
    """``[mix.grading]``: the grading that the bags are blended to."""

    curve: Annotated[str, _one_of(CURVES), Field(description='"fuller", "andreasen" or "dinger-funk"')] = (
        "dinger-funk"
    )
    largest: Annotated[Length, Field(description="largest grain")] = 4e-3
    smallest: Annotated[Length, Field(description="smallest grain, for dinger-funk")] = 0.063e-3
    q: Annotated[Plain, Field(description="exponent, 0.2 to 0.5, a bare number")] = 0.37


class BagTable(Table):
    """``[[mix.bag]]``: grains as they can be bought."""

    name: Annotated[Name, Field(description="what is printed on the bag")]
    sizes: Annotated[
        tuple[float, ...], series("length"), Field(description='sieve openings, such as "1, 2, 4 mm"')
    ]
    passing: Annotated[
        tuple[float, ...],
        series("number"),
        Field(description='share that passes each, such as "5, 50, 100 %"'),
    ]
    density: _number("density", "of the solid grain", above=0.0) = 2650.0  # type: ignore[valid-type]
    void_fraction: _number("number", "of the packed bag alone, 0.05 to 0.7", above=0.0) = 0.4  # type: ignore[valid-type]
    price: _number("number", "per kilogram, a bare number in any money", least=0.0) = 0.0  # type: ignore[valid-type]
    share: Annotated[
        float | None,
        quantity("number", least=0.0),
        Field(description="of all grains by mass, if you choose it; in every bag or in none"),
    ] = None


class ResinTable(Table):
    """``[mix.resin]``: a two-part resin as its data sheet states it."""

    name: Annotated[Name, Field(description="what is printed on the can")] = "epoxy"
    a: _number("number", "parts of resin by mass, a bare number", above=0.0) = 100.0  # type: ignore[valid-type]
    b: _number("number", "parts of hardener by mass, a bare number", above=0.0) = 32.0  # type: ignore[valid-type]
    density: _number("density", "of the mixed resin", above=0.0) = 1120.0  # type: ignore[valid-type]
    E: _number("pressure", "Young's modulus when cured", above=0.0) = 3.2e9  # type: ignore[valid-type]
    nu: _number("number", "Poisson's ratio when cured", above=0.0, below=0.5) = 0.36  # type: ignore[valid-type]
    expansion: _number("expansion", "thermal expansion when cured", above=0.0) = 60e-6  # type: ignore[valid-type]
    pot_life: _number("time", "pot life of the data sheet", above=0.0) = 2400.0  # type: ignore[valid-type]
    pot_life_at: _number("temperature", "temperature at which it is stated", above=0.0) = 296.15  # type: ignore[valid-type]
    heat: _number("specific energy", "heat of cure per mass of both parts", above=0.0) = 450e3  # type: ignore[valid-type]
    shrinkage: _number("number", 'linear shrinkage of the mix after gel, such as "0.03 %"', least=0.0) = 3e-4  # type: ignore[valid-type]
    price: _number("number", "per kilogram, a bare number in any money", least=0.0) = 0.0  # type: ignore[valid-type]


class VoidTestTable(Table):
    """``[[mix.void_test]]``: one filling of a vessel with the dry blend."""

    volume: _number("volume", "of the vessel", above=0.0)  # type: ignore[valid-type]
    grains: Annotated[
        float | None, quantity("mass", above=0.0), Field(description="mass of dry grains in it")
    ] = None
    water: Annotated[
        float | None,
        quantity("mass", least=0.0),
        Field(description="mass of water that just wets the surface"),
    ] = None


class StageTable(Table):
    """``[[mix.bar.cure]]``: a time at a temperature between mixing and the test."""

    time: _number("time", "how long")  # type: ignore[valid-type]
    temperature: _number("temperature", "how warm")  # type: ignore[valid-type]


class BarTable(Table):
    """``[[mix.bar]]``: a test bar and what was read on it."""

    name: Annotated[Name, Field(description="how results call it")]
    width: Annotated[Length, Field(description="across the force")]
    thickness: Annotated[Length, Field(description="along the force or the tap")]
    length: Annotated[Length, Field(description="of the bar")]
    mass: Annotated[
        float | None, quantity("mass", above=0.0), Field(description="of the bar; needed for a tap")
    ] = None
    age: Annotated[float | None, quantity("time"), Field(description="time from mixing to the test")] = None
    temperature: _number("temperature", "at which it cured, if it was one") = 293.15  # type: ignore[valid-type]
    cure: Annotated[
        list[StageTable], Field(default_factory=list, description="instead of age: stages of the cure")
    ]
    span: _number("length", "between the supports of the bend test", least=0.0) = 0.0  # type: ignore[valid-type]
    forces: Annotated[
        tuple[float, ...], series("force"), Field(description='at mid-span, such as "20, 40, 60 N"')
    ] = ()
    readings: Annotated[
        tuple[float, ...], series("length"), Field(description='deflections, such as "18, 35, 53 um"')
    ] = ()
    supports: Annotated[
        float | None,
        quantity("stiffness", above=0.0),
        Field(description="stiffness of supports and stand, read with a thick steel bar"),
    ] = None
    resolution: _number("length", "smallest step of the gauge", above=0.0) = 1e-6  # type: ignore[valid-type]
    tap: _number("frequency", "first bending frequency of the free bar", least=0.0) = 0.0  # type: ignore[valid-type]


class WorkshopTable(Table):
    """``[mix.workshop]``: temperatures."""

    pour: _number("temperature", "of mix, machine and air at the pour") = 293.15  # type: ignore[valid-type]
    cure: _number("temperature", "at which the fill sets") = 293.15  # type: ignore[valid-type]
    coldest: _number("temperature", "of the year") = 283.15  # type: ignore[valid-type]
    warmest: _number("temperature", "of the year") = 303.15  # type: ignore[valid-type]


class SleeveTable(Table):
    """``[[mix.sleeve]]``: a round tube or former that keeps a hole free."""

    name: Annotated[Name, Field(description="how results call it")]
    cell: Annotated[Name, Field(description="cell in which it stands")]
    at: Annotated[Point2, Field(description='centre in the drawing of the section, such as "10, 25 mm"')]
    diameter: Annotated[Length, Field(description="outside")]


class RodTable(Table):
    """``[[mix.insert]]``: a round bar or tube that the fill bonds into a cell over its whole height."""

    name: Annotated[Name, Field(description="how results call it")]
    cell: Annotated[Name, Field(description="cell in which it stands")]
    material: Annotated[Name, Field(description="name of a material of the package")] = "steel"
    at: Annotated[Point2, Field(description='centre in the drawing of the section, such as "10, 25 mm"')]
    diameter: _number("length", "outside", above=0.0)  # type: ignore[valid-type]
    bore: _number("length", "inside of a tube, which stays empty", least=0.0) = 0.0  # type: ignore[valid-type]


class AccessTable(Table):
    """``[[mix.access]]``: something that must stay free."""

    name: Annotated[Name, Field(description="how results call it")]
    kind: Annotated[str, _one_of(KINDS), Field(description="one of " + ", ".join(KINDS))]
    cell: Annotated[Name, Field(description="cell into which it reaches")]
    at: Annotated[Length, Field(description="along the member from its start")]
    sleeve: Annotated[bool, Field(description="true if a sleeve, plug or bore keeps it free")] = False


class StaircaseTable(Table):
    """``[mix.staircase]``: rising loads of one sense on the filled machine."""

    forces: Annotated[tuple[float, ...], series("force"), Field(description='such as "25, 50, 75, 100 N"')]
    readings: Annotated[
        tuple[float, ...], series("length"), Field(description="of one gauge, in the same order")
    ]
    wall_to_gauge: _number("number", "motion of the wall for each motion of the gauge", above=0.0) = 1.0  # type: ignore[valid-type]


class GoalTable(Table):
    """``[[mix.goal]]``: what is wished for."""

    pull: Annotated[Name | None, Field(description="name of a pull; leave out for all")] = None
    ratio: _number("number", "deflection of the tool after over before", above=0.0)  # type: ignore[valid-type]


class MixTable(Table):
    """``[mix]``: a fill of one member."""

    member: Annotated[Name, Field(description="the member that is filled")]
    cells: Annotated[list[Name], Field(min_length=1, description="names of the cells that are filled")]
    low: Annotated[
        Length, Field(alias="from", description="where the fill begins, along the member from its start")
    ] = 0.0
    high: Annotated[
        Length | None, Field(alias="to", description="where it ends; default the end of the member")
    ] = None
    fill: Annotated[
        Name, Field(description='kind of fill, such as "resin-bonded mineral" or "cement grout"')
    ] = "resin-bonded mineral"
    grading: Annotated[GradingTable, Field(description="grading wished for")] = GradingTable()
    bag: Annotated[list[BagTable], Field(default_factory=list, description="bags of grains")]
    resin: Annotated[ResinTable, Field(description="resin and hardener")] = ResinTable()
    void_test: Annotated[
        list[VoidTestTable], Field(default_factory=list, description="void tests of the dry blend")
    ]
    grain_E: _number("pressure", "Young's modulus of the grains themselves", above=0.0) = 70e9  # type: ignore[valid-type]
    grain_nu: _number("number", "their Poisson's ratio", above=0.0, below=0.5) = 0.2  # type: ignore[valid-type]
    grain_expansion: _number("expansion", "their thermal expansion") = 12e-6  # type: ignore[valid-type]
    excess: _number("number", "resin above the voids, to wet the grains", least=0.0) = 0.10  # type: ignore[valid-type]
    loss: _number("number", "what sticks to tools", least=0.0) = 0.05  # type: ignore[valid-type]
    air: _number("number", "air that stays in the mix, by volume", least=0.0) = 0.03  # type: ignore[valid-type]
    air_uncertainty: _number("number", "its standard uncertainty", least=0.0) = 0.015  # type: ignore[valid-type]
    mixer: _number("mass", "largest load of the mixer", above=0.0) = 5.0  # type: ignore[valid-type]
    conductivity: _number("thermal conductivity", "of the mix", above=0.0) = 1.0  # type: ignore[valid-type]
    bar: Annotated[list[BarTable], Field(default_factory=list, description="test bars")]
    bond: Annotated[
        tuple[float, ...],
        series("number"),
        Field(description="least and greatest hold at the wall, 0 sliding to 1 bonded"),
    ] = (0.5, 1.0)
    remake: _number("number", "scatter of joints that are undone and made again", least=0.0) = 0.1  # type: ignore[valid-type]
    workshop: Annotated[WorkshopTable, Field(description="temperatures")] = WorkshopTable()
    sleeve: Annotated[list[SleeveTable], Field(default_factory=list, description="sleeves")]
    insert: Annotated[
        list[RodTable], Field(default_factory=list, description="bars or tubes that the fill bonds in")
    ]
    access: Annotated[list[AccessTable], Field(default_factory=list, description="what must stay free")]
    staircase: Annotated[StaircaseTable | None, Field(description="loads that reveal a gap")] = None
    filled_mass: _number("mass", "mass of the fill by weighing before and after", least=0.0) = 0.0  # type: ignore[valid-type]
    goal: Annotated[list[GoalTable], Field(default_factory=list, description="what is wished for")]


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
    if table.staircase is not None and len(table.staircase.forces) != len(table.staircase.readings):
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
