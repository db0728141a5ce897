"""Lines of vibration: false alarms, frequencies and sizes with their uncertainties, wandering and close lines."""

from __future__ import annotations

import os

import numpy as np
import pytest

from benchrig.measure.noise import vibration
from benchrig.measure.noise.spectrum import spectrum_of
from benchrig.measure.noise.vibration import find_lines, vibration_spectrum
from benchrig.signals.body import EvenRecording

COUNT = int(os.environ.get("BENCHRIG_COUNT", "60"))


def white(rng, seconds, rate, channels=6):
    return rng.normal(size=(round(seconds * rate), channels))


def with_line(rng, seconds, rate, frequency, amplitude, *, channels=1):
    values = white(rng, seconds, rate, channels)
    time = np.arange(len(values)) / rate
    values[:, 0] += amplitude * np.sin(2 * np.pi * frequency * time + rng.uniform(0, 6))
    return values


@pytest.mark.parametrize(("seconds", "rate"), [(3, 100), (10, 100), (30, 200)])
def test_white_noise_shows_a_line_about_as_often_as_is_said(monkeypatch, seconds, rate):
    monkeypatch.setattr(vibration, "LEAST_RISE", 0.0)
    rng = np.random.default_rng(5)
    count = 5 * COUNT
    alarms = sum(
        bool(find_lines(spectrum_of([white(rng, seconds, rate)], 1 / rate, 1.0), false_alarm=0.1)) for _ in range(count)
    )
    assert 0.02 * count < alarms < 0.1 * count + 4 * np.sqrt(0.1 * count)


@pytest.mark.parametrize(("seconds", "rate"), [(2, 100), (10, 100), (5, 1000)])
def test_white_noise_shows_no_line_by_the_rule_that_is_used(seconds, rate):
    rng = np.random.default_rng(6)
    assert not any(find_lines(spectrum_of([white(rng, seconds, rate)], 1 / rate, 1.0)) for _ in range(5 * COUNT))


