"""How often intervals hold the truth, whether or not the model is right, and whether what is wrong is named.

Every campaign draws hidden stiffnesses, makes readings with scatter of set-ups and of readings, an error of the scale,
pulls off their direction and point, and rounding; from the machine that is asked about, or from another one: with walls
that give, with a joint that the model has not, with a slip of the operator. The truth is solved as a whole machine in every
campaign, not by the table of compliances that the models are weighed with. All data are invented.

    python benchmarks/coverage.py --json
    python benchmarks/coverage.py --quick
"""

from __future__ import annotations

import argparse
import dataclasses
import functools
import json
import math
import os
import sys
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from strongback import project
from strongback.evidence.calibrate import readings_degrees
from strongback.evidence.model import MEMBER_PRIOR, LoopModel, match, prior_uncertainty
from strongback.evidence.readings import Instrument, Measured, Reading
from strongback.evidence.reduce import reduce
from strongback.evidence.robust import Prepared, Robust, every_parameter, judged, prepared
from strongback.evidence.stand_in import Works
from strongback.evidence.walls_give import with_walls
from strongback.machine.loop import Loop
from strongback.machine.pad_contact import pad_springs
from strongback.machine.parameters import Parameter
from strongback.machine.part.kinds import as_beams, body_names
from strongback.machine.part.make import parts_of
from strongback.machine.solve import gauge_row
from strongback.machine.values import COMPONENTS, GROUND, RIGID, Gauge, Machine, Pull
from strongback.project import demo_folder

Array = np.ndarray
Rng = np.random.Generator
Pairs = list[tuple[Pull, Gauge]]
UM = 1e-6
SET_UP, READING, STEP = 1.2 * UM, 0.7 * UM, 1.0 * UM
INSTRUMENT = Instrument()
FLAT = 1.96
WALLS = True  # whether walls that give are among the models
IRON_MILL = Path(__file__).resolve().parents[1] / "examples" / "iron-mill"
TWIST = ("foot bar left", "foot bar right", "head bar left", "head bar right")
PLACES = {
    "sideways": ("tool x", *TWIST, "carriage x"),
    "fore-aft": ("tool y", "middle y", "top y", "arm end y"),
    "jack": ("tool z", "arm end y", "foot y", "middle y", "top y"),
    "column top sideways": ("foot x", "middle x", "top x", *TWIST[2:]),
    "column top fore-aft": ("foot y", "middle y", "top y"),
}
FEW = {
    "sideways": ("tool x", "carriage x", *TWIST[2:]),
    "fore-aft": ("tool y", "top y"),
    "jack": ("tool z", "top y"),
    "column top sideways": ("foot x", "top x"),
    "column top fore-aft": ("foot y", "top y"),
}


# --- machines and their readings --------------------------------------------------------------------------------------


@functools.cache
def machine_of(name: str) -> Machine:
    """A machine by name; "beam" and "walls" are the demo with its column without and with walls that give."""
    if name == "iron mill":
        return project.read(IRON_MILL).machine
    demo = as_beams(project.read(demo_folder()).machine)
    if name == "beam":
        return demo
    if name == "walls":
        return with_walls(demo, "column")
    kind, part = name.split(": ")
    joints = [
        dataclasses.replace(j, stiffness=(RIGID,) * 6, low=None, high=None) if j.name == part else j
        for j in demo.joints
    ]
    assert kind == "without"
    return dataclasses.replace(demo, joints=tuple(joints))


def places(name: str, count: str) -> Pairs:
    """Pulls and gauges of a campaign."""
    machine = machine_of(name)
    pulls, gauges = {p.name: p for p in machine.pulls}, {g.name: g for g in machine.gauges}
    if name == "iron mill":
        log = project.read(IRON_MILL).extras["readings"][0]
        keys = dict.fromkeys((r.pull, r.gauge) for r in log.readings)
        return [(pulls[p], gauges[g]) for p, g in keys]
    chosen = FEW if count == "few" else PLACES
    return [(pulls[p], gauges[g]) for p, names in chosen.items() for g in names]


