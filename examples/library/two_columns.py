"""A gantry: two columns, held at the foot, with a stiff bridge between their heads, pushed sideways.

Each column bends as one that cannot turn at its head: P h³/12EI for half of the force, with shear P h/kGA; the moment
at each foot is P h/4. Roark's Formulas, frames. The push of the tilting bridge on the columns is left out by hand: it
stands still since the columns stand far apart, and costs 0.2 %.
"""

import strongback as sb
from strongback.section.shapes import rectangular_tube

h, w, P = 0.5, 1.6, 200.0
s = sb.analyse(rectangular_tube("steel", 0.05, 0.05, 0.004)).stiffness
heads = {"left": (-w / 2, 0, h), "right": (w / 2, 0, h)}
middle = (0.0, 0.0, h)
machine = sb.Machine(
    name="gantry",
    sections={"tube": s},
    members=[
        sb.Member(name=name, start=(x, 0, 0), end=(x, 0, h), x_axis=(1, 0, 0), section="tube")
        for name, (x, _, _) in heads.items()
    ],
    blocks=[sb.Block(name="bridge", at=middle)],
    joints=[
        sb.Joint(name=f"{name} head", parts=(name, "bridge"), at=at, stiffness="rigid")
        for name, at in heads.items()
    ],
    supports=[
        sb.Support(name=f"{name} foot", part=name, at=(x, 0, 0), stiffness="rigid")
        for name, (x, _, _) in heads.items()
    ],
    pulls=[sb.Pull(name="sideways", part="bridge", at=middle, force=(P, 0, 0))],
    tool=("bridge", middle),
    work=("ground", middle),
)
found = sb.deflect(machine)["sideways"].deflection
by_hand = P / 2 * (h**3 / (12 * s.EIy) + h / s.kGAx)
print(f"{1e6 * found.tool_displacement[0]:.2f} µm, by hand {1e6 * by_hand:.2f} µm")
assert abs(found.tool_displacement[0] / by_hand - 1) < 5e-3
for _, wrench in found.reactions:
    assert abs(wrench[0] / (-P / 2) - 1) < 1e-6
    assert abs(abs(wrench[4]) / (P * h / 4) - 1) < 2e-2
