"""The pendant tried without one: what turning, pressing and clicking would send, and why nothing fires.

It does what the pendant's program does, in looks ``LOOK`` milliseconds apart, with a controller that answers every
line, is busy for a while and says when it is idle. One table of sequences is run through both. Times are whole
milliseconds.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum, IntEnum
from typing import Literal

from library.blocks.writer import fixed
from library.jog_figures import clicks_in_a_line
from library.outgoing import Outgoing
from library.sending import Sending
from parser.machine import MM_PER_INCH, Axis

Answer = Literal["taken", "fault", "silent"]

LOOK = 10
REST = 250  # our choice, as in the program
"""How long the wheel rests before a gesture begins and after it ends, so that no part of a longer turn is one."""

CLICKS_APART = 50
"""From one click to the next of those that are made together."""


class HandState(Enum):
    """What the pendant is waiting for."""

    TURNED = "the selector has not rested long enough"
    LET_GO_FIRST = "enable was held too early: let go first"
    READY = "waiting for enable"
    ENABLED = "enable is held: waiting for the wheel"
    SENDING = "lines are being sent"
    FINISHED = "all is done: let go"
    FAILED = "a line was refused or not answered: let go"
    STOPPED = "stopped: release the stop, let go, turn the selector away and back"


class Why(IntEnum):
    """Why nothing fires, or how it ended; the numbers are the flashes of the lamp."""

    NOTHING = 0
    HELD_EARLY = 1
    WRONG_TURN = 2
    NO_MACRO = 3
    NOT_IDLE = 4
    LET_GO = 5
    REFUSED = 6
    NO_ANSWER = 7
    WAS_STOPPED = 8
    DONE = 9


TOLD: Mapping[Why, str] = {
    Why.NOTHING: "",
    Why.HELD_EARLY: "Enable was held before the selector had rested.",
    Why.WRONG_TURN: "A wrong turn: a click too many, the wrong way, too late, or the wheel had not rested before.",
    Why.NO_MACRO: "There is no macro here that may be sent.",
    Why.NOT_IDLE: "The controller is busy, or does not say that it is not.",
    Why.LET_GO: "Enable was let go, or a selector turned, before the end.",
    Why.REFUSED: "The controller refused a line: nothing more is sent.",
    Why.NO_ANSWER: "A line was not answered in time: nothing more is sent.",
    Why.WAS_STOPPED: "The stop was pressed.",
    Why.DONE: "All lines were sent and answered.",
}


class _Count(Enum):
    NONE = 0
    RUNNING = 1
    WHOLE = 2
    WRONG = 3


@dataclass
class Pendant:
    """A pendant in a time of its own; ``sent`` is what went to the controller, ``fired`` the macros by id.

    A line is answered after ``after``, as ``answer`` says, and the controller busy for ``busy_for`` beyond that.
    ``at_line`` is the line that was refused or not answered, counted from 1 within what the gesture sends.
    """

    goes: Outgoing
    position: int = 0
    increment: int = 0
    after: int = 10
    busy_for: int = 20
    now: int = 0
    held: bool = False
    stop: bool = False
    kept_busy: bool = False
    answer: Answer = "taken"
    state: HandState = HandState.TURNED
    why: Why = Why.NOTHING
    sent: list[str] = field(default_factory=list)
    fired: list[str] = field(default_factory=list)
    at_line: int = 0

    def __post_init__(self) -> None:
        bench = self.goes.bench
        self._sheet, self._sending = bench.pendant, Sending.of(bench.controller_sheet)
        self._gesture = bench.pendant.gesture
        self._settle, self._window = _ms(self._gesture.settle), _ms(self._gesture.window)
        self._quiet = _ms(self._sending.quiet)
        self._counting, self._sense, self._run, self._clicks = _Count.NONE, 1, 0, 0
        self._first_click = self._clicked = self._answered = -1
        self._clicked = self.now
        self._busy_until = -1
        self._stage, self._lines, self._line = 0, tuple[str, ...](), 0
        self._phase, self._sent_at, self._idle_since = "next", self.now, -1
        self._moving = False
        self._reply, self._patience = self.answer, 0
        self._stop_position, self._stop_let_go, self._stop_away, self._pressed = -1, False, False, False
        self._merged, self._under_way, self._jog_lines = 0, 0, list[str]()
        self._seen = (self.position, self.increment)
        self._turn()

    # What a hand does

    def wait(self, milliseconds: int, clicks: int = 0) -> Pendant:
        """Time passes, with clicks at its beginning."""
        for _ in range(max(1, milliseconds // LOOK)):
            self.now += LOOK
            self._look(clicks)
            clicks = 0
        return self

    def turn(self, position: int, increment: int = 0) -> Pendant:
        """Both selectors, by their places counted from 0."""
        self.position, self.increment = position, increment
        return self.wait(10)

    def press(self) -> Pendant:
        """Enable is pressed."""
        self.held = True
        return self.wait(20)

    def let_go(self) -> Pendant:
        """Enable is let go."""
        self.held = False
        return self.wait(20)

    def click(self, *runs: int) -> Pendant:
        """Clicks ``CLICKS_APART``, the sign of each run its way round."""
        for run in runs:
            for _ in range(abs(run)):
                self.wait(CLICKS_APART, 1 if run > 0 else -1)
        return self

    def push(self) -> Pendant:
        """The stop is pressed."""
        self.stop = True
        return self.wait(20)

    def pull(self) -> Pendant:
        """The stop is released."""
        self.stop = False
        return self.wait(20)

    # What the controller does

    def taken(self) -> Pendant:
        """From now on each line is taken."""
        self.answer = "taken"
        return self

    def fault(self) -> Pendant:
        """From now on each line is refused."""
        self.answer = "fault"
        return self

    def silent(self) -> Pendant:
        """From now on no line is answered."""
        self.answer = "silent"
        return self

    # What the program does

    def _idle(self) -> bool:
        return not self.kept_busy and self.now >= self._busy_until

    def _send(self, line: str) -> None:
        self.sent.append(line)
        self._answered, self._reply = self.now + self.after, self.answer
        self._busy_until = self._answered + self.busy_for
        self._sent_at = self.now
        self._idle_since = -1
        self._moving = True

    def _cease(self, why: Why) -> None:
        if self._sending.stop_line:
            self.sent.append(self._sending.stop_line)
        self._stage, self._moving, self.why = 0, False, why
        self._end_jog()

    def _end_jog(self) -> None:
        self._merged, self._under_way, self._jog_lines = 0, 0, []

    def _still_moving(self) -> bool:
        return bool(self._under_way) or (self._moving and not self._idle())

    def _turn(self) -> None:
        self._seen = (self.position, self.increment)
        self._stage, self._turned, self.state = 0, self.now, HandState.TURNED

    def _macro(self) -> str | None:
        """The id of the macro at the position and increment, if the slot table has one."""
        if self.goes.blind:
            return None
        label, step = self._sheet.positions[self.position].label, self._sheet.increments[self.increment]
        slots = self.goes.slots
        return next((each.macro for each in slots if (each.position, each.increment) == (label, step)), None)

    def _look(self, clicks: int) -> None:
        held = self.held or not self._gesture.enable_held
        let_go = not held if self._gesture.enable_held else not clicks and self.now - self._clicked >= self._settle
        if self._stop_holds(let_go=let_go):
            self._clicked = self.now if clicks else self._clicked
            self._seen = (self.position, self.increment)
            return
        if self.state is HandState.STOPPED:
            self.why = Why.NOTHING
            self._turn()
        elif (self.position, self.increment) != self._seen:
            if self.state is HandState.SENDING or self._still_moving():
                self._cease(Why.LET_GO)
            elif self.state in (HandState.FINISHED, HandState.ENABLED):
                self.why = Why.NOTHING
            self._turn()
        self._act(clicks, held=held, let_go=let_go)
        if self._sheet.positions[self.position].drives:
            self._jog(clicks)
        if clicks:
            self._clicked = self.now

    def _act(self, clicks: int, *, held: bool, let_go: bool) -> None:
        if self.state is HandState.TURNED:
            if self.now - self._turned >= self._settle:
                self.state = HandState.READY if let_go else HandState.LET_GO_FIRST
                self.why = self.why if let_go else Why.HELD_EARLY
        elif self.state is HandState.FAILED:
            self.state = HandState.READY if let_go else HandState.FAILED
        elif self.state is HandState.LET_GO_FIRST:
            if let_go:
                self.why, self.state = Why.NOTHING, HandState.READY
        elif self.state is HandState.READY:
            if held:
                self._counting, self.why, self.state = _Count.NONE, Why.NOTHING, HandState.ENABLED
        elif self.state is HandState.ENABLED:
            if not held:
                if self._still_moving():
                    self._cease(Why.LET_GO)
                self.state = HandState.READY
            elif not self._sheet.positions[self.position].drives and self._counted(clicks):
                self._try()
        elif self.state is HandState.SENDING:
            if held:
                self._go_on()
                if (
                    self.state is HandState.SENDING
                    and self._phase != "next"
                    and self.now - self._sent_at >= self._patience
                ):
                    self._fail(Why.NO_ANSWER)
            else:
                self._cease(Why.LET_GO)
                self.state = HandState.READY
        elif self.state is HandState.FINISHED and let_go:
            if self._gesture.enable_held and self._still_moving():
                self._cease(Why.LET_GO)
            self.state = HandState.READY

    def _stop_holds(self, *, let_go: bool) -> bool:
        if self.stop:
            if not self._pressed:
                self._cease(Why.WAS_STOPPED)
                self._stop_position, self.state = self._seen[0], HandState.STOPPED
            self._stop_let_go = self._stop_away = False
        self._pressed = self.stop
        if self.state is not HandState.STOPPED:
            return False
        if not self.stop:
            self._stop_let_go = self._stop_let_go or let_go
            if self._stop_let_go:
                if self.position != self._stop_position:
                    self._stop_away = True
                elif self._stop_away:
                    return False
        return True

    def _counted(self, clicks: int) -> bool:
        """Whether the gesture is whole and the wheel has rested after it."""
        if self._counting is _Count.WHOLE and not clicks:
            return self.now - self._clicked >= REST
        for _ in range(abs(clicks)):
            self._count(1 if clicks > 0 else -1)
        if self._counting is _Count.RUNNING and self.now - self._first_click > self._window:
            self._counting, self.why = _Count.NONE, Why.WRONG_TURN
        return False

    def _count(self, click: int) -> None:
        rested = self.now - self._clicked >= REST
        self._clicked = self.now
        if self._counting is _Count.WRONG and rested:
            self._counting = _Count.NONE
        if self._counting is _Count.NONE and rested:
            self._sense = click  # the first run may go either way
            self._run, self._clicks, self._first_click = 0, 0, self.now
            self._counting, self.why = _Count.RUNNING, Why.NOTHING
        if self._counting is _Count.RUNNING:
            runs = self._gesture.runs
            if self._clicks == runs[self._run] and self._run + 1 < len(runs):
                self._run, self._clicks = self._run + 1, 0
            way = self._sense if self._run % 2 == 0 else -self._sense
            if way == click and self.now - self._first_click <= self._window:
                self._clicks += 1
                if self._run + 1 == len(runs) and self._clicks == runs[self._run]:
                    self._counting = _Count.WHOLE
                return
        self._counting, self.why = _Count.WRONG, Why.WRONG_TURN

    def _try(self) -> None:
        """The gesture is whole: fires, or tells why not."""
        self._counting = _Count.NONE
        macro = self._macro()
        if macro is None:
            self.why = Why.NO_MACRO
        elif not self._idle():
            self.why = Why.NOT_IDLE
        else:
            stage = self.goes.taken[macro].stages[self._stage]
            self._lines, self._line, self._patience = stage.lines, 0, _ms(stage.patience)
            self._phase, self.why, self.state = "next", Why.NOTHING, HandState.SENDING
            self.fired.append(macro)

    def _go_on(self) -> None:
        if self._phase == "next":
            self._send(self._lines[self._line])
            self._line += 1
            self._phase = "answer"
        elif self._phase == "answer":
            if self._reply != "silent" and self.now >= self._answered:
                if self._reply == "fault":
                    self._fail(Why.REFUSED)
                    return
                last = self._line == len(self._lines)
                self._phase = "idle" if last or self._sending.waits_for_idle else "next"
        elif self._idle_for_long():
            if self._line < len(self._lines):
                self._phase = "next"
            else:
                self._stage = (self._stage + 1) % len(self.goes.taken[self.fired[-1]].stages)
                self.why, self.state = Why.DONE, HandState.FINISHED

    def _fail(self, why: Why) -> None:
        self._cease(why)
        self.at_line, self.state = self._line, HandState.FAILED

    def _idle_for_long(self) -> bool:
        if not self._idle():
            self._idle_since = -1
            return False
        if self._idle_since < 0:
            self._idle_since = self.now
        return self.now - self._idle_since >= self._quiet

    def _jog(self, clicks: int) -> None:
        """What the wheel sends on a position that drives an axis, enable held."""
        axis, step = self._jogged()
        lines = self.goes.bench.controller_sheet.jog
        answers = bool(self.goes.bench.controller_sheet.acknowledge)
        may = len(lines) == 1 or (len(lines) > 1 and answers)
        if self.state is not HandState.ENABLED or axis is None or not step or not may:
            self._end_jog()
            return
        rate = min(self._sheet.jog.rate, axis.rapid)
        most = clicks_in_a_line(step, rate)
        self._merged = max(-most, min(most, self._merged + clicks))
        if self._jog_lines and self.now >= self._answered:
            self._send(self._jog_lines.pop(0))
        elif not self._jog_lines and self._under_way and self._idle_for_long():
            self._under_way = 0
        if self._merged and not self._jog_lines and self._under_way < self._sheet.jog.in_flight:
            self._jog_lines = [self._jog_line(line, self._merged * step, rate) for line in lines]
            self._under_way, self._merged = self._under_way + 1, 0
            self._send(self._jog_lines.pop(0))

    def _jogged(self) -> tuple[Axis | None, float]:
        drives = self._sheet.positions[self.position].drives
        axis = self.goes.bench.machine.axis(drives) if drives else None
        return axis, self._sheet.jog.step.get(self._sheet.increments[self.increment], 0.0) if axis else 0.0

    def _jog_line(self, line: str, distance: float, rate: float) -> str:
        bench = self.goes.bench
        axis = self._sheet.positions[self.position].drives or ""
        inch = "G20" in bench.controller.resting
        scale = MM_PER_INCH if inch and axis in "xyz" else 1.0
        decimals = bench.controller_sheet.decimals.inch if inch else bench.controller_sheet.decimals.mm
        filled = {
            "{axis}": axis.upper(),
            "{step}": fixed(distance / scale, decimals),
            "{rate}": fixed(rate / scale, decimals),
        }
        for place, text in filled.items():
            line = line.replace(place, text)
        return line


def _ms(seconds: float) -> int:
    return math.ceil(round(seconds * 1000, 6))
