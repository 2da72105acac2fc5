"""A workshop in one file, to be kept elsewhere and put back: verified when it is written and before it is put back."""

from __future__ import annotations

import hashlib
import io
import json
import os
import shutil
import sqlite3
import tempfile
import zipfile
from collections.abc import Mapping
from contextlib import closing, suppress
from dataclasses import dataclass
from itertools import count
from pathlib import Path

from library import json_text, leftovers
from library.archive import UNREADABLE
from library.errors import LibraryError
from library.rows import FAULTS, TABLES
from library.store import FILE, SINGLETON, SINGLETONS, StoreError, Workshop
from library.store_file import shortened

FORMAT = "clickstop-backup/1"
MANIFEST = "backup.json"
LARGEST = 512_000_000
"""Bytes of a workshop that is put back: years of revisions (our choice)."""

DAMAGED = (
    "{} is damaged ({}), so no backup of it is written: it could not be put back. Keep the backups that you have and "
    "put the newest back with clickstop restore; what can still be read is offered by the pages, clickstop serve"
)

_BESIDE = ("", "-wal", "-shm")
"""The file of a workshop and what SQLite keeps next to it."""


class BackupError(LibraryError):
    """A backup that cannot be written, read or put back; ``str()`` is one line."""


def write(shop: Workshop, to: Path) -> None:
    """Write all of a workshop, every revision, to a zip that is not there yet, and read it back.

    One that is damaged is told and not written: its backup would be refused on the day when it is wanted. Raises
    BackupError.
    """
    if to.exists():
        raise BackupError(f"{to} is there already; choose another name")
    leftovers.tidy(to.parent)
    try:
        with tempfile.TemporaryDirectory(prefix=leftovers.PREFIX, dir=to.parent) as folder:
            copy = Path(folder) / FILE
            shop.copy(copy)
            _require_sound(copy, shop)
            content = copy.read_bytes()
            packed = Path(folder) / "backup.zip"
            about = {"format": FORMAT, "sha256": hashlib.sha256(content).hexdigest(), "bytes": len(content)}
            with packed.open("xb") as file:
                with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
                    archive.writestr(MANIFEST, json.dumps(about, indent=1) + "\n")
                    archive.writestr(FILE, content)
                file.flush()
                os.fsync(file.fileno())
            _checked(packed)
            _give_name(packed, to)
    except FileExistsError:
        raise BackupError(f"{to} is there already; choose another name") from None
    except OSError as error:
        raise BackupError(f"{to} cannot be written ({error.strerror or error}); choose another place") from None


def _give_name(packed: Path, to: Path) -> None:
    try:
        os.link(packed, to)
    except FileExistsError:
        raise
    except OSError:  # a disk without links, as most that are carried about
        with to.open("xb") as file:
            file.write(packed.read_bytes())
            file.flush()
            os.fsync(file.fileno())
        _checked(to)


