"""What the program writes for scripts to read, as types: the report, the slot table and the manifest.

Nothing is made from these; they say what to rely on, as JSON Schema (``clickstop schema``), and tests hold what is
written against them. Every key is always there. Keys may be added, so whoever reads one of these skips what it does not
know. Lengths are mm, speeds mm/s, times seconds, angles degrees, positions machine coordinates.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

from library.sheets.pendant import Gesture
from parser.findings import Severity
from parser.motion.moves import MoveKind
from parser.report import Verdict

Digest = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Range = Annotated[list[float], Field(min_length=2, max_length=2)]
Number = Annotated[int, Field(ge=1)]
Amount = Annotated[int, Field(ge=0)]


class Json(BaseModel):
    """An object of what is written."""

    model_config = ConfigDict(model_title_generator=lambda model: model.__name__.removesuffix("Json"))


class SpreadJson(Json):
    """A figure over all starts."""

    least: float = Field(description="the least of all starts")
    most: float = Field(description="the most of all starts")
    typical: float = Field(description="the figure of the middle start")


class OfSheetJson(Json):
    """The sheet that something was examined on."""

    name: str = Field(description="its name")
    sha256: Digest | None = Field(description="SHA-256 of its text")


class MoveJson(Json):
    """One move or dwell, in the order of the program, with block delete off."""

    line: Number = Field(description="line of the file, from 1")
    step: Number | None = Field(description="step of the macro that wrote it, from 1; null for a file")
    kind: MoveKind = Field(description="what it is")
    from_: dict[str, float | None] = Field(
        alias="from", description="where it begins, by axis; null where not constant"
    )
    to: dict[str, float | None] = Field(description="where it ends, by axis; null where not constant")
    length: SpreadJson = Field(description="mm along its path, degrees where only rotary axes move")
    seconds: SpreadJson = Field(description="how long it takes")
    centre: dict[str, float | None] | None = Field(description="centre of an arc, by the axes of its plane")
    turn: float | None = Field(description="sweep of an arc, counter-clockwise positive")


class TotalsJson(Json):
    """The whole program."""

    seconds: SpreadJson = Field(description="how long it takes, without what waits for the operator")
    rapid_mm: SpreadJson = Field(description="path at rapid")
    feed_mm: SpreadJson = Field(description="path at a feed, arcs and probing included")
    by_axis_mm: dict[str, SpreadJson] = Field(description="what each linear axis travels, to and fro")
    by_axis_deg: dict[str, SpreadJson] = Field(description="what each rotary axis travels, to and fro")
    operator_pauses: Amount = Field(description="how often it waits for the operator")


class RunOnJson(Json):
    """What still moves after letting go at the worst moment."""

    stops: bool = Field(description="false where letting go stops nothing")
    mm: float = Field(description="path that remains at most")
    seconds: float = Field(description="how long that takes at most")
    by_axis: dict[str, float] = Field(description="the most that each axis still travels")
    because: str = Field(description="the part of the controller sheet that decides it, in words")


class ToolJson(Json):
    """The tool of an example."""

    length: float = Field(description="nose to tip")
    radius: float = Field(description="of its cylinder")


class ExampleJson(Json):
    """A case that shows why a finding is true."""

    start: dict[str, float] = Field(description="where the machine stood, by axis")
    tool: ToolJson | None = Field(description="what was in the spindle; null where that makes no difference")
    at: dict[str, float] = Field(description="the place on the way where it happens, by axis")
    body: str = Field(description='what meets the obstacle: tool, holder, nose, an axis, or ""')
    obstacle: str = Field(description='what is met, or ""')
    setup: str = Field(description='the setup it happens in, or ""')


class FoundJson(Json):
    """What every result of a check has."""

    rule: str = Field(description="id of the rule; its Help page says what it checks")
    severity: Severity = Field(description="refuse blocks export")
    line: Number | None = Field(description="line of the file, from 1; null for the whole file")
    column: Number | None = Field(description="column of the line, from 1")
    case: str | None = Field(description="the case in which it holds; null for every case")
    message: str = Field(description="what was found, in words, which may change")
    remedy: str = Field(description="what to do about it, in words, which may change")


class KeptFindingJson(FoundJson):
    """One result of a check, and whether it could be decided."""

    undecided: bool = Field(description="true where nothing is proved of it")


class FindingJson(FoundJson):
    """One result of a check."""

    step: Number | None = Field(description="step of the macro, from 1; null for a file")
    witness: ExampleJson | None = Field(description="an example that shows it")
    figures: dict[str, float] = Field(description="the figures that the message names, with the unit in the name")


class ReportJson(Json):
    """What ``clickstop check --format json`` prints for one file or macro."""

    file: str | None = Field(description="its name as it was given")
    lines: Amount = Field(description="how many lines it has")
    machine: OfSheetJson = Field(description="the machine sheet")
    controller: OfSheetJson = Field(description="the controller sheet")
    verdict: Verdict = Field(description="conditional: not from anywhere, or but for a line")
    sentence: str = Field(description="the verdict in words, which may change")
    assumptions: list[str] = Field(description="what the verdict takes for granted, in words, which may change")
    moves: list[MoveJson] = Field(description="every move that can have length, and every dwell")
    totals: TotalsJson = Field(description="the whole program")
    run_on: RunOnJson = Field(description="what still moves after letting go")
    extents: dict[str, Range] = Field(description="lowest and highest place of each axis, the start included")
    ends: dict[str, float | None] = Field(description="where it ends, by axis; null where not constant")
    modes_at_end: list[str] = Field(description="modal words at the end, G then M; unknown ones left out")
    safe_start: dict[str, Range] | None = Field(description="starts from which nothing is refused; null for none")
    safe_start_sentence: str = Field(description="the same in words, which may change")
    findings: list[FindingJson] = Field(description="the gravest first")


class OnSlotsJson(ReportJson):
    """The report on a macro of a pendant."""

    slots: list[str] = Field(description="labels of the slots it is on")


class PendantJson(Json):
    """The pendant as a whole: the last of the list where ``check`` is given only a workshop."""

    file: None = Field(description="null: this is no file")
    pendant: str = Field(description="its name")
    slots: dict[str, str] = Field(description="the macro on each slot, by the label of the slot")
    verdict: Verdict = Field(description="of all slots and sequences together")
    sentence: str = Field(description="the verdict in words, which may change")
    findings: list[FindingJson] = Field(description="what is found beside that of each macro")


class MemoryJson(Json):
    """Room that the slot table takes."""

    bytes_used: Amount = Field(description="bytes of flash that the tables take")
    bytes: Amount = Field(description="bytes of flash there are, for tables and program")
    longest_line_used: Amount = Field(description="characters of its longest line")
    longest_line: Amount = Field(description="characters that the pendant can hold")


class StageJson(Json):
    """What one gesture sends."""

    patience_seconds: float = Field(description="how long to wait for it before something is amiss")
    lines: list[str] = Field(description="the lines to send, without line ends")


class SlotJson(Json):
    """One slot that holds a macro."""

    position: str = Field(description="of the selector")
    increment: str = Field(description="of the increment selector")
    macro: str = Field(description="id of the macro")
    name: str = Field(description="name of the macro")
    file: str = Field(description="name of its file in macros/")
    number: Number = Field(description="number under which a controller stores it")
    verdict: Verdict = Field(description="of its text; never refused")
    start: str = Field(description='its start condition; "anywhere" for none')
    stages: list[StageJson] = Field(description="one for each gesture, in turn")


class SlotsJson(Json):
    """slots.json of a pack: what the pendant sends for each slot."""

    format: Literal["clickstop-slots/1"] = Field(description="what this is")
    issue: str = Field(description="the issue it belongs to: a day, where known, and eight digits")
    pendant: str = Field(description="name of the pendant")
    positions: list[str] = Field(description="labels of the selector, in its order")
    increments: list[str] = Field(description="labels of the increment selector, in its order")
    gesture: Gesture = Field(description="what fires a macro")
    line_ending: Literal["lf", "crlf"] = Field(description="what ends each line that is sent")
    acknowledge: str = Field(description='what the controller answers to a line; "" for nothing')
    acknowledge_means: Literal["queued", "done"] = Field(description="what that answer says of the line")
    queue_depth: Amount = Field(description="lines that the controller may hold")
    unanswered_lines: Number = Field(description="lines that may be without their answer at once")
    waits_for_idle: bool = Field(description="whether each line waits until the controller is idle")
    idle_for_seconds: float = Field(description="how long it has to be idle without a break")
    release: Literal["nothing", "queued-line", "immediate", "wired"] = Field(description="what letting go achieves")
    stop_line: str = Field(description='what to send on letting go; "" for nothing')
    memory: MemoryJson = Field(description="room for the table")
    slots: list[SlotJson] = Field(description="every slot that holds a macro, in the order of the pendant")


class KeptSheetJson(Json):
    """A sheet in the pack."""

    name: str = Field(description="its name")
    file: str = Field(description="its path in the pack")
    saved: str | None = Field(description="the day it was last saved; null where not known")
    sha256: Digest = Field(description="SHA-256 of the file")


class ProofJson(Json):
    """What was proved of a file in the pack."""

    file: str = Field(description="its path in the pack")
    sha256: Digest = Field(description="SHA-256 of the file")
    verdict: Verdict = Field(description="of its text; never refused")
    sentence: str = Field(description="the verdict in words, which may change")
    assumptions: list[str] = Field(description="what the verdict takes for granted, in words, which may change")
    findings: list[KeptFindingJson] = Field(description="the gravest first")


class SlowJson(ProofJson):
    """A slow copy."""

    number: Amount = Field(description="number under which a controller stores it")


class NoCopyJson(Json):
    """Why there is no slow copy."""

    none: str = Field(description="the reason, in words, which may change")


class KeptMacroJson(ProofJson):
    """A macro file and its slow copy."""

    id: str = Field(description="id of the macro")
    name: str = Field(description="its name")
    number: Number = Field(description="number under which a controller stores it")
    slots: list[str] = Field(description="labels of its slots")
    start: str = Field(description='its start condition; "anywhere" for none')
    first_run: SlowJson | NoCopyJson = Field(description="the slow copy for the first run")


class PrintingJson(Json):
    """What the printed pages were asked for."""

    card_mm: Range = Field(description="width and height of the legend card")
    start: dict[str, float] = Field(description="where the first run starts, by axis")


class IssueJson(Json):
    """A pack by its day and number."""

    day: str | None = Field(description="the day its last document was saved; null where not known")
    number: str = Field(description="eight hexadecimal digits of everything it was made from")


class ManifestJson(Json):
    """manifest.json of a pack: every file, and what was proved of it."""

    format: Literal["clickstop-takeaway/1"] = Field(description="what this is")
    program: str = Field(description="what wrote it, with its version")
    issue: IssueJson = Field(description="what this pack is called on everything in it")
    formats: list[str] = Field(description="formats of the documents and tables in the pack")
    checked: str = Field(description="what was done before the pack was handed over, in words")
    sheets: dict[Literal["machine", "controller", "pendant"], KeptSheetJson] = Field(
        description="the sheets it rests on"
    )
    macros: list[KeptMacroJson] = Field(description="every macro in the pack")
    left_out: dict[str, str] = Field(description="what was left out, by id or slot, each with the reason")
    memory: MemoryJson = Field(description="room for the slot table")
    printing: PrintingJson = Field(description="what the printed pages were asked for")
    files: dict[str, Digest] = Field(description="SHA-256 of every file but this one and the printed pages, by path")


KINDS: Mapping[str, Any] = {
    "report": ReportJson | list[ReportJson | OnSlotsJson | PendantJson],
    "slots": SlotsJson,
    "manifest": ManifestJson,
}


def schema(kind: str) -> dict[str, Any]:
    """JSON Schema of something that is written."""
    made = TypeAdapter(KINDS[kind]).json_schema(by_alias=True, mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **made}
