"""Pour: pressure, bulge, layers, buried things; heat; recipe; balance; other fills; cautions."""

import dataclasses
import math

import numpy as np
import pytest

from strongback.errors import MixError
from strongback.remedies.fill.balance import Lump, centre_of_mass, lifting_note, tipping
from strongback.remedies.fill.cautions import CAUTIONS, STEPS, cautions_for, steps_for
from strongback.remedies.fill.cure import Kinetics
from strongback.remedies.fill.heat import (
    Face,
    Thermal,
    adiabatic_rise,
    cure_heat,
    mix_heat_capacity,
    sideways_loss,
)
from strongback.remedies.fill.other_fills import KINDS, fill_kind
from strongback.remedies.fill.pour import Access, buried, layers, pour_pressure, wall_bulge
from strongback.remedies.fill.recipe import (
    Resin,
    check_ratio,
    mix_density,
    recipe,
    resin_demand,
    resin_mass_fraction,
)

EPOXY = Resin(name="epoxy", a=100.0, b=32.0, density=1120.0, price=12.0)


def test_pressure_at_the_foot():
    """rho g h, full fluid head as in concrete formwork practice: 11.2776475 kPa."""
    assert pour_pressure(2300.0, 0.5) == pytest.approx(11277.6475, rel=1e-9)


def test_bulge_of_a_wall_strip():
    """Timoshenko & Woinowsky-Krieger, cylindrical bending: 16.616 µm and 6.265 MPa for 100 x 3 mm."""
    found = wall_bulge(0.1, 3e-3, 70e9, 0.33, pour_pressure(2300.0, 0.5))
    assert found.clamped * 1e3 == pytest.approx(0.01661625609664352, rel=1e-9)
    assert found.edge_stress / 1e6 == pytest.approx(6.265359722222222, rel=1e-9)
    assert found.supported == pytest.approx(5 * found.clamped)


@pytest.mark.parametrize(("t", "bulge"), [(2, 21.0), (3, 6.4), (4, 2.7)])
def test_bulge_worked_by_hand(t, bulge):
    """80 mm wide, 10.5 kPa: 21, 6.4 and 2.7 µm clamped; worked by hand from the stated formula."""
    assert wall_bulge(0.08, t * 1e-3, 70e9, 0.33, 10.5e3).clamped * 1e6 == pytest.approx(bulge, rel=0.02)


def test_layers_and_loads():
    found = layers(0.42, 0.1, 10.0, 1.5, 2400.0, 3 * 3600.0)
    assert (found.count, found.batches) == (5, 2)
    assert found.height == pytest.approx(0.084)
    assert found.minutes_per_batch == pytest.approx(2400 * 2 / 3 / 60)
    assert found.total == pytest.approx(5 * 2 * 1600 + 4 * 3 * 3600)


def test_what_is_buried():
    items = [
        Access(name="base bolt", kind="bolt", cell="core", at=0.02),
        Access(name="spindle wire", kind="wire", cell="core", at=0.2, sleeve=True),
        Access(name="top screw", kind="screw", cell="core", at=0.5),
        Access(name="rear hole", kind="hole", cell="rear", at=0.1),
    ]
    found = buried(items, ["core"], 0.0, 0.45)
    assert [b.blocked for b in found] == [True, False, False, False]
    assert "grease" in found[0].advice
    assert "sleeve" in found[1].advice
    assert found[2].advice == found[3].advice == "outside the fill"
    with pytest.raises(MixError, match="not above its beginning"):
        buried(items, ["core"], 0.3, 0.3)


# Heat


def test_adiabatic_rise_worked_by_hand():
    """H 450 kJ/kg, 1500 and 800 J/(kg K): 300, 96, 75, 52 K; worked by hand from the stated formula."""
    assert [adiabatic_rise(w) for w in (1.0, 0.2, 0.15, 0.1)] == pytest.approx([300, 96, 75, 52], abs=1.0)


def thermal(w=0.15):
    return Thermal(conductivity=1.0, density=2200.0, capacity=mix_heat_capacity(w), heat=w * 450e3)


def test_a_slab_without_loss_rises_adiabatically():
    found = cure_heat(
        0.08,
        thermal(),
        Kinetics(k2=2 / 3600),
        (Face(film=0.0), Face(film=0.0)),
        start=293.15,
        air=293.15,
        duration=4 * 86400.0,
    )
    assert found.degree.min() > 0.99
    assert found.peak - 293.15 == pytest.approx(float(found.degree.mean()) * adiabatic_rise(0.15), rel=1e-9)
    assert found.lost == 0.0