def test_noise_behind_a_filter_and_noise_that_drifts_show_no_line():
    rng = np.random.default_rng(7)
    for _ in range(COUNT // 3):
        smooth = white(rng, 20, 200)
        for k in range(1, len(smooth)):
            smooth[k] += 0.6 * smooth[k - 1]
        assert not find_lines(spectrum_of([smooth], 0.005, 1.0))
        assert not find_lines(spectrum_of([smooth + 0.05 * np.cumsum(white(rng, 20, 200), axis=0)], 0.005, 1.0))


@pytest.mark.parametrize(("seconds", "amplitude"), [(10, 1.0), (10, 30.0), (60, 0.4), (60, 3.0)])
def test_frequency_and_amplitude_are_off_by_about_their_uncertainties(seconds, amplitude):
    rng = np.random.default_rng(8)
    frequencies, sizes = [], []
    for _ in range(COUNT):
        true = rng.uniform(8.0, 42.0)
        (line,) = find_lines(spectrum_of([with_line(rng, seconds, 100, true, amplitude)], 0.01, 1.0))
        frequencies.append((line.frequency - true) / line.uncertainty)
        sizes.append((line.peaks[0].amplitude - amplitude) / line.peaks[0].amplitude_uncertainty)
    assert 0.25 < np.sqrt(np.mean(np.square(frequencies))) < 1.5
    assert 0.1 < np.sqrt(np.mean(np.square(sizes))) < 1.5


def test_a_line_a_thousand_times_the_noise_makes_no_false_ones_beside_it():
    rng = np.random.default_rng(9)
    lines = find_lines(spectrum_of([with_line(rng, 20, 200, 41.3, 1000.0, channels=6)], 0.005, 1.0))
    assert [line.frequency for line in lines] == [pytest.approx(41.3, abs=1e-3)]


def test_a_line_that_wanders_is_one_line_with_a_wider_uncertainty():
    rng = np.random.default_rng(10)
    pulls = []
    for _ in range(COUNT // 2):
        time = np.arange(40 * 200) / 200
        speed = 60.0 + 0.5 * np.interp(time, np.arange(0, 42, 0.5), rng.normal(size=84))
        values = 5.0 * np.sin(2 * np.pi * np.cumsum(speed) / 200)[:, None] + white(rng, 40, 200, 1)
        (line,) = find_lines(spectrum_of([values], 0.005, 1.0))
        assert line.peaks[0].amplitude == pytest.approx(5.0, rel=0.05)
        assert line.uncertainty > 0.01
        pulls.append((line.frequency - speed.mean()) / line.uncertainty)
    assert 0.2 < np.sqrt(np.mean(np.square(pulls))) < 1.5


def test_two_lines_two_hertz_apart_are_two():
    rng = np.random.default_rng(11)
    values = with_line(rng, 30, 100, 20.0, 3.0) + with_line(rng, 30, 100, 22.0, 2.0)
    lines = find_lines(spectrum_of([values], 0.01, 1.0))
    assert [line.frequency for line in lines] == [pytest.approx(20.0, abs=0.01), pytest.approx(22.0, abs=0.01)]


def test_channels_that_shake_together_tell_of_one_line():
    rng = np.random.default_rng(12)
    time = np.arange(2000) / 100
    values = white(rng, 20, 100) + np.sin(2 * np.pi * 17.2 * time)[:, None] * [0, 2.0, 0, 3.0, 1.5, 0]
    (line,) = find_lines(spectrum_of([values], 0.01, 1.0))
    assert [peak.channel for peak in line.peaks] == [1, 3, 4]
    assert line.uncertainty < min(peak.uncertainty for peak in line.peaks)


def test_a_line_at_half_the_sample_rate_has_no_sure_size():
    (line,) = find_lines(spectrum_of([with_line(np.random.default_rng(13), 20, 100, 50.0, 3.0)], 0.01, 1.0))
    assert line.peaks[0].amplitude_uncertainty == line.peaks[0].amplitude


@pytest.mark.parametrize("seconds", [0.0, 1.9])
def test_less_than_two_seconds_have_no_spectrum(seconds):
    assert spectrum_of([white(np.random.default_rng(1), seconds, 100)], 0.01, 1.0) is None


def test_a_rate_too_low_for_any_line_has_no_spectrum():
    assert spectrum_of([white(np.random.default_rng(1), 60, 8)], 0.125, 5.0) is None


def test_a_dead_channel_has_no_line_and_spoils_no_other():
    values = with_line(np.random.default_rng(14), 20, 100, 17.0, 3.0, channels=3)
    values[:, 1] = 0.25
    (line,) = find_lines(spectrum_of([values], 0.01, 1.0))
    assert [peak.channel for peak in line.peaks] == [0]


def even_of(values, step, segment=None, clipped=None):
    none = np.zeros(len(values), dtype=np.bool_)
    number = np.zeros(len(values), dtype=np.int64) if segment is None else segment
    cut = none if clipped is None else clipped
    return EvenRecording(
        np.arange(len(values)) * step, step, number, values[:, :3], values[:, 3:], None, None, cut, none
    )


def test_gaps_and_clipped_samples_break_the_record_into_parts():
    rng = np.random.default_rng(15)
    values = white(rng, 30, 100)
    late = np.arange(3000) >= 1500
    values[late] += 40.0  # as if the unit had started anew
    clipped = np.zeros(3000, dtype=np.bool_)
    clipped[700:710] = True
    values[clipped] = 500.0
    even = even_of(values, 0.01, late.astype(np.int64), clipped)
    spectrum = vibration_spectrum(even, [(0, 3000)], 1.0)
    assert spectrum.density.max() < 0.02 * 4
    assert not find_lines(spectrum)


def test_a_recording_that_clips_all_the_time_has_no_spectrum():
    values = white(np.random.default_rng(16), 10, 100)
    assert vibration_spectrum(even_of(values, 0.01, clipped=np.arange(1000) % 20 == 0), [(0, 1000)], 1.0) is None


def test_the_floor_of_white_noise_is_its_density():
    """Of few segments the median lies 3 % below the mean; the floor is the mean."""
    rng = np.random.default_rng(11)
    spectra = [spectrum_of([rng.normal(size=(1000, 6))], 0.01, 1.0) for _ in range(12)]
    assert spectra[0].freedom < 25
    assert np.mean([spectrum.floor for spectrum in spectra]) == pytest.approx(2 * 0.01, rel=0.01)


def test_the_degrees_of_freedom_are_those_by_which_a_density_scatters():
    rng = np.random.default_rng(12)
    spectra = [spectrum_of([rng.normal(size=(1000, 6))], 0.01, 1.0) for _ in range(40)]
    density = np.array([spectrum.density for spectrum in spectra])
    assert 2 * (density.mean() / density.std()) ** 2 == pytest.approx(spectra[0].freedom, rel=0.1)
