"""One macro after another: what the first leaves, and whether the proof of the second still stands."""

from __future__ import annotations

import pytest

from parser.findings import Severity
from parser.machine import Interval, Origin, Setup, Tool
from parser.pipeline import examine
from parser.proof.left_behind import followed_both_ways
from parser.proof.sequences import breaches, runner
from parser.question import Question
from tests.parser.scene import VISE, controller, mill

SHOP = mill(stored={"G28": {"x": 10.0, "y": 10.0, "z": -2.0}})
WORK = "M5\nG21 G90 G54 G49\nG53 G0 Z-2\nG0 X0 Y0"
STORED_POINT = "M5\nG21 G90\nG53 G0 Z-2\nG28"
CROSSES = "G21 G90\nG53 G0 Z-2\nG53 G0 X10 Y10"
RAISE = "G21 G90\nG53 G0 Z-2"
CALLS = {"extra_words": {"M98": "call"}}
OPEN = ("mode-assumed", "feed-not-set")
HARMLESS = (WORK, STORED_POINT, CROSSES, RAISE, "M5\nG4 P1", "G20 G91\nG0 Z0\nG21 G90", "#100=5")


def ran(name, text, machine=SHOP, **more):
    changes = {"percent": False, **more.pop("on", {})}
    report = examine(text + "\n", machine, controller(**changes), Question(**more))
    assert not report.refused, [str(each) for each in report.findings if each.severity is Severity.REFUSE]
    return runner(name, report)


def between(first, second, machine=SHOP, **more):
    """What is found where ``second`` follows ``first``, itself left aside."""
    found = breaches([ran("First", first, machine, **more), ran("Second", second, machine, **more)])
    return [each for each in found if each.case == "First, then Second"]


def only(findings):
    (finding,) = findings
    return finding


@pytest.mark.parametrize("first", HARMLESS)
@pytest.mark.parametrize("second", HARMLESS)
def test_macros_that_set_what_they_use_and_change_nothing_follow_each_other(first, second):
    assert between(first, second) == []


