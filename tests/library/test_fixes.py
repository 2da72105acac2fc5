"""Fixes: each helps against what it is for, and none is offered that would not be proved."""

from __future__ import annotations

import pytest
import tomlkit

from library import documents, fixes
from library.blocks import REGISTRY, Block, Parameter
from library.fixes import narrowed
from library.proving import prove_macro
from parser.proof.rules import RULES
from tests.library.benches import MILL, ROUTER, bench, controller, step

RAISE = step("raise")
STOP = step("spindle-off")


def own(*lines):
    return step("own-lines", lines="\n".join(lines))


def text(*steps, **header):
    return tomlkit.dumps({"format": "clickstop-macro/1", "name": "Trial", **header, "step": list(steps)})


def offered(document, on=None):
    """The fixes of a macro, by rule and title."""
    on = on or bench()
    proved = prove_macro(documents.parse("macro", document), on)
    found = fixes.find(document, on, proved)
    return {(proved.report.findings[each.finding].rule, each.title): each for each in found}


def rules(proved):
    return {each.rule for each in proved.report.findings if each.severity != "note"}


def only(document, rule, on=None):
    """The one fix that is offered for the findings of a rule."""
    (found,) = {each.title: each for (of, _), each in offered(document, on).items() if of == rule}.values()
    return found


def blocks(fixed):
    return [each.block for each in fixed.proved.macro.step]


def new(changes):
    return [change.text for change in changes if change.mark == "+"]


class TestPuttingARaiseFirst:
    DOCUMENT = text(STOP, step("centre-table"))

    def test_it_fixes_a_crossing_of_a_keep_out(self):
        fixed = only(self.DOCUMENT, "crosses-keep-out")
        assert fixed.title == "put a raise first"
        assert blocks(fixed) == ["raise", "spindle-off", "centre-table"]
        assert fixed.proved.report.verdict == "proved"
        assert "crosses-keep-out" not in rules(fixed.proved)

    def test_it_fixes_it_too_in_a_macro_that_leaves_a_mode_changed(self):
        fixed = only(text(STOP, own("G21 G90", "G53 G0 X120 Y70", "G18")), "crosses-keep-out")
        assert fixed.title == "put a raise first"
        assert "mode-left-changed" in rules(fixed.proved)

    def test_it_fixes_a_crossing_that_is_not_raised(self):
        assert blocks(only(self.DOCUMENT, "crossing-not-raised"))[0] == "raise"

    def test_it_shows_the_steps_and_the_lines_that_come(self):
        fixed = only(self.DOCUMENT, "crosses-keep-out")
        assert new(fixed.steps) == ["Raise to safe.z at rapid"]
        assert "G53 G0 Z-2" in new(fixed.lines)
        assert fixed.step == 1

    def test_it_keeps_comments(self):
        document = self.DOCUMENT.replace('[[step]]\nblock = "centre', '# to the middle\n[[step]]\nblock = "centre')
        assert "# to the middle" in only(document, "crosses-keep-out").text

    def test_where_an_earlier_step_goes_down_again_it_is_put_right_before_the_one_that_crosses(self):
        down = step("go-to", z="-50 mm")
        corner = step("go-to", x="20 mm", y="15 mm")
        document = text(STOP, RAISE, corner, down, step("centre-table"))
        fixed = only(document, "crosses-keep-out")
        assert fixed.title == "put a raise before step 5"
        assert blocks(fixed) == ["spindle-off", "raise", "go-to", "go-to", "raise", "centre-table"]

    def test_it_is_not_offered_where_the_safe_height_is_not_high_enough(self):
        found = offered(self.DOCUMENT, bench(MILL.replace("z = -2.0", "z = -60.0")))
        assert "crosses-keep-out" not in {rule for rule, _ in found}

    def test_it_is_not_offered_where_the_macro_goes_down_into_something(self):
        document = text(STOP, RAISE, step("centre-table"), step("go-to", z="-60 mm"))
        assert offered(document) == {}

    def test_it_is_not_offered_for_travel(self):
        document = text(STOP, RAISE, step("go-to", x="travel.x.max + 1 mm"))
        assert [rule for rule, _ in offered(document)] == []


