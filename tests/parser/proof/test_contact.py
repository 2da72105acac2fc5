"""Decisions about hits, against brute force: numpy samples starts, tools and points of the path by plain arithmetic."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from parser.machine import Box, Interval
from parser.motion.places import Afloat, Name, Unknown
from parser.proof.axis_motion import axis_motion
from parser.proof.contact import FAR, Body, Obstacle, bodies, enclosure, hit_on, keep_out, penetration
from tests.bulk import in_turn
from tests.parser.scene import mill

TRAVEL = {"x": Interval(0.0, 260.0), "y": Interval(0.0, 150.0), "z": Interval(-90.0, 0.0)}
VISE = Obstacle("Vise", Interval(78.0, 172.0), Interval(33.0, 107.0), -78.0)
WITH_MARGIN = Obstacle("Vise", Interval(80.0, 170.0), Interval(35.0, 105.0), -80.0, margin=2.0)
DUCT = Obstacle("Duct", Interval(50.0, 150.0), Interval(0.0, 150.0), 0.0, bottom=-20.0, margin=2.0)
TOOL = Body("tool", 40.0, 6.0, any_size=True)
NOSE = Body("nose", 0.0, 30.0)


def start_of(axis, box=TRAVEL):
    return Afloat(0.0, Unknown(Name("start", axis), "start", box[axis]))


def straight(begin, end, box=TRAVEL):
    return tuple(axis_motion(begin[i], end[i], start_of(axis, box), box) for i, axis in enumerate("xyz"))


def here(box=TRAVEL):
    return [start_of(axis, box) for axis in "xyz"]


def to(place, **moved):
    return [moved.get(axis, place[i]) for i, axis in enumerate("xyz")]


def test_a_raise_is_never_blamed():
    assert hit_on(*straight(here(), to(here(), z=-2.0)), VISE, TOOL) is None


def test_crossing_above_the_longest_tool_is_clear():
    raised = to(here(), z=-2.0)
    assert hit_on(*straight(raised, to(raised, x=130.0, y=145.0)), VISE, TOOL) is None


def test_crossing_low_hits_and_the_case_shown_really_hits():
    hit = hit_on(*straight(here(), to(here(), x=130.0, y=70.0)), VISE, TOOL)
    assert hit is not None
    depth, length, radius = penetration(hit.start, hit.point, VISE, TOOL)
    assert depth > 1.0
    assert length <= TOOL.length
    assert radius <= TOOL.radius


def test_lowering_over_the_keep_out_hits_where_the_tool_was_above_it():
    hit = hit_on(*straight(here(), to(here(), z=-60.0)), VISE, TOOL)
    assert hit is not None
    assert hit.start[2] - hit.size[0] >= VISE.top - 1e-9
    assert hit.point[2] - hit.size[0] < VISE.top


@pytest.mark.parametrize(("z", "hits"), [(-38.0, False), (-38.0 - 1e-5, True)])
def test_the_longest_tool_just_touching_is_not_a_hit(z, hits):
    begin = to(here(), z=z)
    assert (hit_on(*straight(begin, to(begin, x=130.0, y=70.0)), VISE, TOOL) is not None) is hits


@pytest.mark.parametrize(("x", "hits"), [(172.0 + 6.0, False), (172.0 + 6.0 - 1e-5, True)])
def test_the_thickest_tool_just_touching_a_face_is_not_a_hit(x, hits):
    begin = [250.0, 70.0, -85.0]
    assert (hit_on(*straight(begin, to(begin, x=x)), VISE, TOOL) is not None) is hits


def test_a_corner_is_round():
    off = 6.0 / np.sqrt(2)
    begin = [250.0, 140.0, -85.0]
    just_clear = [172.0 + off + 1e-5, 107.0 + off + 1e-5, -85.0]
    just_not = [172.0 + off - 1e-5, 107.0 + off - 1e-5, -85.0]
    assert hit_on(*straight(begin, just_clear), VISE, TOOL) is None
    assert hit_on(*straight(begin, just_not), VISE, TOOL) is not None


def test_the_nose_has_one_size_and_starts_inside_are_left_out():
    low = {"x": Interval(80.0, 170.0), "y": Interval(35.0, 105.0), "z": Interval(-90.0, -80.0)}
    inside = here(low)
    assert hit_on(*straight(inside, to(inside, x=120.0), low), VISE, NOSE) is None


def test_raising_in_two_steps_by_a_relative_and_an_absolute_move_is_not_blamed():
    lifted = to(here(), z=Afloat(5.0, start_of("z").unknown))
    assert hit_on(*straight(here(), lifted), VISE, TOOL) is None
    assert hit_on(*straight(lifted, to(lifted, z=-2.0)), VISE, TOOL) is None


coordinates = st.one_of(
    st.just("stay"),
    st.just("back"),
    st.tuples(st.just("by"), st.floats(-60, 60)),
    st.tuples(st.just("to"), st.floats(0, 1)),
)


@st.composite
def scenes(draw):
    box = {}
    for axis, travel in TRAVEL.items():
        low, high = sorted((draw(st.floats(0, 1)), draw(st.floats(0, 1))))
        box[axis] = Interval(travel.low + low * travel.length, travel.low + high * travel.length)
    x, y = draw(st.floats(10, 240)), draw(st.floats(10, 140))
    obstacle = Obstacle(
        "K",
        Interval(x, x + draw(st.floats(1, 150))),
        Interval(y, y + draw(st.floats(1, 100))),
        draw(st.floats(-120, -20)),
        margin=draw(st.sampled_from([0.0, 2.0, 30.0])),
    )
    if draw(st.booleans()):
        body = Body("tool", draw(st.floats(5, 60)), draw(st.floats(0.5, 25)), any_size=True)
    else:
        body = Body("nose", 0.0, draw(st.floats(1, 40)))
    place = [start_of(axis, box) for axis in "xyz"]
    places = [place]
    for _ in range(draw(st.integers(1, 3))):
        new = []
        for axis, at in zip("xyz", place, strict=True):
            how = draw(coordinates)
            if how == "stay":
                new.append(at)
            elif how == "back":
                new.append(start_of(axis, box))
            elif how[0] == "by":
                new.append(at + how[1] if isinstance(at, float) else Afloat(at.base + how[1], at.unknown))
            else:
                new.append(TRAVEL[axis].low + how[1] * TRAVEL[axis].length)
        place = new
        places.append(place)
    return box, places, obstacle, body, draw(st.integers(0, 2**32 - 1))


def value(at, starts, axis):
    return np.full(len(starts), at) if isinstance(at, float) else starts[:, axis] + at.base


def distance_from_path(start, point, begin, end):
    """How far a point lies from the straight move that a given start makes of it."""
    starts = np.array([start])
    a, b = (np.array([value(c, starts, i)[0] for i, c in enumerate(place)]) for place in (begin, end))
    along = b - a
    share = np.clip(np.dot(point - a, along) / max(np.dot(along, along), 1e-30), 0, 1)
    return np.linalg.norm(a + share * along - point)


def violations(starts, points, obstacle, body, random):
    """For each row, whether some tool (or the body as it is) clear at the start is inside the obstacle at the point."""

    def plan_distance(at):
        dx = np.maximum.reduce([obstacle.x.low - at[:, 0], at[:, 0] - obstacle.x.high, np.zeros(len(at))])
        dy = np.maximum.reduce([obstacle.y.low - at[:, 1], at[:, 1] - obstacle.y.high, np.zeros(len(at))])
        return np.hypot(dx, dy)

    found = np.zeros(len(starts), bool)
    was, near = plan_distance(starts), plan_distance(points)
    over = (was == 0) & (starts[:, 2] < np.inf)
    for trial in range(8):
        shrink = (1.0, 1.0) if trial == 0 or not body.any_size else random.random((2, len(starts)))
        length, radius = body.length * shrink[0], body.radius * shrink[1]
        if trial == 1 and body.any_size:  # just what fitted at the start
            length, radius = np.clip(starts[:, 2] - obstacle.top, 0, body.length), np.minimum(was, body.radius)
        clear = ((was >= radius) & ~over) | (starts[:, 2] - length >= obstacle.top)
        within = (near < radius + obstacle.margin - 1e-5) & (
            points[:, 2] - length < obstacle.top + obstacle.margin - 1e-5
        )
        closer = (near < was - 1e-5) | (points[:, 2] < starts[:, 2] - 1e-5)
        found |= clear & within & closer
    return found


@pytest.mark.long
@in_turn(1, 2)
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(scenes())
def test_sampling_starts_tools_and_points_finds_no_hit_that_the_decision_denies(scene):
    box, places, obstacle, body, seed = scene
    random = np.random.default_rng(seed)
    starts = np.column_stack([random.uniform(box[a].low, box[a].high, 400) for a in "xyz"])
    for begin, end in itertools.pairwise(places):
        straight_answer = hit_on(*straight(begin, end, box), obstacle, body)
        swept_answer = hit_on(*straight(begin, end, box), obstacle, body, together=False)
        assert swept_answer is not None or straight_answer is None, "a sweep takes in the straight line"
        for t in np.linspace(0, 1, 25):
            points = np.column_stack(
                [
                    (1 - t) * value(b, starts, i) + t * value(e, starts, i)
                    for i, (b, e) in enumerate(zip(begin, end, strict=True))
                ]
            )
            if violations(starts, points, obstacle, body, random).any():
                assert straight_answer is not None
        if straight_answer is not None and straight_answer.depth > 0:
            assert penetration(straight_answer.start, straight_answer.point, obstacle, body)[0] > 0
            assert distance_from_path(straight_answer.start, straight_answer.point, begin, end) < 1e-6


def test_a_keep_out_is_as_drawn_and_its_margin_beside_it():
    box = keep_out(Box("K", (10.0, 20.0, -130.0), (30.0, 50.0, -80.0)), mill(keep_out_margin=2.0))
    assert (box.x, box.y, box.top, box.margin) == (Interval(10.0, 30.0), Interval(20.0, 50.0), -80.0, 2.0)
    assert box.bottom == -np.inf


def test_an_enclosure_has_faces_only_along_axes_that_the_head_carries():
    box = Box("Duct", (10.0, 20.0, -30.0), (30.0, 50.0, -10.0))
    axes = tuple(type(a)(a.name, a.travel, a.rapid, a.acceleration, carried_by="head") for a in mill().axes)
    by_head, by_table = enclosure(box, mill(axes=axes)), enclosure(box, mill())
    assert (by_head.x, by_head.y, by_head.top) == (Interval(10.0, 30.0), Interval(20.0, 50.0), -10.0)
    assert by_head.bottom == by_table.bottom == -30.0
    assert by_table.x == by_table.y == Interval(-FAR, FAR)


def test_a_part_without_a_size_is_still_a_line_or_a_disc():
    assert [body.name for body in bodies(mill(nose_radius=0.0, holder_radius=5.0))] == ["tool"]
    assert [body.name for body in bodies(mill(nose_radius=0.0, holder_radius=9.0))] == ["tool", "holder"]
    (disc,) = bodies(mill(nose_radius=0.0, tool_stick_out=0.0))
    assert (disc.length, disc.radius) == (0.0, 6.0)


def alone(begin, end):
    """A move between two places from that one start."""
    box = {axis: Interval(at, at) for axis, at in zip("xyz", begin, strict=True)}
    return tuple(axis_motion(at, to, at, box) for at, to in zip(begin, end, strict=True)), box


@pytest.mark.parametrize(
    ("begin", "end", "body", "hits"),
    [
        ((125.0, 70.0, -78.5), (125.0, 70.0, -85.0), NOSE, True),  # 1.5 mm above it, and down into it
        ((125.0, 70.0, -78.5), (125.0, 70.0, -2.0), NOSE, False),  # from within the margin and up
        ((125.0, 70.0, -80.5), (125.0, 70.0, -85.0), NOSE, False),  # it cannot have stood in the vise
        ((78.5, 70.0, -80.0), (125.0, 70.0, -80.0), TOOL, True),  # 1.5 mm beside it, and in
        ((78.5, 70.0, -80.0), (70.0, 70.0, -80.0), TOOL, False),  # and away
        ((78.5, 70.0, -80.0), (78.5, 80.0, -80.0), TOOL, False),  # and along the face
        ((60.0, 70.0, -80.0), (72.5, 70.0, -80.0), TOOL, True),  # 7.5 mm is less than 6 and the margin
        ((60.0, 70.0, -80.0), (72.0, 70.0, -80.0), TOOL, False),  # 8 mm is not
    ],
)
def test_the_margin_is_asked_on_the_way_and_leaves_no_start_out(begin, end, body, hits):
    motions, _ = alone(begin, end)
    assert (hit_on(*motions, WITH_MARGIN, body) is not None) is hits


@pytest.mark.parametrize(
    ("begin", "end", "body", "hits"),
    [
        ((100.0, 70.0, -60.0), (100.0, 70.0, 0.0), TOOL, True),  # up into it from below
        ((100.0, 70.0, -60.0), (100.0, 70.0, -22.0), TOOL, False),  # up to its margin
        ((100.0, 70.0, -21.0), (100.0, 70.0, -60.0), TOOL, False),  # down, from within the margin
        ((20.0, 70.0, -60.0), (100.0, 70.0, -60.0), TOOL, False),  # along below it
        ((20.0, 70.0, -10.0), (100.0, 70.0, -10.0), TOOL, True),  # from beside
        ((100.0, 70.0, -60.0), (100.0, 70.0, 0.0), NOSE, False),  # which has the spindle above it: not possible
        ((10.0, 70.0, -60.0), (100.0, 70.0, -60.0), NOSE, True),  # and so meets it at any height below
    ],
)
def test_a_box_on_the_frame_has_an_underside(begin, end, body, hits):
    motions, _ = alone(begin, end)
    assert (hit_on(*motions, DUCT, body) is not None) is hits


@pytest.mark.parametrize(
    ("begin", "end", "hits"),
    [
        ((100.0, 70.0, -60.0), (100.0, 70.0, 0.0), False),  # up into it: the nose cannot have stood there
        ((100.0, 70.0, DUCT.bottom), (100.0, 70.0, 0.0), False),
        ((20.0, 70.0, -60.0), (100.0, 70.0, 5.0), True),  # the nose passes above; the tool does not
        ((20.0, 70.0, DUCT.bottom), (100.0, 70.0, 5.0), True),
        ((20.0, 70.0, -60.0), (43.0, 70.0, 5.0), True),  # to 7 mm beside it, less than 6 and the margin
        ((20.0, 70.0, -60.0), (42.0, 70.0, 5.0), False),
        ((20.0, 70.0, -60.0), (20.0, 70.0, 5.0), False),  # straight up beside it
    ],
)
def test_a_body_no_wider_than_the_nose_has_it_above_itself(begin, end, hits):
    slim = Body("tool", 40.0, 6.0, any_size=True, under=30.0)
    motions, _ = alone(begin, end)
    assert (hit_on(*motions, DUCT, slim) is not None) is hits


@pytest.mark.parametrize(("z", "hits"), [(-79.0, False), (-77.0, True)])
def test_a_nose_that_comes_down_hits_only_where_it_was_clear_above(z, hits):
    """Above a top of -78: from -77 it comes down onto it, at -79 it cannot have stood."""
    motions, _ = alone((120.0, 70.0, z), (120.0, 70.0, z - 3.0))
    assert (hit_on(*motions, VISE, NOSE) is not None) is hits


@settings(max_examples=100, deadline=None)
@given(scenes(), st.floats(0, 40))
def test_a_larger_margin_never_proves_more(scene, more):
    box, places, obstacle, body, _ = scene
    wider = replace(obstacle, margin=obstacle.margin + more)
    for begin, end in itertools.pairwise(places):
        motions = straight(begin, end, box)
        if hit_on(*motions, obstacle, body) is not None:
            assert hit_on(*motions, wider, body) is not None
