"""How much of an arc each axis takes."""

from itertools import pairwise
from math import cos, pi, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parser.times.path_parts import largest_sine, sine_swept

angles = st.floats(-720.0, 720.0)
STEPS = 2000


@given(angles, angles)
def test_the_largest_sine_is_that_of_a_dense_walk(begins, sweep):
    walked = max(abs(sin(radians(begins + sweep * i / STEPS))) for i in range(STEPS + 1))
    assert walked <= largest_sine(begins, sweep) + 1e-12
    assert largest_sine(begins, sweep) == pytest.approx(walked, abs=1e-4)


@given(angles, angles)
def test_what_an_axis_covers_is_what_a_dense_walk_adds_up(begins, sweep):
    turned = [cos(radians(begins + sweep * i / STEPS)) for i in range(STEPS + 1)]
    walked = sum(abs(b - a) for a, b in pairwise(turned))
    assert sine_swept(begins, sweep) == pytest.approx(walked, abs=1e-4)


@pytest.mark.parametrize(
    ("begins", "sweep", "covered"), [(0, 90, 1), (0, 360, 4), (90, -180, 2), (-45, 90, 2 - 2**0.5)]
)
def test_an_axis_goes_to_and_fro_over_its_quadrant_points(begins, sweep, covered):
    assert sine_swept(begins, sweep) == pytest.approx(covered)


def test_a_full_circle_asks_all_of_every_axis():
    assert largest_sine(30.0, 360.0) == 1.0
    assert sine_swept(0.0, 360.0) / (2 * pi) == pytest.approx(2 / pi)