def test_heat_is_neither_made_nor_lost():
    found = cure_heat(
        0.08,
        thermal(),
        Kinetics(k2=1 / 3600),
        (Face(film=10.0, wall=8e3), Face(film=25.0)),
        start=295.15,
        air=290.15,
        duration=86400.0,
    )
    assert found.lost + found.stored == pytest.approx(found.released, rel=1e-9)
    assert found.peak < 295.15 + adiabatic_rise(0.15)
    assert "degC" in repr(found)


def test_cooling_without_cure_follows_the_series():
    """Slab with faces held at 0: T(0, t) = 4/pi sum (-1)^k/(2k+1) exp(-(2k+1)^2 pi^2 a t/L^2) (Carslaw and Jaeger)."""
    cold = Thermal(conductivity=1.0, density=2000.0, capacity=1000.0, heat=0.0)
    L, t = 0.08, 1200.0
    found = cure_heat(
        L,
        cold,
        Kinetics(k2=1e-9),
        (Face(film=1e7), Face(film=1e7)),
        start=310.0,
        air=290.0,
        duration=t,
        cells=161,
        largest_step=1.0,
    )
    k = np.arange(20)
    series = (
        4
        / math.pi
        * np.sum(
            (-1.0) ** k / (2 * k + 1) * np.exp(-((2 * k + 1) ** 2) * math.pi**2 * cold.diffusivity * t / L**2)
        )
    )
    assert (found.hottest[-1] - 290.0) / 20.0 == pytest.approx(series, rel=2e-3)


def test_cooling_through_a_film_follows_the_first_root():
    """Late decay of a slab with films: rate a z²/(L/2)², z tan z = h L/(2 k) (Carslaw and Jaeger)."""
    from scipy.optimize import brentq

    cold = Thermal(conductivity=1.0, density=2000.0, capacity=1000.0, heat=0.0)
    L, h = 0.08, 20.0
    z = brentq(lambda x: x * math.tan(x) - h * L / 2, 1e-6, math.pi / 2 - 1e-6)
    found = cure_heat(
        L,
        cold,
        Kinetics(k2=1e-9),
        (Face(film=h), Face(film=h)),
        start=310.0,
        air=290.0,
        duration=4 * 3600.0,
        largest_step=5.0,
    )
    late = found.times > 3600.0
    rate = -np.polyfit(found.times[late], np.log(found.hottest[late] - 290.0), 1)[0]
    assert rate == pytest.approx(cold.diffusivity * (2 * z / L) ** 2, rel=5e-3)


def test_finer_steps_change_little():
    def peak(cells, step):
        return (
            cure_heat(
                0.08,
                thermal(0.2),
                Kinetics(k2=3 / 3600),
                (Face(), Face()),
                start=295.0,
                air=295.0,
                duration=86400.0,
                cells=cells,
                largest_step=step,
            ).peak
            - 295.0
        )

    assert peak(40, None) == pytest.approx(peak(80, 20.0), rel=0.02)


def test_thin_layers_and_slow_hardener_stay_cooler():
    def peak(L, k2):
        return cure_heat(
            L, thermal(), Kinetics(k2=k2), (Face(), Face()), start=295.0, air=295.0, duration=2 * 86400.0
        ).peak

    assert peak(0.02, 1 / 3600) < peak(0.05, 1 / 3600) < peak(0.1, 1 / 3600)
    assert peak(0.05, 0.3 / 3600) < peak(0.05, 1 / 3600)


def test_losses_sideways_and_into_cured_fill_cool_a_layer():
    def run(**more):
        return cure_heat(
            0.08,
            thermal(),
            Kinetics(k2=1 / 3600),
            (Face(film=0.0), Face()),
            start=295.0,
            air=295.0,
            duration=2 * 86400.0,
            **more,
        )

    bare, finned, stacked = run(), run(sideways=400.0), run(below=0.08)
    assert finned.peak < bare.peak
    assert stacked.peak < bare.peak
    for found in (finned, stacked):
        assert found.lost + found.stored == pytest.approx(found.released, rel=1e-9)
    # A prism that loses evenly and is otherwise closed decays with sideways / (rho c).
    cold = Thermal(conductivity=1.0, density=2000.0, capacity=1000.0, heat=0.0)
    closed = cure_heat(
        0.08,
        cold,
        Kinetics(k2=1e-9),
        (Face(film=0.0), Face(film=0.0)),
        start=310.0,
        air=310.0 - 20.0,
        duration=3600.0,
        sideways=300.0,
        largest_step=1.0,
    )
    assert (closed.hottest[-1] - 290.0) / 20.0 == pytest.approx(math.exp(-300.0 * 3600 / 2e6), rel=1e-3)


