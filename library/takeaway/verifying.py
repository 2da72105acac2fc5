"""Reading a take-away again: is every byte the one that was proved, and is it still proved?"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from library.takeaway import contents, manifest
from library.takeaway.contents import Documents, TakeAwayError
from library.toml_text import DocumentError

Kind = Literal["changed", "missing", "added", "not-proved"]


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that is not as the manifest says: the path concerned, what kind, and one clear line."""

    path: str
    kind: Kind
    message: str

    def __str__(self) -> str:
        return f"{self.path}: {self.message}"


def verify(path: Path) -> list[Difference]:
    """What differs in a take-away, a folder or a zip, from its own manifest; empty where all is as it was proved.

    Raises TakeAwayError where there is no take-away to be read.
    """
    from library.takeaway.disk import read

    return differences(read(path))


def differences(files: Mapping[str, bytes]) -> list[Difference]:
    """What differs among the files of a take-away; raises TakeAwayError where it has no readable manifest."""
    said = _manifest(files)
    found = list(_bytes(files, said["files"]))
    try:
        having = contents.parsed(contents.remake(files))
    except (TakeAwayError, DocumentError) as error:
        return [*found, Difference(contents.SOURCE_FOLDER, "not-proved", str(error))]
    found += _proofs(files, said["macros"], having)
    if not found:
        found += _manifest_itself(files, said)
    return found


def _manifest(files: Mapping[str, bytes]) -> dict[str, Any]:
    if manifest.NAME not in files:
        raise TakeAwayError(f"this is not a take-away: it has no {manifest.NAME}")
    try:
        said = json.loads(files[manifest.NAME])
        known = said["format"] == manifest.FORMAT
        entries = [(entry["id"], entry["file"], entry["verdict"], entry["findings"]) for entry in said["macros"]]
        shaped = isinstance(said["files"], dict) and all(isinstance(path, str) for _, path, _, _ in entries)
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise TakeAwayError(f"{manifest.NAME} cannot be read: it is damaged or of another program") from error
    if not known or not shaped:
        raise TakeAwayError(f"{manifest.NAME} is not of the format {manifest.FORMAT}")
    return dict(said)


def _bytes(files: Mapping[str, bytes], digests: Mapping[str, str]) -> Iterator[Difference]:
    for path, expected in digests.items():
        if path not in files:
            yield Difference(path, "missing", "the manifest names this file, and it is not there")
        elif manifest.digest(files[path]) != expected:
            yield Difference(path, "changed", "its bytes are not the ones that were proved")
    for path in sorted(set(files) - set(digests) - {manifest.NAME}):
        yield Difference(path, "added", "the manifest does not know this file")


def _proofs(files: Mapping[str, bytes], entries: list[dict[str, Any]], having: Documents) -> Iterator[Difference]:
    for entry in entries:
        path, macro = entry["file"], having.macros.get(entry["id"])
        if path not in files:
            continue
        if macro is None:
            yield Difference(path, "not-proved", f"the document of the macro {entry['id']} is missing")
            continue
        try:
            report = contents.reproved(having, macro, files[path])
        except TakeAwayError as error:
            yield Difference(path, "not-proved", str(error))
            continue
        if report.verdict == "refused":
            yield Difference(path, "not-proved", report.sentence)
        elif report.verdict != entry["verdict"]:
            told = f"the manifest says {entry['verdict']}, the proof now says {report.verdict}"
            yield Difference(path, "not-proved", told)


def _manifest_itself(files: Mapping[str, bytes], said: Mapping[str, Any]) -> Iterator[Difference]:
    """A take-away is a function of its documents, so the manifest can be made again and compared.

    Only the program that wrote it makes the same; what it left out is not among its documents and is taken as said.
    """
    if said.get("program") != manifest.own_name():
        return
    having = contents.remake(files)
    made = json.loads(contents.make(having).files[manifest.NAME])
    made["left_out"] = said.get("left_out")
    if made != said:
        yield Difference(manifest.NAME, "changed", "it does not say what was proved of these files")
