"""For whatever watches over the machine: health and metrics."""

from intake.screens.monitoring import page
from intake.screens.monitoring.blueprint import blueprint

__all__ = ["blueprint", "page"]