def test_sideways_loss_in_series():
    """Film alone for a good conductor; perimeter over area for a square: 4/b."""
    assert sideways_loss(0.32, 0.0064, 0.04, 1e9, 10.0) == pytest.approx(10.0 * 50.0)
    assert sideways_loss(0.32, 0.0064, 0.04, 1.0, 10.0) == pytest.approx(50.0 / (0.1 + 0.04 / 3))


# Recipe


def test_resin_fills_the_voids_of_a_sand():
    """Void fraction 0.38, 1100 and 2650 kg/m³: 0.20281 by mass, 2061 kg/m³ (mass balance)."""
    assert resin_mass_fraction(0.38, 1100.0, 2650.0) == pytest.approx(0.20281416787967008, rel=1e-12)
    assert mix_density(0.38, 1100.0, 2650.0) == pytest.approx(2061.0, rel=1e-12)


def test_batch_worked_by_hand():
    """4.2 L, loss 5 %, void 0.27, excess 8 %, 100:32: 1091, 349, 8279 g; worked by hand from the stated formulas."""
    found = recipe(
        4.2e-3, 0.27, EPOXY, [("sand", 1.0)], grain_density=2650.0, excess=0.08, loss=0.05, mixer=5.0
    )
    grams = [found.whole.resin_a, found.whole.resin_b, found.whole.grains[0][1]]
    assert [g * 1e3 for g in grams] == pytest.approx([1091, 349, 8279], abs=1.0)
    assert found.resin_volume_fraction == pytest.approx(0.292, abs=5e-4)
    assert found.resin_mass_fraction == pytest.approx(0.148, abs=5e-4)
    assert found.density == pytest.approx(2204, abs=1.0)
    assert found.whole.mass == pytest.approx(9.72, abs=0.005)
    assert found.batches == 2
    assert 2 * found.batch.mass == pytest.approx(found.whole.mass, rel=1e-12)
    assert found.fill_mass == pytest.approx(found.whole.mass / 1.05, rel=1e-12)


def test_cost_and_shares():
    found = recipe(
        1e-3,
        0.35,
        EPOXY,
        [("coarse", 0.6), ("fine", 0.4)],
        grain_density=2650.0,
        loss=0.0,
        mixer=10.0,
        prices=(0.5, 1.0),
    )
    resin = found.whole.resin_a + found.whole.resin_b
    coarse, fine = (mass for _, mass in found.whole.grains)
    assert found.cost == pytest.approx(12.0 * resin + 0.5 * coarse + 1.0 * fine, rel=1e-12)
    assert coarse / fine == pytest.approx(1.5)
    assert found.whole.mass == pytest.approx(found.fill_mass)


def test_a_ratio_turned_round_is_asked_about():
    turned = dataclasses.replace(EPOXY, a=32.0, b=100.0)
    found = recipe(4e-3, 0.35, turned, [("sand", 1.0)], grain_density=2650.0)
    assert any("turned round" in w for w in found.warnings)
    assert not any(
        "turned round" in w for w in recipe(4e-3, 0.35, EPOXY, [("s", 1.0)], grain_density=2650.0).warnings
    )


def test_dry_mix_and_small_hardener_are_warned_of():
    found = recipe(2e-4, 0.10, EPOXY, [("sand", 1.0)], grain_density=2650.0)
    assert any("bonded poorly" in w for w in found.warnings)
    assert any("finer scale" in w for w in found.warnings)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: resin_demand(0.02), "void fraction"),
        (lambda: resin_demand(0.75), "void fraction"),
        (lambda: resin_demand(0.4, -0.1), "wetting excess"),
        (lambda: check_ratio(0.0, 32.0), "parts of resin"),
        (lambda: check_ratio(8.0, 100.0), "ten times more hardener"),
        (lambda: check_ratio(100.0, -1.0), "parts of hardener"),
        (lambda: check_ratio(100.0, 0.1), "beyond 200 to 1"),
        (lambda: recipe(-1.0, 0.4, EPOXY, [("s", 1.0)], grain_density=2650.0), "volume of the cavity"),
        (lambda: recipe(1.0, 0.4, EPOXY, [("s", 0.0)], grain_density=2650.0), "shares of the bags"),
        (
            lambda: recipe(1.0, 0.7, EPOXY, [("s", 1.0)], grain_density=2650.0, excess=0.5),
            "fill the whole cavity",
        ),
        (lambda: recipe(1.0, 0.4, EPOXY, [("s", 1.0)], grain_density=2650.0, mixer=0.0), "mixer load"),
        (lambda: layers(0.4, 0.1, 10.0, 1.0, -5.0, 0.0), "pot life"),
        (lambda: wall_bulge(0.1, 0.0, 70e9, 0.3, 1e4), "thickness of the wall"),
        (lambda: adiabatic_rise(1.5), "resin mass fraction"),
    ],
)
def test_refusals(call, message):
    with pytest.raises(MixError, match=message):
        call()


