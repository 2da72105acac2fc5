"""What a machine, a controller and a shelf lack of what a macro needs, as data, and the words for it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from library.bench import Bench
from library.macros import Macro
from library.share.needs import Needed, Needs, needed, unknown_blocks
from parser.language.words import WORDS
from parser.machine import Controller
from parser.motion.checks import why_unsupported

LackKind = Literal["landmark", "axis", "word", "macro", "block", "step"]

UNCLEAR, MISSING, REFUSED, UNPUBLISHED = "unclear", "missing", "refused", "unpublished"


@dataclass(frozen=True, slots=True)
class Lack:
    """One thing that is needed and not there: ``name`` is the landmark, the axis, the word, the id.

    ``cause`` tells apart why, ``step`` (from 1) and ``detail`` say which step cannot be written here and why, in the
    words of its block.
    """

    kind: LackKind
    name: str
    cause: str = MISSING
    step: int | None = None
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Suited:
    """What a macro needs on a bench, and what is lacking there; it suits where nothing is."""

    needs: Needs
    lacks: tuple[Lack, ...]

    @property
    def suits(self) -> bool:
        """Whether there is all that the macro needs; what it does there is another matter, which the proof tells."""
        return not self.lacks


def suited(macro: Macro, bench: Bench) -> Suited:
    """What a macro needs as it is written on a bench, and what of it the bench lacks."""
    found = needed(macro, bench)
    return Suited(found.needs, tuple(lacking(found, bench)))


def lacking(found: Needed, bench: Bench) -> Iterator[Lack]:
    """What of the needs a bench lacks. A step that cannot be written only for what is named already is not told too."""
    needs, known = found.needs, bench.landmarks
    for axis in needs.axes:
        if axis not in bench.machine.names:
            yield Lack("axis", axis)
    for name in needs.landmarks:
        if name not in known.values:
            yield Lack(
                "landmark", name, UNCLEAR if name in known.unclear else MISSING, None, known.unclear.get(name, "")
            )
    for word in needs.words:
        cause = _why_not(bench.controller, word)
        if cause:
            yield Lack("word", word, cause)
    yield from (Lack("macro", id) for id in needs.macros if id not in bench.shelf)
    yield from (Lack("block", id) for id in unknown_blocks(needs))
    for problem in found.problems:
        yield Lack("step", problem.parameter, step=problem.step, detail=problem.message)


def _why_not(controller: Controller, word: str) -> str:
    """Why a controller does not take a word, "" where it does."""
    role = controller.extra_words.get(word)
    if role is not None:
        return REFUSED if role == "refuse" else ""
    if word not in WORDS:
        return UNPUBLISHED
    return REFUSED if why_unsupported(controller, word) else ""


def worded(lack: Lack) -> str:
    """A lack as one clause, to stand behind "Missing here:" or in a list."""
    return _WORDED[lack.kind](lack)


def _word(lack: Lack) -> str:
    if lack.cause == UNPUBLISHED:
        return f"the word {lack.name}, which is not in the standard nor on the controller sheet (extra_words)"
    return f"the word {lack.name}, which the controller does not take"


def _step(lack: Lack) -> str:
    where = "the macro" if lack.step is None else f"step {lack.step}"
    return f"{where} cannot be written here: {lack.detail}"


_WORDED: Mapping[LackKind, Callable[[Lack], str]] = {
    "axis": lambda lack: f"the {lack.name.upper()} axis",
    "landmark": lambda lack: lack.detail or f"the landmark {lack.name}",
    "word": _word,
    "macro": lambda lack: f"the macro {lack.name}, which it runs",
    "block": lambda lack: f"the step {lack.name}, which this version of the program does not have",
    "step": _step,
}


def rigid(needs: Needs) -> Iterator[str]:
    """What of a macro does not adapt to another machine, one sentence each."""
    if needs.start:
        yield f"The start condition {needs.start} stays as it is: it does not adapt to the machine."
    for each in needs.own_lines:
        yield f"Step {each.step} of {each.macro} holds lines of its own: they do not adapt to the machine."
