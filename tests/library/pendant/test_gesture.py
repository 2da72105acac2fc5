"""What starts a macro on the pendant, what does not and why, and what letting go does."""

from __future__ import annotations

from itertools import pairwise

import pytest

from library import pack
from tests.library.benches import controller
from tests.library.pendant.compiling import ANSWERING, SLOTS, documents, program
from tests.library.pendant.pendants import NONE, Pendant, State, Why
from tests.library.test_pack import document

LIFT_LINES = [b"G21 G90\n", b"G53 G0 Z-2\n"]
PRESENT_LINES = [*LIFT_LINES, b"G53 G0 X130 Y145\n"]
STOPPING = ANSWERING + 'release = "queued-line"\nstop_line = "M0"\nqueue_depth = 4\n'
ITS_OWN = ("answer", "after", "busy_for", "wrap", "idle_call", "stop_call")


def pendant(*where, **changes):
    files = program(**{key: value for key, value in changes.items() if key not in ITS_OWN})
    return Pendant(files, *where, **{key: value for key, value in changes.items() if key in ITS_OWN})


# What starts a macro


def test_the_whole_gesture_sends_every_line_and_ends():
    on = pendant().fire().wait(1000)
    assert on.sent == LIFT_LINES
    assert (on.state, on.why) == (State.FINISHED, Why.DONE)


def test_the_other_way_round_starts_it_too():
    assert pendant().wait(600).press().gesture(-3, 3).sent == LIFT_LINES[:1]


def test_several_clicks_between_two_looks_all_count():
    on = pendant().wait(600).press().wait(10, clicks=3).wait(10, clicks=-3).wait(240)
    assert on.sent == []
    assert on.wait(20).sent == LIFT_LINES[:1]


def test_another_increment_sends_another_macro():
    assert len(pendant(3, 1).fire().wait(2000).sent) > len(LIFT_LINES)


def test_the_clock_may_run_over_at_any_moment():
    for early in range(0, 1600, 50):
        on = pendant(wrap=early + 100)
        assert on.turn(4).turn(3).fire().wait(1000).why is Why.DONE


# What does not, and why


def test_turning_the_selector_starts_nothing():
    on = pendant(0)
    for position in (1, 2, 3, NONE, 4, 5, 3):
        on.turn(position).wait(700)
    assert on.sent == []


def test_clicks_without_the_button_start_nothing():
    assert pendant().wait(600).gesture().sent == []


def test_the_button_without_clicks_starts_nothing():
    assert pendant().wait(600).press().wait(3000).sent == []


@pytest.mark.parametrize(
    "runs",
    [(2, -3), (3, -2), (3,), (-3,), (3, 3), (4, -3), (3, -4), (3, -3, 1), (3, -3, 3), (1, -1), (7, -3), (3, -10)],
)
def test_a_jog_that_is_not_the_gesture_starts_nothing(runs):
    on = pendant().wait(600).press().click(*runs).wait(5000)
    assert on.sent == []


@pytest.mark.parametrize("runs", [(4,), (2, -1), (3, -4)])
def test_a_click_too_many_or_the_wrong_way_starts_over_once_the_wheel_has_rested(runs):
    on = pendant().wait(600).press().click(*runs)
    assert on.why is Why.WRONG_TURN
    assert on.gesture().sent == []
    assert on.wait(300).gesture().sent == LIFT_LINES[:1]


def test_no_part_of_a_longer_turn_is_the_gesture():
    on = pendant().wait(600).press().click(*([5, -3] * 40))
    assert on.sent == []


def test_clicks_beyond_the_window_start_over():
    on = pendant().wait(600).press().click(3).wait(3000)
    assert on.why is Why.WRONG_TURN
    assert on.click(-3).wait(1000).sent == []


def test_clicks_before_the_button_do_not_count():
    assert pendant().wait(600).click(2).press().gesture(1, -3).sent == []


def test_the_button_held_while_turning_does_not_count():
    on = pendant(5).wait(600).press().turn(3).wait(2000)
    assert (on.state, on.why) == (State.LET_GO_FIRST, Why.HELD_EARLY)
    assert on.gesture().sent == []
    assert on.let_go().wait(300).press().gesture().sent == LIFT_LINES[:1]


