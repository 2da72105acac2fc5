"""The shelf: what is on it, bundles of it, what comes looked over and taken in, and a folder in version control."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from library import documents, shown, verdicts
from library.limits import BUNDLE_BYTES
from library.merging import ClashError
from library.store import TakenError, Workshop
from parser.quantities import Figures, seconds_spread
from parser.report import as_json
from webapp.cli.common import A_PATH, REFUSED, InputError, put, tell
from webapp.cli.inputs import kept_workshop
from webapp.cli.meter import meter
from webapp.cli.terminal import report_text

if TYPE_CHECKING:
    from library.proving import Proved
    from library.share.folder import Synced
    from library.share.incoming import Incoming
    from library.share.review import Beside, Here, Reviewed
    from library.share.taking import Keep, Placed


def shelf_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option that names the workshop, which has to be there."""
    told = "Folder of the workshop, which has to be there; else your own."
    return click.option("--workshop", type=A_PATH, metavar="DIR", help=told)(command)


def format_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option that asks for JSON."""
    choice = click.Choice(["text", "json"])
    told = "How to print the result."
    return click.option("--format", "form", type=choice, default="text", show_default=True, help=told)(command)


def opened(workshop: Path | None) -> Workshop:
    """The workshop that was named, else one's own; raises InputError where there is none, and makes none."""
    return kept_workshop(workshop)


@click.group()
def shelf() -> None:
    """Share the macros of a workshop: list, bundle, look over what comes and take it in, keep a folder of them."""


@shelf.command("list")
@format_option
@shelf_option
def list_(form: str, workshop: Path | None) -> int:
    """List the macros of the shelf with their verdict, time and needs."""
    from library.share import origin
    from library.share.lacks import suited
    from library.share.review import here

    shop = opened(workshop)
    now = here(shop)
    came = origin.of_all(shop)
    rows: list[dict[str, Any]] = []
    for id, head in now.heads.items():
        try:
            macro = documents.parse("macro", head.text, id)
        except documents.DocumentError as error:
            rows.append({"id": id, "name": id, "verdict": "refused", "sentence": str(error), "word": "cannot be read"})
            continue
        proved, suits = proved_on(now, id), suited(macro, now.bench)
        rows.append(
            {
                "id": id,
                "name": macro.name,
                "purpose": macro.purpose,
                "author": macro.author,
                "licence": macro.licence,
                "tags": list(macro.tags),
                "verdict": "refused" if proved.problems else proved.report.verdict,
                "sentence": proved.reason if proved.problems else proved.report.sentence,
                "word": word(proved),
                "seconds": asdict(proved.report.plan.totals.seconds),
                "needs": asdict(suits.needs),
                "origin": asdict(came[id]) if id in came else None,
                "time": seconds_spread(proved.report.plan.totals.seconds),
            }
        )
    if form == "json":
        put(as_text([{key: value for key, value in row.items() if key not in ("word", "time")} for row in rows]))
    else:
        columns = [(row["id"], row["word"], row.get("time", ""), row["name"]) for row in rows]
        put("".join(f"{line}\n" for line in aligned(columns)))
    return REFUSED if any(row["verdict"] == "refused" for row in rows) else 0


@shelf.command()
@click.argument("files", nargs=-1, required=True, metavar="FILE...", type=A_PATH)
@shelf_option
def add(files: tuple[Path, ...], workshop: Path | None) -> int:
    """Put macro documents on the shelf. One whose id is taken by another macro is not: take it in with --keep."""
    return taken_in(opened(workshop), files, None, ())


@shelf.command()
@click.argument("id", metavar="ID")
@shelf_option
def remove(id: str, workshop: Path | None) -> int:
    """Take a macro off the shelf. Its revisions are kept, and the page Shelf brings it back."""
    shop = opened(workshop)
    shop.delete("macro", id)
    put(f"{id} is off the shelf.\n")
    return 0


@shelf.command("bundle")
@click.argument("ids", nargs=-1, metavar="ID...")
@click.option("--all", "everything", is_flag=True, help="Every macro of the shelf.")
@click.option("--to", required=True, type=A_PATH, metavar="FILE.zip", help="File to write; it must not be there yet.")
@shelf_option
def bundle_(ids: tuple[str, ...], everything: bool, to: Path, workshop: Path | None) -> int:
    """Write macros with what they run, how they are drawn and what was proved of them, to one file to share."""
    from library.share import bundle
    from library.share.review import here
    from webapp.drawings.standalone import path_drawing

    if everything == bool(ids):
        raise click.UsageError("Name the macros to bundle, or --all for every one of the shelf")
    now = here(opened(workshop))
    for id in now.heads if everything else ():
        if id not in now.shelf:
            tell(f"Left out: {id} cannot be read")
    texts = {id: head.text for id, head in now.heads.items() if id in now.shelf or not everything}
    with meter("Bundle") as told:
        bundled = bundle.gather(texts, now.bench, texts if everything else ids, told)
    content = bundle.write(bundled, now.bench, path_drawing)
    bundle.save(content, to)
    put(f"Written to {shown.line(str(to))} and read back:\n")
    put("".join(f"{line}\n" for line in aligned([(each.macro.id, word(each.proved)) for each in bundled])))
    there = {each.macro.id for each in bundled}
    for id in dict.fromkeys(id for each in bundled for id in each.needs.macros if id not in there):
        tell(f"{id} is run by one of these and is not on the shelf; whoever gets the bundle has to have it")
    return 0


