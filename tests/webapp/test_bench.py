"""The bench: a macro as an operation sheet that shows at once what it comes to, and loses nothing that is typed."""

import html
import json
import re

import pytest

from library import documents, pack, starter
from tests.webapp.rendered import hidden
from tests.webapp.shelves import prove_shelf
from tests.workshops import keep
from webapp.pages import editing, shelf

BENCH = "/bench/present-part"
ON_THE_PENDANT = f"{BENCH}?side=pendant"
HTMX = {"HX-Request": "true"}


def macro(shop, name="present-part"):
    return documents.parse("macro", shop.text("macro", name))


def blocks(shop):
    return [step.block for step in macro(shop).step]


def fields(page):
    """What a browser would send from the operation sheet, without any button."""
    form = page[page.index('<form id="operations"') : page.index("</form>", page.index('<form id="operations"'))]
    sent = {}
    for tag in re.findall(r"<input [^>]*>", form):
        given = dict(re.findall(r'(\w+)="([^"]*)"', tag))
        if "name" in given:
            sent[given["name"]] = html.unescape(given.get("value", ""))
    for name, options in re.findall(r'<select [^>]*?name="([^"]+)"[^>]*>(.*?)</select>', form, re.S):
        chosen = re.search(r'<option(?: value="([^"]*)")? selected>([^<]*)', options) or re.search(
            r'<option(?: value="([^"]*)")?>([^<]*)', options
        )
        sent[name] = html.unescape(chosen[2] if chosen[1] is None else chosen[1])
    for name, text in re.findall(r'<textarea [^>]*?name="([^"]+)"[^>]*>\n?(.*?)</textarea>', form, re.S):
        sent[name] = html.unescape(text)
    return sent


def raise_step(shop):
    return blocks(shop).index("raise") + 1


class TestTheShownCase:
    """The case of a finding that is drawn stays while the macro is edited, as long as the finding is there."""

    @pytest.fixture
    def crossing(self, shop):
        steps = [{"block": "spindle-off"}, {"block": "own-lines", "lines": "G21 G90\nG53 G0 X120 Y70"}]
        keep(shop, "macro", "park", documents.write("macro", {("step",): steps}, shop.text("macro", "park")), "made up")
        return "/bench/park"

    def sent(self, client, path):
        """What the page sends with a change while the first finding is drawn."""
        page = client.get(f"{path}?show=0").text
        key = re.search(
            r'<fieldset id="chosen-start" hidden>\s*<input type="hidden" name="shown" value="([^"]+)">', page
        )
        return fields(page) | {"shown": key[1]}

    def test_the_drawing_says_what_meets_what(self, client, crossing):
        assert '<h2 id="drawing-heading">Drawing: tool meets Vise</h2>' in client.get(f"{crossing}?show=0").text

    @pytest.mark.parametrize("how", ["try", "save"])
    def test_it_stays_while_something_is_typed(self, client, crossing, how):
        sent = self.sent(client, crossing) | {"purpose": "Out of the way."}
        assert "Drawing: tool meets Vise" in client.post(f"{crossing}/{how}", data=sent, headers=HTMX).text

    def test_it_stays_when_a_step_is_added_after_it(self, client, crossing):
        sent = self.sent(client, crossing) | {"do": "add", "add": "dwell"}
        assert "Drawing: tool meets Vise" in client.post(crossing, data=sent, headers=HTMX).text

    def test_it_goes_with_its_finding(self, client, crossing):
        sent = self.sent(client, crossing) | {"step.2.lines": "G21 G90\nG53 G0 Z-2\nG53 G0 X120 Y70"}
        answer = client.post(f"{crossing}/try", data=sent, headers=HTMX).text
        assert '<h2 id="drawing-heading">Drawing</h2>' in answer

    def test_what_a_change_takes_along_is_on_every_page(self, client, crossing):
        for path in (crossing, BENCH, f"{crossing}?at-x=10&at-y=10&at-z=-5"):
            assert client.get(path).text.count('id="chosen-start"') == 1

    def test_only_a_drawing_asked_for_takes_the_focus(self, client, crossing):
        drawing = r'<section id="drawing"[^>]* (data-)?autofocus>'
        assert re.search(drawing, client.get(f"{crossing}/drawing?show=0", headers=HTMX).text)
        assert re.search(drawing, client.get(f"{crossing}/drawing?show=", headers=HTMX).text)
        assert not re.search(drawing, client.get(f"{crossing}/drawing?at-x=10", headers=HTMX).text)
        assert not re.search(drawing, client.get(f"{crossing}?show=0").text)


