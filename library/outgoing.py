"""What goes into a pack: the documents, and each macro with the bytes that were proved and what is sent for it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from library.bench import Bench
from library.errors import LibraryError
from library.fields import in_mm
from library.macros import Macro
from library.numbering import Slot
from library.proving import Proved
from library.slots import SLOT_BYTES, blind_sending, size
from library.stages import Lines
from parser.findings import Finding
from parser.machine import SheetPart
from parser.opinion import SecondOpinion
from parser.parts import invented_figures
from parser.quantities import Figures
from parser.report import Report

SMALLEST_CARD, WIDEST_CARD, TALLEST_CARD = 30.0, 180.0, 240.0
"""What a side of the legend card may measure, mm; the largest goes on A4 (ISO 216) and Letter with its cut marks."""

MACRO_FOLDER, FIRST_RUN_FOLDER = "macros", "first-run"


class PackError(LibraryError):
    """A pack cannot be made, written or read; ``str()`` is one clear line."""


@dataclass(frozen=True, slots=True)
class Printing:
    """How a user wants the printed pages: the card's size in mm, and where the first run starts.

    ``start`` holds machine coordinates (mm, degrees); an axis that is left out starts where tools are clear.
    Raises ValueError for a card that cannot be held or does not go on the paper.
    """

    card_width: float = 90.0
    card_height: float = 60.0
    start: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        card_sides(self.card_width, self.card_height, Figures())


def card_sides(width: float, height: float, figures: Figures) -> tuple[float, float]:
    """The sides of a card in mm, given in the units of ``figures``; ValueError, in these, as ``Printing`` raises it."""
    sides = []
    for word, side, most in (("wide", width, WIDEST_CARD), ("high", height, TALLEST_CARD)):
        mm = in_mm(side, figures.units)
        if not SMALLEST_CARD <= mm <= most:
            bounds = f"{figures.bare(SMALLEST_CARD, 0)} to {figures.length(most, 0)}"
            raise ValueError(f"a card is {bounds} {word}, not {side:g}")
        sides.append(mm)
    return sides[0], sides[1]


@dataclass(frozen=True, slots=True)
class Issue:
    """A pack by the day of its documents (ISO 8601, "" where not known) and eight hexadecimal digits of their sum."""

    day: str
    number: str

    def __str__(self) -> str:
        return f"{self.day} {self.number}".strip()


@dataclass(frozen=True, slots=True)
class Held:
    """The numbers that macros and slow copies have in the issue that is fitted: by number the key and a name."""

    issue: str
    numbers: Mapping[int, tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Reload:
    """What has to be loaded anew where an issue is on the machine since a day: files, and what is to be done."""

    issue: str
    since: str
    what: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Gathered:
    """The documents a pack is made from, as text: one of each sheet, and macros by id.

    ``dates`` gives the day each kind of sheet was last saved (ISO 8601, UTC), where that is known. ``chosen`` holds the
    ids of the macros that are wanted, None for all. ``macro_days`` is for macros what ``dates`` is for sheets. ``day``
    is that of the issue, the latest of those of what goes where it is "". ``held`` is what the fitted issue has numbers
    for, None where nothing is fitted or it has none. ``second`` asks for a second opinion on all that goes; ``said``
    holds what one has said before, which is believed then: by id of the macro, and by ``slow_key`` and ``sent_key``.
    """

    machine: str
    controller: str
    pendant: str
    macros: Mapping[str, str]
    dates: Mapping[str, str] = field(default_factory=dict)
    chosen: frozenset[str] | None = None
    printing: Printing = field(default_factory=Printing)
    macro_days: Mapping[str, str] = field(default_factory=dict)
    day: str = ""
    held: Held | None = None
    second: bool = False
    said: Mapping[str, SecondOpinion] = field(default_factory=dict)


def slow_key(id: str) -> str:
    """What the slow copy of a macro goes by where a second opinion is kept."""
    return f"{FIRST_RUN_FOLDER}/{id}"


def sent_key(id: str, gesture: int) -> str:
    """The same for what a gesture sends for it, counted from 1."""
    return f"{id}/{gesture}"


@dataclass(frozen=True, slots=True)
class Stage:
    """What one gesture sends: the lines, and the most seconds the pendant waits for the answer to any of them.

    ``motion`` is the most seconds that all of it takes: after so long it is over, where nothing else tells that.
    ``opinion`` is a second one on the lines, None where none was asked for or they call what is stored.
    """

    lines: Lines
    patience: float
    motion: float
    opinion: SecondOpinion | None = None


@dataclass(frozen=True, slots=True)
class SlowCopy:
    """A macro with every move slow: the bytes of its file, what was proved of them, and the line each line became.

    ``file`` and ``number`` are its own, never those of a macro; ``call`` is the line that runs it where it is stored.
    ``lines`` maps a line of the macro file to the one of the slow copy that makes its moves, both counted from 1.
    """

    content: bytes
    report: Report
    lines: Mapping[int, int]
    file: str
    number: int
    call: str

    @property
    def texts(self) -> tuple[str, ...]:
        """The lines without their ends."""
        return tuple(line.text for line in self.report.program.lines)


@dataclass(frozen=True, slots=True)
class Taken:
    """A macro that goes: its file as it was proved, with the head, and the stages the pendant sends for it.

    ``proved.built`` and ``proved.report`` are of ``content``, the very bytes of ``file`` (a name in the macro folder).
    ``slow`` is its slow copy, or a clause that says why it has none.
    """

    proved: Proved
    content: bytes
    file: str
    number: int
    stages: tuple[Stage, ...]
    slow: SlowCopy | str

    @property
    def path(self) -> str:
        """Where its file is in the pack."""
        return f"{MACRO_FOLDER}/{self.file}"

    @property
    def slow_path(self) -> str:
        """Where its slow copy is, "" where it has none."""
        return "" if isinstance(self.slow, str) else f"{FIRST_RUN_FOLDER}/{self.slow.file}"

    @property
    def macro(self) -> Macro:
        return self.proved.macro

    @property
    def report(self) -> Report:
        return self.proved.report


@dataclass(frozen=True, slots=True)
class Outgoing:
    """All that a pack says: the bench, the macros that go in the order of their slots, and what was left out.

    ``slots`` are the slots in use whose macro goes.
    """

    bench: Bench
    dates: Mapping[str, str]
    taken: Mapping[str, Taken]
    slots: tuple[Slot, ...]
    left_out: Mapping[str, str]
    printing: Printing
    issue: Issue

    @property
    def bytes_used(self) -> int:
        """What the slot table takes in the pendant's memory."""
        sent = ([stage.lines for stage in each.stages] for each in self.taken.values())
        return len(self.slots) * SLOT_BYTES + sum(map(size, sent))

    @property
    def rests_on(self) -> tuple[SheetPart, ...]:
        """The parts of the sheets that the proofs rest on, in the order of the sheets."""
        used = {part for each in self.taken.values() for part in each.report.rests_on}
        return tuple(part for part in (*self.bench.machine.parts, *self.bench.controller.parts) if part in used)

    @property
    def invented(self) -> str:
        """What everything in it says while nobody has measured what the proofs rest on; "" once all of it is."""
        return invented_figures(self.rests_on)

    @property
    def blind(self) -> Finding | None:
        """Why the slot table stays here: lines would be sent to a controller that answers nothing."""
        sends = {each.macro.name: tuple(stage.lines for stage in each.stages) for each in self.taken.values()}
        return blind_sending(sends, self.bench)

    @property
    def longest_line(self) -> int:
        """Bytes of the longest line that is sent."""
        every = (line for each in self.taken.values() for stage in each.stages for line in stage.lines)
        return max((len(line.encode()) for line in every), default=0)


Contributor = Callable[[Outgoing], Mapping[str, bytes]]
"""Gives files of a pack by their path; each has its digest in the manifest."""

PageContributor = Callable[[Outgoing, str], Mapping[str, bytes]]
"""Gives printed pages, which may show the SHA-256 of the manifest: the second argument, in hexadecimal."""
