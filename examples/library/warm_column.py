"""A column warmer on one side leans; a machine that is warm all over only grows.

A fall of g K/m across bends a free column by a g L²/2 (Boley & Weiner, Theory of Thermal Stresses); an even rise T
moves every point by a T times its distance from what is held, without any force.
"""

import strongback as sb

L, g, T = 0.7, 40.0, 6.0
steel = sb.material("steel")
tube = sb.from_midline(
    "tube", steel, [(-0.05, -0.05), (0.05, -0.05), (0.05, 0.05), (-0.05, 0.05)], 0.005, closed=True
)
top = (0.0, 0.0, L)
machine = sb.Machine(
    name="column",
    sections={"tube": tube},
    members=[sb.Member(name="column", start=(0, 0, 0), end=top, x_axis=(1, 0, 0), section="tube")],
    supports=[sb.Support(name="bed", part="column", at=(0, 0, 0), stiffness="rigid")],
    tool=("column", top),
    work=("ground", top),
)
loop = sb.assemble(machine, sb.parts_of(machine))
leans, grows = sb.solve_cases(
    loop,
    [
        sb.LoadCase(name="sun on one side", warmings={"column": {"across": (0.0, g)}}),
        sb.LoadCase(name="warm room", warmings={"column": T}),
    ],
)
print(f"leans {1e6 * leans.tool_displacement[1]:.2f} µm, grows {1e6 * grows.tool_displacement[2]:.2f} µm")
assert abs(-leans.tool_displacement[1] / (steel.expansion * g * L**2 / 2) - 1) < 1e-6
assert abs(grows.tool_displacement[2] / (steel.expansion * T * L) - 1) < 1e-6
assert abs(grows.members[0].forces).max() < 1e-3
