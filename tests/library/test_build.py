"""How steps become the text of a macro file."""

from __future__ import annotations

import pytest

from library.blocks import REGISTRY
from library.build import build
from library.numbering import numbers
from library.proving import prove_macro
from tests.library.benches import MILL, PENDANT, bench, controller, macro, step

RAISE, CENTRE = step("raise"), step("centre-table")


def text(*steps, on=None, **header):
    return build(macro(*steps, **header), on or bench()).text


def test_a_macro_is_wrapped_in_percent_lines_and_headed_by_its_name():
    assert text(RAISE, CENTRE) == "%\n(Trial)\nG21 G90\nG53 G0 Z-2\nG53 G0 X130 Y75\n%\n"


def test_each_line_knows_the_step_that_wrote_it():
    assert build(macro(RAISE, CENTRE), bench()).steps == {3: 1, 4: 1, 5: 2}


def test_modes_in_force_are_not_written_again():
    assert text(RAISE, CENTRE, RAISE).count("G90") == 1


def test_after_own_lines_modes_are_written_again():
    assert text(RAISE, step("own-lines", lines="G91\nG90"), RAISE).count("G21") == 2


def test_modes_that_a_block_changed_are_put_back():
    in_g55 = bench(controller=controller(resting='"G17 G21 G55 G80 G90"'))
    assert text(step("above-work"), on=in_g55).splitlines()[-2] == "G55"


def test_a_canned_cycle_is_ended_and_nothing_else_is():
    on = bench(controller=controller(resting='"G17 G21 G80 G90"'))
    cycle = "G21 G90 G17 G94 G98 G54\nG81 X0 Y0 Z-1 R5 F50"
    assert text(step("own-lines", lines=cycle)).splitlines()[-2] == "G80"
    assert text(step("own-lines", lines=cycle), on=on).splitlines()[-2] == "G80"
    for ended in (f"{cycle}\nG80", f"{cycle}\nG0 X5"):
        assert text(step("own-lines", lines=ended)).splitlines()[-2] == ended.split("\n")[-1]
    assert "G80" not in text(RAISE, CENTRE, on=on)


def test_words_that_the_controller_lacks_are_left_out_of_the_resting_modes():
    on = bench(
        controller=controller(resting='"G17 G40 G21 G90 G49"', unsupported='["G40", "G41", "G42", "G49", "G43"]')
    )
    assert on.controller.resting == ("G17", "G21", "G90")
    assert "G49" not in text(RAISE, step("own-lines", lines="G91\nG90"), RAISE, on=on)


def test_a_stored_macro_begins_with_the_line_of_the_controller_sheet():
    on = bench(controller="subprogram-m98", pendant=PENDANT + "[numbers]\ntrial = 41\n")
    assert text(RAISE, on=on) == "%\nO41\n(Trial)\nG21 G90\nG53 G0 Z-2\nM99\n%\n"
    assert prove_macro(macro(RAISE), on).report.verdict == "proved"
    named = bench(controller=controller(program_head='"PROG {slug}"', percent="false", ending='"M2"'))
    assert text(RAISE, on=named).startswith("PROG trial\n(Trial)\nG21")
    assert prove_macro(macro(RAISE), named).report.verdict == "proved"


def test_a_macro_on_no_slot_has_the_first_number_that_none_has():
    slots = '[slots."4"]\nx1 = "lift"\nx10 = "other"\n[numbers]\nlift = 2\n'
    on = bench(controller="subprogram-m98", pendant=PENDANT + slots)
    assert numbers(on) == {"lift": 2, "other": 1, "first-run/lift": 3, "first-run/other": 4}
    assert text(RAISE, on=on).splitlines()[1] == "O5"


def test_nothing_is_put_back_where_nothing_moved():
    assert text(step("dwell", time="1 s")) == "%\n(Trial)\nG4 P1\n%\n"


def test_the_settling_line_and_the_ending_come_last():
    on = bench(controller=controller(settle='"G4 P0.1"', ending='"M2"', percent="false"))
    assert text(RAISE, on=on) == "(Trial)\nG21 G90\nG53 G0 Z-2\nG4 P0.1\nM2\n"


def test_line_ends_follow_the_controller_sheet():
    assert text(RAISE, on=bench(controller=controller(line_ending='"crlf"'))).count("\r\n") == 5


