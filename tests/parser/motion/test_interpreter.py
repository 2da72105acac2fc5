"""Programs followed word by word: what is known, what floats, what is reported once, what a controller makes of it."""

from dataclasses import replace
from functools import reduce

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from parser.language.reader import read
from parser.machine import HOME_AT_PANEL, Controller, Interval, Machine
from parser.motion.assumptions import OFFSET, Assumption, offset_of, stored_point_of
from parser.motion.geometry import extents, value_of
from parser.motion.interpreter import AssumeError, trace
from parser.motion.places import Afloat, Name, bounds, minus
from tests.parser.motion.following import (
    HERE,
    KNOWN,
    MILL,
    TRAVEL,
    at,
    follow,
    from_work_zero,
    plain,
    rules,
    setup,
    stations,
)

PLAIN = Controller(percent=False)


def with_setups(*setups):
    return replace(MILL, setups=setups)


# Where things are ---------------------------------------------------------------------------------------------------


def test_an_axis_starts_anywhere_in_its_travel():
    start = follow("").start
    assert {axis: bounds(coordinate) for axis, coordinate in start.items()} == TRAVEL
    assert plain(start) == ("start.x", "start.y", "start.z")


def test_a_start_that_is_a_point_is_a_number():
    start = follow("", start={"x": Interval(3.0, 3.0), "y": Interval(1.0, 2.0)}).start
    assert start["x"] == 3.0
    assert bounds(start["y"]) == Interval(1.0, 2.0)


def test_a_move_in_machine_coordinates_leaves_the_other_axes_where_they_were():
    assert stations(follow("G53 G0 Z-2\nG53 X130 Y145")) == [
        ("rapid", ("start.x", "start.y", -2.0)),
        ("rapid", (130.0, 145.0, -2.0)),
    ]


def test_machine_coordinates_are_absolute_under_g91_too():
    assert follow("G91 G53 G0 Z-2").end["z"] == -2.0


def test_work_coordinates_are_counted_from_the_origin_on_the_sheet():
    followed = follow("G0 X1 Y-2 Z3")
    assert plain(followed.end) == (126.0, 68.0, -37.0)
    assert followed.origins_used == ("G54",)
    assert {each.about for each in followed.assumptions if each.taken == "none"} == {offset_of(axis) for axis in "xyz"}


def test_inches_are_turned_into_millimetres_and_degrees_are_left_alone():
    followed = follow("G20\nF10 G53 G1 X1 A90")
    assert (followed.end["x"], followed.end["a"], followed.moves[0].feed) == (25.4, 90.0, 254.0)


def test_a_move_of_rotary_axes_alone_has_its_feed_in_degrees():
    assert follow("G20\nF10 G1 A90").moves[0].feed == 10.0


def test_a_relative_move_floats_with_the_start():
    (move,) = follow("G91 G0 X5").moves
    assert minus(move.end["x"], move.start["x"]) == 5.0


def test_an_origin_that_is_not_on_the_sheet_may_be_anywhere_and_cancels_between_two_points():
    followed = follow("G55 G0 X0\nX10")
    first, second = followed.moves
    assert bounds(first.end["x"]) == Interval(0.5, 259.5), "travel less its margins"
    assert minus(second.end["x"], first.end["x"]) == 10.0
    assert followed.origins_missing == {("G55", "x"): 1}
    assert followed.origins_used == ()


def test_an_origin_given_as_a_range_is_unknown_within_it():
    machine = with_setups(setup("Bar", G54={"x": Interval(10.0, 20.0)}))
    assert bounds(follow("G0 X1", machine=machine).end["x"]) == Interval(11.0, 21.0)


def test_without_a_setup_an_origin_is_the_hull_over_all_of_them():
    machine = with_setups(setup("One", G54=at(x=10.0, y=5.0)), setup("Two", G54=at(x=30.0, y=5.0)))
    end = follow("G0 X1 Y1", machine=machine).end
    assert bounds(end["x"]) == Interval(11.0, 31.0)
    assert end["y"] == 6.0
    assert follow("G0 X1", machine=machine, setup=machine.setups[1]).end["x"] == 31.0


def test_an_origin_that_one_setup_lacks_is_missing():
    machine = with_setups(setup("One", G54=at(x=10.0)), setup("Two"))
    followed = follow("G0 X1", machine=machine)
    assert bounds(followed.end["x"]) == Interval(1.5, 260.5)
    assert followed.origins_missing == {("G54", "x"): 1}


