"""What pages and commands say of a disk that cannot be written, is full or gone, and of a store that another holds.

Each is made for real where the system allows it: a disk of its own is mounted, or another user is taken on. Where it
does not, the test says so and is left out.
"""

from __future__ import annotations

import logging
import os
import shutil
import sqlite3
import subprocess
import tempfile
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from library import backup, store
from library.store import FILE, Workshop
from tests.fuzz.test_rows import DEEDS, called
from tests.webapp.forms import hidden
from webapp import create_app

pytestmark = pytest.mark.long

READS = ("/bench/park", "/pendant", "/sheets/machine.toml", "/shelf/park", "/to-the-machine", "/help")
NOBODY = 65534
"""The user without rights of most systems (common practice)."""


@pytest.fixture
def whole(tmp_path):
    """A workshop that was used and closed, with a macro that was taken off."""
    shop = Workshop.open(tmp_path / "whole")
    shop.delete("macro", "home")
    return shop


@pytest.fixture
def disk(tmp_path):
    """A disk of its own of 3 MB."""
    place = tmp_path / "disk"
    place.mkdir()
    if shutil.which("mount") is None or not mounted("-t", "tmpfs", "-o", "size=3m", "tmpfs", str(place)):
        pytest.skip("no disk can be mounted here: that takes the rights of an administrator")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def mounted(*how):
    return subprocess.run(["mount", *how], capture_output=True, check=False).returncode == 0


class Serving:
    """A workshop that is served, with what its pages carried before anything went wrong."""

    def __init__(self, folder):
        self.folder = folder
        app = create_app(folder)
        app.logger = logging.Logger("disks", logging.CRITICAL)
        self.client = app.test_client()
        self.forms = {page: hidden(self.client, page) for _, page, _ in DEEDS}
        for path in READS:
            self.client.get(path)

    def pages(self):
        return {path: self.client.get(path) for path in READS}

    def deeds(self):
        """What every form is answered that changes something, but undo where there is nothing to undo."""
        done = [(at, self.forms[page] | filled) for at, page, filled in DEEDS if "undo" not in filled.values()]
        return {at: self.client.post(at, data=form) for at, form in done}


def calls(folder, to):
    """What every command says that reads the workshop."""
    return {
        "check": called(("check", "--workshop", str(folder))),
        "fitted": called(("fitted", "--workshop", str(folder))),
        "backup": called(("backup", "--workshop", str(folder), "--to", str(to / "kept.zip"))),
        "take": called(("take", "--workshop", str(folder), "--to", str(to / "taken"))),
    }


def held(folder):
    """All that the store holds, read as it lies there."""
    with closing(sqlite3.connect(f"file:{folder / FILE}?mode=ro&immutable=1", uri=True)) as connection:
        return connection.execute("SELECT * FROM revisions ORDER BY number").fetchall()


def require_sentences(answers, words):
    for path, answer in answers.items():
        assert answer.status_code < 500, path
        if answer.status_code >= 400:
            assert answer.get_data(as_text=True).count(words) == 1, path


class TestADiskThatCanOnlyBeRead:
    @pytest.fixture
    def served(self, whole, disk):
        shutil.copytree(whole.path, disk / "shop")
        serving = Serving(disk / "shop")
        assert mounted("-o", "remount,ro", str(disk))
        return serving

    def test_everything_is_shown_and_proved(self, served):
        assert {answer.status_code for answer in served.pages().values()} <= {200, 302}

    def test_nothing_is_saved_and_that_is_said(self, served):
        before = held(served.folder)
        answers = served.deeds()
        assert {answer.status_code for answer in answers.values()} == {409}
        require_sentences(answers, "can only be read, so that nothing can be saved there")
        assert held(served.folder) == before

    def test_commands_read_it_and_what_is_taken_says_that_it_is_not_known_as_an_issue(self, served, tmp_path):
        said = calls(served.folder, tmp_path)
        assert "Checked on the machine" in said["check"]
        assert "read back" in said["backup"]
        assert "it is not kept as an issue" in said["take"]
        assert (tmp_path / "taken" / "manifest.json").exists()

    def test_it_can_be_opened_anew(self, served):
        assert Workshop.open(served.folder).text("macro", "park")

    def test_nothing_can_be_written_beside_it(self, served):
        for command in ("backup", "take"):
            told = called((command, "--workshop", str(served.folder), "--to", str(served.folder / "new.zip")))
            assert told.count("cannot be written") == 1
            assert "Traceback" not in told


