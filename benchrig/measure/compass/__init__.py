"""The compass: iron, axes and surroundings."""
