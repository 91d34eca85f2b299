"""What staff see: board, wizard, settings."""
