"""Every form that changes something says what its page showed; without that nothing is saved."""

from __future__ import annotations

import html
import re
import sqlite3

import pytest

from library import documents, machines, starter
from library.share import waiting
from tests.bulk import mostly_long
from tests.library.share.shops import LIFT, LOW
from tests.webapp.rendered import hidden
from tests.webapp.test_stopwatch import typed
from tests.workshops import keep

TOLD = "does not say which version"
SECOND_ID = "bridge-mill"

PUTS_OVER_NOTHING = {
    "/shelf/new": "a macro under a free id",
    "/shelf/add": "a macro under a free id",
    "/shelf/<name>/duplicate": "a macro under a free id",
    "/to-the-machine/pack.zip": "an issue of its own",
    "/sheets/machine/stopwatch": "works out and keeps nothing",
    "/bench/<macro_id>/try": "shows and keeps nothing",
    "/scratch": "a macro under a free id, where that is asked for",
    "/working/<name>/stop": "ends the work on a request",
    "/review": "files beside the workshop, to be looked over",
    "/review/<key>/drop": "takes such files away",
    "/access": "asks for the code",
    "/sheets/machine/part/<part>/drawing": "draws and keeps nothing",
    "/start/<id>/drawing": "draws and keeps nothing",
    "/bench/<macro_id>/safe-start": "works out and keeps nothing",
    "/review/<key>/verdicts": "verdicts beside the workshop, by what they follow from",
    "/review/<key>/verdicts/all": "the same",
    "/shelf/verdicts": "verdicts beside the workshop, by what they follow from",
    "/shelf/verdicts/all": "the same",
    "/shelf-on-machines/verdicts": "the same",
    "/sheets/machines/add": "two sheets under a free id",
    "/sheets/machines/<name>/bring-back": "two sheets under an id that nothing stands under",
}
"""Routes that write without putting anything over what somebody else has saved, with what they write."""

SAYS_WHAT_WAS_SEEN = {
    "/bench/<macro_id>": ("/bench/park", {"do": "apply", "purpose": "Mine"}),
    "/bench/<macro_id>/save": ("/bench/park", {"purpose": "Mine"}),
    "/bench/<macro_id>/slot": ("/bench/park?side=pendant", {"do": "put", "slot": "x100 6"}),
    "/pendant": ("/pendant", {"slot.6.2": "park"}),
    "/pendant/fitted": ("/pendant", {"since": "2026-05-04"}),
    "/pendant/turn-back": ("/pendant", {"way": "undo"}),
    "/shelf/<name>/rename": ("/shelf/park", {"name": "Mine"}),
    "/shelf/<name>/about": ("/shelf/park", {"author": "Mine"}),
    "/shelf/<name>/delete": ("/shelf/park", {}),
    "/shelf/<name>/restore": ("/shelf/park", {}),
    "/shelf/<name>/bring-back": ("/shelf", {}),
    "/review/<key>": ("/review/<key>", {"take": "m1"}),
    "/portable/<name>": ("/portable/low", {"change": "1.z"}),
    "/sheets/<any(machine, controller, pendant):kind>": ("/sheets/machine", {}),
    "/sheets/<any(machine, controller, pendant):kind>/part/<part>": ("/sheets/machine", {"margins.travel": "1.5"}),
    "/sheets/<any(machine, controller, pendant):kind>/measured": ("/sheets/machine", {"part": "axes", "day": "today"}),
    "/sheets/machine/on-table": ("/sheets/machine", {"setup": "Bar in the vise"}),
    "/sheets/machines/<name>/in-force": ("/sheets/machines", {}),
    "/sheets/machines/<name>/rename": ("/sheets/machines", {"name": "Mine"}),
    "/sheets/machines/<name>/take-out": ("/sheets/machines", {}),
    "/start/<id>": ("/start/tool", {"tool.radius": "1.5"}),
    "/start/units": ("/start/axes", {"units": "inch"}),
    "/sheets/controller/presets": ("/sheets/controller", {"preset": "dwell-milliseconds"}),
    "/sheets/<any(machine, controller, pendant):kind>/turn-back": ("/sheets/machine", {"way": "undo"}),
    "/sheets/machine/stopwatch/take-over": ("/sheets/machine", {}),
}
"""Every other one: the page that its form stands on, and what a person does there."""


