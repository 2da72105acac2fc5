"""What the pendant sends for a macro: a call, or its lines in stages, each of which a gesture of its own starts.

A controller that keeps macros is told to run one. For any other the lines are sent as they are, but for what only
marks the ends of a file and for comments that tell the operator nothing. A pause for the operator ends a stage where
every stage is proved from anywhere on its own: the next gesture is then what the operator lets it go on with.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

import parser
from library.bench import Bench
from library.blocks.writer import to_put_back
from library.hand_rate import held_to
from library.macros import Macro
from parser.language.program import Line
from parser.machine import HOME_AT_PANEL
from parser.motion.modes import MOTION
from parser.motion.moves import EventKind, Trace
from parser.report import Report

Lines = tuple[str, ...]


def call(template: str, slug: str, number: int) -> str:
    """The line that runs a stored macro, from the ``call`` of a controller sheet."""
    return template.replace("{number}", str(number)).replace("{slug}", slug)


def stages(macro: Macro, text: str, bench: Bench) -> tuple[Lines, ...]:
    """The lines to send for the text of a macro, one tuple for each stage; a single one where no pause divides it.

    A stage puts the modes in force that the lines before it had set, and ends in the resting modes. What else lines may
    leave behind for those after a pause (an offset, a parameter, a tool, a line that a switch takes out) cannot be put
    in force again, so it keeps the macro whole.
    """
    machine, controller = bench.machine, bench.controller
    program = parser.read(text, controller)
    followed = parser.trace(program, machine, controller)
    last = min((event.line for event in followed.events if event.kind.ends), default=program.last)
    lines = [line for line in program.lines if line.number <= last and _counts(line)]
    whole = tuple(line.text for line in lines)
    parts = list(_between(lines, _pauses(lines, followed)))
    if len(parts) < 2 or followed.final.changed or any(line.block_delete for line in lines):
        return (whole,)
    divided = []
    for part in parts:
        is_last = part[-1] is lines[-1]
        opening = () if part[0] is lines[0] else _in_force(followed, part[0].number)
        stage = _closed((*opening, *(line.text for line in part)), bench, is_last=is_last)
        report = prove(macro, stage, bench)
        if report.refused:
            return (whole,)
        if _does_something(report):
            divided.append(stage)
    return tuple(divided) if len(divided) > 1 else (whole,)


def prove(macro: Macro, lines: Iterable[str], bench: Bench) -> Report:
    """The report on lines as the controller gets them, from anywhere, with what the macro has accepted."""
    accepted = {each.rule: each.because for each in macro.accepted}
    return parser.examine(
        as_text(lines, percent=bench.controller.percent),
        bench.machine,
        bench.controller,
        parser.Question(
            accepted=accepted, second=bench.second, said=bench.said.get(macro.id), hand_rate=held_to(macro, bench)
        ),
    )


def as_text(lines: Iterable[str], *, percent: bool) -> str:
    """Lines as a text to be read, between the % lines that a file of the controller has."""
    framed = ("%", *lines, "%") if percent else tuple(lines)
    return "".join(f"{line}\n" for line in framed)


def _counts(line: Line) -> bool:
    """Whether the controller has to get a line: it does something, or tells the operator or the proof something."""
    if line.percent or line.head or not line.text.strip():
        return False
    if not line.readable or line.words or line.settings or not line.comments:
        return True
    return any(each.message is not None or HOME_AT_PANEL in each.text.upper() for each in line.comments)


def _pauses(lines: Sequence[Line], followed: Trace) -> frozenset[int]:
    """The lines that do nothing but wait for the operator."""
    waiting = {event.line for event in followed.events if event.kind.waits and event.kind is not EventKind.TOOL_CHANGE}
    return frozenset(
        line.number
        for line in lines
        if line.number in waiting
        and not (line.block_delete or line.settings or line.comments)
        and (len(line.words) == 1 or not line.readable)
    )


def _between(lines: Sequence[Line], pauses: frozenset[int]) -> Iterator[list[Line]]:
    part: list[Line] = []
    for line in lines:
        if line.number not in pauses:
            part.append(line)
        elif part:
            yield part
            part = []
    if part:
        yield part


def _in_force(followed: Trace, number: int) -> Lines:
    """One line with the modes that the lines before ``number`` had set; none where they had set none.

    A stage never leans on the motion mode, so it is put back but not put in force.
    """
    before = [state for state in followed.states if state.line < number]
    modes: Mapping[int, str] = before[-1].modes if before else {}
    words = " ".join(modes[group] for group in sorted(modes) if group not in (0, MOTION))
    return (words,) if words else ()


def _closed(lines: Lines, bench: Bench, *, is_last: bool) -> Lines:
    """A stage with the resting modes put back; the last one has had that done by the macro itself."""
    if is_last:
        return lines
    controller = bench.controller
    modes = parser.trace(parser.read(as_text(lines, percent=False), controller), bench.machine, controller)
    final = modes.final.modes
    back = to_put_back(controller.resting, final)
    ends = (" ".join(back), controller.settle, bench.controller_sheet.ending)
    return (*lines, *(line for line in ends if line))


def _does_something(report: Report) -> bool:
    followed = report.trace
    acts = any(not event.kind.ends for event in followed.events)
    final = followed.final
    return bool(followed.moves or acts or final.changed) or final.spindle is not None or final.coolant is not None
