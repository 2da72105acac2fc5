"""Two people, pages or servers at one workshop: nothing acknowledged is lost, and nothing is put over unseen."""

from __future__ import annotations

import html
import io
import re
import sqlite3
import zipfile
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise

import pytest

from library import documents
from tests.webapp.rendered import hidden
from tests.workshops import keep

HTMX = {"HX-Request": "true"}


class Page:
    """A page of the bench as a browser keeps it: the fields it was given, with what is typed over them."""

    def __init__(self, client, path="/bench/park"):
        self.client, self.path = client, path
        self.fields = read(client.get(path).text)

    def type(self, **fields):
        self.fields |= {name.replace("__", "."): value for name, value in fields.items()}
        return self

    def press(self, button):
        return self.client.post(self.path, data=self.fields | {"do": button}, headers=HTMX)

    def save(self):
        answer = self.client.post(f"{self.path}/save", data=self.fields, headers=HTMX)
        renewed = re.search(r'id="base"[^>]*? value="([^"]*)"', answer.text)
        if renewed:
            self.fields["base"] = html.unescape(renewed[1])
        return answer


def read(text):
    """The fields of the operation sheet."""
    form = text.split('id="operations"')[-1].split('id="results"')[0]
    found = re.findall(r'<input [^>]*?name="([^"]+)" value="([^"]*)"', form)
    return {name: html.unescape(value) for name, value in found}


def macro(shop):
    return documents.parse("macro", shop.text("macro", "park"))


@pytest.fixture
def two(client, app):
    return Page(client), Page(app.test_client())


class TestTheBench:
    def test_different_fields_of_two_pages_are_both_kept(self, two, shop):
        one, other = two
        one.type(purpose="Mine").save()
        other.type(start="z >= -20 mm").save()
        assert (macro(shop).purpose, macro(shop).start) == ("Mine", "z >= -20 mm")

    def test_a_page_that_saves_is_shown_what_another_has_put_into_its_other_fields(self, two):
        one, other = two
        one.type(purpose="Mine").save()
        answer = other.type(start="z >= -20 mm").save()
        assert answer.headers["HX-Retarget"] == "#sheet", "it would go on showing the old purpose, and call it saved"
        other.fields |= read(answer.text)
        assert (other.fields["purpose"], other.fields["start"]) == ("Mine", "z >= -20 mm")
        assert "HX-Retarget" not in other.type(start="z >= -30 mm").save().headers

    def test_one_field_typed_on_two_pages_is_shown_with_both_to_choose_from(self, two, shop):
        one, other = two
        one.type(purpose="Mine").save()
        answer = other.type(purpose="Theirs").save()
        assert macro(shop).purpose == "Mine"
        assert 'value="mine purpose"' in answer.text
        assert 'value="theirs purpose"' in answer.text
        assert "<q>Mine</q>" in answer.text
        assert "<q>Theirs</q>" in answer.text
        assert answer.headers["HX-Retarget"] == "#sheet"

    @pytest.mark.parametrize(("button", "kept"), [("mine purpose", "Theirs"), ("theirs purpose", "Mine")])
    def test_the_choice_is_what_is_kept(self, two, shop, button, kept):
        one, other = two
        one.type(purpose="Mine").save()
        other.type(purpose="Theirs")
        other.fields |= read(other.save().text) | {"purpose": "Theirs"}
        assert "two changes" not in other.press(button).text
        assert macro(shop).purpose == kept

    @pytest.mark.parametrize("way", ["save", "undo", "add raise"])
    def test_whatever_is_sent_before_it_was_chosen_is_no_choice(self, two, shop, way):
        one, other = two
        one.type(purpose="Mine").save()
        other.fields |= read(other.type(purpose="Theirs").save().text) | {"purpose": "Theirs"}
        other.type(start="z >= -20 mm")
        answer = other.save() if way == "save" else other.press(way)
        assert macro(shop).purpose == "Mine"
        assert 'value="mine purpose"' in answer.text

    def test_a_clash_in_a_step_names_the_step_and_keeps_what_was_typed(self, two, shop):
        one, other = two
        name = next(each for each in one.fields if each.startswith("step.1."))
        one.fields[name], other.fields[name] = "6 s", "7 s"
        one.save()
        text = other.save().text
        assert "Step 1, " in text
        assert 'value="7 s"' in text

    def test_a_button_beside_a_step_that_another_page_has_changed_does_nothing(self, two, shop):
        one, other = two
        name = next(each for each in one.fields if each.startswith("step.1."))
        one.fields[name] = "6 s"
        one.save()
        before = shop.text("macro", "park")
        assert "so the button has done nothing" in other.press("remove 1").text
        assert shop.text("macro", "park") == before

    def test_undo_does_not_take_back_what_another_page_has_done(self, two, shop):
        one, other = two
        one.type(purpose="Mine").save()
        assert "so the button has done nothing" in other.press("undo").text
        assert macro(shop).purpose == "Mine"
        one.press("undo")
        assert macro(shop).purpose != "Mine"

    @pytest.mark.parametrize("base", ["[" * 1500, "{}", "null", '{"blocks": 3, "values": {}}', "9" * 5000])
    def test_with_a_spoilt_base_nothing_is_saved_and_both_are_shown_to_choose_from(self, client, shop, base):
        before = macro(shop).purpose
        answer = Page(client).type(purpose="Mine", base=base).save()
        assert answer.status_code == 200
        assert "does not say which version its page showed" in answer.text
        assert "<q>Mine</q>" in answer.text
        assert macro(shop).purpose == before

    @pytest.mark.parametrize("button", ["remove " + "9" * 5000, "up " + "1" * 5000, "tidy " + "2" * 5000])
    def test_a_step_number_beyond_all_measure_is_no_step(self, client, shop, button):
        before = shop.text("macro", "park")
        assert Page(client).press(button).status_code == 200
        assert shop.text("macro", "park") == before


