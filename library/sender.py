"""What the pendant's program does, in Python: the gesture that fires a macro, and the sending of its lines.

It follows ``library/pendant/sender.h`` function by function, and one table of sequences is run through both. Looks are
``LOOK`` milliseconds apart unless somebody says otherwise; times are whole milliseconds.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from library.bench import Bench
from library.handling import HandState, Means, Why
from library.jogs import Jogged, in_ms, patience, wheel
from library.outgoing import Stage
from library.sending import Sending
from library.simulated import Simulated

LOOK = 10
REST = 250  # our choice, as the four below are those of sender.h
"""How long the wheel rests before a gesture begins and after it ends, so that no part of a longer turn is one."""

GAP, ASK, ASK_AGAIN, ASK_GAP = 5, 500, 200, 50


class _Count(Enum):
    NONE = 0
    RUNNING = 1
    WHOLE = 2
    WRONG = 3


@dataclass(frozen=True, slots=True)
class Loaded:
    """What a pendant holds: its sheets, by position and increment the id of a macro and its stages, and what jogs."""

    bench: Bench
    macros: Mapping[tuple[int, int], tuple[str, tuple[Stage, ...]]]
    wheel: Mapping[tuple[int, int], Jogged]
    jog_patience: int

    @classmethod
    def of(cls, bench: Bench, macros: Mapping[tuple[int, int], tuple[str, tuple[Stage, ...]]]) -> Loaded:
        """With what the sheets say of the wheel."""
        rows = wheel(bench)
        return cls(bench, macros, rows, in_ms(patience(bench, rows.values())))


@dataclass
class Sender:
    """A pendant in a time of its own; ``sent`` is what went to the controller, ``fired`` the macros by id.

    ``of_macro`` are the places in ``sent`` of the lines that the last gesture sent. ``at_line`` is the line that was
    refused or not answered, counted from 1 within what the gesture sends. ``by_call``
    says whether a call tells that the controller is idle, beside what its sheet has. With ``stops`` there is a stop.
    """

    holds: Loaded
    position: int = 0
    increment: int = 0
    by_call: bool = False
    look: int = LOOK
    now: int = 0
    held: bool = False
    stop: bool = False
    state: HandState = HandState.TURNED
    why: Why = Why.NOTHING
    at_line: int = 0
    sent: list[str] = field(default_factory=list)
    fired: list[str] = field(default_factory=list)
    of_macro: list[int] = field(default_factory=list)
    controller: Simulated = field(init=False)

    def __post_init__(self) -> None:
        bench = self.holds.bench
        self.controller = Simulated(bench.controller_sheet, now=self.now)
        self._sheet, self._says, self._sending = (
            bench.pendant, bench.controller_sheet, Sending.of(bench.controller_sheet),
        )  # fmt: skip
        self._gesture = bench.pendant.gesture
        self._settle, self._window = in_ms(self._gesture.settle), in_ms(self._gesture.window)
        self._quiet_ms = in_ms(self._sending.quiet)
        self._answers = self._says.acknowledge != ""
        self._done = self._answers and self._says.acknowledge_means == "done"
        self._asks = self._says.idle_ask != ""
        self._settles = self._says.settle != ""
        self._counting, self._sense, self._run, self._clicks = _Count.NONE, 1, 0, 0
        self._first_click, self._clicked, self._heard_at, self._sent_at = -1, self.now, self.now, self.now
        self._patience = self._motion = 0
        self._stage, self._lines, self._line = 0, tuple[str, ...](), 0
        self._kept_for, self._kept_stage = (-1, -1), 0
        self._phase, self._idle_since, self._asked_at = "next", -1, self.now
        self._waiting = self._moving = self._settling = self._asking = self._idle_heard = self._refused = False
        self._jogging = self._behind = False
        self._stop_position, self._stop_let_go, self._stop_away, self._pressed = -1, False, False, False
        self._seen = (self.position, self.increment)
        self._turn()

    @property
    def means(self) -> Means:
        """How it knows that the controller is idle."""
        if self.by_call:
            return Means.CALL
        if self._done:
            return Means.ANSWER
        if self._asks:
            return Means.ASKING
        return Means.SETTLING if self._answers and self._settles else Means.NOTHING

    @property
    def lit(self) -> bool:
        """Whether the lamp is lit without flashing: lines are being sent."""
        return self.state in (HandState.SENDING, HandState.ASKING) or self._jogging

    @property
    def flashes(self) -> int:
        """How many times the lamp flashes before it pauses; 0 where it is dark or lit."""
        return 0 if self.lit or self.why is Why.DONE else int(self.why)

    def pass_look(self, clicks: int = 0) -> None:
        """One look at the pendant, later than the last one."""
        self.now += self.look
        self.controller.now = self.now
        self._poll(clicks)

    # What comes in

    def _listen(self) -> None:
        for text in self.controller.read():
            self._heard_at = self.now
            self._take(text)

    def _take(self, text: str) -> None:
        active = self._jogging or (self._behind and self._settling)
        active = active or self.state in (HandState.SENDING, HandState.ASKING, HandState.FINISHED)
        if any(text.startswith(start) for start in self._says.error_starts):
            self._refused = self._refused or active
            self._answered_now()
        elif self._asking and text.startswith(self._says.idle_answer):
            self._asking, self._idle_heard = False, True
        elif text == self._says.acknowledge or (
            self._answers and self._says.acknowledge_match == "start" and text.startswith(self._says.acknowledge)
        ):
            self._answered_now()

    def _answered_now(self) -> None:
        """The last line has its answer: what was stopped is held no longer, unless the stop line itself makes it so."""
        self._waiting = False
        self._behind = self._behind and self._sending.stop_holds

    def _quiet(self) -> bool:
        return self.now - self._heard_at >= GAP

    # What goes out

    def _write(self, line: str) -> None:
        self.sent.append(line)
        self.controller.write(line)

    def _send(self, line: str) -> None:
        self._waiting, self._moving, self._idle_since, self._sent_at = self._answers, True, -1, self.now
        self._write(line)

    def _cease(self, why: Why) -> None:
        if self._sending.stop_line:
            self._write(self._sending.stop_line)
        if why is not Why.LET_GO or self._macro() is not None:  # letting go of a jog is no end of a macro
            self._kept_for = (-1, -1)
        self._stage, self.why = 0, why
        self._asking = self._refused = self._jogging = self._moving = self._settling = False
        self._behind = self._sending.stop_holds or (self._waiting and not self._sending.stop_line)

    def _fail(self, why: Why, line: int) -> None:
        self._cease(why)
        self.at_line, self.state = line, HandState.FAILED

    def _passed(self, since: int, span: int) -> bool:
        return self.now - since >= span

    def _late(self) -> bool:
        return self._passed(self._sent_at, self._patience)

    # Whether the controller is idle

    def _still_moving(self) -> bool:
        if self._jogging:
            return True
        if self._moving and self._passed(self._sent_at, self._patience if self.by_call else self._motion):
            self._moving = False
        return self._moving and not (self.by_call and self.controller.idle)

    def _idle_for_long(self) -> bool:
        if not self.controller.idle:
            self._idle_since = -1
            return False
        if self._idle_since < 0:
            self._idle_since = self.now
        return self._passed(self._idle_since, self._quiet_ms)

    def _idle_by_asking(self) -> bool:
        if self._idle_heard:
            return self._passed(self._heard_at, ASK_GAP)
        if (not self._asking or self._passed(self._asked_at, ASK_AGAIN)) and self._quiet():
            self._asking, self._idle_heard, self._asked_at = True, False, self.now
            self._write(self._says.idle_ask)
        return False

    def _only_settles(self) -> bool:
        return not self.by_call and not self._asks and self._answers and self._settles

    def _nothing_held(self) -> bool:
        if self._behind and self.by_call:
            self._behind = not self.controller.idle
        elif self._behind and self._asks:
            if self._idle_by_asking():
                self._behind = self._asking = self._idle_heard = False
        elif self._behind and self._only_settles() and not self._waiting:
            if self._settling:
                self._behind = self._settling = self._moving = False
            elif self._quiet():
                self._settling = True
                self._send(self._says.settle)
        return not self._behind

    # The gesture

    def _macro(self) -> tuple[str, tuple[Stage, ...]] | None:
        return self.holds.macros.get((self.position, self.increment))

    def _try(self) -> None:
        """The gesture is whole: fires, asks first, or tells why not."""
        self._counting = _Count.NONE
        macro = self._macro()
        if macro is None or (not self._answers and len(macro[1][self._stage].lines) > 1):
            self.why = Why.NO_MACRO
        elif (
            (self._waiting and (not self._late() or (self._behind and self._only_settles())))
            or (self.by_call and not self.controller.idle)
            or (self._behind and not self.by_call and not self._asks and not self._only_settles())
        ):
            self.why = Why.NOT_IDLE
        elif not self.by_call and self._asks:
            self._asking = self._idle_heard = False
            self._turned, self.state = self.now, HandState.ASKING
        else:
            self._begin()

    def _begin(self) -> None:
        macro = self._macro()
        assert macro is not None  # a gesture is only tried where there is one
        stage = macro[1][self._stage]
        self._lines, self._line = stage.lines, 0
        self._patience, self._motion = in_ms(stage.patience), in_ms(stage.motion)
        self._settling = self.means is Means.SETTLING or (self._behind and self._only_settles())
        self._behind = self._behind and self._settling
        self._phase, self.why, self.state = "next", Why.NOTHING, HandState.SENDING
        self._refused, self._sent_at = False, self.now
        self.fired.append(macro[0])
        self.of_macro.clear()

    def _counted(self, clicks: int) -> bool:
        """Whether the gesture is whole and the wheel has rested after it."""
        if self._counting is _Count.WHOLE and not clicks:
            return self._passed(self._clicked, REST)
        for _ in range(abs(clicks)):
            self._count(1 if clicks > 0 else -1)
        if self._counting is _Count.RUNNING and self.now - self._first_click > self._window:
            self._counting, self.why = _Count.NONE, Why.WRONG_TURN
        return False

    def _count(self, click: int) -> None:
        rested = self._passed(self._clicked, REST)
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

    # The lines

    def _advance(self) -> None:
        if self._line < len(self._lines):
            self._phase = "next"
        else:
            macro = self._macro()
            self._stage = (self._stage + 1) % (len(macro[1]) if macro else 1)
            self._kept_for, self._kept_stage = (self.position, self.increment), self._stage
            self.why, self.state = Why.DONE, HandState.FINISHED

    def _go_on(self) -> None:
        means = self.means
        if self._phase == "next":
            if means is Means.CALL and not self._line and not self.controller.idle:
                self.why, self.state = Why.NOT_IDLE, HandState.ENABLED
            elif self._quiet():
                if self._settling:
                    self._send(self._says.settle)
                else:
                    self.of_macro.append(len(self.sent))
                    self._send(self._lines[self._line])
                    self._line += 1
                self._phase = "answer"
            elif self._late():
                self._fail(Why.NO_ANSWER, self._line)
        elif self._phase == "answer":
            self._answered(means)
        elif self._idle_for_long() if means is Means.CALL else self._idle_by_asking():
            self._idle_heard = False
            self._moving = means is Means.CALL
            self._advance()
        elif self._late():
            self._fail(Why.NO_ANSWER, self._line)

    def _answered(self, means: Means) -> None:
        if self._waiting:
            if self._late():
                self._fail(Why.NO_ANSWER, self._line)
        elif self._settling or means is Means.ANSWER:
            self._behind = self._behind and not self._settling
            self._settling = self._moving = False
            self._advance()
        elif means is Means.NOTHING or (self._line < len(self._lines) and not self._sending.waits_for_idle):
            self._advance()
        elif means is Means.SETTLING:
            self._settling, self._phase = True, "next"
        else:
            self._asking = self._idle_heard = False
            self._phase = "idle"

    # One look

    def _turn(self) -> None:
        self._seen = (self.position, self.increment)
        self._stage = self._kept_stage if self._seen == self._kept_for else 0
        self._turned, self.state = self.now, HandState.TURNED

    def _poll(self, clicks: int) -> None:
        held = self.held or not self._gesture.enable_held
        let_go = not held if self._gesture.enable_held else not clicks and self._passed(self._clicked, self._settle)
        self._listen()
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
            self._refused = self._asking = False
            self._turn()
        if self._refused:
            self._fail(Why.REFUSED, self.at_line if self._jogging else self._line)
        self._act(clicks, held=held, let_go=let_go)
        if clicks:
            self._clicked = self.now

    def _act(self, clicks: int, *, held: bool, let_go: bool) -> None:
        if self.state is HandState.TURNED:
            if self._passed(self._turned, self._settle):
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
            self._enabled(clicks, held=held)
        elif self.state is HandState.ASKING:
            self._ask_first(held=held)
        elif self.state is HandState.SENDING:
            if held:
                self._go_on()
            else:
                self._cease(Why.LET_GO)
                self.state = HandState.READY
        elif self.state is HandState.FINISHED and let_go:
            if self._gesture.enable_held and self._still_moving():
                self._cease(Why.LET_GO)
            self.state = HandState.READY

    def _enabled(self, clicks: int, *, held: bool) -> None:
        if not held:
            if self._still_moving():
                self._cease(Why.LET_GO)
            self.state = HandState.READY
        elif not self._sheet.positions[self.position].drives and self._counted(clicks):
            self._try()

    def _ask_first(self, *, held: bool) -> None:
        if not held:
            self._asking, self.why, self.state = False, Why.LET_GO, HandState.READY
        elif self._idle_by_asking():
            self._idle_heard = False
            self._begin()
        elif self._passed(self._turned, ASK):
            self._asking, self.why, self.state = False, Why.NOT_IDLE, HandState.ENABLED

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
