"""Reading a pack again: is every byte the one that was proved, and is it still proved?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from library import json_text, verdicts
from library.bench import Bench
from library.macros import Macro
from library.names import own_name
from library.outgoing import FIRST_RUN_FOLDER, MACRO_FOLDER, Gathered, PackError
from library.pack import contents, macro_files, manifest, table
from library.store import SINGLETONS
from library.toml_text import DocumentError
from parser.opinion import SecondOpinion
from parser.proof.second import solver

DifferenceKind = Literal["changed", "missing", "added", "not-proved", "outdated"]


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that is not as the manifest says: the path concerned, what kind, and one clear line."""

    path: str
    kind: DifferenceKind
    message: str

    def __str__(self) -> str:
        return f"{self.path}: {self.message}"


def differences(files: Mapping[str, bytes], *, second: bool = False) -> list[Difference]:
    """What differs among the files of a pack; raises PackError where it has no readable manifest.

    ``second`` asks for a second opinion on all of it, as is done of a pack that says it had one. Where the solver is
    not installed what such a pack says of it is believed (``believed`` tells that); raises NoSolverError where it is
    asked for all the same, or the pack does not say enough.
    """
    said = _manifest(files)
    opinion = _Opinion(second or _had_second(said), _believed(said, second=second))
    printed, found = _printed(files)
    found += _bytes(files, said["files"], printed)
    try:
        gathered = contents.remake(files, _dates(said))
        bench, _ = contents.parsed(opinion.of(gathered))
    except (PackError, DocumentError) as error:
        return [*found, Difference(contents.SOURCE_FOLDER, "not-proved", str(error))]
    found += _proofs(files, _entries(said), bench, bench.shelf)
    found += _sent(files, bench)
    if not found:
        found += _made_again(files, said, replace(opinion, asked=_had_second(said)))
    return found


@dataclass(frozen=True, slots=True)
class _Opinion:
    """Whether a second opinion is asked for, and what of it is believed."""

    asked: bool
    said: Mapping[str, SecondOpinion]

    def of(self, gathered: Gathered) -> Gathered:
        return replace(gathered, second=self.asked, said=self.said)


def _believed(said: Mapping[str, Any], *, second: bool) -> Mapping[str, SecondOpinion]:
    """What is believed of the second opinions in a pack: nothing where they can be asked for again."""
    return {} if second or not _had_second(said) or solver.installed() else manifest.read_opinions(said)


def believed(files: Mapping[str, bytes], *, second: bool = False) -> bool:
    """Whether ``differences`` believes what a pack says of its second opinion, instead of asking again."""
    return bool(_believed(_manifest(files), second=second))


def _manifest(files: Mapping[str, bytes]) -> dict[str, Any]:
    if manifest.NAME not in files:
        raise PackError(f"this is not a pack: it has no {manifest.NAME}")
    try:
        said = json_text.read(files[manifest.NAME])
        known = said["format"] == manifest.FORMAT
        entries = [(each["id"], each["file"], each["verdict"], each["findings"]) for each in _entries(said)]
        shaped = isinstance(said["files"], dict) and all(
            isinstance(each, str) for entry in entries for each in entry[:2]
        )
        _dates(said)
        manifest.read_printing(said)
        manifest.read_issue(said)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise PackError(f"{manifest.NAME} cannot be read: it is damaged or of another program") from error
    if not known or not shaped:
        raise PackError(f"{manifest.NAME} is not of the format {manifest.FORMAT}")
    return dict(said)


def _entries(said: Mapping[str, Any]) -> list[dict[str, Any]]:
    """What the manifest says of each macro file and of each slow copy."""
    slow = [{**each["first_run"], "id": each["id"]} for each in said["macros"] if "file" in each["first_run"]]
    return [*said["macros"], *slow]


def _had_second(said: Mapping[str, Any]) -> bool:
    """Whether a pack says that a second opinion was asked for; one of an earlier version says nothing of it."""
    return said.get("second_opinion") is True


def _dates(said: Mapping[str, Any]) -> dict[str, str]:
    days = {kind: sheet.get("saved") for kind, sheet in said["sheets"].items()}
    return {kind: day for kind, day in days.items() if isinstance(day, str)}


def _printed(files: Mapping[str, bytes]) -> tuple[dict[str, str], list[Difference]]:
    """The digests of the printed pages, and what is wrong with the listing of them."""
    if manifest.PRINTED not in files:
        return {}, []
    try:
        return manifest.read_printed(files[manifest.PRINTED]), []
    except ValueError:
        return {}, [
            Difference(manifest.PRINTED, "changed", "it cannot be read, so that no printed page can be checked")
        ]


def _bytes(files: Mapping[str, bytes], digests: Mapping[str, str], printed: Mapping[str, str]) -> Iterator[Difference]:
    for path, expected in {**printed, **digests}.items():
        if path not in files:
            yield Difference(path, "missing", "the manifest names this file, and it is not there")
        elif manifest.digest(files[path]) != expected:
            yield Difference(path, "changed", "its bytes are not the ones that were proved")
    for path in sorted(set(files) - set(digests) - set(printed) - {manifest.NAME, manifest.PRINTED}):
        yield Difference(path, "added", "the manifest does not know this file")


