"""Macros that run one after the other: what one leaves behind, and whether the proof of the next still stands.

A macro is proved from every start and in any mode, so most of what another leaves cannot hurt it. What can is what its
proof takes as the sheet says it: work origins, no G92 offset, stored points, and modes, a feed rate, parameters or kept
offsets that a written reason lets it rely on; where the axes stand, if it has a start condition; and a spindle left
turning where it crosses the table without stopping it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from math import inf
from typing import Literal

from parser.figures import figure, sentence_list, unit_of
from parser.findings import Finding, Severity, Trouble
from parser.language.program import Line, Program
from parser.language.words import canonical
from parser.machine import MM_PER_INCH, Interval, Machine
from parser.motion import modes
from parser.motion.interpreter import AssumeError, trace
from parser.motion.moves import Given, State, Trace
from parser.motion.offsets import within_margins
from parser.motion.parameters import G92_OFFSETS
from parser.motion.places import Afloat, Place, bounds
from parser.report import Report

RULE = "sequence-breaks-proof"
SLACK = 1e-9
STORED = ("G28", "G30")
PARAMETER = re.compile(r"#\d+")
KEPT = frozenset(f"#{number}" for number in range(G92_OFFSETS, G92_OFFSETS + 6))
"""Parameters that keep a G92 offset when G92.2, M2 or M30 takes it off; G92.3 puts it back from there."""
LOSING = ("homing", "home-at-panel", "motion-not-known", "call")
"""Events after which nobody knows where the axes stand."""
MOST_STRETCHES = 4

Kind = Literal["origin", "offset", "kept", "stored", "parameter", "mode", "feed", "spindle", "call"]


@dataclass(frozen=True, slots=True)
class Left:
    """One thing that a macro leaves behind, and the line that did it.

    ``name`` is that of ``State.changed``, "G92.x" for the offset of an axis, the number of a modal group, or "" for the
    spindle, the feed, kept offsets and a call. ``at`` is where an origin then is; ``word`` the mode or feed in force,
    or what has made the kept offsets what they are, G92 or G92.1.
    """

    kind: Kind
    name: str
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


@dataclass(frozen=True, slots=True)
class Reliance:
    """What the proof of a macro takes as given.

    ``origins`` maps (system, axis) to the line that needs it, ``no_offset`` names the axes that have to be free of G92.
    ``modes`` maps a modal group to the word it was proved in. ``motion`` and ``feed`` are the first line that moves in
    whatever motion mode, and at whatever feed rate, is in force; ``kept`` the one that puts back whatever offset is
    kept; ``spindle`` the one that crosses the table without having stopped it.
    """

    origins: Mapping[tuple[str, str], int]
    no_offset: frozenset[str]
    stored: frozenset[str]
    parameters: frozenset[str]
    modes: Mapping[int, str]
    motion: int | None
    feed: int | None
    kept: int | None
    spindle: int | None


@dataclass(frozen=True, slots=True)
class Runner:
    """A macro of the pendant as a sequence knows it."""

    name: str
    report: Report
    aftermath: tuple[Aftermath, ...]
    standings: tuple[Standing, ...]
    reliance: Reliance


def runner(name: str, report: Report) -> Runner:
    """A macro whose report refuses nothing, with what it leaves, where it leaves the axes and what it relies on."""
    return Runner(name, report, tuple(aftermath(report)), tuple(standings(report)), reliance(report))


def breaches(runners: Sequence[Runner]) -> list[Finding]:
    """Every ordered pair, a macro and itself included, after which the proof of the second no longer stands."""
    return [finding for first in runners for second in runners for finding in between(first, second)]


# What is left behind


def aftermath(report: Report) -> Iterator[Aftermath]:
    """What a macro leaves behind when it runs whole or is interrupted, the block delete switch off and on."""
    found: dict[Left, tuple[set[int], bool]] = {}
    for followed in _traces(report):
        for number, (line, lefts) in enumerate(_after_each_line(followed, report.program), start=1):
            last = number == len(followed.states)
            for left in lefts:
                lines, whole = found.get(left, (set(), False))
                found[left] = (lines if last else lines | {line}, whole or last)
    for left, (lines, whole) in found.items():
        yield Aftermath(left, tuple(sorted(lines)), whole)


def _traces(report: Report) -> Iterator[Trace]:
    yield report.trace
    if len(_switches(report)) > 1:
        yield _followed(report, report.machine, block_delete=True)


def _after_each_line(followed: Trace, program: Program) -> Iterator[tuple[int, list[Left]]]:
    """Each line that was executed, with what has been left otherwise once it is done."""
    since: dict[Kind | int, tuple[str, int]] = {}
    called = min((event.line for event in followed.events if event.kind == "call"), default=inf)
    zeroed = {line.number for line in program.lines if _zeroes_kept_offsets(line)}
    feed, feed_word, kept = followed.before.feed, "", ""
    for state in followed.states:
        in_force = {group: word for group, word in state.modes.items() if word != followed.before.modes.get(group)}
        now: dict[Kind | int, str] = {group: word for group, word in in_force.items() if group in modes.STAKES}
        if state.spindle in ("clockwise", "counter-clockwise"):
            now["spindle"] = state.spindle
        if state.feed != feed:
            feed, feed_word = state.feed, _feed_word(state)
        if feed_word:
            now["feed"] = feed_word
        kept = "G92" if "G92" in state.changed else "G92.1" if state.line in zeroed else kept
        if kept:
            now["kept"] = kept
        if state.line >= called:
            now["call"] = ""
        since = {
            what: since[what] if what in since and since[what][0] == word else (word, state.line)
            for what, word in now.items()
        }
        yield state.line, [*_changed(state), *(_in_force(what, *at) for what, at in since.items())]


def _zeroes_kept_offsets(line: Line) -> bool:
    return any(isinstance(word.value, float) and canonical(word.letter, word.value) == "G92.1" for word in line.words)


def _feed_word(state: State) -> str:
    """The feed rate in force as somebody would write it, "" where none is known."""
    if state.feed is None:
        return ""
    inches = state.modes.get(modes.UNITS) == "G20"
    return f"F{figure(state.feed / MM_PER_INCH)} under G20" if inches else f"F{figure(state.feed)}"


def _changed(state: State) -> Iterator[Left]:
    for name, line in state.changed.items():
        at = state.origins.get(name)
        if at is not None:
            yield Left("origin", name, line, at=bounds(at))
        elif name == "G92":
            for offset in (each for each in state.origins if each.startswith("G92.")):
                yield Left("offset", offset, line)
        elif name in STORED:
            yield Left("stored", name, line)
        elif name.startswith("#"):
            yield Left("parameter", name, line)


def _in_force(what: Kind | int, word: str, line: int) -> Left:
    return Left("mode", str(what), line, word=word) if isinstance(what, int) else Left(what, "", line, word=word)


def standings(report: Report) -> Iterator[Standing]:
    """Where a macro leaves the axes after each of its lines, the block delete switch off and on."""
    for followed in _traces(report):
        done, place = 0, followed.start
        losses = [(event.before, event.line) for event in followed.events if event.kind in LOSING]
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


# What is relied on


def reliance(report: Report) -> Reliance:
    """What the proof of a macro takes as given."""
    followed = list(_traces(report))
    given = reduce(Given.and_also, (each.given for each in followed))
    troubles = [trouble for each in followed for trouble in each.troubles]
    return Reliance(
        origins=given.origins,
        no_offset=given.unshifted,
        stored=given.stored,
        parameters=frozenset(_parameters(report)),
        modes=_modes_counted_on(report),
        motion=_first_about(troubles, "mode-assumed", modes.STAKES[modes.MOTION].name),
        feed=_first_about(troubles, "feed-not-set"),
        kept=_first_about(troubles, "mode-assumed", "G92.3 puts back"),
        spindle=_crosses_with_spindle(report),
    )


def _switches(report: Report) -> tuple[bool, ...]:
    return (False, True) if any(line.block_delete for line in report.program.lines) else (False,)


def _followed(report: Report, machine: Machine, *, block_delete: bool = False, assume: str | None = None) -> Trace:
    words = " ".join(report.trace.before.modes.values()) if assume is None else assume
    return trace(
        report.program, machine, report.controller, start=report.start, assume=words, block_delete=block_delete
    )


def _first_about(troubles: Iterable[Trouble], rule: str, about: str = "") -> int | None:
    """The first line of which a rule says something; what a proof that stands still has is excused by a reason."""
    lines = (each.line for each in troubles if each.rule == rule and about in each.message)
    return min((line for line in lines if line is not None), default=None)


def _excused(report: Report) -> bool:
    """Whether a written reason lets the macro rely on what it has not set."""
    return any(finding.rule == "mode-assumed" for finding in report.findings)


def _modes_counted_on(report: Report) -> dict[int, str]:
    """The modal groups, with their words, that the proof needs and the macro does not set."""
    before = report.trace.before.modes
    taken = modes.taken_for(report.controller) if _excused(report) else {}
    taken.pop(modes.MOTION, None)  # nothing is taken for it: a line without one is not followed
    given = {group: word for group, word in {**taken, **before}.items() if group in modes.STAKES}
    return {group: word for group, word in given.items() if _misses(report, given, group)}


def _misses(report: Report, given: Mapping[int, str], group: int) -> bool:
    """Whether the macro leans on a modal group: whether it is in trouble when only that one is not known."""
    with_all = _assumed(report, given.values())
    without = _assumed(report, [word for number, word in given.items() if number != group])
    return with_all is None or without is None or without > with_all


def _assumed(report: Report, words: Iterable[str]) -> int | None:
    """How many modes and parameters are assumed where ``words`` are in force; None where these cannot be."""
    try:
        followed = _followed(report, report.machine, assume=" ".join(words))
    except AssumeError:
        return None
    return sum(trouble.rule == "mode-assumed" for trouble in followed.troubles)


def _parameters(report: Report) -> Iterator[str]:
    """The parameters that the macro reads before it sets them, where a written reason lets it."""
    if _excused(report):
        for trouble in report.trace.troubles:
            if trouble.rule == "mode-assumed":
                yield from PARAMETER.findall(trouble.message)


def _crosses_with_spindle(report: Report) -> int | None:
    crossing = {finding.line for finding in report.findings if finding.rule == "moves-with-spindle-on"}
    return next((move.line for move in report.trace.moves if move.line in crossing and move.spindle is None), None)


# Whether the second still stands after the first


def between(first: Runner, second: Runner) -> Iterator[Finding]:
    """What the first takes away from the proof of the second where it runs right before it."""
    told: dict[tuple[Kind, bool, bool], list[tuple[Aftermath, str]]] = {}
    broken = [(after, WHY[after.left.kind](after.left, second)) for after in first.aftermath]
    at_the_end = {why for after, why in broken if after.whole}
    for after, why in broken:
        if why and (after.whole or why not in at_the_end):
            certain = after.whole and _certain(after.left, second)
            told.setdefault((after.left.kind, after.whole, certain), []).append((after, why))
    for (kind, whole, certain), pairs in told.items():
        began: dict[str, int] = {}
        for after, why in pairs:
            began.setdefault(why, after.left.line)
        whys = "; ".join(f"line {line} of {first.name} {why}" for why, line in began.items())
        lines = sorted({line for after, _ in pairs for line in after.lines})
        where = "" if whole else f"where the hand lets go after {_lines(lines)}, "
        yield Finding(
            RULE,
            Severity.REFUSE if certain else Severity.CAUTION,
            f"{where}{whys}",
            REMEDIES[kind].format(first=first.name, second=second.name),
            case=f"{first.name}, {_then(first, second)}",
            runners=(first.name, second.name),
        )
    yield from _stands_outside(first, second)


# How what was left breaks the proof of the second macro, "" where it does not


def _moved_origin(left: Left, second: Runner) -> str:
    system, axis = left.name.rsplit(".", 1)
    needs = second.reliance.origins.get((system, axis))
    if needs is None or left.at is None:
        return ""
    if all(_holds(proved, left.at) for proved in _proved_places(left.name, second.report.machine)):
        return ""
    return (
        f"puts the {system} origin in {axis.upper()} {_place(left.at)} {unit_of(axis)}, "
        f"and {second.name} is proved for where the sheet has it (its line {needs})"
    )


def _offset(left: Left, second: Runner) -> str:
    axis = left.name.rsplit(".", 1)[1]
    if axis not in second.reliance.no_offset:
        return ""
    return f"leaves a G92 offset in force in {axis.upper()}, and {second.name} is proved for none"


def _stored_point(left: Left, second: Runner) -> str:
    if left.name not in second.reliance.stored:
        return ""
    return f"changes the stored point of {left.name}, and {second.name} goes to the one on the sheet"


def _parameter(left: Left, second: Runner) -> str:
    if left.name not in second.reliance.parameters:
        return ""
    return f"changes {left.name}, and {second.name} reads it without setting it"


def _kept_offset(left: Left, second: Runner) -> str:
    relies = second.reliance
    of = "an offset of its own" if left.word == "G92" else "nothing"
    leaves = f"leaves {of} for G92.3 to put back (parameters 5211 to 5216)"
    if left.word == "G92" and relies.kept is not None:  # after G92.1 there is none in force, as was proved
        return f"{leaves}, and {second.name} puts back whatever is kept there (its line {relies.kept})"
    read = sorted(relies.parameters & KEPT)
    return f"{leaves}, and {second.name} reads {sentence_list(read)} without setting it" if read else ""


def _feed(left: Left, second: Runner) -> str:
    line = second.reliance.feed
    if line is None:
        return ""
    return f"leaves {left.word} in force, and {second.name} moves at whatever feed is in force (its line {line})"


def _mode(left: Left, second: Runner) -> str:
    if int(left.name) == modes.MOTION and second.reliance.motion is not None:
        if left.word in second.report.controller.resting:
            return ""
        return (
            f"leaves {left.word} in force, and {second.name} moves in whatever motion mode is in force "
            f"(its line {second.reliance.motion})"
        )
    counted = second.reliance.modes.get(int(left.name))
    same = counted == left.word and left.word != "G43"  # which adds the length of whatever tool its H named
    if counted is None or same:
        return ""
    stake = modes.STAKES[int(left.name)].name
    return f"leaves {left.word} in force, and {second.name} counts on {counted} as the {stake}"


def _spindle(left: Left, second: Runner) -> str:
    line = second.reliance.spindle
    if line is None:
        return ""
    return f"leaves the spindle turning, and {second.name} crosses the table with it (its line {line})"


def _call(left: Left, second: Runner) -> str:
    given = _given(second.reliance)
    if not given:
        return ""
    return f"calls another program, which may change what {second.name} is proved for: {sentence_list(given)}"


WHY: Mapping[Kind, Callable[[Left, Runner], str]] = {
    "origin": _moved_origin,
    "offset": _offset,
    "kept": _kept_offset,
    "stored": _stored_point,
    "parameter": _parameter,
    "mode": _mode,
    "feed": _feed,
    "spindle": _spindle,
    "call": _call,
}

UNCERTAIN: frozenset[Kind] = frozenset({"spindle", "call"})
"""Never more than a caution: crossing with the spindle on is one by itself, and a called program may be harmless."""


def _certain(left: Left, second: Runner) -> bool:
    """Whether the proof is sure to be gone; an origin known only within a range (probed) may still be as proved."""
    if left.at is None:
        return left.kind not in UNCERTAIN
    return not all(proved.meets(left.at) for proved in _proved_places(left.name, second.report.machine))


def _proved_places(name: str, machine: Machine) -> Iterator[Interval]:
    """Where an origin was taken to be, in each setup: as on the sheet, or within the margins where it does not say."""
    system, axis = name.rsplit(".", 1)
    travel = next(each.travel for each in machine.axes if each.name == axis)
    anywhere = within_margins(travel, machine.travel_margin)
    for setup in machine.setups:
        origin = setup.origins.get(system)
        yield origin.axes.get(axis, anywhere) if origin else anywhere


def _holds(proved: Interval, at: Interval) -> bool:
    return proved.low - SLACK <= at.low and at.high <= proved.high + SLACK


def _given(relies: Reliance) -> list[str]:
    systems = dict.fromkeys(system for system, _ in relies.origins)
    given = [f"the {system} origin" for system in systems]
    if relies.no_offset:
        given.append("no G92 offset")
    given += [f"the stored point of {word}" for word in sorted(relies.stored)]
    given += sorted(relies.parameters)
    given += [word for _, word in sorted(relies.modes.items())]
    left_open = ((relies.motion, "motion mode"), (relies.feed, "feed rate"), (relies.kept, "kept G92 offset"))
    return given + [f"the {what}" for line, what in left_open if line is not None]


REMEDIES: Mapping[Kind, str] = {
    "origin": "Give the origin on the machine sheet as a range that holds both places, or take one of the two off "
    "the pendant.",
    "offset": "End {first} with G92.1, or begin {second} with it.",
    "kept": "Set the offset in {second} with G92, or take G92.3 and parameters 5211 to 5216 out of it.",
    "stored": "Go to a place with G53 instead of a stored point, or leave the stored point as it is.",
    "parameter": "Set the parameter in {second} first.",
    "mode": "Set the mode in {second} first.",
    "feed": "Put F on the line of the move in {second}.",
    "spindle": "Begin {second} with a step that stops the spindle and waits until it stands.",
    "call": "See what the other program changes, or take the call out.",
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
            when = "the machine then" if whole else f"where the hand lets go after {_lines(lines)}, the machine"
            yield Finding(
                RULE,
                Severity.CAUTION,
                f"{when} stands at {sentence_list(_places(found))}, and {second.name} is proved {only}",
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
    return [f"{axis.upper()} {_range(reach)} {unit_of(axis)}" for axis, reach in reaches.items()]


def _then(first: Runner, second: Runner) -> str:
    return "and again" if first.name == second.name else f"then {second.name}"


def _lines(lines: Sequence[int]) -> str:
    """ "line 3", "any of lines 2 to 4 and 7"; "some of lines 2 to 90" where there are gaps all over."""
    if len(lines) == 1:
        return f"line {lines[0]}"
    among = set(lines)
    firsts = [line for line in lines if line - 1 not in among]
    lasts = [line for line in lines if line + 1 not in among]
    if len(firsts) > MOST_STRETCHES:
        return f"some of lines {lines[0]} to {lines[-1]}"
    stretches = zip(firsts, lasts, strict=True)
    return f"any of lines {sentence_list([str(low) if low == high else f'{low} to {high}' for low, high in stretches])}"


def _range(at: Interval) -> str:
    return figure(at.low) if at.low == at.high else f"{figure(at.low)} to {figure(at.high)}"


def _place(at: Interval) -> str:
    """Where an origin is, with the digits that tell it from one that was proved."""
    low, high = figure(at.low, 6), figure(at.high, 6)
    return f"at {low}" if at.low == at.high else f"anywhere from {low} to {high}"
