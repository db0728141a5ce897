"""The rotor's frequencies among the lines of a vibration."""
