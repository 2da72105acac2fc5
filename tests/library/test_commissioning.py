"""The commissioning sheet: a blank to fill in without the wiring, complete with it."""

from __future__ import annotations

import html
import re

import pytest

from library.documents import parse
from library.pack.printed import commissioning
from library.sheets.wiring import GROUPS
from tests.library.benches import PENDANT, ROUTER, controller
from tests.library.test_pack import made

TELLS = parse("controller", controller(acknowledge='"TAKEN"', acknowledge_means='"done"'))
SLOT = '[slots."4"]\nx1 = "lift"\n'
WIRED = (
    PENDANT
    + SLOT
    + """
[wiring]
supply = { wire = "red", pin = "5V" }
common = { wire = "black", pin = "0V" }
"""
    + "".join(
        f'[[wiring.signal]]\ngroup = "{group}"\nis = "{what}"\nwire = "w{number}"\npin = "p{number}"\n'
        for number, (group, what) in enumerate(
            [
                *(("selector", label) for label in ("OFF", "X", "Y", "Z", "4", "5", "6")),
                *(("increments", label) for label in ("x1", "x10", "x100")),
                *(("wheel", label) for label in "AB"),
                ("enable", "pressed"),
                ("stop", "pressed"),
                ("lamp", "lit"),
                ("serial", "out"),
                ("serial", "in"),
            ]
        )
    )
)


def page(**changes):
    return made(**{"pendant": PENDANT + SLOT, **changes}).files["commissioning.html"].decode()


def plain(text):
    return html.unescape(" ".join(re.sub(r"<style>.*?</style>|<[^>]+>", " ", text, flags=re.DOTALL).split()))


def cells(text):
    return [re.findall(r"<t[dh][^>]*>(.*?)</t[dh]>", row) for row in re.findall(r"<tr><th.*?</tr>", text)]


def test_every_system_has_a_page_of_its_own_with_its_conductors_and_a_signature():
    text = page()
    sheets = text.split("<article")[1:]
    for number, group in enumerate(GROUPS, start=2):
        assert f"{number}. {commissioning.TITLES[group]}" in sheets[number - 1]
    assert all("Signature" in each for each in sheets)


def test_without_wiring_it_is_a_blank_that_names_every_conductor():
    text = page()
    assert "The pendant sheet says nothing of the wiring" in text
    rows = {row[0]: row for row in cells(text)}
    for what in ("supply", "common", "OFF", "X", "4", "x100", "A", "B"):
        assert rows[what][1:3] == ["", ""]


def test_with_wiring_every_wire_and_pin_is_filled_in():
    text = page(pendant=WIRED)
    assert "says nothing of the wiring" not in text
    rows = {row[0]: row for row in cells(text)}
    assert rows["supply"][1:3] == ["red", "5V"]
    assert rows["OFF"][1:3] == ["w0", "p0"]
    assert rows["x100"][1:3] == ["w9", "p9"]
    assert "reads low when closed" in rows["4"][3]
    measured = [row for row in cells(text) if len(row) == 5 and "<code>" not in row[0] and row[0] != "Conductor"]
    assert all(all(row[:4]) for row in measured)


def test_each_position_is_measured_closed_at_itself_and_open_everywhere_else():
    rows = {row[0]: row for row in cells(page())}
    assert rows["Y"][3] == "closed to common at Y, open everywhere else"


def test_a_contact_that_closes_to_supply_is_measured_so_and_has_its_resistor():
    rows = {row[0]: row for row in cells(page(pendant=WIRED.replace('pin = "p4"', 'pin = "p4"\nclosed = "high"')))}
    closed = "closed to supply at 4, open everywhere else; reads high when closed"
    assert rows["4"][3] == f"{closed}; a resistor from the pin to common is fitted"


def test_the_cautions_of_wiring_are_on_it():
    said = plain(page())
    for caution in (
        "Supply isolated; wiring by a competent or licensed person",
        "An ordinary button is no certified enabling device",
        "has to remove drive power through a hard-wired circuit",
        "Plug of the pendant pulled: drive power is removed as well",
        "Polarity of supply and common marked, and the same at both ends",
        "relieved of strain",
    ):
        assert caution in said


def test_a_line_on_the_port_takes_what_its_bytes_take():
    # 24 bytes of 10 bits: 2.1 ms at 115,200 and 25 ms at 9,600 bits a second (by calculation)
    assert "a line of 24 bytes takes 2.1 ms at 115200 bits a second and 25 ms at 9600" in plain(page())


