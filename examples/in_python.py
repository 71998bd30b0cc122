"""The whole job on the tube mill, from Python alone: how far it gives, what was read, what that tells, what to do.

Run it from anywhere: ``python examples/in_python.py``. Cells are marked for editors that run a script like a notebook.
"""

# %% The machine, and whether its file has a fault
import tempfile
from pathlib import Path

import strongback as sb

HERE = Path(__file__).parent
project = sb.read(HERE / "tube-mill")
looked = sb.check(project)
print(
    looked.sizes.total,
    "kg;",
    len(looked.faults),
    "faults;",
    *(kind.name for kind in looked.parts if kind.is_body),
)

# %% Its sections, each with the bounds of its torsion
solved = sb.sections(project)
for own in solved.sections:
    if own.solved is not None:
        print(f"{own.name}: GJ {own.stiffness.GJ:.0f} N m², known to {own.solved.gap:.2%}")

# %% How far the tool gives under each pull, and who causes it
found = sb.deflect(project)
print(found)
sideways = found["sideways"]
worst = sideways.ceilings[0]
print(f"{worst.part}: were it rigid, {worst.remains:.0%} would be left of {1e6 * sideways.total:.1f} µm")

# %% What the readings say, beside what was predicted, and the stiffnesses that they tell
print(sb.readings(project))
print(sb.compare(project))
calibrated = sb.calibrate(project)
print(calibrated)

# %% The calibrated machine, as a project of its own
with tempfile.TemporaryDirectory() as folder:
    calibrated.write(Path(folder) / "calibrated")
    known = sb.deflect(Path(folder) / "calibrated")
print(
    f"{1e6 * sideways.total:.1f} µm as handbooks have it, {1e6 * known['sideways'].total:.1f} µm as calibrated"
)

# %% What to read next, and what the two sets of readings say of the change between them
print(sb.plan(project, count=3))
print(sb.explain(project))

# %% Own weight, and a file for viewers
droop = sb.loads(project, case="own weight")["own weight"]
print(f"own weight lowers the tool by {-1e6 * droop.tool_displacement[2]:.1f} µm")
with tempfile.TemporaryDirectory() as folder:
    found.figure(of="walls", pull="sideways").savefig(Path(folder) / "walls.png")
    print(sb.export(project, Path(folder) / "sideways.vtu", pull="sideways").points, "points")
