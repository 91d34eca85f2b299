"""What the maths of the trade says to nonsense."""


class TradeError(ValueError):
    """A measure outside what its formula can mean; the message names the measure."""