def test_each_position_and_increment_is_echoed_at_first_power_and_a_click_moves_the_smallest_step():
    taken = made(pendant=PENDANT + SLOT)
    said = plain(taken.files["commissioning.html"].decode())
    off, third = "Selector turned to OFF (dead): 1 flash, or dark", "Increment turned to x100: 3 flashes, or dark"
    for what in (off, "Selector turned to Z (drives Z): 4 flashes", third, "program is loaded: README.txt, 2"):
        assert what in said
    assert "X at x1, one click each way: 0.01 mm" in said
    assert f"flashes the number of the issue, {taken.goes.issue.number}" in said


def test_how_a_position_is_echoed_depends_on_what_is_wired():
    assert "Selector turned to Z (drives Z): 4 flashes " in plain(page(pendant=WIRED))
    assert "Increment turned to x10: 2 flashes " in plain(page(pendant=WIRED))
    off = WIRED.replace('group = "selector"\nis = "OFF"', 'group = "serial"\nis = "shield"', 1)
    assert "Selector turned to OFF (dead): dark " in plain(page(pendant=off))
    lampless = WIRED.replace('group = "lamp"\nis = "lit"', 'group = "serial"\nis = "shield"', 1)
    said = plain(page(pendant=lampless))
    assert "Selector turned to Z (drives Z): its pin alone has the level of a closed contact" in said
    assert "flashes" not in said.partition("First power")[2].partition("number of the issue")[2]


def test_steps_are_in_the_units_of_the_machine():
    assert "X at x1, one click each way: 0.0004 in" in plain(page(machine=ROUTER))


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({}, "G4 P2 nothing happens for two seconds by the watch"),
        ({"dwell": '{ word = "P", unit = "ms" }'}, "G4 P2000 nothing happens for two seconds"),
        ({"dwell": '{ word = "S", unit = "s" }'}, "G4 S2 nothing happens for two seconds"),
        ({}, "G53 G0 Z-2 understood; not refused before it is homed: HOME FIRST"),
        ({"refuses_unhomed": "true"}, "G53 G0 Z-2 understood; refused before it is homed"),
        ({"machine_moves": "false"}, "there are no moves in machine coordinates"),
        ({}, "M0 waits for the operator"),
        ({"pause": '""'}, "M0 refused"),
        ({}, "G28 goes to the stored point"),
        ({"g28": '"home"'}, "G28 runs the homing cycle"),
        ({}, "G80 understood, nothing moves"),
        ({"unsupported": '["G80"]'}, "G80 refused"),
        ({"error_starts": '["FAULT"]'}, "G999, a wrong line an answer that begins FAULT"),
        ({}, "G999, a wrong line the sheet does not say"),
        ({}, "G90, a good line answers TAKEN and nothing else"),
        ({"acknowledge_match": '"start"'}, "answers TAKEN, and more may follow"),
        ({"acknowledge": '""'}, "G90, a good line nothing is answered"),
        ({"idle_ask": '"?"', "idle_answer": '"REST"'}, "? an answer that begins REST"),
        ({"stop_line": '"\\u0018"', "stop_keeps": '"held"'}, "during the first \\u0018 nothing is stopped"),
        ({"program_head": '"O{number}"'}, "O{number} stands at the head of each macro file, its number filled in"),
    ],
)
def test_what_the_controller_does_is_found_by_trial_against_its_sheet(keys, told):
    assert told in plain(page(controller=controller(**{"acknowledge": '"TAKEN"', **keys})))


def test_every_way_in_which_nothing_may_happen_is_tried():
    sheet = parse("pendant", PENDANT)
    ways = list(commissioning.nothing_happens(sheet, TELLS))
    for part in (
        "selector alone",
        "wheel alone",
        "before the selector has rested",
        "wrong turn",
        "midway",
        "lead pulled",
    ):
        assert any(part in way for way in ways), part
    assert any("not 3 clicks one way, then 3 back, but a click too many" in way for way in ways)
    free = parse("pendant", PENDANT + "gesture = { enable_held = false }\n")
    assert not any("enable let go" in way.lower() for way in commissioning.nothing_happens(free, TELLS))


PROGRAM_RUNS = "A program runs or waits, then the whole gesture"


