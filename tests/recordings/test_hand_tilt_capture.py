"""The published hand-tilt recording reads as its description says (135 s at 99 Hz, at rest for the first 13 s)."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.capture.reader import read_capture


def test_the_published_hand_tilt_capture_reads_whole(outside_data):
    recording = read_capture(outside_data("hand-tilt/hand-tilt.toml"))
    assert recording.time[-1] == pytest.approx(135.3, abs=0.5)
    assert recording.rate == pytest.approx(99.5, abs=0.5)
    assert len(recording.prompts) == 9
    assert recording.prompts[0].name == "roll right"
    at_rest = recording.time < 13
    assert np.linalg.norm(recording.acceleration[at_rest].mean(axis=0)) == pytest.approx(9.80665, rel=0.01)
    assert np.abs(recording.angular_rate[at_rest].mean(axis=0)).max() < np.radians(0.5)
    assert np.linalg.norm(recording.magnetic_field, axis=1).mean() == pytest.approx(44e-6, rel=0.25)


def test_the_first_published_roll_turns_about_the_boards_x_axis(outside_data):
    recording = read_capture(outside_data("hand-tilt/hand-tilt.toml"))
    first = recording.prompts[0]
    during = (recording.time >= first.start) & (recording.time <= first.end)
    turned = np.trapezoid(recording.angular_rate[during], recording.time[during], axis=0)
    assert np.degrees(turned[0]) == pytest.approx(64, abs=3)
    assert np.abs(np.degrees(turned[1:])).max() < 15
