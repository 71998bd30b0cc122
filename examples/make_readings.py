"""Make the readings of the examples: invented, with the hidden truth stated here.

Each machine gets hidden stiffnesses, drawn once by hand; its readings are those of the solved machine with seeded scatter
of set-ups and of readings, a zero that drifts, and rounding to the step of the scale. What a calibration finds can be held
against the factors below. Run ``python examples/make_readings.py`` to write the tables again.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from pathlib import Path

import numpy as np

from strongback import project
from strongback.change.values import Change, applied
from strongback.evidence.model import size_of
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter, parameters_of, responses, scaled
from strongback.machine.part.make import parts_of
from strongback.machine.surrogate import with_modulus
from strongback.machine.values import Gauge, Machine, Pull

HERE = Path(__file__).parent
DEMO = Path(project.__file__).parent / "demo"
REPEATS = 3  # of each reading, each in a set-up of its own


@dataclasses.dataclass(frozen=True, kw_only=True)
class Truth:
    """What is hidden in a log.

    ``factors`` multiply the stiffness that the project file starts from, by "part, mechanism"; a part alone stands for all
    its components. ``modulus`` multiplies that of the fill.
    """

    factors: Mapping[str, float]
    set_up: float  # scatter of set-ups [m]
    reading: float  # scatter of readings [m]
    seed: int
    modulus: float = 1.0
    state: Mapping[str, str] = dataclasses.field(default_factory=dict)


BENCH_MILL = {
    "base, about x": 0.55,
    "base, about y": 0.70,
    "base, about z": 0.60,
    "carriage": 0.65,  # what the pad does not carry: the gib
    "spindle bearings, about x": 1.50,
    "spindle bearings, about y": 1.50,
    "table ways": 0.80,
    "column, wall": 0.96,
    "column, contact": 0.75,
}
TUBE_MILL = {
    "column, wall": 0.90,
    "column, contact": 0.45,
    "base, about x": 0.60,
    "base, about y": 0.75,
    "base, about z": 0.70,
    "saddle ways, about z": 0.80,
}
IRON_MILL = {
    "base, about x": 0.80,
    "base, about y": 0.70,
    "base, about z": 0.75,
    "slide": 0.60,
    "quill and bearings, about x": 0.70,
    "quill and bearings, about y": 0.70,
    "column, wall": 1.04,
    "column, contact": 0.60,
}
LOGS = {
    DEMO: {
        "before": Truth(factors=BENCH_MILL, set_up=1.1e-6, reading=0.6e-6, seed=11),
        # Put back with a base joint 25 % softer, and a fill of 60 % of the modulus that was meant.
        "after": Truth(
            factors=BENCH_MILL
            | {name: v * 0.75 for name, v in BENCH_MILL.items() if name.startswith("base")},
            set_up=1.1e-6,
            reading=0.6e-6,
            seed=12,
            modulus=0.6,
        ),
    },
    HERE / "iron-mill": {
        "before": Truth(factors=IRON_MILL, set_up=1.3e-6, reading=0.7e-6, seed=21),
        # The closed column does 85 % of what was meant, and somebody left the quill clamp looser.
        "after": Truth(
            factors=IRON_MILL
            | {
                "column, wall": 1.04 * 0.85,
                "quill and bearings, about x": 0.5,
                "quill and bearings, about y": 0.5,
            },
            set_up=1.3e-6,
            reading=0.7e-6,
            seed=22,
            state={"quill": "30 mm out, clamp not noted"},
        ),
    },
    HERE / "tube-mill": {
        "before": Truth(factors=TUBE_MILL, set_up=0.9e-6, reading=0.5e-6, seed=51),
        # A fill of 65 % of the modulus that was meant; the base was put back 30 % softer.
        "after": Truth(
            factors=TUBE_MILL | {name: v * 0.7 for name, v in TUBE_MILL.items() if name.startswith("base")},
            set_up=0.9e-6,
            reading=0.5e-6,
            seed=52,
            modulus=0.65,
        ),
    },
    HERE / "tapping-stand": {
        "before": Truth(
            factors={"plate, bending": 0.90, "collar": 0.70, "quill guide": 1.20},
            set_up=2.0e-6,
            reading=1.2e-6,
            seed=31,
        ),
    },
    HERE / "portal-router": {
        "before": Truth(
            factors={
                "carriages": 0.60,
                "beam, contact": 0.60,
                "z rails": 0.75,
                "left end, about x": 0.70,
                "right end, about x": 0.90,
            },
            set_up=4.0e-6,
            reading=3.0e-6,
            seed=41,
        ),
    },
}


# The readings of an afternoon; where a project is not listed, all that are large enough.
TWIST = ("foot bar left", "foot bar right", "head bar left", "head bar right")
COLUMN_X, COLUMN_Y = ("foot x", "middle x", "top x"), ("foot y", "middle y", "top y")
AFTERNOON = {
    DEMO: {
        "sideways": ("tool x", *TWIST, "carriage x"),
        "fore-aft": ("tool y", "top y", "arm end y"),
        "jack": ("tool z", "arm end y", *COLUMN_Y),
        "column top sideways": COLUMN_X,
        "column top fore-aft": (*COLUMN_Y, "bed on bench"),
    },
    HERE / "iron-mill": {
        "sideways": ("tool x", *TWIST),
        "fore-aft": ("tool y", *COLUMN_Y),
        "jack": ("tool z", *COLUMN_Y),
        "column top sideways": COLUMN_X,
        "twist": (*TWIST, "tool x"),
    },
}


def parameters(machine: Machine, factors: Mapping[str, float]) -> dict[Parameter, float]:
    """Factors by parameter."""
    found = {}
    for name, factor in factors.items():
        mine = [p for p in parameters_of(machine) if name in (str(p), p.part)]
        if not mine:
            raise SystemExit(f"{machine.name}: nothing is called {name}")
        found.update(dict.fromkeys(mine, factor))
    return found


def pairs(folder: Path, values: np.ndarray, every: list[tuple[Pull, Gauge]]) -> list[int]:
    """Readings to log: those of the afternoon, or of three steps or more and the tool along its own pull."""
    if folder in AFTERNOON:
        wanted = [(pull, gauge) for pull, gauges in AFTERNOON[folder].items() for gauge in gauges]
        places = {(pull.name, gauge.name): i for i, (pull, gauge) in enumerate(every)}
        return [places[names] for names in wanted]
    return [
        i
        for i, (_, gauge) in enumerate(every)
        if abs(values[i]) >= 3 * gauge.resolution
        or (gauge.name.startswith("tool") and abs(values[i]) >= gauge.resolution)
    ]


def solved(
    read: project.Project, truth: Truth, sections: tuple[tuple[str, str], ...]
) -> tuple[Machine, np.ndarray]:
    machine = applied(read.machine, Change(sections=sections))
    outlines = dict(machine.sections)
    for _, new in sections:
        if truth.modulus != 1.0:
            outlines[new] = with_modulus(outlines[new], truth.modulus)
    every = [(p, g) for p in machine.pulls for g in machine.gauges]
    there = dataclasses.replace(
        scaled(machine, parameters(machine, truth.factors)), sections=tuple(outlines.items())
    )
    return machine, responses(assemble(there, parts_of(there)), every)


def write(folder: Path) -> None:
    """Write the logs of one project."""
    read = project.read(folder)
    chosen: list[int] = []
    for data in read.extras["readings"]:
        truth = LOGS[folder][data.name]
        machine, values = solved(read, truth, data.sections)
        every = [(p, g) for p in machine.pulls for g in machine.gauges]
        chosen = chosen or pairs(folder, values, every)  # the same readings after a change as before
        text = table(read, truth, [(*every[i], values[i]) for i in chosen])
        (folder / data.file).write_text(text, encoding="utf-8")
        print(f"{folder.name}/{data.file}: {len(chosen)} readings, {REPEATS} set-ups each")


def table(read: project.Project, truth: Truth, rows: list[tuple[Pull, Gauge, float]]) -> str:
    """A log as text."""
    rng = np.random.default_rng(truth.seed)
    state = {str(k): str(v) for k, v in read.document.data.get("state", {}).items()} | truth.state
    head = ["pull", "gauge", "load", "set-up", "repeat", "zero before [um]", "loaded [um]", "zero after [um]"]
    lines = [
        "# Invented readings of an invented machine, made by examples/make_readings.py.",
        ";".join([*head, "reference", *(f"state {name}" for name in state)]),
    ]
    for pull, gauge, value in rows:
        load = f"{size_of(pull):g} {'N' if any(pull.force) else 'N*m'}"
        for set_up in range(1, REPEATS + 1):
            seen = value + rng.normal(0.0, truth.set_up) + rng.normal(0.0, truth.reading)
            start, drift = rng.uniform(-3.0, 3.0) * gauge.resolution, rng.normal(0.0, 0.5) * gauge.resolution
            numbers = [start, start + seen + 0.5 * drift, start + drift]
            cells = [f"{round(v / gauge.resolution) * gauge.resolution * 1e6:.0f}" for v in numbers]
            lines.append(
                ";".join(
                    [pull.name, gauge.name, load, str(set_up), "1", *cells, gauge.reference, *state.values()]
                )
            )
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    for place in LOGS:
        write(place)
