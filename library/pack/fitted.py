"""Whether what is on the machine is still what the workshop has, and still proved."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from library import documents, proving
from library.bench import Bench
from library.outgoing import Gathered
from library.pack import contents
from library.pack.contents import Pack
from library.pack.issues import Fitted, Kept, KeptMacro, kept_of, own_lines
from library.toml_text import DocumentError
from parser.quantities import sentence_list

ChangeKind = Literal["refused", "differs", "gone"]

WORDS: dict[ChangeKind, str] = {
    "refused": "refused now",
    "differs": "not what the workshop has now",
    "gone": "no longer in the workshop",
}


@dataclass(frozen=True, slots=True)
class FittedChange:
    """A macro on the machine that is not as it should be: what became of it, and why in words."""

    id: str
    name: str
    kind: ChangeKind
    why: str


def changes(fitted: Fitted, now: Gathered) -> tuple[FittedChange, ...]:
    """What of the fitted issue is refused, differs or is gone by the documents as they stand; empty where all holds.

    Raises DocumentError where a sheet cannot be read.
    """
    bench, _ = contents.parsed(now)
    return tuple(each for macro in fitted.kept.macros for each in _changes(macro, bench))


def _changes(held: KeptMacro, bench: Bench) -> Iterator[FittedChange]:
    why = _refused(held, bench)
    if why:
        yield FittedChange(held.id, held.name, "refused", why)
    elif held.id not in bench.shelf:
        yield FittedChange(held.id, held.name, "gone", "it was taken off the shelf, or cannot be read")
    elif own_lines(bench.shelf[held.id], bench) != held.lines:
        yield FittedChange(held.id, held.name, "differs", "a sheet or the macro has changed, and its lines with it")


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
        if names
    ]
    return f"THE PENDANT STILL HOLDS issue {fitted.kept.issue}, fitted {fitted.since}: {'; '.join(parts)}."


def reload(before: Kept, taken: Pack) -> tuple[str, ...]:
    """What has to be loaded anew for a pack where an issue is on the machine: files of the controller, the pendant."""
    now = kept_of(taken)
    old = {each.id: each for each in before.macros}
    files = []
    if contents.numbered(taken.goes.bench) or taken.goes.bench.controller.call:
        for each in now.macros:
            was = old.get(each.id)
            if was is None or (was.lines, was.number, was.slow_number) != (each.lines, each.number, each.slow_number):
                files.append(taken.goes.taken[each.id].path)
        gone = [each for each in before.macros if each.id not in {one.id for one in now.macros}]
        files += [f"(take {each.name} off the controller: it is in this issue no more)" for each in gone]
    if now.table != before.table:
        files.append("the pendant's program")
    return tuple(files)