def lived(app):
    """A workshop in which there is something to undo, to restore, to bring back and to say that it is fitted."""
    client, shop = app.test_client(), app.extensions["workshop"]
    for kind in ("machine", "pendant"):
        keep(shop, kind, "workshop", shop.text(kind, "workshop") + "\n# later\n")
    for id in ("park", "home"):
        keep(shop, "macro", id, shop.text("macro", id) + "\n# later\n")
    keep(shop, "macro", "low", LOW.replace("-60 mm", "-2 mm"))
    second = starter.text("second/machine.toml"), starter.text("controller.toml")
    assert machines.add(shop, *second, "added") == SECOND_ID
    waiting.keep(shop, [("lift.toml", LIFT.encode())])
    client.post("/shelf/home/delete", data=hidden(client, "/shelf/home"))
    assert client.post("/to-the-machine/pack.zip").status_code == 200


@pytest.fixture
def lived_in(shop, once):
    once(lived, shop)
    return shop


def rows(shop):
    """All that the store holds."""
    connection = sqlite3.connect(shop.file)
    try:
        tables = ("SELECT * FROM revisions ORDER BY number", "SELECT * FROM documents ORDER BY kind, id")
        return [connection.execute(each).fetchall() for each in tables]
    finally:
        connection.close()


def filled(shop, route):
    """The address of a route and what is sent there by hand, without what the page showed."""
    path, done = SAYS_WHAT_WAS_SEEN[route]
    if route == "/review/<key>":
        path = f"/review/{waiting.every(shop)[0].key}"
        return path, path, dict(done)
    if route.startswith("/portable"):
        return path, path, dict(done)
    address = re.sub(r"<any[^>]*>", "machine", route)
    address = address.replace("machines/<name>", f"machines/{SECOND_ID}").replace("<part>", "motion")
    address = address.replace("start/<id>", "start/tool")
    address = re.sub(r"<[^>]*>", "home" if route.endswith("bring-back") else "park", address)
    sent = dict(done)
    if route.endswith("fitted"):
        sent["issue"] = shop.ids("issue")[0]
    if route.endswith("restore"):
        sent["revision"] = str(shop.revisions("macro", "park")[-1].number)
    if route.endswith(":kind>"):
        sent["text"] = shop.text("machine", "workshop") + "\n# mine\n"
    if route.endswith("take-over"):
        sent |= {name: value for name, value in typed(shop).items() if name != "seen"}
    return path, address, sent


def test_every_route_that_writes_is_one_or_the_other(app):
    routes = {rule.rule for rule in app.url_map.iter_rules() if "POST" in (rule.methods or ())}
    assert routes - {"/access"} == (PUTS_OVER_NOTHING.keys() | SAYS_WHAT_WAS_SEEN.keys()) - {"/access"}


@pytest.mark.parametrize("route", mostly_long(SAYS_WHAT_WAS_SEEN, 10, most=12))
def test_without_what_was_seen_nothing_is_saved_and_it_says_why(client, lived_in, route):
    _, address, sent = filled(lived_in, route)
    before = rows(lived_in)
    answer = client.post(address, data=sent)
    assert answer.status_code == 200 if route.endswith("save") else answer.status_code in (409, 422)
    assert answer.text.count(TOLD) == 1
    assert "oad the page again" in answer.text
    assert rows(lived_in) == before


@pytest.mark.parametrize("route", mostly_long(SAYS_WHAT_WAS_SEEN, 10, most=12))
def test_with_what_the_page_carries_it_is_saved(client, lived_in, route):
    path, address, sent = filled(lived_in, route)
    own = ("/shelf", "/pendant", "/sheets/machines", "/start")
    shown = hidden(client, path, address if path.startswith(own) else "")
    before = rows(lived_in)
    answer = client.post(address, data=shown | sent)
    assert answer.status_code in (200, 302, 303)
    assert rows(lived_in) != before


