"""Macros, hand-written texts and pendants as the workshop judges them."""

from __future__ import annotations

from dataclasses import replace

import pytest

import parser
from library import proving
from library.documents import DocumentError
from library.room import JOG, PROGRAM_FLASH, PROGRAM_RAM
from library.sequences import whole_pendant
from library.slots import check_pendant
from parser.machine import Interval
from parser.proof.rules import RULES
from tests.library.benches import MILL, PENDANT, ROUTER, bench, controller, macro, step

RAISE = step("raise")


def proved(*steps, on=None, **header):
    return proving.prove_macro(macro(*steps, **header), on or bench())


def refused(report):
    return [finding.rule for finding in report.findings if finding.severity == "refuse"]


# Macros


@pytest.mark.parametrize("machine", [MILL, ROUTER], ids=["mm", "inch"])
@pytest.mark.parametrize(
    "steps",
    [
        [RAISE],
        [RAISE, step("present-table")],
        [RAISE, step("present-table", side="left", across="keep")],
        [RAISE, step("centre-table")],
        [RAISE, step("park")],
        [RAISE, step("go-to", x="travel.x.middle", y="travel.y.min + 5 mm")],
        [RAISE, step("above-work")],
        [step("spindle-off"), step("coolant-off"), RAISE, step("dwell"), step("message"), step("pause")],
    ],
    ids=lambda steps: "+".join(step["block"] for step in steps),
)
def test_what_the_blocks_write_is_proved_from_anywhere(steps, machine):
    result = proved(*steps, on=bench(machine))
    assert (result.report.verdict, refused(result.report)) == ("proved", [])
    assert result.exportable


def test_the_path_of_homing_is_not_known():
    on = bench(controller="g28-homes")
    report = proved(step("home"), on=on).report
    told = [finding for finding in report.findings if finding.rule == "path-not-known"]
    assert [report.program.lines[finding.line - 1].text for finding in told] == ["G28 Z0", "G28"]


@pytest.mark.parametrize(
    ("home", "carried_by", "told"),
    [
        ("max", "table", "; the TABLE COMES FORWARD on it"),
        ("min", "table", "; the table goes away from you on it, and may come forward for a little at its end"),
        ("min", "head", "; the HEAD COMES FORWARD on it"),
        ("none", "table", "on a path that the controller chooses"),
    ],
)
def test_homing_says_which_way_the_table_comes(home, carried_by, told):
    """A table that carries Y comes to an operator at -y when machine Y rises, a head when it falls (ISO 841)."""
    y_axis = MILL.index("[axes.y]")
    y = MILL[y_axis:].replace('home = "min"', f'home = "{home}"', 1).replace('"table"', f'"{carried_by}"', 1)
    report = proved(step("home"), on=bench(MILL[:y_axis] + y)).report
    (finding,) = (finding for finding in report.findings if finding.rule == "path-not-known")
    assert finding.message.rstrip(".").endswith(told)
    forward = [finding.message for finding in report.findings if finding.rule == "moves-towards-operator"]
    assert bool(forward) == ("COMES FORWARD" in told)
    assert all("COMES FORWARD up to 150 mm on its way home" in message for message in forward)


def test_homing_by_a_line_that_is_no_rs_274_can_be_exported():
    """Design section 5: `homing` holds the lines that reference the machine, whatever they look like."""
    result = proved(step("home"), RAISE, on=bench(controller=controller(homing='["@seek all"]')))
    assert (result.report.verdict, refused(result.report)) == ("conditional", [])
    assert result.exportable


def test_findings_name_the_step_that_wrote_the_line():
    findings = proved(RAISE, step("go-to", x="travel.x.max + 1 mm")).report.findings
    assert next(finding.step for finding in findings if finding.rule == "beyond-travel") == 2


def test_a_macro_that_crosses_the_vise_is_not_exportable_and_says_why():
    result = proved(step("centre-table"))
    assert not result.exportable
    assert "crosses-keep-out (line 4)" in result.reason


