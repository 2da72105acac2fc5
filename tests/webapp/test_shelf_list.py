"""The shelf as a list: searched, filtered, sorted and leafed through, its verdicts coming behind the page."""

from __future__ import annotations

import html
import re
import sqlite3
import tomllib
from contextlib import closing
from types import SimpleNamespace

import pytest

from library import documents, macros, starter
from tests.webapp.shelves import HTMX, fill, prove_shelf
from tests.workshops import keep
from webapp.pages import shelf as shelf_page
from webapp.pages import shelf_index, shelf_proving
from webapp.pages.shelf_list import PER_PAGE

ALL = len(starter.macros())
"""Macros on the shelf of a new workshop."""

THROUGH_THE_VISE = {"block": "go-to", "x": "20 mm", "y": "20 mm"}
PROBE = {"block": "probe-down"}


def text_of(client, query=""):
    answer = client.get(f"/shelf?{query}")
    assert answer.status_code == 200, answer.text
    return html.unescape(answer.text)


def names(client, query=""):
    """Ids of the macros in the order of the list."""
    return re.findall(r'<th scope="row"><a href="/bench/([^"]+)">', text_of(client, query))


def write(shop, id, **keys):
    text = shop.text("macro", id)
    for key, value in keys.items():
        text = macros.set_header(text, key, value)
    keep(shop, "macro", id, text)


@pytest.fixture
def proofs(monkeypatch):
    """The macros that were proved, by name, in order."""
    done = []
    prove = shelf_page.prove_macro
    shelf_page.proved.cache_clear()

    def counted(macro, *args, **named):
        done.append(macro.name)
        return prove(macro, *args, **named)

    monkeypatch.setattr(shelf_page, "prove_macro", counted)
    return done


