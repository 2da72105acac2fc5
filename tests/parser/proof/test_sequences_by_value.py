"""One macro after another, where a value that the second uses was got from what the first has set.

Each pair is held against running it: the lines of both as one text go where the second alone does not.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from parser.findings import Severity
from parser.machine import Axis, Interval, Origin, Setup
from parser.pipeline import examine
from parser.proof.sequences import breaches, runner
from parser.question import Question
from tests.parser.scene import MILL, VISE, controller, mill

ZERO = Origin({axis: Interval(0.0, 0.0) for axis in "xyz"})
SHOP = mill(
    setups=(Setup("", (VISE,), {"G54": ZERO, "G59.3": ZERO}),),
    nose_radius=6.0,
    keep_out_margin=0.0,
    travel_margin=0.0,
    stored={"G28": {"x": 100.0, "y": 70.0, "z": 0.0}},
)
"""Work zero is machine zero; with the longest tool the vise is met below Z-40."""

KNOWN = "G17 G21 G40 G49 G54 G80 G90 G94 G98\nG53 G0 Z0\n"
ABOVE = f"{KNOWN}G53 G0 X100 Y70\n"
PROBE = "G91 G38.2 Z-5 F100\nG90\n"
OPEN = dict.fromkeys(("mode-assumed", "feed-not-set"), "so far it was so")


def ran(name, text, machine=SHOP, **more):
    report = examine(
        text + "\n", machine, controller(percent=False, **more.pop("on", {})), Question(seek_start=False, **more)
    )
    assert not report.refused, [str(each) for each in report.findings if each.severity is Severity.REFUSE]
    return runner(name, report)


def told(first, second, machine=SHOP, **more):
    """What is said of the second where it follows the first, from the gravest on."""
    runners = [ran("First", first, machine, **more), ran("Second", second, machine, **more)]
    found = [each for each in breaches(runners) if each.case == "First, then Second"]
    return [each.message for each in sorted(found, key=lambda each: list(Severity).index(each.severity))]


def hurts(first, second, machine=SHOP):
    """Whether the lines of both as one text are refused although those of either are not."""
    return examine(f"{first}\n{second}\n", machine, controller(percent=False), Question(seek_start=False)).refused


OFFSET_LEFT = (
    "Line {} of First leaves a G92 offset in force in {}, and Second is proved only where there is none (its line {})."
)
ORIGIN_LEFT = "Line 3 of First puts the {} origin in Z at {} mm, and Second is proved for where the sheet has it"


class TestWhatIsProbed:
    def test_a_probed_value_rests_on_the_offset_at_the_probe_though_g92_1_comes_before_it_is_read(self):
        first, second = f"{KNOWN}G92 Z-50", f"{ABOVE}{PROBE}G92.1\nG0 Z[#5063]\nG53 G0 Z0"
        assert told(first, second) == [OFFSET_LEFT.format(3, "Z", 4)]
        assert hurts(first, second)

    def test_a_probed_value_rests_on_the_origin_at_the_probe_though_g10_comes_before_it_is_read(self):
        first, second = f"{KNOWN}G10 L2 P1 Z50", f"{ABOVE}{PROBE}G10 L2 P1 Z0\nG0 Z[#5063]\nG53 G0 Z0"
        assert told(first, second) == [ORIGIN_LEFT.format("G54", 50) + " (its line 4)."]
        assert hurts(first, second)

    @pytest.mark.parametrize(
        "uses",
        [
            "G92.1\nG0 Z[#5063-2]",
            "#100=#5063\nG92.1\nG0 Z#100",
            "#100=[#5063-1]\n#101=#100\nG92.1\nG0 Z#101",
            "G92.1\nG91 G0 Z[#5063]\nG90",
            "G92.1\nG53 G0 Z[#5063]",
            "G92.1\nG10 L2 P2 Z[#5063]\nG55 G0 Z0\nG54",
            "#100=#5063\nG92.1\nG10 L2 P1 Z#100\nG0 Z0",
            "G92.1\nG92 Z#5063\nG0 Z0\nG92.1",
            "G92.1\n#5163=#5063\nG28",
            "G92.1\n#5163=[#5063-1]\n#100=#5163\nG0 Z#100",
            "G92.1\n#100=[#5061-105]\nG53 G0 Z-10\nG81 X100 Y70 Z-20 R#100 F100\nX101 Y70\nG80",
            "G92.1\n#100=[200-#5061]\nG17 G2 X100 Y80 R[#100-90] F100",
            "G92.1\nG17 G3 X100 Y80 I[#5061-100] J5 F100",
            "G92.1\n#[#5061+50]=-5\nG0 Z#150",
        ],
    )
    def test_the_offset_goes_with_the_value_wherever_it_goes(self, uses):
        axis, by = ("X", "X194") if "#5061" in uses else ("Z", "Z-50")
        if axis == "X":  # at machine X 100 the first calls 194 what is 100
            first, second = f"{KNOWN}G53 G0 X100 Y70\nG92 {by}", f"{ABOVE}{PROBE}G53 G0 Z0\n{uses}\nG53 G0 Z0"
        else:
            first, second = f"{KNOWN}G92 {by}", f"{ABOVE}{PROBE}{uses}\nG53 G0 Z0"
        accepted = {"accepted": OPEN} if "#[" in uses else {}
        assert f"leaves a G92 offset in force in {axis}" in str(told(first, second, **accepted))
        assert hurts(first, second)

    def test_in_any_work_system(self):
        first = f"{KNOWN}G10 L2 P9 Z50"
        second = f"{ABOVE}G59.3\n{PROBE}G10 L2 P9 Z0\nG0 Z#5063\nG53 G0 Z0"
        assert told(first, second) == [ORIGIN_LEFT.format("G59.3", 50) + " (its line 5)."]
        assert hurts(first, second)

    def test_whatever_is_calculated_from_it(self):
        first = f"{KNOWN}G10 L2 P1 Y-50"
        second = f"{ABOVE}{PROBE}G10 L2 P1 Y0\nG53 G0 Z0\nG0 Y[#5062*1]"
        assert "puts the G54 origin in Y at -50 mm" in str(told(first, second))
        second = f"{second.replace('Y[#5062*1]', 'Y[2*#5062]')}\nG0 Y70"
        assert hurts(first, second)

    def test_in_inches_as_well(self):
        second = f"{ABOVE}G20\nG91 G38.2 Z-0.2 F4\nG90\nG10 L2 P1 Z0\nG0 Z[#5063]\nG21\nG53 G0 Z0"
        assert "G54 origin in Z" in str(told(f"{KNOWN}G10 L2 P1 Z50", second))

    def test_a_rotary_axis_is_probed_where_it_stands(self):
        turning = replace(SHOP, axes=(*MILL.axes, Axis("a", Interval(-360.0, 360.0), 2400.0, 220.0)))
        turning = replace(turning, setups=(Setup("", (), {"G54": Origin(ZERO.axes | {"a": Interval(0.0, 0.0)})}),))
        first = f"{KNOWN}G53 G0 A0\nG92 A300"
        second = f"{ABOVE}G53 G0 A0\n{PROBE}G92.1\nG53 G0 A[#5064+100]\nG53 G0 Z0"
        assert told(first, second, turning) == [OFFSET_LEFT.format(4, "A", 5)]
        assert hurts(first, second, turning)

    def test_a_zero_probed_where_nobody_knew_it_rests_on_no_offset_and_on_no_origin(self):
        """#5063 is counted from the origin in #5223, which is added again."""
        bare = replace(SHOP, setups=(Setup("", (VISE,)),))
        second = f"{ABOVE}{PROBE}G10 L2 P2 Z[#5063+#5223]\nG55 G0 Z0\nG54\nG53 G0 Z0"
        assert told(f"{KNOWN}G92 Z-50", second, bare) == [OFFSET_LEFT.format(3, "Z", 4)]
        assert told(f"{KNOWN}G10 L2 P1 Z-60", second) == []

    def test_a_probe_that_nothing_uses_rests_on_nothing(self):
        second = f"{ABOVE}{PROBE}#100=#5063\nG53 G0 Z0"
        assert told(f"{KNOWN}G92 Z-50", second) == []
        assert told(f"{KNOWN}G10 L2 P1 Z50", second) == []

    def test_a_probe_after_the_offset_is_taken_off_rests_on_none(self):
        assert told(f"{KNOWN}G92 Z-50", f"{ABOVE}G92.1\n{PROBE}G0 Z[#5063]\nG53 G0 Z0") == []

    def test_a_tool_length_offset_that_the_second_sets_is_its_own(self):
        assert told(f"{KNOWN}G43 H0", f"{ABOVE}{PROBE}G0 Z[#5063]\nG53 G0 Z0") == []


