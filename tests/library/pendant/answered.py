"""The pendant's program in the hand of a test, with the controller that the page has too."""

from __future__ import annotations

from library.simulated import Simulated
from tests.library.pendant.pendants import Pendant, State


class Answered(Pendant):
    """A pendant whose controller answers as its sheet says; its deeds are those of ``library.trying.Pendant``."""

    def __init__(self, files, sheet, position=3, increment=0, *, after=10, by_call=True):
        self.controller = Simulated(sheet, after=after)
        super().__init__(files, position, increment, idle_call=by_call)

    @property
    def idle(self):
        return self.controller.idle

    def wait(self, milliseconds, clicks=0):
        for _ in range(max(1, milliseconds // 10)):
            self.now += 10
            self.controller.now = self.now
            self.state = State(self._made.look(self.position, self.increment, clicks))
            clicks = 0
        return self

    def taken(self):
        self.controller.answer = "taken"

    def fault(self):
        self.controller.answer = "fault"

    def silent(self):
        self.controller.answer = "silent"

    def busy(self):
        self.controller.kept_busy = True

    def free(self):
        self.controller.kept_busy = False

    def slow(self, milliseconds):
        self.controller.takes = lambda line: milliseconds

    def resume(self):
        self.controller.resume()

    def _write(self, _, data, count):
        line = data[:count].decode().rstrip("\n")
        self.sent.append(line)
        self.controller.write(line)

    def _read(self, _):
        for text in self.controller.read():
            self.coming.extend(text.encode() + b"\n")
        return self.coming.popleft() if self.coming else -1
