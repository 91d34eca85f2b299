"""What is wrong with the shop's data, as one sentence for whoever starts the program."""

from __future__ import annotations


class StoreError(Exception):
    """The data folder cannot be used as it is; the text says why, and what to do."""
