"""Words from outside as they may be shown on a terminal or in a log: every control character visible.

A file name, a key or value of a document, an option or an entry of a zip may hold characters that move the cursor, turn
the direction of writing or end a line, and so paint a verdict that nobody gave. Whatever is put out goes through here.
"""

from __future__ import annotations

import re

_HIDDEN = (
    "[\x00-\x08\x0b-\x1f\x7f-\x9f"  # C0 and C1 but for tab and line feed, and DEL (ISO/IEC 6429; memory)
    "\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff"  # marks and overrides of direction (Unicode; memory)
    "\ud800-\udfff\ufff9-\ufffb\U000e0000-\U000e007f]"  # halves of a pair, annotations, tags
)
_LINES = re.compile("[\t\n]")


def text(written: str) -> str:
    """A text of our own, with the line ends and tabs that we gave it, and nothing else that is not seen."""
    if written.replace("\n", "").replace("\t", "").isprintable():
        return written  # nothing of what is hidden is printable, and most texts take no search
    return re.sub(_HIDDEN, _visible, written)


def line(word: str) -> str:
    """A word from outside as part of one line: its line ends and tabs are made visible too."""
    return _LINES.sub(_visible, text(word))


def encoded(written: str, encoding: str | None) -> str:
    """``text`` with every character that a terminal of that encoding has no place for made visible."""
    name = encoding or "ascii"
    return text(written).encode(name, "backslashreplace").decode(name)


def _visible(found: re.Match[str]) -> str:
    """A character as its number: "\\x1b", "\\u202e"; a half of a pair that stands for a byte of a name as that byte."""
    number = ord(found[0])
    if 0xDC80 <= number <= 0xDCFF:  # how a byte that is no UTF-8 comes in a name (PEP 383)
        return f"\\x{number - 0xDC00:02x}"
    if number < 0x100:
        return {9: "\\t", 10: "\\n", 13: "\\r"}.get(number, f"\\x{number:02x}")
    return f"\\u{number:04x}" if number < 0x10000 else f"\\U{number:08x}"
