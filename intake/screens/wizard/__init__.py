"""The wizard: a walk-in step by step, from the first answer to the frozen quote."""

from intake.screens.wizard import freeze, from_phone, page, photos, steps
from intake.screens.wizard.blueprint import blueprint

__all__ = ["blueprint", "freeze", "from_phone", "page", "photos", "steps"]
