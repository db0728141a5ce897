"""Check that a gyro and accelerometer unit sits, senses and corrects as declared, before the first hover."""

__version__ = "0.1.0"
