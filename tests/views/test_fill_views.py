"""Text, sheet, plain data and figures of a fill."""

import dataclasses
import html.parser
import json

import numpy as np
import pytest
from machines import small_mill

from strongback.machine.values import Travel
from strongback.materials import material
from strongback.remedies.fill.bag import Bag
from strongback.remedies.fill.bar import Bar
from strongback.remedies.fill.before_after import BeforeAfter, PullGain
from strongback.remedies.fill.filled import Filled
from strongback.remedies.fill.mix import BarTest, Mix
from strongback.remedies.fill.plan import plan_fill
from strongback.remedies.fill.pour import Access
from strongback.remedies.fill.recipe import Resin
from strongback.remedies.fill.stage import Stage
from strongback.remedies.fill.voids import VoidTest
from strongback.section.shapes import rectangular_tube
from strongback.views import fill_text as text
from strongback.views.fill_plot import cure_figure, figures, gain_figure, grading_figure, modulus_figure
from strongback.views.fill_sheet import sheet
from strongback.views.sheet import Sheet
from strongback.views.style import png

TUBE = dataclasses.replace(rectangular_tube(material("aluminium"), 0.08, 0.12, 0.004), name="profile")
MILL = small_mill()
MILL = dataclasses.replace(MILL, sections=(("profile", TUBE), MILL.sections[1]))
DAY = 86400.0


def mix(**kw):
    given = {
        "member": "column",
        "cells": ("inside",),
        "low": 0.0,
        "high": 0.44,
        "bags": (
            Bag(name="coarse <b>", sizes=(1e-3, 2e-3, 4e-3), passing=(0.05, 0.5, 1.0), void_fraction=0.42),
            Bag(name="fine & dry", sizes=(1e-4, 2.5e-4, 1e-3), passing=(0.0, 0.3, 1.0), void_fraction=0.40),
        ),
        "void_tests": (VoidTest(volume=1e-3, grains=1.90, water=0.275),),
        "resin": Resin(name="resin", price=10.0, pot_life=6000.0),
        "bars": tuple(
            BarTest(
                name=f"bar {d}",
                bar=Bar(width=0.025, thickness=0.025, length=0.3, mass=0.4),
                history=(Stage(duration=d * DAY, temperature=293.15),),
                frequency=f,
            )
            for d, f in ((3, 640.0), (8, 680.0))
        ),
        "access": (Access(name="rail bolt", kind="bolt", cell="inside", at=0.1),),
    }
    return Mix(**(given | kw))


@pytest.fixture(scope="module")
def plan():
    return plan_fill(mix(), MILL)


def gain(name, ratio, target=None, probability=None):
    return PullGain(
        pull=name,
        force=100.0,
        before=(80e-6, 100e-6, 130e-6),
        after=(80e-6 * ratio, 100e-6 * ratio, 130e-6 * ratio),
        ratio=(ratio - 0.05, ratio, ratio + 0.05),
        share=0.4,
        r=0.6,
        by_arithmetic=0.84,
        ceiling=0.6,
        loose=0.97,
        best_guess=(98e-6, 98e-6 * ratio),
        target=target,
        probability=probability,
        ratios=np.linspace(ratio - 0.06, ratio + 0.06, 64),
    )


FOUND = BeforeAfter(
    pulls=(gain("sideways", 0.84, 0.85, 0.62), gain("fore-aft", 0.93, 0.5, 0.0)),
    mass=(30.0, 37.0),
    centre=(np.array([0.0, 0.05, 0.2]), np.array([0.0, 0.04, 0.25])),
    frequency=(60.0, 58.0),
    frequency_ratio=(0.9, 0.97, 1.0),
    bow=(0.0, 2e-7),
    draws=64,
    sources=(("modulus", 0.7), ("bond", 0.3)),
    notes=(),
)


def shown(blocks):
    return Sheet(tuple(blocks)).text(80)


def filled(plan, found=FOUND, machine=MILL):
    return Filled(machine=machine, plan=plan, found=found)


def test_answer_comes_with_interval_and_chance():
    said = shown(text.answer(None, FOUND))
    assert "sideways: 100 to 84.0 µm, ratio 0.84 (95 % 0.79 to 0.89); goal 0.85" in said
    assert "62%" in said
    assert "below 2%" in said


