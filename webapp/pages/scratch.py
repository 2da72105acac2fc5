"""The scratch bench: lines that are tried and stand nowhere, until somebody saves them as a macro."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from library import blocks, documents, macros
from library.bench import Bench
from library.errors import BlockError
from library.store import Workshop
from parser.proof.rules import RULES
from webapp.drawings import elevations
from webapp.pages import bench as bench_page
from webapp.pages import shelf, summary
from webapp.pages.shelf import ONLY

NAME = "Scratch"
FIELD = "step.1.lines"
"""What the field is called in the form: that of the only step."""

BY_HAND = "own-lines"
MOST_FINDINGS = 30


@dataclass(frozen=True, slots=True)
class HelpExample:
    """Something of Help to try: its lines, what it shows, where Help has it, and the step that it is, if it is one."""

    lines: str = ""
    about: str = ""
    url: str = ""
    step: tuple[str, Mapping[str, object]] | None = None


@dataclass(frozen=True, slots=True)
class ScratchResult:
    """What some lines come to on the machine in force."""

    field: bench_page.Field
    problem: str
    summary: summary.Summary
    findings: tuple[bench_page.FindingRow, ...]
    further: int
    lines: tuple[bench_page.LineRow, ...]
    elevations: Markup


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


def tried(shop: Workshop, lines: str) -> ScratchResult:
    """What lines come to; raises DocumentError where there are too many of them."""
    bench = shop.bench()
    text = document(NAME, "scratch", bench, lines, HelpExample())
    documents.parse("macro", text)
    proved = shelf.proved(text, shop.text("machine", ONLY), shop.text("controller", ONLY))
    step = bench_page.step_rows(proved, bench.figures)[0]
    field = next(each for each in step.pieces if isinstance(each, bench_page.Field))
    found = bench_page.finding_rows(proved.report, bench.figures)
    return ScratchResult(
        field=field,
        problem=field.problem,
        summary=summary.summary(proved, bench.figures),
        findings=found[:MOST_FINDINGS],
        further=len(found[MOST_FINDINGS:]),
        lines=bench_page.line_rows(proved.report),
        elevations=elevations.draw(proved.report, title=NAME, units=bench.figures.units),
    )
