"""Zips from outside, whatever they hold: measured before anything is unpacked, and never more unpacked than was said.

What an archive holds is bytes by name. Nothing is written to a disk here and no name of an entry becomes one, so a name
can do no harm; it is refused all the same where it is none that we would give, because somebody may unpack it by hand.
"""

from __future__ import annotations

import hashlib
import io
import lzma
import re
import stat
import struct
import unicodedata
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from library import shown
from library.errors import LibraryError
from library.names import LONGEST_NAME
from parser.limits import Allowance

ZIP_DAY = (1980, 1, 1, 0, 0, 0)
"""The date of every entry, so that the same files give the same zip: the first that a zip can hold (memory)."""

UNREADABLE = (
    zipfile.BadZipFile,
    NotImplementedError,
    RuntimeError,
    EOFError,
    ValueError,
    OverflowError,
    OSError,
    struct.error,
    zlib.error,
    lzma.LZMAError,
)
"""What reading a damaged zip may raise, whichever way its entries are packed."""

_END, _END_SIZE, _LONGEST_COMMENT = b"PK\x05\x06", 22, 65_535
_OF_MANY = b"PK\x06\x07"
"""How the record at the end of a zip begins, how long it is, and what stands before it in one of more than 65,535
entries or 4 GB (memory)."""

_OF_ENTRY = 400
"""Bytes of the directory of a zip for each entry, its name among them (our choice)."""

_CHUNK = 65_536
_ENCRYPTED = 1


class ArchiveError(LibraryError):
    """A zip that cannot be used; ``str()`` is one line without the name of the zip."""


class Archive:
    """A zip that has been looked over: ``names`` are those of its files, and each can be read by its name."""

    def __init__(self, opened: zipfile.ZipFile, entries: Mapping[str, zipfile.ZipInfo]) -> None:
        self._opened, self._entries = opened, entries

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its files, in order."""
        return tuple(sorted(self._entries))

    def size(self, name: str) -> int:
        """The bytes that a file is said to unpack to; ``read`` gives no more."""
        return self._entries[name].file_size

    def read(self, name: str) -> bytes:
        """A file of it; raises ArchiveError where it is damaged, or more than was said."""
        return b"".join(self._chunks(name))

    def digest(self, name: str) -> str:
        """SHA-256 of a file of it, without keeping it; raises as ``read`` does."""
        sum = hashlib.sha256()
        for chunk in self._chunks(name):
            sum.update(chunk)
        return sum.hexdigest()

    def _chunks(self, name: str) -> Iterator[bytes]:
        entry = self._entries[name]
        left = entry.file_size
        try:
            with self._opened.open(entry) as file:
                while chunk := file.read(_CHUNK):
                    left -= len(chunk)
                    if left < 0:
                        raise ArchiveError(f"{_shown(name)} unpacks to more than the zip says; get it again")
                    yield chunk
        except UNREADABLE as error:
            raise ArchiveError(f"{_shown(name)} in it cannot be unpacked ({_why(error)}); get it again") from None
        if left:
            raise ArchiveError(f"{_shown(name)} in it is cut short; get it again")


@contextmanager
def opened(content: bytes, size: Allowance, entries: Allowance, *, any_name: bool = False) -> Iterator[Archive]:
    """A zip in memory, looked over before any of it is unpacked. Raises ArchiveError.

    Names that could stand in no folder are refused, unless ``any_name`` says that somebody else looks at them.
    """
    _require_small_directory(content, entries)
    try:
        archive = zipfile.ZipFile(io.BytesIO(content))
    except UNREADABLE as error:
        raise ArchiveError(f"it is not a zip that can be read ({_why(error)}); get it again") from None
    with archive:
        yield Archive(archive, _looked_over(archive, size, entries, any_name=any_name))


def packed(files: Mapping[str, bytes]) -> bytes:
    """The files as a zip; the same files give the same bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, content in sorted(files.items()):
            entry = zipfile.ZipInfo(path, ZIP_DAY)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, content)
    return out.getvalue()


