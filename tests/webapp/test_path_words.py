"""The path in words: what a blind machinist is told is what the report says."""

from __future__ import annotations

import pytest

import parser
from parser.machine import Controller
from parser.quantities import Figures
from tests.webapp import drawn
from webapp.pages import path_words

HEAD = "G21 G90 G94 G17\n"


def told(lines, figures=None, start=None, **changes):
    report = parser.examine(HEAD + lines, drawn.mill(**changes), Controller(percent=False))
    return path_words.told(report, figures or Figures(), start)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("G53 G0 Z0", "raises to Z 0"),
        ("G53 G0 Z-90", "lowers to Z -90"),
        ("G53 G0 Z-5", "raises to Z -5"),
        ("G53 G0 X20 Y140", "crosses to X 20 Y 140"),
        ("G53 G0 X20 Z-2", "slants to X 20 Z -2"),
        ("G53 G1 X20 F600", "feeds to X 20, at 600 mm/min"),
        ("G53 G1 X20 Z-2 F600", "feeds aslant to X 20 Z -2, at 600 mm/min"),
        ("G4 P0.5", "dwells for 0.5 s"),
        ("M0", "waits for the operator"),
    ],
)
def test_a_move_is_told_by_what_it_does(line, words):
    assert [each.words for each in told(line + "\n").told] == [words]


def test_an_arc_says_which_way_it_goes_and_how_wide():
    arc = told("G53 G0 X50 Y50 Z-2\nG54\nG2 X-55 Y-20 I10 J0 F300\n").told[-1]
    assert arc.words == "goes round clockwise to X 70 Y 50, at 300 mm/min, radius 10 mm"


def test_a_place_that_the_start_decides_is_told_as_that():
    assert [each.words for each in told("G91\nG0 X5\nG90\n").told] == ["crosses to X +5 from where it was"]


def test_inches_are_told_in_inches():
    assert told("G53 G0 X25.4\n", Figures("inch")).told[0].words == "crosses to X 1"


def test_each_sentence_has_its_line_and_the_ends_that_are_drawn():
    (raised, crossed) = told("G53 G0 Z-2\nG53 G0 X20 Y140\n", start={"x": 10.0, "y": 30.0, "z": -60.0}).told
    assert (raised.line, raised.move, raised.ends) == (2, 0, "10 30 -60 10 30 -2")
    assert (crossed.line, crossed.move, crossed.ends) == (3, 1, "10 30 -2 20 140 -2")


def test_what_does_not_move_is_not_told():
    assert told("G53 G0 Z-2\nG53 G0 Z-2\n").told[1:] == ()


def test_a_long_program_is_told_up_to_a_number_of_sentences():
    lines = "".join(f"G53 G0 X{x % 2 * 10}\n" for x in range(path_words.MOST + 5))
    found = told(lines)
    assert len(found.told) == path_words.MOST
    assert found.further == 5
