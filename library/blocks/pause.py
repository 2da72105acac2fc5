"""Pause: wait for the operator, with a text if there is something to say."""

from __future__ import annotations

from library.blocks.block import Bench, Block, Parameter, Values, Writer


def write(values: Values, bench: Bench, out: Writer) -> None:
    if values.text("text"):
        out.message(values.text("text"))
    out.pause()


BLOCK = Block(
    id="pause",
    title="Pause",
    sentence="Wait for the operator: {text}",
    help="Waits until the operator lets the program go on, at the controller. The text, if any, is shown before.",
    family="Waiting",
    place=220,
    parameters=(Parameter("text", "text", "", "What to tell the operator.", blank="nothing to say"),),
    write=write,
)
