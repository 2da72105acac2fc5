"""The path of a macro in words, a sentence for each move and each wait: for whoever does not see the drawing of it.

What is told is the trace of the report: an axis whose place the start decides is told as that. Whether it goes up or
down, and the ends that go with a move, are as it is drawn, from one start.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from parser.machine import LINEAR, ROTARY
from parser.motion.geometry import value_of
from parser.motion.moves import Move
from parser.motion.places import Name, in_words
from parser.quantities import Figures, figure
from parser.report import Report
from webapp.drawings import scene
from webapp.pages.playback_samples import WAITS

MOST = 120
"""Sentences that are told; a longer program nobody hears to its end, and its lines stand on the page (our choice)."""


@dataclass(frozen=True, slots=True)
class Told:
    """One sentence. ``move`` is the index of the move in the trace, None for a wait that is none.

    ``ends`` are X, Y and Z of both ends as they are drawn, in mm, "" for what does not move.
    """

    words: str
    line: int
    step: int | None
    move: int | None = None
    ends: str = ""


@dataclass(frozen=True, slots=True)
class PathInWords:
    """The sentences, and how many more there would be."""

    told: tuple[Told, ...]
    further: int


def told(report: Report, figures: Figures, start: Mapping[str, float] | None = None) -> PathInWords:
    """The path of a report as it is drawn from ``start``, its typical start where that is None."""
    every = list(_every(report, figures, start))
    return PathInWords(tuple(every[:MOST]), len(every[MOST:]))


def _every(report: Report, figures: Figures, start: Mapping[str, float] | None) -> Iterator[Told]:
    trace = report.trace
    values = scene.settle(trace, start)
    events = [event for event in trace.events if event.kind in WAITS]
    for index in range(len(trace.moves) + 1):
        for event in events:
            if event.before == index:
                yield Told(_clause(WAITS[event.kind]), event.line, report.steps.get(event.line))
        if index == len(trace.moves):
            return
        move = trace.moves[index]
        words = _words(move, values, figures)
        if words:
            ends = [
                figure(value_of(place[axis], values), 2) if axis in place else "0"
                for place in (move.start, move.end)
                for axis in LINEAR
            ]
            moves = move.kind != "dwell"
            yield Told(
                words, move.line, report.steps.get(move.line), index if moves else None, " ".join(ends) if moves else ""
            )


def _clause(sentence: str) -> str:
    plain = sentence.removeprefix("It ")
    return plain[0].lower() + plain[1:]


def _words(move: Move, values: Mapping[Name, float], figures: Figures) -> str:
    """What a move does, as a clause; "" where it stays."""
    if move.kind == "dwell":
        return f"dwells for {figure(move.seconds)} s" if move.seconds > 0 else ""
    if not move.moving:
        return ""
    where = " ".join(f"{axis.upper()} {in_words(axis, move.end[axis], figures)}" for axis in move.moving)
    rate = f", at {figures.rate(move.feed)}" if move.feed and not any(axis in ROTARY for axis in move.moving) else ""
    return f"{_verb(move, values)} {where}{rate}{_how(move, figures)}"


def _verb(move: Move, values: Mapping[Name, float]) -> str:
    moving = set(move.moving)
    if move.kind == "probe":
        return "probes towards"
    if move.arc is not None:
        way = "counter-clockwise" if move.arc.sweep > 0 else "clockwise"
        return f"goes round {way} to"
    if moving <= set(ROTARY):
        return "turns to"
    if moving == {"z"}:
        return "raises to" if value_of(move.end["z"], values) >= value_of(move.start["z"], values) else "lowers to"
    if "z" not in moving:
        return "crosses to" if move.kind == "rapid" else "feeds to"
    return "slants to" if move.kind == "rapid" else "feeds aslant to"


def _how(move: Move, figures: Figures) -> str:
    if move.arc is not None:
        return f", radius {figures.length(move.arc.radius, 3)}"
    return ", each axis at a rate of its own" if move.dogleg else ""
