"""The price book in the owner's hands: edited as a draft, checked, weighed, put in force."""

from intake.screens.book_editor import hours, import_export, lists, money, overview, preview, tables
from intake.screens.book_editor.blueprint import blueprint

__all__ = ["blueprint", "hours", "import_export", "lists", "money", "overview", "preview", "tables"]
