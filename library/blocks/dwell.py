"""Dwell: stand still for a time."""

from __future__ import annotations

from library.blocks.block import Bench, Block, Parameter, Values, Writer


def write(values: Values, bench: Bench, out: Writer) -> None:
    out.dwell(values.number("time"))


BLOCK = Block(
    id="dwell",
    title="Dwell",
    sentence="Wait {time}",
    help="Stands still for a time, written in the dwell word and unit of the controller sheet.",
    family="Waiting",
    place=210,
    parameters=(Parameter("time", "time", "1 s", "How long to stand still.", least=0.001),),
    write=write,
)
