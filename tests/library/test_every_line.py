"""Every step at the limits of its values, on two machines and every controller: it reads back, or says why it cannot.

All of it, about 40,000 builds, goes by hand, or every n-th of it from a first one on; a share of it, another one each
day, in every run:

    .venv/bin/python -m tests.library.test_every_line
    .venv/bin/python -m tests.library.test_every_line 7 3
"""

from __future__ import annotations

import random
import sys
from itertools import product

import pytest

from library import starter
from library.bench import Bench
from library.blocks import REGISTRY
from library.build import build
from library.documents import bench as bench_of
from library.documents import parse
from library.proving import prove_macro
from library.sheets import preset_text
from parser.machine import SYSTEMS, Interval
from tests.bulk import mostly_long, of_today
from tests.fuzz.seeds import seed_of_today
from tests.library.benches import FILLED, ONE_ZERO, PENDANT, ROUTER, able, macro, step
from tests.library.test_walked import COMBINED, followed, middle, number, partly, walker

A_DAY = 120
"""How many are tried in every run."""


def zeros(x, y, z):
    """Zeros of the other work systems, within travel."""
    return "".join(f'[work."{system}"]\nx = {x}\ny = {y}\nz = {z}\n' for system in SYSTEMS[1:])


NOTHING_ON_IT = {
    "mm": ONE_ZERO[: ONE_ZERO.index("[[keep_out]]")].replace("top = -130.0", "top = -230.0") + zeros(30, 50, -20),
    "inch": ROUTER.replace("top = -6.0", "top = -12.0") + zeros(-3, 5, -2.5),
}
"""The two machines with nothing on their tables, so that what is refused is refused for what is written."""

CONTROLLERS = ["as-published", *COMBINED]
LONG_TEXT = 'Turn the part (now) "so"; then % 100 \N{DEGREE SIGN} ' * 8
LIMITS = {
    "length": ("5 mm",),
    "time": ("0.0004 s", "100 s"),
    "rate": ("0.1 mm/min", "1500 mm/min"),
    "angle": ("10 deg", "90 deg"),
    "count": ("1", "4"),
}
"""What is tried of a value that has no limits of its own."""

PLACES = ("travel.{}.min + 1 mm", "travel.{}.max - 1 mm")
ROWS = {
    "points": (
        "travel.x.middle, travel.y.middle",
        "\n".join(["travel.x.min + 1 mm, travel.y.middle, safe.z - 20 mm", "travel.x.max - 1 mm, 50 mm"] * 6),
    ),
    "stages": ("1, 0.001 s", "\n".join(["500, 1 s", "700, 2 s"] * 6)),
}


INSIDE = {
    "touch-off-tool": {
        "x": "travel.x.min + 20 mm", "y": "travel.y.max - 20 mm", "limit": "travel.z.min + 20 mm", "height": "5 mm",
    },
}  # fmt: skip
"""Values of steps that are nowhere near an end of travel."""

ALONG_Y = {"begin": "travel.y.middle - 30 mm", "finish": "travel.y.middle + 30 mm"}
FROM_HERE = ("nudge", "index", "probe-edge", "probe-corner", "probe-bore", "probe-down", "touch-off-tool")
"""Steps that go on from where something stands or trips, so that a large value leaves the travel."""


def limits(block, parameter):
    """The values of a parameter that are tried, beside its default."""
    if parameter.kind == "flag":
        return [True, False]
    if parameter.kind == "choice":
        return list(parameter.choices)
    if parameter.name in ROWS and parameter.kind == "lines":
        return list(ROWS[parameter.name])
    if parameter.kind == "text":
        return [LONG_TEXT, *([""] if parameter.blank else [])] if parameter.name == "text" else []
    if parameter.kind == "lines":
        return ["G17", "G91\nG90", "G21 G90 G17 G94 G98 G54 G49\nG81 X20 Y50 Z-5 R5 F50"]
    found = [each for each in (parameter.least, parameter.most) if each is not None]
    unit = {"length": " mm", "time": " s", "rate": " mm/min", "angle": " deg", "count": ""}[parameter.kind]
    tried = [f"{each:g}{unit}" for each in found]
    if parameter.places:
        axis = parameter.places[0]
        tried += [place.format(axis if len(axis) == 1 else "x") for place in PLACES]
    elif not found:
        tried += LIMITS[parameter.kind]
    return tried + ([""] if parameter.blank else [])


