"""A book and answers in, a quote out. Pure: no Flask, no store, no clock."""
