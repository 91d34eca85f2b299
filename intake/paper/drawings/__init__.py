"""Drawings computed from one instrument's numbers: pure functions from facts to an SVG string."""
