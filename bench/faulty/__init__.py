"""Faults done to a shop's data on purpose, and what came of them."""
