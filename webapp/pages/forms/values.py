"""One value of a form: a key of a document as the text of its cells, and what was typed into them as a value again."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from library.toml_text import Path
from webapp.pages.forms.measures import CellUnit, TypedError, shortened

NUMBER, WHOLE, FLAG, CHOICE = "number", "whole", "flag", "choice"
TEXT, SIGNS, LINES, CLICKS, PAIRS = "text", "signs", "lines", "clicks", "pairs"
SPAN, RANGE, STEPS = "span", "range", "steps"
SHOWN_ANYWAY = (TEXT, SIGNS, LINES, CLICKS, PAIRS, STEPS)
"""Kinds whose blank field is a value, so that what holds where nothing is written stands in the field."""
YES, NO = "true", "false"
BARE = CellUnit()


class CellsError(Exception):
    """What was typed cannot be used: ``errors`` by the index of the cell."""

    def __init__(self, errors: Mapping[int, str]) -> None:
        super().__init__()
        self.errors = errors


@dataclass(frozen=True, slots=True)
class Value:
    """A key that a form edits. ``path`` leads to it, each label is of a cell; ``usual`` holds where nothing is written.

    ``kind`` is one of those above; ``choices`` pairs what is written with what it is called. ``find`` says how to find
    the answer out at the machine. ``anyway``: what is usual stands in the field where nothing is written.
    """

    path: Path
    labels: tuple[str, ...]
    kind: str = TEXT
    measure: CellUnit = BARE
    choices: tuple[tuple[str, str], ...] = ()
    usual: object = None
    required: bool = False
    help: str = ""
    find: str = ""
    keys: tuple[str, ...] = field(default=())
    anyway: bool = False

    @property
    def name(self) -> str:
        """Name of the value in the posted form, and of its cell where it has one."""
        return ".".join(str(part) for part in self.path)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the cells."""
        several = self.kind in (SPAN, RANGE, STEPS)
        return tuple(f"{self.name}.{index}" for index in range(len(self.labels))) if several else (self.name,)

    @property
    def numeric(self) -> bool:
        """Whether its cells hold one number each."""
        return self.kind in (NUMBER, WHOLE, SPAN, RANGE, STEPS)

    @property
    def stands_anyway(self) -> bool:
        """Whether what is usual stands in the field where nothing is written."""
        return self.anyway or self.kind in SHOWN_ANYWAY

    def written(self, value: object) -> tuple[str, ...]:
        """A value of the document as the text of its cells; None where the key is left out."""
        if value is None:
            value = self.usual if self.stands_anyway else None
        if value is None:
            return ("",) * len(self.names)
        return _WRITTEN[self.kind](self, value)

    def read(self, typed: Sequence[str]) -> object:
        """What was typed as a value of the document, None to leave the key out. Raises CellsError."""
        if self.kind not in SHOWN_ANYWAY and not any(one.strip() for one in typed):
            return None
        return _READ[self.kind](self, typed)

    def placeholder(self, index: int = 0) -> str:
        """What holds where a field is left blank."""
        if self.usual is None or not self.numeric or self.kind == STEPS:
            return ""
        usual = self.usual[index] if isinstance(self.usual, list | tuple) else self.usual
        return self.measure.usual(usual) if isinstance(usual, int | float) else ""


def _numbers(value: Value, typed: Sequence[str], *, blank: bool = False) -> list[float | None]:
    numbers: list[float | None] = []
    errors: dict[int, str] = {}
    for index, one in enumerate(typed):
        try:
            numbers.append(None if blank and not one.strip() else value.measure.read(one))
        except TypedError as wrong:
            errors[index] = str(wrong)
    if errors:
        raise CellsError(errors)
    return numbers


def _whole(typed: str) -> int:
    given = typed.strip().replace("\N{MINUS SIGN}", "-")
    if not re.fullmatch(r"[-+]?\d{1,12}", given):
        raise TypedError(f"“{shortened(typed)}” is not a whole number; write it like 3")
    return int(given)


def _read_whole(value: Value, typed: Sequence[str]) -> object:
    try:
        return _whole(typed[0])
    except TypedError as wrong:
        raise CellsError({0: str(wrong)}) from None


def _read_flag(value: Value, typed: Sequence[str]) -> object:
    if typed[0] not in (YES, NO):
        raise CellsError({0: f"“{shortened(typed[0])}” is none of the choices; choose yes or no"})
    return typed[0] == YES