# Balance

FEET = [(-0.15, -0.15), (0.15, -0.15), (0.15, 0.15), (-0.15, 0.15)]


def test_tipping_turns_at_the_mass_worked_by_hand():
    """Base 20 kg in the middle, column m at y = -0.25 m behind feet at -0.15 m: tips at m = 20 x 0.15/0.10 = 30 kg."""

    def moment(m):
        return tipping(
            [Lump(name="base", mass=20.0, at=(0, 0, 0.1)), Lump(name="column", mass=m, at=(0, -0.25, 0.4))],
            FEET,
        ).moment

    assert moment(30.0 * 0.99) > 0.0 > moment(30.0 * 1.01)
    assert moment(30.0) == pytest.approx(0.0, abs=1e-9)


def test_centre_and_sideways_force():
    lumps = [Lump(name="a", mass=1.0, at=(0, 0, 0)), Lump(name="b", mass=3.0, at=(0, 0, 0.4))]
    mass, centre = centre_of_mass(lumps)
    assert mass == 4.0
    assert centre == pytest.approx([0, 0, 0.3])
    found = tipping(lumps, FEET)
    assert found.moment == pytest.approx(4 * 9.80665 * 0.15)
    assert found.sideways == pytest.approx(4 * 9.80665 * 0.15 / 0.3)
    with pytest.raises(MixError, match="one line"):
        tipping(lumps, [(0, 0), (1, 0), (2, 0)])
    with pytest.raises(MixError, match="no mass"):
        centre_of_mass([Lump(name="a", mass=0.0, at=(0, 0, 0))])


def test_lifting():
    assert "persons" not in lifting_note("column", 12.0)
    assert "3 persons or a hoist" in lifting_note("column", 60.0)


# Other fills and cautions


def test_dry_fills_add_mass_only():
    for name in ("dry sand", "steel shot", "oil-soaked sand"):
        assert not fill_kind(name).stiffens
        assert fill_kind(name).density > 1000.0
    for name in ("resin-bonded mineral", "cement grout", "bars bonded in", "foam"):
        kind = fill_kind(name)
        assert kind.stiffens
        low, high = kind.material.E_range
        assert low <= kind.material.E <= high


def test_cement_attacks_aluminium_only():
    assert fill_kind("cement grout").attacks("aluminium 6060")
    assert not fill_kind("cement grout").attacks("steel")
    assert not fill_kind("resin-bonded mineral").attacks("aluminium 6060")


def test_unknown_fill():
    with pytest.raises(MixError, match='unknown fill "cement gruot"') as caught:
        fill_kind("cement gruot")
    assert "cement grout" in caught.value.hint


def test_every_step_has_a_caution_and_every_caution_defers():
    for step in STEPS:
        assert step.actions
        assert cautions_for(step.name)
    for caution in CAUTIONS.values():
        assert caution.defer_to.strip()
        assert caution.source.strip()
    used = {key for step in STEPS for key in step.cautions} | {
        key for kind in KINDS.values() for key in kind.cautions
    }
    assert used == set(CAUTIONS)


@pytest.mark.parametrize("name", list(KINDS))
def test_every_step_of_every_fill_has_a_caution(name):
    kind = KINDS[name]
    steps = steps_for(kind.cautions, resin=name == "resin-bonded mineral")
    assert {"pour", "put it back", "clear up"} <= {step.name for step in steps}
    for step in steps:
        assert step.actions
        assert step.cautions
        assert len(set(step.cautions)) == len(step.cautions)
    if "epoxy" not in kind.cautions:
        assert not any("resin" in action for step in steps for action in step.actions)
        assert not any("epoxy" in step.cautions for step in steps)


def test_no_text_claims_that_anything_is_safe():
    texts = [f"{c.hazard} {c.text}" for c in CAUTIONS.values()]
    texts += [action for step in STEPS for action in step.actions]
    texts += [note for kind in KINDS.values() for note in (*kind.notes, kind.bond)]
    for text in texts:
        words = text.lower().replace("safety", "").split()
        assert not any(word.strip(".,;:") in {"safe", "safely"} for word in words)


@pytest.mark.parametrize(
    "topic", ["silica", "sensitisation", "fire", "lifting", "tipping", "pressure", "alkaline", "waste"]
)
def test_every_topic_is_covered(topic):
    assert any(topic in f"{c.hazard} {c.text}" for c in CAUTIONS.values())
