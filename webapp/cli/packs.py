"""Packs: written for the machine, and read again."""

from __future__ import annotations

import dataclasses
from datetime import datetime
from pathlib import Path

import click

from library import documents, pack, shown
from library.bench import Bench
from library.numbering import slots
from library.store import StoreError
from webapp.cli.common import A_PATH, REFUSED, InputError, put, remark, second_opinion_option, tell, workshop_option
from webapp.cli.inputs import kept_workshop, start_place
from webapp.cli.meter import meter

BELIEVED = (
    "The second opinion was not asked again, as the solver is not installed: what the pack says of its answers is "
    "believed. All else was read and proved anew. To ask again: pip install 'clickstop[second]'."
)


@click.command()
@workshop_option()
@click.option("--to", required=True, type=A_PATH, metavar="DIR|FILE.zip", help="Folder or zip to write.")
@click.option("--replace", is_flag=True, help="Keep what is there already under another name, and write the pack.")
@second_opinion_option()
@click.option(
    "--card", metavar="WIDTHxHEIGHT", help="Size of the legend card in the sheet's units; 90x60 mm if left out."
)
@click.option(
    "--start",
    metavar='"X,Y,Z"',
    help="Where the first run starts: machine coordinates in the units of the sheet; else where tools are clear.",
)
def take(
    workshop: Path | None, to: Path, replace: bool, second_opinion: bool, card: str | None, start: str | None
) -> int:
    """Write the pack: every macro that is on a slot and proved, the slot table and the manifest."""
    opened = kept_workshop(workshop)
    bench = opened.bench()
    wish = printing(card, start, bench)
    with meter("the pack") as told:
        made = pack.take(
            opened, lambda gathered: dataclasses.replace(gathered, printing=wish, second=second_opinion), told
        )
    aside = pack.write(made, to, replace=replace)
    pack.remember(opened.file.parent, made)
    try:
        pack.keep(opened, made)
    except StoreError as error:
        raise InputError(f"{to} is written and proved, but it is not kept as an issue: {error}") from None
    paths = "".join(f"  {shown.line(path)}\n" for path in made.files)
    put(f"Issue {made.goes.issue}, written to {shown.line(str(to))}, read back and proved again:\n{paths}")
    tell(f"What was there before is kept as {aside}." if aside else "")
    remark(bench.machine_sheet)
    tell(f"{made.goes.invented}." if made.goes.invented else "")
    now = pack.fitted(opened)
    anew = pack.reload(now.kept, made) if now else ()
    tell(f"To load anew, as issue {now.kept.issue} is fitted: {', '.join(anew) or 'nothing'}" if now else "")
    for name, reason in made.left_out.items():
        tell(f"Left out: {name}: {reason}")
    pendant = documents.parse("pendant", opened.text("pendant", "workshop"), "pendant sheet")
    wanted = {slot.macro for slot in slots(pendant)} | {f"slot {slot.label}" for slot in slots(pendant)}
    return REFUSED if (wanted | {pack.SLOT_TABLE}) & set(made.left_out) else 0


def printing(card: str | None, start: str | None, bench: Bench) -> pack.Printing:
    """What the printed pages are asked for; raises InputError."""
    wish = pack.Printing()
    if start is not None:
        places = start_place(start, bench).items()
        wish = dataclasses.replace(wish, start={name: at.low for name, at in places if at.low == at.high})
    if card is None:
        return wish
    try:
        wide, high = map(float, card.lower().split("x"))
    except ValueError:
        sides = "x".join(bench.figures.bare(side, 0) for side in (wish.card_width, wish.card_height))
        raise InputError(f"--card {card}: write it like {sides}") from None
    try:
        width, height = pack.card_sides(wide, high, bench.figures)
    except ValueError as error:
        raise InputError(f"--card {card}: {error}") from None
    return dataclasses.replace(wish, card_width=width, card_height=height)


@click.command()
@click.argument("issue", required=False)
@click.option("--on", "day", metavar="DAY", help="The day since when, such as 2026-05-04; today if left out.")
@workshop_option()
def fitted(issue: str | None, day: str | None, workshop: Path | None) -> int:
    """Say which issue is on the machine, or whether what is there is still proved and still what the workshop has."""
    opened = kept_workshop(workshop)
    if issue is None and day is not None:
        raise InputError("--on says since when an issue is fitted; name the issue before it")
    if issue is not None and not issue.strip():
        raise InputError("the issue is empty; write its short number, or leave it out to see what is on the machine")
    now = pack.fit(opened, issue, day or datetime.now().date().isoformat()) if issue else pack.fitted(opened)
    if now is None:
        there = ", ".join(str(each.issue) for each in pack.known(opened)) or "none yet"
        put(f"Nobody has said what is on the machine. Issues that were taken: {there}\n")
        return 0
    put(f"Issue {now.kept.issue} is on the machine since {now.since}.\n")
    found = pack.changes(now, pack.gather(opened))
    put(f"{pack.told(now, found)}\n" if found else "All of it is proved, and is what the workshop has.\n")
    put("".join(f"  {each.name}: {each.kind}. {each.why}\n" for each in found))
    return REFUSED if found else 0


@click.command()
@click.argument("written", metavar="DIR|FILE.zip", type=A_PATH)
@click.option(
    "--workshop",
    type=A_PATH,
    metavar="DIR",
    help="Folder of a workshop: say what has changed there since, and what its sheets no longer prove.",
)
@second_opinion_option()
def verify(written: Path, workshop: Path | None, second_opinion: bool) -> int:
    """Read a pack again: is every byte the one that was proved, and is it still proved?"""
    found = pack.verify(written, pack.gather(kept_workshop(workshop)) if workshop else None, second=second_opinion)
    if pack.believed(written, second=second_opinion):
        tell(BELIEVED)
    if not found:
        put(f"{shown.line(str(written))}: every file is as it was proved\n")
        return 0
    put("".join(f"{shown.line(str(difference))}\n" for difference in found))
    return REFUSED
