"""Tidying a text: how it reads afterwards, and that it still does the same."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from parser.language.formatter import tidy
from parser.language.reader import read
from parser.machine import Axis, Controller, Interval, Machine
from parser.motion.interpreter import trace

MACHINE = Machine("Mill", tuple(Axis(name, Interval(-300.0, 300.0), 2400.0, 220.0) for name in "xyz"))
SEMICOLON = Controller(comments="semicolon")  # common practice, no source
HOMING = Controller(homing=("G28 X0 Y0",), g28="home", settle="G4 P0", percent=False)
DWELL_S = Controller(dwell_word="S", extra_words={"M98": "call", "M99": "end", "M71": "ignore"}, line_limit=30)


@pytest.mark.parametrize(
    ("written", "tidied"),
    [
        ("g0x +0. 12 34y 7", "G0 X0.1234 Y7"),
        ("G01X10Y-05.50F0600.", "F600 G1 X10 Y-5.5"),
        ("X.5 Y-.0 Z+1.", "X0.5 Y0 Z1"),
        ("  / n0010 G1  X1", "/N10 G1 X1"),
        ("Y1 X2 G0 G53 G21 G90", "G21 G90 G53 G0 X2 Y1"),  # NISTIR 6556, 3.8, Table 8
        ("M0 M5 G4 P1.50 S100", "S100 M5 G4 P1.5 M0"),
        ("P2 L2 G10 Y1 X1", "G10 X1 Y1 L2 P2"),
        ("R3 Y1 X1 G2", "G2 X1 Y1 R3"),
        ("#1 = 05.0 G1 x #1", "G1 X#1 #1=5"),
        ("x [ #1 mod 02 + sin [ 30.0 ] ]", "X[#1 MOD 2+SIN[30]]"),
        ("x[1 or[2]xor.5]", "X[1 OR [2] XOR 0.5]"),
        ("x atan[1.0]/[2]", "X ATAN[1]/[2]"),
        ("acos[1]", "A COS[1]"),
        ("(Mind  the vise) G0 X1", "G0 X1 (Mind  the vise)"),
        ("(a)(b)", "(a) (b)"),
        ("", ""),
        ("\t ", ""),
    ],
)
def test_a_line_is_tidied(written, tidied):
    assert tidy(written) == tidied


def test_a_comment_after_a_semicolon_stays_last():
    assert tidy("g0 x1;  to  the side", SEMICOLON) == "G0 X1 ;  to  the side"


@pytest.mark.parametrize("text", ["G1 X?", "X1 E2", "(open", "N123456 G0"])
def test_a_line_that_cannot_be_read_stays_as_it_is(text):
    assert tidy(f"g0  x1\n{text}") == f"G0 X1\n{text}"


@pytest.mark.parametrize("text", ["X1 G5.4", "G[1+1]  X1", "M3 M8 M48 M0 M9"])
def test_words_stay_in_their_order_where_it_may_matter_or_is_not_known(text):
    assert tidy(text) == " ".join(text.split())


@pytest.mark.parametrize("text", ["g28 x0 y0", "G28 Y0 X0", "G28 X0.0 Y0", "g4 p0"])
def test_no_line_becomes_one_that_the_sheet_gives_a_meaning_of_its_own_or_stops_being_one(text):
    assert ("".join(tidy(text, HOMING).upper().split()) in ("G28X0Y0", "G4P0")) is (
        "".join(text.upper().split()) in ("G28X0Y0", "G4P0")
    )


def test_a_line_that_would_become_too_long_stays_as_it_is():
    packed = "G1X1.1Y2.2Z3.3F500M8M3S900"
    assert tidy(packed, DWELL_S) == packed


def test_percent_lines_lose_their_white_space_and_what_follows_them_stays():
    assert tidy("\t%\ng0  x1\n % \n  what ever") == "%\nG0 X1\n%\n  what ever"


@pytest.mark.parametrize("text", ["g0\r\ng1\r\n", "g0\ng1", "g0\n\n"])
def test_the_ends_of_lines_stay_as_they_are(text):
    assert tidy(text) == text.upper()


# --- always --------------------------------------------------------------------------------------------------------

FIGURES = st.sampled_from(
    ["0", "-0.", "+1", "1.50", "007.25", "-.5", "12 .5", "[1.0+02]", "#1", "[#1 or 0]", "-[2]", "atan[-0]/[-1]", "1e"]
)
CODES = st.sampled_from(
    [
        *["G0", "g1", "G01", "G2", "G3", "G4", "G10 L2", "G17", "G18", "G20", "G21", "G28", "G53", "G54", "G55"],
        *["G90", "G91", "G92", "G93", "G94", "G43 H1", "G49", "G80", "G81", "G98", "G[1+0]", "G5.4"],
        *["M0", "M2", "M3", "M5", "M8", "M9", "M48", "M98", "M71", "M6"],
    ]
)
WORDS = st.builds("{}{}".format, st.sampled_from([*"XYZIJKRFSPLTQ", "x ", " y"]), FIGURES)
OTHERS = st.sampled_from(["(a  b)", "(MSG, hello)", "#1=2.50", "#2 = [ #1 ]", "#1=-0", ";c"])
LINES = st.builds(
    "{}{}".format,
    st.sampled_from(["", "", "/", "N007 ", "  "]),
    st.lists(CODES | WORDS | WORDS | OTHERS, max_size=7).flatmap(
        lambda parts: st.sampled_from([" ", "", "\t"]).map(lambda space: space.join(parts))
    ),
)
PREAMBLE = "G17 G21 G40 G49 G54 G80 G90 G94\nG1 F100 X0 Y0 Z0\n#1=1\n"
TEXTS = st.builds("{}{}".format, st.sampled_from(["", PREAMBLE, PREAMBLE]), st.lists(LINES, max_size=6).map("\n".join))
CONTROLLERS = st.sampled_from([Controller(), Controller(), SEMICOLON, HOMING, DWELL_S])


def does(text, controller):
    """What a text does and what is wrong with it, columns aside."""
    program = read(text, controller)
    followed = trace(program, MACHINE, controller)
    troubles = Counter((one.rule, one.line) for one in (*program.troubles, *followed.troubles))
    return (
        [replace(move, column=None, end_column=None) for move in followed.moves],
        [(event.line, event.kind, event.before, _told(event), event.axes) for event in followed.events],
        followed.states,
        followed.end,
        {key: count for key, count in troubles.items() if key[0] != "line-too-long"},
    )


def _told(event):
    """The text of an event, but for one that quotes a word as it is written, which tidying may write otherwise."""
    return "" if event.kind == "motion-not-known" else "".join(event.text.upper().split())


@given(TEXTS, CONTROLLERS)
@settings(max_examples=400, deadline=None)
def test_tidying_never_changes_what_a_text_does_nor_what_is_wrong_with_it(text, controller):
    assert does(tidy(text, controller), controller) == does(text, controller)


@given(TEXTS, CONTROLLERS)
@settings(max_examples=200, deadline=None)
def test_a_tidy_text_is_left_as_it_is(text, controller):
    once = tidy(text, controller)
    assert tidy(once, controller) == once


@given(TEXTS, CONTROLLERS)
@settings(max_examples=100, deadline=None)
def test_comments_are_kept(text, controller):
    def comments(written):
        return [comment.text for line in read(written, controller).lines for comment in line.comments]

    assert comments(tidy(text, controller)) == comments(text)
