"""Programs that were once called proved, or refused, and were not: each a few lines, named after what was wrong.

The cases were worked out by a simulation written from the published text alone; what is right is said beside each.
"""

from __future__ import annotations

import pytest

from parser.machine import Box, Interval, Machine, Origin, Setup
from parser.pipeline import examine
from parser.proof.sequences import breaches, runner
from parser.question import Question
from tests.parser.scene import MILL, VISE, controller, mill

SHEET = controller(percent=False)
MODES = "G17 G21 G40 G49 G54 G80 G90 G94 G98\n"
ZERO = Origin({axis: Interval(0.0, 0.0) for axis in "xyz"})


def at(**places):
    return Origin(
        {
            axis: Interval(*place) if isinstance(place, tuple) else Interval(place, place)
            for axis, place in places.items()
        }
    )


def bare(*boxes: Box, **changes: object) -> Machine:
    """The mill without margins, its nose no wider than its tool, and a work zero at the machine's own."""
    setups = (Setup("", boxes, {"G54": ZERO}),)
    return mill(**({"setups": setups, "nose_radius": 6.0, "keep_out_margin": 0.0, "travel_margin": 0.0} | changes))


def post(low, high, bottom_top):
    return Box("Post", (*low, bottom_top[0]), (*high, bottom_top[1]))


def checked(lines: str, machine: Machine, *start: float):
    box = {axis: Interval(value, value) for axis, value in zip("xyz", start, strict=False)}
    return examine(MODES + lines, machine, SHEET, Question(start=box))


def refused(report, rule=None):
    return [each for each in report.findings if each.severity == "refuse" and rule in (None, each.rule)]


def test_two_passages_are_one_only_if_a_probe_aims_at_the_same_place():
    """In setup B the probe goes from X130 Y20 to X225 Y100 through the post; where it trips is the same in both."""
    tall = post((200.0, 80.0), (250.0, 200.0), (-130.0, -20.0))
    setups = tuple(Setup(name, (tall,), {"G54": at(x=x, y=0.0, z=0.0)}) for name, x in (("A", 5.0), ("B", 225.0)))
    lines = "G53 G0 Z0\nG53 G0 Y20\nG38.2 X0 Y100 F100\nG80\n"
    for start in ((), (130.0, 20.0, 0.0)):
        (found,) = refused(checked(lines, bare(setups=setups), *start), "crosses-keep-out")
        assert (found.line, found.case) == (4, "setup B")


PROBE = "G53 G0 Z0\nG53 G0 X100 Y70\nG91 G38.2 Z-5 F100\nG90\n"
FIRST_AND_SECOND = {
    "an offset that a probed value was measured under, though G92.1 comes before it is read": (
        "G53 G0 Z0\nG92 Z-50\nG80\n",
        PROBE + "G92.1\nG0 Z[#5063]\nG53 G0 Z0\nG80\n",
    ),
    "an origin that a probed value was measured from, though G10 sets it before it is read": (
        "G53 G0 Z0\nG10 L2 P1 Z50\nG80\n",
        PROBE + "G10 L2 P1 Z0\nG0 Z[#5063]\nG53 G0 Z0\nG80\n",
    ),
    "offsets of the axes that a G92 does not name, which G92.3 brings back (NISTIR 6556, 3.5.18)": (
        "G53 G0 Z0\nG92 Z55\nG80\n",
        "G53 G0 Z0\nG53 G0 X100 Y70\nG92 X0\nG92.2\nG92.3\nG0 Z0\nG92.1\nG53 G0 Z0\nG80\n",
    ),
}


@pytest.mark.parametrize("what", FIRST_AND_SECOND)
def test_a_pair_is_told_of(what):
    first, second = (checked(lines, bare(VISE)) for lines in FIRST_AND_SECOND[what])
    assert not refused(first)
    assert not refused(second)
    found = breaches([runner("First", first), runner("Second", second)])
    assert ("First", "Second") in [each.runners for each in found]


