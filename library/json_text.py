"""JSON that another program or a fault of the disk may have written, as values that can be shown and reckoned with.

The reader of Python takes more than that: half a sign that cannot be written again, a number without end, or one of
four thousand digits that is no measure of anything. Here they are as little JSON of ours as a bracket that is missing.
"""

from __future__ import annotations

import json
import math
from typing import Any

LONGEST_WHOLE = 16
"""Characters of a whole number: beyond that not every one can be told from its neighbours as a float (our choice)."""


class UnreadableJsonError(ValueError):
    """A text that is no JSON of ours; ``str()`` says why."""


def read(content: str | bytes) -> dict[str, Any]:
    """The object that a text holds; raises UnreadableJsonError, whatever is wrong with it."""
    try:
        text = content if isinstance(content, str) else content.decode("utf-8")
        found = json.loads(text, parse_int=_whole, parse_float=_finite, parse_constant=_refused)
        if "\\u" in text:
            json.dumps(found, ensure_ascii=False).encode("utf-8")  # half a sign was written as its number
    except (ValueError, TypeError, AttributeError, RecursionError) as error:
        raise UnreadableJsonError(str(error)) from None
    if not isinstance(found, dict):
        raise UnreadableJsonError("it is no object")
    return found


def _whole(digits: str) -> int:
    if len(digits) > LONGEST_WHOLE:
        raise ValueError("a number has more digits than anything is counted with")
    return int(digits)


def _finite(digits: str) -> float:
    value = float(digits)
    return value if math.isfinite(value) else _refused(digits)


def _refused(word: str) -> float:
    raise ValueError(f"{word[:LONGEST_WHOLE]} is no number")
