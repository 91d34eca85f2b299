"""Sending a quote: the link, the mail and its sender, and the yes that staff take."""
