"""Documents on paper and the drawings in them."""
