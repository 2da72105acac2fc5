"""Packs on disk: a folder or a zip, whole or not at all."""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import replace
from itertools import islice
from pathlib import Path

from library import archive, leftovers, reading
from library.limits import PACK_BYTES, PACK_ENTRIES
from library.outgoing import Gathered, PackError
from library.pack import verifying
from library.pack.contents import Pack
from library.pack.verifying import Difference, differences, since
from library.store import FILE as WORKSHOP_FILE

_WORKING, _FRESH = f"{leftovers.PREFIX}writing-", "fresh"
_THERE = "{} is there already; choose another name, or replace it with --replace"

LARGEST = PACK_BYTES.most
"""Bytes of a pack; a larger one is not ours."""


def zipped(made: Pack) -> bytes:
    """The pack as a zip, read back and proved again; raises PackError."""
    content = pack(made.files)
    _require_proved(_unpack(content, "the zip"))
    return content


def write(made: Pack, destination: Path, *, replace: bool = False) -> Path | None:
    """Write a folder, or a zip where the name ends in .zip; nothing appears under the name until all of it is proved.

    The files are written beside the destination, read back from disk, proved again and only then given their name. What
    is there already is refused, or with ``replace`` kept aside as ``NAME.before-1``, whose path is returned; a folder
    with a workshop in it, at any depth, is never put aside. Of several that write to one name at once one succeeds.
    Raises PackError.
    """
    as_zip = destination.suffix.lower() == ".zip"
    if destination.name in ("", ".."):
        raise PackError(f"{destination} is no name that a pack could be given; write that of a folder or a zip")
    try:
        if destination.exists() and not (destination.is_dir() or destination.is_file()):
            raise PackError(f"{destination} is neither a file nor a folder; choose another name")
        if _occupied(destination) and not replace:
            raise PackError(_THERE.format(destination))
        if destination.name.startswith(WORKSHOP_FILE):
            raise PackError(
                f"{destination} is the file of a workshop, which a pack must not replace; choose another name"
            )
        if destination.is_dir() and next(destination.rglob(WORKSHOP_FILE), None):
            raise PackError(f"{destination} holds a workshop, which a pack must not replace; choose another name")
        destination.parent.mkdir(parents=True, exist_ok=True)
        with _beside(destination) as folder:
            fresh = folder / _FRESH
            if as_zip:
                _write_file(fresh, pack(made.files))
            else:
                for path, content in made.files.items():
                    _write_file(fresh / path, content)
            _require_proved(read(fresh))
            aside = _put_aside(destination, replace=replace)
            try:
                _give_name(fresh, destination)
            except (OSError, PackError):
                if aside and not destination.exists():
                    aside.rename(destination)
                raise
            return aside
    except OSError as error:
        raise PackError(f"{destination} cannot be written: {error.strerror or error}") from error


def read(path: Path) -> dict[str, bytes]:
    """The files of a pack by path, from a folder or a zip; raises PackError."""
    try:
        if path.is_dir():
            return _read_folder(path)
        if path.is_file():
            return _unpack(reading.content(path, PACK_BYTES), str(path))
    except reading.ReadError as error:
        raise PackError(f"{path}: {error}") from error
    except OSError as error:
        raise PackError(f"{path} cannot be read: {error.strerror or error}") from error
    raise PackError(f"{path} is neither a file nor a folder" if path.exists() else f"{path} does not exist")


def verify(path: Path, now: Gathered | None = None, *, second: bool = False) -> list[Difference]:
    """What differs in a pack, a folder or a zip, from its own manifest; empty where all is as it was proved.

    With ``now``, the documents of a workshop as they stand, also what has changed there since, and what is no longer
    proved with its sheets. Raises PackError where there is no pack to be read and DocumentError where a sheet
    of ``now`` cannot be read; ``second`` as for ``differences``.
    """
    files = read(path)
    found = differences(files, second=second)
    return found if now is None else found + list(since(files, now))


def believed(path: Path, *, second: bool = False) -> bool:
    """Whether ``verify`` believes what a pack says of its second opinion, as the solver is not there to be asked."""
    return verifying.believed(read(path), second=second)


def _give_name(fresh: Path, destination: Path) -> None:
    """Let the finished pack appear under its name, unless another writer was first."""
    try:
        if fresh.is_dir():
            fresh.rename(destination)  # a folder is never renamed over one that holds anything
        else:
            os.link(fresh, destination)
    except OSError as error:
        if error.errno in (errno.EEXIST, errno.ENOTEMPTY):
            raise PackError(_THERE.format(destination)) from None
        if fresh.is_dir() or destination.exists():
            raise
        fresh.rename(destination)  # a disk without links


def _require_proved(files: Mapping[str, bytes]) -> None:
    wrong = differences(files)
    if wrong:
        raise PackError(f"what was written could not be proved again: {wrong[0]}")


def _occupied(destination: Path) -> bool:
    if destination.is_dir():
        return any(destination.iterdir())
    return destination.exists() or destination.is_symlink()


@contextmanager
def _beside(destination: Path) -> Iterator[Path]:
    """A folder on the same disk, gone afterwards, since only there a rename is all or nothing."""
    leftovers.tidy(destination.parent)
    folder = Path(tempfile.mkdtemp(prefix=_WORKING, dir=destination.parent))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _put_aside(destination: Path, *, replace: bool) -> Path | None:
    """Make room for a pack: take an empty folder away and, to ``replace`` it, give anything else another name."""
    if not replace or not _occupied(destination):
        if destination.is_dir():
            with suppress(OSError):
                destination.rmdir()
        return None
    number = 1
    while (aside := destination.with_name(f"{destination.name}.before-{number}")).exists():
        number += 1
    destination.rename(aside)
    return aside


def _write_file(target: Path, content: bytes) -> None:
    """Write a file and wait until the disk has it, so that a name never stands before what it names."""
    target.parent.mkdir(parents=True, exist_ok=True)
    with target.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _read_folder(folder: Path) -> dict[str, bytes]:
    paths = list(islice(folder.rglob("*"), 2 * PACK_ENTRIES.most))
    files = [path for path in sorted(paths) if path.is_symlink() or not path.is_dir()]
    if len(files) > PACK_ENTRIES.most or len(paths) >= 2 * PACK_ENTRIES.most:
        raise PackError(f"{folder} holds more than {PACK_ENTRIES}; name the folder that was written")
    found: dict[str, bytes] = {}
    room = LARGEST
    for path in files:
        if path.is_symlink() or not path.is_file():
            kind = "a link" if path.is_symlink() else "no file"
            raise PackError(f"{path} is {kind}; a pack is plain files in folders, so that all of it can be read")
        content = reading.content(path, replace(PACK_BYTES, most=room)) if path.stat().st_size <= room else None
        if content is None:
            raise PackError(f"{folder} holds more than {PACK_BYTES}; name the folder that was written")
        room -= len(content)
        found[path.relative_to(folder).as_posix()] = content
    return found


pack = archive.packed
"""The files as a zip; the same files give the same bytes."""


def _unpack(content: bytes, source: str) -> dict[str, bytes]:
    try:
        with archive.opened(content, PACK_BYTES, PACK_ENTRIES, any_name=True) as found:
            return {name: found.read(name) for name in found.names}
    except archive.ArchiveError as error:
        raise PackError(f"{source}: {error}") from error
