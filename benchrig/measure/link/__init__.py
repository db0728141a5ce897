"""Switches and the lost link."""
