"""Who wrote a macro, under which licence it is shared and the words to find it by, as the form of its page has them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from library import documents, macros
from library.macros import Macro
from library.merging import ClashError

LABELS: Mapping[str, str] = {"purpose": "Purpose", "author": "Author", "licence": "Licence", "tags": "Tags"}
HINTS: Mapping[str, str] = {
    "licence": "An SPDX name, such as CC0-1.0: the terms on which others may use it.",
    "tags": "Words to find it by, with commas between them.",
}


@dataclass(frozen=True, slots=True)
class AboutField:
    """A field of the form; ``theirs`` is what somebody else has put there meanwhile, None where nobody has."""

    name: str
    label: str
    value: str
    hint: str = ""
    problem: str = ""
    theirs: str | None = None

    @property
    def id(self) -> str:
        """Id of the field on the page."""
        return f"about-{self.name}"


@dataclass(frozen=True, slots=True)
class TypedAbout:
    """What was typed and not saved: values and what is wrong with them, both by field."""

    values: Mapping[str, str] = field(default_factory=dict)
    problems: Mapping[str, str] = field(default_factory=dict)
    clashing: tuple[str, ...] = ()


def as_shown(macro: Macro) -> dict[str, str]:
    """What the fields of a macro hold."""
    return {"purpose": macro.purpose, "author": macro.author, "licence": macro.licence, "tags": ", ".join(macro.tags)}


def fields(macro: Macro | None, typed: TypedAbout | None = None) -> tuple[AboutField, ...]:
    """The form of a macro, with what was typed and not saved; empty for a document that cannot be read."""
    if macro is None:
        return ()
    held, typed = as_shown(macro), typed or TypedAbout()
    return tuple(
        AboutField(
            name,
            label,
            typed.values.get(name, held[name]),
            HINTS.get(name, ""),
            typed.problems.get(name, ""),
            held[name] if name in typed.clashing else None,
        )
        for name, label in LABELS.items()
    )


def changed(text: str, form: Mapping[str, str]) -> tuple[str, tuple[str, ...], TypedAbout]:
    """The text that was seen with what the form changes in it, which fields these are, and what cannot be used."""
    held = as_shown(documents.parse("macro", text))
    values = {name: form[name].strip() for name in LABELS if name in form}
    typed = {name: value for name, value in values.items() if value != held[name]}
    problems = {}
    for name, value in typed.items():
        try:
            candidate = macros.set_header(text, name, _tags(value) if name == "tags" else value)
            documents.parse("macro", candidate)
            text = candidate
        except documents.DocumentError as error:
            problems[name] = error.why
    return text, tuple(typed), TypedAbout(typed, problems)


def unseen(text: str, form: Mapping[str, str]) -> TypedAbout:
    """What was typed into a form that does not say what it showed, each field beside what stands there now."""
    held = as_shown(documents.parse("macro", text))
    typed = {name: value for name in LABELS if name in form and (value := form[name].strip()) != held[name]}
    return TypedAbout(typed, {}, tuple(typed))


def clashed(typed: TypedAbout, clash: ClashError) -> TypedAbout:
    """What was typed, with the fields that somebody else has changed too."""
    return TypedAbout(typed.values, {}, tuple(name for name in LABELS if name in clash.fields))


def why(names: tuple[str, ...]) -> str:
    """What a change of these fields is called in the list of revisions."""
    return f"Changed {' and '.join(filter(None, (', '.join(names[:-1]), names[-1])))}"


def _tags(typed: str) -> list[str] | None:
    """The tags in a line, each once; None, which takes the key out, for none."""
    return list(dict.fromkeys(tag for each in typed.split(",") if (tag := each.strip()))) or None
