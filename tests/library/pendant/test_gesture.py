"""What starts a macro on the pendant, what does not, and what letting go does."""

from __future__ import annotations

import json
from collections import deque

import pytest

from library import pack
from tests.library.benches import controller
from tests.library.pendant.compiling import ANSWERING, SLOTS, documents, header, taken
from tests.library.pendant.pendants import Outcome, Pendant, State
from tests.library.test_pack import document

LIFT_LINES = [b"G21 G90\n", b"G53 G0 Z-2\n", b"G80\n"]
STOPPING = controller(
    acknowledge='"TAKEN"', acknowledge_means='"done"', release='"queued-line"', stop_line='"M0"', queue_depth="4"
)


def pendant(*where, **changes):
    keys = ("answer", "after", "busy_for", "wrap")
    return Pendant(header(**{k: v for k, v in changes.items() if k not in keys}), *where,
                   **{k: v for k, v in changes.items() if k in keys})  # fmt: skip


# What starts a macro


def test_the_whole_gesture_sends_every_line_and_ends():
    on = pendant().fire().wait(1000)
    assert on.sent == LIFT_LINES
    assert (on.state, on.outcome) == (State.FINISHED, Outcome.DONE)


def test_the_other_way_round_starts_it_too():
    assert pendant().wait(600).press().click(3, way=-1).sent == LIFT_LINES[:1]


def test_several_clicks_between_two_looks_all_count():
    assert pendant().wait(600).press().wait(10, clicks=3).sent == LIFT_LINES[:1]


def test_another_increment_sends_another_macro():
    assert len(pendant(3, 1).fire().wait(2000).sent) > len(LIFT_LINES)


def test_the_clock_may_run_over_at_any_moment():
    for early in range(0, 1200, 50):
        on = pendant(wrap=True)
        on.now -= early
        assert on.turn(4).turn(3).fire().wait(1000).outcome is Outcome.DONE


# What does not


def test_turning_the_selector_starts_nothing():
    on = pendant(0)
    for position in (1, 2, 3, 4, 5, 3):
        on.turn(position).wait(700)
    assert on.sent == []


def test_clicks_without_the_button_start_nothing():
    assert pendant().wait(600).click(20).sent == []


def test_the_button_without_clicks_starts_nothing():
    assert pendant().wait(600).press().wait(3000).sent == []


def test_too_few_clicks_start_nothing():
    assert pendant().wait(600).press().click(2).wait(3000).sent == []


def test_clicks_before_the_button_do_not_count():
    assert pendant().wait(600).click(2).press().click(2).sent == []


def test_clicks_that_take_too_long_start_nothing():
    on = pendant().wait(600).press()
    for _ in range(10):
        on.wait(10, clicks=1).wait(1600)
    assert on.sent == []


def test_of_slow_clicks_the_last_within_the_window_count():
    on = pendant().wait(600).press().wait(10, clicks=1).wait(3100)
    assert on.click(2).sent == []
    assert on.click(1).sent == LIFT_LINES[:1]


def test_a_reversal_starts_over():
    on = pendant().wait(600).press().click(2).click(2, way=-1)
    assert on.sent == []
    assert on.click(1, way=-1).sent == LIFT_LINES[:1]


def test_clicks_to_and_fro_start_nothing():
    on = pendant().wait(600).press()
    for _ in range(10):
        on.click(2).click(2, way=-1)
    assert on.sent == []


def test_the_button_pressed_before_the_selector_rested_does_not_count():
    on = pendant()
    on.held = True
    assert on.wait(2000).click(10).sent == []
    assert on.state is State.LET_GO_FIRST
    assert on.let_go().press().click().sent == LIFT_LINES[:1]


def test_the_button_held_while_turning_does_not_count():
    on = pendant(5).wait(600).press().turn(3).wait(2000)
    assert on.click(10).sent == []


def test_the_selector_has_to_rest_first():
    on = pendant().wait(600).turn(4).turn(3).wait(300).press().click()
    assert on.sent == []


def test_nothing_starts_unless_the_controller_is_idle():
    on = pendant().wait(600)
    on.busy_until = on.now + 5000
    assert on.press().click(6).sent == []
    on.busy_until = 0
    assert on.click(3).sent == LIFT_LINES[:1]


def test_a_slot_without_a_macro_starts_nothing():
    assert pendant(4).fire().click(10).sent == []


def test_a_position_that_drives_an_axis_starts_nothing():
    assert pendant(0).fire().click(10).sent == []


