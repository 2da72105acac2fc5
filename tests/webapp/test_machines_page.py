"""The machines of a workshop on their page, and the shelf on each of them."""

from __future__ import annotations

import html
import io
import re

import pytest

from library import documents, machines, pack, starter
from tests.webapp.shelves import HTMX, prove_shelf
from tests.workshops import keep
from webapp.pages import shelf_proving

SECOND = starter.text("second/machine.toml")
CONTROLLER = starter.text("controller.toml")
LIST = "/sheets/machines"


def text_of(client, path=LIST, status=200):
    answer = client.get(path)
    assert answer.status_code == status, answer.text
    return html.unescape(answer.text)


def press(client, shop, id, deed, **form):
    return client.post(f"{LIST}/{id}/{deed}", data={"seen": machines.find(shop, id).shown, **form})


def sent(text, name="mine.toml"):
    return io.BytesIO(text.encode() if isinstance(text, str) else text), name


@pytest.fixture
def second(shop):
    return machines.add(shop, SECOND, CONTROLLER, "added")


class TestAdding:
    def test_a_copy_of_the_one_in_force_gets_a_name_of_its_own(self, client, shop):
        assert client.post(f"{LIST}/add", data={"source": "copy"}).status_code == 302
        assert [each.name for each in machines.machines(shop)] == ["Workshop mill", "Workshop mill 2"]
        assert shop.bench().machine.name == "Workshop mill"

    def test_a_file_is_added_with_the_controller_in_force_or_its_own(self, client, shop):
        controller = CONTROLLER + "# another\n"
        keep(shop, "controller", "workshop", CONTROLLER + "# here\n")
        form = {"source": "files", "machine": sent(SECOND), "name": "One"}
        client.post(f"{LIST}/add", data=form)
        form = {"source": "files", "machine": sent(SECOND), "controller": sent(controller), "name": "Two"}
        client.post(f"{LIST}/add", data=form)
        found = {each.name: each for each in machines.machines(shop)}
        assert found["One"].controller == CONTROLLER + "# here\n"
        assert found["Two"].controller == controller
        assert documents.parse("machine", found["Two"].machine).axes == documents.parse("machine", SECOND).axes

    def test_the_invented_machine_may_be_added(self, client, shop, second):
        machines.put_in_force(shop, second)
        machines.take_out(shop, "workshop-mill")
        client.post(f"{LIST}/add", data={"source": "invented"})
        assert "Workshop mill" in [each.name for each in machines.machines(shop)]

    @pytest.mark.parametrize(
        ("machine", "why"),
        [
            (b"", "no file was chosen"),
            (b"\xff\xfe\x00", "is not text"),
            (b"x = [", "Not added."),
            (CONTROLLER.encode(), "this is a controller sheet, and a machine sheet is wanted here"),
        ],
    )
    def test_what_is_no_machine_sheet_is_told(self, client, shop, machine, why):
        form = {"source": "files"} | ({"machine": sent(machine)} if machine else {})
        answer = client.post(f"{LIST}/add", data=form)
        assert answer.status_code == 422
        assert why.casefold() in html.unescape(answer.text).casefold()
        assert len(machines.machines(shop)) == 1

    @pytest.mark.parametrize("name", ["Workshop mill", "x" * 201, "a\x07b"])
    def test_a_name_that_cannot_be_used_is_told(self, client, shop, name):
        assert client.post(f"{LIST}/add", data={"source": "copy", "name": name}).status_code == 422
        assert len(machines.machines(shop)) == 1


class TestTheOneInForce:
    def test_it_is_named_on_every_page(self, client, shop, second):
        press(client, shop, second, "in-force")
        for path in (LIST, "/shelf", "/bench/park", "/pendant", "/sheets/machine", "/to-the-machine", "/help"):
            assert '<dt>Machine in force</dt><dd><a href="/sheets/machines">Bridge mill</a>' in text_of(client, path)

    def test_its_sheets_are_those_of_the_sheets_page(self, client, shop, second):
        press(client, shop, second, "in-force")
        assert client.get("/sheets/machine.toml").text == SECOND
        assert client.get(f"{LIST}/workshop-mill/machine.toml").text == starter.text("machine.toml")

    def test_a_page_opened_before_saves_nothing_on_it(self, client, shop, second):
        seen = shop.head("machine", "workshop").number
        press(client, shop, second, "in-force")
        mine = shop.text("machine", "workshop-mill") + "# mine\n"
        answer = client.post("/sheets/machine", data={"text": mine, "seen": str(seen)})
        assert answer.status_code == 409
        assert "another machine is in force by now" in answer.text
        assert shop.text("machine", "workshop") == SECOND

    def test_a_pack_and_what_is_fitted_are_of_it(self, client, shop, second):
        press(client, shop, second, "in-force")
        assert "Bridge mill" in text_of(client, "/to-the-machine")
        taken = pack.take(shop)
        pack.keep(shop, taken)
        pack.fit(shop, taken.goes.issue.number, "2026-05-04")
        press(client, shop, "workshop-mill", "in-force")
        assert pack.fitted(shop) is None


