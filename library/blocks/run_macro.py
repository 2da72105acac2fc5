"""Run another macro of the shelf: its steps, written in place of this one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from library.blocks.block import Bench, Block, BlockError, Parameter, Values, Writer, block_of
from library.hand_rate import hand_rate
from library.limits import MACROS_DEEP, STEPS_IN_ALL
from library.macros import Macro, Step
from library.nearest import did_you_mean

PARAMETER = "macro"
MANY = 1_000_000
"""Steps from which on their number is not spelled out."""


def write(values: Values, bench: Bench, out: Writer) -> None:
    name = values.text(PARAMETER)
    _require_level(name, bench.inside)
    macro = bench.shelf.get(name)
    if macro is None:
        raise BlockError(
            f"there is no macro {name!r} on the shelf{did_you_mean(name, tuple(bench.shelf)) or ''}", PARAMETER
        )
    if all(step.off for step in macro.step):
        why = "only steps that are switched off; switch one on" if macro.step else "no steps; add one"
        raise BlockError(f"the macro {name} has {why} there, or take this step out", PARAMETER)
    inner = bench.writing(macro)
    with _held_to(macro, bench, out):
        for number, step in enumerate(macro.step, start=1):
            if step.off:
                continue
            with _named(f"step {number} of {name}"):
                _write(step, inner, out)


def run_by(macro: Macro) -> tuple[str, ...]:
    """Ids of the macros that the steps of a macro run."""
    return tuple(str(step.values.get(PARAMETER, "")) for step in macro.step if step.block == BLOCK.id)


class Count:
    """The steps of a macro together with those of the macros it runs, counted before any is written.

    Macros that each run the next one twice double with every one of them, and those that run each other have no end.
    Each macro is looked at once. ``inside`` are those that are being written.
    """

    def __init__(self, shelf: Mapping[str, Macro], inside: tuple[str, ...]) -> None:
        self._shelf = shelf
        self._inside = inside
        self._known: dict[str, int] = {}
        self._total = 0

    def with_step(self, step: Step) -> str:
        """Why there is no room for one more step, "" where there is."""
        try:
            self._total += self._of_step(step, self._inside)
        except BlockError as error:
            return str(error)
        if self._total > STEPS_IN_ALL.most:
            return f"up to here there are {_many(self._total)} steps with those of the macros that are run; " + (
                f"{STEPS_IN_ALL.of} takes at most {STEPS_IN_ALL}, so run fewer"
            )
        return ""

    def _of_step(self, step: Step, inside: tuple[str, ...]) -> int:
        if step.off:
            return 0
        if step.block != BLOCK.id:
            return 1
        name = str(step.values.get(PARAMETER, "")).strip()
        _require_level(name, inside)
        if name not in self._known:
            macro = self._shelf.get(name)
            self._known[name] = 1
            if macro is not None:
                self._known[name] = sum(self._of_step(each, (*inside, name)) for each in macro.step)
        return self._known[name]


def _many(count: int) -> str:
    return f"{count:,}" if count < MANY else f"more than {MANY:,}"


def _require_level(name: str, inside: tuple[str, ...]) -> None:
    """Raise BlockError where a macro would be run within itself, or within too many others."""
    if name in inside:
        way = ", ".join([*inside[inside.index(name) :], name])
        raise BlockError(f"the macro {name} would run itself ({way}); take one of these steps out", PARAMETER)
    if len(inside) > MACROS_DEEP.most:
        way = ", ".join([*inside[:2], "...", name])
        raise BlockError(f"the macro {name} would be run within more than {MACROS_DEEP} of others ({way})", PARAMETER)


def _write(step: Step, bench: Bench, out: Writer) -> None:
    block = block_of(step.block)
    for why in block.unknown(step.values).values():
        raise BlockError(why)
    block.write(block.values(step.values, bench), bench, out)


@contextmanager
def _held_to(macro: Macro, bench: Bench, out: Writer) -> Iterator[None]:
    """Its own hand rate holds for its steps, where that is the lower one."""
    with _named(macro.id):
        own = hand_rate(macro, bench)
    before = out.hand_rate
    out.hand_rate = min((rate for rate in (before, own) if rate is not None), default=None)
    try:
        yield
    finally:
        out.hand_rate = before


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
    "condition and its accepted refusals do not come with it: what it does here is proved again. Its hand "
    "rate does. A macro cannot run itself, not even by way of another.",
    family="By hand",
    place=320,
    parameters=(Parameter(PARAMETER, "text", "", "Id of the macro on the shelf."),),
    write=write,
)