class TestWorkOrigins:
    def test_an_origin_put_elsewhere_refuses_the_pair_and_says_how(self):
        finding = only(between("G21\nG10 L2 P1 X10", WORK))
        assert finding.severity is Severity.REFUSE
        assert finding.message == (
            "Line 2 of First puts the G54 origin in X at 10 mm, "
            "and Second is proved for where the sheet has it (its line 4)."
        )

    def test_it_says_where_the_origin_is_closely_enough_to_tell_the_two_apart(self):
        assert "in X at 124.9999 mm" in only(between("G21\nG10 L2 P1 X124.9999", WORK)).message

    def test_the_axis_that_is_changed_has_to_be_one_that_is_used(self):
        assert between("G21\nG10 L2 P1 Z-10", WORK) == []

    def test_the_system_that_is_changed_has_to_be_the_one_that_is_used(self):
        assert between("G21\nG10 L2 P2 X10", WORK) == []

    def test_an_origin_put_where_the_sheet_has_it_changes_nothing(self):
        assert between("G21\nG10 L2 P1 X125", WORK) == []

    @pytest.mark.parametrize(("at", "stands"), [(120, True), (130, True), (130.001, False), (119.999, False)])
    def test_an_origin_within_the_range_of_the_sheet_was_proved(self, at, stands):
        origin = Origin({"x": Interval(120, 130), "y": Interval(70, 70)})
        machine = mill(setups=(Setup("", (VISE,), {"G54": origin}),))
        assert (between(f"G21\nG10 L2 P1 X{at}", WORK, machine) == []) is stands

    @pytest.mark.parametrize(
        "second",
        [
            "G53 G0 Z-2\nG53 G0 X[#5221+50]",
            "G53 G0 Z-2\nG10 L2 P2 X[#5221]",
            "G53 G0 Z-2\nG10 L2 P2 X[#5221]\nG54\nG0 X50",
        ],
    )
    def test_reading_where_an_origin_is_relies_on_it_too(self, second):
        """Parameters 5221 and following hold the origins (NISTIR 6556, 3.2.1)."""
        known = "G17 G21 G40 G49 G54 G80 G90 G94\n"
        first = f"{known}G10 L2 P1 X240"
        (finding,) = [each for each in between(first, known + second) if "X at 240 mm" in each.message]
        assert finding.severity is Severity.REFUSE

    def test_lines_after_such_a_reading_rely_on_no_offset_as_any_others_do(self):
        known = "G17 G21 G40 G49 G54 G80 G90 G94\nG53 G0 Z-2\n"
        second = f"{known}G10 L2 P2 X[#5221]\nG54\nG0 X50"
        assert "leaves a G92 offset" in str(between(f"{known}G53 G0 X100\nG92 X10", second))

    def test_reading_where_a_probe_tripped_relies_on_the_offset_there_is_none_of(self):
        """A probe is told in work coordinates (3.5.9), so an offset of 35 mm sends the move that uses it 35 mm off."""
        known = "G17 G21 G40 G49 G54 G80 G90 G94\nG53 G0 Z-2\n"
        second = f"{known}G91\nG38.2 Z-10 F50\nG90\nG53 G0 Z-2\nG53 G0 X[#5061+125]"
        start = {"x": Interval(1.0, 200.0)}
        open_table = mill(setups=(Setup("", (), SHOP.setups[0].origins),))
        first = ran("First", f"{known}G53 G0 X100\nG92 X10", open_table)
        found = breaches([first, ran("Second", second, open_table, start=start)])
        assert "leaves a G92 offset in force in X" in str([each for each in found if each.case == "First, then Second"])

    def test_a_stored_point_is_not_blamed_where_only_an_origin_is_read(self):
        known = "G17 G21 G40 G49 G54 G80 G90 G94\n"
        assert between("G21\n#5161=20", f"{known}G53 G0 Z-2\nG53 G0 X[#5221+50]") == []

    @pytest.mark.parametrize(("at", "stands"), [(0.5, True), (259.5, True), (0, False), (260, False)])
    def test_an_origin_the_sheet_does_not_give_was_proved_anywhere_in_travel_less_its_margins(self, at, stands):
        machine = mill(setups=(Setup("", (VISE,), {}),))
        again = "M5\nG21 G90 G54 G49\nG53 G0 Z-2\nG0 X0\nG53 G0 X100"
        report = examine(again + "\n", machine, controller(percent=False), Question(accepted={"beyond-travel": "no"}))
        first, second = ran("First", f"G21\nG10 L2 P1 X{at}", machine), runner("Second", report)
        assert ([each for each in breaches([first, second]) if each.case == "First, then Second"] == []) is stands

    @pytest.mark.parametrize(
        ("low", "high", "severity"),
        [(-60.0, -20.0, "caution"), (-38.0, -38.0, "caution"), (-90.0, 0.0, None), (-5.0, 0.0, "refuse")],
    )
    def test_an_origin_that_is_probed_is_judged_by_all_the_places_where_the_probe_may_trip(self, low, high, severity):
        origin = Origin({"x": Interval(125, 125), "y": Interval(70, 70), "z": Interval(low, high)})
        machine = mill(setups=(Setup("", (), {"G55": origin}),))
        probe = "M5\nG21 G90 G94 G49 G54\nG53 G0 Z-10\nG10 L2 P1 Z-10\nG38.2 Z-30 F50\nG80\nG10 L2 P2 Z[#5063-10]"
        goes = examine("M5\nG21 G90 G55 G49\nG53 G0 Z-2\nG0 Z0\nG53 G0 Z-2\n", machine, controller(percent=False))
        sequence = breaches([ran("First", probe, machine), runner("Second", goes)])
        found = [each for each in sequence if each.case == "First, then Second"]
        assert [str(each.severity) for each in found] == ([severity] if severity else [])

    def test_it_has_to_hold_in_every_setup(self):
        here, there = (Origin({"x": Interval(at, at), "y": Interval(70, 70)}) for at in (125.0, 100.0))
        machine = mill(setups=(Setup("A", (VISE,), {"G54": here}), Setup("B", (VISE,), {"G54": there})))
        assert len(between("G21\nG10 L2 P1 X125", WORK, machine)) == 1

    def test_a_macro_may_break_its_own_proof_when_it_is_fired_twice(self):
        finding = only(breaches([ran("First", WORK + "\nG10 L2 P1 X10")]))
        assert finding.case == "First, and again"
        assert finding.message.startswith("Line 5 of First puts the G54 origin in X at 10 mm")

    def test_an_origin_that_is_put_back_is_a_caution_for_whoever_lets_go_in_between(self):
        finding = only(between("G21\nG10 L2 P1 X10\nG4 P1\nG10 L2 P1 X125", WORK))
        assert finding.severity is Severity.CAUTION
        assert finding.message.startswith("Where the hand lets go after line 2 or 3, line 2 of First")

    def test_lines_that_the_block_delete_switch_skips_may_be_what_puts_it_back(self):
        finding = only(between("G21\nG10 L2 P1 X10\n/G10 L2 P1 X125", WORK))
        assert finding.severity is Severity.REFUSE


