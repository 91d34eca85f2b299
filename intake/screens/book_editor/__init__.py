"""The price book in the owner's hands: edited as a draft, checked, weighed, put in force."""

from intake.screens.book_editor import (
    hours,
    import_export,
    lists,
    money,
    new_table,
    overview,
    preview,
    questions,
    tables,
)
from intake.screens.book_editor.blueprint import blueprint

__all__ = [
    "blueprint",
    "hours",
    "import_export",
    "lists",
    "money",
    "new_table",
    "overview",
    "preview",
    "questions",
    "tables",
]
