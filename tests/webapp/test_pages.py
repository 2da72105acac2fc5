"""The pages beside the bench: what they show, what they save, and that a mistake loses nothing."""

import html
import io
import re
import tomllib
import zipfile
from importlib.resources import files

import pytest

from library import documents, limits, pack
from library.blocks import REGISTRY
from library.pack import lamp
from library.pendant import GARBLED
from parser.proof.rules import RULES
from tests.webapp.forms.sheets import cells
from tests.webapp.rendered import hidden
from tests.webapp.shelves import prove_shelf
from tests.workshops import keep
from webapp.pages import handbook
from webapp.pages.forms import posting
from webapp.pages.text_fields import from_textarea
from webapp.views import help as help_pages


def page(client, path, status=200):
    answer = client.get(path)
    assert answer.status_code == status, answer.text
    return html.unescape(answer.text)


def seen(shop, kind="machine"):
    """What a page of a sheet sends to say which revision it shows."""
    return {"seen": str(shop.head(kind, "workshop").number)}


def fields(shop):
    """Every field of the form of the machine sheet as a browser would send it."""
    text = shop.text("machine", "workshop")
    return cells("machine", text) | seen(shop)


class TestHelp:
    @pytest.mark.parametrize("allowed", limits.TABLE, ids=str)
    def test_every_limit_is_on_its_page(self, client, allowed):
        shown = html.unescape(page(client, "/help/limits"))
        assert str(allowed) in shown
        assert allowed.of[1:] in shown
        assert allowed.why[1:] in shown

    @pytest.mark.parametrize("name", list(help_pages.TOPICS))
    def test_every_topic_has_a_page(self, client, name):
        assert help_pages.TOPICS[name].title in page(client, f"/help/{name}")

    def test_the_index_lists_every_topic_under_a_heading(self, client):
        text = page(client, "/help")
        assert all(f'href="/help/{name}"' in text for name in help_pages.TOPICS)
        assert all(f">{part}</h2>" in text for part in help_pages.PARTS)

    @pytest.mark.parametrize("name", list(RULES))
    def test_every_rule_has_its_manual(self, client, name):
        text = page(client, f"/help/rules/{name}")
        manual = RULES[name].manual()
        assert manual.title in text
        for part in (manual.what, manual.why, manual.remedy):
            assert part
            assert all(paragraph in text for paragraph in handbook.paragraphs(part))

    @pytest.mark.parametrize("name", list(REGISTRY))
    def test_every_block_shows_its_values_and_what_it_writes_here(self, client, name):
        text = page(client, f"/help/blocks/{name}")
        assert all(f"<code>{parameter.name}</code>" in text for parameter in REGISTRY[name].parameters)
        assert f'block = "{name}"' in text

    @pytest.mark.parametrize("kind", list(documents.KINDS))
    def test_every_key_of_a_document_is_explained(self, client, kind):
        text = page(client, f"/help/documents/{kind}")
        for table in handbook.tables(documents.schema(kind)):
            for key in table.keys:
                assert key.about or key.name == "format", f"{table.headings} {key.name} has no help"
                assert f"<code>{key.name}</code>" in text

    def test_axes_with_the_same_keys_are_explained_once(self):
        headings = [table.headings for table in handbook.tables(documents.schema("machine"))]
        assert ("[axes.x]", "[axes.y]", "[axes.z]", "[axes.a]", "[axes.b]", "[axes.c]") in headings

    def test_every_option_of_the_command_is_explained(self, client):
        from webapp.cli import main

        for command in handbook.commands(main, "clickstop"):
            assert all(option.about for option in command.options), command.name
        assert "clickstop check" in page(client, "/help/commands")
        assert "take it in with <code>--keep</code>." in client.get("/help/commands").text

    @pytest.mark.parametrize(
        "path", ["/help/nothing", "/help/rules/nothing", "/help/blocks/nothing", "/help/documents/nothing"]
    )
    def test_a_page_that_does_not_exist_says_so(self, client, path):
        page(client, path, 404)


