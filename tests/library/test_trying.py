"""The pendant as it is tried on its page: every row of the table, and what jogging sends."""

from __future__ import annotations

import pytest

from library import pack
from library.trying import TOLD, HandState, Pendant, Why
from tests.library.benches import PENDANT, controller
from tests.library.handled import POSITIONS, SLOTS, TABLE
from tests.library.test_pack import gathered

ANSWERING = controller(acknowledge='"TAKEN"', acknowledge_means='"done"', error_starts='["FAULT"]')
SHEET = PENDANT + POSITIONS


def pendant(position=3, increment=0, *, sheet=SHEET + SLOTS, controller=ANSWERING):
    return Pendant(pack.outgoing(gathered(pendant=sheet, controller=controller)), position, increment)


def done(on, deeds):
    for name, given in deeds:
        getattr(on, name)(*given)
    return on


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row.shows)
def test_what_a_hand_does_comes_to_what_the_table_says(row):
    on = done(pendant(row.at), row.deeds)
    assert (tuple(on.sent), on.why.name) == (row.sent, row.why)


def test_a_macro_that_was_fired_is_named():
    on = pendant().wait(600).press().click(3, -3).wait(1000)
    assert on.fired == ["lift"]


def test_the_stop_line_is_all_that_is_sent_when_it_ends_early():
    stops = controller(acknowledge='"TAKEN"', release='"queued-line"', stop_line='"!"')
    on = pendant(controller=stops).wait(600).press().click(3, -3).wait(300).let_go().wait(2000)
    assert on.sent == ["G21 G90", "!"]


def test_a_busy_controller_is_fired_at_by_nothing():
    on = pendant()
    on.kept_busy = True
    on.wait(600).press().click(3, -3).wait(1000)
    assert (on.sent, on.why) == ([], Why.NOT_IDLE)


def test_a_controller_that_answers_nothing_is_sent_nothing():
    on = pendant(controller=controller()).wait(600).press().click(3, -3).wait(1000)
    assert (on.sent, on.why) == ([], Why.NO_MACRO)


def test_a_click_on_an_axis_sends_the_lines_of_a_jog():
    on = pendant(0).wait(600).press().click(1).wait(1000)
    assert on.sent == ["G91 G1 X0.01 F1000", "G90"]


def test_clicks_back_go_back():
    assert pendant(2, 2).wait(600).press().click(-1).wait(1000).sent == ["G91 G1 Z-1 F1000", "G90"]


def test_clicks_while_lines_are_under_way_are_merged_and_no_more_are_under_way_than_the_sheet_allows():
    slow = pendant(0, 1)
    slow.busy_for = 5000
    slow.wait(600).press().click(20).wait(100)
    assert len([line for line in slow.sent if line.startswith("G91")]) == 2
    slow.wait(12_000)
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
