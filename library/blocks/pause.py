"""Pause: wait for the operator, with a text if there is something to say."""

from __future__ import annotations

from library.blocks.block import Bench, Block, Parameter, Values, Writer

GO_ON = "RESUME WHEN READY"
"""What the operator is told at a pause that has no text of its own: a machine that stands still says nothing."""


def write(values: Values, bench: Bench, out: Writer) -> None:
    out.ask(values.text("text") or GO_ON)


BLOCK = Block(
    id="pause",
    title="Pause",
    sentence="Wait for the operator: {text}",
    help="Waits until the operator lets the program go on, at the controller. The text is shown before; on a "
    "controller that shows none the legend card says it.",
    family="Waiting",
    place=220,
    parameters=(Parameter("text", "text", "", "What to tell the operator.", blank="resume when ready"),),
    write=write,
)
