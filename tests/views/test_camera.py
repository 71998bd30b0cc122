"""The view of the machine: lengths across the line of sight are kept, labels keep apart and in order."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strongback.machine.room import OPERATORS, right_of, side_word, towards, views
from strongback.views.camera import Camera, spread


@pytest.mark.parametrize("turn", [0.0, 0.6, 2.0])
@pytest.mark.parametrize("tilt", [0.0, 0.35, 1.2])
def test_axes_are_right_handed_and_orthonormal(turn, tilt):
    axes = Camera(turn=turn, tilt=tilt).axes()
    assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.cross(axes[0], axes[1]) == pytest.approx(axes[2], abs=1e-12)


@pytest.mark.parametrize("operator", OPERATORS)
def test_up_is_up_and_the_operator_s_right_is_right(operator):
    camera, front = Camera(operator=operator), np.array(towards(operator))
    right = np.cross(-front, (0.0, 0.0, 1.0))  # of somebody who looks at the machine
    assert camera.page(np.array([0.0, 0.0, 1.0]))[1] > 0.9
    assert camera.page(right)[0] > 0.5
    assert camera.depth(front) > 0.5
    assert camera.depth(right) > 0.0  # seen a little from the right


def test_x_is_to_the_right_of_the_operator_and_y_goes_away_as_the_standard_has_it():
    assert towards("-y") == (0.0, -1.0, 0.0)
    assert right_of("-y") == (1.0, 0.0, 0.0)


def test_words_turn_with_the_operator():
    assert [side_word((1.0, 0.0, 0.0), o) for o in OPERATORS] == [
        "to the right",
        "to the left",
        "away from the operator",
        "towards the operator",
    ]


def test_plain_views_have_the_operator_s_right_hand_on_the_right():
    for operator in OPERATORS:
        front, side = views(operator)
        assert right_of(operator)[front.across] == front.sign
        assert towards(operator)[side.across] == -side.sign  # the operator stands at the left of the page


@given(st.lists(st.floats(-5, 15), min_size=1, max_size=12))
def test_labels_keep_order_distance_and_bounds(wanted):
    wanted = np.array(wanted)
    places = spread(wanted, 0.5, 0.0, 10.0)
    assert places.min() >= -1e-9
    assert places.max() <= 10.0 + 1e-9
    order = np.argsort(wanted, kind="stable")
    assert np.all(np.diff(places[order]) >= 0.5 - 1e-9)


def test_labels_with_room_stay_where_they_are():
    wanted = np.array([1.0, 9.0, 4.0])
    assert spread(wanted, 1.0, 0.0, 10.0) == pytest.approx(wanted)


def test_labels_without_room_shrink_evenly():
    assert spread(np.zeros(5), 10.0, 0.0, 8.0) == pytest.approx([0, 2, 4, 6, 8])
