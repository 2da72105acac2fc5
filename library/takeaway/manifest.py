"""The manifest: what each file of a take-away is, what was proved of it and under which assumptions."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from importlib.metadata import PackageNotFoundError, version

from library.macros import Macro
from library.takeaway.table import as_bytes
from parser.findings import Finding
from parser.report import Report

NAME = "manifest.json"
FORMAT = "clickstop-takeaway/1"
CHECKED = (
    "Every macro file was read back from the written bytes and proved again before this take-away was handed over."
)
DISTRIBUTION = "clickstop"


def digest(content: bytes) -> str:
    """SHA-256 in hexadecimal."""
    return hashlib.sha256(content).hexdigest()


def program_version() -> str:
    """The version of the installed program."""
    try:
        return version(DISTRIBUTION)
    except PackageNotFoundError:
        return "of unknown version"


def own_name() -> str:
    """The program and its version, as a manifest names them."""
    return f"{DISTRIBUTION} {program_version()}"


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


def proof(report: Report) -> dict[str, object]:
    """The part of a report that a later proof of the same bytes has to repeat."""
    return {
        "verdict": report.verdict,
        "sentence": report.sentence,
        "assumptions": list(report.assumptions),
        "findings": [_finding(finding) for finding in report.findings],
    }


def write(
    sheets: Mapping[str, tuple[str, str]],
    macros: Iterable[Mapping[str, object]],
    files: Mapping[str, bytes],
    left_out: Mapping[str, str],
) -> bytes:
    """The manifest's bytes. ``sheets`` maps a kind to the sheet's name and its path in the take-away."""
    return as_bytes(
        {
            "format": FORMAT,
            "program": own_name(),
            "checked": CHECKED,
            "sheets": {
                kind: {"name": name, "file": path, "sha256": digest(files[path])}
                for kind, (name, path) in sheets.items()
            },
            "macros": list(macros),
            "left_out": dict(left_out),
            "files": {path: digest(content) for path, content in sorted(files.items())},
        }
    )


def _finding(finding: Finding) -> dict[str, object]:
    return {
        "rule": finding.rule,
        "severity": finding.severity.value,
        "line": finding.line,
        "column": finding.column,
        "case": finding.case,
        "message": finding.message,
        "remedy": finding.remedy,
    }
