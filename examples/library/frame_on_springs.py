"""A column with an arm on a foot that gives: the motion of the tool by the unit-load method.

P at the tip of the arm, along X: bending of the column P H³/3EI and of the arm P a³/3EI, twist of the column P a²
H/GJ, shear P (H + a)/kGA, tilt of the foot P H²/ky and its yaw P a²/kz (Timoshenko & Gere, Mechanics of Materials,
energy methods).
"""

import strongback as sb

H, a, P = 0.5, 0.3, 100.0
tube = sb.from_midline(
    "tube", "steel", [(-0.05, -0.05), (0.05, -0.05), (0.05, 0.05), (-0.05, 0.05)], 0.005, closed=True
)
s = sb.analyse(tube).stiffness
ky, kz = 2e6, 1.5e6  # of the foot, about Y and about Z [N m/rad]
tip = (0.0, -a, H)
machine = sb.Machine(
    name="frame",
    sections={"tube": s},
    members=[
        sb.Member(name="column", start=(0, 0, 0), end=(0, 0, H), x_axis=(1, 0, 0), section="tube"),
        sb.Member(name="arm", start=(0, 0, H), end=tip, x_axis=(1, 0, 0), section="tube"),
    ],
    joints=[sb.Joint(name="corner", parts=("column", "arm"), at=(0, 0, H), stiffness="rigid")],
    supports=[
        sb.Support(
            name="foot", part="column", at=(0, 0, 0), stiffness=("rigid", "rigid", "rigid", "rigid", ky, kz)
        )
    ],
    pulls=[sb.Pull(name="sideways", part="arm", at=tip, force=(P, 0, 0))],
    tool=("arm", tip),
    work=("ground", tip),
)
found = sb.deflect(machine)["sideways"]
by_hand = P * (
    H**3 / (3 * s.EIy) + a**3 / (3 * s.EIy) + a**2 * H / s.GJ + (H + a) / s.kGAx + H**2 / ky + a**2 / kz
)
print(f"{1e6 * found.deflection.tool_displacement[0]:.3f} µm, by hand {1e6 * by_hand:.3f} µm")
print(found.budget)
assert abs(found.deflection.tool_displacement[0] / by_hand - 1) < 1e-6
assert abs(sum(row.share for row in found.budget.rows) - 1) < 1e-9
