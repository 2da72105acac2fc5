"""What the page To the machine shows: the wishes in its address, the files they come to, what differs from before."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from textwrap import shorten
from typing import Any
from urllib.parse import urlencode

from werkzeug.datastructures import MultiDict

from library import json_text, verdicts
from library.bench import Bench
from library.difference import DifferentLine, difference
from library.fields import in_mm
from library.macros import ANYWHERE
from library.numbering import slots
from library.pack import Gathered, Printing, card_sides, manifest
from library.proving import Reason
from parser import NoSolverError
from parser.machine import ROTARY
from parser.proof.second import solver
from webapp.pages.summary import VERDICT_SHAPES

PAGES = (".svg", ".html")
"""What is printed: a difference between two of them says nothing line by line."""

FEW_WORDS = 80
"""Characters of a reason in a few words."""

Arguments = MultiDict[str, str]

FIRST = (
    "README", "macros/", "first-run/", "pendant/", "slots", "card", "prove-out", "commissioning",
    "manifest", "printed", "questions/", "documents/",
)  # fmt: skip
"""The order of the files: what runs on the machine first, the documents last."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A macro that may go, and whether it is wanted."""

    id: str
    name: str
    slots: str
    wanted: bool


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A macro or a slot that does not go. ``brief`` is the reason in a few words; ``missed`` whether it was wanted."""

    id: str
    reason: str
    brief: str
    missed: bool


@dataclass(frozen=True, slots=True)
class Wishes:
    """The form as it was filled in. ``start`` pairs each axis with what was typed; ``problem`` says what is wrong.

    ``second`` says that a second opinion is wanted, ``no_solver`` what to install for one, "" where it can be asked.
    """

    choices: tuple[Choice, ...]
    width: str
    height: str
    start: tuple[tuple[str, str], ...]
    problem: str
    query: str
    second: bool
    no_solver: str


@dataclass(frozen=True, slots=True)
class PackedMacro:
    """A macro of the pack, as its manifest names it. ``slow`` is its slow copy, "" where it has none."""

    id: str
    name: str
    file: str
    slots: tuple[str, ...]
    shape: str
    word: str
    sentence: str
    slow: str
    why_not_slow: str


@dataclass(frozen=True, slots=True)
class File:
    """A file of the pack as the page shows it."""

    path: str
    size: str
    digest: str
    text: str


@dataclass(frozen=True, slots=True)
class Changed:
    """A file that is not as it was last time: ``kind`` is "new", "gone" or "changed"."""

    path: str
    kind: str
    lines: tuple[DifferentLine, ...]


def wished(gathered: Gathered, bench: Bench, arguments: Arguments) -> tuple[Gathered, Wishes]:
    """What is to be taken by the arguments of the address; what cannot be used is told, and left as it is by itself."""
    gathered, choices = _chosen(gathered, bench, arguments)
    printing, problem = Printing(), ""
    usual = {name: bench.figures.bare(side, 1) for name, side in _sides(printing)}
    width, height = (arguments.get(name, side) for name, side in usual.items())
    typed = {axis: arguments.get(f"start-{axis}", "").strip() for axis in bench.machine.names}
    try:
        start = {axis: _place(text, axis, bench) for axis, text in typed.items() if text}
        wide, high = _number(width, "the width of the card"), _number(height, "the height of the card")
        printing = replace(printing, start=start)
        if (width, height) != tuple(usual.values()):
            wide, high = card_sides(wide, high, bench.figures)
            printing = replace(printing, card_width=wide, card_height=high)
    except ValueError as error:
        problem = f"{str(error)[0].upper()}{str(error)[1:]}."
    second = "second-opinion" in arguments
    wishes = Wishes(
        choices,
        width,
        height,
        tuple(typed.items()),
        problem,
        urlencode(list(arguments.items(multi=True))),
        second,
        _no_solver(),
    )
    return replace(gathered, printing=printing, second=second), wishes


def _no_solver() -> str:
    """What to install for a second opinion, "" where it can be asked for."""
    try:
        solver.load()
    except NoSolverError as error:
        return str(error)
    return ""


def _sides(printing: Printing) -> tuple[tuple[str, float], ...]:
    return ("width", printing.card_width), ("height", printing.card_height)


def _chosen(gathered: Gathered, bench: Bench, arguments: Arguments) -> tuple[Gathered, tuple[Choice, ...]]:
    on: dict[str, list[str]] = {}
    for slot in slots(bench.pendant):
        if slot.macro in gathered.macros:
            on.setdefault(slot.macro, []).append(slot.label)
    wanted = frozenset(arguments.getlist("go")) if "choosing" in arguments else None
    choices = tuple(
        Choice(id, bench.shelf[id].name if id in bench.shelf else id, ", ".join(labels), wanted is None or id in wanted)
        for id, labels in on.items()
    )
    return replace(gathered, chosen=wanted), choices


def _number(text: str, what: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise ValueError(f"{what} is {text!r}, which is not a number") from None


def _place(text: str, axis: str, bench: Bench) -> float:
    """A start in mm or degrees; raises ValueError for what is no number or outside of travel."""
    value = _number(text, f"the start of {axis.upper()}")
    at = value if axis in ROTARY else in_mm(value, bench.machine_sheet.units)
    known = bench.machine.axis(axis)
    if known is None or not known.travel.contains(at, 1e-9):
        raise ValueError(f"the start of {axis.upper()} is {text}, outside of its travel")
    return at


def files(made: Mapping[str, bytes]) -> Iterator[File]:
    """Every file, what runs on the machine first and the documents last, with the sum of each."""
    for path in sorted(made, key=_rank):
        content = made[path]
        yield File(path, f"{len(content)} bytes", manifest.digest(content), content.decode())


def outgoing(made: Mapping[str, bytes]) -> Iterator[PackedMacro]:
    """The macros that go, read off the manifest that goes with them."""
    for each in json_text.read(made[manifest.NAME])["macros"]:
        yield PackedMacro(
            id=each["id"],
            name=each["name"],
            file=each["file"],
            slots=tuple(each["slots"]),
            shape=VERDICT_SHAPES[each["verdict"]],
            word=_word(each),
            sentence=each["sentence"],
            slow=each["first_run"].get("file", ""),
            why_not_slow=each["first_run"].get("none", ""),
        )


def _word(entry: Mapping[str, Any]) -> str:
    """The verdict of an entry of the manifest in words."""
    conditioned = entry["start"].strip().lower() not in ("", ANYWHERE)
    lines = [finding["line"] for finding in entry["findings"] if finding["undecided"]]
    said = entry["second_opinion"]
    twice = said is not None and said["outcome"] == "agreed" and said["questions"] > 0
    return verdicts.worded(entry["verdict"], lines, conditioned=conditioned, twice=twice)


def left_out(reasons: Mapping[str, str], wishes: Wishes) -> tuple[LeftOut, ...]:
    """What does not go with the reason, first what was wanted: a slot, or a macro that is on one and is ticked."""
    wanted = {choice.id for choice in wishes.choices if choice.wanted}
    found = (LeftOut(id, why, _brief(why), id in wanted or _is_slot(id)) for id, why in reasons.items())
    return tuple(sorted(found, key=lambda each: not each.missed))


def _is_slot(id: str) -> bool:
    """Whether a slot was left out, not a macro, whose id has no blank in it."""
    return " " in id


def _brief(reason: str) -> str:
    """A reason in a few words: the rule that refuses, else as much of its first sentence as goes beside a tick."""
    if isinstance(reason, Reason):
        return f"refused, {reason.rule}"
    return shorten(reason.partition(". ")[0].rstrip("."), FEW_WORDS, placeholder="\N{HORIZONTAL ELLIPSIS}")


def changed(before: Mapping[str, bytes], now: Mapping[str, bytes]) -> Iterator[Changed]:
    """The files that differ, in the order of the page, with what differs in those that are lines."""
    issues = [_issue(each) for each in (before, now)]
    for path in sorted(before.keys() | now.keys(), key=_rank):
        old, new = (each.get(path) for each in (before, now))
        if old and new and old.replace(issues[0], issues[1]) == new:
            continue
        if old != new:
            kind = "new" if old is None else "gone" if new is None else "changed"
            told = kind == "changed" and not path.endswith(PAGES)
            yield Changed(path, kind, difference(_text(old), _text(new)) if told else ())


def _issue(files: Mapping[str, bytes]) -> bytes:
    """The issue that stands on every file of a pack; that it is another is no difference between two files."""
    try:
        return str(manifest.read_issue(json_text.read(files[manifest.NAME]))).encode()
    except (ValueError, KeyError, TypeError):
        return b""


def _rank(path: str) -> tuple[list[bool], str]:
    return [not path.startswith(each) for each in FIRST], path


def _text(content: bytes | None) -> str:
    return (content or b"").decode(errors="replace")
