"""Macros that run one after the other: what one leaves behind, and whether the proof of the next still stands.

A macro is proved from every start and in any mode, so most of what another leaves cannot hurt it. What can is what its
proof takes as the sheet says it: work origins, no G92 offset, stored points, and modes or parameters that a written
reason lets it rely on; and a spindle left turning where it crosses the table without stopping it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Literal

from parser.figures import figure, sentence_list, unit_of
from parser.findings import Finding, Severity
from parser.machine import Interval, Machine
from parser.motion import modes
from parser.motion.interpreter import AssumeError, trace
from parser.motion.moves import State, Trace
from parser.motion.offsets import NO_G92
from parser.motion.places import Afloat, bounds
from parser.report import Report

RULE = "sequence-breaks-proof"
SLACK = 1e-9
STORED = ("G28", "G30")
PARAMETER = re.compile(r"#\d+")
MODES = tuple(group for group in modes.STAKES if group != modes.MOTION)

Kind = Literal["origin", "offset", "stored", "parameter", "mode", "spindle", "call"]


@dataclass(frozen=True, slots=True)
class Left:
    """One thing that a macro leaves behind, and the line that did it.

    ``name`` is that of ``State.changed``, "G92.x" for the offset of an axis, the number of a modal group, or "" for the
    spindle and for a call. ``at`` is where an origin then is; ``word`` the mode in force.
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
class Reliance:
    """What the proof of a macro takes as given.

    ``origins`` maps (system, axis) to the line that needs it, ``no_offset`` names the axes that have to be free of G92.
    ``modes`` maps a modal group to the word it was proved in, ``spindle`` is the line that crosses the table without
    having stopped it.
    """

    origins: Mapping[tuple[str, str], int]
    no_offset: frozenset[str]
    stored: frozenset[str]
    parameters: frozenset[str]
    modes: Mapping[int, str]
    spindle: int | None


@dataclass(frozen=True, slots=True)
class Runner:
    """A macro of the pendant as a sequence knows it."""

    name: str
    report: Report
    aftermath: tuple[Aftermath, ...]
    reliance: Reliance


def runner(name: str, report: Report) -> Runner:
    """A macro whose report refuses nothing, with what it leaves and what it relies on."""
    left = tuple(aftermath(report))
    return Runner(name, report, left, reliance(report))


def breaches(runners: Sequence[Runner]) -> list[Finding]:
    """Every ordered pair, a macro and itself included, after which the proof of the second no longer stands."""
    return [finding for first in runners for second in runners for finding in between(first, second)]


# What is left behind


def aftermath(report: Report) -> Iterator[Aftermath]:
    """What a macro leaves behind when it runs whole or is interrupted, the block delete switch off and on."""
    found: dict[Left, tuple[set[int], bool]] = {}
    for followed in _traces(report):
        for number, (line, lefts) in enumerate(_after_each_line(followed), start=1):
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


def _after_each_line(followed: Trace) -> Iterator[tuple[int, list[Left]]]:
    """Each line that was executed, with what has been left otherwise once it is done."""
    since: dict[Kind | int, tuple[str, int]] = {}
    called = min((event.line for event in followed.events if event.kind == "call"), default=inf)
    for state in followed.states:
        in_force = {group: word for group, word in state.modes.items() if word != followed.before.modes.get(group)}
        now: dict[Kind | int, str] = {group: word for group, word in in_force.items() if group in MODES}
        if state.spindle in ("clockwise", "counter-clockwise"):
            now["spindle"] = state.spindle
        if state.line >= called:
            now["call"] = ""
        since = {
            what: since[what] if what in since and since[what][0] == word else (word, state.line)
            for what, word in now.items()
        }
        yield state.line, [*_changed(state), *(_in_force(what, *at) for what, at in since.items())]


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
    return Left("mode", str(what), line, word=word) if isinstance(what, int) else Left(what, "", line)


# What is relied on


def reliance(report: Report) -> Reliance:
    """What the proof of a macro takes as given, found by following it again with that taken away."""
    stripped = replace(
        report.machine, setups=tuple(replace(setup, origins={}) for setup in report.machine.setups), stored={}
    )
    cases = [_followed(report, stripped, block_delete=switch) for switch in _switches(report)]
    as_proved = [_followed(report, report.machine, block_delete=switch) for switch in _switches(report)]
    origins: dict[tuple[str, str], int] = {}
    for case in cases:
        for key, line in case.origins_missing.items():
            origins.setdefault(key, line)
    said = {sentence for case in cases for sentence in case.relies_on}
    troubled = [case.troubles for case in cases] != [case.troubles for case in as_proved]
    return Reliance(
        origins=origins,
        no_offset=frozenset(axis for _, axis in origins) if NO_G92 in said else frozenset(),
        stored=frozenset(word for word in STORED if troubled or any(f"point of {word} " in each for each in said)),
        parameters=frozenset(_parameters(report)),
        modes=_modes_counted_on(report),
        spindle=_crosses_with_spindle(report),
    )


