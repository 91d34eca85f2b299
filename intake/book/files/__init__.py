"""The files of a book, read."""