class TestWhatG92Keeps:
    """G92 stores the offsets of all axes, those of axes it does not name as they are (NISTIR 6556, 3.5.18)."""

    FIRST = f"{KNOWN}G92 Z55"

    def test_an_offset_put_back_may_be_one_that_g92_kept_for_an_axis_it_did_not_name(self):
        second = f"{ABOVE}G92 X0\nG92.2\nG92.3\nG0 Z0\nG92.1\nG53 G0 Z0"
        assert told(self.FIRST, second) == [OFFSET_LEFT.format(3, "Z", 4)]
        assert hurts(self.FIRST, second)

    def test_so_may_what_is_read_of_it(self):
        second = f"{ABOVE}G92 X0\nG92.1\nG92 X0\n#100=#5213\nG92.1\nG0 Z#100\nG53 G0 Z0"
        assert told(self.FIRST, second) == [], "none is in force when it is kept"
        second = f"{ABOVE}G92 X0\n#100=#5213\nG92.1\nG0 Z#100\nG53 G0 Z0"
        assert told(self.FIRST, second) == [OFFSET_LEFT.format(3, "Z", 4)]
        assert hurts(self.FIRST, second)

    def test_it_is_none_where_the_macro_has_taken_it_off_first(self):
        assert told(self.FIRST, f"{ABOVE}G92.1\nG92 X0\nG92.2\nG92.3\nG0 Z0\nG92.1\nG53 G0 Z0") == []

    def test_it_is_told_of_whoever_lets_go_before_the_first_takes_it_off(self):
        second = f"{ABOVE}G92 X0\nG92.2\nG92.3\nG0 Z0\nG92.1\nG53 G0 Z0"
        (message,) = told(f"{self.FIRST}\nG92.1", second)
        assert message.startswith("Where the hand lets go after line 3, line 3 of First leaves a G92 offset")

    def test_an_origin_that_moves_meanwhile_takes_a_kept_offset_with_it(self):
        """What G92 named lies where the origin of the sheet had it, shifted by as much as the origin is."""
        second = f"{ABOVE}G92 Z0\nG92.2\nG10 L2 P1 Z-5\nG92.3\nG0 Z0\nG92.1\nG53 G0 Z0"
        first = f"{KNOWN}G10 L2 P1 Z-60"
        assert "puts the G54 origin in Z at -60 mm" in str(told(first, second))
        assert hurts(first, second)


