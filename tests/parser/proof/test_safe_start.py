"""The safe-start box: every start in it is safe, and none of its faces could be further out."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from parser.examining import examine
from parser.machine import Interval
from parser.proof.safe_start import safe_start
from tests.parser.scene import MILL, controller

PLAIN = controller(percent=False)


def examined(text, start=None):
    return examine(text, MILL, PLAIN, start=start)


def test_a_proved_macro_is_safe_from_the_whole_of_travel():
    safe = examined("G21 G90\nG53 G0 Z-2\n").safe_start
    assert safe.box == {axis.name: axis.travel for axis in MILL.axes}
    assert safe.condition == ""


def test_a_crossing_that_is_not_raised_is_safe_from_the_height_at_which_the_longest_tool_clears():
    report = examined("G21 G90\nG53 G0 X130 Y72\n")
    assert report.verdict == "refused"
    # bar top -76, margin 2, longest tool 40: -34 by plain arithmetic
    assert report.safe_start.box["z"] == Interval(-34.0, 0.0)
    assert report.safe_start.sentence == "safe when Z is at or above -34 mm"
    assert report.safe_start.condition == "z >= -34 mm"


def test_the_condition_makes_the_macro_free_of_refusals_and_a_hundredth_more_does_not():
    text = "G21 G90\nG53 G0 X130 Y72\n"
    safe = examined(text).safe_start.box
    assert not examined(text, start=safe).refused
    further = dict(safe) | {"z": Interval(safe["z"].low - 0.01, safe["z"].high)}
    assert examined(text, start=further).refused


def test_a_relative_step_keeps_away_from_the_end_it_goes_towards():
    report = examined("G21 G91\nG0 Z5\nG90\n")
    assert report.safe_start.box["z"] == Interval(-90.0, -5.5)


@pytest.mark.parametrize("text", ["G21 G90\nG53 G0 Y155\n", "G53 G0 Z-2\n", "G21 G90\nG53 G0 Z-2 ?\n"])
def test_there_is_none_where_the_refusal_does_not_depend_on_the_start(text):
    assert examined(text).safe_start.box is None


def test_the_face_that_costs_least_is_drawn_in():
    """A tall column at the far end of X: keeping 20 mm and a tool radius away costs less than any height would."""
    column = replace(MILL.setups[0].keep_outs[1], low=(240.0, 0.0, -130.0), high=(260.0, 150.0, -20.0))
    machine = replace(MILL, setups=(replace(MILL.setups[0], keep_outs=(column,)),), nose_radius=0.0)
    box = examine("G21 G91\nG0 X20\nG0 X-20\nG90\n", machine, PLAIN).safe_start.box
    assert box["z"] == Interval(-90.0, 0.0)
    # column 240, margin 2, radius 6, step 20: 212 by plain arithmetic
    assert box["x"] == Interval(0.0, 212.0)


def volume(box):
    return np.prod([box[axis].length for axis in box])


def blocks(seed):
    """Up to three refusals, each by everything in one random corner block of the travel."""
    random = np.random.default_rng(seed)
    found = []
    for _ in range(random.integers(1, 4)):
        sides = {axis: bool(random.integers(0, 2)) for axis in "xyz"}
        cuts = {axis.name: axis.travel.low + random.uniform(0.1, 0.9) * axis.travel.length for axis in MILL.axes}
        found.append((sides, cuts))
    return found


def breaks(block, box):
    sides, cuts = block
    return all(box[a].high > cuts[a] if sides[a] else box[a].low < cuts[a] for a in "xyz")


@pytest.mark.parametrize("seed", range(30))
def test_no_choice_of_faces_keeps_more(seed):
    """Against brute force over every combination of the faces that any refusal offers."""
    refusals = blocks(seed)
    whole = {axis.name: axis.travel for axis in MILL.axes}
    found = safe_start([lambda box, _, block=block: breaks(block, box) for block in refusals], whole, MILL).box
    lows = {a: [whole[a].low] + [c[a] for s, c in refusals if not s[a]] for a in "xyz"}
    highs = {a: [whole[a].high] + [c[a] for s, c in refusals if s[a]] for a in "xyz"}
    best = 0.0
    for chosen in product(*(product(lows[a], highs[a]) for a in "xyz")):
        box = {a: Interval(*pair) for a, pair in zip("xyz", chosen, strict=True) if pair[0] < pair[1]}
        if len(box) == 3 and not any(breaks(block, box) for block in refusals):
            best = max(best, volume(box))
    assert volume(found) >= 0.99 * best
