"""A figure at two benches: moved or not, and whether it matters."""

from __future__ import annotations

import functools
import itertools
import os
from typing import get_args

import pytest

from benchrig.job import judge
from benchrig.keeping.allowances import ALLOWANCES, SURE, allowance_of
from benchrig.keeping.figures import Figure, Kind, figures_of
from benchrig.keeping.moved import Weight, moved_figures
from benchrig.report.result import report_result
from benchrig.report.stored_result import check_in

COUNT = int(os.environ.get("BENCHRIG_COUNT", "3"))


def figure(value, uncertainty=0.01, kind="gyro bias", name="gyro bias, x", unit="deg/s", *, of=""):
    return Figure(kind, name, value, uncertainty, unit, of)


def moved(one, two, **options):
    (found,) = moved_figures([one], [two], **options)
    return found


@pytest.mark.parametrize(
    ("before", "after", "weight"),
    [
        (1.0, 1.02, Weight.NONE),
        (1.0, 1.9, Weight.INSIDE),
        (1.0, -3.9, Weight.INSIDE),
        (1.0, 6.1, Weight.MATTERS),
        (1.0, -4.1, Weight.MATTERS),
        (None, 1.0, Weight.OPEN),
        (1.0, None, Weight.OPEN),
        (None, None, Weight.UNTOLD),
    ],
)
def test_a_bias_is_held_against_its_uncertainty_and_then_its_limit(before, after, weight):
    assert moved(figure(before), figure(after)).weight is weight


def test_a_change_has_the_uncertainty_of_both_benches():
    found = moved(figure(1.0, 0.3), figure(2.0, 0.4))
    assert found.change == pytest.approx(1.0)
    assert found.uncertainty == pytest.approx(0.5)
    assert found.weight is Weight.NONE
    assert moved(figure(1.0, 0.3), figure(1.0 + SURE * 0.5 + 0.01, 0.4)).weight is Weight.INSIDE


def test_a_change_of_the_limits_size_that_could_hide_is_told():
    assert moved(figure(1.0, 2.0), figure(1.0, 2.0)).is_coarse
    assert not moved(figure(1.0, 0.5), figure(1.0, 0.5)).is_coarse


@pytest.mark.parametrize("which", ["first", "second"])
def test_a_figure_without_an_uncertainty_is_never_taken_for_sure(which):
    sure, unsure = figure(1.0), figure(1.0, None)
    found = moved(sure, unsure) if which == "second" else moved(unsure, sure)
    assert found.weight is Weight.OPEN
    assert found.reason == f"the {which} bench does not say how sure it is"
    rates = [figure(hz, None, "sample rate", "sample rate", "Hz") for hz in (100.0, 100.02)]
    assert moved(*rates).weight is Weight.NONE


def test_noise_that_halves_matters_as_noise_that_doubles():
    noise = [figure(size, 0.02 * size, "gyro noise", "gyro noise", "deg/s/√Hz") for size in (0.006, 0.0027, 0.0133)]
    for one, two in ((noise[0], noise[1]), (noise[0], noise[2]), (noise[1], noise[0])):
        assert moved(one, two).weight is Weight.MATTERS
    nearly = figure(0.0115, 0.0002, "gyro noise", "gyro noise", "deg/s/√Hz")
    assert moved(noise[0], nearly).weight is Weight.INSIDE
    assert moved(noise[0], nearly).change == pytest.approx(0.0115 / 0.006)


def test_a_noise_of_nothing_has_no_ratio():
    assert moved(figure(0.0, 0.0, "gyro noise"), figure(0.01, 0.0, "gyro noise")).weight is Weight.OPEN


def test_an_answer_is_held_against_the_actuators_largest():
    def answers(to_pitch, to_yaw):
        return [figure(value, 0.001, "response", f"front: {axis}", of="front")
                for axis, value in (("pitch", to_pitch), ("yaw", to_yaw))]  # fmt: skip

    weights = [found.weight for found in moved_figures(answers(-4.0, 0.0), answers(-4.0, 0.5))]
    assert weights == [Weight.NONE, Weight.INSIDE]
    weights = [found.weight for found in moved_figures(answers(-4.0, 0.0), answers(-2.9, 0.0))]
    assert weights == [Weight.MATTERS, Weight.NONE]


