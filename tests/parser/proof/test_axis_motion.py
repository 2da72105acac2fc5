"""One axis along one move: positions and the starts they belong to, against plain arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from parser.machine import Interval
from parser.proof.approaches import approaches
from parser.proof.stretches import Piece, Stretch, above_start, anywhere, at_most, below_start, furthest

START = Interval(-10.0, 20.0)


def off(low, high=None):
    """A distance from the start, or a range of them as a probe leaves it."""
    return Interval(low, low if high is None else high)


def tied(first, last):
    """A stretch whose ends lie that far from the start."""
    offsets = [each if isinstance(each, Interval) else off(each) for each in (first, last)]
    ends = (Interval(START.low + each.low, START.high + each.high) for each in offsets)
    return Stretch(START, *ends, *offsets)


LEAVING = Stretch(START, START, Interval(2.0, 4.0), off(0.0), None)
OFF_AND_AWAY = Stretch(START, Interval(-5.0, 25.0), Interval(2.0, 4.0), off(5.0), None)
ARRIVING = Stretch(START, Interval(2.0, 4.0), Interval(-7.0, 23.0), None, off(3.0))
PROBED = tied(off(-6.0, 0.0), off(-2.0, 3.0))
PROBED_AND_AWAY = Stretch(START, Interval(-16.0, 20.0), Interval(2.0, 4.0), off(-6.0, 0.0), None)
PROBED_UPWARDS = Stretch(START, Interval(-8.0, 26.0), Interval(2.0, 4.0), off(2.0, 6.0), None)
APART = Stretch(START, Interval(2.0, 4.0), Interval(-30.0, -25.0))


def test_a_piece_gone_along_backwards_has_its_ends_swapped():
    piece = Piece(0.1, 0.4, (1.0, 2.0), (3.0, 5.0), 7.0, 8.0)
    assert piece.reversed() == Piece(0.6, 0.9, (2.0, 1.0), (5.0, 3.0), 7.0, 8.0)


def test_a_piece_in_a_mirror_has_low_for_high():
    piece = Piece(0.1, 0.4, (1.0, 2.0), (3.0, 5.0), 7.0, 8.0)
    assert piece.mirrored() == Piece(0.1, 0.4, (-3.0, -5.0), (-1.0, -2.0), -8.0, -7.0)


def test_a_stretch_gone_along_backwards_and_in_a_mirror():
    assert ARRIVING.reversed() == Stretch(START, ARRIVING.last, ARRIVING.first, off(3.0), None)
    mirror = Stretch(Interval(-20.0, 10.0), Interval(-4.0, -2.0), Interval(-23.0, 7.0), None, off(-3.0))
    assert ARRIVING.mirrored() == mirror


def test_a_stretch_of_some_starts_only():
    part = Interval(0.0, 5.0)
    assert tied(1.0, -2.0).starting_in(part) == Stretch(
        part, Interval(1.0, 6.0), Interval(-2.0, 3.0), off(1.0), off(-2.0)
    )
    assert APART.starting_in(part) == Stretch(part, APART.first, APART.last)


@pytest.mark.parametrize(
    ("line", "part"),
    [((0.0, 10.0), (0.0, 0.4)), ((10.0, 0.0), (0.6, 1.0)), ((1.0, 2.0), (0.0, 1.0)), ((5.0, 6.0), None)],
)
def test_the_part_of_a_line_that_is_not_above_a_value(line, part):
    found = at_most(line, 4.0, 0.0, 1.0)
    assert found == (None if part is None else pytest.approx(part))


@pytest.mark.parametrize(
    ("stretch", "most"), [(tied(0.0, 7.0), 7.0), (tied(3.0, -4.0), 3.0), (LEAVING, 14.0), (APART, 14.0)]
)
def test_how_far_up_an_axis_comes(stretch, most):
    assert furthest(stretch) == most


def sampled(stretch):
    """Cases of a stretch: rows of t, start and position, by plain arithmetic."""
    random = np.random.default_rng(3)
    t, start = random.uniform(0, 1, 4000), random.uniform(START.low, START.high, 4000)
    ends = []
    for offset, reach in ((stretch.first_offset, stretch.first), (stretch.last_offset, stretch.last)):
        low, high = (reach.low, reach.high) if offset is None else (start + offset.low, start + offset.high)
        ends.append(random.uniform(low, high, 4000))
    return np.column_stack([t, start, (1 - t) * ends[0] + t * ends[1]])


def covered(pieces, t, place):
    for piece in pieces:
        low, high = (line[0] + (line[1] - line[0]) * t for line in (piece.low, piece.high))
        if piece.t_low - 1e-9 <= t <= piece.t_high + 1e-9 and low - 1e-9 <= place <= high + 1e-9:
            return True
    return False


STRETCHES = [
    tied(0.0, -6.0),
    tied(4.0, -3.0),
    LEAVING,
    OFF_AND_AWAY,
    ARRIVING,
    ARRIVING.mirrored().mirrored(),
    PROBED,
    PROBED_AND_AWAY,
    PROBED_AND_AWAY.reversed(),
    PROBED_UPWARDS,
    APART,
]


@pytest.mark.parametrize("stretch", STRETCHES)
@pytest.mark.parametrize("bound", [-100.0, 1.0, 12.0])
def test_every_case_below_or_above_its_start_is_in_a_piece(stretch, bound):
    everything, below, above = anywhere(stretch), below_start(stretch, bound), above_start(stretch, -bound)
    for t, start, place in sampled(stretch):
        assert covered(everything, t, place)
        if place < start - 1e-3 and start >= bound:
            assert covered(below, t, place)
        if place > start + 1e-3 and start <= -bound:
            assert covered(above, t, place)


@pytest.mark.parametrize("stretch", [tied(0.0, -6.0), tied(4.0, -3.0), LEAVING, APART])
def test_what_a_piece_begins_and_ends_with_is_a_case_of_the_stretch(stretch):
    for piece in below_start(stretch, 1.0):
        assert START.low <= piece.start_low <= piece.start_high <= START.high
        for t in (piece.t_low, piece.t_high):
            low, high = (line[0] + (line[1] - line[0]) * t for line in (piece.low, piece.high))
            assert stretch.low[0] + (stretch.low[1] - stretch.low[0]) * t - 1e-9 <= low <= high + 1e-9
            assert high <= stretch.high[0] + (stretch.high[1] - stretch.high[0]) * t + 1e-9


@pytest.mark.parametrize("floor", [25.0, 20.5])
def test_a_floor_above_every_start_leaves_nothing(floor):
    assert all(below_start(stretch, floor) == [] for stretch in STRETCHES)


def test_axes_that_go_along_each_in_its_own_time_reach_what_the_straight_line_does_not():
    """From (20, -20) to (-20, 20) beside a block in the corner that the line cuts off: only the sweep comes near."""
    x = Stretch(Interval(20.0, 20.0), Interval(20.0, 20.0), Interval(-20.0, -20.0))
    y = Stretch(Interval(-20.0, -20.0), Interval(-20.0, -20.0), Interval(20.0, 20.0))
    corner = (Interval(-30.0, -15.0), Interval(-30.0, -15.0))
    assert not approaches(x, y, corner, 5.0, False, (0.0, 1.0))
    assert approaches(x, y, corner, 5.0, False, (0.0, 1.0), together=False)