class TestPendant:
    def test_driven_positions_take_no_macro(self, client):
        text = page(client, "/pendant")
        assert "drives X" in text
        assert len(re.findall(r"<select", text)) == 9

    def test_a_macro_is_put_on_a_slot(self, client, shop):
        client.post("/pendant", data=hidden(client, "/pendant") | {"slot.6.2": "park", "was.slot.6.2": ""})
        assert shop.bench().pendant.slots["6"]["x100"] == "park"

    def test_htmx_gets_the_board_alone(self, client):
        answer = client.post(
            "/pendant", data=hidden(client, "/pendant") | {"slot.6.2": "park"}, headers={"HX-Request": "true"}
        )
        assert answer.text.lstrip().startswith('<div id="board"')

    def test_a_slot_is_emptied(self, client, shop):
        was = shop.bench().pendant.slots["4"]["x1"]
        client.post("/pendant", data=hidden(client, "/pendant") | {"slot.4.0": "", "was.slot.4.0": was})
        assert "x1" not in shop.bench().pendant.slots.get("4", {})

    def test_slots_that_the_page_did_not_touch_keep_what_was_put_there_meanwhile(self, client, shop):
        client.post("/pendant", data=hidden(client, "/pendant") | {"slot.6.2": "park", "was.slot.6.2": ""})
        client.post(
            "/pendant",
            data=hidden(client, "/pendant")
            | {"slot.6.2": "", "was.slot.6.2": "", "slot.4.1": "park", "was.slot.4.1": ""},
        )
        assert shop.bench().pendant.slots["6"]["x100"] == "park"

    def test_undo_takes_a_macro_off_again(self, client, shop):
        before = shop.text("pendant", "workshop")
        client.post("/pendant", data=hidden(client, "/pendant") | {"slot.6.2": "park"})
        client.post("/pendant/turn-back", data=hidden(client, "/pendant") | {"way": "undo"})
        assert shop.text("pendant", "workshop") == before

    def test_a_macro_that_is_gone_is_a_clash(self, client, shop):
        macro = shop.bench().pendant.slots["4"]["x1"]
        shop.delete("macro", macro)
        text = page(client, "/pendant")
        assert "not on the shelf" in text
        assert "/help/rules/slot-clash" in text

    def test_the_whole_pendant_is_proved(self, client):
        text = page(client, "/pendant")
        assert "Proving the whole pendant" in text
        assert "No slot and no sequence is refused, even if let go part-way." in text

    def test_a_pair_of_macros_that_do_not_go_together_is_named(self, client, shop):
        steps = [{"block": "own-lines", "lines": "G21\nG10 L2 P1 X10"}]
        text = documents.write("macro", {("name",): "Shift", ("step",): steps}, shop.text("macro", "retract"))
        keep(shop, "macro", "retract", text, "shifted")
        text = page(client, "/pendant")
        assert re.search(r">Shift</a>, then <a [^>]+>Above the work</a>: Line", text)
        assert "/help/rules/sequence-breaks-proof" in text