class TestTheOperationSheet:
    def test_the_bench_opens_with_a_macro(self, client):
        assert client.get("/").status_code == 302
        assert client.get("/", follow_redirects=True).status_code == 200

    def test_every_step_is_its_sentence_with_fields_in_it(self, client, shop):
        page = client.get(BENCH).text
        number = raise_step(shop)
        assert "<span>Raise to </span>" in page
        assert f'name="step.{number}.to" value="safe.z"' in page

    def test_a_formula_shows_what_it_comes_to(self, client, shop):
        # machine sheet of the starter: safe.z = -2
        assert f'id="step-{raise_step(shop)}-to-hint" class="hint">= -2 mm<' in client.get(BENCH).text

    def test_every_field_has_a_label_and_a_place_for_its_problem(self, client):
        page = client.get(BENCH).text
        ids = set(re.findall(r'id="([^"]+)"', page))
        page = page[page.index('<form id="operations"') :]
        for name in fields(page).keys() - {"base", "head", "after", "add", "send", "send-to"}:
            tag = re.search(rf'<(?:input|select|textarea) [^>]*name="{re.escape(name)}"[^>]*>', page)[0]
            own = re.search(r'id="([^"]+)"', tag)[1]
            assert "aria-label=" in tag or f'for="{own}"' in page
            assert re.search(r'aria-describedby="([^"]+)"', tag)[1] in ids

    def test_ids_are_unique(self, client):
        ids = re.findall(r'\sid="([^"]+)"', client.get(BENCH).text)
        assert len(ids) == len(set(ids))

    def test_it_says_where_each_step_ends(self, client, shop):
        page = client.get(BENCH).text
        facts = page[page.index(f'id="step-{raise_step(shop)}-facts"') :]
        facts = facts[: facts.index('class="time"')]
        assert '<span class="op-axis">Z</span> -2<' in facts
        assert "X" not in facts, "an axis that stays where it was is not printed"

    def test_after_homing_it_says_so_and_the_step_before_keeps_its_own_end(self, client, shop):
        steps = [{"block": "raise"}, {"block": "home"}, {"block": "dwell"}]
        keep(shop, "macro", "park", documents.write("macro", {("step",): steps}, shop.text("macro", "park")), "made up")
        ends = re.findall(r'<span class="op-axis">Z</span> ([^<]*)', client.get("/bench/park").text)
        assert ends == ["-2", "as homed"]

    def test_on_a_sheet_in_inches_lengths_are_in_inches(self, client, shop):
        keep(shop, "machine", "workshop", starter.text("second/machine.toml"), "another machine")
        page = client.get(BENCH).text
        assert "Ends at, in<" in page
        assert re.search(r"to [\d.]+ in,", page)

    def test_it_says_which_part_moves(self, client):
        assert "The table comes towards you" in client.get(BENCH).text

    def test_each_line_is_tied_to_its_step(self, client, shop):
        assert re.search(rf'data-step="{raise_step(shop)}"[^>]*><code>G53 G0 Z-2</code>', client.get(BENCH).text), (
            "the line of the raise carries the number of its step"
        )

    def test_a_line_has_the_number_that_it_has_in_the_file_that_leaves(self, client, shop):
        found = re.findall(r'<li id="line-(\d+)"[^>]*><code>(.*?)</code>', client.get(BENCH).text)
        shown = {int(number): html.unescape(re.sub("<[^>]*>", "", text)) for number, text in found}
        file = pack.make(pack.gather(shop)).files["macros/present-part.nc"].decode().splitlines()
        assert sorted(shown) == list(range(1, len(file) + 1))
        differ = [line for number, line in enumerate(file, start=1) if shown[number] != line]
        assert [line.split(":")[0] for line in differ] == ["(Issue"], "only the issue is not known yet"

    def test_it_is_proved_once_for_a_change_that_leaves_the_head_as_long(self, client, monkeypatch, shop):
        sent = fields(client.get(BENCH).text)
        prove, proved = shelf.prove_macro, []
        monkeypatch.setattr(shelf, "prove_macro", lambda *of, **how: proved.append(of) or prove(*of, **how))
        client.post(f"{BENCH}/try", data=sent | {f"step.{raise_step(shop)}.to": "safe.z - 1.37 mm"}, headers=HTMX)
        assert len(proved) == 1

    def test_sheets_that_cannot_be_read_are_told_in_one_line(self, client, shop):
        keep(shop, "machine", "workshop", "spoilt = ", "spoilt")
        answer = client.get(BENCH)
        assert answer.status_code == 409
        assert "machine sheet, line 1" in answer.text

    def test_a_macro_that_cannot_be_read_is_told_in_one_line(self, client, shop):
        keep(shop, "macro", "park", "spoilt = ", "spoilt")
        answer = client.get("/bench/park")
        assert answer.status_code == 400
        assert "park, line 1" in answer.text
        assert client.get(BENCH).status_code == 200, "the others still open"

    def test_a_macro_that_is_not_there_is_told(self, client):
        answer = client.get("/bench/no-such-macro")
        assert answer.status_code == 404
        assert "no-such-macro" in answer.text

    def test_a_workshop_without_macros_asks_for_the_first(self, client, shop):
        for name in shop.ids("macro"):
            shop.delete("macro", name)
        assert "New macro" in client.get("/bench", follow_redirects=True).text

    def test_text_of_others_is_never_markup(self, client, shop):
        text = documents.write("macro", {("name",): "<script>alert(1)</script>"}, shop.text("macro", "park"))
        keep(shop, "macro", "park", text, "renamed")
        page = client.get("/bench/park").text
        assert "<script>alert" not in page
        assert "&lt;script&gt;alert" in page


