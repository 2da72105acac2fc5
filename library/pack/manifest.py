"""The manifest: what each file of a pack is, what was proved of it and under which assumptions."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from library.macros import Macro
from library.names import as_bytes, own_name
from library.outgoing import Issue, Printing, Reload, SlowCopy, sent_key, slow_key
from parser import opinion
from parser.findings import Finding
from parser.opinion import SecondOpinion
from parser.report import Report, rests_as_json

NAME = "manifest.json"
PRINTED = "printed.sha256"
"""The digests of the printed pages, which are made after the manifest because they may show its own."""

FORMAT = "clickstop-takeaway/1"
CHECKED = "Every macro file was read back from the written bytes and proved again before this pack was handed over."
FORMATS = (
    "clickstop-machine/1",
    "clickstop-controller/1",
    "clickstop-pendant/1",
    "clickstop-macro/1",
    "clickstop-slots/1",
)
"""The versions of the documents and tables within."""


@dataclass(frozen=True, slots=True)
class SheetEntry:
    """A sheet as the manifest names it: its name, its path in the pack, the day it was last saved if known."""

    name: str
    file: str
    saved: str | None


def digest(content: bytes) -> str:
    """SHA-256 in hexadecimal."""
    return hashlib.sha256(content).hexdigest()


def macro_entry(
    macro: Macro, file: str, content: bytes, number: int, on: Iterable[str], report: Report
) -> dict[str, object]:
    """What the manifest says of one macro file. ``on`` are the labels of its slots."""
    return {
        "id": macro.id,
        "name": macro.name,
        "file": file,
        "sha256": digest(content),
        "number": number,
        "slots": list(on),
        "start": macro.start,
        **proof(report),
    }


def slow_entry(file: str, slow: SlowCopy) -> dict[str, object]:
    """What the manifest says of a slow copy."""
    return {"file": file, "number": slow.number, "sha256": digest(slow.content), **proof(slow.report)}


def proof(report: Report) -> dict[str, object]:
    """The part of a report that a later proof of the same bytes has to repeat."""
    return {
        "verdict": report.verdict,
        "sentence": report.sentence,
        "assumptions": list(report.assumptions),
        "second_opinion": opinion.as_json(report.second),
        **rests_as_json(report),
        "findings": [_finding(finding) for finding in report.findings],
    }


def write(
    sheets: Mapping[str, SheetEntry],
    macros: Iterable[Mapping[str, object]],
    files: Mapping[str, bytes],
    left_out: Mapping[str, str],
    memory: Mapping[str, int],
    printing: Printing,
    issue: Issue,
    reload: Reload | None,
    *,
    second: bool = False,
) -> bytes:
    """The manifest's bytes. ``sheets`` is by kind; ``memory`` is what the slot table takes, beside what there is.

    ``printing`` is what the printed pages were asked for, ``issue`` what the whole is called, ``reload`` what has to be
    loaded anew, None where nothing is said to be on the machine. ``second`` says that a second opinion was asked for on
    all of it.
    """
    return as_bytes(
        {
            "format": FORMAT,
            "program": own_name(),
            "issue": {"day": issue.day or None, "number": issue.number},
            "formats": list(FORMATS),
            "checked": CHECKED,
            "sheets": {
                kind: {"name": each.name, "file": each.file, "saved": each.saved, "sha256": digest(files[each.file])}
                for kind, each in sheets.items()
            },
            "second_opinion": second,
            "macros": list(macros),
            "left_out": dict(left_out),
            "reload": asdict(reload) if reload else None,
            "memory": dict(memory),
            "printing": {"card_mm": [printing.card_width, printing.card_height], "start": dict(printing.start)},
            "files": {path: digest(content) for path, content in sorted(files.items())},
        }
    )


def read_issue(said: Mapping[str, Any]) -> Issue:
    """The issue a manifest is of; raises KeyError or TypeError where it is damaged."""
    day, number = said["issue"]["day"], said["issue"]["number"]
    if not isinstance(day, str | None) or not isinstance(number, str):
        raise TypeError("the issue has to be a day and a number")
    return Issue(day or "", number)


def read_reload(said: Mapping[str, Any]) -> Reload | None:
    """What had to be loaded anew; raises KeyError or TypeError where a manifest is damaged."""
    found = said.get("reload")
    if found is None:
        return None
    issue, since, what = found["issue"], found["since"], found["what"]
    if not all(isinstance(each, str) for each in (issue, since, *what)):
        raise TypeError("what has to be loaded anew has to be words")
    return Reload(issue, since, tuple(what))


def read_opinions(said: Mapping[str, Any]) -> dict[str, SecondOpinion]:
    """What a manifest says of every second opinion, by the keys of ``Gathered.said``; none where it cannot be read.

    An earlier version did not say enough of them for that.
    """
    found: dict[str, object] = {}
    try:
        for each in said["macros"]:
            id = str(each["id"])
            found[id] = each["second_opinion"]
            found[slow_key(id)] = each["first_run"].get("second_opinion")
            found |= {sent_key(id, number): one for number, one in enumerate(each["sent_second_opinions"], 1)}
        return {key: opinion.from_json(each) for key, each in found.items() if isinstance(each, dict)}
    except (KeyError, TypeError, ValueError, AttributeError):
        return {}


def read_printing(said: Mapping[str, Any]) -> Printing:
    """What the printed pages were asked for; raises KeyError, TypeError or ValueError where a manifest is damaged."""
    width, height = said["printing"]["card_mm"]
    return Printing(
        float(width), float(height), {str(name): float(at) for name, at in said["printing"]["start"].items()}
    )


def write_printed(pages: Mapping[str, bytes]) -> bytes:
    """The digests of pages, one line each, as the usual tools for checking SHA-256 read them."""
    return "".join(f"{digest(content)}  {path}\n" for path, content in sorted(pages.items())).encode()


def read_printed(content: bytes) -> dict[str, str]:
    """The digests by path; raises ValueError where the listing is damaged."""
    lines = content.decode().removesuffix("\n").split("\n")
    pairs = [line.split("  ", 1) for line in lines]
    if any(len(pair) != 2 for pair in pairs):
        raise ValueError("a line of it is not a digest and a path")
    return {path: hexadecimal for hexadecimal, path in pairs}


def _finding(finding: Finding) -> dict[str, object]:
    return {
        "rule": finding.rule,
        "severity": finding.severity.value,
        "line": finding.line,
        "column": finding.column,
        "case": finding.case,
        "undecided": finding.undecided,
        "message": finding.told,
        "remedy": finding.remedy,
    }
