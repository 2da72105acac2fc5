"""A line that is garbled on its way is refused and is the last, or it is one of a share that is counted and stated."""

from __future__ import annotations

import pytest

from library.pendant import GARBLED
from tests.library.pendant import garbled
from tests.library.pendant.compiling import program_of
from tests.library.pendant.pendants import Why
from tests.library.pendant.test_simulated import goes, nine
from tests.library.pendant.whole import Whole

pytestmark = pytest.mark.long


def test_a_line_that_arrives_as_it_was_sent_does_what_was_meant():
    bench, sent = garbled.starters()
    for each in sent:
        meant = garbled.effect(each.lines, bench)
        assert meant is not None
        assert garbled.effect(each.lines, bench) == meant
        whole = each.lines[0].encode() + b"\n"
        assert garbled.came_of(each, 0, whole, bench, meant) == garbled.SAME


@pytest.mark.parametrize(
    ("number", "arrives", "came"),
    [
        (0, b"M5\n", garbled.OTHER),
        (0, b"m9\n", garbled.SAME),
        (0, b"M9", garbled.REFUSED),
        (0, b"\xcd9\n", garbled.REFUSED),
        (0, b"M\n\n", garbled.REFUSED),
    ],
)
def test_what_comes_of_it_is_told_apart(number, arrives, came):
    bench, sent = garbled.starters()
    first = next(each for each in sent if each.lines[0] == "M9")
    assert garbled.came_of(first, number, arrives, bench, garbled.effect(first.lines, bench)) == came


def test_a_share_of_them_comes_to_what_is_stated():
    found = garbled.count(every=7)
    total = sum(found.values())
    stated = float(GARBLED.split(" %")[0].split()[-1])
    assert abs(100 * found[garbled.OTHER] / total - stated) < 4
    assert found[garbled.REFUSED] > 0.7 * total


def test_after_a_refused_line_nothing_more_is_sent_whichever_it_is():
    from library import pack

    files = program_of(pack.make(nine()))
    files.pop("board.c")
    places = [position.label for position in goes().bench.pendant.positions]
    increments = list(goes().bench.pendant.increments)
    for slot in goes().slots:
        lines = goes().taken[slot.macro].stages[0].lines
        for refused in range(1, len(lines) + 1):
            on = Whole(files, answer=lambda line, number, refused=refused: "FAULT" if number == refused else "TAKEN")
            on.ready(places.index(slot.position), increments.index(slot.increment))
            on.click(3).click(-3).wait(1000)
            assert on.sent == [*lines[:refused], "\x18"]
            assert (on.why, on.at_line) == (Why.REFUSED, refused)
