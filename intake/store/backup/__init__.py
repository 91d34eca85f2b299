"""Backups: made, read back, kept by a rule."""
