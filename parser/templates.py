"""Templates of a controller sheet: lines with a gap in them, and what may stand around it.

A template is filled before it is read, so it must not pass for a line of the standard that nobody would then follow.
"""

import re

from parser.checking import one_line, refused
from parser.language.words import WORDS, canonical, reads_as_words

ORIGIN_LINE = (
    "It has to be made of words that the standard does not have otherwise, one of them {axis}{value}, and another may "
    "have the number {system}."
)
_ORIGIN_WORDS = re.compile(r"(?:[A-Z](?:[-+]?\d+(?:\.\d*)?|\{SYSTEM\})|\{AXIS\}\{VALUE\})+")


def origin_line(template: str) -> bool:
    """Whether a template can stand for the line that makes a place read a value: words with {axis}{value} among them.

    What it stands for is no longer followed as published, so that G92 and G10 L2 cannot be it.
    """
    plain = "".join(template.upper().split())
    once = plain.count("{AXIS}") == 1 and plain.count("{SYSTEM}") <= 1
    if not (once and "{AXIS}{VALUE}" in plain and _ORIGIN_WORDS.fullmatch(plain)):
        return False
    words = {canonical(letter, float(number)) for letter, number in re.findall(r"([A-Z])([-+]?\d+(?:\.\d*)?)", plain)}
    published = {word for word in words if word in WORDS}
    return published <= {"G10"} and not ("G10" in published and "L2" in words)


def message(what: str, value: object) -> None:
    """The line that shows a text to the operator; raises SheetError."""
    one_line(what, value)
    assert isinstance(value, str)
    if value and "{text}" not in value:
        raise refused(
            what, value, "It has no {text} in it.", 'Write {text} where the text goes, or "" for no messages.'
        )
    no_words(what, value)


def no_words(what: str, value: object) -> None:
    """A template that is not read word by word, and so must not look like a line that is; raises SheetError."""
    one_line(what, value)
    if value and reads_as_words(str(value)):
        why = "It begins like a line of the standard, and whatever follows would not be followed."
        raise refused(what, value, why, "Write it as a comment, or begin it with what is no word of the standard.")


def origin_template(what: str, value: object) -> None:
    """The line that makes a place read a value; raises SheetError."""
    one_line(what, value)
    if value and not origin_line(str(value)):
        raise refused(what, value, ORIGIN_LINE, 'Write it like "G10 L20 P{system} {axis}{value}", or "".')


def line(what: str, value: object) -> None:
    """A line that stands as it is, and does something; raises SheetError."""
    one_line(what, value)
    assert isinstance(value, str)
    if not value.strip():
        raise refused(what, value, "A blank line does nothing.", "Write the line, or leave it out.")
