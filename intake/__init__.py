"""Tallyfret: intake and quoting at the counter of a fretted-instrument repair shop."""

__version__ = "0.1.0"
