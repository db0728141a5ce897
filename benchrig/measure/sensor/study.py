"""What recordings of one unit show before anything is concluded: rests, poses, turns, spins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Vector
from benchrig.measure.lever.stand import Remark
from benchrig.measure.sensor.accelerometer import AccelerometerFit, fit_accelerometer
from benchrig.measure.sensor.gyro_fit import GyroFit, fit_gyro
from benchrig.measure.sensor.gyro_turns import Carry, find_carries
from benchrig.measure.sensor.poses import Pose, find_poses
from benchrig.measure.sensor.table_turns import Spin, known_spins
from benchrig.signals.body import EvenRecording
from benchrig.signals.moves import find_moves
from benchrig.signals.rests import Stillness, find_rests
from benchrig.signals.time_base import uniform


@dataclass(frozen=True, slots=True, eq=False)
class Session:
    """One recording; sensor axes, as read.

    Attributes
    ----------
    recording : Recording
    even : EvenRecording
    stillness : Stillness
    poses : tuple of Pose
    carries : tuple of Carry
    spins : tuple of Spin
    remarks : tuple of Remark
        Of spins that are no evidence.
    """

    recording: Recording
    even: EvenRecording
    stillness: Stillness
    poses: tuple[Pose, ...]
    carries: tuple[Carry, ...]
    spins: tuple[Spin, ...]
    remarks: tuple[Remark, ...]

    @property
    def name(self) -> str:
        """The manifest's name."""
        return self.recording.manifest.name

    @property
    def resting(self) -> float:
        """How long the airframe lay on the bench, s."""
        rests = [r for r in self.stillness.rests if r.grade == "bench"]
        return float(sum(r.samples for r in rests) * self.even.step)


@dataclass(frozen=True, slots=True, eq=False)
class UnitStudy:
    """All recordings of one unit, and what they say together.

    Attributes
    ----------
    airframe : Airframe
    sessions : tuple of Session
    accelerometer : AccelerometerFit or None
    gyro : GyroFit or None
    """

    airframe: Airframe
    sessions: tuple[Session, ...]
    accelerometer: AccelerometerFit | None
    gyro: GyroFit | None

    @property
    def poses(self) -> tuple[Pose, ...]:
        """Of all sessions."""
        return tuple(pose for session in self.sessions for pose in session.poses)

    @property
    def several(self) -> bool:
        """Whether a recording has to be named."""
        return len(self.sessions) > 1

    def calibrated_force(self, session: Session) -> Vector:
        """Give a session's accelerometer, shape (N, 3), m/s², its own errors taken out as far as they are known."""
        fit = self.accelerometer
        if fit is None or not fit.fits:
            return session.even.acceleration
        force: Vector = (session.even.acceleration - fit.bias) @ fit.matrix.T
        return force


def study_unit(airframe: Airframe, recordings: Sequence[Recording]) -> UnitStudy:
    """Look at recordings of one unit, and fit its errors to all of them together.

    The readings are taken as they were read: a calibration in the airframe file is not applied, but held against them.

    Parameters
    ----------
    airframe : Airframe
    recordings : sequence of Recording

    Returns
    -------
    UnitStudy
    """
    sessions = tuple(_session(airframe, recording) for recording in recordings)
    accelerometer = fit_accelerometer([pose for s in sessions for pose in s.poses])
    carries = [carry for s in sessions for carry in s.carries]
    spins = [spin for s in sessions for spin in s.spins]
    usable = accelerometer is None or accelerometer.fits
    gyro = fit_gyro(carries if usable else [], spins, accelerometer)
    return UnitStudy(airframe, sessions, accelerometer, gyro)


def _session(airframe: Airframe, recording: Recording) -> Session:
    even = uniform(recording, airframe.sensor)
    stillness = find_rests(even)
    moves = () if stillness.bias is None else find_moves(even, stillness.rests, stillness.bias)
    spins, remarks = known_spins(recording, even, stillness, airframe.sensor, recording.manifest.name)
    poses = find_poses(even, stillness)
    return Session(recording, even, stillness, poses, find_carries(even, stillness, moves), spins, remarks)


def noise_at_rest(session: Session) -> tuple[Vector, Vector] | None:
    """Give the standard deviation of one sample at rest, gyro (rad/s) and accelerometer (m/s²), shape (3,) each."""
    spans = [slice(r.start, r.stop) for r in session.stillness.rests if r.grade == "bench"]
    if not spans:
        return None
    pairs = [(session.even.angular_rate[s].std(axis=0), session.even.acceleration[s].std(axis=0)) for s in spans]
    gyro, accelerometer = zip(*pairs, strict=True)
    return np.median(gyro, axis=0), np.median(accelerometer, axis=0)