class TestVerdicts:
    @pytest.mark.parametrize("address", ["/shelf/verdicts", "/shelf/verdicts/all", "/shelf-on-machines/verdicts"])
    def test_without_scripts_the_page_comes_back_within_a_second_or_so(self, client, monkeypatch, address):
        now, prove = [1000.0], shelf_proving.verdict

        def takes_its_time(job):
            now[0] += 0.4
            return prove(job)

        monkeypatch.setattr(shelf_proving, "time", SimpleNamespace(monotonic=lambda: now[0]))
        monkeypatch.setattr(shelf_proving, "verdict", takes_its_time)
        assert client.post(address).status_code == 302
        assert now[0] - 1000.0 < 1.5
        assert text_of(client).count("not proved yet</span>") == ALL - 3

    def test_the_page_comes_before_any_is_proved(self, client, proofs):
        assert text_of(client).count("not proved yet</span>") == ALL
        assert proofs == []

    def test_a_page_with_scripts_gets_them_in_portions_until_all_are_there(self, client, proofs, monkeypatch):
        monkeypatch.setattr(shelf_proving, "PORTION", 0.0)
        came = []
        for _ in range(20):
            answer = client.post("/shelf/verdicts", headers=HTMX).text
            came += re.findall(r'id="verdict-([^"]+)" hx-swap-oob="true"><span class="verdict ', answer)
            if "hx-trigger" not in answer.split('id="to-prove"')[1]:
                break
        assert sorted(came) == sorted(starter.macros())
        assert len(proofs) == len(came)

    def test_without_scripts_a_button_proves_and_shows_the_same_list(self, client, shop):
        answer = client.post("/shelf/verdicts", data={"q": "table", "sort": "time"})
        assert answer.headers["Location"] == "/shelf?q=table&sort=time"
        assert "not proved yet</span>" not in text_of(client, "q=table&sort=time")

    def test_nothing_is_proved_twice(self, client, proofs):
        for _ in range(3):
            prove_shelf(client)
            client.get("/shelf")
        assert len(proofs) == len(starter.macros())

    def test_a_restart_proves_nothing_again(self, client, app, application, tmp_path, proofs):
        prove_shelf(client)
        shelf_page.proved.cache_clear()
        proofs.clear()
        from webapp import create_app

        again = create_app(app.extensions["workshop"].path).test_client()
        assert "not proved yet</span>" not in text_of(again)
        prove_shelf(again)
        assert proofs == []

    @pytest.mark.parametrize("kind", ["machine", "controller"])
    def test_another_sheet_asks_for_every_verdict_anew(self, client, shop, kind):
        prove_shelf(client)
        keep(shop, kind, "workshop", shop.text(kind, "workshop") + "# later\n")
        assert text_of(client).count("not proved yet</span>") == ALL

    def test_a_macro_that_another_one_runs_asks_for_both_anew(self, client, shop):
        write(shop, "park", step=[{"block": "run-macro", "macro": "retract"}])
        prove_shelf(client)
        write(shop, "retract", purpose="Another")
        assert text_of(client).count("not proved yet</span>") == 2

    def test_one_that_is_changed_while_another_is_proved_does_not_spoil_its_verdict(self, client, shop, monkeypatch):
        write(shop, "park", step=[{"block": "run-macro", "macro": "retract"}])
        before, prove = shop.text("macro", "retract"), shelf_page.prove_macro

        def changed_meanwhile(macro, *args, **named):
            if shop.text("macro", "retract") == before:
                write(shop, "retract", step=[{"block": "raise", "to": "keep_out.nothing.top"}])
            return prove(macro, *args, **named)

        shelf_page.proved.cache_clear()
        monkeypatch.setattr(shelf_page, "prove_macro", changed_meanwhile)
        prove_shelf(client)
        monkeypatch.undo()
        keep(shop, "macro", "retract", before)
        assert "park" not in names(client, "verdict=unwritten")
        assert "keep_out.nothing" not in text_of(client)

    def test_another_program_asks_for_every_verdict_anew(self, client, monkeypatch):
        from webapp import kept_verdicts

        prove_shelf(client)
        kept_verdicts._on.cache_clear()
        monkeypatch.setattr(kept_verdicts, "program", lambda: "another")
        assert text_of(client).count("not proved yet</span>") == ALL
        kept_verdicts._on.cache_clear()

    def test_a_macro_that_cannot_be_read_says_so(self, client, shop):
        keep(shop, "macro", "park", "spoilt = ")
        prove_shelf(client)
        assert ">Cannot be read</span>" in text_of(client)
        assert names(client, "verdict=unreadable") == ["park"]

    def test_what_is_missing_here_is_named(self, client, shop):
        write(shop, "park", step=[{"block": "raise", "to": "keep_out.nothing.top"}])
        prove_shelf(client)
        assert "Missing here: the landmark keep_out.nothing.top" in text_of(client)


