"""How it is said of the parts of a sheet that a verdict rests on: measured on some day, or invented."""

from __future__ import annotations

from collections.abc import Iterable

from parser.machine import SheetPart
from parser.quantities import sentence_list

INVENTED = "INVENTED FIGURES"

FEW = 3  # our choice
"""Parts that are still named one by one where every one of them is invented."""

MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)  # not those of a locale


def day_in_words(day: str) -> str:
    """ "4 May 2026" for "2026-05-04"."""
    year, month, number = day.split("-")
    return f"{int(number)} {MONTHS[int(month) - 1]} {year}"


def clauses(parts: Iterable[SheetPart]) -> tuple[str, ...]:
    """What parts a verdict rests on, a clause for each day and one for those that were never confirmed."""
    groups: dict[tuple[bool, bool, str], list[str]] = {}
    for part in parts:
        groups.setdefault((part.tried, not part.day, part.day), []).append(part.words)
    return tuple(_clause(tried, day, sentence_list(groups[tried, never, day])) for tried, never, day in sorted(groups))


def _clause(tried: bool, day: str, names: str) -> str:
    if tried:
        return f"the controller's {names} as {f'tried on {day_in_words(day)}' if day else 'on its sheet, not tried'}"
    return f"{names} as measured on {day_in_words(day)}" if day else f"{names} as INVENTED on the sheet"


def invented_figures(parts: Iterable[SheetPart]) -> str:
    """ "INVENTED FIGURES: axes, longest tool and Vise", "" where everything was measured."""
    named = named_invented(parts)
    return f"{INVENTED}: {named}" if named else ""


def named_invented(parts: Iterable[SheetPart]) -> str:
    """ "axes, longest tool and Vise", "" where everything was measured."""
    figures = list(dict.fromkeys(part for part in parts if not part.tried))
    names = [part.words for part in figures if part.invented]
    every = len(names) == len(figures) and len(names) > FEW
    return "everything on the machine sheet" if every else sentence_list(names)
