"""Macros that come from outside, several files at once: a bundle, a pack, a backup of a workshop, or documents."""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

from library import archive, backup, documents, shown
from library.errors import LibraryError
from library.fields import slug
from library.formulas import Landmarks
from library.limits import BUNDLE_BYTES, BUNDLE_ENTRIES, COMING, DOCUMENT_BYTES
from library.macros import Macro
from library.pack import contents
from library.share import bundle
from library.share.manifest import BundleError, SaidFigures
from library.toml_text import DocumentError
from parser.errors import ParserError
from parser.progress import Progress, unheard

SourceKind = Literal["bundle", "pack", "backup", "document"]

PACK_DOCUMENTS = f"{contents.SOURCE_FOLDER}/"
PACK_MACROS = f"{PACK_DOCUMENTS}macros/"
PACK_MACHINE, PACK_CONTROLLER = f"{PACK_DOCUMENTS}machine.toml", f"{PACK_DOCUMENTS}controller.toml"


class IncomingError(LibraryError):
    """A file that holds no macros to take in; ``str()`` is one line that begins with its name."""


@dataclass(frozen=True, slots=True)
class Home:
    """The machine that macros come from, as far as it is known: its name, and its landmarks in mm, s or degrees."""

    machine: str
    controller: str
    landmarks: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Source:
    """A file that macros come from: its name, what it is, its SHA-256, and the machine that it tells of."""

    name: str
    kind: SourceKind
    sha256: str
    home: Home | None = None


@dataclass(frozen=True, slots=True)
class Coming:
    """A macro that comes: its text, and the macro in it, None where ``wrong`` says why it cannot be read.

    ``key`` tells it from all others that come with it, also such of the same id. ``there`` is what was proved of it on
    the machine it comes from, where that is known.
    """

    key: str
    id: str
    text: str
    source: Source
    macro: Macro | None
    wrong: str = ""
    there: SaidFigures | None = None
    asked: bool = True


@dataclass(frozen=True, slots=True)
class Incoming:
    """All that comes at once, in the order of the files and then of the ids."""

    macros: tuple[Coming, ...]
    sources: tuple[Source, ...] = field(default=())

    def beside(self, coming: Coming) -> dict[str, Macro]:
        """The macros that came in one file with a macro, itself among them, by id."""
        return {each.id: each.macro for each in self.macros if each.source == coming.source and each.macro}


def incoming(files: Iterable[tuple[str, bytes]], progress: Progress = unheard) -> Incoming:
    """The macros in files that came, each a name and bytes. Raises IncomingError for the first that holds none."""
    sources: list[Source] = []
    found: list[tuple[Source, list[Coming]]] = []
    given = list(files)
    for number, (name, content) in enumerate(given):
        progress(number / len(given))
        source, macros = _of_file(name, content)
        if source not in sources:
            sources.append(source)
            found.append((source, macros))
    numbered = [each for _, macros in found for each in macros]
    if len(numbered) > COMING.most:
        raise IncomingError(
            f"{len(numbered):,} macros would come; {COMING.of} is at most {COMING}, so take fewer files"
        )
    return Incoming(
        tuple(_keyed(each, number) for number, each in enumerate(numbered, start=1)),
        tuple(sources),
    )


def _keyed(each: Coming, number: int) -> Coming:
    return replace(each, key=f"m{number}")


def _of_file(name: str, content: bytes) -> tuple[Source, list[Coming]]:
    sum = hashlib.sha256(content).hexdigest()
    try:
        if not archive.is_zip(content):
            source = Source(name, "document", sum)
            return source, [_document(name, content, source)]
        kind = _kind(content)
        if kind == "bundle":
            return _bundle(name, content)
        if kind == "backup":
            return _backup(name, content, sum)
        return _pack(name, content, sum)
    except IncomingError:
        raise
    except (LibraryError, ParserError) as error:
        raise IncomingError(f"{shown.line(name[:200])}: {_without(name, str(error))}") from None


def _without(name: str, told: str) -> str:
    """What is told, without the name of the file where it begins with that."""
    return told.removeprefix(f"{name}: ")