class TestSheets:
    @pytest.mark.parametrize("kind", ["machine", "controller", "pendant"])
    def test_every_sheet_shows_its_document(self, client, shop, kind):
        first = shop.text(kind, "workshop").splitlines()[0]
        assert first in page(client, f"/sheets/{kind}")

    def test_a_document_is_saved_byte_for_byte(self, client, shop):
        text = shop.text("machine", "workshop").replace("260.0", "250.0") + "# mine\n"
        client.post("/sheets/machine", data={"text": text.replace("\n", "\r\n"), **seen(shop)})
        assert shop.text("machine", "workshop") == text

    def switched(self, client, shop, **pressed):
        before = shop.text("machine", "workshop")
        typed = before.replace('format = "clickstop-machine/1"\n', 'format = "clickstop-machine/1"\nunits = "inch"\n')
        return client.post("/sheets/machine", data={"text": typed, **seen(shop), **pressed})

    def test_units_that_are_switched_alone_are_not_taken_silently(self, client, shop):
        before = shop.text("machine", "workshop")
        answer = self.switched(client, shop)
        assert answer.status_code == 422
        assert 'value="convert"' in answer.text
        assert 'value="keep"' in answer.text
        assert shop.text("machine", "workshop") == before

    def test_switched_figures_are_kept_or_converted_as_the_button_says(self, client, shop):
        long = shop.bench().machine.axis("x").travel.length
        self.switched(client, shop, figures="convert")
        assert shop.bench().machine_sheet.units == "inch"
        assert shop.bench().machine.axis("x").travel.length == pytest.approx(long, abs=1e-3)
        shop.undo("machine", "workshop")
        self.switched(client, shop, figures="keep")
        assert shop.bench().machine.axis("x").travel.length == pytest.approx(25.4 * long)

    def test_units_that_are_switched_with_the_figures_are_taken(self, client, shop):
        before = shop.text("machine", "workshop")
        typed = documents.converted("machine", documents.write("machine", {("units",): "inch"}, before), "mm")
        answer = client.post("/sheets/machine", data={"text": typed, **seen(shop)})
        assert answer.status_code == 302
        assert shop.text("machine", "workshop") == typed

    def test_a_controller_that_rests_in_other_units_than_the_sheet_says_so(self, client, shop):
        told = "The machine sheet is in inches, and the controller rests in G21"
        assert told not in page(client, "/sheets/controller")
        self.switched(client, shop, figures="convert")
        assert told in page(client, "/sheets/machine")
        assert told in page(client, "/sheets/controller")

    def test_a_new_macro_of_an_inch_workshop_is_in_inches_with_its_defaults(self, client, shop):
        self.switched(client, shop, figures="convert")
        client.post("/shelf/new", data={"name": "Nearer"})
        client.post("/bench/nearer", data=hidden(client, "/bench/nearer") | {"do": "add", "add": "nudge"})
        made = documents.parse("macro", shop.text("macro", "nearer"))
        assert (made.units, made.step[0].values["by"]) == ("inch", "0.0394 in")

    def test_a_mistake_is_told_in_one_line_and_what_was_typed_stays(self, client, shop):
        before = shop.text("machine", "workshop")
        typed = before.replace("rapid =", "rapids =", 1)
        answer = client.post("/sheets/machine", data={"text": typed, **seen(shop)})
        assert answer.status_code == 422
        assert "rapids" in answer.text.split("<textarea")[0]
        assert "rapids =" in answer.text.split("<textarea")[1]
        assert shop.text("machine", "workshop") == before

    def test_a_sheet_of_a_machine_that_cannot_be_is_not_saved(self, client, shop):
        before = shop.text("machine", "workshop")
        typed = before.replace("rapid = 2400.0", "rapid = 5e-324", 1)
        answer = client.post("/sheets/machine", data={"text": typed, **seen(shop)})
        assert answer.status_code == 422
        assert "apid of axis x is 5e-324" in answer.text.split("<textarea")[0]
        assert shop.text("machine", "workshop") == before

    def test_an_older_page_does_not_overwrite_a_newer_sheet(self, client, shop):
        before = shop.text("machine", "workshop")
        older = seen(shop)
        keep(shop, "machine", "workshop", before + "# newer\n", "elsewhere")
        answer = client.post("/sheets/machine", data={"text": before + "# older\n", **older})
        assert answer.status_code == 409
        assert "# older" in answer.text.split("<textarea")[1]
        assert "# newer" in answer.text.split("<textarea")[0]
        assert shop.text("machine", "workshop").endswith("# newer\n")

    def test_undo_and_redo_go_through_saved_revisions(self, client, shop):
        before = shop.text("machine", "workshop")
        client.post("/sheets/machine", data={"text": before + "# mine\n", **seen(shop)})
        client.post("/sheets/machine/turn-back", data=hidden(client, "/sheets/machine") | {"way": "undo"})
        assert shop.text("machine", "workshop") == before
        client.post("/sheets/machine/turn-back", data=hidden(client, "/sheets/machine") | {"way": "redo"})
        assert shop.text("machine", "workshop") == before + "# mine\n"

    def test_the_form_changes_one_number_and_nothing_else(self, client, shop):
        before = shop.text("machine", "workshop")
        client.post("/sheets/machine/part/axes", data=fields(shop) | {"axes.x.rapid": "1999"})
        after = shop.text("machine", "workshop")
        changed = [line for line in after.splitlines() if line not in before.splitlines()]
        assert len(changed) == 1
        assert "1999.0" in changed[0]
        assert len(after.splitlines()) == len(before.splitlines())

    def test_the_form_as_shown_changes_nothing(self, shop):
        before = shop.text("machine", "workshop")
        assert posting.changed("machine", before, fields(shop)).text == before

    def test_a_keep_out_is_added_and_removed(self, client, shop):
        count = len(shop.bench().machine_sheet.keep_out)
        corner = {f"keep_out.{count}.from.{at}": str(at) for at in range(3)}
        other = {f"keep_out.{count}.to.{at}": str(at + 5) for at in range(3)}
        client.post(
            "/sheets/machine/part/axes", data=fields(shop) | corner | other | {f"keep_out.{count}.name": "Clamp"}
        )
        assert shop.bench().machine_sheet.keep_out[-1].name == "Clamp"
        client.post("/sheets/machine/part/axes", data=fields(shop) | {f"remove.keep_out.{count}": "yes"})
        assert len(shop.bench().machine_sheet.keep_out) == count

    @pytest.mark.parametrize("typed", ["12,5", "nan", "ten", "1e999"])
    def test_what_is_not_a_number_is_marked_and_kept(self, client, shop, typed):
        before = shop.text("machine", "workshop")
        answer = client.post("/sheets/machine/part/axes", data=fields(shop) | {"axes.x.rapid": typed})
        assert answer.status_code == 422
        assert f'value="{typed}"' in answer.text
        assert 'aria-describedby="f-axes-x-rapid-error f-axes-x-rapid-help"' in answer.text
        assert '<a href="#f-axes-x-rapid">Axis X, Rapid: ' in answer.text
        assert 'id="part-axes" open' in answer.text
        assert shop.text("machine", "workshop") == before

    def test_a_minus_may_be_copied_from_the_drawing(self, client, shop):
        typed = fields(shop) | {"safe.z": "\N{MINUS SIGN}3"}
        assert client.post("/sheets/machine/part/axes", data=typed).status_code == 302
        assert shop.bench().machine_sheet.safe.z == -3.0

    def test_a_reversed_travel_is_told_at_its_field(self, shop):
        text = shop.text("machine", "workshop")
        change = posting.changed("machine", text, fields(shop) | {"axes.x.travel.1": "-300"})
        assert list(change.errors) == ["axes.x.travel.0"]

    def test_a_controller_starts_from_what_was_ticked(self, client, shop):
        client.post(
            "/sheets/controller/presets",
            data={"preset": ["g28-homes", "dwell-milliseconds"], **seen(shop, "controller")},
        )
        sheet = shop.bench().controller_sheet
        assert (sheet.g28, sheet.dwell.unit) == ("home", "ms")

    def test_presets_that_contradict_each_other_are_refused(self, client):
        answer = client.post("/sheets/controller/presets", data={"preset": ["dwell-s-word", "dwell-milliseconds"]})
        assert answer.status_code == 422
        assert "Not saved. Dwell-s-word (a dwell is G4 S in seconds) and dwell-milliseconds" in answer.text
        assert answer.text.count('name="preset"') > answer.text.count(" checked") == 2, "the ticks stay"

    def test_the_machine_has_its_name_on_the_form(self, client, shop):
        typed = fields(shop)
        client.post("/sheets/machine/part/axes", data=typed | {"name": "The mill in the cellar"})
        assert shop.bench().machine.name == "The mill in the cellar"
        nameless = fields(shop) | {"name": ""}
        assert 'href="#f-name"' in client.post("/sheets/machine/part/axes", data=nameless).text

    def test_a_sheet_is_downloaded_as_it_is_kept(self, client, shop):
        assert client.get("/sheets/machine.toml").text == shop.text("machine", "workshop")


