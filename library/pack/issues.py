"""Issues: what a workshop remembers of each pack that was taken, and which of them is on the machine.

Both are documents of the workshop, of the kinds "issue" (its id is the number) and "fitted". Every call to the store
that has to do with them is here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, fields
from datetime import date

from library import json_text, toml_text
from library.bench import Bench
from library.build import build, with_heading
from library.errors import LibraryError
from library.macros import Macro
from library.merging import ClashError
from library.names import as_bytes
from library.outgoing import Gathered, Held, Issue, Reload
from library.pack import contents, held, manifest, table
from library.pack.contents import Pack
from library.sheets import FIRST_RUN
from library.store import SINGLETON, Head, StoreError, TakenError, Workshop
from library.toml_text import DocumentError
from parser.progress import Progress, unheard

PROGRAM_FOLDER, TABLES = "pendant/", "pendant/slots.h"
ISSUE, FITTED = "issue", "fitted"
KEPT_FORMAT, FITTED_FORMAT = "clickstop-issue/1", "clickstop-fitted/1"


class IssueError(LibraryError):
    """An issue that is not known or cannot be read; ``str()`` is one clear line."""


@dataclass(frozen=True, slots=True)
class KeptMacro:
    """A macro as it went: its document, the text of its file, its own lines without a head, and its numbers.

    ``number`` is 0 where the controller keeps no macros by number; ``slow_number`` likewise, or where there is none.
    ``slow`` are the lines of its slow copy without a head, "" where there is none or an earlier version took it.
    """

    id: str
    name: str
    document: str
    text: str
    lines: str
    number: int
    slow_number: int
    slow: str = ""


@dataclass(frozen=True, slots=True)
class Kept:
    """What is remembered of an issue. ``table`` is the digest of what the pendant sends, "" where no table went.

    ``program`` is that of the program around it, pins and all: "" where none went, or an earlier version took it.

    ``parts`` and ``wanted`` are what ``library.pack.held`` tells of the documents that it was made from: empty where no
    table went, or an earlier version took it.
    """

    issue: Issue
    macros: tuple[KeptMacro, ...]
    table: str
    parts: held.Pairs = ()
    wanted: held.Pairs = ()
    program: str = ""

    @property
    def held(self) -> Held | None:
        """The numbers that are in use on the controller, None where it keeps no macros by number."""
        numbers: dict[int, tuple[str, str]] = {}
        for each in self.macros:
            if each.number:
                numbers[each.number] = each.id, each.name
            if each.slow_number:
                numbers[each.slow_number] = f"{FIRST_RUN}{each.id}", f"the slow copy of {each.name}"
        return Held(str(self.issue), numbers) if numbers else None


@dataclass(frozen=True, slots=True)
class Fitted:
    """The issue that is on the machine, and the day since when."""

    kept: Kept
    since: str


Wish = Callable[[Gathered], Gathered]
"""What puts the wishes for a pack into what was gathered."""


def as_gathered(gathered: Gathered) -> Gathered:
    """No wish."""
    return gathered


def take(workshop: Workshop, wished: Wish = as_gathered, progress: Progress = unheard) -> Pack:
    """The pack of a workshop as it stands, every number that it gives kept on the pendant sheet first.

    ``progress`` is told the share done; what it raises ends the work. Raises DocumentError, PackError and StoreError.
    """
    seen = workshop.head("pendant", SINGLETON)
    made = prepared(workshop, wished, progress)
    if made.pendant != seen.text:
        workshop.save("pendant", SINGLETON, made.pendant, "numbers given to what is taken", seen=seen.number)
        made = prepared(workshop, wished)
    return made


def prepared(workshop: Workshop, wished: Wish = as_gathered, progress: Progress = unheard) -> Pack:
    """The pack that would be taken, nothing kept; raises as ``take`` does."""
    now = fitted(workshop)
    gathered = wished(contents.gather(workshop, now.kept.held if now else None))

    def anew(unfinished: Pack) -> Reload | None:
        return Reload(str(now.kept.issue), now.since, reload(now.kept, unfinished)) if now else None

    return contents.make(gathered, anew=anew, progress=progress)


def reload(before: Kept, taken: Pack) -> tuple[str, ...]:
    """What has to be loaded anew for a pack where an issue is on the machine: files of the controller, the pendant."""
    now = kept_of(taken)
    old = {each.id: each for each in before.macros}
    files = []
    if contents.numbered(taken.goes.bench) or taken.goes.bench.controller.call:
        for each in now.macros:
            was, goes = old.get(each.id), taken.goes.taken[each.id]
            if was is None or (was.lines, was.number) != (each.lines, each.number):
                files.append(goes.path)
            if goes.slow_path and (was is None or _slow(was, each) != _slow(each, each)):
                files.append(goes.slow_path)
        gone = [each for each in before.macros if each.id not in {one.id for one in now.macros}]
        files += [f"(take {each.name} off the controller: it is in this issue no more)" for each in gone]
    parts = before.parts and now.parts != before.parts
    if now.table != before.table or parts or (before.program and now.program != before.program):
        files.append("the pendant's program")
    return tuple(files)


def _slow(of: KeptMacro, now: KeptMacro) -> tuple[str, int, str]:
    """What decides whether a slow copy is the same; one of an earlier version is by the lines of its macro."""
    return of.lines, of.slow_number, of.slow or now.slow


def _without_comments(texts: Iterable[str]) -> str:
    return "\n".join(text for text in texts if not text.lstrip().startswith(("(", ";")))


def keep(workshop: Workshop, taken: Pack) -> None:
    """Remember a pack that was taken as an issue of the workshop; raises StoreError."""
    kept = kept_of(taken)
    text = as_bytes({"format": KEPT_FORMAT, **asdict(kept)}).decode()
    _put(workshop, ISSUE, kept.issue.number, text, f"issue {kept.issue} taken")


def _put(workshop: Workshop, kind: str, id: str, text: str, why: str, seen: int | None = None) -> None:
    """Keep a text that is said anew as a whole: whatever was said before, or only where that was ``seen``, 0 for none.

    Raises ClashError where something else was said meanwhile.
    """

    def anew(head: Head) -> tuple[str, str]:
        if seen not in (None, head.number):
            raise ClashError((f"the {kind}",), head.text, text)
        return text, why

    try:
        if not seen:
            workshop.save(kind, id, text, why, seen=None)
            return
    except TakenError:
        pass
    workshop.change(kind, id, anew)


def kept_of(taken: Pack) -> Kept:
    """What is remembered of a pack."""
    goes = taken.goes
    stored = contents.numbered(goes.bench)
    return Kept(
        goes.issue,
        tuple(
            KeptMacro(
                each.macro.id,
                each.macro.name,
                taken.files[f"{contents.SOURCE_FOLDER}/macros/{id}.toml"].decode(),
                each.content.decode(),
                own_lines(each.macro, goes.bench),
                each.number if stored else 0,
                each.slow.number if stored and not isinstance(each.slow, str) else 0,
                "" if isinstance(each.slow, str) else _without_comments(each.slow.texts),
            )
            for id, each in goes.taken.items()
        ),
        "" if goes.blind else table_digest(taken),
        () if goes.blind else held.parts(goes.bench),
        () if goes.blind else held.wanted(goes.bench),
        "" if goes.blind else program_digest(taken),
    )


def own_lines(macro: Macro, bench: Bench) -> str:
    """What a macro becomes, without the head that names it."""
    return with_heading(build(macro, bench), (), bench).text


def table_digest(taken: Pack) -> str:
    """The digest of what the pendant sends and where, whatever issue it is of and whatever has been measured."""
    said = json_text.read(taken.files[table.JSON])
    said.pop("invented", None)
    return manifest.digest(as_bytes({**said, "issue": ""}))


def program_digest(taken: Pack) -> str:
    """The digest of the pendant's program beside its tables, whatever issue it is of: another pin, a later version."""
    issue = str(taken.goes.issue).encode()
    parts = {
        path: manifest.digest(content.replace(issue, b""))
        for path, content in sorted(taken.files.items())
        if path.startswith(PROGRAM_FOLDER) and path != TABLES
    }
    return manifest.digest(as_bytes(parts))


