"""README.txt of a pack: every file is in it, and every file in it is there."""

from __future__ import annotations

import re

import pytest

from library import pack
from library.pack.readme import CAUTIONS
from library.pendant import GARBLED, gathering, sizes
from tests.library.benches import PENDANT, controller
from tests.library.printing import document
from tests.library.test_commissioning import WIRED
from tests.library.test_issues import KEEPS
from tests.library.test_pack import made


def readme(taken):
    return taken.files["README.txt"].decode()


def flowing(text):
    return " ".join(text.split())


@pytest.mark.parametrize("sheet", [controller(acknowledge='"TAKEN"'), KEEPS, controller()])
def test_every_file_of_the_pack_is_named_and_every_name_is_a_file(sheet):
    taken = made(controller=sheet)
    said = readme(taken)
    for path in taken.files:
        assert path == "README.txt" or path.startswith("documents/") or f"  {path}: " in said, path
    named = re.findall(r"^  ([\w./-]+):", said, re.MULTILINE)
    assert all(path in taken.files or path == "documents/" for path in named)


def test_it_is_in_the_order_of_the_commissioning_sheet():
    heads = re.findall(r"^\d\. (.*)$", readme(made(controller=KEEPS)), re.MULTILINE)
    assert heads == [
        "Wire and test the pendant",
        "Load the pendant's program",
        "Put the macros on the controller",
        "Run each macro for the first time",
        "Fix the card to the pendant",
        "Keep the rest",
    ]


def test_it_says_the_issue_the_cautions_and_what_the_proofs_assume_once():
    taken = made()
    said = flowing(readme(taken))
    assert said.startswith(f"Issue {taken.goes.issue} For Mill")
    assert all(caution in said for caution in CAUTIONS)
    assert said.count("nothing longer than 40 mm") == 1


def test_lines_can_be_read_on_any_screen():
    assert max(map(len, readme(made()).split("\n"))) <= 90


def test_where_the_pendant_may_send_nothing_it_says_so():
    assert "there is no table: write what the controller answers" in flowing(readme(made(controller=controller())))


def test_where_the_pendant_may_send_nothing_nothing_is_said_of_sending_and_there_is_no_card():
    taken = made(controller=controller())
    said = flowing(readme(taken))
    assert not {"card.svg", "card.html"} & set(taken.files)
    for words in ("card", "pendant sends the lines", "lamp", GARBLED):
        assert words not in said
    assert "5. Keep the rest" in said
    assert "card, in the head" in flowing(readme(made()))
    assert pack.differences(taken.files) == []


def test_what_a_disturbed_line_comes_to_is_told():
    assert GARBLED in flowing(readme(made()))


def test_what_the_lamp_says_is_told_where_one_is_wired():
    lit, dark = flowing(readme(made(pendant=WIRED))), flowing(readme(made()))
    for words in (
        "the lamp of the pendant flashes it",
        "ten for 0, eleven to sixteen for a to f",
        "8 flashes: The stop",
    ):
        assert words in lit
        assert words not in dark


def test_a_jog_that_may_leave_incremental_distances_is_told():
    assert "may leave G91 in force" in flowing(readme(made()))
    one = controller(acknowledge='"TAKEN"', jog='["G1 {axis}{step} F{rate}"]')
    assert "G91" not in flowing(readme(made(controller=one)))


def test_where_nothing_tells_that_a_program_runs_it_says_who_has_to_know():
    told = "Nothing on the controller sheet tells the pendant that a program runs or waits"
    assert told in flowing(readme(made(controller=controller(acknowledge='"TAKEN"'))))
    assert told not in flowing(readme(made(controller=controller(acknowledge='"TAKEN"', settle='"G4 P0"'))))


def test_a_controller_that_holds_what_was_stopped_is_warned_of():
    held = controller(acknowledge='"TAKEN"', release='"immediate"', stop_line='"!"', stop_keeps='"held"')
    assert "RESUME CONTINUES IT" in readme(made(controller=held))


def test_the_program_is_loaded_before_first_power():
    assert "First power wants the program of step 2 loaded" in flowing(readme(made(controller=KEEPS)))
    assert "First power" not in flowing(readme(made(controller=controller())))


def test_it_says_what_the_tables_and_the_program_take_and_what_there_is():
    taken = made(controller=KEEPS)
    took = sizes.of(gathering.table(taken.goes))
    said = flowing(readme(taken))
    assert f"the tables take {took.tables} bytes of flash, {took.flash} with the program, and {took.ram} bytes" in said
    assert "The pendant sheet gives 16384 bytes of flash and 1024 of memory." in said


def test_a_line_without_its_answer_is_told_of_where_nothing_is_sent_behind_it():
    told = "see at the panel that nothing is held, then switch the pendant off and on"
    answers = {"acknowledge": '"TAKEN"'}
    assert told in flowing(readme(made(controller=controller(**answers))))
    for other in ({"idle_ask": '"?"', "idle_answer": '"REST"'}, {"release": '"immediate"', "stop_line": '"!"'}):
        assert told not in flowing(readme(made(controller=controller(**answers, **other))))
    assert told not in flowing(readme(made(controller=controller())))


def test_the_parts_of_the_sheets_are_told_once_whichever_macro_rests_on_which():
    taken = made(
        controller=controller(acknowledge='"TAKEN"'),
        pendant=PENDANT + '[slots."4"]\nx1 = "lift"\nx10 = "present"\nx100 = "home"\n',
        home=document("home", "Home", 'block = "home"'),
    )
    assert len({one.report.rests_on for one in taken.goes.taken.values()}) > 1
    granted = flowing(readme(taken)).partition("What the proofs take for granted")[2]
    assert granted.count("as INVENTED on the sheet") == 1
