"""Rules about modes: a macro must not lean on what it did not set, and leaves the controller as it was."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from parser.findings import Finding, Severity
from parser.language.words import G_GROUPS
from parser.motion.moves import State
from parser.proof.evidence import Evidence
from parser.proof.rules.base import Reported, Rule, register

MOTION, LENGTH_OFFSET, SYSTEM = 1, 8, 12


@register
class ModeAssumed(Reported):
    """The macro relies on a mode it did not set

    What: A word is read in a mode (units, distance, plane, work system, tool length offset, a parameter) that no
        earlier line of the macro put in force.
    Why: The macro fires in whatever mode the machine was left. In inches, 10 is 254 mm.
    Bad:
        G53 G0 Z-2
    Good:
        G21
        G53 G0 Z-2
    Remedy: Set the mode first, on a line of its own.
    """

    id = "mode-assumed"
    severity = Severity.REFUSE
    family = "modes"
    accepts = True


@register
class FeedNotSet(Reported):
    """A feed move without a feed rate

    What: G1, G2 or G3 moves before the macro has given F.
    Why: The move goes at whatever rate the last program left, or not at all.
    Bad:
        G21 G90 G94
        G53 G1 Z-2
    Good:
        G21 G90 G94
        G53 G1 Z-2 F200
    Remedy: Put F on the line of the move.
    """

    id = "feed-not-set"
    severity = Severity.REFUSE
    family = "modes"
    accepts = True


def departures(state: State, before: State, resting: tuple[str, ...]) -> list[tuple[str, str]]:
    """(what the state has, what resting asks for), for everything the macro has put out of its resting mode.

    What was so ``before`` the macro is not its doing. The motion group is left aside: a line that relies on it without
    setting it is refused anyway.
    """
    pairs = [(_against(state, word), _against(before, word), word) for word in resting]
    return [(now, word) for now, was, word in pairs if now not in (word, was)]


def _against(state: State, word: str) -> str:
    """What the state has in the place of a resting word: the word itself where nothing is known."""
    turning = {"clockwise": "M3", "counter-clockwise": "M4"}
    if word == "M5":
        return turning.get(state.spindle or "", word)
    if word == "M9":
        return " ".join(sorted(state.coolant)) if state.coolant else word
    if word in ("M48", "M49"):
        return state.overrides or word
    group = G_GROUPS.get(word, MOTION)
    return word if group == MOTION else state.modes.get(group, word)


def _words(pairs: list[tuple[str, str]]) -> str:
    return ", ".join(f"{now} where {word} is expected" for now, word in pairs)


@register
class ModeLeftChanged(Rule):
    """The macro leaves a mode changed

    What: At the end a modal group that the macro touched is not as the resting modes of the controller sheet say.
        After M2 or M30 what these reset counts. The motion group is left aside: a macro that relied on it would
        be refused.
    Why: The next program, typed by hand perhaps, is read in the wrong units or from the wrong place.
    Bad:
        G21 G91
        G0 Z1
    Good:
        G21 G91
        G0 Z1
        G90
    Remedy: Put the resting modes back on the last line.
    """

    id = "mode-left-changed"
    severity = Severity.REFUSE
    family = "modes"
    accepts = True

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        pairs = departures(evidence.trace.final, evidence.trace.before, evidence.controller.resting)
        if pairs:
            ends = evidence.program.wrapped or evidence.trace.final.ended
            where = "Before the line that ends the program add a line" if ends else "Add a last line"
            yield self.finding(
                f"At the end the controller is left in {_words(pairs)}",
                f"{where}: {' '.join(word for _, word in pairs)}",
            )


@register
class OffsetLeftChanged(Rule):
    """The macro leaves an offset or the work system changed

    What: A work origin, a G92 offset, a stored point, the tool length offset or the selected work system is not
        as it was.
    Why: The next program goes to other places than it was proved for.
    Bad:
        G21 G90
        G10 L2 P1 X10
    Good:
        G21 G90
        G53 G0 Z-2
    Remedy: If that is the purpose of the macro, say so in its name; otherwise take the line out.
    """

    id = "offset-left-changed"
    severity = Severity.CAUTION
    family = "modes"

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        final = evidence.trace.final
        for name, line in final.changed.items():
            if not name.startswith("#"):
                yield self.finding(
                    f"{name} is changed here and stays so",
                    "Keep this only if it is what the macro is for, and say so in its name.",
                    line=line,
                )
        for group, what in ((SYSTEM, "work system"), (LENGTH_OFFSET, "tool length offset")):
            word = final.modes.get(group)
            kept = (evidence.trace.before.modes.get(group), *evidence.controller.resting)
            if word is not None and word not in kept:
                yield self.finding(
                    f"The {what} is left as {word}, whatever it was before",
                    f"Check that the next program sets its own {what}, or list {word} among the resting modes.",
                    line=_first_with(evidence.trace.states, group, word),
                )


def _first_with(states: tuple[State, ...], group: int, word: str) -> int | None:
    return next((state.line for state in states if state.modes.get(group) == word), None)


@register
class LeftIfInterrupted(Rule):
    """Letting go in the middle leaves the controller changed

    What: After some line before the last, modes differ from the resting modes, or the spindle or coolant that the
        macro started is still on.
    Why: A hand may let go after any line; what follows is then never sent.
    Bad:
        G21 G91
        G0 Z1
        G90
    Good:
        G21 G90
        G53 G0 Z-2
    Remedy: Use machine coordinates (G53) instead of G91, and keep the changed stretch short.
    """

    id = "left-if-interrupted"
    severity = Severity.CAUTION
    family = "modes"

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        left = list(_left(evidence))
        if left:
            lines = sorted({line for line, _ in left})
            where = f"after line {lines[0]}" if len(lines) == 1 else f"after any of lines {lines[0]} to {lines[-1]}"
            things = ", ".join(dict.fromkeys(thing for _, thing in left))
            yield self.finding(
                f"Letting go {where} leaves {things}",
                "After an interruption set the resting modes by hand before anything else runs.",
                line=lines[0],
            )


def _left(evidence: Evidence) -> Iterator[tuple[int, str]]:
    for state in evidence.trace.states[:-1]:
        for now, _ in departures(state, evidence.trace.before, evidence.controller.resting):
            yield state.line, now
        if state.spindle in ("clockwise", "counter-clockwise"):
            yield state.line, "the spindle turning"
        if state.coolant:
            yield state.line, "the coolant on"