ELSEWHERE = {"base", "head", "slot", "scrub", "rate", "skip-waits", "at-x", "at-y", "at-z"}
"""Fields beside the form of the operations: swapping them disturbs nobody who types in it."""


class TestTyping:
    @pytest.fixture
    def sent(self, client):
        return fields(client.get(BENCH).text)

    def test_a_try_shows_what_it_would_come_to_and_keeps_nothing(self, client, shop, sent):
        number, before = raise_step(shop), shop.text("macro", "present-part")
        answer = client.post(f"{BENCH}/try", data=sent | {f"step.{number}.to": "safe.z - 1 mm"}, headers=HTMX)
        assert "G53 G0 Z-3" in answer.text
        assert "= -3 mm" in answer.text
        assert shop.text("macro", "present-part") == before

    def test_a_change_is_kept(self, client, shop, sent):
        number = raise_step(shop)
        client.post(f"{BENCH}/save", data=sent | {f"step.{number}.to": "safe.z - 1 mm"}, headers=HTMX)
        assert macro(shop).step[number - 1].values["to"] == "safe.z - 1 mm"

    def test_the_fields_are_not_sent_back_while_one_types_in_them(self, client, sent):
        answer = client.post(f"{BENCH}/try", data=sent, headers=HTMX)
        assert set(re.findall(r'<(?:input|select|textarea) [^>]*?id="([^"]+)"', answer.text)) <= ELSEWHERE

    def test_nothing_is_saved_where_nothing_was_typed(self, client, shop, sent):
        count = len(shop.revisions("macro", "present-part"))
        client.post(f"{BENCH}/save", data=sent, headers=HTMX)
        client.post(BENCH, data=sent | {"do": "apply"})
        assert len(shop.revisions("macro", "present-part")) == count

    def test_comments_of_the_document_stay(self, client, shop, sent):
        keep(shop, "macro", "present-part", "# mine\n" + shop.text("macro", "present-part"), "note")
        client.post(f"{BENCH}/save", data=sent | {"purpose": "Another"}, headers=HTMX)
        assert shop.text("macro", "present-part").startswith("# mine\n")

    def test_a_formula_that_cannot_be_used_is_kept_as_typed_and_told_at_its_field(self, client, shop, sent):
        number = raise_step(shop)
        answer = client.post(f"{BENCH}/save", data=sent | {f"step.{number}.to": "safe.q"}, headers=HTMX)
        told = re.search(rf'id="step-{number}-to-hint" class="hint problem"[^>]*>([^<]+)', answer.text)
        assert "safe.z" in told[1], "the message names the nearest landmark"
        assert macro(shop).step[number - 1].values["to"] == "safe.q"
        page = client.get(BENCH).text
        assert 'value="safe.q"' in page
        assert "Not ready" in page

    def test_a_name_that_no_document_can_hold_stays_in_its_field(self, client, shop, sent):
        answer = client.post(BENCH, data=sent | {"do": "apply", "name": "", "purpose": "Another"})
        assert answer.status_code == 422
        assert 'id="head-name-hint" class="hint problem"' in answer.text
        assert '<span class="severity">Not ready</span> “Name” cannot be used as typed.' in answer.text
        assert macro(shop).name == "Present the part"
        assert macro(shop).purpose == "Another", "what can be used is kept"

    def test_a_start_condition_narrows_the_start(self, client, shop, sent):
        answer = client.post(f"{BENCH}/save", data=sent | {"start": "z >= -20 mm"}, headers=HTMX)
        assert "Z -20 to 0" in answer.text
        assert macro(shop).start == "z >= -20 mm"

    def test_a_start_condition_that_cannot_be_read_is_told_at_its_field(self, client, sent):
        answer = client.post(f"{BENCH}/save", data=sent | {"start": "z above 3"}, headers=HTMX)
        assert 'id="head-start-hint" class="hint problem"' in answer.text
        assert '<span class="severity">Not ready</span> &#34;z above 3&#34; is not a start condition' in answer.text
        prove_shelf(client)
        assert ">Not ready</span>" in client.get("/shelf").text

    def test_typing_back_what_was_there_before_a_change_counts(self, client, shop, sent):
        number = raise_step(shop)
        changed = client.post(f"{BENCH}/save", data=sent | {f"step.{number}.to": "-5 mm"}, headers=HTMX).text
        base = html.unescape(re.search(r'<input id="base"[^>]*value="([^"]*)"', changed)[1])
        assert json.loads(base)["values"][f"step.{number}.to"] == "-5 mm"
        client.post(f"{BENCH}/save", data=sent | {"base": base}, headers=HTMX)
        assert macro(shop).step[number - 1].values["to"] == "safe.z"

    def test_a_second_page_does_not_undo_what_the_first_has_changed(self, client, shop, sent):
        client.post(f"{BENCH}/save", data=sent | {"purpose": "From the first page"}, headers=HTMX)
        client.post(f"{BENCH}/save", data=sent | {"start": "z >= -20 mm"}, headers=HTMX)
        assert macro(shop).purpose == "From the first page"
        assert macro(shop).start == "z >= -20 mm"

    def test_a_page_whose_steps_are_no_longer_those_of_the_macro_is_renewed(self, client, shop, sent):
        client.post(BENCH, data=sent | {"do": "remove 1"})
        answer = client.post(f"{BENCH}/save", data=sent | {"purpose": "Typed meanwhile"}, headers=HTMX)
        assert answer.headers["HX-Retarget"] == "#sheet"
        assert "changed on another page" in answer.text
        assert macro(shop).purpose == "Typed meanwhile"

    @pytest.mark.parametrize("base", ["", "{", "[]", '{"blocks": 3, "values": {}}', '{"blocks": [], "values": []}'])
    def test_a_spoilt_base_breaks_nothing(self, client, sent, base):
        assert client.post(f"{BENCH}/save", data=sent | {"base": base}, headers=HTMX).status_code == 200


