"""The pack page: choose what goes, print what will be printed, and see what differs from last time."""

from __future__ import annotations

import base64
import hashlib
import html
import io
import re
import sys
import zipfile

import pytest

from library import documents
from library.pack.printed.card import size_of
from library.sheets import preset_text
from tests.bulk import mostly_long
from tests.webapp.rendered import hidden
from tests.workshops import keep

WISHES = "choosing=yes&go=park&go=retract&width=120&height=80&start-x=20&start-z=-10"


def page(client, query=""):
    answer = client.get(f"/to-the-machine?{query}")
    assert answer.status_code == 200, answer.text
    return html.unescape(answer.text)


def part(shown, name):
    return re.search(rf'<section aria-labelledby="{name}">(.*?)</section>', shown, re.DOTALL)[1]


def zipped(client, query=""):
    archive = zipfile.ZipFile(io.BytesIO(client.post(f"/to-the-machine/pack.zip?{query}").data))
    return {name: archive.read(name) for name in archive.namelist()}


def shown_issue(client):
    return {"issue": hidden(client, "/to-the-machine")["issue"]}


def test_what_is_taken_is_the_issue_that_the_page_showed_or_nothing(client, shop):
    shown = shown_issue(client)
    keep(shop, "macro", "park", documents.write("macro", {("purpose",): "Otherwise"}, shop.text("macro", "park")), "")
    answer = client.post("/to-the-machine/pack.zip", data=shown)
    assert (answer.status_code, answer.mimetype) == (409, "text/html")
    assert "has changed since this page showed it" in answer.text
    assert not shop.file.with_name("last-pack.zip").exists()
    shown = shown_issue(client)
    assert client.post("/to-the-machine/pack.zip", data=shown).mimetype == "application/zip"


@pytest.mark.parametrize("preset", ["as-published", "subprogram-m98"])
def test_taking_gives_no_other_issue_than_the_page_showed_by_the_numbers_that_it_gives(client, shop, preset):
    keep(shop, "controller", "workshop", preset_text(preset), "a preset")
    shown = shown_issue(client)
    for _ in range(2):
        assert client.post("/to-the-machine/pack.zip", data=shown).mimetype == "application/zip"


# Choosing


def test_a_second_opinion_may_be_had_of_all_that_goes(client):
    assert "Proved twice" not in page(client)
    assert 'name="second-opinion" value="yes">' in page(client)
    shown = page(client, "second-opinion=yes")
    assert 'name="second-opinion" value="yes" checked>' in shown
    assert "Proved twice</span>" in shown
    assert "questions/retract.smt2" in shown
    files = zipped(client, "second-opinion=yes")
    assert "questions/retract.smt2" in files
    assert "proved twice" in files["macros/retract.nc"].decode()


def test_without_the_solver_the_page_says_what_to_install_and_makes_no_pack_that_claims_it(client, monkeypatch):
    monkeypatch.setitem(sys.modules, "z3", None)
    assert 'name="second-opinion" value="yes" disabled>' in page(client)
    wished = "second-opinion=yes"
    for answer in (client.get(f"/to-the-machine?{wished}"), client.post(f"/to-the-machine/pack.zip?{wished}")):
        assert answer.status_code == 409
        assert "clickstop[second]" in answer.get_data(as_text=True)


def test_everything_on_a_slot_goes_unless_told_otherwise(client):
    shown = page(client)
    assert shown.count("checked>") == shown.count('type="checkbox" name="go"') == 6


def test_what_is_not_chosen_is_left_out_with_the_reason(client):
    shown = page(client, WISHES)
    assert part(shown, "left-out").count("It was not chosen") == 4
    assert {path for path in zipped(client, WISHES) if path.startswith("macros/")} == {
        "macros/park.nc",
        "macros/retract.nc",
    }


# What was wanted and does not go


def own_lines(id, name, lines):
    return (
        f'format = "clickstop-macro/1"\nid = "{id}"\nname = "{name}"\n'
        f'[[step]]\nblock = "own-lines"\nlines = """\n{lines}\n"""\n'
    )


@pytest.fixture
def spoilt(shop):
    """A workshop with a macro that is refused and one that changes what another was proved on."""
    keep(shop, "macro", "far", own_lines("far", "Far", "G21 G90\nG53 G0 X900"), "")
    keep(shop, "macro", "shifts", own_lines("shifts", "Shifts", "G21 G90\nG92 X0 Y0"), "")
    pendant = shop.text("pendant", "workshop").replace('"park"', '"far"').replace('"home"', '"shifts"')
    keep(shop, "pendant", "workshop", pendant, "")


