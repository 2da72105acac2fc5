"""Every limit of a document is met before time is spent on it, and told with its name and its place."""

from __future__ import annotations

import pytest

from library import documents, limits, measured, starter
from library.build import build
from library.documents import DocumentError
from tests.deadline import within

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
    with within(SOON), pytest.raises(DocumentError) as caught:
        documents.parse(kind, text, "it")
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


def shelf_of(count, runs, last='[[step]]\nblock = "raise"\n'):
    """Macros m0, m1 ... that each run what ``runs`` says of their number."""
    texts = {
        f"m{n}": f'format = "clickstop-macro/1"\nid = "m{n}"\nname = "M{n}"\n{runs(n) or last}' for n in range(count)
    }
    return {id: documents.parse("macro", text) for id, text in texts.items()}


def run(*names):
    return "".join(f'[[step]]\nblock = "run-macro"\nmacro = "{name}"\n' for name in names)


def built(shelf):
    with within(SOON):
        return build(shelf["m0"], documents.bench(SHEETS["machine"], SHEETS["controller"], shelf=shelf))


def test_macros_that_each_run_the_next_one_thrice_are_counted_and_not_written():
    made = built(shelf_of(16, lambda n: run(*[f"m{n + 1}"] * 3) if n < 15 else ""))
    assert "takes at most 1,000 steps" in str(made.problems[0])
    assert made.problems[0].step == 1
    assert made.problems[0].parameter == "macro"
    assert len(made.lines) < 10


@pytest.mark.parametrize("count", [23, 300])
def test_macros_that_run_one_another_too_deeply_are_told_in_a_sentence(count):
    made = built(shelf_of(count, lambda n: run(*[f"m{n + 1}"] * 2) if n < count - 1 else ""))
    assert "more than 16 levels" in str(made.problems[0])
    assert len(made.lines) < 10


def test_macros_that_all_run_each_other_are_told_in_a_sentence():
    made = built(shelf_of(23, lambda n: run(*(f"m{k}" for k in range(23) if k != n))))
    assert "would run itself" in str(made.problems[0])


def test_macros_that_run_each_other_twice_are_told_in_a_sentence():
    made = built(shelf_of(2, lambda n: run(f"m{1 - n}", f"m{1 - n}")))
    assert "the macro m0 would run itself (m0, m1, m0)" in str(made.problems[0])


def test_as_many_steps_as_may_be_are_written():
    fifty = "".join('[[step]]\nblock = "raise"\n' for _ in range(50))
    shelf = shelf_of(2, lambda n: run(*["m1"] * 20) if n == 0 else "", last=fifty)
    assert built(shelf).problems == ()
    assert built(shelf).text.count("Z-2") >= 1
    shelf = shelf_of(2, lambda n: run(*["m1"] * 21) if n == 0 else "", last=fifty)
    (problem,) = built(shelf).problems
    assert problem.step == 21


def test_steps_of_a_hundred_sweeps_each_stop_where_no_more_lines_are_read():
    macro = documents.parse("macro", MACRO + '[[step]]\nblock = "sweep"\ntimes = "100"\n' * 500)
    with within(5 * SOON):
        made = build(macro, documents.bench(SHEETS["machine"], SHEETS["controller"]))
    (problem,) = made.problems
    assert "more than 20,000 lines are not read" in problem.message
    assert len(made.values) == len(made.notes) == 500


def test_own_lines_may_begin_with_an_empty_line():
    text = f"{MACRO}[[step]]\nblock = \"own-lines\"\nlines = '''\n\nG4 P1\n'''\n"
    made = build(documents.parse("macro", text), documents.bench(SHEETS["machine"], SHEETS["controller"]))
    assert made.problems == ()
    assert "G4 P1" in made.lines
