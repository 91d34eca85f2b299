"""The screens, siblings: none imports another."""
