"""Help: a page for each topic, block, rule and kind of document."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib import import_module
from typing import Any

import tomlkit
from flask import Blueprint, abort, render_template, url_for

from library import blocks, documents, limits
from library.errors import BlockError
from library.pack import lamp
from library.pendant import GARBLED
from parser.language import words
from parser.proof.rules import RULES
from webapp import guard, workshop
from webapp.drawings import margins
from webapp.pages import bench as bench_page
from webapp.pages import handbook, searching

blueprint = Blueprint("help", __name__, url_prefix="/help")
blueprint.add_app_template_filter(handbook.paragraphs, "paragraphs")
blueprint.add_app_template_filter(handbook.sentence, "sentence")
blueprint.add_app_template_filter(handbook.pieces, "pieces")
blueprint.add_app_template_filter(handbook.with_options, "with_options")


@dataclass(frozen=True, slots=True)
class Topic:
    """A page of Help: its name in the address, its title, what the index says about it."""

    name: str
    title: str
    about: str

    @property
    def url(self) -> str:
        return url_for("help.topic", name=self.name)


PARTS: Mapping[str, tuple[Topic, ...]] = {
    "Getting started": (
        Topic("first-steps", "First steps", "From an unknown machine to a macro on the pendant."),
        Topic("cautions", "Cautions", "What to know before anything moves."),
    ),
    "Building macros": (
        Topic("blocks", "Blocks", "Every kind of step, its values and the lines it writes."),
        Topic("formulas", "Formulas and landmarks", "Values that adapt to the machine."),
        Topic("the-shelf", "The shelf", "Finding a macro, what stands with it, and what became of it."),
        Topic("sharing", "Sharing", "Bundles, what comes looked over first, and a folder in version control."),
        Topic("words", "Words", "The words of RS-274 and which of them macros may use."),
    ),
    "At the machine": (
        Topic("at-the-pendant", "At the pendant", "What to do with each file of the pack, in ten minutes."),
    ),
    "What the verdict is worth": (
        Topic("proof", "What “proved” means", "The proof in plain words, and what it leaves out."),
        Topic("rules", "Rules", "Every check: what, why, a bad and a good example, what to do."),
        Topic("motion", "Times and distances", "The motion model: how long, how far, and what still moves on release."),
        Topic(
            "estimate", "What the estimate knows and does not know", "Its limits, and what a stopwatch does about them."
        ),
    ),
    "Reference": (
        Topic("documents", "Documents", "Every key of the sheets and of a macro."),
        Topic("commands", "The command line", "The same work from a terminal."),
        Topic("limits", "Limits", "How much of anything is read, written and checked."),
    ),
}
TOPICS: Mapping[str, Topic] = {topic.name: topic for part in PARTS.values() for topic in part}

DOCUMENTS: Mapping[str, tuple[str, str]] = {
    "machine": ("Machine sheet", "What the machine is: axes, travel, rates, spindle, tool, keep-outs, work zeros."),
    "controller": (
        "Controller sheet",
        "Which words the controller understands, and what it does where controllers differ.",
    ),
    "pendant": ("Pendant sheet", "Selector positions, increments, the gesture that fires a macro, and the slots."),
    "macro": ("Macro", "An ordered list of steps with a name and a purpose."),
}


@blueprint.get("")
def index() -> str:
    """The contents, by part."""
    return render_template("help/index.html", parts=PARTS)


@blueprint.get("/<name>")
def topic(name: str) -> str:
    """One topic; 404 for a name that is none."""
    here = TOPICS.get(name) or abort(404)
    page = render_template(template(here), topic=here, following=_following(here), **facts(here))
    return searching.anchored(page)


def template(topic: Topic) -> str:
    """The template of a topic."""
    return f"help/{topic.name.replace('-', '_')}.html"


def facts(topic: Topic) -> dict[str, Any]:
    """What the template of a topic shows of the program and the workshop."""
    return FACTS.get(topic.name, dict)()


@blueprint.get("/blocks/<name>")
def block(name: str) -> str:
    """The manual of a block; 404 for one that does not exist."""
    found = blocks.REGISTRY.get(name) or abort(404)
    bench = workshop.current().bench()
    problem, lines, given = "", "", found.defaults(bench.units)
    try:
        lines = "\n".join(found.lines(given, bench))
    except BlockError as error:
        problem = str(error)
    step = tomlkit.dumps({"step": [{"block": found.id, **given}]})
    return render_template(
        "help/block.html",
        topic=TOPICS["blocks"],
        block=found,
        defaults=given,
        step=step,
        lines=lines,
        problem=problem,
        machine_name=bench.machine.name,
    )


@blueprint.get("/rules/<name>")
def rule(name: str) -> str:
    """The manual of a rule; 404 for one that does not exist."""
    found = RULES.get(name) or abort(404)
    return render_template("help/rule.html", topic=TOPICS["rules"], rule=found, words=bench_page.SEVERITY_WORDS)


@blueprint.get("/documents/<name>")
def document(name: str) -> str:
    """Every key of a kind of document; 404 for a kind that does not exist."""
    title, about = DOCUMENTS.get(name) or abort(404)
    tables = handbook.tables(documents.schema(name))
    return render_template(
        "help/document.html", topic=TOPICS["documents"], title=title, about=about, tables=tables, kind=name
    )


def _following(here: Topic) -> Topic | None:
    order = list(TOPICS.values())
    place = order.index(here) + 1
    return order[place] if place < len(order) else None


def _blocks() -> dict[str, Any]:
    return {"families": handbook.families(blocks.REGISTRY.values(), "family")}


def _rules() -> dict[str, Any]:
    return {"families": handbook.families(RULES.values(), "family"), "words": bench_page.SEVERITY_WORDS}


def _landmarks() -> dict[str, Any]:
    bench = workshop.current().bench()
    return {
        "machine_name": bench.machine.name,
        "figures": bench.figures,
        "landmarks": bench.landmarks.items(),
    }


def _words() -> dict[str, Any]:
    controller = workshop.current().bench().controller
    return {
        "controller_name": controller.name,
        "words": handbook.word_rows(controller),
        "letters": words.LETTERS,
        "extra_words": handbook.extra_word_rows(controller),
        "unpublished": words.UNPUBLISHED,
    }


def _documents() -> dict[str, Any]:
    return {"kinds": DOCUMENTS}


def _commands() -> dict[str, Any]:
    return {"commands": handbook.commands(import_module("webapp.cli").main, "clickstop")}


def _limits() -> dict[str, Any]:
    return {"limits": limits.TABLE, "front": import_module("webapp.cli.front"), "guard": guard}


def _proof() -> dict[str, Any]:
    return {"beside_the_vise": margins.beside_the_vise(), "under_the_frame": margins.under_the_frame()}


def _at_the_pendant() -> dict[str, Any]:
    return {"garbled": GARBLED, "lamp": (lamp.ISSUE, *lamp.codes())}


FACTS: Mapping[str, Callable[[], dict[str, Any]]] = {
    "at-the-pendant": _at_the_pendant,
    "blocks": _blocks,
    "rules": _rules,
    "formulas": _landmarks,
    "proof": _proof,
    "words": _words,
    "documents": _documents,
    "commands": _commands,
    "limits": _limits,
}