def test_the_selector_has_to_rest_first():
    on = pendant().wait(600).turn(4).turn(3).wait(300).press().gesture()
    assert on.sent == []


def test_nothing_starts_unless_the_controller_is_idle():
    on = pendant().wait(600)
    on.busy_until = on.now + 5000
    assert on.press().gesture().sent == []
    assert on.why is Why.NOT_IDLE
    on.busy_until = 0
    assert on.gesture().sent == LIFT_LINES[:1]


@pytest.mark.parametrize("position", [4, 6, NONE])
def test_a_place_without_a_macro_starts_nothing(position):
    on = pendant(position).fire().gesture().gesture()
    assert on.sent == []
    assert on.why is Why.NO_MACRO


def test_the_gesture_on_an_axis_only_jogs():
    on = pendant(0).fire().wait(2000)
    assert all(line.startswith((b"G91 G1 X", b"G90")) for line in on.sent)


def test_nothing_starts_again_before_the_button_was_let_go():
    on = pendant().fire().wait(1000).gesture().wait(5000)
    assert on.sent == LIFT_LINES
    assert on.let_go().press().gesture().wait(1000).sent == 2 * LIFT_LINES


def test_the_lamp_is_lit_while_lines_are_sent_and_flashes_what_there_is_to_tell():
    on = pendant().wait(600)
    assert on.lamp == 0
    assert on.press().gesture().lamp == 255
    assert on.let_go().lamp == Why.LET_GO == 5


# Letting go


@pytest.mark.parametrize("after", [1, 2])
def test_letting_go_sends_no_further_line(after):
    on = pendant().fire()
    while len(on.sent) < after:
        on.wait(10)
    assert on.let_go().wait(5000).sent == LIFT_LINES[:after]
    assert (on.state, on.why) == (State.READY, Why.LET_GO)


@pytest.mark.parametrize("after", [1, 2, 3])
def test_letting_go_sends_the_stop_line_where_there_is_one(after):
    on = pendant(3, 1, controller=STOPPING, busy_for=200).fire()
    while len(on.sent) < after:
        on.wait(10)
    assert on.let_go().wait(5000).sent == [*PRESENT_LINES[:after], b"M0\n"]


def test_letting_go_after_the_end_sends_no_stop_line():
    assert pendant(controller=STOPPING).fire().wait(2000).let_go().wait(500).sent == LIFT_LINES


def test_a_controller_that_only_seemed_idle_is_stopped_all_the_same():
    on = pendant(controller=STOPPING.replace("done", "queued")).fire().wait(2000)
    assert on.state is State.FINISHED
    on.busy_until = on.now + 1000
    assert on.let_go().sent[-1] == b"M0\n"


def test_what_nothing_tells_to_be_over_is_stopped_when_let_go():
    queued = STOPPING.replace('"done"', '"queued"')
    on = pendant(controller=queued, idle_call=False).fire().wait(2000)
    assert (on.state, on.sent) == (State.FINISHED, LIFT_LINES)
    assert on.let_go().sent == [*LIFT_LINES, b"M0\n"]


def test_what_nothing_tells_to_be_over_is_over_after_the_longest_it_was_proved_to_take():
    queued = STOPPING.replace('"done"', '"queued"')
    longest = pack.outgoing(documents(controller=queued)).taken["lift"].report.plan.totals.seconds.most
    early = pendant(controller=queued, idle_call=False).fire().wait(int(1000 * longest) - 500).let_go()
    assert (early.sent, early.why) == ([*LIFT_LINES, b"M0\n"], Why.LET_GO)
    late = pendant(controller=queued, idle_call=False).fire().wait(int(1000 * longest) + 500).let_go()
    assert (late.sent, late.why, late.lamp) == (LIFT_LINES, Why.DONE, 0)
    assert late.press().gesture().sent == [*LIFT_LINES, LIFT_LINES[0]]


def test_a_stop_line_that_the_controller_sheet_gives_no_effect_is_not_sent():
    sheet = ANSWERING + 'stop_line = "M0"\n'
    assert pendant(controller=sheet).fire().let_go().wait(500).sent == LIFT_LINES[:1]


