"""No call of the command breaks it: whatever files, names, options and streams it is given.

``.ci/run`` tries a share, seeded by the day. By hand, from the project's folder:

    python -m tests.fuzz.test_calls 500

A second number is the seed to begin with.
"""

from __future__ import annotations

import os
import random
import re
import subprocess
import sys
import tempfile
import zipfile
from collections import Counter
from pathlib import Path

import pytest

from library import pack, starter
from library.store import Workshop
from tests.bulk import mostly_long
from tests.fuzz.seeds import seed_of_today
from tests.library.share.shops import made as made_bundle

ROOT = Path(__file__).parents[2]
BATCHES, PER_BATCH = 2, 6
DEADLINE = 120.0
UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")

SENSIBLE = (
    *("check good.nc", "check bad.nc --format json", "check folder", "build macro.toml --machine machine.toml"),
    *("check macro.toml --machine machine.toml --controller controller.toml", "verify good.zip", "verify bad.zip"),
    *("take --workshop shop --to new.zip", "take --workshop shop --to folder", "schema machine", "shelf list"),
    *("shelf list --workshop shop", "shelf add macro.toml --workshop shop", "shelf remove park --workshop shop"),
    *("shelf bundle --all --to new.zip --workshop shop", "shelf review bundle.zip bad.zip --workshop shop"),
    *("shelf take-in bundle.zip --keep both --workshop shop", "shelf take-in bundle.zip lift --workshop shop"),
    *("shelf export out --workshop shop", "shelf sync out --workshop shop", "shelf sync folder --workshop shop"),
)
"""Calls that get past the reading of options, where most of what is drawn at random ends."""

COMMANDS = ("check", "check", "check", "build", "take", "verify", "schema", "shelf", "shelf", "")
SHELF = ("list", "add", "remove", "bundle", "review", "review", "take-in", "export", "sync", "no-such")
OPTIONS = (
    *("--machine", "--controller", "--start", "--assume", "--format", "--workshop", "--to", "--card", "--replace"),
    *("--help", "--no-such", "-", "--all", "--keep"),
)
WORDS = (
    *("good.nc", "bad.nc", "long.nc", "macro.toml", "spoilt.toml", "dots.toml", "machine.toml", "controller.toml"),
    *("pipe", "/dev/zero", "/dev/null", ".", "folder", "shop", "empty", "good.zip", "bad.zip", "missing", "x" * 300),
    *("bundle.zip", "new.zip", "mine", "theirs", "both", "park", "home"),
    *(
        "a\x1b[2Jb",
        "a\nb",
        "\udc9bx",
        "9" * 5000,
        "1,2,3",
        "nan,inf,1e999",
        "anywhere",
        "G21 G90",
        "$H",
        "text",
        "json",
    ),
    *("as-published", "as-published+dwell-milliseconds", "90x60", "1x", "nanxinf", "machine", "report", "[" * 900, ""),
)
SHUT = ("", "", "", "", " >/dev/full", " >&-", " 2>&-", " 2>/dev/full", " <&-", " | head -c 3")


def laid_out(folder: Path) -> None:
    """The files that calls are made on."""
    sheets = {kind: text for kind, id, text in starter.documents() if id == "workshop"}
    (folder / "good.nc").write_text("G21 G90\nG53 G0 Z-2\nG80\n")
    (folder / "bad.nc").write_text("G21\n$H \x1b[2J\u202e\rgood\n((\n")
    (folder / "long.nc").write_text("G0 X" + "1" * 50_000 + "\n" + "(" * 50_000 + "\n")
    (folder / "macro.toml").write_text(starter.macros()["park"])
    (folder / "spoilt.toml").write_text(starter.macros()["park"] + '"\\u001b[2J" = "\\n"\n')
    (folder / "dots.toml").write_text('format = "clickstop-macro/1"\nname = "x"\n' + ".".join("a" * 50_000) + " = 1\n")
    for kind in ("machine", "controller"):
        (folder / f"{kind}.toml").write_text(sheets[kind])
    (folder / "empty").write_text("")
    (folder / "folder").mkdir()
    (folder / "folder" / "a\nb.nc").write_text("G4 P1\n")
    os.mkfifo(folder / "pipe")
    shop = Workshop.open(folder / "shop")
    pack.write(pack.make(pack.gather(shop)), folder / "good.zip")
    (folder / "bundle.zip").write_bytes(made_bundle())
    with zipfile.ZipFile(folder / "bad.zip", "w", zipfile.ZIP_LZMA) as archive:
        archive.writestr("manifest.json\n\x1b[2J", "{}")


def try_one(seed: int, folder: Path) -> int:
    """One call; its status. AssertionError where it breaks, hangs or paints."""
    chance = random.Random(seed)
    given = chance.choice(SENSIBLE).split() if chance.random() < 0.6 else [chance.choice(COMMANDS)]
    if given == ["shelf"]:
        given.append(chance.choice(SHELF))
    if len(given) > 2 and chance.random() < 0.3:
        given[chance.randrange(1, len(given))] = chance.choice(WORDS)
    for _ in range(chance.choice((0, 0, 0, 0, 1, 4))):
        word = chance.choice(OPTIONS) if chance.random() < 0.4 else chance.choice(WORDS)
        given.append(word)
    if given[0] == "":
        given = [*given[1:], "--help"]
    shut = chance.choice(SHUT)
    call = ["bash", "-c", f'set -o pipefail; "$0" -m webapp.cli "$@"{shut}', sys.executable, *given]
    home = {"PYTHONPATH": str(ROOT), "XDG_DATA_HOME": str(folder / "home"), "PYTHONUTF8": "1"}
    done = subprocess.run(
        [os.fsencode(each) for each in call],
        cwd=folder,
        env={**os.environ, **home},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=DEADLINE,
        check=False,
    )
    told = f"{given} {shut}: {done.returncode}, {done.stderr[-300:]!r}"
    assert done.returncode in (0, 1, 2), told
    for stream in (done.stdout, done.stderr):
        text = stream.decode("utf-8")
        assert "Traceback" not in text, told
        assert "went wrong in the program" not in text, told
        assert not UNSEEN.search(text), told
    return done.returncode


@pytest.mark.parametrize("batch", mostly_long(range(BATCHES), keep=0))
def test_no_call_breaks_anything(batch, tmp_path):
    laid_out(tmp_path)
    seed = seed_of_today() + batch * PER_BATCH
    print(f"seed {seed}")
    for each in range(seed, seed + PER_BATCH):
        try:
            try_one(each, tmp_path)
        except Exception as error:
            raise AssertionError(f"CLICKSTOP_SEED={each}") from error


if __name__ == "__main__":
    count = int(sys.argv[1])
    first = int(sys.argv[2]) if len(sys.argv) > 2 else seed_of_today()
    statuses: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as made:
        laid_out(Path(made))
        for each in range(first, first + count):
            try:
                statuses[str(try_one(each, Path(made)))] += 1
            except Exception as error:
                statuses["broken"] += 1
                print(f"seed {each}: {type(error).__name__}: {str(error)[:600]}", flush=True)
    print(f"{count} calls from seed {first}: {dict(statuses)}")
