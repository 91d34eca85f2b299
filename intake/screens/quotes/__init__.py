"""A frozen quote as staff see it: shown, discounted, sent, printed, answered at the counter."""

from intake.screens.quotes import discount, page, papers, privacy, sending
from intake.screens.quotes.blueprint import blueprint

__all__ = ["blueprint", "discount", "page", "papers", "privacy", "sending"]
