"""What a pack holds: documents in, the bytes of every file out. Nothing here touches a disk or a clock."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from library import documents, pendant, proving, sequences
from library import slots as slot_table
from library.bench import Bench
from library.blocks.run_macro import run_by
from library.macros import Macro
from library.names import as_bytes, own_name
from library.numbering import Slot, slots, stored
from library.outgoing import Contributor, Gathered, Held, Issue, Outgoing, PackError, PageContributor, Reload, Taken
from library.pack import macro_files, manifest, printed, questions, readme, table
from library.sheets import FIRST_RUN
from library.store import SINGLETON, SINGLETONS, Workshop
from library.toml_text import DocumentError
from parser import opinion
from parser.progress import Progress, part, unheard
from parser.report import Report

SOURCE_FOLDER = "documents"

CONTRIBUTORS: tuple[Contributor, ...] = (table.files, pendant.files)
"""Give the files beside the macros and the documents: what the pendant sends, where it may send anything."""

SLOT_TABLE = "slot table"
"""What is left out where the pendant may send nothing, beside slots and macros."""

PAGES: tuple[PageContributor, ...] = (printed.files,)
"""Give the printed pages, made last because they may show the digest of the manifest."""


NO_NUMBER = "0" * 8
"""Stands for the number of an issue until that is known."""


@dataclass(frozen=True, slots=True)
class Pack:
    """The bytes of every file by its path (with ``/``), and what was left out with the reason.

    ``goes`` is what it was made from. ``pendant`` is the pendant sheet as it is in the pack: numbers that were given
    for it are in it, and have to be kept.
    """

    files: Mapping[str, bytes]
    left_out: Mapping[str, str]
    goes: Outgoing
    pendant: str


def gather(workshop: Workshop, held: Held | None = None) -> Gathered:
    """The documents of a workshop as they stand; raises StoreError. The day is that on which the last was saved."""
    machine, controller, pendant = workshop.sheets()
    dates = {kind: _day(workshop, kind, SINGLETON) for kind in SINGLETONS}
    standing = workshop.standing("macro")
    macros = {each.id: each.text for each in standing}
    macro_days = {each.id: _day_of(each.saved) for each in standing}
    return Gathered(machine, controller, pendant, macros, dates, macro_days=macro_days, held=held)


def _day(workshop: Workshop, kind: str, id: str) -> str:
    """The day a document was last saved, UTC."""
    return _day_of(next(each.saved for each in workshop.revisions(kind, id) if each.current))


def _day_of(moment: str) -> str:
    return moment[: len("2000-01-01")]


def parsed(gathered: Gathered) -> tuple[Bench, dict[str, str]]:
    """The documents as a bench, and by id what is wrong with a macro that cannot be read.

    Raises DocumentError for a sheet that cannot be read.
    """
    macros: dict[str, Macro] = {}
    unreadable: dict[str, str] = {}
    for id, text in gathered.macros.items():
        try:
            macros[id] = documents.parse("macro", text, f"macro {id}")
        except DocumentError as error:
            unreadable[id] = str(error)
    bench = documents.bench(gathered.machine, gathered.controller, gathered.pendant, macros)
    return replace(bench, second=gathered.second, said=gathered.said), unreadable


def outgoing(gathered: Gathered, progress: Progress = unheard) -> Outgoing:
    """Every macro that is on a slot and may be taken, built, headed and proved, none of which hurts another.

    What goes decides the issue, and the issue stands in the head of what goes. So all of it is made twice, the first
    time with an issue of the same length. ``progress`` is told the share done; what it raises ends the work.

    Raises DocumentError where a sheet cannot be read and PackError where two macros would share one file or one number,
    or a number would mean another macro than in the issue that is fitted.
    """
    unnumbered = Issue(gathered.day or max(_days(gathered), default=""), NO_NUMBER)
    first = _going(gathered, unnumbered, part(progress, 0.0, 0.5))
    needed = _needed(first)
    day = gathered.day or max(_days(gathered, needed), default="")
    goes = _going(gathered, Issue(day, _number_of(gathered, first, day)), part(progress, 0.5, 1.0))
    _keep_numbers(goes, gathered.held)
    return goes


def _days(gathered: Gathered, macros: Collection[str] | None = None) -> Iterator[str]:
    """The days on which sheets and macros were last saved, where known; of all macros, or of some."""
    yield from gathered.dates.values()
    yield from (day for id, day in gathered.macro_days.items() if macros is None or id in macros)


def _going(gathered: Gathered, issue: Issue, progress: Progress) -> Outgoing:
    bench, left_out = parsed(gathered)
    used = [slot for slot in _usable_slots(bench, left_out) if _wanted(slot.macro, gathered.chosen, left_out)]
    taken = macro_files.taken(bench, used, left_out, gathered.dates, str(issue), progress)
    broken = sequences.breakers({id: each.proved for id, each in taken.items()})
    left_out.update({id: f"it changes what a macro of the pendant was proved on. {why}" for id, why in broken.items()})
    taken = {id: each for id, each in taken.items() if id not in broken}
    slots = tuple(slot for slot in used if slot.macro in taken)
    goes = Outgoing(bench, gathered.dates, taken, slots, left_out, gathered.printing, issue)
    if goes.blind:
        left_out[SLOT_TABLE] = proving.Reason(goes.blind.message, goes.blind.rule)
    return goes


def make(
    gathered: Gathered,
    *,
    left_out: Mapping[str, str] | None = None,
    anew: Callable[[Pack], Reload | None] = lambda unfinished: None,
    progress: Progress = unheard,
) -> Pack:
    """The files of a pack: macros, slot tables, documents, manifest and printed pages.

    ``left_out`` says what was left out where the documents of that are not at hand. ``anew`` says what has to be loaded
    anew, of a pack that lacks only README.txt, manifest and printed pages. ``progress`` as for ``outgoing``. Raises
    DocumentError where a sheet cannot be read and PackError where two macros would share one file.
    """
    goes = outgoing(gathered, progress)
    gathered = replace(gathered, pendant=_numbered(gathered.pendant, goes))
    if left_out is not None:
        goes = replace(goes, left_out=left_out)
    files = {each.path: each.content for each in goes.taken.values()}
    files |= {each.slow_path: each.slow.content for each in goes.taken.values() if not isinstance(each.slow, str)}
    files |= _sources(gathered, goes)
    for contribute in () if goes.blind else CONTRIBUTORS:
        files |= contribute(goes)
    reload = anew(Pack(files, goes.left_out, goes, gathered.pendant))
    files |= questions.files(goes)
    files |= readme.files(goes, files, reload)
    entries = [_entry(each, goes.slots) for each in goes.taken.values()]
    said = manifest.write(
        _sheets(goes),
        entries,
        files,
        goes.left_out,
        _memory(goes),
        goes.printing,
        goes.issue,
        reload,
        second=gathered.second,
    )
    pages: dict[str, bytes] = {}
    for contribute_pages in PAGES:
        pages |= contribute_pages(goes, manifest.digest(said))
    files |= {manifest.NAME: said, **pages}
    if pages:
        files[manifest.PRINTED] = manifest.write_printed(pages | {manifest.NAME: said})
    return Pack(dict(sorted(files.items())), goes.left_out, goes, gathered.pendant)


def remake(files: Mapping[str, bytes], dates: Mapping[str, str]) -> Gathered:
    """The documents that a pack carries; raises PackError where one is missing or not text."""
    prefix = f"{SOURCE_FOLDER}/macros/"
    ids = [path.removeprefix(prefix).removesuffix(".toml") for path in sorted(files) if path.startswith(prefix)]
    machine, controller, pendant = (_text(files, f"{SOURCE_FOLDER}/{kind}.toml") for kind in SINGLETONS)
    macros = {id: _text(files, f"{prefix}{id}.toml") for id in ids}
    return Gathered(machine, controller, pendant, macros, dates)


def reproved(bench: Bench, macro: Macro, content: bytes) -> Report:
    """The report on the bytes of a macro file, as they were read back; raises PackError where they are not text."""
    try:
        text = content.decode()
    except UnicodeDecodeError as error:
        raise PackError(f"the file of {macro.id} is not text (byte {error.start})") from error
    return proving.prove_written(macro, text, bench)


def _usable_slots(bench: Bench, left_out: dict[str, str]) -> list[Slot]:
    good = []
    for slot in slots(bench.pendant):
        wrong = slot_table.clash(slot, bench)
        if wrong is None:
            good.append(slot)
        else:
            left_out[f"slot {slot.label}"] = wrong.message
    on_a_slot = {slot.macro for slot in good}
    left_out.update({id: "it is on no slot of the pendant" for id in bench.shelf if id not in on_a_slot})
    return good


def _wanted(id: str, chosen: frozenset[str] | None, left_out: dict[str, str]) -> bool:
    if chosen is None or id in chosen:
        return True
    left_out[id] = "it was not chosen"
    return False


def _entry(each: Taken, used: tuple[Slot, ...]) -> dict[str, object]:
    labels = [slot.label for slot in used if slot.macro == each.macro.id]
    slow = {"none": each.slow} if isinstance(each.slow, str) else manifest.slow_entry(each.slow_path, each.slow)
    return {
        **manifest.macro_entry(each.macro, each.path, each.content, each.number, labels, each.report),
        "first_run": slow,
        "sent_second_opinions": [opinion.as_json(stage.opinion) for stage in each.stages if stage.opinion is not None],
    }


def _sheets(goes: Outgoing) -> dict[str, manifest.SheetEntry]:
    return {
        kind: manifest.SheetEntry(getattr(goes.bench, kind).name, f"{SOURCE_FOLDER}/{kind}.toml", goes.dates.get(kind))
        for kind in SINGLETONS
    }


def _memory(goes: Outgoing) -> dict[str, int]:
    memory = goes.bench.pendant.memory
    return {
        "bytes_used": goes.bytes_used,
        "bytes": memory.flash,
        "longest_line_used": goes.longest_line,
        "longest_line": memory.longest_line,
    }


def _number_of(gathered: Gathered, goes: Outgoing, day: str) -> str:
    """Eight digits that stand for everything that what goes was made from."""
    gathered = replace(gathered, pendant=_numbered(gathered.pendant, goes))
    made_from: dict[str, object] = {
        "program": own_name(),
        "day": day,
        "dates": dict(sorted(gathered.dates.items())),
        "files": {path: manifest.digest(content) for path, content in sorted(_sources(gathered, goes).items())},
    }
    if gathered.second:
        made_from["second opinion"] = True
    return manifest.digest(as_bytes(made_from))[: len(NO_NUMBER)]


def _given(goes: Outgoing) -> Iterator[tuple[str, int, str]]:
    """Key, number and name of everything that goes under a number."""
    for id, each in goes.taken.items():
        yield id, each.number, each.macro.name
        if not isinstance(each.slow, str):
            yield f"{FIRST_RUN}{id}", each.slow.number, f"the slow copy of {each.macro.name}"


def numbered(bench: Bench) -> bool:
    """Whether macros are stored under numbers that have to be kept."""
    return stored(bench.controller_sheet)


def _numbered(pendant: str, goes: Outgoing) -> str:
    """The pendant sheet with the numbers of everything that goes by one, where macros are stored under numbers."""
    if not numbered(goes.bench):
        return pendant
    known = goes.bench.pendant.numbers
    new: dict[Sequence[str | int], object] = {
        ("numbers", key): number for key, number, _ in _given(goes) if key not in known
    }
    return documents.write("pendant", new, pendant) if new else pendant


def _keep_numbers(goes: Outgoing, held: Held | None) -> None:
    """Raises PackError where a number would mean another macro than in the issue that is fitted."""
    if not numbered(goes.bench):
        return
    if held is None:
        return
    for key, number, name in _given(goes):
        other, other_name = held.numbers.get(number, (key, name))
        if other != key:
            raise PackError(
                f"number {number} is {other_name} in the fitted issue {held.issue}, and would be {name} in this one; "
                f"give {key} another under numbers on the pendant sheet (number-taken)"
            )


def _sources(gathered: Gathered, goes: Outgoing) -> dict[str, bytes]:
    """The documents that all of it can be proved from again: the macros that go, and those that they run."""
    sheets = {f"{SOURCE_FOLDER}/{kind}.toml": getattr(gathered, kind).encode() for kind in SINGLETONS}
    return sheets | {f"{SOURCE_FOLDER}/macros/{id}.toml": gathered.macros[id].encode() for id in _needed(goes)}


def _needed(goes: Outgoing) -> list[str]:
    """The macros that go, and those that they run."""
    needed = list(goes.taken)
    for id in needed:
        needed += [each for each in run_by(goes.bench.shelf[id]) if each not in needed]
    return needed


def _text(files: Mapping[str, bytes], path: str) -> str:
    if path not in files:
        raise PackError(f"{path} is missing from the pack, so that nothing can be proved again")
    try:
        return files[path].decode()
    except UnicodeDecodeError as error:
        raise PackError(f"{path} is not text (byte {error.start})") from error
