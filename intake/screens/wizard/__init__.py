"""The wizard: a walk-in step by step, from the first answer to the frozen quote."""

from intake.screens.wizard import editing, freeze, from_phone, page, photos, steps
from intake.screens.wizard.blueprint import blueprint

__all__ = ["blueprint", "editing", "freeze", "from_phone", "page", "photos", "steps"]
