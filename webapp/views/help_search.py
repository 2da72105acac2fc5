"""Help searched from every page: what fits the words, the best first, a plain line each."""

from __future__ import annotations

from collections.abc import Iterator

from flask import Blueprint, render_template, request, url_for
from jinja2_fragments.flask import render_block

from library import blocks, documents
from parser.language import words
from parser.proof.rules import RULES
from webapp import workshop
from webapp.pages import handbook, searching
from webapp.pages.searching import HelpPiece
from webapp.remembered import remembered
from webapp.views import help as help_pages

blueprint = Blueprint("help_search", __name__, url_prefix="/help/search")

OWN_ENTRIES = frozenset({"blocks", "rules", "words", "documents"})
"""Topics that list what has an entry of its own."""


@blueprint.get("")
def show() -> str:
    """What fits the words of ``?q=``."""
    asked = request.args.get("q", "").strip()[: searching.LONGEST]
    shop = workshop.current()
    known = entries(*shop.sheets())
    return render_template("help/search.html", asked=asked, found=searching.search(asked, known), most=searching.MOST)


def _bytes_of(found: tuple[HelpPiece, ...]) -> int:
    return sum(2 * len(each.text) + 4_000 for each in found)


@remembered(_bytes_of)
def entries(machine: str, controller: str, pendant: str) -> tuple[HelpPiece, ...]:
    """All of Help in pieces, as it reads in a workshop with these sheets."""
    return (*_topics(), *_blocks(), *_rules(), *_keys(), *_words())


def _topics() -> Iterator[HelpPiece]:
    for topic in help_pages.TOPICS.values():
        parts: tuple[tuple[str, str, str], ...] = ()
        if topic.name not in OWN_ENTRIES:
            page = render_block(help_pages.template(topic), "manual", topic=topic, **help_pages.facts(topic))
            parts = searching.sections(searching.anchored(str(page)))
        opening = " ".join(text for heading, _, text in parts if not heading)
        yield HelpPiece(topic.title, "Help", topic.url, f"{topic.about} {opening}", topic.name.replace("-", " "))
        for heading, anchor, text in parts:
            if heading:
                yield HelpPiece(heading, topic.title, f"{topic.url}#{anchor}", text)


def _blocks() -> Iterator[HelpPiece]:
    for each in blocks.REGISTRY.values():
        values = " ".join(f"{one.name}: {one.help}" for one in each.parameters)
        text = f"{handbook.sentence(each.help)} {values}"
        yield HelpPiece(each.title, "Block", url_for("help.block", name=each.id), text, each.id.replace("-", " "))


def _rules() -> Iterator[HelpPiece]:
    for each in RULES.values():
        manual = each.manual()
        text = " ".join(" ".join(handbook.paragraphs(part)) for part in (manual.what, manual.why, manual.remedy))
        yield HelpPiece(manual.title, "Rule", url_for("help.rule", name=each.id), text, each.id.replace("-", " "))


def _keys() -> Iterator[HelpPiece]:
    for kind, (title, _) in help_pages.DOCUMENTS.items():
        page = url_for("help.document", name=kind)
        for number, table in enumerate(handbook.tables(documents.schema(kind)), 1):
            for key in table.keys:
                where = " ".join([*table.headings[:1], key.name])
                yield HelpPiece(where, title, f"{page}#keys-{number}", handbook.sentence(key.about), key.name)


def _words() -> Iterator[HelpPiece]:
    page = help_pages.TOPICS["words"].url
    bench = workshop.current().bench()
    for info, group, reads, refused in handbook.word_rows(bench.controller):
        may = f"Not in macros here: {refused}." if refused else f"Modal group: {group}."
        text = f"{info.meaning} {may}{f' Reads {reads}.' if reads else ''}"
        yield HelpPiece(info.word, "Word", f"{page}#{info.word}", text, info.word)
    for letter, says in words.LETTERS.items():
        yield HelpPiece(letter, "Letter", f"{page}#letters", says, letter)
