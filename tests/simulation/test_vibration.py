"""Faults that only a measurement sees: lines and where sampling folds them to, stuck bits, and cross-talk."""

import tomllib

import numpy as np
import pytest

from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

G = 9.80665


def still(airframe, *faults, motions=("level",), seed=1, **options):
    options = Options(**{"motions": motions, "rate_hz": 200, "jitter": 0.0} | options)
    return simulate(airframe, seed=seed, faults=parse_faults(faults, airframe), options=options)


def strongest(values, rate_hz):
    """Find the strongest line of three channels, Hz, and its peak."""
    window = np.hanning(len(values))[:, None]
    size = np.sqrt((np.abs(np.fft.rfft((values - values.mean(axis=0)) * window, axis=0)) ** 2).sum(axis=1))
    place = int(np.argmax(size))
    return place * rate_hz / len(values), 2 * size[place] / window.sum()


# U7: a line at f shows at |f - k · rate|
@pytest.mark.parametrize(("true", "shown"), [(40, 40), (90, 90), (130, 70), (237, 37), (380, 20), (1990, 10)])
def test_a_line_shows_where_sampling_folds_it_to(true, shown, helicopter):
    bench = still(helicopter, f"vibration={true},0.3")
    frequency, peak = strongest(bench.accelerometer, 200)
    assert frequency == pytest.approx(shown, abs=0.4)
    assert peak / G == pytest.approx(0.3, rel=0.1)
    frequency, peak = strongest(bench.truth.angular_rate, 200)
    assert frequency == pytest.approx(shown, abs=0.4)
    # a rocking of rate w at 0.1 m gives the force 2π f · 0.1 · w
    assert peak * 2 * np.pi * true * 0.1 / G == pytest.approx(0.3, rel=0.1)


def test_jitter_in_time_smears_a_high_line_more_than_a_low_one(helicopter):
    kept = []
    for line in (20, 1980):
        bench = still(helicopter, f"vibration={line},0.3", jitter=0.05)
        kept.append(strongest(bench.accelerometer, 200)[1] / G / 0.3)
    assert kept[0] > 0.9
    assert kept[1] < 0.9


def test_two_lines_stand_side_by_side_and_in_the_truth(helicopter, tmp_path):
    bench = still(helicopter, "vibration=40,0.3", "vibration=80,0.1")
    truth = tomllib.loads(write_capture(bench, tmp_path / "run").truth.read_text())
    assert [line["frequency_hz"] for line in truth["vibration"]] == [40.0, 80.0]
    assert [np.linalg.norm(line["peak_g"]) for line in truth["vibration"]] == pytest.approx([0.3, 0.1], abs=1e-5)


def test_a_late_accelerometer_feels_the_line_late(helicopter):
    right, late = (still(helicopter, "vibration=10,0.3", *more) for more in ((), ("accelerometer-late=25",)))
    np.testing.assert_allclose(late.truth.specific_force[5:], right.truth.specific_force[:-5], atol=1e-6)
    np.testing.assert_array_equal(late.truth.angular_rate, right.truth.angular_rate)


def test_stuck_bits_leave_every_fourth_count_on_their_axes_alone(helicopter):
    bench = still(helicopter, "stuck-bits=y", motions=("level", "free"))
    for readings, model in ((bench.gyro, bench.gyro_model), (bench.accelerometer, bench.accelerometer_model)):
        counts = np.round(readings / model.count).astype(int)
        assert set(np.unique(counts[:, 1] % 4)) == {0}
        assert set(np.unique(counts[:, 0] % 4)) == set(np.unique(counts[:, 2] % 4)) == {0, 1, 2, 3}


def test_cross_talk_puts_a_part_of_y_into_x(helicopter):
    usual, crossed = (
        still(helicopter, *faults, motions=("on right side",)) for faults in ((), ("accelerometer-cross=10",))
    )
    difference = crossed.accelerometer - usual.accelerometer
    # the unit's y points left, so it reads +g with the right side down
    assert difference[:, 0].mean() / G == pytest.approx(0.1, abs=0.01)
    assert np.abs(difference[:, 1:]).max() == 0.0