class TestButtons:
    def press(self, client, button, **more):
        sent = fields(client.get(BENCH).text)
        return client.post(BENCH, data=sent | {"do": button} | more, headers=HTMX)

    def test_a_step_moves_down_and_up(self, client, shop):
        before = blocks(shop)
        self.press(client, "down 1")
        assert blocks(shop) == [before[1], before[0], *before[2:]]
        self.press(client, "up 2")
        assert blocks(shop) == before

    def test_the_keyboard_stays_with_the_step_that_moved(self, client):
        page = self.press(client, "down 1").text
        assert "autofocus" in re.search(r'<button id="down-2"[^>]*>', page)[0]

    def test_a_step_is_removed(self, client, shop):
        before = blocks(shop)
        self.press(client, "remove 1")
        assert blocks(shop) == before[1:]

    def test_a_step_is_added_at_the_end_with_its_defaults_and_the_keyboard_goes_to_it(self, client, shop):
        page = self.press(client, "add", add="dwell").text
        number = len(blocks(shop))
        assert blocks(shop)[-1] == "dwell"
        assert macro(shop).step[-1].values == {"time": "1 s"}
        assert "autofocus" in re.search(rf'<input id="step-{number}-time"[^>]*>', page)[0]

    def test_what_was_typed_before_a_button_is_kept(self, client, shop):
        self.press(client, "add", add="dwell", purpose="Typed just before")
        assert macro(shop).purpose == "Typed just before"

    def test_undo_and_redo_go_through_what_was_saved(self, client, shop):
        before = blocks(shop)
        self.press(client, "remove 1")
        self.press(client, "undo")
        assert blocks(shop) == before
        self.press(client, "redo")
        assert blocks(shop) == before[1:]

    def test_undo_is_offered_only_where_there_is_something_to_undo(self, client):
        undo = r'<button id="undo"[^>]*>'
        assert "disabled" in re.search(undo, client.get(BENCH).text)[0]
        assert "disabled" not in re.search(undo, self.press(client, "remove 1").text)[0]

    @pytest.mark.parametrize("button", ["up 1", "up 99", "down 99", "up x", "remove 99", "add", "juggle 2", ""])
    def test_a_button_that_makes_no_sense_changes_nothing(self, client, shop, button):
        before = blocks(shop)
        answer = self.press(client, button, add="no-such-block")
        assert answer.status_code == 200
        assert blocks(shop) == before

    def test_without_scripts_a_button_leads_back_to_the_page(self, client, shop):
        sent = fields(client.get(BENCH).text)
        answer = client.post(BENCH, data=sent | {"do": "down 1"})
        assert answer.status_code == 303
        assert answer.location.startswith(BENCH)

    @pytest.mark.parametrize(("button", "step"), [("down 1", 2), ("copy 1", 2), ("off 2", 2), ("insert 1", 0)])
    def test_without_scripts_the_step_that_was_changed_stands_open(self, client, button, step):
        there = client.post(BENCH, data=fields(client.get(BENCH).text) | {"do": button}).location
        opened = re.findall(r'<details name="step" id="fold-(\d+)" open>', client.get(there).text)
        assert opened == ([str(step)] if step else [])


