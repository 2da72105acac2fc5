"""Labels and their leaders: whatever is called out, no two leader lines cross."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import parser
from parser.machine import Controller
from tests.webapp import drawn
from tests.webapp.test_drawings import classed, numbers_in, tree, view
from webapp.drawings import elevations, layers
from webapp.drawings.leaders import Leader, Spot, crossing, place
from webapp.drawings.lettering import Desk, Patch

PAGE = Patch(0, 0, 60, 60)
POINTS = st.tuples(st.integers(0, 60), st.integers(0, 60))


def share_a_point(one, other):
    """In exact arithmetic: each is cut by the straight line of the other, or they lie on one line and overlap."""
    (a, b), (c, d) = ([tuple(map(Fraction, point)) for point in (line.point, line.label)] for line in (one, other))

    def turn(p, q, r):
        value = (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])
        return (value > 0) - (value < 0)

    turns = turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b)
    if any(turns):
        return turns[0] != turns[1] and turns[2] != turns[3]
    return all(max(min(a[i], b[i]), min(c[i], d[i])) <= min(max(a[i], b[i]), max(c[i], d[i])) for i in (0, 1))


def a_little_less(x, y, u, v):
    """A line without its ends, which are written to two decimals and may be one point for two of them."""
    return Leader((u + (x - u) / 50, v + (y - v) / 50), (x + (u - x) / 50, y + (v - y) / 50))


def spots(point, others):
    x, y = point
    far = [Spot(Patch(u, v, u + 8, v + 2), Leader(point, (u, v))) for u, v in others if (u, v) != point]
    return [*far, Spot(Patch(x, y, x + 8, y + 2))]


@given(st.lists(st.tuples(POINTS, st.lists(POINTS, min_size=1, max_size=12)), min_size=2, max_size=12))
def test_no_two_leaders_cross(labels):
    desk = Desk(PAGE)
    placed = place([spots(*label) for label in labels], desk, 0.5)
    assert [spot in spots(*label) for spot, label in zip(placed, labels, strict=True)] == [True] * len(labels)
    for one, other in combinations([spot.leader for spot in placed if spot.leader], 2):
        if one.point != other.point:
            assert not share_a_point(one, other), (one, other)


def test_a_leader_that_would_cross_goes_to_the_next_best_place():
    up = Leader((10, 30), (30, 10))
    down = Spot(Patch(30, 30, 38, 32), Leader((10, 10), (30, 30)))
    level = Spot(Patch(0, 10, 8, 12), Leader((10, 10), (8, 11)))
    near = Spot(Patch(10, 10, 18, 12))
    assert place([[down, level, near]], Desk(PAGE), 0.5) == (down,)
    assert place([[down, level, near]], Desk(PAGE), 0.5, [up]) == (level,)
    assert place([[down, near]], Desk(PAGE), 0.5, [up]) == (near,)


def test_a_leader_that_would_strike_through_lettering_goes_to_the_next_best_place():
    desk = Desk(PAGE)
    desk.take(Patch(20, 8, 30, 12))
    through, past = (Spot(Patch(x, y, x + 8, y + 2), Leader((10, 10), (x, y))) for x, y in ((40, 10), (40, 30)))
    beside = Spot(Patch(10, 10, 18, 12))
    assert place([[through, past, beside]], desk, 0.3) == (past,)


def test_two_leaders_from_one_point_part_there_and_never_lie_on_one_another():
    one = Leader((0, 0), (10, 10))
    beyond, beside = (Spot(Patch(20, 20, 28, 22), Leader((0, 0), end)) for end in ((20, 20), (20, 10)))
    near = Spot(Patch(0, 0, 8, 2))
    assert place([[beyond, beside, near]], Desk(PAGE), 0.5, [one]) == (beside,)


def test_two_that_lie_on_one_another_but_for_how_they_are_rounded_touch():
    """Along a path that goes level both arms are as high as it is, but for the last digits."""
    long = Leader((185.88697524219592, 91.87298170075348), (91.03201236722325, 91.8729817007535))
    short = Leader((163.88697524219592, 91.87298170075348), (120.88605873887497, 91.87298170075348))
    beyond = Leader((80.0, 91.87298170075348), (60.0, 91.8729817007535))
    assert crossing(long, short)
    assert crossing(short, long)
    assert not crossing(long, beyond)


def test_a_label_needs_a_place_without_a_leader():
    with pytest.raises(ValueError, match="without a leader"):
        place([[Spot(PAGE, Leader((0, 0), (4, 4)))]], Desk(PAGE), 0.5, [Leader((0, 4), (4, 0))])


@settings(max_examples=40)
@given(st.lists(st.tuples(st.integers(0, 26), st.integers(0, 15), st.integers(0, 4)), min_size=2, max_size=25))
def test_the_arms_of_a_crowded_path_do_not_cross_in_either_view(places):
    here, moves = {"x": 0.0, "y": 0.0, "z": 0.0}, []
    for line, (x, y, z) in enumerate(places, start=1):
        move, here = drawn.move_on(here, line, x=10.0 * x, y=10.0 * y, z=-10.0 * z)
        moves.append(move)
    report = drawn.report_of(moves, {"x": 0.0, "y": 0.0, "z": 0.0}, {})
    sheet = tree(elevations.draw(report))
    for name in ("plan", "front"):
        arms = classed(view(sheet, name), "arm")
        ends = [[float(arm.get(key)) for key in ("x1", "y1", "x2", "y2")] for arm in arms]
        for one, other in combinations([a_little_less(*each) for each in ends], 2):
            assert not share_a_point(one, other), (one, other)


def test_what_a_finding_calls_out_does_not_cross_either():
    report = parser.examine("G21 G90 G94 G17\nG53 G0 X20 Y140\n", drawn.mill(), Controller(percent=False))
    finding = next(each for each in report.findings if each.witness)
    sheet = tree(elevations.draw(report, focus=finding))
    for name in ("plan", "front"):
        (one, other) = [numbers_in(leader.get("d")) for leader in classed(view(sheet, name), "leader")]
        assert not share_a_point(Leader(tuple(one[:2]), tuple(one[2:])), Leader(tuple(other[:2]), tuple(other[2:])))
    assert re.search(r"meets|leaves", str(elevations.draw(report, focus=finding)))
    assert layers.ARMLESS < 2.3
