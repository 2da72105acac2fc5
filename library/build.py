"""Macro and sheets in, the exact text of the macro file out, with the step that made each line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from library.bench import Bench
from library.blocks.block import BlockError, Value, Values, block_of
from library.blocks.run_macro import BLOCK as RUN_MACRO
from library.blocks.run_macro import PARAMETER, Count
from library.blocks.writer import Writer
from library.hand_rate import KEY, hand_rate
from library.heading import title
from library.macros import Macro, Step
from library.names import program_head
from library.nearest import did_you_mean
from library.numbering import number_of
from parser import read
from parser.limits import PROGRAM_LINES
from parser.proof.rules import RULES

SWITCHED_OFF = "switched off: it writes no lines"
LINE_ENDS = {"lf": "\n", "crlf": "\r\n"}


@dataclass(frozen=True, slots=True)
class Problem:
    """Why a step could not be written: its number from 1 (None: the macro itself), the value to fix, one line."""

    step: int | None
    parameter: str
    message: str

    def __str__(self) -> str:
        where = "the macro" if self.step is None else f"step {self.step}"
        return f"{where}: {self.message}"


@dataclass(frozen=True, slots=True)
class Built:
    """The text of a macro, and how it came about.

    ``steps`` maps a physical line (from 1) to the step (from 1) that wrote it; lines of no step are left out.
    ``values`` holds what each step's parameters came to, those that could not be read left out; ``notes`` says which
    part moves where, "" where there is nothing to say. ``asked`` is what the operator is told at each pause, in order.
    Steps with a problem wrote no lines, so a text with ``problems`` is only there to be looked at.
    """

    text: str
    steps: Mapping[int, int]
    values: tuple[Mapping[str, Value], ...]
    notes: tuple[str, ...]
    problems: tuple[Problem, ...]
    asked: tuple[str, ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        """The physical lines, without their ends."""
        return tuple(self.text.replace("\r\n", "\n").removesuffix("\n").split("\n"))


def build(macro: Macro, bench: Bench) -> Built:
    """The lines of a macro on a machine and controller; one that cannot be written is a problem, the rest is there."""
    bench = bench.writing(macro)
    controller = bench.controller_sheet
    out = Writer(bench)
    problems: list[Problem] = []
    steps: dict[int, int] = {}
    values: list[Mapping[str, Value]] = []
    notes: list[str] = []
    for line in opening(macro, bench):
        out.as_given(line)
    out.comment(title(macro))
    if not macro.step:
        problems.append(Problem(None, "", "it has no steps; add one"))
    elif all(step.off for step in macro.step):
        problems.append(Problem(None, "", "every step is switched off; switch one on"))
    problems += _accepted_in_vain(macro)
    try:
        out.hand_rate = hand_rate(macro, bench)
    except BlockError as error:
        problems.append(Problem(None, KEY, str(error)))
    ended = closing = 0
    count = Count(bench.shelf, bench.inside)
    for number, step in enumerate(macro.step, start=1):
        if step.off:
            values.append(Values())
            notes.append(SWITCHED_OFF)
            continue
        before = len(out.lines)
        told = count.with_step(step) or _too_many_lines(before)
        if told:
            problems.append(Problem(number, PARAMETER if step.block == RUN_MACRO.id else "", told))
            values += [Values()] * (len(macro.step) + 1 - number)
            notes += [""] * (len(macro.step) + 1 - number)
            break
        evaluated, note, found = _write(step, number, bench, out)
        written = out.lines[before:]
        if ended and written:
            found.append(Problem(number, "", f"it is never run: step {ended} ends the program before; swap them"))
        elif not controller.call and _ends(written, bench):  # where it is called, M2 is refused as it is
            ended = number
        closing = closing or (number if out.closes else 0)
        steps.update(dict.fromkeys(range(before + 1, len(out.lines) + 1), number))
        values.append(evaluated)
        notes.append(note)
        problems += found
    asked = out.finish()
    steps.update(dict.fromkeys((index + 1 for index in asked), closing))
    text = joined(out.lines, bench)
    return Built(text, steps, tuple(values), tuple(notes), tuple(problems), tuple(out.asked))


def opening(macro: Macro, bench: Bench) -> tuple[str, ...]:
    """The lines before the comments at the head of a macro file: % and the first line of a stored program."""
    template = bench.controller.program_head
    number = number_of(macro.id, bench) if "{number}" in template else 0
    head = program_head(template, macro.id, number)
    return tuple(line for line in ("%" if bench.controller.percent else "", head) if line)


def _too_many_lines(lines: int) -> str:
    """Why no further step is written, "" where there is room."""
    if lines <= PROGRAM_LINES.most:
        return ""
    return f"the steps before it come to {lines:,} lines; more than {PROGRAM_LINES} are not read, so write fewer"


def with_heading(built: Built, heading: Sequence[str], bench: Bench, program: str = "") -> Built:
    """The same macro with other comments at its head; every line still belongs to the step that wrote it.

    ``program`` is the first line of the stored program where that is another than the macro's.
    """
    percent, headed = bench.controller.percent, bool(bench.controller.program_head)
    first = percent + headed
    before = built.lines[:first] if not (headed and program) else (*built.lines[:percent], program)
    lines = (*before, *heading, *built.lines[first + 1 :])
    shift = len(heading) - 1
    return replace(
        built,
        text=joined(lines, bench),
        steps={line + shift: step for line, step in built.steps.items()},
    )


def joined(lines: Sequence[str], bench: Bench) -> str:
    """Lines as a text, each ended as the controller wants it."""
    end = LINE_ENDS[bench.controller_sheet.line_ending]
    return "".join(line + end for line in lines)


def _accepted_in_vain(macro: Macro) -> list[Problem]:
    """Rules that the macro wants lowered and that there are not."""
    return [
        Problem(None, "accepted", f"there is no rule {entry.rule!r} to accept{did_you_mean(entry.rule, RULES)}")
        for entry in macro.accepted
        if entry.rule not in RULES
    ]


def _ends(lines: Sequence[str], bench: Bench) -> bool:
    """Whether a line of a step ends the program, so that nothing after it is read (NISTIR 6556, 3.6.1)."""
    probe = [*lines, ""]
    return read("".join(f"{line}\n" for line in probe), bench.controller).last < len(probe)


def _write(step: Step, number: int, bench: Bench, out: Writer) -> tuple[Values, str, list[Problem]]:
    try:
        block = block_of(step.block)
    except BlockError as error:
        return Values(), "", [Problem(number, error.parameter, str(error))]
    given = step.values
    values = Values()
    problems = [Problem(number, name, why) for name, why in block.unknown(given).items()]
    for parameter in block.parameters:
        try:
            values[parameter.name] = parameter.read(given.get(parameter.name, parameter.default), bench)
        except BlockError as error:
            problems.append(Problem(number, error.parameter, str(error)))
    if problems:
        return values, "", problems
    mark = out.mark()
    try:
        block.write(values, bench, out)
        return values, block.note(values, bench), []
    except BlockError as error:
        out.back_to(mark)
        return values, "", [Problem(number, error.parameter, str(error))]
