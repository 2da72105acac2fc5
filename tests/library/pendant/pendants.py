"""A pendant and a controller in the test's own time, around the sender as it was compiled."""

from __future__ import annotations

import ctypes
from collections import deque
from enum import IntEnum

from tests.library.pendant.compiling import compiled

NONE = 255


class State(IntEnum):
    TURNED, LET_GO_FIRST, READY, ENABLED, ASKING, SENDING, FINISHED, FAILED, STOPPED = range(9)


class Why(IntEnum):
    (
        NOTHING, HELD_EARLY, WRONG_TURN, NO_MACRO, NOT_IDLE, LET_GO, REFUSED, NO_ANSWER, WAS_STOPPED, DONE,
    ) = range(10)  # fmt: skip


_WRITE = ctypes.CFUNCTYPE(None, ctypes.c_void_p, ctypes.POINTER(ctypes.c_char), ctypes.c_size_t)
_ASK = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p)
_CLOCK = ctypes.CFUNCTYPE(ctypes.c_uint32, ctypes.c_void_p)


class Pendant:
    """The selectors, the button and the wheel, and a controller that answers ``answer`` and is then busy for a while.

    Time passes only in ``wait``, in looks 10 ms apart; ``wrap`` is how long before it runs over the clock starts.
    ``answer`` is bytes, None for silence, or a function of the line. ``idle_call`` and ``stop_call`` say whether the
    program has these calls at all.
    """

    def __init__(
        self, files, position=3, increment=0, *, answer=b"TAKEN\n", after=10, busy_for=20, wrap=0, idle_call=True,
        stop_call=True,
    ):  # fmt: skip
        self.now = (-wrap) & 0xFFFFFFFF
        self.position, self.increment = position, increment
        self.held, self.stop, self.busy_until = False, False, -1
        self.answer, self.after, self.busy_for = answer, after, busy_for
        self.sent, self.heard, self.coming = [], [], deque()
        self.state = State.TURNED
        self._made = ctypes.CDLL(str(compiled(files, "handles.c", "-shared", "-fPIC")))
        self._calls = (
            _WRITE(self._write), _ASK(self._read), _WRITE(lambda _, data, count: self.heard.append(data[:count])),
            _ASK(lambda _: self.held), _ASK(lambda _: self.stop) if stop_call else _ASK(),
            _ASK(lambda _: self.idle) if idle_call else _ASK(), _CLOCK(lambda _: self.now & 0xFFFFFFFF),
        )  # fmt: skip
        self._made.begin(*self._calls, position, increment)

    @property
    def idle(self):
        return self.now >= self.busy_until

    @property
    def why(self):
        return Why(self._made.why())

    @property
    def at_line(self):
        return self._made.at_line()

    @property
    def stage(self):
        return self._made.stage()

    @property
    def lamp(self):
        return self._made.lamp()

    @property
    def issue(self):
        return self._text(self._made.issue)

    def name_of(self, slot):
        return self._text(self._made.name_of, slot)

    def _text(self, function, *given, room=1000):
        buffer = ctypes.create_string_buffer(room)
        function(*given, buffer, ctypes.c_size_t(room))
        return buffer.value.decode()

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

    def click(self, *runs):
        """Clicks 50 ms apart, the sign of each run its way round, and a rest."""
        for run in runs:
            for _ in range(abs(run)):
                self.wait(50, 1 if run > 0 else -1)
        return self

    def gesture(self, *runs):
        """The clicks of a gesture, and the rest after which it counts."""
        self.click(*(runs or (3, -3)))
        for _ in range(30):
            if self.wait(10).state is not State.ENABLED:
                return self.wait(10)
        return self

    def fire(self):
        """All that fires a macro."""
        return self.wait(600).press().gesture()

    def push(self):
        self.stop = True
        return self.wait(20)

    def pull(self):
        self.stop = False
        return self.wait(20)

    def say(self, content, after=0):
        """Something that comes in unasked."""
        self.coming.append((self.now + after, deque(content)))

    def _write(self, _, data, count):
        line = data[:count]
        self.sent.append(line)
        self.busy_until = self.now + self.after + self.busy_for
        answer = self.answer(line) if callable(self.answer) else self.answer
        if answer is not None:
            self.coming.append((self.now + self.after, deque(answer)))

    def _read(self, _):
        while self.coming and not self.coming[0][1]:
            self.coming.popleft()
        if not self.coming or self.coming[0][0] > self.now:
            return -1
        return self.coming[0][1].popleft()