def test_a_stop_line_that_ends_in_a_control_byte_is_sent_as_it_is():
    sheet = STOPPING.replace('"M0"', '"\\u0018"')
    assert pendant(controller=sheet).fire().let_go().sent == [*LIFT_LINES[:1], b"\x18"]


@pytest.mark.parametrize("place", [(4, 0), (NONE, 0), (3, 1), (3, NONE)])
def test_turning_a_selector_in_the_middle_is_letting_go(place):
    on = pendant(controller=STOPPING, busy_for=200).fire().turn(*place).wait(5000)
    assert on.sent == [*LIFT_LINES[:1], b"M0\n"]
    assert on.turn(3).wait(5000).gesture().sent == [*LIFT_LINES[:1], b"M0\n"]


def test_after_letting_go_the_macro_starts_over():
    on = pendant(3, 1).fire().wait(60).let_go().press().gesture().wait(1000)
    assert on.sent[-3:] == PRESENT_LINES
    assert len(on.sent) > 3


# The stop


def stopped(**changes):
    return pendant(controller=STOPPING, busy_for=200, **changes).fire().push()


def test_a_stop_sends_the_stop_line_and_nothing_more():
    on = stopped().wait(5000)
    assert on.sent == [*LIFT_LINES[:1], b"M0\n"]
    assert (on.state, on.why, on.lamp) == (State.STOPPED, Why.WAS_STOPPED, 8)


def test_a_stop_sends_the_stop_line_whatever_is_going_on():
    assert pendant(controller=STOPPING).wait(100).push().wait(1000).sent == [b"M0\n"]


def fires_again(on):
    before = len(on.sent)
    on.wait(600).let_go().wait(100).press().gesture()
    return len(on.sent) > before


def test_after_a_stop_it_is_released_then_let_go_then_turned_away_and_back():
    on = stopped().wait(500).pull().let_go().turn(4).wait(600).turn(3)
    assert on.state is State.TURNED
    assert fires_again(on)


@pytest.mark.parametrize(
    "instead",
    [
        lambda on: on.let_go().turn(4).wait(600).turn(3),  # never released
        lambda on: on.turn(4).turn(3).pull().let_go(),  # turned before
        lambda on: on.pull().turn(4).turn(3),  # not let go
        lambda on: on.pull().let_go(),  # not turned
        lambda on: on.pull().let_go().turn(4),  # not back
        lambda on: on.pull().let_go().turn(NONE).turn(3),  # only shaken
        lambda on: on.pull().let_go().turn(3, 1).turn(3),  # the other selector
        lambda on: on.pull().let_go().turn(4).push().pull().turn(3),  # stopped again
    ],
)
def test_a_stop_lasts_until_then(instead):
    on = instead(stopped())
    assert on.state is State.STOPPED
    assert not fires_again(on)


def test_without_a_stop_input_there_is_none():
    on = pendant(stop_call=False)
    on.stop = True
    assert on.fire().wait(1000).sent == LIFT_LINES


# Answers


def test_one_line_is_sent_for_one_answer():
    on = pendant(after=5000).fire()
    assert on.wait(4000).sent == LIFT_LINES[:1]
    assert on.wait(2000).sent == LIFT_LINES[:2]


def test_an_answer_that_never_comes_is_an_error():
    on = pendant(answer=None, controller=STOPPING).fire().wait(60_000)
    assert on.sent == [LIFT_LINES[0], b"M0\n"]
    assert (on.state, on.why, on.at_line) == (State.FAILED, Why.NO_ANSWER, 1)
    assert on.gesture().wait(5000).state is State.FAILED


def test_after_an_error_the_button_has_to_be_let_go():
    on = pendant(answer=None).fire().wait(60_000)
    on.answer = b"TAKEN\n"
    assert on.let_go().press().gesture().wait(1000).sent == [LIFT_LINES[0], *LIFT_LINES]


QUEUED = ANSWERING.replace('"done"', '"queued"')
UNTOLD = {"done": ANSWERING, "queued": QUEUED, "settling": QUEUED + 'settle = "G4 P0"\n'}


