"""After a tool change or a pause another tool may be in the spindle, longer than the one the macro fired with."""

from __future__ import annotations

import pytest

from parser.machine import Interval, Setup
from parser.pipeline import examine
from parser.question import Question
from tests.parser.scene import MILL, controller, mill


def refused(text):
    known = "G17 G21 G40 G49 G54 G90 G94"
    report = examine(text + "\n", MILL, controller(percent=False), Question(assume=known))
    return [(finding.rule, finding.line) for finding in report.findings if finding.severity == "refuse"]


@pytest.mark.parametrize("change", ["T2 M6", "M0", "M60"])
def test_going_down_again_with_another_tool_may_meet_what_the_first_one_cleared(change):
    up_and_down = "G91 G0 Z20\n{}\nG0 Z-20\nG90"
    quiet = [found for found in refused(up_and_down.format("G4 P1")) if found[0] == "crosses-keep-out"]
    loud = [found for found in refused(up_and_down.format(change)) if found[0] == "crosses-keep-out"]
    assert (quiet, {line for _, line in loud}) == ([], {3})


def test_the_path_of_a_tool_change_is_not_known():
    """NISTIR 6556, 3.6.3: it may include axis motion."""
    report = examine("T2 M6\n", MILL, controller(percent=False))
    assert [finding.line for finding in report.findings if finding.rule == "path-not-known"] == [1]


def test_the_start_that_is_shown_is_that_of_the_macro_and_not_of_what_follows_the_pause():
    """From -65 up 5 and, after the pause, down 30 to -90, which is inside the margin: only -65 does that."""
    text = "G21 G90 G17 G40 G49 G54 G94\nG91 G0 Z5\nM0\nG0 Z-30\nG90\n"
    bare = mill(setups=(Setup("", ()),))
    report = examine(text, bare, controller(percent=False), Question(start={"z": Interval(-65.0, -10.0)}))
    (finding,) = [finding for finding in report.findings if finding.rule == "beyond-travel"]
    assert finding.witness.start["z"] == pytest.approx(-65.0)
    assert finding.witness.at["z"] == pytest.approx(-90.0)


def test_a_meeting_after_the_change_says_so_and_shows_where_the_macro_began():
    text = "G21 G90\nG53 G0 Z-30\nG53 G0 X125 Y70\nM0\nG53 G0 Z-50\n"
    report = examine(text, MILL, controller(percent=False), Question(start={"z": Interval(-30.0, -2.0)}))
    finding = next(each for each in report.findings if each.rule == "crosses-keep-out" and each.line == 5)
    assert "and after line 4" in finding.message
    assert -30.0 <= finding.witness.start["z"] <= -2.0
