"""The line of the controller sheet that makes the place where an axis stands read a value."""

from dataclasses import replace

import pytest

from parser.errors import SheetError
from parser.machine import Controller, Interval
from parser.motion.assumptions import OFFSET, Assumption, offset_of, origin_of
from parser.motion.places import bounds
from tests.parser.motion.following import MILL, at, follow, plain, rules, setup

NUMBERED = Controller(percent=False, origin_here="G10 L20 P{system} {axis}{value}")  # common practice, no source
IN_FORCE = Controller(percent=False, origin_here="G990 {axis}{value}")

HERE = at(100.0, 60.0, -20.0, 0.0)


def origin(followed, axis, system="G54"):
    return followed.final.origins[origin_of(system, axis)]


def test_the_place_reads_the_value_in_the_system_that_is_named():
    followed = follow("G10 L20 P2 X5\nG55 G0 X0", start=HERE, controller=NUMBERED)
    assert (rules(followed), origin(followed, "x", "G55"), plain(followed.end)) == ([], 95.0, (95.0, 60.0, -20.0))


def test_without_a_system_it_is_the_one_in_force():
    followed = follow("G55\ng990 x-12.7 (touched off)\nG0 X0", start=HERE, controller=IN_FORCE)
    assert (rules(followed), origin(followed, "x", "G55")) == ([], 112.7)


def test_in_inches_the_value_is_inches():
    assert origin(follow("G20\nG10 L20 P1 X0.5", start=HERE, controller=NUMBERED), "x") == pytest.approx(100.0 - 12.7)


def test_degrees_are_degrees_in_either():
    assert origin(follow("G20\nG10 L20 P1 A-90", start=HERE, controller=NUMBERED), "a") == 90.0


def test_a_tool_length_offset_counts():
    # under G43 a place is 40 mm higher in machine coordinates than under G49 (NISTIR 6556, 3.5.11)
    assert origin(follow("G43 H1\nG10 L20 P1 Z0\nG49", start=HERE, controller=NUMBERED), "z") == -60.0


def test_a_g92_offset_stays_and_the_place_reads_the_value_with_it():
    followed = follow("G92 X0\nG10 L20 P1 X5\nG0 X0", start=HERE, controller=NUMBERED)
    assert (rules(followed), plain(followed.end, "x")) == ([], (95.0,))
    assert OFFSET in followed.final.changed


def test_that_no_g92_offset_is_in_force_is_counted_on_and_the_old_origin_is_not():
    followed = follow("G10 L20 P1 X5", start=HERE, controller=NUMBERED)
    lasting = {each for each in followed.assumptions if each.about.kind != "mode"}
    assert lasting == {Assumption(offset_of("x"), "none")}


def test_from_anywhere_what_is_counted_from_it_goes_with_the_start():
    followed = follow("G10 L20 P1 X5\nG0 X15", controller=NUMBERED)
    end, start = followed.end["x"], followed.start["x"]
    assert (end.unknown, end.base) == (start.unknown, 10.0)


@pytest.mark.parametrize(
    ("controller", "known", "text"),
    [
        (NUMBERED, "G17", "G10 L20 P1 X5"),
        (IN_FORCE, "G21", "G990 X5"),
        (NUMBERED, "G21", "G10 L20 P1 Z5"),
    ],
)
def test_in_a_mode_that_is_not_known_the_zero_is_not_known_either(controller, known, text):
    followed = follow(text, known=known, start=HERE, controller=controller)
    assert rules(followed) == ["mode-assumed"]
    axis = text[-2].lower()
    assert bounds(origin(followed, axis)) == {axis.name: axis.travel for axis in MILL.axes}[axis]


def test_an_axis_that_there_is_not_is_refused():
    assert rules(follow("G10 L20 P1 B5", controller=NUMBERED)) == ["word-not-supported"]


def test_other_lines_are_followed_as_published():
    followed = follow("G10 L2 P1 X7", controller=NUMBERED)
    assert (rules(followed), origin(followed, "x")) == ([], 7.0)
    assert rules(follow("G10 L20 P1 X5 Y5", controller=NUMBERED)) == ["word-out-of-range"]
    assert rules(follow("G10 L20 P1 X5", controller=Controller(percent=False))) == ["word-out-of-range"]


def test_an_origin_given_as_a_range_is_known_after_it():
    machine = replace(MILL, setups=(setup(G54={"x": Interval(100.0, 110.0)}),))
    assert origin(follow("G10 L20 P1 X5", start=HERE, machine=machine, controller=NUMBERED), "x") == 95.0


@pytest.mark.parametrize(
    "line",
    ["X{value}", "{axis}{value}{axis}{value}", "G92 {axis}{value}", "G10 L2 P1 {axis}{value}", "SET {axis}{value}"],
)
def test_a_line_that_cannot_be_told_from_others_is_no_such_line(line):
    with pytest.raises(SheetError, match="origin_here"):
        Controller(origin_here=line)
