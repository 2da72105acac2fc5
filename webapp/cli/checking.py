"""Proving files, macros and pendants, and writing the lines of a macro."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

import parser
from library.bench import Bench
from library.fields import slug
from library.macros import Macro
from parser.machine import Interval
from parser.pipeline import shown_to_nobody
from parser.report import Report, as_json, finding_as_json
from webapp.cli.common import (
    REFUSED,
    InputError,
    put,
    remark,
    second_opinion_option,
    sheet_options,
    tell,
    workshop_option,
)
from webapp.cli.inputs import (
    ANYWHERE,
    Input,
    find_bench,
    find_inputs,
    read_macro,
    shown,
    start_place,
    with_macros,
    with_pendant,
)
from webapp.cli.meter import meter
from webapp.cli.terminal import pendant_text, report_text, safe_start_text

if TYPE_CHECKING:  # to check a file takes none of what makes macros into lines
    from library.proving import Proved
    from library.sequences import WholePendant


@click.command()
@click.argument("files", nargs=-1, metavar="[FILE...|DIR]")
@workshop_option()
@sheet_options
@click.option(
    "--start",
    metavar='anywhere|"x,y,z"',
    help="Where the machine stands: machine coordinates in the units of its sheet, degrees; overrides a macro's own.",
)
@click.option("--assume", default="", metavar='"G21 G90 ..."', help="Words in force before the first line.")
@second_opinion_option()
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="How to print the result.",
)
def check(
    files: tuple[str, ...],
    workshop: Path | None,
    machine: str | None,
    controller: str | None,
    start: str | None,
    assume: str,
    second_opinion: bool,
    form: str,
) -> int:
    """Prove RS-274 files and macros: named ones, or all in a folder; with --workshop alone its whole pendant."""
    if not files and workshop is None:
        raise click.UsageError(
            "Name a file or a folder to check, or a workshop with --workshop to check its whole pendant"
        )
    bench, notice = find_bench(workshop, machine, controller)
    bench = replace(bench, second=second_opinion)
    if not files and workshop is not None:
        bench = with_pendant(bench, workshop)
        refused = check_pendant(bench, start, assume, form)
        tell(notice)
        remark(bench.machine_sheet)
        return refused
    inputs = find_inputs(files)
    bench = with_macros(bench, inputs)
    if form == "text":
        reports = list(told_in_turn(inputs, bench, start, assume))
    else:
        reports = [(each.name, examined(each, bench, start, assume)) for each in inputs]
        shas = {f"{kind}_sha256": bench.digests[kind] for kind in ("machine", "controller")}
        found = [as_json(report, file=name, **shas) for name, report in reports]
        single = len(files) == 1 and not Path(files[0]).is_dir()
        put(json.dumps(found[0] if single else found, indent=1, allow_nan=False) + "\n")
    tell(notice)
    for name, report in reports:
        keep_to_send(name, report)
    remark(bench.machine_sheet)
    return REFUSED if any(report.refused for _, report in reports) else 0


def told_in_turn(inputs: Sequence[Input], bench: Bench, start: str | None, assume: str) -> Iterator[tuple[str, Report]]:
    """Prints each report as soon as it is there, and after it the safe start, which takes longest.

    Of several macros none is printed before all have been examined: one that cannot be used leaves nothing printed.
    """
    at_once = len(inputs) == 1 or all(each.macro is None for each in inputs)
    held: list[str] = []
    say = put if at_once else held.append
    for number, each in enumerate(inputs):
        blank = "\n" if number else ""

        def first(report: Report, name: str = each.name, blank: str = blank) -> None:
            say(blank + report_text(name, report, bench.figures))

        report = examined(each, bench, start, assume, first)
        say(safe_start_text(report))
        yield each.name, report
    if held:
        put("".join(held))


def keep_to_send(name: str, report: Report) -> None:
    """Where two proofs differ, a file to send with the report of it, in the folder one stands in."""
    if report.second is None or not report.second.to_send:
        return
    kept = Path(f"second-opinion-{slug(Path(name).stem) or 'differs'}.smt2")
    try:
        kept.write_text(report.second.to_send, encoding="utf-8")
    except OSError as error:
        tell(f"{kept} could not be written ({error.strerror or error}); run it in a folder that can be written to.")
        return
    tell(f"The two proofs differ. Please report it, with the file {kept}: it holds both answers and the lines.")


def check_pendant(bench: Bench, start: str | None, assume: str, form: str) -> int:
    """Prove every slot of the pendant and every sequence of them."""
    from library.numbering import slots
    from library.sequences import whole_pendant

    wanted = sorted({slot.macro for slot in slots(bench.pendant) if slot.macro in bench.shelf})
    whole = whole_pendant(bench, {id: prove(bench.shelf[id], bench, start, assume) for id in wanted})
    for id, each in whole.proved.items():
        keep_to_send(id, each.report)
    on = {id: [slot.label for slot in whole.slots if slot.macro == id] for id in whole.proved}
    if form == "text":
        figures = bench.figures
        texts = [
            report_text(f"{id} ({', '.join(on[id])})", without_standing(each.report), figures)
            + safe_start_text(each.report)
            for id, each in whole.proved.items()
        ]
        put("\n".join([*texts, pendant_text(bench.pendant.name, whole, figures)]))
    else:
        shas = {f"{kind}_sha256": bench.digests[kind] for kind in ("machine", "controller")}
        found = [as_json(each.report, file=id, **shas) | {"slots": on[id]} for id, each in whole.proved.items()]
        put(json.dumps([*found, as_pendant_json(whole, bench.pendant.name)], indent=1, allow_nan=False) + "\n")
    return REFUSED if whole.verdict == "refused" else 0


def without_standing(report: Report) -> Report:
    """The report without what is told once for the whole pendant."""
    return replace(report, findings=tuple(each for each in report.findings if each.rule != "figures-invented"))


def as_pendant_json(whole: WholePendant, name: str) -> dict[str, object]:
    """The pendant as the last object of the list that ``check --workshop --format json`` prints."""
    return {
        "file": None,
        "pendant": name,
        "slots": {slot.label: slot.macro for slot in whole.slots},
        "verdict": whole.verdict,
        "sentence": whole.sentence,
        "findings": [finding_as_json(finding) for finding in whole.findings],
    }


def examined(
    each: Input,
    bench: Bench,
    start: str | None,
    assume: str,
    first: Callable[[Report], None] = shown_to_nobody,
) -> Report:
    """The report on one file, given to ``first`` before its safe start is sought.

    Raises InputError where a macro cannot be turned into lines.
    """
    if each.macro is None:
        box = _start_box(start, bench)
        with meter(each.name) as told:
            question = parser.Question(start=box, assume=assume, second=bench.second)
            units = bench.machine_sheet.units
            report = parser.examine(
                each.text,
                bench.machine,
                bench.controller,
                question,
                progress=told,
                first=lambda report: first(report.worded(units)),
            )
            return report.worded(units)
    proved = prove(each.macro, bench, start, assume, first)
    if proved.problems:
        raise InputError(f"{each.name}: {proved.problems[0]}")
    return proved.report


def prove(
    macro: Macro,
    bench: Bench,
    start: str | None,
    assume: str,
    first: Callable[[Report], None] = shown_to_nobody,
) -> Proved:
    """A macro proved from the start that was given, else from its own."""
    from library import proving

    free = macro if start is None else macro.model_copy(update={"start": ANYWHERE})
    with meter(macro.name) as told:
        return proving.prove_macro(
            free, bench, start=_start_box(start, bench), assume=assume, progress=told, first=first
        )


def _start_box(start: str | None, bench: Bench) -> Mapping[str, Interval] | None:
    """The start that was given, None for anywhere or where none was."""
    if start is None or start.strip().lower() == ANYWHERE:
        return None
    return start_place(start, bench)


@click.command()
@click.argument("macro", metavar="MACRO.toml")
@workshop_option()
@sheet_options
def build(macro: str, workshop: Path | None, machine: str | None, controller: str | None) -> int:
    """Write the lines of a macro to standard output, and its verdict to standard error."""
    from library import proving

    bench, notice = find_bench(workshop, machine, controller)
    proved = proving.prove_macro(read_macro(macro), bench)
    if proved.problems:
        raise InputError(f"{shown(macro)}: {proved.problems[0]}")
    put(proved.built.text.encode())
    tell(notice)
    remark(bench.machine_sheet)
    tell(proved.report.sentence)
    return REFUSED if proved.report.refused else 0