@pytest.mark.parametrize(
    "tells", [{"settle": '"G4 P0"'}, {"idle_ask": '"?"', "idle_answer": '"REST"'}, {"acknowledge_means": '"done"'}]
)
def test_the_gesture_is_tried_while_a_program_runs_where_something_tells_the_pendant_of_it(tells):
    said = plain(page(controller=controller(acknowledge='"TAKEN"', **tells)))
    assert PROGRAM_RUNS in said
    assert "Nothing tells the pendant" not in said


def test_where_nothing_tells_that_a_program_runs_that_is_on_the_operator_and_not_tried():
    said = plain(page())
    assert PROGRAM_RUNS not in said
    assert "NOT WHILE A PROGRAM RUNS OR WAITS. Nothing tells the pendant that one does" in said
    assert "is on the operator" in said


def test_what_the_lamp_flashes_stands_on_its_page():
    lamp = next(each for each in page().split("<article") if "Lamp</h2>" in each)
    said = plain(lamp)
    assert "ten for 0, eleven to sixteen for a to f" in said
    assert "1 flash: Enable was held before the selector had rested." in said
    assert "8 flashes: The stop was pressed." in said


def test_the_first_trial_that_moves_is_made_with_a_hand_on_the_emergency_stop():
    said = plain(page())
    asked = said.index("Rates reduced as far as the controller allows, a hand on the emergency stop")
    assert asked < said.index("G53 G0 Z")


def test_a_jog_that_may_leave_incremental_distances_is_looked_for_at_the_panel():
    asks = "Enable let go while the wheel still turns; then look at the panel: G91 may be in force"
    assert asks in plain(page())
    assert asks not in plain(page(controller=controller(acknowledge='"TAKEN"', jog='["G1 {axis}{step} F{rate}"]')))


def test_a_name_is_text_of_the_page_and_nothing_else():
    text = page(pendant=(PENDANT + SLOT).replace("Hand pendant", "<b>&amp;"))
    assert "&lt;b&gt;&amp;amp;" in text


STOPS = {"acknowledge": '"TAKEN"', "release": '"immediate"', "stop_line": '"@CEASE"'}
HOLDS = {**STOPS, "stop_keeps": '"held"'}


def tried(**keys):
    return {each.send: each.says for each in commissioning.trials(made(controller=controller(**keys)).goes)}


def test_the_stop_line_is_tried_with_a_move_behind_the_one_that_runs_and_then_resumed():
    dropped, held = tried(**STOPS), tried(**HOLDS)
    stop, resume = "Two slow moves, one behind the other; during the first @CEASE", "Then resume at the panel, or start"
    assert dropped[stop] == "the move stops at once; the second is dropped"
    assert held[stop] == "the move stops at once; the second is held"
    assert dropped[resume] == "nothing moves"
    assert held[resume].startswith("the rest of both moves is carried out")
    wired = tried(acknowledge='"TAKEN"', release='"wired"', stop_keeps='"held"')
    assert "Two slow moves, one behind the other; during the first enable let go" in wired


def test_a_controller_that_holds_is_asked_whether_it_says_that_it_is_idle_meanwhile():
    asked = tried(**HOLDS, idle_ask='"@STATE"', idle_answer='"REST"')
    assert "not idle while it holds" in asked["Stopped so again, @STATE before it is resumed"]
    settled = tried(**HOLDS, settle='"G4 P0"')
    assert settled["Stopped so again, G4 P0 before it is resumed"] == "no answer before it is resumed"


def test_where_what_was_stopped_is_held_sheet_card_and_readme_say_what_to_do_first():
    for keys, clear in ((HOLDS, True), ({**HOLDS, "settle": '"G4 P0"'}, False), (STOPS, False)):
        taken = made(controller=controller(**keys))
        card, readme = plain(taken.files["card.html"].decode()), " ".join(taken.files["README.txt"].decode().split())
        assert ("CLEAR THE CONTROLLER, THEN SWITCH THIS OFF AND ON" in card) is clear
        assert ("Clear that at the panel, then switch the pendant off and on" in readme) is clear
        held = "stop_keeps" in keys
        assert ("RESUME CONTINUES IT" in readme) is held
        assert (
            "before the controller is resumed or cleared" in plain(taken.files["commissioning.html"].decode())
        ) is held


def test_the_sheet_of_a_pendant_that_may_send_nothing_tells_of_nothing_that_it_would_do():
    taken = made(controller=controller())
    assert taken.goes.blind
    said = plain(taken.files["commissioning.html"].decode())
    assert "THIS PENDANT MAY SEND NOTHING" in said
    for never in ("To run:", "flash", "Where the whole gesture", "A wrong turn", "the slow copy first"):
        assert never not in said