class TestShelf:
    def test_every_macro_stands_there_with_its_verdict(self, client, shop):
        prove_shelf(client)
        text = page(client, "/shelf")
        assert all(f'href="/bench/{name}"' in text for name in shop.ids("macro"))
        assert text.count('class="verdict ') == len(shop.ids("macro"))

    def test_a_new_macro_opens_on_the_bench(self, client, shop):
        answer = client.post("/shelf/new", data={"name": "Fetch the probe"})
        assert answer.headers["Location"] == "/bench/fetch-the-probe"
        assert "fetch-the-probe" in shop.ids("macro")

    @pytest.mark.parametrize("name", ["", "!!!", "a\nb"])
    def test_a_name_that_cannot_be_used_is_told(self, client, shop, name):
        before = shop.ids("macro")
        answer = client.post("/shelf/new", data={"name": name})
        assert answer.status_code == 422
        assert "Not created." in answer.text
        assert shop.ids("macro") == before

    def test_a_macro_from_elsewhere_gets_a_free_id(self, client, shop):
        text = shop.text("macro", "park")
        client.post("/shelf/add", data={"text": text})
        assert tomllib.loads(shop.text("macro", "park-2"))["id"] == "park-2"
        assert shop.text("macro", "park") == text

    def test_a_file_is_put_on_the_shelf(self, client, shop):
        text = shop.text("macro", "park").replace('id = "park"', 'id = "mine"')
        client.post("/shelf/add", data={"file": (io.BytesIO(text.encode()), "mine.toml")})
        assert shop.text("macro", "mine") == text

    @pytest.mark.parametrize("given", [b"", b"\xff\xfe\x00", b"x = [", b'format = "clickstop-machine/1"'])
    def test_what_is_no_macro_is_told_in_one_line(self, client, shop, given):
        before = shop.ids("macro")
        answer = client.post("/shelf/add", data={"file": (io.BytesIO(given), "mine.toml")})
        assert answer.status_code == 422
        assert "Not added." in answer.text
        assert shop.ids("macro") == before

    def test_a_copy_leaves_the_original_alone(self, client, shop):
        before = shop.text("macro", "park")
        client.post("/shelf/park/duplicate")
        assert shop.text("macro", "park") == before
        assert tomllib.loads(shop.text("macro", "park-2"))["id"] == "park-2"

    def test_renaming_keeps_the_id(self, client, shop):
        client.post("/shelf/park/rename", data=hidden(client, "/shelf/park") | {"name": "Drive to the corner"})
        assert tomllib.loads(shop.text("macro", "park"))["name"] == "Drive to the corner"
        assert tomllib.loads(shop.text("macro", "park"))["id"] == "park"

    def test_a_macro_taken_off_the_shelf_is_brought_back(self, client, shop):
        before = shop.text("macro", "park")
        client.post("/shelf/park/delete", data=hidden(client, "/shelf/park"))
        assert "park" not in shop.ids("macro")
        assert "/shelf/park/bring-back" in page(client, "/shelf")
        client.post("/shelf/park/bring-back", data=hidden(client, "/shelf"))
        assert shop.text("macro", "park") == before

    def test_the_time_of_a_macro_that_waits_says_so(self, client):
        prove_shelf(client)
        assert "5.0 s; you home it once it has ended" in page(client, "/shelf")
        assert "5.0 s; you home it once it has ended" in page(client, "/pendant")

    def test_an_earlier_revision_is_compared_and_restored(self, client, shop):
        before = shop.text("macro", "park")
        client.post("/shelf/park/rename", data=hidden(client, "/shelf/park") | {"name": "Drive to the corner"})
        last, *_, first = shop.revisions("macro", "park")
        text = page(client, f"/shelf/park?from={first.number}&to={last.number}")
        assert '+ name = "Drive to the corner"' in text
        assert '+ name = "Drive to the corner"' in page(client, f"/shelf/park?from={first.number}"), "to the newest"
        client.post("/shelf/park/restore", data=hidden(client, "/shelf/park") | {"revision": first.number})
        assert shop.text("macro", "park") == before

    def test_a_macro_is_downloaded_as_it_is_kept(self, client, shop):
        assert client.get("/shelf/park.toml").text == shop.text("macro", "park")

    @pytest.mark.parametrize("path", ["/shelf/nothing", "/shelf/nothing.toml"])
    def test_a_macro_that_is_not_there_says_so(self, client, path):
        page(client, path, 404)

    def test_a_long_name_becomes_an_id_that_fits(self, client, shop):
        for _ in range(2):
            client.post("/shelf/new", data={"name": "a very long name " * 8})
        made = [name for name in shop.ids("macro") if name.startswith("a-very")]
        assert len(made) == 2
        assert all(len(name) <= 60 for name in made)

    def test_a_macro_that_cannot_be_read_says_so_and_hides_no_other(self, client, shop):
        keep(shop, "macro", "broken", "x = [", "")
        assert "Cannot be read" in page(client, "/shelf")
        assert "not TOML" in page(client, "/shelf/broken")
        page(client, "/pendant")
        assert "broken" in page(client, "/to-the-machine").split('id="left-out"')[1].split('id="files"')[0]


