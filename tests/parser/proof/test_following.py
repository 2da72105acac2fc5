"""What is followed again in parts of all cases is kept for the next question, and never more than there is room for."""

from __future__ import annotations

import pytest

from parser.language.reader import read
from parser.motion.interpreter import trace
from parser.pipeline import examine
from parser.proof import following
from parser.proof.passages import passages
from parser.question import Question
from tests.parser.scene import MILL, controller

PLAIN = controller(percent=False)
CYCLES = "G21 G90 G17 G94 G40 G49 G80 G54\n" + "".join(f"G99 G81 X{n}0 Y10 Z-5 R1 F100 L3\n" for n in (1, 2, 3))


@pytest.fixture
def kept(monkeypatch):
    """Every store of passages that is made, and how many each has held at most."""
    made, most = [], []
    begin, hold = following.KeptPassages.__init__, following.KeptPassages.passages

    def beginning(self):
        begin(self)
        made.append(self)

    def holding(self, key, make):
        found = hold(self, key, make)
        most.append(sum(len(passed) for _, lines in self._known.values() for passed in lines.values()))
        return found

    monkeypatch.setattr(following.KeptPassages, "__init__", beginning)
    monkeypatch.setattr(following.KeptPassages, "passages", holding)
    return made, most


def found():
    return [str(each) for each in examine(CYCLES, MILL, PLAIN, Question(seek_start=True)).findings]


@pytest.mark.long
def test_what_is_kept_is_no_more_than_there_is_room_for_and_changes_nothing(kept, monkeypatch):
    usual = found()
    assert max(kept[1]) > 100
    kept[1].clear()
    monkeypatch.setattr(following, "MOST_PASSAGES", 60)
    assert found() == usual
    assert 0 < max(kept[1]) <= 60


@pytest.mark.long
def test_all_setups_and_starts_of_one_examination_share_the_room(kept):
    found()
    assert len(kept[0]) == 1


def test_what_was_asked_before_is_not_followed_again():
    kept = following.KeptPassages()
    asked = []
    for key in ("a", "b", "a"):
        assert kept.passages((key,), lambda at=key: asked.append(at) or ()) == {}
    assert asked == ["a", "b"]


def test_what_takes_more_room_than_there_is_is_kept_alone(monkeypatch):
    monkeypatch.setattr(following, "MOST_PASSAGES", 5)
    kept, many = following.KeptPassages(), of_the_cycles() * 20
    for key in ("a", "b"):
        assert sum(map(len, kept.passages((key,), lambda: many).values())) == len(many) > 5
    assert list(kept._known) == [("b",)]


def of_the_cycles():
    return list(passages(trace(read(CYCLES, PLAIN), MILL, PLAIN), MILL))