class TestWhatIsReadInItsPlace:
    def test_an_origin_read_before_it_is_set(self):
        first, second = f"{KNOWN}G10 L2 P1 Z-60", f"{ABOVE}#100=#5223\nG10 L2 P1 Z0\nG0 Z#100\nG53 G0 Z0"
        assert told(first, second) == [ORIGIN_LEFT.format("G54", -60) + " (its line 4)."]
        assert hurts(first, second)

    def test_a_stored_point_read_before_it_is_set(self):
        first, second = f"{KNOWN}#5163=-60", f"{ABOVE}#100=#5163\n#5163=0\nG0 Z#100\nG53 G0 Z0"
        assert "changes the stored point of G28" in str(told(first, second))
        assert hurts(first, second)

    def test_what_is_read_and_taken_away_again_does_not_count(self):
        second = f"{ABOVE}#100=[#5223+5]\n#101=[#100-#5223]\nG53 G0 Z[0-#101]\nG53 G0 Z0"
        assert told(f"{KNOWN}G10 L2 P1 Z-60", second) == []

    def test_nor_does_what_is_only_read(self):
        assert told(f"{KNOWN}G10 L2 P1 Z-60", f"{ABOVE}#100=#5223") == []


class TestWhatAReasonLeavesOpen:
    """The second reads what it does not set, for a written reason."""

    def pair(self, first, second, **more):
        return told(first, second, accepted=OPEN, **more)

    @pytest.mark.parametrize(
        ("first", "second", "says"),
        [
            (f"{ABOVE}{PROBE}G53 G0 Z0", "G53 G0 Z[#5063]", "Line 4 of First changes #5063, and Second reads it"),
            (f"{KNOWN}G10 L2 P2 Z-60", "G53 G0 Z#5243", "changes #5243, and Second reads it"),
            (f"{KNOWN}#5183=-60", "G53 G0 Z#5183", "changes #5183, and Second reads it"),
            (f"{KNOWN}#100=5", "G53 G0 Z#100", "changes #100, and Second reads it"),
        ],
    )
    def test_what_it_reads_is_told_by_whatever_way_it_was_changed(self, first, second, says):
        assert says in str(self.pair(first, f"{ABOVE}{second}"))

    def test_the_number_of_the_work_system_is_the_work_system(self):
        assert "changes #5220, and Second reads it" in str(self.pair(f"{KNOWN}G55", "G21 G90\nG4 P#5220"))

    def test_a_point_named_in_an_unknown_system_is_taken_for_one_of_the_system_it_is_used_in(self):
        second = "G21 G90 G49\nG53 G0 Z0\nG53 G0 X100 Y70\nG92 X100\nG59.3\nG0 X100\nG92.1\nG54"
        assert "leaves G54 in force, and Second counts on G59.3 as the coordinate system" in str(
            self.pair(KNOWN, second)
        )
        assert "coordinate system" not in str(self.pair("G59.3", second))

    def test_a_cycle_that_needs_the_spindle_turning_counts_on_it(self):
        second = f"{KNOWN}G84 Z-5 R-1 F100\nG80"
        assert "leaves the spindle turning, and Second needs it so for G84 (its line 3)" in str(
            self.pair(f"{KNOWN}M3 S100", second)
        )

    def test_a_tool_that_is_named_is_the_one_that_is_changed_to(self):
        assert "leaves T7 named, and Second changes to whatever tool is named" in str(self.pair("T7", "M5\nM6"))

    def test_a_feed_of_nought_is_its_own(self):
        assert self.pair("G21 G94\nF500", "G21 G90 G94\nG53 G1 Z-2 F0") == []

    @pytest.mark.parametrize(
        ("loses", "uses", "says"),
        [
            ("F[#100]\n", "G53 G1 Z-2", "leaves a feed rate that is not known in force"),
            ("#101=[#100]\n", "G53 G0 Z#101", "changes #101"),
            ("#[#100]=1\n", "G53 G0 Z#101", "does something that is not known, which may change what Second"),
            ("G[#100]\n", "G0 Z0", "does something that is not known, which may change what Second"),
        ],
    )
    def test_what_the_first_may_have_set_is_not_what_it_was(self, loses, uses, says):
        assert says in str(self.pair(f"{KNOWN}{loses}", f"{ABOVE}{uses}"))

    def test_a_feed_that_is_set_after_one_that_was_lost_is_known(self):
        at_the_end = [
            each for each in self.pair(f"{KNOWN}F[#100]\nF500", f"{ABOVE}G53 G1 Z-2") if "lets go" not in each
        ]
        assert at_the_end == [
            "Line 4 of First leaves F500 in force, and Second moves at whatever feed is in force (its line 4)."
        ]