class TestOffsetsAndStoredPoints:
    def test_a_g92_offset_left_in_force_refuses_whoever_is_proved_for_none(self):
        finding = only(between("G21\nG92 X0", WORK))
        assert finding.severity is Severity.REFUSE
        assert "leaves a G92 offset in force in X, and Second is proved only where there is none" in finding.message

    def test_the_offset_has_to_be_in_an_axis_that_is_used(self):
        assert between("G21\nG92 Z0", WORK) == []

    def test_an_offset_taken_off_and_another_put_on_is_the_other(self):
        assert between("G21\nG92 X0\nG92.1\nG92 Z0", WORK)[0].severity is Severity.CAUTION

    def test_whoever_takes_the_offset_off_first_is_safe(self):
        assert between("G21\nG92 X0", WORK.replace("G49", "G49\nG92.1")) == []

    @pytest.mark.parametrize("off", ["G92.1", "G92.2", "M2"])  # NISTIR 6556, 3.5.18 and 3.6.1
    def test_an_offset_taken_off_again_matters_only_where_the_hand_lets_go(self, off):
        finding = only(between(f"G21\nG92 X0\n{off}", WORK))
        assert finding.severity is Severity.CAUTION
        assert "lets go after line 2" in finding.message

    def test_machine_coordinates_do_not_care(self):
        assert between("G21\nG92 X0", RAISE) == []

    def test_a_stored_point_changed_refuses_whoever_goes_to_it(self):
        finding = only(between("G21\n#5161=20", STORED_POINT))  # NISTIR 6556, 3.2.1
        assert finding.severity is Severity.REFUSE
        assert "changes the stored point of G28" in finding.message

    def test_the_other_stored_point_is_another(self):
        assert between("G21\n#5181=20", STORED_POINT) == []


class TestSpindle:
    def test_a_spindle_left_turning_is_a_caution_for_whoever_crosses_the_table(self):
        finding = only(between("M3 S500", CROSSES))
        assert finding.severity is Severity.CAUTION
        assert "leaves the spindle turning, and Second crosses the table with it (its line 3)" in finding.message

    def test_whoever_stops_it_first_is_safe(self):
        assert between("M3 S500", "M5\n" + CROSSES) == []

    def test_raising_with_the_spindle_on_is_no_crossing(self):
        assert between("M3 S500", RAISE) == []

    def test_a_spindle_stopped_at_the_end_still_turns_where_the_hand_lets_go(self):
        finding = only(between("M3 S500\nG4 P2\nG4 P3\nM5", CROSSES))
        assert "lets go after any of lines 1 to 3" in finding.message


class TestModesAndParameters:
    UNITS_ASSUMED = "G90\nG53 G0 Z-2"

    def pair(self, first, second):
        runners = [ran("First", first), ran("Second", second, accepted={"mode-assumed": "the mill is always in mm"})]
        return [each for each in breaches(runners) if each.case == "First, then Second"]

    def test_a_mode_relied_on_for_a_written_reason_must_not_be_left_otherwise(self):
        finding = only(self.pair("G20\nG4 P1\nG21", self.UNITS_ASSUMED))
        assert finding.severity is Severity.CAUTION
        assert "lets go after line 1 or 2" in finding.message
        assert "leaves G20 in force, and Second counts on G21 as the units" in finding.message

    def test_other_modes_do_not_matter_to_it(self):
        assert self.pair("G18\nG4 P1\nG17", self.UNITS_ASSUMED) == []

    def test_a_parameter_read_for_a_written_reason_must_not_be_changed(self):
        finding = only(self.pair("#100=5", "G21 G90\nG53 G0 Z-2\nG4 P#100"))
        assert finding.severity is Severity.REFUSE
        assert "changes #100, and Second reads it without setting it" in finding.message

    def test_another_parameter_does_not_matter_to_it(self):
        assert self.pair("#101=5", "G21 G90\nG53 G0 Z-2\nG4 P#100") == []


