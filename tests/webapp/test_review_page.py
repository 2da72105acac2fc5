"""The review page: upload, look over, choose, take in; bundles; and a macro made portable."""

import io
import re

import pytest

from library import documents
from library.share import bundle, origin
from library.share.incoming import incoming
from library.share.review import compared
from library.share.taking import placed
from tests.library.share import hostile
from tests.library.share.shops import LIFT, LOW, OWN, SHELF, document, made
from tests.webapp.shelves import HTMX
from tests.workshops import keep
from webapp import progress
from webapp.pages import review as review_page
from webapp.pages import shelf as shelf_page
from webapp.pages import shelf_proving


@pytest.fixture
def send(client):
    """Upload files and follow to the review."""

    def uploaded(*files):
        data = {
            "file": [
                (io.BytesIO(content if isinstance(content, bytes) else content.encode()), name)
                for name, content in files
            ]
        }
        return client.post("/review", data=data, content_type="multipart/form-data", follow_redirects=True)

    return uploaded


def form_of(answer):
    """The fields of the form that takes in, as a browser would send them: address, and data."""
    html = answer.get_data(as_text=True)
    key = re.search(r'action="/review/(\w+)"', html)[1]
    ticked = re.findall(r'name="take" value="(\w+)" checked', html)
    shown = re.search(r'name="shown" value="(\w+)"', html)[1]
    return f"/review/{key}", {"shown": shown, "take": ticked}


def keys_by_name(answer):
    return {
        name: key
        for key, name in re.findall(r'href="/review/\w+/(m\d+)">([^<]+)</a><span', answer.get_data(as_text=True))
    }


# Looking it over


def test_the_page_is_there_with_nothing_waiting(client):
    html = client.get("/review").get_data(as_text=True)
    assert "Nothing." in html
    assert 'multiple accept=".zip,.toml' in html


def proved(client, answer):
    """The same page of a review once all on it is proved, as its button does without scripts."""
    where, _ = form_of(answer)
    return client.post(f"{where}/verdicts", follow_redirects=True)


def test_a_bundle_is_looked_over_and_nothing_is_stored(send, client, shop):
    before = shop.ids("macro")
    html = proved(client, send(("b.zip", made()))).get_data(as_text=True)
    assert shop.ids("macro") == before
    for part in (
        "these 5 macros would do on Workshop mill",
        "Refused",
        "Proved",
        "New here.",
        "does not adapt",
        "a bundle from Mill",
    ):
        assert part in html, part


def test_several_files_come_at_once(send):
    html = send(("b.zip", made("own")), ("lift.toml", LIFT)).get_data(as_text=True)
    assert "these 2 macros" in html
    assert "lift.toml: a document" in html


def test_a_review_survives_a_reload_and_can_be_dropped(send, client):
    where, _ = form_of(send(("b.zip", made("lift"))))
    assert client.get(where).status_code == 200
    assert "b.zip" in client.get("/review").get_data(as_text=True)
    assert "Dropped." in client.post(f"{where}/drop", follow_redirects=True).get_data(as_text=True)
    assert client.get(where).status_code == 404


def test_one_that_is_no_macro_is_shown_with_the_reason_and_cannot_be_ticked(send):
    html = send(("w.toml", 'format = "clickstop-macro/1"\nname = 3\n'), ("lift.toml", LIFT)).get_data(as_text=True)
    assert "Cannot be read" in html
    assert "Line 2: name is" in html
    assert html.count('name="take"') == 1


def test_one_macro_is_shown_in_full(send, client):
    answer = send(("b.zip", made("low")))
    where, _ = form_of(answer)
    html = client.get(f"{where}/m1").get_data(as_text=True)
    for part in (
        "<svg",
        "crosses-keep-out",
        "Its lines on Workshop mill",
        "Go to X stay",
        "Where it comes from, Mill",
        '<span class="severity">refused</span>',
        "   1  %\n   2  (Low)\n",
    ):
        assert part in html, part
    assert client.get(f"{where}/m9").status_code == 404


def test_differences_are_shown_in_words_steps_and_lines(send, client, shop):
    keep(shop, "macro", "lift", document("lift", {"block": "raise", "to": "travel.z.max"}, name="Mine"))
    where, _ = form_of(send(("b.zip", made("lift"))))
    html = client.get(f"{where}/m1").get_data(as_text=True)
    assert "What differs from Mine here" in html
    assert "<td>Mine</td><td>Lift</td>" in html
    assert "- Raise to travel.z.max" in html
    assert "+ G53 G0 Z-2" in html