class TestThePack:
    def test_every_file_is_shown_before_it_is_downloaded(self, client, shop):
        text = page(client, "/to-the-machine")
        for path, content in pack.make(pack.gather(shop)).files.items():
            assert path in text
            assert content.decode().strip() in text

    def test_the_zip_is_a_pack_without_a_difference(self, client, tmp_path):
        target = tmp_path / "got.zip"
        target.write_bytes(client.get("/to-the-machine/pack.zip").data)
        assert pack.verify(target) == []

    def test_the_zip_holds_what_the_page_shows(self, client, shop):
        archive = zipfile.ZipFile(io.BytesIO(client.get("/to-the-machine/pack.zip").data))
        made = pack.make(pack.gather(shop)).files
        assert {name: archive.read(name) for name in archive.namelist()} == made

    def test_a_refused_macro_is_left_out_with_the_reason(self, client, shop):
        text = shop.text("machine", "workshop")
        keep(
            shop,
            "machine",
            "workshop",
            text + '[[keep_out]]\nname = "Post"\nfrom = [20, -10, -130]\nto = [30, 160, -1]\n',
            "",
        )
        shown = page(client, "/to-the-machine")
        left_out = shown.split('id="left-out"')[1].split('id="files"')[0]
        assert "present-part" in left_out

    def test_nothing_on_a_slot_is_said_plainly(self, client, shop):
        sheet = "".join(line for line in shop.text("pendant", "workshop").split("[slots")[0])
        keep(shop, "pendant", "workshop", sheet, "")
        assert "Put a macro on a slot" in page(client, "/to-the-machine")