class Truth:
    """A machine that makes readings."""

    def __init__(self, name: str, count: str) -> None:
        self.machine, self.pairs = machine_of(name), places(name, count)
        self.parameters = every_parameter(self.machine)
        parts = parts_of(self.machine, contact=True)
        self.model = LoopModel.of(self.machine, parts, self.pairs, self.parameters)
        self.prior_u = prior_uncertainty(self.machine, self.parameters)
        self.pulls = {p.name: p for p, _ in self.pairs}

    def exact(self, x: Array, slip: Slip, rng: Rng) -> Array:
        """Readings without scatter."""
        loop = self.model.build(dict(zip(self.parameters, np.exp(x).tolist(), strict=True)))
        works = Works(loop, self.parameters, x)
        off = {p: np.append(1.0, rng.normal(size=5)) for p in self.pulls}
        off.update(slip.pulls(off))
        force = {
            name: works.loads(p, INSTRUMENT.u_angle, INSTRUMENT.u_point) @ off[name]
            for name, p in self.pulls.items()
        }
        loads = np.column_stack([force[p.name] for p, _ in self.pairs])
        rows = np.stack([slip.row(loop, i, g) for i, (_, g) in enumerate(self.pairs)])
        return slip.after(np.diag(loop.read(rows, loads)).copy())


@dataclass
class Slip:
    """What was otherwise than noted."""

    gauges: dict[int, Gauge] = field(default_factory=dict)
    arms: dict[int, Array] = field(default_factory=dict)
    shift: tuple[str, int, float] | None = None
    after: Callable[[Array], Array] = lambda y: y
    words: tuple[str, ...] = ()
    item: str = ""

    def row(self, loop: Loop, i: int, gauge: Gauge) -> Array:
        """Reading of a gauge from all motions."""
        there = self.gauges.get(i, gauge)
        row = gauge_row(loop, there)
        if i in self.arms:
            turn = loop.motion_of(there.part, there.at)[3:]
            row = row + np.cross(self.arms[i], np.asarray(there.direction)) @ turn
        return row

    def pulls(self, off: dict[str, Array]) -> dict[str, Array]:
        """Pulls that are further off than they may be."""
        if self.shift is None:
            return {}
        name, slot, size = self.shift
        changed = off[name].copy()
        changed[slot] = size
        return {name: changed}


def log(pairs: Pairs, exact: Array, rng: Rng, share: float) -> list[Reading]:
    """A log of three set-ups for every place; a share of the reading scatters, or 1.4 µm."""
    scale = 1.0 + rng.normal(0.0, INSTRUMENT.u_load)
    rows = []
    for (pull, gauge), value in zip(pairs, exact, strict=True):
        for set_up in range(3):
            size = math.hypot(0.5 * UM, share * value) if share else math.hypot(SET_UP, READING)
            seen = scale * value + rng.normal(0.0, size)
            rows.append(
                Reading(
                    pull=pull.name,
                    gauge=gauge.name,
                    load=float(np.linalg.norm(pull.force)),
                    loaded=round(seen / STEP) * STEP,
                    set_up=str(set_up),
                )
            )
    return rows


# --- slips ------------------------------------------------------------------------------------------------------------


def _index(pairs: Pairs, *, gauge: str = "", pull: str = "") -> list[int]:
    return [i for i, (p, g) in enumerate(pairs) if gauge in ("", g.name) and pull in ("", p.name)]


def _scaled(rows: Sequence[int], factor: float) -> Callable[[Array], Array]:
    def after(y: Array) -> Array:
        y[list(rows)] *= factor
        return y

    return after


def _gauge(truth: Truth, rng: Rng) -> Gauge:
    names = list(dict.fromkeys(g.name for _, g in truth.pairs))
    chosen = names[rng.integers(len(names))]
    return next(g for _, g in truth.pairs if g.name == chosen)


def _pull(truth: Truth, rng: Rng) -> str:
    names = list(truth.pulls)
    return names[rng.integers(len(names))]


def none(truth: Truth, rng: Rng) -> Slip:
    """Nothing is wrong."""
    return Slip()


def sign(truth: Truth, rng: Rng) -> Slip:
    """A gauge read with the other sign."""
    gauge = _gauge(truth, rng).name
    return Slip(
        after=_scaled(_index(truth.pairs, gauge=gauge), -1.0),
        words=(f'"{gauge}" were read with the other sign',),
        item=gauge,
    )


