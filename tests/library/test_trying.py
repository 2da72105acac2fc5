"""The pendant as it is tried on its page: every row of the table, and what jogging sends."""

from __future__ import annotations

from library import pack
from library.handling import TOLD, HandState, Why
from library.trying import Pendant
from tests.library.benches import PENDANT, controller
from tests.library.handled import POSITIONS, SLOTS
from tests.library.test_pack import gathered

ANSWERING = controller(acknowledge='"TAKEN"', acknowledge_means='"done"', error_starts='["FAULT"]')
QUEUED = controller(acknowledge='"TAKEN"', error_starts='["FAULT"]')
SHEET = PENDANT + POSITIONS


def pendant(position=3, increment=0, *, sheet=SHEET + SLOTS, controller=ANSWERING, by_call=True):
    goes = pack.outgoing(gathered(pendant=sheet, controller=controller))
    return Pendant.of(goes, position, increment, by_call=by_call)


def test_a_macro_that_was_fired_is_named():
    on = pendant().wait(600).press().click(3, -3).wait(1000)
    assert on.fired == ["lift"]


def test_the_stop_line_is_all_that_is_sent_when_it_ends_early():
    stops = controller(acknowledge='"TAKEN"', release='"queued-line"', stop_line='"!"')
    on = pendant(controller=stops).wait(600).press().click(3, -3).wait(300).let_go().wait(2000)
    assert on.sent == ["G21 G90", "!"]


def test_a_busy_controller_is_fired_at_by_nothing():
    on = pendant().busy().wait(600).press().click(3, -3).wait(1000)
    assert (on.sent, on.why) == ([], Why.NOT_IDLE)


def test_a_busy_controller_is_fired_at_where_nothing_tells():
    on = pendant(controller=QUEUED, by_call=False).busy().wait(600).press().click(3, -3).wait(2000)
    assert on.sent == ["G21 G90", "G53 G0 Z-2"]


def test_what_nothing_tells_to_be_over_is_over_after_the_longest_it_was_proved_to_take():
    fired = pendant(controller=QUEUED, by_call=False).wait(600).press().click(3, -3).wait(1000)
    longest = fired.holds.macros[3, 0][1][0].motion
    assert fired.let_go().why is Why.LET_GO
    again = pendant(controller=QUEUED, by_call=False).wait(600).press().click(3, -3).wait(int(1000 * longest) + 1000)
    assert again.let_go().why is Why.DONE


def test_where_the_stop_line_holds_nothing_is_sent_behind_it_and_the_jog_neither():
    holds = controller(acknowledge='"TAKEN"', release='"immediate"', stop_line='"!"', stop_keeps='"held"')
    on = pendant(controller=holds, by_call=False).slow(2000).wait(600).press().click(3, -3).wait(400).let_go()
    before = len(on.sent)
    assert on.sent[-1] == "!"
    on.wait(600).press().click(3, -3).wait(900)
    assert (len(on.sent), on.why) == (before, Why.NOT_IDLE)
    on.let_go().turn(0).wait(600).press().click(4).wait(500)
    assert (len(on.sent), on.why) == (before, Why.NOT_IDLE)


def test_a_controller_that_answers_nothing_is_sent_nothing():
    on = pendant(controller=controller()).wait(600).press().click(3, -3).wait(1000)
    assert (on.sent, on.why) == ([], Why.NO_MACRO)


def test_a_click_on_an_axis_sends_the_lines_of_a_jog():
    on = pendant(0).wait(600).press().click(1).wait(1000)
    assert on.sent == ["G91 G1 X0.01 F1000", "G90"]


def test_clicks_back_go_back():
    assert pendant(2, 2).wait(600).press().click(-1).wait(1000).sent == ["G91 G1 Z-1 F1000", "G90"]


def test_clicks_while_lines_are_under_way_are_merged_and_no_more_are_under_way_than_the_sheet_allows():
    slow = pendant(0, 1, controller=QUEUED).slow(5000)
    slow.wait(600).press().click(20).wait(100)
    assert len([line for line in slow.sent if line.startswith("G91")]) == 2
    slow.wait(25_000)
    third = [line for line in slow.sent if line.startswith("G91")][2]
    assert third == "G91 G1 X1.6 F1000"  # a tenth of a second at the rate, the rest is dropped


def test_the_wheel_does_nothing_on_an_axis_without_enable():
    assert pendant(0).wait(600).click(5).wait(1000).sent == []


def test_a_gesture_without_a_button_begins_and_ends_with_a_rest():
    free = SHEET + "[gesture]\nenable_held = false\n" + SLOTS
    assert pendant(sheet=free).wait(600).click(3, -3).wait(3000).sent[:1] == ["G21 G90"]


def test_every_reason_has_its_words():
    assert set(TOLD) == set(Why)
    assert all(TOLD[why] for why in Why if why is not Why.NOTHING)
    assert all(state.value for state in HandState)