def test_an_answer_of_one_actuator_is_not_held_against_another():
    one = [
        figure(4.0, 0.001, "response", "front: pitch", of="front"),
        figure(0.4, 0.001, "response", "tail: yaw", of="tail"),
    ]
    two = [one[0], figure(0.6, 0.001, "response", "tail: yaw", of="tail")]
    assert [found.weight for found in moved_figures(one, two)] == [Weight.NONE, Weight.MATTERS]


def test_the_lean_of_one_unit_is_known_better_between_benches_than_by_itself():
    one, two = (figure(value, 2.0, "lean", "unit turned, roll") for value in (0.0, 5.5))
    assert moved(one, two).weight is Weight.MATTERS


def test_a_place_is_held_against_the_declared_tolerance():
    one, two = (figure(value, 0.7, "place", "place, forward", "mm") for value in (-180.0, -174.0))
    assert moved(one, two).weight is Weight.INSIDE
    assert moved(one, two, tolerance_mm=5.0).weight is Weight.MATTERS


def test_a_kind_that_is_barred_is_open_with_its_reason():
    found = moved(figure(1.0), figure(1.0), barred={"gyro bias": "another calibration"})
    assert (found.weight, found.reason) == (Weight.OPEN, "another calibration")


def test_the_temperature_explains_and_is_never_judged():
    one, two = (figure(value, 0.1, "temperature", "temperature", "°C") for value in (20.0, 45.0))
    assert moved(one, two).weight is Weight.CONTEXT
    assert moved(one, figure(None, None, "temperature", "temperature", "°C")).weight is Weight.CONTEXT


def test_what_only_the_second_bench_has_is_not_lost():
    extra = figure(20.0, 1.0, "latency", "tail: latency", "ms", of="tail")
    found = moved_figures([figure(1.0)], [figure(1.0), extra])
    assert [(one.second.name, one.weight) for one in found] == [
        ("gyro bias, x", Weight.NONE), ("tail: latency", Weight.OPEN),
    ]  # fmt: skip


def test_every_kind_but_the_temperature_has_an_allowance_with_what_to_do():
    assert set(get_args(Kind)) - set(ALLOWANCES) == {"temperature"}
    assert allowance_of("temperature") is None
    for allowed in ALLOWANCES.values():
        assert allowed.limit > 0
        assert allowed.why
        assert allowed.act[0].isupper()


@pytest.fixture(scope="module")
def figures(simulated_recording, demo_airframe):
    """Give the figures of a simulated bench of one unit."""

    @functools.cache
    def take(airframe, seed, *faults):
        judged = judge(demo_airframe(airframe), simulated_recording(airframe, *faults, seed=seed, unit_seed=9))
        return figures_of(check_in(report_result(judged), "made.json"))

    return take


@pytest.mark.parametrize("airframe", ["dunlin", "teal", "knot"])
def test_one_unit_on_many_benches_does_not_seem_to_move(figures, airframe):
    """Benches by other hands of one unit that did not change: what differs is the benches' own uncertainty."""
    listed = [figures(airframe, seed) for seed in range(40, 40 + COUNT)]
    for one, two in itertools.combinations(listed, 2):
        weights = {found.first.name: found.weight for found in moved_figures(one, two)}
        assert Weight.NONE in weights.values()
        assert not {name for name, weight in weights.items() if weight in {Weight.INSIDE, Weight.MATTERS}}


@pytest.mark.parametrize(
    ("fault", "name"),
    [
        ("gyro-bias=8", "gyro bias, y"),
        ("gyro-scale=1.1", "gyro over gravity"),
        ("accelerometer-scale=1.06", "accelerometer at rest"),
        ("noise=3", "gyro noise"),
        ("servos-late=80", "tail: latency"),
        ("servo-weak=tail", "tail: answer to yaw"),
    ],
)
def test_what_a_fault_changes_in_one_unit_matters(figures, fault, name):
    found = {moved.first.name: moved for moved in moved_figures(figures("dunlin", 40), figures("dunlin", 41, fault))}
    assert found[name].weight is Weight.MATTERS
