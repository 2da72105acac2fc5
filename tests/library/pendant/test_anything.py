"""The sender keeps its promises whatever is turned, pressed, answered or broken, and needs each of its safeguards."""

from __future__ import annotations

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest

from tests.bulk import some_of_today
from tests.library.pendant.compiling import ANSWERING, SANITIZED, SLOTS, compiled, program

pytestmark = pytest.mark.long

STORIES = 2000
"""Of each kind every time; all of 100,000 by hand, with the sanitizers: see the end of this file."""

QUEUED = ANSWERING.replace('"done"', '"queued"')
STOPPING = 'release = "immediate"\nstop_line = "@CEASE"\n'
SHEETS = {
    "done": ANSWERING,
    "queued": QUEUED + STOPPING,
    "asking": QUEUED + STOPPING + 'idle_ask = "@STATE"\nidle_answer = "IDLE"\n',
    "settling": QUEUED + STOPPING + 'settle = "G4 P0"\n',
}
COUNTED = ("stories", "macros fired", "lines sent", "macros ended", "stops", "refusals", "stop lines")


def told(kind, stories, seed, without=()):
    """Tells random stories to a sender, some of whose text is replaced; gives what happened and the promise broken."""
    files = program(controller=SHEETS[kind], pendant=SLOTS)
    for before, after in without:
        text = files["sender.h"].decode()
        assert text.count(before) == 1, f"{before!r} is there {text.count(before)} times"
        files["sender.h"] = text.replace(before, after).encode()
    # a safeguard that is taken out leaves names unused; only the real program has to be without warnings
    options = (*SANITIZED, "-O1", *(("-w",) if without else ()))
    done = subprocess.run(
        [compiled(files, "anything.c", *options), str(stories), str(seed)], capture_output=True, text=True, timeout=3000
    )
    return done.returncode, done.stderr.strip(), dict(zip(COUNTED, map(int, done.stdout.split()), strict=False))


@pytest.mark.parametrize("kind", SHEETS)
def test_random_stories_break_no_promise(kind):
    status, broken, happened = told(kind, STORIES, 1)
    assert (status, broken) == (0, "")
    # each promise was put to the test
    assert all(happened[what] > 20 for what in COUNTED if what != "stop lines" or kind != "done"), happened


SAFEGUARDS = {
    "release": (
        "nothing is sent after a release",
        "queued",
        [("        if (!held) {\n            clickstop_cease(sender, CLICKSTOP_LET_GO);\n", "        if (0) {\n")],
    ),
    "pressed anew": (
        "enable was pressed after the selector had rested",
        "queued",
        [("sender->state = let_go ? CLICKSTOP_READY : CLICKSTOP_LET_GO_FIRST;", "sender->state = CLICKSTOP_READY;")],
    ),
    "rest of the selector": (
        "enable was pressed after the selector had rested",
        "queued",
        [("if (clickstop_passed(now, sender->turned_at, CLICKSTOP_SETTLE_MS)) {", "if (1) {")],
    ),
    "turn of the selector": (
        "enable was pressed after the selector had rested",
        "queued",
        [("    } else if (position != sender->position || increment != sender->increment) {", "    } else if (0) {")],
    ),
    "runs of clicks": (
        "nothing is sent without the whole gesture",
        "queued",
        [("        if (way == click && ", "        if (")],
    ),
    "a click too many": (
        "nothing is sent without the whole gesture",
        "queued",
        [("return clickstop_passed(now, sender->clicked_at, CLICKSTOP_REST_MS);", "return 1;")],
    ),
    "window": (
        "nothing is sent without the whole gesture",
        "queued",
        [
            (" && !clickstop_passed(now, sender->first_click_at, CLICKSTOP_WINDOW_MS + 1u)", ""),
            (
                "sender->counting == CLICKSTOP_COUNT_RUNNING &&\n        clickstop_passed(now, ",
                "0 && clickstop_passed(now, ",
            ),
        ],
    ),
    "kind of the position": (
        "only a position with a macro fires",
        "queued",
        [("sender->slot = clickstop_find(position, increment);", "sender->slot = 0;"),
         ("clickstop_kind_at(sender->position, sender->increment) != CLICKSTOP_MACRO", "0")],
    ),
    "answers": (
        "never a second line before the answer to the first",
        "queued",
        [("        if (sender->waiting) {\n            if (late) {", "        if (0) {\n            if (late) {")],
    ),
    "half an answer": (
        "never a second line before the answer to the first",
        "queued",
        [("        if (!sender->stale) {\n", "        {\n")],
    ),
    "an answer that is owed": (
        "never a second line before the answer to the first",
        "queued",
        [("(sender->waiting && (!clickstop_passed(now, sender->sent_at, sender->patience) ||", "(0 && (0 ||")],
    ),
    "an answer that comes late": (
        "never a second line before the answer to the first",
        "done",
        [(" || (sender->waiting && count == 0u);", ";")],
    ),
    "errors": (
        "nothing is sent after an error or a missing answer",
        "queued",
        [("            sender->refused = 1u;\n", "")],
    ),
    "idle": (
        "nothing starts unless the controller is idle",
        "queued",
        [
            ("(calls->controller_idle != NULL && !calls->controller_idle(calls->context))", "(0)"),
            ("means == CLICKSTOP_BY_CALL && number == 0u && ", "0 && "),
        ],
    ),
    "stop": (
        "after a stop nothing is sent but the stop line",
        "queued",
        [("const int pressed = calls->stop_pressed != NULL && calls->stop_pressed(calls->context);",
          "const int pressed = 0;")],
    ),
    "away after a stop": (
        "after a stop nothing is sent but the stop line",
        "queued",
        [("            } else if (sender->stop_away) {", "            } else {")],
    ),
    "letting go after a stop": (
        "after a stop nothing is sent but the stop line",
        "queued",
        [("if (sender->stop_let_go &&\n", "if (\n")],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", some_of_today([*SAFEGUARDS], 3, 4))
def test_without_a_safeguard_its_promise_is_broken(name):
    promise, kind, without = SAFEGUARDS[name]
    status, broken, _ = told(kind, 20 * STORIES, 1, without)
    assert status != 0
    assert broken == f"broken: {promise}"


def test_the_program_leaves_no_memory_where_lines_and_answers_are_as_long_as_they_may_be():
    long = ANSWERING.replace("TAKEN", "T" * 200).replace("FAULT", "F" * 150)
    files = program(controller=long)
    done = subprocess.run(
        [compiled(files, "anything.c", *SANITIZED, "-O1"), "200", "1"], capture_output=True, text=True, timeout=300
    )
    assert "Sanitizer" not in done.stderr


def by_hand(stories):
    """All of it, each kind in a process of its own; prints what happened."""
    with ThreadPoolExecutor(2) as pool:
        found = pool.map(lambda kind: (kind, told(kind, stories // len(SHEETS), 7)), SHEETS)
        for kind, (status, broken, happened) in found:
            print(kind, "held" if status == 0 else broken, happened)


if __name__ == "__main__":
    by_hand(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000)