def axis(truth: Truth, rng: Rng) -> Slip:
    """A gauge along another axis."""
    while True:
        gauge = _gauge(truth, rng)
        k = int(rng.integers(3))
        direction = np.eye(3)[k]
        if abs(direction @ np.asarray(gauge.direction)) < 0.5:
            break
    side = float(rng.choice([-1.0, 1.0]))
    moved = dataclasses.replace(gauge, direction=tuple((side * direction).tolist()))
    gauges = dict.fromkeys(_index(truth.pairs, gauge=gauge.name), moved)
    words = f'"{gauge.name}" stood along {"+" if side > 0 else "-"}{"XYZ"[k]}'
    return Slip(gauges=gauges, words=(words,), item=gauge.name)


def one_stand(truth: Truth, rng: Rng) -> Slip:
    """A stand on the bench, the model says otherwise."""
    while True:
        gauge = _gauge(truth, rng)
        if gauge.reference != GROUND:
            break
    moved = dataclasses.replace(gauge, reference=GROUND)
    gauges = dict.fromkeys(_index(truth.pairs, gauge=gauge.name), moved)
    return Slip(gauges=gauges, words=(f'the stand of "{gauge.name}" stood on the bench',), item=gauge.name)


def all_stands(truth: Truth, rng: Rng) -> Slip:
    """All stands on the bench, the model says bed."""
    gauges = {
        i: dataclasses.replace(g, reference=GROUND)
        for i, (_, g) in enumerate(truth.pairs)
        if g.reference == "bed"
    }
    return Slip(gauges=gauges, words=('all stands on "bed" stood on the bench',), item="stands on bed")


def gauge_point(truth: Truth, rng: Rng) -> Slip:
    """A gauge 15 to 40 mm beside its point, on a part that turns as a rigid body there."""
    gauge, k = _gauge(truth, rng), int(rng.integers(3))
    arm = float(rng.choice([-1.0, 1.0]) * rng.uniform(0.015, 0.04)) * np.eye(3)[k]
    arms = dict.fromkeys(_index(truth.pairs, gauge=gauge.name), arm)
    return Slip(arms=arms, words=(f'"{gauge.name}" touched elsewhere along {"XYZ"[k]}',), item=gauge.name)


def in_mm(truth: Truth, rng: Rng) -> Slip:
    """A gauge noted in mm."""
    gauge = _gauge(truth, rng).name
    rows = _index(truth.pairs, gauge=gauge)
    return Slip(after=_scaled(rows, 1e-3), words=(f'"{gauge}" were noted in mm instead of µm',), item=gauge)


def one_load(truth: Truth, rng: Rng) -> Slip:
    """A load 2.205 times off."""
    pull = _pull(truth, rng)
    words = (
        f'the load of "{pull}" were in kg instead of pounds',
        f'the load of "{pull}" were twice as large',
    )
    return Slip(after=_scaled(_index(truth.pairs, pull=pull), 2.205), words=words, item=pull)


def all_loads(truth: Truth, rng: Rng) -> Slip:
    """All loads 2.205 times off."""
    rows = range(len(truth.pairs))
    words = ("all loads were in kg instead of pounds", "all loads were twice as large")
    return Slip(after=_scaled(rows, 2.205), words=words, item="all loads")


def _shifted(truth: Truth, rng: Rng, slots: Sequence[int], size: float) -> Slip:
    pull, slot = _pull(truth, rng), int(slots[rng.integers(len(slots))])
    step = INSTRUMENT.u_angle if slot < 3 else INSTRUMENT.u_point
    words = (
        f'"{pull}" pulled in another direction'
        if slot < 3
        else f'"{pull}" pulled elsewhere along {"XYZ"[slot - 3]}'
    )
    return Slip(shift=(pull, slot, float(rng.choice([-1.0, 1.0])) * size / step), words=(words,), item=pull)


def point_10(truth: Truth, rng: Rng) -> Slip:
    """The point of a pull 10 mm off."""
    return _shifted(truth, rng, (3, 4, 5), 0.010)


def pull_point(truth: Truth, rng: Rng) -> Slip:
    """The point of a pull 8 to 25 mm off."""
    return _shifted(truth, rng, (3, 4, 5), rng.uniform(0.008, 0.025))


