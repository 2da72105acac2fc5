"""The macro document: an ordered list of steps with a name and a purpose, and edits that keep its comments.

In the edits steps are numbered from 1, as they are everywhere a person or a finding names them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Literal, Self

from pydantic import ConfigDict, Field, model_validator

from library import toml_text
from library.fields import Name, Part, Slug, Text, Units, slug, twice, wrong

OFF = "true: the step is switched off; it stays in the macro and writes no lines"
"""What the key of a step that is kept but not used means."""


class Step(Part):
    """One use of a block, with its values; which values a block takes is said by the block."""

    model_config = ConfigDict(frozen=True, extra="allow", populate_by_name=True, defer_build=True)

    block: Slug = Field(description="the block this step uses")
    off: bool = Field(default=False, strict=True, description=OFF)

    @property
    def values(self) -> dict[str, Any]:
        """What the step gives the block, by parameter name: formulas and texts as written, numbers, flags, lists."""
        return dict(self.model_extra or {})

    @model_validator(mode="after")
    def _values_are_plain(self) -> Self:
        for key, value in self.values.items():
            why = _not_plain(value)
            if why:
                raise wrong(why, key)
        return self


def _not_plain(value: object, depth: int = 0) -> str:
    """Why a value cannot be one of a step, "" where it can."""
    if isinstance(value, float) and not math.isfinite(value):
        return "is not a finite number; write a number or a formula"
    if isinstance(value, str | bool | int | float):
        return ""
    if isinstance(value, list | dict) and depth < 3:
        entries = value if isinstance(value, list) else list(value.values())
        return next(filter(None, (_not_plain(entry, depth + 1) for entry in entries)), "")
    return "has to be a text, a number, true or false, or a list of those"


class Acceptance(Part):
    """A refusal lowered to a caution, with the reason."""

    rule: Slug = Field(description="the rule whose refusal is accepted")
    because: Name = Field(description="why it is accepted; printed beside the verdict")


ANYWHERE = "anywhere"
"""A start that is no condition."""


class Macro(Part):
    """An ordered list of steps with a name and a purpose."""

    format: Literal["clickstop-macro/1"] = Field(description="kind and version of the document")
    id: Slug = Field(description="short name for files and slots: lower-case letters, digits and hyphens")
    name: Name = Field(description="what the macro is called")
    purpose: Text = Field(default="", description="what it is for, one sentence")
    author: Text = Field(default="", description="who wrote it")
    licence: Text = Field(default="CC0-1.0", description="the terms it is shared under, an SPDX name")
    tags: tuple[Name, ...] = Field(default=(), description="words to find it by on the shelf")
    units: Units = Field(default="mm", description="mm or inch, for numbers that are written without a unit")
    start: Text = Field(
        default=ANYWHERE, description='where it may fire from: "anywhere", or a condition such as "z >= -20 mm"'
    )
    hand_rate: Text = Field(
        default="",
        description='no axis faster than this rate, a formula such as "2000 mm/min"; "": as fast as the machine can',
    )
    accepted: tuple[Acceptance, ...] = Field(
        default=(), description="refusals lowered to cautions, each with the reason"
    )
    step: tuple[Step, ...] = Field(default=(), description="the steps, in order")

    @property
    def conditioned(self) -> bool:
        """Whether it may fire only under a condition on where it starts."""
        return self.start.strip().lower() not in ("", ANYWHERE)

    @model_validator(mode="before")
    @classmethod
    def _id_from_name(cls, data: Any) -> Any:
        if isinstance(data, dict) and "id" not in data and isinstance(data.get("name"), str) and slug(data["name"]):
            return {**data, "id": slug(data["name"])[:60].strip("-")}
        return data

    @model_validator(mode="after")
    def _rules_differ(self) -> Self:
        repeated = twice([entry.rule for entry in self.accepted])
        if repeated is not None:
            raise wrong("is accepted twice; once is enough", "accepted", repeated, "rule")
        return self


def add_step(text: str, block: str, values: Mapping[str, object] | None = None, at: int | None = None) -> str:
    """The text with a new step so that it becomes step number ``at`` (from 1); None: after the last one."""
    count = len(_steps(text))
    return toml_text.add_entry(text, "step", count if at is None else at - 1, {"block": block, **(values or {})})


def move_step(text: str, number: int, to: int) -> str:
    """The text with step ``number`` moved to become step ``to``, the comments above it with it."""
    return toml_text.move_entry(text, "step", number - 1, to - 1)


def remove_step(text: str, number: int) -> str:
    """The text without step ``number`` and the comments right above it."""
    return toml_text.remove_entry(text, "step", number - 1)


def set_step_value(text: str, number: int, key: str, value: object) -> str:
    """The text with one value of step ``number`` set; ``None`` takes it out, so that the block's default holds."""
    if not 1 <= number <= len(_steps(text)):
        raise toml_text.DocumentError(f"there is no step {number}; there are {len(_steps(text))}", key="step")
    return toml_text.set_value(text, ("step", number - 1, key), value)


def switch(text: str, number: int, *, off: bool) -> str:
    """The text with step ``number`` switched off or on; one that is on has no key for it."""
    return set_step_value(text, number, "off", True if off else None)


def copy_step(text: str, number: int) -> str:
    """The text with step ``number`` once more right after it, values as written; comments stay with the first."""
    steps = _steps(text)
    if not 1 <= number <= len(steps):
        raise toml_text.DocumentError(f"there is no step {number}; there are {len(steps)}", key="step")
    return toml_text.add_entry(text, "step", number, dict(steps[number - 1]))


def set_header(text: str, key: str, value: object) -> str:
    """The text with a key of the macro itself set (name, purpose, start, tags, ...); ``None`` takes it out."""
    return toml_text.set_value(text, (key,), value)


def accept(text: str, rule: str, because: str) -> str:
    """The text with the refusals of a rule accepted for that reason, in place of the reason given before."""
    rules = _accepted(text)
    if rule in rules:
        return toml_text.set_value(text, ("accepted", rules.index(rule), "because"), because)
    if not rules:
        text = set_header(text, "accepted", None)  # "accepted = []" leaves no room for tables of that name
    return toml_text.add_entry(text, "accepted", len(rules), {"rule": rule, "because": because})


def take_back(text: str, rule: str) -> str:
    """The text without its acceptance of a rule; as it is where there is none."""
    rules = _accepted(text)
    return toml_text.remove_entry(text, "accepted", rules.index(rule)) if rule in rules else text


def _accepted(text: str) -> list[str]:
    """The rules that a macro accepts, in the order of its text."""
    entries = toml_text.read(text).get("accepted", [])
    return [str(entry.get("rule")) for entry in entries] if isinstance(entries, list) else []


def _steps(text: str) -> list[Any]:
    steps = toml_text.read(text).get("step", [])
    return steps if isinstance(steps, list) else []
