"""What a bundle says of itself: its manifest, written from what was proved and read from whatever somebody sends.

The classes here are the JSON Schema that ``clickstop schema bundle`` prints. Lengths are mm, times seconds, angles
degrees, positions machine coordinates. Keys may be added, so a reader skips what it does not know.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from library import json_text, shown
from library.errors import LibraryError
from library.fields import Name, Slug, Text
from library.limits import BUNDLE_ENTRIES, COMING
from library.names import as_bytes
from library.toml_text import dotted
from parser.findings import Severity
from parser.report import Verdict

NAME = "manifest.json"
FORMAT = "clickstop-bundle/1"

LONGEST_TEXT, MOST_ENTRIES, LARGEST_BYTES = 4_000, 1_000, 16_000_000
"""Characters of a text, entries of a list of a macro, and bytes of the manifest: more than we write (our choice)."""

Sha256 = Annotated[str, Field(strict=True, pattern=r"^[0-9a-f]{64}$")]
Path = Annotated[str, Field(strict=True, max_length=240)]
Sentence = Annotated[str, Field(strict=True, max_length=LONGEST_TEXT)]
Word = Annotated[str, Field(strict=True, max_length=200)]
Figure = Annotated[float, Field(allow_inf_nan=False, ge=-1e12, le=1e12)]
Whole = Annotated[int, Field(strict=True, ge=1, le=10_000_000)]

T = TypeVar("T")
Few = Annotated[tuple[T, ...], Field(max_length=MOST_ENTRIES)]


class BundleError(LibraryError):
    """A bundle that cannot be written or used; ``str()`` is one line."""


class _Said(BaseModel):
    model_config = ConfigDict(frozen=True, extra="ignore", defer_build=True)


class SaidSheet(_Said):
    """A sheet of the workshop that the bundle comes from."""

    name: Name = Field(description="its name")
    sha256: Sha256 = Field(description="SHA-256 of its document")


class SaidSheets(_Said):
    """The sheets on which the figures were worked out."""

    machine: SaidSheet = Field(description="the machine sheet")
    controller: SaidSheet = Field(description="the controller sheet")


class SaidSpread(_Said):
    """A figure over every start that is allowed."""

    least: Figure = Field(description="the least it may be")
    most: Figure = Field(description="the most it may be")
    typical: Figure = Field(description="from the middle of the starts")


class SaidFinding(_Said):
    """One result of a check there."""

    rule: Word = Field(description="id of the rule")
    severity: Severity = Field(description="refuse blocks export")
    line: Whole | None = Field(description="line of the macro file, from 1; null for the whole file")
    step: Whole | None = Field(description="step of the macro, from 1; null where none wrote the line")
    message: Sentence = Field(description="what was found, in words, which may change")


class SaidFigures(_Said):
    """What was proved of a macro on the machine it comes from; it says nothing of any other machine."""

    verdict: Verdict = Field(description="the verdict there; refused also where a step could not be written there")
    sentence: Sentence = Field(description="the verdict in words, which may change")
    assumptions: Few[Sentence] = Field(description="what it takes for granted, in words, which may change")
    findings: Few[SaidFinding] = Field(description="the gravest first")
    seconds: SaidSpread = Field(description="how long it takes")
    rapid_mm: SaidSpread = Field(description="how far it goes at rapid")
    feed_mm: SaidSpread = Field(description="how far it goes at a feed")
    extents: dict[Word, tuple[Figure, Figure]] = Field(description="where each axis goes, starts included")


class SaidNeeds(_Said):
    """What the macro needs of a machine, a controller and a shelf."""

    landmarks: Few[Word] = Field(description="landmarks that its formulas and steps use")
    axes: Few[Word] = Field(description="axes that it moves or names")
    words: Few[Word] = Field(description="G and M words of its lines as they are written there")
    abilities: Few[Word] = Field(description="what the controller has to be able to do")
    macros: Few[Word] = Field(description="ids of the macros that it runs")
    blocks: Few[Word] = Field(description="kinds of its steps")
    start: Text = Field(description='its start condition, "" for anywhere; it does not adapt')
    own_lines: Few[Whole] = Field(description="steps of it that hold lines of their own, which do not adapt")


class SaidMacro(_Said):
    """A macro of the bundle."""

    id: Slug = Field(description="its id")
    name: Name = Field(description="its name")
    purpose: Text = Field(description="what it is for")
    author: Text = Field(description="who wrote it")
    licence: Text = Field(description="the terms it is shared under")
    tags: Few[Name] = Field(description="words to find it by")
    file: Path = Field(description="its document in the bundle")
    drawing: Path | None = Field(description="a drawing of its path there; null where there is none")
    asked: bool = Field(strict=True, description="false where it is here only because another one runs it")
    needs: SaidNeeds = Field(description="what it needs")
    figures: SaidFigures = Field(description="what was proved of it there")


class SaidBundle(_Said):
    """manifest.json of a bundle: every file, and what each macro did on the machine it comes from."""

    format: Literal["clickstop-bundle/1"] = Field(description="what this is")
    program: Word = Field(description="what wrote it, with its version")
    sheets: SaidSheets = Field(description="the sheets of the workshop it comes from")
    travel: dict[Word, tuple[Figure, Figure]] = Field(description="travel of each axis there")
    landmarks: dict[Word, Figure] = Field(description="what each landmark is there", max_length=MOST_ENTRIES)
    macros: Annotated[tuple[SaidMacro, ...], Field(max_length=COMING.most)] = Field(description="the macros, by id")
    files: dict[Path, Sha256] = Field(
        description="SHA-256 of every file but this one, by path", max_length=BUNDLE_ENTRIES.most
    )


def written(said: SaidBundle) -> bytes:
    """The manifest's bytes."""
    return as_bytes(said.model_dump(mode="json"))


def read(content: bytes) -> SaidBundle:
    """The manifest that bytes hold; raises BundleError with what is wrong with it, and where."""
    try:
        data = json_text.read(content)
    except (ValueError, RecursionError):
        raise BundleError(
            f"{NAME} cannot be read: it is damaged, or of another program; get the bundle again"
        ) from None
    form = data.get("format") if isinstance(data, dict) else None
    if isinstance(form, str) and form.startswith("clickstop-bundle/") and form != FORMAT:
        raise BundleError(f"{NAME} is of format {shown.line(form[:40])}, of a newer Clickstop; update the program")
    try:
        return SaidBundle.model_validate(data)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = dotted(tuple(first["loc"]))[:200] or "all of it"
        told = f"{NAME} says what no bundle of ours does ({where}: {first['msg']})"
        raise BundleError(f"{shown.line(told)}; get it again from whoever made it") from None


def schema() -> dict[str, Any]:
    """JSON Schema of the manifest, from which ``library/schemas/bundle.json`` is written."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **SaidBundle.model_json_schema()}
