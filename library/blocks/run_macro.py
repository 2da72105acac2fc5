"""Run another macro of the shelf: its steps, written in place of this one."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer, block_of
from library.macros import Macro, Step
from library.nearest import did_you_mean

PARAMETER = "macro"


def write(values: Values, bench: Bench, out: Writer) -> None:
    name = values.text(PARAMETER)
    if name in bench.inside:
        way = ", ".join([*bench.inside[bench.inside.index(name) :], name])
        raise BlockError(f"the macro {name} would run itself ({way}); take one of these steps out", PARAMETER)
    macro = bench.shelf.get(name)
    if macro is None:
        raise BlockError(
            f"there is no macro {name!r} on the shelf{did_you_mean(name, tuple(bench.shelf)) or ''}", PARAMETER
        )
    inner = bench.writing(macro)
    for number, step in enumerate(macro.step, start=1):
        with _named(f"step {number} of {name}"):
            _write(step, inner, out)


def run_by(macro: Macro) -> tuple[str, ...]:
    """Ids of the macros that the steps of a macro run."""
    return tuple(str(step.values.get(PARAMETER, "")) for step in macro.step if step.block == BLOCK.id)


def _write(step: Step, bench: Bench, out: Writer) -> None:
    block = block_of(step.block)
    for why in block.unknown(step.values).values():
        raise BlockError(why)
    block.write(block.values(step.values, bench), bench, out)


@contextmanager
def _named(where: str) -> Iterator[None]:
    """What cannot be written is said with the step of the other macro, and fixed by choosing another macro."""
    try:
        yield
    except BlockError as error:
        raise BlockError(f"{where}: {error}", PARAMETER) from error


BLOCK = Block(
    id="run-macro",
    title="Run a macro",
    sentence="Run the macro {macro}",
    help="Writes the steps of another macro of the shelf in this place, as they are when the file is made. Its start "
    "condition and its accepted refusals do not come with it: what it does here is proved again. A macro cannot run "
    "itself, not even by way of another.",
    family="By hand",
    place=320,
    parameters=(Parameter(PARAMETER, "text", "", "Id of the macro on the shelf."),),
    write=write,
)