def test_an_origin_set_by_the_program_is_known_whatever_the_sheet_says():
    followed = follow("G10 L2 P3 X50\nG56 G0 X1")
    assert (followed.end["x"], followed.origins_missing, followed.origins_used) == (51.0, {}, ())


def test_g92_from_an_unknown_position_floats_with_it_and_cancels():
    followed = follow("G92 X0\nG0 X10\nX0")
    first, second = followed.moves
    assert minus(first.end["x"], first.start["x"]) == 10.0
    assert second.end["x"] == first.start["x"]
    assert followed.final.changed == {OFFSET: 1}


def test_a_g92_offset_acts_in_the_other_systems_too():
    """NISTIR 6556, 3.5.18."""
    assert from_work_zero("G10 L2 P2 X50\nG92 X7\nG55 G0 X0", 4.0).end["x"] == 47.0


def test_moving_the_origin_in_force_moves_the_zero_that_g92_named():
    assert from_work_zero("G92 X7\nG10 L2 P1 X100\nG0 X0", 4.0).end["x"] == 97.0


@pytest.mark.parametrize(("clearing", "restored"), [("G92.2", -3.0), ("G92.1", 0.0)])
def test_g92_offsets_come_off_and_come_back(clearing, restored):
    """NISTIR 6556, 3.5.18: G92.2 keeps the parameters that G92.3 restores from, G92.1 zeroes them."""
    cleared, back = from_work_zero(f"G92 X7\n{clearing}\nG0 X1\nG92.3\nX0.5", 4.0).moves
    assert cleared.end["x"] == 1.0
    assert back.end["x"] == 0.5 + restored


def test_clearing_g92_leaves_no_offset_changed():
    assert from_work_zero("G92 X7\nG92.1").final.changed == {}


def test_a_move_that_cannot_have_length_is_left_out():
    assert from_work_zero("G0 X0\nG91 X0\nG90 G53 X0").moves == ()


def test_a_return_goes_through_the_point_given_and_takes_all_axes():
    """NISTIR 6556, 3.5.8."""
    followed = follow("G28 Z0", start=at(10.0, 20.0, -50.0, 0.0))
    assert stations(followed) == [("rapid", (10.0, 20.0, -40.0)), ("rapid", (0.0, 0.0, 0.0))]


def test_a_return_without_axis_words_is_one_move():
    """NISTIR 6556, 3.5.8."""
    assert stations(follow("G28", start=at(10.0, 20.0, -50.0, 0.0))) == [("rapid", (0.0, 0.0, 0.0))]


def test_a_relative_return_moves_only_the_axes_named_where_the_controller_does_so():
    named = replace(PLAIN, g28_axes="named")  # common practice, no source
    followed = follow("G91 G28 Z0", start=at(10.0, 20.0, -50.0, 0.0), controller=named)
    assert stations(followed) == [("rapid", (10.0, 20.0, 0.0))]


def test_a_stored_point_that_is_not_on_the_sheet_may_be_anywhere():
    followed = follow("G30")
    assert bounds(followed.end["x"]) == Interval(0.5, 259.5), "travel less its margins"
    assert Assumption(stored_point_of("G30"), "anywhere") in followed.assumptions


@pytest.mark.parametrize("clearing", ["", "G92.2\n"])
def test_a_kept_offset_shifts_with_the_origin_it_was_given_in(clearing):
    """NISTIR 6556, 3.5.18: G92.3 puts the offsets back; offsets are counted from the origin in force (3.5.5, 3.5.18).

    At work zero, called X10: the offset is -10. With the origin at 200, X75 is at 200 - 10 + 75.
    """
    followed = follow(f"G54 G0 X0\nG92 X10\n{clearing}G10 L2 P1 X200\n{clearing and 'G92.3'}\nG0 X75")
    assert followed.end["x"] == 265.0


def test_a_parameter_of_a_stored_point_moves_it():
    """NISTIR 6556, 3.2.1: 5161 is X of the G28 point."""
    followed = follow("G20\n#5161=2\nG28", start=HERE)
    assert followed.end["x"] == 50.8
    assert followed.final.changed == {stored_point_of("G28"): 2}


def test_parameters_of_the_sheet_are_read_in_the_units_in_force():
    assert follow("G20\nG91 G0 X#5221", start=at(x=0.0)).end["x"] == pytest.approx(125.0)


def test_an_origin_is_not_set_through_its_parameter():
    assert rules(follow("#5221=3")) == ["word-not-supported"]