def test_slots_put_from_many_pages_at_once_are_all_there(app, shop):
    positions = shop.bench().pendant.positions
    places = [at for at, position in enumerate(positions) if position.spare]
    slots = [f"slot.{place}.{column}" for place in places for column in range(3)]
    shown = hidden(app.test_client(), "/pendant")

    def put(name):
        return app.test_client().post("/pendant", data=shown | {name: "park"}).status_code

    with ThreadPoolExecutor(8) as pool:
        assert set(pool.map(put, slots)) == {302}
    held = shop.bench().pendant.slots
    assert [macro for position in held.values() for macro in position.values()] == ["park"] * len(slots)


def test_a_slot_that_another_page_has_changed_is_not_put_over(client, shop):
    pendant = shop.bench().pendant
    place = next(at for at, position in enumerate(pendant.positions) if position.spare)
    seen = pendant.slots[pendant.positions[place].label][pendant.increments[0]]
    field = f"slot.{place}.0"
    shown = hidden(client, "/pendant")
    client.post("/pendant", data=shown | {field: "park", f"was.{field}": seen})
    answer = client.post("/pendant", data=shown | {field: "home", f"was.{field}": seen})
    assert answer.status_code == 409
    assert "by now park, you: home" in answer.text
    assert shop.bench().pendant.slots[pendant.positions[place].label][pendant.increments[0]] == "park"


def test_macros_made_and_added_at_once_are_all_on_the_shelf(app, shop):
    text = shop.text("macro", "park")

    def make(number):
        path, form = ("/shelf/new", {"name": "Same"}) if number % 2 else ("/shelf/add", {"text": text})
        return app.test_client().post(path, data=form).status_code

    before = len(shop.ids("macro"))
    with ThreadPoolExecutor(8) as pool:
        assert set(pool.map(make, range(12))) == {302}
    assert len(shop.ids("macro")) == before + 12


def test_renames_beside_saves_on_the_bench_undo_nothing(app, shop):
    def rename(number):
        client = app.test_client()
        shown = hidden(client, "/shelf/park", "/shelf/park/rename")
        return client.post("/shelf/park/rename", data=shown | {"name": f"Name {number}"}).status_code

    def save(number):
        return Page(app.test_client()).type(purpose=f"Purpose {number}").save().status_code

    with ThreadPoolExecutor(8) as pool:
        pending = [pool.submit(rename if number % 2 else save, number) for number in range(30)]
        answers = [each.result() for each in pending]
    assert {200, 302} <= set(answers) <= {200, 302, 409}, "409: another rename was first, and it says so"
    texts = [each.text for each in reversed(shop.revisions("macro", "park"))]
    kept = [documents.parse("macro", text) for text in texts]
    for before, after in pairwise(kept):
        assert before.name == after.name or before.purpose == after.purpose
    assert kept[-1].name.startswith("Name")
    assert kept[-1].purpose.startswith("Purpose")


