"""The controller sheet: which words are understood, and what happens where controllers differ."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from library.days import Day
from library.fields import Count, Flag, Name, Part, Rate, Text, Units, wrong
from library.nearest import did_you_mean
from library.sheets import parts
from parser.language.words import G_GROUPS, M_GROUPS, WORDS, reads_as_words
from parser.machine import SYSTEMS
from parser.templates import origin_line


class Dwell(Part):
    """How the controller writes a dwell."""

    word: Literal["P", "S"] = Field(default="P", description="letter of the dwell time: P or S")
    unit: Literal["s", "ms"] = Field(default="s", description="unit of the dwell time: s or ms")


class Decimals(Part):
    """Digits after the point in the lines of a macro."""

    mm: Annotated[int, Field(strict=True, ge=0, le=6)] = Field(default=3, description="decimals of a length in mm")
    inch: Annotated[int, Field(strict=True, ge=0, le=6)] = Field(
        default=4, description="decimals of a length in inches"
    )


def _sendable(value: object) -> object:
    sendable = isinstance(value, str) and all(sign.isprintable() or "\0" < sign < " " for sign in value)
    if isinstance(value, str) and (not sendable or set(value) & {"\r", "\n"}):
        why = "has to be one line of printable characters and control bytes such as \\u0018"
        raise PydanticCustomError("wrong", "{why}", {"why": why, "path": []})
    return value


Signs = Annotated[str, Field(strict=True, max_length=200), BeforeValidator(_sendable)]
"""What the pendant sends as it stands; control bytes may be in it, for some controllers are stopped by one."""

FIELDS = {
    "message": {"text"},
    "call": {"number", "slug"},
    "file_name": {"number", "slug"},
    "program_head": {"number", "slug"},
    "origin_here": {"axis", "value", "system"},
}
"""What may be filled in within the braces of a key."""


class ControllerSheet(Part):
    """Which words the controller understands and how it behaves where controllers differ."""

    format: Literal["clickstop-controller/1"] = Field(description="kind and version of the document")
    name: Name = Field(default="RS-274/NGC as published", description="what the controller is called")
    units: Units = Field(default="mm", description="mm or inch, for first_run_rate")
    g28: Literal["return", "home", "none"] = Field(
        default="return",
        description="return: G28 goes to the stored point; home: it homes the machine; none: not understood",
    )
    g28_axes: Literal["all", "named"] = Field(
        default="all", description="which axes G28 moves: all, as published, or those named on the line"
    )
    homing: tuple[Name, ...] = Field(
        default=(),
        description="lines that home the machine; empty: home at the panel",
    )
    refuses_unhomed: Flag = Field(default=False, description="true: the controller itself refuses motion before homing")
    machine_moves: Flag = Field(default=True, description="true: G53, a move in machine coordinates, is understood")
    dwell: Dwell = Field(default_factory=Dwell, description="how a dwell is written")
    comments: Literal["parentheses", "semicolon"] = Field(default="parentheses", description="how comments are written")
    pause: Text = Field(default="M0", description='line that waits for the operator; "" where there is none')
    message: Text = Field(
        default="(MSG, {text})",
        description='line that shows {text} to the operator, in parentheses or not; "" where there is none: then the '
        "card says it",
    )
    settle: Text = Field(default="", description='line that waits until all motion has finished; "" where not needed')
    resting: Text = Field(
        default="G17 G21 G40 G90 G94",
        description="resting modes, the words of a safe-start line: what is expected between programs. Words that "
        "unsupported lists are left out of them",
    )
    expressions: Flag = Field(default=True, description="true: brackets and # parameters are understood")
    program_head: Text = Field(
        default="",
        description='first line of a stored macro where one is needed, such as "O{number}"; "" for none',
    )
    origin_here: Text = Field(
        default="",
        description="line that makes the place where an axis stands read {value} in a work system, from {axis}, "
        '{value} and {system}, the number of the system, 1 for G54; without {system} it is the one in force. "" where '
        "there is none: G92 is written instead",
    )
    machine_system: Text = Field(
        default="",
        description="where machine_moves is false: a work system that is kept at 0, 0, 0 for machine coordinates, such "
        'as "G59"; "" for none: then places are counted from the zero of G54',
    )
    jog: tuple[Text, ...] = Field(
        default=("G91 G1 {axis}{step} F{rate}", "G90"),
        description="lines that the pendant sends for one click of the wheel, from {axis}, {step} and {rate}; empty: "
        "it does not jog",
    )
    ending: Text = Field(
        default="", description='last word of a macro: "", M2, M30 or a word of extra_words that ends it'
    )
    percent: Flag = Field(
        default=True,
        description="wrap a macro in % lines; where comments is semicolon only if that is written down",
    )
    call: Text = Field(
        default="", description='what the pendant sends to run a stored macro; "": macros are sent line by line'
    )
    file_name: Name = Field(default="{slug}.nc", description="name of a macro file, from {slug} or {number}")
    first_number: Count = Field(default=1, description="number of the first macro file")
    rapid: Literal["straight", "dogleg"] = Field(
        default="straight", description="straight: a rapid is a line; dogleg: each axis goes at its own rate"
    )
    extra_words: dict[str, Literal["call", "end", "ignore", "refuse", "wait"]] = Field(
        default_factory=dict,
        description="words beyond the standard and what they do: call, end, ignore, refuse or wait (for something "
        "outside, for nobody knows how long)",
    )
    unsupported: tuple[Name, ...] = Field(default=(), description="standard words this controller lacks")
    line_limit: Annotated[int, Field(strict=True, ge=8, le=10_000)] = Field(
        default=256, description="most characters a line may have; 256 as published (NISTIR 6556, 3.2)"
    )
    line_ending: Literal["lf", "crlf"] = Field(default="lf", description="how lines of a macro file end: lf or crlf")
    decimals: Decimals = Field(default_factory=Decimals, description="digits after the point")
    acknowledge: Text = Field(
        default="",
        description='what the controller answers to a line, for the pendant; "": nothing, and the pendant may then '
        "send no more than one line",
    )
    acknowledge_match: Literal["whole", "start"] = Field(
        default="whole", description="whole: the answer is just that; start: it begins so, and more may follow"
    )
    error_starts: tuple[Annotated[Text, Field(min_length=1)], ...] = Field(
        default=(),
        description="an answer that begins so means that the line was refused, and nothing more is sent",
    )
    acknowledge_means: Literal["queued", "done"] = Field(
        default="queued", description="queued: the line was taken in; done: its motion has ended"
    )
    queue_depth: Count = Field(
        default=8, description="lines the controller may hold, acknowledged and not yet run; our choice, look yours up"
    )
    idle_ask: Signs = Field(
        default="", description='what the pendant sends to ask whether the controller is idle; "" where it cannot ask'
    )
    idle_answer: Text = Field(
        default="",
        description="how the answer to idle_ask begins that says it is idle; without it the line of settle is sent "
        "after each line instead, if there is one",
    )
    release: Literal["nothing", "queued-line", "immediate", "wired"] = Field(
        default="nothing",
        description="what letting go of the button stops once lines are sent: nothing, queued-line (what is queued is "
        "still run, then stop_line acts), immediate (stop_line acts at once) or wired (a hard-wired stop)",
    )
    stop_line: Signs = Field(
        default="",
        description="what the pendant sends when the button is let go; \\u0018 and the like for control bytes",
    )
    stop_keeps: Literal["dropped", "held"] = Field(
        default="dropped",
        description="dropped: what was stopped is gone; held: it goes on when the controller is resumed",
    )
    first_run_rate: Rate = Field(default=500.0, description="rate of the slow copies for the first run")
    measured: dict[str, Day] = Field(
        default_factory=dict,
        description="the day on which a part was tried on the controller: homing, words, stored, answers, release, "
        "jog. What is not here was not tried, and a part that changes loses its day",
    )

    @model_validator(mode="before")
    @classmethod
    def _percent_goes_with_parentheses(cls, data: Any) -> Any:
        """Both beside each other were never heard of, so that a sheet has to ask for it."""
        if isinstance(data, dict) and data.get("comments") == "semicolon" and "percent" not in data:
            return {**data, "percent": False}
        return data

    @model_validator(mode="after")
    def _whole_is_consistent(self) -> Self:
        if self.dwell.word == "S" and self.dwell.unit == "ms":
            raise wrong("is ms, but a dwell with S is in seconds; write s, or use the word P", "dwell", "unit")
        for index, word in enumerate(self.unsupported):
            if canonical_word(word) not in WORDS:
                raise wrong(f'"{word}" is not a word of the standard{did_you_mean(word, WORDS)}', "unsupported", index)
        for word in self.extra_words:
            if canonical_word(word) is None:
                raise wrong("is not a word; write a letter G or M and a number, such as M98", "extra_words", word)
        self._resting_is_one_of_each_group()
        ends = {canonical_word(word) for word, what in self.extra_words.items() if what == "end"} | {"M2", "M30"}
        if self.ending and canonical_word(self.ending) not in ends:
            raise wrong(
                f'is "{self.ending}"; write "", M2, M30, or a word that extra_words says ends a macro', "ending"
            )
        if self.message and "{text}" not in self.message:
            raise wrong("has no {text} in it; write {text} where the text goes", "message")
        for key, line in (("message", self.message), ("program_head", self.program_head)):
            if line and reads_as_words(line):
                raise wrong(
                    f'is "{line}", which reads as words of the standard; the program could not tell it from a line '
                    "that moves something",
                    key,
                )
        for key, fields in FIELDS.items():
            _only_fields(getattr(self, key), fields, key)
        if self.origin_here and not origin_line(self.origin_here):
            raise wrong(
                "has to be made of words with {axis}{value} among them, such as G10 L20 P{system} {axis}{value}",
                "origin_here",
            )
        for index, line in enumerate(self.jog):
            _only_fields(line, {"axis", "step", "rate"}, "jog", index)
        if self.jog and not all(any(field in line for line in self.jog) for field in ("{axis}", "{step}")):
            raise wrong("has no line with {axis} and {step} in it, so that it would move nothing; or write []", "jog")
        if self.machine_system and self.machine_system not in SYSTEMS:
            hint = did_you_mean(self.machine_system, SYSTEMS)
            raise wrong(f'is "{self.machine_system}", which is not a work coordinate system{hint}', "machine_system")
        if not re.search(r"\{(slug|number)\}", self.file_name):
            raise wrong("names every macro the same; put {slug} or {number} in it", "file_name")
        if re.search(r'[\\/:*?"<>|]|\.\.', self.file_name) or self.file_name.startswith("."):
            raise wrong(
                'has to be a plain file name, without / \\ : * ? " < > | and not beginning with a point', "file_name"
            )
        return self

    @model_validator(mode="after")
    def _what_was_tried_is_a_part(self) -> Self:
        parts.require_parts(self.measured, self.parts)
        return self

    @property
    def parts(self) -> tuple[str, ...]:
        """The parts that somebody may try on the controller; what is not written is as published, and may be tried."""
        return tuple(self.named)

    @property
    def named(self) -> dict[str, str]:
        """What each part is called in a sentence."""
        return dict(parts.WORDS["controller"])

    @model_validator(mode="after")
    def _answers_can_be_told_apart(self) -> Self:
        for index, start in enumerate(self.error_starts):
            if self.acknowledge and self.acknowledge.startswith(start):
                raise wrong(
                    f'is "{start}", and the acknowledgement "{self.acknowledge}" begins so too; nobody could tell them '
                    "apart",
                    "error_starts",
                    index,
                )
        if self.acknowledge_match == "start":
            for index, start in enumerate(self.error_starts):
                if self.acknowledge and start.startswith(self.acknowledge):
                    raise wrong(
                        f'is "{start}", which begins like the acknowledgement "{self.acknowledge}"; nobody could tell '
                        "them apart",
                        "error_starts",
                        index,
                    )
        for key, other in (("idle_ask", "idle_answer"), ("idle_answer", "idle_ask")):
            if getattr(self, key) and not getattr(self, other):
                raise wrong(f"is missing, and {key} does nothing without it", other)
        return self

    def _resting_is_one_of_each_group(self) -> None:
        groups: dict[tuple[str, int], str] = {}
        for written in self.resting.split():
            word = canonical_word(written)
            group = G_GROUPS.get(word or "") if (word or "").startswith("G") else M_GROUPS.get(word or "")
            if word is None or group is None:
                hint = did_you_mean(written.upper(), {**G_GROUPS, **M_GROUPS})
                raise wrong(f'has "{written}", which is not a modal word of the standard{hint}', "resting")
            other = groups.setdefault((word[0], group), word)
            if other != word and {other, word} != {"M7", "M8"}:
                raise wrong(f"has {other} and {word}, which cannot both be in force; take one out", "resting")


def _only_fields(text: str, fields: set[str], *path: str | int) -> None:
    strange = set(re.findall(r"\{([^{}]*)\}", text)) - fields
    if strange:
        known = " or ".join(f"{{{field}}}" for field in sorted(fields))
        raise wrong(f"has {{{min(strange)}}} in it; only {known} can be filled in", *path)


def canonical_word(text: str) -> str | None:
    """A G or M word as tables spell it ("g01" is "G1", "G59.10" is "G59.1"); None where the text is no such word."""
    found = re.fullmatch(r"([GgMm])0*(\d{1,4})(?:\.(\d+?)0*)?", text.strip())
    if found is None:
        return None
    fraction = "" if found[3] in (None, "0") else f".{found[3]}"
    return f"{found[1].upper()}{found[2]}{fraction}"
