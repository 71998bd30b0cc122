"""Fills that slide or slip: limits, Newmark's partial interaction, its analogue in torsion."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from scipy.integrate import solve_bvp
from sections import ALUMINIUM, MINERAL, box, made_of, two_cells

from strongback.errors import OutlineError
from strongback.materials import Material
from strongback.section import shapes
from strongback.section.analyse import SectionResult, analyse
from strongback.section.bond import interaction, parallel
from strongback.section.outline import filled, from_rings
from strongback.section.values import Bond, Cell, Fill, Outline, stiffness_from_constants

TUBE = shapes.rectangular_tube(ALUMINIUM, 0.12, 0.09, 0.005)


def with_fill(outline: Outline, bond: Bond, *cells: str, material: Material = MINERAL) -> Outline:
    return filled(outline, {name: Fill(material=material, bond=bond) for name in cells})


def limits(result: SectionResult) -> tuple[object, object]:
    found = dict(result.limits)
    return found["bonded"], found["sliding"]


def test_both_limits_are_given_whatever_the_bond() -> None:
    bonds: tuple[Bond, ...] = ("bonded", "sliding", 1e10)
    values = [dict(analyse(with_fill(TUBE, bond, "inside")).limits) for bond in bonds]
    for other in values[1:]:
        assert other["bonded"].GJ == pytest.approx(values[0]["bonded"].GJ, rel=1e-9)
        assert other["sliding"].GJ == pytest.approx(values[0]["sliding"].GJ, rel=1e-9)
    assert analyse(TUBE).limits == ()


def test_gain_in_bending_of_a_filled_tube() -> None:
    # Both centroids coincide, so the bond changes nothing: 1 + E_f (b h³)_core/(E_w ((b h³)_outer - (b h³)_core)).
    core, outer = 0.11 * 0.08**3, 0.12 * 0.09**3
    by_hand = 1.0 + 30.0 * core / (70.0 * (outer - core))
    empty, full = analyse(TUBE).stiffness, dict(analyse(with_fill(TUBE, "bonded", "inside")).limits)
    assert full["bonded"].EIx / empty.EIx == pytest.approx(by_hand, rel=1e-9)
    assert full["sliding"].EIx / empty.EIx == pytest.approx(by_hand, rel=1e-9)


def test_sliding_in_one_cell_adds_the_parts() -> None:
    # Frictionless: the wall and the core twist together, each warping on its own.
    core = analyse(shapes.rectangle(MINERAL, 0.11, 0.08), tolerance=1e-4).stiffness
    wall = analyse(TUBE, tolerance=1e-4).stiffness
    loose = analyse(with_fill(TUBE, "sliding", "inside"), tolerance=1e-4).stiffness
    assert loose.GJ == pytest.approx(core.GJ + wall.GJ, rel=1e-4)
    assert loose.EIx == pytest.approx(core.EIx + wall.EIx, rel=1e-12)
    assert loose.EA == pytest.approx(wall.EA, rel=1e-12)
    assert loose.mass_per_length == pytest.approx(core.mass_per_length + wall.mass_per_length, rel=1e-12)


def test_bonded_is_never_softer_than_sliding() -> None:
    found = dict(analyse(with_fill(two_cells(), "bonded", "a", "b")).limits)
    for key in ("EA", "EIx", "EIy", "GJ"):
        assert getattr(found["bonded"], key) > getattr(found["sliding"], key)


def test_one_cell_bonded_and_one_sliding() -> None:
    outline = filled(two_cells(), {"a": Fill(material=MINERAL), "b": Fill(material=MINERAL, bond="sliding")})
    mixed = analyse(outline)
    found = dict(mixed.limits)
    assert found["sliding"].GJ < mixed.stiffness.GJ < found["bonded"].GJ
    only_a = analyse(with_fill(two_cells(), "bonded", "a"))
    core = analyse(from_rings("b", MINERAL, box(0.064, 0.004, 0.096, 0.045)))
    assert mixed.stiffness.GJ == pytest.approx(only_a.stiffness.GJ + core.stiffness.GJ, rel=1e-3)
    assert mixed.GJ_lower < mixed.stiffness.GJ < mixed.GJ_upper


@pytest.mark.slow
def test_slip_goes_from_sliding_to_bonded() -> None:
    slips = np.geomspace(1e6, 1e18, 5)
    found = [analyse(with_fill(two_cells(), float(k), "a"), half_wave=0.8) for k in slips]
    low, high = dict(found[0].limits)["sliding"], dict(found[0].limits)["bonded"]
    for key in ("GJ", "EIx", "EIy", "EA"):
        values = [getattr(f.stiffness, key) for f in found]
        assert np.all(np.diff(values) > 0.0)
        assert values[0] == pytest.approx(getattr(low, key), rel=1e-3)
        assert values[-1] == pytest.approx(getattr(high, key), rel=1e-3)
    assert all(f.GJ_lower <= f.stiffness.GJ <= f.GJ_upper and f.gap <= 1e-3 for f in found)
    assert found[-1].stiffness.centroid == pytest.approx(high.centroid, abs=1e-6)
    assert found[0].stiffness.shear_centre == pytest.approx(low.shear_centre, abs=1e-5)


def test_slip_in_bending_needs_a_length() -> None:
    # Without one the fill is taken to slide in bending, the lower limit; torsion does not depend on length.
    outline = with_fill(two_cells(), 1e11, "a")
    without, long, short = (analyse(outline, half_wave=h) for h in (None, 2.0, 0.4))
    assert without.stiffness.EIy == pytest.approx(dict(without.limits)["sliding"].EIy, rel=1e-12)
    assert without.stiffness.EIy < short.stiffness.EIy < long.stiffness.EIy
    assert without.stiffness.GJ == pytest.approx(long.stiffness.GJ, rel=1e-12)


def test_interaction_against_the_equations_of_newmark() -> None:
    # Newmark, Siess & Viest 1951: two layers, slip force F' = -k s, s' = F (1/EA1 + 1/EA2) - r kappa,
    # sum(EI) kappa = M - F r, solved here as a boundary problem for M = sin(pi x/L), F = 0 at both ends.
    EA1, EA2, EI, r, k, L = 7e7, 3e7, 2e4, 0.03, 4e8, 0.9
    axial = EA1 * EA2 / (EA1 + EA2)

    def equations(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        F, dF = y
        kappa = (np.sin(math.pi * x / L) - F * r) / EI
        return np.vstack([dF, k * (F / axial - r * kappa)])

    x = np.linspace(0.0, L, 60)
    start = np.vstack([np.sin(math.pi * x / L), np.cos(math.pi * x / L)])
    found = solve_bvp(equations, lambda a, b: np.array([a[0], b[0]]), x, start, tol=1e-7, max_nodes=20_000)
    assert found.success
    kappa = (1.0 - found.sol(L / 2)[0] * r) / EI
    layers = [
        stiffness_from_constants(
            name="layer", EA=a, EIx=EI / 2, EIy=1.0, GJ=1.0, kGAx=1e9, kGAy=1e9, centroid=(0.0, y)
        )
        for a, y in ((EA1, 0.0), (EA2, r))
    ]
    share = interaction(L, k, EA2)
    assert parallel(layers, "beam", (1.0, share)).EIx == pytest.approx(1.0 / kappa, rel=1e-6)


def test_interaction_is_gamma_of_timber_design() -> None:
    # EN 1995-1-1 Annex B, eq. (B.5): gamma = 1/(1 + pi² E A s/(K l²)), s/K being one over the slip stiffness per length
    # (formula from memory). E A = 11 GPa x 0.02 m², K = 5 kN/mm at s = 100 mm, l = 6 m: gamma = 0.45325.
    assert interaction(6.0, 5e6 / 0.1, 11e9 * 0.02) == pytest.approx(0.45325, abs=5e-6)


@pytest.mark.parametrize("u", [0.1, 0.5, 1.0, 2.0])
def test_slip_in_torsion_against_the_closed_form(u: float) -> None:
    # Two thin strips flat on each other, 100 x 2 each: the formula is for t/b to zero; both limits of the real thing
    # are lower by about 0.63 t/b (Saint-Venant's rectangle), 1.3 and 2.5 %, so the share between them is compared.
    b, t, G = 0.1, 0.002, 3e9
    slip = (2 * u / b) ** 2 * G * t / 2
    result = analyse(strips(b, t, made_of(2 * G, 0.0), slip))
    low, high = dict(result.limits)["sliding"].GJ, dict(result.limits)["bonded"].GJ
    bonded, apart = strips_in_torsion(b, t, G, 1e30), strips_in_torsion(b, t, G, 0.0)
    formula = (strips_in_torsion(b, t, G, slip) - apart) / (bonded - apart)
    assert (result.stiffness.GJ - low) / (high - low) == pytest.approx(formula, rel=0.035)
    assert result.stiffness.GJ == pytest.approx(strips_in_torsion(b, t, G, slip), rel=0.015)


def strips_in_torsion(width: float, thickness: float, G: float, slip: float) -> float:
    """Torsion stiffness of two equal thin strips, flat on each other, that slip along their length.

    Parameters
    ----------
    width, thickness : float
        Of one strip, thickness much below width [m].
    G : float
        Shear modulus [Pa].
    slip : float
        Slip stiffness per area [N/m³].

    Returns
    -------
    float
        GJ [N m²]: 2 G b t³/3 + 2 G b t³ (1 - tanh(u)/u), u = (b/2) sqrt(2 k/(G t)).

    Notes
    -----
    The analogue of partial interaction in bending. The slip 2V of the strips obeys G t V'' = 2 k V across the width with
    V' = tau t at the edges, tau being the rate of twist; its energy with that of the strips gives the formula. The
    limits are those of thin rectangles, G b (2t)³/3 and 2 G b t³/3.

    """
    apart = 2.0 * G * width * thickness**3 / 3.0
    if slip <= 0.0:
        return apart
    u = 0.5 * width * math.sqrt(2.0 * slip / (G * thickness))
    return apart + 2.0 * G * width * thickness**3 * (1.0 - math.tanh(u) / u)


def strips(b: float, t: float, material: Material, slip: float) -> Outline:
    wall = from_rings("strips", material, box(0, -t, b, 0)).walls
    upper = Cell(name="up", ring=tuple(box(0, 0, b, t)), fill=Fill(material=material, bond=slip))
    return Outline(name="strips", walls=wall, cells=(upper,))


def test_limits_of_the_closed_form() -> None:
    # Thin rectangles: G b (2t)³/3 in one piece and 2 G b t³/3 in two.
    assert strips_in_torsion(0.1, 1e-3, 3e9, 0.0) == pytest.approx(2 * 3e9 * 0.1 * 1e-9 / 3, rel=1e-12)
    assert strips_in_torsion(0.1, 1e-3, 3e9, 1e30) == pytest.approx(3e9 * 0.1 * 8e-9 / 3, rel=1e-6)


def test_round_core_does_not_care() -> None:
    # Concentric circles do not warp: the bond has nothing to hold in torsion.
    tube = shapes.round_tube(ALUMINIUM, 0.1, 0.005, count=120)
    found = dict(analyse(with_fill(tube, "bonded", "inside")).limits)
    assert found["sliding"].GJ == pytest.approx(found["bonded"].GJ, rel=1e-3)


def test_shear_centre_of_pieces_that_slide() -> None:
    # Two equal bars side by side that share deflection: a force half way between them does not twist them, and twist
    # about that point bends each over its arm: EGamma = 2 EI (a/2)².
    bar = analyse(shapes.rectangle(ALUMINIUM, 0.02, 0.04), tolerance=1e-3).stiffness
    a = 0.06
    other = dataclasses.replace(bar, centroid=(a, 0.0), shear_centre=(a, 0.0))
    both = parallel([bar, other], "pair")
    assert both.shear_centre == pytest.approx((a / 2, 0.0), abs=1e-6)
    assert both.EGamma == pytest.approx(2 * bar.EGamma + 2 * bar.EIx * (a / 2) ** 2, rel=1e-6)
    assert both.kGAy == pytest.approx(2 * bar.kGAy, rel=1e-9)
    # T2 acts as a couple of shear forces T2/a: GD = 2 kGA (a/2)², a little softer by the bars' own.
    stiff = np.array(both.matrix)[6, 6] - 0.0
    assert stiff == pytest.approx(2 * bar.kGAy * (a / 2) ** 2, rel=0.1)


def test_plates_on_a_sliding_core_slide_too() -> None:
    # A sandwich whose core holds nothing along the member: each layer bends about its own middle.
    low = from_rings("sandwich", ALUMINIUM, box(0, 0, 0.1, 0.004)).walls[0]
    high = from_rings("sandwich", ALUMINIUM, box(0, 0.024, 0.1, 0.028)).walls[0]
    core = Cell(
        name="core",
        ring=tuple(box(0, 0.004, 0.1, 0.024)),
        fill=Fill(material=MINERAL, bond="sliding"),
    )
    walls = (low, dataclasses.replace(high, name="upper"))
    s = analyse(Outline(name="sandwich", walls=walls, cells=(core,))).stiffness
    parts = ((70e9, 0.004), (30e9, 0.02), (70e9, 0.004))
    assert s.EIx == pytest.approx(sum(E * 0.1 * t**3 / 12 for E, t in parts), rel=1e-9)
    assert s.EA == pytest.approx(70e9 * 0.1 * 0.004, rel=1e-9)


@pytest.mark.parametrize(
    ("slip", "limit"), [(0.0, "sliding"), (1e-6, "sliding"), (1e30, "bonded"), (math.inf, "bonded")]
)
def test_extreme_slip_is_its_limit(slip: float, limit: str) -> None:
    result = analyse(with_fill(TUBE, slip, "inside"), tolerance=1e-2)
    assert result.stiffness == dict(result.limits)[limit]


@pytest.mark.parametrize("slip", [-1.0, math.nan])
def test_absurd_slip_is_refused(slip: float) -> None:
    with pytest.raises(
        OutlineError, match=r"fill of .*: bond = (-1|nan) must (not be below 0|be a finite number)"
    ):
        analyse(with_fill(TUBE, slip, "inside"))
