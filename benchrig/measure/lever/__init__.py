"""Where the unit sits, from spins and swings."""
