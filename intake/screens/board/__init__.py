"""The board: every ticket of the shop, and the search."""

from intake.screens.board import page
from intake.screens.board.blueprint import blueprint

__all__ = ["blueprint", "page"]
