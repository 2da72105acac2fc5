"""The computer in the workshop may be a Windows laptop, an old Mac, or anything with its files on a drive or a card.

Nobody has tried Windows or a Mac by hand yet, and the README says so; what can be held from here is held.
"""

from __future__ import annotations

import ast
import errno
import os
import re
import shutil
import sqlite3
from pathlib import Path, PureWindowsPath

import pytest
from click.testing import CliRunner

from library.store import StoreError, Workshop, address
from webapp import create_app
from webapp.cli import main

ROOT = Path(__file__).parents[1]
SOURCES = [path for package in ("parser", "library", "webapp") for path in sorted((ROOT / package).rglob("*.py"))]

OF_ONE_SYSTEM = {
    *("crypt", "curses", "fcntl", "grp", "nis", "ossaudiodev", "posix", "pty", "pwd", "readline", "resource", "spwd"),
    *("syslog", "termios", "tty"),
    *("_winapi", "_winreg", "msvcrt", "nt", "winreg", "winsound"),
    *("applescript", "AppKit", "Foundation", "objc", "win32api", "win32con", "win32file"),
}
"""Modules that not every Python of 3.11 has, by its documentation (memory)."""

NAMES_OF_ONE_SYSTEM = {
    "os": {
        *("O_CLOEXEC", "O_DIRECTORY", "O_NOFOLLOW", "O_NONBLOCK", "O_SYNC", "O_BINARY", "WNOHANG", "chown", "chroot"),
        *("confstr", "ctermid", "fchmod", "fchown", "fork", "forkpty", "fdatasync", "getegid", "geteuid", "getgid"),
        *("getloadavg", "getpgid", "getuid", "killpg", "lchown", "mkfifo", "mknod", "nice", "openpty", "posix_spawn"),
        *("pread", "pwrite", "register_at_fork", "sched_getaffinity", "sendfile", "setpgid", "setsid", "startfile"),
        *("statvfs", "sync", "sysconf", "uname", "wait"),
    },
    "signal": {
        *("SIGALRM", "SIGHUP", "SIGKILL", "SIGPIPE", "SIGQUIT", "SIGUSR1", "SIGUSR2", "alarm", "pause", "setitimer"),
    },
    "socket": {"AF_UNIX", "SO_REUSEPORT", "socketpair"},
    "select": {"epoll", "kqueue", "poll"},
    "time": {"tzset"},
}
"""What those modules have on some systems only (memory); ``getattr`` with something in its place may ask for it."""


def tree(path):
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def imported(nodes):
    """The modules that are named by an import, wherever it stands."""
    for node in nodes:
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module.split(".")[0]
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def of_one_system(path):
    """What a module uses that not every system has."""
    nodes = list(ast.walk(tree(path)))
    rare = OF_ONE_SYSTEM | {f"{module}.{name}" for module, names in NAMES_OF_ONE_SYSTEM.items() for name in names}
    found = [name for name in imported(nodes) if name in rare]
    dotted = [f"{node.value.id}.{node.attr}" for node in nodes if _of_a_name(node)]
    return found + [name for name in dotted if name in rare]


def _of_a_name(node):
    return isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name)


