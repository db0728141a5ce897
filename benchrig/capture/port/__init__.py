"""Where samples come from while they are made: a serial port, or a stored stream played again."""