class TestAFolderWithoutRights:
    @contextmanager
    def as_nobody(self, folder, mode):
        """The folder so, and we without the rights that go beyond it."""
        os.chmod(folder, mode)
        root = os.geteuid() == 0
        try:
            if root:
                os.seteuid(NOBODY)
            yield
        finally:
            if root:
                os.seteuid(0)
            os.chmod(folder, 0o755)

    @pytest.fixture
    def served(self, whole):
        if not hasattr(os, "seteuid"):
            pytest.skip("this system has no users to change to")
        with tempfile.TemporaryDirectory() as place:  # the folders of the test itself are open to nobody else
            os.chmod(place, 0o755)
            shutil.copytree(whole.path, Path(place) / "shop")
            yield Serving(Path(place) / "shop")

    def test_one_that_can_only_be_read_is_shown_and_nothing_is_saved(self, served):
        before = held(served.folder)
        with self.as_nobody(served.folder, 0o555):
            pages, deeds = served.pages(), served.deeds()
        assert {answer.status_code for answer in pages.values()} <= {200, 302}
        require_sentences(deeds, "can only be read, so that nothing can be saved there")
        assert held(served.folder) == before

    def test_one_that_cannot_be_entered_is_told_and_works_again_afterwards(self, served, tmp_path):
        with self.as_nobody(served.folder, 0o000):
            pages, deeds = served.pages(), served.deeds()
            said = calls(served.folder, tmp_path)
        assert {answer.status_code for answer in deeds.values()} == {409}
        require_sentences({**pages, **deeds}, "Permission denied")
        for each in said.values():
            assert each.count("Permission denied") == 1
        assert {answer.status_code for answer in served.deeds().values()} <= {200, 302, 303}


class TestAFullDisk:
    @pytest.fixture
    def served(self, whole, disk):
        shutil.copytree(whole.path, disk / "shop")
        serving = Serving(disk / "shop")
        filling = os.open(disk / "filling", os.O_WRONLY | os.O_CREAT)
        try:
            while True:
                os.write(filling, b"\0" * 4096)
        except OSError:
            os.close(filling)
        return serving

    def test_it_is_told_and_nothing_is_lost_once_there_is_room(self, served, tmp_path):
        before = held(served.folder)
        answers = {**served.pages(), **served.deeds()}
        require_sentences(answers, "is full; make room on it, then try again")
        assert {served.deeds()[at].status_code for at, _, filled in DEEDS if "undo" not in filled.values()} == {409}
        for each in calls(served.folder, tmp_path).values():
            assert "is full; make room on it" in each
        assert held(served.folder) == before
        (served.folder.parent / "filling").unlink()
        assert {answer.status_code for answer in served.deeds().values()} <= {200, 302, 303}
        assert len(Workshop(served.folder).revisions("macro", "park")) > 1

    def test_nothing_is_restored_there_and_what_was_there_stays(self, served, whole, tmp_path):
        kept = tmp_path / "kept.zip"
        backup.write(whole, kept)
        before = held(served.folder)
        with pytest.raises(backup.BackupError, match="nothing was restored"):
            backup.restore(kept, served.folder)
        assert held(served.folder) == before


class TestAStoreThatAnotherHolds:
    @pytest.fixture
    def served(self, whole, monkeypatch):
        monkeypatch.setattr(store, "_WAIT", 0.1)
        serving = Serving(whole.path)
        with closing(sqlite3.connect(whole.file, isolation_level=None)) as other:
            other.execute("BEGIN EXCLUSIVE")
            yield serving

    def test_pages_are_shown_meanwhile(self, served):
        assert {answer.status_code for answer in served.pages().values()} <= {200, 302}

    def test_whoever_saves_is_told_to_try_again(self, served):
        answers = served.deeds()
        assert {answer.status_code for answer in answers.values()} == {409}
        require_sentences(answers, "is in use by another program")

    def test_commands_say_it_in_one_line(self, served, tmp_path):
        said = calls(served.folder, tmp_path)
        assert "Checked on the machine" in said["check"]
        assert said["take"].count("is in use by another program") == 1


class TestAFolderThatIsGone:
    @pytest.fixture
    def served(self, whole):
        serving = Serving(whole.path)
        shutil.rmtree(whole.path)
        return serving

    def test_every_page_and_form_says_so_and_nothing_is_begun_anew_in_its_place(self, served):
        answers = {**served.pages(), **served.deeds()}
        require_sentences(answers, "there is no workshop in")
        assert all(answers[path].status_code == 409 for path in READS[:-1])
        assert not served.folder.exists()

    def test_it_works_again_once_it_is_back(self, served, tmp_path):
        Workshop.open(tmp_path / "another")
        shutil.copytree(tmp_path / "another", served.folder)
        assert served.client.get("/bench/park").status_code == 200


def test_what_a_killed_writer_left_on_a_disk_that_can_only_be_read_is_not_passed_over(whole, disk):
    shutil.copytree(whole.path, disk / "shop")
    with closing(sqlite3.connect(disk / "shop" / FILE, isolation_level=None)) as connection:
        connection.execute("UPDATE revisions SET why = 'saved last' WHERE kind = 'machine'")
        shutil.copytree(disk / "shop", disk / "left")
    assert (disk / "left" / f"{FILE}-wal").stat().st_size > 0
    assert mounted("-o", "remount,ro", str(disk))
    assert Workshop(disk / "left").revisions("machine", "workshop")[0].why == "saved last"
