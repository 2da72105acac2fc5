"""Lines that only the controller sheet gives a meaning, and words of the standard that it takes away.

The templates and words beyond the standard are invented.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parser import read
from parser.errors import SheetError
from parser.language.sheet_lines import ends_text
from parser.language.words import reads_as_words
from parser.machine import HOME_AT_PANEL, Controller
from tests.parser.motion.following import follow, rules

PLAIN = Controller(percent=False)
SHOWS = replace(PLAIN, message="SHOW {text} NOW")
HEADED = replace(PLAIN, program_head="PROG {number}")
NUMBERS_ONLY = replace(PLAIN, expressions=False)


def messages(text, controller):
    return [event.text for event in follow(text, controller=controller).events if event.kind == "message"]


# Messages


@pytest.mark.parametrize(
    ("template", "line", "shown"),
    [
        ("SHOW {text}", "SHOW Turn the part", "Turn the part"),
        ("SHOW {text}", "show 2 of 3", "2 of 3"),
        ('SHOW "{text}"', 'SHOW "up, then on"', "up, then on"),
        ("(TELL {text})", "(TELL Turn the part)", "Turn the part"),
        ("; TELL {text}", "; TELL Turn the part", "Turn the part"),
        ("SHOW {text} {text}", "SHOW up up", "up"),
    ],
)
def test_a_line_by_the_template_of_the_sheet_is_a_message_and_nothing_else(template, line, shown):
    comments = "semicolon" if template.startswith(";") else "parentheses"
    controller = replace(PLAIN, message=template, comments=comments)
    program = read(f"{line}\nG21 G90\n", controller)
    assert program.troubles == ()
    assert not program.lines[0].words
    assert messages(f"{line}\nG21 G90", controller) == [shown]


@pytest.mark.parametrize("line", ["SHOW up", "SHOWup NOW", "N1 SHOW up NOW", "SHOW up NOW G0 X1", "G0 X1 SHOW up NOW"])
def test_what_is_not_just_so_is_no_message(line):
    assert [trouble.rule for trouble in read(line, SHOWS).troubles] == ["unreadable-line"]


def test_a_sign_that_ends_the_text_ends_the_message():
    assert ends_text('SHOW "{text}";') == {'"', ";"}
    assert ends_text("(MSG, {text})") == {"(", ")"}
    assert read('SHOW "up" G0 X1"', replace(PLAIN, message='SHOW "{text}"')).troubles


def test_a_message_that_asks_to_home_is_understood_in_any_template():
    assert [event.kind for event in follow(f"SHOW {HOME_AT_PANEL} NOW\nM0", controller=SHOWS).events] == [
        "message",
        "home-at-panel",
    ]


def test_homing_that_is_asked_for_last_comes_after_the_end():
    followed = follow(f"(MSG, {HOME_AT_PANEL})")
    assert [event.kind for event in followed.events] == ["message", "home-afterwards"]
    assert all(at.unknown.name.of == "homed" for at in followed.end.values())


@pytest.mark.parametrize(
    "template",
    ["{text}", "G1 {text}", "g 0 1 {text}", "(so) {text}", "N5 {text}", "/{text}", "#1={text}", "X{text}", "S {text}",
     "XSIN{text}", "% {text}", "G{text}", "M{text}"],
)  # fmt: skip
def test_what_begins_like_a_line_of_the_standard_is_no_template(template):
    assert reads_as_words(template)
    with pytest.raises(SheetError):
        replace(PLAIN, message=template)


@pytest.mark.parametrize(
    "template", ["SHOW {text}", '"{text}"', "(MSG, {text})", "; {text}", "O{text}", "M901 {text}", ":{text}", "@{text}"]
)
def test_what_does_not_may_be_one(template):
    assert not reads_as_words(template)
    assert replace(PLAIN, message=template).message == template


@given(st.text(max_size=12), st.sampled_from(["SHOW ", "O", "@", '"', ":", "M901 ", "E"]))
def test_no_line_of_the_standard_is_taken_for_a_message(text, begins):
    program = read(f"{begins}{text}", PLAIN)
    words = [word for line in program.lines[:1] for word in line.words]
    assert not words or begins == "M901 "


# The head of a stored program


def test_the_first_line_may_be_the_head_of_a_stored_program():
    for text in ("PROG 12\nG21 G90\n", "%\nprog 7\nG21 G90\n%\n"):
        program = read(text, HEADED)
        assert program.troubles == ()
        assert [line.head for line in program.lines].count(True) == 1


@pytest.mark.parametrize("text", ["G21 G90\nPROG 12\n", "PROG\nG21\n", "PROG 12 G0 X1\nG21\n", "PROG 12\nPROG 13\n"])
def test_anywhere_else_and_otherwise_it_cannot_be_read(text):
    assert [trouble.rule for trouble in read(text, HEADED).troubles] == ["unreadable-line"]


def test_without_the_key_no_head_is_read():
    assert [trouble.rule for trouble in read("O12\nG21\n", PLAIN).troubles] == ["unreadable-line"]


# Words and numbers that a controller lacks


@pytest.mark.parametrize(
    ("line", "column"), [("#1=5", 1), ("G0 X[1+2]", 5), ("G0 X#5 (so)", 5), ("G0 Xsin[30]", 8), ("N1 G0 X[-2]", 8)]
)
def test_a_controller_that_does_not_calculate_takes_no_brackets_and_parameters(line, column):
    (trouble,) = read(line, NUMBERS_ONLY).troubles
    assert (trouble.rule, trouble.column) == ("word-not-supported", column)
    assert "expressions" in trouble.message


@pytest.mark.parametrize("line", ["G0 X1 (#1 [in] a comment)", "G0 X-1.5", "N10 G0 X+1", "(MSG, [1] of #2)"])
def test_plain_numbers_are_taken_by_any_controller(line):
    assert read(line, NUMBERS_ONLY).troubles == ()


def without(*words, **more):
    return replace(PLAIN, unsupported=frozenset(words), **more)


def assumed(text, controller=PLAIN):
    """The rules that a text breaks where nothing is known to be in force."""
    return rules(follow(text, known="", controller=controller))


FEED, HEIGHT = "G21 G90\nG53 G1 Z-5 F100", "G21 G90 G54\nG0 Z-1"


def test_a_controller_without_any_word_of_a_group_is_always_in_its_plain_mode():
    assert assumed(FEED) == ["mode-assumed"]
    assert assumed(FEED, without("G93")) == ["mode-assumed"]
    assert assumed(FEED, without("G93", "G94")) == []
    assert assumed(HEIGHT) == ["mode-assumed"]
    assert assumed(HEIGHT, without("G43", "G49")) == []


def test_a_g_word_of_its_own_may_be_one_of_any_group():
    assert assumed(FEED, without("G93", "G94", extra_words={"G95": "ignore"})) == ["mode-assumed"]
    assert assumed(FEED, without("G93", "G94", extra_words={"M95": "ignore"})) == []


@pytest.mark.parametrize("text", ["G90\nG53 G0 Z-5", "G21 G54\nG0 X5"])
def test_units_distance_and_work_system_are_never_taken_for_granted(text):
    bare = without("G20", "G21", "G90", "G91", *(f"G5{number}" for number in range(4, 10)))
    assert "mode-assumed" in assumed(text, bare)
