"""The tables are read back out of their own text, and a text that says anything else is refused."""

from __future__ import annotations

import random

import pytest

from library.pack import outgoing
from library.pendant import gathering, reading, writing
from library.pendant.reading import TableError
from tests.library.pendant.compiling import documents, program
from tests.library.pendant.test_compiling import PROGRAMS
from tests.library.pendant.test_simulated import goes


@pytest.mark.parametrize("kind", PROGRAMS)
def test_what_is_written_is_read_back_whatever_the_documents_say(kind):
    table = gathering.table(outgoing(documents(**PROGRAMS[kind])))
    assert reading.read(writing.text(table)) == table


def test_nine_slots_and_a_jog_are_read_back():
    table = gathering.table(goes())
    assert reading.read(writing.text(table)) == table
    assert len(table.slots) == 9


def test_any_byte_that_is_changed_gives_another_table_or_none():
    table = gathering.table(goes())
    text = writing.text(table)
    chance = random.Random(5)
    for place in chance.sample(range(len(text)), 400):
        changed = text[:place] + chr(ord(text[place]) ^ 1) + text[place + 1 :]
        try:
            assert reading.read(changed) != table, place
        except TableError:
            continue


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("if (at.kind == 2u) {", "if (at.kind == 9u) {"),
        ("#endif\n", "#define G0 G1\n#endif\n"),
        (" * slots.h: what", " * slots.h: not what"),
        ("{ 3, 0, 0 },", "{ 3, 0, 0 }, { 3, 1, 0 },"),
        ("#define CLICKSTOP_SLOTS 3", "#define CLICKSTOP_SLOTS 2"),
        ("#define CLICKSTOP_LONGEST_LINE", "#define CLICKSTOP_LONGEST_LINE 9\n#define CLICKSTOP_OTHER"),
    ],
)
def test_a_text_with_anything_of_its_own_is_refused_in_one_line(before, after):
    text = program()["slots.h"].decode()
    assert before in text
    with pytest.raises(TableError) as refused:
        reading.read(text.replace(before, after, 1))
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("text", ["", "int main;", "#define CLICKSTOP_SLOTS x\n", "\x00" * 99])
def test_what_is_no_table_at_all_is_refused(text):
    with pytest.raises(TableError, match="it is not a table"):
        reading.read(text)


def test_another_line_in_the_table_is_read_as_what_it_says():
    text = program()["slots.h"].decode().replace("G53 G0 Z-2", "G53 G0 Z-9")
    lines = [line for macro in reading.read(text).macros for stage in macro.stages for line in stage.lines]
    assert "G53 G0 Z-9" in lines
