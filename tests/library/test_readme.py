"""README.txt of a pack: every file is in it, and every file in it is there."""

from __future__ import annotations

import re

import pytest

from library.pack.readme import CAUTIONS
from library.pendant import gathering, sizes
from tests.library.benches import controller
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


def test_a_first_line_that_is_not_written_is_told_to_be_put_in():
    assert "Put O{number} in as the first line of each" in flowing(
        readme(made(controller=KEEPS + 'program_head = "O{number}"\n'))
    )


def test_where_the_pendant_may_send_nothing_it_says_so():
    assert "there is no table: write what the controller answers" in flowing(readme(made(controller=controller())))


def test_a_controller_that_holds_what_was_stopped_is_warned_of():
    held = controller(acknowledge='"TAKEN"', release='"immediate"', stop_line='"!"', stop_keeps='"held"')
    assert "RESUME CONTINUES IT" in readme(made(controller=held))


def test_it_says_what_the_tables_and_the_program_take_and_what_there_is():
    taken = made(controller=KEEPS)
    took = sizes.of(gathering.table(taken.goes))
    said = flowing(readme(taken))
    assert f"the tables take {took.tables} bytes of flash, {took.flash} with the program, and {took.ram} bytes" in said
    assert "The pendant sheet gives 16384 bytes of flash and 1024 of memory." in said
