"""The pendant sheet: positions, increments, the gesture that fires a macro, its wiring, and which macro is where."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from library.days import Day
from library.fields import LARGEST, Count, Flag, Name, Part, Rate, Seconds, Size, Slug, twice, wrong
from library.nearest import did_you_mean
from library.sheets import parts
from library.sheets.wiring import Wiring

MOST_CLICKS = 100
"""Clicks that a gesture may ask for in all (our choice: one turn of the usual handwheel)."""

MOST_RUNS = 8  # our choice

FIRST_RUN = "first-run/"
"""What stands before the id of a macro where the number is that of its slow copy."""


class Position(Part):
    """A position of the pendant's axis selector."""

    label: Name = Field(description="what is written at the position; unique on the pendant")
    drives: Literal["x", "y", "z", "a", "b", "c"] | None = Field(
        default=None, description="the axis the handwheel moves there; left out: a spare position"
    )
    dead: Flag = Field(
        default=False,
        description="true: the selector counts it, but it drives nothing and holds no macro, such as OFF",
    )

    @model_validator(mode="after")
    def _dead_drives_nothing(self) -> Self:
        if self.dead and self.drives:
            raise wrong(f"is true, but the position drives {self.drives}; take one of the two out", "dead")
        return self

    @property
    def spare(self) -> bool:
        """Whether a macro may stand there."""
        return not self.dead and self.drives is None


class Gesture(Part):
    """What fires a macro; turning the selector alone never starts anything."""

    settle: Seconds = Field(default=0.5, description="time the selector has to rest first")
    enable_held: Flag = Field(default=True, description="true: the enable button is released, then pressed and held")
    turns: tuple[Annotated[int, Field(strict=True, ge=-MOST_CLICKS, le=MOST_CLICKS)], ...] = Field(
        default=(3, -3),
        description="runs of handwheel clicks, either way round first: [3, -3] is three one way and three back, [3] "
        "three one way, as a jog would make",
        min_length=1,
        max_length=MOST_RUNS,
    )
    window: Seconds = Field(
        default=3.0,
        description="time within which all clicks have to come; a click too many or the wrong way starts over",
    )

    @model_validator(mode="before")
    @classmethod
    def _clicks_were_one_run(cls, data: Any) -> Any:
        """A sheet of earlier days has ``clicks = 3`` for what is ``turns = [3]`` now."""
        if not isinstance(data, dict) or "clicks" not in data:
            return data
        clicks = data["clicks"]
        if "turns" in data:
            raise wrong("is the earlier way to write turns, which is there as well; take it out", "clicks")
        if isinstance(clicks, bool) or not isinstance(clicks, int) or not 1 <= clicks <= MOST_CLICKS:
            raise wrong(
                f"has to be a whole number from 1 to {MOST_CLICKS}; or write turns = [3, -3] instead of it", "clicks"
            )
        return {"turns": [clicks], **{key: value for key, value in data.items() if key != "clicks"}}

    @model_validator(mode="after")
    def _runs_turn_back(self) -> Self:
        for index, clicks in enumerate(self.turns):
            if clicks == 0:
                raise wrong("is 0; a run has at least one click", "turns", index)
        for before, after in pairwise(self.turns):
            if (before > 0) == (after > 0):
                both = f"has {before} and then {after}, the same way round"
                raise wrong(f"{both}; write one run of {before + after}, or turn back in between", "turns")
        if self.clicks > MOST_CLICKS:
            raise wrong(f"comes to {self.clicks} clicks; at most {MOST_CLICKS} can be asked for", "turns")
        return self

    @property
    def runs(self) -> tuple[int, ...]:
        """How many clicks each run has; the first may go either way round, each other goes back."""
        return tuple(abs(clicks) for clicks in self.turns)

    @property
    def clicks(self) -> int:
        """How many clicks it has in all."""
        return sum(self.runs)


