"""The bench: what was agreed to, in the order in which it is due."""

from intake.screens.bench import page
from intake.screens.bench.blueprint import blueprint

__all__ = ["blueprint", "page"]
