"""A shop's price book: its model, its decision tables, loading and checking."""
