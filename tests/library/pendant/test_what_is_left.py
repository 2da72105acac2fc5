"""What is left to run after letting go, by the pendant's program and a controller that holds so many lines."""

from __future__ import annotations

import pytest

from library import pack
from tests.library.benches import controller
from tests.library.handled import FIRE, deeds
from tests.library.pendant.answered import Answered
from tests.library.pendant.compiling import SLOTS, program
from tests.library.test_pack import document, gathered

FAR = tuple(f"G53 G0 X{20 + 30 * (number % 2) + number}" for number in range(9))
STAIRS = document("lift", 'block = "raise"', f'block = "own-lines"\nlines = """\n{chr(10).join(FAR)}\n"""')


def left(way, depth):
    """The most lines that move and were sent and not done, wherever it is let go; and what the run-on counts on."""
    documents = {
        "pendant": SLOTS,
        "controller": controller(acknowledge='"TAKEN"', queue_depth=str(depth), **way),
        "lift": STAIRS,
    }
    goes = pack.outgoing(gathered(**documents))
    files, most = program(**documents), 0
    for at in range(400, 4000, 150):
        on = Answered(files, goes.bench.controller_sheet, by_call=False)
        on.controller.takes = lambda line: 400 if "G0 X" in line else 0
        for name, given in deeds(f"{FIRE} wait:{at} let_go"):
            getattr(on, name)(*given)
        most = max(most, on.controller.unfinished - (on.sent[-1] == "G4 P0"))  # which moves nothing
        before = len(on.sent)
        on.wait(3000)
        assert len(on.sent) == before
    return most, goes.taken["lift"].report


@pytest.mark.parametrize("depth", [0, 1, 3])
def test_the_line_that_runs_those_that_are_held_and_the_one_on_its_way_are_left(depth):
    most, report = left({}, depth)
    assert most == depth + 2
    assert f"the line that runs, up to {depth} held by the controller and one on its way" in report.plan.run_on.because
    moves = [timing.path_mm.most for timing in report.plan.timings if timing.travel]
    windows = [sum(moves[at : at + most]) for at in range(len(moves) - most + 1)]
    assert report.plan.run_on.millimetres == pytest.approx(max(windows))


@pytest.mark.parametrize("way", [{"acknowledge_means": '"done"'}, {"settle": '"G4 P0"'}], ids=["done", "settle"])
def test_where_something_tells_that_it_is_idle_only_the_line_that_runs_is_left(way):
    most, report = left(way, 3)
    assert most == 1
    assert "the line that runs is finished" in report.plan.run_on.because
