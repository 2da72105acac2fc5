"""Who changed what last: kept with each revision, and said by the page of each document."""

from __future__ import annotations

import html
import re

import pytest
from click.testing import CliRunner

from library import documents
from tests.webapp.rendered import hidden
from tests.webapp.shelves import HTMX
from tests.workshops import keep
from webapp import create_app, who
from webapp.cli import main

PARK = "/shelf/park/rename"


def renamed(client, shop, name, **more):
    seen = {"seen": str(shop.head("macro", "park").number)}
    assert client.post(PARK, data={"name": name} | seen, **more).status_code == 302


def last_change(client, path):
    text = html.unescape(client.get(path).text)
    return text.split("<dt>Last change</dt><dd>")[1].split("</dd>")[0]


@pytest.mark.parametrize(
    ("address", "told"),
    [
        ("127.0.0.1", "this computer"),
        ("::1", "this computer"),
        ("192.0.2.7", "192.0.2.7"),
        ("2001:db8::7", "2001:db8::7"),
        ("nowhere", "an unknown address"),
    ],
)
def test_an_address_is_kept_with_what_it_saves(client, shop, address, told):
    renamed(client, shop, "Corner", environ_base={"REMOTE_ADDR": address})
    assert shop.revisions("macro", "park")[0].who == told
    assert told in html.unescape(client.get("/shelf/park").text)


@pytest.mark.parametrize("path", ["/bench/park", "/shelf/park"])
def test_the_page_of_a_macro_says_who_changed_it_last(client, shop, path):
    renamed(client, shop, "Corner", environ_base={"REMOTE_ADDR": "192.0.2.7"})
    told = last_change(client, path)
    assert told.endswith("UTC, 192.0.2.7: renamed to Corner")


@pytest.mark.parametrize("kind", ["machine", "controller", "pendant"])
def test_the_page_of_a_sheet_says_who_changed_it_last(client, shop, kind):
    head = shop.head(kind, "workshop")
    form = {"text": head.text + "# mine\n", "seen": str(head.number)}
    client.post(f"/sheets/{kind}", data=form, environ_base={"REMOTE_ADDR": "192.0.2.9"})
    assert ", 192.0.2.9: " in last_change(client, f"/sheets/{kind}")


def test_after_an_undo_it_is_the_change_that_counts_again(client, shop):
    renamed(client, shop, "Corner", environ_base={"REMOTE_ADDR": "192.0.2.7"})
    shop.undo("macro", "park")
    assert last_change(client, "/shelf/park").endswith(": starter workshop")


def test_what_is_saved_on_the_bench_changes_the_foot_of_its_page(client, shop):
    page = client.get("/bench/park").text
    base = html.unescape(re.search(r'name="base" value="([^"]*)"', page)[1])
    form = {"base": base, "purpose": "Another"}
    answer = client.post("/bench/park/save", data=form, headers=HTMX, environ_base={"REMOTE_ADDR": "192.0.2.7"})
    assert documents.parse("macro", shop.text("macro", "park")).purpose == "Another"
    assert 'id="last-change" hx-swap-oob="true"' in answer.text
    assert ", 192.0.2.7: Changed purpose" in html.unescape(answer.text)
    assert page.count('id="last-change"') == 1


def test_what_is_put_on_a_slot_changes_the_foot_of_the_page(client):
    form = hidden(client, "/pendant") | {"slot.6.2": "oil-ways"}
    answer = client.post("/pendant", data=form, headers=HTMX, environ_base={"REMOTE_ADDR": "192.0.2.7"})
    assert ", 192.0.2.7: oil-ways on 6 x100" in html.unescape(answer.text.partition('id="last-change" hx-swap-oob')[2])


def test_pages_of_no_document_say_nothing(client):
    for path in ("/shelf", "/to-the-machine", "/help"):
        assert "Last change" not in client.get(path).text


class TestNames:
    @pytest.fixture
    def site(self, tmp_path):
        return create_app(tmp_path / "workshop", access_code="seven turns", hosts=None)

    def enter(self, site, name):
        client = site.test_client()
        answer = client.post("/access", data={"code": "seven turns", "name": name, "next": "/"})
        assert answer.status_code == 302
        return client

    def saved_by(self, site, client):
        shop = site.extensions["workshop"]
        renamed(client, shop, f"Name {len(shop.revisions('macro', 'park'))}", environ_base={"REMOTE_ADDR": "192.0.2.7"})
        return shop.revisions("macro", "park")[0].who

    def test_a_device_says_what_it_is_called_with_the_access_code(self, site):
        assert self.saved_by(site, self.enter(site, "Ängström's tablet")) == "Ängström's tablet at 192.0.2.7"

    @pytest.mark.parametrize("name", ["", "   "])
    def test_a_device_without_a_name_has_its_address(self, site, name):
        assert self.saved_by(site, self.enter(site, name)) == "192.0.2.7"

    def test_a_name_is_shown_inert_and_short(self, site):
        client = self.enter(site, "<script>\u202ex\x07" + "y" * 500)
        told = self.saved_by(site, client)
        assert len(told) < 60
        assert "\u202e" not in told
        assert "<script>" not in client.get("/shelf/park").text

    def test_a_cookie_made_up_by_hand_is_as_inert(self, site):
        client = self.enter(site, "")
        client.set_cookie(who.COOKIE, "%3Cscript%3E%0A%00" + "z" * 3000)
        assert len(self.saved_by(site, client)) < 60

    def test_two_people_on_one_field_see_both_texts(self, site):
        one, other = self.enter(site, "One"), self.enter(site, "Other")
        shop = site.extensions["workshop"]
        seen = str(shop.head("macro", "park").number)
        assert one.post("/shelf/park/about", data={"author": "One", "seen": seen}).status_code == 302
        answer = other.post("/shelf/park/about", data={"author": "Other", "seen": seen})
        assert answer.status_code == 409
        assert "By now it says “One”." in html.unescape(answer.text)
        assert documents.parse("macro", shop.text("macro", "park")).author == "One"


def test_the_command_says_that_it_was_the_command(shop):
    keep(shop, "macro", "park", shop.text("macro", "park") + "# mine\n")
    result = CliRunner().invoke(main, ["take", "--workshop", str(shop.path), "--to", str(shop.path.parent / "p.zip")])
    assert result.exit_code == 0, result.output
    kept = shop.ids("issue")[0]
    assert shop.revisions("issue", kept)[0].who == "the command"
