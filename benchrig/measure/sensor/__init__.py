"""The unit's own errors, from still poses and turns."""
