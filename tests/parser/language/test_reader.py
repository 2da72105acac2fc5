"""Reading: lines, words, comments and percent lines, and what cannot be read."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from parser.language.program import Arctangent, Binary, Comment, ParameterValue, Unary, Word
from parser.language.reader import LONGEST_LINE, read
from parser.machine import Controller
from tests.parser.language.plainly import read_plainly

AS_PUBLISHED = Controller()
SEMICOLON = Controller(comments="semicolon")  # common practice, no source
FUNCTIONS = ["ABS", "ACOS", "ASIN", "COS", "EXP", "FIX", "FUP", "LN", "ROUND", "SIN", "SQRT", "TAN"]


def line_of(text, controller=AS_PUBLISHED):
    program = read(text, controller)
    assert program.troubles == ()
    return program.lines[0]


def value_of(text):
    return line_of(f"X{text}").words[0].value


def trouble_of(text, controller=AS_PUBLISHED):
    (trouble,) = read(text, controller).troubles
    return trouble


# --- lines ---------------------------------------------------------------------------------------------------------


def test_a_line_is_words_in_the_order_they_are_written():
    assert line_of("G1 X-2.5").words == (Word("G", 1.0, 1, 3), Word("X", -2.5, 4, 9))


def test_a_line_of_the_controller_sheet_need_not_be_rs_274():
    """Design section 5: homing, pause and settle are lines of the controller, sent as they are."""
    own = Controller(homing=("@seek all",), pause="@wait", settle="@settled")
    assert read("@SEEK ALL (first)\n@wait\n@settled\nG21\n", own).troubles == ()
    assert [trouble.line for trouble in read("@home x\n@wait a\n", own).troubles] == [1, 2]


def test_block_delete_and_line_number_stand_first():
    line = line_of(" /n12 G0")
    assert line.block_delete
    assert line.line_number == 12
    assert [word.letter for word in line.words] == ["G"]


def test_a_line_number_has_its_own_figures_on_lines_that_are_alike():
    assert [line.line_number for line in read("N10 G0\nN25 G0").lines] == [10, 25]


@pytest.mark.parametrize("text", ["G0\nG1\n", "G0\r\nG1\r\n", "G0\nG1", "G0\r\nG1"])
def test_lines_end_at_line_feed_with_or_without_carriage_return(text):
    assert [line.text for line in read(text).lines] == ["G0", "G1"]


def test_blank_lines_are_counted_and_say_nothing():
    program = read("\n \t\nG0")
    assert [(line.number, len(line.words)) for line in program.lines] == [(1, 0), (2, 0), (3, 1)]
    assert program.troubles == ()


def test_an_empty_text_has_no_lines():
    assert read("").lines == ()


@pytest.mark.parametrize("separator", ["\r", "\f", "\v", "\x85", "\u2028"])
def test_nothing_else_ends_a_line(separator):
    program = read(f"G0{separator}G1")
    assert len(program.lines) == 1
    assert not program.lines[0].readable


def test_words_begin_with_every_published_letter():
    letters = "ABCDFGHIJKLMPQRSTXYZ"  # NISTIR 6556, Appendix E, mid_line_letter
    assert "".join(word.letter for word in line_of(" ".join(f"{letter}1" for letter in letters)).words) == letters


@pytest.mark.parametrize("letter", "ENOUVW")
def test_no_word_begins_with_another_letter(letter):
    assert trouble_of(f"X1 {letter}1").column == 4


# --- numbers and calculations --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "value"),
    [("1", 1.0), ("+1", 1.0), ("-1.", -1.0), (".5", 0.5), ("-.5", -0.5), ("007.250", 7.25), ("- 1 . 5", -1.5)],
)
def test_numbers_have_a_sign_digits_and_a_point(text, value):
    assert value_of(text) == value


@pytest.mark.parametrize("text", [".", "-", "--1", "1e3", "1,5", "1.2.3", "1_0", "٣", "inf"])
def test_nothing_else_is_a_number(text):
    assert trouble_of(f"X{text}").rule == "unreadable-line"


def test_a_number_beyond_calculation_is_reported_at_its_place():
    trouble = trouble_of(f"G1 X{'9' * 400}", Controller(line_limit=1000))
    assert (trouble.rule, trouble.column, trouble.end) == ("unreadable-line", 5, 405)


def test_a_number_with_many_figures_is_read():
    assert value_of("0." + "1" * 200) == pytest.approx(0.1111111111)


def test_operations_of_one_group_are_taken_left_to_right():
    # NISTIR 6556, 3.3.2.3
    assert value_of("[1-2-3]") == Binary("-", Binary("-", 1.0, 2.0), 3.0)
    assert value_of("[2**3**2]") == Binary("**", Binary("**", 2.0, 3.0), 2.0)


def test_powers_come_before_products_and_products_before_sums():
    # NISTIR 6556, 3.3.2.3
    assert value_of("[1+2*3**4]") == Binary("+", 1.0, Binary("*", 2.0, Binary("**", 3.0, 4.0)))
    assert value_of("[1 and 5 mod 2]") == Binary("AND", 1.0, Binary("MOD", 5.0, 2.0))


def test_a_parameter_sign_binds_tighter_than_any_operation():
    # NISTIR 6556, 3.3.2.1
    assert value_of("[#1+2]") == Binary("+", ParameterValue(1.0), 2.0)
    assert value_of("#[1+2]") == ParameterValue(Binary("+", 1.0, 2.0))


def test_a_parameter_may_name_another():
    # NISTIR 6556, 3.3.2.1
    assert value_of("##2") == ParameterValue(ParameterValue(2.0))


@pytest.mark.parametrize("name", FUNCTIONS)
def test_functions_stand_before_a_bracket(name):
    assert value_of(f"{name.lower()}[1]") == Unary(name, 1.0)


def test_the_arc_tangent_takes_two_brackets():
    assert value_of("atan[1]/[2]") == Arctangent(1.0, 2.0)


def test_a_letter_and_a_function_may_run_together():
    assert line_of("ACOS[1]").words == (Word("A", Unary("COS", 1.0), 1, 8),)


def test_a_setting_has_an_index_a_value_and_a_place():
    (setting,) = line_of("G1 #[1+1] = 6").settings
    assert (setting.index, setting.value) == (Binary("+", 1.0, 1.0), 6.0)
    assert (setting.column, setting.end) == (4, 14)


# --- white space and case ------------------------------------------------------------------------------------------


def test_columns_are_those_of_the_text_as_written():
    words = line_of("g0x +0. 12 34y 7").words
    assert [(word.column, word.end) for word in words] == [(1, 3), (3, 14), (14, 17)]


def test_a_place_beside_a_long_number_is_not_shifted():
    words = line_of("X123.456 [#1] Y2".replace("[#1]", "A[#1]")).words
    assert [(word.column, word.end) for word in words] == [(1, 9), (10, 15), (16, 18)]


@pytest.mark.parametrize("text", ["X\xa01", "X\u20031"])
def test_only_spaces_and_tabs_are_white_space(text):
    assert not read(text).lines[0].readable


@pytest.mark.parametrize("text", ["ſ5", "X#1 \u212a5"])
def test_letters_are_ascii(text):
    assert not read(text).lines[0].readable


# --- comments ------------------------------------------------------------------------------------------------------


def test_a_comment_keeps_its_text_as_written():
    line = line_of("G1 ( Face  the part, 2 x ) X1")
    assert line.comments == (Comment(" Face  the part, 2 x ", None, 4, 27),)
    assert [word.column for word in line.words] == [1, 28]


@pytest.mark.parametrize("mark", ["MSG,", "msg,", " M s G ,"])
def test_a_comment_that_begins_with_msg_is_a_message(mark):
    # NISTIR 6556, 3.3.4
    assert line_of(f"({mark} Clamp the part )").comments[0].message == "Clamp the part"


def test_a_comment_that_merely_mentions_msg_is_none():
    assert line_of("(a MSG, b)").comments[0].message is None


def test_comments_that_differ_in_figures_keep_their_own():
    assert [line.comments[0].text for line in read("(pass 1)\n(pass 2)").lines] == ["pass 1", "pass 2"]


def test_comments_do_not_nest():
    trouble = trouble_of("(a (b))")
    assert (trouble.column, trouble.message) == (4, "A comment cannot hold another ( parenthesis.")


def test_a_comment_is_closed_on_its_line():
    assert trouble_of("G1 (abc").message == "The comment that begins at column 4 is not closed."


def test_brackets_in_a_comment_are_text():
    assert line_of("(" + "[#" * 60 + ")").comments[0].text == "[#" * 60


def test_a_semicolon_comment_runs_to_the_end_where_the_sheet_says_so():
    line = line_of("G1 X1 ; to (the) end; of it", SEMICOLON)
    assert line.comments == (Comment(" to (the) end; of it", None, 7, 28),)


def test_a_semicolon_is_no_comment_where_comments_are_in_parentheses():
    trouble = trouble_of("G1 X1 ; done")
    assert (trouble.rule, trouble.column, trouble.end) == ("unreadable-line", 7, 13)
    assert "not after a semicolon" in trouble.message


def test_parentheses_are_no_comment_where_comments_follow_a_semicolon():
    trouble = trouble_of("G1 (fast) X1", SEMICOLON)
    assert (trouble.rule, trouble.column, trouble.end) == ("unreadable-line", 4, 10)
    assert "not in parentheses" in trouble.message


def test_the_kind_of_comment_is_the_reason_though_more_is_wrong_after_it():
    assert "not in parentheses" in trouble_of("G1 (fast X1", SEMICOLON).message


# --- percent lines and the end -------------------------------------------------------------------------------------


def test_percent_lines_wrap_a_file_and_what_follows_is_not_read():
    # NISTIR 6556, 3.1
    program = read("\n % \nG0\n%\nnot a program")
    assert program.wrapped
    assert program.last == 4
    assert [line.percent for line in program.lines] == [False, True, False, True, False]
    assert program.troubles == ()
    assert program.lines[4].text == "not a program"


def test_a_percent_line_without_its_closing_one_is_reported():
    program = read("%\nG0\n")
    assert not program.wrapped
    assert program.last == 2
    assert [(trouble.rule, trouble.line) for trouble in program.troubles] == [("ending-missing", 1)]


def test_a_percent_line_closes_nothing_where_none_was_opened():
    trouble = trouble_of("G0\n%\n")
    assert (trouble.rule, trouble.line, trouble.column) == ("unreadable-line", 2, 1)


@pytest.mark.parametrize("ending", ["M2", "m30", "G0 M02", "M2.00005"])
def test_nothing_is_read_after_the_end_of_the_program(ending):
    # NISTIR 6556, 3.6.1
    program = read(f"{ending}\nnot a program\n")
    assert program.last == 1
    assert len(program.lines) == 2
    assert program.troubles == ()


def test_an_end_that_may_be_skipped_ends_nothing():
    assert read("/M2\nG0\n").last == 2


def test_an_end_whose_number_is_calculated_is_for_the_interpreter():
    assert read("M[1+1]\nG0\n").last == 2


def test_an_end_to_which_the_sheet_gives_another_meaning_ends_nothing():
    assert read("M2\nG0\n", Controller(extra_words={"M2": "call"})).last == 2


def test_the_closing_percent_line_counts_though_the_program_ended_before_it():
    program = read("%\nM2\njunk\n%\n")
    assert program.wrapped
    assert program.troubles == ()


# --- what cannot be read -------------------------------------------------------------------------------------------

UNREADABLE = [
    ("G1 X Q", 6, 7, "After X a number, a # parameter, a [ bracket or a function such as SIN is expected; found 'Q'."),
    ("G1 X", 5, 5, "After X a number, a # parameter, a [ bracket or a function such as SIN is expected; the line ends"),
    ("X1 ?? Y2", 4, 6, "After X1 a word, a comment or a parameter setting is expected; found '??'."),
    ("X1 E2", 4, 5, "No word begins with E."),
    ("X-Y2", 3, 4, "After - a number is expected; found 'Y'."),
    ("X[1 2", 6, 6, "an operation or a ] bracket is expected; the line ends there."),
    ("X[1 Y", 5, 6, "an operation or a ] bracket is expected; found 'Y'."),
    ("X[]", 3, 4, "After [ a number, a # parameter"),
    ("#3", 3, 3, "an = sign is expected; the line ends there."),
    ("#3=", 4, 4, "After = a number"),
    ("X#", 3, 3, "After # a number"),
    ("X SIN 30", 7, 9, "After XSIN a [ bracket is expected; found '30'."),
    ("X ATAN[1]", 10, 10, "a / and a second bracket is expected"),
    ("X SQT[4]", 3, 6, "found 'SQT'."),
    ("N", 2, 2, "After N a number of one to five digits is expected"),
    ("N123456 X1", 7, 8, "A line number has at most five digits."),
    ("X1 N5", 4, 5, "A line number stands first on its line."),
    ("X1 /", 4, 5, "stands first on it."),
    ("X1)", 3, 4, "There is no ( before this )."),
    ("X1 %", 4, 5, "A % stands alone"),
    ("X−5", 2, 3, "found '−' (U+2212 minus sign)."),
    ("X1 ı5", 4, 5, "found 'ı' (U+0131 latin small letter dotless i)."),
    ("N12345٣", 7, 8, "found '٣' (U+0663 arabic-indic digit three)."),
    ("(" + "a" * 200 + ") X ?", 206, 207, "After X a number"),
    ("\ufeffG1", 1, 2, "The character U+FEFF zero width no-break space does not print"),
    ("X\x071", 2, 3, "The character U+0007 does not print"),
    ("X1\rY2", 3, 4, "A carriage return alone does not end a line."),
    ("X" + "[" * 33, 34, 35, "More than 32 brackets and # signs within one another"),
    ("X" + "#" * 33 + "1", 34, 35, "More than 32 brackets and # signs within one another"),
]


@pytest.mark.parametrize(
    ("text", "column", "end", "message"), UNREADABLE, ids=[repr(row[0][:12]) for row in UNREADABLE]
)
def test_what_cannot_be_read_is_reported_with_its_place_and_what_was_expected(text, column, end, message):
    trouble = trouble_of(f"G0\n{text}\nG1")
    assert (trouble.rule, trouble.line, trouble.column, trouble.end) == ("unreadable-line", 2, column, end)
    assert message in trouble.message
    assert trouble.remedy


def test_the_other_lines_are_still_read():
    program = read("G0 X1\nG1 ?\nG0 X2")
    assert [line.readable for line in program.lines] == [True, False, True]
    assert program.lines[1].words == ()
    assert program.lines[2].words[1].value == 2.0


@pytest.mark.parametrize("nested", ["[" * 16 + "1" + "]" * 16, "#" * 16 + "1", "#SIN[" * 16 + "1" + "]" * 16])
def test_nesting_in_use_is_read(nested):
    assert read(f"X{nested}").troubles == ()


@pytest.mark.parametrize(
    "text",
    [
        "X" + "[" * 9000,
        "X" + "#SIN[" * 1800,
        "X" + "#" * 9000,
        "X[" + "1+" * 4000 + "1]",
        "X" + "[1+" * 400 + "]" * 400,
    ],
)
def test_no_nesting_and_no_length_exhausts_the_stack(text):
    (trouble,) = read(text, Controller(line_limit=10_000)).troubles
    assert trouble.rule == "unreadable-line"
    assert "are not read" in trouble.message


def test_as_many_operations_as_a_published_line_has_room_for_are_read():
    line = "X[" + "1+" * 126 + "1]"
    assert len(line) == 256
    assert read(line).troubles == ()


def test_a_line_longer_than_the_controller_takes_is_reported_and_still_read():
    program = read("X1 Y2 Z3", Controller(line_limit=5))
    (trouble,) = program.troubles
    assert (trouble.rule, trouble.column, trouble.end) == ("line-too-long", 6, 9)
    assert len(program.lines[0].words) == 3


def test_every_line_that_is_too_long_is_reported():
    assert [trouble.line for trouble in read("X1 Y2\nX3 Y4", Controller(line_limit=4)).troubles] == [1, 2]


def test_a_line_of_just_the_limit_is_not_too_long_and_its_end_does_not_count():
    assert read("X1 Y2\r\n", Controller(line_limit=5)).troubles == ()


def test_a_line_beyond_any_program_is_not_read():
    program = read("X1" * LONGEST_LINE)
    assert [trouble.rule for trouble in program.troubles] == ["line-too-long", "unreadable-line"]
    assert not program.lines[0].readable


# --- progress ------------------------------------------------------------------------------------------------------


def test_progress_is_told_as_a_growing_share():
    shares = []
    read("G0\n" * 5000, progress=shares.append)
    assert shares == sorted(shares)
    assert len(shares) > 2
    assert shares[-1] == 1.0


class Cancelled(Exception):  # noqa: N818
    pass


def test_what_progress_raises_ends_the_reading():
    def cancel(share):
        raise Cancelled

    with pytest.raises(Cancelled):
        read("G0\n" * 5000, progress=cancel)


# --- always --------------------------------------------------------------------------------------------------------

CONTROLLERS = st.sampled_from([Controller(), SEMICOLON, Controller(line_limit=12)])
CHARACTERS = [*"GgMNXYZIF#=[]()/*+-.;%0123456789 \t\n\ré٣\x00\ufeff", "\r\n"]
PARTS = ["G1 X", "N10 ", "00000", "12.5", "-3.25", "[1+2]", "sin[30]", "ATAN[1]/[2]", "#5=7", "(MSG, a 1)", "(b2)"]
SIGNS = ["**", "MOD", "AND", "XOR", "##2"]
PIECES = st.sampled_from(CHARACTERS + PARTS + SIGNS)
TEXTS = st.lists(PIECES, max_size=40).map("".join) | st.text(max_size=60)
LINES_ALIKE = st.lists(
    st.builds(
        "{}G{} X{}{} Y{}(c{})".format,
        st.sampled_from(["", "N12", "N12345", "N 1 2", "/N7", "N123456"]),
        st.sampled_from(["1", "01", "0", "2"]),
        st.sampled_from(["", "-", "+", " "]),
        st.sampled_from(["1", "12", "1.5", "10.25", ".5", "3.", "1 2", "[1+22]", "#33", "[10/3]", "9" * 320]),
        st.sampled_from(["7", "77", "7.75", "-7", "[7"]),
        st.sampled_from(["1", "22", "(", "é"]),
    ),
    max_size=12,
).map("\n".join)


@given(TEXTS | LINES_ALIKE, CONTROLLERS)
@settings(max_examples=400, deadline=None)
def test_reading_lines_by_their_likeness_gives_what_reading_each_gives(text, controller):
    assert read(text, controller) == read_plainly(text, controller)


@given(TEXTS, CONTROLLERS)
@settings(max_examples=300, deadline=None)
def test_every_line_is_understood_or_reported(text, controller):
    program = read(text, controller)
    reported = {trouble.line for trouble in program.troubles if trouble.rule == "unreadable-line"}
    assert {line.number for line in program.lines if not line.readable} == reported
    for trouble in program.troubles:
        assert trouble.message.endswith(".")
        assert "\n" not in trouble.message
        assert trouble.remedy
        assert 1 <= trouble.column <= trouble.end <= len(program.lines[trouble.line - 1].text) + 1


@given(TEXTS)
@settings(max_examples=200, deadline=None)
def test_every_word_lies_where_it_says(text):
    for line in read(text).lines:
        for word in line.words:
            assert line.text[word.column - 1].upper() == word.letter
            assert not line.text[word.end - 2].isspace()
        for at, word in enumerate(line.words):
            assert line.span(0, at) == (line.words[0].column, word.end)
        for comment in line.comments:
            assert line.text[comment.column - 1 : comment.end - 1] == f"({comment.text})"


@given(st.lists(st.floats(-1e4, 1e4).map(lambda value: f"{value:.4f}"), min_size=1, max_size=6))
def test_numbers_come_back_as_written(figures):
    words = read("\n".join(f"X{figure}" for figure in figures)).lines
    assert [line.words[0].value for line in words] == [float(figure) for figure in figures]