class TestTheVerdict:
    def test_a_proved_macro_says_on_which_assumptions(self, client):
        page = client.get(BENCH).text
        assert '<span class="severity">Proved</span>' in page
        assert page.count("nothing longer than 40 mm") == 1
        assert '<span class="severity">Proved</span> on this sheet from every homed start.' in page
        assert "It holds if each of these is true today:" in page
        assert "Not checked: hands" in page

    def test_a_case_is_told_once(self, client, refused):
        assert "would meet Vise at" in refused
        assert "For example from" not in refused

    def test_on_a_sheet_in_inches_findings_and_their_case_are_in_inches(self, client, shop):
        keep(shop, "machine", "workshop", starter.text("second/machine.toml"), "another machine")
        keep(
            shop,
            "macro",
            "park",
            documents.write("macro", {("step",): [THROUGH_THE_VISE]}, shop.text("macro", "park")),
            "",
        )
        page = client.get("/bench/park").text
        assert re.search(r"From X -?\d\.?\d* Y[^<]* in long", page)

    def test_of_very_many_findings_the_gravest_are_shown_and_the_rest_counted(self, client, shop):
        lines = "\n".join(["HELLO"] * 150)
        own = {"block": "own-lines", "lines": lines}
        keep(shop, "macro", "park", documents.write("macro", {("step",): [own]}, shop.text("macro", "park")), "pasted")
        page = client.get("/bench/park").text
        assert page.count('<p class="where">') == 100
        assert re.search(r"And \d+ more, none worse than the last", page)

    @pytest.fixture
    def refused(self, client, shop):
        text = shop.text("macro", "park")
        keep(shop, "macro", "park", documents.write("macro", {("step",): [THROUGH_THE_VISE]}, text), "spoilt")
        return client.get("/bench/park").text

    def test_a_refusal_leads_to_its_rule_its_line_and_its_drawing(self, refused):
        assert '<a href="/help/rules/crosses-keep-out">' in refused
        assert re.search(r'<a href="#line-\d+">step 1, line \d+</a>', refused)
        assert "show in the drawing" in refused

    def test_a_finding_is_drawn_with_or_without_scripts(self, client, refused):
        link = html.unescape(re.search(r'href="(/bench/park\?show=\d+)#drawing"', refused)[1])
        assert "Drawing: " in client.get(link).text
        fragment = client.get(link.replace("park?", "park/drawing?"), headers=HTMX).text
        assert fragment.lstrip().startswith('<section id="drawing"')

    def test_a_finding_that_is_not_there_shows_the_whole_macro(self, client, refused):
        for number in ("99", "-1", "x"):
            assert "Drawing: " not in client.get(f"/bench/park?show={number}").text

    def test_the_page_is_there_before_the_safe_start_is_sought(self, client, refused, monkeypatch):
        assert 'hx-post="/bench/park/safe-start"' in refused
        assert 'href="/bench/park?seek=1#safe-start"' in refused
        monkeypatch.setattr("parser.pipeline._sought", lambda *_: pytest.fail("it was sought"))
        assert "Refused" in client.get("/bench/park").text

    def test_the_safe_start_comes_by_a_request_of_its_own_of_what_is_typed(self, client, refused):
        found = client.post("/bench/park/safe-start", data={}, headers=HTMX).text
        assert found.lstrip().startswith('<div id="safe-start"')
        assert "safe when Z is at or above" in found.replace("Safe when", "safe when")
        assert "hx-trigger" not in found.split("</p>")[0]

    def test_a_macro_that_is_proved_has_none_to_seek(self, client):
        assert "safe-start" not in client.get(BENCH).text

    def test_a_safe_start_can_be_required_with_a_button(self, client, shop, refused):
        page = client.get("/bench/park?seek=1").text
        button = re.search(r'name="do" value="(start [^"]+)"', page)
        client.post("/bench/park", data=hidden(client, "/bench/park") | {"do": html.unescape(button[1])})
        assert macro(shop, "park").start == html.unescape(button[1]).removeprefix("start ")
        assert "crosses-keep-out" not in client.get("/bench/park").text