def pull_direction(truth: Truth, rng: Rng) -> Slip:
    """A pull 5 to 20 degrees off its direction."""
    return _shifted(truth, rng, (1, 2), math.radians(rng.uniform(5.0, 20.0)))


def outlier(truth: Truth, rng: Rng) -> Slip:
    """One reading 8 to 40 µm wrong."""
    i, off = int(rng.integers(len(truth.pairs))), float(rng.choice([-1.0, 1.0]) * rng.uniform(8.0, 40.0)) * UM

    def after(y: Array) -> Array:
        y[i] += off
        return y

    pull, gauge = truth.pairs[i]
    return Slip(after=after, words=(f'"{gauge.name}" under "{pull.name}" were misread',), item=gauge.name)


def both(
    first: Callable[[Truth, Rng], Slip], second: Callable[[Truth, Rng], Slip]
) -> Callable[[Truth, Rng], Slip]:
    """Two slips at once, of readings."""

    def made(truth: Truth, rng: Rng) -> Slip:
        a, b = first(truth, rng), second(truth, rng)
        return Slip(
            gauges=a.gauges | b.gauges,
            arms=a.arms | b.arms,
            shift=a.shift or b.shift,
            after=lambda y: b.after(a.after(y)),
            words=a.words + b.words,
            item=a.item,
        )

    return made


# --- cases ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Case:
    """A kind of campaign.

    `flat`: hidden stiffnesses anywhere within their ranges alike. `joint`: missing from the model.
    """

    name: str
    slip: Callable[[Truth, Rng], Slip] = none
    asked: str = "beam"
    true: str = "beam"
    count: str = "many"
    share: float = 0.0
    flat: bool = False
    struck: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    item: str = ""


RIGHT = Case(name="right model")
TABLE = (
    Case(name="scatter 3 % of the reading", share=0.03),
    Case(name="walls give, column taken as beam", true="walls", item="column"),
    Case(name="others anywhere within their ranges", flat=True),
    Case(name="carriage joint missing", asked="without: carriage", item="carriage"),
    Case(name="spindle joint missing", asked="without: spindle bearings", item="spindle bearings"),
    Case(name="point of a pull 10 mm off", slip=point_10),
    Case(name="sign of a gauge", slip=sign),
    Case(name="all stands on the bench", slip=all_stands),
    Case(name="one outlier", slip=outlier),
    Case(name="one load 2.2 times off", slip=one_load),
    Case(name="all loads 2.2 times off", slip=all_loads),
)
STRUCK = (
    Case(name="sign, not on the list", slip=sign, struck=("sign",)),
    Case(name="all stands, not on the list", slip=all_stands, struck=("stands",)),
    Case(
        name="carriage joint missing, not on the list", asked="without: carriage", struck=("joint missing",)
    ),
    Case(name="outlier, not on the list", slip=outlier, struck=("outlier",)),
)
OTHER = (
    Case(name="two faults: sign and outlier", slip=both(sign, outlier)),
    Case(name="two faults: load and stand", slip=both(one_load, one_stand)),
    Case(name="12 readings, right", count="few"),
    Case(name="12 readings, sign", count="few", slip=sign),
    Case(name="second machine, right", asked="iron mill", true="iron mill"),
    Case(name="second machine, sign", asked="iron mill", true="iron mill", slip=sign),
    Case(name="machine with bodies, right", asked="walls", true="walls"),
    Case(name="machine with bodies, sign", asked="walls", true="walls", slip=sign),
)
FAULTS = (
    Case(name="sign", slip=sign),
    Case(name="axis", slip=axis),
    Case(name="stand", slip=one_stand),
    Case(name="all stands", slip=all_stands),
    Case(name="gauge point 15 to 40 mm", slip=gauge_point),
    Case(name="mm under µm", slip=in_mm),
    Case(name="load 2.2 times", slip=one_load),
    Case(name="all loads 2.2 times", slip=all_loads),
    Case(name="outlier 8 to 40 µm", slip=outlier),
    Case(name="pull point 8 to 25 mm", slip=pull_point),
    Case(name="pull direction 5 to 20 degrees", slip=pull_direction),
    Case(name="walls", true="walls", item="column", words=('the walls of "column" gave',)),
    Case(
        name="carriage missing",
        asked="without: carriage",
        item="carriage",
        words=('"carriage" gave, which the model takes as rigid',),
    ),
    Case(
        name="spindle bearings missing",
        asked="without: spindle bearings",
        item="spindle bearings",
        words=('"spindle bearings" gave, which the model takes as rigid',),
    ),
)