def known(workshop: Workshop) -> tuple[Kept, ...]:
    """Every issue that was taken from the workshop, the latest first; one that cannot be read is left out."""
    found = []
    for id in workshop.ids(ISSUE):
        try:
            saved = next(each.saved for each in workshop.revisions(ISSUE, id) if each.current)
            found.append((saved, _kept(workshop.text(ISSUE, id), id)))
        except IssueError:
            continue
    return tuple(kept for _, kept in sorted(found, key=lambda each: each[0], reverse=True))


def fit(workshop: Workshop, named: str, day: str, *, seen: int | None = None) -> Fitted:
    """Say that an issue is on the machine since a day (ISO 8601); raises IssueError where it was never taken.

    ``named`` is its number, with or without its day before it. ``seen`` is the ``fitted_revision`` on which this is
    said, None for whichever there is; raises ClashError where it is another one by now.
    """
    number = named.split()[-1].lower() if named.split() else ""
    if number not in workshop.ids(ISSUE):
        there = ", ".join(str(each.issue) for each in known(workshop)) or "none yet"
        raise IssueError(f"no issue {named!r} was taken from this workshop; there are: {there}")
    try:
        day = date.fromisoformat(day).isoformat()
    except ValueError:
        raise IssueError(f"{day!r} is no day; write it like 2026-05-04") from None
    text = f'format = "{FITTED_FORMAT}"\nissue = "{number}"\nsince = {day}\n'
    _put(workshop, FITTED, SINGLETON, text, f"issue {number} fitted", seen)
    return Fitted(_kept(workshop.text(ISSUE, number), number), day)