def test_nothing_starts_again_before_the_button_was_let_go():
    on = pendant().fire().wait(1000).click(10).wait(5000)
    assert on.sent == LIFT_LINES
    assert on.let_go().press().click().wait(1000).sent == 2 * LIFT_LINES


# Letting go


@pytest.mark.parametrize("after", [1, 2])
def test_letting_go_sends_no_further_line(after):
    on = pendant().fire()
    while len(on.sent) < after:
        on.wait(10)
    assert on.let_go().wait(5000).sent == LIFT_LINES[:after]
    assert (on.state, on.outcome) == (State.READY, Outcome.LET_GO)


@pytest.mark.parametrize("after", [1, 2, 3])
def test_letting_go_sends_the_stop_line_where_there_is_one(after):
    on = pendant(controller=STOPPING, busy_for=200).fire()
    while len(on.sent) < after:
        on.wait(10)
    assert on.let_go().wait(5000).sent == [*LIFT_LINES[:after], b"M0\n"]


def test_letting_go_after_the_end_sends_no_stop_line():
    assert pendant(controller=STOPPING).fire().wait(2000).let_go().wait(500).sent == LIFT_LINES


def test_a_controller_that_only_seemed_idle_is_stopped_all_the_same():
    on = pendant(controller=STOPPING).fire().wait(2000)
    assert on.state is State.FINISHED
    on.busy_until = on.now + 1000
    assert on.let_go().sent[-1] == b"M0\n"


def test_a_stop_line_that_the_controller_sheet_gives_no_effect_is_not_sent():
    sheet = ANSWERING + 'stop_line = "M0"\n'
    assert pendant(controller=sheet).fire().let_go().wait(500).sent == LIFT_LINES[:1]


def test_turning_the_selector_in_the_middle_is_letting_go():
    on = pendant(controller=STOPPING, busy_for=200).fire().turn(4).wait(5000)
    assert on.sent == [*LIFT_LINES[:1], b"M0\n"]
    assert on.outcome is Outcome.LET_GO


def test_after_letting_go_the_macro_starts_over():
    on = pendant().fire().wait(60).let_go().press().click().wait(1000)
    assert on.sent[-3:] == LIFT_LINES


# Answers


def test_one_line_is_sent_for_one_answer():
    on = pendant(after=5000).fire()
    assert on.wait(4000).sent == LIFT_LINES[:1]
    assert on.wait(2000).sent == LIFT_LINES[:2]


def test_an_answer_that_never_comes_is_an_error():
    on = pendant(answer=None, controller=STOPPING).fire().wait(60_000)
    assert on.sent == [LIFT_LINES[0], b"M0\n"]
    assert (on.state, on.outcome) == (State.FAILED, Outcome.NO_ANSWER)
    assert on.click(10).wait(5000).state is State.FAILED


def test_after_an_error_the_button_has_to_be_let_go():
    on = pendant(answer=None).fire().wait(60_000)
    on.answer = b"TAKEN\n"
    assert on.let_go().press().click().wait(1000).sent == [LIFT_LINES[0], *LIFT_LINES]


@pytest.mark.parametrize(
    "answer", [b"FAULT 9\n", b"TAKENLY\n", b"TA KEN\n", b"taken\n", b"\n\n\n", b"TAKEN", b"UNTAKEN\n", b"TAKEN" * 999]
)
def test_what_is_not_the_acknowledgement_is_no_answer(answer):
    on = pendant(answer=answer).fire().wait(60_000)
    assert on.sent == LIFT_LINES[:1]
    assert on.outcome is Outcome.NO_ANSWER


@pytest.mark.parametrize("answer", [b"TAKEN\r\n", b"\xff\x00\x80\nTAKEN\n", b"x" * 5000 + b"\nTAKEN\n", b"TAKEN\n" * 3])
def test_noise_around_the_acknowledgement_does_no_harm(answer):
    assert pendant(answer=answer, after=30).fire().wait(9000).sent == LIFT_LINES


def test_an_answer_from_before_does_not_count():
    on = pendant(answer=None).wait(600)
    on.coming.append((0, deque(b"TAKEN\nTAKEN\nTAKEN\n")))
    assert on.press().click().wait(3000).sent == LIFT_LINES[:1]


def test_a_second_answer_does_not_send_a_line_while_the_controller_is_busy():
    on = pendant(answer=b"TAKEN\nTAKEN\n", after=0, busy_for=500).fire()
    assert on.wait(400).sent == LIFT_LINES[:1]
    assert on.wait(200).sent == LIFT_LINES[:2]


# How many lines the controller may hold