def test_a_start_condition_narrows_the_starts():
    result = proved(step("centre-table"), start="z >= -2 mm")
    assert result.report.verdict == "conditional"
    assert result.report.start["z"] == Interval(-2.0, 0.0)


def test_a_bare_number_in_a_start_condition_is_in_the_units_of_the_macro():
    assert proved(RAISE, start="z >= -1", units="inch").report.start["z"].low == pytest.approx(-25.4)


def test_a_start_condition_that_cannot_be_read_is_a_problem():
    result = proved(RAISE, start="z above 3")
    assert [(problem.step, problem.parameter) for problem in result.problems] == [(None, "start")]
    assert not result.exportable


def test_a_given_start_takes_the_place_of_the_condition():
    given = {"z": Interval(-1.0, -1.0)}
    report = proving.prove_macro(macro(RAISE, start="z >= -50 mm"), bench(), start=given).report
    assert report.start["z"] == Interval(-1.0, -1.0)
    assert report.verdict == "proved"


def test_an_accepted_refusal_is_reported_as_such():
    entry = {"rule": "crosses-keep-out", "because": "the vise is low"}
    result = proved(step("centre-table"), accepted=[entry])
    assert result.report.verdict == "accepted"
    assert result.exportable


def test_a_step_with_a_problem_leaves_a_report_on_the_rest():
    result = proved(RAISE, step("rise"))
    assert result.report.trace.moves
    assert not result.exportable
    assert "step 2" in result.reason


# Texts


def of_text(text, **question):
    sheets = bench()
    return parser.examine(text, sheets.machine, sheets.controller, parser.Question(**question))


def test_a_hand_written_text_has_no_steps():
    report = of_text("G21\nG53 G0 X1000\n")
    assert "beyond-travel" in refused(report)
    assert {finding.step for finding in report.findings} == {None}


def test_words_assumed_are_in_force_before_the_text():
    assert "mode-assumed" in refused(of_text("G53 G0 Z-2\n"))
    assert "mode-assumed" not in refused(of_text("G53 G0 Z-2\n", assume="G21"))


def test_assumed_words_in_error_are_an_error():
    with pytest.raises(parser.AssumeError):
        of_text("G53 G0 Z-2\n", assume="G999")


# Pendants


def check(slots, on=None, **macros):
    on = on or bench(pendant=PENDANT + slots)
    return check_pendant(replace(on, shelf=macros))


LIFT = macro(RAISE, id="lift")


def test_a_good_slot_has_no_findings():
    assert check('[slots."4"]\nx1 = "lift"\n', lift=LIFT) == []


def test_a_macro_that_does_not_exist_is_a_clash():
    (finding,) = check('[slots."4"]\nx1 = "lift"\n')
    assert (finding.rule, finding.severity, finding.case) == ("slot-clash", "refuse", "slot 4 x1")


def test_a_position_that_drives_an_axis_is_a_clash():
    (finding,) = check('[slots.Z]\nx1 = "lift"\n', lift=LIFT)
    assert finding.rule == "slot-clash"
    assert "drives the Z axis" in finding.message


def test_a_line_that_the_pendant_cannot_hold_is_refused():
    (finding,) = check('[slots."4"]\nx1 = "lift"\n[memory]\nlongest_line = 9\n', lift=LIFT)
    assert finding.rule == "line-too-long-for-pendant"
    assert "'G53 G0 Z-2' of lift has 10 characters; the pendant holds 9" in finding.message


def test_a_table_beyond_the_memory_is_refused():
    # "G21 G90" and "G53 G0 Z-2" are 7 + 10 characters with 2 ends and 2 pointers; a stage, a macro, a slot
    room = {spare: f'[slots."4"]\nx1 = "lift"\n[memory]\nflash = {PROGRAM_FLASH + spare}\n' for spare in (48, 49)}
    (finding,) = check(room[48], lift=LIFT)
    assert finding.rule == "table-too-big"
    assert f"take 49 bytes and the program up to {PROGRAM_FLASH}" in finding.message
    assert check(room[49], lift=LIFT) == []


