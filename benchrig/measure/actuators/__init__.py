"""Servos and motors, from a sweep."""
