"""What a macro needs of a machine, a controller and a shelf, found in its steps, its formulas and its lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace

from library import formulas
from library.bench import Bench
from library.blocks import REGISTRY
from library.blocks.own_lines import BLOCK as OWN_LINES
from library.blocks.run_macro import run_by
from library.build import Built, Problem, build
from library.formulas import FormulaError, Landmarks, Measure
from library.macros import Macro
from library.share.typed import typed
from parser import read
from parser.language.program import Line
from parser.language.words import WORDS, canonical
from parser.machine import AXES, Controller

ABILITIES: Mapping[str, tuple[str, ...]] = {
    "probe": ("G38.2",),
    "pause": ("M0", "M1", "M60"),
    "spindle": ("M3", "M4"),
    "coolant": ("M7", "M8"),
    "tool-change": ("M6",),
    "offsets": ("G10", "G92"),
    "stored-point": ("G28", "G30"),
    "machine-moves": ("G53",),
}
"""What a controller has to be able to do, by the words that ask for it: names to find macros by (our choice)."""

ARITHMETIC = "arithmetic"
"""The ability to work out parameters and expressions, which no one word asks for."""


@dataclass(frozen=True, slots=True)
class OwnLines:
    """A step of lines that somebody wrote for one controller and one machine, which adapt to no other."""

    macro: str
    step: int


@dataclass(frozen=True, slots=True)
class Needs:
    """What a macro needs, with all the macros that it runs.

    ``landmarks`` are names as formulas write them, ``axes`` letters in lower case, ``words`` the G and M words of its
    lines in canonical spelling, ``abilities`` keys of ``ABILITIES`` or ``ARITHMETIC``, ``macros`` the ids that it runs
    and that these run, ``blocks`` the kinds of its steps. ``start`` is its condition, "" for anywhere. ``start`` and
    ``own_lines`` are what does not adapt to another machine.
    """

    landmarks: tuple[str, ...] = ()
    axes: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    abilities: tuple[str, ...] = ()
    macros: tuple[str, ...] = ()
    blocks: tuple[str, ...] = ()
    start: str = ""
    own_lines: tuple[OwnLines, ...] = ()


@dataclass(frozen=True, slots=True)
class Needed:
    """The needs of a macro as it is written on one bench, with what could not be written there."""

    needs: Needs
    problems: tuple[Problem, ...]


def needed(macro: Macro, bench: Bench) -> Needed:
    """What a macro needs as it is written on a bench: its words are those that are written for that controller.

    A macro that it runs and that is not on the bench's shelf is named, and no more is known of it.
    """
    heard = _Heard(bench.landmarks)
    built = build(macro, replace(bench, landmarks=heard.landmarks))
    together = [macro, *(bench.shelf[id] for id in runs(macro, bench.shelf) if id in bench.shelf)]
    lines = [*_lines_of(built, bench.controller), *_own(together, bench.controller)]
    words = _words(lines)
    return Needed(
        Needs(
            landmarks=tuple(sorted({*heard.names, *_named(together)})),
            axes=tuple(axis for axis in AXES if axis in {*_axes_of(lines), *_axes_named(macro, together)}),
            words=words,
            abilities=tuple(_abilities(words, lines)),
            macros=runs(macro, bench.shelf),
            blocks=tuple(sorted({step.block for each in together for step in each.step})),
            start=macro.start.strip() if macro.conditioned else "",
            own_lines=tuple(
                OwnLines(each.id, number)
                for each in together
                for number, step in enumerate(each.step, start=1)
                if step.block == OWN_LINES.id
            ),
        ),
        built.problems,
    )


def runs(macro: Macro, shelf: Mapping[str, Macro]) -> tuple[str, ...]:
    """Ids of the macros that a macro runs and that these run, each once, whether the shelf has them or not."""
    found: dict[str, None] = {}
    waiting = list(run_by(macro))
    while waiting:
        id = waiting.pop(0).strip()
        if id and id not in found and id != macro.id:
            found[id] = None
            waiting += run_by(shelf[id]) if id in shelf else ()
    return tuple(found)


class _Heard:
    """Landmarks that remember which of them were asked for, by a formula or by a block itself."""

    def __init__(self, landmarks: Landmarks) -> None:
        self.names: dict[str, None] = {}
        self.landmarks = Landmarks(_HeardValues(landmarks.values, self.names), landmarks.unclear)


class _HeardValues(Mapping[str, Measure]):
    def __init__(self, values: Mapping[str, Measure], names: dict[str, None]) -> None:
        self._values, self._names = values, names

    def __contains__(self, name: object) -> bool:
        self._names[str(name)] = None
        return name in self._values

    def __getitem__(self, name: str) -> Measure:
        return self._values[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)


def _named(macros: Iterable[Macro]) -> Iterator[str]:
    """Landmarks that formulas and start conditions name, also such as no machine has."""
    for macro in macros:
        for each in typed(macro):
            with suppress(FormulaError):
                yield from formulas.names_in(each.text)
    for macro in macros:
        if macro.hand_rate.strip():
            with suppress(FormulaError):
                yield from formulas.names_in(macro.hand_rate)
        if macro.conditioned:
            with suppress(FormulaError):
                yield from formulas.names_in(macro.start, "start")


def _axes_named(macro: Macro, together: Iterable[Macro]) -> Iterator[str]:
    """Axes that steps, landmarks and the start condition are about."""
    if macro.conditioned:
        with suppress(FormulaError):
            yield from formulas.axes_in(macro.start)
    for each in together:
        yield from (value.axis for value in typed(each))
    for name in _named(together):
        yield from (part for part in name.split(".")[1:] if part in AXES)


def _own(macros: Iterable[Macro], controller: Controller) -> list[Line]:
    """The lines that steps hold as they stand, also of a macro that cannot be written."""
    found: list[Line] = []
    for macro in macros:
        for step in macro.step:
            text = step.values.get("lines") if step.block == OWN_LINES.id else None
            if isinstance(text, str):
                found += read(text, controller).lines
    return found


def _lines_of(built: Built, controller: Controller) -> tuple[Line, ...]:
    return read(built.text, controller).lines


def _axes_of(lines: Iterable[Line]) -> set[str]:
    return {letter.lower() for line in lines for letter in line.form.letters if letter.lower() in AXES}


def _words(lines: Iterable[Line]) -> tuple[str, ...]:
    """G and M words in the order of the published tables, others behind them."""
    found = {
        canonical(word.letter, word.value)
        for line in lines
        for word in line.words
        if word.letter in "GM" and isinstance(word.value, float)
    }
    return (*(word for word in WORDS if word in found), *sorted(word for word in found if word not in WORDS))


def _abilities(words: tuple[str, ...], lines: Iterable[Line]) -> Iterator[str]:
    yield from (name for name, asking in ABILITIES.items() if set(asking) & set(words))
    if any(line.settings or any(not isinstance(word.value, float) for word in line.words) for line in lines):
        yield ARITHMETIC


def unknown_blocks(needs: Needs) -> tuple[str, ...]:
    """The kinds of step that this program does not have."""
    return tuple(id for id in needs.blocks if id not in REGISTRY)