@pytest.mark.parametrize(
    ("lines", "start", "changes"),
    [
        ("G53 G0 Z-85\n", (125.0, 70.0, -78.5), {"nose_radius": 30.0}),  # 1.5 mm above the vise, 5 mm into it
        ("G53 G0 X125\n", (78.5, 70.0, -80.0), {"nose_radius": 0.0, "tool_radius": 1.0}),  # 0.5 mm beside it
    ],
)
def test_a_start_within_the_margin_is_not_left_out(lines, start, changes):
    machine = mill(setups=(Setup("", (VISE,)),), **changes)
    assert refused(checked(lines, machine, *start), "crosses-keep-out")


@pytest.mark.parametrize("margin", [0.0, 2.0, 50.0, 131.0])
def test_a_larger_margin_proves_no_more(margin):
    lines = "M5\nG53 G0 Z-85\nG53 G0 X125 Y70\n"
    assert refused(checked(lines, mill(keep_out_margin=margin)), "crosses-keep-out")


def test_the_safe_start_is_not_the_inside_of_a_vise_with_its_margin():
    """From Z -80 to -78 inside the margin the nose can stand, and goes 5 mm into the vise from there."""
    report = checked("G53 G0 X125 Y70 Z-85\n", bare(VISE, nose_radius=30.0, keep_out_margin=2.0))
    box = report.safe_start.box
    assert box is None or not all(box[axis].contains(value) for axis, value in zip("xyz", (125, 70, -79), strict=True))


def test_a_safe_start_holds_though_a_cycle_makes_fewer_moves_from_there():
    """From Z -10 and above the cycle does not rise first: moves are not told apart by their number on the line."""
    tall = post((65.0, 40.0), (80.0, 100.0), (-130.0, -20.0))
    lines = "G38.2 X50 Z-5 F100\nG81 X100 Y70 R-10 Z-45\nG80\nG53 G0 Z0\n"
    assert checked(lines, bare(tall), 30.0, 70.0).safe_start.box is None
    for z in (0.0, -10.0):
        assert refused(checked(lines, bare(tall), 30.0, 70.0, z), "crosses-keep-out")


def test_a_corner_that_may_be_rounded_leaves_no_start_out():
    """1.5 mm above the margin of the vise, and only rapids run, which are not rounded."""
    machine = mill(setups=(Setup("", (VISE,)),), corner="blend", tolerance=2.0)
    assert refused(checked("G53 G0 Z-85\n", machine, 125.0, 70.0, -76.5), "crosses-keep-out")


def test_a_rounded_corner_that_passes_inside_is_met():
    """0.5 mm beside the post all the way, and 5 mm of tolerance cut its corner by more than that."""
    tall = post((100.0, 50.0), (150.0, 100.0), (-130.0, -50.0))
    lines = "G64\nG91\nG1 X-20.5 F3000\nY40.5\nG90\n"
    start = (120.0, 49.5, -80.0)
    assert refused(checked(lines, bare(tall, corner="blend", tolerance=5.0), *start), "crosses-keep-out")
    assert not refused(checked(lines, bare(tall), *start))


def test_a_box_on_the_frame_has_an_underside_that_a_raise_may_meet():
    by_head = tuple(
        type(axis)(axis.name, axis.travel, axis.rapid, axis.acceleration, carried_by="head") for axis in MILL.axes
    )
    duct = Box("Duct", (50.0, 0.0, -20.0), (150.0, 150.0, 0.0))
    for nose in (0.0, 5.0):
        machine = bare(axes=by_head, enclosures=(duct,), nose_radius=nose)
        assert refused(checked("G53 G0 Z0\n", machine), "enters-enclosure")
        assert refused(checked("G53 G0 Z0\n", machine, 100.0, 70.0, -60.0), "enters-enclosure")
    assert not refused(checked("G53 G0 Z0\n", machine, 20.0, 70.0, -60.0))


