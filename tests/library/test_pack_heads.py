"""The head of a macro file says what was proved of the very file it heads."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from library import pack, proving
from library.pack import Gathered, outgoing
from library.store import Workshop
from tests.library.benches import MILL, bench, controller
from tests.library.test_pack import SLOTS, document, gathered, on_slot

RAISE = 'block = "raise"'


def taken(id="lift", **changes):
    return outgoing(gathered(**changes)).taken[id]


def head(each):
    lines = [line for line in each.proved.built.lines if line != "%"]
    return [line for line in lines if line.startswith(("(", ";"))]


def told(each):
    return " ".join(line.strip("();").strip() for line in head(each))


def test_it_gives_name_purpose_verdict_issue_start_and_sheets():
    dated = Gathered(
        MILL, controller(), SLOTS, {"lift": document("lift", RAISE, purpose="Up and out.")},
        {"machine": "2026-01-02", "controller": "2026-01-03", "pendant": "2026-01-04"},
    )  # fmt: skip
    each = outgoing(dated).taken["lift"]
    lines = each.proved.built.lines
    assert lines[:3] == ("%", "(Lift)", "(Up and out.)")
    assert re.fullmatch(r"\(Issue: 2026-01-04 [0-9a-f]{8}\)", lines[5])
    assert (*lines[3:5], *lines[6:]) == (
        "(Verdict: proved)",
        "(INVENTED FIGURES: everything on the machine sheet)",
        "(Start: anywhere)",
        "(Sheet of the machine: Mill, of 2026-01-02)",
        "(Sheet of the controller: RS-274/NGC as published, of 2026-01-03)",
        "(Sheet of the pendant: Hand pendant, of 2026-01-04)",
        "G21 G90",
        "G53 G0 Z-2",
        "%",
    )


def test_the_day_of_a_sheet_is_when_it_was_last_saved(tmp_path):
    workshop = Workshop.open(tmp_path)
    saved = next(each.saved for each in workshop.revisions("machine", "workshop") if each.current)
    assert pack.gather(workshop).dates["machine"] == saved[:10]
    assert re.fullmatch(r"\d{4}-\d\d-\d\d", saved[:10])


def test_a_start_condition_is_in_the_head():
    low = document("low", RAISE, start="z >= -20 mm")
    assert "Start: z >= -20 mm" in told(taken("low", pendant=on_slot("low"), low=low))


def test_an_acceptance_is_in_the_head_with_its_reason():
    text = document("low", 'block = "go-to"\nx = "20 mm"') + ""
    accepted = text.replace("[[step]]", 'accepted = [{ rule = "crosses-keep-out", because = "it is soft" }]\n[[step]]')
    said = told(taken("low", pendant=on_slot("low"), low=accepted))
    assert "Verdict: accepted" in said
    assert "it is soft" in said


def test_it_says_what_was_proved_of_the_very_bytes():
    each = taken()
    again = proving.prove_written(each.macro, each.content.decode(), bench())
    assert again.sentence == each.report.sentence
    assert again.verdict == each.report.verdict
    assert again.findings == tuple(replace(finding, step=None) for finding in each.report.findings)


def test_a_line_that_the_head_names_is_the_line_of_the_file():
    home = document("home", 'block = "spindle-off"', 'block = "home"')
    each = taken("home", pendant=on_slot("home"), home=home)
    number = int(re.search(r"proved but for line (\d+)", told(each))[1])
    assert each.proved.built.lines[number - 1] == "(MSG, HOME AT THE PANEL)"


def test_every_line_still_belongs_to_its_step():
    each = taken("present")
    lines = each.proved.built.lines
    assert [(lines[number - 1], step) for number, step in each.proved.built.steps.items()] == [
        ("G21 G90", 1),
        ("G53 G0 Z-2", 1),
        ("G53 G0 X130 Y145", 2),
    ]


@pytest.mark.parametrize("limit", [8, 20, 40, 256])
@pytest.mark.parametrize("comments", ["parentheses", "semicolon"])
def test_no_line_of_it_is_longer_than_the_controller_takes(limit, comments):
    sheet = controller(line_limit=str(limit), comments=f'"{comments}"', message='""')
    lift = document("lift", 'block = "coolant-off"', name="x" * 200, purpose="y" * 300)
    each = taken(controller=sheet, lift=lift)
    assert max(map(len, head(each))) == min(limit, 78)


def test_a_name_that_speaks_of_homing_is_no_call_to_home():
    named = document(
        "lift", RAISE, 'block = "pause"', RAISE, name="Home at the Panel", purpose="home at the panel, then"
    )
    report = taken(lift=named).report
    assert [event.kind for event in report.trace.events if event.kind.waits] == ["pause"]


def test_a_name_that_begins_like_a_message_is_no_message():
    assert "message" not in {
        event.kind for event in taken(lift=document("lift", RAISE, name="MSG, hello")).report.trace.events
    }


NASTY = [
    "a) G0 X999 (b",
    "((nested)) deep)",
    "; G0 X999",
    "% end %",
    "caf\u00e9 \u4e2d\u6587",
    "!#$?@^~\x7f",
    "quotes \"x\" 'y'",
    "back\\slash\\",
    "../../etc/passwd",
    "M30",
    "x" * 200,
]


@pytest.mark.parametrize("name", NASTY)
@pytest.mark.parametrize("comments", ["parentheses", "semicolon"])
def test_a_name_changes_nothing_of_what_the_file_does(name, comments):
    sheet = controller(comments=f'"{comments}"', message='""')
    plain = taken(controller=sheet)
    written = json.dumps(name.replace("\x7f", ""))[1:-1]
    named = taken(controller=sheet, lift=document("lift", RAISE, name=written, purpose=written))
    assert named.proved.built.lines[len(head(named)) + 1 :] == plain.proved.built.lines[len(head(plain)) + 1 :]
    assert [move.end for move in named.report.trace.moves] == [move.end for move in plain.report.trace.moves]
    assert named.report.findings == () or named.report.findings[0].rule == plain.report.findings[0].rule
    assert named.content.isascii()


@pytest.mark.long
@settings(max_examples=30, deadline=None)
@given(st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=120))
def test_no_name_reaches_out_of_its_comment(name):
    lift = document("lift", RAISE, name=json.dumps(name, ensure_ascii=False)[1:-1])
    each = taken(lift=lift)
    assert each.proved.built.lines[-3:] == ("G21 G90", "G53 G0 Z-2", "%")
    assert all(re.fullmatch(r"\([^()]*\)", line) for line in each.proved.built.lines[1:-4])


def test_inch_decimals_line_ends_percent_and_ending_are_those_of_the_controller_sheet():
    sheet = controller(
        resting='"G17 G20 G40 G80 G90 G94"',
        decimals="{ inch = 3 }",
        line_ending='"crlf"',
        percent="false",
        ending='"M2"',
        file_name='"{number}.tap"',
        first_number="7",
        comments='"semicolon"',
        message='""',
    )
    each = taken("present", controller=sheet)
    assert each.file == "8.tap"
    body = each.content.decode().split("\r\n")[len(head(each)) :]
    assert body == ["G20 G90", "G53 G0 Z-0.078", "G53 G0 X5.118 Y5.709", "M2", ""]
    assert head(each)[0] == "; Present"
    assert each.content.count(b"\n") == each.content.count(b"\r\n")


def test_a_file_ends_in_the_resting_modes():
    resting = controller(resting='"G17 G21 G40 G55 G90 G94"')
    above = document("present", RAISE, 'block = "above-work"')
    assert taken("present", present=above, controller=resting).proved.built.lines[-2] == "G55"
