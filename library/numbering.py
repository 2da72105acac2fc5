"""Slots, and the numbers that stored macros have: which macro stands on which spare position at which increment."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import count

from library.bench import Bench
from library.sheets import FIRST_RUN, ControllerSheet, PendantSheet


@dataclass(frozen=True, slots=True)
class Slot:
    """One selector position at one increment, by their labels, and the id of the macro put on it."""

    position: str
    increment: str
    macro: str

    @property
    def label(self) -> str:
        return f"{self.position} {self.increment}"


def slots(pendant: PendantSheet) -> tuple[Slot, ...]:
    """The slots in use, in the order of the selector and its increments; what is not on the pendant comes last."""
    positions = [position.label for position in pendant.positions]
    used = [
        Slot(position, increment, macro)
        for position, row in pendant.slots.items()
        for increment, macro in row.items()
        if macro
    ]
    return tuple(
        sorted(used, key=lambda slot: (_index(slot.position, positions), _index(slot.increment, pendant.increments)))
    )


def numbers(bench: Bench) -> dict[str, int]:
    """The number of each macro on a slot by its id, and of its slow copy by ``FIRST_RUN`` and its id.

    A number that the pendant sheet lists stays; any other is the first, from the controller's first, that it does not
    list. The same macro has one number.
    """
    known = bench.pendant.numbers
    free = (number for number in count(bench.controller_sheet.first_number) if number not in known.values())
    ids = dict.fromkeys(slot.macro for slot in slots(bench.pendant))
    keys = [*ids, *(FIRST_RUN + id for id in ids)]
    return {key: known[key] if key in known else next(free) for key in keys}


def stored(controller: ControllerSheet) -> bool:
    """Whether macros go by numbers on the controller, so that a number has to be kept for life."""
    return any("{number}" in text for text in (controller.call, controller.file_name, controller.program_head))


def number_of(macro: str, bench: Bench) -> int:
    """The number of a macro by its id; of one that is on no slot the first that no other has."""
    given = numbers(bench)
    taken = {*given.values(), *bench.pendant.numbers.values()}
    free = next(number for number in count(bench.controller_sheet.first_number) if number not in taken)
    return given.get(macro, bench.pendant.numbers.get(macro, free))


def _index(label: str, labels: Iterable[str]) -> int:
    known = list(labels)
    return known.index(label) if label in known else len(known)
