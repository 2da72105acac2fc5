"""What surely stops a machine between two moves, and what only may."""

import pytest

from parser.language.reader import read
from parser.motion.interpreter import trace
from parser.motion.moves import Event, EventKind
from parser.times.joints import may_run_on
from tests.parser.motion.moving import MILL, feed, place, trace_of
from tests.parser.scene import controller

SURE = {"pause", "homing", "home-at-panel", "home-afterwards", "by-hand"}
"""NISTIR 6556, 3.6.1 and 3.5.16.9: the operator has to go on; and a homing cycle ends at rest (common practice)."""


def between(*events):
    """Whether two feed moves with some events between them may be run through: in an estimate, and at all."""
    moves = (feed(place(), place(x=10.0), 600.0), feed(place(x=10.0), place(x=10.0, y=10.0), 600.0, line=3))
    found = trace_of(*moves, events=[Event(2, kind, 1, optional=optional) for kind, optional in events])
    return tuple(may_run_on(found, [(0, 1)], at_all=at_all)[0] for at_all in (False, True))


@pytest.mark.parametrize("kind", EventKind)
def test_an_estimate_stops_for_all_that_interrupts_and_the_proof_for_what_surely_does(kind):
    assert between((kind, False)) == (not kind.interrupts, kind not in SURE)
    assert between((kind, True)) == (not kind.interrupts, True)


def test_one_sure_stop_among_others_is_enough():
    assert between((EventKind.TOOL_CHANGE, False), (EventKind.PAUSE, False), (EventKind.PAUSE, True))[1] is False


def test_a_kind_that_interrupts_has_to_say_whether_it_surely_stops():
    for does in (("waits",), ("loses position",), ("stops",)):
        with pytest.raises(TypeError, match="whether the machine surely stops"):
            EventKind.__new_member__(EventKind, "new", *does)


@pytest.mark.parametrize(
    ("lines", "sure"),
    [
        ("M0", True),
        ("M60", True),
        ("M1", False),
        ("(MSG, HOME AT THE PANEL)\nM0", True),
        ("(MSG, HOME AT THE PANEL)\nM1", False),
        ("T1 M6", False),
        ("M5", False),
        ("M3 S0", False),
        ("G4 P1", True),
        ("G4 P0", False),
    ],
)
def test_what_words_between_two_moves_may_leave_out(lines, sure):
    text = f"G17 G21 G90 G94 G54 G64\nM5\nG53 G1 Z-2 F600\nG53 G1 Z-1 X10\n{lines}\nG53 G1 Y20\n"
    found = trace(read(text), MILL, controller(percent=False))
    moving = [index for index, move in enumerate(found.moves) if move.kind != "dwell"]
    assert may_run_on(found, [tuple(moving[-2:])], at_all=True) == [not sure]
