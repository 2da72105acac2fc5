"""Calls of the command with files, names and streams that mean it harm: one sentence, and no line that is not ours."""

from __future__ import annotations

import io
import json
import lzma
import os
import re
import signal
import socket
import subprocess
import sys
import time
import zipfile
from contextlib import redirect_stderr, redirect_stdout, suppress
from pathlib import Path
from threading import Thread
from time import sleep

import pytest

from library import pack
from library.store import Workshop
from webapp.cli import front, main

pytestmark = pytest.mark.long

ROOT = Path(__file__).parents[2]
GOOD = "G21 G90\nG53 G0 Z-2\nG80\n"
MACRO = 'format = "clickstop-macro/1"\nid = "m"\nname = "M"\n'
ESCAPE = "\x1b[2J\x1b[32mproved\u202e"
UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")
SOON = 60
"""Seconds after which a call is taken to hang, on a computer that has other things to do too."""


@pytest.fixture(autouse=True)
def _own_home(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    monkeypatch.setenv("PYTHONUTF8", "1")
    monkeypatch.chdir(tmp_path)


def call(*given, **more):
    command = [sys.executable, "-m", "webapp.cli", *map(str, given)]
    told = {"capture_output": True, "text": True, "timeout": SOON, "stdin": subprocess.DEVNULL, "newline": None}
    told.pop("newline")
    return subprocess.run(command, check=False, **{**told, **more})


def here(*given):
    """The same in this process: loading all that a command needs takes far longer than most commands do."""
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err), pytest.raises(SystemExit) as left:
        main([str(each) for each in given])
    return subprocess.CompletedProcess(given, left.value.code, out.getvalue(), err.getvalue())


def one_sentence(result, *words, status=2):
    assert result.returncode == status, result.stderr
    assert "went wrong in the program" not in result.stderr
    (told,) = result.stderr.splitlines()
    assert not UNSEEN.search(told)
    for word in words:
        assert word in told
    assert result.stdout == ""


# What is no file, or too much of one


def test_a_pipe_that_nobody_writes_into_is_no_file(tmp_path):
    os.mkfifo("pipe.nc")
    one_sentence(call("check", "pipe.nc"), "pipe.nc", "a pipe and no file", "standard input")
    one_sentence(call("check", "--machine", "pipe.nc", "x.nc"), "a pipe and no file")
    os.mkfifo("pipe.toml")
    one_sentence(call("build", "pipe.toml"), "a pipe and no file")
    one_sentence(call("verify", "pipe.nc"), "pipe.nc")


@pytest.mark.parametrize("device", ["/dev/zero", "/dev/null", "/dev/tty"])
def test_a_device_is_no_file(device):
    one_sentence(call("check", device), device)
    one_sentence(call("verify", device), device)


@pytest.mark.parametrize(
    ("given", "most"),
    [
        (("check", "big.nc"), "2,000,000 bytes"),
        (("check", "big.toml"), "256,000 bytes"),
        (("build", "big.toml"), "256,000 bytes"),
        (("check", "good.nc", "--machine", "big.toml"), "256,000 bytes"),
        (("check", "good.nc", "--controller", "big.toml"), "256,000 bytes"),
        (("verify", "big.zip"), "64,000,000 bytes"),
        (("verify", "folder"), "64,000,000 bytes"),
    ],
)
def test_a_file_over_its_size_is_not_read(given, most):
    Path("good.nc").write_text(GOOD)
    Path("folder").mkdir()
    for name in ("big.nc", "big.toml", "big.zip", "folder/big"):
        with open(name, "wb") as file:
            file.truncate(3_000_000_000)  # a hole: it takes no room on the disk
    one_sentence(call(*given), most)


def test_what_comes_on_standard_input_is_checked_up_to_the_same_size():
    result = call("check", "-", input=GOOD, stdin=None)
    assert result.returncode == 0
    assert result.stdout.startswith("standard input: proved")
    one_sentence(call("check", "-", input="(x)\n" * 600_000, stdin=None), "2,000,000 bytes")
    one_sentence(call("check", "-"), "empty")
    result = call("check", "-", input=f'{MACRO}[[step]]\nblock = "raise"\n', stdin=None)
    assert result.returncode == 0
    assert "step" in result.stdout or "proved" in result.stdout


