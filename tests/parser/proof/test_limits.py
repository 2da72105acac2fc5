"""What ties one axis to another ([[limit]]): on arcs, with blended corners, and in several setups."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from parser.machine import Interval, Limit, Setup
from parser.pipeline import examine
from parser.question import Question
from tests.parser.scene import MILL, VISE, controller, mill

HEAD = "G17 G21 G40 G49 G54 G90 G94\n"
PLAIN = controller(percent=False)


def limited(*limits, **changes):
    return mill(setups=(Setup("", (), MILL.setups[0].origins),), limits=limits, **changes)


def broken(text, machine, start=None):
    report = examine(HEAD + text, machine, PLAIN, Question(start=start, seek_start=False))
    return [finding for finding in report.findings if finding.witness and finding.witness.obstacle.startswith("limit")]


RIGHT_AND_FRONT = Limit(("x", ">", 250.0), ("y", ">=", 20.0))


def test_an_arc_that_breaks_a_limit_only_at_its_end_is_refused():
    """From (241, 25) about (241, 15) a quarter clockwise to (251, 15): beyond X 250 with Y below 20."""
    start = {"x": Interval(0.0, 241.0), "y": Interval(25.0, 140.0), "z": Interval(-2.0, 0.0)}
    (finding,) = broken("G91\nG2 X10 Y-10 I0 J-10 F100\nG90\n", limited(RIGHT_AND_FRONT), start)
    shown = finding.witness
    assert 240.0 < shown.start["x"] <= 241.0
    assert shown.at["x"] > 250.0
    assert shown.at["y"] < 20.0
    assert np.hypot(shown.at["x"] - shown.start["x"], shown.at["y"] - shown.start["y"] + 10.0) == pytest.approx(
        10.0, abs=0.002
    )
    nearer = start | {"x": Interval(0.0, 239.0)}
    assert broken("G91\nG2 X10 Y-10 I0 J-10 F100\nG90\n", limited(RIGHT_AND_FRONT), nearer) == []


def test_an_arc_round_the_corner_of_a_limit_is_not_refused():
    """About (50, 50) with radius 70; the forbidden corner (100, 100) is 70.71 away, by plain geometry."""
    text = "G53 G0 Z-2\nG53 G0 X50 Y95\nG53 G1 X50 Y120 F500\nG2 X-5 Y-20 I0 J{} F100\n"
    machine = limited(Limit(("x", ">", 100.0), ("y", "<=", 100.0)))
    assert broken(text.format("-70"), machine) == []
    # a tenth more than that and the arc passes beyond the corner
    wider = "G53 G0 Z-2\nG53 G0 X50 Y95\nG53 G1 X50 Y120.8 F500\nG2 X-4.2 Y-20 I0 J-70.8 F100\n"
    assert [finding.line for finding in broken(wider, machine)] == [5]


@settings(max_examples=60, deadline=None)
@given(
    st.floats(2, 60),
    st.floats(0, 360),
    st.floats(-355, 355),
    st.floats(40, 220),
    st.floats(20, 130),
    st.sampled_from("<>"),
    st.sampled_from("<>"),
)
def test_an_arc_breaks_a_limit_where_points_of_it_do(radius, begins, sweep, x, y, when, then):
    """Against numpy: points along the arc from the middle of the table, the start left out of the blame."""
    assume(abs(sweep) > 1)
    angles = np.radians(begins + np.linspace(0, 1, 20001) * sweep)
    path = radius * (np.column_stack([np.cos(angles), np.sin(angles)]) - [np.cos(angles[0]), np.sin(angles[0])])
    path += [130.0, 75.0]
    past_x, past_y = (path[:, 0] - x) * (1 if when == ">" else -1), (y - path[:, 1]) * (1 if then == ">" else -1)
    past = np.minimum(past_x, past_y).max()
    assume(abs(past) > 0.01)
    assume(min(past_x[0], past_y[0]) < -0.01)
    step = path[-1] - path[0]
    i, j = -radius * np.cos(angles[0]), -radius * np.sin(angles[0])
    text = f"G91\nG{2 if sweep < 0 else 3} X{step[0]:.6f} Y{step[1]:.6f} I{i:.6f} J{j:.6f} F100\nG90\n"
    start = {"x": Interval(130.0, 130.0), "y": Interval(75.0, 75.0)}
    machine = limited(Limit(("x", when, x), ("y", then, y)))
    assert bool(broken(text, machine, start)) == (past > 0)


def test_a_blended_corner_may_cut_across_the_corner_of_a_limit():
    deep = Limit(("z", "<", -70.0), ("y", "<=", 140.0))
    text = "G53 G0 Z-1\nG53 G0 Y148\nG64\nG53 G1 Z-70 F100\nG53 G1 Y140 F100\nG53 G1 Z-80 F100\n"
    assert broken(text, limited(deep)) == []
    found = broken(text, limited(deep, corner="blend", tolerance=0.5))
    assert "a rounded corner may cut in by 0.5 mm" in found[0].message


def test_a_limit_that_is_broken_alike_in_two_setups_is_told_once():
    machine = mill(
        setups=(Setup("A", (VISE,)), Setup("B", (VISE,))), limits=(Limit(("z", "<", -70.0), ("y", "<=", 140.0)),)
    )
    assert len(broken("G53 G0 Z-2\nG53 G0 Y145\nG53 G0 Z-80\n", machine)) == 1