class TestRestoringModes:
    def test_the_words_are_added_to_the_last_hand_written_lines(self):
        fixed = only(text(own("G18"), own("G21 G91", "G0 Z0")), "mode-left-changed")
        assert fixed.title == "put G17 G90 back at the end"
        assert fixed.proved.macro.step[1].values["lines"] == "G21 G91\nG0 Z0\nG17 G90"
        assert fixed.step == 2
        assert "mode-left-changed" not in rules(fixed.proved)

    def test_they_come_before_a_line_that_ends_the_macro(self):
        fixed = only(text(own("G20", "M2")), "mode-left-changed")
        assert fixed.proved.macro.step[0].values["lines"] == "G20\nG21\nM2"

    @pytest.mark.parametrize("lines", [("G18",), ("G21 G90", "G53 G0 X120 Y70", "G18")])
    def test_that_a_hand_may_let_go_before_they_come_is_no_worse_than_that_they_never_came(self, lines):
        fixed = only(text(STOP, own(*lines)), "mode-left-changed")
        assert fixed.title == "put G17 back at the end"
        assert "left-if-interrupted" in rules(fixed.proved)
        assert "mode-left-changed" not in rules(fixed.proved)

    def test_it_is_not_offered_where_nothing_is_left_changed(self):
        assert offered(text(own("G20", "G21"))) == {}

    def test_it_is_not_offered_where_the_words_would_make_a_line_too_long(self):
        on = bench(controller=controller(line_limit="14", percent="false"))
        assert offered(text(own("G18 G20", "G91 G93"), name="T"), on) == {}


class TestAddingTheFeed:
    def test_a_hand_written_line_gets_the_rate_of_a_first_run(self):
        # controller sheet: first_run_rate = 500 mm/min
        fixed = only(text(own("G21 G90 G94", "G53 G1 Z-2", "G80")), "feed-not-set")
        assert fixed.title == "add F500"
        assert fixed.proved.macro.step[0].values["lines"] == "G21 G90 G94\nG53 G1 Z-2 F500\nG80"
        assert "feed-not-set" not in rules(fixed.proved)

    def test_in_inches_it_is_in_inches(self):
        fixed = only(text(own("G20 G90 G94", "G53 G1 Z-0.1", "G21 G80")), "feed-not-set")
        assert fixed.title == "add F19.685"  # 500 / 25.4

    def test_it_comes_before_a_comment(self):
        lines = own("G21 G90 G94", "G53 G1 Z-2 (slowly)", "G80")
        assert "G53 G1 Z-2 F500 (slowly)" in new(only(text(lines), "feed-not-set").lines)

    def test_it_is_no_faster_than_the_axis(self):
        slow = MILL.replace("rapid = 1200.0", "rapid = 90.0")
        fixed = only(text(own("G21 G90 G94", "G53 G1 Z-2", "G80")), "feed-not-set", bench(slow))
        assert fixed.title == "add F90"

    def test_it_is_not_offered_where_the_units_are_not_known(self):
        assert [rule for rule, _ in offered(text(own("G90 G94", "G53 G1 Z-2", "G80")))] == []

    def test_it_is_not_offered_where_the_line_says_f0(self):
        assert offered(text(own("G21 G90 G94", "G53 G1 Z-2 F0", "G80"))) == {}

    def test_a_block_gets_it_as_its_feed(self, monkeypatch):
        def write(values, on, out):
            rate = values.maybe("feed")
            out.as_given("G21 G90 G94")
            out.as_given("G53 G1 Z-2" + (f" F{rate:g}" if rate else ""))
            out.as_given("G80")

        feed = Parameter("feed", "rate", "", "How fast.", blank="as it was")
        monkeypatch.setitem(
            REGISTRY, "slide", Block("slide", "Slide", "Slide at {feed}", "", "Moves", 1, write, (feed,))
        )
        fixed = only(text(step("slide")), "feed-not-set")
        assert fixed.title == "feed at 500 mm/min"
        assert fixed.proved.macro.step[0].values == {"feed": "500 mm/min"}
        assert new(fixed.steps) == ["Slide at 500 mm/min"]


class TestStoppingTheSpindle:
    def test_it_is_stopped_first(self):
        fixed = only(text(RAISE, step("park")), "moves-with-spindle-on")
        assert fixed.title == "stop the spindle and wait first"
        assert blocks(fixed) == ["spindle-off", "raise", "park"]
        assert new(fixed.lines) == ["M5", "G4 P5"]  # run_down of the sheet

    def test_where_the_macro_starts_it_itself_it_is_stopped_before_the_crossing(self):
        fixed = only(text(RAISE, own("M3 S500", "G4 P1"), step("park")), "moves-with-spindle-on")
        assert blocks(fixed) == ["raise", "own-lines", "spindle-off", "park"]

    def test_it_is_not_offered_where_the_operator_switches_the_spindle(self):
        assert offered(text(RAISE, step("park")), bench(ROUTER)) == {}