def without_encoding(path):
    """The calls that read or write text as the system would have it, by their lines."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute | ast.Name):
            name = node.func.attr if isinstance(node.func, ast.Attribute) else node.func.id
            named = {keyword.arg for keyword in node.keywords}
            if name == "read_text" and not named & {"encoding", None} and not node.args:
                yield node.lineno
            if name in ("write_text", "TextIOWrapper") and "encoding" not in named:
                yield node.lineno
            if isinstance(node.func, ast.Name) and name == "open" and "encoding" not in named and not _binary(node):
                yield node.lineno


def _binary(call):
    modes = [arg.value for arg in call.args[1:2] if isinstance(arg, ast.Constant)]
    return any("b" in mode for mode in modes)


def test_nothing_imports_or_asks_for_what_only_one_system_has():
    assert len(SOURCES) > 300
    assert {str(path): found for path in SOURCES if (found := of_one_system(path))} == {}


def test_this_look_sees_what_it_looks_for(tmp_path):
    path = tmp_path / "bad.py"
    path.write_text(
        "import os, fcntl\nfrom signal import SIGKILL\ndef f():\n    import winreg\n    os.getuid()\nopen('a')\n"
        "open('a', 'rb')\nPath('a').read_text()\nPath('a').write_text('', encoding='utf-8')\n",
        encoding="utf-8",
    )
    assert sorted(of_one_system(path)) == ["fcntl", "os.getuid", "signal.SIGKILL", "winreg"]
    assert sorted(without_encoding(path)) == [6, 8]


def test_text_is_read_and_written_alike_on_every_system():
    assert {str(path): lines for path in SOURCES if (lines := list(without_encoding(path)))} == {}


def test_the_readme_gives_the_commands_for_windows_and_a_mac_and_says_where_they_are_untried():
    readme = re.sub(r"\s+", " ", (ROOT / "README.md").read_text(encoding="utf-8"))
    begin = readme[readme.index("## Begin") : readme.index("## A tour")]
    assert "py -m venv .venv" in begin
    assert r".venv\Scripts\clickstop" in begin
    assert "Nobody has tried" in begin


class TestAFolderThatIsSharedInANetwork:
    def test_is_named_to_sqlite_with_its_computer_in_the_path(self):
        shared = PureWindowsPath(r"\\shop\cam\mill 1\workshop.sqlite")
        assert address(shared) == "file:////shop/cam/mill%201/workshop.sqlite"
        assert address(PureWindowsPath(r"C:\Users\a#b\workshop.sqlite")) == "file:///C:/Users/a%23b/workshop.sqlite"

    def test_would_be_refused_with_its_computer_apart(self):
        with pytest.raises(sqlite3.OperationalError, match="invalid uri authority"):
            sqlite3.connect("file://shop/cam/workshop.sqlite", uri=True)

    def test_is_found_whatever_signs_are_in_its_name(self, tmp_path):
        shop = Workshop.open(tmp_path / "50 % of #1?")
        assert Workshop(shop.path).ids("macro") == shop.ids("macro")

    @pytest.mark.parametrize("said", ["locking protocol", "disk I/O error"])
    def test_that_cannot_keep_a_workshop_is_told_as_one(self, tmp_path, monkeypatch, said):
        shop = Workshop.open(tmp_path / "workshop")

        def failing(*_, **__):
            raise sqlite3.OperationalError(said)

        monkeypatch.setattr(sqlite3, "connect", failing)
        with pytest.raises(StoreError, match="most network drives cannot hold a workshop") as told:
            shop.ids("macro")
        assert "\n" not in str(told.value)


@pytest.fixture
def card(tmp_path):
    """The folder that a memory card or a drive stands for."""
    place = tmp_path / "card"
    place.mkdir()
    return place


def called(*args):
    return CliRunner().invoke(main, [str(arg) for arg in args])


def calls(shop, card):
    """Each command that writes, or reads, a folder that somebody names: what it is and how it is called."""
    return {
        "take a zip": ("take", "--workshop", shop, "--to", card / "pack.zip"),
        "take a folder": ("take", "--workshop", shop, "--to", card / "pack"),
        "backup": ("backup", "--workshop", shop, "--to", card / "kept.zip"),
        "bundle": ("shelf", "bundle", "--all", "--workshop", shop, "--to", card / "macros.zip"),
        "export": ("shelf", "export", card / "macros", "--workshop", shop),
    }


KINDS = ("take a zip", "take a folder", "backup", "bundle", "export")


@pytest.fixture
def shop(tmp_path):
    return Workshop.open(tmp_path / "workshop").path


class TestAMemoryCard:
    """Most have no second names for a file; one may be pulled out at any moment."""

    @pytest.fixture
    def without_links(self, monkeypatch):
        def failing(*_, **__):
            raise OSError(errno.EPERM, "Operation not permitted")

        monkeypatch.setattr(os, "link", failing)

    @pytest.mark.parametrize("kind", KINDS)
    def test_takes_all_that_is_written_to_it(self, shop, card, without_links, kind):
        result = called(*calls(shop, card)[kind])
        assert result.exit_code == 0, result.output
        assert [path for path in card.iterdir() if not path.name.startswith(".")]

    def test_takes_a_workshop_and_gets_it_back(self, shop, card, without_links):
        assert called("backup", "--workshop", shop, "--to", card / "kept.zip").exit_code == 0
        there = Workshop.open(card / "shop").path
        assert called("restore", card / "kept.zip", "--workshop", there).exit_code == 0
        assert Workshop(there).ids("macro") == Workshop(shop).ids("macro")

    @pytest.mark.parametrize("kind", KINDS)
    def test_never_has_a_file_replaced_that_it_holds(self, shop, card, without_links, kind):
        name = calls(shop, card)[kind][-1] if kind != "export" else card / "macros"
        name.write_text("mine", encoding="utf-8")
        result = called(*calls(shop, card)[kind])
        assert result.exit_code == 2
        assert name.read_text(encoding="utf-8") == "mine"

    @pytest.fixture
    def pulled(self, card, monkeypatch):
        """From now on nothing on the card can be asked for."""

        def failing(asked):
            def call(path, *args, **named):
                if str(path).startswith(str(card)):
                    raise OSError(errno.EIO, "Input/output error", str(path))
                return asked(path, *args, **named)

            return call

        for name in ("stat", "lstat", "open", "mkdir", "scandir", "listdir", "rename", "replace", "unlink", "access"):
            monkeypatch.setattr(os, name, failing(getattr(os, name)))

    @pytest.mark.parametrize("kind", KINDS)
    def test_that_is_pulled_out_is_told_in_one_sentence(self, shop, card, pulled, kind):
        one_sentence(called(*calls(shop, card)[kind]))

    @pytest.mark.parametrize(
        "call",
        [
            ("check", "part.nc"),
            ("check", "."),
            ("verify", "pack.zip"),
            ("verify", "pack"),
            ("shelf", "review", "macros.zip"),
            ("shelf", "take-in", "macros.zip"),
            ("shelf", "sync", "macros"),
            ("shelf", "add", "lift.toml"),
            ("restore", "kept.zip"),
        ],
        ids=" ".join,
    )
    def test_that_is_pulled_out_is_told_by_what_would_read_it(self, shop, card, pulled, call):
        *command, name = call
        workshop = () if command == ["verify"] else ("--workshop", shop)
        one_sentence(called(*command, card / name, *workshop))

    @pytest.mark.parametrize("command", [("check", "part.nc"), ("fitted",), ("shelf", "list"), ("build", "park.toml")])
    def test_with_the_workshop_on_it_is_told_in_one_sentence(self, shop, card, pulled, tmp_path, command):
        (tmp_path / "part.nc").write_text("G21 G90\n", encoding="utf-8")
        (tmp_path / "park.toml").write_text(Workshop(shop).text("macro", "park"), encoding="utf-8")
        first, *rest = command
        files = [tmp_path / name if "." in name else name for name in rest]
        one_sentence(called(first, *files, "--workshop", card))

    def test_with_the_workshop_on_it_is_told_by_every_page(self, shop, card, monkeypatch):
        shutil.copytree(shop, card / "shop")
        client = create_app(card / "shop").test_client()
        shutil.rmtree(card / "shop")
        for path in ("/", "/start/axes", "/bench/park", "/pendant", "/sheets/machine", "/shelf", "/to-the-machine"):
            answer = client.get(path)
            assert answer.status_code < 500, path
            assert "Traceback" not in answer.get_data(as_text=True)


def one_sentence(result):
    assert result.exit_code == 2, (result.output, result.exception)
    assert result.stdout == ""
    assert len(result.stderr.splitlines()) == 1
    assert "went wrong in the program itself" not in result.stderr
