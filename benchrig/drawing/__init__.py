"""Airframe, axes, arrows and motions as plain polygons and labels."""
