"""The pendant tried on its page: the deeds in the address, what came of them, and the address of each further one."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from markupsafe import Markup

import parser
from library import pack
from library.hand_rate import held_to
from library.handling import TOLD, Means
from library.outgoing import Outgoing
from library.pack import Gathered
from library.simulated import Answer
from library.store import Workshop
from library.trying import Pendant
from parser.report import Report
from webapp.drawings import elevations
from webapp.pages import playback as playback_page
from webapp.pages.playback import Playback

MOST_DEEDS = 200  # our choice
PAUSE = 100
"""Milliseconds between two deeds, beside those that somebody waits (our choice)."""

WAIT = 1000

_DEED = re.compile(r"t(\d{1,3}),(\d{1,3})|[+-]|[grepuwbiafnh]")


_ANSWERS: Mapping[str, Answer] = {"a": "taken", "f": "fault", "n": "silent"}


@dataclass(frozen=True, slots=True)
class Deed:
    """Something that may be done next: what the button says, what it adds to the address, whether it is so already.

    ``id`` stays the same from one deed to the next, so that the focus does.
    """

    id: str
    label: str
    adds: str
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class Fired:
    """A macro that was fired."""

    id: str
    name: str


@dataclass(frozen=True, slots=True)
class OnTheDrawing:
    """What the lines that were sent for the last macro do, to be played on the drawing.

    ``whole`` tells whether all of its lines were sent.
    """

    name: str
    id: str
    whole: bool
    playback: Playback
    elevations: Markup


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of the deeds. ``flashes`` is what the lamp shows, 0 for none; ``lit`` while lines are sent."""

    did: str
    position: int
    increment: int
    state: str
    why: str
    flashes: int
    lit: bool
    sent: tuple[tuple[str, int], ...]
    """Each line, with its number among those of the macro that was fired last; 0 for any other line."""
    fired: tuple[Fired, ...]
    played: OnTheDrawing | None
    positions: tuple[Deed, ...]
    increments: tuple[Deed, ...]
    hand: tuple[Deed, ...]
    controller: tuple[Deed, ...]
    told_idle: bool
    """Whether something tells the pendant that the controller is busy."""


def tried(shop: Workshop, did: str) -> Tried:
    """What comes of deeds, each a word: ``t3,1`` turns, ``e`` presses enable, ``+`` is a click, ``g`` a gesture.

    What is no deed is left out. Raises PackError and DocumentError where the slots cannot be worked out.
    """
    words = [word for word in did.split() if _DEED.fullmatch(word)][:MOST_DEEDS]
    goes = _goes(pack.gather(shop))
    on = Pendant.of(goes)
    kept = [word for word in words if _do(on, word)]
    return Tried(
        did=" ".join(kept),
        position=on.position,
        increment=on.increment,
        state=on.state.value,
        why=TOLD[on.why],
        flashes=on.flashes,
        lit=on.lit,
        sent=tuple((line, on.of_macro.index(at) + 1 if at in on.of_macro else 0) for at, line in enumerate(on.sent)),
        played=_played(on, goes) if on.fired else None,
        fired=tuple(Fired(id, goes.taken[id].macro.name) for id in on.fired),
        positions=tuple(_positions(on)),
        increments=tuple(_increments(on)),
        hand=tuple(_hand(on)),
        controller=(
            Deed("idle", "The controller is idle", "i", not on.controller.kept_busy),
            Deed("busy", "The controller is busy", "b", on.controller.kept_busy),
            Deed("takes", "It takes each line", "a", on.controller.answer == "taken"),
            Deed("refuses", "It refuses each line", "f", on.controller.answer == "fault"),
            Deed("silent", "It answers nothing", "n", on.controller.answer == "silent"),
            *([Deed("resume", "What it holds is resumed", "h")] if on.controller.holding else []),
        ),
        told_idle=on.means is not Means.NOTHING,
    )


def _goes(gathered: Gathered) -> Outgoing:
    macros = tuple(sorted(gathered.macros.items()))
    return _worked_out(gathered.machine, gathered.controller, gathered.pendant, macros)