def test_a_longest_line_beyond_the_memory_is_refused_apart_from_the_flash():
    program = PROGRAM_RAM + 2 * JOG  # two lines of a jog may be under way
    room = {spare: f'[slots."4"]\nx1 = "lift"\n[memory]\nram = {program + spare}\n' for spare in (9, 10)}
    (finding,) = check(room[9], lift=LIFT)
    assert finding.rule == "table-too-big"
    assert f"he longest line takes 10 bytes and the program up to {program}" in finding.message
    assert check(room[10], lift=LIFT) == []


# Controllers that answer nothing, and gestures that a jog makes


def pendant_rule(slots, on, **macros):
    on = replace(on, shelf=macros)
    proved = {id: proving.prove_macro(each, on, seek_start=False) for id, each in macros.items()}
    return {finding.rule for finding in whole_pendant(on, proved).findings}


PRESENT = macro(RAISE, step("present-table"), id="present")
BOTH = '[slots."4"]\nx1 = "lift"\nx10 = "present"\n'


@pytest.mark.parametrize(
    ("rule", "where"),
    [
        ("blind-sending", "controller"),
        ("slot-beside-axis", "pendant"),
        ("held-after-stop", "controller"),
    ],
)
def test_the_examples_of_a_rule_about_slots_are_what_its_page_says(rule, where):
    manual = RULES[rule].manual()
    for example, fires in ((manual.bad, True), (manual.good, False)):
        pendant = f"{PENDANT}{example if where == 'pendant' else ''}\n{BOTH}"
        sheet = f'format = "clickstop-controller/1"\n{example}\n' if where == "controller" else "as-published"
        found = pendant_rule(BOTH, bench(pendant=pendant, controller=sheet), lift=LIFT, present=PRESENT)
        assert (rule in found) == fires


def test_the_examples_of_a_number_that_is_taken_are_what_its_page_says():
    manual = RULES["number-taken"].manual()
    with pytest.raises(DocumentError, match="number-taken"):
        bench(pendant=f"{PENDANT}{manual.bad}\n{BOTH}")
    assert pendant_rule(BOTH, bench(pendant=f"{PENDANT}{manual.good}\n{BOTH}"), lift=LIFT, present=PRESENT) is not None


def test_a_single_line_may_be_sent_to_a_controller_that_answers_nothing():
    one = macro(step("own-lines", lines="G21 G90 G53 G0 Z-2"), id="lift")
    assert check('[slots."4"]\nx1 = "lift"\n', bench(controller=controller(), pendant=PENDANT), lift=one) == []
    called = bench(controller=controller(call='"RUN {number}"'), pendant=PENDANT + BOTH)
    assert check("", called, lift=LIFT, present=PRESENT) == []


def test_only_a_macro_that_moves_the_table_one_detent_from_an_axis_is_told():
    jogging = PENDANT + "gesture = { turns = [3] }\n"
    for slots, told in (('[slots."4"]\nx1 = "lift"\n', False), ('[slots."5"]\nx1 = "present"\n', False), (BOTH, True)):
        found = pendant_rule(slots, bench(pendant=jogging + slots), lift=LIFT, present=PRESENT)
        assert ("slot-beside-axis" in found) == told, slots


def test_a_macro_that_homes_moves_the_table_too():
    sheet = controller(homing='["@SEEK"]', acknowledge='"TAKEN"')
    jogging = PENDANT + 'gesture = { turns = [3] }\n[slots."4"]\nx1 = "home"\n'
    on = bench(pendant=jogging, controller=sheet)
    assert "slot-beside-axis" in pendant_rule("", on, home=macro(step("home"), id="home"))


def test_a_macro_on_two_slots_takes_its_room_once():
    assert check(f'[slots."4"]\nx1 = "lift"\nx10 = "lift"\n[memory]\nflash = {PROGRAM_FLASH + 63}\n', lift=LIFT) == []


def test_where_macros_are_called_only_the_call_takes_room():
    on = bench(
        controller=controller(call='"RUN {number}"'),
        pendant=PENDANT + f'[slots."4"]\nx1 = "lift"\n[memory]\nflash = {PROGRAM_FLASH + 32}\n',
    )
    assert check("", on, lift=LIFT) == []
