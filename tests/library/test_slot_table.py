"""What the pendant sends for each slot: calls, lines and stages, as tables for programs and for people."""

from __future__ import annotations

import csv
import io
import json

import pytest

from library import stages
from library.build import build
from library.pack import outgoing
from library.sending import Sending
from tests.library.benches import PENDANT, ROUTER, bench, controller, macro, step
from tests.library.test_pack import LIFT, document, gathered, made, made_anew

CALLING = controller(call='"RUN {number}"', file_name='"{number}.nc"', first_number="100")


def table(**changes):
    return json.loads(made(**changes).files["slots.json"])


def sent(**changes):
    return [[stage["lines"] for stage in slot["stages"]] for slot in table(**changes)["slots"]]


def rows(**changes):
    return list(csv.DictReader(io.StringIO(made(**changes).files["slots.csv"].decode(), newline="")))


def staged(*steps, on=None, **header):
    on = on or bench()
    made = macro(*steps, **header)
    return stages.stages(made, build(made, on).text, on)


# Lines


def test_a_controller_that_keeps_no_macros_is_sent_their_lines_without_comments_and_percent_lines():
    assert sent()[0] == [["G21 G90", "G53 G0 Z-2"]]


def test_a_controller_that_keeps_macros_is_sent_the_call():
    assert sent(controller=CALLING) == [[["RUN 100"]], [["RUN 101"]], [["RUN 100"]]]


def test_a_call_may_name_the_macro():
    assert sent(controller=controller(call='"RUN {slug}"'))[0] == [["RUN lift"]]


def test_a_message_for_the_operator_is_sent():
    assert staged(step("message", text="Mind the hose"), step("raise"))[0][0] == "(MSG, Mind the hose)"


def test_blank_lines_and_comments_among_own_lines_are_not_sent():
    own = "G21 G90\n\n(a note)\nG53 G0 Z-2 (up)\n(MSG, up)"
    assert staged(step("own-lines", lines=own)) == (("G21 G90", "G53 G0 Z-2 (up)", "(MSG, up)"),)


@pytest.mark.parametrize("end", ["M2", "m30", "/M2"])
def test_nothing_after_the_end_of_the_program_is_sent(end):
    own = f"G21 G90\nG53 G0 Z-2\n{end}\nG53 G0 X10"
    assert staged(step("own-lines", lines=own)) == (("G21 G90", "G53 G0 Z-2", end),)


def test_a_macro_that_only_comments_is_left_out():
    note = document("lift", 'block = "own-lines"\nlines = "(a note)"')
    assert "would send nothing" in outgoing(gathered(lift=note)).left_out["lift"]


def test_the_lines_of_the_controller_itself_are_sent_as_they_are():
    on = bench(controller=controller(homing='["@SEEK"]', pause='"@WAIT"'))
    assert staged(step("home"), on=on) == (("@SEEK",),)


# Stages

TOLD = "(MSG, RESUME WHEN READY)"


def test_a_pause_between_moves_makes_two_stages_without_it():
    assert staged(step("raise"), step("pause", text="Turn the part"), step("raise"), step("present-table")) == (
        ("G21 G90", "G53 G0 Z-2", "(MSG, Turn the part)"),
        ("G90 G21", "G53 G0 Z-2", "G53 G0 X130 Y145"),
    )


def test_a_pause_before_a_stage_that_is_not_proved_from_anywhere_is_sent():
    # from a low start the table would be crossed through the vise
    (whole,) = staged(step("raise"), step("pause"), step("present-table"))
    assert whole == ("G21 G90", "G53 G0 Z-2", TOLD, "M0", "G53 G0 X130 Y145")


@pytest.mark.parametrize("own", ["G21 G90\nG92 X0", "G21 G90\nG10 L2 P1 X10", "#100=5", "G21 G90\n/G53 G0 Z-2"])
def test_a_pause_after_what_cannot_be_put_in_force_again_is_sent(own):
    (whole,) = staged(step("own-lines", lines=own), step("pause"), step("raise"))
    assert "M0" in whole


def test_a_pause_at_the_end_is_sent():
    assert staged(step("raise"), step("pause")) == (("G21 G90", "G53 G0 Z-2", TOLD, "M0"),)


def test_a_stage_ends_as_a_file_of_the_controller_does():
    on = bench(controller=controller(ending='"M2"', settle='"G4 P0"'))
    first, second = staged(step("raise"), step("pause"), step("raise"), on=on)
    assert first == ("G21 G90", "G53 G0 Z-2", TOLD, "G4 P0", "M2")
    assert second == ("G90 G21", "G53 G0 Z-2", "G4 P0", "M2")


def test_the_home_at_the_panel_is_a_stage_where_what_follows_is_proved():
    first, second = staged(step("own-lines", lines="(MSG, HOME AT THE PANEL)\nM0"), step("raise"))
    assert first == ("(MSG, HOME AT THE PANEL)",)
    assert second == ("G21 G90", "G53 G0 Z-2")


def test_a_stored_macro_keeps_its_pause():
    pausing = document("lift", 'block = "raise"', 'block = "pause"', 'block = "raise"')
    each = outgoing(gathered(controller=CALLING, lift=pausing)).taken["lift"]
    assert b"\nM0\n" in each.content
    assert [stage.lines for stage in each.stages] == [("RUN 100",)]