PAGES = (
    *("/bench/park", "/shelf", "/shelf/park", "/pendant", "/sheets/machine", "/sheets/controller", "/sheets/pendant"),
    *("/sheets/machines", "/start/axes", "/start/tool", "/start/pendant", "/portable/low"),
)


def forms(text):
    return [each.split("</form>")[0] for each in re.findall(r"<form[^>]*>.*?</form>", text, re.DOTALL)]


@pytest.mark.parametrize("path", mostly_long(PAGES, 5, most=8))
def test_no_page_has_a_form_that_does_not_say_it(app, client, lived_in, path):
    refused = documents.write(
        "macro", {("step",): [{"block": "go-to", "x": "20 mm", "y": "20 mm"}]}, lived_in.text("macro", "park")
    )
    keep(lived_in, "macro", "park", refused)
    adapter = app.url_map.bind("localhost")
    found = 0
    for form in forms(client.get(path).text):
        action = re.search(r'action="([^"?#]*)', form)[1]
        if 'method="post"' not in form:
            continue
        _, arguments = adapter.match(action, method="POST", return_rule=False)
        rule = adapter.match(action, method="POST", return_rule=True)[0].rule
        if rule in SAYS_WHAT_WAS_SEEN:
            found += 1
            assert re.search(r'name="(seen|base|board|was[^"]*)"', form), (action, arguments)
    assert found


def test_what_was_typed_on_the_bench_is_shown_with_what_is_saved_to_choose_from(client, shop):
    answer = client.post("/bench/park", data={"do": "apply", "purpose": "Mine"})
    told = html.unescape(answer.text)
    assert "<q>Mine</q>" in told
    assert 'value="mine purpose"' in told
    assert 'value="theirs purpose"' in told


def test_what_was_typed_into_a_document_stays_and_the_next_press_does_not_put_it_over_either(client, shop):
    text = shop.text("machine", "workshop") + "\n# mine\n"
    answer = client.post("/sheets/machine", data={"text": text})
    assert "# mine" in answer.text
    seen = re.search(r'name="seen" value="(\d+)"', answer.text)[1]
    assert client.post("/sheets/machine", data={"text": text, "seen": seen}).status_code == 409
    assert "# mine" not in shop.text("machine", "workshop")


def test_a_mistake_that_is_corrected_is_still_saved_on_what_the_page_first_showed(client, shop):
    shown = hidden(client, "/sheets/machine", "/sheets/machine")
    text = shop.text("machine", "workshop")
    keep(shop, "machine", "workshop", text.replace('name = "', 'name = "Their ', 1))
    answer = client.post("/sheets/machine", data=shown | {"text": "x = ["})
    again = re.search(r'action="/sheets/machine"[^>]*>\s*<input type="hidden" name="seen" value="(\d+)"', answer.text)[
        1
    ]
    mine = text.replace('name = "', 'name = "My ', 1)
    assert client.post("/sheets/machine", data={"text": mine, "seen": again}).status_code == 409
    assert "Their " in shop.text("machine", "workshop")


def test_two_pages_that_say_what_is_fitted_do_not_put_one_over_the_other(client, lived_in):
    shown = hidden(client, "/pendant", "/pendant/fitted") | {"issue": lived_in.ids("issue")[0]}
    assert client.post("/pendant/fitted", data=shown | {"since": "2026-05-04"}).status_code == 302
    answer = client.post("/pendant/fitted", data=shown | {"since": "2026-05-05"})
    assert answer.status_code == 409
    assert "another page has said meanwhile" in answer.text
    assert "2026-05-04" in lived_in.text("fitted", "workshop")


def test_two_pages_that_rename_one_macro_do_not_put_one_name_over_the_other(client, shop):
    shown = hidden(client, "/shelf/park", "/shelf/park/rename")
    assert client.post("/shelf/park/rename", data=shown | {"name": "Mine"}).status_code == 302
    answer = client.post("/shelf/park/rename", data=shown | {"name": "Theirs"})
    assert answer.status_code == 409
    assert "Not renamed" in answer.text
    assert documents.parse("macro", shop.text("macro", "park")).name == "Mine"
