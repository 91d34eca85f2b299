"""The checker: reads a book as a reviewer would."""
