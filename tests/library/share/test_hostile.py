"""Whatever a bundle holds, it is refused or shown inert, with a sentence, and never costs more than 200 MB."""

import json
import random
import subprocess
import sys
from pathlib import Path

import pytest

from library.share.incoming import incoming
from tests.library.share import hostile
from tests.library.share.shops import LIFT, files_of, made, resealed

MOST_MB = 200


@pytest.mark.parametrize("kind", hostile.KINDS)
def test_a_hostile_bundle_is_told_in_one_sentence(kind):
    make, wanted = hostile.KINDS[kind]
    words = hostile.told("b.zip", make())
    assert wanted in words
    assert "\n" not in words
    assert words.isprintable()
    assert len(words) < 700


@pytest.mark.parametrize("kind", hostile.INERT)
def test_words_that_could_do_something_elsewhere_are_words_here(kind):
    found = incoming([("b.zip", hostile.INERT[kind]())]).macros
    assert found
    assert [each.wrong for each in found] == [""] * len(found)


def test_script_in_a_text_comes_as_the_text_it_is():
    (found,) = incoming([("b.zip", hostile.INERT["script in every text"]())]).macros
    assert (found.macro.name, found.macro.author, found.macro.tags) == (
        hostile.SCRIPT,
        hostile.SCRIPT,
        (hostile.SCRIPT,),
    )


@pytest.mark.long
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="memory is read where this system tells it")
def test_none_of_them_takes_more_memory_than_200_mb(tmp_path):
    """In a process that does nothing else, with what Python and the program itself take."""
    paths = []
    for number, kind in enumerate({**hostile.KINDS, **hostile.INERT}):
        make = hostile.INERT.get(kind) or hostile.KINDS[kind][0]
        paths.append(tmp_path / f"{number}.zip")
        paths[-1].write_bytes(make())
    run = subprocess.run(
        [sys.executable, "-m", "tests.library.share.hostile", *map(str, paths)],
        capture_output=True,
        text=True,
        check=True,
        timeout=300,
    )
    lines = [json.loads(line) for line in run.stdout.splitlines()]
    assert len(lines) == len(paths)
    assert max(each["peak_mb"] for each in lines) < MOST_MB, lines


@pytest.mark.parametrize("seed", range(200))
def test_a_bundle_that_is_damaged_anywhere_is_told_or_is_as_it_was(seed):
    chance = random.Random(seed)
    content = bytearray(GOOD)
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(content))
        match chance.randrange(3):
            case 0:
                content[at] = chance.randrange(256)
            case 1:
                del content[at : at + chance.randint(1, 50)]
            case 2:
                content[at:at] = chance.randbytes(chance.randint(1, 50))
    words = hostile.told("b.zip", bytes(content))
    assert words.isprintable()
    if not words:
        (found,) = incoming([("b.zip", bytes(content))]).macros
        assert found.text == LIFT


GOOD = made("lift")


@pytest.mark.parametrize("seed", range(60))
def test_a_manifest_that_says_anything_is_told_in_a_sentence(seed):
    """Values of a good manifest replaced by others, its digests right."""
    chance = random.Random(seed)
    odd = [
        None,
        -1,
        1e400,
        "",
        "x" * 5000,
        [],
        {},
        ["\u202e"],
        True,
        10**40,
        "../x",
        "macros/lift.toml",
        "\x00",
        NESTED,
    ]

    def change(said):
        node = said
        while True:
            keys = list(node) if isinstance(node, dict) else list(range(len(node)))
            key = chance.choice(keys)
            if isinstance(node[key], dict | list) and node[key] and chance.random() < 0.7:
                node = node[key]
                continue
            node[key] = chance.choice(odd)
            return

    words = hostile.told("b.zip", resealed(files_of(GOOD), change))
    assert words.isprintable()
    assert len(words) < 1000


NESTED = {"a": [[[[{"b": [1] * 100}]]]]}
