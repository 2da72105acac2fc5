"""Files that were uploaded to be looked over: kept in the folder of the workshop until they are taken in or dropped.

They stand beside the workshop's own file, so that a review survives a reload and a restart, and nothing of it is in the
shelf, a backup or another workshop. Each upload is a folder called by the digest of what is in it; a file in it has a
number for a name, and what it was called is text in the index.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import tempfile
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from library import json_text, reading
from library.errors import LibraryError
from library.limits import BUNDLE_BYTES, WAITING, WAITING_FILES
from library.names import as_bytes
from library.store import Workshop

FOLDER, INDEX, FORMAT = "incoming", "index.json", "clickstop-incoming/1"
_WORKING = ".writing-"
_KEY = re.compile(r"[0-9a-f]{16}")
LONGEST_NAME = 200


class WaitingError(LibraryError):
    """An upload that cannot be kept or is not there any more; ``str()`` is one line."""


@dataclass(frozen=True, slots=True)
class Waiting:
    """A review in progress: its key, the names of its files, and since when it waits (UTC, ISO 8601)."""

    key: str
    names: tuple[str, ...]
    since: str


def keep(shop: Workshop, files: Sequence[tuple[str, bytes]]) -> str:
    """Keep files until they are taken in or dropped, whole or not at all; returns the key. Raises WaitingError."""
    if len(files) > WAITING_FILES.most:
        raise WaitingError(f"{len(files)} files are more than {WAITING_FILES}; put them into fewer")
    names = [name[:LONGEST_NAME] for name, _ in files]
    sums = [hashlib.sha256(content).hexdigest() for _, content in files]
    key = hashlib.sha256(as_bytes([names, sums])).hexdigest()[:16]
    home = shop.path / FOLDER
    try:
        home.mkdir(exist_ok=True)
        if (home / key).is_dir():
            return key
        if len(every(shop)) >= WAITING.most:
            raise WaitingError(f"there are {WAITING} already; take one in, or drop one, and upload this again")
        working = Path(tempfile.mkdtemp(prefix=_WORKING, dir=home))
        try:
            since = datetime.now(UTC).isoformat(timespec="seconds")
            _write(working / INDEX, as_bytes({"format": FORMAT, "names": names, "since": since}))
            for number, (_, content) in enumerate(files):
                _write(working / str(number), content)
            with suppress(FileExistsError):
                working.rename(home / key)
        finally:
            shutil.rmtree(working, ignore_errors=True)
        return key
    except OSError as error:
        if (home / key).is_dir():
            return key
        raise WaitingError(
            f"{home} cannot be written ({error.strerror or error}); see to the disk and its rights"
        ) from None


def every(shop: Workshop) -> tuple[Waiting, ...]:
    """The reviews in progress, the latest first; one that cannot be read is left out."""
    found = []
    with suppress(OSError):
        for path in sorted((shop.path / FOLDER).iterdir()):
            if _KEY.fullmatch(path.name):
                with suppress(WaitingError):
                    found.append(_index(path))
    return tuple(sorted(found, key=lambda each: each.since, reverse=True))


def files(shop: Workshop, key: str) -> tuple[tuple[str, bytes], ...]:
    """The files of a review in progress, each a name and bytes. Raises WaitingError where it is not there any more."""
    path = _path(shop, key)
    index = _index(path)
    try:
        return tuple(
            (name, reading.content(path / str(number), BUNDLE_BYTES)) for number, name in enumerate(index.names)
        )
    except (OSError, reading.ReadError):
        raise WaitingError("a file of this review is damaged or gone; drop it, and upload it again") from None


def drop(shop: Workshop, key: str) -> None:
    """Take a review out of the way; nothing happens where it is gone already."""
    path = _path(shop, key)
    with suppress(FileNotFoundError):
        aside = path.with_name(f"{_WORKING}{key}-{os.urandom(4).hex()}")
        path.rename(aside)  # in one step, so that no half of it is ever found
        shutil.rmtree(aside, ignore_errors=True)


def _path(shop: Workshop, key: str) -> Path:
    if not _KEY.fullmatch(key):
        raise WaitingError("there is no such review; upload the file again")
    if not shop.file.is_file():
        raise WaitingError(f"there is no workshop in {shop.path}; check the directory")
    return shop.path / FOLDER / key


def _index(path: Path) -> Waiting:
    try:
        said = json_text.read((path / INDEX).read_bytes())
        if said["format"] != FORMAT:
            raise WaitingError("this review was kept by a newer Clickstop; update the program")
        return Waiting(path.name, tuple(map(str, said["names"])), str(said["since"]))
    except FileNotFoundError:
        raise WaitingError("this review has been taken in or dropped; upload the file again to see it") from None
    except OSError as error:
        told = error.strerror or error
        raise WaitingError(f"{path} cannot be read ({told}); see to the disk and its rights") from None
    except (ValueError, KeyError, TypeError):
        raise WaitingError("this review cannot be read; drop it, and upload the file again") from None


def _write(path: Path, content: bytes) -> None:
    with path.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
