"""What a command works on: the files that were named, and the sheets they are checked against."""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from platformdirs import user_data_path

from library import documents, reading, starter
from library import shown as as_shown
from library.bench import Bench
from library.fields import in_mm
from library.limits import DOCUMENT_BYTES
from library.macros import Macro
from library.store import FILE, SINGLETON, Shelf, Workshop
from parser.limits import PROGRAM_BYTES, Allowance
from parser.machine import Interval
from parser.quantities import figure
from webapp.cli.common import InputError

PROGRAM_SUFFIXES = frozenset({".nc", ".ngc", ".tap"})
"""Endings by which a folder is searched for RS-274 files; a file that is named itself may have any."""

MACRO_SUFFIX = ".toml"
FORMAT = re.compile(r"^\s*format\s*=\s*[\"']clickstop-(\w+)/", re.MULTILINE)
ANYWHERE = "anywhere"
STANDARD_INPUT = "-"
"""The name of what is sent to the command instead of a file (common practice)."""


@dataclass(frozen=True, slots=True)
class Input:
    """A file to check: its name as it was given, its text, and the macro in it where it is one."""

    name: str
    text: str
    macro: Macro | None = None


def home_workshop() -> Path:
    """The folder of the workshop where none is named."""
    return user_data_path("clickstop", appauthor=False)


def kept_workshop(named: Path | None) -> Workshop:
    """The workshop that is named, else one's own. Only ``serve`` makes one: raises InputError where there is none."""
    folder = named or home_workshop()
    try:
        there = (folder / FILE).exists()
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise InputError(f"{shown(str(folder))} cannot be used for a workshop ({why}); check its name") from None
    if not there and named is None:
        raise InputError(
            f"you have no workshop yet, in {folder}; make it with clickstop serve, or name one: --workshop"
        )
    if not there:
        raise InputError(
            f"there is no workshop in {shown(str(folder))}; check the name after --workshop, or make one there with "
            "clickstop serve"
        )
    return Workshop(folder)


def find_bench(workshop: Path | None, machine: str | None, controller: str | None) -> tuple[Bench, str]:
    """The sheets that were named; the others from the workshop, or the starter workshop's where there is none yet.

    ``machine`` is a file, ``controller`` a file or presets. The text says where the sheets come from that nobody named,
    "" where both were. Raises DocumentError and StoreError.
    """
    source, kept, shelf = _kept(workshop)
    bench = documents.bench(
        kept["machine"] if machine is None else documents.read_file(machine),
        kept["controller"] if controller is None else documents.controller_text(controller),
        shelf=shelf,
        sources={
            "machine": machine or f"machine sheet of {source}",
            "controller": controller or f"controller sheet of {source}",
        },
    )
    given = ((f"machine {bench.machine.name}", machine), (f"controller {bench.controller.name}", controller))
    taken = [name for name, file in given if file is None]
    return bench, f"Checked on the {' and the '.join(taken)} of {source}." if taken else ""


def _kept(workshop: Path | None) -> tuple[str, Mapping[str, str], Mapping[str, Macro]]:
    """What to call the workshop, the texts of its sheets and its shelf; without a name no workshop is made."""
    folder = workshop or home_workshop()
    if workshop is None and not (folder / FILE).exists():
        shelf = {id: documents.parse("macro", text) for id, text in starter.macros().items()}
        return "the starter workshop", {kind: text for kind, id, text in starter.documents() if id == SINGLETON}, shelf
    opened = kept_workshop(workshop)
    texts = {kind: opened.text(kind, SINGLETON) for kind in ("machine", "controller")}
    return f"the workshop in {folder}", texts, Shelf(opened)


def with_pendant(bench: Bench, folder: Path) -> Bench:
    """The bench with the pendant of a workshop; a macro that no slot names may be unreadable.

    Raises DocumentError and StoreError.
    """
    from library.numbering import slots  # to check a file takes none of this

    opened = kept_workshop(folder)
    source = f"pendant sheet of the workshop in {folder}"
    pendant = documents.parse("pendant", opened.text("pendant", SINGLETON), source)
    for id in sorted({slot.macro for slot in slots(pendant)} & set(opened.ids("macro"))):
        documents.parse("macro", opened.text("macro", id), id)
    return replace(bench, pendant=pendant)


def find_inputs(names: Sequence[str]) -> tuple[Input, ...]:
    """The files that were named, and in a folder every RS-274 file and macro by name.

    Raises InputError for a file that is missing, empty or not text, DocumentError for a macro that cannot be read.
    """
    return tuple(read_input(path) for name in names for path in _searched(name))


def with_macros(bench: Bench, inputs: Iterable[Input]) -> Bench:
    """The bench with the macros of the files that were named on its shelf: those of a folder may run one another."""
    named = {each.macro.id: each.macro for each in inputs if each.macro is not None}
    return replace(bench, shelf={**bench.shelf, **named}) if named else bench


