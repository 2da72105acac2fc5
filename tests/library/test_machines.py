"""Several machines in one workshop: one in force, each with its own controller, history and fitted issue."""

import io
import sqlite3
import zipfile
from contextlib import closing
from datetime import date

import pytest

from library import acting, backup, documents, machines, pack, rows, starter
from library.documents import DocumentError
from library.machines import MachineError
from library.merging import ClashError
from library.store import FILE, DamagedError, StoreError, Workshop
from tests.workshops import keep

SECOND = starter.text("second/machine.toml")
CONTROLLER = starter.text("controller.toml")


@pytest.fixture
def shop(tmp_path):
    return Workshop.open(tmp_path / "workshop")


@pytest.fixture
def second(shop):
    """The id of a second machine, which is not in force."""
    return machines.add(shop, SECOND, CONTROLLER, "added")


def in_force(shop):
    return next(each for each in machines.machines(shop) if each.in_force)


def test_a_new_workshop_has_one_machine_called_by_its_name(shop):
    (only,) = machines.machines(shop)
    assert (only.id, only.name, only.in_force) == ("workshop-mill", "Workshop mill", True)
    assert shop.ids("machine") == shop.ids("controller") == ("workshop",)


def test_a_machine_that_is_added_is_not_in_force(shop, second):
    before = shop.sheets()
    assert shop.text("machine", second) == SECOND
    assert [each.in_force for each in machines.machines(shop)] == [True, False]
    assert shop.sheets() == before


def test_what_everybody_calls_the_workshop_is_the_one_in_force(shop, second):
    mine = shop.text("machine", "workshop")
    machines.put_in_force(shop, second)
    assert shop.text("machine", "workshop") == shop.sheets()[0] == SECOND
    assert shop.bench().machine.name == documents.parse("machine", SECOND).name
    keep(shop, "machine", "workshop", SECOND + "# tuned\n")
    assert shop.text("machine", second).endswith("# tuned\n")
    machines.put_in_force(shop, "workshop-mill")
    assert shop.text("machine", "workshop") == mine
    assert not shop.can_undo("machine", "workshop")
    assert shop.can_undo("machine", second)


def test_a_page_of_the_machine_before_saves_nothing_on_the_one_in_force_now(shop, second):
    seen = shop.head("machine", "workshop").number
    machines.put_in_force(shop, second)
    with pytest.raises(StoreError, match="another machine is in force by now"):
        shop.save("machine", "workshop", "mine", "typed", seen=seen)
    assert not shop.undo("machine", "workshop", seen=seen)
    with pytest.raises(ClashError):
        shop.delete("machine", "workshop", seen=seen)
    assert shop.text("machine", "workshop") == SECOND


def test_the_one_in_force_is_not_taken_out(shop, second):
    with pytest.raises(MachineError, match="Workshop mill is in force; put another machine in force"):
        machines.take_out(shop, "workshop-mill")
    machines.put_in_force(shop, second)
    machines.take_out(shop, "workshop-mill")
    assert [each.id for each in machines.machines(shop)] == [second]
    assert machines.taken_out(shop) == {"workshop-mill": "Workshop mill"}


def test_one_that_was_taken_out_comes_back_with_its_history(shop, second):
    keep(shop, "machine", second, SECOND + "# tuned\n")
    machines.take_out(shop, second)
    machines.bring_back(shop, second)
    assert shop.text("machine", second) == SECOND + "# tuned\n"
    assert len(shop.revisions("machine", second)) == 4
    with pytest.raises(MachineError, match="to bring back"):
        machines.bring_back(shop, second)


def test_putting_in_force_and_taking_out_at_once_leaves_a_machine_in_force(shop, second, monkeypatch):
    """The other one comes between what is read and what is saved."""
    find = machines.find

    def between(shop, id, shown=None):
        found = find(shop, id, shown)
        monkeypatch.setattr(machines, "find", find)
        machines.take_out(shop, second)
        return found

    monkeypatch.setattr(machines, "find", between)
    with pytest.raises(ClashError):
        machines.put_in_force(shop, second)
    assert in_force(shop).id == "workshop-mill"


