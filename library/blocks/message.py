"""Message: a text for the operator."""

from __future__ import annotations

from library.blocks.block import Bench, Block, Parameter, Values, Writer


def write(values: Values, bench: Bench, out: Writer) -> None:
    out.message(values.text("text"))


BLOCK = Block(
    id="message",
    title="Message",
    sentence="Tell the operator: {text}",
    help="Shows a text at the controller and goes on. On a controller that shows no messages it is a comment "
    "in the file. Signs that a controller may act on, or that would end the text there, are replaced by spaces.",
    family="Waiting",
    place=230,
    parameters=(Parameter("text", "text", "Ready", "What to tell the operator."),),
    write=write,
)
