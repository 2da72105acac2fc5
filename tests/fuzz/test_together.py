"""Eight clients and two servers at one workshop: whatever was acknowledged is there.

Each client changes something of its own (a field of a sheet, a field of a macro, a slot, a name) over and over, each
time from a page that it has loaded before. ``.ci/run`` gives them 6 seconds. More, by hand, from the project's folder:

    python -m tests.fuzz.test_together 60
"""

from __future__ import annotations

import html
import re
import socket
import subprocess
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from urllib.error import HTTPError
from urllib.parse import urlencode
from urllib.request import urlopen

import pytest

from library import documents
from library.store import Workshop
from tests.webapp.rendered import HIDDEN

pytestmark = pytest.mark.long

BENCH = re.compile(r'<input [^>]*?name="([^"]+)" value="([^"]*)"')


@contextmanager
def serving(folder, ports):
    """The program once for each port, on one workshop."""
    command = [sys.executable, "-m", "webapp.cli", "serve", "--workshop", str(folder), "--no-browser", "--port"]
    running = [subprocess.Popen([*command, str(port)], stdout=subprocess.DEVNULL) for port in ports]
    try:
        for port in ports:
            until(lambda at=port: urlopen(f"http://127.0.0.1:{at}/help", timeout=5).status == 200)
        yield
    finally:
        for each in running:
            each.terminate()
            each.wait()


def until(ready):
    """Wait until something answers."""
    for _ in range(200):
        try:
            if ready():
                return
        except OSError:
            time.sleep(0.1)
    raise AssertionError("the program does not answer")


def free_ports(count):
    sockets = [socket.create_server(("127.0.0.1", 0)) for _ in range(count)]
    ports = [each.getsockname()[1] for each in sockets]
    for each in sockets:
        each.close()
    return ports


class Client:
    """Somebody who changes one thing over and over and remembers what was acknowledged last."""

    def __init__(self, address):
        self.address, self.kept, self.answers = address, None, Counter()

    def ask(self, path, form=None):
        data = urlencode(form).encode() if form is not None else None
        try:
            with urlopen(f"{self.address}{path}", data, timeout=60) as answer:
                return answer.status, html.unescape(answer.read().decode())
        except HTTPError as error:
            return error.code, error.read().decode()

    def turn(self, value):
        status, _ = self.change(value)
        self.answers[status] += 1
        if status == 200:
            self.kept = value


class OfASheet(Client):
    """Changes the rapid of an axis in the whole document."""

    def __init__(self, address, axis):
        super().__init__(address)
        self.axis = axis

    def change(self, value):
        _, page = self.ask("/sheets/machine")
        text = page.split("<textarea")[1].split(">", 1)[1].split("</textarea>")[0]
        seen = re.search(r'name="seen" value="(\d+)"', page)[1]
        typed = documents.write("machine", {("axes", self.axis, "rapid"): 1000.0 + value}, text)
        return self.ask("/sheets/machine", {"text": typed, "seen": seen})

    def found(self, shop):
        return shop.bench().machine.axis(self.axis).rapid - 1000.0


class OfAMacro(Client):
    """Changes a field of the head of a macro on its bench."""

    def __init__(self, address, field):
        super().__init__(address)
        self.field = field

    def change(self, value):
        _, page = self.ask("/bench/park")
        form = dict(BENCH.findall(page.split('id="operations"')[1].split('id="results"')[0]))
        base = re.search(r'id="base"[^>]*? value="(.*?)">', page)[1]
        return self.ask("/bench/park/save", form | {"base": base, self.field: f"{self.field} {value}"})

    def found(self, shop):
        return int(getattr(documents.parse("macro", shop.text("macro", "park")), self.field).split()[1])


class OfASlot(Client):
    """Puts one macro after another on a slot."""

    macros = ("park", "home", "retract")

    def __init__(self, address, slot):
        super().__init__(address)
        self.slot = slot

    def change(self, value):
        shown = dict(HIDDEN.findall(self.ask("/pendant")[1]))
        return self.ask("/pendant", shown | {self.slot: self.macros[value % 3]})

    def turn(self, value):
        super().turn(value)
        self.kept = None if self.kept is None else self.kept % 3

    def found(self, shop):
        _, place, column = self.slot.split(".")
        pendant = shop.bench().pendant
        held = pendant.slots[pendant.positions[int(place)].label][pendant.increments[int(column)]]
        return self.macros.index(held)


def together(folder, seconds):
    """Let them work; returns how often each answer came. AssertionError where something acknowledged is not there."""
    shop = Workshop.open(folder)
    spare = [
        at for at, position in enumerate(shop.bench().pendant.positions) if position in shop.bench().pendant.spare()
    ]
    ports = free_ports(2)
    with serving(folder, ports):
        ways = [(OfASheet, axis) for axis in "xyz"] + [(OfAMacro, field) for field in ("purpose", "name")]
        ways += [(OfASlot, f"slot.{spare[0]}.{column}") for column in range(3)]
        clients = [kind(f"http://127.0.0.1:{ports[at % 2]}", what) for at, (kind, what) in enumerate(ways)]
        end = time.monotonic() + seconds

        def work(client):
            value = 0
            while time.monotonic() < end:
                value += 1
                client.turn(value)

        with ThreadPoolExecutor(len(clients)) as pool:
            list(pool.map(work, clients))
    return judged(clients, shop)


def judged(clients, shop):
    for client in clients:
        assert client.kept is not None, f"{type(client).__name__} got nothing done: {client.answers}"
        assert client.found(shop) == client.kept, f"{type(client).__name__} lost what was acknowledged last"
    return sum((client.answers for client in clients), Counter())


def test_nothing_acknowledged_is_lost(tmp_path):
    answers = together(tmp_path / "w", 6.0)
    assert set(answers) == {200}, answers


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as temporary:
        print(dict(together(Path(temporary) / "w", float(sys.argv[1]))))