class TestSheets:
    def post(self, client, seen, text):
        return client.post("/sheets/machine", data={"text": text, "seen": str(seen.number)})

    def test_only_one_of_four_pages_that_show_a_revision_puts_its_own_there_unseen(self, app, shop):
        seen = shop.head("machine", "workshop")

        def save(number):
            text = documents.write("machine", {("axes", "x", "rapid"): 1000.0 + number}, seen.text)
            return self.post(app.test_client(), seen, text).status_code

        with ThreadPoolExecutor(4) as pool:
            assert sorted(pool.map(save, range(4))) == [302, 409, 409, 409]

    def test_different_fields_are_merged(self, client, shop):
        seen = shop.head("machine", "workshop")
        keep(shop, "machine", "workshop", documents.write("machine", {("axes", "x", "rapid"): 1000.0}, seen.text))
        mine = documents.write("machine", {("axes", "y", "rapid"): 2000.0}, seen.text)
        assert self.post(client, seen, mine).status_code == 302
        machine = shop.bench().machine
        assert [machine.axis(name).rapid for name in "xy"] == [1000.0, 2000.0]

    def test_a_clash_shows_what_was_changed_elsewhere_and_can_be_saved_over(self, client, shop):
        seen = shop.head("machine", "workshop")
        keep(shop, "machine", "workshop", documents.write("machine", {("axes", "x", "rapid"): 1000.0}, seen.text))
        mine = documents.write("machine", {("axes", "x", "rapid"): 2000.0}, seen.text)
        answer = self.post(client, seen, mine)
        assert answer.status_code == 409
        above, typed = html.unescape(answer.text).split("<textarea")
        assert "axes.x.rapid" in above
        assert "rapid = 1000.0" in above
        assert "rapid = 2000.0" in typed
        assert self.post(client, shop.head("machine", "workshop"), mine).status_code == 302
        assert shop.bench().machine.axis("x").rapid == 2000.0

    def test_undo_of_something_newer_than_the_page_shows_does_nothing(self, client, shop):
        seen = shop.head("machine", "workshop")
        keep(shop, "machine", "workshop", seen.text + "# newer\n")
        client.post("/sheets/machine/turn-back", data={"way": "undo", "seen": str(seen.number)})
        assert shop.text("machine", "workshop").endswith("# newer\n")


def test_a_macro_changed_since_the_page_was_shown_is_not_taken_off_the_shelf(client, shop):
    seen = shop.head("macro", "park").number
    keep(shop, "macro", "park", shop.text("macro", "park") + "# newer\n")
    assert client.post("/shelf/park/delete", data={"seen": str(seen)}).status_code == 409
    assert client.post("/shelf/park/restore", data={"seen": str(seen), "revision": str(seen)}).status_code == 409
    assert "park" in shop.ids("macro")


class TestADamagedStore:
    @pytest.fixture
    def damaged(self, shop):
        with sqlite3.connect(shop.file) as connection:
            connection.execute("UPDATE revisions SET text = CAST(X'FF80' AS TEXT) WHERE id = 'park'")

    @pytest.mark.parametrize("path", ["/bench/park", "/shelf", "/to-the-machine", "/pendant", "/shelf/park"])
    @pytest.mark.usefixtures("damaged")
    def test_every_page_says_so_and_offers_what_can_be_read(self, client, path):
        answer = client.get(path)
        assert answer.status_code == 500
        assert "The workshop is damaged" in answer.text
        assert "clickstop restore" in answer.text
        assert 'href="/readable.zip"' in answer.text

    @pytest.mark.usefixtures("damaged")
    def test_what_can_be_read_is_a_zip_of_documents(self, client, shop, tmp_path):
        with zipfile.ZipFile(io.BytesIO(client.get("/readable.zip").data)) as archive:
            assert "macros/home.toml" in archive.namelist()
            assert "macros/park.toml" not in archive.namelist()
            assert archive.read("machine.toml").decode() == shop.text("machine", "workshop")

    def test_a_day_that_is_none_is_shown_as_not_known(self, client, shop):
        with sqlite3.connect(shop.file) as connection:
            connection.execute("UPDATE revisions SET saved = 'never' WHERE id = 'park'")
        assert "an unreadable time (never)" in client.get("/shelf/park").text


def test_a_field_typed_beside_a_step_that_has_moved_is_not_put_into_another(client, app, shop):
    steps = [{"block": "nudge", "axis": "x", "by": "1 mm"}, {"block": "nudge", "axis": "z", "by": "2 mm"}]
    keep(shop, "macro", "park", documents.write("macro", {("step",): steps}, shop.text("macro", "park")))
    one, other = Page(client), Page(app.test_client())
    one.press("down 1")
    other.fields["step.1.by"] = "25 mm"
    assert "The steps were changed on another page meanwhile" in other.save().text
    assert {step.values["by"] for step in macro(shop).step} == {"1 mm", "2 mm"}