@pytest.mark.long
def test_a_name_of_any_length_is_told(tmp_path):
    for name in ("x" * 256, "x" * 5000, "/".join(["x" * 200] * 30)):
        for given in (("check", name), ("check", f"{name}.toml"), ("verify", name), ("build", name)):
            one_sentence(here(*given))
    Path("good.nc").write_text(GOOD)
    one_sentence(here("check", "good.nc", "--controller", "x" * 300))
    one_sentence(here("check", "good.nc", "--machine", "x" * 300))
    Workshop.open("shop")
    one_sentence(here("take", "--workshop", "shop", "--to", "x" * 300))
    one_sentence(here("verify", ".", "--workshop", "x" * 300))
    one_sentence(here("check", "--workshop", "x" * 300))


# Streams


def full():
    return open("/dev/full", "w")


@pytest.mark.parametrize("given", [("check", "good.nc"), ("schema", "machine"), ("--help",), ("build", "good.toml")])
def test_a_standard_output_that_is_full_is_told(given):
    Path("good.nc").write_text(GOOD)
    Path("good.toml").write_text(f'{MACRO}[[step]]\nblock = "raise"\n')
    with full() as out:
        result = call(*given, capture_output=False, stdout=out, stderr=subprocess.PIPE)
    assert result.returncode == 2
    assert "Traceback" not in result.stderr
    assert "standard output cannot be written" in result.stderr


def test_a_standard_output_that_is_closed_is_told():
    Path("good.nc").write_text(GOOD)
    shell = f'"{sys.executable}" -m webapp.cli check good.nc >&-'
    result = subprocess.run(["bash", "-c", shell], capture_output=True, text=True, check=False, timeout=SOON)
    one_sentence(result, "standard output is closed")


def test_a_standard_error_that_is_closed_or_full_changes_nothing():
    Path("good.nc").write_text(GOOD)
    for shut in ("2>&-", "2>/dev/full"):
        shell = f'"{sys.executable}" -m webapp.cli check good.nc {shut}'
        result = subprocess.run(["bash", "-c", shell], capture_output=True, text=True, check=False, timeout=SOON)
        assert result.returncode == 0
        assert result.stdout.startswith("good.nc: proved")


def test_a_reader_that_has_gone_away_is_no_error():
    Path("good.nc").write_text(GOOD * 500)
    shell = f'"{sys.executable}" -m webapp.cli check good.nc good.nc --format json | head -c 10'
    result = subprocess.run(["bash", "-c", shell], capture_output=True, text=True, check=False, timeout=SOON)
    assert "rror" not in result.stderr


AS_A_COMMAND = """
import runpy, sys

class Watching:
    def find_spec(self, name, path=None, target=None):
        if name == "click":
            print("begun", flush=True)

sys.meta_path.insert(0, Watching())
runpy.run_module("webapp.cli", run_name="__main__", alter_sys=True)
"""
"""Says when the command loads the first library that is not Python's; before its own first line Ctrl+C is Python's."""


@pytest.mark.parametrize("after", [0, 0.15, 0.4])
def test_ctrl_c_while_starting_is_quiet(after):
    command = [sys.executable, "-c", AS_A_COMMAND, "serve", "--workshop", "shop", "--port", "0", "--no-browser"]
    process = subprocess.Popen(
        command,
        text=True,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )
    assert process.stdout.readline() == "begun\n"
    time.sleep(after)
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=60)
    assert "Traceback" not in err
    assert process.returncode in (0, 130, -signal.SIGINT)


# Words that would paint something


def silent(result):
    """Nothing that is put out moves the cursor, and no line is there that is not ours."""
    for stream in (result.stdout, result.stderr):
        assert not UNSEEN.search(stream), repr(stream)
        assert not any(line.startswith("good.nc: proved") for line in stream.splitlines())


NAMES = [f"x{ESCAPE}.nc", "x\ngood.nc: proved.nc", "x\rgood.nc: proved.nc", "x\x9b31m.nc"]


@pytest.mark.parametrize("name", NAMES)
def test_a_hostile_name_paints_nothing_in_any_command(name):
    Path(name).write_text("G21\n$H\n")
    Path(f"{name}.toml").write_text(MACRO)
    Path("other.nc").write_text(GOOD)
    Path("dir" + name).mkdir()
    Path("dir" + name, name).write_text("$H\n")
    Workshop.open("shop")
    for given in (
        ("check", name),
        ("check", name, "--format", "json"),
        ("check", "dir" + name),
        ("check", "missing" + name),
        ("check", f"{name}.toml"),
        ("build", f"{name}.toml"),
        ("check", "other.nc", "--machine", name),
        ("check", "other.nc", "--controller", name),
        ("check", "other.nc", "--start", name),
        ("check", "other.nc", "--assume", name),
        ("check", "other.nc", "--format", name),
        ("check", "other.nc", f"--{name}"),
        ("check", "--workshop", name),
        ("verify", name),
        ("verify", "dir" + name),
        ("verify", "missing" + name),
        ("take", "--workshop", "shop", "--to", name),
        ("take", "--workshop", "shop", "--to", "missing", "--card", name),
        ("take", "--workshop", name, "--to", "missing"),
        ("schema", name),
        ("serve", "--host", name),
        ("serve", "--port", name),
        (name,),
    ):
        result = here(*given)
        assert result.returncode in (0, 1, 2)
        silent(result)
    silent(call("check", "missing" + name))


