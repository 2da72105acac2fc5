"""No request breaks the pages: every route and method, with what no page of ours would send.

``.ci/run`` tries a share, seeded by the day. By hand, from the project's folder:

    python -m tests.fuzz.test_requests 10000

A second number is the seed to begin with.
"""

from __future__ import annotations

import logging
import random
import sys
import tempfile
from collections import Counter
from pathlib import Path

import pytest

from library import starter
from library.blocks import REGISTRY
from tests.bulk import mostly_long
from tests.deadline import within
from tests.fuzz.seeds import seed_of_today
from webapp import create_app

BATCHES, PER_BATCH = 3, 40
DEADLINE = 60.0
"""Processor seconds for one answer."""

METHODS = ("GET", "POST", "HEAD", "PUT", "DELETE", "OPTIONS", "PATCH", "TRACE", "POKE")
WORDS = (
    "park",
    "home",
    "",
    "x" * 300,
    "9" * 5000,
    "-1",
    "1e999",
    "nan",
    "5e-324",
    "\x00",
    "\x1b[2J",
    "a\r\nb",
    "\u202e",
    "\ud800",
    "../../etc/passwd",
    "%00",
    "{{7*7}}",
    "<script>",
    "'\"",
    "[" * 2000,
    "(" * 3000,
    "{" * 1500,
    "a." * 3000,
    "up 2",
    "down 1",
    "remove 1",
    "add",
    "undo",
    "redo",
    "tidy 1",
    "accept crosses-keep-out",
    "take-back crosses-keep-out",
    "start z >= -20 mm",
    "fix raise.1",
    "machine",
    "controller",
    "pendant",
    "macro",
    "yes",
    "convert",
    "own-lines",
    "G81 X1 Y1 Z-5 R1 L9999",
    "#1=5",
    "\n\n#1=5\n[[step]]\n",
    '"""',
    "travel.y.max - 20 mm",
    "1/0",
)
FIELDS = (
    *("do", "add", "base", "because", "at", "slot", "name", "text", "start", "purpose", "digest", "figures", "way"),
    *("from", "to", "show", "shown", "at-x", "at-y", "at-z", "width", "height", "start-x", "go", "choosing", "done"),
    *("seen", "was", "board", "was x100 6"),
    *("next", "code", "preset", "axis", "moves", "seconds", "length", "revision", "q", "step.1.lines", "step.1.macro"),
    *("slot.3.0", "was.slot.3.0", "axes.x.rapid", "axes.x.travel.0"),
)
HEADERS = ("Origin", "Sec-Fetch-Site", "HX-Request", "X-Work", "Cookie", "Content-Type", "Host", "Range", "Referer")
SHEETS = [text for _, _, text in starter.documents()]


