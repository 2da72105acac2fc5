"""Macros that run one after the other: whether the proof of the next still stands after what one leaves behind.

A macro is proved from every start and in any mode, so most of what another leaves cannot hurt it. What can is what its
proof takes as the sheet says it: work origins, no G92 offset, stored points, and modes, a feed rate, parameters or kept
offsets that a written reason lets it rely on; where the axes stand, if it has a start condition; and a spindle left
turning where it crosses the table without stopping it. The records of the one (``Assumption``) are held against those
of the other (``Left``), by what they are about; no sentence is read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from parser.findings import Finding, Severity
from parser.machine import Interval
from parser.motion import modes
from parser.motion.assumptions import (
    FEED,
    KEPT,
    Assumption,
    Kind,
    Lasting,
    parameter,
)
from parser.motion.offsets import within_margins
from parser.motion.parameters import holding
from parser.motion.places import Afloat, Place, bounds
from parser.proof.left_behind import MODES, Aftermath, Left, Standing, aftermath, standings
from parser.quantities import Reading, joined, lines_in_words, say, sentence_list
from parser.report import Report

RULE = "sequence-breaks-proof"

SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Runner:
    """A macro of the pendant as a sequence knows it; ``counts`` has what its proof counts on, by what it is about."""

    name: str
    report: Report
    aftermath: tuple[Aftermath, ...]
    standings: tuple[Standing, ...]
    counts: Mapping[Lasting, Sequence[Assumption]]


def runner(name: str, report: Report) -> Runner:
    """A macro whose report refuses nothing, with what it leaves, where it leaves the axes and what it counts on."""
    counts: dict[Lasting, list[Assumption]] = {}
    for each in report.trace.assumptions:
        counts.setdefault(each.about, []).append(each)
    return Runner(name, report, tuple(aftermath(report)), tuple(standings(report)), counts)


def breaches(runners: Sequence[Runner]) -> list[Finding]:
    """Every ordered pair, a macro and itself included, after which the proof of the second no longer stands."""
    return [finding for first in runners for second in runners for finding in between(first, second)]


def between(first: Runner, second: Runner) -> Iterator[Finding]:
    """What the first takes away from the proof of the second where it runs right before it."""
    told: dict[tuple[Kind, bool, bool], list[tuple[Aftermath, str]]] = {}
    broken = [(after, WHY[after.left.about.kind](after.left, second)) for after in first.aftermath]
    at_the_end = {why for after, why in broken if after.whole}
    for after, why in broken:
        if why and (after.whole or why not in at_the_end):
            certain = after.whole and _certain(after.left, second)
            told.setdefault((after.left.about.kind, after.whole, certain), []).append((after, why))
    for (kind, whole, certain), pairs in told.items():
        began: dict[str, int] = {}
        for after, why in pairs:
            began.setdefault(why, after.left.line)
        whys = joined(
            "; ", [say("line {line} of {first} {why}", line=at, first=first.name, why=why) for why, at in began.items()]
        )
        lines = sorted({line for after, _ in pairs for line in after.lines})
        where = "" if whole else f"where the hand lets go after {lines_in_words(lines)}, "
        yield Finding(
            RULE,
            Severity.REFUSE if certain else Severity.CAUTION,
            joined("", [where, whys]),
            REMEDIES[kind].format(first=first.name, second=second.name),
            case=f"{first.name}, {_then(first, second)}",
            runners=(first.name, second.name),
        )
    yield from _stands_outside(first, second)


def _moved_origin(left: Left, second: Runner) -> str:
    counted, at = second.counts.get(left.about), left.at
    if counted is None or at is None:
        return _parameter(left, second)
    if all(_holds(proved, at) for proved in _proved_places(left.about, second)):
        return ""
    return say(
        "puts the {system} origin in {axis} {place}, and {second} is proved for where the sheet has it "
        "(its line {line})",
        system=left.about.word,
        axis=left.about.axis.upper(),
        place=_place(left.about.axis, at),
        second=second.name,
        line=counted[0].line,
    )


PLAIN: Mapping[Kind, str] = {
    "offset": "leaves a G92 offset in force in {axis}, and {second} is proved only where there is none "
    "(its line {line})",
    "stored": "changes the stored point of {of}, and {second} goes to the one on the sheet",
    "feed": "leaves {word} in force, and {second} moves at whatever feed is in force (its line {line})",
    "spindle": "leaves the spindle turning, and {second} {does} (its line {line})",
    "tool": "leaves {word} named, and {second} changes to whatever tool is named (its line {line})",
}
"""What is said where the second counts on what the first has left otherwise."""


def _plain(left: Left, second: Runner) -> str:
    """What it comes to where the second counts on just that; a stored point may be read as a parameter as well."""
    counted = second.counts.get(left.about)
    if not counted:
        return _parameter(left, second) if left.about.kind == "stored" else ""
    cycle = counted[0].word if counted[0].taken == "left" else ""
    return PLAIN[left.about.kind].format(
        axis=left.about.axis.upper(),
        of=left.about.word,
        word=left.word,
        second=second.name,
        line=counted[0].line,
        does=f"needs it so for {cycle}" if cycle else "crosses the table with it",
    )


def _parameter(left: Left, second: Runner) -> str:
    """What holds for a parameter, and for whatever else may be read as one."""
    read = _read(left, second)
    return f"changes {read}, and {second.name} reads it without setting it" if read else ""


def _read(left: Left, second: Runner) -> str:
    return sentence_list([str(each) for each in map(parameter, holding(left.about)) if each in second.counts])


def _kept_offset(left: Left, second: Runner) -> str:
    of = "an offset of its own" if left.word == "G92" else "nothing"
    leaves = f"leaves {of} for G92.3 to put back (parameters 5211 to 5216)"
    counted = second.counts.get(left.about)
    if counted and (left.word == "G92" or counted[0].taken == "by hand"):  # after G92.1 there is none, as was proved
        return f"{leaves}, and {second.name} puts back whatever is kept there (its line {counted[0].line})"
    read = _read(left, second)
    return f"{leaves}, and {second.name} reads {read} without setting it" if read else ""


def _mode(left: Left, second: Runner) -> str:
    for counted in second.counts.get(left.about, ()):
        if left.about.number == modes.MOTION and counted.taken != "by hand":
            if left.word not in second.report.controller.resting:
                return (
                    f"leaves {left.word} in force, and {second.name} moves in whatever motion mode is in force "
                    f"(its line {counted.line})"
                )
        elif counted.word != left.word or left.word == "G43":  # which adds the length of whatever tool its H named
            stake, word = modes.STAKES[left.about.number].name, counted.word or "another"
            return f"leaves {left.word} in force, and {second.name} counts on {word} as the {stake}"
    return _parameter(left, second)


def _anything(left: Left, second: Runner) -> str:
    given = _given(second)
    return f"{left.word}, which may change what {second.name} is proved for: {sentence_list(given)}" if given else ""


WHY: Mapping[Kind, Callable[[Left, Runner], str]] = {
    **dict.fromkeys(PLAIN, _plain),
    "origin": _moved_origin,
    "kept": _kept_offset,
    "parameter": _parameter,
    "mode": _mode,
    "anything": _anything,
}

UNCERTAIN: frozenset[Kind] = frozenset({"spindle", "tool", "anything"})
"""Never more than a caution: crossing with the spindle on is one by itself, any tool was proved, and what is not known
may be harmless.
"""


def _certain(left: Left, second: Runner) -> bool:
    """Whether the proof is sure to be gone; an origin known only within a range (probed) may still be as proved."""
    at = left.at
    if at is None or left.about not in second.counts:
        return left.about.kind not in UNCERTAIN
    return not all(proved.meets(at) for proved in _proved_places(left.about, second))


def _proved_places(origin: Lasting, second: Runner) -> Iterator[Interval]:
    """Where an origin was taken to be, in each setup: as on the sheet, or within the margins where it does not say."""
    machine = second.report.machine
    if any(each.taken == "by hand" for each in second.counts[origin]):
        yield bounds(second.report.trace.before.origins[origin])
        return
    travel = next(each.travel for each in machine.axes if each.name == origin.axis)
    anywhere = within_margins(travel, machine.travel_margin)
    for setup in machine.setups:
        given = setup.origins.get(origin.word)
        yield given.axes.get(origin.axis, anywhere) if given else anywhere


def _holds(proved: Interval, at: Interval) -> bool:
    return proved.low - SLACK <= at.low and at.high <= proved.high + SLACK


def _given(second: Runner) -> list[str]:
    """What the proof takes as given, in the order of the kinds."""
    counts = second.counts
    given = [f"the {system} origin" for system in dict.fromkeys(each.word for each in counts if each.kind == "origin")]
    if any(each.kind == "offset" for each in counts):
        given.append("no G92 offset")
    given += [f"the stored point of {word}" for word in sorted(each.word for each in counts if each.kind == "stored")]
    given += sorted(str(each) for each in counts if each.kind == "parameter")
    given += [counts[mode][0].word for group, mode in sorted(MODES.items()) if mode in counts and group != modes.MOTION]
    left_open = ((MODES[modes.MOTION], "motion mode"), (FEED, "feed rate"), (KEPT, "kept G92 offset"))
    return given + [f"the {what}" for about, what in left_open if about in counts]


REMEDIES: Mapping[Kind, str] = {
    "origin": "Give the origin on the machine sheet as a range that holds both places, or take one of the two off "
    "the pendant.",
    "offset": "End {first} with G92.1, or begin {second} with it.",
    "kept": "Set the offset in {second} with G92, or take G92.3 and parameters 5211 to 5216 out of it.",
    "stored": "Go to a place with G53 instead of a stored point, or leave the stored point as it is.",
    "parameter": "Set the parameter in {second} first.",
    "mode": "Set the mode in {second} first.",
    "feed": "Put F on the line of the move in {second}.",
    "spindle": "Begin {second} with a step that stops the spindle and waits for its run-down.",
    "tool": "Write T with the number of the tool in {second}.",
    "anything": "See what the other program changes, or take the call out.",
}

OUTSIDE = "Look at the readout before firing, or raise first so that {second} needs no condition."


def _stands_outside(first: Runner, second: Runner) -> Iterator[Finding]:
    """Starts that the second was narrowed to, by its condition or by hand, and that the first itself does not leave."""
    if all(second.report.start[axis.name] == axis.travel for axis in second.report.machine.axes):
        return
    conditioned = any(finding.rule == "relies-on-operator" for finding in second.report.findings)
    only = "only under its start condition" if conditioned else "only from the start that was given"
    told: set[tuple[str, Interval]] = set()
    for whole in (True, False):
        found = [
            (standing.line, axis, reach)
            for standing in first.standings
            if standing.whole is whole
            for axis, reach in _outside(standing.place, second.report)
            if (axis, reach) not in told  # what is so at the end need not be said of the lines before it
        ]
        told.update((axis, reach) for _, axis, reach in found)
        if found:
            lines = sorted({line for line, _, _ in found})
            when = "the machine then" if whole else f"where the hand lets go after {lines_in_words(lines)}, the machine"
            yield Finding(
                RULE,
                Severity.CAUTION,
                say(
                    "{when} stands at {places}, and {second} is proved {only}",
                    when=when,
                    places=sentence_list(_places(found)),
                    second=second.name,
                    only=only,
                ),
                OUTSIDE.format(second=second.name),
                case=f"{first.name}, {_then(first, second)}",
                runners=(first.name, second.name),
            )


def _outside(place: Place, report: Report) -> Iterator[tuple[str, Interval]]:
    """The axes that may stand where a start condition does not let them, each with where it may be."""
    for axis in report.machine.axes:
        at, allowed = place[axis.name], report.start[axis.name]
        untouched = isinstance(at, Afloat) and at.unknown.kind == "start" and at.base == 0
        reach = bounds(at)
        if not (untouched or _holds(allowed, reach) or allowed == axis.travel):
            yield axis.name, reach


def _places(found: Iterable[tuple[int, str, Interval]]) -> list[str]:
    """Each axis with all the places found for it."""
    reaches: dict[str, Interval] = {}
    for _, axis, reach in found:
        reaches[axis] = reaches[axis].hull(reach) if axis in reaches else reach
    return [say("{axis} {at}", axis=name.upper(), at=Reading(name, at, with_unit=True)) for name, at in reaches.items()]


def _then(first: Runner, second: Runner) -> str:
    return "and again" if first.name == second.name else f"then {second.name}"


def _place(axis: str, at: Interval) -> str:
    """Where an origin is, with the digits that tell it from one that was proved."""
    one = say("at {at}", at=Reading(axis, at.low, with_unit=True, places=6))
    high = Reading(axis, at.high, with_unit=True, places=6)
    return (
        one
        if at.low == at.high
        else say("anywhere from {low} to {high}", low=Reading(axis, at.low, places=6), high=high)
    )
