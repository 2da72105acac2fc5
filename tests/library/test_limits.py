"""Every limit of a document is met before time is spent on it, and told with its name and its place."""

from __future__ import annotations

import time

import pytest

from library import documents, limits, measured, starter
from library.documents import DocumentError

MACRO = 'format = "clickstop-macro/1"\nid = "m"\nname = "M"\n'
SHEETS = {kind: text for kind, id, text in starter.documents() if id == "workshop"} | {"macro": MACRO}
SOON = 2.0
"""Seconds of processor time; most of these took from seven to any number before there were limits."""

ENTRIES = {
    "keep_out": '[[keep_out]]\nname = "K{n}"\nfrom = [1.0, 1.0, -130.0]\nto = [2.0, 2.0, -120.0]\n',
    "setup": '[[setup]]\nname = "S{n}"\n',
    "setup.keep_out": '[[setup.keep_out]]\nname = "K{n}"\nfrom = [1.0, 1.0, -130.0]\nto = [2.0, 2.0, -120.0]\n',
    "enclosure": '[[enclosure]]\nname = "E{n}"\nfrom = [1.0, 1.0, -30.0]\nto = [2.0, 2.0, -20.0]\n',
    "limit": '[[limit]]\nwhen = "z < -70 mm"\nthen = "y <= 140 mm"\n',
    "tools": "[[tools]]\nnumber = {n}\nlength = 40.0\nradius = 3.0\n",
    "positions": '[[positions]]\nlabel = "P{n}"\n',
    "step": '[[step]]\nblock = "raise"\n',
    "accepted": '[[accepted]]\nrule = "rule-{n}"\nbecause = "so"\n',
}


def refused(kind, text):
    begun = time.process_time()
    with pytest.raises(DocumentError) as caught:
        documents.parse(kind, text, "it")
    assert time.process_time() - begun < SOON
    return str(caught.value)


@pytest.mark.parametrize("allowed", limits.TABLE, ids=lambda each: f"{each.of}: {each}")
def test_a_limit_says_what_it_is_of_how_much_there_may_be_and_why(allowed):
    assert allowed.of
    assert allowed.why
    assert allowed.most > 0


LISTS = [(kind, key) for kind, keys in limits.COUNTS.items() for key in keys if key in ENTRIES]


@pytest.mark.parametrize(("kind", "key"), LISTS)
def test_one_entry_too_many_is_refused_with_the_limit(kind, key):
    allowed = limits.COUNTS[kind][key]
    base = {"setup.keep_out": '[[setup]]\nname = "Only"\n', "positions": ""}.get(key, "")
    head = SHEETS[kind] if kind != "pendant" else 'format = "clickstop-pendant/1"\n'
    text = head + "\n" + base + "".join(ENTRIES[key].format(n=900 + n) for n in range(allowed.most + 1))
    told = refused(kind, text)
    assert f"at most {allowed}" in told
    assert told.startswith("it: ")


def test_the_lists_that_have_no_entry_of_their_own_above_are_counted_too():
    many = ", ".join(f'"i{n}"' for n in range(13))
    assert "at most 12 increments" in refused("pendant", f'format = "clickstop-pendant/1"\nincrements = [{many}]\n')
    tags = ", ".join(f'"t{n}"' for n in range(51))
    assert "at most 50 tags" in refused("macro", f"{MACRO}tags = [{tags}]\n")


def test_slots_are_counted_over_all_positions():
    rows = "".join(f"[slots.P{p}]\n" + "".join(f'"{i}" = "m"\n' for i in range(12)) for p in range(11))
    assert "at most 120 slots in use" in refused("pendant", f'format = "clickstop-pendant/1"\n{rows}')


COSTLY = {
    "900 bare tools": ("machine", SHEETS["machine"] + "\n[[tools]]\n" * 900),
    "1,500 bare steps": ("macro", MACRO + "[[step]]\n" * 1500),
    "200 bare tools": ("machine", SHEETS["machine"] + "\n[[tools]]\n" * 199),
    "500 bare steps": ("macro", MACRO + "[[step]]\n" * 500),
    "a dotted key of 40 kB": ("macro", MACRO + ".".join("a" * 20_000) + " = 1\n"),
    "a dotted key of 100 kB": ("macro", MACRO + ".".join("a" * 50_000) + " = 1\n"),
    "dotted keys in quotes": ("macro", MACRO + ".".join(['"a"'] * 20_000) + " = 1\n"),
    "a header of 40 kB": ("macro", MACRO + "[" + ".".join("a" * 20_000) + "]\n"),
    "a dotted key within a table": ("macro", MACRO + "a = { " + " . ".join("b" * 9_000) + " = 1 }\n"),
    "brackets": ("macro", MACRO + "a = " + "[" * 100_000),
    "texts that do not end": ("macro", MACRO + 'a = """' + '\\"""' * 60_000),
    "one word of 200 kB": ("macro", MACRO + "a" * 200_000),
    "too many bytes": ("macro", MACRO + "# " + "x" * 256_000),
    "too many lines": ("macro", MACRO + "\n" * 10_001),
    "too many tables": ("macro", MACRO + "[[a]]\n" * 2_001),
}


@pytest.mark.parametrize("case", COSTLY)
def test_a_text_that_would_cost_too_much_is_refused_soon(case):
    assert refused(*COSTLY[case]).startswith("it")


def test_the_message_names_the_line_of_what_is_over():
    assert refused("macro", MACRO + "\n\n" + "a." * 9 + "a = 1\n").startswith("it, line 6: a key of a document")
    assert refused("macro", MACRO + 'purpose = """\n\n"""\na = ' + "[" * 17).startswith("it, line 7: a document")


@pytest.mark.parametrize(
    "text",
    ['purpose = "a.b.c.d.e.f.g.h.i.j"', "# a.b.c.d.e.f.g.h.i.j [[[[[[[[[[[[[[[[[[", "tags = ['[[[[[[[[[[[[[[[[[[[']"],
)
def test_what_stands_in_texts_and_comments_does_not_count(text):
    documents.parse("macro", f"{MACRO}{text}\n")


@pytest.mark.parametrize(("kind", "text"), SHEETS.items())
def test_the_starter_documents_are_far_within_all_of_them(kind, text):
    measured.require_text(text * 3)
    documents.parse(kind, text)