def test_hostile_keys_values_and_lines_paint_nothing():
    bad = "\\u001b[2J\\u202e\\ngood.nc: proved"
    Path("key.toml").write_text(f'{MACRO}"{bad}" = 1\n')
    Path("value.toml").write_text(f'{MACRO}units = "{bad}"\n')
    Path("block.toml").write_text(f'{MACRO}[[step]]\nblock = "raise"\n"{bad}" = "{bad}"\n')
    Path("lines.toml").write_text(f'{MACRO}[[step]]\nblock = "own-lines"\nlines = "(MSG,{bad}"\n')
    Path("line.nc").write_text(f"G21\n(MSG,{ESCAPE}\rgood.nc: proved\nG0 X\x1b[2J\n\u202e\n")
    for name in ("key.toml", "value.toml", "block.toml", "lines.toml", "line.nc"):
        result = here("check", name)
        assert result.returncode in (1, 2)
        silent(result)


# Zips


def test_an_entry_of_a_zip_makes_no_line_of_its_own(tmp_path):
    pack.write(pack.make(pack.gather(Workshop.open(tmp_path / "shop"))), tmp_path / "good.zip")
    with zipfile.ZipFile("good.zip", "a") as archive:
        archive.writestr(f"x{ESCAPE}\ngood.nc: proved", "x")
    result = call("verify", "good.zip")
    assert result.returncode == 1
    assert len(result.stdout.splitlines()) == 1
    silent(result)


@pytest.mark.parametrize("way", [zipfile.ZIP_LZMA, zipfile.ZIP_BZIP2, zipfile.ZIP_DEFLATED, zipfile.ZIP_STORED])
def test_a_zip_whose_entries_are_damaged_is_told_however_they_are_packed(way):
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", way) as archive:
        archive.writestr("manifest.json", json.dumps({"format": "x" * 500}) * 50)
    whole = made.getvalue()
    for at in range(45, 90, 5):
        spoilt = bytearray(whole)
        spoilt[at : at + 8] = b"\xff" * 8
        Path("bad.zip").write_bytes(spoilt)
        with pytest.raises(pack.PackError):
            pack.verify(Path("bad.zip"))
    assert issubclass(lzma.LZMAError, Exception)
    one_sentence(call("verify", "bad.zip"), "bad.zip")


def test_a_zip_of_more_entries_than_a_pack_has_is_none():
    with zipfile.ZipFile("many.zip", "w") as archive:
        for number in range(2_001):
            archive.writestr(str(number), "")
    one_sentence(call("verify", "many.zip"), "2,000 files")


def test_a_zip_that_unpacks_to_more_than_a_pack_is_none():
    with zipfile.ZipFile("bomb.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a", b"\0" * 65_000_000)
    one_sentence(call("verify", "bomb.zip"), "64,000,000 bytes")


# Serving


