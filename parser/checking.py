"""Checks of one value each, for the classes and functions of ``parser`` that somebody else gives values to.

A check takes what the value is called and the value, and raises SheetError where that makes no sense. That of a field
is read off its type: ``Annotated[float, not_negative]`` names one, and any other type stands for itself. Modules whose
classes are checked so have their annotations as they are, not as texts, which would have to be compiled at each start.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import fields
from functools import lru_cache
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from parser.errors import SheetError

Check = Callable[[str, object], None]

LARGEST = 1e9  # our choice, as is the next
"""mm, degrees, seconds or what is made of them: nothing on a machine is larger."""

LEAST = 1e-6
"""Less is nothing: a travel, a rate or an acceleration below it would only overflow what divides by it."""

_LONGEST_SHOWN = 60
_PLAIN = re.compile(r"[\w.-]{1,40}")
_DAY = re.compile(r"\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])")
_WORD = re.compile(r"[GM](0|[1-9]\d{0,3})(\.[1-9]\d*)?")


def check_fields(thing: object, owner: str = "") -> None:
    """Put the fields of a dataclass to the checks of their types; ``owner`` is what it is called in an error."""
    kind: type = type(thing)
    for name, check in checks_of(kind).items():
        check(f"{name} of {owner}" if owner else name, getattr(thing, name))


@lru_cache(maxsize=64)
def checks_of(kind: type[Any]) -> Mapping[str, Check]:
    """The check of every field of a dataclass."""
    types = get_type_hints(kind, include_extras=True)
    return {each.name: of_type(types[each.name]) for each in fields(kind)}


def of_type(kind: Any) -> Check:
    """The check that a type stands for."""
    parts = get_args(kind)
    match get_origin(kind):
        case origin if origin is Annotated:
            check: Check = kind.__metadata__[0]
            return check
        case origin if origin is Literal:
            return one_of(kind)
        case origin if origin in (UnionType, Union):
            (only,) = (part for part in parts if part is not NoneType)
            return optional(of_type(only))
        case origin if origin is tuple:
            return tuple_of(of_type(parts[0])) if parts[-1] is ... else tuple_like([of_type(part) for part in parts])
        case origin if origin is Callable:
            return function
        case origin if origin is Mapping:
            return mapping_of(*map(of_type, parts))
        case _:
            return {float: finite, str: text, bool: flag}.get(kind) or instance(kind)


def shown(value: object) -> str:
    """A value as an error shows it: on one line, and short."""
    try:
        text = repr(value)
    except Exception:  # a number of thousands of digits, or an object that cannot even say what it is
        return f"an unprintable {type(value).__name__}"
    if isinstance(value, str):
        text = f'"{text[1:-1]}"'
    text = " ".join(text.split())
    return text if len(text) <= _LONGEST_SHOWN else f"{text[: _LONGEST_SHOWN - 3]}..."


def called(name: object) -> str:
    """A name as an error calls a thing by it: bare where it is a plain word, else as ``shown``."""
    return name if isinstance(name, str) and _PLAIN.fullmatch(name) else shown(name)


def refused(what: str, value: object, why: str, remedy: str) -> SheetError:
    """The error of a check."""
    return SheetError(what, shown(value), why, remedy)


# Numbers


def finite(what: str, value: object) -> None:
    """A finite number, no larger than anything on a machine can be."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise refused(what, value, "It has to be a number.", "Write one, such as 12.5.")
    if not abs(value) <= LARGEST:
        raise refused(what, value, "No machine has such a figure.", f"Write a number up to {LARGEST:.0f}.")


def not_negative(what: str, value: object) -> None:
    """A number that is 0 or more."""
    finite(what, value)
    assert isinstance(value, int | float)
    if value < 0:
        raise refused(what, value, "It cannot be less than 0.", "Write 0 or more.")


def above_zero(what: str, value: object) -> None:
    """A number that is more than 0, and more than what only rounding would make of it."""
    finite(what, value)
    assert isinstance(value, int | float)
    if value < LEAST:
        raise refused(what, value, f"It has to be {LEAST:f} or more.", "Write the figure of the machine.")


def zero_or_above(what: str, value: object) -> None:
    """A limit: 0, which stands for none, or a number that ``above_zero`` allows."""
    finite(what, value)
    if value != 0:
        above_zero(what, value)