def test_a_tool_that_stood_below_a_box_meets_it_where_the_nose_above_it_clears_it():
    """The nose is raised above the duct, beside it, and crosses; the 40 mm of tool below it do not clear it."""
    by_head = tuple(
        type(axis)(axis.name, axis.travel, axis.rapid, axis.acceleration, carried_by="head") for axis in MILL.axes
    )
    duct = Box("Duct", (100.0, 40.0, -44.0), (140.0, 100.0, -30.0))
    machine = bare(axes=by_head, enclosures=(duct,), nose_radius=10.0, tool_stick_out=40.0, tool_radius=3.0)
    lines = "G53 G0 Z-5\nG53 G0 X120\n"
    for z in (-60.0, -44.0):
        (found,) = refused(checked(lines, machine, 60.0, 70.0, z), "enters-enclosure")
        assert found.line == 3
    assert not refused(checked(lines, machine, 110.0, 70.0, -60.0))  # nothing can have stood under the duct
    safe = checked(lines, machine).safe_start
    assert safe is not None
    assert safe.box["y"].low >= 103.0


def test_the_end_of_an_arc_off_its_circle_counts_as_written():
    """5.0025 mm from the centre, which the standard lets pass under G20 (NISTIR 6556, 3.5.3.2): Y 150.005."""
    lines = "G53 G0 X100 Y140\nG91 G20\nG3 X0 Y[10.005/25.4] I0 J[5/25.4] F10\nG90 G21\n"
    (found,) = refused(checked(lines, bare(), 0.0, 0.0, 0.0), "beyond-travel")
    assert found.line == 4
    assert found.witness.at["y"] == pytest.approx(150.005)


def test_a_helix_of_unknown_shape_is_looked_at_on_all_its_heights():
    tall = post((105.0, 45.0), (115.0, 60.0), (-130.0, -50.0))
    setups = (Setup("", (tall,), {"G54": at(x=(120.0, 121.0), y=0.0, z=0.0)}),)
    lines = "G53 G0 Z0\nG53 G0 X100 Y70\nG3 X0 Y70 Z-40 R11 F300\nG53 G0 Z0\nG80\n"
    (found,) = refused(checked(lines, bare(setups=setups)), "crosses-keep-out")
    assert "may meet" in found.message


@pytest.mark.parametrize(
    "changes", [{"tool_stick_out": 0.0}, {"tool_radius": 0.0}, {"tool_stick_out": 0.0, "tool_radius": 0.0}]
)
def test_a_body_without_length_or_thickness_meets_what_it_passes_through(changes):
    machine = bare(VISE, nose_radius=0.0, **changes)
    assert refused(checked("G53 G0 X125 Y70\n", machine, 20.0, 20.0, -88.0), "crosses-keep-out")


def test_a_holder_without_length_is_a_disc():
    machine = bare(VISE, nose_radius=0.0, tool_stick_out=0.0, tool_radius=0.0, holder_radius=10.0)
    assert refused(checked("G53 G0 X72\n", machine, 20.0, 70.0, -88.0), "crosses-keep-out")
    assert not refused(checked("G53 G0 X70\n", machine, 20.0, 70.0, -88.0))


def test_a_cycle_does_not_move_z_first_from_above_its_r():
    """Nothing is refused, and the typical time is that from the middle of the starts, by itself."""
    lines = "G81 X10 Y10 Z-45 R-40 F300\nG80\n"
    report = checked(lines, mill(setups=(Setup("", (), {"G54": ZERO}),)))
    assert not refused(report)
    middle = checked(lines, report.machine, 130.0, 75.0, -45.0)
    assert report.plan.totals.seconds.typical == pytest.approx(middle.plan.totals.seconds.typical)


