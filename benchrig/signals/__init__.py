"""From samples to motions: an even time base, rests, bias, motions, and the rotation into body axes."""
