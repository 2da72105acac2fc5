"""The whole pendant: contacts that bounce, a selector between two positions, the wheel, the jog and the lamp."""

from __future__ import annotations

import random
from itertools import pairwise

import pytest

from tests.library.pendant.compiling import ANSWERING, SLOTS, program
from tests.library.pendant.pendants import State, Why
from tests.library.pendant.whole import Whole

pytestmark = pytest.mark.long

QUEUED = ANSWERING.replace('"done"', '"queued"')
STOPPING = QUEUED + 'release = "immediate"\nstop_line = "@CEASE"\n'
X, MACRO, DEAD = 0, 3, 6
JOG = "G91 G1 X{} F1000"


def whole(controller=ANSWERING, pendant=SLOTS, **how):
    return Whole(program(controller=controller, pendant=pendant), **how)


def motions(sent):
    return [line for line in sent if line.startswith("G91")]


# Contacts


def test_a_contact_that_bounces_is_closed_once():
    on = whole().turn(MACRO).wait(600)
    for _ in range(10):  # 20 ms
        on.enable = not on.enable
        on.wait(2)
    on.enable = True
    on.wait(20)
    assert on.state is State.READY
    on.wait(10)
    assert on.state is State.ENABLED


def test_a_button_that_is_let_go_counts_at_once():
    on = whole().ready(MACRO)
    on.enable = False
    assert on.wait(1).state is State.READY


def test_a_selector_between_two_positions_stands_nowhere_and_nothing_is_sent():
    on = whole().ready(None)
    assert on.click(3).click(-3).wait(400).sent == []
    on = whole().ready(MACRO)
    on.positions = {MACRO, MACRO + 1}  # both contacts, as between some detents
    assert on.click(3).click(-3).wait(2000).sent == []


def test_a_turn_from_one_macro_to_another_through_the_gap_between_fires_none():
    on = whole().ready(MACRO)
    on.click(3).turn(None).wait(5).turn(5)
    assert on.wait(5).click(-3).wait(2000).sent == []


def test_a_stop_counts_at_once_and_is_over_only_when_it_has_lasted():
    on = whole(STOPPING).ready(MACRO)
    on.stop = True
    assert on.wait(1).sent == ["@CEASE"]
    on.stop = False
    on.wait(10)
    on.stop = True
    on.wait(10)
    assert on.sent == ["@CEASE"]  # it was still the same


# The wheel


def test_the_wheel_is_read_both_ways_and_a_jump_counts_as_nothing():
    on = whole()
    forward = [0b10, 0b11, 0b01, 0b00]  # A goes first
    assert [on.edge(levels) for levels in forward] == [1, 1, 1, 1]
    assert [on.edge(levels) for levels in [0b01, 0b11, 0b10, 0b00]] == [-1, -1, -1, -1]
    assert [on.edge(0b11), on.edge(0b11)] == [0, 0]


def test_edges_that_are_no_whole_click_are_forgotten_when_the_wheel_rests():
    on = whole().ready(X)
    for _ in range(5):
        on.edges += 3
        on.wait(300)
    assert on.sent == []
    on.edges += 4
    assert on.wait(50).sent == [JOG.format("0.01"), "G90"]


@pytest.mark.parametrize("edges", [1, 2, 4])
def test_a_click_has_as_many_edges_as_the_sheet_says(edges):
    on = whole(pendant=SLOTS + f"[wheel]\nedges_per_click = {edges}\n").ready(X)
    on.edges += 4
    on.wait(300)
    assert len(motions(on.sent)) == 1
    assert motions(on.sent) == [JOG.format(f"{0.01 * 4 / edges:g}")]


# The jog


@pytest.mark.parametrize(("increment", "step"), [(0, "0.01"), (1, "0.1"), (2, "1")])
def test_a_click_moves_its_axis_by_a_step_either_way(increment, step):
    on = whole().ready(X, increment)
    on.click(1, 400).click(-1, 400)
    assert on.sent == [JOG.format(step), "G90", JOG.format(f"-{step}"), "G90"]


def test_nothing_moves_without_the_button_or_where_it_was_held_early():
    on = whole().turn(X).wait(600)
    assert on.click(5).sent == []
    on.enable = True
    on.wait(40)
    on.turn(1).wait(1000)
    assert on.click(5).sent == []
    assert on.why is Why.HELD_EARLY


def test_dead_positions_do_nothing():
    assert whole().ready(DEAD).click(5).click(3).click(-3).wait(500).sent == []