class Jog(Part):
    """What one click of the handwheel does on a position that drives an axis."""

    step: dict[str, Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=1000)]] = Field(
        default={"x1": 0.01, "x10": 0.1, "x100": 1.0},
        description="how far a click goes, mm or degrees, by increment; one that is left out does not jog",
    )
    rate: Rate = Field(default=1000.0, description="rate of a click, mm/min or degrees/min")
    in_flight: Annotated[int, Field(strict=True, ge=1, le=100)] = Field(
        default=2,
        description="lines under way at most; clicks meanwhile are merged up to one line's worth, the rest dropped",
    )


class Memory(Part):
    """Room in the pendant's microcontroller."""

    flash: Count = Field(default=16384, description="bytes for tables and program; our choice, look yours up")
    ram: Count = Field(default=1024, description="bytes for what has to be in memory; our choice, look yours up")
    longest_line: Annotated[int, Field(strict=True, ge=1, le=10_000)] = Field(
        default=96, description="most characters of a line the pendant can hold; our choice, look yours up"
    )

    @model_validator(mode="before")
    @classmethod
    def _bytes_were_flash(cls, data: Any) -> Any:
        """A sheet of earlier days has ``bytes`` for what is ``flash`` now."""
        if not isinstance(data, dict) or "bytes" not in data:
            return data
        room = data["bytes"]
        if "flash" in data:
            raise wrong("is the earlier way to write flash, which is there as well; take it out", "bytes")
        if isinstance(room, bool) or not isinstance(room, int) or not 0 <= room <= LARGEST:
            raise wrong(f"has to be a whole number of at most {LARGEST:.0f}; it is written flash now", "bytes")
        return {"flash": room, **{key: value for key, value in data.items() if key != "bytes"}}


class Wheel(Part):
    """The handwheel."""

    clicks_per_turn: Annotated[int, Field(strict=True, ge=1, le=10_000)] = Field(
        default=100, description="clicks of one whole turn"
    )
    edges_per_click: Literal[1, 2, 4] = Field(
        default=4, description="changes of the two signals from one click to the next: 1, 2 or 4"
    )


_USUAL_POSITIONS = (
    Position(label="OFF", dead=True),
    *(Position(label=axis.upper(), drives=axis) for axis in ("x", "y", "z")),
    *(Position(label=label) for label in ("4", "5", "6")),
)

Numbered = Annotated[str, Field(max_length=80, pattern=rf"^({FIRST_RUN})?[a-z0-9]+(-[a-z0-9]+)*$")]


