"""Totals over the starts: one unknown that makes one move longer and another shorter does not count twice."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from parser.machine import Controller, Interval
from parser.motion.places import Afloat, Name, Unknown
from parser.times.planner import plan
from parser.times.totals import CELLS
from tests.parser.motion.moving import MILL, between, place, rapid, trace_of

PUBLISHED = Controller()


def origin(axis, low, high, base=0.0):
    return Afloat(base, Unknown(Name("G54", axis), "origin", Interval(low, high)))


def there_and_on(x):
    """From X0 to a place that may not be known, and on to X260."""
    return trace_of(rapid(place(), place(x=x)), rapid(place(x=x), place(x=260.0), line=2))


def test_a_place_on_the_way_does_not_change_the_distance():
    totals = plan(there_and_on(origin("x", 0.0, 260.0)), MILL, PUBLISHED).totals
    cell = 260.0 / CELLS[1]
    assert totals.rapid_mm.typical == pytest.approx(260.0)
    assert 260.0 - cell - 1e-9 <= totals.rapid_mm.least <= 260.0 <= totals.rapid_mm.most <= 260.0 + cell + 1e-9
    assert totals.by_axis_mm["x"] == totals.rapid_mm


def test_an_unknown_of_one_move_is_exact():
    totals = plan(trace_of(rapid(place(x=between("x", 0.0, 260.0)), place(x=60.0))), MILL, PUBLISHED).totals
    assert totals.rapid_mm.least == 0.0
    assert totals.rapid_mm.most == 200.0


@settings(max_examples=60, deadline=None)
@given(st.floats(0.0, 200.0), st.floats(0.0, 60.0), st.floats(0.0, 150.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_every_place_lies_between_least_and_most(low, spread, y, at_x, at_y):
    def path(x, y):
        middle, back = place(x=x, y=y), place(x=260.0, y=20.0)
        return trace_of(rapid(place(), middle), rapid(middle, back, line=2), rapid(back, {**middle, "z": -5.0}, line=3))

    whole = plan(path(origin("x", low, low + spread), origin("y", 0.0, y)), MILL, PUBLISHED)
    one = plan(path(low + at_x * spread, at_y * y), MILL, PUBLISHED)
    wide = [sum(getattr(each.seconds, side) for each in whole.timings) for side in ("least", "most")]
    bound, now = whole.totals.seconds, one.totals.seconds.typical
    assert bound.least - 1e-9 <= now <= bound.most + 1e-9
    assert wide[0] - 1e-9 <= bound.least
    assert bound.most <= wide[1] + 1e-9


def test_moves_that_hang_together_are_added_up():
    blending = replace(MILL, corner="blend")
    planned = plan(there_and_on(origin("x", 0.0, 260.0)), blending, PUBLISHED)
    assert planned.totals.seconds.most == pytest.approx(sum(each.seconds.most for each in planned.timings))
