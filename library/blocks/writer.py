"""The one place that puts an action into the controller's own words.

It knows which modes the lines so far have put in force, so that a unit, distance or system word is written before its
first use and not again, and which of them have to be put back at the end.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from library.bench import Bench
from library.errors import BlockError
from parser.language.words import G_GROUPS
from parser.machine import AXES, MM_PER_INCH, SYSTEMS, Axis, Origin
from parser.motion.offsets import within_margins

NOISE = 9  # decimals beyond which a difference is the arithmetic's, not the machinist's
PLAIN_SYSTEM = "G54"
ORIGINS, ORIGIN_STEP = 5221, 20
"""The parameter of the first origin, and the step to that of the next system (NISTIR 6556, 3.2.1)."""

PROBED: Mapping[str, int] = {name: 5061 + place for place, name in enumerate(AXES)}
"""Where the probe tripped last, in the coordinates then in force (NISTIR 6556, 3.2.1)."""

Mark = tuple[int, dict[int, str | None], str | None, dict[str, float | None]]


def fixed(value: float, decimals: int, rounding: str = ROUND_HALF_EVEN) -> str:
    """A number with at most so many decimals, without useless zeros, and never "-0"."""
    exact = Decimal(repr(round(value, NOISE)))
    text = format(exact.quantize(Decimal(1).scaleb(-decimals), rounding), "f")
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


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
        self._inch = "G20" in bench.controller.resting
        decimals = bench.controller_sheet.decimals
        self._decimals = decimals.inch if self._inch else decimals.mm

    def machine_move(self, targets: Mapping[str, float], feed: float | None = None) -> None:
        """A straight move in machine coordinates, at rapid or at a feed in mm/min.

        Where the controller has no G53 it is written in G54, which needs that origin to be one known number; raises
        BlockError otherwise.
        """
        if self._controller.machine_moves:
            self._put_in_force(self._units, "G90", *self._feed_words(feed))
            self._straight("G53 ", {name: (at, 0.0) for name, at in targets.items()}, feed)
            return
        origins = {name: self._plain_origin(name) for name in targets}
        offset = ("G49",) if "z" in targets else ()
        self._put_in_force(self._units, PLAIN_SYSTEM, *offset, "G90", *self._feed_words(feed))
        self._straight("", {name: (at, origins[name]) for name, at in targets.items()}, feed)

    def work_move(self, system: str, targets: Mapping[str, float], feed: float | None = None) -> None:
        """A straight move in the coordinates of a work system, Z with no tool length offset, at rapid or at a feed."""
        offset = ("G49",) if "z" in targets else ()
        self._put_in_force(self._units, system, *offset, "G90", *self._feed_words(feed))
        self._go("", [f"{name.upper()}{self._distance(name, targets[name])}" for name in AXES if name in targets], feed)

    def relative_move(self, by: Mapping[str, float], feed: float | None = None) -> None:
        """A straight move by so many mm (degrees) along each axis, at rapid or at a feed; then back to G90."""
        self.step_by(by, feed)
        self.absolute()

    def step_by(self, by: Mapping[str, float], feed: float | None = None) -> None:
        """The same, one of several: G91 stays in force, to be ended by ``absolute``."""
        self._put_in_force(self._units, "G91", *self._feed_words(feed))
        words = [f"{name.upper()}{self._distance(name, by[name])}" for name in AXES if name in by]
        self._go("", words, feed)

    def probe_by(self, system: str, by: Mapping[str, float], feed: float) -> None:
        """A probing move by at most so many mm; its result is in the coordinates of that system. G91 stays in force."""
        offset = ("G49",) if "z" in by else ()
        self._put_in_force(self._units, system, *offset, "G91", "G94")
        words = " ".join(f"{name.upper()}{self._distance(name, by[name])}" for name in AXES if name in by)
        self._moved("G38.2", f"G38.2 {words} F{self._rate(feed)}")

    def absolute(self) -> None:
        """Back to G90 after steps."""
        self._put_in_force("G90")

    def move_to_kept(self, system: str, kept: Mapping[str, int], feed: float) -> None:
        """A straight feed to coordinates of a work system that stand in parameters, by the number of each."""
        self._put_in_force(self._units, system, "G90", "G94")
        self._go("", [f"{name.upper()}#{kept[name]}" for name in AXES if name in kept], feed)

    def set_origin_from_values(self, system: str, values: Mapping[str, str], less: Mapping[str, float]) -> None:
        """The origin of a work system at what ``values`` come to in its own coordinates, less so many mm."""
        self._put_in_force(self._units)
        first = ORIGINS + ORIGIN_STEP * SYSTEMS.index(system)
        words = [
            f"{name.upper()}[{value}+#{first + AXES.index(name)}{self._taken_off(less[name])}]"
            for name, value in values.items()
        ]
        self.as_given(f"G10 L2 P{SYSTEMS.index(system) + 1} {' '.join(words)}")
        for name in values:
            self._moved_zero(system, name, None)

    def set_origin_here(self, system: str, name: str, value: float) -> None:
        """Where an axis stands now reads a value in a work system, Z with no tool length offset.

        By the line of the controller sheet for that; else by G92, which then holds in every system.
        """
        offset = ("G49",) if name == "z" else ()
        line = self._controller.origin_here
        named = bool(line) and "{system}" in line
        self._put_in_force(self._units, *(() if named else (system,)), *offset)
        number = self._distance(name, value)
        if line:
            for field, filled in (("{axis}", name.upper()), ("{value}", number)):
                line = line.replace(field, filled)
            self.as_given(line.replace("{system}", str(SYSTEMS.index(system) + 1)))
        else:
            self.as_given(f"G92 {name.upper()}{number}")
        self._moved_zero(system if line else PLAIN_SYSTEM, name, None)

    def probe_down(self, system: str, depth: float, feed: float) -> None:
        """Down by at most so many mm until the probe trips; the result is in the coordinates of that work system."""
        self._put_in_force(self._units, system, "G49", "G91", "G94")
        self._moved("G38.2", f"G38.2 Z{self._distance('z', -depth)} F{self._rate(feed)}")
        self._probed_in = system
        self._put_in_force("G90")

    def set_origin(self, system: str, origin: Mapping[str, float]) -> None:
        """The origin of a work system, in machine coordinates."""
        self._put_in_force(self._units)
        numbers = {name: self._target(name, origin[name], 0.0) for name in AXES if name in origin}
        words = " ".join(f"{name.upper()}{number}" for name, number in numbers.items())
        self.as_given(f"G10 L2 P{SYSTEMS.index(system) + 1} {words}")
        for name, number in numbers.items():
            self._moved_zero(system, name, float(number) * (MM_PER_INCH if self._inch else 1.0))

    def set_origin_from_probe(self, system: str, above: float) -> None:
        """The Z origin of a work system, so many mm below where the probe of a step before tripped."""
        if self._probed_in is None:
            raise BlockError("nothing has been probed before this step; put a probe-down step before it")
        self._put_in_force(self._units)
        held = ORIGINS + AXES.index("z") + ORIGIN_STEP * SYSTEMS.index(self._probed_in)
        less = self._taken_off(above)
        self.as_given(f"G10 L2 P{SYSTEMS.index(system) + 1} Z[#{PROBED['z']}+#{held}{less}]")
        self._moved_zero(system, "z", None)

    def dwell(self, seconds: float) -> None:
        """A wait, in the controller's word and unit; rounded upwards, so that it is never shorter than asked."""
        if seconds <= 0:
            return
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
        room = self._controller.line_limit - len(self._controller.message.replace("{text}", ""))
        self.as_given(self._controller.message.replace("{text}", safe_text(text)[: max(0, room)].rstrip()))

    def pause(self) -> None:
        """The line that waits for the operator; raises BlockError where the controller has none."""
        if not self._controller.pause:
            raise BlockError("this controller has no line that waits for the operator (pause on the controller sheet)")
        self.as_given(self._controller.pause)

    def as_given(self, line: str) -> None:
        """A line that changes none of the modes kept here."""
        self.lines.append(line)

    def mark(self) -> Mark:
        """Where the text stands now."""
        return len(self.lines), dict(self._in_force), self._probed_in, dict(self._plain_zero)

    def back_to(self, mark: Mark) -> None:
        """Take out what was written since a mark."""
        del self.lines[mark[0] :]
        self._in_force, self._probed_in, self._plain_zero = dict(mark[1]), mark[2], dict(mark[3])

    def forget(self) -> None:
        """After lines of others: nothing put in force before can be counted on."""
        self._in_force, self._probed_in = dict.fromkeys(self._in_force), None

    def rest(self) -> None:
        """Put back the resting modes of the groups that were changed here."""
        changed = [word for word in self._controller.resting if self._in_force.get(G_GROUPS.get(word, 0), word) != word]
        if changed:
            self.as_given(" ".join(changed))
            self._in_force.update({G_GROUPS[word]: word for word in changed})

    @property
    def _units(self) -> str:
        return "G20" if self._inch else "G21"

    @staticmethod
    def _feed_words(feed: float | None) -> tuple[str, ...]:
        return () if feed is None else ("G94",)

    def _put_in_force(self, *words: str) -> None:
        missing = [word for word in words if self._in_force.get(G_GROUPS[word]) != word]
        if missing:
            self.as_given(" ".join(missing))
            self._in_force.update({G_GROUPS[word]: word for word in missing})

    def _straight(self, prefix: str, targets: Mapping[str, tuple[float, float]], feed: float | None) -> None:
        words = [f"{name.upper()}{self._target(name, *targets[name])}" for name in AXES if name in targets]
        self._go(prefix, words, feed)

    def _go(self, prefix: str, words: Sequence[str], feed: float | None) -> None:
        motion, rate = ("G0", "") if feed is None else ("G1", f" F{self._rate(feed)}")
        self._moved(motion, f"{prefix}{motion} {' '.join(words)}{rate}")

    def _rate(self, feed: float) -> str:
        rate = self._length(feed)
        if float(rate) <= 0:
            raise BlockError("the feed is zero once it is rounded to the controller's decimals; ask for more")
        return rate

    def _taken_off(self, mm: float) -> str:
        """The end of a sum from which so many mm are taken off, "" for none."""
        off = self._length(-mm)
        return "" if off == "0" else off if off.startswith("-") else f"+{off}"

    def _distance(self, name: str, by: float) -> str:
        """The word's number for a distance along an axis."""
        axis = self._axis(name)
        return fixed(by, self._decimals) if axis.rotary else self._length(by)

    def _axis(self, name: str) -> Axis:
        axis = self._bench.machine.axis(name)
        if axis is None:
            has = ", ".join(self._bench.machine.names).upper()
            raise BlockError(f"this machine has no {name.upper()} axis; it has {has}")
        return axis

    def _moved_zero(self, system: str, name: str, at: float | None) -> None:
        """The zero of a system is elsewhere now: what a probe found does not count from it, nor does the sheet hold."""
        if name == "z" and self._probed_in == system:
            self._probed_in = None
        if system == PLAIN_SYSTEM:
            self._plain_zero[name] = at

    def _moved(self, motion: str, line: str) -> None:
        self.as_given(line)
        self._in_force[G_GROUPS[motion]] = motion

    def _length(self, mm: float) -> str:
        return fixed(mm / MM_PER_INCH if self._inch else mm, self._decimals)

    def _target(self, name: str, at: float, origin: float) -> str:
        """The word's number for a machine coordinate, counted from ``origin``.

        Z is rounded upwards and other axes to the nearest; but a place inside the travel, or inside the travel less its
        margin, stays inside it.
        """
        axis = self._axis(name)
        scale = MM_PER_INCH if self._inch and not axis.rotary else 1.0
        text = fixed((at - origin) / scale, self._decimals, ROUND_CEILING if name == "z" else ROUND_HALF_EVEN)
        for room in (axis.travel, within_margins(axis.travel, self._bench.machine.travel_margin)):
            lands = float(text) * scale + origin
            if room.contains(at, 10**-NOISE) and not room.contains(lands, 10**-NOISE):
                inwards = ROUND_FLOOR if lands > room.high else ROUND_CEILING
                text = fixed((at - origin) / scale, self._decimals, inwards)
        return text

    def _plain_origin(self, name: str) -> float:
        if name in self._plain_zero:
            at = self._plain_zero[name]
            if at is None:
                raise BlockError(
                    f"this controller has no G53, and the {PLAIN_SYSTEM} zero in {name.upper()} has just been probed "
                    "or set where it stands, so no place can be given from it; set that of another system"
                )
            return at
        setups = self._bench.machine.setups
        origins = {setup.origins.get(PLAIN_SYSTEM, Origin({})).axes.get(name) for setup in setups}
        only = origins.pop()
        if origins or only is None or only.length:
            raise BlockError(
                f"this controller has no G53, and the {PLAIN_SYSTEM} origin in {name.upper()} is not one number "
                f"in every setup; give work.{PLAIN_SYSTEM}.{name} on the machine sheet as one number"
            )
        return only.low
