"""Rounded corners: plane geometry, and what an axis is asked for on the way round."""

from math import cos, pi, radians, sin, sqrt, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from parser.times.corners import round_off, turn_between

RATES, GAINS = np.array([40.0, 30.0, 20.0]), np.array([220.0, 150.0, 120.0])
FREE = np.array([1e9] * 3)
turns = st.floats(0.01, 3.1)
angles = st.floats(0.0, 2 * pi)


def corner(turn, room=1e9, tolerance=0.05, heading=0.0, rates=RATES, gains=GAINS, speed=1e9):
    arriving = np.array([[cos(heading), sin(heading), 0.0]])
    leaving = np.array([[cos(heading + turn), sin(heading + turn), 0.0]])
    return round_off(arriving, leaving, np.array([room]), np.array([speed]), tolerance, rates, gains)


def test_a_square_corner_has_the_arc_that_the_plane_asks_for():
    """r = e sin(t/2) / (1 - sin(t/2)), tangent length r / tan(t/2), at an interior angle of 90 degrees."""
    found = corner(pi / 2)
    radius = 0.05 * sin(pi / 4) / (1 - sin(pi / 4))
    assert found.radius[0] == pytest.approx(radius)
    assert found.tangent[0] == pytest.approx(radius / tan(pi / 4))
    assert found.length[0] == pytest.approx(radius * pi / 2)


@given(turns, angles)
def test_the_middle_of_the_arc_passes_the_corner_at_the_tolerance(turn, heading):
    found = corner(turn, heading=heading, rates=FREE)
    inside = pi - turn
    assert found.radius[0] * (1 / sin(inside / 2) - 1) == pytest.approx(0.05, rel=1e-6)


@given(turns, st.floats(0.001, 10.0))
def test_the_tangent_is_never_longer_than_there_is_room_for(turn, room):
    found = corner(turn, room=room)
    assert found.tangent[0] <= room * (1 + 1e-12)


@given(turns, angles)
def test_no_axis_is_asked_for_more_than_it_has_at_the_top_speed(turn, heading):
    found = corner(turn, heading=heading)
    way = heading + np.linspace(0.0, turn, 500)
    tangents, normals = np.column_stack([np.cos(way), np.sin(way)]), np.column_stack([-np.sin(way), np.cos(way)])
    assert (found.top[0] * abs(tangents) <= RATES[:2] * (1 + 1e-6)).all()
    assert (found.top[0] ** 2 / found.radius[0] * abs(normals) <= GAINS[:2] * (1 + 1e-6)).all()
    assert abs(tangents).max(axis=0) == pytest.approx(found.along[0, :2], abs=1e-4)
    assert abs(normals).max(axis=0) == pytest.approx(found.normal[0, :2], abs=1e-4)


@given(turns, angles, st.floats(0.1, 40.0))
def test_an_arc_is_no_wider_than_its_speed_needs(turn, heading, speed):
    found, widest = corner(turn, heading=heading, speed=speed), corner(turn, heading=heading, rates=FREE)
    assert found.radius[0] <= widest.radius[0] * (1 + 1e-12)
    assert found.top[0] <= speed
    if found.radius[0] < widest.radius[0] * (1 - 1e-9) and found.rounded[0]:
        assert found.top[0] == pytest.approx(min(speed, (RATES[:2] / found.along[0, :2]).min()))


def test_axes_alike_take_a_square_corner_at_the_root_of_acceleration_times_radius():
    found = corner(pi / 2, gains=np.array([100.0] * 3), rates=FREE)
    assert found.top[0] == pytest.approx(sqrt(100.0 * found.radius[0]))


@pytest.mark.parametrize(("turn", "room"), [(0.0, 1.0), (pi, 1.0), (radians(90.0), 0.0)])
def test_straight_on_straight_back_and_no_room_have_no_arc(turn, room):
    assert not corner(turn, room=room).rounded[0]


def test_a_very_small_turn_is_told_exactly():
    assert turn_between(np.array([[1.0, 0.0]]), np.array([[cos(1e-7), sin(1e-7)]]))[0] == pytest.approx(1e-7, rel=1e-6)
