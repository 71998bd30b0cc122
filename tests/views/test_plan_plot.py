"""The picture of a plan: every pull and gauge once in each view, labels apart, lines uncrossed, parts as they are."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace

import numpy as np
import pytest
from machines import small_mill
from matplotlib.collections import PathCollection
from shapely.geometry import LineString

from strongback.evidence.model import default_parameters
from strongback.evidence.plan import candidates, plan
from strongback.machine.part.make import parts_of
from strongback.views import style
from strongback.views.evidence_sheet import sheet
from strongback.views.plan_plot import gauges_of, letters_of, plan_figure
from strongback.views.solids import resting

WIDTHS = (80.0, 170.0)


@pytest.fixture(scope="module")
def planned():
    machine = small_mill()
    ranged = tuple(
        replace(
            j,
            low=tuple(v / 3 if np.isfinite(v) else v for v in j.stiffness),
            high=tuple(3 * v if np.isfinite(v) else v for v in j.stiffness),
        )
        for j in machine.joints
    )
    machine = replace(machine, joints=ranged)
    parameters = default_parameters(machine)
    return machine, plan(
        machine, parts_of(machine), 8, choices=candidates(machine, None), parameters=parameters
    )


def badges(axes):
    return [text for text in axes.texts if text.get_text()]


@pytest.mark.parametrize("width", WIDTHS)
def test_every_pull_and_gauge_has_one_label_in_each_view(planned, width):
    machine, found = planned
    figure = plan_figure(machine, found, width_mm=width)
    labels = sorted([*letters_of(found).values(), *(str(i + 1) for i in range(len(gauges_of(found))))])
    assert len(figure.axes) == 2
    for axes in figure.axes:
        assert sorted(text.get_text() for text in badges(axes)) == labels


@pytest.mark.parametrize("width", WIDTHS)
def test_labels_keep_apart_and_all_is_on_the_page(planned, width):
    figure = plan_figure(*planned, width_mm=width)
    style.png(figure)
    for axes in figure.axes:
        boxes = [(t.get_text(), t.get_bbox_patch().get_window_extent()) for t in badges(axes)]
        for (a, one), (b, other) in itertools.combinations(boxes, 2):
            across = min(one.x1, other.x1) - max(one.x0, other.x0)
            along = min(one.y1, other.y1) - max(one.y0, other.y0)
            assert across <= 0.5 or along <= 0.5, f"{a} and {b} collide"
        ticks = [
            label
            for label in axes.get_xticklabels()
            if axes.get_xlim()[0] <= label.get_position()[0] <= axes.get_xlim()[1]
        ]
        ticks += [
            label
            for label in axes.get_yticklabels()
            if axes.get_ylim()[0] <= label.get_position()[1] <= axes.get_ylim()[1]
        ]
        whole = [axes.xaxis.label, axes.yaxis.label, axes.title, *ticks]
        extents = [(t.get_text(), t.get_window_extent()) for t in whole if t.get_text()] + boxes
        for text, box in extents:
            assert box.x0 >= 0.0, text
            assert box.x1 <= figure.bbox.x1, text
            assert box.y0 >= 0.0, text
            assert box.y1 <= figure.bbox.y1, text
    for text in figure.legends[0].get_texts():
        box = text.get_window_extent()
        assert 0.0 <= box.x0, text.get_text()
        assert box.x1 <= figure.bbox.x1, text.get_text()


@pytest.mark.parametrize("width", WIDTHS)
def test_lines_to_the_labels_do_not_cross(planned, width):
    for axes in plan_figure(*planned, width_mm=width).axes:
        lines = [LineString(line.get_xydata()) for line in axes.lines if line.get_linewidth() == 0.4]
        for side in (True, False):
            middle = np.mean(axes.get_xlim())
            own = [line for line in lines if (line.coords[-1][0] < middle) == side]
            for a, b in itertools.combinations(own, 2):
                assert not a.crosses(b)


def test_parts_are_drawn_with_their_size(planned):
    """The column of 460 mm from the front: as high, and as wide as its section."""
    machine, found = planned
    swept, boxes = resting(machine)
    points = np.concatenate([prism.points.reshape(-1, 3) for prism in swept] + [box.points for box in boxes])
    axes = plan_figure(machine, found).axes[0]
    (faces,) = [c for c in axes.collections if isinstance(c, PathCollection)]
    drawn = np.concatenate([path.vertices for path in faces.get_paths()])
    assert np.ptp(drawn, axis=0) == pytest.approx(1e3 * np.ptp(points[:, [0, 2]], axis=0), rel=1e-6)


def test_the_sheet_fits_a_telephone(planned):
    """A viewport, a narrow picture for it, and every cell of the readings says what it is where the head row is gone."""
    machine, found = planned
    text = sheet(machine, found, {}, {"wide": b"1", "narrow": b"2"})
    assert '<meta name="viewport" content="width=device-width, initial-scale=1">' in text
    assert "<img class=wide" in text
    assert "<img class=narrow" in text
    table = text[text.index("<tbody") : text.index("</table>")]
    cells = re.findall(r"<td([^>]*)>", table)
    assert len(cells) == 11 * len(found.steps)
    assert sum("data-name" in cell for cell in cells) == 9 * len(found.steps)
    assert "max-width: 640px" in text