class TestTheFileOfVerdicts:
    def file(self, app):
        return app.extensions["workshop"].path / "clickstop.sqlite.verdicts"

    @pytest.mark.parametrize("content", [b"", b"no database at all" * 100, b"SQLite format 3\0" + b"\xff" * 5000])
    def test_a_damaged_one_is_thrown_away(self, app, client, content):
        self.file(app).write_bytes(content)
        assert text_of(client).count("not proved yet</span>") == ALL
        prove_shelf(client)
        assert "not proved yet</span>" not in text_of(client)

    def test_one_that_cannot_be_written_keeps_them_while_the_program_runs(self, app, client, proofs):
        self.file(app).mkdir()
        prove_shelf(client)
        assert "not proved yet</span>" not in text_of(client)
        prove_shelf(client)
        assert len(proofs) == ALL

    def test_a_row_of_another_shape_is_proved_again(self, app, client):
        prove_shelf(client)
        with closing(sqlite3.connect(self.file(app))) as connection, connection:
            connection.execute("UPDATE verdicts SET told = '{}'")
        assert text_of(client).count("not proved yet</span>") == ALL
        assert client.post("/shelf/verdicts").status_code == 302
        assert "not proved yet</span>" not in text_of(client)

    def test_one_whose_layout_is_not_utf_8_is_thrown_away(self, app, client):
        prove_shelf(client)
        self.spoil(app, "PRAGMA journal_mode = DELETE")
        content = self.file(app).read_bytes()
        assert b"CREATE TABLE verdicts" in content
        self.file(app).write_bytes(content.replace(b"CREATE TABLE verdicts", b"CRE\x8fTE TABLE verdicts"))
        assert text_of(client).count("not proved yet</span>") == ALL
        prove_shelf(client)
        assert "not proved yet</span>" not in text_of(client)

    def spoil(self, app, *commands):
        with closing(sqlite3.connect(self.file(app))) as connection, connection:
            for command in commands:
                connection.execute(command)

    @pytest.mark.parametrize(
        "picture",
        [
            "<script>alert(1)</script>",
            '<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"></svg>',
            "PICTURE<script>alert(1)</script>",
            '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 96 84" class="thumb" role="img" aria-label="x">'
            "<script>alert(1)</script></svg>",
            '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 96 84" class="thumb" role="img" aria-label="x">'
            '<g><path d="M0 0" onclick="alert(1)" /></g></svg>',
        ],
    )
    def test_markup_of_anothers_does_not_come_into_a_page(self, app, client, picture):
        prove_shelf(client)
        sound = text_of(client)
        assert sound.count('class="thumb"') == ALL
        picture = picture.replace("PICTURE", re.search(r"<svg.*?</svg>", sound, re.DOTALL)[0]).replace("'", "''")
        self.spoil(app, f"UPDATE verdicts SET told = json_set(told, '$.picture', '{picture}')")
        assert text_of(client).count("not proved yet</span>") == ALL
        for page in ("/shelf", "/shelf/park", "/shelf-on-machines"):
            assert "alert(1)" not in client.get(page).text

    @pytest.mark.parametrize(
        "change",
        [
            "told = json_set(told, '$.seconds', 'soon')",
            "told = json_set(told, '$.seconds', 9e999)",
            "told = json_set(told, '$.word', json('{}'))",
            "told = json_set(told, '$.lacks', json('[[1]]'))",
            "told = '" + "[" * 100_000 + "'",
            "told = '[]'",
            "told = '3'",
            """told = replace(told, '"sentence": "', '"sentence": "' || char(92) || 'ud800')""",
            "verdict = 'nobody', told = json_set(told, '$.verdict', 'nobody', '$.shape', 'nobody')",
            "seconds = 'soon', needs = x'ff', verdict = x'00'",
            "key = x'00' || key",
        ],
    )
    @pytest.mark.parametrize("query", ["", "sort=time", "sort=verdict&need=probe", "verdict=proved"])
    def test_a_row_that_no_call_of_ours_writes_is_passed_over(self, app, client, change, query):
        prove_shelf(client)
        self.spoil(app, f"UPDATE verdicts SET {change}")
        assert "Internal" not in text_of(client, query)
        assert client.get("/shelf-on-machines").status_code == 200

    def test_a_file_that_is_laid_out_otherwise_is_thrown_away(self, app, client):
        prove_shelf(client)
        endless = "WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i, i, i, i, i FROM n"
        self.spoil(
            app, "DROP TABLE verdicts", f"CREATE VIEW verdicts (key, verdict, seconds, needs, told) AS {endless}"
        )
        assert text_of(client).count("not proved yet</span>") == ALL
        prove_shelf(client)
        assert "not proved yet</span>" not in text_of(client)