class Attacker:
    """Asks an application of its own for whatever a seed comes to."""

    def __init__(self, folder: Path) -> None:
        self.app = create_app(folder)
        self.app.logger = logging.Logger("attacked", logging.CRITICAL)  # one of its own: others are tested too
        self.client = self.app.test_client()
        self.rules = sorted(rule.rule for rule in self.app.url_map.iter_rules())
        self.answers: Counter[int] = Counter()

    def ask(self, seed: int) -> None:
        """One request; AssertionError where the answer is an internal error or comes too late."""
        chance = random.Random(seed)
        method = chance.choices(METHODS, (8, 12, 1, 1, 1, 1, 1, 1, 1))[0]
        path = self._path(chance)
        headers = {
            name: self._header(chance, name) for name in chance.sample(HEADERS, chance.choice((0, 0, 0, 1, 1, 2)))
        }
        asked = self._fields(chance, 3) if chance.random() < 0.5 and "?" not in path else {}
        given: dict = {"query_string": asked} if asked else {}
        if chance.random() < 0.8:
            given["data"] = self._fields(chance, 8) if chance.random() < 0.85 else chance.randbytes(200)
        with within(DEADLINE):
            answer = self.client.open(path, method=method, headers=headers, **given)
            answer.get_data()
        self.answers[answer.status_code] += 1
        assert answer.status_code < 500 or answer.status_code in (501,), f"{method} {path!r}: {answer.status_code}"
        assert b"Traceback (most" not in answer.get_data()

    def _path(self, chance: random.Random) -> str:
        rule = chance.choice(self.rules)
        while "<" in rule:
            begin, end = rule.index("<"), rule.index(">")
            known = ("park", "home", "machine", "controller", "pendant", "card.html", "rules", "limits")
            word = chance.choice(known) if chance.random() < 0.7 else self._sendable(chance.choice(WORDS))[:500]
            rule = rule[:begin] + word.replace("<", "").replace(">", "") + rule[end + 1 :]
        return rule if chance.random() < 0.95 else rule + chance.choice(("/", "//", "%ff", "\\", ".toml"))

    def _fields(self, chance: random.Random, most: int) -> dict[str, str]:
        return {self._field(chance): self._value(chance) for _ in range(chance.randrange(most + 1))}

    def _field(self, chance: random.Random) -> str:
        if chance.random() < 0.2:
            block = chance.choice(list(REGISTRY.values()))
            return f"step.{chance.randrange(1, 5)}.{chance.choice([*block.fields, 'x'])}"
        return chance.choice(FIELDS)

    def _value(self, chance: random.Random) -> str:
        if chance.random() < 0.1:
            text = chance.choice(SHEETS)
            at = chance.randrange(len(text))
            return text[:at] + self._sendable(chance.choice(WORDS)) + text[at + chance.randrange(20) :]
        if chance.random() < 0.1:
            return chance.choice(list(REGISTRY))
        return self._sendable(chance.choice(WORDS))

    def _header(self, chance: random.Random, name: str) -> str:
        usual = {
            "Origin": ("http://localhost", "null", "http://[", "http://[::1"),
            "Sec-Fetch-Site": ("same-origin", "cross-site", "none"),
            "HX-Request": ("true",),
            "Host": ("localhost", "[", "[::1]:1", "a:b:c"),
            "Content-Type": ("multipart/form-data; boundary=", "multipart/form-data", "text/plain", "application/json"),
        }
        if name in usual and chance.random() < 0.8:
            return chance.choice(usual[name])
        word = self._sendable(chance.choice(WORDS))[:300]
        return "".join(each for each in word if each.isprintable() and each < "\xff")

    @staticmethod
    def _sendable(word: str) -> str:
        """A word as it can be sent at all: halves of a pair only as what stands for them."""
        return word.encode("utf-8", "replace").decode()


@pytest.mark.parametrize("batch", mostly_long(range(BATCHES), keep=0))
def test_no_request_breaks_anything(batch, tmp_path):
    seed = seed_of_today() + batch * PER_BATCH
    print(f"seed {seed}")
    attacker = Attacker(tmp_path / "workshop")
    for each in range(seed, seed + PER_BATCH):
        try:
            attacker.ask(each)
        except Exception as error:
            raise AssertionError(f"CLICKSTOP_SEED={each}") from error
    assert sum(attacker.answers.values()) == PER_BATCH


if __name__ == "__main__":
    count = int(sys.argv[1])
    first = int(sys.argv[2]) if len(sys.argv) > 2 else seed_of_today()
    broken = 0
    with tempfile.TemporaryDirectory() as folder:
        attacker = Attacker(Path(folder) / "workshop")
        for each in range(first, first + count):
            try:
                attacker.ask(each)
            except Exception as error:
                broken += 1
                print(f"seed {each}: {type(error).__name__}: {str(error)[:200]!r}", flush=True)
            if (each - first + 1) % 500 == 0:
                print(f"{each - first + 1}: {broken} broken", flush=True)
    print(f"{count} requests from seed {first}, {broken} broken: {dict(attacker.answers)}")
