"""Outside values for the interpreter: what NISTIR 6556 prints, forbids and puts in order."""

from itertools import permutations

import pytest

from parser.machine import Controller
from parser.motion.assumptions import OFFSET, origin_of
from tests.parser.motion.following import KNOWN, follow, from_work_zero, plain, rules, stations

# Worked values ------------------------------------------------------------------------------------------------------


def test_spaces_inside_numbers_mean_nothing():
    """NISTIR 6556, 3.3: "g0x +0. 12 34y 7" is "g0 x+0.1234 y7"."""
    assert stations(from_work_zero("g0x +0. 12 34y 7")) == stations(from_work_zero("g0 x+0.1234 y7"))
    assert plain(from_work_zero("g0x +0. 12 34y 7").end) == (0.1234, 7.0, 0.0)


def test_a_parameter_set_on_a_line_still_has_its_old_value_there():
    """NISTIR 6556, 3.3.3: with #3 = 15 before, "#3=6 G1 x#3" goes to x = 15."""
    followed = from_work_zero("F100\n#3=15\n#3=6 G1 x#3\nX[#3]")
    assert stations(followed) == [("feed", (15.0, 0.0, 0.0)), ("feed", (6.0, 0.0, 0.0))]


def test_a_parameter_set_twice_on_a_line_takes_the_last_value():
    """NISTIR 6556, 3.3.5: after "#3=15 #3=6" it is 6."""
    assert plain(from_work_zero("#3=15 #3=6\nG0 X#3").end) == (6.0, 0.0, 0.0)


def test_words_of_a_line_may_stand_in_any_order():
    """NISTIR 6556, 3.3.6: "g40 g1 #3=15 (foo) #4=-7.0", here with an axis word and a feed that G1 needs."""
    parts = ["g40", "g1", "#3=15 (foo) #4=-7.0", "x5", "f100"]
    ends = {str(stations(from_work_zero(" ".join(order) + "\nX#3 Y#4"))) for order in permutations(parts)}
    assert ends == {str([("feed", (5.0, 0.0, 0.0)), ("feed", (15.0, -7.0, 0.0))])}


def test_a_helix_in_centre_format_has_its_centre_where_the_report_says():
    """NISTIR 6556, 3.5.3.2: "G17 G2 x 10 y 16 i 3 j 4 z 9" from (7, 7, 9): centre (10, 11), radius 5."""
    (move,) = from_work_zero("F100\nG17 G2 x 10 y 16 i 3 j 4 z 9", 7.0, 7.0, 9.0).moves
    assert move.arc.centre == (10.0, 11.0)
    assert move.arc.radius == 5.0
    assert plain(move.end) == (10.0, 16.0, 9.0)


def test_an_arc_in_radius_format():
    """NISTIR 6556, 3.5.3.1: "G17 G2 x 10 y 15 r 20 z 5" is a clockwise arc or helix of radius 20 in XY."""
    (move,) = from_work_zero("F100\nG17 G2 x 10 y 15 r 20 z 5").moves
    assert (move.arc.radius, move.arc.axes, move.end["z"]) == (20.0, ("x", "y"), 5.0)
    assert -180.0 < move.arc.sweep < 0.0


@pytest.mark.parametrize(("text", "at_x_nought"), [("G92 x7", -3.0), ("G92 x7\nG92 x9", -5.0)])
def test_g92_offsets_add_up(text, at_x_nought):
    """NISTIR 6556, 3.5.18: at x = 4, "G92 x7" makes the offset -3, then "G92 x9" makes it -5."""
    followed = from_work_zero(text + "\nG0 X0\nY#5211", 4.0)
    assert followed.moves[0].end["x"] == at_x_nought
    assert followed.end["y"] == at_x_nought


def test_g10_sets_the_axes_named_and_keeps_the_others():
    """NISTIR 6556, 3.5.5: "G10 L2 P1 x 3.5 y 17.2" puts the origin of G54 there and leaves its Z."""
    followed = follow("G10 L2 P1 x 3.5 y 17.2\nG0 X0 Y0 Z0")
    assert plain(followed.end) == (3.5, 17.2, -40.0)
    assert followed.final.changed == {origin_of("G54", "x"): 1, origin_of("G54", "y"): 1}


# Order of execution -------------------------------------------------------------------------------------------------


def test_feed_mode_comes_before_feed():
    """NISTIR 6556, 3.8: under G93 of the same line F is the inverse of the minutes."""
    (move,) = from_work_zero("X10 F2 G1 G93").moves
    assert (move.feed, move.minutes) == (None, 0.5)