class TestFinding:
    def test_every_word_has_to_stand_somewhere(self, client, shop):
        write(shop, "park", author="Zoë Ångström", tags=["corner"])
        assert names(client, "q=ZOË") == ["park"]
        assert names(client, "q=corner+zoë") == ["park"]
        assert names(client, "q=corner+nowhere") == []
        assert f"None of {ALL} macros." in text_of(client, "q=corner+nowhere")

    def test_names_purposes_and_the_text_itself_are_searched(self, client, shop):
        keep(shop, "macro", "park", shop.text("macro", "park") + "# mind the brass shim\n")
        assert "retract" in names(client, "q=retract")
        assert names(client, "q=measure-part") == ["measure-part"]
        assert names(client, "q=Shim+brass") == ["park"]

    def test_a_tag_is_chosen_from_those_there_are(self, client, shop):
        write(shop, "park", tags=["a & b"])
        assert names(client, "tag=a+%26+b") == ["park"]
        assert "a & b (1)" in text_of(client)

    def test_a_verdict_is_asked_for_once_it_is_known(self, client, shop, put):
        put(THROUGH_THE_VISE)
        assert names(client, "verdict=refused") == []
        assert f"{ALL} of {ALL} macros are not proved" in text_of(client, "verdict=refused")
        assert len(names(client, "verdict=unknown")) == ALL
        prove_shelf(client)
        assert names(client, "verdict=refused") == ["park"]
        assert names(client, "verdict=unknown") == []
        assert "not proved on" not in text_of(client, "verdict=refused")

    def test_what_macros_need_is_asked_for(self, client):
        prove_shelf(client)
        assert names(client, "need=probe") == []
        assert "measure-part" in names(client, "need=pause")
        assert "park" not in names(client, "need=pause")
        assert "retract" in names(client, "need=machine-moves")

    def test_what_is_asked_for_stays_in_the_form(self, client):
        text = text_of(client, "q=table&verdict=proved&sort=time")
        assert 'name="q" value="table"' in text
        assert '<option value="proved" selected>' in text
        assert '<option value="time" selected>' in text

    @pytest.mark.parametrize(
        "query", ["verdict=nothing", "sort=nothing", "need=x", "page=0", "page=-1", "page=9999999", "page=x", "page=²"]
    )
    def test_what_makes_no_sense_asks_for_nothing(self, client, query):
        assert len(names(client, query)) == ALL

    def test_words_of_any_length_and_kind_are_taken(self, client):
        for query in ("q=" + "x" * 5000, "q=%00%ff", "tag=" + "y" * 5000, "q=" + "+".join("ab" * 40)):
            assert client.get(f"/shelf?{query}").status_code == 200


class TestOrder:
    def test_by_name_at_first(self, client, shop):
        write(shop, "park", name="aaa")
        assert names(client)[0] == "park"

    def test_by_verdict_with_the_refused_first(self, client, put):
        put(THROUGH_THE_VISE)
        prove_shelf(client)
        assert names(client, "sort=verdict")[:2] == ["park", "home"]

    def test_by_time_with_what_has_none_last(self, client, shop):
        keep(shop, "macro", "home", "spoilt = ")
        prove_shelf(client)
        assert names(client, "sort=time")[-1] == "home"
        assert names(client, "sort=time")[0] == "retract"

    def test_by_author_with_what_has_none_last(self, client, shop):
        write(shop, "park", author="Beth")
        write(shop, "retract", author="adam")
        assert names(client, "sort=author")[:2] == ["retract", "park"]

    def test_by_the_last_change(self, client, shop, monkeypatch):
        import sqlite3
        from contextlib import closing

        with closing(sqlite3.connect(shop.file)) as connection, connection:
            connection.execute("UPDATE revisions SET saved = '2020-01-01T00:00:00+00:00' WHERE id != 'park'")
        assert names(client, "sort=changed")[0] == "park"


