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


def test_one_that_is_too_large_by_itself_is_kept_beside_the_others_until_the_next_of_its_kind():
    asked = []

    @remembered(len, most=12)
    def answer(text):
        asked.append(text)
        return text * (100 if text.isupper() else 2)

    for text in "AabAbaA":
        answer(text)
    assert asked == ["A", "a", "b"], "the small ones do not drive it out, nor it them"
    for text in "BaAB":
        answer(text)
    assert asked == ["A", "a", "b", "B", "A", "B"], "of those that are too large only the last is kept"


def test_an_error_is_not_kept():
    asked = []

    @remembered(len)
    def never(text):
        asked.append(text)
        raise ValueError

    for _ in range(2):
        with pytest.raises(ValueError):  # noqa: PT011
            never("x")
    assert asked == ["x", "x"]


def test_the_bench_of_a_macro_whose_report_is_too_large_is_proved_once_for_all_its_pages(client, put, monkeypatch):
    asked = []
    prove = shelf.prove_macro
    monkeypatch.setattr(
        shelf, "prove_macro", lambda macro, *more, **named: asked.append(macro.id) or prove(macro, *more, **named)
    )
    large = 2 * REMEMBERED_BYTES.most
    monkeypatch.setattr(shelf, "report_bytes", lambda report: large if len(report.program.lines) > 30 else 1)
    shelf.proved.cache_clear()
    lines = "G21 G90\nG53 G0 Z-2\n" + "G53 G0 X20\nG53 G0 X30\n" * 20
    put({"block": "own-lines", "lines": lines})
    for path in ("/bench/park", "/shelf", "/bench/home", "/bench/park?show=0", "/bench/park/drawing", "/shelf/park"):
        assert client.get(path).status_code == 200
    assert asked.count("park") == 1
    shelf.proved.cache_clear()


def macro(lines, number):
    text = "".join(f"G53 G0 X{20 + at % 100} Y{20 + number % 50}\\n" for at in range(lines))
    head = 'format = "clickstop-macro/1"\nid = "m"\nname = "M"\n[[step]]\nblock = "own-lines"\n'
    return f'{head}lines = "G21 G90\\nG53 G0 Z-2\\n{text}"\n'


@pytest.mark.long
def test_every_key_that_is_pressed_in_a_long_macro_takes_no_more_memory_than_stated():
    """With an eighth of the room and of the macro: the bytes are counted one by one, which takes its time."""
    sheets = {kind: text for kind, id, text in starter.documents() if id == "workshop"}
    room = REMEMBERED_BYTES.most // 8
    proved = remembered(shelf._bytes_of, most=room)(shelf.proved.__wrapped__)
    shelf.proved.__wrapped__(macro(250, -1), sheets["machine"], sheets["controller"])
    tracemalloc.start()
    try:
        before = tracemalloc.get_traced_memory()[0]
        for number in range(14):
            found = proved(macro(250, number), sheets["machine"], sheets["controller"])
        taken = tracemalloc.get_traced_memory()[0] - before
    finally:
        tracemalloc.stop()
    assert len(found.report.trace.moves) > 240
    assert len(proved.kept) < 8, "some have given way"
    assert room / 4 < taken < 1.5 * room
    assert report_bytes(found.report) * len(proved.kept) <= room * 1.1