def test_spindle_and_dwell_come_before_motion():
    """NISTIR 6556, 3.8: M3 and G4 are carried out before the motion of their line."""
    dwell, move = from_work_zero("G0 X10 G4 P2 S1000 M3").moves
    assert (dwell.kind, dwell.seconds, dwell.spindle) == ("dwell", 2.0, "clockwise")
    assert (move.kind, move.spindle) == ("rapid", "clockwise")


@pytest.mark.parametrize(
    ("text", "end"),
    [
        ("G0 X1 G20", (25.4, 0.0, 0.0)),
        ("G0 X1 G91", (11.0, 0.0, 0.0)),
        ("G0 X1 G92.1", (1.0, 0.0, 0.0)),
    ],
)
def test_what_changes_the_meaning_of_a_point_comes_before_motion(text, end):
    """NISTIR 6556, 3.8: units, distance mode and offsets are carried out before motion."""
    assert plain(from_work_zero(text, 10.0 if "G91" in text else 0.0).end) == end


def test_the_coordinate_system_is_selected_before_motion():
    """NISTIR 6556, 3.8."""
    assert follow("G10 L2 P2 X50\nG0 X1 G55").end["x"] == 51.0


def test_a_pause_comes_after_motion():
    """NISTIR 6556, 3.8: M0 is the last thing a line does."""
    (event,) = from_work_zero("M0 G0 X10").events
    assert (event.kind, event.before) == ("pause", 1)


def test_a_message_comes_first():
    """NISTIR 6556, 3.8: a comment is dealt with before anything else of its line."""
    (event,) = from_work_zero("G0 X10 (MSG, look)").events
    assert (event.kind, event.before, event.text.strip()) == ("message", 0, "look")


# What M2 and M30 reset ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("word", ["M2", "M30"])
def test_the_end_of_a_program_resets_modes(word):
    """NISTIR 6556, 3.6.1: G92.2, G54, G17, G90, G94, M48, G40, M5, G1, M9."""
    followed = follow(f"G18 G91 G93 G55 G0 M49 M3 M8\nG92 X0\n{word}\nG0 X10")
    final = followed.final
    assert {group: final.modes[group] for group in (1, 2, 3, 5, 7, 12)} == {
        1: "G1",
        2: "G17",
        3: "G90",
        5: "G94",
        7: "G40",
        12: "G54",
    }
    assert (final.overrides, final.spindle, final.coolant) == ("M48", "stopped", frozenset())
    assert final.ended
    assert OFFSET not in final.changed


def test_units_and_tool_length_offset_are_not_reset():
    """NISTIR 6556, 3.6.1: neither is in the list."""
    assert follow("G20\nM2").final.modes[6] == "G20"
    assert 8 not in follow("M2", known="").final.modes


def test_nothing_after_the_end_is_read():
    """NISTIR 6556, 3.6.1."""
    assert from_work_zero("M2\nG0 X10").moves == ()


# Errors -------------------------------------------------------------------------------------------------------------