class Served:
    """A server of its own with a workshop in a folder."""

    def __init__(self, *given, **more):
        command = [sys.executable, "-m", "webapp.cli", "serve", "--workshop", "shop", "--port", "0", "--no-browser"]
        self.process = subprocess.Popen(
            [*command, *given], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **more
        )
        told = self.process.stdout.readline()
        self.port = int(re.search(r":(\d+)/", told)[1])

    def __enter__(self):
        return self

    def __exit__(self, *error):
        self.process.terminate()
        self.process.communicate(timeout=60)

    def connect(self):
        return socket.create_connection(("127.0.0.1", self.port), timeout=SOON)

    def ask(self, path="/help"):
        """The first line of the answer, which has to come soon."""
        with self.connect() as one:
            one.sendall(f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n".encode())
            return one.makefile("rb").readline().decode()


def test_clients_that_never_finish_asking_keep_nobody_out():
    with Served() as served:
        served.ask()
        waiting = [served.connect() for _ in range(front.CONNECTIONS + 100)]
        for number, each in enumerate(waiting):
            each.sendall(b"GET /he" if number % 2 else b"POST /shelf/new HTTP/1.1\r\nContent-Length: 9\r\n\r\nn")
        for _ in range(3):
            assert " 200 " in served.ask()
        for each in waiting:
            each.close()


def test_an_address_that_is_none_is_answered_as_such():
    with Served() as served:
        for address in ("http://[/bench", "http://[::1/bench", "//[/bench?a=[", "/bench?q=é", "/]["):
            assert re.match(r"HTTP/1\.\d 40[04] ", served.ask(address)), address
        assert " 200 " in served.ask()


def test_clients_that_do_not_take_their_answers_keep_nobody_out():
    asked = b"GET /static/htmx.min.js HTTP/1.1\r\nHost: localhost\r\n\r\n"
    with Served() as served:
        served.ask()
        waiting = [served.connect() for _ in range(front.CONNECTIONS - 1)]
        for each in waiting:
            each.sendall(asked * 100)
        for _ in range(3):
            assert " 200 " in served.ask()
        for each in waiting:
            each.close()


def test_answers_that_are_not_taken_in_time_close_their_connection(monkeypatch):
    from webapp import create_app

    monkeypatch.setattr(front, "READING_SECONDS", 1.0)
    listening = socket.create_server(("127.0.0.1", 0))
    made = front.server(create_app(Path("shop")), listening)
    Thread(target=made.run, daemon=True).start()
    with socket.create_connection(listening.getsockname(), timeout=SOON) as one:
        one.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        while not any(each.total_outbufs_len for each in list(made.active_channels.values())):
            with suppress(BlockingIOError, ConnectionError):
                one.sendall(b"GET /static/htmx.min.js HTTP/1.1\r\nHost: localhost\r\n\r\n")
            sleep(0.05)
        for _ in range(200):
            if not made.active_channels:
                break
            sleep(0.1)
        assert not made.active_channels


def test_a_request_that_does_not_end_in_time_is_closed(monkeypatch):
    from webapp import create_app

    monkeypatch.setattr(front, "REQUEST_SECONDS", 1.0)
    listening = socket.create_server(("127.0.0.1", 0))
    made = front.server(create_app(Path("shop")), listening)
    Thread(target=made.run, daemon=True).start()
    with socket.create_connection(listening.getsockname(), timeout=SOON) as one:
        one.sendall(b"GET /he")
        assert one.recv(100) == b""


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (b"POST /bench/park/save HTTP/1.1\r\nContent-Length: 9000000", b"That is larger than 4 MB"),
        (b"GET / HTTP/1.1", b"The head of this request is larger than 64 kB"),
        (b"GET / HTTP/1.1\r\nContent-Length: many", b"This request could not be read"),
    ],
)
@pytest.mark.parametrize("page", [True, False])
def test_a_request_that_never_reaches_the_pages_is_answered_in_their_words(line, told, page):
    head = [line, b"Host: localhost", b"HX-Request: true" if page else b"Accept: text/html"]
    if b"head" in told:  # no byte more, as what a server has not read resets the connection
        head.append(b"X: ".ljust(front.HEADER_BYTES - len(b"\r\n".join(head)) - len(b"\r\n" * 3), b"a"))
    with Served() as served, served.connect() as client:
        client.sendall(b"\r\n".join([*head, b"", b""]))
        answer = b"".join(iter(lambda: client.recv(65536), b""))
    assert told in answer
    assert b"Content-Security-Policy" in answer
    assert b"generated by" not in answer
    if b"head" not in told:  # the head was not read
        assert (b"hx-retarget: #notice" in answer.lower()) is page


def test_the_access_code_comes_from_a_file_or_from_the_surroundings():
    Path("code").write_text("seven turns\nand more\n")
    for given, more in (
        (("--access-code-file", "code"), {}),
        ((), {"env": {**os.environ, "CLICKSTOP_ACCESS_CODE": "seven turns"}}),
    ):
        with Served("--host", "0.0.0.0", *given, **more) as served:
            assert " 302 " in served.ask("/pendant")
            with served.connect() as one:
                body = "code=seven+turns&next=/pendant"
                one.sendall(
                    b"POST /access HTTP/1.1\r\nHost: x\r\nConnection: close\r\n"
                    b"Content-Type: application/x-www-form-urlencoded\r\n"
                    + f"Content-Length: {len(body)}\r\n\r\n{body}".encode()
                )
                assert b"Location: /pendant" in one.makefile("rb").read()


def test_a_code_file_that_cannot_be_used_is_told():
    Path("empty").write_text("\n")
    for name, word in (("empty", "no access code"), ("missing", "no such file"), (".", "folder")):
        one_sentence(call("serve", "--workshop", "shop", "--host", "0.0.0.0", "--access-code-file", name), word)
    one_sentence(call("serve", "--access-code", "a", "--access-code-file", "empty"), "both give a code")
    one_sentence(call("serve", "--access-code", " "), "empty")
