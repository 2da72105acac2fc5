"""The whole pendant as its page shows it: what is proved, in one sentence, and each finding with the macros in it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from library.sequences import WholePendant, names
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
    ids = {name: id for id, name in names({id: each for id, each in pendant.proved.items() if each.exportable}).items()}
    rows = []
    broken: dict[str, tuple[str, ...]] = {}
    for number, finding in enumerate(pendant.findings, start=1):
        pair = finding.runners and (ids[finding.runners[0]], ids[finding.runners[1]])
        rows.append(_row(f"whole-{number}", finding, pair))
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


def _row(id: str, finding: Finding, pair: Pair | None) -> WholeRow:
    case: tuple[tuple[str, str], ...] = ((f"{finding.case[0].upper()}{finding.case[1:]}", ""),) if finding.case else ()
    if pair and finding.runners:
        first, second = zip(finding.runners, pair, strict=True)
        case = (first, (", and again", "")) if first == second else (first, (", then ", ""), second)
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