def _searched(name: str) -> Iterator[str]:
    if not name.strip():
        raise InputError("the name of a file to check is empty; write one, or the name of a folder")
    folder = Path(name)
    try:
        if name == STANDARD_INPUT or not folder.is_dir():
            yield name
            return
        found = sorted(str(path) for path in folder.iterdir() if path.is_file() and _belongs(path))
    except OSError as error:
        raise InputError(
            f"{shown(name)} cannot be searched ({error.strerror}); check its name and the rights to it"
        ) from error
    if not found:
        endings = ", ".join(sorted(PROGRAM_SUFFIXES))
        raise InputError(f"{shown(name)} holds nothing to check: no file ending in {endings} and no macro in TOML")
    yield from found


def _belongs(path: Path) -> bool:
    """Whether a file of a folder is one to check; sheets and other people's TOML are not."""
    if path.suffix.lower() in PROGRAM_SUFFIXES:
        return True
    if path.suffix.lower() != MACRO_SUFFIX:
        return False
    try:
        return _is_macro(reading.content(path, DOCUMENT_BYTES).decode("utf-8", "replace"))
    except reading.ReadError:
        return False


def read_input(name: str) -> Input:
    """One file: a macro where its name ends in .toml, else RS-274."""
    text = _text(name, DOCUMENT_BYTES if _is_document(name) else PROGRAM_BYTES)
    called = "standard input" if name == STANDARD_INPUT else shown(name)
    if _is_document(name) or (name == STANDARD_INPUT and _is_macro(text)):
        return Input(called, text, documents.parse("macro", text, called))
    return Input(called, text)


def read_macro(name: str) -> Macro:
    """The macro in a file; raises InputError and DocumentError."""
    return documents.parse("macro", _text(name, DOCUMENT_BYTES), shown(name))


def _is_document(name: str) -> bool:
    return Path(name).suffix.lower() == MACRO_SUFFIX


def _is_macro(text: str) -> bool:
    kind = FORMAT.search(text)
    return kind is not None and kind[1] == "macro"


def _text(name: str, allowed: Allowance = PROGRAM_BYTES) -> str:
    try:
        content = _standard_input(allowed) if name == STANDARD_INPUT else reading.content(name, allowed)
    except FileNotFoundError:
        raise InputError(f"{shown(name)}: there is no such file; check the name and the folder") from None
    except IsADirectoryError:
        raise InputError(f"{shown(name)}: this is a folder; name a file in it") from None
    except reading.ReadError as error:
        raise InputError(f"{shown(name)}: {error}") from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise InputError(f"{shown(name)}: the file cannot be read ({why})") from None
    if not content:
        raise InputError(f"{shown(name)}: the file is empty; nothing in it can be checked")
    if b"\0" in content:
        raise InputError(
            f"{shown(name)}: this is not a text file (it holds zero bytes); name an RS-274 file or a macro"
        )
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise InputError(
            f"{shown(name)}: this is not text in UTF-8 (byte {error.start + 1}); save it as UTF-8 or plain ASCII"
        ) from None


def _standard_input(allowed: Allowance) -> bytes:
    if sys.stdin is None:
        raise InputError("standard input is closed, so there is nothing to check; name a file")
    return reading.within(sys.stdin.buffer.read(allowed.most + 1), allowed)


def shown(name: str) -> str:
    """A file's name as it can be printed on any terminal, on one line."""
    return as_shown.line(name)


def start_place(given: str, bench: Bench) -> Mapping[str, Interval]:
    """The start that ``--start`` names, by axis: "anywhere", or numbers in the order X Y Z A B C, the rest anywhere.

    Machine coordinates, in the units of the sheet and degrees. Raises InputError for what is no number, too many of
    them, or outside travel.
    """
    machine, figures = bench.machine, bench.figures
    box = {axis.name: axis.travel for axis in machine.axes}
    if given.strip().lower() == ANYWHERE:
        return box
    entries = given.split(",")
    if len(entries) > len(machine.axes):
        names = " ".join(machine.names).upper()
        raise InputError(f"--start has {len(entries)} numbers, and the machine {len(machine.axes)} axes ({names})")
    for axis, entry in zip(machine.axes, entries, strict=False):
        typed = _number(entry, figures.unit)
        value = typed if axis.rotary else in_mm(typed, bench.machine_sheet.units)
        if not axis.travel.contains(value):
            allowed = figures.interval(axis.name, axis.travel)
            raise InputError(f"--start puts {axis.name.upper()} at {figure(typed)}, outside its travel of {allowed}")
        box[axis.name] = Interval(value, value)
    return box


def _number(text: str, unit: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f'--start has "{text.strip()}" where a number belongs; write anywhere, or "x,y,z" in {unit}')
    return value
