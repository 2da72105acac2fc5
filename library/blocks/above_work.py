"""Above the work: X and Y to the zero of a work coordinate system, and on demand down to a clearance over it."""

from __future__ import annotations

from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer
from parser.machine import SYSTEMS


def write(values: Values, bench: Bench, out: Writer) -> None:
    system = values.text("system")
    height = None
    if values.flag("descend"):
        if out.moved_zero(system, "z"):
            raise BlockError(
                f"a step before moves the Z zero of {system}, and the clearance is counted from where the "
                "machine sheet has it; do not descend, or go down in a macro of its own",
                "descend",
            )
        height = _height(system, values.number("clearance"), bench)
    out.work_move(system, {"x": 0.0, "y": 0.0})
    if height is not None:
        out.machine_move({"z": height})


def _height(system: str, clearance: float, bench: Bench) -> float:
    """Machine Z that clears the highest work zero of any setup, with the longest tool in the spindle."""
    for setup in bench.machine.setups:
        if system not in setup.origins or "z" not in setup.origins[system].axes:
            where = f"the setup {setup.name!r}" if setup.name else "the machine sheet"
            raise BlockError(f"{where} does not give the Z of {system}; fill it in there, or do not descend", "descend")
    height = bench.evaluate(f"work.{system.lower().replace('.', '_')}.z.max", "length") + clearance
    axis = bench.machine.axis("z")
    if axis is not None and height > axis.travel.high:
        raise BlockError(
            f"{clearance:g} mm above the highest {system} zero is beyond the top of the Z travel; ask for less",
            "clearance",
        )
    return height


BLOCK = Block(
    id="above-work",
    title="Above the work",
    sentence="Go above the {system} zero, descend to {clearance} over it: {descend}",
    help="Takes X and Y to the zero of a work coordinate system. It can then go down to a clearance over the "
    "highest zero that the sheet knows, with the longest tool. It does not raise; put a raise before it. "
    "Afterwards that system is in force.",
    family="Moves",
    place=50,
    parameters=(
        Parameter("system", "choice", "G54", "Work coordinate system whose zero is meant.", choices=SYSTEMS),
        Parameter("clearance", "length", "10 mm", "How high the tip of the longest tool is over the zero.", least=0.0),
        Parameter("descend", "flag", False, "Whether Z goes down to the clearance."),
    ),
    write=write,
)
