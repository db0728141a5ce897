"""The reference attitude on benches whose truth is known, its witnesses, and what it refuses."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.attitude import kernel, reference
from benchrig.attitude.reference import ReferenceFilterError, reference_attitude
from benchrig.geometry.rotations import angles_from_matrix, gravity_reading, matrix_from_quaternion

GRAVITY = 9.81

LAG_DEG = 0.25
"""The filter holds each force against the attitude one sample before. At 115°/s and 200 Hz that is 0.6° of lag, which a
gain of 0.5/s turns into 0.14° in a move of half a second; seen: 0.13° to 0.20°."""


def matrices(attitude) -> np.ndarray:
    return matrix_from_quaternion(attitude.quaternion)


def error_deg(found: np.ndarray, truth: np.ndarray) -> np.ndarray:
    """Angle between two attitudes of each sample."""
    trace = np.einsum("nij,nij->n", found, truth)
    return np.degrees(np.arccos(np.clip((trace - 1) / 2, -1, 1)))


def still(body_recording, samples=400, roll=0.0, pitch=0.0):
    force = np.tile(gravity_reading(np.radians(roll), np.radians(pitch), GRAVITY), (samples, 1))
    return body_recording(np.zeros((samples, 3)), force)


def test_the_attitude_is_the_true_one_from_the_first_sample_to_the_last(bench, body_recording):
    attitude = reference_attitude(body_recording(bench.rate, bench.force, bench.step), bench.rests)
    assert error_deg(matrices(attitude), bench.truth).max() < LAG_DEG


def test_noise_of_a_consumer_sensor_costs_less_than_a_degree(bench, body_recording):
    rng = np.random.default_rng(5)
    rate = bench.rate + rng.normal(0, np.radians(0.1), bench.rate.shape) + np.radians(0.02)
    force = bench.force + rng.normal(0, 0.1, bench.force.shape)
    attitude = reference_attitude(body_recording(rate, force, bench.step), bench.rests)
    assert error_deg(matrices(attitude), bench.truth).max() < 1.0


def test_a_recording_that_starts_in_the_middle_of_a_move_is_right_from_its_first_sample(bench, body_recording):
    cut = round(3.4 / bench.step)  # in the first roll, half a second before any rest
    rests = [(a - cut, b - cut) for a, b in bench.rests[1:]]
    attitude = reference_attitude(body_recording(bench.rate[cut:], bench.force[cut:], bench.step), rests)
    heading = angles_from_matrix(bench.truth[cut:])
    found = angles_from_matrix(matrices(attitude))
    np.testing.assert_allclose(np.degrees(found[0]), [*np.degrees(heading[0, :2]), 0.0], atol=0.05)
    down = np.degrees(np.arccos(np.clip(np.einsum("nj,nj->n", matrices(attitude)[:, 2], bench.truth[cut:, 2]), -1, 1)))
    assert down.max() < LAG_DEG


@pytest.mark.parametrize(("roll", "pitch"), [(0, 0), (30, 0), (0, 30), (-100, 20), (180, 0)])
def test_rest_in_any_pose_gives_its_roll_and_pitch(body_recording, roll, pitch):
    angles = np.degrees(
        angles_from_matrix(matrices(reference_attitude(still(body_recording, 50, roll, pitch), [(0, 50)])))
    )
    np.testing.assert_allclose(np.cos(np.radians(angles - [roll, pitch, 0])), 1.0, atol=1e-9)


def test_a_gap_starts_the_filter_anew(bench, body_recording):
    cut = bench.rests[2][0] + 10
    segment = np.where(np.arange(len(bench.rate)) < cut, 0, 1)
    whole = reference_attitude(body_recording(bench.rate, bench.force, bench.step, segment), bench.rests)
    later = [(max(a, cut) - cut, b - cut) for a, b in bench.rests if b > cut]
    alone = reference_attitude(body_recording(bench.rate[cut:], bench.force[cut:], bench.step), later)
    np.testing.assert_allclose(whole.quaternion[cut:], alone.quaternion, rtol=0, atol=1e-12)
    heading = angles_from_matrix(matrices(whole))[cut, 2]
    assert abs(heading) < 1e-9
    assert abs(np.degrees(angles_from_matrix(bench.truth)[cut, 2])) > 20


def test_a_segment_without_a_rest_starts_from_its_own_gravity(bench, body_recording):
    attitude = reference_attitude(body_recording(bench.rate, bench.force, bench.step), [])
    assert error_deg(matrices(attitude), bench.truth).max() < LAG_DEG
    assert [a.witness for a in attitude.agreements] == ["gyro only"]


def test_one_sample_has_an_attitude_and_no_witness_but_gravity(body_recording):
    attitude = reference_attitude(still(body_recording, 1, roll=20.0), [(0, 1)])
    assert np.degrees(angles_from_matrix(matrices(attitude)))[0, 0] == pytest.approx(20.0)
    assert [a.witness for a in attitude.agreements] == ["gravity"]


def test_both_witnesses_agree_on_a_good_bench(bench, body_recording):
    by_gyro, gravity = reference_attitude(body_recording(bench.rate, bench.force, bench.step), bench.rests).agreements
    assert (by_gyro.witness, gravity.witness) == ("gyro only", "gravity")
    assert 0 < np.degrees(by_gyro.rms) < np.degrees(by_gyro.worst) < LAG_DEG
    assert 0 <= np.degrees(gravity.rms) <= np.degrees(gravity.worst) < LAG_DEG
    assert by_gyro.samples == len(bench.rate) - len(bench.rests)
    assert gravity.samples == sum(stop - start for start, stop in bench.rests)


def test_a_reversed_gyro_axis_hides_in_the_filter_and_shows_in_the_gyro_witness(bench, body_recording):
    rate = bench.rate * [-1.0, 1.0, 1.0]
    body = body_recording(rate, bench.force, bench.step)
    by_gyro, _ = reference_attitude(body, bench.rests).agreements
    assert np.degrees(by_gyro.worst) > 30


def test_the_gravity_witness_measures_the_angle_to_the_measured_pull(body_recording):
    rest, tilted = gravity_reading(0.0, 0.0, GRAVITY), gravity_reading(0.0, np.radians(3.0), GRAVITY)
    force = np.vstack([np.tile(rest, (200, 1)), np.tile(tilted, (10, 1))])
    gravity = reference_attitude(body_recording(np.zeros((210, 3)), force), [(0, 200), (200, 210)]).agreements[1]
    assert np.degrees(gravity.worst) == pytest.approx(3.0, abs=0.1)  # a tenth of a second pulls it along by 5 %
    assert np.degrees(gravity.rms) == pytest.approx(np.degrees(gravity.worst) * np.sqrt(10 / 210), rel=1e-3)


def test_the_gyro_witness_is_aligned_anew_at_each_rest(body_recording):
    force = np.tile([0.0, 0.0, -GRAVITY], (1000, 1))
    rate = np.tile([np.radians(1.0), 0.0, 0.0], (1000, 1))  # a bias that the accelerometer holds down
    body = body_recording(rate, force)
    once = reference_attitude(body, [(0, 50)]).agreements[0]
    often = reference_attitude(body, [(start, start + 50) for start in range(0, 1000, 100)]).agreements[0]
    assert np.degrees(once.worst) > 7
    assert np.degrees(often.worst) < 1.1


def test_the_filter_sees_the_force_at_the_centre_of_gravity(body_recording):
    body = still(body_recording, 100)
    off = type(body)(
        body.time, body.step, body.segment, body.angular_rate, body.specific_force + 5.0, body.specific_force
    )
    angles = np.degrees(angles_from_matrix(matrices(reference_attitude(off, [(0, 100)]))))
    assert np.abs(angles).max() < 1e-9


def test_the_library_replays_the_busiest_stretch_and_the_difference_is_kept(bench, body_recording, monkeypatch):
    windows = []
    real = reference.library_mahony

    def watched(rate, *rest, **settings):
        windows.append(rate)
        return real(rate, *rest, **settings)

    monkeypatch.setattr(reference, "library_mahony", watched)
    monkeypatch.setattr(reference, "REPLAYED_SAMPLES", 300)
    attitude = reference_attitude(body_recording(bench.rate, bench.force, bench.step), bench.rests)
    assert 0 < attitude.replay_difference < 1e-12
    (window,) = windows
    sums = np.convolve(np.linalg.norm(bench.rate, axis=1), np.ones(300), "valid")
    first = int(np.argmax(sums))
    np.testing.assert_allclose(np.linalg.norm(window, axis=1).sum(), sums[first], rtol=1e-12)
    assert len(window) == 300


def test_a_loop_that_leaves_the_librarys_way_is_refused(bench, body_recording, monkeypatch):
    def crooked(*fed):
        return real(*fed[:6], fed[6] * 1.001, *fed[7:])  # the seventh is k_P

    real = kernel.mahony_steps
    monkeypatch.setattr(kernel, "mahony_steps", crooked)
    with pytest.raises(ReferenceFilterError, match=r"replayed samples \d+ to \d+ .* where at most 1e-09 is rounding"):
        reference_attitude(body_recording(bench.rate, bench.force + 0.1, bench.step), bench.rests)


def test_a_long_recording_is_computed_by_the_compiled_loop_with_the_same_result(bench, body_recording, monkeypatch):
    body = body_recording(bench.rate, bench.force, bench.step)
    short = reference_attitude(body, bench.rests)
    monkeypatch.setattr(reference, "LONG", 1000)
    long = reference_attitude(body, bench.rests)
    np.testing.assert_allclose(long.quaternion, short.quaternion, rtol=0, atol=1e-12)
    assert long.replay_difference < 1e-12
    assert "interpreted" in short.method
    assert "compiled" in long.method


def test_the_method_names_filter_version_gains_and_start(body_recording):
    method = reference_attitude(still(body_recording, 10), [(0, 10)]).method
    for words in ("Mahony", "ahrs 0.4.0", "k_P = 0.5", "k_I = 0.001", "first rest", "replayed"):
        assert words in method


def test_the_result_cannot_be_written_to(body_recording):
    attitude = reference_attitude(still(body_recording, 10), [(0, 10)])
    with pytest.raises(ValueError, match="read-only"):
        attitude.quaternion[0] = 0.0


@pytest.mark.parametrize("rest", [(5, 5), (-1, 4), (8, 11), (6, 2)])
def test_a_rest_that_is_empty_or_outside_is_refused(body_recording, rest):
    with pytest.raises(ValueError, match=r"the rest \[-?\d+, \d+\) is empty or not within 10 samples"):
        reference_attitude(still(body_recording, 10), [rest])


def test_an_empty_recording_is_refused(body_recording):
    with pytest.raises(ValueError, match="at least one sample"):
        reference_attitude(body_recording(np.zeros((0, 3)), np.zeros((0, 3))), [])


def test_a_value_that_is_not_a_number_is_refused(body_recording):
    body = still(body_recording, 10)
    rate = body.angular_rate.copy()
    rate[4, 2] = np.nan
    with pytest.raises(ValueError, match="the rate of sample 4"):
        reference_attitude(body_recording(rate, body.specific_force), [(0, 10)])


def test_a_shove_before_the_first_rest_does_not_spoil_the_start(bench, body_recording):
    cut = round(3.4 / bench.step)
    force = bench.force[cut:].copy()
    force[: round(0.5 / bench.step), 1] += 4.0
    rests = [(a - cut, b - cut) for a, b in bench.rests[1:]]
    attitude = reference_attitude(body_recording(bench.rate[cut:], force, bench.step), rests)
    found = np.degrees(angles_from_matrix(matrices(attitude)))[0]
    np.testing.assert_allclose(found[:2], np.degrees(angles_from_matrix(bench.truth[cut]))[:2], atol=0.05)
