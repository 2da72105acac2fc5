"""What pages and commands say of a disk that cannot be written, is full or gone, and of a store that another holds.

Each is made for real where the system allows it: a disk of its own is mounted, or another user is taken on. Where it
does not, the test says so and is left out.
"""

from __future__ import annotations

import io
import logging
import os
import re
import shutil
import sqlite3
import subprocess
import tempfile
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from library import backup, documents, machines, store, store_file
from library.store import FILE, Workshop
from tests.fuzz.test_rows import DEEDS, called
from tests.library.share.shops import made
from tests.webapp.rendered import hidden
from tests.workshops import keep
from webapp import create_app

pytestmark = pytest.mark.long

READS = ("/bench/park", "/pendant", "/sheets/machine.toml", "/shelf/park", "/to-the-machine", "/help")
PAGES_OF_THE_SHELF = (
    "/review",
    "/portable/park",
    "/sheets/machines",
    "/sheets/machines/second/machine.toml",
    "/bundle.zip?id=park",
    "/shelf-on-machines",
    "/shelf",
)
PROVING = ("/shelf-on-machines/verdicts", "/shelf/verdicts", "/shelf/verdicts/all")
NOBODY = 65534
"""The user without rights of most systems (common practice)."""


@pytest.fixture(scope="module")
def used(tmp_path_factory):
    """A workshop that was used and closed, with a macro that was taken off."""
    shop = Workshop.open(tmp_path_factory.mktemp("used") / "whole")
    shop.delete("macro", "home")
    plain = documents.write("macro", {("step",): [{"block": "raise", "to": "-2 mm"}]}, shop.text("macro", "park"))
    keep(shop, "macro", "park", plain)
    machine, controller, _ = shop.sheets()
    machines.add(shop, documents.write("machine", {("name",): "Second"}, machine), controller, "made up")
    return shop


@pytest.fixture(scope="module")
def carried(used, tmp_path_factory):
    """What the forms of its pages carry, which is the same for every copy of it."""
    folder = tmp_path_factory.mktemp("carried") / "shop"
    shutil.copytree(used.path, folder)
    return Carried(create_app(folder).test_client())


@pytest.fixture
def whole(used, tmp_path):
    """That workshop once more, to be spoilt."""
    return Workshop(shutil.copytree(used.path, tmp_path / "whole"))


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


class Carried:
    """What the forms of the pages of a workshop carry."""

    def __init__(self, client):
        self.forms = {page: hidden(client, page) for page in {page for _, page, _ in DEEDS} | {"/portable/park"}}
        second = re.search(
            r'second/in-force"><input type="hidden" name="seen" value="([\d ]+)"', client.get("/sheets/machines").text
        )
        self.second = second[1]


class Serving:
    """A workshop that is served, where all was well so far, with what its pages carried then."""

    def __init__(self, folder, carried):
        self.folder = folder
        app = create_app(folder)
        app.logger = logging.Logger("disks", logging.CRITICAL)
        self.client = app.test_client()
        self.forms = carried.forms
        self.client.get(READS[0])
        self.review = self.upload().headers["Location"]
        self.shelf = self._deeds_on_the_shelf(carried.second)

    def upload(self, *ids):
        data = {"file": [(io.BytesIO(made(*ids)), "b.zip")]}
        return self.client.post("/review", data=data, content_type="multipart/form-data")

    def _deeds_on_the_shelf(self, second):
        come = re.search(r'name="shown" value="(\w+)"', self.client.get(self.review).text)
        return {
            self.review: {"shown": come[1], "take": ["m1", "m2"]},
            "/portable/park": self.forms["/portable/park"] | {"change": "1.to"},
            "/sheets/machines/add": {"source": "copy"},
            "/sheets/machines/second/rename": {"seen": second, "name": "Mine"},
            "/sheets/machines/second/in-force": {"seen": second},
            "/sheets/machines/second/take-out": {"seen": second},
            "/shelf/park/about": self.forms["/shelf/park"] | {"author": "Mine"},
            "/shelf/park/duplicate": {},
        }

    def pages_of_the_shelf(self):
        """What is shown of the shelf, and proved there, which saves nothing in the workshop."""
        reads = (self.review, f"{self.review}/m1", *PAGES_OF_THE_SHELF)
        proving = (f"{self.review}/verdicts", f"{self.review}/verdicts/all", *PROVING)
        shown = {path: self.client.get(path) for path in reads}
        return shown | {f"{path} proved": self.client.post(path) for path in proving}

    def deeds_on_the_shelf(self):
        """What every form of the shelf is answered that saves something in the workshop."""
        return {at: self.client.post(at, data=form) for at, form in self.shelf.items()}

    def pages(self):
        return {path: self.client.get(path) for path in READS}

    def deeds(self):
        """What every form is answered that changes something, but undo where there is nothing to undo."""
        done = [(at, self.forms[page] | filled) for at, page, filled in DEEDS if "undo" not in filled.values()]
        for _, form in done:
            form.pop("issue", None)  # what is done before makes it another one
        return {at: self.client.post(at, data=form) for at, form in done}