THROUGH_THE_VISE = {"block": "go-to", "x": "20 mm", "y": "20 mm", "z": "", "order": "together"}


class TestSlots:
    def test_a_macro_is_put_on_a_slot_and_taken_off(self, client, shop):
        client.post(f"{BENCH}/slot", data=hidden(client, ON_THE_PENDANT) | {"slot": "x100 6", "do": "put"})
        assert shop.bench().pendant.slots["6"]["x100"] == "present-part"
        page = client.get(ON_THE_PENDANT).text
        assert "Position 6 at x100" in page
        client.post(f"{BENCH}/slot", data=hidden(client, ON_THE_PENDANT) | {"slot": "x100 6", "do": "clear"})
        assert "x100" not in shop.bench().pendant.slots.get("6", {})

    def test_a_free_slot_is_offered_first_and_one_in_use_by_the_name_of_its_macro(self, client):
        page = client.get("/bench/measure-part?side=pendant").text
        assert re.search(r'<option value="[^"]*" selected>position \d at x\d+</option>', page)
        assert "in place of Present the part<" in page

    def test_positions_that_drive_an_axis_are_not_offered(self, client):
        assert "position X at" not in client.get(ON_THE_PENDANT).text

    @pytest.mark.parametrize("slot", ["", "x1", "x1 X", "x1 9", "x7 4"])
    def test_a_slot_that_the_pendant_has_not_is_refused(self, client, shop, slot):
        before = shop.text("pendant", "workshop")
        assert (
            client.post(f"{BENCH}/slot", data=hidden(client, ON_THE_PENDANT) | {"slot": slot, "do": "put"}).status_code
            == 400
        )
        assert shop.text("pendant", "workshop") == before

    def test_only_its_own_macro_is_taken_off(self, client, shop):
        before = shop.text("pendant", "workshop")
        taken = next(
            f"{increment} {position}"
            for position, row in shop.bench().pendant.slots.items()
            for increment, name in row.items()
            if name != "present-part"
        )
        client.post(f"{BENCH}/slot", data=hidden(client, ON_THE_PENDANT) | {"slot": taken, "do": "clear"})
        assert shop.text("pendant", "workshop") == before


# What a page of ours never sends


