"""The tables of published words."""

import pytest

from parser.language.words import (
    AXES,
    G_GROUP_NAMES,
    G_GROUPS,
    LETTERS,
    M_GROUP_NAMES,
    M_GROUPS,
    UNPUBLISHED,
    WORDS,
    canonical,
    nearest,
)

# NISTIR 6556, 3.4, Table 4
PUBLISHED_G = {
    0: "G4 G10 G28 G30 G53 G92 G92.1 G92.2 G92.3",
    1: "G0 G1 G2 G3 G38.2 G80 G81 G82 G83 G84 G85 G86 G87 G88 G89",
    2: "G17 G18 G19",
    3: "G90 G91",
    5: "G93 G94",
    6: "G20 G21",
    7: "G40 G41 G42",
    8: "G43 G49",
    10: "G98 G99",
    12: "G54 G55 G56 G57 G58 G59 G59.1 G59.2 G59.3",
    13: "G61 G61.1 G64",
}
PUBLISHED_M = {4: "M0 M1 M2 M30 M60", 6: "M6", 7: "M3 M4 M5", 8: "M7 M8 M9", 9: "M48 M49"}


def spread_out(groups):
    return {word: group for group, words in groups.items() for word in words.split()}


def test_g_words_stand_in_their_published_groups():
    assert spread_out(PUBLISHED_G) == G_GROUPS


def test_m_words_stand_in_their_published_groups():
    assert spread_out(PUBLISHED_M) == M_GROUPS


def test_every_group_has_a_name():
    assert set(G_GROUP_NAMES) == set(PUBLISHED_G)
    assert set(M_GROUP_NAMES) == set(PUBLISHED_M)


def test_letters_are_those_of_the_published_word_production():
    # NISTIR 6556, Appendix E, mid_line_letter
    assert " ".join(sorted(LETTERS)) == "A B C D F G H I J K L M P Q R S T X Y Z"


@pytest.mark.parametrize("info", WORDS.values(), ids=WORDS)
def test_every_word_says_what_it_does_and_where_that_is_published(info):
    assert info.meaning.endswith(".")
    assert info.section.startswith(("3.5.", "3.6."))
    assert set(info.takes) <= set(LETTERS)


def test_words_that_are_recognised_but_not_followed():
    assert [word for word, info in WORDS.items() if not info.supported] == ["G41", "G42"]


def test_non_modal_words_that_use_axis_words_are_the_published_ones():
    # NISTIR 6556, 3.4: G10, G28, G30 and G92
    g_words = [info for info in WORDS.values() if info.group == 0 and info.letter == "G"]
    assert [info.word for info in g_words if set(AXES) & set(info.takes)] == ["G10", "G28", "G30", "G92"]


def test_words_without_a_publication_stay_out_of_the_published_table():
    assert not set(UNPUBLISHED) & set(WORDS)


@pytest.mark.parametrize(
    ("letter", "value", "word"),
    [
        ("G", 1.0, "G1"),
        ("g", 0.0, "G0"),
        ("G", -0.00005, "G0"),
        ("G", 1.0001, "G1"),
        ("G", 2.0001, "G2"),  # NISTIR 6556, 3.3.2: an integer may be off by 0.0001
        ("G", 59.1, "G59.1"),
        ("G", 38.20005, "G38.2"),
        ("G", 5.4, "G5.4"),
        ("G", 5.43, "G5.43"),
        ("M", 30.0, "M30"),
        ("M", 1e300, "M1e+300"),
        ("M", float("inf"), "Minf"),
    ],
)
def test_words_have_one_spelling(letter, value, word):
    assert canonical(letter, value) == word


def test_a_value_further_from_an_integer_is_another_word():
    assert canonical("G", 1.0002) not in WORDS


@pytest.mark.parametrize(
    ("mistake", "meant"),
    [("G5.4", ("G4", "G54")), ("M101", ("M1", "M60")), ("G59.4", ("G59.3",)), ("E5", ()), ("G", ())],
)
def test_a_mistaken_word_is_told_its_nearest_ones(mistake, meant):
    assert nearest(mistake) == meant
