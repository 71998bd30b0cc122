"""The ``[mix]`` table key by key, with the words that docs/file.md prints for it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from strongback import units
from strongback.errors import UnitError
from strongback.project.quantities import Length, Name, Plain, Point2, fail, quantity
from strongback.project.source import nearest
from strongback.project.tables import Table

__all__ = [
    "AccessTable",
    "BagTable",
    "BarTable",
    "GoalTable",
    "GradingTable",
    "MixTable",
    "ResinTable",
    "RodTable",
    "SleeveTable",
    "StageTable",
    "StaircaseTable",
    "VoidTestTable",
    "WorkshopTable",
]

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
    density: Annotated[
        float, quantity("density", above=100.0, below=3e4), Field(description="of the solid grain")
    ] = 2650.0
    void_fraction: Annotated[
        float, quantity("number", above=0.0), Field(description="of the packed bag alone, 0.05 to 0.7")
    ] = 0.4
    price: Annotated[
        float,
        quantity("number", least=0.0, below=1e6),
        Field(description="per kilogram, a bare number in any money"),
    ] = 0.0
    share: Annotated[
        float | None,
        quantity("number", least=0.0),
        Field(description="of all grains by mass, if you choose it; in every bag or in none"),
    ] = None


class ResinTable(Table):
    """``[mix.resin]``: a two-part resin as its data sheet states it."""

    name: Annotated[Name, Field(description="what is printed on the can")] = "epoxy"
    a: Annotated[
        float, quantity("number", above=0.0), Field(description="parts of resin by mass, a bare number")
    ] = 100.0
    b: Annotated[
        float, quantity("number", above=0.0), Field(description="parts of hardener by mass, a bare number")
    ] = 32.0
    density: Annotated[
        float, quantity("density", above=100.0, below=1e4), Field(description="of the mixed resin")
    ] = 1120.0
    E: Annotated[
        float, quantity("pressure", above=1e6, below=1e12), Field(description="Young's modulus when cured")
    ] = 3.2e9
    nu: Annotated[
        float, quantity("number", above=0.0, below=0.5), Field(description="Poisson's ratio when cured")
    ] = 0.36
    expansion: Annotated[
        float, quantity("expansion", above=0.0, below=1e-3), Field(description="thermal expansion when cured")
    ] = 60e-6
    pot_life: Annotated[
        float,
        quantity("time", above=10.0, below=30 * 86400.0),
        Field(description="pot life of the data sheet"),
    ] = 2400.0
    pot_life_at: Annotated[
        float,
        quantity("temperature", above=250.0, below=400.0),
        Field(description="temperature at which it is stated"),
    ] = 296.15
    heat: Annotated[
        float,
        quantity("specific energy", above=1e3, below=1e7),
        Field(description="heat of cure per mass of both parts"),
    ] = 450e3
    shrinkage: Annotated[
        float,
        quantity("number", least=0.0),
        Field(description='linear shrinkage of the mix after gel, such as "0.03 %"'),
    ] = 3e-4
    price: Annotated[
        float,
        quantity("number", least=0.0, below=1e6),
        Field(description="per kilogram, a bare number in any money"),
    ] = 0.0


class VoidTestTable(Table):
    """``[[mix.void_test]]``: one filling of a vessel with the dry blend."""

    volume: Annotated[float, quantity("volume", above=1e-6, below=1.0), Field(description="of the vessel")]
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

    time: Annotated[float, quantity("time"), Field(description="how long")]
    temperature: Annotated[float, quantity("temperature"), Field(description="how warm")]


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
    temperature: Annotated[
        float, quantity("temperature"), Field(description="at which it cured, if it was one")
    ] = 293.15
    cure: Annotated[
        list[StageTable], Field(default_factory=list, description="instead of age: stages of the cure")
    ]
    span: Annotated[
        float, quantity("length", least=0.0), Field(description="between the supports of the bend test")
    ] = 0.0
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
    resolution: Annotated[
        float, quantity("length", above=0.0, below=1e-2), Field(description="smallest step of the gauge")
    ] = 1e-6
    tap: Annotated[
        float,
        quantity("frequency", least=0.0, below=1e6),
        Field(description="first bending frequency of the free bar"),
    ] = 0.0


class WorkshopTable(Table):
    """``[mix.workshop]``: temperatures."""

    pour: Annotated[
        float,
        quantity("temperature", above=263.0, below=363.0),
        Field(description="of mix, machine and air at the pour"),
    ] = 293.15
    cure: Annotated[
        float, quantity("temperature", above=263.0, below=473.0), Field(description="at which the fill sets")
    ] = 293.15
    coldest: Annotated[
        float, quantity("temperature", above=223.0, below=363.0), Field(description="of the year")
    ] = 283.15
    warmest: Annotated[
        float, quantity("temperature", above=223.0, below=363.0), Field(description="of the year")
    ] = 303.15


class SleeveTable(Table):
    """``[[mix.sleeve]]``: a round tube or former that keeps a hole free."""

    name: Annotated[Name, Field(description="how results call it")]
    cell: Annotated[Name, Field(description="cell in which it stands")]
    at: Annotated[Point2, Field(description='centre in the drawing of the section, such as "10, 25 mm"')]
    diameter: Annotated[float, quantity("length", above=0.0), Field(description="outside")]


class RodTable(Table):
    """``[[mix.insert]]``: a round bar or tube that the fill bonds into a cell over its whole height."""

    name: Annotated[Name, Field(description="how results call it")]
    cell: Annotated[Name, Field(description="cell in which it stands")]
    material: Annotated[Name, Field(description="name of a material of the package")] = "steel"
    at: Annotated[Point2, Field(description='centre in the drawing of the section, such as "10, 25 mm"')]
    diameter: Annotated[float, quantity("length", above=0.0), Field(description="outside")]
    bore: Annotated[
        float, quantity("length", least=0.0), Field(description="inside of a tube, which stays empty")
    ] = 0.0


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
    wall_to_gauge: Annotated[
        float,
        quantity("number", above=0.0, below=1e3),
        Field(description="motion of the wall for each motion of the gauge"),
    ] = 1.0


class GoalTable(Table):
    """``[[mix.goal]]``: what is wished for."""

    pull: Annotated[Name | None, Field(description="name of a pull; leave out for all")] = None
    ratio: Annotated[
        float,
        quantity("number", above=0.0, below=10.0),
        Field(description="deflection of the tool after over before"),
    ]


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
    grain_E: Annotated[
        float,
        quantity("pressure", above=1e6, below=2e12),
        Field(description="Young's modulus of the grains themselves"),
    ] = 70e9
    grain_nu: Annotated[
        float, quantity("number", above=0.0, below=0.5), Field(description="their Poisson's ratio")
    ] = 0.2
    grain_expansion: Annotated[
        float, quantity("expansion", above=-1e-3, below=1e-3), Field(description="their thermal expansion")
    ] = 12e-6
    excess: Annotated[
        float, quantity("number", least=0.0), Field(description="resin above the voids, to wet the grains")
    ] = 0.10
    loss: Annotated[
        float, quantity("number", least=0.0, below=1.0), Field(description="what sticks to tools")
    ] = 0.05
    air: Annotated[
        float, quantity("number", least=0.0), Field(description="air that stays in the mix, by volume")
    ] = 0.03
    air_uncertainty: Annotated[
        float, quantity("number", least=0.0, below=0.3), Field(description="its standard uncertainty")
    ] = 0.015
    mixer: Annotated[
        float, quantity("mass", above=0.01, below=1e5), Field(description="largest load of the mixer")
    ] = 5.0
    conductivity: Annotated[
        float, quantity("thermal conductivity", above=0.01, below=1e3), Field(description="of the mix")
    ] = 1.0
    bar: Annotated[list[BarTable], Field(default_factory=list, description="test bars")]
    bond: Annotated[
        tuple[float, ...],
        series("number"),
        Field(description="least and greatest hold at the wall, 0 sliding to 1 bonded"),
    ] = (0.5, 1.0)
    remake: Annotated[
        float,
        quantity("number", least=0.0, below=1.0),
        Field(description="scatter of joints that are undone and made again"),
    ] = 0.1
    workshop: Annotated[WorkshopTable, Field(description="temperatures")] = WorkshopTable()
    sleeve: Annotated[list[SleeveTable], Field(default_factory=list, description="sleeves")]
    insert: Annotated[
        list[RodTable], Field(default_factory=list, description="bars or tubes that the fill bonds in")
    ]
    access: Annotated[list[AccessTable], Field(default_factory=list, description="what must stay free")]
    staircase: Annotated[StaircaseTable | None, Field(description="loads that reveal a gap")] = None
    filled_mass: Annotated[
        float,
        quantity("mass", least=0.0, below=1e5),
        Field(description="mass of the fill by weighing before and after"),
    ] = 0.0
    goal: Annotated[list[GoalTable], Field(default_factory=list, description="what is wished for")]
