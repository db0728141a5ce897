"""Pulses taken apart into stands and moves, for actuators and link alike."""
