"""What a macro leaves where the hand lets go of it, and at its end: offsets, the spindle, the coolant.

Design section 8, interrupted anywhere: the state after every line is examined, with its modes, offsets and spindle.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from parser.findings import Severity
from parser.machine import Tool
from parser.pipeline import examine
from parser.question import Question
from tests.parser.scene import controller, mill

SHOP = mill(tools=(Tool(1, 30.0, 3.0),))
RESTING = ("G17", "G21", "G40", "G80", "G90", "G94")


def found(text, *, assume="", machine=SHOP, **changes):
    """What the rule finds, beside anything else."""
    report = examine(text + "\n", machine, controller(percent=False, **changes), Question(assume=assume))
    return [each for each in report.findings if each.rule == "left-if-interrupted"]


def said(text, **more):
    return [each.message for each in found(text, **more)]


class TestOffsetsInTheMiddle:
    @pytest.mark.parametrize(
        ("text", "line", "left"),
        [
            ("G92 X0\nG4 P1\nG92.1", 1, "a G92 offset in X"),
            ("G92 X0 Y0\nG4 P1\nG92.2", 1, "a G92 offset in X, a G92 offset in Y"),
            ("G92 X0\nG4 P1\nM2", 1, "a G92 offset in X"),  # NISTIR 6556, 3.6.1: M2 acts as G92.2
            ("G43 H1\nG4 P1\nG49", 1, "G43 as the tool length offset"),
            ("G55\nG4 P1\nG54", 1, "G55 as the work system"),
            ("G55\nG4 P1\nM2", 1, "G55 as the work system"),  # 3.6.1: M2 selects G54
            ("G10 L2 P1 X10\nG4 P1\nG10 L2 P1 X125", 1, "the G54 origin moved in X"),
            ("G10 L2 P7 Y10\nG4 P1\nG10 L2 P7 Y0", 1, "the G59.1 origin moved in Y"),
        ],
    )
    def test_an_offset_that_is_put_back_later_is_left_until_then(self, text, line, left):
        (finding,) = found(f"G21\n{text}")
        assert finding.severity is Severity.CAUTION
        assert finding.message == f"Letting go after line {line + 1} or {line + 2} leaves {left}."
        assert finding.line == line + 1
        assert finding.remedy == "After an interruption put the offsets back by hand before anything else runs."

    def test_modes_and_offsets_are_told_together(self):
        (finding,) = found("G91\nG55\nG54\nG90")
        assert finding.message == "Letting go after any of lines 1 to 3 leaves G91 in force, G55 as the work system."
        assert finding.remedy.startswith("After an interruption set the resting modes and put the offsets back by hand")

    @pytest.mark.parametrize(
        "text",
        [
            "G17 G21 G40 G49 G54 G90 G94\nG53 G0 Z-2\nG4 P1",  # sets what it ends in
            "G21\nG4 P1\nG54 G49\nG4 P1",  # before line 3 it has touched neither
            "G55\nG4 P1\nG4 P1",  # stays so, which offset-left-changed says
            "G21\nG92 X0\nG4 P1\nG92 Y0\nG4 P1",
            "G21\nG10 L2 P1 X10\nG4 P1\nG10 L2 P1 X10",
            "G20\nG10 L2 P1 X1\nG21\nG10 L2 P1 X25.4",  # an inch is 25.4 mm
        ],
    )
    def test_what_is_still_so_at_the_end_is_no_matter_of_letting_go(self, text):
        assert [each for each in said(text) if "G54" in each or "G49" in each or "offset" in each] == []
        assert [each for each in said(text) if "G55" in each or "origin" in each] == []

    @pytest.mark.parametrize(
        ("assume", "text"),
        [("G55", "G4 P1\nG54"), ("G43 H1", "G4 P1\nG49"), ("G92 X0", "G4 P1\nG92.1"), ("G55", "G55\nG4 P1\nG54")],
    )
    def test_what_was_in_force_before_is_not_its_doing(self, assume, text):
        assert said(text, assume=f"G21 {assume}") == []

    def test_an_offset_from_before_that_is_taken_off_for_a_while_is(self):
        (message,) = said("G92.1\nG4 P1\nG92 X0", assume="G21 G92 X0")
        assert message == "Letting go after line 1 or 2 leaves no G92 offset in X."

    def test_a_group_that_the_resting_modes_name_is_judged_by_these(self):
        resting = (*RESTING, "G54", "G49")
        assert said("G55\nG4 P1\nG54", resting=resting) == ["Letting go after line 1 or 2 leaves G55 in force."]
        assert said("G54\nG4 P1\nG55", resting=resting) == []


class TestTheEnd:
    @pytest.mark.parametrize(
        ("text", "messages"),
        [
            ("M3 S100", ["At the end the spindle is left turning."]),
            ("M4 S100", ["At the end the spindle is left turning."]),
            ("M8", ["At the end the coolant is left on."]),
            ("M7", ["At the end the coolant is left on."]),
            ("M3 S100\nM5", ["Letting go after line 1 leaves the spindle turning."]),
            ("M3 S100\nM2", ["Letting go after line 1 leaves the spindle turning."]),  # NISTIR 6556, 3.6.1
            ("M5 M9", []),
            (
                "M3 S100\nG4 P1\nM8",
                [
                    "Letting go after line 1 or 2 leaves the spindle turning.",
                    "At the end the spindle is left turning.",
                    "At the end the coolant is left on.",
                ],
            ),
        ],
    )
    def test_what_the_last_line_switches_on_is_on_at_the_end(self, text, messages):
        assert said(text) == messages

    def test_it_stands_on_the_line_that_switched_it_on_for_good(self):
        lines = [each.line for each in found("M3 S100\nM5\nM4 S100\nM8\nG4 P1") if "end" in each.message]
        assert lines == [3, 4]

    def test_the_remedy_is_a_line_that_is_still_read(self):
        assert found("M3 S100")[0].remedy.startswith("Add a last line: M5.")
        (end,) = (each for each in found("%\nM8\n%") if "end" in each.message)
        assert end.remedy.startswith("Before the line that ends the program add a line: M9.")

    @pytest.mark.parametrize(("word", "other"), [("M3", "M4"), ("M4", "M3"), ("M7", "M8"), ("M8", "M7")])
    def test_a_machine_may_rest_with_it_on(self, word, other):
        assert said(f"{word}\nG4 P1", resting=(*RESTING, word)) == []
        assert said(f"{other}\nG4 P1", resting=(*RESTING, word)) != []

    def test_where_the_resting_modes_want_it_off_it_is_refused_and_not_said_twice(self):
        report = examine("M3 S100\nM8\n", SHOP, controller(percent=False, resting=(*RESTING, "M5", "M9")))
        assert [each.rule for each in report.findings if "t the end" in each.message] == ["mode-left-changed"]

    @pytest.mark.parametrize("assume", ["M3", "M4", "M7", "M8"])
    def test_what_was_on_before_is_not_its_doing(self, assume):
        assert said("G4 P1\nG4 P1", assume=assume) == []

    def test_a_spindle_that_the_operator_switches_is_not_the_macros(self):
        assert said("M3 S100\nG4 P1", machine=mill(spindle_by_program=False)) == []


WORDS = [
    "G92 X0",
    "G92 Y5",
    "G92.1",
    "G54",
    "G55",
    "G43 H1",
    "G49",
    "G10 L2 P1 X10",
    "M3 S9",
    "M5",
    "M8",
    "M9",
    "G4 P1",
]


def offsets(text):
    """Systems, lengths and zeros that a text leaves, from following it by itself."""
    final = examine(text + "\n", SHOP, controller(percent=False), Question(seek_start=False)).trace.final
    return final.modes.get(12), final.modes.get(8), dict(final.origins)


def on(text):
    final = examine(text + "\n", SHOP, controller(percent=False), Question(seek_start=False)).trace.final
    return final.spindle in ("clockwise", "counter-clockwise"), bool(final.coolant)


@settings(max_examples=80, deadline=None)
@given(lines=st.lists(st.sampled_from(WORDS), min_size=1, max_size=5))
def test_every_line_after_which_something_is_left_is_told(lines):
    text = "\n".join(["G21 G90", *lines])
    messages = said(text)
    starts = [offsets("\n".join(["G21 G90", *lines[:done]])) for done in range(len(lines))]
    first, last = starts[0], offsets(text)
    left = [
        any(now not in (None, was, end) for now, was, end in zip(each[:2], first, last, strict=False))
        or any(at != last[2].get(name) for name, at in each[2].items())
        for each in starts
    ]
    running = [on("\n".join(["G21 G90", *lines[:done]])) for done in range(len(lines))]
    assert any(each.startswith("Letting go") for each in messages) is (any(left) or any(map(any, running)))
    assert ["At the end the spindle" in "".join(messages), "At the end the coolant" in "".join(messages)] == [*on(text)]
