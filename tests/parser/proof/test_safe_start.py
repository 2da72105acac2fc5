"""The safe-start box: every start in it is safe, and none of its faces could be further out."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from parser.machine import Axis, Interval, Limit, Origin, Setup
from parser.pipeline import examine
from parser.proof.safe_start import safe_start
from parser.question import Question
from tests.bulk import mostly_long
from tests.parser.scene import MILL, VISE, controller

PLAIN = controller(percent=False)


def examined(text, start=None):
    return examine(text, MILL, PLAIN, Question(start=start))


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


BARE = replace(MILL, setups=(replace(MILL.setups[0], keep_outs=()),))
HEAD = "G17 G21 G40 G49 G54 G90 G94\n"


def bare(text, **changes):
    return examine(HEAD + text, replace(BARE, **changes), PLAIN)


def test_a_full_circle_keeps_away_from_both_ends_of_an_axis():
    """Radius 10 about X+10: X 0 to +20, Y 10 either way, and half a millimetre from each end."""
    box = bare("G91 G2 X0 I10 F100\nG90\n").safe_start.box
    assert box["x"] == Interval(0.0, 239.5)
    assert box["y"] == Interval(10.5, 139.5)
    assert box["z"] == Interval(-90.0, 0.0)


def test_as_many_faces_as_it_takes():
    there_and_back = "".join(f"G0 {axis}{step}\nG0 {axis}-{2 * step}\nG0 {axis}{step}\n" for axis, step in REACHES)
    box = bare(f"G91\n{there_and_back}G90\n").safe_start.box
    assert box == {"x": Interval(10.5, 249.5), "y": Interval(10.5, 139.5), "z": Interval(-84.5, -5.5)}


REACHES = (("X", 10), ("Y", 10), ("Z", 5))


def test_rotary_axes_are_narrowed_as_well():
    axes = (*MILL.axes, *(Axis(name, Interval(-180.0, 180.0), 3000.0, 500.0) for name in "abc"))
    report = bare("G91\nG0 A20 B20 C20\nG0 A-40 X10\nG90\n", axes=axes)
    box = report.safe_start.box
    assert box["a"] == Interval(-159.5, 159.5)
    assert box["c"] == Interval(-180.0, 159.5)
    assert box["x"] == Interval(0.0, 249.5)


def test_every_move_of_a_line_counts():
    """Three drillings, each 10 mm further along: the last is 30 mm from the start."""
    report = bare("G53 G0 Z-10\nG91 G98 G81 X10 Y0 Z-1 R0 L3 F100\nG80\nG90\n")
    assert report.safe_start.box["x"] == Interval(0.0, 229.5)
    (finding,) = [each for each in report.findings if each.rule == "beyond-travel"]
    assert "X would go to 290" in finding.message


def test_every_setup_counts():
    """The nose, 30 mm, above X 120 in the second setup: clear of the vise from Y 107 + 30 on."""
    setups = tuple(
        Setup(name, (VISE,), {"G54": Origin({"x": Interval(x, x), "y": Interval(70, 70), "z": Interval(-38, -38)})})
        for name, x in (("A", 60.0), ("B", 120.0))
    )
    report = bare("G53 G0 Z-2\nG0 X0\nG53 G0 Z-85\n", setups=setups)
    assert report.safe_start.box["y"] == Interval(137.0, 150.0)


def test_starts_that_a_limit_of_the_sheet_forbids_are_none():
    report = bare("G53 G0 Y145\nG53 G0 Z-80\n", limits=(Limit(("z", "<", -70.0), ("y", "<=", 140.0)),))
    assert report.refused
    assert report.safe_start.box is None


def test_what_does_not_depend_on_the_start_is_named_and_the_rest_told_all_the_same():
    safe = examined("G21 G90\nG53 G0 X130 Y72\nG18\n").safe_start
    assert safe.box is None
    assert safe.sentence == (
        "no start is safe: what is refused does not depend on where the machine stands; "
        "once that is fixed it is safe when Z is at or above -34 mm"
    )


def test_beside_a_slanting_boundary_two_faces_keep_more_than_one():
    """A refusal of all starts beyond a line across X and Y: the largest box under it has a corner half-way."""
    slant = [lambda box, _: box["x"].high / 260 + box["y"].high / 150 > 1.0]
    box = safe_start(slant, {axis.name: axis.travel for axis in MILL.axes}, MILL).box
    assert volume(box) >= 0.99 * (130 * 75 * 90)


@pytest.mark.parametrize("line", ["G53 X200", "G53 G0 X200 Q", "G38.2 Z-35 F50\nG53 X200"])
def test_nothing_is_promised_while_a_line_that_may_move_has_not_been_judged(line):
    """Fixed, it may go where no start that was safe without it is safe any more."""
    safe = bare(f"{line}\nG91 G0 Z5\nG90\n").safe_start
    assert safe.box is None
    assert "no safe start was sought: fix what is refused on line" in safe.sentence


def test_where_a_line_can_be_carried_out_is_part_of_the_safe_start():
    """A probe has to begin 0.254 mm (0.01 inch) above its target (NISTIR 6556, 3.5.9), which is -38 - 35 = -73.

    Where it trips is between there and the start, so ten more go past the end of travel from above -10.5.
    """
    report = bare("G38.2 Z-35 F50\nG91 G0 Z10\nG90\n")
    assert [finding.rule for finding in report.findings if finding.severity == "refuse"] == [
        "word-out-of-range",
        "beyond-travel",
    ]
    assert report.safe_start.box["z"] == Interval(-72.746, -10.5)
    assert report.safe_start.condition == "z >= -72.746 mm and z <= -10.5 mm"


def test_lines_that_narrow_the_start_one_after_another_all_count():
    """The first is judged, then the second from what it leaves; X 0 of the work is 125."""
    report = bare("G38.2 Z-35 F50\nG38.2 X0 F50\n")
    assert report.safe_start.condition == "z >= -72.746 mm and x >= 125.254 mm"


LINES = ("G2 X20 Y10 R20 F100\n", "G38.2 Z-35 F50\n", "G38.2 X0 F50\nG53 G0 Y10\n")


@pytest.mark.parametrize("text", mostly_long(LINES, most=1))
def test_from_the_starts_found_beside_such_a_line_nothing_is_refused_and_further_out_something_is(text):
    safe = examined(HEAD + text).safe_start.box
    assert not examined(HEAD + text, start=safe).refused
    for axis in (axis for axis in MILL.axes if axis.name in "xyz"):
        side = safe[axis.name]
        for wider in (Interval(side.low - 0.01, side.high), Interval(side.low, side.high + 0.01)):
            if axis.travel.low <= wider.low and wider.high <= axis.travel.high:
                assert examined(HEAD + text, start=safe | {axis.name: wider}).refused


def test_starts_that_keep_a_limit_by_its_condition_are_not_forbidden():
    """The limit is about Z below -70 only; from above Y 145 the bar of -76 with 2 mm is cleared at -34 by 40 mm."""
    limit = Limit(("z", "<", -70.0), ("y", "<=", 140.0))
    behind = {"y": Interval(145.0, 150.0)}
    text = "G21 G90\nG53 G0 X130 Y72\n"
    box = examine(text, replace(MILL, limits=(limit,)), PLAIN, Question(start=behind)).safe_start.box
    assert box["z"] == Interval(-34.0, 0.0)


def test_where_a_line_can_be_carried_out_is_told_beside_what_is_refused_from_there():
    safe = bare("G38.2 Z-35 F50\nG53 G0 X300\n").safe_start
    assert safe.box is None
    assert safe.sentence.startswith("where line 2 can be run, no safe start was found")


def test_what_hangs_on_a_line_that_cannot_be_carried_out_from_everywhere_is_fixed_with_it():
    """Where the probe tripped is in #5063 once it has been carried out; 3 mm more keep in travel from -3.5 down."""
    safe = bare("G38.2 Z-35 F50\nG0 Z[#5063+3]\n").safe_start
    assert safe.condition == "z >= -72.746 mm and z <= -3.5 mm"


