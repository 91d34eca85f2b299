"""The app on a phone: manifest, service worker, the page for when the line is down."""

from intake.screens.pwa import page
from intake.screens.pwa.blueprint import blueprint

__all__ = ["blueprint", "page"]