class TestWhatAReasonLeavesOpen:
    """Refusals accepted with a reason: the macro relies on whatever the one before it has left."""

    FEEDS = "M5\nG21 G90 G94\nG53 G1 Z-2"
    LONE = "M5\nG21 G90 G94 G54 G49\nX0"
    PUTS_BACK = "M5\nG21 G90 G54 G49\nG92.3\nG53 G0 Z-2\nG0 X0"
    READS = "M5\nG21 G90\nG53 G0 Z-2\nG53 G0 X#5211"

    def pair(self, first, second, **on):
        runners = [
            ran("First", first, on=on),
            ran("Second", second, on=on, accepted=dict.fromkeys(OPEN, "so far it was so")),
        ]
        return [each for each in breaches(runners) if each.case == "First, then Second"]

    @pytest.mark.parametrize(
        ("first", "left"),
        [("G21 G94\nF5000", "F5000"), ("G20 G94\nF10\nG21", "F10 under G20"), ("G21 G94\nF5000\nG90", "F5000")],
    )
    def test_a_feed_that_is_left_is_the_feed_of_whoever_gives_none(self, first, left):
        finding = only(self.pair(first, self.FEEDS))
        assert finding.severity is Severity.REFUSE
        assert finding.message == (
            f"Line 2 of First leaves {left} in force, and Second moves at whatever feed is in force (its line 3)."
        )
        assert finding.remedy == "Put F on the line of the move in Second."

    def test_a_macro_that_gives_no_feed_leaves_none(self):
        assert self.pair("G21 G90 G94\nG53 G0 Z-2", self.FEEDS) == []

    def test_inverse_time_leaves_no_feed_rate_behind(self):  # NISTIR 6556, 3.5.19
        told = self.pair("G21 G94\nF5000\nG93\nG94", self.FEEDS)
        assert [each.severity for each in told] == [Severity.CAUTION]

    def test_whoever_gives_its_own_feed_is_safe(self):
        assert self.pair("G21 G94\nF5000", self.FEEDS + " F100") == []

    def test_a_motion_mode_that_is_left_is_that_of_a_lone_axis_word(self):
        finding = only(self.pair("M5\nG21 G94 G90\nG53 G1 Z-2 F100", self.LONE))
        assert finding.severity is Severity.REFUSE
        assert finding.message == (
            "Line 3 of First leaves G1 in force, and Second moves in whatever motion mode is in force (its line 3)."
        )

    def test_one_that_is_taken_off_again_is_a_caution_for_whoever_lets_go(self):
        finding = only(self.pair("M5\nG21 G90\nG53 G0 Z-2\nG4 P1\nG80", self.LONE, resting=("G21", "G80", "G90")))
        assert finding.severity is Severity.CAUTION
        assert finding.message.startswith("Where the hand lets go after line 3 or 4, line 3 of First leaves G0")

    def test_a_motion_mode_that_the_controller_rests_in_is_the_one_counted_on(self):
        assert self.pair("M5\nG21 G90\nG53 G0 Z-2", self.LONE, resting=("G0", "G21")) == []
        assert len(self.pair("M5\nG21 G90 G94\nG53 G1 Z-2 F100", self.LONE, resting=("G0", "G21"))) == 1

    def test_whoever_writes_its_motion_mode_is_safe(self):
        assert self.pair("M5\nG21 G94 G90\nG53 G1 Z-2 F100", self.LONE.replace("X0", "G53 G0 Z-2\nX0")) == []

    def test_a_motion_mode_assumed_by_hand_is_the_one_counted_on(self):
        for first, stands in (("M5\nG21 G90\nG53 G0 Z-2", True), ("M5\nG21 G90 G94\nG53 G1 Z-2 F100", False)):
            second = ran("Second", "M5\nG21 G90 G54 G49\nG53 Z-2", assume="G0")
            told = [each for each in breaches([ran("First", first), second]) if each.case == "First, then Second"]
            assert (told == []) is stands

    @pytest.mark.parametrize("off", ["G92.2", "M2"])  # NISTIR 6556, 3.5.18 and 3.6.1: both keep the parameters
    @pytest.mark.parametrize(("second", "does"), [(PUTS_BACK, "puts back whatever"), (READS, "reads #5211")])
    def test_an_offset_taken_off_is_kept_for_whoever_takes_it_up(self, off, second, does):
        (finding,) = (each for each in self.pair(f"G21\nG92 X5\n{off}", second) if each.severity is Severity.REFUSE)
        assert finding.message.startswith(
            "Line 2 of First leaves an offset of its own for G92.3 to put back (parameters 5211 to 5216), "
            f"and Second {does}"
        )

    def test_after_an_offset_that_is_zeroed_none_is_put_back_as_was_proved(self):
        told = self.pair("G21\nG92 X5\nG92.1", self.PUTS_BACK)
        assert {each.severity for each in told} == {Severity.CAUTION}
        assert all("lets go after line 2" in each.message for each in told)
        assert self.pair("G92.1", self.PUTS_BACK) == []

    def test_one_that_is_zeroed_is_not_what_it_was_to_whoever_reads_it(self):
        assert "leaves nothing for G92.3 to put back" in only(self.pair("G92.1", self.READS)).message

    def test_taking_off_what_an_earlier_program_set_keeps_it(self):
        assert self.pair("G92.2", self.PUTS_BACK) == []

    def test_whoever_sets_its_own_offset_is_safe(self):
        second = self.PUTS_BACK.replace("G92.3", "G92.1\nG92 Y0\nG92.2\nG92.3")
        assert [each for each in self.pair("G21\nG92 X5\nG92.2", second) if "put back" in each.message] == []

    def test_a_call_may_change_all_of_it(self):
        for second, what in ((self.FEEDS, "the feed rate"), (self.LONE, "the motion mode")):
            (finding,) = (each for each in self.pair("M98", second, **CALLS) if "calls another" in each.message)
            assert what in finding.message
            assert finding.severity is Severity.CAUTION

    def test_what_is_so_at_the_end_is_not_said_of_the_lines_before_it_as_well(self):
        told = self.pair("G21 G94\nF5000\nF200\nF5000", self.FEEDS)
        assert sorted(each.message.split(", and")[0] for each in told) == [
            "Line 4 of First leaves F5000 in force",
            "Where the hand lets go after line 3, line 3 of First leaves F200 in force",
        ]