@pytest.mark.parametrize("untold", UNTOLD)
def test_a_late_answer_does_not_count_for_the_line_after(untold):
    on = pendant(controller=UNTOLD[untold], answer=None, idle_call=False).fire().wait(60_000)
    first = len(on.sent)
    assert on.why is Why.NO_ANSWER
    # held at the panel, say: what is sent now would wait behind that, and be taken for answered too early
    for _ in range(3):
        on.let_go().press().gesture().wait(60_000)
    assert (len(on.sent), on.why) == (first, Why.NOT_IDLE)
    on.say(b"TAKEN\n")
    on.let_go().wait(100).press().gesture().wait(5000)
    assert len(on.sent) == first + 1  # one line more, and that has no answer yet


def test_an_answer_that_was_dropped_by_the_stop_line_is_not_waited_for():
    dropped = ANSWERING + 'release = "immediate"\nstop_line = "M0"\n'
    on = pendant(controller=dropped, answer=None, idle_call=False).fire().wait(60_000)
    on.answer = b"TAKEN\n"
    assert on.let_go().press().gesture().wait(1000).sent == [LIFT_LINES[0], b"M0\n", *LIFT_LINES]


def test_a_byte_of_noise_before_the_first_line_does_not_spoil_its_answer():
    on = pendant(idle_call=False)
    on.say(b"\xff")
    assert on.wait(1100).fire().wait(1000).sent == LIFT_LINES


def test_an_answer_may_come_in_pieces_but_not_a_second_apart():
    assert pendant(answer=b"TAK", after=30, idle_call=False).fire().wait(500).sent == LIFT_LINES[:1]
    for pause, sent in ((500, 2), (1500, 1)):
        on = pendant(answer=b"TAK", after=30, idle_call=False).fire().wait(pause)
        on.say(b"EN\n")
        assert on.wait(400).sent == LIFT_LINES[:sent]


@pytest.mark.parametrize("line", [1, 2, 3])
def test_an_error_stops_at_once_and_names_the_line(line):
    refused = PRESENT_LINES[line - 1]
    on = pendant(3, 1, controller=STOPPING, answer=lambda sent: b"FAULT 9\n" if sent == refused else b"TAKEN\n").fire()
    on.wait(2000)
    assert on.sent == [*PRESENT_LINES[:line], b"M0\n"]
    assert (on.state, on.why, on.at_line, on.lamp) == (State.FAILED, Why.REFUSED, line, 6)
    assert on.heard == [b"FAULT 9"]


def test_an_error_that_comes_after_the_end_is_told_too():
    on = pendant(controller=STOPPING).fire().wait(2000)
    assert on.state is State.FINISHED
    on.say(b"FAULT late\n")
    assert on.wait(100).why is Why.REFUSED
    assert on.sent[-1] == b"M0\n"


@pytest.mark.parametrize(
    "answer", [b"HELLO\n", b"TAKENLY\n", b"TA KEN\n", b"taken\n", b"\n\n\n", b"TAKEN", b"UNTAKEN\n", b"TAKEN" * 999]
)
def test_what_is_not_the_acknowledgement_is_no_answer(answer):
    on = pendant(answer=answer).fire().wait(60_000)
    assert on.sent == LIFT_LINES[:1]
    assert on.why is Why.NO_ANSWER


@pytest.mark.parametrize("answer", [b"TAKEN\r\n", b"\xff\x00\x80\nTAKEN\n", b"x" * 5000 + b"\nTAKEN\n", b"TAKEN\n" * 3])
def test_noise_around_the_acknowledgement_does_no_harm(answer):
    assert pendant(answer=answer, after=30).fire().wait(9000).sent == LIFT_LINES


def test_an_answer_that_only_begins_so_counts_where_the_sheet_says_so():
    begins = ANSWERING + 'acknowledge_match = "start"\n'
    assert pendant(controller=begins, answer=b"TAKEN 12\n").fire().wait(2000).sent == LIFT_LINES
    assert pendant(controller=begins, answer=b"UNTAKEN\n").fire().wait(2000).sent == LIFT_LINES[:1]


def test_an_answer_from_before_does_not_count():
    on = pendant(answer=None).wait(600)
    on.say(b"TAKEN\nTAKEN\nTAKEN\n")
    assert on.press().gesture().wait(3000).sent == LIFT_LINES[:1]