@pytest.mark.parametrize("path", ["/sheets/machine", "/shelf", "/pendant", "/to-the-machine", "/help/formulas"])
def test_a_machine_in_inches_is_shown_in_inches(client, shop, path):
    keep(shop, "machine", "workshop", files("library.starter").joinpath("second/machine.toml").read_text(), "")
    text = page(client, path)
    assert "mm/min" not in re.sub(r"(?s)<textarea.*?</textarea>|<code>.*?</code>", "", text)


def test_the_form_of_a_machine_in_inches_changes_nothing_by_itself():
    text = files("library.starter").joinpath("second/machine.toml").read_text()
    assert posting.changed("machine", text, cells("machine", text)).text == text


def test_a_text_field_gives_back_line_feeds():
    assert from_textarea("a\r\nb") == "a\nb\n"
    assert from_textarea("") == ""


def test_help_says_what_a_disturbed_line_comes_to_what_the_lamp_says_and_what_a_jog_may_leave(client):
    page = html.unescape(client.get("/help/at-the-pendant").text)
    for told in (GARBLED, lamp.ISSUE, "8 flashes: The stop was pressed.", "may leave G91 in force"):
        assert told in page


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("step has 600 entries", "Step has 600 entries."),
        ("pic.toml is neither a zip nor text", "pic.toml is neither a zip nor text."),
        ("keep_out has 71 entries", "keep_out has 71 entries."),
        ("3000.zip: it holds too many", "3000.zip: it holds too many."),
        ("is that so?", "Is that so?"),
        ("", ""),
    ],
)
def test_a_message_begins_with_a_capital_but_for_a_name(words, told):
    assert handbook.sentence(words) == told


def test_what_comes_after_the_list_of_the_shelf_is_reached_from_before_it(client):
    text = client.get("/shelf").text
    before = text[: text.index("<search>")]
    for id in ("new", "add"):
        assert f'href="#{id}"' in before
        assert f'id="{id}" tabindex="-1"' in text
    assert 'href="/review"' in before


@pytest.mark.parametrize(("path", "name"), [("/review", "Shelf"), ("/portable/park", "Shelf"), ("/scratch", "Bench")])
def test_a_page_that_belongs_to_another_says_so_in_the_head(client, path, name):
    assert re.findall(r'aria-current="page">([^<]*)</a></li>', client.get(path).text) == [name]


def test_what_is_always_on_the_table_is_not_said_to_be_of_a_setup(client):
    said = html.unescape(client.get("/sheets/machine").text)
    assert "<dt>Always: Vise</dt>" in said
    assert "<dt>Bar in the vise: Bar</dt>" in said
    assert said.count(": Vise</dt>") == 1
