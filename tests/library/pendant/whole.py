"""A whole pendant in the test's own time: contacts that stand or bounce, edges of the wheel, and a controller."""

from __future__ import annotations

import ctypes
from collections import deque

from tests.library.pendant.compiling import compiled
from tests.library.pendant.pendants import State, Why

_WRITE = ctypes.CFUNCTYPE(None, ctypes.c_void_p, ctypes.POINTER(ctypes.c_char), ctypes.c_size_t)
_ASK = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p)
_LAMP = ctypes.CFUNCTYPE(None, ctypes.c_void_p, ctypes.c_int)

EDGES = 4


def closed(contacts):
    """The contacts that are closed, as bits of a number."""
    return sum(1 << at for at in contacts)


class Whole:
    """``positions`` and ``increments`` hold the contacts that are closed. Looks are 1 ms apart.

    The controller answers each line ``after`` milliseconds with what ``answer`` gives for it and for how many lines
    came before; None is silence.
    """

    def __init__(self, files, *, after=5, answer=lambda line, number: "TAKEN", idle=None):
        self.now, self.after, self.answer = 0, after, answer
        self.positions, self.increments = set(), {0}
        self.enable, self.stop, self.edges = False, False, 0
        self.sent, self.lit, self.shown, self._coming = [], [], [], deque()
        self._made = ctypes.CDLL(str(compiled(files, "whole.c", "-shared", "-fPIC")))
        self._calls = (
            _WRITE(self._write), _ASK(self._read), _LAMP(self._lamp),
            _WRITE(lambda _, text, count: self.shown.append(text[:count].decode())),
            _ASK(lambda _: idle(self)) if idle else _ASK(),
        )  # fmt: skip
        self._made.begin(*self._calls)
        self.wait(40)

    @property
    def why(self):
        return Why(self._made.why())

    @property
    def at_line(self):
        return self._made.at_line()

    def edge(self, levels):
        return self._made.edge(levels)

    def wait(self, milliseconds):
        for _ in range(milliseconds):
            self.now += 1
            edges, self.edges = self.edges, 0
            stands = closed(self.positions), closed(self.increments), self.enable, self.stop
            self.state = State(self._made.look(self.now, *stands, edges))
        return self

    def turn(self, position):
        """To a position, or between two."""
        self.positions = set() if position is None else {position}
        return self

    def click(self, count, pause=50):
        for _ in range(abs(count)):
            self.edges += EDGES if count > 0 else -EDGES
            self.wait(pause)
        return self

    def ready(self, position, increment=0):
        """At a position, rested, and enabled."""
        self.increments = {increment}
        self.turn(position).wait(600)
        self.enable = True
        return self.wait(40)

    def say(self, text):
        """A line that comes in unasked."""
        self._coming.append((self.now, deque(text.encode() + b"\n")))

    def _write(self, _, data, count):
        line = data[:count].decode().rstrip("\n")
        self.sent.append(line)
        answer = self.answer(line, len(self.sent))
        if answer is not None:
            self._coming.append((self.now + self.after, deque(answer.encode() + b"\n")))

    def _read(self, _):
        while self._coming and not self._coming[0][1]:
            self._coming.popleft()
        return -1 if not self._coming or self._coming[0][0] > self.now else self._coming[0][1].popleft()

    def _lamp(self, _, lit):
        if not self.lit or self.lit[-1][1] != lit:
            self.lit.append((self.now, lit))