def test_taking_out_what_is_put_in_force_meanwhile_fails(shop, second, monkeypatch):
    find = machines.find

    def between(shop, id, shown=None):
        found = find(shop, id, shown)
        monkeypatch.setattr(machines, "find", find)
        machines.put_in_force(shop, second)
        return found

    monkeypatch.setattr(machines, "find", between)
    with pytest.raises((ClashError, MachineError)):
        machines.take_out(shop, second)
    assert in_force(shop).id == second


@pytest.mark.parametrize(
    ("deed", "given"), [(machines.take_out, ()), (machines.put_in_force, ()), (machines.rename, ("Mine",))]
)
def test_nothing_is_done_to_a_machine_that_is_not_as_it_was_shown(shop, second, deed, given):
    shown = machines.find(shop, second).shown
    keep(shop, "controller", second, CONTROLLER + "# theirs\n")
    before = machines.machines(shop)
    with pytest.raises(ClashError):
        deed(shop, second, *given, shown)
    assert machines.machines(shop) == before


@pytest.mark.parametrize(("machine", "controller"), [("spoilt", CONTROLLER), (SECOND, "spoilt"), (CONTROLLER, SECOND)])
def test_sheets_that_cannot_be_used_add_nothing(shop, machine, controller):
    with pytest.raises(DocumentError):
        machines.add(shop, machine, controller, "added")
    assert len(machines.machines(shop)) == 1
    assert shop.ids("controller") == ("workshop",)


def test_a_name_is_given_to_one_machine_only(shop, second):
    with pytest.raises(MachineError, match='there is a machine "Workshop mill" already'):
        machines.add(shop, starter.text("machine.toml"), CONTROLLER, "added")
    with pytest.raises(MachineError, match="give this one another name"):
        machines.rename(shop, second, " workshop MILL")
    machines.rename(shop, second, "The other")
    assert machines.find(shop, second).name == "The other"
    assert machines.free_name(shop, "the OTHER") == "the OTHER 2"


def test_two_with_one_name_are_told_apart_by_their_ids(shop, second):
    keep(shop, "machine", second, documents.write("machine", {("name",): "Workshop mill"}, SECOND))
    assert {each.name for each in machines.machines(shop)} == {
        "Workshop mill (workshop-mill)",
        f"Workshop mill ({second})",
    }


def test_a_sheet_that_cannot_be_read_does_not_hide_the_others(shop, second):
    keep(shop, "machine", second, "spoilt = ")
    assert [each.name for each in machines.machines(shop)] == ["Workshop mill", f"{second} (its sheet cannot be read)"]


@pytest.mark.parametrize("name", ["Workshop", "***", "é" * 70, "x" * 200])
def test_any_name_gets_an_id_of_its_own(shop, name):
    id = machines.add(shop, documents.write("machine", {("name",): name}, SECOND), CONTROLLER, "added")
    assert id not in ("workshop", "")
    machines.put_in_force(shop, id)
    assert in_force(shop).name == name


def test_there_are_only_so_many(shop, monkeypatch):
    for number in range(23):
        machines.add(shop, documents.write("machine", {("name",): f"M {number}"}, SECOND), CONTROLLER, "added")
    with pytest.raises(MachineError, match="at most 24 machines"):
        machines.add(shop, SECOND, CONTROLLER, "added")


def test_what_is_fitted_is_said_of_each_machine(shop, second):
    taken = pack.take(shop)
    pack.keep(shop, taken)
    pack.fit(shop, taken.goes.issue.number, date(2026, 5, 4).isoformat())
    machines.put_in_force(shop, second)
    assert pack.fitted(shop) is None
    machines.put_in_force(shop, "workshop-mill")
    assert pack.fitted(shop).kept.issue == taken.goes.issue


def test_a_pack_is_of_the_machine_in_force(shop, second):
    machines.put_in_force(shop, second)
    assert pack.gather(shop).machine == SECOND


def test_a_damaged_choice_of_the_one_in_force_is_said(shop):
    keep(shop, rows.IN_FORCE, "workshop", "nowhere")
    with pytest.raises(DamagedError, match="there is no machine sheet in it"):
        shop.sheets()