def is_zip(content: bytes) -> bool:
    """Whether bytes begin as a zip does."""
    return content[:2] == b"PK"


def _require_small_directory(content: bytes, entries: Allowance) -> None:
    """The directory at the end is measured by itself, as reading one of a million entries takes a gigabyte."""
    at = content.rfind(_END, max(0, len(content) - _END_SIZE - _LONGEST_COMMENT))
    if at < 0 or len(content) - at < _END_SIZE:
        raise ArchiveError("it is not a zip, or it is cut short (it has no directory at its end); get it again")
    count, size = struct.unpack("<HI", content[at + 10 : at + 16])
    many = content.find(_OF_MANY, max(0, at - 20), at) >= 0
    if many or count > 2 * entries.most or size > 2 * entries.most * _OF_ENTRY:
        raise ArchiveError(f"it holds more than {entries}, the limit for {entries.of}; name another file")


def _looked_over(
    archive: zipfile.ZipFile, size: Allowance, most: Allowance, *, any_name: bool
) -> dict[str, zipfile.ZipInfo]:
    """The files of a zip by name, none of which lies about itself. Raises ArchiveError."""
    entries = [entry for entry in archive.infolist() if not entry.is_dir()]
    if len(entries) > most.most:
        raise ArchiveError(f"it holds more than {most}, the limit for {most.of}; name another file")
    if sum(entry.file_size for entry in entries) > size.most:
        raise ArchiveError(f"it holds more than {size}, the limit for {size.of}; name another file")
    found: dict[str, zipfile.ZipInfo] = {}
    alike: dict[str, str] = {}
    for entry in entries:
        name = entry.filename
        _require_plain(entry)
        if not any_name:
            _require_good_name(entry.orig_filename)
        other = alike.setdefault(_folded(name), name)
        if other != name or name in found:
            told = f"{_shown(other)} and {_shown(name)}"
            raise ArchiveError(f"it holds two files of one name ({told}), of which a folder has room for one")
        found[name] = entry
    return found


def _require_plain(entry: zipfile.ZipInfo) -> None:
    """Raise ArchiveError for an entry that is no plain file that anybody can read."""
    kind = stat.S_IFMT(entry.external_attr >> 16)
    if kind not in (0, stat.S_IFREG):
        what = "a link" if kind == stat.S_IFLNK else "no plain file"
        raise ArchiveError(f"{_shown(entry.filename)} in it is {what}; only plain files are read")
    if entry.flag_bits & _ENCRYPTED:
        raise ArchiveError(f"{_shown(entry.filename)} in it is encrypted; ask for it without a password")


def _require_good_name(name: str) -> None:
    """Raise ArchiveError for a name that could stand in no folder, or that leads out of it."""
    if len(name) > 2 * LONGEST_NAME:
        told = f"the name of a file in it has {len(name):,} characters"
        raise ArchiveError(f"{told}; the most is {2 * LONGEST_NAME}, so ask for it with a shorter one")
    if "\\" in name or ":" in name or name.startswith("/") or not set(name.split("/")).isdisjoint({"", ".", ".."}):
        raise ArchiveError(f"{_shown(name)} in it would lead out of its folder; nothing of it is read")
    if not name.isprintable():
        raise ArchiveError(f"{_shown(name)} in it has characters in its name that are not seen; nothing of it is read")


def _folded(name: str) -> str:
    """A name as the disks see it that tell neither case nor Unicode forms apart (memory)."""
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())


def _shown(name: str) -> str:
    short = name if len(name) <= LONGEST_NAME else f"{name[:LONGEST_NAME]}..."
    return shown.line(short)


def _why(error: BaseException) -> str:
    return re.sub(r"\s+", " ", shown.line(str(error)))[:LONGEST_NAME] or type(error).__name__