# Arcs ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("plane", "words", "axes", "centre"),
    [
        ("G17", "X10 I5", ("x", "y"), (5.0, 0.0)),
        ("G18", "Z10 K5", ("z", "x"), (5.0, 0.0)),
        ("G19", "Y10 J5", ("y", "z"), (5.0, 0.0)),
    ],
)
@pytest.mark.parametrize(("word", "sweep"), [("G2", -180.0), ("G3", 180.0)])
def test_an_arc_turns_in_its_plane_as_seen_from_the_positive_end_of_the_normal(plane, words, axes, centre, word, sweep):
    """NISTIR 6556, 3.5.3."""
    (move,) = from_work_zero(f"F9 {plane} {word} {words}").moves
    assert (move.kind, move.arc.axes, move.arc.centre, move.arc.radius) == ("arc", axes, centre, 5.0)
    assert move.arc.sweep == pytest.approx(sweep)


def test_a_negative_radius_takes_the_long_way_round():
    """NISTIR 6556, 3.5.3.1."""
    short, long = (from_work_zero(f"F9 G3 X5 Y5 R{radius}").moves[0].arc for radius in (5, -5))
    assert (short.centre, short.sweep) == (pytest.approx((0.0, 5.0)), pytest.approx(90.0))
    assert (long.centre, long.sweep) == (pytest.approx((5.0, 0.0)), pytest.approx(270.0))


def test_an_arc_that_ends_where_it_starts_is_a_full_circle():
    (move,) = from_work_zero("F9 G2 X0 I5").moves
    assert move.arc.sweep == -360.0
    assert move.end == move.start


def test_an_arc_from_an_unknown_start_floats_with_it():
    (move,) = follow("F9 G91 G3 X10 Z-1 I5").moves
    assert minus(move.arc.centre[0], move.start["x"]) == 5.0
    assert (move.arc.radius, move.arc.begins, move.arc.sweep) == (5.0, -180.0, 180.0)


def test_an_arc_whose_shape_depends_on_the_start_covers_all_it_may_sweep():
    followed = follow("F9 G2 X200 R300")
    assert rules(followed) == ["path-not-known"]
    assert all(move.dogleg for move in followed.moves)
    reach = [minus(place["x"], followed.start["x"]) for place in (followed.moves[0].end, followed.moves[1].end)]
    assert reach == [-600.0, 600.0]
    assert followed.end["x"] == 325.0


@pytest.mark.parametrize("words", ["X0 I60", "X10 Y10 R300", "X200 R100", "X0 I60 J0"])
def test_an_arc_that_some_start_does_not_close_is_refused(words):
    """NISTIR 6556, 3.5.3: the radii differ, the end is the start, or the chord is longer than twice the radius."""
    (trouble,) = follow(f"F9 G2 {words}").troubles
    assert (trouble.rule, "some starts" in trouble.message) == ("arc-does-not-close", True)


def test_an_arc_in_centre_format_that_closes_from_every_start_is_followed():
    start = {"x": Interval(130.0, 130.0005), "y": Interval(70.0, 70.0)}
    assert rules(follow("F9 G2 X25 I10", start=start)) == ["path-not-known"]


def test_an_arc_that_closes_from_no_start_is_refused():
    assert rules(follow("F9 G2 X200 I10")) == ["arc-does-not-close"]
    assert rules(follow("F9 G2 X1000 R5")) == ["arc-does-not-close"]


def test_an_arc_closes_within_the_tolerance_of_its_units():
    """NISTIR 6556, 3.5.3.2: 0.002 mm or 0.0002 inch."""
    assert rules(from_work_zero("F9 G2 X10 I5.002")) == ["arc-does-not-close"]
    assert rules(from_work_zero("G20\nF9 G2 X10 I5.00015")) == ["arc-does-not-close"]
    assert rules(from_work_zero("G20\nF9 G2 X0.3937 I0.19689")) == []


# One cause, one finding ---------------------------------------------------------------------------------------------


def test_an_unknown_mode_is_reported_once():
    assert rules(follow("G0 X1\nX2\nX3", known="G90 G54")) == ["mode-assumed"]


def test_a_missing_feed_is_reported_once():
    assert rules(follow("G1 X1\nX2")) == ["feed-not-set"]


