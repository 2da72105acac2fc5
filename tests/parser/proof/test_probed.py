"""After a probe: where it tripped is not known, but it is no further from where probing began than it was to go."""

from __future__ import annotations

import pytest

from parser.machine import Interval, Setup
from parser.pipeline import examine
from parser.question import Question
from tests.parser.scene import MILL, controller, mill

BARE = mill(setups=(Setup("", (), MILL.setups[0].origins),))
HEAD = "G17 G21 G40 G49 G54 G90 G94\n"


def examined(text, machine=BARE, **more):
    return examine(HEAD + text, machine, controller(percent=False), Question(**more))


def refused(report):
    return [(finding.rule, finding.line) for finding in report.findings if finding.severity == "refuse"]


def test_a_step_down_from_wherever_it_stands_keeps_only_away_from_the_bottom():
    """10 mm down at the most, 0.5 mm from the end of -90: from -79.5 and higher by plain arithmetic."""
    report = examined("G91 G38.2 Z-10 F100\nG90\nG53 G0 Z-2\n")
    assert refused(report) == [("beyond-travel", 2)]
    assert report.safe_start.box["z"] == Interval(-79.5, 0.0)
    assert not examined("G91 G38.2 Z-10 F100\nG90\nG53 G0 Z-2\n", start=report.safe_start.box).refused


def test_it_is_not_taken_to_have_tripped_above_where_it_began():
    report = examined("G91 G38.2 Z-10 F100\nG0 Z-1\nG0 Z11\nG90\n", start={"z": Interval(-60.0, -11.0)})
    assert refused(report) == []
    assert refused(examined("G91 G38.2 Z-10 F100\nG0 Z11\nG90\n", start={"z": Interval(-60.0, -11.0)})) == [
        ("beyond-travel", 3)
    ]


def test_a_step_up_over_what_was_there_to_trip_it_may_leave_travel():
    report = examined("G91 G38.2 Z10 F100\nG90\n")
    assert report.safe_start.box["z"] == Interval(-90.0, -10.5)


@pytest.mark.parametrize(("start", "hits"), [(-33.9, True), (-23.9, False)])
def test_the_whole_way_it_may_go_has_to_be_clear(start, hits):
    """Bar top -76, margin 2, longest tool 40: met below -34, by plain arithmetic."""
    report = examined("G91 G38.2 Z-10 F100\nG90\n", MILL, start={"z": Interval(start, 0.0)})
    assert (("crosses-keep-out", 2) in refused(report)) is hits


def test_how_far_it_goes_is_known_although_not_from_where():
    timing = examined("G91 G38.2 Z-10 F100\nG90\n").plan.timings[0]
    assert (timing.length.least, timing.length.most) == pytest.approx((0.0, 10.0))


def test_from_an_unknown_place_to_a_fixed_one_it_trips_between_the_two():
    """From Z s to -73 it ends at most at the higher of both; 10 mm more keep in travel from -10.5 downwards."""
    report = examined("G53 G0 X10 Y10\nG38.2 X-105 Z-35 F50\nG91 G0 Z10\nG90\n")
    assert refused(report) == [("beyond-travel", 4)]
    assert report.safe_start.box["z"] == Interval(-90.0, -10.5)
    (finding,) = [each for each in report.findings if each.rule == "beyond-travel"]
    start, at = finding.witness.start["z"], finding.witness.at["z"]
    assert min(start, -73.0) + 10.0 <= at <= max(start, -73.0) + 10.0
    assert "would" in finding.message


@pytest.mark.long
def test_a_meeting_after_such_a_probe_is_shown_from_a_start_that_has_it():
    text = "G53 G0 X10 Y140\nG38.2 X-105 Z-35 F50\nG53 G0 Y70\nG53 G0 X125\n"
    corner = {"x": Interval(0.0, 20.0), "y": Interval(140.0, 150.0)}
    report = examined(text, MILL, start=corner)
    shown = [each for each in report.findings if each.rule == "crosses-keep-out" and each.line == 5]
    assert shown
    for finding in shown:
        alone = {axis: Interval(value, value) for axis, value in finding.witness.start.items()}
        assert ("crosses-keep-out", 5) in refused(examined(text, MILL, start=alone))