def variants(block):
    """The step as it comes, and with each of its values at each of its limits."""
    given = {**FILLED.get(block.id, {}), **INSIDE.get(block.id, {})}
    yield given
    for parameter in block.parameters:
        for value in limits(block, parameter):
            more = ALONG_Y if (block.id, parameter.name, value) == ("sweep", "axis", "y") else {}
            yield {**given, parameter.name: value, **more}


CASES = [(block.id, values) for block in REGISTRY.values() for values in variants(block)]
ALL = [(*case, machine, preset) for case, machine, preset in product(CASES, NOTHING_ON_IT, CONTROLLERS)]


def judge(steps, sheets, label):
    """Proved from the middle of travel, and it ends where a second implementation says; or it says why not."""
    built = build(macro(*steps), sheets)
    if built.problems:
        assert all(len(str(each)) > 30 and "\n" not in str(each) for each in built.problems), label
        return False
    start = {name: Interval(at, at) for name, at in ((axis.lower(), at) for axis, at in middle(sheets).items())}
    report = prove_macro(macro(*steps), sheets, built, start=start, seek_start=False).report
    refused = [finding for finding in report.findings if finding.severity == "refuse"]
    if refused and label[0] in FROM_HERE and all(finding.rule == "beyond-travel" for finding in refused):
        return False
    assert [(finding.rule, finding.line, finding.message) for finding in refused] == [], (label, built.text)
    if not any(event.kind.loses_position for event in report.trace.events) and "G81" not in built.text:
        agree(built, sheets, label)
    return True


def agree(built, sheets, label):
    by_words = walker(sheets, middle(sheets), partly).walk(built.lines)
    by_trace = followed(built, sheets, middle(sheets), by_words.trips)
    for axis, place in by_trace.end.items():
        assert number(place) == pytest.approx(by_words.at[axis.upper()], abs=1e-6), (label, built.text)


def tried(case):
    block, values, machine, preset = case
    sheets = able(NOTHING_ON_IT[machine], preset)
    return judge([step("raise"), step(block, **values)], sheets, case)


def test_there_are_more_than_twenty_thousand():
    assert len(CASES) > 150
    assert len(ALL) > 20_000


def test_a_share_of_every_step_at_its_limits_reads_back_or_says_why_it_cannot():
    chance = random.Random(seed_of_today())
    written = [tried(case) for case in chance.sample(ALL, A_DAY)]
    assert sum(written) > A_DAY / 2


# The starters


def starting(machine, preset="as-published", **keys):
    """A starter machine with a controller, some keys of its sheet changed."""
    plain = bench_of(starter.text(machine), preset_text(preset), PENDANT, {})
    sheet = plain.controller_sheet.model_copy(update=keys)
    return Bench.of(plain.machine_sheet, sheet, plain.pendant, plain.shelf)


@pytest.mark.parametrize("preset", ["as-published", COMBINED[0], *mostly_long(of_today(COMBINED[1:], 5), keep=0)])
@pytest.mark.parametrize("machine", ["machine.toml", "second/machine.toml"])
@pytest.mark.parametrize("id", starter.macros())
def test_each_starter_ends_where_the_published_words_say_on_every_controller(id, machine, preset):
    kept = "no-machine-moves" in preset
    sheets = starting(machine, preset, **({"machine_system": "G59"} if kept else {}))
    assert judge(parse("macro", starter.macros()[id]).step, sheets, (id, machine, preset))


