"""What a program does: moves and events in order, and the modal state after each line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal, Self

from parser.findings import Trouble
from parser.machine import SYSTEMS
from parser.motion.assumptions import Assumption, Lasting
from parser.motion.places import Coordinate, Place

MoveKind = Literal["rapid", "feed", "arc", "probe", "dwell"]
Turning = Literal["clockwise", "counter-clockwise", "stopped"]
TURNING: Mapping[str, Turning] = {"M3": "clockwise", "M4": "counter-clockwise", "M5": "stopped"}


@dataclass(frozen=True, slots=True)
class Arc:
    """The circular part of a move: the plane's two axes in right-handed order, the centre and the sweep.

    ``axes`` is ("x", "y") for G17, ("z", "x") for G18, ("y", "z") for G19; ``normal`` the third axis. ``centre`` gives
    both plane coordinates; ``radius`` is in mm. ``sweep`` is in degrees, counter-clockwise positive seen from the
    positive end of the normal; ``begins`` is the angle of the start from the first axis, in degrees. Where the start
    is unknown the centre floats with it, and radius and angles are still plain numbers.
    """

    axes: tuple[str, str]
    normal: str
    centre: tuple[Coordinate, Coordinate]
    radius: float
    begins: float
    sweep: float


@dataclass(slots=True)  # nothing changes one; frozen ones take five times as long to make
class Move:
    """One segment of motion, or a dwell.

    ``start`` and ``end`` give every axis of the machine in machine coordinates. ``feed`` is mm/min (degrees/min where
    only rotary axes move), None for a rapid; ``minutes`` is how long an inverse-time move takes, None otherwise.
    ``seconds`` is the length of a dwell. ``dogleg`` marks a rapid on which each axis goes at its own rate, so that the
    path between the ends is not known. ``column`` and ``end_column`` mark the motion words in the line. ``spindle`` and
    ``path_control`` (G61, G61.1, G64) are the state it runs in, None where not known. ``aim`` is where a probing move
    goes as long as nothing trips it, None for any other.
    """

    line: int
    kind: MoveKind
    start: Place
    end: Place
    feed: float | None = None
    minutes: float | None = None
    seconds: float = 0.0
    arc: Arc | None = None
    dogleg: bool = False
    spindle: Turning | None = None
    path_control: str | None = None
    column: int | None = None
    end_column: int | None = None
    aim: Place | None = None

    @property
    def furthest(self) -> Place:
        """Where the move ends at the latest: its end, or what a probe that nothing trips would go on to."""
        return self.aim or self.end

    @property
    def guessed(self) -> bool:
        """Whether it only helps to cover what a move of unknown shape may sweep."""
        return self.dogleg and self.kind == "feed"

    @property
    def moving(self) -> tuple[str, ...]:
        """Axes that this move may shift."""
        return tuple(name for name, at in self.start.items() if at != self.end[name] or self._arc_uses(name))

    def _arc_uses(self, name: str) -> bool:
        return self.arc is not None and name in self.arc.axes


class EventKind(StrEnum):
    """What may happen between moves.

    Where it ``waits`` nothing goes on before the operator says so. Where it ``loses_position`` the machine stands
    somewhere else afterwards, on a way that is not known. One that ``homes`` references it; one that ``ends`` is the
    last thing that is followed. Whatever waits or loses the position says whether the machine surely ``stops`` for it,
    or may go on as if it were not there: a tool that is in already, a program that does nothing.
    """

    waits: bool
    loses_position: bool
    homes: bool
    ends: bool
    stops: bool

    MESSAGE = "message"
    PAUSE = "pause", "waits", "stops"
    TOOL_CHANGE = "tool-change", "waits", "may do nothing"
    HOMING = "homing", "loses position", "homes", "stops"  # the controller runs its own cycle
    HOME_AT_PANEL = "home-at-panel", "waits", "loses position", "homes", "stops"  # the operator does, during a pause
    HOME_AFTERWARDS = "home-afterwards", "loses position", "homes", "stops"  # the operator does, once it has ended
    BY_HAND = "by-hand", "waits", "loses position", "stops"  # the operator moves an axis, during a pause
    MOTION_NOT_KNOWN = (
        "motion-not-known",
        "loses position",
        "may do nothing",
    )  # a line may move axes, nobody knows where
    CALL = "call", "loses position", "may do nothing"  # an extra word runs another program
    INPUT = "input"  # an extra word waits for something outside, which may be there already
    RETURN = "return", "ends"  # an extra word ends the macro
    END = "end", "ends"  # M2, M30

    def __new__(cls, name: str, *does: str) -> Self:
        kind = str.__new__(cls, name)
        kind._value_ = name
        kind.waits, kind.loses_position = "waits" in does, "loses position" in does
        kind.homes, kind.ends, kind.stops = "homes" in does, "ends" in does, "stops" in does
        if kind.interrupts != (kind.stops or "may do nothing" in does):
            raise TypeError(f"{name} has to say whether the machine surely stops for it")
        return kind

    @property
    def interrupts(self) -> bool:
        """Whether the machine cannot run on from the move before it into the move after it."""
        return self.waits or self.loses_position


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happens between moves and takes no predictable time.

    ``before`` is the index in ``Trace.moves`` of the move that follows. ``text`` is the message or the word.
    ``optional`` marks one that a switch may take out (M1).
    """

    line: int
    kind: EventKind
    before: int
    text: str = ""
    axes: tuple[str, ...] = ()
    column: int | None = None
    end_column: int | None = None
    optional: bool = False

    @property
    def surely_stops(self) -> bool:
        """Whether the machine comes to rest for it, whatever is in the spindle and however the switches stand."""
        return self.kind.stops and not self.optional


