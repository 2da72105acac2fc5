"""What a take-away holds: documents in, the bytes of every file out. Nothing here touches a disk or a clock."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from library import documents, proving
from library import slots as slot_table
from library.macros import Macro
from library.proving import Proved
from library.slots import Slot
from library.store import Sheets, Workshop
from library.takeaway import manifest, names, table
from library.toml_text import DocumentError
from parser.report import Report

SHEETS = ("machine", "controller", "pendant")
SINGLETON = "workshop"
MACRO_FOLDER = "macros"
SOURCE_FOLDER = "documents"


class TakeAwayError(Exception):
    """A take-away cannot be made, written or read; ``str()`` is one clear line."""


@dataclass(frozen=True, slots=True)
class Gathered:
    """The documents a take-away is made from, as text: one of each sheet, and macros by id."""

    machine: str
    controller: str
    pendant: str
    macros: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class TakeAway:
    """The bytes of every file by its path (with ``/``), and what was left out with the reason."""

    files: Mapping[str, bytes]
    left_out: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Documents:
    """The documents of a take-away as models; ``unreadable`` says by id what is wrong with a macro that is not."""

    sheets: Sheets
    macros: Mapping[str, Macro]
    unreadable: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class _Taken:
    proved: Proved
    content: bytes
    file: str
    number: int
    lines: tuple[str, ...]


def gather(workshop: Workshop) -> Gathered:
    """The documents of a workshop as they stand; raises StoreError."""
    texts = {kind: workshop.text(kind, SINGLETON) for kind in SHEETS}
    return Gathered(**texts, macros={id: workshop.text("macro", id) for id in workshop.ids("macro")})


def parsed(gathered: Gathered) -> Documents:
    """The documents as models; raises DocumentError for a sheet that cannot be read."""
    sheets = Sheets.read(gathered.machine, gathered.controller, gathered.pendant)
    macros: dict[str, Macro] = {}
    unreadable: dict[str, str] = {}
    for id, text in gathered.macros.items():
        try:
            macros[id] = documents.parse("macro", text, f"macro {id}")
        except DocumentError as error:
            unreadable[id] = str(error)
    return Documents(sheets, macros, unreadable)


def make(gathered: Gathered) -> TakeAway:
    """The files of every macro that is on a slot and may be taken, with the slot table and the manifest.

    Raises DocumentError where a sheet cannot be read and TakeAwayError where two macros would share one file.
    """
    having = parsed(gathered)
    left_out = dict(having.unreadable)
    used = _usable_slots(having, left_out)
    taken = _taken(having, used, left_out)
    files = {f"{MACRO_FOLDER}/{each.file}": each.content for each in taken.values()}
    rows = [_row(slot, taken[slot.macro]) for slot in used if slot.macro in taken]
    files["slots.csv"] = table.as_csv(rows)
    files["slots.json"] = table.as_json(rows, having.sheets.pendant, having.sheets.controller)
    files |= _sources(gathered, taken)
    sheets = {
        "machine": (having.sheets.machine.name, f"{SOURCE_FOLDER}/machine.toml"),
        "controller": (having.sheets.controller.name, f"{SOURCE_FOLDER}/controller.toml"),
        "pendant": (having.sheets.pendant.name, f"{SOURCE_FOLDER}/pendant.toml"),
    }
    entries = [_entry(each, used) for each in taken.values()]
    files[manifest.NAME] = manifest.write(sheets, entries, files, left_out)
    return TakeAway(dict(sorted(files.items())), left_out)


def remake(files: Mapping[str, bytes]) -> Gathered:
    """The documents that a take-away carries; raises TakeAwayError where one is missing or not text."""
    prefix = f"{SOURCE_FOLDER}/macros/"
    ids = [path.removeprefix(prefix).removesuffix(".toml") for path in sorted(files) if path.startswith(prefix)]
    sheets = {kind: _text(files, f"{SOURCE_FOLDER}/{kind}.toml") for kind in SHEETS}
    return Gathered(**sheets, macros={id: _text(files, f"{prefix}{id}.toml") for id in ids})


def reproved(having: Documents, macro: Macro, content: bytes) -> Report:
    """The report on the bytes of a macro file, as they were read back; raises TakeAwayError where they are not text."""
    try:
        text = content.decode()
    except UnicodeDecodeError as error:
        raise TakeAwayError(f"the file of {macro.id} is not text (byte {error.start})") from error
    return proving.prove_written(macro, text, having.sheets)


def _usable_slots(having: Documents, left_out: dict[str, str]) -> list[Slot]:
    good = []
    for slot in slot_table.slots(having.sheets.pendant):
        wrong = slot_table.clash(slot, having.sheets.pendant, having.macros)
        if wrong is None:
            good.append(slot)
        else:
            left_out[f"slot {slot.label}"] = wrong.message
    on_a_slot = {slot.macro for slot in good}
    left_out.update({id: "it is on no slot of the pendant" for id in having.macros if id not in on_a_slot})
    return good


def _taken(having: Documents, used: list[Slot], left_out: dict[str, str]) -> dict[str, _Taken]:
    number_of = slot_table.numbers(having.sheets.pendant, having.sheets.controller)
    taken: dict[str, _Taken] = {}
    owners: dict[str, str] = {}
    room = having.sheets.pendant.memory.bytes
    for slot in used:
        if slot.macro in taken or slot.macro in left_out:
            continue
        macro, number = having.macros[slot.macro], number_of[slot.macro]
        proved = proving.prove_macro(macro, having.sheets)
        lines = slot_table.sent(proved.built, macro, number, having.sheets.controller)
        long = slot_table.too_long(slot, lines, having.sheets.pendant)
        reason = proved.reason or (long.message if long else "")
        if not reason and slot_table.size(lines) > room:
            reason = f"its lines take {slot_table.size(lines)} bytes; the pendant's memory has {room} left"
        if reason:
            left_out[macro.id] = reason
            continue
        file = names.file_name(having.sheets.controller.file_name, macro.id, number)
        if file.lower() in owners:
            raise TakeAwayError(
                f"{owners[file.lower()]} and {macro.id} would both be written to {file}; "
                "put {slug} or {number} into file_name on the controller sheet"
            )
        owners[file.lower()] = macro.id
        room -= slot_table.size(lines)
        taken[macro.id] = _Taken(proved, proved.built.text.encode(), file, number, lines)
    return taken


def _row(slot: Slot, each: _Taken) -> table.Row:
    return table.Row(slot, each.proved.macro.name, each.file, each.number, each.lines)


def _entry(each: _Taken, used: list[Slot]) -> dict[str, object]:
    macro = each.proved.macro
    labels = [slot.label for slot in used if slot.macro == macro.id]
    path = f"{MACRO_FOLDER}/{each.file}"
    return manifest.macro_entry(macro, path, each.content, each.number, labels, each.proved.report)


def _sources(gathered: Gathered, taken: Mapping[str, _Taken]) -> dict[str, bytes]:
    sheets = {f"{SOURCE_FOLDER}/{kind}.toml": getattr(gathered, kind).encode() for kind in SHEETS}
    return sheets | {f"{SOURCE_FOLDER}/macros/{id}.toml": gathered.macros[id].encode() for id in taken}


def _text(files: Mapping[str, bytes], path: str) -> str:
    if path not in files:
        raise TakeAwayError(f"{path} is missing from the take-away, so that nothing can be proved again")
    try:
        return files[path].decode()
    except UnicodeDecodeError as error:
        raise TakeAwayError(f"{path} is not text (byte {error.start})") from error
