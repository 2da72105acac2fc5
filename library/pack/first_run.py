"""Slow copies for the first run: the same targets, every move a feed move at no more than a rate one can follow."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import ROUND_FLOOR

import parser
from library import names, proving, stages
from library.bench import Bench
from library.blocks.numbers import fixed
from library.build import Built, build, joined, with_heading
from library.heading import title
from library.macros import Macro
from library.outgoing import SlowCopy
from library.pack import caveats
from library.proving import Proved
from parser.language.program import Line, Word
from parser.machine import LINEAR, MM_PER_INCH, Interval
from parser.motion.moves import Move, Trace
from parser.motion.places import Afloat
from parser.parts import invented_figures
from parser.report import Report

UNITS, FEED_MODE = 6, 5
"""The modal groups of G20 and G21, and of G93 and G94."""

RATE_DECIMALS = 3

ROUNDS = 4
"""How often a head is written: a slow move may come to another verdict, and the head names lines that it shifts."""


class NotSlowedError(Exception):
    """Why a macro has no slow copy; ``str()`` is a clause."""


SLUG = "{id}--slow"
"""What stands for the id in the name of a slow copy. No macro has such an id, for words there have one hyphen."""


def slow_copy(proved: Proved, file: str, bench: Bench, number: int = 0, issue: str = "") -> SlowCopy:
    """The slow copy of a macro that goes as ``file``, read and proved from its own bytes; raises NotSlowedError.

    It has a name and a ``number`` of its own, so that it never stands on the controller in place of the macro.

    Its rate is ``first_run_rate`` of the controller sheet; a move that is slower anyway keeps its own. It starts from
    where the macro may start, and what the macro accepts is accepted of it as well: then it says so itself.
    """
    macro = proved.macro
    plain = build(macro, bench)
    trace = _followed(plain.text, bench, proved.report.start)
    if not any(_moves(trace)):
        raise NotSlowedError("its own lines move nothing")
    slowed, became = _slowed(plain, trace, bench)
    slug = SLUG.format(id=macro.id)
    program = names.program_head(bench.controller.program_head, slug, number)
    whole, report = _headed(slowed, proved, file, bench, issue, program)
    _require_same_targets(trace, report.trace)
    head, slow_head = len(proved.built.lines) - len(plain.lines), len(whole.lines) - len(slowed.lines)
    lines = {line + head: new + slow_head for line, new in became.items()}
    own = names.file_name(bench.controller_sheet.file_name, slug, number)
    call = stages.call(bench.controller.call, slug, number)
    return SlowCopy(whole.text.encode(), report, lines, own, number, call)


def _headed(slowed: Built, proved: Proved, file: str, bench: Bench, issue: str, program: str) -> tuple[Built, Report]:
    """The slow copy with a head that says what was proved of it, and the report on both; raises NotSlowedError."""
    macro = proved.macro
    head = _heading(macro, proved.report, file, bench, issue)
    for _ in range(ROUNDS):
        whole = with_heading(slowed, head, bench, program)
        report = proving.prove_macro(macro, bench, whole, seek_start=False).report
        if report.refused:
            raise NotSlowedError(f"as feed moves it is not proved. {proving.reason(report)}")
        said, head = head, _heading(macro, report, file, bench, issue)
        if said == head:
            return whole, report
    raise NotSlowedError("its head cannot say what was proved of it, because that changes with the head")


def _followed(text: str, bench: Bench, start: Mapping[str, Interval]) -> Trace:
    return parser.trace(parser.read(text, bench.controller), bench.machine, bench.controller, start=start)


def _moves(trace: Trace) -> Iterator[Move]:
    return (move for move in trace.moves if move.kind != "dwell")


def _heading(macro: Macro, report: Report, file: str, bench: Bench, issue: str) -> tuple[str, ...]:
    """The head of a copy of which this is the report; what is not proved comes first."""
    figures = bench.figures
    rate = figures.rate(bench.controller.first_run_rate)
    named = (
        f"First run of: {title(macro)}",
        f"Slow copy of {file} for its first run: the same end points, no move faster than {rate}.",
        *((f"Issue: {issue}.",) if issue else ()),
        *((f"{invented}.",) if (invented := invented_figures(report.rests_on)) else ()),
    )
    stands = tuple(f"{each}." for each in caveats.standing(macro, report, figures))
    return caveats.comments(stands + named if report.verdict == "accepted" else named + stands, bench)


def _slowed(plain: Built, trace: Trace, bench: Bench) -> tuple[Built, dict[int, int]]:
    """The text with every move slow, and the line each line became."""
    program = parser.read(plain.text, bench.controller)
    moves: dict[int, list[Move]] = {}
    for move in _moves(trace):
        moves.setdefault(move.line, []).append(move)
    modes = {state.line: state.modes for state in trace.states}
    rate = bench.controller.first_run_rate
    lines: list[str] = []
    became: dict[int, int] = {}
    steps: dict[int, int] = {}
    put_in_force = False
    for line in program.lines:
        texts: tuple[str, ...] = (line.text,)
        if line.number in moves or any(_is(word, "G", 0.0) for word in line.words):
            mode = modes.get(line.number, {})
            needs_mode = FEED_MODE not in mode and not put_in_force
            texts = _slow_line(line, moves.get(line.number, ()), mode, rate, needs_mode=needs_mode)
            put_in_force = put_in_force or not line.block_delete
        if any(event.line == line.number and event.kind == "call" for event in trace.events):
            put_in_force = False
        lines += texts
        became[line.number] = len(lines)
        if line.number in plain.steps:
            steps |= dict.fromkeys(range(len(lines) - len(texts) + 1, len(lines) + 1), plain.steps[line.number])
    return replace(plain, text=joined(lines, bench), steps=steps), became


def _slow_line(
    line: Line, moves: Sequence[Move], modes: Mapping[int, str], rate: float, *, needs_mode: bool
) -> tuple[str, ...]:
    """A line that moves, as a feed move; its units go on a line before it, as F is read in the units before."""
    if any(move.minutes is not None for move in moves) or modes.get(FEED_MODE) == "G93":
        raise NotSlowedError(f"line {line.number} of it ({line.text.strip()}) moves by inverse time, not at a rate")
    slowest = min([rate, *(move.feed for move in moves if move.feed is not None)])
    edits: list[tuple[int, int, str]] = []
    before = ""
    for word in line.words:
        if _is(word, "G", 0.0):
            edits.append((word.column, word.end, "G1"))
        elif word.letter == "F":
            edits.append((word.column, word.end, ""))
        elif _is(word, "G", 20.0) or _is(word, "G", 21.0):
            edits.append((word.column, word.end, ""))
            before = "/" * line.block_delete + line.text[word.column - 1 : word.end - 1]
    first, last = line.words[0].column, max(word.end for word in line.words)
    edits.append((last, last, f" F{_rate(slowest, moves, modes)}"))
    if needs_mode:
        edits.append((first, first, "G94 "))
    text = line.text
    for start, stop, new in sorted(edits, reverse=True):
        text = text[: start - 1] + new + text[stop - 1 :]
    text = " ".join(text.split())
    return (before, text) if before else (text,)


def _rate(mm_min: float, moves: Sequence[Move], modes: Mapping[int, str]) -> str:
    """The rate in the units in force, never rounded up; degrees a minute, whatever they are, where only those turn."""
    turns_only = bool(moves) and not any(name in LINEAR for move in moves for name in move.moving)
    if modes.get(UNITS) == "G20" and not turns_only:
        return fixed(mm_min / MM_PER_INCH, RATE_DECIMALS, ROUND_FLOOR)
    return fixed(mm_min, RATE_DECIMALS, ROUND_FLOOR)


def _is(word: Word, letter: str, value: float) -> bool:
    return word.letter == letter and word.value == value


def _require_same_targets(trace: Trace, slow: Trace) -> None:
    """Raises NotSlowedError where a move stays a rapid, or would end elsewhere."""
    wanted, found = list(_moves(trace)), list(_moves(slow))
    rapid = next((before for before, after in zip(wanted, found, strict=False) if after.kind == "rapid"), None)
    if rapid is not None:
        raise NotSlowedError(f"line {rapid.line} of it is a rapid that cannot be written as a feed move")
    if [_target(move) for move in wanted] != [_target(move) for move in found]:
        raise NotSlowedError("as feed moves it would not go to the same end points")


def _target(move: Move) -> list[object]:
    """Where a move ends. What is unknown is named after the line it came from, and that differs in a copy."""
    return [
        (at.base, at.unknown.name.on_no_line, at.unknown.range) if isinstance(at, Afloat) else at
        for at in move.end.values()
    ]
