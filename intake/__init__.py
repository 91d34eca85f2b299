"""Tallyfret: intake and quoting at the counter of a fretted-instrument repair shop."""

from importlib.metadata import PackageNotFoundError, version

try:
    __version__ = version("tallyfret")
except PackageNotFoundError:  # run from a folder that nobody installed
    __version__ = "0"
