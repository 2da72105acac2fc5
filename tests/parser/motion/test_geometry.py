"""Extents and points of moves, and the circles of arcs, against dense sampling and plain trigonometry."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parser.machine import Interval
from parser.motion.arcs import DoesNotCloseError, from_centre, from_radius
from parser.motion.geometry import extents, point_at
from parser.motion.moves import Arc, Move
from parser.motion.places import Afloat, Name, Unknown, plus
from tests.parser.motion.following import follow, from_work_zero

SOMEWHERE = Afloat(0.0, Unknown(Name("start", "x"), "start", Interval(-20.0, 30.0)))
ANGLES = st.floats(-360.0, 360.0)
SWEEPS = st.floats(-360.0, 360.0).filter(lambda sweep: abs(sweep) > 0.01)
RADII = st.floats(0.1, 200.0)
LENGTHS = st.floats(-300.0, 300.0)


def arc_move(x, y, radius, begins, sweep, rise=0.0):
    """A helix about (x, y); x may float."""

    def rim(angle):
        turn = math.radians(angle)
        return {"x": plus(x, radius * math.cos(turn)), "y": y + radius * math.sin(turn)}

    arc = Arc(("x", "y"), "z", (x, y), radius, begins, sweep)
    return Move(1, "arc", {**rim(begins), "z": 0.0}, {**rim(begins + sweep), "z": rise}, feed=100.0, arc=arc)


def test_a_straight_move_reaches_from_its_least_to_its_most():
    (move,) = follow("G53 G0 X100").moves
    assert extents(move)["x"] == Interval(0.0, 260.0)
    assert extents(move)["z"] == Interval(-90.0, 0.0)


def test_a_half_circle_reaches_its_radius_on_one_side_only():
    (move,) = from_work_zero("F9 G2 X10 I5").moves
    reach = extents(move)
    assert (reach["x"].low, reach["x"].high) == pytest.approx((0.0, 10.0))
    assert (reach["y"].low, reach["y"].high) == pytest.approx((0.0, 5.0))


def test_a_full_circle_reaches_all_round():
    (move,) = from_work_zero("F9 G19 G3 Y0 Z0 J3 K4").moves
    reach = extents(move)
    assert (reach["y"].low, reach["y"].high) == pytest.approx((-2.0, 8.0))
    assert (reach["z"].low, reach["z"].high) == pytest.approx((-1.0, 9.0))


@given(LENGTHS, LENGTHS, RADII, ANGLES, SWEEPS, LENGTHS)
def test_extents_of_an_arc_are_those_of_its_points(x, y, radius, begins, sweep, rise):
    move = arc_move(x, y, radius, begins, sweep, rise)
    points = [point_at(move, step / 2000, {}) for step in range(2001)]
    coarse = radius * (1 - math.cos(math.radians(abs(sweep) / 2000))) + 1e-6
    for axis, reach in extents(move).items():
        sampled = [point[axis] for point in points]
        assert min(sampled) == pytest.approx(reach.low, abs=coarse)
        assert max(sampled) == pytest.approx(reach.high, abs=coarse)
        assert reach.low - 1e-9 <= min(sampled)
        assert max(sampled) <= reach.high + 1e-9


@given(RADII, ANGLES, SWEEPS, st.floats(-20.0, 30.0), st.floats(0.0, 1.0))
def test_extents_cover_an_arc_wherever_it_floats(radius, begins, sweep, shift, fraction):
    move = arc_move(SOMEWHERE, 0.0, radius, begins, sweep)
    point = point_at(move, fraction, {Name("start", "x"): shift})
    assert extents(move)["x"].contains(point["x"], slack=1e-9)


@given(LENGTHS, LENGTHS, RADII, ANGLES, SWEEPS)
def test_an_arc_goes_from_its_start_to_its_end(x, y, radius, begins, sweep):
    move = arc_move(x, y, radius, begins, sweep, rise=7.0)
    assert point_at(move, 0.0, {}) == pytest.approx(move.start, abs=1e-9)
    assert point_at(move, 1.0, {}) == pytest.approx(move.end, abs=1e-9)


def test_a_point_of_a_straight_move_takes_unknowns_by_name_or_in_the_middle():
    (move,) = follow("G53 G0 X100").moves
    assert point_at(move, 0.5, {Name("start", "x"): 0.0})["x"] == 50.0
    assert point_at(move, 0.0, {})["x"] == 130.0


def test_an_arc_within_tolerance_still_ends_where_it_says():
    """NISTIR 6556, 3.5.3.2 lets the radii at the two ends differ by 0.002 mm."""
    (move,) = from_work_zero("F9 G2 X10.0018 I5").moves
    assert point_at(move, 1.0, {})["x"] == pytest.approx(10.0018, abs=1e-12)
    assert extents(move)["x"].high >= 10.0018


# Circles ------------------------------------------------------------------------------------------------------------


def rim(radius, angle):
    return radius * math.cos(math.radians(angle)), radius * math.sin(math.radians(angle))


@given(RADII, ANGLES, st.floats(1.0, 359.0), st.booleans())
def test_centre_format_gives_back_the_arc_it_was_made_from(radius, begins, turn, clockwise):
    start, end = rim(radius, begins), rim(radius, begins - turn if clockwise else begins + turn)
    circle = from_centre((end[0] - start[0], end[1] - start[1]), (-start[0], -start[1]), clockwise, 0.002)
    assert circle.radius == pytest.approx(radius)
    assert circle.sweep == pytest.approx(-turn if clockwise else turn, abs=1e-6)
    assert math.cos(math.radians(circle.begins - begins)) == pytest.approx(1.0)


@given(RADII, ANGLES, st.floats(1.0, 359.0).filter(lambda turn: abs(turn - 180.0) > 0.5), st.booleans())
def test_radius_format_gives_back_the_arc_it_was_made_from(radius, begins, turn, clockwise):
    """NISTIR 6556, 3.5.3.1: positive radius for 180 degrees or less, negative for more."""
    start, end = rim(radius, begins), rim(radius, begins - turn if clockwise else begins + turn)
    across = end[0] - start[0], end[1] - start[1]
    circle = from_radius(across, radius if turn <= 180.0 else -radius, clockwise)
    assert circle.centre == pytest.approx((-start[0], -start[1]), abs=1e-6 * radius)
    assert circle.sweep == pytest.approx(-turn if clockwise else turn, abs=1e-4)


def test_a_circle_of_no_radius_does_not_close():
    with pytest.raises(DoesNotCloseError):
        from_centre((0.0, 0.0), (0.0, 0.0), True, 0.002)