@pytest.mark.parametrize("kind", ["traversal", "bomb", "symlink", "wrong digest", "10,000 entries", "nested"])
def test_a_hostile_bundle_is_refused_in_a_sentence_and_not_kept(send, shop, kind):
    make, said = hostile.KINDS[kind]
    answer = send(("h.zip", make()))
    assert answer.status_code == 422
    assert said in answer.get_data(as_text=True)
    assert not (shop.path / "incoming").exists()


def test_script_in_every_text_is_shown_as_text(send, client):
    answer = send(("b.zip", hostile.INERT["script in every text"]()))
    where, _ = form_of(answer)
    for html in (answer.get_data(as_text=True), client.get(f"{where}/m1").get_data(as_text=True)):
        assert "<script>alert" not in html
        assert "&lt;script&gt;alert" in html
        assert "onerror=&#34;" in html or 'onerror="' not in html


def test_nothing_chosen_is_said(client):
    answer = client.post("/review", data={}, content_type="multipart/form-data")
    assert answer.status_code == 422
    assert "Nothing was uploaded" in answer.get_data(as_text=True)


# Many at once


@pytest.fixture
def many(send, monkeypatch):
    """The review of seven macros, three on a page."""
    monkeypatch.setattr(review_page, "PER_PAGE", 3)
    shelf = {
        f"m-{n}": document(f"m-{n}", {"block": "raise"}, {"block": "dwell", "time": f"{n} s"}) for n in range(1, 8)
    }
    return send(("seven.zip", made(shelf=shelf)))


def test_the_page_comes_before_any_is_proved_and_shows_some(many, client, monkeypatch):
    html = many.get_data(as_text=True)
    assert html.count('name="take"') == html.count("not proved yet</span>") == 3
    assert "these 7 macros" in html
    assert "Not proved yet: 7." in html
    where, _ = form_of(many)
    assert [client.get(f"{where}?page={n}").text.count('name="take"') for n in (2, 3, 9, "x")] == [3, 1, 1, 3]


def test_a_page_with_scripts_gets_its_verdicts_in_portions(many, client, monkeypatch):
    monkeypatch.setattr(shelf_proving, "PORTION", 0.0)
    where, _ = form_of(many)
    came = []
    for _ in range(5):
        answer = client.post(f"{where}/verdicts", data={"page": 2}, headers=HTMX).text
        came += re.findall(r'id="verdict-(m\d)" hx-swap-oob="true"><span class="verdict ', answer)
        if "hx-trigger" not in answer.split('id="to-prove"')[1]:
            break
    assert came == ["m4", "m5", "m6"]
    assert "not proved yet</span>" not in client.get(f"{where}?page=2").text


def test_all_of_it_is_proved_at_once_and_counted_and_taking_in_proves_nothing_again(many, client, shop, monkeypatch):
    where, data = form_of(many)
    answer = client.post(f"{where}/verdicts/all", data={"page": 2}, headers=HTMX)
    assert answer.headers["HX-Redirect"] == f"{where}?page=2"
    assert "Proved: 7." in client.get(where).text

    def never(*args, **named):
        raise AssertionError("it is proved again")

    monkeypatch.setattr(shelf_page, "prove_macro", never)
    answer = client.post(where, data=data | {"do": "all"}, headers=HTMX)
    assert answer.headers["HX-Redirect"] == "/review?taken=7"
    assert {f"m-{n}" for n in range(1, 8)} <= set(shop.ids("macro"))


def test_a_page_is_taken_in_and_the_rest_waits(many, client, shop):
    where, data = form_of(many)
    answer = client.post(where, data=data)
    assert answer.headers["Location"] == f"{where}?taken=3"
    assert {f"m-{n}" for n in range(1, 8)} & set(shop.ids("macro")) == {"m-1", "m-2", "m-3"}


@pytest.mark.parametrize("what", ["verdicts/all", "verdicts", ""])
def test_proving_and_taking_in_can_be_stopped_and_nothing_is_half_done(many, client, shop, monkeypatch, what):
    where, data = form_of(many)
    before, told = shop.ids("macro"), progress.told

    def stopping(share):
        progress.under_way()["abc"].stopping = True
        told(share)

    monkeypatch.setattr(progress, "told", stopping)
    answer = client.post(f"{where}/{what}".rstrip("/"), data=data, headers=HTMX | {progress.NAME_HEADER: "abc"})
    assert (answer.status_code, answer.headers["HX-Retarget"]) == (200, "#notice")
    assert "Stopped" in answer.text
    assert shop.ids("macro") == before
    monkeypatch.undo()
    assert client.post(where, data=data).status_code == 302