@pytest.mark.parametrize(
    "text",
    [
        "G21 G90 G54 F?\nG0 X1\nX2",
        "G20 G21 G90 G54\nG0 X1",
        "G21 G90 G54 G0 X[1/0]\nX1",
        "G43 H9 G21 G90 G54\nG0 Z1",
        "G21 G90 G54 G49 G94 G99 G17\nF9 G81 X1 Z-1\nX5\nX6",
        "G21 G90 G94 G54\nG1 X5 F-3\nX6",
        "G21 G90 G54\n#1=#2\nG0 X#1\nX#2",
        "G21 G90 G54\n#1=[1/0]\nG0 X#1",
        "G21 G90 G54\nG[1/0] X1\nX2",
    ],
)
def test_what_follows_from_a_reported_cause_is_not_reported_again(text):
    program = read(text, PLAIN)
    followed = trace(program, MILL, PLAIN)
    assert len(program.troubles) + len(followed.troubles) == 1


def test_a_faulty_line_still_sets_the_modes_that_are_beyond_doubt():
    assert follow("G21 G90 G0 X[1/0]", known="").final.modes == {6: "G21", 3: "G90", 1: "G0"}


def test_an_assumed_mode_never_shows_in_the_state():
    assert follow("G0 X1", known="").final.modes == {1: "G0"}


def test_a_word_that_is_not_followed_leaves_its_group_unknown():
    assert 7 not in follow("G40\nG41 D1").final.modes


@pytest.mark.parametrize("text", ["G0 X" + "9" * 300, "G0 X[10**300]", "F9 G2 X1 R" + "9" * 200, "G4 P9999999999"])
def test_a_value_beyond_any_machine_is_out_of_range(text):
    followed = from_work_zero(text)
    assert (rules(followed), followed.moves) == (["word-out-of-range"], ())


def test_two_mistakes_on_one_line_are_two_findings():
    assert rules(follow("G0 X1 X2 F-5")) == ["repeated-word", "word-out-of-range"]


# States and events --------------------------------------------------------------------------------------------------


def test_nothing_is_known_of_modes_the_program_has_not_set():
    final = follow("M3 (no speed)", known="").final
    assert (final.modes, final.feed, final.speed, final.spindle) == ({}, None, None, "clockwise")
    assert (final.coolant, final.overrides, final.tool) == (None, None, None)


def test_there_is_a_state_for_every_line_that_is_not_blank():
    followed = follow("%\nG21\n\n(look)\nG90\n%")
    assert [state.line for state in followed.states] == [2, 4, 5]


def test_states_share_what_has_not_changed():
    first, second = follow("G21\nG53 G0 X1", known="G21 G0").states
    assert first.modes is second.modes


def test_mist_and_flood_may_both_be_on():
    """NISTIR 6556, 3.6.4."""
    assert follow("M7\nM8").final.coolant == {"M7", "M8"}
    assert follow("M7\nM8\nM9").final.coolant == frozenset()


def test_a_spindle_that_the_operator_switches_does_not_heed_the_program():
    assert follow("M3", machine=replace(MILL, spindle_by_program=False)).final.spindle is None


def test_moves_carry_the_spindle_and_path_control_they_run_in():
    first, second = from_work_zero("G0 X1\nM3 G64 X2").moves
    assert (first.spindle, first.path_control) == (None, None)
    assert (second.spindle, second.path_control) == ("clockwise", "G64")


def test_a_move_marks_its_axis_words_or_the_word_that_moves():
    moves = from_work_zero("G0 X1 Y2\nG28\nG4 P1").moves
    assert [(move.column, move.end_column) for move in moves] == [(4, 9), (1, 4), (1, 3)]


def test_leaving_inverse_time_forgets_the_feed():
    assert rules(from_work_zero("F100\nG93 G1 X1 F2\nG94 X2")) == ["feed-not-set"]


def test_lines_with_a_slash_run_unless_block_delete_is_on():
    assert from_work_zero("/G0 X1").end["x"] == 1.0
    assert from_work_zero("/G0 X1", block_delete=True).end["x"] == 0.0


def test_what_follows_the_closing_percent_line_is_not_executed():
    """NISTIR 6556, 3.1."""
    assert stations(from_work_zero("%\nG0 X1\n%\nX2")) == [("rapid", (1.0, 0.0, 0.0))]


# What the controller sheet says (where controllers differ: common practice, no source) --------------------------------


def test_a_dogleg_rapid_is_marked_where_more_than_one_axis_moves():
    moves = from_work_zero("G0 X1\nX2 Y2", controller=replace(PLAIN, rapid="dogleg")).moves
    assert [move.dogleg for move in moves] == [False, True]


