"""Help searched: what its pages say, cut into entries, and the entries that fit some words, the best first.

Plain data: an entry knows where it stands and what it says; whoever has the pages makes the entries.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from html.parser import HTMLParser
from math import log

MOST = 30
"""Results that are shown; somebody who has not found it among them asks with another word."""

LONGEST = 200
"""Characters of what is asked, and about as many of a line of a result."""

TITLE, NAME, TEXT = 10.0, 14.0, 1.0
"""What a word counts for where it stands in the title, is the very name of the thing, or stands in its text."""

WHOLE, BEGINS = 1.0, 0.45
"""How well a word fits: the same but for its ending, or only as the beginning of another."""

PHRASE = 12.0
"""How much more it counts where a title has all the words as they are asked, and again where it has no others."""

SHORTEST_BEGINNING = 3

_SMALL = """
a an and are as at by do does for from how i if in is it my of on or the there to what when why with
"""
SMALL = frozenset(_SMALL.split())
"""Words that say nothing of what is looked for, where there are others beside them."""

_WORD = re.compile(r"[a-z0-9_]+(?:\.[a-z0-9]+)*")
_ENDINGS = ("ings", "ing", "ies", "ed", "es", "s", "e")


@dataclass(frozen=True)
class HelpPiece:
    """A piece of Help: its title, what kind of thing it is, where it stands, what it says.

    ``name`` is what a person may well type for it: the word, the key, the rule; "" where it has none.
    """

    title: str
    kind: str
    url: str
    text: str
    name: str = ""

    @cached_property
    def words(self) -> Counter[str]:
        return Counter(_stems(self.text))

    @cached_property
    def title_words(self) -> frozenset[str]:
        return frozenset(_stems(self.title))

    @cached_property
    def name_words(self) -> frozenset[str]:
        return frozenset(_stems(self.name))


@dataclass(frozen=True, slots=True)
class Found:
    """An entry that fits, and the line of it that shows why, in pieces: words, and whether they are what was asked."""

    entry: HelpPiece
    line: tuple[tuple[str, bool], ...]


def search(asked: str, entries: Sequence[HelpPiece]) -> tuple[Found, ...]:
    """The entries that hold all the words of what is asked, the best first; those with some where none has all."""
    asked = asked[:LONGEST]
    every = tuple(dict.fromkeys(_stems(asked)))
    terms = tuple(term for term in every if term not in SMALL) or every
    if not terms:
        return ()
    rare = {term: _rarity(term, entries) for term in terms}
    scored = [(each, [_fit(term, each) * rare[term] for term in terms]) for each in entries]
    fitting = [each for each in scored if all(each[1])] or [each for each in scored if any(each[1])]
    phrase = " ".join(_stems(asked))
    ranked = sorted(fitting, key=lambda each: (-_score(each[0], each[1], phrase), len(each[0].title), each[0].title))
    return tuple(Found(entry, tuple(_line(entry.text, terms))) for entry, _ in ranked[:MOST])


def _score(entry: HelpPiece, fits: Sequence[float], phrase: str) -> float:
    title, name = (" ".join(_stems(text)) for text in (entry.title, entry.name))
    return sum(fits) + PHRASE * ((phrase in title) + (phrase in (title, name)))


def _rarity(term: str, entries: Sequence[HelpPiece]) -> float:
    holding = sum(1 for each in entries if _fit(term, each))
    return log(1 + len(entries) / (1 + holding))


def _fit(term: str, entry: HelpPiece) -> float:
    """How well one word fits an entry, 0 for not at all; long texts count for less."""
    found = max(TITLE * _among(term, entry.title_words), NAME * _among(term, entry.name_words))
    often = entry.words[term] + BEGINS * sum(n for word, n in entry.words.items() if _begins(term, word))
    return found + TEXT * log(1 + often) / (1 + log(1 + entry.words.total() / 100))


def _among(term: str, words: Iterable[str]) -> float:
    return max((WHOLE if term == word else BEGINS if _begins(term, word) else 0.0 for word in words), default=0.0)


def _begins(term: str, word: str) -> bool:
    return len(term) >= SHORTEST_BEGINNING and word != term and word.startswith(term)


def _stems(text: str) -> Iterator[str]:
    """The words of a text in small letters, without the endings of plurals and of verbs."""
    return (_stem(word) for word in _WORD.findall(text.lower()))


def _stem(word: str) -> str:
    for ending in _ENDINGS:
        stem = word.removesuffix(ending)
        if stem != word and len(stem) >= SHORTEST_BEGINNING and stem.isalpha() and not word.endswith("ss"):
            return stem + ("y" if ending == "ies" else "")
    return word


def _line(text: str, terms: Sequence[str]) -> Iterator[tuple[str, bool]]:
    """About a line of a text round the place where most of the words stand, in pieces."""
    places = [match for match in _WORD.finditer(text.lower()) if _asked(match[0], terms)]
    best = max(places, key=lambda at: _near(at.start(), places, text, terms), default=None)
    start = (
        0 if best is None or best.start() < LONGEST * 2 // 3 else text.rfind(" ", 0, best.start() - LONGEST // 3) + 1
    )
    end = len(text) if len(text) - start <= LONGEST else text.rfind(" ", start, start + LONGEST)
    end = end if end > start else start + LONGEST
    at = start
    if start:
        yield "… ", False
    for match in places:
        if start <= match.start() and match.end() <= end:
            if match.start() > at:
                yield text[at : match.start()], False
            yield text[match.start() : match.end()], True
            at = match.end()
    yield text[at:end] + (" …" if end < len(text) else ""), False


def _near(start: int, places: Sequence[re.Match[str]], text: str, terms: Sequence[str]) -> int:
    """How many different words of what is asked stand within a line from a place."""
    within = {_stem(each[0]) for each in places if start <= each.start() < start + LONGEST * 2 // 3}
    return len(within & set(terms)) * 2 + len(within)


def _asked(word: str, terms: Sequence[str]) -> bool:
    stem = _stem(word)
    return any(stem == term or _begins(term, stem) for term in terms)


# Pages cut into entries


def sections(page: str) -> tuple[tuple[str, str, str], ...]:
    """The parts of a page by its second-level headings: heading, id and text; the first has neither of the two."""
    cut = _Cutter()
    cut.feed(page)
    return tuple((" ".join(h.split()), id, " ".join(t.split())) for h, id, t in cut.parts if h.strip() or t.strip())


def slug(heading: str) -> str:
    """The id that a heading is found by."""
    return "-".join(_WORD.findall(heading.lower())) or "part"


def anchored(page: str) -> str:
    """A page whose second-level headings can all be gone to: one without an id gets that of its words."""
    return re.sub(r"<h2>(.*?)</h2>", lambda h: f'<h2 id="{slug(re.sub("<.*?>", "", h[1]))}">{h[1]}</h2>', page)


class _Cutter(HTMLParser):
    """Text by heading; drawings and what only a screen reader hears are left out."""

    def __init__(self) -> None:
        super().__init__()
        self.parts: list[list[str]] = [["", "", ""]]
        self._in_heading = False
        self._within = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "svg":
            self._within += 1
        if tag == "h2":
            self.parts.append(["", dict(attrs).get("id") or "", ""])
            self._in_heading = True
        self.parts[-1][2] += " "

    def handle_endtag(self, tag: str) -> None:
        if tag == "svg":
            self._within -= 1
        if tag == "h2":
            self._in_heading = False
        if tag in ("p", "dt", "dd", "li", "td", "th", "pre", "h2", "h3", "caption", "figcaption"):
            self.parts[-1][2] += " "

    def handle_data(self, data: str) -> None:
        if not self._within:
            self.parts[-1][0 if self._in_heading else 2] += data