def test_blocks_fit_eighty_columns(plan):
    blocks = [
        text.gain_text(plan, FOUND),
        text.warnings_text(plan),
        text.stand_text(plan, FOUND, MILL),
        text.expect_text(plan),
        text.mix_text(plan),
        text.pour_text(plan),
        text.cautions_text(plan),
    ]
    for block in map(shown, blocks):
        assert block.strip()
        assert max(len(line) for line in block.splitlines()) <= 80


def test_what_moves_and_what_bows_is_said(plan):
    travel = Travel(name="head height", parts=("column",), direction=(0.0, 0.0, 1.0), low=0.0, high=0.1)
    said = shown(text.stand_text(plan, FOUND, dataclasses.replace(MILL, travels=(travel,))))
    assert "column moves (head height)" in said
    assert "bows 0.20 µm for each kelvin" in said
    assert "moves" not in shown(text.stand_text(plan, FOUND, MILL))


def test_grams_in_the_table_are_those_of_the_recipe(plan):
    said = shown(text.mix_text(plan))
    r = plan.mixture.recipe
    for mass in (r.batch.resin_a, r.batch.resin_b, *(m for _, m in r.batch.grains)):
        assert f"{mass * 1e3:.0f}" in said


def test_plain_data_is_json_with_units_in_its_keys(plan):
    data = json.loads(json.dumps(filled(plan).to_dict()))
    assert data["before_after"]["pulls"][0]["ratio"] == pytest.approx([0.79, 0.84, 0.89])
    assert data["volume_m3"] == pytest.approx(plan.volume)
    assert all(step["cautions"] for step in data["steps"])
    assert data["pour"]["buried"][0]["blocked"] is True
    assert data["expected"]["E_low_Pa"] < data["expected"]["E_Pa"] < data["expected"]["E_high_Pa"]


class _Page(html.parser.HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags, self.links = [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.links += [value for key, value in attrs if key in ("src", "href")]


def test_sheet_is_whole_escaped_and_links_nowhere(plan):
    page = sheet(plan, "mill <script>alert(1)</script>")
    seen = _Page()
    seen.feed(page)
    assert seen.links == []
    assert "script" not in seen.tags
    assert "coarse &lt;b&gt;" in page
    assert "fine &amp; dry" in page
    assert "default-src 'none'" in page
    for step in plan.steps:
        assert step.name in page
    assert page.count('class="caution"') == sum(len(s.cautions) for s in plan.steps)
    words = page.lower().replace("safety", "").split()
    assert not any(w.strip(".,;:") in {"safe", "safely"} for w in words)


def test_sheet_of_a_fill_without_grains():
    other = plan_fill(mix(kind="dry sand"), MILL)
    assert "mass and damping only" in sheet(other, "mill")
    assert "stiffness stays" in shown(text.answer(other, None))
    assert shown(text.expect_text(other)) == "no stiffness"
    assert filled(other, None).to_dict()["before_after"] is None


def test_every_figure_has_labels_with_units(plan):
    made = dict(figures(filled(plan)))
    assert set(made) == {
        "fill-before-after.png", "fill-grading.png", "fill-modulus.png", "fill-cure.png",
    }  # fmt: skip
    for figure in made.values():
        (axes,) = figure.axes
        assert "[" in axes.get_xlabel()
        assert "[" in axes.get_ylabel() or len(axes.get_yticklabels()) == len(FOUND.pulls)
        assert axes.get_title(loc="left") or axes.get_title()
        assert png(figure).startswith(b"\x89PNG")


def test_curves_show_what_was_computed(plan):
    (axes,) = grading_figure(plan.mix.bags, plan.mixture.fit).axes
    blend = next(line for line in axes.lines if line.get_label() == "blend")
    assert blend.get_ydata() == pytest.approx(100 * plan.mixture.fit.passing)
    (axes,) = modulus_figure(plan).axes
    reuss = next(line for line in axes.lines if "Reuss" in str(line.get_label()))
    assert reuss.get_ydata()[0] == pytest.approx(3.2, rel=1e-9)
    (axes,) = cure_figure(plan.expected.cure, 293.15).axes
    bars = axes.containers[0].lines[0]
    assert bars.get_xdata() == pytest.approx([3.0, 8.0])
    assert bars.get_ydata() == pytest.approx([r.E / 1e9 for r in plan.expected.cure.readings])
    (axes,) = gain_figure(FOUND, "t").axes
    widths = sorted(p.get_width() for p in axes.patches)
    assert widths == pytest.approx(sorted([100.0, 84.0, 100.0, 93.0]))