def test_an_answer_of_which_a_part_had_come_does_not_count():
    on = pendant(answer=None).wait(600).press().click(3, -3)
    on.say(b"TAK")
    on.wait(300)
    assert on.sent == LIFT_LINES[:1]
    on.say(b"EN\n")
    assert on.wait(3000).sent == LIFT_LINES[:1]
    on.say(b"TAKEN\n")
    assert on.wait(3000).sent == LIFT_LINES[:2]


def test_no_line_goes_out_while_something_is_coming_in():
    on = pendant(answer=None).wait(600).press().click(3, -3)
    for _ in range(40):
        on.say(b".")
        on.wait(10)
    assert on.sent == []
    on.say(b"\n")
    assert on.wait(100).sent == LIFT_LINES[:1]


def test_after_letting_go_the_answer_that_is_still_owed_is_waited_for():
    on = pendant(answer=None, idle_call=False).fire().wait(100).let_go().wait(100).press().gesture()
    assert on.sent == LIFT_LINES[:1]
    assert on.why is Why.NOT_IDLE
    on.say(b"TAKEN\n")
    assert on.wait(100).gesture().sent == [LIFT_LINES[0], LIFT_LINES[0]]


def test_what_is_no_answer_is_handed_on():
    on = pendant().wait(100)
    on.say(b"HELLO\r\n\r\nTAKEN\n[x]\n" + b"y" * 200 + b"\n")
    assert on.wait(100).heard == [b"HELLO", b"[x]", b"y" * 40]


def test_a_second_answer_does_not_send_a_line_while_the_controller_is_busy():
    on = pendant(answer=b"TAKEN\nTAKEN\n", after=0, busy_for=500).fire()
    assert on.wait(400).sent == LIFT_LINES[:1]
    assert on.wait(200).sent == LIFT_LINES[:2]


# How many lines the controller may hold, and whether it is idle


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


def test_a_controller_that_answers_nothing_gets_one_line_and_no_macro_of_more():
    one = {"call": '"@{number}"', "file_name": '"{number}.nc"'}
    on = pendant(controller=controller(**one), answer=None).fire().wait(9000)
    assert (on.sent, on.why) == ([b"@1\n"], Why.DONE)
    assert "pendant/slots.h" not in pack.make(documents(controller=controller())).files


def test_a_controller_that_is_late_to_say_it_is_busy_gets_no_line_too_early():
    queued = ANSWERING.replace('"done"', '"queued"')
    on = pendant(controller=queued, busy_for=2000).fire()
    # for 200 ms it goes on saying that it is idle, then that it is busy
    on.busy_until = 0
    on.wait(200)
    on.busy_until = on.now + 2000
    assert on.wait(1900).sent == LIFT_LINES[:1]


ASKING = ANSWERING.replace('"done"', '"queued"') + 'idle_ask = "@STATE"\nidle_answer = "IDLE"\n'


def states(on, *, acknowledged=False):
    """Answers lines with TAKEN, and @STATE with what it is doing at that moment."""

    def answer(line):
        if line != b"@STATE\n":
            on.working_until = on.now + 300
            return b"TAKEN\n"
        said = b"IDLE 0,0,0\n" if on.now >= getattr(on, "working_until", 0) else b"AT WORK\n"
        return said + b"TAKEN\n" if acknowledged else said

    on.answer = answer
    return on


@pytest.mark.parametrize("acknowledged", [False, True], ids=["asked", "asked, and that acknowledged"])
def test_a_controller_is_asked_whether_it_is_idle_before_and_between_the_lines(acknowledged):
    on = states(pendant(controller=ASKING, idle_call=False), acknowledged=acknowledged).fire().wait(5000)
    assert [line for line in on.sent if line != b"@STATE\n"] == LIFT_LINES
    assert on.why is Why.DONE
    assert on.sent[0] == b"@STATE\n"
    for before, after in pairwise(LIFT_LINES):
        assert b"@STATE\n" in on.sent[on.sent.index(before) : on.sent.index(after)]


