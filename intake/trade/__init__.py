"""The maths of the trade: pure functions, units and sources in the docstrings."""

from intake.trade import readings as readings
