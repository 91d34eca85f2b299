"""How the schema came to be: each change once, in order, under a name that never changes."""
