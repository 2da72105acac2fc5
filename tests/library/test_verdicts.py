"""A verdict is worded in one place, and names the lines of which nothing is proved."""

import csv
import io

import pytest

from library import pack, verdicts
from library.proving import prove_macro
from library.store import Workshop
from tests.library.benches import bench
from tests.library.test_sequences import RAISE, STOP, macro, own

HOME = own("(MSG, HOME AT THE PANEL)", "M0")


@pytest.mark.parametrize(
    ("lines", "conditioned", "said"),
    [
        ((), True, "Proved with a condition"),
        ((6,), False, "Proved but for line 6"),
        ((9, 6, 6), False, "Proved but for lines 6 and 9"),
        ((1, 2, 3, 4, 5), False, "Proved but for 5 lines"),
        ((None, 6), False, "Proved but for what could not be decided"),
        ((6,), True, "Proved but for line 6, with a condition"),
    ],
)
def test_what_is_left_open_is_named_by_its_lines(lines, conditioned, said):
    assert verdicts.worded("conditional", lines, conditioned=conditioned) == said


@pytest.mark.parametrize("verdict", ["proved", "accepted", "refused"])
def test_only_a_proof_can_have_something_left_out_of_it(verdict):
    assert verdicts.worded(verdict, (6,), conditioned=True) == verdicts.WORDS[verdict]


def test_a_report_is_worded_by_what_was_found():
    for start, more in (("anywhere", ""), ("z >= -20 mm", ", with a condition")):
        report = prove_macro(macro(HOME, name="Home", start=start), bench()).report
        line = next(number for number, each in enumerate(report.program.lines, 1) if each.text == "M0")
        assert verdicts.in_words(report) == f"Proved but for line {line}{more}"
    assert verdicts.in_words(prove_macro(macro(STOP, RAISE), bench()).report) == "Proved"


def test_the_head_of_a_file_and_the_table_for_people_say_it_alike(tmp_path):
    files = pack.make(pack.gather(Workshop.open(tmp_path / "workshop"))).files
    text = files["macros/home.nc"].decode()
    line = text.split("\n").index("(MSG, HOME AT THE PANEL)") + 1
    (row,) = [each for each in csv.DictReader(io.StringIO(files["slots.csv"].decode())) if each["macro"] == "home"]
    assert row["verdict"] == f"Proved but for line {line}"
    assert f"(Verdict: proved but for line {line})" in text
    assert b"conditional" not in files["prove-out.html"]
    assert f"Verdict: Proved but for line {line}<".encode() in files["prove-out.html"]
