"""What a unit sends and how it is read: the declared device, lines and frames, counters and clocks."""