def _proofs(
    files: Mapping[str, bytes], entries: list[dict[str, Any]], bench: Bench, macros: Mapping[str, Macro]
) -> Iterator[Difference]:
    for entry in entries:
        path, macro = entry["file"], macros.get(entry["id"])
        if path not in files:
            continue
        if macro is None:
            yield Difference(path, "not-proved", f"the document of the macro {entry['id']} is missing")
            continue
        try:
            report = contents.reproved(bench, macro, files[path])
        except PackError as error:
            yield Difference(path, "not-proved", str(error))
            continue
        if report.refused:
            yield Difference(path, "not-proved", report.sentence)
        elif report.verdict != entry["verdict"]:
            before, now = verdicts.WORDS.get(str(entry["verdict"]), "nothing known"), verdicts.in_words(report)
            told = f'the manifest says "{before}", the proof now says "{now}"'
            yield Difference(path, "not-proved", told)


def _sent(files: Mapping[str, bytes], bench: Bench) -> Iterator[Difference]:
    """What is not proved of the lines that the pendant sends, which are not lines where it calls stored macros."""
    if table.JSON not in files or bench.controller.call:
        return
    try:
        sent = {
            slot["macro"]: tuple(tuple(map(str, stage["lines"])) for stage in slot["stages"])
            for slot in json_text.read(files[table.JSON])["slots"]
        }
    except (ValueError, KeyError, TypeError, AttributeError):
        yield Difference(table.JSON, "not-proved", "it cannot be read, so that what the pendant sends cannot be proved")
        return
    for id, lines in sent.items():
        macro = bench.shelf.get(id)
        if macro is None or any(report.refused for report in macro_files.prove_sent(macro, lines, bench)):
            yield Difference(table.JSON, "not-proved", f"what the pendant sends for {id} is not proved")


def _made_again(files: Mapping[str, bytes], said: Mapping[str, Any], opinion: _Opinion) -> Iterator[Difference]:
    """A pack is a function of its documents, so all of it is made again and compared, what the pendant sends included.

    What it left out is not among its documents and is taken as said. One that another version wrote cannot be made
    again to the byte, which is told beside whatever else differs.
    """
    left_out, program = said.get("left_out"), said.get("program")
    if not isinstance(left_out, dict) or not isinstance(program, str):
        yield Difference(manifest.NAME, "changed", "it does not say what wrote the pack and what was left out of it")
        return
    try:
        printing, issue = manifest.read_printing(said), manifest.read_issue(said)
        remade = contents.remake(files, _dates(said))
        gathered = opinion.of(replace(remade, printing=printing, day=issue.day))
        reload = manifest.read_reload(said)
        again = contents.make(gathered, left_out=left_out, anew=lambda unfinished: reload)
    except PackError as error:
        yield Difference(contents.SOURCE_FOLDER, "not-proved", str(error))
        return
    own, made = program == own_name(), again.files
    names = ((own_name(), program), (again.goes.issue.number, issue.number))  # the version is a part of the number
    if not own:
        told = f"it says that {program} wrote it, which {own_name()} cannot make again to compare every byte; take the "
        yield Difference(manifest.NAME, "outdated", f"{told}pack again, or verify it with the version that wrote it")
    for path in sorted(made):
        wanted = made[path]
        for ours, theirs in () if own else names:
            wanted = wanted.replace(ours.encode(), theirs.encode())
        if path not in files:
            yield Difference(path, "missing", "its documents come to this file, and it is not there")
        elif wanted != files[path] and (own or path in _TO_THE_MACHINE or path.startswith(_FOLDERS)):
            yield Difference(path, "changed", "it does not say what its documents come to and what was proved of them")


_FOLDERS = (f"{MACRO_FOLDER}/", f"{FIRST_RUN_FOLDER}/", "pendant/")
_TO_THE_MACHINE = (table.JSON, table.CSV)
"""What can reach the machine: where a version differs, the printed pages show another digest of the manifest."""


def since(files: Mapping[str, bytes], now: Gathered) -> Iterator[Difference]:
    """What has changed in a workshop since: its sheets and macros, and what its sheets no longer prove."""
    bench, _ = contents.parsed(now)
    changed = [kind for kind in SINGLETONS if files.get(_source(kind)) != getattr(now, kind).encode()]
    for kind in changed:
        path = _source(kind)
        if path in files:
            yield Difference(path, "outdated", f"the {kind} sheet of the workshop has changed since")
    taken = contents.remake(files, {})
    for id, text in taken.macros.items():
        path = f"{contents.SOURCE_FOLDER}/macros/{id}.toml"
        if id not in now.macros:
            yield Difference(path, "outdated", f"the workshop no longer has the macro {id}")
        elif now.macros[id] != text:
            yield Difference(path, "outdated", f"the macro {id} of the workshop has changed since")
    if changed:
        yield from _proofs(files, _entries(_manifest(files)), bench, contents.parsed(taken)[0].shelf)


def _source(kind: str) -> str:
    return f"{contents.SOURCE_FOLDER}/{kind}.toml"
