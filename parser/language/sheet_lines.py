"""Lines that the controller sheet gives a meaning: the head of a stored program, and what is shown to the operator.

They are no RS-274, so the grammar knows nothing of them; the controller takes them because its sheet says so.
"""

from __future__ import annotations

import re
from functools import lru_cache

from parser.language.layout import WHITE_SPACE
from parser.language.program import HEAD, CommentForm, LineForm

_PUBLISHED_MESSAGE = re.compile(r"\(\s*M\s*S\s*G\s*,", re.IGNORECASE)
_FIELDS = {"{number}": "[0-9]+", "{slug}": "[A-Za-z0-9-]+"}


def ends_text(template: str) -> frozenset[str]:
    """The characters that would end the text of a message before its end."""
    before, _, after = template.partition("{text}")
    return frozenset(
        {sign for sign in after if not sign.isspace() and not sign.isalnum()} | (set("()") if "(" in before else set())
    )


def head(text: str, template: str) -> LineForm | None:
    """The form of the first line of a stored program, None where this line is none."""
    return HEAD if template and _pattern(template).fullmatch(text.strip(WHITE_SPACE)) else None


def message(text: str, template: str) -> LineForm | None:
    """The form of a line that shows a text to the operator by a template of the sheet, None where it is none.

    Messages as published are comments, and left to the grammar.
    """
    if not template or _PUBLISHED_MESSAGE.match(template):
        return None
    found = _pattern(template).fullmatch(text)
    if found is None:
        return None
    start, stop = found.span("text")
    return LineForm(comments=(CommentForm((0, 0), (len(text), 0), (stop, 0), (start, 0)),))


@lru_cache(maxsize=64)
def _pattern(template: str) -> re.Pattern[str]:
    """What a line has to be that was written by a template; letters in either case, as everywhere in a program."""
    ends = "".join(map(re.escape, sorted(ends_text(template))))
    text = f"(?P<text>[^{ends}]*)" if ends else "(?P<text>.*)"
    wanted = []
    for part in re.split(r"(\{(?:number|slug|text)\})", template):
        if part == "{text}":
            wanted.append("(?P=text)" if text in wanted else text)
        else:
            wanted.append(_FIELDS.get(part) or re.escape(part))
    return re.compile("".join(wanted), re.IGNORECASE)
