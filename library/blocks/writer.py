"""The one place that puts an action into the controller's own words.

It knows which modes the lines so far have put in force, so that a unit, distance or system word is written before its
first use and not again, and which of them have to be put back at the end.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING

from library.bench import Bench
from library.blocks.lacking import INSTEAD, NO_CALCULATING, NO_PAUSE, no_word
from library.blocks.numbers import Numbers, fixed
from library.errors import BlockError
from parser.language.sheet_lines import ends_text
from parser.language.words import G_GROUPS
from parser.machine import AXES, MM_PER_INCH, ROTARY, SYSTEMS, Interval, Origin
from parser.motion.modes import CYCLES, MOTION, SYSTEM, only_modes

PLAIN_SYSTEM = "G54"
ORIGINS, ORIGIN_STEP = 5221, 20
"""The parameter of the first origin, and the step to that of the next system (NISTIR 6556, 3.2.1)."""

PROBED: Mapping[str, int] = {name: 5061 + place for place, name in enumerate(AXES)}
"""Where the probe tripped last, in the coordinates then in force (NISTIR 6556, 3.2.1)."""


@dataclass(frozen=True, slots=True)
class Mark:
    """Where the text stands, with all that a writer knows of it."""

    lines: int
    in_force: Mapping[int, str | None]
    probed_in: str | None
    plain_zero: Mapping[str, float | None]
    moved_zeros: frozenset[tuple[str, str]]
    closing: int
    asked: int


def to_put_back(resting: Sequence[str], in_force: Mapping[int, str | None]) -> list[str]:
    """The resting modes that are not in force, G80 among them after a canned cycle; what is left out is as it was.

    G80 is no mode to rest in: it only ends a cycle, and some controllers have neither.
    """
    others = [word for word in resting if G_GROUPS.get(word) != MOTION]
    back = [word for word in others if in_force.get(G_GROUPS.get(word, 0), word) != word]
    return [*back, "G80"] if in_force.get(MOTION) in CYCLES else back


def safe_text(text: str) -> str:
    """Text that is safe inside a comment or a message: plain letters, digits and a few signs.

    Parentheses end a comment, and some controllers act on single signs wherever they stand (memory).
    """
    plain = unicodedata.normalize("NFKD", text.replace("(", "[").replace(")", "]")).encode("ascii", "ignore").decode()
    kept = re.sub(r"[^A-Za-z0-9 .,:+\-/=_\[\]'&*<>]", " ", plain)
    return re.sub(r" +", " ", kept).strip()


class Writer:
    """Collects lines. Positions given to it are machine coordinates in mm (degrees), rates mm/min, times seconds."""

    def __init__(self, bench: Bench) -> None:
        self.lines: list[str] = []
        self._bench = bench
        self._controller = bench.controller
        self._in_force: dict[int, str | None] = {}
        self._probed_in: str | None = None
        self._plain_zero: dict[str, float | None] = {}
        self._moved_zeros: frozenset[tuple[str, str]] = frozenset()
        self._closing: list[str] = []
        self.asked: list[str] = []
        self.hand_rate: float | None = None
        self._inch = "G20" in bench.controller.resting
        decimals = bench.controller_sheet.decimals
        self._numbers = Numbers(bench.machine, self._inch, decimals.inch if self._inch else decimals.mm)

    def machine_move(self, targets: Mapping[str, float], feed: float | None = None) -> None:
        """A straight move in machine coordinates, at rapid or at a feed in mm/min.

        Where the controller has no G53 it is written in the work system that is kept for that, else in G54, whose
        origin then has to be one known number; raises BlockError otherwise.
        """
        feed = self._by_hand(targets, feed)
        if self._has_machine_moves:
            self._put_in_force(self._units, "G90", *self._feed_words(feed))
            self._straight("G53 ", {name: (at, 0.0) for name, at in targets.items()}, feed)
            return
        origins = {name: self._plain_origin(name) for name in targets}
        offset = ("G49",) if "z" in targets else ()
        self._put_in_force(self._units, self._counted_in, *offset, "G90", *self._feed_words(feed))
        self._straight("", {name: (at, origins[name]) for name, at in targets.items()}, feed)

    def work_move(self, system: str, targets: Mapping[str, float], feed: float | None = None) -> None:
        """A straight move in the coordinates of a work system, Z with no tool length offset, at rapid or at a feed."""
        self._require_a_work_system(system)
        feed = self._by_hand(targets, feed)
        offset = ("G49",) if "z" in targets else ()
        self._put_in_force(self._units, system, *offset, "G90", *self._feed_words(feed))
        self._go(
            "",
            [f"{name.upper()}{self._numbers.distance(name, targets[name])}" for name in AXES if name in targets],
            feed,
        )

    def relative_move(self, by: Mapping[str, float], feed: float | None = None) -> None:
        """A straight move by so many mm (degrees) along each axis, at rapid or at a feed; then back to G90."""
        self.step_by(by, feed)
        self.absolute()

    def step_by(self, by: Mapping[str, float], feed: float | None = None) -> None:
        """The same, one of several: G91 stays in force, to be ended by ``absolute``."""
        feed = self._by_hand(by, feed)
        self._put_in_force(self._units, "G91", *self._feed_words(feed))
        words = [f"{name.upper()}{self._numbers.distance(name, by[name])}" for name in AXES if name in by]
        self._go("", words, feed)

    def probe_by(self, system: str, by: Mapping[str, float], feed: float) -> None:
        """A probing move by at most so many mm; its result is in the coordinates of that system. G91 stays in force.

        The result holds all axes (NISTIR 6556, 3.2.1): after a touch sideways its Z is no place that was probed.
        """
        self._require_a_work_system(system)
        self._require("G38.2")
        offset = ("G49",) if "z" in by else ()
        self._put_in_force(self._units, system, *offset, "G91", "G94")
        words = " ".join(f"{name.upper()}{self._numbers.distance(name, by[name])}" for name in AXES if name in by)
        self._moved("G38.2", f"G38.2 {words} F{self._numbers.rate(feed, self.hand_rate)}")
        self._probed_in = system if "z" in by else None

    def absolute(self) -> None:
        """Back to G90 after steps."""
        self._put_in_force("G90")

    def step_from_contact(self, axis: str, kept: int, feed: float) -> None:
        """A straight feed from where the probe has just tripped to the place along an axis that a parameter holds.

        By the difference of the two, so that it is no matter where the zero of the system lies, nor whether an offset
        by G92 is in force, which is in both of them. G91 stays in force.
        """
        self._require_calculating()
        held = self._by_hand((axis,), feed)
        self._put_in_force(self._units, "G91", "G94")
        self._go("", [f"{axis.upper()}[#{kept}-#{PROBED[axis]}]"], held)

    def set_origin_from_values(self, system: str, values: Mapping[str, str], less: Mapping[str, float]) -> None:
        """The origin of a work system at what ``values`` come to in its own coordinates, less so many mm."""
        self._require_a_work_system(system)
        self._require("G10")
        self._require_calculating()
        self._put_in_force(self._units)
        words = [
            f"{name.upper()}[{value}+#{self._held(system, name)}{self._numbers.taken_off(less[name])}]"
            for name, value in values.items()
        ]
        self.as_given(f"G10 L2 P{SYSTEMS.index(system) + 1} {' '.join(words)}")
        for name in values:
            self._moved_zero(system, name, None)

    def set_origin_here(self, system: str, name: str, value: float) -> None:
        """Where an axis stands now reads a value in a work system, Z with no tool length offset.

        By the line of the controller sheet for that; else by G92, which then holds in every system.
        """
        self._require_a_work_system(system)
        offset = ("G49",) if name == "z" else ()
        line = self._controller.origin_here
        named = bool(line) and "{system}" in line
        self._put_in_force(self._units, *(() if named else (system,)), *offset)
        number = self._numbers.distance(name, value)
        if line:
            for field, filled in (("{axis}", name.upper()), ("{value}", number)):
                line = line.replace(field, filled)
            self.as_given(line.replace("{system}", str(SYSTEMS.index(system) + 1)))
        else:
            self.words(f"G92 {name.upper()}{number}")
        for moved in (system,) if line else SYSTEMS:  # G92 counts in all nine systems
            self._moved_zero(moved, name, None)

    def set_origin(self, system: str, origin: Mapping[str, float]) -> None:
        """The origin of a work system, in machine coordinates."""
        self._require_a_work_system(system)
        self._require("G10")
        self._put_in_force(self._units)
        numbers = {name: self._numbers.target(name, origin[name], 0.0) for name in AXES if name in origin}
        words = " ".join(f"{name.upper()}{number}" for name, number in numbers.items())
        self.words(f"G10 L2 P{SYSTEMS.index(system) + 1} {words}")
        for name, number in numbers.items():
            self._moved_zero(system, name, float(number) * (MM_PER_INCH if self._inch else 1.0))

    def set_origin_from_probe(self, system: str, above: float) -> None:
        """The Z origin of a work system, so many mm below where the probe of a step before tripped."""
        self._require_a_work_system(system)
        self._require("G10")
        if not self._controller.expressions:
            raise BlockError(NO_CALCULATING, "source")
        if self._probed_in is None:
            raise BlockError("nothing has been probed before this step; put a probe-down step before it")
        self._put_in_force(self._units)
        held, less = self._held(self._probed_in, "z"), self._numbers.taken_off(above)
        self.as_given(f"G10 L2 P{SYSTEMS.index(system) + 1} Z[#{PROBED['z']}+#{held}{less}]")
        self._moved_zero(system, "z", None)

    def dwell(self, seconds: float) -> None:
        """A wait, in the controller's word and unit; rounded upwards, so that it is never shorter than asked."""
        if seconds <= 0:
            return
        self._require("G4")
        count, decimals = (seconds * 1000, 0) if self._controller.dwell_unit == "ms" else (seconds, 3)
        self.as_given(f"G4 {self._controller.dwell_word}{fixed(count, decimals, ROUND_CEILING)}")

    def comment(self, text: str) -> None:
        """A comment, cut to the controller's line limit."""
        before, after = ("; ", "") if self._controller.comments == "semicolon" else ("(", ")")
        # A comment that begins with MSG and a comma would be shown to the operator.
        told = re.sub(r"^(msg) *,", r"\1", safe_text(text), flags=re.IGNORECASE)
        self.as_given(before + told[: max(0, self._controller.line_limit - len(before + after))].rstrip() + after)

    def message(self, text: str) -> None:
        """Text for the operator; a comment on a controller that shows none."""
        if not self._controller.message:
            self.comment(text)
            return
        self.as_given(self._shown(text))

    def ask(self, text: str) -> None:
        """Tell the operator what is to be done, and wait; raises BlockError where the controller cannot wait."""
        self.message(text)
        self.pause()
        self.asked.append(safe_text(text))

    def pause(self) -> None:
        """The line that waits for the operator; raises BlockError where the controller has none."""
        if not self._controller.pause:
            raise BlockError(NO_PAUSE)
        self.words(self._controller.pause)

    def close_with(self, text: str) -> None:
        """Tell the operator what is to be done once the macro has ended; nothing can be written after that."""
        room = self._controller.line_limit - len(self._shown(""))
        if len(safe_text(text)) > room:
            raise BlockError(
                f"a line of {self._controller.line_limit} characters has no room for {text!r}, which has to be read in "
                "full; check line_limit on the controller sheet"
            )
        self._closing.append(text)

    def words(self, line: str) -> None:
        """Words that change none of the modes kept here; raises BlockError where the controller lacks one."""
        self._require(*(word for word in line.split() if word[0] in "GM"))
        self.as_given(line)

    def as_given(self, line: str) -> None:
        """A line of somebody else's, that changes none of the modes kept here."""
        if self._closing:
            raise BlockError(f"the macro has ended before this step with {self._closing[0]!r}; make that step the last")
        self.lines.append(line)

    def mark(self) -> Mark:
        """Where the text stands now."""
        return Mark(
            lines=len(self.lines),
            in_force=dict(self._in_force),
            probed_in=self._probed_in,
            plain_zero=dict(self._plain_zero),
            moved_zeros=self._moved_zeros,
            closing=len(self._closing),
            asked=len(self.asked),
        )

    def back_to(self, mark: Mark) -> None:
        """Take out what was written since a mark."""
        del self.lines[mark.lines :]
        del self._closing[mark.closing :]
        del self.asked[mark.asked :]
        self._in_force, self._probed_in = dict(mark.in_force), mark.probed_in
        self._plain_zero, self._moved_zeros = dict(mark.plain_zero), mark.moved_zeros

    def moved_zero(self, system: str, name: str) -> bool:
        """Whether a step before has put the zero of a work system elsewhere than the machine sheet has it."""
        return (system, name) in self._moved_zeros

    def forget(self, motion: str | None = None, *, zeros_of: Iterable[str] = ()) -> None:
        """After lines of others: nothing put in force before can be counted on, but for the motion they end in.

        ``zeros_of`` are the work systems whose zeros they may have moved.
        """
        for system in zeros_of:
            for name in AXES:
                self._moved_zero(system, name, None)
        self._in_force, self._probed_in = {**dict.fromkeys(self._in_force), MOTION: motion}, None

    @property
    def closes(self) -> bool:
        """Whether the operator is told something once the macro has ended."""
        return bool(self._closing)

    def finish(self) -> range:
        """Put back the resting modes of the groups that were changed here, and write what every file ends with.

        Gives the indices of the lines that tell the operator what is to be done then.
        """
        closing, self._closing = self._closing, []
        self.rest()
        sheet = self._bench.controller_sheet
        if sheet.settle:
            self.as_given(sheet.settle)
        told = range(len(self.lines), len(self.lines) + len(closing))
        for text in closing:
            self.message(text)
        for line in (sheet.ending, "%" if sheet.percent else ""):
            if line:
                self.as_given(line)
        return told

    def rest(self) -> None:
        """Put back the resting modes of the groups that were changed here."""
        changed = to_put_back(self._controller.resting, self._in_force)
        if self._in_force.get(SYSTEM) == self._counted_in != PLAIN_SYSTEM and not set(SYSTEMS) & {*changed}:
            changed.append(PLAIN_SYSTEM)  # a program that trusts the system it finds must not find that one
        lacks = self._controller.unsupported
        changed = [word for word in changed if word not in lacks]
        if changed:
            self.as_given(" ".join(changed))
            self._in_force.update({G_GROUPS[word]: word for word in changed})

    @property
    def _has_machine_moves(self) -> bool:
        return self._controller.machine_moves and "G53" not in self._controller.unsupported

    @property
    def _counted_in(self) -> str:
        """The work system that stands for machine coordinates where there is no G53."""
        return self._bench.controller_sheet.machine_system or PLAIN_SYSTEM

    def _shown(self, text: str) -> str:
        """The line that shows a text, which is cut to the line limit and has nothing in it that would end it."""
        template = self._controller.message
        if not template:
            return "; " if self._controller.comments == "semicolon" else "()"
        ends = ends_text(template)
        plain = "".join(" " if sign in ends else sign for sign in safe_text(text))
        room = self._controller.line_limit - len(template.replace("{text}", ""))
        return template.replace("{text}", plain[: max(0, room)].rstrip())

    def _require(self, *words: str) -> None:
        """Raise BlockError where the controller lacks a word, with what there is instead."""
        missing = next((word for word in words if word in self._controller.unsupported), None)
        if missing is not None:
            raise BlockError(no_word(missing))

    def _require_calculating(self) -> None:
        if not self._controller.expressions:
            raise BlockError(NO_CALCULATING)

    def _require_a_work_system(self, system: str) -> None:
        """Raise BlockError for the system that is kept for machine coordinates."""
        if not self._has_machine_moves and system == self._bench.controller_sheet.machine_system:
            raise BlockError(
                f"{system} is kept at 0, 0, 0 for machine coordinates (machine_system on the controller sheet); "
                "choose another work system",
                "system",
            )

    @property
    def _units(self) -> str:
        return "G20" if self._inch else "G21"

    def _by_hand(self, names: Iterable[str], feed: float | None) -> float | None:
        """The feed of a move under the hand rate: a rapid of axes that all are slower anyway stays one."""
        rate = self.hand_rate
        if rate is None or (feed is None and all(self._numbers.axis(name).rapid <= rate for name in names)):
            return feed
        return rate if feed is None else min(feed, rate)

    @staticmethod
    def _feed_words(feed: float | None) -> tuple[str, ...]:
        return () if feed is None else ("G94",)

    def _put_in_force(self, *words: str) -> None:
        always = only_modes(self._controller)
        missing = [
            word for word in words if self._in_force.get(G_GROUPS[word]) != word and always.get(G_GROUPS[word]) != word
        ]
        self._require(*missing)
        if missing:
            self.as_given(" ".join(missing))
            self._in_force.update({G_GROUPS[word]: word for word in missing})

    def _straight(self, prefix: str, targets: Mapping[str, tuple[float, float]], feed: float | None) -> None:
        words = [f"{name.upper()}{self._numbers.target(name, *targets[name])}" for name in AXES if name in targets]
        self._go(prefix, words, feed)

    def _go(self, prefix: str, words: Sequence[str], feed: float | None) -> None:
        turns = all(word[0].lower() in ROTARY for word in words)
        motion, rate = (
            ("G0", "") if feed is None else ("G1", f" F{self._numbers.rate(feed, self.hand_rate, turns=turns)}")
        )
        self._moved(motion, f"{prefix}{motion} {' '.join(words)}{rate}")

    @staticmethod
    def _held(system: str, name: str) -> int:
        """The parameter that holds the origin of a work system along an axis."""
        return ORIGINS + ORIGIN_STEP * SYSTEMS.index(system) + AXES.index(name)

    def _moved_zero(self, system: str, name: str, at: float | None) -> None:
        """The zero of a system is elsewhere now: what a probe found does not count from it, nor does the sheet hold."""
        if name == "z" and self._probed_in == system:
            self._probed_in = None
        self._moved_zeros |= {(system, name)}
        if system == self._counted_in:
            self._plain_zero[name] = at

    def _moved(self, motion: str, line: str) -> None:
        self.as_given(line)
        self._in_force[G_GROUPS[motion]] = motion

    def _plain_origin(self, name: str) -> float:
        if name in self._plain_zero:
            at = self._plain_zero[name]
            if at is None:
                raise BlockError(
                    f"this controller has no G53, and the {self._counted_in} zero in {name.upper()} has just been "
                    "probed, or moved by a step before, so no place can be given from it; move that of another system"
                )
            return at
        setups = self._bench.machine.setups
        system = self._counted_in
        origins = {setup.origins.get(system, Origin({})).axes.get(name) for setup in setups}
        only = origins.pop()
        if system != PLAIN_SYSTEM and (origins or only != Interval(0.0, 0.0)):
            raise BlockError(
                f"{system} is to be kept at 0, 0, 0 for machine coordinates (machine_system on the controller sheet), "
                f"and work.{system}.{name} on the machine sheet says otherwise; take it out there, or choose another "
                "machine_system"
            )
        if origins or only is None or only.length:
            raise BlockError(
                f"this controller has no G53 (machine_moves on the controller sheet), and the {PLAIN_SYSTEM} origin in "
                f"{name.upper()} is not one number in every setup; {INSTEAD['G53']}, or give "
                f"work.{PLAIN_SYSTEM}.{name} on the machine sheet as one number"
            )
        return only.low
