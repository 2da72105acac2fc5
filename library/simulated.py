"""A controller that is not there: what comes back from lines that are sent to it, and when.

It carries lines out one after the other. As its sheet says, it answers each when it is taken or when it is done,
answers the settle line when all before it is done, and tells on asking whether it is idle. More lines than it may hold
are taken only when one is done. Times are whole milliseconds.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

from library.sheets import ControllerSheet

Answer = Literal["taken", "fault", "silent"]

USUAL_MOTION = 20
"""How long a line keeps it busy where nobody says otherwise."""


@dataclass
class Simulated:
    """Each answer comes ``after`` what it answers; ``takes`` says how long a line moves the machine.

    ``kept_busy`` is a program that runs at the panel: nothing that is sent is done before it ends. ``answer`` is what
    comes of each line from now on. A stop line holds what is not done where the sheet says so, until ``resume``.
    """

    sheet: ControllerSheet
    after: int = 10
    takes: Callable[[str], int] = lambda line: USUAL_MOTION
    answer: Answer = "taken"
    kept_busy: bool = False
    now: int = 0
    _held_since: int | None = None
    _done: deque[int] = field(default_factory=deque)
    _coming: deque[tuple[int, bool, str]] = field(default_factory=deque)

    @property
    def idle(self) -> bool:
        """Whether nothing moves or waits."""
        return not self.kept_busy and self.unfinished == 0

    @property
    def holding(self) -> bool:
        """Whether a stop line holds what is not done."""
        return self._held_since is not None

    @property
    def unfinished(self) -> int:
        """How many lines have been taken and are not done."""
        while self._done and self.now >= self._done[0] and self._held_since is None:
            self._done.popleft()
        return len(self._done)

    @property
    def over_at(self) -> int:
        """When all that was taken is done."""
        return self._done[-1] if self._done else self.now

    def write(self, line: str) -> None:
        """A line comes in."""
        sheet = self.sheet
        if line == sheet.stop_line:
            self._held_since = self.now if sheet.stop_keeps == "held" and self.unfinished else self._held_since
        elif self.answer == "silent":
            self._take(line)
        elif line == sheet.idle_ask:
            self._says(self.now + self.after, sheet.idle_answer if self.idle else "BUSY")
        elif self.answer == "fault":
            self._says(self.now + self.after, f"{sheet.error_starts[0] if sheet.error_starts else 'REFUSED'} 7")
        elif sheet.acknowledge:
            taken = self._take(line)
            late = line == sheet.settle or sheet.acknowledge_means == "done"
            self._says((self._done[-1] if late else taken) + self.after, sheet.acknowledge, once_done=late)
        else:
            self._take(line)

    def read(self) -> list[str]:
        """The lines that have come since the last look."""
        came = []
        waits = self.kept_busy or self._held_since is not None
        while self._coming and self._coming[0][0] <= self.now and not (self._coming[0][1] and waits):
            came.append(self._coming.popleft()[2])
        return came

    def resume(self) -> None:
        """What was held goes on."""
        if self._held_since is not None:
            since, later = self._held_since, self.now - self._held_since
            self._done = deque(at + later if at > since else at for at in self._done)
            self._coming = deque((at + later if late else at, late, text) for at, late, text in self._coming)
            self._held_since = None

    def _take(self, line: str) -> int:
        """Puts a line behind those that are held; gives when it is taken."""
        over = self.unfinished - self.sheet.queue_depth - 1
        taken = max(self.now, self._done[over]) if over >= 0 else self.now
        motion = 0 if line == self.sheet.settle else self.takes(line)
        self._done.append(max(taken, self._done[-1] if self._done else 0) + motion)
        return taken

    def _says(self, at: int, text: str, *, once_done: bool = False) -> None:
        self._coming.append((at, once_done, text))
