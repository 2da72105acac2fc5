"""What is remembered takes no more than so many bytes, however large each answer is."""

from __future__ import annotations

import tracemalloc

import pytest

from library import starter
from library.limits import REMEMBERED_BYTES
from webapp.pages import shelf
from webapp.remembered import remembered, report_bytes


def test_an_answer_is_worked_out_once():
    asked = []

    @remembered(lambda answer: 1, most=10)
    def double(text):
        asked.append(text)
        return text * 2

    assert [double("a"), double("b"), double("a")] == ["aa", "bb", "aa"]
    assert asked == ["a", "b"]


def test_the_oldest_is_forgotten_where_all_take_too_much():
    asked = []

    @remembered(len, most=40)
    def ten(text):
        asked.append(text)
        return text * 9  # with the text itself ten bytes

    for text in "abcdaea":
        ten(text)
    assert asked == list("abcde"), "a was asked again in time"
    ten("b")
    assert asked[-1] == "b"
    assert len(ten.kept) == 4


def test_the_last_is_kept_whatever_it_takes_and_an_error_is_not():
    @remembered(len, most=3)
    def tenfold(text):
        if text == "x":
            raise ValueError
        return text * 10

    tenfold("a")
    tenfold("b")
    assert len(tenfold.kept) == 1
    with pytest.raises(ValueError):  # noqa: PT011
        tenfold("x")
    assert len(tenfold.kept) == 1


def macro(lines, number):
    text = "".join(f"G53 G0 X{20 + at % 100} Y{20 + number % 50}\\n" for at in range(lines))
    head = 'format = "clickstop-macro/1"\nid = "m"\nname = "M"\n[[step]]\nblock = "own-lines"\n'
    return f'{head}lines = "G21 G90\\nG53 G0 Z-2\\n{text}"\n'


@pytest.mark.long
def test_every_key_that_is_pressed_in_a_long_macro_takes_no_more_memory_than_stated():
    sheets = {kind: text for kind, id, text in starter.documents() if id == "workshop"}
    tracemalloc.start()
    try:
        before = tracemalloc.get_traced_memory()[0]
        for number in range(12):
            found = shelf.proved(macro(2_000, number), sheets["machine"], sheets["controller"])
        taken = tracemalloc.get_traced_memory()[0] - before
    finally:
        tracemalloc.stop()
    assert len(found.report.trace.moves) > 1_900
    assert taken < 1.5 * REMEMBERED_BYTES.most
    assert report_bytes(found.report) * len(shelf.proved.kept) <= REMEMBERED_BYTES.most * 1.1
