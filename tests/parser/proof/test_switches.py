"""Lines with a slash are proved with the block delete switch off and on, and a finding says where it holds."""

from __future__ import annotations

from dataclasses import replace

import pytest

from parser.machine import Origin, Setup
from parser.pipeline import examine
from tests.parser.scene import G54, MILL, VISE, controller

SAFE = "M5\nG21 G90\nG53 G0 Z-2\n"


def cases(text, rule, machine=MILL):
    report = examine(text + "\n", machine, controller(percent=False))
    return list(dict.fromkeys((found.line, found.case) for found in report.findings if found.rule == rule))


@pytest.mark.parametrize(
    ("text", "rule", "found"),
    [
        (SAFE + "/G53 G0 X300", "beyond-travel", [(4, "block delete off")]),
        ("M5\nG21 G90\n/G53 G0 Z-2\nG53 G0 X120 Y70", "crosses-keep-out", [(4, "block delete on")]),
        ("/G21\nG90\nG53 G0 Z-2", "mode-assumed", [(3, "block delete on")]),
        ("G90\n/G53 G0 Z-2", "mode-assumed", [(2, "block delete off")]),
        (SAFE + "G91\n/G90", "mode-left-changed", [(None, "block delete on")]),
        ("/M5\nG21 G90\nG53 G0 Z-2\nG53 G0 X10", "moves-with-spindle-on", [(4, "block delete on")]),
        (SAFE + "/G4 P1\nG53 G0 X300", "beyond-travel", [(5, None)]),
        (SAFE + "/G4 P1\nG53 G0 X?", "unreadable-line", [(5, None)]),
        (SAFE + "/G53 G0 X?", "unreadable-line", [(4, None)]),
    ],
)
def test_a_finding_says_in_which_position_of_the_switch_it_holds(text, rule, found):
    assert cases(text, rule) == found


def test_a_case_names_the_setup_and_the_switch():
    low = replace(G54, axes={**G54.axes, "z": replace(G54.axes["z"], low=-60.0, high=-60.0)})
    machine = replace(MILL, setups=(Setup("High", (VISE,), {"G54": G54}), Setup("Low", (VISE,), {"G54": low})))
    text = SAFE + "G54 G49 G0 X0 Y0\n/G0 Z5\nG53 G0 Z-2"
    assert ("setup Low, block delete off") in {case for _, case in cases(text, "crosses-keep-out", machine)}


def test_what_either_position_takes_for_granted_is_assumed():
    machine = replace(MILL, setups=(Setup("", (), {"G54": G54, "G55": Origin(G54.axes)}),))
    report = examine(SAFE + "G54\n/G55\nG0 X0 Y0\nG54\n", machine, controller(percent=False))
    assert {"G54 as on the sheet", "G55 as on the sheet"} <= set(report.assumptions)


def test_the_extents_take_in_both_positions():
    report = examine("G21 G90\nG53 G0 X100\n/G53 G0 X50\nG91 G0 X-60\nG90\n", MILL, controller(percent=False))
    assert report.extents["x"].low == -10.0


def test_an_optional_stop_is_said_to_be_either_way():
    """NISTIR 6556, 3.6.1: M1 stops only while the optional stop switch is on."""
    report = examine(SAFE + "M1\n", MILL, controller(percent=False))
    assert "the optional stop switch may be on or off (M1)" in report.assumptions
