"""The review of macros that come: what each would do here, what it lacks, and how it differs from one of the same id.

Nothing is stored here. A macro is proved with those that came with it, and with the shelf's where it runs others.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from library import documents
from library.bench import Bench
from library.blocks import REGISTRY
from library.build import build
from library.difference import DifferentLine, difference
from library.macros import Acceptance, Macro, Step
from library.numbering import slots
from library.proving import Proved, prove_macro
from library.share.foreign import Foreign, foreign
from library.share.incoming import Coming, Incoming
from library.share.lacks import Lack, lacking, rigid
from library.share.needs import Needs, needed, runs
from library.store import SINGLETON, Head, Workshop
from library.toml_text import DocumentError
from parser.progress import Progress, unheard

OnShelf = Literal["new", "same", "different", "unreadable"]

Others = tuple[tuple[str, str], ...]
"""Macros that a macro runs: id and text of each."""

Prove = Callable[[str, Others], Proved]
"""Proves a macro with those that it runs, all as texts, on the sheets in force."""

WORDS = ("name", "purpose", "author", "licence", "tags", "units", "start", "hand_rate", "accepted")
"""What a macro says of itself, beside its steps."""


@dataclass(frozen=True, slots=True)
class WordDifference:
    """A key in which two macros differ, with what each of them says."""

    key: str
    mine: str
    theirs: str


@dataclass(frozen=True, slots=True)
class Beside:
    """The macro here whose id one that comes has too: its revision, and the differences in words, steps and lines.

    ``runs_it`` are the macros here that run it, ``slots`` the labels of its slots.
    """

    head: Head
    name: str
    words: tuple[WordDifference, ...]
    steps: tuple[DifferentLine, ...]
    lines: tuple[DifferentLine, ...]
    runs_it: tuple[str, ...]
    slots: tuple[str, ...]

    @property
    def alike(self) -> bool:
        """Whether only comments and layout differ."""
        return not (self.words or self.steps or self.lines)


@dataclass(frozen=True, slots=True)
class Reviewed:
    """What a macro that comes would do here; all but ``coming`` is None or empty for one that cannot be read.

    ``head`` is the macro here of its id, None where there is none. What was only ``compared`` says no more than that.
    """

    coming: Coming
    standing: OnShelf
    head: Head | None = None
    proved: Proved | None = None
    needs: Needs | None = None
    lacks: tuple[Lack, ...] = ()
    foreign: tuple[Foreign, ...] = ()
    rigid: tuple[str, ...] = ()
    beside: Beside | None = None

    @property
    def refused(self) -> bool:
        """Whether it may not be taken to the machine as it is."""
        return self.proved is None or not self.proved.exportable


@dataclass(frozen=True, slots=True)
class Here:
    """The workshop that macros come to, read once: its bench, the heads of its macros by id, and those it can read."""

    bench: Bench
    heads: Mapping[str, Head]
    shelf: Mapping[str, Macro]


def here(shop: Workshop) -> Here:
    """The workshop as it stands; raises StoreError, and DocumentError where a sheet cannot be read."""
    heads = {each.id: Head(each.number, each.text) for each in shop.standing("macro")}
    shelf: dict[str, Macro] = {}
    for id, head in heads.items():
        try:
            shelf[id] = documents.parse("macro", head.text, id)
        except DocumentError:
            continue
    machine, controller, pendant = (shop.text(kind, SINGLETON) for kind in ("machine", "controller", "pendant"))
    return Here(documents.bench(machine, controller, pendant, shelf), heads, shelf)


def review(
    come: Incoming,
    now: Here,
    prove: Prove | None = None,
    progress: Progress = unheard,
    *,
    only: str | None = None,
) -> tuple[Reviewed, ...]:
    """What each macro would do here, in the order in which they come; with ``only`` the one of that key alone."""
    found = []
    for number, each in enumerate(compared(come, now.heads)):
        if only in (None, each.coming.key):
            progress(number / len(come.macros))
            found.append(_reviewed(each, come, now, prove))
    return tuple(found)


def compared(come: Incoming, heads: Mapping[str, Head]) -> tuple[Reviewed, ...]:
    """Which of the macros that come are here already, in their order: enough to choose from, and nothing is proved."""
    return tuple(_compared(each, heads.get(each.id)) for each in come.macros)


def _compared(coming: Coming, head: Head | None) -> Reviewed:
    if coming.macro is None:
        return Reviewed(coming, "unreadable")
    standing: OnShelf = "new" if head is None else "same" if head.text == coming.text else "different"
    return Reviewed(coming, standing, head)


def looked_at(each: Reviewed, come: Incoming, now: Here) -> Reviewed:
    """All that can be said of a macro that was compared without proving it."""
    macro, home = each.coming.macro, each.coming.source.home
    if macro is None:
        return each
    bench = _together(each, come, now)
    asks = needed(macro, bench)
    return replace(
        each,
        needs=asks.needs,
        lacks=tuple(lacking(asks, bench)),
        foreign=foreign(macro, bench, home.landmarks if home else {}),
        rigid=tuple(rigid(asks.needs)),
        beside=_beside(macro, each.coming.text, build(macro, bench).text, each.head, now)
        if each.head and each.standing == "different"
        else None,
    )


def _reviewed(each: Reviewed, come: Incoming, now: Here, prove: Prove | None) -> Reviewed:
    coming = each.coming
    if coming.macro is None:
        return each
    bench = _together(each, come, now)
    texts = {id: one.text for id, one in now.heads.items()}
    texts |= {one.id: one.text for one in come.macros if one.source == coming.source}
    others = tuple((id, texts[id]) for id in runs(coming.macro, bench.shelf) if id in bench.shelf)
    proved = prove(coming.text, others) if prove else prove_macro(coming.macro, bench, seek_start=False)
    return replace(looked_at(each, come, now), proved=proved)


def _together(each: Reviewed, come: Incoming, now: Here) -> Bench:
    """The bench here, its shelf as it would be with all that came in one file with a macro."""
    return replace(now.bench, shelf={**now.shelf, **come.beside(each.coming)})


def _beside(theirs: Macro, text: str, written: str, head: Head, now: Here) -> Beside:
    mine = now.shelf.get(theirs.id)
    labels = tuple(slot.label for slot in slots(now.bench.pendant) if slot.macro == theirs.id)
    runs_it = tuple(id for id, each in now.shelf.items() if theirs.id in runs(each, now.shelf))
    if mine is None:
        return Beside(head, theirs.id, (), difference(head.text, text), (), runs_it, labels)
    return Beside(
        head,
        mine.name,
        tuple(_words(mine, theirs)),
        difference(_steps(mine), _steps(theirs)),
        difference(build(mine, now.bench).text, written),
        runs_it,
        labels,
    )


def _words(mine: Macro, theirs: Macro) -> Iterator[WordDifference]:
    for key in WORDS:
        one, other = _said(getattr(mine, key)), _said(getattr(theirs, key))
        if one != other:
            yield WordDifference(key, one, other)


def _said(value: Any) -> str:
    if isinstance(value, tuple):
        return ", ".join(f"{each.rule}: {each.because}" if isinstance(each, Acceptance) else each for each in value)
    return str(value)


def _steps(macro: Macro) -> str:
    """The steps as sentences, one line each."""
    return "".join(f"{sentence}\n" for sentence in map(step_sentence, macro.step))


def step_sentence(step: Step) -> str:
    """A step as the sentence of its block, its values in place; the values alone where the block is not known."""
    return f"Switched off: {_sentence(step)}" if step.off else _sentence(step)


def _sentence(step: Step) -> str:
    block = REGISTRY.get(step.block)
    if block is None:
        return f"{step.block}: " + ", ".join(f"{key} {_short(value)}" for key, value in step.values.items())
    values = {each.name: _short(step.values.get(each.name, each.default), each.blank) for each in block.parameters}
    return block.sentence.format(**values)


def _short(value: object, blank: str = "") -> str:
    """A value on one line; for one left empty, what that means."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return " | ".join(str(value).split("\n")).strip() or blank or "(left empty)"