def test_what_only_the_hull_of_two_setups_makes_wrong_is_not_refused():
    setups = tuple(Setup(name, (), {"G54": at(x=x, y=0.0, z=0.0)}) for name, x in (("A", 60.0), ("B", 140.0)))
    report = checked("G53 G0 Z0\nG53 G0 X100 Y70\nG38.2 X0 F100\nG80\n", bare(setups=setups))
    assert not refused(report)
    assert [move.kind for move in report.trace.moves] == ["rapid", "rapid", "probe"]


def test_the_case_shown_after_a_pause_goes_as_far_as_the_step_says():
    report = checked("G91 G38.2 X-4 F100\nM0\nG0 X50\nG90\n", bare())
    (found,) = (each for each in refused(report, "beyond-travel") if each.line == 4)
    start, end = found.witness.start["x"], found.witness.at["x"]
    assert end == pytest.approx(310.0)
    assert 260.0 <= start <= 260.0  # only from the end of travel, and without a trip on the way, is X 310 reached


@pytest.mark.parametrize(
    "lines", ["#1=[#5221+10**308]\n#2=[#1+10**308]\n#3=[#2-#2]\nG53 G0 X#3\n", "#1=[#5221+10**12]\nG53 G0 X#1\n"]
)
def test_a_sum_that_is_too_large_is_no_number_and_nothing_is_proved_of_it(lines):
    """Where an origin is known within a range, sums were not looked at for their size."""
    machine = bare(setups=(Setup("", (), {"G54": at(x=(100.0, 110.0), y=0.0, z=0.0)}),))
    assert refused(checked(lines, machine))


FORKS = "".join(
    f"{plane}\n" + "".join(f"G81 {axis}-{v} R{v}\nG0 {axis}-{v}\n" for v in ("0.1", "0.2", "0.3", "0.4"))
    for plane, axis in (("G17", "Z"), ("G18", "Y"), ("G19", "X"))
)


def test_no_part_of_the_starts_is_forgotten_where_cycles_split_them_into_very_many():
    """Each R splits the starts along the axis of its cycle: 5 by 5 by 5 parts, and the last step goes out of travel."""
    lines = f"F300\nG91\n{FORKS}G0 X200\nG17\nG90\nG80\n"
    for box in ({}, {"x": Interval(50.0, 150.0), "y": Interval(30.0, 120.0), "z": Interval(-60.0, -20.0)}):
        report = examine(MODES + lines, bare(), SHEET, Question(start=box, seek_start=False))
        assert any(each.line == 31 for each in refused(report, "beyond-travel"))


@pytest.mark.parametrize("waits", ["M1", "M5", "G4 P0", "T1 M6", "M3 S0", "M1\nT1 M6\nM4 S0\nM5"])
def test_a_corner_is_rounded_where_what_stands_in_it_may_stop_nothing(waits):
    """With its switch off M1 does nothing, M5 changes nothing where the spindle stands, and no time is no wait.

    The tool that M6 changes to may be in the spindle, and a spindle switched on at no speed stands as it stood.
    """
    tall = post((100.0, 50.0), (150.0, 100.0), (-130.0, -20.0))
    machine = bare(tall, corner="blend", tolerance=20.0, tool_stick_out=15.0, tool_radius=0.0, nose_radius=0.0)
    lines = "F100\nM5\nG53 G0 Z0\nG53 G0 X90 Y20\nG53 G0 Z-60\nG1 X90 Y110\n{}G1 X170 Y110\nG80\n"
    assert refused(checked(lines.format(f"{waits}\n"), machine), "crosses-keep-out")
    for stops in ("M0", "G4 P1"):
        assert not refused(checked(lines.format(f"{stops}\n"), machine), "crosses-keep-out")