def calls(folder, to):
    """What every command says that reads the workshop."""
    return {
        "check": called(("check", "--workshop", str(folder))),
        "fitted": called(("fitted", "--workshop", str(folder))),
        "backup": called(("backup", "--workshop", str(folder), "--to", str(to / "kept.zip"))),
        "take": called(("take", "--workshop", str(folder), "--to", str(to / "taken"))),
    }


def calls_of_the_shelf(folder, to):
    """What every command of the shelf says."""
    (to / "b.zip").write_bytes(made())
    given = {
        "list": (),
        "review": (to / "b.zip",),
        "bundle": ("park", "--to", to / "out.zip"),
        "take-in": (to / "b.zip",),
        "add": (to / "b.zip",),
        "remove": ("park",),
        "export": (to / "folder",),
        "sync": (to / "folder",),
    }
    found = {}
    for name, parts in given.items():
        found[name] = called(("shelf", name, *map(str, parts), "--workshop", str(folder)))
        assert "Traceback" not in found[name]
        assert "went wrong in the program" not in found[name]
    return found


SAVING = ("take-in", "add", "remove", "export", "sync")


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
    def served(self, whole, carried, disk):
        shutil.copytree(whole.path, disk / "shop")
        serving = Serving(disk / "shop", carried)
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

    def test_the_shelf_is_shown_and_proved_and_nothing_is_saved_on_it(self, served, tmp_path):
        before = held(served.folder)
        assert {answer.status_code for answer in served.pages_of_the_shelf().values()} <= {200, 302}
        assert "not proved yet</span>" not in served.client.get("/shelf").text
        answers = served.deeds_on_the_shelf()
        require_sentences(answers, "can only be read, so that nothing can be saved there")
        assert {answer.status_code for answer in answers.values()} == {409, 422}
        assert "Nothing was kept." in served.upload("lift").text
        assert served.client.post(f"{served.review}/drop").status_code == 409
        said = calls_of_the_shelf(served.folder, tmp_path)
        assert "read back" in said["bundle"]
        assert "On this machine" in said["review"]
        for name in SAVING:
            assert said[name].count("can only be read, so that nothing can be saved there") == 1, name
        assert held(served.folder) == before
        assert served.client.get(served.review).status_code == 200

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
    def served(self, whole, carried):
        if not hasattr(os, "seteuid"):
            pytest.skip("this system has no users to change to")
        with tempfile.TemporaryDirectory() as place:  # the folders of the test itself are open to nobody else
            os.chmod(place, 0o755)
            shutil.copytree(whole.path, Path(place) / "shop")
            yield Serving(Path(place) / "shop", carried)

    def test_one_that_can_only_be_read_is_shown_and_nothing_is_saved(self, served):
        before = held(served.folder)
        with self.as_nobody(served.folder, 0o555):
            pages, deeds = served.pages(), served.deeds()
        assert {answer.status_code for answer in pages.values()} <= {200, 302}
        require_sentences(deeds, "can only be read, so that nothing can be saved there")
        assert held(served.folder) == before

    def test_the_shelf_of_one_that_can_only_be_read_or_not_be_entered(self, served):
        before = held(served.folder)
        for mode, words in ((0o555, "can only be read"), (0o000, "Permission denied")):
            with self.as_nobody(served.folder, mode):
                pages, deeds = served.pages_of_the_shelf(), served.deeds_on_the_shelf()
                dropped = served.client.post(f"{served.review}/drop")
            assert {answer.status_code for answer in pages.values()} <= {200, 302, 404, 409}
            assert "taken in or dropped" not in pages[served.review].text
            require_sentences({at: each for at, each in deeds.items() if at != served.review}, words)
            assert deeds[served.review].status_code in (404, 409)
            assert "Permission denied" in dropped.text
        assert held(served.folder) == before
        assert {answer.status_code for answer in served.deeds_on_the_shelf().values()} <= {302, 409}

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
    def served(self, whole, carried, disk):
        shutil.copytree(whole.path, disk / "shop")
        serving = Serving(disk / "shop", carried)
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

    def test_the_shelf_says_so_and_nothing_is_lost_once_there_is_room(self, served, tmp_path):
        before = held(served.folder)
        answers = {**served.pages_of_the_shelf(), **served.deeds_on_the_shelf(), "upload": served.upload("lift")}
        require_sentences(answers, "is full; make room on it, then try again")
        for each in calls_of_the_shelf(served.folder, tmp_path).values():
            assert "is full; make room on it" in each
        assert held(served.folder) == before
        (served.folder.parent / "filling").unlink()
        assert served.client.get(served.review).status_code == 200
        assert served.deeds_on_the_shelf()[served.review].status_code == 302
        assert "lift" in Workshop(served.folder).ids("macro")

    def test_nothing_is_restored_there_and_what_was_there_stays(self, served, whole, tmp_path):
        kept = tmp_path / "kept.zip"
        backup.write(whole, kept)
        before = held(served.folder)
        with pytest.raises(backup.BackupError, match="nothing was restored"):
            backup.restore(kept, served.folder)
        assert held(served.folder) == before


