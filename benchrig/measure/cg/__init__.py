"""The centre of gravity, from hangs and weighings, and places from it."""
