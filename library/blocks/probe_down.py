"""Probe down: feed down until the probe trips, then up again."""

from __future__ import annotations

from library.blocks.block import Bench, Block, Parameter, Values, Writer
from parser.machine import SYSTEMS


def write(values: Values, bench: Bench, out: Writer) -> None:
    out.probe_down(values.text("system"), values.number("depth"), values.number("feed"))
    out.machine_move({"z": values.number("retract")})


BLOCK = Block(
    id="probe-down",
    title="Probe down",
    sentence="Probe down by at most {depth} at {feed}, in {system}, then go up to {retract}",
    help="Feeds Z down from where it stands until the probe trips, then raises at rapid. Nobody knows where it trips, "
    "so everything down to the full depth has to be clear. Afterwards that system is in force, with no tool length "
    "offset. Raise to a known height first.",
    family="Work zero",
    place=260,
    parameters=(
        Parameter("depth", "length", "10 mm", "How far down to look, from where Z stands.", least=0.3),  # 3.5.9
        Parameter("feed", "rate", "50 mm/min", "Rate of the probing move.", least=0.001),
        Parameter("system", "choice", "G54", "Work coordinate system the result counts in.", choices=SYSTEMS),
        Parameter("retract", "length", "safe.z", "Machine Z to go up to afterwards.", places=("z",)),
    ),
    write=write,
)
