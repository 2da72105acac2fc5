"""README.txt of a pack: what each file is for and where it goes, in the order of the commissioning sheet."""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Iterator

from library import gestures
from library.names import own_name
from library.outgoing import Outgoing, Reload
from library.pack import lamp
from library.pendant import GARBLED, gathering, sizes
from library.sheets.plain import holds_what_was_stopped, tells_hold_over, tells_idle, waits_for_a_late_answer
from parser.parts import clauses
from parser.proof.verdict import NOT_CHECKED
from parser.quantities import sentence_list

NAME = "README.txt"
WIDTH = 78  # our choice

CAUTIONS = (
    "The emergency stop has to remove drive power through a hard-wired circuit, at once or after a controlled stop, "
    "and the head must not drop. A button that is only an input of a microcontroller is no emergency stop.",
    "After an emergency stop the machine may have lost its place: home again before any macro.",
    "Letting go of a button that a program reads stops nothing that the controller already holds.",
    "NOT WHILE A PROGRAM RUNS OR WAITS.",
    "The estimate is not the machine. First run with the tool out, rates reduced; once it moves, the wheel hand goes "
    "to the emergency stop.",
    "Other people stand clear; mind where the table meets guard or wall; eye protection.",
    "Supply isolated; wiring by a competent or licensed person. An ordinary button is no certified enabling device.",
    "Guards, local codes and licensed practice come first.",
)

RESUMES = "RESUME CONTINUES IT: what was stopped is held, and goes on when the controller resumes."
WAITS_FOR_IDLE = "After such a stop the pendant sends nothing before the controller has told that it is idle."
CLEAR_FIRST = (
    "After such a stop the pendant sends nothing more, for nothing tells it whether the controller still holds "
    "something. Clear that at the panel, then switch the pendant off and on."
)

NOTHING_TELLS = (
    "Nothing on the controller sheet tells the pendant that a program runs or waits, so it would send all the same. "
    "That it never does is on whoever holds it."
)

ANSWER_OWED = (
    "Where a line is not answered in time, as when the controller is held at the panel, the pendant sends nothing more "
    "before that answer has come: it would count for the next line. If it was lost on the way, see at the panel that "
    "nothing is held, then switch the pendant off and on."
)

G91_LEFT = (
    "A jog that is let go of between its lines may leave G91 in force, and distances then count from where the machine "
    "stands. "
    "Macros set what they need; before a line of your own at the panel, send G90."
)


def jogs_in_g91(goes: Outgoing) -> bool:
    """Whether a line of the jog sets incremental distances."""
    return any("G91" in line.upper() for line in goes.bench.controller_sheet.jog)


def files(goes: Outgoing, paths: Collection[str], reload: Reload | None = None) -> dict[str, bytes]:
    """The file; ``paths`` are those of everything else in the pack, ``reload`` what has to be loaded anew."""
    return {NAME: ("\n".join(_lines(goes, sorted(paths), reload)) + "\n").encode()}


def _lines(goes: Outgoing, paths: Collection[str], reload: Reload | None) -> Iterator[str]:
    bench = goes.bench
    yield f"Issue {goes.issue}"
    yield f"For {bench.machine.name}, {bench.controller.name}, {bench.pendant.name}. Written by {own_name()}."
    invented = goes.invented
    if invented:
        yield from _wrapped(f"{invented}. Measure them, tick them on the machine sheet, and take the pack again.")
    yield ""
    on_the_card = "" if goes.blind else "on the card, "
    flashed = ", and the lamp of the pendant flashes it" if _lit(goes) else ""
    yield from _wrapped(
        f"What is on the machine is known by its issue. It stands {on_the_card}in the head of every macro file and on "
        f"every sheet{flashed}. Once it is fitted, say so: clickstop fitted {goes.issue.number}, or on the Pendant "
        "page. You are then told when something in it is no longer proved."
    )
    if reload:
        yield from _head("What has to be loaded anew")
        yield from _wrapped(
            f"Issue {reload.issue} is on the machine since {reload.since}. "
            + ("For this one:" if reload.what else "It holds all that is sent: nothing has to be loaded anew.")
        )
        for each in reload.what:
            yield from _item("-", each)
    yield from _head("Before anything")
    for caution in CAUTIONS:
        yield from _item("-", caution)
    if not goes.blind and not tells_idle(bench.controller_sheet):
        yield from _item("-", NOTHING_TELLS)
    if not goes.blind and jogs_in_g91(goes):
        yield from _item("-", G91_LEFT)
    if not goes.blind and waits_for_a_late_answer(bench.controller_sheet):
        yield from _item("-", ANSWER_OWED)
    if holds_what_was_stopped(bench.controller_sheet):
        yield from _item("-", RESUMES)
        yield from _item("-", WAITS_FOR_IDLE if tells_hold_over(bench.controller_sheet) else CLEAR_FIRST)
    for number, (title, text, what) in enumerate(_steps(goes, paths), start=1):
        yield from _head(f"{number}. {title}")
        yield from _wrapped(text)
        for path, about in what:
            yield from _item(path, about)
    yield from _head("What the proofs take for granted")
    for assumption in dict.fromkeys(_taken_for_granted(goes)):
        yield from _item("-", assumption)
    yield from _wrapped(NOT_CHECKED)
    if _lit(goes):
        yield from _head("What the lamp says")
        yield from _wrapped(lamp.ISSUE)
        for code in lamp.codes():
            yield from _item("-", code)
    if not goes.blind:
        yield from _head("What a line cannot tell")
        yield from _wrapped(GARBLED)
    yield from _head("What the pendant needs")
    yield from _wrapped(_takes(goes))