def test_a_homing_line_runs_the_homing_cycle_and_loses_the_position():
    homes = replace(PLAIN, g28="home", homing=("G28",))
    followed = follow("g 28 (home)\nG91 G0 X1", controller=homes)
    (event,) = followed.events
    assert (event.kind, event.axes, rules(followed)) == ("homing", ("x", "y", "z", "a"), [])
    assert plain(followed.end, "xa") == ("homed.x@1", "homed.a@1")
    assert bounds(followed.end["y"]) == TRAVEL["y"]


def test_a_homing_line_of_some_axes_homes_those():
    homes = replace(PLAIN, g28="home", homing=("G28 Z0", "G28 X0 Y0"))
    followed = follow("G28 Z0", controller=homes)
    assert followed.events[0].axes == ("z",)
    assert plain(followed.end) == ("start.x", "start.y", "homed.z@1")


def test_a_return_that_homes_but_is_no_homing_line_differs():
    followed = follow("G28 X0", controller=replace(PLAIN, g28="home", homing=("G28",)))
    assert rules(followed) == ["home-word-differs"]
    assert followed.events[0].kind == "homing"


def test_a_controller_without_return_has_no_g28():
    assert rules(follow("G28", controller=replace(PLAIN, g28="none"))) == ["word-not-supported"]


@pytest.mark.parametrize("text", ["({}) M0", "({})\nM0", "(MSG, {} please)\nM0"])
def test_homing_at_the_panel_is_a_pause_after_being_asked_for(text):
    followed = follow(text.format(HOME_AT_PANEL.lower()))
    assert [event.kind for event in followed.events if event.kind != "message"] == ["home-at-panel"]
    assert plain(followed.end)[0].startswith("homed.x@")


def test_a_move_between_the_words_and_the_pause_takes_nothing_back():
    followed = follow(f"({HOME_AT_PANEL})\nG53 G0 Z0\nM0\nM0")
    assert [event.kind for event in followed.events] == ["home-at-panel", "pause"]


def test_after_a_call_nothing_is_known():
    calls = replace(PLAIN, extra_words={"M98": "call"})
    followed = follow("F100 M3\nM98 P7\nG53 G0 X1", controller=calls)
    assert followed.events[0].kind == "call"
    assert rules(followed) == ["mode-assumed"]
    assert plain(followed.end) == (1.0, "called.y@2", "called.z@2")
    assert (followed.final.modes, followed.final.feed, followed.final.spindle) == ({1: "G0"}, None, None)


def test_an_extra_word_may_end_the_macro_and_leaves_the_modes():
    ends = replace(PLAIN, extra_words={"M99": "end"}, ending="M99", call="M98 P{number}")
    followed = follow("G91\nM99\nG0 X1", controller=ends)
    assert (followed.moves, rules(followed), followed.final.modes[3]) == ((), [], "G91")
    assert (followed.events[0].kind, followed.final.ended) == ("return", True)


@pytest.mark.parametrize("line", ["G65 P12 A1.5 B2 X3 F4", "M98 P7 L2", "G65 P12 Z-500"])
def test_what_a_called_program_is_given_are_no_axes_and_moves(line):
    # the words and their letters: common practice, no source
    calls = replace(PLAIN, extra_words={"M98": "call", "G65": "call"})
    followed = follow(f"G0 X1\n{line}", controller=calls)
    assert rules(followed) == []
    assert [event.kind for event in followed.events] == ["call"]
    assert len(followed.moves) == 1
    assert plain(followed.end)[0].startswith("called.x@")


def test_a_move_beside_a_call_is_followed_and_a_letter_of_no_axis_is_refused():
    calls = replace(PLAIN, extra_words={"M98": "call"})
    assert len(follow("G0 X1 M98 P7", controller=calls).moves) == 1
    assert rules(follow("G0 X1 C1 M98 P7", controller=calls)) == ["word-not-supported"]


def test_outputs_are_switched_by_words_that_are_ignored():
    # the words and their letters: common practice, no source
    switches = replace(PLAIN, extra_words={"M64": "ignore", "M65": "ignore"})
    followed = follow("M64 P1\nG4 P2\nM65 P1\nG0 X1", controller=switches)
    assert rules(followed) == []
    assert [move.kind for move in followed.moves] == ["dwell", "rapid"]