@functools.cache
def truth_of(name: str, count: str) -> Truth:
    """Kept by a worker."""
    return Truth(name, count)


@functools.cache
def prepared_for(name: str, count: str) -> Prepared:
    """Kept by a worker."""
    machine, pairs = machine_of(name), places(name, count)
    measured = reduce(
        log(pairs, np.full(len(pairs), 1e-5), np.random.default_rng(0), 0.0), INSTRUMENT
    ).measured
    parts = parts_of(machine, contact=True)
    return prepared(machine, parts, match(machine, measured), INSTRUMENT, walls=WALLS)


def hidden(truth: Truth, x: Array, asked: Machine, parameters: Sequence[Parameter]) -> Array:
    """Logarithms of the factors that the asked machine would need, NaN where it has no such thing.

    A beam's joint under a pad stands for joint and contact in series.
    """
    known = dict(zip(truth.parameters, x.tolist(), strict=True))
    found = {p: known.get(p, math.nan) for p in parameters}
    for p in parameters:
        wall = Parameter(kind="member", part=p.part, mechanism="wall") if p.kind == "member" else p
        if p.mechanism in ("bending", "torsion") and wall in known:
            found[p] = known[wall]
    bodies = set(body_names(truth.machine)) - set(body_names(asked))
    pads = {p.name: p for p in truth.machine.pads if p.within_joint and p.part in bodies}
    for joint in (j for j in truth.machine.joints if j.pad in pads):
        pad = pads[joint.pad]
        member = next(m for m in truth.machine.members if m.name == pad.part)
        springs = pad_springs(pad, member, np.asarray(joint.axes))
        contact = math.exp(known[Parameter(kind="member", part=pad.part, mechanism="contact")])
        start = next(j for j in asked.joints if j.name == joint.name).stiffness
        for p in (p for p in parameters if (p.kind, p.part) == ("joint", joint.name)):
            i = COMPONENTS.index(p.mechanism)
            own = joint.stiffness[i] * math.exp(known.get(p, 0.0))
            found[p] = -math.log(start[i] * (1.0 / own + 1.0 / (contact * springs[i])))
    return np.array(list(found.values()))


def drawn(case: Case, truth: Truth, rng: Rng) -> Array:
    """Hidden stiffnesses; the walls of a body that is asked about as a beam no further off than those of a beam."""
    x = rng.uniform(-FLAT, FLAT, len(truth.prior_u)) if case.flat else rng.normal(size=len(truth.prior_u))
    u = truth.prior_u.copy()
    for i, p in enumerate(truth.parameters):
        if p.mechanism == "wall" and case.asked != case.true:
            u[i] = MEMBER_PRIOR
    return np.asarray(x * u)


@dataclass(frozen=True, kw_only=True)
class Seen:
    """What one campaign gave."""

    printed: int
    held: int
    clear: int
    clear_held: int
    marked: bool
    withheld: bool
    shows: bool
    named: bool
    alone_wrong: bool
    first: bool
    three: bool
    inside: bool
    width: float


def campaign(case: Case, seed: int) -> Seen:
    """One campaign."""
    rng = np.random.default_rng(seed)
    truth, ready = truth_of(case.true, case.count), prepared_for(case.asked, case.count)
    x = drawn(case, truth, rng)
    slip = case.slip(truth, rng)
    rows = log(truth.pairs, truth.exact(x, slip, rng), rng, case.share)
    measured: tuple[Measured, ...] = reduce(rows, INSTRUMENT).measured
    found = judged(ready.with_values(measured), degrees=readings_degrees(measured), struck=case.struck)
    return _seen(case, slip, found, hidden(truth, x, ready.machine, ready.parameters))