def whole_number(least: int) -> Check:
    """A whole number that is ``least`` or more."""

    def check(what: str, value: object) -> None:
        if isinstance(value, bool) or not isinstance(value, int):
            raise refused(what, value, "It has to be a whole number.", "Write one, such as 16.")
        if not least <= value <= LARGEST:
            raise refused(what, value, "It is out of all range.", f"Write {least} to {LARGEST:.0f}.")

    return check


# Words and marks


def text(what: str, value: object) -> None:
    """A text, "" included."""
    if not isinstance(value, str):
        raise refused(what, value, "It has to be a text.", 'Write it in quotes, "" for none.')


def one_line(what: str, value: object) -> None:
    """A text without line ends."""
    text(what, value)
    assert isinstance(value, str)
    if "\n" in value or "\r" in value:
        raise refused(what, value, "It is sent as one line, and this has several.", "Take the line ends out.")


def word(what: str, value: object) -> None:
    """A G or M word as the tables spell it: "G1", "G59.1"."""
    text(what, value)
    assert isinstance(value, str)
    if not _WORD.fullmatch(value):
        raise refused(what, value, "It is not a word.", "Write G or M and a number, such as M98 or G59.1.")


def iso_day(what: str, value: object) -> None:
    """A day as ISO 8601 writes it, or "" for none."""
    text(what, value)
    if value and not _DAY.fullmatch(str(value)):
        raise refused(what, value, "It is no day.", 'Write it like 2026-05-04, or "" for none.')


def flag(what: str, value: object) -> None:
    """True or False."""
    if not isinstance(value, bool):
        raise refused(what, value, "It is either so or not.", "Write True or False.")


def one_of(literal: object) -> Check:
    """One of the values of a Literal."""
    return one_among(get_args(literal))


def one_among(choices: Iterable[str]) -> Check:
    """One of some words."""
    known = tuple(choices)

    def check(what: str, value: object) -> None:
        if not isinstance(value, str) or value not in known:
            listed = ", ".join(map(shown, known))
            raise refused(what, value, "That is none of the values it may have.", f"Write one of {listed}.")

    return check


# What is made of others


def function(what: str, value: object) -> None:
    """Something that can be called."""
    if not callable(value):
        raise refused(what, value, "It has to be a function.", "Give it one that takes the share done, 0 to 1.")


def instance(kind: type) -> Check:
    """An object of a class."""

    def check(what: str, value: object) -> None:
        if not isinstance(value, kind):
            name = kind.__name__
            raise refused(what, value, f"It has to be {_a(name)} {name}.", f"Give it {_a(name)} {name}.")

    return check


def optional(check: Check) -> Check:
    """None, or what the check allows."""

    def checked(what: str, value: object) -> None:
        if value is not None:
            check(what, value)

    return checked


def tuple_of(check: Check, *, least: int = 0) -> Check:
    """A tuple of at least so many items, each allowed by the check."""

    def checked(what: str, value: object) -> None:
        if not isinstance(value, tuple):
            raise refused(what, value, "It has to be a tuple.", "Write it in round brackets, with a comma after each.")
        if len(value) < least:
            raise refused(what, value, "Without any, nothing would be checked.", f"Give at least {least}.")
        for item in value:
            check(f"an entry in {what}", item)

    return checked


def tuple_like(checks: Sequence[Check]) -> Check:
    """A tuple with one item for each of some checks."""

    def checked(what: str, value: object) -> None:
        if not isinstance(value, tuple) or len(value) != len(checks):
            raise refused(what, value, f"It has to be a tuple of {len(checks)}.", "Write it in round brackets.")
        for check, item in zip(checks, value, strict=True):
            check(f"an entry in {what}", item)

    return checked


def mapping_of(key: Check, check: Check) -> Check:
    """A mapping, its keys and values allowed by a check each."""

    def checked(what: str, value: object) -> None:
        if not isinstance(value, Mapping):
            raise refused(what, value, "It has to be a mapping.", "Write it in curly brackets, {} for none.")
        for name, item in value.items():
            key(f"a key in {what}", name)
            check(f"{called(name)} in {what}", item)

    return checked


def unique(what: str, names: Iterable[object]) -> None:
    """Names or numbers of which no two are the same."""
    seen: set[object] = set()
    for name in names:
        if name in seen:
            raise refused(what, name, "Another one has it too, so neither can be told apart.", "Change one of the two.")
        seen.add(name)


def _a(name: str) -> str:
    return "an" if name[0] in "AEIOU" else "a"
