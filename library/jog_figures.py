"""Jog figures: how fast the wheel may be turned, what one turn a second comes to, and how far it runs on.

They are read off the pendant's own program, followed click by click against a controller that answers as its sheet says
and moves as the plan of macros predicts. So they hold for what is sent: how clicks are merged, how many lines are under
way, and what tells that one is over.
"""

from __future__ import annotations

import itertools
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import lru_cache

from library.bench import Bench
from library.handling import HandState
from library.jogs import Jogged, in_ms, rate_of, seconds
from library.sender import Loaded
from library.wheel import Jogging

ANSWER_MS = 5  # our choice
"""What it takes from a line's going out to its answer: some 30 bytes there and back at a usual rate of the port."""

LOOK_MS = 5  # our choice
SETTLED_MS, TURNED_MS = 1000, 5000  # our choice
"""How long the wheel is turned, and from when on it counts: the first lines have the queue for themselves."""

FASTEST = 2000.0  # our choice
"""Clicks a second beyond which nobody asks: a fast hand makes some hundred."""

SLOWEST, NEAR, LONGEST_MS = 0.01, 1.03, 60_000


@dataclass(frozen=True, slots=True)
class JogFigures:
    """One axis at one increment; lengths mm or degrees, ``rate`` a minute.

    ``none_lost`` is how many clicks a second the pendant passes on without dropping one, ``FASTEST`` at most;
    ``keeps_up`` how many the machine carries out one by one, each from rest to rest, and no more than that. ``turned``
    is how far a second one turn of the wheel a second moves, ``dropped`` how many clicks of that turn are lost.
    ``runs_on`` is the most that is still moved when the wheel stops at that pace, for so many ``seconds``.
    """

    axis: str
    increment: str
    step: float
    rate: float
    keeps_up: float
    none_lost: float
    turned: float
    dropped: float
    runs_on: float
    seconds: float


class Turned(Jogging):
    """A pendant whose wheel is turned, with a controller that moves as it is predicted to."""

    @classmethod
    def at(cls, holds: Loaded, place: tuple[int, int]) -> Turned:
        """On a position that drives an axis, enable held, ready to be turned."""
        on = cls(holds, *place, look=LOOK_MS)
        on.controller.after = ANSWER_MS
        on.controller.takes = on.takes
        while on.state is not HandState.READY:
            on.pass_look()
        on.held = True
        on.pass_look()
        return on

    def __post_init__(self) -> None:
        super().__post_init__()
        self._row = self.holds.wheel[self.position, self.increment]
        self._known: dict[int, int] = {}
        self._moves: deque[tuple[int, int]] = deque()
        self._line_clicks = 0

    @property
    def ahead(self) -> int:
        """Clicks that were neither dropped nor done."""
        while self._moves and self._moves[0][0] <= self.now:
            self._moves.popleft()
        return abs(self.waiting_clicks) + sum(clicks for _, clicks in self._moves)

    def takes(self, line: str) -> int:
        """How long the controller moves for a line: one that moves nothing, no time."""
        moves = "{step}" in self._says.jog[self._next_line] if self._jog else False
        if not moves:
            return 0
        clicks = self._line_clicks
        if clicks not in self._known:
            row, rate = self._row, self._sheet.jog.rate
            self._known[clicks] = in_ms(seconds(row.axis, clicks * row.step, rate, self.holds.bench))
        return self._known[clicks]

    def _begin_jog(self, what: Jogged) -> None:
        self._line_clicks = abs(self._merged)
        super()._begin_jog(what)

    def _send(self, line: str) -> None:
        moves = bool(self._jog) and self._next_line < len(self._jog) and "{step}" in self._says.jog[self._next_line]
        super()._send(line)
        if moves:
            self._moves.append((self.controller.over_at, self._line_clicks))


@dataclass(frozen=True, slots=True)
class Turning:
    """What came of turning the wheel: clicks made and dropped once that goes on evenly, and whether any was dropped.

    ``ahead`` is the most, at any moment, that was neither done nor dropped, after ``looks`` looks.
    """

    made: int
    dropped: int
    lost: bool
    ahead: int
    looks: int


@dataclass(frozen=True, slots=True)
class _Question:
    """What the figures depend on, in so many words; ``bench`` has it ready."""

    key: str
    bench: Bench = field(compare=False)