class TestWhatIsSaidByHand:
    """The second is examined with words in force beforehand, which the first leaves otherwise."""

    @pytest.mark.parametrize(
        ("said", "first", "second", "says"),
        [
            ("G21 G94 F100", "G21 G94\nF5000", "G21 G90\nG53 G1 Z-2", "leaves F5000 in force"),
            ("M5", "M3 S100", "G21 G90\nG53 G0 Z0\nG53 G0 X10", "leaves the spindle turning, and Second crosses"),
            ("G21 G90 G54 G49", "G59.3", "G53 G0 Z0\nG0 Z0", "counts on G54 as the coordinate system"),
            ("G21 G90 G54 G49", "G20\nG4 P1\nG21", "G53 G0 Z0", "counts on G21 as the units"),
            ("G54", "G59.3", "G21 G90 G49\nG53 G0 Z0\n#100=#5220\nG4 P#100", "counts on G54 as the coordinate system"),
            ("#100=5", "#100=6", "G21 G90\nG4 P#100", "changes #100"),
            (
                "G10 L2 P2 Z-5 G21",
                f"{KNOWN}G10 L2 P2 Z-60",
                f"{KNOWN}G53 G0 X100 Y70\nG55 G0 Z0\nG54",
                "G55 origin in Z",
            ),
            ("G92.1", f"{KNOWN}G92 Z55", f"{KNOWN}G0 Z0", "leaves a G92 offset in force in Z"),
            ("#5163=0 G21", f"{KNOWN}#5163=-5", f"{KNOWN}G53 G0 X100 Y70\nG28", "changes the stored point of G28"),
        ],
    )
    def test_what_was_said_is_counted_on(self, said, first, second, says):
        runners = [ran("First", first), ran("Second", second, assume=said)]
        assert says in str([each.message for each in breaches(runners) if each.case == "First, then Second"])

    def test_what_the_macro_sets_itself_is_not(self):
        second = ran("Second", "G21 G90 G94 G54 G49\nG53 G1 Z-2 F100\nM5\nG53 G0 X10", assume="G20 G91 M3 G55")
        runners = [ran("First", "G94\nM3 S100\nG59.3"), second]
        assert [each.message for each in breaches(runners) if each.case == "First, then Second"] == []