def test_a_step_that_is_left_out_does_not_jog():
    on = whole(pendant=SLOTS + "[jog]\nstep = { x10 = 0.1 }\n")
    assert on.ready(X, 0).click(3).sent == []


def test_the_next_line_waits_for_the_answer_to_the_one_before():
    on = whole(answer=lambda line, number: None).ready(X)
    assert on.click(5).wait(2000).sent == [JOG.format("0.01")]


def test_clicks_meanwhile_are_merged_up_to_one_line_and_the_rest_is_dropped():
    on = whole(after=500).ready(X, 2)  # 1 mm a click: one click takes more than a tenth of a second at F1000
    on.click(20, 10).wait(5000)
    assert motions(on.sent) == [JOG.format("1"), JOG.format("1")]
    on = whole(after=500).ready(X, 1)
    on.click(1, 10).click(40, 5).wait(5000)
    assert motions(on.sent) == [JOG.format("0.1"), JOG.format("1.6")]


def test_clicks_one_way_and_back_while_a_line_is_under_way_come_to_nothing():
    on = whole(after=500).ready(X, 1)
    on.click(1, 10).click(3, 10).click(-3, 10).wait(3000)
    assert motions(on.sent) == [JOG.format("0.1")]


@pytest.mark.parametrize("in_flight", [1, 2, 5])
def test_no_more_lines_are_under_way_than_the_sheet_says(in_flight):
    # all is taken at once, and the controller never says that it is idle
    on = whole(QUEUED, pendant=SLOTS + f"[jog]\nin_flight = {in_flight}\n", idle=lambda on: False).ready(X, 2)
    on.click(30, 40)
    assert len(motions(on.sent)) == in_flight


def test_where_nothing_tells_when_a_line_is_over_its_longest_time_does():
    on = whole(QUEUED).ready(X, 2)
    for _ in range(200):
        on.click(1, 10)
    # 1 mm at F1000 takes 60 ms, and starting and braking 76 ms more; the first begins after the latency of the sheet,
    # 100 ms, and two are under way at the end
    assert (2000 - 100) / 138 + 1 <= len(motions(on.sent)) <= (2000 - 100) / 135 + 2


def test_each_of_the_lines_under_way_makes_room_by_itself():
    on = whole(QUEUED).ready(X, 2)
    times = []
    for _ in range(100):
        before = len(motions(on.sent))
        on.click(1, 10)
        if len(motions(on.sent)) > before:
            times.append(on.now)
    gaps = [late - early for early, late in pairwise(times)][2:]
    assert gaps
    assert all(130 <= gap <= 150 for gap in gaps)  # one after the other, not two at once and then a wait


def test_single_clicks_are_not_counted_longer_than_they_take():
    on = whole(QUEUED).ready(X, 0)
    on.click(12, 60).wait(200)
    # 0.01 mm takes 13.5 ms from rest to rest after the latency, 100 ms; two are under way, so that there is room for
    # one in 57 ms. Were each counted with the way up to F1000 and back, 76 ms, they would be merged.
    assert motions(on.sent) == [JOG.format("0.01")] * 12


def test_clicks_faster_than_there_is_room_are_merged_and_none_is_lost():
    on = whole(QUEUED).ready(X, 0)
    on.click(2, 5).click(12, 20).wait(500)
    assert len(motions(on.sent)) < 14
    assert sum(float(line.split()[2][1:]) for line in motions(on.sent)) == pytest.approx(0.14)


def test_letting_go_sends_nothing_more_but_the_stop_line():
    on = whole(STOPPING, after=100).ready(X, 2)
    on.click(3, 10)
    on.enable = False
    assert on.wait(3000).sent == [JOG.format("1"), "@CEASE"]
    on.enable = True
    assert on.wait(1000).sent == [JOG.format("1"), "@CEASE"]


def test_a_turn_in_the_middle_of_a_jog_sends_nothing_more_but_the_stop_line():
    on = whole(STOPPING, after=100).ready(X, 2)
    on.click(3, 10).turn(1)
    assert on.wait(3000).click(5).sent == [JOG.format("1"), "@CEASE"]


def test_a_refused_jog_stops_and_names_its_line():
    on = whole(STOPPING, answer=lambda line, number: "FAULT" if number == 2 else "TAKEN").ready(X)
    on.click(4, 100)
    assert on.sent == [JOG.format("0.01"), "G90", "@CEASE"]
    assert (on.state, on.why, on.at_line) == (State.FAILED, Why.REFUSED, 2)


