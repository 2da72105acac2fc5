"""The sender on a serial line, with a controller at the other end that answers well, late, twice, nonsense or never."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import threading
import time
import tty
from contextlib import suppress

import pytest
from click.testing import CliRunner

from library.pack import outgoing
from parser.report import as_json
from tests.library.benches import MILL, controller
from tests.library.pendant.compiling import ANSWERING, SANITIZED, compiled, documents, program_of, taken
from tests.library.test_pack import document
from webapp.cli import main

FAST = 20
"""How many times as fast the pendant's clock runs, so that its waits are short."""

FASTEST = 400

ANSWERS = {
    "well": lambda: [b"TAKEN\n"],
    "late": lambda: time.sleep(0.1) or [b"TAKEN\n"],
    "twice": lambda: [b"TAKEN\nTAKEN\n"],
    "in pieces": lambda: [b"TA", b"KEN", b"\r", b"\n"],
    "nonsense first": lambda: [b"\xff\x00 TAKEN?\n", b"x" * 3000, b"\n[hello]\nTAKEN\n"],
    "never": list,
    "only nonsense": lambda: [b"WHAT 3\n"],
    "an error": lambda: [b"FAULT 3\n"],
}


class Controller:
    """The other end of the line: takes one line at a time, is busy for a moment, and then answers."""

    def __init__(self, folder, answer, *, first=False):
        self.received = []
        self._answer, self._first = answer, first
        self._ours, self._theirs = pty.openpty()
        tty.setraw(self._theirs)
        self.line = os.ttyname(self._theirs)
        self.busy = folder / "busy"
        self.busy.write_bytes(b"\0")
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self):
        waiting = b""
        with suppress(OSError):  # the other end is closed, and all that was sent has been read
            while True:
                waiting += os.read(self._ours, 4096)
                while b"\n" in waiting:
                    line, waiting = waiting.split(b"\n", 1)
                    self._take(line)

    def _take(self, line):
        self._say(b"\1")
        self.received.append(line.decode())
        if self._first:
            self._reply()
        time.sleep(0.005)
        if not self._first:
            self._reply()
        self._say(b"\0")

    def _reply(self):
        for piece in self._answer():
            os.write(self._ours, piece)

    def _say(self, busy):
        with self.busy.open("r+b") as file:
            file.write(busy)

    def close(self):
        os.close(self._theirs)
        self._thread.join()
        os.close(self._ours)


@pytest.fixture
def send(tmp_path):
    """Sends a slot to a controller; gives how each gesture ended and what the controller received."""

    def call(taken, position=3, increment=1, answer="well", *, speed=FAST, gestures=1, release_after=0, first=False):
        program = compiled(program_of(taken), "on_a_line.c", *SANITIZED)
        at = Controller(tmp_path, ANSWERS[answer], first=first)
        given = map(str, (at.line, at.busy, position, increment, speed, gestures, release_after))
        done = subprocess.run([program, *given], capture_output=True, text=True, timeout=60)
        at.close()
        assert (done.returncode, done.stderr) == (0, "")
        return done.stdout.split(), at.received

    return call


def moves(report):
    said = as_json(report)["moves"]
    return [{key: value for key, value in move.items() if key not in ("line", "step")} for move in said]


def checked(tmp_path, lines, controller=ANSWERING):
    """What ``clickstop check`` says of received lines."""
    texts = {"lines.nc": "\n".join(["%", *lines, "%"]) + "\n", "mill.toml": MILL, "controller.toml": controller}
    for name, text in texts.items():
        (tmp_path / name).write_text(text)
    command = ["check", "lines.nc", "--machine", "mill.toml", "--controller", "controller.toml", "--format", "json"]
    here = [str(tmp_path / word) if word in texts else word for word in command]
    return json.loads(CliRunner().invoke(main, here).stdout)


@pytest.mark.parametrize("answer", ["well", "late", "twice", "in pieces", "nonsense first"])
def test_what_the_controller_receives_makes_the_moves_that_were_proved(send, tmp_path, answer):
    ended, received = send(taken(), answer=answer)
    assert ended == ["done"]
    said = checked(tmp_path, received)
    assert said["verdict"] == "proved"
    found = [{key: value for key, value in move.items() if key not in ("line", "step")} for move in said["moves"]]
    assert found == moves(outgoing(documents()).taken["present"].report)


@pytest.mark.parametrize("answer", ["never", "only nonsense"])
def test_without_an_answer_one_line_is_sent_and_no_more(send, answer):
    ended, received = send(taken(), answer=answer, speed=FASTEST)
    assert ended == ["no-answer"]
    assert received == ["G21 G90"]


@pytest.mark.parametrize("after", [1, 2, 3])
def test_letting_go_after_any_line_leaves_a_beginning_of_what_was_proved(send, after):
    whole = outgoing(documents()).taken["present"].stages[0].lines
    assert len(whole) == 3
    _, received = send(taken(), release_after=after)
    assert tuple(received) == whole[:after]


def test_after_an_error_no_line_is_sent(send):
    ended, received = send(taken(), answer="an error")
    assert (ended, received) == (["refused"], ["G21 G90"])


def test_a_controller_that_queues_gets_every_line_too(send, tmp_path):
    prompt = controller(acknowledge='"TAKEN"', release='"immediate"', stop_line='"@CEASE"')
    ended, received = send(taken(controller=prompt), first=True)
    assert ended == ["done"]
    assert checked(tmp_path, received, prompt)["verdict"] == "proved"


def test_two_gestures_send_both_stages_and_each_is_proved_from_anywhere(send, tmp_path):
    lift = document("lift", 'block = "raise"', 'block = "pause"', 'block = "raise"', 'block = "present-table"')
    ended, received = send(taken(lift=lift), increment=0, gestures=2)
    assert ended == ["done", "done"]
    first, second = outgoing(documents(lift=lift)).taken["lift"].stages
    assert tuple(received) == first.lines + second.lines
    for lines in (first.lines, second.lines):
        assert checked(tmp_path, lines)["verdict"] == "proved"


def test_a_called_macro_is_one_line(send):
    stored = ANSWERING + 'call = "@{number}"\nfile_name = "{number}.nc"\nline_ending = "crlf"\n'
    ended, received = send(taken(controller=stored))
    assert (ended, received) == (["done"], ["@2\r"])
