"""Wait for an input, with a time limit."""

from __future__ import annotations

from decimal import ROUND_CEILING

from library.blocks import extra_words
from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer
from library.blocks.numbers import fixed


def write(values: Values, bench: Bench, out: Writer) -> None:
    template, limit = values.text("line"), values.number("longest")
    given = {"{seconds}": fixed(limit, 3, ROUND_CEILING), "{milliseconds}": fixed(limit * 1000, 0, ROUND_CEILING)}
    if sum(template.count(field) for field in given) != 1:
        raise BlockError(
            "line says nowhere how long to wait at most; write {seconds} or {milliseconds} where that goes, once",
            "line",
        )
    line = template
    for field, number in given.items():
        line = line.replace(field, number)
    extra_words.require(line, "wait", "is to wait for an input", "line", bench)
    out.as_given(line)


BLOCK = Block(
    id="wait-for-input",
    title="Wait for an input",
    sentence="Wait by {line} for at most {longest}",
    help="Waits until an input of the controller is as it should be, such as a closed door. Such a word "
    'is in no standard: enter it under extra_words on the controller sheet as "wait". M66 P0 L3 Q{seconds} is in '
    "common use (common practice). Nobody knows how long it takes, so no time is counted for it. On a controller that "
    "has none, ask the operator by a pause step.",
    family="Waiting",
    place=235,
    parameters=(
        Parameter("line", "text", "", "The line that waits, with {seconds} or {milliseconds} in it for the limit."),
        Parameter("longest", "time", "10 s", "How long to wait at most.", least=0.001, most=600.0),
    ),
    write=write,
    caution="Many controls go on when the time is over (common practice): do not let what comes after it rest on the "
    "input unless you have seen yours stop.",
)
