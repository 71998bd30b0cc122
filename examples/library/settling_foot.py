"""A bed on three feet, of which one sinks: the tool follows the plane of the feet and nothing is bent.

The plane through three points is statics alone: with the right foot down by d the bed tilts by d/w about the line of
the other two. With a fourth, stiff foot it would bend: a beam held at one end whose prop sinks by d answers with d /
(L³/3EI + L/kGA) (Roark's Formulas, propped cantilever, shear added).
"""

import strongback as sb
from strongback.section.shapes import rectangular_tube

d, w, depth = 0.2e-3, 0.5, 0.4
pin = (1e9, 1e9, 1e9, "free", "free", "free")
feet = {"left front": (0, 0, 0), "left back": (0, depth, 0), "right": (w, depth / 2, 0)}
tool = (w / 2, depth / 2, 0.6)
bed = sb.Machine(
    name="bed",
    sections={},
    members=[],
    blocks=[sb.Block(name="bed", at=(0, 0, 0))],
    supports=[sb.Support(name=name, part="bed", at=at, stiffness=pin) for name, at in feet.items()],
    tool=("bed", tool),
    work=("ground", tool),
)
sinks = sb.LoadCase(name="sinks", settlements={"right": (0, 0, -d)})
(found,) = sb.solve_cases(sb.assemble(bed, sb.parts_of(bed)), [sinks])
print(
    f"tool {1e6 * found.tool_displacement[0]:.1f} µm to the right, {1e6 * found.tool_displacement[2]:.1f} µm up"
)
assert abs(found.tool_displacement[2] / (-d / 2) - 1) < 1e-9  # half way between the feet
assert abs(found.tool_displacement[0] / (tool[2] * d / w) - 1) < 1e-9  # the tilt, at its height
assert all(abs(wrench).max() < 1e-3 for _, wrench in found.reactions)

L, end = 0.8, (0.8, 0.0, 0.0)
s = sb.analyse(rectangular_tube("steel", 0.06, 0.06, 0.004)).stiffness
propped = sb.Machine(
    name="propped",
    sections={"tube": s},
    members=[sb.Member(name="beam", start=(0, 0, 0), end=end, x_axis=(0, 1, 0), section="tube")],
    supports=[
        sb.Support(name="wall", part="beam", at=(0, 0, 0), stiffness="rigid"),
        sb.Support(
            name="prop", part="beam", at=end, stiffness=("free", "free", "rigid", "free", "free", "free")
        ),
    ],
    tool=("beam", end),
    work=("ground", end),
)
case = sb.LoadCase(name="sinks", settlements={"prop": (0, 0, -d)})
(bent,) = sb.solve_cases(sb.assemble(propped, sb.parts_of(propped)), [case])
force = dict(bent.reactions)["prop"][2]
print(f"a stiff prop that sinks as far is let off {-force:.1f} N")
assert abs(force / (-d / (L**3 / (3 * s.EIy) + L / s.kGAx)) - 1) < 1e-6