def restore(backup: Path, directory: Path) -> Path | None:
    """Put a workshop back from its backup; what was in the folder before is kept, and where is returned.

    Nothing is touched before all of the backup has been read and found whole. Stop ``clickstop serve`` first. Raises
    BackupError.
    """
    content = _checked(backup)
    try:
        directory.mkdir(parents=True, exist_ok=True)
        leftovers.tidy(directory)
        with tempfile.TemporaryDirectory(prefix=leftovers.PREFIX, dir=directory) as folder:
            fresh = Path(folder) / FILE
            with fresh.open("xb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            _require_workshop(fresh, backup)
            kept = _keep(directory)
            try:
                fresh.replace(directory / FILE)
            except OSError:
                if kept:
                    kept.unlink(missing_ok=True)
                raise
            return kept
    except OSError as error:
        raise BackupError(f"{directory} cannot be written ({error.strerror or error}); nothing was restored") from None


@dataclass(frozen=True, slots=True)
class KeptWorkshop:
    """What a backup holds of a workshop as it stood: two of its sheets, and its macros by id."""

    machine: str
    controller: str
    macros: Mapping[str, str]


def kept(backup: Path) -> KeptWorkshop:
    """What a backup holds, looked at and not put back. Raises BackupError, and StoreError for one of a newer version.

    All of it is held in memory, so whoever asks sees to its size before.
    """
    with tempfile.TemporaryDirectory(prefix="clickstop-") as folder:
        file = Path(folder) / FILE
        file.write_bytes(_checked(backup))
        _require_plain_tables(file, backup)
        _require_workshop(file, backup)
        shop = Workshop(folder)
        machine, controller = (shop.text(kind, SINGLETON) for kind in ("machine", "controller"))
        return KeptWorkshop(machine, controller, {id: shop.text("macro", id) for id in shop.ids("macro")})


def _checked(backup: Path) -> bytes:
    """The file of the workshop in a backup whose sum is the one that was written."""
    try:
        if not backup.is_file():
            what = "no file" if backup.exists() else "not there"
            raise BackupError(f"{backup} is {what}; name one that clickstop backup has written")
        with zipfile.ZipFile(backup) as archive:
            sizes = {entry.filename: entry.file_size for entry in archive.infolist()}
            if sorted(sizes) != sorted((MANIFEST, FILE)) or len(archive.infolist()) != 2:
                raise BackupError(f"{backup} is no backup of a workshop; name a file that clickstop backup has written")
            if sizes[FILE] > LARGEST or sizes[MANIFEST] > 10_000:
                raise BackupError(f"{backup} holds more than {LARGEST:,} bytes, which is no backup of ours")
            about = json_text.read(archive.read(MANIFEST))
            content = archive.read(FILE)
        if about["format"] != FORMAT:
            raise BackupError(f"{backup} is of another version ({FORMAT} is wanted); update the program")
        whole = about["sha256"] == hashlib.sha256(content).hexdigest()
    except (*UNREADABLE, LookupError, TypeError, RecursionError) as error:
        raise BackupError(f"{backup} cannot be read ({error}); take another backup") from None
    if not whole:
        raise BackupError(f"{backup} is damaged: its checksum is another; take another backup")
    return content


def _require_sound(copy: Path, shop: Workshop) -> None:
    """Whether the copy of a workshop can be put back, and every text in it read."""
    why = _amiss(copy)
    try:
        found = Workshop(copy.parent)
        for kind in (*SINGLETONS, "macro"):
            for id in found.ids(kind):
                found.text(kind, id)
                found.revisions(kind, id)
    except StoreError as error:
        why = why or str(error).replace(str(copy), "a copy of it")
    if why:
        raise BackupError(DAMAGED.format(shop.file, why))


def _amiss(file: Path) -> str:
    """What is wrong with a file of SQLite and the texts in it, "" where it is whole."""
    try:
        with closing(sqlite3.connect(file)) as connection:
            found = str(connection.execute("PRAGMA integrity_check(1)").fetchone()[0])
            for kind, id, text in connection.execute("SELECT kind, id, text FROM revisions"):
                if isinstance(text, str) and "\0" in text:
                    return f'the {kind} "{id}" holds zero bytes'
    except sqlite3.Error as error:
        return shortened(str(error))
    return "" if found == "ok" else shortened(" ".join(found.replace("***", " ").split()))


def _require_workshop(file: Path, backup: Path) -> None:
    try:
        with closing(sqlite3.connect(file)) as connection:
            sound = connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    except FAULTS:
        sound = False
    if not sound:
        raise BackupError(f"{backup} holds a workshop that is damaged; take another backup")
    Workshop(file.parent)


def _require_plain_tables(file: Path, backup: Path) -> None:
    """A file from a stranger may hold views, triggers or checks that run for ever when it is read: none but our tables.

    What a file is laid out like can be read without running any of that.
    """
    layout = "SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'"
    try:
        with closing(sqlite3.connect(":memory:")) as ours, closing(sqlite3.connect(file)) as theirs:
            ours.executescript(TABLES)
            plain = set(theirs.execute(layout)) == set(ours.execute(layout))
    except FAULTS:
        plain = False
    if not plain:
        raise BackupError(f"{backup} holds a file that is not laid out as a workshop is; take another backup")


def _keep(directory: Path) -> Path | None:
    """Give what is there a second name; its own is taken over in one step afterwards.

    What SQLite keeps beside the file is written into it first. Where that cannot be, as the file is damaged, it is kept
    beside the second name.
    """
    there = directory / FILE
    if not there.exists():
        return None
    with suppress(*FAULTS), closing(sqlite3.connect(there)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    number = 1
    while any(Path(f"{directory / FILE}.before-{number}{suffix}").exists() for suffix in _BESIDE):
        number += 1
    aside = directory / f"{FILE}.before-{number}"
    try:
        os.link(there, aside)
    except OSError:  # a disk without links
        shutil.copyfile(there, aside)
    for suffix in _BESIDE[1:]:
        if (beside := Path(f"{there}{suffix}")).exists():
            beside.rename(f"{aside}{suffix}")
    return aside


def salvage(shop: Workshop) -> bytes:
    """What can still be read of a damaged workshop, each document as the TOML text it is, in a zip."""
    out = io.BytesIO()
    written: set[str] = set()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for kind, id, text in shop.readable():
            other = f"machines/{id}/{kind}" if id != SINGLETON else kind
            name = f"macros/{id}" if kind == "macro" else other
            named = (f"{name}-{number}.toml" if number > 1 else f"{name}.toml" for number in count(1))
            free = next(each for each in named if each not in written)
            written.add(free)
            archive.writestr(free, text)
    return out.getvalue()