@dataclass(slots=True)  # nothing changes one; frozen ones take five times as long to make
class State:
    """Modal state after a line. What the macro has not set is None: not known, never a default.

    ``modes`` maps the number of a published G group (1 motion, 2 plane, 3 distance, 5 feed rate mode, 6 units, 7 cutter
    compensation, 8 tool length offset, 10 return, 12 coordinate system, 13 path control) to its word. ``feed`` mm/min,
    ``speed`` rpm. ``overrides`` is "M48" or "M49". ``coolant`` holds the words M7 and M8 in force. ``changed`` names
    the lasting values the macro has altered, each with the line that did it: origins, a G92 offset in force, stored
    points, parameters, the tool. ``origins`` gives where those origins then are, in machine coordinates, and the zero
    of each axis that a G92 offset in force was given for. ``kept`` is the word that has made the offsets kept for G92.3
    what they are, G92 or G92.1, "" where the macro has not.
    """

    line: int
    modes: Mapping[int, str]
    feed: float | None = None
    speed: float | None = None
    spindle: Turning | None = None
    coolant: frozenset[str] | None = None
    overrides: str | None = None
    tool: int | None = None
    changed: Mapping[Lasting, int] = field(default_factory=dict)
    ended: bool = False
    origins: Mapping[Lasting, Coordinate] = field(default_factory=dict)
    kept: str = ""


@dataclass(frozen=True, slots=True)
class Trace:
    """A program followed word by word from a start place.

    ``states[i]`` is the state after the i-th executed line that did anything; ``state_lines`` are read off them.
    ``assumptions`` maps what the program finds and counts on to the line that first does. ``forks`` are the places, by
    axis, to either side of which a start makes the program go another way. ``before`` is the state the first line runs
    in: all unknown but for what was assumed by hand, in the words of ``assume``.
    """

    start: Place
    moves: tuple[Move, ...]
    events: tuple[Event, ...]
    states: tuple[State, ...]
    end: Place
    troubles: tuple[Trouble, ...] = ()
    forks: tuple[tuple[str, float], ...] = ()
    assumptions: Mapping[Assumption, int] = field(default_factory=dict)
    before: State = field(default_factory=lambda: State(0, {}))
    assume: str = ""

    @property
    def final(self) -> State:
        """The state at the end; that before the first line where nothing ran."""
        return self.states[-1] if self.states else self.before

    def place_after(self, line: int) -> Place:
        """Where every axis stands once a line is over."""
        done = sum(move.line <= line for move in self.moves)
        if any(event.kind.loses_position and event.line <= line and event.before >= done for event in self.events):
            return self.moves[done].start if done < len(self.moves) else self.end
        return self.moves[done - 1].end if done else self.start

    @property
    def origins_used(self) -> tuple[str, ...]:
        """The work systems ("G54") that are counted on as the sheet has them."""
        used = {each.about.word for each in self.assumptions if each.about.kind == "origin" and each.taken == "sheet"}
        return tuple(system for system in SYSTEMS if system in used)

    @property
    def origins_missing(self) -> dict[tuple[str, str], int]:
        """(system, axis) of the origins that the sheet does not give, with the line that first counts on each."""
        origins = ((each, line) for each, line in self.assumptions.items() if each.about.kind == "origin")
        return {(each.about.word, each.about.axis): line for each, line in origins if each.taken == "anywhere"}
