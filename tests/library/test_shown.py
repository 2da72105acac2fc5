"""Words from outside are shown with every character that is not seen made visible."""

from __future__ import annotations

import unicodedata

import pytest

from library import shown

HIDDEN = {
    "\x1b[2J": "\\x1b[2J",
    "\r": "\\r",
    "\x9b31m": "\\x9b31m",
    "\x7f": "\\x7f",
    "\x00": "\\x00",
    "\u202egnp": "\\u202egnp",
    "\u2066x": "\\u2066x",
    "\u2028x": "\\u2028x",
    "\u200bx": "\\u200bx",
    "\U000e0041": "\\U000e0041",
    "\udc9b": "\\x9b",
}


@pytest.mark.parametrize(("written", "seen"), HIDDEN.items())
def test_what_is_not_seen_is_made_visible(written, seen):
    assert shown.text(written) == seen
    assert shown.line(f"a{written}b") == f"a{seen}b"


def test_the_line_ends_and_tabs_of_our_own_stay_and_those_from_outside_do_not():
    assert shown.text("a\n\tb") == "a\n\tb"
    assert shown.line("a\n\tb\r\n") == "a\\n\\tb\\r\\n"


def test_a_half_of_a_pair_is_shown_by_its_number():
    assert shown.line(chr(0xD800)) == "\\ud800"


@pytest.mark.parametrize("plain", ["Größe", "部品", "a b", "naïve – “quoted” 1 × 2", "🔧"])
def test_letters_and_signs_of_every_alphabet_stay(plain):
    assert shown.line(plain) == plain


def test_no_character_that_moves_a_cursor_or_a_direction_is_left():
    every = "".join(map(chr, range(0x11000)))
    left = shown.line(every)
    assert not any(unicodedata.category(each) in ("Cc", "Zl", "Zp", "Cs") for each in left)
    overrides = ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")
    assert not any(unicodedata.bidirectional(each) in overrides for each in left)


def test_a_terminal_gets_what_it_has_letters_for():
    assert shown.encoded("Größe\x1b", "ascii") == "Gr\\xf6\\xdfe\\x1b"
    assert shown.encoded("Größe", "utf-8") == "Größe"
    assert shown.encoded("ß", None) == "\\xdf"