def _taken_for_granted(goes: Outgoing) -> Iterator[str]:
    """What the proofs of all macros assume; the parts of the sheets once, whichever macro rests on which of them."""
    for one in goes.taken.values():
        of_this = clauses(one.report.rests_on)
        for each in one.report.assumptions:
            yield from clauses(goes.rests_on) if each in of_this else (each,)


def _lit(goes: Outgoing) -> bool:
    """Whether a lamp tells what the pendant's program is at."""
    return not goes.blind and lamp.wired(goes.bench.pendant)


def _takes(goes: Outgoing) -> str:
    """What the tables and the program take, and what there is."""
    room = goes.bench.pendant.memory
    there = f"The pendant sheet gives {room.flash} bytes of flash and {room.ram} of memory."
    if goes.blind:
        return there
    took = sizes.of(gathering.table(goes))
    return (
        f"On an 8-bit chip the tables take {took.tables} bytes of flash, {took.flash} with the program, and {took.ram} "
        f"bytes of memory are used beside the stack. {there}"
    )


def _steps(goes: Outgoing, paths: Collection[str]) -> Iterator[tuple[str, str, tuple[tuple[str, str], ...]]]:
    """Title, text and files of each thing to do, in order."""
    bench = goes.bench
    stored = bool(bench.controller.call)
    yield (
        "Wire and test the pendant",
        "Power off. One system after the other, each signed before the next; then the controller, found by trial."
        + ("" if goes.blind else " Its page First power wants the program of step 2 loaded."),
        (("commissioning.html", "the sheet to print for that"),),
    )
    tables = tuple(path for path in paths if path.startswith("pendant/"))
    if goes.blind:
        yield (
            "No table for the pendant",
            "The controller sheet says that the controller answers nothing, and several lines would be sent for a "
            "macro. So there is no table: write what the controller answers on its sheet, and take the pack again.",
            (),
        )
    else:
        yield (
            "Load the pendant's program",
            "Into the microcontroller, with the pins of the sheet. A program of your own takes the tables in instead: "
            "Help, At the pendant, says how.",
            (
                *((path, _TABLES.get(path, "a part of the program")) for path in tables),
                ("slots.csv", "the same table for people"),
                ("slots.json", "the same table for a program of your own"),
            ),
        )
    yield (
        "Put the macros on the controller" if stored else "Keep the macro files",
        ("Each under the name it has here, for the pendant calls it by that. " if stored else "")
        or ("" if goes.blind else "The pendant sends the lines itself, so nothing has to be stored. ")
        + "The files are what was proved, to be read or run in single block.",
        tuple(
            (each.path, f"{each.macro.name}, on {sentence_list([s.label for s in goes.slots if s.macro == id])}")
            for id, each in goes.taken.items()
        ),
    )
    yield (
        "Run each macro for the first time",
        f"With its prove-out sheet. The slow copy first: the same end points, no move faster than "
        f"{goes.bench.figures.rate(goes.bench.controller.first_run_rate)}. It has a name of its own and never takes "
        "the place of the macro.",
        (
            ("prove-out.html", "the sheets to print, one for each macro"),
            *((each.slow_path, f"slow copy of {each.macro.name}") for each in goes.taken.values() if each.slow_path),
        ),
    )
    if not goes.blind:
        yield (
            "Fix the card to the pendant",
            f"Printed at 100 %, not fitted to the paper. {gestures.line(goes.bench.pendant.gesture)}",
            (("card.html", "the card to print"), ("card.svg", "the same as a drawing")),
        )
    yield (
        "Keep the rest",
        "With it anybody can prove all of this again: clickstop verify, with this folder or zip.",
        (
            ("documents/", "the sheets and macros that it was made from"),
            ("manifest.json", "the issue, the checksum of every file, the verdicts and what they assume"),
            ("printed.sha256", "the checksums of the printed pages and of the manifest"),
            *([("questions/", "what a solver was asked of each macro, and how to ask again")] if bench.second else []),
        ),
    )


_TABLES = {
    "pendant/slots.h": "the tables: what is sent for each slot, and the issue",
    "pendant/sender.h": "the gesture and the sending",
    "pendant/pendant.h": "the whole pendant over a board: selectors, wheel, jog, lamp",
    "pendant/board.c": "the board, with the pins of the pendant sheet",
}


def _head(title: str) -> Iterator[str]:
    yield from ("", title, "-" * len(title))


def _item(mark: str, text: str) -> Iterator[str]:
    """A point, or a file with what it is for; folders and files that are named without it stand alone."""
    if mark == "-":
        yield from textwrap.wrap(text, WIDTH, initial_indent="- ", subsequent_indent="  ")
    else:
        yield from textwrap.wrap(f"{mark}: {text}", WIDTH, initial_indent="  ", subsequent_indent="      ")


def _wrapped(text: str) -> Iterator[str]:
    yield from textwrap.wrap(text, WIDTH)
