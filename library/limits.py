"""How much of anything the documents and packs of a workshop may be, beside what ``parser.limits`` says of programs.

One table, shown in Help and by ``clickstop --help``. Every figure is our own choice: far beyond a workshop, and so that
within them every page and command answers (measured; see ``parser.limits``).
"""

from __future__ import annotations

from collections.abc import Mapping

from parser.limits import PROGRAM, Allowance

DOCUMENT_BYTES = Allowance("a document", 256_000, "bytes", "a larger one is not read")
DOCUMENT_LINES = Allowance("a document", 10_000, "lines", "the page shows them all")
NESTING = Allowance("a document", 16, "brackets within one another", "no document needs more than four")
DOTTED = Allowance("a key of a document", 8, "parts joined by points", "the time to read them rises with their square")
TABLES = Allowance("a document", 2_000, "tables", "each is checked, and named in errors")

COUNTS: Mapping[str, Mapping[str, Allowance]] = {
    "machine": {
        "keep_out": Allowance("a machine sheet", 64, "keep-outs", "each is compared with every move"),
        "setup": Allowance("a machine sheet", 16, "setups", "a macro is proved in every one"),
        "setup.keep_out": Allowance("a setup", 64, "keep-outs", "each is compared with every move"),
        "enclosure": Allowance("a machine sheet", 32, "enclosures", "each is compared with every move"),
        "limit": Allowance("a machine sheet", 32, "limits", "each is compared with every move"),
        "tools": Allowance("a machine sheet", 200, "tools", "a tool table of a small mill has a few dozen"),
    },
    "controller": {},
    "pendant": {
        "positions": Allowance("a pendant sheet", 24, "positions", "no selector has more"),
        "increments": Allowance("a pendant sheet", 12, "increments", "no selector has more"),
    },
    "macro": {
        "step": Allowance("a macro", 500, "steps", "each writes lines of its own"),
        "accepted": Allowance("a macro", 50, "accepted rules", "there are no more rules"),
        "tags": Allowance("a macro", 50, "tags", "words to find it by"),
    },
}
"""What a list of a document may hold, by kind and key; a point leads into the entries of a list."""

MACROS = Allowance(
    "a workshop", 2_000, "macros", "the shelf shows them all; those taken off it and earlier revisions do not count"
)
SLOTS = Allowance("a pendant sheet", 120, "slots in use", "every macro is compared with every other")
MACHINES = Allowance("a workshop", 24, "machines", "the table of all of them has a column for each")
STEPS_IN_ALL = Allowance(
    "a macro with those it runs", 1_000, "steps", "counted before any is written, as each may run others twice"
)
MACROS_DEEP = Allowance("macros that run one another", 16, "levels", "nobody follows more by eye")
FIXES = Allowance(
    "a macro for which fixes are sought", 20_000, "moves times boxes", "each fix is proved on the whole macro"
)
PACK_BYTES = Allowance("a pack, its files unpacked", 64_000_000, "bytes", "a larger one is none of ours")
PACK_ENTRIES = Allowance("a pack", 2_000, "files", "a pack has some dozen")
BUNDLE_BYTES = Allowance("a bundle, its files unpacked", 48_000_000, "bytes", "a thousand macros with their drawings")
BUNDLE_ENTRIES = Allowance("a bundle", 2_100, "files", "two for each macro, and some to spare")
COMING = Allowance("what is taken in at once", 1_000, "macros", "each is proved before it is shown")
WAITING = Allowance("a workshop", 20, "reviews in progress", "each is kept until it is taken in or dropped")
WAITING_FILES = Allowance("a review", 200, "files", "each is read again when the page is shown")
REMEMBERED_BYTES = Allowance(
    "what is remembered of reports",
    64_000_000,
    "bytes",
    "the oldest are forgotten; beside them the last one is kept that is larger by itself",
)
REQUEST_BYTES = Allowance("a form or an upload", 4_194_304, "bytes", "more than a sheet or a macro takes")

TABLE: tuple[Allowance, ...] = (
    *PROGRAM,
    DOCUMENT_BYTES,
    DOCUMENT_LINES,
    NESTING,
    DOTTED,
    TABLES,
    *(each for lists in COUNTS.values() for each in lists.values()),
    MACROS,
    SLOTS,
    MACHINES,
    STEPS_IN_ALL,
    MACROS_DEEP,
    FIXES,
    PACK_BYTES,
    PACK_ENTRIES,
    BUNDLE_BYTES,
    BUNDLE_ENTRIES,
    COMING,
    WAITING,
    WAITING_FILES,
    REMEMBERED_BYTES,
    REQUEST_BYTES,
)
"""Every limit there is, in the order in which they are shown."""
