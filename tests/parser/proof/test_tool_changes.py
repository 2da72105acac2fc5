"""After a tool change or a pause another tool may be in the spindle, longer than the one the macro fired with."""

from __future__ import annotations

import pytest

from parser.examining import examine
from tests.parser.scene import MILL, controller


def refused(text):
    known = "G17 G21 G40 G49 G54 G90 G94"
    report = examine(text + "\n", MILL, controller(percent=False), assume=known)
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
