"""Random walks of phones on one ticket, in a real browser behind a bad line; a file for each part of them."""
