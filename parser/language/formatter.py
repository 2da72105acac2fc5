"""Text in, the same text tidied: one way to space words, to order them and to write numbers.

A tidy line is ``/``, line number, words in the order they are executed (NISTIR 6556, 3.8, Table 8), each with the
letters it reads after it, then parameter settings and comments. What the text does stays the same.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from parser.language.layout import bare, lay_out
from parser.language.program import Line, Spot, cut, digits_before
from parser.language.reader import AS_PUBLISHED, read
from parser.language.words import RANK, WORDS, canonical
from parser.machine import Controller

_NUMBER = re.compile(r"[0-9]+\.?[0-9]*|\.[0-9]+")
_NAMED_OPERATION = re.compile(r"(?<=[0-9.\]])(?:MOD|AND|XOR|OR)")
_MOST_M_WORDS_IN_ANY_ORDER = 4
_LETTERS = "XYZABCIJKRLPQDHFST"

_Order = tuple[float, int]


def tidy(text: str, controller: Controller = AS_PUBLISHED) -> str:
    """The text tidied for a controller. A line that cannot be read, or is not read, stays as it is written.

    So does a line that the controller sheet gives a meaning of its own, and one that would become too long.
    """
    program = read(text, controller)
    own = {bare(line) for line in (*controller.homing, controller.pause, controller.settle) if line}
    lines = [
        _tidy(line, controller, own) if line.number <= program.last or line.percent else line.text
        for line in program.lines
    ]
    end = "\r\n" if "\r\n" in text else "\n"
    return end.join(lines) + (end if text.endswith("\n") else "")


def _tidy(line: Line, controller: Controller, own: set[str]) -> str:
    if line.percent:
        return "%"
    if not line.readable or bare(line.text) in own:
        return line.text
    tidied = _written(line, controller)
    return line.text if len(tidied) > controller.line_limit or bare(tidied) in own else tidied


def _written(line: Line, controller: Controller) -> str:
    form, before = line.form, digits_before(line.text)

    def piece(start: Spot, stop: Spot) -> str:
        return cut(line.text, before, start, stop)

    number = [] if line.line_number is None else [f"N{line.line_number}"]
    words = [_word(piece(word.start, word.stop)) for word in form.words]
    settings = [_calculation(lay_out(piece(each.start, each.stop)).plain) for each in form.settings]
    comments = [piece(each.start, each.stop) for each in form.comments]
    parts = [*number, *_in_order(line, words, controller), *settings, *comments]
    return ("/" if line.block_delete else "") + " ".join(parts)


def _word(written: str) -> str:
    plain = lay_out(written).plain
    letter, value = plain[0], plain[1:]
    if _NUMBER.fullmatch(value.lstrip("+-")):
        figure = _figure(value.lstrip("+-"))
        return f"{letter}-{figure}" if value[0] == "-" and figure != "0" else f"{letter}{figure}"
    return f"{letter} {_calculation(value)}" if value[0].isalpha() else letter + _calculation(value)


def _calculation(plain: str) -> str:
    """Numbers without useless zeros, and room round the operations that are words."""
    spaced = _NAMED_OPERATION.sub(lambda found: f" {found.group()} ", plain)
    return _NUMBER.sub(lambda found: _figure(found.group()), spaced)


def _figure(number: str) -> str:
    """A number without sign and without useless zeros; one digit at least stands before the point."""
    whole, _, part = number.partition(".")
    whole, part = whole.lstrip("0") or "0", part.rstrip("0")
    return f"{whole}.{part}" if part else whole


def _in_order(line: Line, words: Sequence[str], controller: Controller) -> list[str]:
    """The words in the order of execution; as written where their order may matter or is not known."""
    letters = line.form.letters
    if letters.count("M") > _MOST_M_WORDS_IN_ANY_ORDER:
        return list(words)
    codes: list[str] = []
    for word in line.words:
        if word.letter in "GM":
            if not isinstance(word.value, float):
                return list(words)
            codes.append(canonical(word.letter, word.value))
    places = {code: _place(code, controller) for code in codes}
    orders: list[_Order] = []
    named = iter(codes)
    for letter in letters:
        place = places[next(named)] if letter in "GM" else _place_of_letter(letter, places, controller)
        if place is None:
            return list(words)
        does_something = letter in "GM" or place == RANK.get(letter)
        orders.append((place, 0 if does_something else 1 + _LETTERS.index(letter)))
    return [word for _, word in sorted(zip(orders, words, strict=True), key=lambda pair: pair[0])]


def _place(code: str, controller: Controller) -> float | None:
    """Where a G or M word comes; None for one that is not known. G53 stands before the motion that it changes."""
    if code in controller.extra_words:
        return RANK.get(controller.extra_words[code])
    return RANK["G0"] - 0.5 if code == "G53" else RANK.get(code)


def _place_of_letter(letter: str, places: dict[str, float | None], controller: Controller) -> float:
    """Beside the word that reads it; beside the motion where no word of the line does."""
    timed = letter == controller.dwell_word and "G4" in places
    if letter in "FST" and not timed:
        return RANK[letter]
    readers = [
        place
        for code, place in places.items()
        if place is not None and ((code == "G4" and timed) or (code in WORDS and letter in WORDS[code].takes))
    ]
    return max(readers, default=RANK["G0"])