@shelf.command()
@click.argument("files", nargs=-1, required=True, metavar="FILE...", type=A_PATH)
@format_option
@shelf_option
def review(files: tuple[Path, ...], form: str, workshop: Path | None) -> int:
    """Say what each macro of a bundle, pack, backup or document would do here. Nothing is stored."""
    from library.share.review import here

    now = here(opened(workshop))
    found = looked_over(read(files), now)
    if form == "json":
        put(as_text([as_data(each, now) for each in found]))
    else:
        put("\n".join("\n".join([*told_of(each, now.bench.figures), ""]) for each in found))
    return REFUSED if any(each.refused for each in found) else 0


@shelf.command("take-in")
@click.argument("file", metavar="FILE", type=A_PATH)
@click.argument("ids", nargs=-1, metavar="[FILE...] [ID...]")
@click.option(
    "--keep",
    type=click.Choice(["mine", "theirs", "both"]),
    help="What to do where an id is taken by another macro; left out, nothing is stored then.",
)
@shelf_option
def take_in_(file: Path, ids: tuple[str, ...], keep: Keep | None, workshop: Path | None) -> int:
    """Take the macros of a bundle, pack, backup or document in, all of them or those named with what they run."""
    more = [Path(each) for each in ids if "." in each or "/" in each or "\\" in each]
    wanted = tuple(each for each in ids if Path(each) not in more)
    return taken_in(opened(workshop), (file, *more), keep, wanted)


@shelf.command("export")
@click.argument("folder", metavar="DIR", type=A_PATH)
@shelf_option
def export_(folder: Path, workshop: Path | None) -> int:
    """Write every macro of the shelf to a folder, for version control. What is there and differs is left as it is."""
    from library.share.folder import export

    return synced(export(opened(workshop), folder))


@shelf.command("sync")
@click.argument("folder", metavar="DIR", type=A_PATH)
@shelf_option
def sync_(folder: Path, workshop: Path | None) -> int:
    """Bring shelf and folder to the same state. Where both have changed one thing, both stay and it is told."""
    from library.share.folder import sync

    return synced(sync(opened(workshop), folder))


DONE = {
    "written": "written to the folder",
    "removed": "taken out of the folder",
    "added": "new on the shelf",
    "changed": "changed on the shelf",
    "taken-off": "taken off the shelf",
    "merged": "merged on both sides",
    "conflict": "CONFLICT",
    "unreadable": "CANNOT BE READ",
}


def synced(found: Iterable[Synced]) -> int:
    """Say what was done, and what was left as it is."""
    rows = tuple(found)
    put("".join(f"{line}\n" for line in aligned([(each.file, DONE[each.done], each.why) for each in rows])))
    if not rows:
        put("Shelf and folder are alike.\n")
    return REFUSED if any(each.left for each in rows) else 0


def read(files: Iterable[Path]) -> Incoming:
    """The macros in the files that were named; raises InputError for one that is not there, and IncomingError."""
    from library import reading
    from library.share.incoming import incoming

    found = []
    for path in files:
        try:
            found.append((str(path), reading.content(path, BUNDLE_BYTES)))
        except reading.ReadError as error:
            raise InputError(f"{path}: {error}") from None
        except FileNotFoundError:
            raise InputError(f"{path}: there is no such file; check the name and the folder") from None
        except IsADirectoryError:
            raise InputError(f"{path}: this is a folder; to bring one in line with the shelf: shelf sync") from None
        except (OSError, ValueError) as error:
            raise InputError(f"{path}: the file cannot be read ({getattr(error, 'strerror', None) or error})") from None
    return incoming((Path(name).name, content) for name, content in found)


def looked_over(come: Incoming, now: Here) -> tuple[Reviewed, ...]:
    """The review of what comes, with a meter."""
    from library.share.review import review

    with meter("Review") as told:
        return review(come, now, progress=told)


def proved_on(now: Here, id: str) -> Proved:
    """A macro of the shelf, proved on the sheets in force."""
    from library.proving import prove_macro

    with meter(id) as told:
        return prove_macro(now.shelf[id], now.bench, seek_start=False, progress=told)


def taken_in(shop: Workshop, files: tuple[Path, ...], keep: Keep | None, wanted: tuple[str, ...]) -> int:
    """Take macros in and say what became of each; raises InputError where nothing is stored."""
    from library.share.review import here
    from library.share.taking import chosen, placed, take_in, told

    found = looked_over(read(files), here(shop))
    try:
        keys = chosen(found, wanted)
        taken = [each for each in found if each.coming.key in keys]
        clashing = [each.coming.id for each in taken if each.standing == "different"]
        if clashing and keep is None:
            raise InputError(
                f"{', '.join(clashing)}: the shelf has another macro of this id, so nothing was stored; "
                "say --keep mine, theirs or both"
            )
        places = placed(found, dict.fromkeys(keys, keep or "both"), shop)
        take_in(shop, places, datetime.now(UTC).isoformat(timespec="seconds"))
    except (ClashError, TakenError) as error:
        raise InputError(told(error)) from None
    put("".join(f"{line}\n" for line in aligned([became(each) for each in places])))
    return REFUSED if any(each.stored and each.reviewed.refused for each in places) else 0


