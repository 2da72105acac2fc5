"""A process that is killed while it saves, writes a pack or takes macros in leaves what it acknowledged, and no half.

``.ci/run`` kills 20 savers, 6 writers of packs, 20 that take macros in and 4 that keep uploads, at moments that differ
each day. More, by hand, from the project's folder:

    python -m tests.fuzz.test_kills 3000 saving
    python -m tests.fuzz.test_kills 3000 taking
    python -m tests.fuzz.test_kills 3000 taking-in
    python -m tests.fuzz.test_kills 3000 uploading
"""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import sys
import tempfile
import time
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from library import pack
from library.pack import PackError, disk
from library.share import origin, waiting
from library.share.incoming import incoming
from library.share.review import here, review
from library.share.taking import placed, take_in
from library.store import StoreError, Workshop
from tests.library.share.shops import SHELF
from tests.library.share.shops import made as made_bundle

pytestmark = [pytest.mark.long, pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that can fork")]

SEED = int(datetime.now(UTC).strftime("%Y%m%d"))


def killed(work, seconds):
    """What a forked process has acknowledged before it is killed: ``work`` gets the function to acknowledge with."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(reading)
            work(lambda said: os.write(writing, f"{said}\n".encode()))
        finally:
            os._exit(0)
    os.close(writing)
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(reading) as pipe:
        return pipe.read().split()


def kill_a_saver(folder, chance):
    """Saves acknowledged before one kill, each of which has to be there."""
    shop = Workshop(folder)
    begun = chance.randrange(1_000_000)

    def work(acknowledge):
        for number in range(begun, begun + 10_000):
            if number % 3:
                shop.change("macro", "park", lambda _, to=number: (f"text {to}", "by a saver"))
            else:
                shop.create("macro", "made", lambda _, to=number: f"text {to}", "by a saver")
            acknowledge(number)

    said = [int(each) for each in killed(work, chance.uniform(0.0, 0.06))]
    kept = {each.text for kind in ("park", *shop.ids("macro")) for each in shop.revisions("macro", kind)}
    lost = [number for number in said if f"text {number}" not in kept]
    assert not lost, f"acknowledged and lost: {lost}"
    with closing(sqlite3.connect(shop.file)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    return len(said)


def kill_a_writer(folder, made, chance, takes):
    """Packs acknowledged before one kill; whatever has a name by then has to be whole, byte for byte.

    The kill comes at any moment of the seconds that a write ``takes``, and somewhat later.
    """
    name = f"{chance.randrange(10**9)}{chance.choice(('', '.zip'))}"

    def work(acknowledge):
        pack.write(made, folder / name)
        acknowledge(name)

    said = killed(work, chance.uniform(0.0, 1.3 * takes))
    whole = [path for path in folder.iterdir() if not path.name.startswith(".clickstop-")]
    for path in whole:
        assert disk.read(path) == made.files, f"{path} is not whole"
    assert all((folder / each).exists() for each in said)
    for path in whole:
        path.rename(path.with_name(f".clickstop-done-{path.name}"))
    return len(said)


def seconds_to_write(folder, made):
    """The seconds that it takes to write a pack as a zip."""
    begun = time.monotonic()
    pack.write(made, folder / "first.zip")
    return time.monotonic() - begun


def written_whole(folder, made):
    """The seconds that it takes to write a pack, of which a whole one is as it was proved."""
    takes = seconds_to_write(folder, made)
    assert pack.verify(folder / "first.zip") == []
    (folder / "first.zip").unlink()
    return takes


def kill_a_taker_in(folder, chance):
    """Macros taken in together, acknowledged before one kill: all five are of the same taking in, or none is there."""
    shop = Workshop(folder)
    places = PLACES or review_five(shop)
    begun = chance.randrange(1_000_000)

    def work(acknowledge):
        for number in range(begun, begun + 10_000):
            taken = [
                replace(each, became="replaced", text=f"{each.text}# taken {number}\n", seen=head(shop, each.id))
                for each in places
            ]
            take_in(shop, taken, f"moment {number}")
            acknowledge(number)

    said = [int(each) for each in killed(work, chance.uniform(0.0, 0.4))]
    there = {id: shop.text("macro", id).rpartition("# taken ")[2] for id in SHELF if id in shop.ids("macro")}
    assert set(there) in (set(), set(SHELF)), there
    assert len(set(there.values())) <= 1, f"a half was taken in: {there}"
    came = origin.of_all(shop)
    assert set(came) == set(there)
    assert {each.taken.removeprefix("moment ") for each in came.values()} == {each.strip() for each in there.values()}
    kept = {each.text for id in there for each in shop.revisions("macro", id)}
    lost = [number for number in said if not any(text.endswith(f"# taken {number}\n") for text in kept)]
    assert not lost, f"acknowledged and lost: {lost}"
    with closing(sqlite3.connect(shop.file)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    return len(said)


PLACES = []
"""The five macros of a bundle as they are to be taken in, looked over once."""


def review_five(shop):
    found = review(incoming([("five.zip", made_bundle())]), here(shop))
    PLACES.extend(placed(found, {each.coming.key: "theirs" for each in found}, shop))
    return PLACES


def head(shop, id):
    try:
        return shop.head("macro", id).number
    except StoreError:
        return None


def kill_an_uploader(folder, chance):
    """Uploads acknowledged before one kill, each of which waits whole; no half of another does."""
    shop = Workshop(folder)
    content = chance.randbytes(2_000_000)
    begun = chance.randrange(1_000_000)

    def work(acknowledge):
        for number in range(begun, begun + 15):
            acknowledge(waiting.keep(shop, [(f"{number}.zip", content), ("more.toml", b"m")]))

    said = killed(work, chance.uniform(0.0, 0.2))
    found = [each.key for each in waiting.every(shop)]
    assert set(said) <= set(found)
    for key in found:
        (_, first), (_, second) = waiting.files(shop, key)
        assert (first, second) == (content, b"m")
        waiting.drop(shop, key)
    return len(said)


def make_small(shop):
    """A pack of two macros of a workshop."""
    gathered = pack.gather(shop)
    try:
        return pack.make(gathered)
    except PackError as error:
        raise AssertionError(error) from error


@pytest.mark.parametrize("part", range(2))
def test_every_acknowledged_save_outlives_a_kill(tmp_path, part):
    chance = random.Random(SEED + part)
    Workshop.open(tmp_path / "w")
    counts = [kill_a_saver(tmp_path / "w", chance) for _ in range(10)]
    assert sum(counts) > 0, f"seed {SEED + part}: nothing was saved before any kill"


def test_a_pack_is_whole_or_absent_after_a_kill(tmp_path):
    chance = random.Random(SEED)
    made = make_small(Workshop.open(tmp_path / "w"))
    (tmp_path / "out").mkdir()
    takes = written_whole(tmp_path / "out", made)
    for _ in range(6):
        kill_a_writer(tmp_path / "out", made, chance, takes)


@pytest.mark.parametrize("part", range(2))
def test_macros_are_taken_in_all_of_them_or_none(tmp_path, part):
    chance = random.Random(SEED + part)
    Workshop.open(tmp_path / "w")
    counts = [kill_a_taker_in(tmp_path / "w", chance) for _ in range(10)]
    assert sum(counts) > 0, f"seed {SEED + part}: nothing was taken in before any kill"


def test_an_upload_waits_whole_or_not_at_all_after_a_kill(tmp_path):
    chance = random.Random(SEED)
    Workshop.open(tmp_path / "w")
    for _ in range(4):
        kill_an_uploader(tmp_path / "w", chance)


def main(times, what):
    """Kill so many, in folders that are renewed every hundred kills."""
    total, begun = 0, time.monotonic()
    for first in range(0, times, 100):
        with tempfile.TemporaryDirectory() as folder:
            shop = Workshop.open(Path(folder) / "w")
            (Path(folder) / "out").mkdir()
            made = make_small(shop) if what == "taking" else None
            takes = written_whole(Path(folder) / "out", made) if made else 0.0
            for number in range(first, min(first + 100, times)):
                chance = random.Random(SEED * 1000 + number)
                if what == "taking-in":
                    total += kill_a_taker_in(shop.path, chance)
                elif what == "uploading":
                    total += kill_an_uploader(shop.path, chance)
                elif made:
                    total += kill_a_writer(Path(folder) / "out", made, chance, takes)
                else:
                    total += kill_a_saver(shop.path, chance)
        print(f"{min(first + 100, times)} kills of {what}, {total} acknowledged, none lost", flush=True)
    print(f"{times} kills of {what}, {total} acknowledged, none lost, {time.monotonic() - begun:.0f} s, seed {SEED}")


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2])
