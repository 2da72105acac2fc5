"""A pendant and a controller in the test's own time, around the sender as it was compiled."""

from __future__ import annotations

import ctypes
from collections import deque
from enum import IntEnum

from tests.library.pendant.compiling import compiled


class State(IntEnum):
    TURNED, LET_GO_FIRST, READY, ENABLED, SENDING, FINISHED, FAILED = range(7)


class Outcome(IntEnum):
    NOTHING_YET, DONE, LET_GO, NO_ANSWER = range(4)


_WRITE = ctypes.CFUNCTYPE(None, ctypes.c_void_p, ctypes.POINTER(ctypes.c_char), ctypes.c_size_t)
_ASK = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p)
_CLOCK = ctypes.CFUNCTYPE(ctypes.c_uint32, ctypes.c_void_p)


class Pendant:
    """The selectors, the button and the wheel, and a controller that answers ``answer`` and is then busy for a while.

    Time passes only in ``wait``, in looks 10 ms apart; ``wrap`` starts the clock shortly before it runs over.
    """

    def __init__(self, header, position=3, increment=0, *, answer=b"TAKEN\n", after=10, busy_for=20, wrap=False):
        self.now = 0xFFFFFF00 if wrap else 0
        self.position, self.increment = position, increment
        self.held, self.busy_until = False, -1
        self.answer, self.after, self.busy_for = answer, after, busy_for
        self.sent, self.coming = [], deque()
        self.state = State.TURNED
        self._made = ctypes.CDLL(str(compiled(header, "handles.c", "-shared", "-fPIC")))
        self._made.name_of.restype = ctypes.c_char_p
        self._made.table_bytes.restype = ctypes.c_size_t
        self._calls = (
            _WRITE(self._write), _ASK(self._read), _ASK(lambda _: self.held), _ASK(lambda _: self.idle),
            _CLOCK(lambda _: self.now & 0xFFFFFFFF),
        )  # fmt: skip
        self._made.begin(*self._calls, position, increment)

    @property
    def idle(self):
        return self.now >= self.busy_until

    @property
    def outcome(self):
        return Outcome(self._made.outcome())

    @property
    def stage(self):
        return self._made.stage()

    @property
    def table_bytes(self):
        return self._made.table_bytes()

    def name_of(self, slot):
        return self._made.name_of(slot).decode()

    def wait(self, milliseconds, clicks=0):
        """Looks every 10 ms, the clicks in the first of them."""
        for _ in range(max(1, milliseconds // 10)):
            self.now += 10
            self.state = State(self._made.look(self.position, self.increment, clicks))
            clicks = 0
        return self

    def turn(self, position, increment=0):
        self.position, self.increment = position, increment
        return self.wait(10)

    def press(self):
        self.held = True
        return self.wait(20)

    def let_go(self):
        self.held = False
        return self.wait(20)

    def click(self, count=3, way=1):
        for _ in range(count):
            self.wait(50, way)
        return self

    def fire(self):
        """The whole gesture."""
        return self.wait(600).press().click()

    def _write(self, _, data, count):
        self.sent.append(data[:count])
        self.busy_until = self.now + self.after + self.busy_for
        if self.answer is not None:
            self.coming.append((self.now + self.after, deque(self.answer)))

    def _read(self, _):
        if not self.coming or self.coming[0][0] > self.now:
            return -1
        byte = self.coming[0][1].popleft()
        if not self.coming[0][1]:
            self.coming.popleft()
        return byte