class TestPages:
    def test_so_many_stand_on_one_and_the_rest_on_others(self, client, shop):
        fill(shop, PER_PAGE + 10)
        first, second = names(client), names(client, "page=2")
        assert (len(first), len(second)) == (PER_PAGE, 10)
        assert not set(first) & set(second)
        assert 'aria-current="page"><span class="visually-hidden">Page </span>2<' in text_of(client, "page=2")
        assert names(client, "page=99") == second, "the last there is"
        assert 'href="/shelf?q=macro&page=2"' in text_of(client, "q=macro") or len(names(client, "q=macro")) <= PER_PAGE

    def test_the_rest_is_proved_by_a_button_and_the_page_comes_back(self, client, shop):
        fill(shop, PER_PAGE + 5)
        assert f"{PER_PAGE + 5} of {PER_PAGE + 5} macros are not proved" in text_of(client)
        answer = client.post("/shelf/verdicts/all", headers=HTMX, data={"page": "2"})
        assert answer.headers["HX-Redirect"] == "/shelf?page=2"
        assert "not proved yet</span>" not in text_of(client, "page=2")
        assert "macros are not proved" not in text_of(client)


class TestFacts:
    """The head of a document is enough to list it, whatever stands there."""

    def test_a_bracket_within_a_list_or_a_long_text_is_no_table(self):
        text = 'name = "N"\ntags = [\n["x"],\n"a"\n]\nauthor = """one\n[two]\nthree"""\n[[step]]\nblock = "raise"\n'
        found = shelf_index.facts(text)
        assert (found.name, found.tags, found.author) == ("N", ("a",), "one [two] three")

    @pytest.mark.parametrize("text", starter.macros().values(), ids=starter.macros())
    def test_plain_lines_are_read_as_toml_would_be(self, text):
        found = shelf_index.facts(text)
        said = tomllib.loads(text)
        assert shelf_index._plain(text.split("\n[", 1)[0]) is not None, "or nothing has been tried"
        assert (found.name, found.purpose, list(found.tags)) == (said["name"], said["purpose"], said["tags"])

    @pytest.mark.parametrize(
        ("line", "name"),
        [
            ('name = "a\\u00e9b"', "aéb"),
            ("name = 'a\"b'", 'a"b'),
            ('name = """a"""', "a"),
            ('name = "a" # "b"', "a"),
            ('"name" = "a"', "a"),
            ('tags = ["x", "y"]\nname = "a"', "a"),
        ],
    )
    def test_lines_that_are_not_plain_mean_what_they_mean_in_toml(self, line, name):
        assert shelf_index.facts(f"{line}\n[[step]]\n").name == name

    @pytest.mark.parametrize(
        "text", ["", "= ", "name = 3", "tags = 'x'", "name = [1]", "a." * 9000 + "b = 1", "[" * 9000]
    )
    def test_what_is_no_macro_has_no_name(self, text):
        assert shelf_index.facts(text).name == ""

    def test_the_macros_that_are_run_are_followed(self, shop):
        write(shop, "park", step=[{"block": "run-macro", "macro": "retract"}])
        write(shop, "home", step=[{"block": "run-macro", "macro": "park"}, {"block": "run-macro", "macro": "home"}])
        shelf = shelf_index.listed(shop)
        assert {id for id, _ in shelf_index.runs(shelf["home"], shelf)} == {"park", "retract", "home"}


def test_a_thumbnail_says_in_words_what_it_shows(client):
    prove_shelf(client)
    text = text_of(client)
    assert text.count('class="thumb" role="img" aria-label="Path: ') == ALL
    assert re.search(r'aria-label="Path: \d lines with motion, from X [\d.-]+ Y [\d.-]+ Z [\d.-]+ to X', text)
    assert 'aria-label="Path: nothing moves."' in text


def test_a_thumbnail_of_a_long_program_stays_small(app, client, shop):
    points = "\n".join(f"G53 G0 X{10 + (n * 37) % 200} Y{10 + (n * 53) % 100}" for n in range(3000))
    write(shop, "park", step=[{"block": "raise"}, {"block": "own-lines", "lines": points}])
    prove_shelf(client)
    (found,) = re.findall(r'id="picture-park">(.*?)</span>', text_of(client), re.DOTALL)
    assert 1_000 < len(found) < 40_000
    assert documents.digest(found)