def test_where_letting_go_stops_nothing_a_line_waits_until_the_last_is_done_even_if_it_was_only_queued():
    queued = controller(acknowledge='"TAKEN"', acknowledge_means='"queued"', queue_depth="16")
    on = pendant(controller=queued, after=0, busy_for=3000).fire()
    assert on.wait(2500).sent == LIFT_LINES[:1]


def test_where_the_stop_is_obeyed_at_once_the_queue_may_fill():
    prompt = controller(acknowledge='"TAKEN"', release='"immediate"', stop_line='"@CEASE"')
    on = pendant(controller=prompt, after=0, busy_for=3000).fire().wait(100)
    assert on.sent == LIFT_LINES
    assert on.state is State.SENDING
    assert on.let_go().sent[-1] == b"@CEASE\n"


def test_a_controller_that_answers_nothing_is_waited_for_until_it_is_idle():
    on = pendant(controller=controller(), answer=None, busy_for=700).fire()
    assert on.wait(600).sent == LIFT_LINES[:1]
    assert on.wait(9000).outcome is Outcome.DONE


def test_a_controller_that_is_late_to_say_it_is_busy_gets_no_line_too_early():
    on = pendant(controller=controller(), answer=None, busy_for=2000).fire()
    # for 200 ms it goes on saying that it is idle, then that it is busy
    on.busy_until = 0
    on.wait(200)
    on.busy_until = on.now + 2000
    assert on.wait(1900).sent == LIFT_LINES[:1]


def test_a_stored_macro_is_called_and_stopped():
    stored = STOPPING + 'call = "@{number}"\nfile_name = "{number}.nc"\n'
    on = pendant(controller=stored, busy_for=9000).fire().wait(500)
    assert on.sent == [b"@1\n"]
    assert on.state is State.SENDING
    assert on.let_go().sent == [b"@1\n", b"M0\n"]


def test_lines_end_as_the_controller_wants_them():
    assert pendant(controller=ANSWERING + 'line_ending = "crlf"\n').fire().sent == [b"G21 G90\r\n"]


# Other gestures


def test_the_gesture_is_that_of_the_pendant_sheet():
    slow = SLOTS + "[gesture]\nsettle = 2.0\nclicks = 7\nwindow = 5.0\n"
    assert pendant(pendant=slow).fire().click(20).sent == []
    assert pendant(pendant=slow).wait(2100).press().click(6).sent == []
    assert pendant(pendant=slow).wait(2100).press().click(7).sent == LIFT_LINES[:1]


def test_where_no_button_is_to_be_held_the_wheel_has_to_rest_in_its_place():
    free = SLOTS + "[gesture]\nenable_held = false\n"
    on = pendant(pendant=free).wait(600).click(30)
    assert on.sent == LIFT_LINES
    assert on.wait(600).click().wait(1000).sent == 2 * LIFT_LINES


# Stages


def paused(**changes):
    return pendant(lift=document("lift", 'block = "raise"', 'block = "pause"', 'block = "raise"'), **changes)


def test_each_stage_is_started_by_a_gesture_of_its_own():
    on = paused().fire().wait(2000)
    assert on.sent == LIFT_LINES
    assert on.stage == 1
    assert on.click(9).wait(2000).sent == LIFT_LINES
    assert on.let_go().press().click().wait(2000).sent == [*LIFT_LINES, b"G90 G21\n", *LIFT_LINES[1:]]
    assert on.stage == 0


@pytest.mark.parametrize("undo", [lambda on: on.turn(4).turn(3), lambda on: on.let_go().press().click().let_go()])
def test_turning_away_or_letting_go_starts_the_macro_over(undo):
    on = paused().fire().wait(2000)
    assert on.stage == 1
    undo(on)
    assert on.stage == 0


# The tables


def test_the_tables_take_as_many_bytes_as_the_pack_says():
    files = taken().files
    table = json.loads(files["slots.json"])
    lines = {slot["macro"]: slot["stages"][0]["lines"] for slot in table["slots"]}
    text = sum(len(line) + 1 for each in lines.values() for line in each)
    assert pendant().table_bytes + text == table["memory"]["bytes_used"]


def test_names_of_any_kind_come_through_as_they_are():
    name = 'Up "high" \\ ??/ \\n %s \u00e9\u4e2d 0123 */ /*'
    escaped = name.replace("\\", "\\\\").replace('"', '\\"')
    on = Pendant(header(lift=document("lift", 'block = "raise"', name=escaped)))
    assert on.name_of(0) == name


def test_the_documents_of_these_tests_leave_nothing_out():
    assert pack.make(documents()).left_out == {}
