"""The bench measurements as commands: ``benchrig measure …``."""
