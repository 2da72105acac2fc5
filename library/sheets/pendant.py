"""The pendant sheet: positions, increments, the gesture that fires a macro, and which macro is where."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from library.fields import Count, Flag, Name, Part, Seconds, Slug, twice, wrong
from library.nearest import did_you_mean


class Position(Part):
    """A position of the pendant's axis selector."""

    label: Name = Field(description="what is written at the position; unique on the pendant")
    drives: Literal["x", "y", "z", "a", "b", "c"] | None = Field(
        default=None, description="the axis the handwheel moves there; left out: a spare position"
    )


class Gesture(Part):
    """What fires a macro; turning the selector alone never starts anything."""

    settle: Seconds = Field(default=0.5, description="time the selector has to rest first")
    enable_held: Flag = Field(default=True, description="true: the enable button is released, then pressed and held")
    clicks: Annotated[int, Field(strict=True, ge=1, le=100)] = Field(
        default=3, description="handwheel clicks one way within the window; a reversal starts over"
    )
    window: Seconds = Field(default=1.5, description="time within which the clicks have to come")


class Memory(Part):
    """Room in the pendant's microcontroller."""

    bytes: Count = Field(default=20480, description="room for the slot table; our choice, look yours up")
    longest_line: Annotated[int, Field(strict=True, ge=1, le=10_000)] = Field(
        default=80, description="most characters of a line the pendant can hold; our choice, look yours up"
    )


_USUAL_POSITIONS = (
    *(Position(label=axis.upper(), drives=axis) for axis in ("x", "y", "z")),
    *(Position(label=label) for label in ("4", "5", "6")),
)


class PendantSheet(Part):
    """The pendant: selector positions, increments, the gesture that fires a macro, and which macro is where."""

    format: Literal["clickstop-pendant/1"] = Field(description="kind and version of the document")
    name: Name = Field(default="Hand pendant", description="what the pendant is called")
    positions: tuple[Position, ...] = Field(
        default=_USUAL_POSITIONS, description="positions of the axis selector", min_length=1
    )
    increments: tuple[Name, ...] = Field(
        default=("x1", "x10", "x100"), description="positions of the increment selector", min_length=1
    )
    gesture: Gesture = Field(default_factory=Gesture, description="what fires a macro")
    memory: Memory = Field(default_factory=Memory, description="room in the pendant's microcontroller")
    slots: dict[str, dict[str, Slug]] = Field(
        default_factory=dict, description="macro ids by position label and increment"
    )

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
                if increment not in self.increments:
                    hint = did_you_mean(increment, self.increments) or f"; it has {', '.join(self.increments)}"
                    raise wrong(f"is not an increment of this pendant{hint}", "slots", label, increment)
        return self

    def spare(self) -> tuple[Position, ...]:
        """The positions that drive no axis."""
        return tuple(position for position in self.positions if position.drives is None)
