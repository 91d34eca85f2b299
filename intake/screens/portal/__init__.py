"""What a customer sees through a link: the quote, the choice, the go-ahead."""

from intake.screens.portal import page
from intake.screens.portal.blueprint import blueprint

__all__ = ["blueprint", "page"]
