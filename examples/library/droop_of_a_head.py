"""How far a head sinks on its arm by its own weight and that of the arm.

q L⁴/8EI + q L²/2kGA of the arm, W L³/3EI + W L/kGA of the head (Roark's Formulas for Stress and Strain, cantilevers;
shear added). Sizes are invented.
"""

import strongback as sb

L, head, g = 0.6, 18.0, 9.80665
box = sb.from_midline(
    "box", "aluminium", [(-0.04, -0.03), (0.04, -0.03), (0.04, 0.03), (-0.04, 0.03)], 0.004, closed=True
)
s = sb.analyse(box).stiffness
tip = (0.0, -L, 0.0)
machine = sb.Machine(
    name="arm",
    sections={"box": s},
    members=[sb.Member(name="arm", start=(0, 0, 0), end=tip, x_axis=(1, 0, 0), section="box")],
    supports=[sb.Support(name="column", part="arm", at=(0, 0, 0), stiffness="rigid")],
    masses=[sb.PointMass(name="head", part="arm", at=tip, mass=head)],
    tool=("arm", tip),
    work=("ground", tip),
)
droop = sb.loads(machine, case="own weight")["own weight"]
q, W = s.mass_per_length * g, head * g
by_hand = q * L**4 / (8 * s.EIx) + q * L**2 / (2 * s.kGAy) + W * L**3 / (3 * s.EIx) + W * L / s.kGAy
print(f"sinks by {-1e6 * droop.tool_displacement[2]:.2f} µm, by hand {1e6 * by_hand:.2f} µm")
assert abs(-droop.tool_displacement[2] / by_hand - 1) < 1e-9
((_, wrench),) = droop.reactions
assert abs(wrench[2] / (q * L + W) - 1) < 1e-9
