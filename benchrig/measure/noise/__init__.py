"""Noise at rest, and the lines of a vibration."""
