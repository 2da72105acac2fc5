"""Taking macros in: what is to become of each, all kept in one transaction or nothing, with where they come from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import count
from typing import Literal

from library import documents, macros
from library.blocks.run_macro import BLOCK as RUN_MACRO
from library.blocks.run_macro import PARAMETER
from library.errors import LibraryError
from library.macros import Macro
from library.merging import ClashError, Keeping
from library.share import origin
from library.share.incoming import Coming
from library.share.origin import CameFrom
from library.share.review import Reviewed
from library.store import Shelf, TakenError, Workshop, numbered
from parser.progress import Progress, unheard

Keep = Literal["mine", "theirs", "both"]
KEEPS: tuple[Keep, ...] = ("mine", "theirs", "both")

Became = Literal["new", "replaced", "beside", "same", "kept"]


BECAME: Mapping[Became, str] = {
    "new": "new on the shelf",
    "replaced": "in place of the one that was here",
    "beside": "beside the one that is here",
    "same": "was here already",
    "kept": "not taken, the one here stays",
}
"""What became of a macro, in words."""


class TakeError(LibraryError):
    """Macros that cannot be taken in as was asked; ``str()`` is one line, and nothing was stored."""


@dataclass(frozen=True, slots=True)
class Placed:
    """What becomes of a macro that comes: under which id and name, and with what text.

    ``became`` is new (its id was free), replaced (in place of mine), beside (under an id of its own), same (it is on
    the shelf already) or kept (mine stays, and it is not taken). ``seen`` is the revision here that was looked at.
    """

    reviewed: Reviewed
    became: Became
    id: str
    name: str
    text: str
    seen: int | None = None

    @property
    def stored(self) -> bool:
        """Whether it is kept as a revision of the shelf."""
        return self.became in ("new", "replaced", "beside")


def chosen(reviewed: Iterable[Reviewed], wanted: Iterable[str]) -> tuple[str, ...]:
    """The keys of the macros of these ids with those that came with them and that they run; of all where none is named.

    Raises TakeError for an id that does not come.
    """
    found, ids = tuple(reviewed), tuple(wanted)
    if not ids:
        return tuple(each.coming.key for each in found)
    there = sorted({each.coming.id for each in found})
    missing = [id for id in ids if id not in there]
    if missing:
        raise TakeError(f"there is no macro {missing[0]!r} in what comes; there are {', '.join(there) or 'none'}")
    return with_runs(found, (each.coming.key for each in found if each.coming.id in ids))


def with_runs(reviewed: Iterable[Reviewed], keys: Iterable[str]) -> tuple[str, ...]:
    """These keys and those of the macros that they run, as far as these came in one file with them."""
    found, wanted = tuple(reviewed), dict.fromkeys(keys)
    files: dict[tuple[str, str], dict[str, Coming]] = {}
    for each in found:
        files.setdefault(_file(each.coming), {})[each.coming.id] = each.coming
    waiting = [each.coming for each in found if each.coming.key in wanted]
    while waiting:
        coming = waiting.pop()
        wanted[coming.key] = None
        beside = files[_file(coming)]
        called = (beside.get(id) for _, id in _calls(coming))
        waiting += (each for each in called if each and each.key not in wanted)
    return tuple(each.coming.key for each in found if each.coming.key in wanted)


def _file(coming: Coming) -> tuple[str, str]:
    return coming.source.name, coming.source.sha256


def placed(
    reviewed: Iterable[Reviewed], keeps: Mapping[str, Keep], shop: Workshop, progress: Progress = unheard
) -> tuple[Placed, ...]:
    """What would become of the macros with the keys in ``keeps``; nothing is stored.

    ``keeps`` says for each what is to be done where its id is taken by another: keep mine, take theirs, keep both.
    Macros that came in one file and run each other go on to do so, whatever they are called here. Raises TakeError for
    one that cannot be read, and for two of one id that would both be it.
    """
    wanted = [each for each in reviewed if each.coming.key in keeps]
    used = {*shop.ids("macro"), *shop.deleted("macro")}
    names = {each.name for each in Shelf(shop).values()}
    taken: dict[str, str] = {}
    first: list[Placed] = []
    for each in wanted:
        coming = each.coming
        if coming.macro is None:
            raise TakeError(f"{coming.id} cannot be taken in: {coming.wrong}; leave it out")
        known = taken.get(coming.id)
        head = each.head.number if each.head else None
        keep = keeps[coming.key]
        if each.standing == "same" or known == coming.text:
            first.append(Placed(each, "same", coming.id, coming.macro.name, coming.text))
        elif known is None and each.standing == "new":
            taken[coming.id] = coming.text
            first.append(Placed(each, "new", coming.id, coming.macro.name, coming.text))
        elif keep == "mine":
            first.append(Placed(each, "kept", coming.id, coming.macro.name, coming.text))
        elif keep == "theirs":
            if known is not None:
                raise TakeError(f"two of the files bring a macro {coming.id}; keep both, or leave one of them out")
            taken[coming.id] = coming.text
            first.append(Placed(each, "replaced", coming.id, coming.macro.name, coming.text, head))
        else:
            id, name = _apart(coming.macro, used | set(taken), names)
            used.add(id)
            names.add(name)
            first.append(Placed(each, "beside", id, name, coming.text))
    moved = _moved(first, shop)
    written = []
    for number, place in enumerate(first):
        progress(number / len(first))
        written.append(_written(place, moved.get(_file(place.reviewed.coming), {})))
    return tuple(written)


def _moved(places: Iterable[Placed], shop: Workshop) -> dict[tuple[str, str], dict[str, str]]:
    """For each file the ids here of its macros that have another one in it, also of those taken in from it before."""
    found: dict[tuple[str, str], dict[str, str]] = {}
    there = set(shop.ids("macro"))
    for id, came in origin.of_all(shop).items():
        if came.id != id and id in there:
            found.setdefault((came.source, came.sha256), {})[came.id] = id
    for each in places:
        of_file = found.setdefault(_file(each.reviewed.coming), {})
        of_file.pop(each.reviewed.coming.id, None)
        if each.became == "beside":
            of_file[each.reviewed.coming.id] = each.id
    return found


def _apart(macro: Macro, used: set[str], names: set[str]) -> tuple[str, str]:
    """An id and a name that no macro here has or had: the first number for which both are free."""
    for number in count(2):
        id, name = numbered(macro.id, number), f"{macro.name[:190]} ({number})"
        if id not in used and name not in names:
            return id, name
    raise AssertionError("there is always another number")


def _written(each: Placed, moved: Mapping[str, str]) -> Placed:
    """The text under the id and name that it has here, and its calls to those that came with it likewise."""
    if not each.stored:
        return each
    coming = each.reviewed.coming
    text = each.text
    if each.became == "beside":
        text = macros.set_header(macros.set_header(text, "id", each.id), "name", each.name)
    for number, called in _calls(coming):
        if called in moved:
            text = macros.set_step_value(text, number, PARAMETER, moved[called])
    documents.parse("macro", text, each.id)
    return replace(each, text=text)


def _calls(coming: Coming) -> Iterator[tuple[int, str]]:
    """The steps, from 1, that run another macro, with its id."""
    for number, step in enumerate(coming.macro.step if coming.macro else (), start=1):
        if step.block == RUN_MACRO.id:
            yield number, str(step.values.get(PARAMETER, "")).strip()


def take_in(shop: Workshop, places: Iterable[Placed], moment: str, progress: Progress = unheard) -> tuple[Placed, ...]:
    """Keep all of them, or none; returns those that were stored. ``moment`` is now, UTC in ISO 8601.

    Raises ClashError where a macro here has changed since it was looked at, or TakenError where an id was taken
    meanwhile: nothing is stored then, and the review is to be looked at again.
    """
    stored = tuple(each for each in places if each.stored)
    changes: list[Keeping] = []
    for number, each in enumerate(stored):
        progress(number / len(stored))
        changes += _changes(shop, each, moment)
    shop.save_all(changes)
    return stored


def _changes(shop: Workshop, each: Placed, moment: str) -> tuple[Keeping, Keeping]:
    coming = each.reviewed.coming
    source = coming.source
    author = coming.macro.author if coming.macro else ""
    by = f" by {author}" if author else ""
    why = f"taken in from {source.name} ({source.kind} {source.sha256[:8]}){by}"
    came = CameFrom(
        source=source.name,
        kind=source.kind,
        sha256=source.sha256,
        machine=source.home.machine if source.home else "",
        author=author,
        id=coming.id,
        taken=moment,
    )
    return Keeping("macro", each.id, each.text, why, each.seen), origin.change(shop, each.id, came, why)


def told(error: ClashError | TakenError) -> str:
    """Why nothing was stored, in one sentence."""
    what = error.fields[0] if isinstance(error, ClashError) else str(error)
    return f"Nothing was taken in: {what} has changed here since the review. Look at it again, and choose again."