def _seen(case: Case, slip: Slip, found: Robust, true: Array) -> Seen:
    blend, n = found.examined.blend, len(found.parameters)
    told = found.determined & np.isfinite(true) & (not found.withheld)
    held = (blend.low[:n] <= true) & (true <= blend.high[:n])
    clear = told & ~found.outside & (not found.marked)
    words, item = slip.words or case.words, slip.item or case.item
    best = [s.what for s in found.suspects[:3]]
    items = [s.item for s in found.suspects[:3]]
    shows = bool(found.group)
    return Seen(
        printed=int(told.sum()),
        held=int((told & held).sum()),
        clear=int(clear.sum()),
        clear_held=int((clear & held).sum()),
        marked=found.marked,
        withheld=bool(found.withheld),
        shows=found.examined.probability < 0.01 or shows,
        named=shows,
        alone_wrong=len({s.item for s in found.group}) == 1 and found.group[0].item != item,
        first=bool(items) and items[0] == item,
        three=any(w in best for w in words),
        inside=any(s.what in words for s in found.group),
        width=float(np.sum((blend.high - blend.low)[:n][told])),
    )


def batch(task: tuple[Case, int, int]) -> list[Seen]:
    """Some campaigns of a case."""
    case, first, count = task
    return [campaign(case, seed) for seed in range(first, first + count)]


@dataclass(frozen=True, kw_only=True)
class Sums:
    """Campaigns of a case counted."""

    seen: list[Seen]

    def share(self, name: str) -> float:
        """Of campaigns."""
        return sum(bool(getattr(s, name)) for s in self.seen) / len(self.seen)

    def of_shown(self, name: str) -> float:
        """Of campaigns in which a fault shows."""
        shown = [s for s in self.seen if s.shows]
        return sum(bool(getattr(s, name)) for s in shown) / max(len(shown), 1)

    def count(self, name: str) -> int:
        """Over all campaigns."""
        return sum(int(getattr(s, name)) for s in self.seen)

    @property
    def holds(self) -> float:
        """Share of printed intervals that hold."""
        return self.count("held") / max(self.count("printed"), 1)

    @property
    def clear_holds(self) -> float:
        """Share of unmarked intervals that hold."""
        return self.count("clear_held") / max(self.count("clear"), 1)

    @property
    def unseen_wrong(self) -> float:
        """Unmarked and wrong, of all printed."""
        return (self.count("clear") - self.count("clear_held")) / max(self.count("printed"), 1)

    @property
    def held_or_withheld(self) -> float:
        """Intervals that hold; where a campaign gives none, as many as another gives."""
        given = [s for s in self.seen if not s.withheld]
        usual = self.count("printed") / max(len(given), 1)
        silent = usual * (len(self.seen) - len(given))
        return (self.count("held") + silent) / max(self.count("printed") + silent, 1.0)


def row(name: str, value: float, target: str, met: bool, unit: str = "1") -> dict[str, Any]:
    """A figure beside its target."""
    return {"name": name, "value": round(float(value), 4), "unit": unit, "target": target, "met": bool(met)}


def told(name: str, value: float, unit: str = "1") -> dict[str, Any]:
    """A figure that is only told."""
    return row(name, value, "told", True, unit)


def clean_rows(sums: Sums) -> list[dict[str, Any]]:
    """Figures of campaigns in which nothing is wrong."""
    n = sums.count("printed")
    return [
        row(
            f"right model: intervals that hold, of {n}",
            sums.holds,
            "0.94 to 0.97",
            0.94 <= sums.holds <= 0.97,
        ),
        row("right model: campaigns marked", sums.share("marked"), "<= 0.04", sums.share("marked") <= 0.04),
        row("right model: a suspect named", sums.share("named"), "<= 0.03", sums.share("named") <= 0.03),
    ]


def table_rows(name: str, sums: Sums) -> list[dict[str, Any]]:
    """Figures of a case of the table."""
    some = sums.count("clear") >= 0.2 * sums.count("printed") and sums.count("clear") > 0
    rows = [
        told(f"{name}: all intervals that hold", sums.holds),
        row(
            f"{name}: unmarked and wrong, of all printed",
            sums.unseen_wrong,
            "<= 0.07",
            sums.unseen_wrong <= 0.07,
        ),
        told(f"{name}: campaigns marked", sums.share("marked")),
        row(f"{name}: numbers withheld", sums.share("withheld"), "<= 0.04", sums.share("withheld") <= 0.04),
    ]
    if some:
        rows.append(row(f"{name}: unmarked that hold", sums.clear_holds, ">= 0.90", sums.clear_holds >= 0.90))
    return rows


