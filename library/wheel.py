"""What the wheel does on a position that drives an axis, as ``library/pendant/pendant.h`` does it, in Python."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

from library import jogs
from library.handling import HandState, Means, Why
from library.sender import ASK_AGAIN, Sender


@dataclass
class Jogging(Sender):
    """A pendant that jogs as well; ``dropped`` counts the clicks that came to nothing."""

    dropped: int = 0
    _merged: int = 0
    _jog: tuple[str, ...] = ()
    _next_line: int = 0
    _settled: bool = False
    _under_way: int = 0
    _over_at: deque[int] = field(default_factory=deque)

    @property
    def waiting_clicks(self) -> int:
        """Clicks that are merged and not yet sent, with the sign of their way round."""
        return self._merged

    def pass_look(self, clicks: int = 0) -> None:
        """One look at the pendant, later than the last one."""
        super().pass_look(clicks)
        self._turn_wheel(clicks)

    def _turn_wheel(self, clicks: int) -> None:
        what = self.holds.wheel.get((self.position, self.increment))
        if self.state is not HandState.ENABLED or what is None:
            self._merged, self._jog, self._under_way, self._settled, self._jogging = 0, (), 0, False, False
            self._over_at.clear()
            return
        merged = self._merged + clicks
        self._merged = max(-what.most, min(what.most, merged))
        self.dropped += abs(merged - self._merged)
        if self._merged and not self._nothing_held():
            self.why = Why.NOT_IDLE
            self.dropped, self._merged = self.dropped + abs(self._merged), 0
        if self._jog:
            self._jog_on()
        elif self._under_way:
            self._settle_jogs()
        if self._may_begin():
            self._begin_jog(what)

    def _may_begin(self) -> bool:
        return (
            self.state is HandState.ENABLED
            and not self._jog
            and self._merged != 0
            and not self._idle_heard
            and (not self._asking or self._passed(self._asked_at, ASK_AGAIN))
            and self._under_way < self._sheet.jog.in_flight
            and jogs.may_jog(self.holds.bench)
            and (not self._waiting or self._late())
        )

    def _begin_jog(self, what: jogs.Jogged) -> None:
        bench = self.holds.bench
        begins = max(self.now + jogs.in_ms(bench.machine.latency), self._over_at[-1] if self._over_at else 0)
        self._over_at.append(begins + what.takes(abs(self._merged)))
        self._under_way += 1
        self.why = Why.NOTHING
        self._jog, self._next_line = jogs.lines_of(what.axis, self._merged * what.step, bench), 0
        self._merged, self._settled = 0, False
        self._waiting = self._asking = False
        self._jogging = True
        self._patience = self._motion = self.holds.jog_patience
        self._sent_at = self.now
        self._jog_on()

    def _jog_on(self) -> None:
        if self._waiting:
            if self._late():
                self._fail(Why.NO_ANSWER, self.at_line)
        elif self._next_line < len(self._jog):
            if self._quiet():
                self.at_line = self._next_line + 1
                self._send(self._jog[self._next_line])
                self._next_line += 1
            elif self._late():
                self._fail(Why.NO_ANSWER, self._next_line)
        elif self.means is Means.SETTLING and not self._settled:
            if self._quiet():
                self._settled = True
                self._send(self._says.settle)
        else:
            self._jog = ()
            self._asking = self._idle_heard = False
            self._idle_since = -1

    def _settle_jogs(self) -> None:
        """Jogs that are known to be over."""
        means = self.means
        if means is Means.NOTHING:
            while self._over_at and self.now >= self._over_at[0]:
                self._over_at.popleft()
            self._under_way = len(self._over_at)
            self._jogging = self._under_way > 0
            return
        if means is Means.CALL:
            over = self._idle_for_long()
        elif means is Means.ASKING:
            wanted = self._idle_heard or self._under_way >= self._sheet.jog.in_flight or not self._merged
            over = wanted and self._idle_by_asking()
        else:
            over = True
        if over:
            self._idle_heard = self._jogging = self._moving = False
            self._under_way = 0
            self._over_at.clear()
