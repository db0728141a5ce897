"""Turns for the compass: once round the vertical, the field of a chosen place, and the iron that bends it."""

import tomllib

import numpy as np
import pytest

from benchrig.errors import UsageError
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

TURNS = ("level", "level turn", "tilted turn", "level")


def turned(airframe, *faults, seed=1, **options):
    options = Options(**{"motions": TURNS, "rate_hz": 50} | options)
    return simulate(airframe, seed=seed, faults=parse_faults(faults, airframe), options=options)


def headings(bench, made):
    time = np.linspace(made.start, made.released, 800)
    forward = bench.plan.path.attitude(time).apply([1.0, 0.0, 0.0])
    return np.degrees(np.unwrap(np.arctan2(forward[:, 1], forward[:, 0]))), np.degrees(np.arcsin(-forward[:, 2]))


def test_a_turn_goes_once_round_upright_or_nose_up_in_about_eight_seconds(helicopter):
    senses = set()
    for seed in range(6):
        bench = turned(helicopter, seed=seed)
        for made, pitch in zip(bench.plan.motions[1:3], (0.0, 30.0), strict=True):
            heading, raised = headings(bench, made)
            senses.add(np.sign(heading[-1] - heading[0]))
            assert abs(heading[-1] - heading[0]) == pytest.approx(360, abs=45)
            assert np.median(raised) == pytest.approx(pitch, abs=8)
            assert 7.5 < made.held - made.start < 11
    assert senses == {-1.0, 1.0}


def test_the_turn_is_about_the_vertical(helicopter):
    bench = turned(helicopter)
    made = bench.plan.motions[2]
    inside = (bench.time > made.start + 3) & (bench.time < made.held - 1.5)
    rate = bench.truth.attitude[inside].apply(bench.truth.angular_rate[inside])
    assert abs(rate[:, 2]).mean() > 5 * np.abs(rate[:, :2]).mean()


def test_the_compass_reads_the_field_of_the_place_through_its_iron(helicopter):
    field = (-21.0, 3.0, -50.0)
    bench = turned(helicopter, "noise=0", field_ut=field)
    model = bench.compass_model
    body = bench.truth.attitude.inv().apply(np.array(field) * 1e-6)
    expected = body @ model.body_from_sensor @ model.gain.T + model.bias
    np.testing.assert_allclose(bench.compass, expected, atol=0.076e-6)


def test_hard_iron_has_the_size_asked_and_soft_iron_stretches_one_way(helicopter):
    usual, hard, soft = (turned(helicopter, *fault) for fault in ((), ("iron=60",), ("iron-soft=15",)))
    assert np.linalg.norm(hard.compass_model.bias) == pytest.approx(60e-6)
    np.testing.assert_array_equal(hard.compass_model.gain, usual.compass_model.gain)
    stretch = np.linalg.solve(usual.compass_model.gain, soft.compass_model.gain)
    np.testing.assert_allclose(np.linalg.eigvalsh(stretch), [1.0, 1.0, 1.15], atol=1e-9)
    np.testing.assert_array_equal(soft.gyro, usual.gyro)


def test_the_truth_says_the_field_and_the_command_makes_it_again(helicopter, tmp_path):
    truth = tomllib.loads(
        write_capture(turned(helicopter, field_ut=(20.0, -1.0, 45.0)), tmp_path / "x").truth.read_text()
    )
    assert truth["magnetometer"]["field_ut"] == [20.0, -1.0, 45.0]
    assert "--field-ut north=20.0,west=1.0,down=45.0" in truth["command"]


def test_iron_needs_a_compass_and_a_field_has_a_size(aeroplane):
    with pytest.raises(UsageError, match="declares no magnetometer"):
        turned(aeroplane, "iron=60")
    with pytest.raises(UsageError, match=r"--field-ut: 0 uT; expected 1 to 1000 uT"):
        Options(field_ut=(0.0, 0.0, 0.0))