def fault_rows(found: dict[str, Sums]) -> list[dict[str, Any]]:
    """Figures of naming, over all classes of faults together."""
    every = Sums(seen=[s for sums in found.values() for s in sums.seen])
    rows = [
        row(f"fault shows: {what}", every.of_shown(name), f"{sense} {least}", good)
        for what, name, sense, least, good in (
            ("right item first", "first", ">=", 0.93, every.of_shown("first") >= 0.93),
            ("exact among the first three", "three", ">=", 0.94, every.of_shown("three") >= 0.94),
            ("inside the printed group", "inside", ">=", 0.97, every.of_shown("inside") >= 0.97),
            ("a wrong item named alone", "alone_wrong", "<=", 0.02, every.of_shown("alone_wrong") <= 0.02),
        )
    ]
    return rows + [told(f"fault shows: {name}", sums.share("shows")) for name, sums in found.items()]


def simulated(sizes: dict[Case, int], workers: int) -> dict[Case, Sums]:
    """Campaigns of every case."""
    tasks = []
    for case, count in sizes.items():
        size = max(10, math.ceil(count / (2 * workers)))
        tasks += [(case, first, min(size, count - first)) for first in range(0, count, size)]
    if workers == 1:
        results = [batch(task) for task in tasks]
    else:
        for case in sizes:  # what is dear is made once and kept in the cache
            prepared_for(case.asked, case.count)
            truth_of(case.true, case.count)
        with ProcessPoolExecutor(workers) as pool:
            results = list(pool.map(batch, tasks))
    found: dict[Case, list[Seen]] = {}
    for (case, _, _), seen in zip(tasks, results, strict=True):
        found.setdefault(case, []).extend(seen)
    return {case: Sums(seen=seen) for case, seen in found.items()}


def measure(*, quick: bool = False, workers: int = 2, clean: int = 0) -> list[dict[str, Any]]:
    """All figures against their targets.

    Parameters
    ----------
    quick : bool
        A part of it, within a minute and a half: five cases, few campaigns.
    workers : int
    clean : int
        Campaigns with a right model; default 400, quick 80.
    """
    started = time.perf_counter()
    right = clean or (80 if quick else 400)
    cases, each = (TABLE[:1] + TABLE[6:7] + TABLE[8:9], 30) if quick else (TABLE, 100)
    sizes = {RIGHT: right} | dict.fromkeys(cases, each)
    if not quick:
        sizes |= dict.fromkeys(STRUCK + OTHER, 60) | dict.fromkeys(FAULTS, 60)
    found = simulated(sizes, workers)
    rows = clean_rows(found[RIGHT])
    for case in cases:
        rows += table_rows(case.name, found[case])
    for case in () if quick else STRUCK:
        held = found[case].held_or_withheld
        rows.append(row(f"{case.name}: hold or are withheld", held, ">= 0.75", held >= 0.75))
    for case in () if quick else OTHER:
        rows += [
            told(f"{case.name}: all intervals that hold", found[case].holds),
            told(f"{case.name}: unmarked and wrong, of all printed", found[case].unseen_wrong),
            told(f"{case.name}: campaigns marked", found[case].share("marked")),
        ]
    if not quick:
        rows += fault_rows({case.name: found[case] for case in FAULTS})
    seconds = time.perf_counter() - started
    limit = 90.0 if quick else 600.0
    rows.append(row("all of it", seconds, f"<= {limit:.0f}", seconds <= limit, "s"))
    return rows


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="print rows as JSON")
    parser.add_argument("--quick", action="store_true", help="a part, within 90 s")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--campaigns", type=int, default=0, help="with a right model")
    arguments = parser.parse_args()
    rows = measure(quick=arguments.quick, workers=arguments.workers, clean=arguments.campaigns)
    if arguments.json:
        print(json.dumps(rows, indent=2))
    else:
        for each in rows:
            word = "ok  " if each["met"] else "MISS"
            print(f"{word} {each['value']:8.4g} {each['unit']:3} {each['target']:14} {each['name']}")
    return 0 if all(each["met"] for each in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