def test_a_page_of_a_script_gets_what_the_page_is_about_alone(client, send):
    answer = client.post("/review", data={}, headers=HTMX)
    assert answer.status_code == 422
    assert answer.text.lstrip().startswith("<nav")
    assert "Nothing was uploaded" in answer.text


# Taking in


def test_what_is_ticked_is_taken_in_with_where_it_comes_from(send, client, shop):
    where, data = form_of(send(("b.zip", made())))
    html = client.post(where, data=data, follow_redirects=True).get_data(as_text=True)
    assert "5 macros are new or changed" in html
    assert set(shop.ids("macro")) >= set(SHELF)
    assert origin.of_all(shop)["lift"].source == "b.zip"
    assert client.get(where).status_code == 404, "all of it is taken"


def test_what_another_one_runs_is_not_ticked_by_itself_but_can_be(send):
    answer = send(("b.zip", made("present")))
    keys = keys_by_name(answer)
    assert form_of(answer)[1]["take"] == [keys["Present"]]


def test_what_it_runs_is_taken_in_with_it(send, client, shop):
    where, data = form_of(send(("b.zip", made("present"))))
    assert len(data["take"]) == 1
    client.post(where, data=data)
    assert {"lift", "present"} <= set(shop.ids("macro"))


def test_one_that_runs_what_was_taken_in_before_under_another_id_goes_on_to_run_that(send, client, shop):
    keep(shop, "macro", "lift", document("lift", {"block": "dwell"}, name="Mine"))
    answer = send(("b.zip", made("lift", "present")))
    where, data = form_of(answer)
    keys = keys_by_name(answer)
    client.post(where, data=data | {"take": keys["Lift"]})
    assert "lift-2" in shop.ids("macro")
    where, data = form_of(client.get(where))
    client.post(where, data=data | {"take": keys["Present"], f"keep-{keys['Lift']}": "mine"})
    assert documents.parse("macro", shop.text("macro", "present")).step[0].values["macro"] == "lift"
    taken = placed_alone(shop, "present")
    assert taken.step[0].values["macro"] == "lift-2"


def placed_alone(shop, id):
    """A macro of the bundle as it would be taken in now by itself."""
    found = compared(incoming([("b.zip", made("lift", "present"))]), {})
    (key,) = (each.coming.key for each in found if each.coming.id == id)
    (place,) = placed(found, {key: "theirs"}, shop)
    return documents.parse("macro", place.text)


def test_the_rest_waits_where_not_all_is_taken(send, client, shop):
    answer = send(("b.zip", made("lift", "own")))
    where, data = form_of(answer)
    html = client.post(where, data=data | {"take": data["take"][:1]}, follow_redirects=True).get_data(as_text=True)
    assert "The rest still waits here." in html
    assert "On the shelf already" in html


def test_both_are_kept_unless_somebody_says_otherwise(send, client, shop):
    mine = shop.text("macro", "park")
    other = mine.replace("Put the spindle", "Put it")
    where, data = form_of(send(("park.toml", other)))
    client.post(where, data=data)
    assert shop.text("macro", "park") == mine
    assert documents.parse("macro", shop.text("macro", "park-2")).name == "Park (2)"


@pytest.mark.parametrize(("said", "stays"), [("mine", True), ("theirs", False)])
def test_mine_or_theirs_as_is_chosen(send, client, shop, said, stays):
    mine = shop.text("macro", "park")
    where, data = form_of(send(("park.toml", mine.replace("Put the spindle", "Put it"))))
    client.post(where, data=data | {f"keep-{data['take'][0]}": said})
    assert (shop.text("macro", "park") == mine) == stays
    assert "park-2" not in shop.ids("macro")


def test_what_changed_here_since_the_page_was_shown_stops_it(send, client, shop):
    where, data = form_of(send(("b.zip", made("lift", "own"))))
    keep(shop, "macro", "lift", LOW.replace('"low"', '"lift"'))
    answer = client.post(where, data=data)
    assert answer.status_code == 409
    assert "has changed since this page was shown" in answer.get_data(as_text=True)
    assert "own" not in shop.ids("macro")


def test_a_form_without_what_it_showed_takes_nothing_in(send, client, shop):
    where, data = form_of(send(("own.toml", OWN)))
    assert client.post(where, data={"take": data["take"]}).status_code == 409
    assert "own" not in shop.ids("macro")


def test_nothing_ticked_is_said(send, client):
    where, data = form_of(send(("own.toml", OWN)))
    answer = client.post(where, data={"shown": data["shown"]})
    assert (answer.status_code, "tick the macros" in answer.get_data(as_text=True)) == (422, True)


