"""The stopwatch on the machine page: what it shows, what it keeps of what was typed, and what it writes."""

import html
import tomllib
from xml.etree import ElementTree

import pytest

from parser.times.double_s import DoubleS
from tests.workshops import keep
from webapp.drawings import residuals

MACHINE = "/sheets/machine"
LADDER = ((2.0, 20), (5.0, 20), (40.0, 4), (250.0, 1), (250.0, 1))


def typed(shop, rate=1800.0, acceleration=60.0, ladder=LADDER, **others):
    """The form as it is sent: timings of an axis of that rate (per minute) and acceleration."""
    form = {"axis": "y", "hand": "0.1", "seen": str(shop.head("machine", "workshop").number)}
    for number, (far, moves) in enumerate(ladder, start=1):
        seconds = moves * DoubleS(far, rate / 60.0, acceleration).seconds
        form |= {f"distance.{number}": str(far), f"moves.{number}": str(moves), f"seconds.{number}": str(seconds)}
    return form | others


def sent(client, form, path="", status=200):
    answer = client.post(f"{MACHINE}/stopwatch{path}", data=form)
    assert answer.status_code == status, answer.text
    return html.unescape(answer.text)


def axis(shop, name="y"):
    return tomllib.loads(shop.text("machine", "workshop"))["axes"][name]


class TestWorkingItOut:
    def test_the_machine_page_has_it_and_the_other_sheets_do_not(self, client):
        assert "Work it out" in client.get(MACHINE).text
        assert "Work it out" not in client.get("/sheets/controller").text

    def test_it_shows_rate_and_acceleration_with_what_the_sheet_says_now(self, client, shop):
        text = sent(client, typed(shop))
        assert "1800 ±" in text
        assert "60 ±" in text
        assert "(the sheet says 2400 mm/min)" in text
        assert "(the sheet says 220 mm/s²)" in text

    def test_it_draws_how_far_each_timing_is_off(self, client, shop):
        text = sent(client, typed(shop, **{"seconds.4": "9.0"}))
        assert 'id="residuals-title"' in text
        assert text.count('class="stem"') == len(LADDER)
        assert "2 mm × 20" in text

    def test_it_keeps_what_was_typed_and_changes_nothing(self, client, shop):
        before = shop.text("machine", "workshop")
        text = sent(client, typed(shop))
        assert 'name="distance.3" value="40.0"' in text
        assert '<option value="y" selected>' in text
        assert shop.text("machine", "workshop") == before

    def test_a_decimal_comma_is_read_as_a_point(self, client, shop):
        with_commas = {key: value.replace(".", ",") for key, value in typed(shop).items()}
        assert "1800 ±" in sent(client, with_commas)

    def test_an_inch_sheet_is_answered_in_inches(self, client, shop):
        text = shop.text("machine", "workshop").replace(
            'name = "Workshop mill"', 'name = "Workshop mill"\nunits = "inch"'
        )
        keep(shop, "machine", "workshop", text, "inches")
        answered = sent(client, typed(shop, rate=100.0, acceleration=4.0, ladder=((0.1, 20), (1.0, 10), (10.0, 2))))
        assert "in/min" in answered
        assert "Distance of one move, in<" in answered

    def test_a_jerk_limit_on_the_sheet_is_spoken_of(self, client, shop):
        keep(
            shop, "machine", "workshop", shop.text("machine", "workshop").replace("jerk = 0.0", "jerk = 900.0"), "jerk"
        )
        assert "has a jerk limit" in sent(client, typed(shop, axis="x"))
        assert "has a jerk limit" not in sent(client, typed(shop, axis="y"))


class TestRefusing:
    def test_timings_that_cannot_tell_both_are_refused_with_the_reason(self, client, shop):
        text = sent(client, typed(shop, ladder=((100.0, 1), (100.0, 1))), status=422)
        assert "of one length" in text
        assert "Put both into" not in text

    def test_no_timings_at_all(self, client, shop):
        assert "Two moves of different length" in sent(client, typed(shop, ladder=()), status=422)

    @pytest.mark.parametrize(
        ("field", "value", "told"),
        [
            ("distance.2", "long", "Write a distance and a time above zero"),
            ("seconds.2", "", "Write a distance and a time above zero"),
            ("seconds.2", "-3", "Write a distance and a time above zero"),
            ("distance.2", "inf", "Write a distance and a time above zero"),
            ("moves.2", "2.5", "a whole number from 1"),
            ("moves.2", "0", "a whole number from 1"),
            ("hand", "0", "Write a time in seconds"),
            ("hand", "quick", "Write a time in seconds"),
        ],
    )
    def test_a_field_that_cannot_be_used_is_marked_and_kept(self, client, shop, field, value, told):
        text = sent(client, typed(shop, **{field: value}), status=422)
        assert told in text
        assert f'name="{field}" value="{value}"' in text
        assert 'aria-invalid="true"' in text


class TestTakingOver:
    def test_both_values_go_into_the_sheet_and_nothing_else_changes(self, client, shop):
        before = shop.text("machine", "workshop").splitlines()
        sent(client, typed(shop), "/take-over", 302)
        after = shop.text("machine", "workshop").splitlines()
        assert axis(shop) == axis(shop) | {"rapid": 1800.0, "acceleration": 60.0}
        assert sum(old != new for old, new in zip(before, after, strict=True)) == 2

    def test_the_revision_says_what_it_was(self, client, shop):
        sent(client, typed(shop), "/take-over", 302)
        assert any("axis Y was timed" in each.why for each in shop.revisions("machine", "workshop"))
        assert shop.can_undo("machine", "workshop")

    def test_timings_that_cannot_tell_both_change_nothing(self, client, shop):
        before = shop.text("machine", "workshop")
        sent(client, typed(shop, ladder=((100.0, 1),)), "/take-over", 422)
        assert shop.text("machine", "workshop") == before

    def test_a_sheet_that_changed_meanwhile_is_not_overwritten(self, client, shop):
        form = typed(shop)
        keep(shop, "machine", "workshop", shop.text("machine", "workshop").replace("rapid = 2400.0", "rapid = 2300.0"))
        text = sent(client, form, "/take-over", 409)
        assert axis(shop)["rapid"] == 2300.0
        assert "changed elsewhere" in text
        assert 'name="distance.3" value="40.0"' in text


class TestTheDrawing:
    def test_a_slower_move_is_drawn_to_the_right_and_a_quicker_one_to_the_left_to_one_scale(self):
        drawn = ElementTree.fromstring(str(residuals.draw(["a", "b", "c"], [0.2, -0.1, 0.0], 0.1)))
        stems = [one for one in drawn.iter() if one.get("class") == "stem"]
        slow, quick, even = (float(one.get("x2")) - float(one.get("x1")) for one in stems)
        assert slow == pytest.approx(-2 * quick, abs=0.02)
        assert slow > 0
        assert even == 0.0

    def test_the_band_is_one_standard_deviation_to_either_side(self):
        drawn = ElementTree.fromstring(str(residuals.draw(["a", "b"], [0.2, -0.2], 0.1)))
        band = next(one for one in drawn.iter() if one.get("class") == "band")
        stem = next(one for one in drawn.iter() if one.get("class") == "stem")
        assert float(band.get("width")) == pytest.approx(float(stem.get("x2")) - float(stem.get("x1")), abs=0.02)

    def test_it_says_every_figure_in_words_too(self):
        drawn = str(residuals.draw(["250 mm"], [-0.049], 0.1))
        assert "250 mm: \N{MINUS SIGN}0.05 s" in drawn
