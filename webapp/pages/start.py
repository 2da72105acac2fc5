"""Start: six short parts that make the workshop's sheets one's own, each checked before the next rests on it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from library import documents, toml_text
from library.bench import Bench
from library.fields import Units
from library.sheets import MachineSheet, plain_machine
from webapp.drawings import elevations
from webapp.drawings import pendant as pendant_drawing
from webapp.pages import confirmed
from webapp.pages import sheet as sheet_page
from webapp.pages.sheet import Row, Sheet

DESTINATION = "present-part"
"""The macro of the starter that the last part leads to."""


@dataclass(frozen=True, slots=True)
class StartPart:
    """One page of Start: the parts of a sheet's form that it asks, those that are folded, and what it confirms.

    ``confirms`` names parts of ``[measured]``, lists by their key; ``draws`` the keys of the machine that are drawn.
    """

    id: str
    title: str
    kind: str
    forms: tuple[str, ...]
    lead: str
    check: str
    folded: tuple[str, ...] = ()
    confirms: tuple[str, ...] = ()
    draws: tuple[str, ...] = ()


STARTS: tuple[StartPart, ...] = (
    StartPart(
        "axes",
        "Axes",
        "machine",
        ("axes",),
        "Home the machine, then move each axis by hand to both ends and write down what the display shows, no offset "
        "in force. Rates and accelerations decide times, not collisions.",
        "Each axis as long as it is, homing where its switch is, you at the front.",
        confirms=("axes", "operator"),
        draws=("axes", "operator"),
    ),
    StartPart(
        "table",
        "What stands on the table",
        "machine",
        ("table", "setups"),
        "The table top, what is always on it, and what is clamped to it today. Draw boxes a little too large rather "
        "than too small. Take out what is not yours.",
        "Every box where it stands, and as high.",
        folded=("frame",),
        confirms=("table", "keep_out", "setup", "enclosure"),
        draws=("table", "keep_out", "setup", "enclosure"),
    ),
    StartPart(
        "tool",
        "Tool and spindle",
        "machine",
        ("tool", "tools", "motion"),
        "The longest and the thickest tool you ever use: each shorter and thinner one is covered. Safe Z is the nose "
        "reading at which you would let the machine cross the table without looking.",
        "At safe Z the tip of the longest tool is above everything.",
        confirms=("spindle", "tool", "safe", "tools", "motion"),
        draws=("spindle", "holder", "tool", "safe", "margins"),
    ),
    StartPart(
        "zero",
        "Work zero",
        "machine",
        ("zeros",),
        "What the machine reads when the tip of the longest tool touches work zero. One that is not always at "
        "the same place has its lowest in the first field and its highest under “up to”. Leave out what you do not "
        "know.",
        "The zero where your work is.",
        confirms=("work", "stored"),
        draws=("work", "stored"),
    ),
    StartPart(
        "controller",
        "Controller",
        "controller",
        ("answers", "naming", "motion", "lines", "letting-go", "files"),
        "Questions about what the controller does, each with how to find the answer out. Where you are not sure, leave "
        "the answer as it is, and leave the part as not tried.",
        "What you tried, as you found it.",
        confirms=("homing", "words", "stored", "answers", "release", "jog"),
    ),
    StartPart(
        "pendant",
        "Pendant",
        "pendant",
        ("selectors",),
        "The positions of the selector in their order: one that drives an axis, one that is dead such as OFF, and the "
        "spare ones, which hold macros.",
        "The selector as it is turned.",
        folded=("gesture", "wiring", "memory"),
        confirms=("selectors", "gesture", "wheel", "memory", "wiring"),
    ),
)


_CONFIRMED = {"machine": "measured", "controller": "tried", "pendant": "yours,"}


@dataclass(frozen=True, slots=True)
class Tick:
    """How far a part is: ``state`` is done, begun or open, in words in ``says``."""

    part: StartPart
    state: str
    says: str


def by_id(id: str) -> StartPart | None:
    """A part by its id, None where there is none."""
    return next((part for part in STARTS if part.id == id), None)


def after(part: StartPart) -> StartPart | None:
    """The part that follows, None after the last."""
    at = STARTS.index(part) + 1
    return STARTS[at] if at < len(STARTS) else None


def confirmed_by(part: StartPart, sheet: object) -> tuple[str, ...]:
    """The parts of ``[measured]`` that a page confirms: those of its keys that the sheet has."""
    return tuple(row.part for row in confirmed.rows(sheet) if row.part.split(" ")[0] in part.confirms)


def ticks(bench: Bench, pendant: str) -> tuple[Tick, ...]:
    """What is done of each part; ``pendant`` is the text of its sheet."""
    return tuple(_tick(part, bench, pendant) for part in STARTS)


def _tick(part: StartPart, bench: Bench, pendant: str) -> Tick:
    sheets: Mapping[str, Sheet] = {
        "machine": bench.machine_sheet,
        "controller": bench.controller_sheet,
        "pendant": sheet_page.read("pendant", pendant),
    }
    sheet = sheets[part.kind]
    days = {row.part: row.day for row in confirmed.rows(sheet)}
    wanted = confirmed_by(part, sheet)
    told = [days[each] for each in wanted if days[each]]
    invented = "not tried" if part.kind == "controller" else "invented"
    if wanted and len(told) == len(wanted):
        return Tick(part, "done", f"{_CONFIRMED[part.kind]} {max(told, key=len)}")
    return Tick(part, "begun" if told else "open", f"partly {invented}" if told else invented)


def first_open(bench: Bench, pendant: str) -> StartPart:
    """The first part that is not done; the first of all where every one is."""
    return next((tick.part for tick in ticks(bench, pendant) if tick.state != "done"), STARTS[0])


def begun(sheet: MachineSheet) -> bool:
    """Whether somebody has confirmed any part of the machine: then Start no longer stands before everything."""
    return bool(sheet.measured)


def drawing(part: StartPart, text: str) -> Markup:
    """What is described up to a part: the machine as far as it is told, or the pendant. Raises DocumentError."""
    if part.kind == "pendant":
        return pendant_drawing.draw(documents.parse("pendant", text), {}, link=lambda position, increment: "#main")
    if part.kind != "machine":
        return Markup()
    told = [key for each in STARTS[: STARTS.index(part) + 1] for key in each.draws]
    data = {key: value for key, value in toml_text.read(text).items() if key in ("format", "name", "units", *told)}
    if "work" not in told:
        data["setup"] = [{key: value for key, value in each.items() if key != "work"} for each in data.get("setup", [])]
    sheet = MachineSheet.model_validate(data)
    return elevations.draw_machine(plain_machine(sheet), units=sheet.units)


def questions(part: StartPart, text: str) -> tuple[Row, ...]:
    """What the figures told up to a part are to be asked, legal and unlikely as they are. Raises DocumentError."""
    if part.kind != "machine":
        return ()
    told = {key for each in STARTS[: STARTS.index(part) + 1] for key in each.draws}
    asked = sheet_page.to_look_at(sheet_page.read("machine", text))
    return tuple(row for row in asked if re.split(r"[.\[]", row.what)[0] in told)


def in_units(units: Units, machine: str, controller: str) -> Mapping[str, str]:
    """Machine and controller sheet with their figures as long as they were, in other units; by kind.

    A controller rests in the units of its lines, so G20 and G21 change places.
    """
    was: Units = "mm" if units == "inch" else "inch"
    texts = {}
    for kind, text in (("machine", machine), ("controller", controller)):
        if toml_text.read(text).get("units", "mm") != units:
            text = documents.converted(kind, toml_text.set_value(text, ("units",), units), was)
        texts[kind] = text
    old, new = ("G21", "G20") if units == "inch" else ("G20", "G21")
    sheet = documents.parse("controller", texts["controller"])
    if old in sheet.resting.split():
        words = " ".join(new if word == old else word for word in sheet.resting.split())
        texts["controller"] = documents.write("controller", {("resting",): words}, texts["controller"])
    return texts


def leads_to(macros: Sequence[str]) -> str:
    """The address where Start ends."""
    return f"/bench/{DESTINATION}" if DESTINATION in macros else "/bench"
