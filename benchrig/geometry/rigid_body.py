"""Acceleration of a point of a turning rigid body."""

from __future__ import annotations

import numpy as np

from benchrig.geometry.directions import Vector


def lever_arm_acceleration(angular_rate: Vector, angular_acceleration: Vector, lever_arm: Vector) -> Vector:
    """Give what a sensor away from the centre of gravity feels on top of the centre's own acceleration.

    ``α × r + ω × (ω × r)``

    Parameters
    ----------
    angular_rate : ndarray, shape (N, 3) or (3,), rad/s
    angular_acceleration : ndarray, same shape, rad/s²
    lever_arm : ndarray, shape (3,), m
        From the centre of gravity to the sensor. All three in the same axes.

    Returns
    -------
    ndarray, same shape as `angular_rate`, m/s²

    References
    ----------
    Titterton & Weston, *Strapdown Inertial Navigation Technology*, ch. 3 (from memory: the section was not seen).
    """
    centripetal = np.cross(angular_rate, np.cross(angular_rate, lever_arm))
    result: Vector = np.cross(angular_acceleration, lever_arm) + centripetal
    return result