@pytest.mark.parametrize("way", ["save", "try"])
def test_what_a_page_has_saved_without_an_answer_it_may_save_again_though_another_step_is_as_it_was(client, shop, way):
    steps = [{"block": "nudge", "axis": "x", "by": "1 mm"}, {"block": "nudge", "axis": "x", "by": "1 mm"}]
    keep(shop, "macro", "park", documents.write("macro", {("step",): steps}, shop.text("macro", "park")))
    page = Page(client).type(step__1__by="25 mm")
    assert client.post("/bench/park/save", data=page.fields, headers=HTMX).status_code == 200
    again = client.post(f"/bench/park/{way}", data=page.fields, headers=HTMX)
    assert "changed on another page" not in again.text
    assert "HX-Retarget" not in again.headers
    assert [step.values["by"] for step in macro(shop).step] == ["25 mm", "1 mm"]


def test_slots_of_a_selector_that_has_changed_are_not_put_elsewhere(client, shop):
    page = client.get("/pendant").text
    shown = html.unescape(re.search(r'name="board" value="([^"]*)"', page)[1])
    text = shop.text("pendant", "workshop")
    swapped = text.replace('"5"', '"?"').replace('"6"', '"5"').replace('"?"', '"6"')
    assert swapped != text
    keep(shop, "pendant", "workshop", swapped)
    answer = client.post("/pendant", data={"slot.5.2": "park", "was.slot.5.2": "", "board": shown})
    assert answer.status_code == 409
    assert shop.text("pendant", "workshop") == swapped


def test_a_revision_beyond_all_numbers_is_none(client, shop):
    text = shop.text("machine", "workshop")
    for path, form in (("", {"text": text}), ("/part/axes", {})):
        answer = client.post(f"/sheets/machine{path}", data=form | {"seen": str(2**64)})
        assert answer.status_code in (409, 422)


def test_redo_does_not_take_a_macro_that_was_brought_back_off_again(client, shop):
    client.post("/shelf/park/delete", data=hidden(client, "/shelf/park"))
    client.post("/shelf/park/bring-back", data=hidden(client, "/shelf"))
    assert not shop.can_redo("macro", "park")
    assert not shop.redo("macro", "park")
    assert "park" in shop.ids("macro")


class TestWhatWasTypedBesideStepsThatHaveMoved:
    @pytest.fixture
    def nudges(self, shop):
        steps = [{"block": "nudge", "axis": "x", "by": "1 mm"}, {"block": "nudge", "axis": "z", "by": "2 mm"}]
        keep(shop, "macro", "park", documents.write("macro", {("step",): steps}, shop.text("macro", "park")))

    def test_is_shown_with_where_it_was_typed(self, nudges, two, shop):
        one, other = two
        one.press("down 1")
        other.fields["step.1.by"] = "25 mm"
        text = other.save().text
        assert "here is what you typed, to copy into the right one" in text
        assert re.search(
            r"<label [^>]*>Step 1, Nudge: by</label>\s*<textarea [^>]*readonly[^>]*>\n25 mm</textarea>", text
        )

    def test_of_a_step_that_is_gone_is_shown_too(self, nudges, two):
        one, other = two
        one.press("remove 2")
        other.fields["step.2.by"] = "25 mm"
        assert "25 mm</textarea>" in other.save().text

    def test_beside_no_step_is_saved_all_the_same(self, nudges, two, shop):
        one, other = two
        one.press("down 1")
        other.type(purpose="Typed meanwhile")
        text = other.save().text
        assert macro(shop).purpose == "Typed meanwhile"
        assert "The steps were changed on another page meanwhile. Here they are as they stand now." in text
        assert "Not saved" not in text

    def test_is_not_taken_off_the_page_by_trying_it(self, nudges, two):
        one, other = two
        one.press("down 1")
        other.fields["step.1.by"] = "25 mm"
        answer = other.client.post("/bench/park/try", data=other.fields, headers=HTMX)
        assert (answer.status_code, answer.text) == (204, "")

    @pytest.mark.parametrize("blocks", ["[[]]", "[{}]", "[1]", "[]"])
    def test_is_shown_whatever_the_form_says_of_the_steps(self, nudges, two, blocks):
        _, other = two
        base = html.unescape(other.fields["base"])
        other.fields["base"] = re.sub(r'"blocks": ?\[[^]]*\]', f'"blocks": {blocks}', base)
        other.fields["step.1.by"] = "25 mm"
        assert "25 mm</textarea>" in other.save().text


def test_a_clash_says_what_a_person_calls_the_field(two):
    one, other = two
    name = next(each for each in one.fields if each.startswith("step.1."))
    one.fields[name], other.fields[name] = "6 s", "7 s"
    one.save()
    text = html.unescape(other.save().text)
    assert "Step 1, Step 1" not in text
    assert name not in re.sub(r"<[^>]*>", "", text)
    assert re.search(r"Another page has changed “Step 1, [^”]*” too: choose below\.", text)
