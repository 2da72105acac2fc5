"""What Help shows about the parts of the program, read off the parts themselves so that it cannot fall behind them."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from string import Formatter
from typing import Any

import click
from markupsafe import Markup, escape

from library.blocks import Block
from parser.language.words import G_GROUP_NAMES, M_GROUP_NAMES, WORDS, WordInfo
from parser.machine import Controller
from parser.motion.checks import why_unsupported

SPELT = re.compile(r"\S*(?:[\w-][._][\w-]|\d)|[\w-]+, line \d")
"""How a sentence begins that begins with the name of a file, a document or a key, and with no word of ours."""

KIND_WORDS: Mapping[str, str] = {
    "number": "number",
    "integer": "whole number",
    "boolean": "true or false",
    "string": "text",
    "object": "table",
}


EXTRA_WORDS: Mapping[str, str] = {
    "call": "Runs another program; what it leaves behind is not known.",
    "end": "Ends the macro and leaves the modes as they are.",
    "ignore": "Does nothing that moves or lasts.",
    "refuse": "Must not be used.",
    "wait": "Waits for something outside, such as an input; for how long is not known, so no time is counted.",
}
"""What a controller sheet may say that a word of its own does."""


@dataclass(frozen=True, slots=True)
class Key:
    """A key of a document: what it holds, what it means, and its default written as in the document ("" if none)."""

    name: str
    kind: str
    about: str
    default: str = ""
    required: bool = False


@dataclass(frozen=True, slots=True)
class HelpTable:
    """A table of a document with its keys; several headings where tables have the same keys, none at the top."""

    headings: tuple[str, ...]
    about: str
    keys: tuple[Key, ...]


@dataclass(frozen=True, slots=True)
class CommandHelp:
    """A command of the terminal: how it is called and what its arguments and options mean."""

    name: str
    about: str
    usage: str
    options: tuple[Key, ...] = field(default=())


def word_rows(controller: Controller) -> Iterator[tuple[WordInfo, str, str, str]]:
    """Every published word with its group, the letters it reads and why macros may not use it here ("")."""
    for info in WORDS.values():
        group = (G_GROUP_NAMES if info.letter == "G" else M_GROUP_NAMES)[info.group]
        reads = info.takes.replace("P", controller.dwell_word) if info.word == "G4" else info.takes
        yield info, group, " ".join(reads), why_unsupported(controller, info.word)


def extra_word_rows(controller: Controller) -> tuple[tuple[str, str], ...]:
    """The words beyond the published ones that a controller sheet has, and what it says they do."""
    return tuple((word, EXTRA_WORDS[does]) for word, does in sorted(controller.extra_words.items()))


def tables(schema: Mapping[str, Any]) -> tuple[HelpTable, ...]:
    """The tables of a document kind, from its JSON Schema: those at the top first, each followed by what it contains.

    Neighbours with the same keys, such as the axes, are one entry.
    """
    found: list[HelpTable] = []
    for table in _tables(schema, schema, "", ()):
        if found and found[-1].keys == table.keys:
            found[-1] = HelpTable(found[-1].headings + table.headings, found[-1].about, table.keys)
        else:
            found.append(table)
    return tuple(found)


def _tables(
    schema: Mapping[str, Any], whole: Mapping[str, Any], path: str, headings: tuple[str, ...]
) -> Iterator[HelpTable]:
    plain: list[Key] = []
    inner: list[HelpTable] = []
    required = schema.get("required", ())
    for name, raw in schema.get("properties", {}).items():
        value = _resolved(raw, whole)
        quoted = f'"{name}"' if "." in name else name
        here = f"{path}.{quoted}" if path else quoted
        about = raw.get("description") or value.get("description", "")
        table, brackets, below = _table_within(value, whole, here)
        if table is None:
            plain.append(Key(name, kind_words(value, whole), about, written(value.get("default")), name in required))
            continue
        found = list(_tables(table, whole, below, (brackets,)))
        if found:
            inner += [HelpTable(found[0].headings, about or found[0].about, found[0].keys), *found[1:]]
    if plain or not inner:
        yield HelpTable(headings, schema.get("description", "") if headings else "", tuple(plain))
    yield from inner


def _table_within(
    value: Mapping[str, Any], whole: Mapping[str, Any], path: str
) -> tuple[Mapping[str, Any] | None, str, str]:
    """The schema of the table under a key with its heading and path, None where the key holds a plain value."""
    if value.get("properties"):
        return value, f"[{path}]", path
    items = _resolved(value.get("items") or {}, whole)
    if isinstance(items, Mapping) and items.get("properties"):
        return items, f"[[{path}]]", path
    each = value.get("additionalProperties")
    if isinstance(each, Mapping):
        named = f"{path}.NAME"
        each = _resolved(each, whole)
        if each.get("properties"):
            return each, f"[{named}]", named
    return None, "", path


def _resolved(schema: Mapping[str, Any], whole: Mapping[str, Any]) -> Mapping[str, Any]:
    """``schema`` with its reference followed and "or null" dropped, its own description and default kept."""
    own = {key: value for key, value in schema.items() if key not in ("$ref", "anyOf", "allOf")}
    if "$ref" in schema:
        target: Any = whole
        for part in schema["$ref"].removeprefix("#/").split("/"):
            target = target[part]
        return {**_resolved(target, whole), **own}
    choices = [one for one in schema.get("anyOf", schema.get("allOf", ())) if one.get("type") != "null"]
    if len(choices) == 1:
        return {**_resolved(choices[0], whole), **own}
    return {**own, "anyOf": choices} if choices else schema


def kind_words(schema: Mapping[str, Any], whole: Mapping[str, Any]) -> str:
    """What a key holds, in a few words: its choices where they are listed."""
    schema = _resolved(schema, whole)
    if "const" in schema:
        return json.dumps(schema["const"])
    if "enum" in schema:
        return " or ".join(json.dumps(choice) for choice in schema["enum"])
    if "anyOf" in schema:
        return " or ".join(dict.fromkeys(kind_words(one, whole) for one in schema["anyOf"]))
    if schema.get("type") == "array":
        pair = schema.get("prefixItems")
        if pair:
            return f"list of {len(pair)}, each {kind_words(pair[0], whole)}"
        return f"list, each {kind_words(schema['items'], whole)}" if schema.get("items") else "list"
    return KIND_WORDS.get(str(schema.get("type", "")), "")


def written(value: object) -> str:
    """A default as it would stand in the document; "" for none and for what is empty."""
    if value is None or value in ("", [], {}, ()):
        return ""
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {written(one)}" for key, one in value.items()) + " }"
    return json.dumps(value)


def commands(root: click.Command, name: str) -> tuple[CommandHelp, ...]:
    """Every command below ``root`` with its options; ``root`` itself first."""
    context = click.Context(root, info_name=name)
    group = root if isinstance(root, click.Group) else None
    names = group.list_commands(context) if group else []
    below = [(short, group and group.get_command(context, short)) for short in names]
    return (
        CommandHelp(
            name, _first_words(root), " ".join([name, *root.collect_usage_pieces(context)]), options(root, context)
        ),
        *(each for short, found in below if found for each in commands(found, f"{name} {short}")),
    )


def options(command: click.Command, context: click.Context) -> tuple[Key, ...]:
    """The options of a command as its own help prints them."""
    named = [one for one in command.params if isinstance(one, click.Option)]
    records = [(one, one.get_help_record(context)) for one in named]
    return tuple(Key(record[0], "", (one.help or "") and record[1]) for one, record in records if record)


def _first_words(command: click.Command) -> str:
    return " ".join((command.help or "").split("\b")[0].split("\n\n")[0].split())


def with_options(words: str) -> Markup:
    """Words with the options of a command in them set as code: in a text face their two hyphens run into a dash."""
    return Markup(re.sub(r"(?<![\w-])--[a-z][a-z-]*", r"<code>\g<0></code>", str(escape(words))))


def pieces(block: Block) -> tuple[tuple[str, str], ...]:
    """The sentence of a block taken apart: words, and the name of the parameter behind them ("" after the last)."""
    return tuple((words, name or "") for words, name, _, _ in Formatter().parse(block.sentence))


def sentence(words: str) -> str:
    """Words as a sentence: a capital first, a full stop last where there is no other end.

    What begins with the name of a file, a document or a key keeps it as it is spelt.
    """
    stop = "" if words.endswith((".", "?", "!")) or not words else "."
    return f"{words if SPELT.match(words) else words[:1].upper() + words[1:]}{stop}"


def paragraphs(text: str) -> tuple[str, ...]:
    """A manual's text as paragraphs, line breaks inside one taken as spaces."""
    return tuple(" ".join(part.split()) for part in text.strip().split("\n\n") if part.strip())


def families(items: Iterable[Any], key: str) -> tuple[tuple[str, tuple[Any, ...]], ...]:
    """``items`` sorted into groups by the attribute ``key``, both in the order they come."""
    found: dict[str, list[Any]] = {}
    for item in items:
        found.setdefault(str(getattr(item, key)), []).append(item)
    return tuple((name, tuple(group)) for name, group in found.items())
