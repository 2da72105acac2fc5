"""What a macro leaves behind, at its end or where a hand lets go: lasting values, and where the axes stand."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import inf

from parser.machine import AXES, MM_PER_INCH, Interval
from parser.motion import modes
from parser.motion.assumptions import (
    ANYTHING,
    FEED,
    KEPT,
    SPINDLE,
    TOOL,
    Lasting,
    mode_of,
    parameter,
)
from parser.motion.interpreter import trace
from parser.motion.moves import State, Trace
from parser.motion.parameters import PROBED
from parser.motion.places import Place, bounds
from parser.quantities import figure
from parser.report import Report

MODES: Mapping[int, Lasting] = {group: mode_of(group) for group in modes.STAKES}


@dataclass(frozen=True, slots=True)
class Left:
    """One thing that a macro leaves behind, and the line that did it.

    ``at`` is where an origin then is; ``word`` the mode, the feed or the tool in force, or what has made the kept
    offsets what they are, G92 or G92.1.
    """

    about: Lasting
    line: int
    at: Interval | None = None
    word: str = ""


@dataclass(frozen=True, slots=True)
class Aftermath:
    """Something left behind and when: at the end (``whole``), or where the hand lets go after one of ``lines``."""

    left: Left
    lines: tuple[int, ...]
    whole: bool


@dataclass(frozen=True, slots=True)
class Standing:
    """Where the axes stand once a line is done; ``whole`` where it is the last one."""

    line: int
    place: Place
    whole: bool


def aftermath(report: Report) -> Iterator[Aftermath]:
    """What a macro leaves behind when it runs whole or is interrupted, the block delete switch off and on."""
    found: dict[Left, tuple[set[int], bool]] = {}
    for followed in followed_both_ways(report):
        for number, (line, lefts) in enumerate(_after_each_line(followed), start=1):
            last = number == len(followed.states)
            for left in lefts:
                lines, whole = found.get(left, (set(), False))
                found[left] = (lines if last else lines | {line}, whole or last)
    for left, (lines, whole) in found.items():
        yield Aftermath(left, tuple(sorted(lines)), whole)


def followed_both_ways(report: Report) -> Iterator[Trace]:
    """The trace of a report, and where the block delete switch makes a difference that with the switch on."""
    yield report.trace
    if any(line.block_delete for line in report.program.lines):
        asked = (report.program, report.machine, report.controller)
        yield trace(*asked, start=report.start, assume=report.trace.assume, block_delete=True)


def _after_each_line(followed: Trace) -> Iterator[tuple[int, list[Left]]]:
    """Each line that was executed, with what has been left otherwise once it is done."""
    since: dict[Lasting, tuple[str, int]] = {}
    called = min((event.line for event in followed.events if event.kind == "call"), default=inf)
    probes = [move.line for move in followed.moves if move.kind == "probe"]
    before = followed.before
    last_feed, feed = before.feed, ""
    for state in followed.states:
        if state.feed != last_feed:
            last_feed, feed = state.feed, _feed_word(state)
        in_force = {group: word for group, word in state.modes.items() if word != before.modes.get(group)}
        now = {MODES[group]: word for group, word in in_force.items() if group in MODES}
        if state.spindle in ("clockwise", "counter-clockwise"):
            now[SPINDLE] = state.spindle
        if state.tool not in (None, before.tool):
            now[TOOL] = f"T{state.tool}"
        if feed:
            now[FEED] = feed
        if state.kept != before.kept:
            now[KEPT] = state.kept
        if state.line >= called:
            now[ANYTHING] = "calls another program"
        since = {
            about: since[about] if about in since and since[about][0] == word else (word, state.line)
            for about, word in now.items()
        }
        lefts = [Left(about, line, word=word) for about, (word, line) in since.items()]
        yield state.line, [*_changed(state), *_probed(probes[: bisect_right(probes, state.line)]), *lefts]


def _feed_word(state: State) -> str:
    """The feed rate in force as somebody would write it, "" where none is known."""
    if state.feed is None:
        return ""
    inches = state.modes.get(modes.UNITS) == "G20"
    return f"F{figure(state.feed / MM_PER_INCH)} under G20" if inches else f"F{figure(state.feed)}"


def _changed(state: State) -> Iterator[Left]:
    for about, line in state.changed.items():
        match about.kind:
            case "origin":
                yield Left(about, line, at=bounds(state.origins[about]))
            case "offset":
                for each in (each for each in state.origins if each.kind == "offset"):
                    yield Left(each, line)
            case "feed":
                yield Left(about, line, word="a feed rate that is not known")
            case "anything":
                yield Left(about, line, word="does something that is not known")
            case "stored" | "parameter":
                yield Left(about, line)


def _probed(lines: Sequence[int]) -> Iterator[Left]:
    """A probe puts where it tripped into parameters 5061 to 5066, those of all axes (NISTIR 6556, 3.5.9)."""
    if lines:
        yield from (Left(parameter(PROBED + place), lines[-1]) for place in range(len(AXES)))


def standings(report: Report) -> Iterator[Standing]:
    """Where a macro leaves the axes after each of its lines, the block delete switch off and on."""
    for followed in followed_both_ways(report):
        done, place = 0, followed.start
        losses = [(event.before, event.line) for event in followed.events if event.kind.loses_position]
        for number, state in enumerate(followed.states, start=1):
            while done < len(followed.moves) and followed.moves[done].line <= state.line:
                place = followed.moves[done].end
                done += 1
            ahead = followed.moves[done].start if done < len(followed.moves) else followed.end
            lost = [line for before, line in losses if before == done]
            for at in _may_stand_at(place, ahead, state.line, lost):
                yield Standing(state.line, at, number == len(followed.states))


def _may_stand_at(place: Place, ahead: Place, line: int, lost: list[int]) -> list[Place]:
    """Where the axes may be after a line: where its last move took them, unless the position has been lost since.

    ``ahead`` is where the next move starts, ``lost`` are the lines on which the position is lost before it. Where it is
    lost and none of these tells on which line, it may be on any.
    """
    if ahead == place or (lost and min(lost) > line):
        return [place]
    return [ahead] if lost else [place, ahead]
