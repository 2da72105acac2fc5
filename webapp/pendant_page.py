"""The whole pendant as its page shows it: what is proved, in one sentence, and each finding with the macros in it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from library.proving import Proved
from library.sequences import WholePendant
from parser.findings import Finding, Severity
from parser.proof.sequences import RULE
from webapp import present
from webapp.figures import how_many

Pair = tuple[str, str]


@dataclass(frozen=True, slots=True)
class WholeRow:
    """A finding on the whole; ``case`` is in pieces, each with the id of the macro it names, "" for other words."""

    id: str
    shape: str
    severity: str
    case: tuple[tuple[str, str], ...]
    message: str
    remedy: str
    rule: str


@dataclass(frozen=True, slots=True)
class Whole:
    """The verdict on the whole pendant. ``broken`` maps a macro to the rows of the refused pairs that it is in."""

    shape: str
    word: str
    sentence: str
    rows: tuple[WholeRow, ...]
    broken: Mapping[str, tuple[str, ...]]
    empty: bool


def whole(pendant: WholePendant) -> Whole:
    """What the page says of the pendant."""
    pairs = dict(_pairs(pendant))
    rows = []
    broken: dict[str, tuple[str, ...]] = {}
    for number, finding in enumerate(pendant.findings, start=1):
        pair = pairs.get(finding.case or "") if finding.rule == RULE else None
        rows.append(_row(f"whole-{number}", finding, pair, pendant.proved))
        if pair and finding.severity is Severity.REFUSE:
            for macro in dict.fromkeys(pair):
                broken[macro] = (*broken.get(macro, ()), f"whole-{number}")
    return Whole(
        present.VERDICT_SHAPES[pendant.verdict],
        _word(pendant),
        _sentence(pendant),
        tuple(rows),
        broken,
        not pendant.slots,
    )


def _pairs(pendant: WholePendant) -> Iterator[tuple[str, Pair]]:
    """Every pair of macros by the words that the case of a finding has for it."""
    names = _names(pendant.proved)
    for first, second in product(names, repeat=2):
        then = "and again" if first == second else f"then {names[second]}"
        yield f"{names[first]}, {then}", (first, second)


def _names(proved: Mapping[str, Proved]) -> dict[str, str]:
    """What the findings call each macro: by its name, with its id where another has the same."""
    running = {id: each.macro.name for id, each in proved.items() if each.exportable}
    times = Counter(running.values())
    return {id: f"{name} ({id})" if times[name] > 1 else name for id, name in running.items()}


def _row(id: str, finding: Finding, pair: Pair | None, proved: Mapping[str, Proved]) -> WholeRow:
    case: tuple[tuple[str, str], ...] = ((f"{finding.case[0].upper()}{finding.case[1:]}", ""),) if finding.case else ()
    if pair:
        names = _names(proved)
        first, second = pair
        again = (", and again", "") if first == second else (", then ", "")
        case = ((names[first], first), again, *(() if first == second else ((names[second], second),)))
    return WholeRow(
        id,
        str(finding.severity),
        present.SEVERITY_WORDS[finding.severity],
        case,
        finding.message,
        finding.remedy,
        finding.rule,
    )


def _word(pendant: WholePendant) -> str:
    under_condition = any(each.macro.conditioned for each in pendant.proved.values())
    if pendant.verdict == "conditional" and not under_condition:
        return present.IN_PART
    return present.VERDICT_WORDS[pendant.verdict]


def _sentence(pendant: WholePendant) -> str:
    """The verdict in words, with the macros that are not simply proved by name."""
    if not pendant.slots:
        return pendant.sentence
    counts = Counter((finding.severity, finding.rule == RULE) for finding in pendant.findings)
    by_word: dict[str, list[str]] = {}
    for each in pendant.proved.values():
        by_word.setdefault(present.verdict_word(each), []).append(each.macro.name)
    said = [
        _macros(by_word, present.VERDICT_WORDS["refused"], "refused"),
        _counted(counts[Severity.REFUSE, True], "refused sequence"),
        _counted(counts[Severity.REFUSE, False], "other refusal"),
        _macros(by_word, present.VERDICT_WORDS["accepted"], "accepted and not proved"),
        _macros(by_word, present.VERDICT_WORDS["conditional"], "proved with a condition"),
        _macros(by_word, present.IN_PART_CONDITIONAL, "proved in part and with a condition"),
        _macros(by_word, present.IN_PART, "proved in part"),
        _counted(counts[Severity.CAUTION, True], "sequence to be careful with", "sequences to be careful with"),
        _counted(counts[Severity.CAUTION, False], "other caution"),
    ]
    in_words = ", ".join(filter(None, said))
    return f"{pendant.claim}: {in_words}." if in_words else f"{pendant.claim}."


def _counted(count: int, noun: str, plural: str = "") -> str:
    return how_many(count, noun, plural) if count else ""


def _macros(by_word: Mapping[str, list[str]], word: str, so: str) -> str:
    """How many macros have a verdict, and which; "" where none has it."""
    names = by_word.get(word, [])
    return f"{how_many(len(names), 'macro')} {so} ({', '.join(names)})" if names else ""
