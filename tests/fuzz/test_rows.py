"""No row of the store that was changed by hand breaks a page or a command: it is told in one sentence.

Every column of every table gets each of some values that no call of ours writes, and so does every part of what is
kept of an issue; then every page and command is asked. ``.ci/run`` tries a share, chosen by the day. All of it, by
hand, from the project's folder:

    python -m tests.fuzz.test_rows
"""

from __future__ import annotations

import atexit
import json
import logging
import random
import shutil
import sqlite3
import sys
import tempfile
from contextlib import closing, redirect_stderr, redirect_stdout, suppress
from functools import cache
from io import StringIO
from pathlib import Path

import pytest
from jinja2 import FileSystemBytecodeCache

from library import pack
from library.store import FILE, Workshop
from tests.fuzz.seeds import seed_of_today
from tests.webapp.rendered import hidden
from webapp import create_app
from webapp.cli import main

BATCHES, PER_BATCH = 2, 2

VALUES = {
    "nothing": None,
    "bytes": b"\xff\xfe\x00",
    "text as bytes": b"park",
    "empty": "",
    "another word": "nobody",
    "a path": "../../<b>x",
    "long": "9" * 5000,
    "minus one": -1,
    "beyond": 2**63 - 1,
    "a fraction": 1.5,
}
COLUMNS = {
    "documents": ("kind", "id", "head", "newest"),
    "revisions": ("number", "kind", "id", "text", "why", "saved", "who", "previous"),
}
ROWS = (
    ("machine", "workshop-mill"),
    ("controller", "workshop-mill"),
    ("in-force", "workshop"),
    ("pendant", "workshop"),
    ("macro", "park"),
    ("macro", "home"),
    ("issue", ""),
    ("fitted", ""),
)
"""The documents whose rows are changed; "home" was taken off the shelf."""

PAGES = (
    "/",
    "/bench",
    "/bench/park",
    "/bench/retract",
    "/pendant",
    "/pendant/try",
    "/sheets/machine",
    "/sheets/controller",
    "/sheets/pendant",
    "/sheets/machine.toml",
    "/sheets/machines",
    "/start/axes",
    "/shelf-on-machines",
    "/review",
    "/portable/retract",
    "/shelf",
    "/shelf/park",
    "/shelf/park.toml",
    "/to-the-machine",
    "/to-the-machine/pack.zip",
    "/to-the-machine/printed/card.html",
    "/help",
    "/help/rules",
    "/help/limits",
    "/readable.zip",
)
DEEDS = (
    ("/bench/park/save", "/bench/park", {"purpose": "Mine"}),
    ("/bench/park", "/bench/park", {"do": "undo"}),
    ("/pendant", "/pendant", {"slot.6.2": "park"}),
    ("/pendant/turn-back", "/pendant", {"way": "undo"}),
    ("/shelf/park/rename", "/shelf/park", {"name": "Mine"}),
    ("/shelf/new", "/shelf", {"name": "Mine"}),
    ("/shelf/home/bring-back", "/shelf", {}),
    ("/sheets/machine/turn-back", "/sheets/machine", {"way": "undo"}),
    ("/to-the-machine/pack.zip", "/to-the-machine", {}),
)

LOOSE = """
CREATE TABLE loose_revisions (number INTEGER PRIMARY KEY, kind, id, text, why, saved, who, previous);
INSERT INTO loose_revisions SELECT * FROM revisions;
CREATE TABLE loose_documents (kind, id, head, newest);
INSERT INTO loose_documents SELECT * FROM documents;
DROP TABLE documents;
DROP TABLE revisions;
ALTER TABLE loose_revisions RENAME TO revisions;
ALTER TABLE loose_documents RENAME TO documents;
CREATE UNIQUE INDEX one_of_each ON documents (kind, id);
"""
"""The tables without what keeps wrong values out, as a faulty disk or another program heeds none of it."""


def lived_in(folder: Path) -> Path:
    """A workshop with a macro that was taken off, an issue that was taken and one that is fitted."""
    shop = Workshop.open(folder)
    shop.delete("macro", "home")
    client = create_app(folder).test_client()
    assert client.post("/to-the-machine/pack.zip").status_code == 200
    pack.fit(shop, shop.ids("issue")[0], "2026-05-04")
    with closing(sqlite3.connect(folder / FILE)) as connection:
        connection.executescript(LOOSE)
        connection.execute("PRAGMA journal_mode = DELETE")
    return folder


def cases() -> list[tuple]:
    """Every damage there is: a row and column with a value, or a part of an issue with one."""
    plain = [
        ("row", table, column, *row, name)
        for table, columns in COLUMNS.items()
        for column in columns
        for row in ROWS
        for name in VALUES
        if not (column == "number" and name not in ("minus one", "beyond"))
    ]
    parts = ("format", "issue", "issue.day", "issue.number", "macros", "macros.0", "table", "parts", "wanted")
    of_a_macro = ("id", "name", "document", "text", "lines", "number", "slow_number")
    values = (None, 3, 1.5, "nobody", [], {}, [None], True, [["a", "b", "c"]], "\x1b[2J")
    issue = [
        ("issue", part, json.dumps(value))
        for part in (*parts, *(f"macros.0.{each}" for each in of_a_macro))
        for value in values
    ]
    fitted = [("fitted", text) for text in ("", "x = [", 'format = "clickstop-fitted/2"', "issue = 3\nsince = 4")]
    return [*plain, *issue, *fitted, *[("fitted", f'format = "clickstop-fitted/1"\n{each}') for each in FITTED]]