def _kind(content: bytes) -> SourceKind:
    """What a zip is, by the one file that each kind has."""
    with archive.opened(content, BUNDLE_BYTES, BUNDLE_ENTRIES, any_name=True) as found:
        if backup.MANIFEST in found.names:
            return "backup"
        return "pack" if PACK_MACHINE in found.names else "bundle"


def _document(name: str, content: bytes, source: Source) -> Coming:
    """A macro document by itself; one that is none is no reason to refuse the files beside it."""
    if len(content) > DOCUMENT_BYTES.most:
        raise IncomingError(f"{shown.line(name)} is larger than {DOCUMENT_BYTES}, the most of a document")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise IncomingError(
            f"{shown.line(name)} is neither a zip nor text; name a bundle, a pack, a backup or a macro document"
        ) from None
    return _coming(slug(Path(name).stem)[:60].strip("-") or "macro", text, source, own_id=True)


def _coming(
    id: str, text: str, source: Source, there: SaidFigures | None = None, *, asked: bool = True, own_id: bool = False
) -> Coming:
    """A macro of some text; with ``own_id`` under the id that the text gives, else the two have to be the same."""
    try:
        macro = documents.parse("macro", text)
    except DocumentError as error:
        where = f"line {error.line}: " if error.line else ""
        return Coming("", id, text, source, None, f"{where}{error.why}", there, asked)
    if not own_id and macro.id != id:
        told = f"its document gives it the id {macro.id}, and it came as {id}"
        return Coming("", id, text, source, None, told, there, asked)
    return Coming("", macro.id, text, source, macro, "", there, asked)


def _bundle(name: str, content: bytes) -> tuple[Source, list[Coming]]:
    read = bundle.read(content)
    said = read.said
    home = Home(said.sheets.machine.name, said.sheets.controller.name, dict(said.landmarks))
    source = Source(name, "bundle", read.sha256, home)
    return source, [
        _coming(each.id, read.texts[each.id], source, each.figures, asked=each.asked)
        for each in sorted(said.macros, key=lambda each: each.id)
    ]


def _pack(name: str, content: bytes, sum: str) -> tuple[Source, list[Coming]]:
    """The documents of a pack. Whether its files are still proved is asked by ``verify``; here all is proved anew."""
    with archive.opened(content, BUNDLE_BYTES, BUNDLE_ENTRIES) as found:
        texts = {path: _utf8(found, path) for path in found.names if path.startswith(PACK_DOCUMENTS)}
    source = Source(name, "pack", sum, _home(texts.get(PACK_MACHINE, ""), texts.get(PACK_CONTROLLER, "")))
    macros = {path: text for path, text in texts.items() if path.startswith(PACK_MACROS)}
    return source, [_coming(Path(path).stem, text, source) for path, text in sorted(macros.items())]


def _utf8(found: archive.Archive, path: str) -> str:
    if found.size(path) > DOCUMENT_BYTES.most:
        raise BundleError(f"{shown.line(path)} in it is larger than {DOCUMENT_BYTES}, the most of a document")
    try:
        return found.read(path).decode()
    except UnicodeDecodeError:
        raise BundleError(f"{shown.line(path)} in it is not text; a document in TOML is wanted") from None


def _home(machine: str, controller: str) -> Home | None:
    """The machine of two sheets that came along, None where one cannot be read: it is only told, never proved on."""
    try:
        on = documents.bench(machine, controller)
    except (DocumentError, ParserError):
        return None
    return Home(on.machine.name, on.controller.name, _values(on.landmarks))


def _values(landmarks: Landmarks) -> dict[str, float]:
    return {name: each.value for name, each in landmarks.items()}


def _backup(name: str, content: bytes, sum: str) -> tuple[Source, list[Coming]]:
    with tempfile.TemporaryDirectory(prefix="clickstop-") as folder:
        file = Path(folder) / "backup.zip"
        file.write_bytes(content)
        kept = backup.kept(file)
    source = Source(name, "backup", sum, _home(kept.machine, kept.controller))
    return source, [_coming(id, text, source) for id, text in sorted(kept.macros.items())]