class TestCalls:
    def test_a_called_program_may_change_what_another_relies_on(self):
        finding = only(between("M98", WORK, on=CALLS))
        assert finding.severity is Severity.CAUTION
        assert finding.message.endswith("the G54 origin and no G92 offset.")

    def test_it_cannot_hurt_whoever_relies_on_nothing(self):
        assert between("M98", RAISE, on=CALLS) == []


class TestStartConditions:
    def pair(self, first):
        second = ran("Second", CROSSES, start={"z": Interval(-2.0, 0.0)}, condition="z >= -2 mm")
        return [each for each in breaches([ran("First", first), second]) if each.case == "First, then Second"]

    def test_a_macro_that_ends_outside_the_condition_of_the_next_is_a_caution(self):
        finding = only(self.pair("M5\nG21 G90\nG53 G0 Z-2\nG53 G0 X20 Y20\nG53 G0 Z-10"))
        assert finding.severity is Severity.CAUTION
        assert "The machine then stands at Z -10 mm" in finding.message

    def test_a_macro_that_ends_inside_it_is_none(self):
        assert self.pair(RAISE) == []

    def test_a_macro_that_leaves_the_axis_alone_is_none(self):
        assert self.pair("M5\nG4 P1") == []

    DIPS = "M5\nG21 G90\nG53 G0 Z-2\nG53 G0 X20 Y20\nG53 G0 Z-80\nG4 P1\nG53 G0 Z-2"

    def test_a_macro_let_go_of_outside_the_condition_is_a_caution_that_says_after_which_lines(self):
        finding = only(self.pair(self.DIPS))
        assert finding.severity is Severity.CAUTION
        assert finding.message == (
            "Where the hand lets go after line 5 or 6, the machine stands at Z -80 mm, "
            "and Second is proved only under its start condition."
        )

    def test_lines_that_are_not_in_a_row_are_named_each(self):
        text = self.DIPS + "\nG53 G0 Z-70\nG53 G0 Z-2"
        message = only(self.pair(text)).message
        assert "after any of lines 5 to 6 and 8, the machine stands at Z -80 to -70 mm" in message

    def test_many_of_them_are_summed_up(self):
        text = self.DIPS + "\nG53 G0 Z-70\nG53 G0 Z-2" * 5
        assert "after some of lines 5 to 16, the machine" in only(self.pair(text)).message

    def test_where_it_ends_is_not_said_of_the_lines_before_it_as_well(self):
        finding = only(self.pair("M5\nG21 G90\nG53 G0 Z-2\nG53 G0 X20 Y20\nG53 G0 Z-10\nG4 P1"))
        assert finding.message.startswith("The machine then stands at Z -10 mm")

    def test_an_end_outside_the_condition_and_a_lower_place_before_it_are_two_cautions(self):
        told = self.pair(self.DIPS + "\nG53 G0 Z-10")
        assert [each.message.split(",")[0] for each in told] == [
            "The machine then stands at Z -10 mm",
            "Where the hand lets go after line 5 or 6",
        ]

    @pytest.mark.parametrize("up", ["/G53 G0 Z-2", "G53 G0 Z-2\n/G53 G0 Z-80"])
    def test_block_delete_may_be_what_leaves_it_outside(self, up):
        told = self.pair(f"M5\nG21 G90\nG53 G0 Z-2\nG53 G0 X20 Y20\nG53 G0 Z-80\n{up}")
        assert told[0].message.startswith("The machine then stands at Z -80 mm")

    def test_a_macro_that_has_a_condition_may_be_let_go_of_outside_its_own(self):
        machine = {"start": {"z": Interval(-20.0, 0.0)}, "condition": "z >= -20 mm"}
        finding = only(
            breaches([ran("First", "M5\nG21 G90\nG53 G0 Z-80\nG53 G0 Z-2", mill(setups=(Setup("", ()),)), **machine)])
        )
        assert finding.case == "First, and again"
        assert "lets go after line 3, the machine stands at Z -80 mm" in finding.message

    def test_a_position_is_lost_from_the_line_that_loses_it(self):
        first = "M5\nG4 P1\n(MSG, HOME AT THE PANEL)\nM0\nG4 P1\nG21 G90\nG53 G0 Z-2"
        assert "after any of lines 4 to 6, the machine stands at Z -90 to 0 mm" in only(self.pair(first)).message


def test_a_start_that_was_given_by_hand_is_one_the_first_may_leave():
    """From X 100 a step of 100 ends at 200; run again it would end at 300, beyond the travel of 260."""
    bare = mill(setups=(Setup("", ()),))
    start = {"x": Interval(100.0, 100.0), "y": Interval(50.0, 50.0), "z": Interval(-5.0, -5.0)}
    step = ran("Step", "G21 G91\nG0 X100\nG90", bare, start=start)
    assert "X 200 mm, and Step is proved only from the start that was given" in breaches([step])[0].message


def test_words_that_somebody_has_said_hold_in_both_positions_of_the_switch():
    """The number of the tool belongs to its length, and a feed or an origin is said as well as a mode."""
    shop = mill(tools=(Tool(1, 40.0, 3.0),))
    said = "G94 G21 G43 H1 F100 G10 L2 P1 X10"
    first = ran("First", "G21 G90\nG53 G0 Z-2\n/G4 P1", shop, assume=said)
    assert breaches([first]) == []
    off, on = first.report.trace, list(followed_both_ways(first.report))[1]
    assert on.before == off.before
    assert (on.before.feed, on.before.modes[8]) == (100.0, "G43")
