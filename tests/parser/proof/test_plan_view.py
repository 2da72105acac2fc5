"""Coming closer from beside, decided to a thousandth: round corners, tangents, and what is no approach at all."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from parser.machine import Interval
from parser.motion.places import Afloat, Unknown
from parser.proof.approaches import approaches
from parser.proof.stretches import stretch

SIDES = (Interval(0.0, 100.0), Interval(0.0, 50.0))
CORNER = {"x": Interval(103.0, 104.0), "y": Interval(53.0, 54.0)}
RADIUS = 8.0


def moved(box, by, radius=RADIUS, fixed=False):
    """Whether a relative move ``by`` from a start in the box comes closer."""
    stretches = []
    for axis, step in zip("xy", by, strict=True):
        start = Afloat(0.0, Unknown(f"start.{axis}", "start", axis, box[axis]))
        stretches.append(stretch(start, Afloat(step, start.unknown), start, box))
    return approaches(*stretches, SIDES, radius, fixed, (0.0, 1.0))


@pytest.mark.parametrize("by", [(5.0, -1.0), (5.0, 0.0), (0.0, 0.0), (3.0, 3.0), (-1.0, 5.0)])
def test_going_round_a_corner_and_away_is_no_approach(by):
    assert not moved(CORNER, by)


@pytest.mark.parametrize("by", [(1.0, -5.0), (-5.0, 1.0), (-1.0, -1.0), (5.0, -4.0)])
def test_going_nearer_to_a_corner_is_an_approach(by):
    assert moved(CORNER, by)


def test_sliding_along_a_face_is_no_approach():
    beside = {"x": Interval(103.0, 104.0), "y": Interval(10.0, 40.0)}
    assert not moved(beside, (0.0, 9.0))


def test_an_approach_that_stays_further_off_than_the_radius_does_not_count():
    far = {"x": Interval(120.0, 130.0), "y": Interval(10.0, 40.0)}
    assert not moved(far, (-10.0, 0.0))


def test_a_body_of_one_size_that_cannot_have_been_there_is_left_out():
    assert moved(CORNER, (-1.0, -1.0))
    assert not moved(CORNER, (-1.0, -1.0), fixed=True)


def gap(at, side):
    return np.maximum(np.maximum(side.low - at, at - side.high), 0.0)


@settings(max_examples=200, deadline=None)
@given(
    st.tuples(st.floats(-30, 130), st.floats(0, 40)),
    st.tuples(st.floats(-30, 80), st.floats(0, 40)),
    st.tuples(st.floats(-40, 40), st.floats(-40, 40)),
    st.floats(1, 20),
    st.booleans(),
    st.integers(0, 2**32 - 1),
)
def test_sampling_finds_no_approach_that_is_denied(x, y, by, radius, fixed, seed):
    box = {"x": Interval(x[0], x[0] + x[1]), "y": Interval(y[0], y[0] + y[1])}
    random = np.random.default_rng(seed)
    starts = np.column_stack([random.uniform(box[a].low, box[a].high, 5000) for a in "xy"])
    points = starts + random.uniform(0, 1, (5000, 1)) * np.array(by)
    was, near = (np.hypot(gap(at[:, 0], SIDES[0]), gap(at[:, 1], SIDES[1])) for at in (starts, points))
    fits = was >= radius if fixed else True
    if ((near < radius - 1e-5) & (near < was - 1e-5) & fits).any():
        assert moved(box, by, radius, fixed)
