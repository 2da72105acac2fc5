"""Whether what is on the machine is still what the workshop has, and still proved."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from library import documents, proving
from library.bench import Bench
from library.outgoing import Gathered, PackError
from library.pack import contents
from library.pack import held as on_pendant
from library.pack.issues import Fitted, Kept, KeptMacro, own_lines
from library.toml_text import DocumentError
from parser.quantities import sentence_list

ChangeKind = Literal["refused", "differs", "gone", "changed"]

WORDS: dict[ChangeKind, str] = {
    "refused": "refused now",
    "differs": "not what the workshop has now",
    "gone": "no longer in the workshop",
    "changed": "not as the workshop has them",
}

FEW_SLOTS = 3  # our choice
"""How many slots that hold other macros are told one by one in a sentence."""


@dataclass(frozen=True, slots=True)
class FittedChange:
    """A macro, a slot or a part of the pendant that is not as it should be: what became of it, and why in words.

    ``id`` is "" where it is no macro. Of a slot that is "changed", ``why`` goes on after its name.
    """

    id: str
    name: str
    kind: ChangeKind
    why: str


def changes(fitted: Fitted, now: Gathered) -> tuple[FittedChange, ...]:
    """What of the fitted issue is refused, differs or is gone by the documents as they stand; empty where all holds.

    Raises DocumentError where a sheet cannot be read.
    """
    bench, _ = contents.parsed(now)
    macros = (each for macro in fitted.kept.macros for each in _changes(macro, bench))
    return (*macros, *_slots(fitted.kept, bench), *_parts(fitted.kept, bench))


def _changes(held: KeptMacro, bench: Bench) -> Iterator[FittedChange]:
    why = _refused(held, bench)
    number = bench.pendant.numbers.get(held.id, held.number)
    if why:
        yield FittedChange(held.id, held.name, "refused", why)
    elif held.id not in bench.shelf:
        yield FittedChange(held.id, held.name, "gone", "it was taken off the shelf, or cannot be read")
    elif own_lines(bench.shelf[held.id], bench) != held.lines:
        yield FittedChange(held.id, held.name, "differs", "a sheet or the macro has changed, and its lines with it")
    elif held.number and number != held.number:
        why = f"it has number {held.number} on the machine, and {number} in the workshop"
        yield FittedChange(held.id, held.name, "differs", why)


def _slots(kept: Kept, bench: Bench) -> Iterator[FittedChange]:
    """Each slot on which the workshop wants another macro than when the issue was taken."""
    if not kept.wanted:
        return
    names = {each.id: each.name for each in kept.macros}
    then, now = dict(kept.wanted), dict(on_pendant.wanted(bench))
    for label in dict.fromkeys((*then, *now)):
        if then.get(label) != now.get(label):
            holds = names.get(then.get(label, ""), "nothing")
            id = now.get(label, "")
            has = bench.shelf[id].name if id in bench.shelf else id or "nothing"
            yield FittedChange("", f"slot {label}", "changed", f"holds {holds}, the workshop has {has}")


def _parts(kept: Kept, bench: Bench) -> Iterator[FittedChange]:
    """Each part of the tables that the sheets decide otherwise now."""
    if not kept.parts:
        return
    try:
        now = dict(on_pendant.parts(bench))
    except PackError as error:
        yield FittedChange("", "the jog", "differs", str(error))
        return
    for name, digest in kept.parts:
        if now.get(name, digest) != digest:
            yield FittedChange("", name, "differs", "a sheet has changed, and what the pendant does with it")


def _refused(held: KeptMacro, bench: Bench) -> str:
    """Why the lines on the machine are refused by the sheets as they stand, "" where they are not."""
    try:
        macro = documents.parse("macro", held.document, held.id)
    except DocumentError as error:
        return str(error)
    report = proving.prove_written(macro, held.text, bench)
    return proving.reason(report) if report.refused else ""


def told(fitted: Fitted, found: tuple[FittedChange, ...]) -> str:
    """What every page says where something on the machine is not as it should be, in one sentence; "" where all is."""
    if not found:
        return ""
    by_kind = {kind: [each.name for each in found if each.kind == kind] for kind in WORDS}
    parts = [
        f"{sentence_list(names)} {'is' if len(names) == 1 else 'are'} {WORDS[kind]}"
        for kind, names in by_kind.items()
        if names and (kind != "changed" or len(names) > FEW_SLOTS)
    ]
    slots = [f"{each.name} {each.why}" for each in found if each.kind == "changed"]
    parts += slots if len(slots) <= FEW_SLOTS else []
    return f"THE PENDANT STILL HOLDS issue {fitted.kept.issue}, fitted {fitted.since}: {'; '.join(parts)}."
