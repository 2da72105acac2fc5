"""Fields of the bench that two pages have changed: what each has put there, to choose from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from webapp.pages.bench import Field, StepRow
from webapp.pages.editing import Edited
from webapp.pages.summary import HEAD_LABELS, Summary, unusable


@dataclass(frozen=True, slots=True)
class Clash:
    """A field by its name in the form and what a person calls it, with what is typed here and what is saved by now."""

    name: str
    label: str
    mine: str
    theirs: str


def clashes(steps: Iterable[StepRow], edited: Edited) -> tuple[Clash, ...]:
    """What there is to choose, in the order of the page."""
    labels = called(steps)
    return tuple(
        Clash(name, labels.get(name, name), edited.typed.get(name, ""), theirs)
        for name, theirs in edited.theirs.items()
    )


def called(steps: Iterable[StepRow]) -> dict[str, str]:
    """What a person calls the fields of the form, by their names in it."""
    return {**HEAD_LABELS, **{piece.name: piece.label for row in steps for piece in _fields(row)}}


def with_what_is_amiss(summary: Summary, steps: Iterable[StepRow], edited: Edited) -> Summary:
    """What the bar says: of fields that cannot be used, or of which there is to choose, instead of a verdict."""
    if not edited.problems:
        return summary
    names = called(steps)
    two = [names.get(name, name) for name in edited.theirs]
    return unusable(summary, [names.get(name, name) for name in edited.problems], two)


def unsaved(edited: Edited) -> str:
    """Why what was typed is not saved, "" where it is."""
    if edited.theirs:
        return "another page has changed it too"
    if edited.problems:
        return "a field cannot be used as typed"
    nothing_typed = edited.moved_on and not edited.left_over
    return "see the note below" if edited.told and not nothing_typed else ""


def with_typed(steps: Iterable[StepRow], edited: Edited) -> tuple[StepRow, ...]:
    """The steps with what was typed into their fields and is not saved, and why it is not."""
    return tuple(
        replace(
            row,
            pieces=tuple(
                replace(piece, value=edited.typed[piece.name], problem=edited.problems[piece.name])
                if isinstance(piece, Field) and piece.name in edited.typed
                else piece
                for piece in row.pieces
            ),
        )
        for row in steps
    )


def _fields(row: StepRow) -> tuple[Field, ...]:
    return tuple(piece for piece in row.pieces if isinstance(piece, Field))