def became(each: Placed) -> tuple[str, str, str]:
    """What became of a macro, in a row."""
    from library.share.taking import BECAME

    proved = each.reviewed.proved
    return each.id, BECAME[each.became], word(proved) if proved else ""


def word(proved: Proved) -> str:
    """The verdict as everything names it, in small letters."""
    said = "not ready" if proved.problems else verdicts.in_words(proved.report)
    return said[:1].lower() + said[1:]


def aligned(rows: Iterable[tuple[str, ...]]) -> Iterator[str]:
    """Rows in columns, every word from outside on its line."""
    table = [tuple(shown.line(cell) for cell in row) for row in rows]
    widths = [max(map(len, column)) for column in zip(*table, strict=True)] if table else []
    for row in table:
        yield "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)).rstrip()


def as_text(data: object) -> str:
    """JSON for a script."""
    return json.dumps(data, indent=1, allow_nan=False) + "\n"


def told_of(each: Reviewed, figures: Figures) -> Iterator[str]:
    """What a macro would do here, as lines for a terminal."""
    from library.share import foreign, lacks

    coming = each.coming
    name = coming.macro.name if coming.macro else ""
    yield shown.line(
        f"{coming.id} from {coming.source.name}: {STANDINGS[each.standing]}" + (f" ({name})" if name else "")
    )
    if coming.wrong:
        yield f"  It cannot be read: {shown.line(coming.wrong)}"
        return
    assert each.proved is not None
    for problem in each.proved.problems:
        yield f"  Not ready: {shown.line(str(problem))}"
    yield from report_text("  On this machine", each.proved.report, figures).rstrip("\n").split("\n")
    if coming.there:
        where = coming.source.home.machine if coming.source.home else "its own machine"
        yield f"  On {shown.line(where)}: {shown.line(coming.there.sentence)}"
    yield from (f"  Missing here: {shown.line(lacks.worded(lack))}" for lack in each.lacks)
    there = coming.source.home.machine if coming.source.home else ""
    yield from (f"  Another machine's: {shown.line(foreign.worded(found, figures, there))}" for found in each.foreign)
    yield from (f"  Does not adapt: {shown.line(sentence)}" for sentence in each.rigid)
    if each.beside:
        yield from _beside(each.beside)


STANDINGS = {
    "new": "new here",
    "same": "on the shelf already",
    "different": "the shelf has another macro of this id",
    "unreadable": "no macro",
}


def _beside(beside: Beside) -> Iterator[str]:
    if beside.alike:
        yield "  The one here differs in comments or layout only: they say and do the same"
        return
    yield f"  The one here is {shown.line(beside.name)}; - here, + as it comes:"
    for word in beside.words:
        yield shown.line(f"    - {word.key} {word.mine}")
        yield shown.line(f"    + {word.key} {word.theirs}")
    for title, lines in (("steps", beside.steps), ("lines", beside.lines)):
        if lines:
            yield f"    {title}:"
            yield from (shown.line(f"    {line.mark} {line.text}") for line in lines)
    if beside.runs_it:
        yield f"  Run here by {', '.join(beside.runs_it)}"
    if beside.slots:
        yield f"  On slot {', '.join(map(shown.line, beside.slots))}"


def as_data(each: Reviewed, now: Here) -> dict[str, object]:
    """What a macro would do here, for a script."""
    from library.share import foreign, lacks

    coming, beside = each.coming, each.beside
    there = coming.source.home.machine if coming.source.home else ""
    shas = {f"{kind}_sha256": now.bench.digests[kind] for kind in ("machine", "controller")}
    return {
        "id": coming.id,
        "name": coming.macro.name if coming.macro else None,
        "source": {"name": coming.source.name, "kind": coming.source.kind, "sha256": coming.source.sha256},
        "standing": each.standing,
        "wrong": coming.wrong,
        "problems": [str(problem) for problem in each.proved.problems] if each.proved else [],
        "report": as_json(each.proved.report, file=coming.id, **shas) if each.proved else None,
        "there": coming.there.model_dump(mode="json") if coming.there else None,
        "needs": asdict(each.needs) if each.needs else None,
        "missing": [asdict(lack) | {"message": lacks.worded(lack)} for lack in each.lacks],
        "foreign": [
            asdict(found) | {"message": foreign.worded(found, now.bench.figures, there)} for found in each.foreign
        ],
        "does_not_adapt": list(each.rigid),
        "differences": None
        if beside is None
        else {
            "words": [asdict(word) for word in beside.words],
            "steps": [[line.mark, line.text] for line in beside.steps],
            "lines": [[line.mark, line.text] for line in beside.lines],
            "run_by": list(beside.runs_it),
            "slots": list(beside.slots),
        },
    }
