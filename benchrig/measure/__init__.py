"""Bench measurements: the numbers that the declaration rests on, with uncertainties or the reason for none."""