@lru_cache(maxsize=4)
def _worked_out(machine: str, controller: str, pendant: str, macros: tuple[tuple[str, str], ...]) -> Outgoing:
    return pack.outgoing(Gathered(machine, controller, pendant, dict(macros)))


def _played(on: Pendant, goes: Outgoing) -> OnTheDrawing | None:
    """What was sent for the last macro on the drawing; None where that moves nothing yet."""
    id = on.fired[-1]
    lines = tuple(on.sent[at] for at in on.of_macro)
    report = _report(_SentLines(lines, id, goes))
    if report is None or not report.trace.moves:
        return None
    figures = goes.bench.figures
    playback, _ = playback_page.shown(report, figures)
    name = goes.taken[id].macro.name
    return OnTheDrawing(
        name=name,
        id=id,
        whole=lines in {stage.lines for stage in goes.taken[id].stages},
        playback=playback,
        elevations=elevations.draw(report, title=name, units=figures.units),
    )


@dataclass(frozen=True, slots=True)
class _SentLines:
    """Lines that were sent for a macro of a pack: the same lines of the same pack are read once."""

    lines: tuple[str, ...]
    id: str
    goes: Outgoing = field(compare=False)

    def __hash__(self) -> int:
        return hash((self.lines, self.id, id(self.goes)))

    def __eq__(self, other: object) -> bool:
        same = isinstance(other, _SentLines) and (self.lines, self.id) == (other.lines, other.id)
        return same and isinstance(other, _SentLines) and self.goes is other.goes


@lru_cache(maxsize=16)
def _report(of: _SentLines) -> Report | None:
    bench, macro = of.goes.bench, of.goes.taken[of.id].macro
    if not of.lines:
        return None
    accepted = {each.rule: each.because for each in macro.accepted}
    text = "".join(f"{line}\n" for line in of.lines)
    question = parser.Question(accepted=accepted, hand_rate=held_to(macro, bench))
    return parser.examine(text, bench.machine, bench.controller, question)


def _do(on: Pendant, word: str) -> bool:
    """Do what a word says; False where this pendant has no such place."""
    sheet = on.holds.bench.pendant
    turned = _DEED.fullmatch(word)
    if turned and turned[1]:
        position, increment = int(turned[1]), int(turned[2])
        if position >= len(sheet.positions) or increment >= len(sheet.increments):
            return False
        on.turn(position, increment)
    elif word in "+-":
        on.click(1 if word == "+" else -1)
    elif word == "g":
        on.click(*sheet.gesture.turns).wait(300)
    elif word == "w":
        on.wait(WAIT)
    elif word in "bi":
        on.controller.kept_busy = word == "b"
    elif word in _ANSWERS:
        on.controller.answer = _ANSWERS[word]
    else:
        {"e": on.press, "r": on.let_go, "p": on.push, "u": on.pull, "h": on.resume}[word]()
    on.wait(PAUSE)
    return True


def _positions(on: Pendant) -> Iterator[Deed]:
    for at, position in enumerate(on.holds.bench.pendant.positions):
        yield Deed(f"position-{at}", position.label, f"t{at},{on.increment}", at == on.position)


def _increments(on: Pendant) -> Iterator[Deed]:
    for at, label in enumerate(on.holds.bench.pendant.increments):
        yield Deed(f"increment-{at}", label, f"t{on.position},{at}", at == on.increment)


def _hand(on: Pendant) -> Iterator[Deed]:
    if on.holds.bench.pendant.gesture.enable_held:
        yield Deed("enable", "Let enable go", "r") if on.held else Deed("enable", "Press enable", "e")
    yield Deed("click", "A click one way", "+")
    yield Deed("click-back", "A click back", "-")
    yield Deed("gesture", "The clicks of the gesture", "g")
    yield Deed("wait", "Wait a second", "w")
    yield Deed("stop", "Release the stop", "u") if on.stop else Deed("stop", "Press the stop", "p")