LACKS = {
    "machine_moves": {"machine_moves": False},
    "expressions": {"expressions": False},
    "pause": {"pause": ""},
    "message": {"message": ""},
    **{
        f"no {word}": {"unsupported": (word,)}
        for word in (
            "G4",
            "G10",
            "G20",
            "G21",
            "G38.2",
            "G49",
            "G53",
            "G54",
            "G80",
            "G90",
            "G91",
            "G94",
            "M3",
            "M5",
            "M9",
        )
    },
    "no feed modes": {"unsupported": ("G93", "G94")},
    "no offsets": {"unsupported": ("G43", "G49", "G53"), "machine_system": "G59", "machine_moves": False},
    "no coolant": {"unsupported": ("M7", "M8", "M9")},
}
KEYS = ("machine_moves", "expressions", "pause", "unsupported", "machine_system")


@pytest.mark.parametrize("lack", mostly_long(LACKS, keep=8))
@pytest.mark.parametrize("machine", ["machine.toml", "second/machine.toml"])
def test_no_starter_is_at_a_loss_without_naming_the_key_and_what_to_do(machine, lack):
    sheets = starting(machine, **LACKS[lack])
    for id, text in starter.macros().items():
        built = build(parse("macro", text), sheets)
        for problem in built.problems:
            assert any(key in problem.message for key in KEYS), (id, str(problem))
            assert ";" in problem.message, (id, str(problem))
        if not built.problems:
            assert judge(parse("macro", text).step, sheets, (id, machine, lack))


@pytest.mark.parametrize(
    "lack", ["message", "expressions", "no G80", "no G10", "no G38.2", "no coolant", "no offsets", "no feed modes"]
)
def test_what_no_starter_needs_keeps_none_of_them_from_being_written(lack):
    sheets = starting("machine.toml", **LACKS[lack])
    assert [id for id, text in starter.macros().items() if build(parse("macro", text), sheets).problems] == []


def lacking(lack):
    """Each step, after a raise, with a controller that lacks something: the sheets, the macro and what is written."""
    plain = able(NOTHING_ON_IT["mm"])
    sheet = plain.controller_sheet.model_copy(update=LACKS[lack])
    sheets = Bench.of(plain.machine_sheet, sheet, plain.pendant, plain.shelf)
    for block in REGISTRY:
        steps = [step("raise"), step(block, **{**FILLED.get(block, {}), **INSIDE.get(block, {})})]
        yield sheets, block, steps, build(macro(*steps), sheets)


@pytest.mark.parametrize("lack", LACKS)
def test_a_step_that_a_controller_cannot_carry_out_names_the_key_and_what_there_is_instead(lack):
    for _, block, _, built in lacking(lack):
        for problem in built.problems:
            assert any(key in problem.message for key in KEYS), (block, str(problem))
            assert any(sign in problem.message for sign in (";", ": ")), (block, str(problem))


@pytest.mark.long
@pytest.mark.parametrize("lack", LACKS)
def test_a_step_that_it_can_carry_out_is_proved(lack):
    written = [
        judge(steps, sheets, (block, lack)) for sheets, block, steps, built in lacking(lack) if not built.problems
    ]
    assert all(written)


def main():
    every, first = (int(given) for given in (*sys.argv[1:], *("1", "0")[len(sys.argv) - 1 :]))
    chosen = list(enumerate(ALL))[first::every]
    written = wrong = 0
    for count, (place, case) in enumerate(chosen, start=1):
        try:
            written += tried(case)
        except Exception as error:
            wrong += 1
            print(f"{place} {case}\n   {type(error).__name__}: {str(error)[:1500]}", flush=True)
        if count % 500 == 0 or count == len(chosen):
            print(
                f"{count} of {len(chosen)}: {written} written and proved, {wrong} wrong, others say why not", flush=True
            )


if __name__ == "__main__":
    main()
