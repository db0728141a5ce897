"""Directions, turns, rotations and rigid-body kinematics: the lowest floor, numpy only."""
