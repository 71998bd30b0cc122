"""A saw cut along a tube takes nearly all of its stiffness in torsion.

Closed: GJ = 2 pi r³ t G (Bredt, who leaves out what the wall holds by itself: 0.2 %). Slit: GJ = b t³ G / 3 of a
strip with b = 2 pi r less the cut and 0.63 t for its two ends (Timoshenko & Goodier, Theory of Elasticity, art. 109).
The ratio is near 3 (r/t)²: 507.
"""

import math

import strongback as sb
from strongback.section.shapes import round_tube, slit_tube

r, t, cut = 0.026, 0.002, 0.0005
steel = sb.material("steel")
closed = sb.analyse(round_tube(steel, 2 * r + t, t)).stiffness
slit = sb.analyse(slit_tube(steel, 2 * r + t, t, cut)).stiffness
print(f"closed {closed.GJ:.4g} N m², slit {slit.GJ:.4g} N m²: {closed.GJ / slit.GJ:.0f} times")
assert abs(closed.GJ / (2 * math.pi * r**3 * t * steel.G) - 1) < 5e-3
b = 2 * math.pi * r - cut - 0.63 * t
assert abs(slit.GJ / (b * t**3 * steel.G / 3) - 1) < 5e-3
assert abs(closed.GJ / slit.GJ / (3 * (r / t) ** 2) - 1) < 2e-2
assert abs(slit.EIy / closed.EIy - 1) < 2e-2  # bending hardly notices