def fitted_revision(workshop: Workshop) -> int:
    """The number of the revision that says what is on the machine, 0 where nobody has said it yet."""
    return workshop.head(FITTED, SINGLETON).number if SINGLETON in workshop.ids(FITTED) else 0


def fitted(workshop: Workshop) -> Fitted | None:
    """What is on the machine, None where nobody has said so yet; raises IssueError where that cannot be read."""
    if SINGLETON not in workshop.ids(FITTED):
        return None
    try:
        said = toml_text.read(workshop.text(FITTED, SINGLETON), FITTED)
        if said.get("format") != FITTED_FORMAT:
            raise IssueError(
                f"what is fitted is of format {said.get('format')}, of a newer Clickstop; update the program"
            )
        number, since = str(said["issue"]), said["since"]
        return Fitted(_kept(workshop.text(ISSUE, number), number), date.isoformat(since))
    except (DocumentError, StoreError, KeyError, TypeError) as error:
        raise IssueError(
            f"what is fitted cannot be read ({error}); say it again with: clickstop fitted ISSUE"
        ) from error


def _kept(text: str, number: str) -> Kept:
    try:
        said: Mapping[str, object] = json_text.read(text)
        if said["format"] != KEPT_FORMAT:
            raise IssueError(f"issue {number} was written by a newer Clickstop; update the program")
        issue = Issue(**said["issue"])  # type: ignore[arg-type]
        macros = tuple(KeptMacro(**each) for each in said["macros"])  # type: ignore[attr-defined]
        _require_types(issue, *macros)
        return Kept(
            issue,
            macros,
            str(said["table"]),
            _pairs(said.get("parts", ())),
            _pairs(said.get("wanted", ())),
            str(said.get("program", "")),
        )
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise IssueError(f"issue {number} cannot be read; take a new pack") from error


def _require_types(*made: Issue | KeptMacro) -> None:
    """Raise TypeError where a value is not of the type that it was written as."""
    for part in made:
        for each in fields(part):
            if type(getattr(part, each.name)) is not {"int": int, "str": str}[str(each.type)]:
                raise TypeError(f"{each.name} is no {each.type}")


def _pairs(said: object) -> held.Pairs:
    return tuple((str(name), str(value)) for name, value in said)  # type: ignore[attr-defined]
