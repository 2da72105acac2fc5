"""The progress line on the terminal."""

import io

import pytest

import webapp.cli.meter as shown
from webapp.cli.meter import meter


class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.fixture
def clock(monkeypatch):
    now = [100.0]
    monkeypatch.setattr(shown.time, "monotonic", lambda: now[0])
    return now


def test_nothing_is_shown_within_a_second(clock):
    terminal = Terminal()
    with meter("face.nc", terminal) as told:
        clock[0] += 0.9
        told(0.5)
    assert terminal.getvalue() == ""


def test_the_share_done_is_shown_from_one_second_on_and_wiped_at_the_end(clock):
    terminal = Terminal()
    with meter("face.nc", terminal) as told:
        clock[0] += 1.1
        told(0.25)
        line = terminal.getvalue()
        assert line == "\rface.nc:  25% (Ctrl-C cancels)"
    assert terminal.getvalue() == line + "\r" + " " * (len(line) - 1) + "\r"


def test_it_is_not_renewed_more_often_than_can_be_read(clock):
    terminal = Terminal()
    with meter("face.nc", terminal) as told:
        clock[0] += 1.1
        told(0.25)
        clock[0] += 0.05
        told(0.26)
        assert "26%" not in terminal.getvalue()


def test_nothing_is_shown_where_no_one_looks(clock):
    file = io.StringIO()
    with meter("face.nc", file) as told:
        clock[0] += 5.0
        told(0.5)
    assert file.getvalue() == ""


def test_it_is_wiped_when_the_work_is_cancelled(clock):
    terminal = Terminal()

    def cancelled():
        with meter("face.nc", terminal) as told:
            clock[0] += 2.0
            told(0.5)
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        cancelled()
    assert terminal.getvalue().endswith(" \r")