def _switches(report: Report) -> tuple[bool, ...]:
    return (False, True) if any(line.block_delete for line in report.program.lines) else (False,)


def _followed(report: Report, machine: Machine, *, block_delete: bool = False, assume: str | None = None) -> Trace:
    words = " ".join(report.trace.before.modes.values()) if assume is None else assume
    return trace(
        report.program, machine, report.controller, start=report.start, assume=words, block_delete=block_delete
    )


def _excused(report: Report) -> bool:
    """Whether a written reason lets the macro rely on what it has not set."""
    return any(finding.rule == "mode-assumed" for finding in report.findings)


def _modes_counted_on(report: Report) -> dict[int, str]:
    """The modal groups, with their words, that the proof needs and the macro does not set."""
    given = dict(report.trace.before.modes)
    if _excused(report):
        given = modes.taken_for(report.controller) | given
    given = {group: word for group, word in given.items() if group in MODES}
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
    for after in first.aftermath:
        why = WHY[after.left.kind](after.left, second)
        if why:
            certain = after.whole and _certain(after.left, second)
            told.setdefault((after.left.kind, after.whole, certain), []).append((after, why))
    for (kind, whole, certain), pairs in told.items():
        whys = "; ".join(f"line {after.left.line} of {first.name} {why}" for after, why in pairs)
        lines = sorted({line for after, _ in pairs for line in after.lines})
        where = "" if whole else f"where the hand lets go after {_lines(lines)}, "
        yield Finding(
            RULE,
            Severity.REFUSE if certain else Severity.CAUTION,
            f"{where}{whys}",
            REMEDIES[kind].format(first=first.name, second=second.name),
            case=f"{first.name}, {_then(first, second)}",
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


def _mode(left: Left, second: Runner) -> str:
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
    "stored": _stored_point,
    "parameter": _parameter,
    "mode": _mode,
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
    """Where an origin was taken to be, in each setup: as on the sheet, or in travel where it does not say."""
    system, axis = name.rsplit(".", 1)
    travel = next(each.travel for each in machine.axes if each.name == axis)
    for setup in machine.setups:
        origin = setup.origins.get(system)
        yield origin.axes.get(axis, travel) if origin else travel


def _holds(proved: Interval, at: Interval) -> bool:
    return proved.low - SLACK <= at.low and at.high <= proved.high + SLACK


def _given(relies: Reliance) -> list[str]:
    systems = dict.fromkeys(system for system, _ in relies.origins)
    given = [f"the {system} origin" for system in systems]
    if relies.no_offset:
        given.append("no G92 offset")
    given += [f"the stored point of {word}" for word in sorted(relies.stored)]
    given += sorted(relies.parameters)
    return given + [word for _, word in sorted(relies.modes.items())]


REMEDIES: Mapping[Kind, str] = {
    "origin": "Give the origin on the machine sheet as a range that holds both places, or take one of the two off "
    "the pendant.",
    "offset": "End {first} with G92.1, or begin {second} with it.",
    "stored": "Go to a place with G53 instead of a stored point, or leave the stored point as it is.",
    "parameter": "Set the parameter in {second} first.",
    "mode": "Set the mode in {second} first.",
    "spindle": "Begin {second} with a step that stops the spindle and waits until it stands.",
    "call": "See what the other program changes, or take the call out.",
}
OUTSIDE = "Look at the readout before firing, or raise first so that {second} needs no condition."


def _stands_outside(first: Runner, second: Runner) -> Iterator[Finding]:
    """A start condition that the first macro itself leaves unmet, on an axis it has moved."""
    if not any(finding.rule == "relies-on-operator" for finding in second.report.findings):
        return
    end, wanted = first.report.trace.end, second.report.start
    parts = []
    for axis in second.report.machine.axes:
        at, allowed = end[axis.name], wanted[axis.name]
        untouched = isinstance(at, Afloat) and at.unknown.kind == "start" and at.base == 0
        reach = bounds(at)
        if not (untouched or _holds(allowed, reach) or allowed == axis.travel):
            parts.append(f"{axis.name.upper()} {_range(reach)} {unit_of(axis.name)}")
    if parts:
        yield Finding(
            RULE,
            Severity.CAUTION,
            f"the machine then stands at {sentence_list(parts)}, "
            f"and {second.name} is proved only under its start condition",
            OUTSIDE.format(second=second.name),
            case=f"{first.name}, {_then(first, second)}",
        )


def _then(first: Runner, second: Runner) -> str:
    return "and again" if first.name == second.name else f"then {second.name}"


def _lines(lines: Sequence[int]) -> str:
    return f"line {lines[0]}" if len(lines) == 1 else f"any of lines {lines[0]} to {lines[-1]}"


def _range(at: Interval) -> str:
    return figure(at.low) if at.low == at.high else f"{figure(at.low)} to {figure(at.high)}"


def _place(at: Interval) -> str:
    return f"at {figure(at.low)}" if at.low == at.high else f"anywhere from {_range(at)}"