class TestOlderWorkshops:
    """A workshop of version 1 knew one machine, under the id "workshop", and not who saved."""

    @pytest.fixture
    def old(self, tmp_path):
        shop = Workshop.open(tmp_path / "old")
        taken = pack.take(shop)
        pack.keep(shop, taken)
        pack.fit(shop, taken.goes.issue.number, "2026-05-04")
        keep(shop, "machine", "workshop", shop.text("machine", "workshop") + "# mine\n", "tuned")
        with closing(sqlite3.connect(shop.file)) as connection, connection:
            for table in ("revisions", "documents"):
                connection.execute(
                    f"UPDATE {table} SET id = 'workshop' WHERE kind IN ('machine', 'controller', 'fitted')"
                )
            connection.execute("DELETE FROM documents WHERE kind = 'in-force'")
            connection.execute("DELETE FROM revisions WHERE kind = 'in-force'")
            connection.execute("ALTER TABLE revisions DROP COLUMN who")
            connection.execute("PRAGMA user_version = 1")
        return shop.path

    def test_nothing_is_lost_and_a_copy_is_kept(self, old):
        before = (old / FILE).read_bytes()
        shop = Workshop.open(old)
        assert [each.why for each in shop.revisions("machine", "workshop")] == ["tuned", "starter workshop"]
        assert shop.text("machine", "workshop").endswith("# mine\n")
        assert in_force(shop).id == "workshop-mill"
        assert pack.fitted(shop) is not None
        assert shop.undo("machine", "workshop")
        with closing(sqlite3.connect(old / f"{FILE}.version-1")) as kept:
            assert kept.execute("PRAGMA user_version").fetchone()[0] == 1
            assert kept.execute("SELECT count(*) FROM revisions WHERE id = 'workshop'").fetchone()[0] >= 4
        assert before

    def test_opening_it_again_changes_nothing(self, old):
        Workshop.open(old)
        revisions = Workshop.open(old).revisions("machine", "workshop")
        assert Workshop(old).revisions("machine", "workshop") == revisions

    def test_a_sheet_that_cannot_be_read_is_upgraded_too(self, old):
        with closing(sqlite3.connect(old / FILE)) as connection, connection:
            connection.execute("UPDATE revisions SET text = 'spoilt' WHERE kind = 'machine'")
        assert Workshop.open(old).text("machine", "workshop") == "spoilt"

    def test_a_backup_of_it_is_put_back(self, old, tmp_path):
        with closing(sqlite3.connect(old / FILE)) as connection:
            connection.execute("PRAGMA journal_mode = DELETE")
        content = (old / FILE).read_bytes()
        import hashlib
        import json

        about = {"format": backup.FORMAT, "sha256": hashlib.sha256(content).hexdigest(), "bytes": len(content)}
        with zipfile.ZipFile(tmp_path / "old.zip", "w") as archive:
            archive.writestr(backup.MANIFEST, json.dumps(about))
            archive.writestr(FILE, content)
        backup.restore(tmp_path / "old.zip", tmp_path / "back")
        assert Workshop.open(tmp_path / "back").text("machine", "workshop").endswith("# mine\n")


class TestWhoSaved:
    def test_a_revision_says_from_where_it_was_saved(self, shop):
        acting.by.set("")
        token = acting.by.set("Tablet (192.0.2.7)")
        try:
            keep(shop, "macro", "park", "one", "typed")
        finally:
            acting.by.reset(token)
        keep(shop, "macro", "park", "two", "typed")
        assert [each.who for each in shop.revisions("macro", "park")][:2] == ["", "Tablet (192.0.2.7)"]
        assert shop.last_change("macro", "park").who == ""
        shop.undo("macro", "park")
        assert shop.last_change("macro", "park").who == "Tablet (192.0.2.7)"

    def test_a_document_that_is_not_there_has_no_last_change(self, shop):
        assert shop.last_change("macro", "none") is None


def test_all_machines_can_be_read_from_a_damaged_workshop(shop, second):
    found = {(kind, id): text for kind, id, text in shop.readable()}
    assert found["machine", "workshop"] == starter.text("machine.toml")
    assert found["machine", second] == SECOND
    with zipfile.ZipFile(io.BytesIO(backup.salvage(shop))) as archive:
        assert archive.read("machine.toml").decode() == starter.text("machine.toml")
        assert archive.read(f"machines/{second}/machine.toml").decode() == SECOND