def test_on_an_inch_controller_a_stage_goes_on_in_inches():
    on = bench(machine=ROUTER, controller='format = "clickstop-controller/1"\nresting = "G17 G20 G40 G80 G90 G94"\n')
    stages_sent = staged(step("raise"), step("pause"), step("raise"), on=on)
    assert [lines[0] for lines in stages_sent] == ["G20 G90", "G90 G20"]


# What the sender has to know


@pytest.mark.parametrize(
    ("keys", "waits", "stop"),
    [
        ({}, True, ""),
        ({"acknowledge": "TAKEN"}, True, ""),
        ({"acknowledge": "TAKEN", "release": "queued-line", "stop_line": "M0"}, True, "M0"),
        ({"acknowledge": "TAKEN", "release": "immediate", "stop_line": "@N"}, False, "@N"),
        ({"acknowledge": "TAKEN", "release": "wired", "stop_line": "@N"}, False, ""),
        ({"acknowledge": "TAKEN", "release": "immediate", "stop_line": "@N", "acknowledge_means": "done"}, True, "@N"),
        ({"release": "immediate", "stop_line": "@N"}, True, "@N"),
        ({"release": "nothing", "stop_line": "@N"}, True, ""),
    ],
)
def test_never_more_lines_are_with_the_controller_than_letting_go_is_safe_for(keys, waits, stop):
    sheet = bench(controller=controller(**{key: f'"{value}"' for key, value in keys.items()})).controller_sheet
    sending = Sending.of(sheet)
    assert (sending.waits_for_idle, sending.stop_line) == (waits, stop)


ASKS = {"idle_ask": "?", "idle_answer": "AT REST"}
TAKES = {"acknowledge": "TAKEN", "error_starts": ["FAULT"]}


@pytest.mark.parametrize(
    ("keys", "waits"),
    [
        (TAKES, False),
        ({**TAKES, "settle": "G4 P0"}, True),
        ({**TAKES, **ASKS}, True),
        ({**TAKES, "acknowledge_means": "done"}, True),
        ({**TAKES, "settle": "G4 P0", "release": "immediate", "stop_line": "@N"}, False),
    ],
)
def test_the_slot_table_says_that_lines_wait_only_where_something_tells_that_the_controller_is_idle(keys, waits):
    sheet = controller(**{key: json.dumps(value) for key, value in keys.items()})
    assert json.loads(made(controller=sheet).files["slots.json"])["waits_for_idle"] is waits


def test_a_controller_has_to_be_idle_for_longer_where_its_answer_does_not_say_that_it_is_done():
    answers = (controller(), controller(acknowledge='"TAKEN"', acknowledge_means='"done"'))
    silent, done = (Sending.of(bench(controller=each).controller_sheet) for each in answers)
    assert silent.quiet > done.quiet


def test_an_answer_is_waited_for_longer_than_the_moves_take():
    each = outgoing(gathered()).taken["lift"]
    assert each.stages[0].patience > each.report.plan.totals.seconds.most


def test_the_operator_gets_time_at_a_pause():
    pausing = document("lift", 'block = "raise"', 'block = "pause"')
    assert outgoing(gathered(lift=pausing)).taken["lift"].stages[0].patience > 600


def test_the_table_says_how_much_of_the_memory_it_takes():
    memory = table()["memory"]
    assert memory["bytes"] == 16384
    assert memory["longest_line_used"] == len("G53 G0 X130 Y145")
    assert 0 < memory["bytes_used"] < 1000


def test_two_slots_with_one_macro_take_its_lines_once():
    one, two = (
        table(pendant=PENDANT + '[slots."4"]\nx1 = "lift"\n' + more)["memory"]["bytes_used"]
        for more in ("", 'x10 = "lift"\n')
    )
    assert two - one == 6


def test_the_same_documents_give_the_same_tables():
    assert made_anew().files == made_anew().files


# For people


def test_the_table_for_people_has_a_row_for_each_slot():
    assert [(row["position"], row["increment"], row["macro"], row["stage"]) for row in rows()] == [
        ("4", "x1", "lift", "1"),
        ("4", "x10", "present", "1"),
        ("5", "x1", "lift", "1"),
    ]
    assert rows()[0]["sends"] == "G21 G90\nG53 G0 Z-2"


def test_the_table_for_people_has_a_row_for_each_stage():
    pausing = document("lift", 'block = "raise"', 'block = "pause"', 'block = "raise"')
    pendant = PENDANT + '[slots."4"]\nx1 = "lift"\n'
    assert [row["stage"] for row in rows(lift=pausing, pendant=pendant)] == ["1", "2"]


LABELS = ['4 "spare"', "=1+1", "4; drop", "caf\u00e9", "-4", "@4"]


@pytest.mark.parametrize("label", LABELS)
def test_a_label_of_any_kind_comes_through_and_is_no_formula(label):
    written = json.dumps(label, ensure_ascii=False)
    pendant = f'{PENDANT}positions = [{{ label = {written} }}]\n[slots.{written}]\nx1 = "lift"\n'
    assert table(pendant=pendant)["slots"][0]["position"] == label
    (row,) = rows(pendant=pendant)
    assert row["position"] in (label, f"'{label}")
    assert not row["position"].startswith(("=", "-", "@", "+"))


def test_a_macro_on_no_slot_is_not_in_the_table():
    assert {slot["macro"] for slot in table(low=LIFT.replace('"lift"', '"low"'))["slots"]} == {"lift", "present"}