class TestAStoreThatAnotherHolds:
    @pytest.fixture
    def served(self, whole, carried, monkeypatch):
        monkeypatch.setattr(store_file, "_WAIT", 0.1)
        serving = Serving(whole.path, carried)
        with closing(sqlite3.connect(whole.file, isolation_level=None)) as other:
            other.execute("BEGIN EXCLUSIVE")
            yield serving

    def test_pages_are_shown_meanwhile(self, served):
        assert {answer.status_code for answer in served.pages().values()} <= {200, 302}

    def test_whoever_saves_is_told_to_try_again(self, served):
        answers = served.deeds()
        assert {answer.status_code for answer in answers.values()} == {409}
        require_sentences(answers, "is in use by another program")

    def test_the_shelf_is_shown_and_proved_meanwhile_and_whoever_saves_is_told(self, served, tmp_path):
        before = held(served.folder)
        assert {answer.status_code for answer in served.pages_of_the_shelf().values()} <= {200, 302}
        answers = served.deeds_on_the_shelf()
        assert {answer.status_code for answer in answers.values()} == {409, 422}
        require_sentences(answers, "is in use by another program")
        said = calls_of_the_shelf(served.folder, tmp_path)
        for name in SAVING:
            assert said[name].count("is in use by another program") == 1, name
        assert held(served.folder) == before

    def test_commands_say_it_in_one_line(self, served, tmp_path):
        said = calls(served.folder, tmp_path)
        assert "Checked on the machine" in said["check"]
        assert said["take"].count("is in use by another program") == 1


class TestAFolderThatIsGone:
    @pytest.fixture
    def served(self, whole, carried):
        serving = Serving(whole.path, carried)
        shutil.rmtree(whole.path)
        return serving

    def test_every_page_and_form_says_so_and_nothing_is_begun_anew_in_its_place(self, served):
        answers = {**served.pages(), **served.deeds()}
        require_sentences(answers, "there is no workshop in")
        assert all(answers[path].status_code == 409 for path in READS[:-1])
        assert not served.folder.exists()

    def test_every_page_form_and_command_of_the_shelf_says_so(self, served, tmp_path):
        answers = {**served.pages_of_the_shelf(), **served.deeds_on_the_shelf(), "upload": served.upload("lift")}
        answers["drop"] = served.client.post(f"{served.review}/drop")
        require_sentences(answers, "here is no workshop in")
        assert {answer.status_code for answer in answers.values()} == {404, 409}
        for each in calls_of_the_shelf(served.folder, tmp_path).values():
            assert each.count("there is no workshop in") == 1
        assert not served.folder.exists()

    def test_it_works_again_once_it_is_back(self, served, tmp_path):
        Workshop.open(tmp_path / "another")
        shutil.copytree(tmp_path / "another", served.folder)
        assert served.client.get("/bench/park").status_code == 200


def test_a_workshop_of_an_older_version_that_can_only_be_read_is_told_and_left_as_it_is(whole, disk):
    shutil.copytree(whole.path, disk / "shop")
    with closing(sqlite3.connect(disk / "shop" / FILE)) as connection, connection:
        connection.execute("PRAGMA user_version = 1")
    assert mounted("-o", "remount,ro", str(disk))
    before = held(disk / "shop")
    for opening in (Workshop, Workshop.open):
        with pytest.raises(store.StoreError, match=r"written by an older Clickstop .* it can only be read; copy"):
            opening(disk / "shop")
    said = called(("shelf", "list", "--workshop", str(disk / "shop")))
    assert said.count("copy its folder to where it can be written") == 1
    assert held(disk / "shop") == before


def test_what_a_killed_writer_left_on_a_disk_that_can_only_be_read_is_not_passed_over(whole, disk):
    shutil.copytree(whole.path, disk / "shop")
    with closing(sqlite3.connect(disk / "shop" / FILE, isolation_level=None)) as connection:
        connection.execute("UPDATE revisions SET why = 'saved last' WHERE kind = 'machine'")
        shutil.copytree(disk / "shop", disk / "left")
    assert (disk / "left" / f"{FILE}-wal").stat().st_size > 0
    assert mounted("-o", "remount,ro", str(disk))
    assert Workshop(disk / "left").revisions("machine", "workshop")[0].why == "saved last"