def test_what_cannot_go_is_not_ticked_and_says_why_in_a_few_words(client, spoilt):
    shown = page(client)
    assert shown.count("checked>") == 4
    choice = shown.partition('id="go-far" disabled>')[2]
    assert choice.index(">Far <") < choice.index('href="#left-out-far">Left out</a>: refused, beyond-travel<')
    assert 'href="#left-out-shifts">Left out</a>: it changes what a macro of the pendant was proved on<' in shown


def test_the_reason_in_a_few_words_leads_to_the_whole_of_it(client, spoilt):
    shown = part(page(client), "left-out")
    assert re.search(
        r'<dt id="left-out-far"><a href="/bench/far">Far</a></dt><dd>Not proved: .*X would go to 900', shown
    )


def test_what_was_wanted_and_does_not_go_is_counted_beside_the_download_and_comes_first(client, spoilt):
    shown = page(client)
    assert '<a href="#left-out"><b>2 left out</b></a>' in shown
    listed = part(shown, "left-out")
    assert max(map(listed.index, ("left-out-far", "left-out-shifts"))) < listed.index("left-out-park")


def test_what_is_on_no_slot_or_was_not_chosen_is_not_counted(client):
    assert "<b>" not in page(client, WISHES).partition("The zip is read back")[0].rpartition("files")[2]
    assert "Left out</a>" not in page(client, WISHES)


def test_what_cannot_go_stays_wanted_for_when_it_can(client, spoilt, shop):
    form = page(client).partition("<main")[2].partition("<form")[2].partition("</form>")[0]
    assert '<input type="hidden" name="go" value="far">' in form
    keep(shop, "macro", "far", own_lines("far", "Far", "G21 G90\nG53 G0 Z-2\nG53 G0 X20"), "")
    assert "macros/far.nc" in zipped(client, "choosing=yes&go=far")


def test_a_slot_that_cannot_be_used_is_counted(client, shop):
    keep(shop, "pendant", "workshop", shop.text("pendant", "workshop").replace('"park"', '"gone"'), "")
    assert "<b>1 left out</b>" in page(client)


def test_nothing_chosen_is_nothing_that_goes(client):
    assert "macros/park.nc" not in zipped(client, "choosing=yes")


def test_the_zip_holds_what_the_page_shows_with_the_same_wishes(client):
    shown = page(client, WISHES)
    for path, content in zipped(client, WISHES).items():
        assert path in shown
        assert content.decode().strip() in shown


def test_the_buttons_carry_the_wishes_along(client):
    shown = page(client, WISHES)
    for target in ("pack.zip", "printed/card.html", "printed/prove-out.html", "printed/card.svg"):
        assert f"/to-the-machine/{target}?{WISHES}" in shown


def test_the_card_is_as_large_as_was_wished(client):
    assert size_of(zipped(client, WISHES)["card.svg"]) == (120, 80)
    assert "120 by 80 mm" in page(client, WISHES)


def test_a_card_that_had_to_become_larger_says_so(client):
    assert "Larger than asked" in page(client, "width=30&height=30")
    assert "Larger than asked" not in page(client)


def test_the_start_that_was_picked_is_on_the_sheets(client):
    said = re.sub(r"<[^>]*>", "", zipped(client, WISHES)["prove-out.html"].decode())
    assert "Jogged to X 20 Y 75 Z -10 (machine" in " ".join(said.split())


UNUSABLE = {
    "width=5": "A card is 30 to 180 mm wide, not 5.",
    "start-x=900": "The start of X is 900, outside of its travel.",
    "start-y=here": "The start of Y is 'here', which is not a number.",
    "width=wide": "The width of the card is 'wide', which is not a number.",
    "height=nan": "A card is 30 to 240 mm high, not nan.",
    "start-x=nan": "The start of X is nan, outside of its travel.",
}


@pytest.mark.parametrize("query", mostly_long(UNUSABLE, keep=3))
def test_a_wish_that_cannot_be_used_is_told_and_stays_as_it_was_typed(client, query):
    shown = page(client, query)
    assert UNUSABLE[query] in shown
    assert f'value="{query.partition("=")[2]}"' in shown


# Printing