class TestWhatIsOffered:
    def test_nothing_for_a_macro_that_is_proved(self):
        assert offered(text(STOP, RAISE, step("park"))) == {}

    def test_nothing_while_a_step_cannot_be_written(self):
        assert offered(text(step("centre-table"), step("raise", to="nowhere.z"))) == {}

    def test_one_for_each_of_two_findings(self):
        found = offered(text(step("centre-table")))
        assert {title for _, title in found} == {"put a raise first", "stop the spindle and wait first"}

    def test_one_may_leave_other_findings_standing(self):
        fixed = only(text(step("centre-table")), "crosses-keep-out")
        assert "moves-with-spindle-on" in rules(fixed.proved)

    def test_nothing_that_fixes_a_finding_and_brings_another(self, monkeypatch):
        def leave_the_plane(case):
            yield fixes.Candidate("worse", text(STOP, RAISE, step("park"), own("G18")), 1)

        fixer = fixes.Fixer("worse", frozenset({"moves-with-spindle-on"}), leave_the_plane)
        monkeypatch.setattr(fixes, "FIXERS", (fixer,))
        assert offered(text(RAISE, step("park"))) == {}

    def test_nothing_that_only_shifts_the_finding(self, monkeypatch):
        def wait(case):
            yield fixes.Candidate("wait", text(step("dwell", time="1 s"), RAISE, step("park")), 1, inserted=True)

        fixer = fixes.Fixer("wait", frozenset({"moves-with-spindle-on"}), wait)
        monkeypatch.setattr(fixes, "FIXERS", (fixer,))
        assert offered(text(RAISE, step("park"))) == {}

    @pytest.mark.parametrize("fixer", fixes.FIXERS, ids=lambda fixer: fixer.id)
    def test_every_fixer_is_for_rules_that_exist(self, fixer):
        assert fixer.rules <= set(RULES)


class TestTheStartCondition:
    def condition(self, document, on=None):
        on = on or bench()
        return fixes.start_condition(document, on, prove_macro(documents.parse("macro", document), on))

    def test_it_is_the_safe_start_and_proved(self):
        found = self.condition(text(STOP, step("centre-table")))
        assert found.proved.macro.start.startswith("z >= -")
        assert found.proved.report.verdict == "conditional"
        assert "the pendant cannot check this" in found.proved.report.sentence

    def test_it_shows_what_the_start_was_and_will_be(self):
        found = self.condition(text(STOP, step("centre-table")))
        assert [change.text for change in found.steps if change.mark == "-"] == ["Starts from: anywhere"]
        assert new(found.steps) == [f"Starts from: {found.proved.macro.start}"]

    def test_it_is_added_to_the_condition_that_is_there(self):
        found = self.condition(text(STOP, step("centre-table"), start="x >= 10 mm"))
        assert found.proved.macro.start.startswith("x >= 10 mm and z >= -")
        assert not found.proved.report.refused

    def test_there_is_none_where_nothing_is_refused(self):
        assert self.condition(text(STOP, RAISE, step("park"))) is None

    def test_there_is_none_where_no_start_helps(self):
        assert self.condition(text(RAISE, step("go-to", x="travel.x.max + 1 mm"))) is None

    @pytest.mark.parametrize(
        ("start", "condition", "together"),
        [
            ("anywhere", "z >= -2 mm", "z >= -2 mm"),
            ("", "z >= -2 mm", "z >= -2 mm"),
            ("z >= -60 mm", "z >= -2 mm", "z >= -2 mm"),
            ("x <= 9 mm AND z > safe.z - 9 mm", "z >= -2 mm", "x <= 9 mm and z >= -2 mm"),
            ("z <= -1 mm", "z >= -2 mm and x <= 5 mm", "z <= -1 mm and z >= -2 mm and x <= 5 mm"),
        ],
    )
    def test_a_condition_takes_the_place_of_what_it_says_more_strictly(self, start, condition, together):
        assert narrowed(start, condition) == together
