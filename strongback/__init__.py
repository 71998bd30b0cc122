"""Find out why a small machine tool gives, and what to do about it.

Questions, each a function from a project (its path, or a machine) to one answer, all in SI units:

    import strongback as sb

    project = sb.read("my-machine")     # text -> Project
    found = sb.deflect(project)         # how far the tool gives under every pull, and who causes it
    print(found)                        # what the command prints
    found["sideways"].total             # [m]
    found.to_dict(), found.figure()     # what the command's --json holds, and its picture

What they are made of stands beside them: a machine, its parts, the loop of them, a pull solved in it.

Every name is loaded when it is first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from strongback._version import __version__

if TYPE_CHECKING:
    from strongback.answer import Answer as Answer
    from strongback.ask.calibrate import calibrate as calibrate
    from strongback.ask.check import check as check
    from strongback.ask.compare import compare as compare
    from strongback.ask.deflect import deflect as deflect
    from strongback.ask.explain import explain as explain
    from strongback.ask.loads import loads as loads
    from strongback.ask.map import compliance_map as compliance_map
    from strongback.ask.mix import mix as mix
    from strongback.ask.options import options as options
    from strongback.ask.plan import plan as plan
    from strongback.ask.readings import readings as readings
    from strongback.ask.ring_down import ring_down as ring_down
    from strongback.ask.sections import sections as sections
    from strongback.ask.sweep import sweep as sweep
    from strongback.ask.vibrate import vibrate as vibrate
    from strongback.errors import QuestionError as QuestionError
    from strongback.errors import StrongbackError as StrongbackError
    from strongback.machine.budget import Budget as Budget
    from strongback.machine.budget import budget as budget
    from strongback.machine.cases import solve_cases as solve_cases
    from strongback.machine.deflected import Deflected as Deflected
    from strongback.machine.loads import Combination as Combination
    from strongback.machine.loads import LoadCase as LoadCase
    from strongback.machine.loop import assemble as assemble
    from strongback.machine.part.make import parts_of as parts_of
    from strongback.machine.part.values import Parts as Parts
    from strongback.machine.solve import Deflection as Deflection
    from strongback.machine.solve import solve as solve
    from strongback.machine.values import Block as Block
    from strongback.machine.values import Gauge as Gauge
    from strongback.machine.values import Joint as Joint
    from strongback.machine.values import Machine as Machine
    from strongback.machine.values import Member as Member
    from strongback.machine.values import Pad as Pad
    from strongback.machine.values import PointMass as PointMass
    from strongback.machine.values import Pull as Pull
    from strongback.machine.values import Support as Support
    from strongback.materials import Material as Material
    from strongback.materials import material as material
    from strongback.project import Project as Project
    from strongback.project.read import read as read
    from strongback.project.write import write_project as write_project
    from strongback.section.analyse import analyse as analyse
    from strongback.section.handbook import handbook as handbook
    from strongback.section.outline import from_midline as from_midline
    from strongback.section.outline import from_rings as from_rings
    from strongback.section.values import Outline as Outline
    from strongback.section.values import SectionStiffness as SectionStiffness
    from strongback.vibration.ringdown.told import RingDown as RingDown
    from strongback.vibration.vibrated import Vibrated as Vibrated
    from strongback.views.export import export as export
    from strongback.views.show import plot as plot
    from strongback.views.show import write as write

_HOMES = {
    "Answer": "answer",
    "Block": "machine.values",
    "Budget": "machine.budget",
    "Combination": "machine.loads",
    "Deflected": "machine.deflected",
    "Deflection": "machine.solve",
    "Gauge": "machine.values",
    "Joint": "machine.values",
    "LoadCase": "machine.loads",
    "Machine": "machine.values",
    "Material": "materials",
    "Member": "machine.values",
    "Outline": "section.values",
    "Pad": "machine.values",
    "Parts": "machine.part.values",
    "PointMass": "machine.values",
    "Project": "project",
    "Pull": "machine.values",
    "QuestionError": "errors",
    "RingDown": "vibration.ringdown.told",
    "SectionStiffness": "section.values",
    "StrongbackError": "errors",
    "Support": "machine.values",
    "Vibrated": "vibration.vibrated",
    "analyse": "section.analyse",
    "assemble": "machine.loop",
    "budget": "machine.budget",
    "calibrate": "ask.calibrate",
    "check": "ask.check",
    "compare": "ask.compare",
    "compliance_map": "ask.map",
    "deflect": "ask.deflect",
    "explain": "ask.explain",
    "export": "views.export",
    "from_midline": "section.outline",
    "from_rings": "section.outline",
    "handbook": "section.handbook",
    "loads": "ask.loads",
    "material": "materials",
    "mix": "ask.mix",
    "options": "ask.options",
    "parts_of": "machine.part.make",
    "plan": "ask.plan",
    "plot": "views.show",
    "read": "project.read",
    "readings": "ask.readings",
    "ring_down": "ask.ring_down",
    "sections": "ask.sections",
    "solve": "machine.solve",
    "solve_cases": "machine.cases",
    "sweep": "ask.sweep",
    "vibrate": "ask.vibrate",
    "write": "views.show",
    "write_project": "project.write",
}

__all__ = ["__version__", *_HOMES]


def __getattr__(name: str) -> object:
    """A public name from the module that holds it, loaded at its first use (PEP 562)."""
    if name not in _HOMES:
        raise AttributeError(f"module 'strongback' has no attribute {name!r}")
    from importlib import import_module

    found: object = getattr(import_module(f"strongback.{_HOMES[name]}"), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted(__all__)