def test_extra_words_may_be_ignored_or_refused():
    controller = replace(PLAIN, extra_words={"M71": "ignore", "M72": "refuse"})
    assert rules(follow("M71 P3", controller=controller)) == []
    assert rules(follow("M72", controller=controller)) == ["word-not-supported"]


def test_an_extra_word_may_wait_for_something_outside():
    # the word and its letters: common practice, no source
    controller = replace(PLAIN, extra_words={"M66": "wait"})
    followed = follow("G0 X1\nM66 P0 L3 Q10\nG0 X2", controller=controller)
    assert rules(followed) == []
    assert [(event.kind, event.line, event.before) for event in followed.events] == [("input", 2, 1)]
    assert [move.end["x"] for move in followed.moves] == [126.0, 127.0]


def test_words_the_controller_lacks_are_not_supported():
    assert rules(follow("G61", controller=replace(PLAIN, unsupported=frozenset({"G61"})))) == ["word-not-supported"]
    assert rules(follow("G53 G0 X1", controller=replace(PLAIN, machine_moves=False))) == ["word-not-supported"]


def test_an_end_in_a_stored_macro_ends_its_caller():
    followed = follow("M30", controller=replace(PLAIN, call="M98 P{number}"))
    assert (rules(followed), followed.final.ended) == (["ends-the-caller"], True)


@pytest.mark.parametrize(
    ("text", "controller", "found"),
    [
        ("G21", Controller(), ["ending-missing"]),
        ("G21\nM2", Controller(), []),
        ("%\nG21\n%", Controller(), []),
        ("", Controller(), []),
        ("G21\nM30?", Controller(), []),
        ("G21", Controller(percent=False), []),
        ("G21", Controller(ending="M99", extra_words={"M99": "end"}), ["ending-missing"]),
        ("%\nG21\n%", Controller(ending="M30"), ["ending-missing"]),
        ("G21\nM99", Controller(ending="M99", extra_words={"M99": "end"}), []),
    ],
)
def test_a_file_ends_as_the_standard_or_the_controller_sheet_says(text, controller, found):
    """NISTIR 6556, 3.1: a file without percent lines needs M2 or M30."""
    assert rules(follow(text, controller=controller)) == found


def test_a_pause_line_of_the_sheet_that_is_no_published_word_is_a_pause():
    followed = follow("@WAIT", controller=replace(PLAIN, pause="@WAIT", settle="@SETTLE"))
    assert ([event.kind for event in followed.events], rules(followed)) == (["pause"], [])
    assert rules(follow("@SETTLE", controller=replace(PLAIN, settle="@SETTLE"))) == []


# Words assumed by hand ----------------------------------------------------------------------------------------------


def test_assumed_words_are_in_force_and_not_part_of_the_program():
    followed = follow("G0 X1", known="G20 G90 G54 #1=2")
    assert rules(followed) == []
    assert followed.before.modes == {6: "G20", 3: "G90", 12: "G54"}
    assert (len(followed.states), followed.final.changed) == (1, {})


def test_a_motion_word_and_a_feed_may_be_assumed_beside_the_units():
    final = follow("", known="F10 G94 G20 G1").final
    assert (final.modes, final.feed) == ({5: "G94", 6: "G20", 1: "G1"}, 254.0)


@pytest.mark.parametrize("words", ["G90 G91", "G0 X1", "G?", "M2", "M0", "G21\nG90", "G4 P1", "G4", "G10 L2", "F1"])
def test_words_that_cannot_be_assumed_are_an_error_in_one_line(words):
    with pytest.raises(AssumeError) as error:
        follow("G0 X1", known=words)
    assert "\n" not in str(error.value)


# What is not carried out --------------------------------------------------------------------------------------------


def lost(text, **more):
    """The line and axes of every segment of which nobody knows where it goes."""
    followed = follow(text, **more)
    return [(event.line, "".join(event.axes)) for event in followed.events if event.kind == "motion-not-known"]


@pytest.mark.parametrize(
    ("text", "axes"),
    [
        ("G1 X#1 F100", "x"),
        ("G0 X1 Y#1 A5", "xya"),
        ("G0 X1 F#1", "x"),
        ("X#1", "xyza"),
        ("X1", "xyza"),
        ("G2 X#1 Y1 I1 F100", "xy"),
        ("G81 X1 Z#1 R1 F100", "xyza"),
        ("G28 X#1", "xyza"),
        ("G#1", "xyza"),
        ("M#1", "xyza"),
    ],
)
def test_what_a_line_may_move_that_is_not_carried_out_is_anywhere_afterwards(text, axes):
    followed = follow(text, start=HERE)
    assert lost(text) == [(1, axes)]
    assert followed.moves == ()
    for axis, place in followed.end.items():
        assert bounds(place) == (TRAVEL[axis] if axis in axes else HERE[axis])