def test_the_safe_start_says_that_it_leaves_aside_what_is_accepted():
    text = HEAD + "G91\nG0 X10\nG90\n"
    safe = examine(text, MILL, PLAIN, Question(accepted={"crosses-keep-out": "the vise is off"})).safe_start
    assert safe.sentence == "but for what is accepted, safe when X is at most 249.5 mm"


def test_no_start_helps_where_a_line_cannot_be_read():
    safe = bare("G38.2 Z-35 F50\nG1 X10 ?\n").safe_start
    assert safe.sentence == "no safe start was sought: fix what is refused on lines 2 and 3 first"


def test_the_report_is_there_before_the_safe_start_is_sought():
    shown = []
    report = examine("G21 G90\nG53 G0 X130 Y72\n", MILL, PLAIN, first=shown.append)
    (first,) = shown
    assert first.findings == report.findings
    assert (first.safe_start.box, report.safe_start.condition) == (None, "z >= -34 mm")


class EnoughError(Exception):
    """Somebody who waited does not wait any more."""


def test_whoever_waits_ends_the_search():
    shown = []

    def told(share):
        if shown:
            raise EnoughError

    with pytest.raises(EnoughError):
        examine(HEAD + "G91\nG0 X20 Y10\nG0 X-40\nG90\n", MILL, PLAIN, progress=told, first=shown.append)