FITTED = ("", 'issue = 3\nsince = "x"', 'issue = "nobody"\nsince = 2026-05-04', "issue = []\nsince = 07:00:00")


def spoil(file: Path, case: tuple) -> None:
    """Do the damage of a case to the file of a workshop."""
    with closing(sqlite3.connect(file)) as connection, connection:
        match case:
            case ("row", table, column, kind, id, value):
                where = "kind = ?" + (" AND id = ?" if id else "")
                named = (kind, id) if id else (kind,)
                heads = connection.execute(f"SELECT head FROM documents WHERE {where}", named).fetchone()
                key = "number = ?" if table == "revisions" else "head = ?"
                connection.execute(f"UPDATE {table} SET {column} = ? WHERE {key}", (VALUES[value], *heads))
            case ("fitted", text):
                connection.execute("UPDATE revisions SET text = ? WHERE kind = 'fitted'", (text,))
            case ("issue", part, value):
                text = connection.execute("SELECT text FROM revisions WHERE kind = 'issue'").fetchone()[0]
                said = json.loads(text)
                put(said, part.split("."), json.loads(value))
                connection.execute("UPDATE revisions SET text = ? WHERE kind = 'issue'", (json.dumps(said),))


def put(said, path, value) -> None:
    for each in path[:-1]:
        said = said[int(each)] if isinstance(said, list) else said[each]
    said[int(path[-1]) if isinstance(said, list) else path[-1]] = value


def asked(folder: Path) -> list[str]:
    """What is amiss with the answers of every page and command, nothing where all are sentences."""
    found = []
    try:
        app = create_app(folder)
    except Exception as error:
        return [f"starting: {type(error).__name__}: {error}"]
    app.logger = logging.Logger("damaged", logging.CRITICAL)
    app.jinja_env.bytecode_cache = compiled()
    client = app.test_client()
    answers = [(path, client.get(path)) for path in PAGES]
    answers += [(f"{at} with {done}", client.post(at, data=hidden(client, page) | done)) for at, page, done in DEEDS]
    for path, answer in answers:
        text = answer.get_data()
        if (answer.status_code >= 500 and b"The workshop is damaged" not in text) or b"Traceback" in text:
            found.append(f"{path}: {answer.status_code}")
    for call in (
        ("check", "--workshop", str(folder)),
        ("take", "--workshop", str(folder), "--to", str(folder.with_name("taken.zip")), "--replace"),
        ("fitted", "--workshop", str(folder)),
        ("fitted", "--workshop", str(folder), "12345678"),
        ("backup", "--workshop", str(folder), "--to", str(folder.with_name("kept.zip"))),
    ):
        said = called(call)
        folder.with_name("kept.zip").unlink(missing_ok=True)
        if "went wrong in the program" in said or "Traceback" in said:
            found.append(f"{call[0]}: {said.strip()[-300:]}")
    return found


@cache
def compiled() -> FileSystemBytecodeCache:
    """The templates, compiled once: each application would do so for itself, which takes longer than its answers."""
    folder = tempfile.TemporaryDirectory(prefix="clickstop-templates-")
    atexit.register(folder.cleanup)
    return FileSystemBytecodeCache(folder.name)


def called(call) -> str:
    """All that a command says."""
    out, err = StringIO(), StringIO()
    with redirect_stdout(out), redirect_stderr(err), suppress(SystemExit):
        main(list(call))
    return out.getvalue() + err.getvalue()


def tried(template: Path, case: tuple, at: Path) -> list[str]:
    """What is amiss once a copy of a workshop is damaged so."""
    shutil.rmtree(at, ignore_errors=True)
    shutil.copytree(template, at)
    spoil(at / FILE, case)
    return asked(at)


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    return lived_in(tmp_path_factory.mktemp("rows") / "whole")


@pytest.mark.long
@pytest.mark.parametrize("batch", range(BATCHES))
def test_no_damaged_row_breaks_a_page_or_a_command(tmp_path, template, batch):
    seed = seed_of_today() + batch
    print(f"seed {seed}")
    if batch == 0:
        assert asked(copy_of(template, tmp_path / "as it was")) == []
    for case in random.Random(seed).sample(cases(), PER_BATCH):
        assert tried(template, case, tmp_path / "damaged") == [], case


def copy_of(template: Path, at: Path) -> Path:
    shutil.copytree(template, at)
    return at


if __name__ == "__main__":
    chosen = cases()
    if len(sys.argv) > 1:
        chosen = random.Random(int(sys.argv[2]) if len(sys.argv) > 2 else 1).sample(chosen, int(sys.argv[1]))
    with tempfile.TemporaryDirectory() as name:
        template = lived_in(Path(name) / "whole")
        print("as it was:", asked(copy_of(template, Path(name) / "as-it-was")))
        bad = 0
        for case in chosen:
            amiss = tried(template, case, Path(name) / "damaged")
            bad += bool(amiss)
            if amiss:
                print(case, amiss, flush=True)
    print(f"{len(chosen)} damages, {bad} with something amiss")