def test_a_jog_without_an_answer_is_an_error():
    on = whole(answer=lambda line, number: None).ready(X).click(1)
    assert on.wait(20_000).why is Why.NO_ANSWER


def test_after_a_jog_without_an_answer_no_click_goes_out_before_it_has_come():
    on = whole(answer=lambda line, number: None).ready(X).click(1).wait(20_000)
    on.enable = False
    on.wait(40).enable = True
    assert on.wait(40).click(3).wait(20_000).sent == [JOG.format("0.01")]
    assert on.why is Why.NOT_IDLE
    on.say("TAKEN")
    assert on.wait(50).click(1).sent == [JOG.format("0.01"), JOG.format("0.01")]


def test_a_controller_that_answers_nothing_gets_a_jog_of_one_line_only():
    storing = 'format = "clickstop-controller/1"\ncall = "@{number}"\nfile_name = "{number}.nc"\n'
    silent = {"answer": lambda line, number: None}
    assert whole(storing, **silent).ready(X).click(3, 300).sent == []
    one = storing + 'jog = ["@GO {axis} {step}"]\n'
    assert whole(one, **silent).ready(X).click(2, 400).sent == ["@GO X 0.01", "@GO X 0.01"]


def test_a_jog_is_asked_for_its_end_where_the_sheet_says_how():
    asking = QUEUED + 'idle_ask = "@STATE"\nidle_answer = "IDLE"\n'
    on = whole(asking, answer=lambda line, number: "IDLE" if line == "@STATE" else "TAKEN").ready(X, 2)
    on.click(4, 500)
    assert motions(on.sent) == [JOG.format("1")] * 4
    assert "@STATE" in on.sent


def test_a_jog_ends_with_the_settle_line_where_the_sheet_says_so():
    on = whole(QUEUED + 'settle = "G4 P0"\n').ready(X, 2).click(1, 500)
    assert on.sent == [JOG.format("1"), "G90", "G4 P0"]


def test_a_jog_and_then_a_macro():
    on = whole().ready(X).click(2, 300)
    before = len(on.sent)
    on.enable = False
    on.ready(MACRO).click(3).click(-3).wait(2000)
    assert on.sent[before:] == ["G21 G90", "G53 G0 Z-2"]


def test_inches_are_written_where_the_controller_rests_in_them():
    inch = ANSWERING + 'resting = "G17 G20 G40 G80 G90 G94"\n'
    assert whole(inch).ready(X, 2).click(1).sent[0] == "G91 G1 X0.0394 F39.3701"


class Watched(Whole):
    """A whole pendant that does anything at random; ``broken`` tells where a line went out that may not."""

    def __init__(self, files, chance):
        self.chance, self.owed, self.since, self.broken = chance, False, 0, []
        super().__init__(files, answer=lambda line, number: self.reply(line))

    def reply(self, line):
        if line == "@CEASE":
            return None
        place = next(iter(self.positions), None)
        may_not = {
            "let go": not self.enable,
            "stopped": self.stop or self.state is State.STOPPED,
            "refused": self.state is State.FAILED,
            "a second line before the answer to the first": self.owed,
            "between two positions": place is None,
            "the selector had not rested": self.now - self.since < 500,
            "nothing is there": place in (4, 6),
            "another axis": line.startswith("G91") and line.split()[2][0] != "XYZ"[place],
        }
        self.broken += [(why, line, self.now) for why, is_so in may_not.items() if is_so]
        self.owed = True
        return self.chance.choice(["TAKEN"] * 12 + ["FAULT", "TAKEN\nTAKEN", "HELLO\nTAKEN", "TA", None])

    def _read(self, context):
        byte = super()._read(context)
        self.owed = self.owed and byte != ord("\n")
        return byte

    def to(self, place):
        before = self.positions
        self.turn(place)
        if self.positions != before:
            self.since = self.now
            self.wait(1)  # a hand does not turn away and back between two looks

    def anything(self):
        what = self.chance.randrange(14)
        if what == 0:
            self.to(self.chance.choice([0, 0, 1, 2, 3, 3, 4, 5, 6, None]))
        elif what < 3:
            self.enable = not self.enable
            self.owed = False
            self.wait(30)
        elif what == 3 and self.chance.random() < 0.2:
            self.stop = True
            self.wait(50).click(2).stop = False
            self.enable = False
            self.wait(60)
            back = self.positions
            self.to(4 if back == {3} else 3)
            self.wait(60)
            self.positions, self.since = back, self.now
        elif what < 6:
            self.wait(self.chance.randrange(900))
        elif what < 8:
            self.click(3, 20).click(-3, 20).wait(300)
        else:
            self.click(self.chance.randrange(-4, 5), self.chance.randrange(1, 60))


