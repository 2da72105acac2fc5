"""The oracle against scenes worked out by hand, and against plain arithmetic, so that a broken oracle is noticed.

Unless told otherwise the keep-out stands from X 80 to 120 and Y 40 to 80 with its top at -60, the tool is up to 40 mm
long and 12 mm thick, and the margin is 2 mm. The widest tool is 8 mm off in plan where it touches the margin.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from parser.machine import Axis, Box, Interval, Limit, Machine, Origin, Setup
from tests.bulk import mostly_long
from tests.parser.proof.solver import (
    TOUCH,
    Answer,
    Key,
    Thing,
    ask,
    decide,
    ends,
    path,
    question,
    solve,
    solve_by_sides,
)
from tests.parser.proof.solver import subjects as things
from tests.parser.proof.solver_cases import by_how_much, case_of
from tests.parser.proof.solver_scenes import AXES, TRAVEL, Action, Scene, scene

BLOCK = Box("K0", (80.0, 40.0, -200.0), (120.0, 80.0, -60.0))
DUCT = Box("Frame", (80.0, 40.0, -50.0), (120.0, 80.0, -10.0))
ZERO = {axis: Interval(0.0, 0.0) for axis in AXES}
HEAD = dict.fromkeys(AXES, "head")


def machine(*, carried=HEAD, origin=ZERO, boxes=(BLOCK,), **changes) -> Machine:
    axes = tuple(Axis(axis, TRAVEL[axis], 2000.0, 200.0, carried_by=carried[axis]) for axis in AXES)
    setup = Setup("", tuple(boxes), {"G54": Origin(origin)})
    mill = Machine("By hand", axes, (setup,), tool_stick_out=40.0, tool_radius=6.0, travel_margin=0.5)
    return replace(mill, **changes)


def to(**values: float) -> Action:
    return Action("to", values)


def by(**values: float) -> Action:
    return Action("by", values)


PAUSE = Action("pause")


def answers(mill: Machine, start: dict[str, float | tuple[float, float]], *actions: Action) -> dict[Key, list[str]]:
    """What the oracle says of each line, by what is met; an axis that is left out starts anywhere."""
    given = {axis: at if isinstance(at, tuple) else (at, at) for axis, at in start.items()}
    box = TRAVEL | {axis: Interval(*ends) for axis, ends in given.items()}
    made = Scene(mill, box, actions)
    return {key: [answer.value for answer in lines.values()] for key, lines in decide(made).items()}


def of_block(mill: Machine, start: dict[str, float | tuple[float, float]], *actions: Action) -> list[str]:
    return answers(mill, start, *actions)["K0", ""]


@pytest.mark.parametrize(
    ("x", "said"), [(72.0, "clear"), (72.0000005, "touches"), (72.001, "hits"), (100.0, "hits"), (50.0, "clear")]
)
def test_the_widest_tool_touches_the_margin_eight_millimetres_off_and_a_thousandth_nearer_hits(x, said):
    assert of_block(machine(), {"x": 0.0, "y": 60.0, "z": -90.0}, to(x=x)) == [said]


@pytest.mark.parametrize(("x", "said"), [(72.0, "clear"), (72.001, "hits")])
def test_a_step_from_anywhere_left_of_a_place_comes_no_nearer_than_its_end(x, said):
    step = round(x - 60.0, 3)
    assert of_block(machine(), {"x": (0.0, 60.0), "y": (40.0, 80.0)}, by(x=step)) == [said]


@pytest.mark.parametrize(("x", "said"), [(77.0, "clear"), (77.001, "hits")])
def test_a_margin_is_rounded_about_a_corner(x, said):
    """From the corner at 80, 40 to 77, 36 it is 5 mm: a nose of radius 3 and a margin of 2 touch there."""
    mill = machine(tool_stick_out=0.0, tool_radius=0.0, nose_radius=3.0)
    assert of_block(mill, {"x": 60.0, "y": 36.0, "z": -90.0}, to(x=x)) == [said]


@pytest.mark.parametrize(("z", "said"), [(-58.0, "clear"), (-58.001, "hits"), (-70.0, "hits")])
def test_a_tool_of_no_length_and_no_thickness_meets_the_margin_of_what_it_passes_over(z, said):
    point = machine(tool_stick_out=0.0, tool_radius=0.0)
    assert of_block(point, {"x": 0.0, "y": 60.0, "z": z}, to(x=200.0)) == [said]


@pytest.mark.parametrize(("y", "said"), [(40.0, "clear"), (40.0000005, "touches"), (40.001, "hits")])
def test_a_line_passes_along_a_face_and_not_behind_it(y, said):
    line = machine(tool_radius=0.0, keep_out_margin=0.0)
    assert of_block(line, {"x": 0.0, "y": y, "z": -90.0}, to(x=200.0)) == [said]


@pytest.mark.parametrize(("z", "said"), [(-48.0, "clear"), (-47.0, "clear"), (-48.001, "hits")])
def test_over_the_block_the_longest_tool_may_stand_on_it_and_does_not_come_down(z, said):
    bare = machine(tool_stick_out=12.0, keep_out_margin=0.0)
    assert of_block(bare, {"x": 100.0, "y": 60.0, "z": -48.0}, to(z=z)) == [said]


def test_raising_from_within_the_margin_is_not_blamed_and_lowering_there_is():
    beside = {"x": 73.0, "y": 60.0, "z": -90.0}
    assert of_block(machine(), beside, by(z=30.0)) == ["clear"]
    assert of_block(machine(), beside, by(x=-1.0)) == ["clear"]
    assert of_block(machine(), beside, by(z=-1.0)) == ["hits"]


def test_what_stood_in_the_margin_is_judged_and_has_to_come_nearer_by_a_millionth():
    point = machine(tool_stick_out=0.0, tool_radius=0.0)
    assert of_block(point, {"x": 100.0, "y": 60.0, "z": -59.0}, by(z=-0.5)) == ["hits"]
    for step, said in ((0.0, "clear"), (5e-7, "touches"), (5e-6, "hits")):
        assert of_block(point, {"x": 79.0, "y": 60.0, "z": -90.0}, by(x=step)) == [said]


def test_moving_over_the_margin_at_one_height_is_not_blamed_on_a_tool_that_stood_there():
    above = {"x": 100.0, "y": 60.0, "z": -19.0}
    assert of_block(machine(), above, by(x=5.0)) == ["clear"]
    assert of_block(machine(), above, by(x=5.0, z=-0.001)) == ["hits"]


def test_a_start_inside_the_block_is_none():
    """Over it at -70 the nose stands in it, and a tool of no size too; on a face that tool does not, and may enter."""
    nose = machine(tool_stick_out=0.0, tool_radius=0.0, nose_radius=5.0)
    assert of_block(nose, {"x": (81.0, 119.0), "y": (41.0, 79.0), "z": -70.0}, by(z=-20.0), to(x=0.0)) == ["clear"] * 2
    assert of_block(nose, {"x": (80.0, 119.0), "y": (41.0, 79.0), "z": -70.0}, by(x=1.0)) == ["hits"]


def test_a_holder_has_one_size_and_a_flat_one_is_a_disc():
    holder = machine(tool_stick_out=0.0, tool_radius=0.0, holder_length=20.0)
    assert of_block(holder, {"x": 0.0, "y": 60.0, "z": -38.0}, to(x=100.0)) == ["clear"]
    assert of_block(holder, {"x": 0.0, "y": 60.0, "z": -39.0}, to(x=100.0)) == ["hits"]
    disc = machine(tool_stick_out=0.0, tool_radius=0.0, holder_radius=20.0)
    assert of_block(disc, {"x": 0.0, "y": 60.0, "z": -59.0}, to(x=58.0)) == ["clear"]
    assert of_block(disc, {"x": 0.0, "y": 60.0, "z": -59.0}, to(x=58.001)) == ["hits"]


def test_after_a_pause_the_tool_may_be_a_longer_one():
    """Over the block at -50 it is at most 10 mm long; raised to -20, up to 40 mm may be put in."""
    bare, over = machine(keep_out_margin=0.0), {"x": 100.0, "y": 60.0, "z": -50.0}
    assert of_block(bare, over, to(z=-20.0), to(z=-50.0)) == ["clear", "clear"]
    assert of_block(bare, over, to(z=-20.0), PAUSE, to(z=-50.0)) == ["clear", "hits"]


def test_a_work_origin_counts_over_its_whole_range():
    for high, said in ((72.0, "clear"), (72.001, "hits")):
        mill = machine(origin=ZERO | {"x": Interval(10.0, high)})
        assert of_block(mill, {"x": 0.0, "y": 60.0, "z": -90.0}, Action("work", {"x": 0.0})) == [said]


@pytest.mark.parametrize(("z", "said"), [(5.0, "clear"), (-0.001, "hits")])
def test_an_unknown_work_origin_cancels_between_two_places_in_it(z, said):
    """The tool is put in where Z reads 0 over the block, wherever that is, and goes up 5 mm from there, or down."""
    unknown = machine(origin=ZERO | {"z": Interval(-100.0, 0.0)})
    over = {"x": 100.0, "y": 60.0, "z": -100.0}
    assert of_block(unknown, over, Action("work", {"z": 0.0}), PAUSE, Action("feed", {"z": z})) == ["clear", said]


def test_a_duct_is_met_from_below_by_a_tool_wider_than_the_nose_only():
    below = {"x": 100.0, "y": 60.0, "z": -60.0}
    for radius, z, said in ((8.0, -52.0, "clear"), (8.0, -51.999, "hits"), (4.0, -30.0, "clear")):
        mill = machine(boxes=(), enclosures=(DUCT,), nose_radius=5.0, tool_radius=radius)
        assert answers(mill, below, to(z=z))["Frame", ""] == [said]


def test_a_tool_under_a_nose_that_passes_above_a_duct_meets_it():
    """It stood lower, beside the duct; it cannot have stood under it."""
    mill = machine(boxes=(), enclosures=(DUCT,), nose_radius=10.0, tool_radius=3.0, tool_stick_out=40.0)
    for x, said in ((70.0, "hits"), (81.0, "clear")):
        below = {"x": x, "y": 60.0, "z": -60.0}
        assert answers(mill, below, to(z=-5.0), to(x=100.0))["Frame", ""] == ["clear", said]


def test_under_a_duct_the_nose_cannot_go_and_a_tool_without_one_above_it_can():
    beside = {"x": 50.0, "y": 60.0, "z": -60.0}
    for nose, said in ((5.0, "hits"), (0.0, "clear")):
        mill = machine(boxes=(), enclosures=(DUCT,), nose_radius=nose, tool_radius=8.0)
        assert answers(mill, beside, to(x=100.0))["Frame", ""] == [said]


def test_a_duct_has_no_faces_along_an_axis_that_the_table_carries():
    """With X on the table only Y counts; with Z there no height clears it, and none comes nearer."""
    mill = machine(carried=HEAD | {"x": "table"}, boxes=(), enclosures=(DUCT,))
    assert answers(mill, {"x": 0.0, "y": 20.0, "z": -30.0}, to(x=200.0))["Frame", ""] == ["clear"]
    assert answers(mill, {"x": 0.0, "y": 20.0, "z": -30.0}, to(y=32.0))["Frame", ""] == ["clear"]
    assert answers(mill, {"x": 0.0, "y": 20.0, "z": -30.0}, to(y=32.001))["Frame", ""] == ["hits"]
    knee = machine(carried=HEAD | {"z": "table"}, boxes=(), enclosures=(DUCT,))
    assert answers(knee, {"x": 73.0, "y": 60.0, "z": 0.0}, to(z=-100.0))["Frame", ""] == ["clear"]
    assert answers(knee, {"x": 50.0, "y": 60.0, "z": 0.0}, to(x=72.001))["Frame", ""] == ["hits"]


def test_what_rides_on_the_table_meets_a_duct_that_it_stands_beside_along_the_other_axes():
    """Along X they overlap at readings from 80 - 10 to 120 + 10, along Y as drawn, and along Z they are 1 mm apart."""
    duct = Box("Frame", (-10.0, 50.0, -59.0), (10.0, 60.0, -20.0))
    table = HEAD | {"x": "table"}
    for margin, x, said in ((2.0, 68.0, "clear"), (2.0, 68.001, "hits"), (1.0, 130.0, "clear")):
        mill = machine(carried=table, enclosures=(duct,), keep_out_margin=margin)
        assert answers(mill, {"x": 0.0}, to(x=x))["Frame", "K0"] == [said]
    mill = machine(carried=table, enclosures=(duct,))
    assert answers(mill, {"x": 69.0}, to(x=0.0))["Frame", "K0"] == ["clear"]
    assert answers(mill, {"x": 100.0}, by(x=5.0))["Frame", "K0"] == ["clear"]


@pytest.mark.parametrize(
    ("start", "x", "said"), [(0.0, 199.5, "clear"), (0.0, 199.501, "hits"), (199.8, 199.7, "clear")]
)
def test_an_axis_keeps_the_travel_margin_unless_it_stood_further_out(start, x, said):
    assert answers(machine(), {"x": start}, to(x=x))["x", 2] == [said]


def test_a_limit_is_broken_where_an_axis_came_nearer_to_breaking_it():
    mill = machine(boxes=(), limits=(Limit(("z", "<", -70.0), ("y", "<=", 100.0)),))
    deep, back = {"y": 90.0, "z": -80.0}, {"y": 110.0, "z": -60.0}
    assert answers(mill, deep, to(y=100.0))["limit", 0] == ["clear"]
    assert answers(mill, deep, to(y=100.001))["limit", 0] == ["hits"]
    assert answers(mill, back, to(z=-70.0))["limit", 0] == ["clear"]
    assert answers(mill, back, to(z=-70.001))["limit", 0] == ["hits"]
    assert answers(mill, {"y": 110.0, "z": -80.0}, by(y=-5.0), by(z=5.0), by(x=1.0))["limit", 0] == ["clear"] * 3


def test_the_way_counts_and_not_only_its_end():
    """From 60, 60 to 100, 20 a line goes just through the corner at 80, 40; a little further along X it cuts it."""
    start = {"x": 60.0, "y": 60.0, "z": -90.0}
    bare = machine(tool_radius=0.0, keep_out_margin=0.0)
    assert of_block(bare, start, to(x=100.0, y=20.0)) == ["clear"]  # exactly through the corner
    assert of_block(bare, start, to(x=100.001, y=20.0)) == ["hits"]


# Against plain arithmetic


def _draws(subject, start, setup, random: np.random.Generator) -> dict[str, float]:
    """Some values of the unknowns, often at an end of their range."""
    ranges = {f"start.{axis}": side for axis, side in start.items()} | {"t": Interval(0.0, 1.0)}
    ranges |= {f"origin.{axis}": side for axis, side in setup.origins["G54"].axes.items()}
    if isinstance(subject, Thing):
        ranges |= {"length": Interval(0.0, float(subject.length)), "radius": Interval(0.0, float(subject.radius))}
    shares = np.clip(random.uniform(-0.3, 1.3, len(ranges)), 0.0, 1.0)
    return {name: side.low + share * side.length for (name, side), share in zip(ranges.items(), shares, strict=True)}


@pytest.mark.parametrize("seed", range(8))
def test_what_the_solver_finds_is_a_hit_in_plain_arithmetic_and_no_sample_is_one_where_it_finds_none(seed):
    made, random = scene(seed), np.random.default_rng(seed)
    for setup in made.machine.setups:
        subjects = [subject for _, subject in things(made.machine, setup)] + [*ends(made.machine)]
        for subject, leg in ((subject, leg) for subject in subjects for leg in made.legs()):
            answer, values = ask(subject, leg, made.start, setup)
            if answer is Answer.HITS:
                assert by_how_much(subject, case_of(subject, leg, made.start, setup, values)) > 0.9 * float(TOUCH)
            if answer is Answer.CLEAR:
                for _ in range(40):
                    values = _draws(subject, made.start, setup, random)
                    assert by_how_much(subject, case_of(subject, leg, made.start, setup, values)) < 2 * float(TOUCH)


@pytest.mark.parametrize("seed", mostly_long(range(8, 11), keep=0, most=2))
def test_a_question_has_the_same_answer_in_parts_and_with_its_unknowns_in_another_order(seed):
    made = scene(seed)
    setup = made.machine.setups[0]
    for (_, subject), leg in ((each, leg) for each in things(made.machine, setup) for leg in made.legs()):
        way = path(leg, made.start, setup)
        conditions = [*way.ranges, question(subject, way, Fraction(0))]
        found = {solve(conditions, order)[0] for order in (0, 1, 2)}
        assert len({*found, solve_by_sides(subject, way, Fraction(0))[0]} - {None}) == 1