def _read_choice(value: Value, typed: Sequence[str]) -> object:
    known = [written for written, _ in value.choices]
    if typed[0] not in known:
        called = ", ".join(called for _, called in value.choices)
        raise CellsError({0: f"“{shortened(typed[0])}” is none of the choices: {called}"})
    return int(typed[0]) if isinstance(value.usual, int) else typed[0]


def _read_text(value: Value, typed: Sequence[str]) -> object:
    given = typed[0].strip()
    return None if not given and not isinstance(value.usual, str) else given


def _read_signs(value: Value, typed: Sequence[str]) -> object:
    try:
        read = json.loads('"' + typed[0].strip().replace('"', '\\"') + '"', strict=False)
    except ValueError:
        raise CellsError({0: "a \\ begins a sign such as \\u0018, and is written \\\\ for itself"}) from None
    if any("\ud800" <= sign <= "\udfff" for sign in read):
        raise CellsError({0: "half a sign cannot be sent; write \\u and four digits below d800"})
    return read


def _written_signs(value: Value, given: Any) -> tuple[str, ...]:
    made = "".join(sign if sign.isprintable() else f"\\u{ord(sign):04x}" for sign in given.replace("\\", "\\\\"))
    return (made,)


def _lines(typed: str) -> list[str]:
    return [line.strip() for line in re.split(r"\r\n|\r|\n", typed) if line.strip()]


def _read_clicks(value: Value, typed: Sequence[str]) -> object:
    try:
        return [_whole(one) for one in re.split(r"[,;\s]+", typed[0].strip()) if one]
    except TypedError as wrong:
        raise CellsError({0: str(wrong)}) from None


def _read_pairs(value: Value, typed: Sequence[str]) -> object:
    pairs: dict[str, object] = {}
    for line in _lines(typed[0]):
        key, sign, given = (part.strip() for part in line.rpartition("="))
        if not sign or not key or not given:
            raise CellsError({0: f"“{shortened(line)}” is no line of the kind {value.keys[0]}"})
        if key in pairs:
            raise CellsError({0: f"“{shortened(key)}” is there twice"})
        pairs[key] = int(given) if re.fullmatch(r"-?\d{1,9}", given) else given
    return pairs


def _read_steps(value: Value, typed: Sequence[str]) -> object:
    numbers = _numbers(value, typed, blank=True)
    return {key: number for key, number in zip(value.keys, numbers, strict=True) if number is not None}


def _read_range(value: Value, typed: Sequence[str]) -> object:
    low, high = _numbers(value, typed, blank=True)
    if low is None:
        raise CellsError({0: "a number is missing here"})
    return low if high is None else [low, high]


def _written_range(value: Value, given: Any) -> tuple[str, ...]:
    both = given if isinstance(given, list | tuple) else (given,)
    return (*(value.measure.written(one) for one in both), "")[:2]


_READ: Mapping[str, Callable[[Value, Sequence[str]], object]] = {
    NUMBER: lambda value, typed: _numbers(value, typed)[0],
    SPAN: _numbers,
    RANGE: _read_range,
    STEPS: _read_steps,
    WHOLE: _read_whole,
    FLAG: _read_flag,
    CHOICE: _read_choice,
    TEXT: _read_text,
    SIGNS: _read_signs,
    LINES: lambda value, typed: _lines(typed[0]),
    CLICKS: _read_clicks,
    PAIRS: _read_pairs,
}

_WRITTEN: Mapping[str, Callable[[Value, Any], tuple[str, ...]]] = {
    NUMBER: lambda value, given: (value.measure.written(given),),
    SPAN: lambda value, given: tuple(value.measure.written(one) for one in given),
    RANGE: _written_range,
    STEPS: lambda value, given: tuple(value.measure.written(given[key]) if key in given else "" for key in value.keys),
    WHOLE: lambda value, given: (str(given),),
    FLAG: lambda value, given: (YES if given else NO,),
    CHOICE: lambda value, given: (str(given),),
    TEXT: lambda value, given: (str(given),),
    SIGNS: _written_signs,
    LINES: lambda value, given: ("\n".join(given),),
    CLICKS: lambda value, given: (", ".join(str(one) for one in given),),
    PAIRS: lambda value, given: ("\n".join(f"{key} = {one}" for key, one in given.items()),),
}
