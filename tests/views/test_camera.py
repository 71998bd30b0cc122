"""The view of the machine: lengths across the line of sight are kept, labels keep apart and in order."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strongback.views.camera import Camera, spread


@pytest.mark.parametrize("turn", [0.0, 0.6, 2.0])
@pytest.mark.parametrize("tilt", [0.0, 0.35, 1.2])
def test_axes_are_right_handed_and_orthonormal(turn, tilt):
    axes = Camera(turn=turn, tilt=tilt).axes()
    assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.cross(axes[0], axes[1]) == pytest.approx(axes[2], abs=1e-12)


def test_up_is_up_and_the_operator_sees_x_to_the_left():
    camera = Camera()
    assert camera.page(np.array([0.0, 0.0, 1.0]))[1] > 0.9
    assert camera.page(np.array([1.0, 0.0, 0.0]))[0] < -0.5
    assert camera.depth(np.array([0.0, 1.0, 0.0])) > camera.depth(np.zeros(3))


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