class TestTheList:
    def test_renaming_and_taking_out_and_bringing_back(self, client, shop, second):
        assert press(client, shop, second, "rename", name="The other").status_code == 302
        assert "The other" in text_of(client)
        assert press(client, shop, second, "take-out").status_code == 302
        assert len(machines.machines(shop)) == 1
        assert client.post(f"{LIST}/{second}/bring-back").status_code == 302
        assert machines.find(shop, second).name == "The other"

    def test_the_one_in_force_is_not_taken_out(self, client, shop, second):
        answer = press(client, shop, "workshop-mill", "take-out")
        assert answer.status_code == 409
        assert "Workshop mill is in force" in answer.text
        assert f'action="{LIST}/workshop-mill/take-out"' not in text_of(client)

    @pytest.mark.parametrize("deed", ["in-force", "rename", "take-out"])
    def test_what_was_changed_meanwhile_is_left_as_it_is(self, client, shop, second, deed):
        seen = machines.find(shop, second).seen[0]
        keep(shop, "machine", second, SECOND + "# newer\n")
        answer = client.post(f"{LIST}/{second}/{deed}", data={"seen": str(seen), "name": "Else"})
        assert answer.status_code == 409
        assert "It was changed on another page meanwhile" in answer.text
        assert shop.text("machine", second) == SECOND + "# newer\n"
        assert not machines.find(shop, second).in_force

    @pytest.mark.parametrize("deed", ["in-force", "rename", "take-out", "bring-back"])
    def test_a_machine_that_is_not_there_is_told(self, client, shop, deed):
        assert client.post(f"{LIST}/none/{deed}", data={"seen": "1", "name": "x"}).status_code == 409
        text_of(client, f"{LIST}/none/machine.toml", 404)

    def test_one_whose_sheet_cannot_be_read_is_listed_with_the_reason(self, client, shop, second):
        keep(shop, "machine", second, "spoilt = ")
        assert "its sheet cannot be read" in text_of(client)


class TestTheShelfOnEach:
    def test_verdicts_on_another_machine_are_shown_without_putting_it_in_force(self, client, shop, second):
        text = shop.text("macro", "park")
        steps = [{"block": "raise"}, {"block": "go-to", "x": "200 mm"}]
        keep(shop, "macro", "park", documents.write("macro", {("step",): steps}, text))
        prove_shelf(client)
        answer = client.post("/shelf/verdicts/all", headers=HTMX, data={"on": second})
        assert answer.headers["HX-Redirect"] == f"/shelf?on={second}"
        assert "each with its verdict on Bridge mill" in text_of(client, f"/shelf?on={second}")
        said = re.compile(r'id="verdict-park"><span class="verdict [a-z]+">([^<]+)')
        here, there = (said.search(text_of(client, path))[1] for path in ("/shelf", f"/shelf?on={second}"))
        assert (here, there) == ("Proved", "Refused")
        assert '<a href="/bench/park">' in text_of(client, f"/shelf?on={second}&verdict=refused")

    def test_the_table_has_a_column_for_each_machine(self, client, shop, second):
        text = text_of(client, "/shelf-on-machines")
        assert text.count("not proved yet</span>") == 2 * len(starter.macros())
        assert f"{2 * len(starter.macros())} verdicts are not known yet." in text
        assert client.post("/shelf-on-machines/verdicts", headers=HTMX).headers["HX-Redirect"] == "/shelf-on-machines"
        text = text_of(client, "/shelf-on-machines")
        assert text.count('<span class="verdict ') == 2 * len(starter.macros())
        assert "not known yet" not in text
        assert text.count(f"{len(starter.macros())} may go to it") == 2

    def test_without_scripts_a_button_proves_and_comes_back(self, client, second, monkeypatch):
        monkeypatch.setattr(shelf_proving, "LONG_PORTION", 60.0)
        assert client.post("/shelf-on-machines/verdicts").headers["Location"] == "/shelf-on-machines"
        assert "not proved yet</span>" not in text_of(client, "/shelf-on-machines")

    def test_what_another_machine_lacks_is_named(self, client, shop, second):
        text = shop.text("macro", "park")
        step = {"block": "go-to", "x": "keep_out.vise.x.max"}
        keep(shop, "macro", "park", documents.write("macro", {("step",): [step]}, text))
        client.post("/shelf-on-machines/verdicts", headers=HTMX)
        assert "Missing there: " in text_of(client, "/shelf-on-machines?q=park")

    def test_it_may_be_stopped_and_keeps_what_is_known_by_then(self, app, client, second, monkeypatch):
        from webapp import progress

        def told(share):
            real(share)
            work = progress.under_way()["w"]
            work.stopping = work.share > 0.3

        real = progress.told
        monkeypatch.setattr(progress, "told", told)
        answer = client.post("/shelf-on-machines/verdicts", headers=HTMX | {"X-Work": "w"})
        assert (answer.status_code, answer.headers["X-Stopped"]) == (200, "yes")
        assert "Stopped." in answer.text
        known = text_of(client, "/shelf-on-machines").count('<span class="verdict ')
        assert 0 < known < 14

    def test_the_share_done_only_rises(self, client, second, monkeypatch):
        from webapp import progress

        shares = []
        real = progress.told

        def told(share):
            real(share)
            shares.append(progress.under_way()["w"].share)

        monkeypatch.setattr(progress, "told", told)
        client.post("/shelf-on-machines/verdicts", headers=HTMX | {"X-Work": "w"})
        assert shares == sorted(shares)
        assert shares[0] == 0.0
        assert 0.9 < shares[-1] <= 1.0


def test_the_page_says_that_the_sheets_of_another_machine_are_edited_once_it_is_in_force(client):
    assert "To edit the sheets of another one, put it in force" in client.get("/sheets/machines").text