@pytest.mark.parametrize("seed", range(8))
def test_whatever_is_turned_and_clicked_a_line_goes_out_only_where_it_may(seed):
    on = Watched(program(controller=STOPPING), random.Random(seed))
    for _ in range(400):
        on.anything()
    assert on.broken == []
    assert len(motions(on.sent)) > 0


WITHOUT = {
    "enabled before a jog": [
        ("if (sender->state != CLICKSTOP_ENABLED || most == 0) {", "if (most == 0) {"),
        ("if (sender->state == CLICKSTOP_ENABLED && pendant->lines == 0u", "if (pendant->lines == 0u"),
    ],
    "an answer before the next line of a jog": [("    if (sender->waiting) {\n", "    if (0) {\n")],
    "one position at a time": [("            if (found != CLICKSTOP_NONE) {\n", "            if (0) {\n")],
}


def weakened(name):
    """The program with a safeguard of the whole pendant taken out."""
    files = program(controller=STOPPING)
    for before, after in WITHOUT[name]:
        text = files["pendant.h"].decode()
        assert text.count(before) == 1
        files["pendant.h"] = text.replace(before, after).encode()
    return files


@pytest.mark.parametrize("name", ["enabled before a jog", "an answer before the next line of a jog"])
def test_without_a_safeguard_of_the_jog_a_line_goes_out_that_may_not(name):
    broken = []
    for seed in range(6):
        on = Watched(weakened(name), random.Random(seed))
        for _ in range(400):
            on.anything()
        broken += on.broken
    assert broken


def test_without_one_position_at_a_time_two_closed_contacts_would_fire():
    for files, fires in ((program(controller=STOPPING), False), (weakened("one position at a time"), True)):
        on = Whole(files)
        on.positions = {X, MACRO}
        on.wait(600).enable = True
        assert bool(on.wait(40).click(3).click(-3).wait(400).sent) is fires


# The lamp and the issue


def flashes(lit):
    return sum(1 for _, on in lit if on)


def test_at_power_up_the_lamp_flashes_the_number_of_the_issue_and_a_display_shows_it():
    on = whole()
    number = on.shown[0].split()[-1]
    on.wait(8 * (16 * 400 + 1300))
    assert flashes(on.lit) == sum(int(sign, 16) or 16 if sign != "0" else 10 for sign in number) + sum(
        1 for sign in number if sign in "abcdef"
    )
    after = len(on.lit)
    assert len(on.wait(5000).lit) == after


def test_pressing_enable_ends_the_flashing():
    on = whole().ready(X)
    before = len(on.lit)
    assert len(on.wait(5000).lit) <= before + 1


def code(on):
    """How many flashes there are between two pauses, of what is shown now; 0 for dark."""
    start = len(on.lit)
    on.wait(20_000)
    changes = on.lit[start:]
    starts = [at for at, lit in changes if lit]
    pauses = [late - early > 1000 for early, late in pairwise(starts)]
    return pauses.index(True, pauses.index(True) + 1) - pauses.index(True) if any(pauses) else len(starts)


def test_before_enable_is_first_pressed_a_selector_that_is_turned_flashes_its_place():
    on = whole().wait(600)
    for place in (X, MACRO, DEAD, 5):
        assert code(on.turn(place).wait(40)) == place + 1
    assert code(on.turn(None).wait(40)) == 0
    on.increments = {2}
    assert code(on.wait(40)) == 3
    assert code(on.turn(5).wait(40)) == 6  # back on the contact it came from
    on.enable = True
    assert code(on.wait(40)) == 0
    on.enable = False
    assert code(on.wait(40).turn(X)) == 0
    assert on.sent == []


def test_where_the_selectors_stand_at_power_up_leaves_the_issue_to_the_lamp():
    on = whole()
    number = on.shown[0].split()[-1]
    on.turn(MACRO)  # as if it had stood there: before anything has rested
    first = int(number[0], 16) or 10
    on.wait(first * 400 + 500)
    assert flashes(on.lit) == first + (number[0] in "abcdef")


def test_the_lamp_flashes_why_nothing_fires():
    on = whole().ready(4).click(3).click(-3).wait(400)
    assert on.why is Why.NO_MACRO
    start = len(on.lit)
    on.wait(3 * 400 + 1200)
    assert flashes(on.lit[start:]) in (2, 3)
