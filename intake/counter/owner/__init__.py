"""The owner's screens: the price book seen, changed, weighed on past quotes, put in force, taken back."""
