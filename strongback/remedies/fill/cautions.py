"""What can hurt at each step, and whom to ask. Not a list to be complete by: data sheets and local rules come first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from strongback.answer import Telling

__all__ = ["CAUTIONS", "STEPS", "Caution", "Step", "cautions_for", "steps_for"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One hazard.

    Parameters
    ----------
    hazard : str
    text : str
    defer_to : str
        Whose word counts.
    source : str
    """

    ONLY: ClassVar[Telling] = (
        ("hazard", "hazard"),
        ("text", "text"),
        ("defer_to", "defer_to"),
    )

    hazard: str
    text: str
    defer_to: str
    source: str = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A step of the work, what to do, and the cautions beside it."""

    ONLY: ClassVar[Telling] = (
        ("name", "name"),
        ("actions", "actions"),
        ("cautions", "hazards"),
    )

    name: str
    actions: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def hazards(self) -> tuple[Caution, ...]:
        """What to mind in it, in full."""
        return tuple(CAUTIONS[key] for key in self.cautions)


CAUTIONS: dict[str, Caution] = {
    "silica": Caution(
        hazard="respirable crystalline silica",
        text="dust of sand, quartz flour and cut fill harms the lungs for life. Work wet, extract at the source, wear a "
        "P3 or P100 mask; no sweeping, no compressed air. 8 h limit 0.05 mg/m³, action level 0.025 mg/m³ in one country; "
        "others differ",
        defer_to="safety data sheet; national exposure limits",
        source="occupational silica rule as reported (0.05 mg/m³ over 8 h, action level 0.025)",
    ),
    "epoxy": Caution(
        hazard="sensitisation by epoxy and hardener",
        text="skin and airways can become allergic for life. Nitrile gloves changed often, sleeves, eye protection, "
        "ventilation; do not sand what is not fully cured",
        defer_to="safety data sheets of resin and hardener",
    ),
    "exotherm": Caution(
        hazard="heat and fire from curing resin",
        text="neat resin left in the bucket can heat by 300 K, smoke and burn. Pour at once, spread left-overs in a "
        "shallow tray outdoors on something that does not burn, never leave it alone",
        defer_to="data sheet: largest batch and casting depth",
        source="adiabatic rise from heat of cure and heat capacity",
    ),
    "drying": Caution(
        hazard="hot grains, oven",
        text="grains hold heat and have hot spots; no kitchen oven for anything with resin; watch the thermostat",
        defer_to="manual of the oven",
    ),
    "wall pressure": Caution(
        hazard="pressure of the fresh fill",
        text="fresh fill presses on walls and plugs like a liquid, 10 kPa and more at half a metre: brace wide walls and "
        "rail faces, seal every hole, have rags and eye wash at hand",
        defer_to="a formwork or structural engineer for large pours",
        source="rho g h",
    ),
    "lifting": Caution(
        hazard="lifting and tipping",
        text="a filled column can weigh several times its former mass and makes the machine top-heavy: unplug, block the "
        "head, second person or hoist, feet bolted down before it stands alone",
        defer_to="local manual-handling rules; labels and inspection of lifting gear",
    ),
    "head drop": Caution(
        hazard="falling head, charged gas spring",
        text="block the head before any lock, gas spring or counterbalance is undone",
        defer_to="manual of the machine",
    ),
    "electric": Caution(
        hazard="electric shock and shorted wiring",
        text="isolate and lock the plug; keep conductive dust and resin out of boxes; have the earth continuity of the "
        "filled column checked",
        defer_to="a licensed electrician; wiring rules",
    ),
    "vibration": Caution(
        hazard="hand-arm vibration, entanglement",
        text="short spells on the vibrator; no loose sleeves or gloves near a drill mixer",
        defer_to="manual of the tool",
    ),
    "cement in aluminium": Caution(
        hazard="alkaline attack and hydrogen",
        text="fresh cement dissolves aluminium and gives off hydrogen, which burns: ventilate, no flame, vent the cell; "
        "better not to use it there",
        defer_to="data sheet of the grout",
    ),
    "cement": Caution(
        hazard="caustic burns by fresh cement",
        text="wet cement burns skin and eyes; gloves, goggles, rinse at once",
        defer_to="safety data sheet",
    ),
    "oil": Caution(
        hazard="oil on floor and rags",
        text="slippery floor; oily rags can heat and ignite by themselves: keep them in a closed metal bin",
        defer_to="safety data sheet; local fire rules",
    ),
    "spill": Caution(
        hazard="loose fill on the floor",
        text="sand and shot roll underfoot and into slides: plug both ends and sweep up wet or with a vacuum cleaner",
        defer_to="local rules",
    ),
    "foam": Caution(
        hazard="isocyanates and pressure of foam",
        text="two-part foam gives off isocyanate vapour and presses hard on closed walls; ventilate, vent the cell",
        defer_to="safety data sheet",
    ),
    "alignment": Caution(
        hazard="bow and strain",
        text="cure with the column straight and supported at its machined faces; check tram after",
        defer_to="manual of the machine",
    ),
    "waste": Caution(
        hazard="waste",
        text="cure left-over resin and hardener together before it goes away; no resin, oil or cement water down a drain",
        defer_to="safety data sheet; local waste rules",
    ),
    "tap": Caution(
        hazard="flying chips, moving machine",
        text="soft hammer, eye protection, machine off and unplugged",
        defer_to="manual of the machine",
    ),
    "weights": Caution(
        hazard="falling weights, springing cords",
        text="hang the weight a hand above the floor with a second slack cord; stay out of the line of the cord",
        defer_to="labels of the lifting gear; local rules",
    ),
    "post-cure": Caution(
        hazard="heat and fume of a warm cure",
        text="warm slowly, never above the data sheet's limit, ventilate, with a second thermostat",
        defer_to="data sheet of the resin; manual of the oven",
    ),
}

STEPS: tuple[Step, ...] = (
    Step(
        name="dry the grains",
        actions=(
            "dry to constant mass, below 0.2 % moisture: weigh, heat at 110 °C, weigh again",
            "sieve and label",
        ),
        cautions=("silica", "drying"),
    ),
    Step(
        name="void test",
        actions=(
            "fill and vibrate, weigh, add water from below to the brim, weigh",
            "three fillings, emptied in between",
        ),
        cautions=("silica",),
    ),
    Step(
        name="trial batch and test bar",
        actions=(
            "cast two bars of the trial batch",
            "weigh, bend with the gauge, tap; again after some days",
        ),
        cautions=("epoxy", "exotherm", "tap", "weights"),
    ),
    Step(
        name="take the machine apart",
        actions=(
            "note states and settings, photograph",
            "unplug; block the head; drain and clean the column",
        ),
        cautions=("head drop", "lifting", "electric"),
    ),
    Step(
        name="prepare the cells",
        actions=(
            "abrade, degrease and wipe the walls with neat resin; no silicone, no wax on a wall that has to bond",
            "sleeves, plugs and greased bolts in place; vents at the top of each cell",
            "brace wide walls and the rail face; support the column upright at its machined faces",
        ),
        cautions=("epoxy", "silica", "wall pressure"),
    ),
    Step(
        name="mix",
        actions=("resin and hardener by the scale, mixed until no streaks, then fines, then coarse grains",),
        cautions=("epoxy", "silica", "exotherm", "vibration"),
    ),
    Step(
        name="pour",
        actions=(
            "layers as planned, each compacted until no bubbles rise for a minute",
            "do not vibrate after gel",
            "read the temperature of the middle until it falls",
        ),
        cautions=("wall pressure", "exotherm", "epoxy", "vibration"),
    ),
    Step(
        name="cure",
        actions=(
            "keep it warm and still for the days that the cure curve asks for",
            "back greased bolts out after gel",
        ),
        cautions=("exotherm", "post-cure"),
    ),
    Step(
        name="check the fill",
        actions=(
            "weigh: air = 1 - mass/(volume x density)",
            "tap along the webs; load staircase in both senses",
        ),
        cautions=("tap", "weights", "lifting"),
    ),
    Step(
        name="put it back",
        actions=(
            "torque as before, tram, bolt the feet down",
            "repeat the readings of before in the same state",
        ),
        cautions=("lifting", "head drop", "electric", "alignment"),
    ),
    Step(
        name="clear up",
        actions=("cure the left-overs, bag dust wet, wash hands and tools as the data sheets say",),
        cautions=("waste", "exotherm", "silica"),
    ),
)


_OF_RESIN = {"dry the grains", "void test", "trial batch and test bar"}
_OF_ANY = {
    "lifting",
    "head drop",
    "electric",
    "vibration",
    "tap",
    "weights",
    "alignment",
    "wall pressure",
    "waste",
}
_PLAIN_ACTIONS = {
    "prepare the cells": (
        "clean and dry the walls; plugs, sleeves and greased bolts in place; vents at the top of each cell",
        "brace wide walls and the rail face; support the column upright at its machined faces",
    ),
    "mix": ("as the data sheet of the fill says",),
    "pour": ("from the bottom up, compacted until nothing settles or bubbles any more",),
    "cure": ("leave it to set for as long as its data sheet says before anything is bolted on",),
    "clear up": ("collect what is left over, wash hands and tools as the data sheets say",),
}


def steps_for(own: Sequence[str], *, resin: bool) -> tuple[Step, ...]:
    """Steps of a fill with the cautions that go with it.

    Parameters
    ----------
    own : sequence of str
        Keys of the cautions of the kind of fill.
    resin : bool
        Whether it is mixed from grains and resin.

    Returns
    -------
    tuple of Step
    """
    if resin:
        return STEPS
    found = []
    for step in STEPS:
        if step.name in _OF_RESIN:
            continue
        keys = [key for key in step.cautions if key in _OF_ANY or key in own]
        if step.name in _PLAIN_ACTIONS:  # here the fill itself is handled
            keys += [key for key in own if key not in keys]
        found.append(
            Step(name=step.name, actions=_PLAIN_ACTIONS.get(step.name, step.actions), cautions=tuple(keys))
        )
    return tuple(found)


def cautions_for(step: str) -> tuple[Caution, ...]:
    """Cautions beside a step.

    Examples
    --------
    >>> [caution.hazard for caution in cautions_for("void test")]
    ['respirable crystalline silica']
    """
    found = {s.name: s for s in STEPS}[step]
    return tuple(CAUTIONS[key] for key in found.cautions)
