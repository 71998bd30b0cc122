"""A post squeezed by a tie rod, and what the rod feels of a pull from outside.

Tightened to F, the rod has F and the post -F, which shortens it by F L/EA. A pull P then goes into both by their
stiffness: the rod gets P k_rod/(k_rod + k_post), the classic of the bolted joint (VDI 2230, load factor). Sizes are
invented.
"""

import strongback as sb
from strongback.section.shapes import circle, rectangular_tube

L, F, P = 0.4, 12e3, 2e3
top = (0.0, 0.0, L)


def between(name, section):
    return sb.Member(name=name, start=(0, 0, 0), end=top, x_axis=(1, 0, 0), section=section)


ends = [(name, z) for name in ("post", "rod") for z in (0.0, L)]
machine = sb.Machine(
    name="tied post",
    sections={"tube": rectangular_tube("steel", 0.06, 0.06, 0.004), "bar": circle("steel", 0.012)},
    members=[between("post", "tube"), between("rod", "bar")],
    blocks=[sb.Block(name="base", at=(0, 0, 0)), sb.Block(name="cap", at=top)],
    joints=[
        sb.Joint(
            name=f"{name} at {z:g}", parts=("cap" if z else "base", name), at=(0, 0, z), stiffness="rigid"
        )
        for name, z in ends
    ],
    supports=[sb.Support(name="floor", part="base", at=(0, 0, 0), stiffness="rigid")],
    tool=("cap", top),
    work=("ground", top),
)
parts = sb.parts_of(machine)
pull = sb.Pull(name="up", part="cap", at=top, force=(0, 0, P))
tight, pulled = sb.solve_cases(
    sb.assemble(machine, parts),
    [
        sb.LoadCase(name="tight", tightenings={"rod": F}),
        sb.LoadCase(name="pulled", tightenings={"rod": F}, pulls=[pull]),
    ],
)
rod, post = parts.sections["bar"].EA, parts.sections["tube"].EA
force = {case.name: {m.member: m.forces[0, 2] for m in case.members} for case in (tight, pulled)}
print(f"rod {force['tight']['rod']:.0f} N, with the pull {force['pulled']['rod']:.1f} N")
assert abs(force["tight"]["rod"] / F - 1) < 1e-9
assert abs(force["tight"]["post"] / -F - 1) < 1e-9
assert abs(tight.tool_displacement[2] / (-F * L / post) - 1) < 1e-9
assert abs(force["pulled"]["rod"] / (F + P * rod / (rod + post)) - 1) < 1e-9