def test_a_name_cannot_break_out_of_its_comment():
    assert "(Up [and] away)\n" in text(RAISE, name="Up (and) away!")


def test_a_name_without_a_plain_letter_gives_way_to_the_id():
    assert "(lift)\n" in text(RAISE, name="上", id="lift")


def test_a_name_that_looks_like_a_message_is_not_one():
    assert "(msg lift)\n" in text(RAISE, name="msg , lift")


def test_numbers_without_a_unit_are_in_the_units_of_the_macro():
    assert "Z-25.4\n" in text(step("raise", to="-1"), units="inch")


def test_what_a_value_comes_to_is_kept_beside_it():
    built = build(macro(step("raise", to="safe.z - 1 mm")), bench())
    assert built.values[0] == {"to": pytest.approx(-3.0), "feed": None}


def test_which_part_moves_is_noted_for_each_step():
    assert build(macro(RAISE, step("present-table")), bench()).notes == ("", "the table comes towards you")


def test_a_step_with_a_problem_is_named_and_the_others_are_built():
    built = build(macro(RAISE, step("raise", to="nowhere.z"), CENTRE), bench())
    assert [(problem.step, problem.parameter) for problem in built.problems] == [(2, "to")]
    assert built.text == text(RAISE, CENTRE)


def test_every_bad_value_of_a_step_is_a_problem_of_its_own():
    built = build(macro(step("present-table", side="up", margin="-1 mm")), bench())
    assert [problem.parameter for problem in built.problems] == ["side", "margin"]


def test_an_unknown_block_suggests_the_nearest():
    problems = build(macro(step("rise")), bench()).problems
    assert "there is no block 'rise'; did you mean \"raise\"?" in str(problems[0])


def test_an_unknown_value_suggests_the_nearest():
    problems = build(macro(step("present-table", sid="front")), bench()).problems
    assert "the block present-table has no value 'sid'; did you mean \"side\"?" in str(problems[0])


def test_a_macro_without_steps_is_a_problem():
    assert "has no steps" in str(build(macro(), bench()).problems[0])


def test_a_text_with_problems_is_not_given_away():
    proved = prove_macro(macro(step("rise")), bench())
    assert not proved.exportable
    assert proved.reason.startswith("step 1: ")


def test_a_step_that_fails_while_writing_leaves_no_line_behind():
    late = build(macro(step("go-to", x="1 mm", z="-1 mm", order="z-last")), bench(MILL, "no-machine-moves"))
    assert late.problems
    assert late.lines == ("%", "(Trial)", "%")


def test_a_step_after_the_end_of_the_program_is_a_problem():
    """Nothing after M2 or M30 is read (NISTIR 6556, 3.6.1): the raise would be shown and never run."""
    for ending in ("M2", "m 30 (done)"):
        problems = build(macro(step("own-lines", lines=ending), RAISE), bench()).problems
        assert [(problem.step, problem.message.split(":")[0]) for problem in problems] == [(2, "it is never run")]
    assert build(macro(RAISE, step("own-lines", lines="M2")), bench()).problems == ()


def test_accepting_a_rule_that_there_is_not_suggests_the_nearest():
    entry = {"rule": "crosses-keepout", "because": "the vise is off"}
    problems = build(macro(RAISE, accepted=[entry]), bench()).problems
    assert [str(problem) for problem in problems] == [
        "the macro: there is no rule 'crosses-keepout' to accept; did you mean \"crosses-keep-out\"?"
    ]


def test_a_step_that_is_switched_off_writes_nothing_and_says_so():
    built = build(macro(RAISE, step("go-to", x="no such place", off=True), CENTRE), bench())
    assert built.text == text(RAISE, CENTRE)
    assert built.steps == {3: 1, 4: 1, 5: 3}
    assert built.problems == ()
    assert built.notes[1] == "switched off: it writes no lines"


def test_a_macro_whose_every_step_is_switched_off_cannot_go():
    proved = prove_macro(macro(step("raise", off=True)), bench())
    assert not proved.exportable
    assert "every step is switched off" in proved.reason


def test_no_block_has_a_value_of_the_name_of_that_key():
    assert not [block.id for block in REGISTRY.values() if block.parameter("off")]