ERRORS = [
    # text, rule, column, section
    ("G53 G0 Z-2 Z-5", "repeated-word", 12, "3.4"),
    ("F10 F20", "repeated-word", 5, "3.4"),
    ("G90 G91", "same-group-twice", 5, "3.4"),
    ("G0 G1 X1 F10", "same-group-twice", 4, "3.4"),
    ("G4 P1 G53 G0 X1", "same-group-twice", 7, "3.4"),
    ("M3 M5", "same-group-twice", 4, "3.4"),
    ("M7 M8", "same-group-twice", 4, "3.4"),
    ("M0 M5 M9 M48 M3", "too-many-m-words", 14, "3.4"),
    ("G0 G92 X1", "axis-words-twice", 4, "3.4"),
    ("G1 G28 X1 F10", "axis-words-twice", 4, "3.4"),
    ("G10 L2 P1 G0 X1", "axis-words-twice", 11, "3.4"),
    ("G0", "missing-word", 1, "3.5.1"),
    ("G1 F100", "missing-word", 1, "3.5.2"),
    ("F9 G2 I5", "missing-word", 4, "3.5.3"),
    ("F9 G2 Z1 I5", "missing-word", 4, "3.5.3.2"),
    ("F9 G2 Z1 R5", "missing-word", 4, "3.5.3.1"),
    ("F9 G2 X5", "missing-word", 4, "3.5.3"),
    ("F9 G18 G3 X5 Z5", "missing-word", 8, "3.5.3.2"),
    ("F9 G2 X5 K5", "word-out-of-range", 10, "3.5.3.2"),
    ("F9 G2 X5 R5 I1", "word-out-of-range", 10, "3.5.3"),
    ("F9 G2 X0 Y0 R5", "arc-does-not-close", 4, "3.5.3.1"),
    ("F9 G2 X10 R4.999", "arc-does-not-close", 4, "3.5.3.1"),
    ("F9 G2 X10 I5.0011", "arc-does-not-close", 4, "3.5.3.2"),
    ("F9 G2 X10 I3 J4", "arc-does-not-close", 4, "3.5.3.2"),
    ("G4", "missing-word", 1, "3.5.4"),
    ("G4 P-1", "word-out-of-range", 4, "3.5.4"),
    ("G10 L2 X1", "missing-word", 1, "3.5.5"),
    ("G10 P1 X1", "missing-word", 1, "3.5.5"),
    ("G10 L2 P0 X1", "word-out-of-range", 8, "3.5.5"),
    ("G10 L2 P10 X1", "word-out-of-range", 8, "3.5.5"),
    ("G10 L2 P1.5 X1", "word-out-of-range", 8, "3.5.5"),
    ("G10 L3 P1 X1", "word-out-of-range", 5, "3.5.5"),
    ("G80 G53 X1", "word-out-of-range", 5, "3.5.12"),
    ("G53 G2 X1 I1 F9", "word-out-of-range", 1, "3.5.12"),
    ("G80 X1", "no-motion-mode", 5, "3.5.15"),
    ("G92", "missing-word", 1, "3.5.18"),
    ("G93 G1 X1", "missing-word", 5, "3.5.19"),
    ("G93 G1 X1 F0", "word-out-of-range", 11, "3.5.19"),
    ("S-1", "word-out-of-range", 1, "3.7.2"),
    ("F-1", "word-out-of-range", 1, "3.7.1"),
    ("T-1", "word-out-of-range", 1, "3.7.3"),
    ("T1.5", "word-out-of-range", 1, "3.7.3"),
    ("G0 X1 P3", "word-out-of-range", 7, "3.4"),
    ("G0 X1 I3", "word-out-of-range", 7, "3.4"),
    ("G0 X1 L3", "word-out-of-range", 7, "3.4"),
    ("G0 X1 R3", "word-out-of-range", 7, "3.4"),
    ("D1", "word-out-of-range", 1, "3.4"),
    ("H1", "word-out-of-range", 1, "3.4"),
    ("Q1", "word-out-of-range", 1, "3.4"),
    ("G0 X[1/0]", "bad-arithmetic", 4, "3.3.2.3"),
    ("G0 X[ASIN[1.1]]", "bad-arithmetic", 4, "3.3.2.4"),
    ("G0 X[ACOS[0-2]]", "bad-arithmetic", 4, "3.3.2.4"),
    ("G0 XLN[0]", "bad-arithmetic", 4, "3.3.2.4"),
    ("G0 XSQRT[0-1]", "bad-arithmetic", 4, "3.3.2.4"),
    ("G0 X#5400", "bad-arithmetic", 4, "3.3.2.2"),
    ("G0 X#1.5", "bad-arithmetic", 4, "3.3.2.2"),
    ("#0=1", "bad-arithmetic", 1, "3.3.3"),
    ("#5400=1", "bad-arithmetic", 1, "3.3.3"),
    ("G5.4", "unknown-word", 1, "3.5"),
    ("M101", "unknown-word", 1, "3.6"),
    ("G41 D1", "word-not-supported", 1, "3.5.10"),
    ("G42 D-1", "word-not-supported", 1, "3.5.10"),
    ("F9 G38.2 Z0.2", "word-out-of-range", 4, "3.5.9"),
    ("F9 G38.2 A5", "missing-word", 4, "3.5.9"),
    ("F9 G38.2", "missing-word", 4, "3.5.9"),
    ("F9 G38.2 Z-5 A5", "word-out-of-range", 14, "3.5.9"),
    ("G93 G38.2 Z-5 F9", "word-out-of-range", 5, "3.5.9"),
    ("F9 G53 G38.2 Z-5", "word-out-of-range", 4, "3.5.12"),
    ("G38.2 Z-5", "feed-not-set", 1, "3.5.9"),
    ("G43", "missing-word", 1, "3.5.11"),
    ("G43 H-1", "word-out-of-range", 5, "3.5.11"),
    ("G43 H1.5", "word-out-of-range", 5, "3.5.11"),
    ("G43 H9", "word-out-of-range", 5, "3.5.11"),
    ("F9 G99 G81 A5 Z-1 R1", "word-out-of-range", 12, "3.5.16"),
    ("F9 G99 G81 A5 R1", "missing-word", 8, "3.5.16"),
    ("F9 G99 G81", "missing-word", 8, "3.5.16"),
    ("G93 G99 G81 Z-1 R1 F9", "word-out-of-range", 9, "3.5.16"),
    ("F9 G99 G81 X1 R1", "missing-word", 8, "3.5.16"),
    ("F9 G99 G81 Z-1", "missing-word", 8, "3.5.16"),
    ("F9 G99 G81 Z-1 R-2", "word-out-of-range", 16, "3.5.16"),
    ("F9 G99 G91 G81 Z1 R1", "word-out-of-range", 19, "3.5.16"),
    ("F9 G99 G81 Z-1 R1 L0", "word-out-of-range", 19, "3.5.16"),
    ("F9 G99 G81 Z-1 R1 L1.5", "word-out-of-range", 19, "3.5.16"),
    ("F9 G99 G81 Z-1 R1 P1", "word-out-of-range", 19, "3.5.16.2"),
    ("F9 G99 G81 Z-1 R1 L99999", "word-out-of-range", 19, "3.5.16"),
    ("F9 G99 G82 Z-1 R1", "missing-word", 8, "3.5.16.3"),
    ("F9 G99 G82 Z-1 R1 P-1", "word-out-of-range", 19, "3.5.16.3"),
    ("F9 G99 G83 Z-1 R1", "missing-word", 8, "3.5.16.4"),
    ("F9 G99 G83 Z-1 R1 Q0", "word-out-of-range", 19, "3.5.16.4"),
    ("F9 G99 G83 Z-1 R1 Q-1", "word-out-of-range", 19, "3.5.16.4"),
    ("F9 G99 G83 Z-1 R1 Q0.00001", "word-out-of-range", 19, "3.5.16.4"),
    ("F9 M4 G99 G84 Z-1 R1", "word-out-of-range", 11, "3.5.16.5"),
    ("F9 G99 G84 Z-1 R1", "mode-assumed", 8, "3.5.16.5"),
    ("F9 M5 G99 G86 Z-1 R1 P1", "word-out-of-range", 11, "3.5.16.7"),
    ("F9 G99 G86 Z-1 R1 P-1", "word-out-of-range", 19, "3.5.16.7"),
    ("F9 G99 G87 Z-1 R1 I1 J1", "missing-word", 8, "3.5.16.8"),
    ("F9 G99 G88 Z-1 R1 P-1", "word-out-of-range", 19, "3.5.16.9"),
    ("F9 G99 G89 Z-1 R1 P-1", "word-out-of-range", 19, "3.5.16.10"),
    ("F9 G99 G81 G28 X1", "axis-words-twice", 12, "3.4"),
    ("M6", "mode-assumed", 1, "3.6.3"),
    ("#[1/0]=3", "bad-arithmetic", 1, "3.3.2.3"),
    ("G0 X[#5061]", "mode-assumed", 4, "3.2.1"),
    ("G0 B5", "word-not-supported", 4, "3.1"),
    ("G20 F10", "feed-before-units", 5, "3.8"),
    ("G1 X1", "feed-not-set", 1, "3.5.2"),
    ("F0 G1 X1", "feed-not-set", 4, "3.5.2"),
    ("G0 X#100", "mode-assumed", 4, "3.2.1"),
    ("G92.3", "mode-assumed", 1, "3.5.18"),
]


