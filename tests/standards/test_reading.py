"""The reading rules and the worked values of NISTIR 6556, on texts as it prints them."""

import pytest

from parser.language.reader import read
from parser.language.values import evaluate
from parser.language.words import canonical


def parts(text):
    """What a line says, places aside."""
    (line,) = read(text).lines
    assert line.readable
    return (
        [(word.letter, word.value) for word in line.words],
        [(setting.index, setting.value) for setting in line.settings],
        [comment.text for comment in line.comments],
    )


def value_of(text, parameters=None):
    (word,) = read(f"x{text}").lines[0].words
    return evaluate(word.value, (parameters or {}).__getitem__)


def test_white_space_within_a_line_means_nothing():
    assert parts("g0x +0. 12 34y 7") == parts("g0 x+0.1234 y7")  # NISTIR 6556, 3.3
    assert parts("\tG 0 X\t1") == parts("G0X1")


def test_case_means_nothing():
    assert parts("g1 x[1 mod sin[2]]") == parts("G1 X[1 MOD SIN[2]]")  # NISTIR 6556, 3.3


def test_comments_keep_their_case_and_white_space():
    assert parts("(Mind the  vise)")[2] == ["Mind the  vise"]  # NISTIR 6556, 3.3.4


def test_an_expression_is_worked_out_as_printed():
    assert value_of("[2.0 / 3 * 1.5 - 5.5 / 11.0]") == pytest.approx(0.5)  # NISTIR 6556, 3.3.2.3


def test_fix_and_fup_of_a_negative_number_as_printed():
    assert value_of("FIX[-2.8]") == -3  # NISTIR 6556, 3.3.2.4
    assert value_of("FUP[-2.8]") == -2  # NISTIR 6556, 3.3.2.4


def test_the_parameter_sign_binds_tighter_than_an_operation():
    stored = {1.0: 100.0, 3.0: 15.0}
    assert value_of("[#1+2]", stored) == 102  # NISTIR 6556, 3.3.2.1
    assert value_of("#[1+2]", stored) == 15  # NISTIR 6556, 3.3.2.1


def test_a_parameter_may_be_named_by_another():
    assert value_of("##2", {2.0: 7.0, 7.0: 3.5}) == 3.5  # NISTIR 6556, 3.3.2.1


def test_settings_stand_apart_from_words_in_their_own_order():
    words, settings, _ = parts("#3=6 G1 x#3")  # NISTIR 6556, 3.3.3
    assert [letter for letter, _ in words] == ["G", "X"]
    assert settings == [(3.0, 6.0)]
    assert parts("#3=15 #3=6")[1] == [(3.0, 15.0), (3.0, 6.0)]  # NISTIR 6556, 3.3.5: the last one counts


def test_words_settings_and_comments_may_stand_in_any_order():
    orders = ["g40 g1 #3=15 (foo) #4=-7.0", "(foo) #3=15 g40 #4=-7.0 g1"]  # NISTIR 6556, 3.3.6
    first, second = (parts(text) for text in orders)
    assert sorted(first[0]) == sorted(second[0])
    assert first[1:] == second[1:]


def test_a_line_number_has_one_to_five_digits():
    assert read("N1 G0").lines[0].line_number == 1  # NISTIR 6556, 3.3.1
    assert read("N99999 G0").lines[0].line_number == 99999
    assert not read("N100000 G0").lines[0].readable


def test_256_characters_are_a_line_and_257_are_too_many():
    line = "G0 (" + "a" * 251 + ")"
    assert len(line) == 256
    assert read(line + "\n").troubles == ()  # NISTIR 6556, 3.3
    assert [trouble.rule for trouble in read(line + " \n").troubles] == ["line-too-long"]


def test_a_message_is_a_comment_that_begins_with_msg_and_a_comma():
    assert read("( m S g , turn the part)").lines[0].comments[0].message == "turn the part"  # NISTIR 6556, 3.3.4
    assert read("(MSG turn the part)").lines[0].comments[0].message is None


def test_comments_do_not_nest():
    assert not read("(a (b) c)").lines[0].readable  # NISTIR 6556, 3.3.4


def test_a_file_may_be_wrapped_in_percent_lines():
    program = read("\n %\t\nG0\n\t% \nanything at all\n")  # NISTIR 6556, 3.1
    assert program.wrapped
    assert program.last == 4
    assert program.troubles == ()


def test_numbers_have_no_exponent():
    assert not read("X1e3").lines[0].readable  # NISTIR 6556, 3.3.2.2


def test_blank_lines_are_ignored():
    program = read("\n  \nG0 X1\n\t\n")  # NISTIR 6556, 3.3
    assert program.troubles == ()
    assert [len(line.words) for line in program.lines] == [0, 0, 2, 0]


@pytest.mark.parametrize("ending", ["M2", "M30", "m 2"])
def test_nothing_after_the_end_of_the_program_is_read(ending):
    assert read(f"G0 X1\n{ending}\nthis is no program\n").troubles == ()  # NISTIR 6556, 3.6.1


def test_powers_come_first_then_products_then_sums_and_logic():
    assert value_of("[1 + 2 * 3 ** 2]") == 19  # NISTIR 6556, 3.3.2.3
    assert value_of("[2 ** 3 ** 2]") == 64  # left to right within a group
    assert value_of("[10 - 4 - 3]") == 3


def test_zero_is_false_and_anything_else_is_true():
    assert value_of("[0 OR 0.5]") == 1  # NISTIR 6556, 3.3.2.3
    assert value_of("[2 AND 0]") == 0
    assert value_of("[2 XOR 3]") == 0


def test_angles_go_in_and_come_out_in_degrees():
    assert value_of("SIN[30]") == pytest.approx(0.5)  # NISTIR 6556, 3.3.2.4
    assert value_of("ACOS[0]") == pytest.approx(90)
    assert value_of("ATAN[1]/[1]") == pytest.approx(45)


def test_round_goes_to_the_nearest_integer():
    assert [value_of(f"ROUND[{number}]") for number in ("2.4", "2.6", "-2.4", "-2.6")] == [2, 3, -2, -3]  # 3.3.2.4


def test_an_integer_may_be_off_by_a_ten_thousandth():
    assert [canonical("G", value) for value in (1.0001, 0.9999, 59.10005)] == ["G1", "G1", "G59.1"]  # 3.3.2
    assert canonical("G", 1.0002) != "G1"


def test_words_may_stand_in_any_order():
    assert sorted(parts("x1 y2 g1 f3")[0]) == sorted(parts("f3 g1 y2 x1")[0])  # NISTIR 6556, 3.3.6