def test_no_start_is_offered_in_which_something_stands_inside_a_box():
    """From above -20 the holder, 30 mm long and wide, is inside the lamp at every X and Y: nothing can start there."""
    lamp = Box("Lamp", (200.0, 100.0, -20.0), (260.0, 150.0, 60.0))
    machine = bare(enclosures=(lamp,), holder_radius=40.0, holder_length=30.0, nose_radius=30.0)
    report = checked("G53 G0 Z-2\n", machine)
    assert refused(report, "enters-enclosure")
    assert report.safe_start.box is None
    (impossible,) = (
        each for each in checked("G53 G0 Z-2\n", machine, 20.0, 20.0, -10.0).assumptions if "inside" in each
    )
    assert impossible.startswith("the machine can stand there, although")


def test_coming_within_the_margin_is_not_called_meeting():
    """A tool of 2 mm radius at 20 mm from the post is 18 mm off it; at X 120 it is inside."""
    tall = post((100.0, 50.0), (150.0, 100.0), (-130.0, -50.0))
    near = bare(tall, keep_out_margin=25.0, nose_radius=0.0, tool_radius=2.0)
    (found,) = refused(checked("G53 G0 X80\n", near, 60.0, 70.0, -60.0), "crosses-keep-out")
    assert "would come within 18 mm of Post (the sheet asks for 25 mm)" in found.message
    (found,) = refused(checked("G53 G0 X120\n", near, 60.0, 70.0, -60.0), "crosses-keep-out")
    assert "would meet Post" in found.message


@pytest.mark.parametrize("between", ["G53 G0 X125\n", "G61\nG53 G1 X125\nG64\n"])
def test_moves_meet_in_a_corner_where_what_lies_between_them_may_have_no_length(between):
    """From X 125 it goes along Z and then along Y, 2 mm may be cut off the corner, and the vise is 0.1 mm away."""
    machine = mill(setups=(Setup("", (VISE,)),), corner="blend", tolerance=2.0, keep_out_margin=0.0, travel_margin=0.0)
    lines = f"F300\nG64\nG53 G1 Z-40\n{between}G53 G1 Y70\nG80\n"
    for side in (Interval(0.0, 260.0), Interval(124.9, 125.0), Interval(125.0, 125.0)):
        report = examine(MODES + lines, machine, SHEET, Question(start={"x": side}, seek_start=False))
        assert refused(report, "crosses-keep-out")
    away = examine(MODES + lines, machine, SHEET, Question(start={"x": Interval(10.0, 20.0)}, seek_start=False))
    assert not away.refused


def test_a_tool_that_stood_lower_meets_a_box_by_a_slanting_step_past_its_corner():
    """From 7.12 mm off the corner along both axes, 40 mm up and 5 mm nearer along both: less than 3 mm off."""
    by_head = tuple(
        type(axis)(axis.name, axis.travel, axis.rapid, axis.acceleration, carried_by="head") for axis in MILL.axes
    )
    duct = Box("Duct", (100.0, 40.0, -45.0), (140.0, 100.0, -30.0))
    machine = bare(axes=by_head, enclosures=(duct,), nose_radius=10.0, tool_stick_out=40.0, tool_radius=3.0)
    start = {"x": Interval(5.0, 260.0), "y": Interval(5.0, 150.0), "z": Interval(-65.0, -50.0)}
    for move in ("G1 F300 X-5 Y-5", "G0 X-5 Y-5", "G3 F300 X-5 Y-5 R300"):
        question = Question(start=start, seek_start=False)
        report = examine(f"{MODES}G91 G0 Z40\n{move}\nG90\nG80\n", machine, SHEET, question)
        assert refused(report, "enters-enclosure")


@pytest.mark.parametrize(
    "told", ["G53 G0 X100 M0 (MSG, HOME AT THE PANEL)\n", "(MSG, HOME AT THE PANEL)\nG53 G0 X100\nM0\n"]
)
def test_what_was_asked_for_before_a_move_is_still_asked_for_at_the_pause_after_it(told):
    """The message still stands there: after homing X is anywhere, and the step of 50 mm may leave its travel."""
    assert refused(checked(f"G53 G0 Z0\n{told}G91 G0 X50\nG90\nG80\n", bare()), "beyond-travel")