@pytest.mark.parametrize(("text", "rule", "column", "section"), ERRORS, ids=[error[0] for error in ERRORS])
def test_an_error_condition_is_found_once_and_in_its_place(text, rule, column, section):
    """NISTIR 6556, the section beside each text."""
    troubles = from_work_zero(text).troubles
    assert [(trouble.rule, trouble.line, trouble.column) for trouble in troubles] == [(rule, 1, column)], section
    assert troubles[0].end > column
    assert troubles[0].message.endswith(".")
    assert troubles[0].remedy.endswith(".")


@pytest.mark.parametrize(
    "text", [error[0] for error in ERRORS if error[1] not in ("feed-not-set", "feed-before-units")]
)
def test_a_line_with_an_error_does_not_move(text):
    assert from_work_zero(text).moves == ()


NEAR_MISSES = [
    "F9 G38.2 Z0.254",
    "F9 G38.2 Z-5 A0",
    "G43 H0",
    "G43 H1.00005",
    "G49",
    "F9 G99 G81 Z-1 R-1",
    "F9 G99 G81 A0 Z-1 R1",
    "F9 G99 G81 Z-1 R1\nX5\nX6",
    "F9 G99 G81 Z-1 R1 L1.00005",
    "F9 G99 G82 Z-1 R1 P0",
    "F9 G98 G83 Z-1 R1 Q0.1",
    "F9 M3 G99 G84 Z-1 R1",
    "F9 M4 G99 G86 Z-1 R1 P1",
    "F9 G99 G87 Z-1 R1 I1 J1 K0",
    "F9 G99 G88 Z-1 R1 P0",
    "F9 G99 G89 Z-1 R1 P0\nG80",
    "F9 G99 G81 Z-1 R1\nG28 X1",
    "F9 G99 G81 Z-1 R1\nG4 P1",
    "M6 T1",
    "T1\nM6",
    "G98",
    "G99",
    "G53 G0 Z-2",
    "G90 G0 X1",
    "M7\nM8",
    "M5 M9 M48 M0",
    "G80 G92 X1",
    "G80 G28 X1",
    "G80",
    "G92.1 G0 X1",
    "G4 P0",
    "G4 P1 G0 X1",
    "G10 L2 P9 X1",
    "G10 L2 P1.00005 X1",
    "G1.00005 X1 F9",
    "G93 G0 X1",
    "G93 G1 X1 F1",
    "F0",
    "S0",
    "T0",
    "F9 G2 X10 R5",
    "F9 G2 X10 I5.0009",
    "F9 G2 X0 I5",
    "F9 G2 X10 I5 Z4",
    "G20\nF9 G2 X10 I5.00009",
    "G53 G0 X1\nG53 X2",
    "G21 F100",
    "#1=2\n#[#1]=3\nG0 X#2",
    "G0 X[2**0.5]",
    "G92 X0\nG92.2\nG92.3",
    "G92.1\nG92.3",
    "G0 X#5221 Y#5161",
    "M60",
    "M1",
    "G61\nG61.1\nG64",
]


