"""Output: something switched on for a time and off again, as air or flush."""

from __future__ import annotations

from library.blocks import extra_words
from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer

SWITCHES = "is to switch an output"


def write(values: Values, bench: Bench, out: Writer) -> None:
    on, opposite = values.text("on"), values.text("opposite")
    for name, line in (("on", on), ("opposite", opposite)):
        extra_words.require(line, "ignore", SWITCHES, name, bench)
    if on == opposite:
        raise BlockError("the same line would switch it on and off; give the opposite one", "opposite")
    out.as_given(on)
    out.dwell(values.number("time"))
    out.as_given(opposite)


BLOCK = Block(
    id="output",
    title="Output",
    sentence="Switch on by {on}, wait {time}, switch off by {opposite}",
    help="For air, flush, a clamp or a lamp on an output of the controller: a word of its own that switches it on, a "
    "dwell, and the opposite word. Such words are in no standard: enter them under extra_words on the controller sheet "
    'as "ignore", which says that they move nothing. M64 P0 and M65 P0 are in common use (common practice). On a '
    "controller that has none, ask the operator by a pause step.",
    family="Spindle and coolant",
    place=130,
    parameters=(
        Parameter("on", "text", "", "The word that switches it on, such as M64 P0."),
        Parameter("time", "time", "2 s", "How long it stays on.", least=0.001, most=600.0),
        Parameter("opposite", "text", "", "The word that switches it off, such as M65 P0."),
    ),
    write=write,
    caution="Let go in between and the output stays on; whether the controller takes it off then is its own matter. "
    "Never hold work by it.",
)
