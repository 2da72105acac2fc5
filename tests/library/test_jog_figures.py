"""Jog figures: clicks that are carried out one by one, one turn a second, and what runs on."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from library import starter
from library.documents import bench as bench_of
from library.jog_figures import jog_figures
from library.jogs import why_not
from tests.library.benches import PENDANT, bench, controller

STARTER = bench_of(starter.text("machine.toml"), starter.text("controller.toml"), starter.text("pendant.toml"))
TAKEN = {"acknowledge": '"TAKEN"'}
FIGURES = {(each.axis, each.increment): each for each in jog_figures(STARTER)}


@pytest.mark.parametrize(
    ("axes", "increment", "clicks_a_second"),
    [
        # worked by hand for the starter mill: rest to rest over one step (plane mechanics)
        ("xy", "x1", 74),
        ("xy", "x10", 23.5),
        ("xy", "x100", 7.4),
        ("z", "x1", 55),
        ("z", "x10", 17),
        ("z", "x100", 5.5),
    ],
)
def test_the_clicks_that_the_starter_mill_keeps_up_with_are_those_worked_by_hand(axes, increment, clicks_a_second):
    for axis in axes:
        assert FIGURES[axis, increment].keeps_up == pytest.approx(clicks_a_second, rel=0.02)


@pytest.mark.parametrize("axis", "xz")
@pytest.mark.parametrize("increment", ["x1", "x10", "x100"])
def test_none_is_lost_at_what_the_machine_keeps_up_with_nor_a_little_faster(axis, increment):
    each = FIGURES[axis, increment]
    assert each.keeps_up <= each.none_lost


def test_a_controller_that_has_to_be_asked_keeps_up_with_less():
    asked = bench(pendant=PENDANT, controller=controller(**TAKEN, idle_ask='"@STATE"', idle_answer='"REST"'))
    figures = {(each.axis, each.increment): each for each in jog_figures(asked)}
    assert figures["x", "x100"].keeps_up == figures["x", "x100"].none_lost < 5
    assert figures["x", "x10"].keeps_up == pytest.approx(23.5, rel=0.02)  # merged clicks make up for the asking


def test_axes_that_move_alike_have_the_same_figures_under_their_own_names():
    assert replace(FIGURES["x", "x10"], axis="y") == FIGURES["y", "x10"]


def test_a_click_too_long_to_reach_the_rate_takes_twice_the_root_of_distance_by_acceleration():
    assert 1 / FIGURES["x", "x10"].keeps_up == pytest.approx(2 * math.sqrt(0.1 / 220), rel=1e-9)


def test_one_turn_a_second_is_carried_out_where_clicks_can_be_merged():
    fine = FIGURES["x", "x1"]
    assert fine.turned == pytest.approx(1.0)  # a hundred clicks of 0.01 mm
    assert fine.dropped == 0


def test_what_the_machine_cannot_do_of_a_turn_is_dropped_not_kept_for_later():
    # a line takes one click of 1 mm, so some 7.4 of the hundred clicks are carried out
    coarse = FIGURES["x", "x100"]
    assert coarse.turned == pytest.approx(7.4, rel=0.02)
    assert coarse.dropped == pytest.approx(100 - 7.4, rel=0.02)


def test_it_runs_on_for_the_lines_under_way_and_the_one_that_waits_in_the_pendant():
    assert FIGURES["x", "x100"].runs_on == pytest.approx(3.0)  # two under way and one merged, 1 mm each
    assert 2 / 7.416 <= FIGURES["x", "x100"].seconds <= 3 / 7.416
    one = bench(pendant=PENDANT + "[jog]\nin_flight = 1\n", controller=controller(**TAKEN))
    assert {each.runs_on for each in jog_figures(one) if each.increment == "x100"} == {2.0}


def test_a_controller_that_holds_fewer_lines_leaves_less():
    left = {}
    for depth in (0, 40):
        nine = bench(pendant=PENDANT + "[jog]\nin_flight = 9\n", controller=controller(**TAKEN, queue_depth=str(depth)))
        left[depth] = {each.runs_on for each in jog_figures(nine) if each.increment == "x100"}
    assert left == {0: {2.0}, 40: {10.0}}  # the one that runs, or nine under way, and the one that waits in the pendant


def test_an_axis_jogs_no_faster_than_it_can():
    fast = bench(pendant=PENDANT + "[jog]\nrate = 9000.0\n", controller=controller(**TAKEN))
    assert {each.axis: each.rate for each in jog_figures(fast)} == {"x": 2400.0, "y": 2400.0, "z": 1200.0}


def test_nothing_jogs_without_a_line_for_it_or_on_an_axis_that_is_not_there():
    assert jog_figures(bench(controller=controller(jog="[]"))) == ()
    rotary = 'positions = [ { label = "A", drives = "a" } ]\n'
    assert jog_figures(bench(pendant=PENDANT + rotary, controller=controller(**TAKEN))) == ()


def test_there_are_no_figures_where_the_controller_answers_nothing_and_a_jog_is_more_than_a_line():
    silent = bench(controller=controller(call='"@{number}"', file_name='"{number}.nc"'))
    assert jog_figures(silent) == ()
    assert "a jog is 2 lines, and the controller answers nothing" in why_not(silent)
    one = bench(controller=controller(call='"@{number}"', file_name='"{number}.nc"', jog='["@GO {axis} {step}"]'))
    assert jog_figures(one) != ()
    assert why_not(one) == ""
    assert "no lines for a jog" in why_not(bench(controller=controller(**TAKEN, jog="[]")))
