"""The scratch bench: lines that are tried and stand nowhere, until somebody saves them as a macro."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from library import blocks, documents, macros
from library.bench import Bench
from library.documents import DocumentError
from library.errors import BlockError
from library.store import Workshop
from parser.findings import Finding
from parser.proof.rules import RULES
from parser.quantities import Figures
from parser.report import Report
from webapp.drawings import elevations
from webapp.drawings.elevations import DrawnViews, Extra
from webapp.pages import bench as bench_page
from webapp.pages import handbook, shelf, summary
from webapp.pages import playback as playback_page
from webapp.pages.playback import Asked, Playback
from webapp.pages.shelf import ONLY

NAME = "Scratch"
FIELD = "step.1.lines"
"""What the field is called in the form: that of the only step."""

BY_HAND = "own-lines"
MOST_FINDINGS = 30
NOTHING_ASKED: Mapping[str, str] = {}

BEGIN = "Write or paste lines. What they come to on this machine is shown here as you type, or once you press Try."
BEGIN_WORD = "No lines yet"


@dataclass(frozen=True, slots=True)
class HelpExample:
    """Something of Help to try: its lines, what it shows, where Help has it, and the step that it is, if it is one."""

    lines: str = ""
    about: str = ""
    url: str = ""
    step: tuple[str, Mapping[str, object]] | None = None


@dataclass(frozen=True, slots=True)
class ScratchResult:
    """What some lines come to on the machine in force.

    ``shown`` says in words which finding is drawn, "" for none; ``usual`` has the start as the fields show it, where
    nobody asked for it.
    """

    field: bench_page.Field
    problem: str
    summary: summary.Summary
    findings: tuple[bench_page.FindingRow, ...]
    further: int
    lines: tuple[bench_page.LineRow, ...]
    views: DrawnViews
    playback: Playback
    shown: str
    usual: str


def of_rule(id: str, which: str) -> HelpExample | None:
    """The bad or the good example of a rule, the words that it takes for granted before it; None for none."""
    rule = RULES.get(id)
    lines = {"bad": rule.manual().bad, "good": rule.manual().good}.get(which, "") if rule else ""
    if rule is None or not lines:
        return None
    before = f"{rule.assume}\n" if rule.assume else ""
    return HelpExample(f"{before}{lines}", f"The {which} example of {rule.id}", f"/help/rules/{id}")


def of_block(id: str, bench: Bench) -> HelpExample | None:
    """The lines that a block writes here with its own values, None where it writes none."""
    block = blocks.REGISTRY.get(id)
    if block is None:
        return None
    given = block.defaults(bench.units)
    try:
        lines = "\n".join(block.lines(given, bench))
    except BlockError:
        return None
    if not lines:
        return None
    return HelpExample(lines, f"What the block {block.title} writes here", f"/help/blocks/{id}", (id, given))


def document(name: str, id: str, bench: Bench, lines: str, example: HelpExample) -> str:
    """The text of a macro of these lines; where they are what the step of an example writes, of that step."""
    whole = bench_page.new_macro(name, id, bench.machine_sheet.units)
    if example.step and lines.strip() == example.lines.strip():
        return macros.add_step(whole, *example.step)
    return macros.add_step(whole, BY_HAND, {"lines": lines})


@dataclass(frozen=True, slots=True)
class Wanted:
    """What of the lines is to be drawn: a finding by its key or a start, and the side view or not."""

    finding: str = ""
    start: Asked | None = None
    side: bool = False


def wanted(values: Mapping[str, str], report: Report, figures: Figures) -> Wanted:
    """What a form wants drawn. Its fields of the start always say something; they ask where it was typed or chosen."""
    turned = values.get("turn", "")
    side = turned == "side" if turned else values.get("elevation") == "side"
    if values.get("typical"):
        return Wanted(side=side)
    if values.get("show"):
        return Wanted(values["show"], side=side)
    start = playback_page.asked(values, report, figures)
    if start and values.get("usual") == _usual(values):
        return Wanted(values.get("shown", ""), side=side)
    return Wanted(start=start, side=side)


def _usual(values: Mapping[str, str]) -> str:
    return " ".join(f"{name}={values[name].strip()}" for name in sorted(values) if name.startswith(playback_page.NAME))


def tried(shop: Workshop, lines: str, values: Mapping[str, str] = NOTHING_ASKED) -> ScratchResult:
    """What lines come to, drawn as the ``values`` of a form say; where there are none or too many it says that."""
    text = document(NAME, "scratch", shop.bench(), lines, HelpExample())
    try:
        documents.parse("macro", text)
    except DocumentError as error:
        none = _proved(shop, document(NAME, "scratch", shop.bench(), "", HelpExample()), values)
        return _told(none, lines, "refuse", "Not ready", handbook.sentence(error.why))
    found = _proved(shop, text, values)
    return found if lines.strip() else _told(found, lines, "note", BEGIN_WORD, BEGIN)


def _told(found: ScratchResult, lines: str, shape: str, word: str, said: str) -> ScratchResult:
    """A result that says one thing in place of a verdict, and nothing beside the field."""
    told = replace(found.summary, shape=shape, word=word, sentence=said, claim=said)
    return replace(found, field=replace(found.field, value=lines, problem=""), problem="", summary=told, findings=())


def _proved(shop: Workshop, text: str, values: Mapping[str, str]) -> ScratchResult:
    bench = shop.bench()
    proved = shelf.proved(text, shop.text("machine", ONLY), shop.text("controller", ONLY))
    report, figures = proved.report, bench.figures
    step = bench_page.step_rows(proved, figures)[0]
    field = next(each for each in step.pieces if isinstance(each, bench_page.Field))
    found = bench_page.finding_rows(report, figures)
    asked = wanted(values, report, figures)
    focus = next((each.found for each in found if each.key == asked.finding and each.found.witness), None)
    start = Asked(focus.witness.start, {}) if focus and focus.witness else asked.start
    playback, begins = playback_page.shown(
        report, figures, start, side=asked.side, finding=asked.finding if focus else ""
    )
    return ScratchResult(
        field=field,
        problem=field.problem,
        summary=summary.summary(proved, figures),
        findings=found[:MOST_FINDINGS],
        further=len(found[MOST_FINDINGS:]),
        lines=bench_page.line_rows(report),
        views=_views(report, focus, begins if playback.chosen else None, figures, side=asked.side),
        playback=playback,
        shown=bench_page.what_is_shown(focus) if focus else "",
        usual=_usual({each.name: each.value for each in playback.fields}) if focus or not playback.chosen else "",
    )


def _views(
    report: Report, focus: Finding | None, start: Mapping[str, float] | None, figures: Figures, *, side: bool
) -> DrawnViews:
    extra = Extra(side)
    return elevations.draw_views(report, focus=focus, start=start, title=NAME, units=figures.units, extra=extra)