# Bundles


def test_a_bundle_of_one_or_of_all_is_handed_out(client, shop):
    one = client.get("/bundle.zip?id=park")
    assert list(bundle.read(one.data).texts) == ["park"]
    assert one.headers["Content-Disposition"] == "attachment; filename=park.zip"
    assert set(bundle.read(client.get("/bundle.zip").data).texts) == set(shop.ids("macro"))
    assert client.get("/bundle.zip?id=park").data == one.data


def test_a_page_with_scripts_waits_for_the_bundle_and_then_gets_what_was_made(client, monkeypatch):
    answer = client.get("/bundle.zip?id=park", headers=HTMX)
    assert (answer.status_code, answer.headers["HX-Redirect"]) == (200, "/bundle.zip?id=park")
    made_once = client.get("/bundle.zip?id=park").data

    def never(*args, **named):
        raise AssertionError("it is made again")

    monkeypatch.setattr(bundle, "gather", never)
    assert client.get("/bundle.zip?id=park").data == made_once


def test_a_bundle_is_made_anew_once_anything_in_it_is_another(client, shop):
    first = client.get("/bundle.zip?id=park").data
    keep(shop, "machine", "workshop", shop.text("machine", "workshop") + "# later\n")
    second = client.get("/bundle.zip?id=park").data
    keep(shop, "macro", "park", shop.text("macro", "park") + "# later\n")
    assert len({first, second, client.get("/bundle.zip?id=park").data}) == 3


def test_a_bundle_of_what_is_not_there_is_said(client):
    answer = client.get("/bundle.zip?id=gone")
    assert (answer.status_code, "no macro" in answer.get_data(as_text=True)) == (409, True)


# Make portable


def seen(shop, name):
    return shop.head("macro", name).number


def test_each_number_is_shown_with_what_it_would_become(client, shop, put):
    put({"block": "raise", "to": "-2 mm"}, {"block": "go-to", "x": "260 mm"})
    html = client.get("/portable/park").get_data(as_text=True)
    for part in ("<code>-2 mm</code>", "<code>safe.z</code>", "<code>travel.x.max</code>", "writes the same lines"):
        assert part in html, part
    assert shop.text("macro", "park").count("260 mm") == 1


def test_only_what_is_ticked_is_changed(client, shop, put):
    put({"block": "raise", "to": "-2 mm"}, {"block": "go-to", "x": "260 mm"})
    data = {"seen": seen(shop, "park"), "change": "2.x"}
    html = client.post("/portable/park", data=data, follow_redirects=True).get_data(as_text=True)
    assert "1 number is a landmark now" in html
    macro = documents.parse("macro", shop.text("macro", "park"))
    assert [dict(step.values) for step in macro.step] == [{"to": "-2 mm"}, {"x": "travel.x.max"}]
    assert shop.revisions("macro", "park")[0].why == "made portable"


def test_what_does_not_adapt_is_told(client, put):
    put({"block": "own-lines", "lines": "G4 P1"}, start="z >= -20 mm")
    html = client.get("/portable/park").get_data(as_text=True)
    assert "No number in it equals a landmark" in html
    assert "start condition z &gt;= -20 mm" in html
    assert "holds lines of its own" in html


def test_a_page_that_is_old_changes_nothing(client, shop, put):
    put({"block": "raise", "to": "-2 mm"})
    old = seen(shop, "park")
    put({"block": "raise", "to": "-2 mm"}, {"block": "dwell"})
    for data, status in (
        ({"seen": old, "change": "1.to"}, 409),
        ({"change": "1.to"}, 422),
        ({"seen": seen(shop, "park")}, 422),
    ):
        assert client.post("/portable/park", data=data).status_code == status
    assert "-2 mm" in shop.text("macro", "park")
    assert client.get("/portable/gone").status_code == 404


# The shelf


def test_the_page_of_a_macro_says_where_it_comes_from_and_leads_on(send, client, shop):
    where, data = form_of(send(("b.zip", made("lift"))))
    client.post(where, data=data)
    html = client.get("/shelf/lift").get_data(as_text=True)
    assert re.search(r"<dd>bundle b\.zip, taken in .*; it told of Mill", html)
    assert 'href="/bundle.zip?id=lift"' in html
    assert 'href="/portable/lift"' in html
    assert 'href="/review"' in client.get("/shelf").get_data(as_text=True)
    assert "taken in" not in client.get("/shelf/park").get_data(as_text=True)
