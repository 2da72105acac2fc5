"""A shelf as a folder of documents, for version control: both ways, three-way, nothing overwritten that somebody wrote.

What was synced last is kept in the workshop, never in the folder: a folder under version control changes under other
people's hands, and a note in it of what *they* synced last would be taken for what this workshop did. For each macro
the workshop keeps the number of the revision that both sides had. The files are written first, then the shelf, then
that note; a process that is killed in between finds both sides alike next time, or merges what has changed since.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from library import documents, json_text, reading
from library.errors import LibraryError
from library.limits import COMING, DOCUMENT_BYTES
from library.merging import ClashError, Keeping, merged
from library.names import as_bytes, file_name
from library.store import Head, StoreError, TakenError, Workshop
from library.toml_text import DocumentError, read

KIND, FORMAT = "folder", "clickstop-folder/1"
SUFFIX = ".toml"
_WORKING = ".clickstop-writing-"

Done = Literal["written", "removed", "added", "changed", "taken-off", "merged", "conflict", "unreadable"]
"""written, removed: in the folder; added, changed, taken-off: on the shelf; merged: both; the rest is left alone."""

LEFT: tuple[Done, ...] = ("conflict", "unreadable")


class FolderError(LibraryError):
    """A folder that cannot be used for macros; ``str()`` is one line, and nothing was changed."""


@dataclass(frozen=True, slots=True)
class Synced:
    """What was done with one macro, or why it was left as it is: ``why`` is a clause, "" where there is none."""

    id: str
    file: str
    done: Done
    why: str = ""

    @property
    def left(self) -> bool:
        """Whether both sides are as they were because nobody can tell which of them is meant."""
        return self.done in LEFT


@dataclass(frozen=True, slots=True)
class _Side:
    """The macros of a folder: text and file by id, and what is wrong with files that hold none that can be read."""

    texts: dict[str, str] = field(default_factory=dict)
    files: dict[str, str] = field(default_factory=dict)
    wrong: dict[str, str] = field(default_factory=dict)


def export(shop: Workshop, folder: Path) -> tuple[Synced, ...]:
    """Write every macro of the shelf that the folder does not have yet; one that it has and that differs is left."""
    return _run(shop, folder, only_out=True)


def sync(shop: Workshop, folder: Path) -> tuple[Synced, ...]:
    """Bring shelf and folder to the same state, as far as only one side of each macro has changed since the last time.

    Where both have, different fields are merged; the same field is a conflict: both sides stay as they are, and it is
    told. What was taken out on one side and not changed on the other is taken out there too. Raises FolderError.
    """
    if not folder.is_dir():
        raise FolderError(f"{folder} is not a folder; make one, or write one with clickstop shelf export")
    return _run(shop, folder, only_out=False)


def _run(shop: Workshop, folder: Path, *, only_out: bool) -> tuple[Synced, ...]:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        there, noted = _read(folder), _noted(shop, folder)
        if not only_out:
            _require_the_folder(there, noted, folder)
        done, keeping = [], list[Keeping]()
        for id in sorted({*shop.ids("macro"), *there.texts, *noted}):
            name = there.files.setdefault(id, noted[id][0] if id in noted else _name(id, there))
            head = _head(shop, id)
            broken = _broken(head)
            if name in there.wrong or broken:
                done += [Synced(id, name, "unreadable", broken)] if broken else []
                continue  # a file that cannot be read is told below
            theirs = there.texts.get(id)
            step = _step(id, name, head.text if head else None, theirs, _base(shop, id, noted), only_out=only_out)
            if step is None:
                continue
            made, text = step
            done.append(made)
            if made.done in ("written", "merged", "removed"):
                _put(folder / name, theirs, text)
            if made.done in ("added", "changed", "taken-off", "merged"):
                why = f"{'taken off, as it is gone from' if text is None else 'synced with'} the folder {folder.name}"
                keeping.append(Keeping("macro", id, text, why, head.number if head else None))
        shop.save_all(keeping)
        _note(shop, folder, {each.id for each in done if each.left}, noted)
    except OSError as error:
        told = error.strerror or error
        raise FolderError(f"{error.filename or folder} cannot be used ({told}); see to the rights to it") from None
    except (ClashError, TakenError):
        raise FolderError("a macro was changed on the shelf while it was synced; sync again") from None
    return (*done, *(Synced("", file, "unreadable", why) for file, why in sorted(there.wrong.items())))


def _head(shop: Workshop, id: str) -> Head | None:
    with suppress(StoreError):
        return shop.head("macro", id)
    return None


def _broken(head: Head | None) -> str:
    """Why a macro of the shelf is no document that could be read again, "" where it is one, or there is none."""
    try:
        if head is not None:
            documents.parse("macro", head.text)
    except DocumentError as error:
        return f"it cannot be read on the shelf ({error.why}); mend it there"
    return ""


def _step(
    id: str, name: str, mine: str | None, theirs: str | None, base: str | None, *, only_out: bool
) -> tuple[Synced, str | None] | None:
    """What is to be done with one macro and the text that it then has, None where both sides are alike.

    ``mine`` is the shelf's, ``theirs`` the folder's, ``base`` what both had last time; None: not there.
    """
    if mine == theirs:
        return None
    if only_out:
        if theirs is None:
            return Synced(id, name, "written"), mine
        if mine is None:
            return None
        return Synced(id, name, "conflict", "the folder has another text of it; clickstop shelf sync merges them"), None
    if theirs == base and base is not None:
        return Synced(id, name, "removed" if mine is None else "written"), mine
    if mine == base and base is not None:
        return Synced(id, name, "taken-off" if theirs is None else "changed"), theirs
    if base is None and theirs is None:
        return Synced(id, name, "written"), mine
    if base is None and mine is None:
        return Synced(id, name, "added"), theirs
    if mine is None or theirs is None:
        gone, other = ("shelf", "folder") if mine is None else ("folder", "shelf")
        why = f"it was taken out of the {gone} and changed in the {other}; put it back, or take it out of both"
        return Synced(id, name, "conflict", why), None
    if base is None:
        return Synced(id, name, "conflict", "both have it, they differ, and were never synced; make them alike"), None
    try:
        text = merged(base, mine, theirs)
        documents.parse("macro", text)
    except ClashError as error:
        why = f"both have changed {', '.join(error.fields[:3])} since they were synced; make these alike"
        return Synced(id, name, "conflict", why), None
    except DocumentError as error:
        return Synced(id, name, "conflict", f"put together they are no macro ({error.why}); make them alike"), None
    return Synced(id, name, "merged"), text


def _read(folder: Path) -> _Side:
    """The macros of a folder; sheets and other documents in it are not looked at."""
    side = _Side()
    paths = sorted(path for path in folder.iterdir() if path.suffix.lower() == SUFFIX)
    if len(paths) > 2 * COMING.most:
        raise FolderError(f"{folder} holds more than {2 * COMING.most:,} documents; name the folder of a shelf")
    for path in paths:
        if path.is_symlink():
            side.wrong[path.name] = "it is a link, which is not followed; put the file there"
            continue
        try:
            text = _text(reading.content(path, DOCUMENT_BYTES))
        except reading.ReadError as error:
            side.wrong[path.name] = str(error)
            continue
        except UnicodeDecodeError:
            side.wrong[path.name] = "it is not text in UTF-8; save it as one"
            continue
        _sort(path.name, text, side)
    return side


def _text(content: bytes) -> str:
    """A file as a text whose lines end as ours do: version control may have turned them for this system."""
    return content.decode().replace("\r\n", "\n")


def _sort(name: str, text: str, side: _Side) -> None:
    try:
        kind = read(text).get("format")
        if isinstance(kind, str) and not kind.startswith("clickstop-macro/"):
            return
        macro = documents.parse("macro", text)
    except DocumentError as error:
        side.wrong[name] = f"line {error.line}: {error.why}" if error.line else error.why
        return
    other = side.files.get(macro.id)
    if other is not None:
        side.wrong[name] = f"it has the id {macro.id}, as {other} has; give one of them another"
        return
    side.texts[macro.id], side.files[macro.id] = text, name


def _name(id: str, side: _Side) -> str:
    """The file of a macro that has none yet; never one of another macro."""
    number, taken = 1, set(side.files.values())
    while (name := file_name("{slug}.toml" if number == 1 else "{slug}-{number}.toml", id, number)) in taken:
        number += 1
    return name


def _put(path: Path, before: str | None, text: str | None) -> None:
    """Give a file its text, or take it away, unless somebody changed it since it was read."""
    now = None
    with suppress(FileNotFoundError):
        now = _text(path.read_bytes())
    if now != before:
        raise FolderError(f"{path} was changed while it was synced; sync again")
    if text is None:
        path.unlink(missing_ok=True)
        return
    handle, working = tempfile.mkstemp(prefix=_WORKING, dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(text.encode())
            file.flush()
            os.fsync(file.fileno())
        Path(working).chmod(0o644 if before is None else path.stat().st_mode & 0o777)
        Path(working).replace(path)
    finally:
        Path(working).unlink(missing_ok=True)


def _require_the_folder(there: _Side, noted: Mapping[str, tuple[str, int]], folder: Path) -> None:
    """Raise FolderError for an empty folder where there were macros: it is taken for one that is not mounted."""
    if noted and not there.texts and not there.wrong:
        raise FolderError(
            f"{folder} holds none of the {len(noted)} macros that were synced with it; nothing is taken off the shelf. "
            "Is it the right folder? To write it anew: clickstop shelf export"
        )


def _key(folder: Path) -> str:
    """What a folder is known by in the workshop: its full path."""
    return hashlib.sha256(str(folder.resolve()).encode("utf-8", "surrogateescape")).hexdigest()[:32]


def _noted(shop: Workshop, folder: Path) -> dict[str, tuple[str, int]]:
    """File and revision of each macro that both sides had last time, by id; empty where nothing was synced yet."""
    try:
        said = json_text.read(shop.text(KIND, _key(folder)))
        if said["format"] != FORMAT:
            raise FolderError(f"what was synced with {folder} was noted by a newer Clickstop; update the program")
        return {str(id): (str(file), int(number)) for id, (file, number) in said["macros"].items()}
    except StoreError:
        return {}
    except (ValueError, KeyError, TypeError, AttributeError):
        raise FolderError(f"what was synced with {folder} cannot be read; export it to a new folder") from None


def _base(shop: Workshop, id: str, noted: Mapping[str, tuple[str, int]]) -> str | None:
    if id not in noted:
        return None
    with suppress(StoreError):
        return shop.seen("macro", id, noted[id][1])
    return None


def _note(shop: Workshop, folder: Path, left: set[str], before: Mapping[str, tuple[str, int]]) -> None:
    """Keep what both sides have now; of what was left alone, what was noted of it before."""
    there = _read(folder)
    alike = dict(_alike(shop, there))
    macros = alike | {id: noted for id, noted in before.items() if id in left or noted[0] in there.wrong}
    text = as_bytes({"format": FORMAT, "folder": str(folder.resolve()), "macros": macros}).decode("utf-8", "replace")
    try:
        seen = shop.head(KIND, _key(folder)).number
    except StoreError:
        seen = None
    shop.save_all([Keeping(KIND, _key(folder), text, f"synced with the folder {folder.name}", seen)])


def _alike(shop: Workshop, there: _Side) -> Iterator[tuple[str, tuple[str, int]]]:
    for id, text in there.texts.items():
        with suppress(StoreError):
            head = shop.head("macro", id)
            if head.text == text:
                yield id, (there.files[id], head.number)
