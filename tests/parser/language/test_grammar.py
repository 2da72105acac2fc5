"""The grammar file beside the published productions."""

from importlib.resources import files

import pytest
from parsimonious.exceptions import ParseError

from parser.language.shapes import GRAMMAR

# NISTIR 6556, Appendix E
PRODUCTIONS = set(
    """
    line block_delete line_number letter_n segment mid_line_word mid_line_letter
    parameter_setting parameter_value parameter_index
    comment message ordinary_comment
    real_value real_number expression
    binary_operation binary_operation1 binary_operation2 binary_operation3
    unary_combo ordinary_unary_combo ordinary_unary_operation arc_tangent_combo end_of_line
    absolute_value and arc_cosine arc_sine arc_tangent cosine divided_by e_raised_to equal_sign exclusive_or fix_down
    fix_up left_bracket left_parenthesis minus modulo natural_log_of non_exclusive_or parameter_sign plus power
    right_bracket right_parenthesis round sine square_root tangent times
    """.split()  # noqa: SIM905 -- a list of words reads better
)
OWN = {
    *["operation", "sign", "line_number_digits", "unsigned_number", "message_mark", "comment_characters"],
    *["semicolon_comment", "semicolon_characters"],
}


def test_every_published_production_has_its_rule_and_every_other_rule_is_known():
    assert set(GRAMMAR) == PRODUCTIONS | OWN


def test_rules_of_our_own_are_explained_at_the_foot():
    text = files("parser.language").joinpath("rs274.peg").read_text(encoding="utf-8")
    _, foot = text.split("times                    =")
    at_the_foot = {line.split()[0] for line in foot.splitlines()[1:] if line and not line.startswith("#")}
    assert at_the_foot == OWN - {"operation"}


@pytest.mark.parametrize(
    ("production", "accepted", "refused"),
    [
        ("real_number", ["1", "-1.", "+.5", "007.250"], [".", "1e3", "--1", ""]),
        ("expression", ["[1]", "[1+2**3]", "[#1MOD[2]]"], ["[]", "[1", "1+2", "[1+]"]),
        ("parameter_value", ["#1", "##2", "#[1+2]", "#SIN[1]"], ["#", "1"]),
        ("parameter_setting", ["#1=2", "##1=#2", "#[1]=[2]"], ["#1", "#1==2"]),
        ("ordinary_unary_combo", ["SIN[1]", "LN[#2]"], ["SIN1", "SINH[1]", "ATAN[1]"]),
        ("arc_tangent_combo", ["ATAN[1]/[2]"], ["ATAN[1]", "ATAN1/2"]),
        ("mid_line_word", ["X1", "G#1", "ACOS[1]"], ["N1", "E1", "X"]),
        ("line_number", ["N1", "N12345"], ["N", "N123456", "N1.5"]),
        ("message", ["(MSG,a)", "( m s g ,)"], ["(MSG a)", "(a MSG,)"]),
        ("ordinary_comment", ["()", "(a; b)"], ["(", "((a))", "(a\nb)"]),
        ("line", ["", "/N1G1X1", "G1(a)#1=2;b", ";b"], ["N1/G1", "G1N1", "G1;a\n"]),
    ],
)
def test_productions_take_what_is_published_and_nothing_else(production, accepted, refused):
    for text in accepted:
        assert GRAMMAR[production].parse(text).text == text
    for text in refused:
        with pytest.raises(ParseError):
            GRAMMAR[production].parse(text)