def test_a_controller_that_does_not_say_that_it_is_idle_gets_no_line():
    on = states(pendant(controller=ASKING, idle_call=False)).wait(600)
    on.working_until = on.now + 10_000
    on.press().gesture().wait(3000)
    assert set(on.sent) == {b"@STATE\n"}
    assert (on.why, on.state) == (Why.NOT_IDLE, State.ENABLED)


def test_letting_go_while_the_controller_is_asked_sends_nothing_more():
    on = pendant(controller=ASKING, idle_call=False, answer=None).fire().let_go()
    sent = list(on.sent)
    assert on.wait(3000).sent == sent


def test_where_nothing_is_asked_the_settle_line_tells_that_a_line_is_done():
    settling = ANSWERING.replace('"done"', '"queued"') + 'settle = "G4 P0"\n'
    on = pendant(controller=settling, idle_call=False).fire().wait(5000)
    macro = on.sent[1::2]
    assert on.sent[::2] == [b"G4 P0\n"] * (len(macro) + 1)
    assert [line for line in macro if line != b"G4 P0\n"] == LIFT_LINES
    assert on.why is Why.DONE


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
    slow = SLOTS + "[gesture]\nsettle = 2.0\nturns = [-2, 4, -1]\nwindow = 5.0\n"
    assert pendant(pendant=slow).fire().gesture().sent == []
    assert pendant(pendant=slow).wait(2100).press().gesture(2, -4).wait(300).sent == []
    for runs in ((-2, 4, -1), (2, -4, 1)):
        assert pendant(pendant=slow).wait(2100).press().gesture(*runs).sent == LIFT_LINES[:1]


def test_clicks_one_way_are_the_gesture_where_the_sheet_says_so():
    one_way = SLOTS + "[gesture]\nturns = [3]\n"
    assert pendant(pendant=one_way).wait(600).press().gesture(-3).sent == LIFT_LINES[:1]
    assert pendant(pendant=one_way).wait(600).press().gesture(4).sent == []


def test_where_no_button_is_to_be_held_the_wheel_has_to_rest_in_its_place():
    free = SLOTS + "[gesture]\nenable_held = false\n"
    on = pendant(pendant=free).wait(600).gesture().wait(1000)
    assert on.sent == LIFT_LINES
    assert on.wait(600).gesture().wait(1000).sent == 2 * LIFT_LINES


# Stages


def paused(**changes):
    return pendant(lift=document("lift", 'block = "raise"', 'block = "pause"', 'block = "raise"'), **changes)


def test_each_stage_is_started_by_a_gesture_of_its_own():
    on = paused().fire().wait(2000)
    first = [*LIFT_LINES, b"(MSG, RESUME WHEN READY)\n"]
    assert on.sent == first
    assert on.stage == 1
    assert on.gesture().wait(2000).sent == first
    assert on.let_go().press().gesture().wait(2000).sent == [*first, b"G90 G21\n", *LIFT_LINES[1:]]
    assert on.stage == 0


def test_a_stage_is_remembered_while_the_selector_is_elsewhere():
    on = paused().fire().wait(2000).let_go().turn(4)
    assert on.stage == 0
    assert on.turn(3).stage == 1
    on.sent.clear()
    assert on.wait(600).press().gesture().wait(2000).sent == [b"G90 G21\n", *LIFT_LINES[1:]]


@pytest.mark.parametrize(
    "undo",
    [
        lambda on: on.let_go().press().gesture().let_go(),
        lambda on: on.let_go().press().gesture().turn(4).turn(3),
    ],
)
def test_letting_go_or_turning_away_before_the_end_of_a_stage_starts_the_macro_over(undo):
    on = paused().fire().wait(2000)
    assert on.stage == 1
    undo(on)
    assert on.stage == 0


# The tables


def test_names_of_any_kind_come_through_as_they_are():
    name = 'Up "high" \\ ??/ \\n %s \u00e9\u4e2d 0123 */ /*'
    escaped = name.replace("\\", "\\\\").replace('"', '\\"')
    on = Pendant(program(lift=document("lift", 'block = "raise"', name=escaped)))
    assert on.name_of(0) == name


def test_the_documents_of_these_tests_leave_nothing_out():
    assert pack.make(documents()).left_out == {}