def jog_figures(bench: Bench) -> tuple[JogFigures, ...]:
    """The figures of every axis and increment that jogs, in the order of the pendant sheet."""
    pendant = bench.pendant
    sheets = (bench.controller_sheet, pendant.jog, pendant.wheel, *pendant.positions)
    words = (
        *(each.model_dump_json() for each in sheets),
        pendant.increments,
        bench.machine.axes,
        bench.machine.latency,
    )
    return _worked_out(_Question(repr(words), bench))


@lru_cache(maxsize=8)
def _worked_out(question: _Question) -> tuple[JogFigures, ...]:
    bench = question.bench
    holds = Loaded.of(bench, {})
    places: dict[tuple[str, float], tuple[int, int]] = {}
    for place, row in holds.wheel.items():
        places.setdefault((row.axis.name, row.step), place)
    found: list[JogFigures] = []
    for name, increment, step in bench.pendant.jogs():
        if (name, step) in places:
            place = places[name, step]
            same = next((each for each in found if _alike(holds, place, each)), None)
            figures = replace(same, axis=name, increment=increment) if same else _figures(holds, place, increment)
            found.append(figures)
    return tuple(found)


def _alike(holds: Loaded, place: tuple[int, int], other: JogFigures) -> bool:
    """Whether another axis that was worked out moves in the same way."""
    row, axis = holds.wheel[place], holds.bench.machine.axis(other.axis)
    kind = (row.axis.rapid, row.axis.acceleration, row.axis.jerk, row.axis.rotary, row.step)
    return axis is not None and kind == (axis.rapid, axis.acceleration, axis.jerk, axis.rotary, other.step)


def _figures(holds: Loaded, place: tuple[int, int], increment: str) -> JogFigures:
    bench, row = holds.bench, holds.wheel[place]
    a_turn = float(bench.pendant.wheel.clicks_per_turn)
    turning = turned(holds, place, a_turn)
    lost = turning.dropped / turning.made
    none_lost = _none_lost(holds, place)
    return JogFigures(
        axis=row.axis.name,
        increment=increment,
        step=row.step,
        rate=rate_of(row.axis, bench.pendant.jog.rate),
        keeps_up=min(none_lost, 1.0 / seconds(row.axis, row.step, bench.pendant.jog.rate, bench)),
        none_lost=none_lost,
        turned=a_turn * (1.0 - lost) * row.step,
        dropped=a_turn * lost,
        runs_on=turning.ahead * row.step,
        seconds=_runs_on_for(holds, place, a_turn, turning.looks),
    )


def _none_lost(holds: Loaded, place: tuple[int, int]) -> float:
    """Clicks a second of which none is dropped, to about one part in thirty and not more."""
    low, high = SLOWEST, FASTEST
    if not turned(holds, place, high, until_lost=True).lost:
        return high
    while high / low > NEAR:
        pace = (low * high) ** 0.5
        if turned(holds, place, pace, until_lost=True).lost:
            high = pace
        else:
            low = pace
    return low


def turned(holds: Loaded, place: tuple[int, int], pace: float, *, until_lost: bool = False) -> Turning:
    """The wheel turned evenly at so many clicks a second."""
    on = Turned.at(holds, place)
    made = ahead = looks = before = 0
    for number, clicks in enumerate(evenly(pace), start=1):
        on.pass_look(clicks)
        if until_lost and on.dropped:
            break
        if number * LOOK_MS <= SETTLED_MS:
            before = on.dropped
        else:
            made += clicks
        if on.ahead > ahead:
            ahead, looks = on.ahead, number
    return Turning(max(1, made), on.dropped - before, on.dropped > 0, ahead, looks)


def _runs_on_for(holds: Loaded, place: tuple[int, int], pace: float, looks: int) -> float:
    """Seconds until all is done after the wheel stops, having been turned for so many looks."""
    on = Turned.at(holds, place)
    for clicks in itertools.islice(evenly(pace), looks):
        on.pass_look(clicks)
    stopped = on.now
    while on.ahead and on.now - stopped < LONGEST_MS:
        on.pass_look()
    return (on.now - stopped) / 1000


def evenly(pace: float) -> Iterator[int]:
    """How many clicks each look has at so many a second."""
    done = 0
    for look in range(1, TURNED_MS // LOOK_MS + 1):
        due = int(pace * look * LOOK_MS / 1000)
        yield due - done
        done = due
