"""Bundles: macros with what they run, in a zip that is the same for the same input, and reading one that came.

``macros/ID.toml`` are the documents as they stand, ``drawings/ID.svg`` what each does on the machine they come from.
Nothing in a bundle is run, and its drawings are never shown: what a macro does is drawn anew from its own lines.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
import textwrap
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from library import archive, documents, shown
from library.bench import Bench
from library.limits import BUNDLE_BYTES, BUNDLE_ENTRIES, COMING, DOCUMENT_BYTES
from library.macros import Macro
from library.names import RESERVED, file_name, own_name
from library.proving import Proved, prove_macro
from library.share import manifest
from library.share.manifest import BundleError, SaidBundle, SaidFigures, SaidFinding, SaidMacro, SaidNeeds, SaidSpread
from library.share.needs import Needs, needed, runs
from parser.progress import Progress, unheard
from parser.quantities import seconds_spread
from parser.times.timing import Spread

README, MACROS, DRAWINGS = "README.txt", "macros", "drawings"
WIDTH = 78  # our choice, as are the next two
MOST_FINDINGS, MOST_ASSUMPTIONS = 200, 200

Draw = Callable[[Proved], bytes]
"""Draws what a macro does, as an SVG that stands for itself."""


@dataclass(frozen=True, slots=True)
class Bundled:
    """A macro that goes into a bundle: its text, what it did on the bench, and whether somebody asked for it."""

    text: str
    proved: Proved
    needs: Needs
    asked: bool

    @property
    def macro(self) -> Macro:
        """The macro of the text."""
        return self.proved.macro


@dataclass(frozen=True, slots=True)
class Bundle:
    """A bundle as it was read: what it says, and the text of each of its macros by id."""

    said: SaidBundle
    texts: Mapping[str, str]
    sha256: str


def gather(
    texts: Mapping[str, str], bench: Bench, wanted: Iterable[str], progress: Progress = unheard
) -> tuple[Bundled, ...]:
    """The wanted macros and those that they run, by id, each proved on the bench they come from.

    ``texts`` are the documents of the shelf by id. A macro that is run and not there is left out, and stands among what
    the bundle needs. Raises BundleError for a wanted one that is not there, DocumentError for one that cannot be read.
    """
    asked = list(dict.fromkeys(wanted))
    missing = [id for id in asked if id not in texts]
    if missing:
        there = ", ".join(sorted(texts)) or "none"
        raise BundleError(f"there is no macro {shown.line(missing[0])!r} on the shelf; it has {there}")
    if not asked:
        raise BundleError("there is no macro to put into the bundle; name one, or put one on the shelf")
    shelf = {id: documents.parse("macro", texts[id], id) for id in _closure(asked, texts)}
    if len(shelf) > COMING.most:
        raise BundleError(
            f"the bundle would hold {len(shelf):,} macros; {COMING.of} is at most {COMING}, so name fewer"
        )
    on = replace(bench, shelf=shelf)
    found = []
    for number, (id, macro) in enumerate(sorted(shelf.items())):
        progress(number / len(shelf))
        found.append(Bundled(texts[id], prove_macro(macro, on, seek_start=False), needed(macro, on).needs, id in asked))
    return tuple(found)


def _closure(asked: list[str], texts: Mapping[str, str]) -> list[str]:
    """The macros that are asked for and those that they run, as far as they are there."""
    found, waiting = dict[str, None](), list(asked)
    while waiting:
        id = waiting.pop()
        if id in texts and id not in found:
            found[id] = None
            waiting += runs(documents.parse("macro", texts[id], id), {})
    return list(found)


def write(bundled: Iterable[Bundled], bench: Bench, draw: Draw | None = None) -> bytes:
    """The bundle's bytes, read back before they are handed out; the same input gives the same bytes.

    ``draw`` makes the drawing of each, None for none. Raises BundleError.
    """
    entries, files = [], dict[str, bytes]()
    for number, each in enumerate(bundled, start=1):
        path = f"{MACROS}/{file_name('{slug}.toml', each.macro.id, number)}"
        drawing = f"{DRAWINGS}/{file_name('{slug}.svg', each.macro.id, number)}" if draw else None
        files[path] = each.text.encode()
        if draw and drawing:
            files[drawing] = draw(each.proved)
        entries.append(_entry(each, path, drawing))
    said = SaidBundle(
        format="clickstop-bundle/1",
        program=own_name(),
        sheets=manifest.SaidSheets(
            machine=manifest.SaidSheet(name=bench.machine.name, sha256=bench.digests["machine"]),
            controller=manifest.SaidSheet(name=bench.controller.name, sha256=bench.digests["controller"]),
        ),
        travel={axis.name: (axis.travel.low, axis.travel.high) for axis in bench.machine.axes},
        landmarks={name: each.value for name, each in sorted(bench.landmarks.items())},
        macros=tuple(entries),
        files={},
    )
    files[README] = ("\n".join(_readme(said)) + "\n").encode()
    digests = {path: hashlib.sha256(content).hexdigest() for path, content in sorted(files.items())}
    files[manifest.NAME] = manifest.written(said.model_copy(update={"files": digests}))
    content = archive.packed(files)
    read(content)
    return content


def save(content: bytes, to: Path) -> None:
    """Give a bundle its name, whole or not at all; raises BundleError where there is another file of that name."""
    try:
        with tempfile.TemporaryDirectory(prefix=".clickstop-", dir=to.parent) as folder:
            fresh = Path(folder) / "bundle.zip"
            with fresh.open("xb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            if to.is_file() and to.stat().st_size == len(content) and to.read_bytes() == content:
                return  # the same input has given the same bytes
            _give_name(fresh, to)
    except FileExistsError:
        raise BundleError(f"{to} is there already; choose another name") from None
    except OSError as error:
        raise BundleError(f"{to} cannot be written ({error.strerror or error}); choose another place") from None


def _give_name(fresh: Path, to: Path) -> None:
    try:
        os.link(fresh, to)
    except FileExistsError:
        raise
    except OSError:  # a disk without links
        if to.exists():
            raise FileExistsError(to) from None
        fresh.rename(to)


def read(content: bytes) -> Bundle:
    """The bundle in a zip, every file as its manifest says. Raises BundleError with what is wrong."""
    try:
        with archive.opened(content, BUNDLE_BYTES, BUNDLE_ENTRIES) as found:
            return Bundle(*_read(found), hashlib.sha256(content).hexdigest())
    except archive.ArchiveError as error:
        raise BundleError(str(error)) from None


def _read(found: archive.Archive) -> tuple[SaidBundle, dict[str, str]]:
    if manifest.NAME not in found.names:
        raise BundleError(
            f"it is no bundle: it has no {manifest.NAME}; name a file that clickstop shelf bundle has written"
        )
    if found.size(manifest.NAME) > manifest.LARGEST_BYTES:
        raise BundleError(f"its {manifest.NAME} is larger than {manifest.LARGEST_BYTES:,} bytes, which is none of ours")
    said = manifest.read(found.read(manifest.NAME))
    _require_all_said(found, said)
    texts: dict[str, str] = {}
    for macro in said.macros:
        if macro.id in texts:
            raise BundleError(f"it holds two macros of the id {macro.id}; ask for it again with one of them renamed")
        texts[macro.id] = _text(found, macro)
    return said, texts


def _require_all_said(found: archive.Archive, said: SaidBundle) -> None:
    """Raise BundleError where the files are not those that the manifest says, byte for byte."""
    there = {name for name in found.names if name != manifest.NAME}
    ours = {README, *(each.file for each in said.macros), *(each.drawing for each in said.macros if each.drawing)}
    for name in sorted(there):
        if any(RESERVED.fullmatch(part) for part in name.split("/")):
            told = "has the name of a device on some systems; nothing of it is read"
            raise BundleError(f"{shown.line(name)} in it {told}")
        if name not in said.files or name not in ours:
            what = "another archive" if name.lower().endswith((".zip", ".gz", ".7z", ".tar")) else "a file"
            raise BundleError(f"{shown.line(name)} in it is {what} that no macro of its manifest has; get it again")
    for name, wanted in said.files.items():
        if name not in there:
            raise BundleError(f"its manifest names {shown.line(name)}, which is not in it; get it again")
        if found.digest(name) != wanted:
            raise BundleError(f"{shown.line(name)} in it is not as its manifest says (another checksum); get it again")
    for macro in said.macros:
        if macro.file not in there:
            raise BundleError(f"the document of the macro {macro.id} is not in it; get it again")


def _text(found: archive.Archive, macro: SaidMacro) -> str:
    if found.size(macro.file) > DOCUMENT_BYTES.most:
        raise BundleError(f"{shown.line(macro.file)} in it is larger than {DOCUMENT_BYTES}, the most of a document")
    try:
        return found.read(macro.file).decode()
    except UnicodeDecodeError:
        raise BundleError(f"{shown.line(macro.file)} in it is not text; a macro document in TOML is wanted") from None


def _entry(each: Bundled, path: str, drawing: str | None) -> SaidMacro:
    macro, needs = each.macro, each.needs
    return SaidMacro(
        id=macro.id,
        name=macro.name,
        purpose=macro.purpose,
        author=macro.author,
        licence=macro.licence,
        tags=macro.tags,
        file=path,
        drawing=drawing,
        asked=each.asked,
        needs=SaidNeeds(
            landmarks=needs.landmarks,
            axes=needs.axes,
            words=needs.words,
            abilities=needs.abilities,
            macros=needs.macros,
            blocks=needs.blocks,
            start=needs.start,
            own_lines=tuple(own.step for own in needs.own_lines if own.macro == macro.id),
        ),
        figures=_figures(each.proved),
    )


def _figures(proved: Proved) -> SaidFigures:
    report = proved.report
    totals = report.plan.totals
    return SaidFigures(
        verdict="refused" if proved.problems else report.verdict,
        sentence=_short(proved.reason if proved.problems else report.sentence),
        assumptions=tuple(map(_short, report.assumptions[:MOST_ASSUMPTIONS])),
        findings=tuple(
            SaidFinding(
                rule=each.rule, severity=each.severity, line=each.line, step=each.step, message=_short(each.told)
            )
            for each in report.findings[:MOST_FINDINGS]
        ),
        seconds=_spread(totals.seconds),
        rapid_mm=_spread(totals.rapid_mm),
        feed_mm=_spread(totals.feed_mm),
        extents={axis: (each.low, each.high) for axis, each in report.extents.items()},
    )


def _short(text: str) -> str:
    return text if len(text) <= manifest.LONGEST_TEXT else f"{text[: manifest.LONGEST_TEXT - 3]}..."


def _spread(spread: Spread) -> SaidSpread:
    return SaidSpread(least=spread.least, most=spread.most, typical=spread.typical)


def _readme(said: SaidBundle) -> Iterator[str]:
    yield "A bundle of macros for a mill's hand pendant"
    yield ""
    yield from textwrap.wrap(
        f"Written by {said.program} on the machine {said.sheets.machine.name} with the controller "
        f"{said.sheets.controller.name}. Every verdict and figure below holds there and says nothing of your machine.",
        WIDTH,
    )
    yield ""
    yield from textwrap.wrap(
        "To see what each macro would do on yours, with nothing stored: clickstop shelf review THIS.zip. To put them "
        "on your shelf: clickstop shelf take-in THIS.zip, or the page Shelf, Review and take in. Never send a macro to "
        "a machine on which it is not proved.",
        WIDTH,
    )
    for macro in said.macros:
        yield ""
        yield f"{macro.name} ({macro.id})" + ("" if macro.asked else ", run by another of these")
        facts = [
            ("Purpose", macro.purpose),
            ("Author", macro.author),
            ("Licence", macro.licence),
            ("Tags", ", ".join(macro.tags)),
            ("There", macro.figures.sentence),
            ("Takes", seconds_spread(macro.figures.seconds)),
            ("Needs", ", ".join([*macro.needs.landmarks, *(f"{word}" for word in macro.needs.abilities)])),
            ("Runs", ", ".join(macro.needs.macros)),
            ("Starts", macro.needs.start and f"only where {macro.needs.start}; this does not adapt"),
            (
                "Own lines",
                macro.needs.own_lines and f"in step {', '.join(map(str, macro.needs.own_lines))}; they do not adapt",
            ),
            ("Document", macro.file),
        ]
        for label, fact in facts:
            if fact:
                yield from textwrap.wrap(
                    f"{label}: {fact}", WIDTH, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False
                )
