"""What files are called and hold: names, table cells and literals that can do no harm, whatever a document says."""

from __future__ import annotations

import json
import re
from functools import cache
from importlib.metadata import PackageNotFoundError, version

RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)
"""Names that some systems keep for devices (memory)."""

FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet takes for the start of a formula (common practice, no source)."""

DISTRIBUTION = "clickstop"
LONGEST_LITERAL = 4095  # C99, 5.2.4.1
LONGEST_NAME = 120
"""Characters of a file name; many disks take 255 (memory), and copies and folders want some of them."""


@cache
def program_version() -> str:
    """The version of the installed program, looked for once: what runs stays what it is until it ends."""
    try:
        return version(DISTRIBUTION)
    except PackageNotFoundError:
        return "of unknown version"


def own_name() -> str:
    """The program and its version, as a manifest names them."""
    return f"{DISTRIBUTION} {program_version()}"


def file_name(template: str, slug: str, number: int) -> str:
    """The name of a macro file: letters, digits, point, dash and underscore only, so it cannot leave its folder.

    Names that some systems keep for devices get a prefix; a name with nothing left becomes the slug. In one that is too
    long the middle gives way to the number.
    """
    wanted = template.replace("{slug}", slug).replace("{number}", str(number))
    kept = re.sub(r"[^A-Za-z0-9._-]+", "-", wanted).strip(".-") or re.sub(r"[^a-z0-9-]+", "-", slug) or "macro"
    kept = f"macro-{kept}" if RESERVED.fullmatch(kept) else kept
    if len(kept) > LONGEST_NAME:
        middle = f"-{number}-"
        ending = kept[-16:]
        kept = kept[: LONGEST_NAME - len(middle) - len(ending)] + middle + ending
    return kept


def program_head(template: str, slug: str, number: int) -> str:
    """The first line of a stored macro, "" where the controller sheet asks for none."""
    return template.replace("{slug}", slug).replace("{number}", str(number))


def cell(text: str) -> str:
    """A table cell that a spreadsheet does not take for a formula."""
    return f"'{text}" if text.startswith(FORMULA_SIGNS) else text


def as_bytes(data: object) -> bytes:
    """JSON that is the same for the same data."""
    return (json.dumps(data, indent=2, ensure_ascii=False) + "\n").encode()


def c_string(text: str) -> str:
    """A string literal of C99 and C++ with the UTF-8 bytes of ``text``.

    Signs that end a literal, start an escape or could make a trigraph (C99, 5.2.1.1) are escaped; bytes that are not
    printable ASCII are written as three octal digits, which no digit after them can lengthen (C99, 6.4.4.4). A literal
    longer than compilers have to take (C99, 5.2.4.1) is written as a list of its bytes.
    """
    content = text.encode()
    if len(content) > LONGEST_LITERAL:
        return "{ " + ", ".join(str(byte) if byte < 128 else f"(char){byte}" for byte in (*content, 0)) + " }"
    return '"' + "".join(_in_literal(byte) for byte in content) + '"'


def _in_literal(byte: int) -> str:
    if chr(byte) in '"\\?':
        return "\\" + chr(byte)
    return chr(byte) if 32 <= byte < 127 else f"\\{byte:03o}"
