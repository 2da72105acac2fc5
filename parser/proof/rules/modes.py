"""Rules about modes: a macro must not lean on what it did not set, and leaves the controller as it was."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from parser.findings import Finding, Severity
from parser.language.words import G_GROUPS
from parser.motion.assumptions import OFFSET, Lasting
from parser.motion.modes import LENGTH_OFFSET, MOTION, SYSTEM
from parser.motion.moves import TURNING, State
from parser.motion.places import Afloat, Coordinate, minus
from parser.proof.evidence import Evidence
from parser.proof.rules.base import Reported, Rule, register
from parser.quantities import lines_in_words

OFFSET_MODES = ((SYSTEM, "work system"), (LENGTH_OFFSET, "tool length offset"))
TURNED_ON: Mapping[str, str] = {way: word for word, way in TURNING.items() if way != "stopped"}
SAME_MM = 1e-9
LEFT_CHANGED = ("origin", "offset", "stored", "tool")
"""Of what a macro has altered, what the next program may be hurt by however it was proved."""


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
    if word == "M5":
        return TURNED_ON.get(state.spindle or "", word)
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
    all_judged = True

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        pairs = departures(evidence.trace.final, evidence.trace.before, evidence.controller.resting)
        if pairs:
            yield self.finding(
                f"At the end the controller is left in {_words(pairs)}",
                f"{_add_at_the_end(evidence)}: {' '.join(word for _, word in pairs)}",
            )


def _add_at_the_end(evidence: Evidence) -> str:
    """How to add a line that is still read: nothing after the end of the program is."""
    ends = evidence.program.wrapped or evidence.trace.final.ended
    return "Before the line that ends the program add a line" if ends else "Add a last line"


@register
class LinesAfterEnd(Rule):
    """Lines after the end of the program

    What: Lines follow the one that ends the program: M2, M30, the second % or a word of the controller sheet.
    Why: None of them was followed, so none is proved. A controller that carries out each line as it comes may go on.
    Bad:
        G21 G90
        M2
        G53 G0 Z-20
    Good:
        G21 G90
        G53 G0 Z-2
        M2
    Remedy: Take the lines out, or put the word that ends the program last.
    """

    id = "lines-after-end"
    severity = Severity.CAUTION
    family = "modes"

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        lines = evidence.program.lines
        ends = [event.line for event in evidence.trace.events if event.kind.ends]
        end = min([*ends, evidence.program.last or len(lines)], default=0)
        after = [line.number for line in lines[end:] if line.text.strip(" \t%")]
        if after:
            which = f"line {after[0]} is" if len(after) == 1 else f"lines {after[0]} to {after[-1]} are"
            yield self.finding(
                f"{lines[end - 1].text.strip()} ends the program on line {end}, so {which} not followed and not proved",
                "Take what follows out, or put what ends the program last",
                line=after[0],
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
        for about, line in final.changed.items():
            if about.kind in LEFT_CHANGED:
                yield self.finding(
                    f"{about} is changed here and stays so",
                    "Keep this only if it is what the macro is for, and say so in its name.",
                    line=line,
                )
        for group, what in OFFSET_MODES:
            word = final.modes.get(group)
            kept = (evidence.trace.before.modes.get(group), *evidence.controller.resting)
            if word is not None and word not in kept:
                yield self.finding(
                    f"The {what} is left as {word}, whatever it was before",
                    f"Check that the next program sets its own {what}, or list {word} among the resting modes.",
                    line=next((state.line for state in evidence.trace.states if state.modes.get(group) == word), None),
                )


@register
class LeftIfInterrupted(Rule):
    """Letting go in the middle, or the end itself, leaves the controller changed

    What: After some line before the last, modes differ from the resting modes, an offset is not as the macro itself
        leaves it at its end (work origin, G92 offset, tool length offset or selected work system), or the spindle or
        coolant that the macro started is still on. Or the macro ends with the spindle or the coolant on, and the
        resting modes of the controller sheet say nothing of these.
    Why: A hand may let go after any line; what follows is then never sent. A spindle left turning at the end meets
        whoever reaches for the work.
    Bad:
        G21 G91
        G0 Z1
        G90
    Good:
        G21 G90
        G53 G0 Z-2
    Remedy: Use machine coordinates (G53) instead of G91, keep the changed stretch short, and end with M5 and M9.
    """

    id = "left-if-interrupted"
    severity = Severity.CAUTION
    family = "modes"

    def findings(self, evidence: Evidence) -> Iterable[Finding]:
        yield from self._in_the_middle(evidence)
        yield from self._at_the_end(evidence)

    def _in_the_middle(self, evidence: Evidence) -> Iterator[Finding]:
        left, offsets = list(_left(evidence)), list(_offsets_left(evidence))
        both = sorted({*left, *offsets}, key=lambda each: each[0])
        if both:
            lines = [line for line, _ in both]
            where = f"after {lines_in_words(lines)}"
            things = ", ".join(dict.fromkeys(thing for _, thing in (*left, *offsets)))
            by_hand = [*(["set the resting modes"] if left else []), *(["put the offsets back"] if offsets else [])]
            yield self.finding(
                f"Letting go {where} leaves {things}",
                f"After an interruption {' and '.join(by_hand)} by hand before anything else runs.",
                line=lines[0],
            )

    def _at_the_end(self, evidence: Evidence) -> Iterator[Finding]:
        """The spindle and the coolant, unless the resting modes have them and ``ModeLeftChanged`` speaks of them."""
        on = _switched_on(evidence.trace.final, evidence)
        for thing, left, stop in (
            ("the spindle turning", "the spindle is left turning", "M5"),
            ("the coolant on", "the coolant is left on", "M9"),
        ):
            if thing in on and stop not in evidence.controller.resting:
                yield self.finding(
                    f"At the end {left}",
                    f"{_add_at_the_end(evidence)}: {stop}. If the macro is meant to leave it so, say so in its name.",
                    line=_on_since(thing, evidence),
                )


def _left(evidence: Evidence) -> Iterator[tuple[int, str]]:
    """(line, thing) for the modes, the spindle and the coolant after every line but the last."""
    for state in evidence.trace.states[:-1]:
        for now, _ in departures(state, evidence.trace.before, evidence.controller.resting):
            yield state.line, f"{now} in force"
        for thing in _switched_on(state, evidence):
            yield state.line, thing


def _switched_on(state: State, evidence: Evidence) -> list[str]:
    """What the macro itself has switched on, other than what the resting modes have on anyway."""
    before, resting = evidence.trace.before, evidence.controller.resting
    way = TURNED_ON.get(state.spindle or "")
    coolant = (state.coolant or frozenset()) - (before.coolant or frozenset()) - {*resting}
    turning = way is not None and state.spindle != before.spindle and way not in resting
    return [*(["the spindle turning"] if turning else []), *(["the coolant on"] if coolant else [])]


def _on_since(thing: str, evidence: Evidence) -> int | None:
    """The line that switched on what is on at the end."""
    since = None
    for state in reversed(evidence.trace.states):
        if thing not in _switched_on(state, evidence):
            break
        since = state.line
    return since


def _offsets_left(evidence: Evidence) -> Iterator[tuple[int, str]]:
    """(line, thing) for the offsets after every line but the last that are neither as before nor as at the end.

    One that stays changed is no matter of letting go, and ``OffsetLeftChanged`` says it.
    """
    before, end = evidence.trace.before, evidence.trace.final
    resting = {G_GROUPS.get(word) for word in evidence.controller.resting}
    for state in evidence.trace.states[:-1]:
        for group, what in OFFSET_MODES:
            word = state.modes.get(group)
            # A group that the resting modes name is judged by these, in ``departures``.
            if group not in resting and word not in (None, before.modes.get(group), end.modes.get(group)):
                yield state.line, f"{word} as the {what}"
        zeros = _zeros(state)
        for about in dict.fromkeys((*before.origins, *zeros)):
            at = zeros.get(about)
            if not any(_same(at, other.get(about)) for other in (before.origins, _zeros(end))):
                yield state.line, _moved(about, at)


def _zeros(state: State) -> dict[Lasting, Coordinate]:
    """The origins and G92 offsets in force; M2 and M30 take the latter off without a word (NISTIR 6556, 3.6.1)."""
    off = state.ended and OFFSET not in state.changed
    return {about: at for about, at in state.origins.items() if not (off and about.kind == "offset")}


def _moved(about: Lasting, at: Coordinate | None) -> str:
    axis = about.axis.upper()
    if about.kind == "origin":
        return f"the {about.word} origin moved in {axis}"
    return f"no G92 offset in {axis}" if at is None else f"a G92 offset in {axis}"


def _same(left: Coordinate | None, right: Coordinate | None) -> bool:
    """Whether two zeros are one; None where the macro has said nothing of it."""
    if left is None or right is None:
        return left is right
    apart = minus(left, right)
    return not isinstance(apart, Afloat) and abs(apart) <= SAME_MM