@pytest.mark.parametrize("text", ["#1=#2", "G4 P#1", "M3 S#1", "G10 L2 P1 X#1", "G92 X#1", "G43 H#1", "F#1", "T#1"])
def test_a_line_that_moves_nothing_loses_no_place_whatever_it_lacks(text):
    assert lost(text) == []


@pytest.mark.parametrize("text", ["G1 X1 X2", "G0 X1 G1", "G7 X1", "G0 X1 Q9"])
def test_a_line_that_is_refused_come_what_may_loses_no_place(text):
    assert lost(text) == []


def test_a_program_that_is_refused_for_such_a_line_may_be_followed_as_if_it_stayed():
    text = "G0 X1\nG1 X#1 F100\nG0 Y2"
    followed = follow(text, start=HERE, stays=True)
    assert lost(text, stays=True) == []
    assert plain(followed.end) == plain(follow("G0 X1\nG0 Y2", start=HERE).end)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("G10 L2 P1 X#1\nG0 X1", [(2, "x")]),
        ("G10 L2 P1 X#1\nG0 Y1", []),
        ("G10 L2 P1 X#1\nG53 G0 X1", []),
        ("G10 L2 P1 X#1\nG91 G0 X1", []),
        ("G92 X#1\nG0 X1 Y1", [(2, "xy")]),
        ("G43 H#1\nG0 Z1", [(2, "z")]),
        ("G92.3\nG0 Y1", [(2, "y")]),
        ("#5161=#1\nG28", [(2, "xyza")]),
        ("#5161=#1\nG30", []),
        ("#[#1]=2\nG30", [(2, "xyza")]),
    ],
)
def test_what_counts_from_a_zero_or_point_that_is_not_known_goes_nobody_knows_where(text, expected):
    assert lost(text) == expected


def test_a_parameter_whose_number_is_not_known_may_be_any():
    assert rules(follow("#1=5\n#[#2]=6\nG53 G0 X#1")) == ["mode-assumed", "mode-assumed"]


def test_a_rate_that_is_not_known_is_not_the_one_before_it():
    assert follow("F100\nG1 X1 F#1\nG1 X2").moves[-1].feed is None


# What must always hold ----------------------------------------------------------------------------------------------

WORD_TEXTS = """
G0 G1 G2 G3 G4 G10 G17 G18 G19 G20 G21 G28 G30 G40 G43 G49 G53 G54 G55 G59.3 G61 G64 G80 G81 G90 G91 G92 G92.1 G92.2
G92.3 G93 G94 M0 M1 M2 M3 M5 M6 M7 M8 M9 M48 M98 L2 P1 P-1 H1 #1=5 X#1 X#5161 X#9 #5221=1 Y[1/0] / (x) (MSG,x) % ?
G38.2 G41 G82 G83 G84 G85 G86 G87 G88 G89 G98 G99 M60 L3 Q0.5 R5 H2 H9 F9 Z-3 Z#5063 X[#5061+1] #5161=#5062 #1=#5221
"""
WORDS = st.one_of(
    st.sampled_from(WORD_TEXTS.split()),
    st.builds(
        "{}{}".format, st.sampled_from("XYZABIJKRFSTPQ"), st.sampled_from(["0", "1", "-2.5", "10", "1e", ".0001"])
    ),
)
PROGRAMS = st.lists(st.lists(WORDS, max_size=6).map(" ".join), max_size=12).map("\n".join)


@given(PROGRAMS, st.sampled_from(["", KNOWN]), st.sampled_from(["return", "home", "none"]))
def test_any_text_can_be_followed_and_every_move_begins_where_the_last_ended(text, known, g28):
    controller = replace(PLAIN, g28=g28, extra_words={"M98": "call"})
    followed = follow(text, known=known, controller=controller, start=HERE)
    place = followed.start
    breaks = {event.before for event in followed.events if event.kind.loses_position}
    for number, move in enumerate(followed.moves):
        assert number in breaks or move.start == place
        assert tuple(move.end) == MILL.names
        place = move.end
    assert [state.line for state in followed.states] == sorted({state.line for state in followed.states})
    assert all(trouble.message and trouble.remedy for trouble in followed.troubles)


