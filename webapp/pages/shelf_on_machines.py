"""The shelf on every machine of the workshop: a row for each macro, a column for each machine."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from library import machines
from library.machines import MachineSet
from library.store import Workshop
from webapp.kept_verdicts import KeptVerdict, KeptVerdicts
from webapp.pages import shelf_index, shelf_list
from webapp.pages.shelf_index import Listed
from webapp.pages.shelf_list import PER_PAGE, On, ShelfQuery, ToProve


@dataclass(frozen=True, slots=True)
class MachineVerdicts:
    """A macro with its verdict on each machine, in the order of the columns; None where it is not proved yet."""

    macro: Listed
    verdicts: tuple[KeptVerdict | None, ...]


@dataclass(frozen=True, slots=True)
class MachineTable:
    """One page of the table; ``suited`` counts for each machine what is exportable there, ``unknown`` what is open."""

    asked: ShelfQuery
    machines: tuple[MachineSet, ...]
    rows: tuple[MachineVerdicts, ...]
    suited: tuple[int, ...]
    unknown: tuple[int, ...]
    total: int
    found: int
    pages: int

    @property
    def open(self) -> int:
        """How many verdicts are not known yet, on all machines."""
        return sum(self.unknown)


def table(shop: Workshop, kept: KeptVerdicts, asked: ShelfQuery) -> MachineTable:
    """The page of the table that is asked for, the last one where there are not so many."""
    shelf, columns = shelf_index.listed(shop), machines.machines(shop)
    keys = [_keys(shelf, each) for each in columns]
    known = [kept.brief(of.values()) for of in keys]
    wanted = sorted(
        (macro for macro in shelf.values() if shelf_list.matches(macro, asked)),
        key=lambda macro: (macro.name.casefold(), macro.id),
    )
    pages = max(1, math.ceil(len(wanted) / PER_PAGE))
    asked = replace(asked, page=min(max(asked.page, 1), pages))
    here = wanted[(asked.page - 1) * PER_PAGE : asked.page * PER_PAGE]
    verdicts = kept.found(of[macro.id] for of in keys for macro in here)
    return MachineTable(
        asked,
        columns,
        tuple(MachineVerdicts(macro, tuple(verdicts.get(of[macro.id]) for of in keys)) for macro in here),
        tuple(sum(each.verdict in shelf_list.MAY_LEAVE for each in of.values()) for of in known),
        tuple(sum(key not in found for key in of.values()) for of, found in zip(keys, known, strict=True)),
        len(shelf),
        len(wanted),
        pages,
    )


def jobs(shop: Workshop, kept: KeptVerdicts) -> list[ToProve]:
    """Every macro on every machine that is not proved there yet, one machine after the other."""
    shelf = shelf_index.listed(shop)
    each_on = (On.of(each.machine, each.controller) for each in machines.machines(shop))
    return [job for on in each_on for job in shelf_list.open_on(shelf, kept, on)]


def _keys(shelf: dict[str, Listed], each: MachineSet) -> dict[str, str]:
    on = On.of(each.machine, each.controller)
    return {id: shelf_list.key_of(macro, shelf, on) for id, macro in shelf.items()}