def test_where_the_pendant_may_send_nothing_there_is_no_card(client, shop):
    text = shop.text("controller", "workshop").replace('acknowledge = "TAKEN"', 'acknowledge = ""')
    keep(shop, "controller", "workshop", text, "answers nothing")
    page = client.get("/to-the-machine").text
    assert "There is no card: the pendant may send nothing." in page
    assert "card.svg" not in page
    assert client.get("/to-the-machine/printed/card.html").status_code == 404
    assert "card.svg" not in zipped(client)


@pytest.mark.parametrize("name", mostly_long(["prove-out.html", "card.html", "card.svg"]))
def test_what_is_printed_is_byte_for_byte_what_goes(client, name):
    answer = client.get(f"/to-the-machine/printed/{name}?{WISHES}")
    assert answer.data == zipped(client, WISHES)[name]
    assert answer.mimetype in ("image/svg+xml", "text/html")


def test_a_printed_page_may_use_its_own_styles_and_nothing_else(client):
    # Content Security Policy Level 3, 2.3.1: a hash-source names an inline style by the digest of its text
    answer = client.get("/to-the-machine/printed/prove-out.html")
    style = re.search("<style>(.*?)</style>", answer.text, re.DOTALL)[1]
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    policy = answer.headers["Content-Security-Policy"]
    assert f"style-src 'sha256-{digest}'" in policy
    assert "default-src 'none'" in policy


@pytest.mark.parametrize("name", ["manifest.json", "nothing", "..%2Fmanifest.json"])
def test_no_other_file_is_printed(client, name):
    assert client.get(f"/to-the-machine/printed/{name}").status_code == 404


def test_a_refused_macro_is_on_no_printed_page_and_the_reason_is_on_this_one(client, shop):
    crossing = {"block": "go-to", "x": "20 mm", "y": "20 mm"}
    text = documents.write("macro", {("step",): [crossing]}, shop.text("macro", "present-part"))
    keep(shop, "macro", "present-part", text, "")
    files = zipped(client)
    for name in ("card.svg", "prove-out.html"):
        assert b"Present the" not in files[name]
        assert b"Retract" in files[name]
    assert "crosses-keep-out" in part(page(client), "left-out")


def test_where_there_can_be_no_pack_the_reason_is_told(client, shop):
    # "con" is a device on some systems, so its file is given the name of the other
    for id in ("con", "macro-con"):
        keep(shop, "macro", id, shop.text("macro", "retract").replace('id = "retract"', f'id = "{id}"'), "")
    pendant = shop.text("pendant", "workshop").replace('"park"', '"con"').replace('"home"', '"macro-con"')
    keep(shop, "pendant", "workshop", pendant, "")
    for path in ("/to-the-machine", "/to-the-machine/pack.zip", "/to-the-machine/printed/card.svg"):
        answer = client.get(path)
        assert answer.status_code == 409
        assert "would both be written to macro-con.nc" in html.unescape(answer.text)


# Since the last time


def test_before_the_first_pack_there_is_nothing_to_compare_with(client):
    assert "No pack was taken" in part(page(client), "since")


def test_a_pack_that_would_be_the_same_says_so(client):
    zipped(client)
    assert "every byte is as it was taken" in part(page(client), "since")


def test_a_change_since_is_shown_file_by_file(client, shop):
    zipped(client)
    text = shop.text("macro", "park").replace('name = "Park"', 'name = "Drive away"')
    keep(shop, "macro", "park", text, "")
    shown = part(page(client), "since")
    assert "macros/park.nc" in shown
    assert "- (Park)" in shown
    assert "+ (Drive away)" in shown
    assert "<code>macros/retract.nc</code>" not in shown


def test_what_comes_and_goes_since_is_shown(client):
    zipped(client, "choosing=yes&go=park")
    shown = part(page(client, "choosing=yes&go=retract"), "since")
    assert re.search(r"macros/park\.nc</code> <span class=\"figure\">gone", shown)
    assert re.search(r"macros/retract\.nc</code> <span class=\"figure\">new", shown)


def test_a_last_pack_that_is_damaged_is_as_good_as_none(client, shop):
    shop.file.with_name("last-pack.zip").write_bytes(b"PK\x03\x04 and then nothing")
    assert "No pack was taken" in part(page(client), "since")


def test_looking_at_the_page_is_not_taking_it(client, shop):
    page(client)
    client.get("/to-the-machine/printed/card.svg")
    client.get("/to-the-machine/pack.zip", headers={"Sec-Fetch-Site": "cross-site"})
    assert not shop.file.with_name("last-pack.zip").exists()
