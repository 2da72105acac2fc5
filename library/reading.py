"""Files from outside, read up to a stated size: regular ones only, as a pipe may never end and a device never does."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from library.errors import LibraryError
from parser.limits import Allowance

KINDS = (
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a disk"),
    (stat.S_ISSOCK, "a socket"),
)


class ReadError(LibraryError):
    """A file that is none, or is too large; ``str()`` says why and what to do, without its name."""


def content(path: str | Path, allowed: Allowance) -> bytes:
    """The bytes of a regular file. Raises OSError where it cannot be read, and ReadError.

    A pipe is opened without waiting for its other end, and nothing of it is read.
    """
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with open(handle, "rb") as file:
        about = os.fstat(handle)
        if stat.S_ISDIR(about.st_mode):
            raise IsADirectoryError
        if not stat.S_ISREG(about.st_mode):
            what = next((name for is_kind, name in KINDS if is_kind(about.st_mode)), "something else")
            raise ReadError(
                f"this is {what} and no file; name a file, or write - to check what comes on standard input"
            )
        return within(file.read(allowed.most + 1) if about.st_size <= allowed.most else None, allowed)


def within(read: bytes | None, allowed: Allowance) -> bytes:
    """What was read, up to one byte more than is allowed; None where there is more for certain. Raises ReadError."""
    if read is None or len(read) > allowed.most:
        raise ReadError(f"it is larger than {allowed}, the most that is read of {allowed.of}; name a smaller one")
    return read
