"""The machines of a workshop: each a machine and a controller sheet that go together, and one of them in force.

Everybody else knows the one in force only, under the id "workshop" (see ``rows``). Every change here is one transaction
that fails where another has come between.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import count

from library import documents, rows
from library.errors import LibraryError
from library.fields import slug
from library.limits import MACHINES
from library.merging import ClashError, Keeping
from library.store import SINGLETON, Head, StoreError, TakenError, Workshop, numbered

SHEETS = ("machine", "controller")


class MachineError(LibraryError):
    """A machine that cannot be added, named, put in force or taken out; ``str()`` is one line."""


@dataclass(frozen=True, slots=True)
class MachineSet:
    """A machine with its controller: the texts of both sheets, and the revisions that were read.

    ``name`` is what tells it from the others: that of its machine sheet, with its id where two have the same. ``force``
    is which machine was in force when it was read: the revision and the id.
    """

    id: str
    name: str
    machine: str
    controller: str
    seen: tuple[int, int]
    force: Head

    @property
    def in_force(self) -> bool:
        """Whether it is the one in force."""
        return self.id == self.force.text

    @property
    def shown(self) -> str:
        """The revisions of both sheets and of which machine is in force, as a form says what its page showed."""
        return " ".join(map(str, (*self.seen, self.force.number)))


def machines(shop: Workshop) -> tuple[MachineSet, ...]:
    """Every machine of the workshop, the one in force first and the others by name."""
    found = list(_read(shop))
    names = [each.name.casefold() for each in found]
    alike = {name for name in names if names.count(name) > 1}
    told = (replace(each, name=f"{each.name} ({each.id})") if each.name.casefold() in alike else each for each in found)
    return tuple(sorted(told, key=lambda each: (not each.in_force, each.name.casefold())))


def _read(shop: Workshop) -> Iterator[MachineSet]:
    force = shop.head(rows.IN_FORCE, SINGLETON)
    for id in shop.ids("machine"):
        try:
            machine, controller = (shop.head(kind, id) for kind in SHEETS)
        except StoreError:
            if id == SINGLETON:
                raise
            continue  # taken out meanwhile
        yield MachineSet(
            force.text if id == SINGLETON else id,
            _name(machine.text, id),
            machine.text,
            controller.text,
            (machine.number, controller.number),
            force,
        )


def _name(machine: str, id: str) -> str:
    try:
        return documents.parse("machine", machine).name
    except documents.DocumentError:
        return f"{id} (its sheet cannot be read)"


def find(shop: Workshop, id: str, shown: str | None = None) -> MachineSet:
    """A machine by its id; raises MachineError, and ClashError where it is not as it was ``shown``."""
    for each in machines(shop):
        if each.id == id:
            if shown not in (None, each.shown):
                raise ClashError((each.name,), each.machine, each.machine)
            return each
    raise MachineError(f'there is no machine "{id}" in this workshop; it may have been taken out')


def add(shop: Workshop, machine: str, controller: str, why: str) -> str:
    """Keep the sheets of a further machine, which is not in force yet; returns its id.

    Raises DocumentError where a sheet cannot be used, MachineError where the name is taken or there are too many.
    """
    name = documents.parse("machine", machine, "machine sheet").name
    documents.parse("controller", controller, "controller sheet")
    there = machines(shop)
    if len(there) >= MACHINES.most:
        raise MachineError(f"{MACHINES.of} has at most {MACHINES}; take one out first")
    _require_free(name, there, "")
    used = {*shop.ids("machine"), *shop.deleted("machine"), *(each.id for each in there), SINGLETON}
    for number in count(1):
        id = numbered(slug(name)[:56].strip("-") or "machine", number)
        if id in used:
            continue
        try:
            texts = zip(SHEETS, (machine, controller), strict=True)
            shop.save_all(Keeping(kind, id, text, why, None) for kind, text in texts)
        except TakenError:
            continue
        return id
    raise AssertionError("numbers do not end")


def free_name(shop: Workshop, name: str) -> str:
    """The name, or the name with a number that no machine has."""
    taken = {each.name.casefold() for each in machines(shop)}
    named = (name if number == 1 else f"{name} {number}" for number in count(1))
    return next(each for each in named if each.casefold() not in taken)


def rename(shop: Workshop, id: str, name: str, shown: str | None = None) -> None:
    """Give a machine another name, its id as it was; raises MachineError and DocumentError, and as ``find`` does."""
    here = find(shop, id, shown)
    _require_free(name, machines(shop), id)
    text = documents.write("machine", {("name",): name}, here.machine)
    shop.save("machine", id, text, f"renamed to {name}", seen=here.seen[0])


def _require_free(name: str, there: tuple[MachineSet, ...], own: str) -> None:
    if any(each.name.casefold() == name.strip().casefold() for each in there if each.id != own):
        raise MachineError(f'there is a machine "{name.strip()}" already; give this one another name')


def put_in_force(shop: Workshop, id: str, shown: str | None = None) -> MachineSet:
    """Let a machine count from now on; raises MachineError, and ClashError where it was changed meanwhile."""
    here = find(shop, id, shown)
    shop.save_all(
        [*_as_it_is(here), Keeping(rows.IN_FORCE, SINGLETON, id, f"{here.name} put in force", here.force.number)]
    )
    return here


def take_out(shop: Workshop, id: str, shown: str | None = None) -> None:
    """Take a machine out that is not in force; its revisions are kept. Raises as ``put_in_force`` does."""
    here = find(shop, id, shown)
    if here.in_force:
        raise MachineError(f"{here.name} is in force; put another machine in force before this one is taken out")
    out = [Keeping(kind, id, None, "taken out", seen) for kind, seen in zip(SHEETS, here.seen, strict=True)]
    shop.save_all([*out, Keeping(rows.IN_FORCE, SINGLETON, here.force.text, "", here.force.number)])


def bring_back(shop: Workshop, id: str) -> None:
    """Put a machine that was taken out back; raises MachineError where there is none or its name is taken by now."""
    if id not in shop.deleted("machine"):
        raise MachineError(f'there is no machine "{id}" to bring back')
    machine, controller = (_last(shop, kind, id) for kind in SHEETS)
    _require_free(documents.parse("machine", machine).name, machines(shop), "")
    texts = zip(SHEETS, (machine, controller), strict=True)
    shop.save_all(Keeping(kind, id, text, "brought back", None) for kind, text in texts)


def taken_out(shop: Workshop) -> dict[str, str]:
    """The machines that were taken out: names by id."""
    return {id: _name(_last(shop, "machine", id), id) for id in shop.deleted("machine")}


def _last(shop: Workshop, kind: str, id: str) -> str:
    return next((each.text for each in shop.revisions(kind, id) if each.text is not None), "")


def _as_it_is(here: MachineSet) -> Iterator[Keeping]:
    """Nothing to be saved, but for the check that both sheets are still there as they were read."""
    for kind, text, seen in zip(SHEETS, (here.machine, here.controller), here.seen, strict=True):
        yield Keeping(kind, here.id, text, "", seen)