class PendantSheet(Part):
    """The pendant: selector positions, increments, gesture, jog, wiring, and which macro is where."""

    format: Literal["clickstop-pendant/1"] = Field(description="kind and version of the document")
    name: Name = Field(default="Hand pendant", description="what the pendant is called")
    positions: tuple[Position, ...] = Field(
        default=_USUAL_POSITIONS,
        description="positions of the axis selector in its order, one that only switches off among them",
        min_length=1,
    )
    increments: tuple[Name, ...] = Field(
        default=("x1", "x10", "x100"), description="positions of the increment selector", min_length=1
    )
    hand_rate: Size = Field(
        default=0.0, description="no axis of any macro faster than this, mm/min; 0: as fast as the machine can"
    )
    gesture: Gesture = Field(default_factory=Gesture, description="what fires a macro")
    jog: Jog = Field(default_factory=Jog, description="what a click does on a position that drives an axis")
    memory: Memory = Field(default_factory=Memory, description="room in the pendant's microcontroller")
    wheel: Wheel = Field(default_factory=Wheel, description="the handwheel")
    wiring: Wiring | None = Field(
        default=None, description="wires and pins, for the commissioning sheet and the board file; may be left out"
    )
    numbers: dict[Numbered, Count] = Field(
        default_factory=dict,
        description="number of each stored macro, given when it is first packed and never given again while it stands "
        f'here; "{FIRST_RUN}ID" is the slow copy of ID',
    )
    slots: dict[str, dict[str, Slug]] = Field(
        default_factory=dict, description="macro ids by position label and increment"
    )
    measured: dict[str, Day] = Field(
        default_factory=dict,
        description="the day on which a part was found so at the pendant: selectors, gesture, wheel, memory, wiring. "
        "What is not here is invented, and a part that changes loses its day",
    )

    @model_validator(mode="after")
    def _jogs_within_the_hand_rate(self) -> Self:
        if 0 < self.hand_rate < self.jog.rate:
            why = f"gives a rate of jogging of {self.jog.rate:g}, faster than the hand rate of {self.hand_rate:g}"
            raise wrong(f"{why}; lower it, or raise hand_rate", "jog", "rate")
        return self

    @model_validator(mode="before")
    @classmethod
    def _earlier_days_had_no_dead_position(cls, data: Any) -> Any:
        """A sheet with keys of earlier days that names no positions means the six there were then, not one more."""
        earlier = isinstance(data, dict) and any(
            isinstance(data.get(table), dict) and key in data[table]
            for table, key in (("gesture", "clicks"), ("memory", "bytes"))
        )
        return {**data, "positions": _USUAL_POSITIONS[1:]} if earlier and "positions" not in data else data

    @model_validator(mode="after")
    def _slots_exist(self) -> Self:
        labels = [position.label for position in self.positions]
        for names, path, what in ((labels, "positions", "label"), (list(self.increments), "increments", None)):
            repeated = twice(names)
            if repeated is not None:
                place: tuple[str | int, ...] = (path, repeated) if what is None else (path, repeated, what)
                raise wrong(f'"{names[repeated]}" is there twice; labels have to differ', *place)
        for label, row in self.slots.items():
            if label not in labels:
                hint = did_you_mean(label, labels) or f"; it has {', '.join(labels)}"
                raise wrong(f"is not a position of this pendant{hint}", "slots", label)
            for increment in row:
                self._require_increment(increment, "slots", label, increment)
        if "step" in self.jog.model_fields_set:
            for increment in self.jog.step:
                self._require_increment(increment, "jog", "step", increment)
        return self

    @model_validator(mode="after")
    def _what_was_found_is_a_part(self) -> Self:
        parts.require_parts(self.measured, self.parts)
        return self

    @property
    def parts(self) -> tuple[str, ...]:
        """The parts that somebody may confirm at the pendant, by the names they have under ``measured``."""
        return tuple(self.named)

    @property
    def named(self) -> dict[str, str]:
        """What each part is called in a sentence; without wiring there is none to confirm."""
        words = dict(parts.WORDS["pendant"])
        return words if self.wiring else {part: called for part, called in words.items() if part != "wiring"}

    @model_validator(mode="after")
    def _a_number_is_that_of_one(self) -> Self:
        owners: dict[int, str] = {}
        for key, number in self.numbers.items():
            other = owners.setdefault(number, key)
            if other != key:
                what = f'is {number}, which is the number of "{other}" already: one would run as the other'
                raise wrong(f'{what}; give "{key}" a number of its own (number-taken)', "numbers", key)
        return self

    @model_validator(mode="after")
    def _wires_lead_to_what_there_is(self) -> Self:
        known = {"selector": [position.label for position in self.positions], "increments": list(self.increments)}
        for index, signal in enumerate(self.wiring.signal if self.wiring else ()):
            labels = known.get(signal.group)
            if labels is not None and signal.is_ not in labels:
                hint = did_you_mean(signal.is_, labels) or f"; there are {', '.join(labels)}"
                what = f'is "{signal.is_}", which is not in the group {signal.group}{hint}'
                raise wrong(what, "wiring", "signal", index, "is")
        return self

    def _require_increment(self, increment: str, *path: str) -> None:
        if increment not in self.increments:
            hint = did_you_mean(increment, self.increments) or f"; it has {', '.join(self.increments)}"
            raise wrong(f"is not an increment of this pendant{hint}", *path)

    def spare(self) -> tuple[Position, ...]:
        """The positions that a macro may be put on."""
        return tuple(position for position in self.positions if position.spare)

    def jogs(self) -> Iterator[tuple[str, str, float]]:
        """Each axis that a position drives with each increment and the step of one click, in the order of the sheet."""
        for axis in dict.fromkeys(position.drives for position in self.positions if position.drives):
            for increment in self.increments:
                if increment in self.jog.step:
                    yield axis, increment, self.jog.step[increment]