STEPS = """
G0 X5
G0 X-5 Y3
G91 G0 X5
G90
G53 G0 X100
G92 X7
G92 Y0
G92.1
G92.2
G92.3
G10 L2 P1 X40
G10 L2 P2 X60
G54
G55
G28 X10
G91 G28 Y0
G20
G21
#1=3
G0 X#1
G0 Z5
G92 Z3
G43 H1
G43 H2
G49
F9 G98 G81 X5 Z-5 R3
F9 G99 G82 Y5 Z-5 R30 P1 L2
F9 G98 G91 G85 X2 Z-1 R1
F9 G19 G99 G83 X-5 R3 Q4
G17
F9 G91 G38.2 Z-5 X3
G0 Z#5063
#2=#5062
G0 Y[#2+3]
G0 X[#5221-1]
"""


@given(
    st.lists(st.sampled_from(STEPS.splitlines()), max_size=12).map("\n".join),
    st.floats(0.0, 260.0),
    st.floats(0.0, 150.0),
    st.floats(-90.0, 0.0),
)
def test_what_is_known_from_anywhere_holds_from_each_place(text, x, y, z):
    anywhere, here = follow("#1=1\n" + text), follow("#1=1\n" + text, start=at(x=x, y=y, z=z))
    assume(rules(anywhere) == rules(here))
    values = {Name("start", "x"): x, Name("start", "y"): y, Name("start", "z"): z}
    for axis in ("x", "y", "z"):
        place = anywhere.end[axis]
        if isinstance(place, Afloat) and place.unknown.name in values:
            assert value_of(place, values) == pytest.approx(here.end[axis], abs=1e-6)
        else:
            assert within(bounds(here.end[axis]), bounds(place))
        assert within(reached(here, axis), reached(anywhere, axis))


def within(inner, outer):
    return outer.low - 1e-6 <= inner.low and inner.high <= outer.high + 1e-6


def reached(followed, axis):
    return reduce(Interval.hull, (extents(move)[axis] for move in followed.moves), bounds(followed.start[axis]))


@given(st.floats(0.0, 260.0), st.floats(0.0, 150.0), st.sampled_from(["G2", "G3"]), st.sampled_from([300.0, -300.0]))
def test_an_arc_from_a_known_start_stays_within_what_was_said_of_an_unknown_one(x, y, word, radius):
    text = f"F9 {word} X200 Y10 R{radius}"
    here = follow(text, start=at(x=x, y=y))
    values = {Name("start", "x"): x, Name("start", "y"): y}
    swept = [extents_at(move, values) for move in follow(text).moves]
    for move in here.moves:
        for axis in ("x", "y"):
            reach = extents(move)[axis]
            assert min(low for low, _ in (each[axis] for each in swept)) <= reach.low + 1e-6
            assert reach.high - 1e-6 <= max(high for _, high in (each[axis] for each in swept))


def extents_at(move, values):
    ends = [(value_of(move.start[axis], values), value_of(move.end[axis], values)) for axis in ("x", "y")]
    return {axis: (min(pair), max(pair)) for axis, pair in zip(("x", "y"), ends, strict=True)}


def test_a_machine_with_few_axes_names_them_where_another_is_asked_for():
    machine = Machine("Slide", MILL.axes[:1])
    (trouble,) = follow("G53 G0 Z1", machine=machine).troubles
    assert (trouble.rule, trouble.column) == ("word-not-supported", 8)
    assert "its axes are X" in trouble.message


def test_an_arc_needs_both_axes_of_its_plane():
    machine = Machine("Slide", MILL.axes[:1])
    assert rules(follow("F9 G91 G2 X5 I2", machine=machine)) == ["word-not-supported"]


def test_the_unknown_of_an_axis_is_the_same_all_along():
    followed = follow("G91 G0 X1\nY1\nX-1")
    assert followed.end["x"] == followed.start["x"]
    assert isinstance(followed.end["x"], Afloat)


@pytest.mark.parametrize(("line", "advised"), [("G0 X5", True), ("G38.2 X5 F50", False), ("G2 X5 I1 F50", False)])
def test_machine_coordinates_are_advised_only_where_they_can_be_written(line, advised):
    """G53 works with G0 and G1 alone (NISTIR 6556, 3.5.12)."""
    followed = follow(f"G21 G90 G17 G94\n{line}", known="")
    remedies = [each.remedy for each in followed.troubles if "coordinate system" in each.message]
    assert remedies
    assert all(("G53" in remedy) is advised for remedy in remedies)