@pytest.mark.parametrize("button", ["up", "down", "remove", "tidy"])
@pytest.mark.parametrize("number", ["9" * 5000, "²", "-1", "1e9", ""])
def test_a_step_number_that_is_none_changes_nothing(client, shop, button, number):
    before = shop.text("macro", "park")
    assert (
        client.post("/bench/park", data=hidden(client, "/bench/park") | {"do": f"{button} {number}"}).status_code < 500
    )
    assert shop.text("macro", "park") == before


@pytest.mark.parametrize("base", ["[" * 1500, '{"blocks":' + "[" * 50_000, "[1]", "null", '{"blocks": 1, "values": 2}'])
def test_a_spoilt_base_counts_as_none(client, base):
    assert client.post("/bench/park/save", data={"base": base}).status_code == 200


def test_own_lines_that_begin_with_empty_lines_are_kept_as_typed(client, shop):
    client.post("/shelf/new", data={"name": "By hand"})
    client.post("/bench/by-hand", data=hidden(client, "/bench/by-hand") | {"do": "add", "add": "own-lines"})
    answer = client.post(
        "/bench/by-hand",
        data=hidden(client, "/bench/by-hand") | {"do": "apply", "step.1.lines": "\r\n\r\nG4 P1\r\n\r\nG4 P2"},
    )
    assert answer.status_code == 303
    step = documents.parse("macro", shop.text("macro", "by-hand")).step[0]
    assert step.values["lines"] == "\n\nG4 P1\n\nG4 P2"


def test_many_fields_typed_at_once_are_read_together(client, shop, monkeypatch):
    keep(shop, "macro", "park", documents.write("macro", {("step",): [NUDGE] * 40}, shop.text("macro", "park")), "long")
    sent = hidden(client, "/bench/park") | {f"step.{number}.by": f"{number} mm" for number in range(1, 41)}
    read = []
    parse = documents.parse
    monkeypatch.setattr(documents, "parse", lambda kind, *more: read.append(kind) or parse(kind, *more))
    edited = editing.fill_in(shop.text("macro", "park"), sent)
    assert edited.problems == {}
    assert [step.values["by"] for step in parse("macro", edited.text).step] == [f"{n} mm" for n in range(1, 41)]
    assert len(read) <= 3


def test_of_many_fields_typed_at_once_those_that_cannot_be_used_are_told_and_the_others_kept(shop):
    text = documents.write("macro", {("step",): [NUDGE] * 40}, shop.text("macro", "park"))
    macro = documents.parse("macro", text)
    values = editing.field_values(macro)
    typed = {f"step.{number}.by": f"{number} mm" for number in range(1, 41)} | {"name": "", "purpose": "Mine"}
    edited = editing.fill_in(text, {"base": editing.base_of(macro, values)} | values | typed)
    assert set(edited.problems) == {"name"}
    assert edited.typed == {"name": ""}
    after = documents.parse("macro", edited.text)
    assert (after.purpose, after.step[39].values["by"]) == ("Mine", "40 mm")


NUDGE = {"block": "nudge", "axis": "x", "by": "1 mm"}


def test_places_of_a_rotary_axis_are_told_in_degrees_beside_lengths(client, shop, put):
    turns = {"travel": [-180.0, 180.0], "rapid": 3600.0, "acceleration": 700.0, "home": "none", "carried_by": "table"}
    text = documents.write("machine", {("axes", "a"): turns}, shop.text("machine", "workshop"))
    keep(shop, "machine", "workshop", text, "a table that turns")
    put({"block": "raise"}, {"block": "own-lines", "lines": "G90 G94 G21\nG53 G0 A10"})
    page = client.get("/bench/park").text
    starts = re.search(r'id="start-form".*?</form>', page, re.DOTALL)[0]
    assert [a or b for a, b in re.findall(r'name="at-(\w)"|class="unit">(\w+)<', starts)] == [
        "x",
        "y",
        "z",
        "mm",
        "a",
        "deg",
    ]
    assert re.search(r'id="step-2-facts".*?<span class="op-axis">A</span> 10°</span>', page, re.DOTALL)


def test_a_macro_without_steps_is_not_called_proved_in_its_lines_either(client, shop):
    keep(shop, "macro", "park", documents.write("macro", {("step",): []}, shop.text("macro", "park")), "emptied")
    page = client.get("/bench/park").text
    assert "(Verdict: not ready)" in page
    assert "(Verdict: proved)" not in page