@pytest.mark.parametrize("text", NEAR_MISSES)
def test_a_near_miss_is_no_error(text):
    assert rules(from_work_zero(text)) == []


@pytest.mark.parametrize(
    ("text", "group"),
    [
        ("G0 X1", "units"),
        ("F100", "units"),
        ("G0 X1", "distance mode"),
        ("G0 X1", "coordinate system"),
        ("G0 Z1", "tool length offset"),
        ("F9 G2 X10 I5", "plane"),
        ("F9 G1 X10", "feed rate mode"),
        ("F9 G81 Z-1 R1", "canned cycle return"),
        ("F9 G81 Z-1 R1", "plane"),
        ("F9 G38.2 Z-1", "feed rate mode"),
        ("X10", "motion mode"),
        ("G53 X10", "motion mode"),
    ],
)
def test_a_word_that_depends_on_a_mode_nothing_has_set_says_so(text, group):
    """What the macro has not set is unknown; NISTIR 6556, 3.4 lists the groups."""
    found = [trouble for trouble in follow(text, known="").troubles if group in trouble.message]
    assert [trouble.rule for trouble in found] == ["mode-assumed"]


@pytest.mark.parametrize(
    ("text", "known"),
    [
        ("G53 G0 X1", "G21"),
        ("G0 X1", "G21 G91"),
        ("G0 A1", "G90 G54"),
        ("G0 X1 Y1", "G21 G90 G54"),
        ("G53 G1 Z-1 F9", "G21 G94"),
        ("G28", ""),
        ("M3 S100\nM5\nM9\nG4 P1", ""),
        ("G92 X5\nG0 X6", "G21 G90"),
    ],
)
def test_a_word_asks_for_no_mode_it_does_not_depend_on(text, known):
    assert rules(follow(text, known=known)) == []


def test_milliseconds_and_dwell_words_are_those_of_the_controller():
    """Common practice of the trade: a dwell is P in seconds, P in milliseconds or S in seconds."""
    milliseconds = Controller(percent=False, dwell_unit="ms")
    in_s_word = Controller(percent=False, dwell_word="S")
    assert follow("G4 P1500", KNOWN, controller=milliseconds).moves[0].seconds == 1.5
    dwelt = follow("S800 M3\nG4 S2", KNOWN, controller=in_s_word)
    assert (dwelt.moves[0].seconds, dwelt.final.speed) == (2.0, 800.0)
    assert rules(follow("G4 P2", KNOWN, controller=in_s_word)) == ["missing-word"]
